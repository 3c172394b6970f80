/* Laying the whole bench out anew: supply on the left, controller in the middle, loads on the
 * right, short leads, few crossings, everything on the 5 mm grid. */
#pragma once

#include "design/edit.h"
#include "sheet.h"

G_BEGIN_DECLS

#define LOOM_GRID_MM 5.0

/* Moves, turns and flips recorded in `edit`, for the scene of that index. The same design always
 * gives the same drawing. */
void loom_tidy(LoomEdit *edit, guint scene);

/* The nearest place to x, y (upper left corner) where a part of the kind overlaps nothing. */
LoomPoint loom_tidy_free_place(const LoomDesign *design, const LoomKind *kind, double x_mm,
                               double y_mm);

G_END_DECLS
