/* Bars on the screen. The arrow keys, Home and End go from one to the next; a click or Enter tells
 * which part it is about. Signal "chosen" (uint): index of the bar. */
#pragma once

#include "sheet/bars.h"

#include <gtk/gtk.h>

G_BEGIN_DECLS

#define LOOM_TYPE_BARS_VIEW (loom_bars_view_get_type())
G_DECLARE_FINAL_TYPE(LoomBarsView, loom_bars_view, LOOM, BARS_VIEW, GtkWidget)

/* Taken; NULL: a plain word instead. */
void loom_bars_view_set(LoomBarsView *view, LoomBars *bars);
const LoomBars *loom_bars_view_bars(LoomBarsView *view); /* borrowed */

G_END_DECLS
