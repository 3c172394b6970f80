/* The conductors of a wire as parallel strokes. Never leaves this room. */
#pragma once

#include "place.h"

G_BEGIN_DECLS

#define LOOM_TAG_MM 4.6
#define LOOM_TAG_TEXT_MM 2.8
#define LOOM_TIE_MM 8.4 /* length of a cable tie across a joint */

/* One conductor seen where it leaves a connector. */
typedef struct {
  const char *letters; /* IEC 60757 as the catalogue has it, borrowed from the kind; "" unknown */
  LoomPaint paint, second; /* second: of a wire with two colours; else LOOM_PAINT_NONE */
  double line_mm;
  double offset_mm; /* across the wire; see loom_strokes_of_end */
} LoomStroke;

/* Conductors that leave the end, by way: array of LoomStroke, new. `offset_mm` counts from the
 * middle of the wire towards way 1, which lies at the top or at the left of a connector. */
GArray *loom_strokes_of_end(const LoomKind *kind, guint end);
/* Which side of a walk from a to b way 1 is on: 1 left, -1 right. */
int loom_strokes_side(LoomPoint a, LoomPoint b);
/* Width of the whole. */
double loom_strokes_width(const GArray *strokes);

/* The corners of `points` [n] rounded, moved `offset` to the left of the walk (right: negative). */
void loom_strokes_path(LoomPath *path, const LoomPoint *points, guint n, double offset,
                       double radius);

G_END_DECLS
