/* The curve of an outing on the screen, from which one reads values: the pointer, or the arrow keys
 * with Home and End, move a line across it, and what it meets is written above and told to a screen
 * reader. Signal "moved", without arguments: the line is elsewhere. */
#pragma once

#include "sheet/outing-plot.h"

#include <gtk/gtk.h>

G_BEGIN_DECLS

#define LOOM_TYPE_OUTING_VIEW (loom_outing_view_get_type())
G_DECLARE_FINAL_TYPE(LoomOutingView, loom_outing_view, LOOM, OUTING_VIEW, GtkWidget)

/* Taken; NULL: an empty room. */
void loom_outing_view_set(LoomOutingView *view, LoomOutingPlot *plot);
const LoomOutingPlot *loom_outing_view_plot(LoomOutingView *view); /* borrowed */
/* NAN where there is no line. */
double loom_outing_view_cursor(LoomOutingView *view);

G_END_DECLS
