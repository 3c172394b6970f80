/* Widgets that are drawn with ink: millimetres that grow with the text. */
#pragma once

#include "sheet/ink.h"

#include <gtk/gtk.h>

G_BEGIN_DECLS

/* Pixels a millimetre. */
double loom_inked_scale(GtkWidget *widget);

typedef void (*LoomInkedDraw)(LoomInk *ink, double width_mm, double height_mm, gpointer data);
/* Paper over the whole widget, and on it what `draw` draws; NULL: nothing. */
void loom_inked_snapshot(GtkWidget *widget, GtkSnapshot *snapshot, LoomInkedDraw draw,
                         gpointer data);

/* Makes the widget one that takes the keyboard by Tab and by a click. `key` is a handler of
 * "key-pressed", `focus` of the focus coming in; both get the widget. */
void loom_inked_take_keys(GtkWidget *widget, GCallback key, GCallback focus);

G_END_DECLS
