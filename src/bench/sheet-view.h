/* A sheet to look at: dragging pans, Ctrl with the wheel and pinching zoom, arrows and plus and
 * minus do the same from the keyboard. Nothing on it can be changed. */
#pragma once

#include "sheet/draw.h"

#include <gtk/gtk.h>

G_BEGIN_DECLS

#define LOOM_TYPE_SHEET_VIEW (loom_sheet_view_get_type())
G_DECLARE_FINAL_TYPE(LoomSheetView, loom_sheet_view, LOOM, SHEET_VIEW, GtkWidget)

/* Shows another sheet, from now on with these options but for palette, clip and coarse. `sheet` and
 * all that the options point to are borrowed and must live until the next call; NULL shows nothing.
 * The first sheet is fitted into the view; later ones keep zoom and place. */
void loom_sheet_view_show(LoomSheetView *view, const LoomSheet *sheet,
                          const LoomDrawOptions *options);

/* Frames these boxes [n] and pans as little as it takes to see them; n 0: none. Copied. */
void loom_sheet_view_light(LoomSheetView *view, const LoomRect *boxes, guint n);

void loom_sheet_view_zoom_fit(LoomSheetView *view);
/* A step in (> 0) or out about the middle. */
void loom_sheet_view_zoom_step(LoomSheetView *view, int steps);
/* Where a point of the sheet is in the widget. */
LoomPoint loom_sheet_view_from_sheet(LoomSheetView *view, LoomPoint at_mm);

G_END_DECLS
