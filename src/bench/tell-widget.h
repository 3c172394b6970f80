/* For the event log: widgets by their names, and where they lie. */
#pragma once

#include "events.h"

#include <gtk/gtk.h>

G_BEGIN_DECLS

/* The first mapped widget within `root` with that name, id or, of labels, text; NULL where there
 * is none. */
GtkWidget *loom_find_widget(GtkWidget *root, const char *name);

/* "screen QUESTION X Y": a point of the widget, in pixels of its window's surface. */
void loom_say_at(LoomEvents *events, const char *question, GtkWidget *widget, double x, double y);

G_END_DECLS
