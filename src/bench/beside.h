/* Beside: where a part is put that is to be plugged into a free end. Geometry only; no widget.
 *
 * A part of its own shape is put face to face with a fixed end, or at a little distance from a
 * lead's free end; a lead's tag is put straight out from the end. Everything lands on the grid as
 * far as the faces allow, and beside what is there already. */
#pragma once

#include "planning/linkup.h"
#include "sheet/sheet.h"

G_BEGIN_DECLS

/* For `offer`, into the end of that part of the sheet. */
LoomPlacing loom_beside_end(const LoomSheet *sheet, guint part, guint end, const LoomOffer *offer);

/* With the offered end's face, or the lead's tag, at `at_mm`; `dx`, `dy` is where the free end
 * looks. */
LoomPlacing loom_beside_point(const LoomSheet *sheet, const LoomOffer *offer, LoomPoint at_mm,
                              int dx, int dy);

/* Pieces of a chain, evenly along the way between two ends. New array [n_pieces]. */
LoomPlacing *loom_beside_chain(const LoomSheet *sheet, const LoomLinkupAnswer *answer, guint part_a,
                               guint end_a, guint part_b, guint end_b);

double loom_grid_snap(double mm);

G_END_DECLS
