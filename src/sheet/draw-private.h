/* Pieces of the drawing. Never leaves this room. */
#pragma once

#include "draw.h"
#include "ink-private.h"
#include "sheet-private.h"

G_BEGIN_DECLS

/* One drawing under way. */
typedef struct {
  LoomInk *ink;
  const LoomSheet *sheet;
  const LoomDrawOptions *options;
  bool *drawn;       /* [n_parts] chosen and within the clip; NULL all */
  LoomCrowd *labels; /* flags and readings put so far */
} LoomDrawing;

bool loom_drawing_has(const LoomDrawing *drawing, guint part);

/* draw-line.c */
LoomStyle loom_style_fill(LoomPaint fill);
LoomStyle loom_style_line(LoomPaint stroke, double line_mm);
LoomStyle loom_style_both(LoomPaint fill, LoomPaint stroke, double line_mm);
void loom_draw_rect(LoomInk *ink, LoomRect rect, double radius, LoomStyle style);
void loom_draw_circle(LoomInk *ink, double x, double y, double radius, LoomStyle style);
/* Corners [n] joined, closed where asked. */
void loom_draw_corners(LoomInk *ink, const LoomPoint *corners, guint n, bool closed,
                       LoomStyle style);
void loom_draw_segment(LoomInk *ink, double x0, double y0, double x1, double y1, LoomStyle style);

/* draw-end.c: a connector whose face is at `at` and looks to dx, dy. */
void loom_draw_end_at(LoomInk *ink, const LoomEnd *end, LoomPoint at, int dx, int dy);
/* Whether it is drawn over what it is plugged into. */
bool loom_end_is_on_top(const LoomEnd *end);

/* draw-wire.c */
void loom_draw_wire(LoomInk *ink, const LoomPart *part, const LoomLaidLead *lead,
                    double width_factor, double stress);
void loom_draw_strokes(LoomInk *ink, const GArray *strokes, const LoomPoint *points, guint n,
                       int side, double width_factor);
void loom_draw_tag(LoomInk *ink, const LoomPart *part, const LoomTag *tag);
bool loom_needs_edge(const LoomInk *ink, LoomPaint paint);

/* draw-part.c */
void loom_draw_part(LoomInk *ink, const LoomPart *part, const LoomPicture *picture, bool coarse);

/* draw-flag.c */
void loom_draw_readings(LoomDrawing *drawing);
void loom_draw_flags(LoomDrawing *drawing);
void loom_place_flags(LoomDrawing *drawing, LoomPoint *places); /* [n_findings] */
void loom_draw_flag_sign(LoomInk *ink, LoomPoint at, LoomSeverity severity, guint number);

/* Lowest place that is drawn between two x; -INFINITY where nothing is. `drawn` NULL: every part.
 */
double loom_draw_lowest(const LoomSheet *sheet, const bool *drawn, double left, double right);

/* draw-page.c: title block, legend and safety line in the free room at the foot of `above`, or
 * below it where there is none. */
LoomRect loom_draw_page_extents(const LoomSheet *sheet, const LoomDrawOptions *options,
                                const bool *drawn, LoomRect above);
void loom_draw_page(LoomDrawing *drawing, LoomRect above);

G_END_DECLS
