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
  bool *drawn;      /* [n_parts] chosen and within the clip; NULL all */
  const bool *late; /* [n_parts] drawn in a second round, over the veil; NULL: one round only */
  const bool *late_ends; /* [n_ends of the sheet] the same for connectors */
  bool second;           /* round */
  LoomCrowd *labels;     /* flags and readings put so far */
  LoomRect paper;        /* readings keep within; width 0: no end to it */
} LoomDrawing;

/* Whether the part is drawn, in this round. */
bool loom_drawing_has(const LoomDrawing *drawing, guint part);
bool loom_drawing_shows(const LoomDrawing *drawing, guint part); /* in any round */
/* Paper laid thinly over the parts that are true in `parts`. */
void loom_draw_veil(LoomDrawing *drawing, const bool *parts, double opacity);
/* Off everything drawn and labelled. */
bool loom_draw_is_free(const LoomDrawing *drawing, LoomRect rect);
/* A box of that size as near as can be to `at`, on rings around it from the radius `first` on, off
 * everything drawn and labelled, which takes the room; `at` itself where all is full. */
LoomPoint loom_draw_near(LoomDrawing *drawing, LoomPoint at, double width, double height,
                         double first);

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
/* What lies under a wire's strokes: paper, and a glow where it comes near its rating. */
void loom_draw_bed(LoomInk *ink, const LoomPath *path, double width, double stress);
void loom_draw_strokes(LoomInk *ink, const GArray *strokes, const LoomPoint *points, guint n,
                       int side, double width_factor);
void loom_draw_tag(LoomInk *ink, const LoomPart *part, const LoomTag *tag);
bool loom_needs_edge(const LoomInk *ink, LoomPaint paint);

/* draw-part.c */
void loom_draw_part(LoomInk *ink, const LoomPart *part, const LoomPicture *picture, bool coarse);

/* draw-change.c: what is new, gone and changed, on top of everything. */
void loom_draw_changes(LoomDrawing *drawing);
/* Which parts [n_parts] are not the same in both revisions, and which connectors [n_ends] belong
 * to those or are plugged into them. New. */
bool *loom_changed_parts(const LoomSheet *sheet, const LoomMerged *merged);
bool *loom_changed_ends(const LoomSheet *sheet, const bool *parts);
/* Sample of a status for the legend, 10 mm wide, its middle at x, y. */
void loom_draw_change_sample(LoomInk *ink, LoomStatus status, double x, double y);

/* draw-reading.c */
void loom_draw_readings(LoomDrawing *drawing);
void loom_place_readings(LoomDrawing *drawing); /* takes their room without drawing them */
/* Sample of a wire for the legend, 10 mm wide, its middle at x, y. */
void loom_draw_stress_sample(LoomInk *ink, double width_factor, double stress, double x, double y);

/* draw-flag.c */
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
