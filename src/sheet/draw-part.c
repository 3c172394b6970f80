#include "draw-private.h"

#include <math.h>

#define CORNER_RADIUS_MM 1.8
#define OUTLINE_MM 0.35
#define WORDS_ROOM_MM 3.0 /* where a font that stands in is wider */

/* Letter in a ring, where nobody has drawn the kind. */
static void
draw_letter(LoomInk *ink, const LoomKind *kind)
{
  double r = fmin(5, 0.28 * fmin(kind->width_mm, kind->height_mm));
  double x = kind->width_mm / 2, y = kind->height_mm * 0.6;
  loom_draw_circle(ink, x, y, r, loom_style_both(LOOM_PAINT_TINT, LOOM_PAINT_INK, 0.3));
  loom_ink_text(ink, x, y + 0.36 * r, r, LOOM_ANCHOR_MIDDLE, true, LOOM_PAINT_INK, kind->letter);
}

static LoomRect
picture_extents(const LoomPicture *picture)
{
  LoomRect all = {0, 0, 0, 0};
  for (guint i = 0; i < picture->n; i++)
    all = loom_rect_union(all, picture->boxes[i]);
  return all;
}

typedef struct {
  const LoomKind *kind;
  const LoomPicture *picture;
  bool coarse;
} Body;

static void
draw_whole_body(LoomInk *ink, gconstpointer data)
{
  const Body *body = data;
  const LoomKind *kind = body->kind;
  LoomRect outline = {0, 0, kind->width_mm, kind->height_mm};
  loom_draw_rect(ink, outline, CORNER_RADIUS_MM,
                 loom_style_both(LOOM_PAINT_GROUP + kind->group, LOOM_PAINT_INK, OUTLINE_MM));
  if (body->coarse)
    return;
  loom_picture_draw(ink, kind, body->picture);
  if (kind->n_marks == 0)
    draw_letter(ink, kind);
}

static void
draw_body(LoomInk *ink, const LoomKind *kind, const LoomPicture *picture, bool coarse)
{
  Body body = {kind, picture, coarse};
  LoomRect outline = {0, 0, kind->width_mm, kind->height_mm};
  LoomStamp stamp = {
      .draw = draw_whole_body,
      .data = &body,
      .thing = kind,
      .figures = {coarse},
      .box = loom_rect_grown(loom_rect_union(outline, picture_extents(picture)), WORDS_ROOM_MM)};
  loom_ink_stamp(ink, &stamp);
}

void
loom_draw_part(LoomInk *ink, const LoomPart *part, const LoomPicture *picture, bool coarse)
{
  loom_place_begin(ink, part);
  draw_body(ink, part->kind, picture, coarse);
  loom_ink_end(ink);
}

static void
draw_fixed_ends(LoomInk *ink, const LoomPart *part)
{
  for (guint e = 0; e < part->kind->n_ends; e++) {
    const LoomEnd *end = &part->kind->ends[e];
    int dx, dy;
    LoomPoint root = loom_place_root(part, e, &dx, &dy), at = loom_place_end(part, e, &dx, &dy);
    double depth = loom_end_size(end).depth_mm;
    LoomPoint way[] = {root, {at.x - dx * depth, at.y - dy * depth}};
    if (end->pigtail_mm > 0) {
      g_autoptr(GArray) strokes = loom_strokes_of_end(part->kind, e);
      loom_draw_strokes(ink, strokes, way, 2, loom_strokes_side(way[0], way[1]), 1);
    }
    loom_draw_end_at(ink, end, at, dx, dy);
  }
}

void
loom_draw_kind(LoomInk *ink, const LoomKind *kind)
{
  LoomPicture *picture = loom_picture_new(kind);
  if (kind->lead) {
    loom_picture_draw(ink, kind, picture);
  } else {
    g_autoptr(LoomPart) part = loom_part_new(kind, kind->letter);
    part->x_mm = part->y_mm = 0;
    draw_body(ink, kind, picture, false);
    draw_fixed_ends(ink, part);
  }
  loom_picture_unref(picture);
}

LoomRect
loom_draw_kind_extents(const LoomKind *kind)
{
  if (kind->lead) {
    LoomPicture *picture = loom_picture_new(kind);
    LoomRect all = picture_extents(picture);
    loom_picture_unref(picture);
    return all;
  }
  g_autoptr(LoomPart) part = loom_part_new(kind, kind->letter);
  part->x_mm = part->y_mm = 0;
  LoomRect all = {0, 0, kind->width_mm, kind->height_mm};
  for (guint e = 0; e < kind->n_ends; e++) {
    int dx, dy;
    LoomEndSize size = loom_end_size(&kind->ends[e]);
    LoomPoint at = loom_place_end(part, e, &dx, &dy);
    LoomPoint tip = {at.x + dx * size.prong_mm, at.y + dy * size.prong_mm};
    size.depth_mm += size.prong_mm;
    all = loom_rect_union(all, loom_end_box(&size, tip, dx, dy));
  }
  return loom_rect_grown(all, OUTLINE_MM);
}
