/* What differs between two layings of nearly the same design: the parts that a drag has to draw
 * anew. */
#pragma once

#include "sheet/sheet.h"

G_BEGIN_DECLS

/* One sum a part over everything that is drawn for it: record, ends, wires, joints. Equal sums are
 * taken for equal drawings (64 bits: a collision is out of the question). New, [n_parts + 1]. */
guint64 *loom_sheet_sums(const LoomSheet *sheet);

G_END_DECLS
