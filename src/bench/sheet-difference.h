/* What differs between two layings of nearly the same design: the parts that a drag has to draw
 * anew. */
#pragma once

#include "sheet/sheet.h"

G_BEGIN_DECLS

/* Indices in `new`, ascending, of the parts whose record, ends, wires or joints lie otherwise than
 * in `old`, and of those that `old` does not have. New array of guint. */
GArray *loom_sheet_difference(const LoomSheet *old, const LoomSheet *new);

/* Union of two ascending arrays of guint. New; either may be NULL. */
GArray *loom_indices_union(const GArray *a, const GArray *b);

G_END_DECLS
