/* What differs between an older file and the document: a list in words beside one drawing that
 * shows both. Choosing a line shows its place; the document may go on changing meanwhile. */
#pragma once

#include "document.h"

#include <gtk/gtk.h>

G_BEGIN_DECLS

#define LOOM_TYPE_COMPARE_WINDOW (loom_compare_window_get_type())
G_DECLARE_FINAL_TYPE(LoomCompareWindow, loom_compare_window, LOOM, COMPARE_WINDOW, GtkWindow)

/* Opens over `parent`. `old` is taken; `name` says what it is ("sandpiper.loom as saved").
 * `document` is referenced. */
void loom_compare_window_show(GtkWindow *parent, LoomDocument *document, LoomDesign *old,
                              const char *name);

G_END_DECLS
