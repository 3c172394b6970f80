/* Figures of a book: pieces of a sheet, kinds, ends. */
#pragma once

#include "scroll.h"
#include "sheet/draw.h"

G_BEGIN_DECLS

#define LOOM_MARK_RADIUS_MM 2.9 /* on paper */

/* A number in a ring on a sheet. */
typedef struct {
  LoomPoint at;
  guint number;
} LoomSheetMark;

typedef struct {
  const LoomSheet *sheet;     /* borrowed */
  LoomDrawOptions options;    /* only_parts is borrowed */
  LoomRect area;              /* of the sheet, mm */
  double most_scale;          /* mm of paper a mm of sheet */
  const LoomSheetMark *marks; /* [n_marks], borrowed */
  guint n_marks;
  bool border; /* a line around the area, for tiles */
} LoomSheetView;

/* The area in the middle of the room, as large as it goes. Everything borrowed but the sheet is
 * copied. */
LoomFigure loom_figure_sheet(const LoomSheetView *view, double width_mm, double height_mm);
/* Scale at which the area goes into the room. */
double loom_figure_scale(LoomRect area, double width_mm, double height_mm, double most);

/* What the view's drawing covers with its lines and words, in mm of the sheet; its area does not
 * count. */
LoomRect loom_figure_ink(const LoomSheetView *view);

/* Figures [n] side by side, `gap_mm` apart, in the middle of the row. Takes their data. */
LoomFigure loom_figure_row(const LoomFigure *figures, guint n, double gap_mm);

/* A kind as on the shelf; of a lead its ends with the wire between. `kind` is referenced. */
LoomFigure loom_figure_kind(const LoomKind *kind, double width_mm, double most_height_mm);
/* One open end; with `to` the two facing each other. Kinds are referenced. */
LoomFigure loom_figure_end(const LoomKind *kind, guint end, double width_mm);
LoomFigure loom_figure_ends(const LoomKind *kind, guint end, const LoomKind *to_kind, guint to_end,
                            double width_mm);

G_END_DECLS
