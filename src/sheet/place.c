#include "place.h"

#include "text.h"

#include <math.h>

bool
loom_rect_meets(LoomRect a, LoomRect b)
{
  return a.x < b.x + b.width && b.x < a.x + a.width && a.y < b.y + b.height && b.y < a.y + a.height;
}

LoomRect
loom_rect_grown(LoomRect r, double by)
{
  return (LoomRect){r.x - by, r.y - by, r.width + 2 * by, r.height + 2 * by};
}

LoomRect
loom_rect_around(LoomPoint a, LoomPoint b)
{
  return (LoomRect){fmin(a.x, b.x), fmin(a.y, b.y), fabs(a.x - b.x), fabs(a.y - b.y)};
}

LoomRect
loom_rect_union(LoomRect a, LoomRect b)
{
  if (a.width <= 0 && a.height <= 0)
    return b;
  if (b.width <= 0 && b.height <= 0)
    return a;
  double x = fmin(a.x, b.x), y = fmin(a.y, b.y);
  return (LoomRect){x, y, fmax(a.x + a.width, b.x + b.width) - x,
                    fmax(a.y + a.height, b.y + b.height) - y};
}

/* Two plugs are 10 mm deep together, so that parts on the grid can meet face to face. */
#define PLUG_MM 5.0

/* Depth and prong by shape; width 0: by ways and pitch. */
static const struct {
  double depth, prong, width, margin;
} SHAPES[] = {
    [LOOM_SHAPE_ROUND] = {PLUG_MM, 3.0, 0, 3.4},   [LOOM_SHAPE_BLADE] = {PLUG_MM, 3.0, 0, 3.8},
    [LOOM_SHAPE_FLAT] = {PLUG_MM, 1.8, 0, 4.6},    [LOOM_SHAPE_POST] = {PLUG_MM, 2.6, 0, 2.4},
    [LOOM_SHAPE_LOCKED] = {PLUG_MM, 2.4, 0, 2.8},  [LOOM_SHAPE_COAX] = {PLUG_MM, 2.8, 5.4, 0},
    [LOOM_SHAPE_RING] = {3.0, 0, 5.0, 0},          [LOOM_SHAPE_SCREW] = {4.0, 0, 0, 3.6},
    [LOOM_SHAPE_CONDUCTOR] = {2.4, 2.2, 0, 1.6},   [LOOM_SHAPE_USB] = {PLUG_MM, 2.6, 6.6, 0},
    [LOOM_SHAPE_MODULAR] = {PLUG_MM, 2.8, 7.4, 0}, [LOOM_SHAPE_CIRCULAR] = {PLUG_MM, 2.2, 0, 3.4},
    [LOOM_SHAPE_RADIO] = {4.4, 0, 5.0, 0},
};

LoomEndSize
loom_end_size(const LoomEnd *end)
{
  const LoomFamily *family = end->family;
  double pitch = CLAMP(0.75 * family->pitch_mm, 1.4, 4.2);
  guint ways = MAX(family->ways, 1);
  double width = SHAPES[family->shape].width;
  if (family->shape == LOOM_SHAPE_MODULAR)
    pitch = 0.7;
  else if (family->shape == LOOM_SHAPE_USB)
    pitch = 4.4 / (ways - (ways > 1));
  else if (width > 0)
    pitch = 2;
  else
    width = (ways - 1) * pitch + SHAPES[family->shape].margin;
  return (LoomEndSize){SHAPES[family->shape].depth, width, SHAPES[family->shape].prong, pitch};
}

LoomRect
loom_end_box(const LoomEndSize *size, LoomPoint at, int dx, int dy)
{
  double across_x = fabs((double)dy) * size->width_mm, across_y = fabs((double)dx) * size->width_mm;
  LoomPoint back = {at.x - dx * size->depth_mm, at.y - dy * size->depth_mm};
  LoomRect r = loom_rect_around(at, back);
  return (LoomRect){r.x - across_x / 2, r.y - across_y / 2, r.width + across_x,
                    r.height + across_y};
}

/* Direction of the kind on the sheet. */
static void
turned(const LoomPart *part, int *dx, int *dy)
{
  int x = part->flip ? -*dx : *dx, y = *dy;
  for (guint i = 0; i < (guint)part->turn; i++) {
    int old = x;
    x = -y;
    y = old;
  }
  *dx = x;
  *dy = y;
}

LoomPoint
loom_place_point(const LoomPart *part, double u, double v)
{
  double w = part->kind->width_mm, h = part->kind->height_mm;
  if (part->flip)
    u = w - u;
  switch (part->turn) {
  case LOOM_TURN_90:
    return (LoomPoint){part->x_mm + h - v, part->y_mm + u};
  case LOOM_TURN_180:
    return (LoomPoint){part->x_mm + w - u, part->y_mm + h - v};
  case LOOM_TURN_270:
    return (LoomPoint){part->x_mm + v, part->y_mm + w - u};
  default:
    return (LoomPoint){part->x_mm + u, part->y_mm + v};
  }
}

LoomRect
loom_place_rect(const LoomPart *part, LoomRect r)
{
  return loom_rect_around(loom_place_point(part, r.x, r.y),
                          loom_place_point(part, r.x + r.width, r.y + r.height));
}

/* So that ink in the kind's millimetres comes to lie on the sheet. */
void
loom_place_begin(LoomInk *ink, const LoomPart *part)
{
  LoomPoint origin = loom_place_point(part, 0, 0);
  loom_ink_begin_placed(ink, origin.x, origin.y, part->turn, part->flip);
}

LoomRect
loom_place_outline(const LoomPart *part)
{
  if (part->kind->lead)
    return loom_tag_box(part, (LoomPoint){part->x_mm, part->y_mm});
  return loom_place_rect(part, (LoomRect){0, 0, part->kind->width_mm, part->kind->height_mm});
}

static const int SIDE_STEP[4][2] = {[LOOM_SIDE_LEFT] = {-1, 0},
                                    [LOOM_SIDE_RIGHT] = {1, 0},
                                    [LOOM_SIDE_TOP] = {0, -1},
                                    [LOOM_SIDE_BOTTOM] = {0, 1}};

LoomPoint
loom_place_hung(const LoomPart *part, LoomPoint tag, const bool *hung, guint end, int side, int *dx)
{
  guint n = 0, before = 0;
  double row = 0;
  for (guint e = 0; e < part->kind->n_ends; e++) {
    if (hung && !hung[e])
      continue;
    row = fmax(row, loom_end_size(&part->kind->ends[e]).width_mm + 3);
    before += e < end;
    n++;
  }
  guint on_right = side > 0 ? n : side < 0 ? 0 : n - n / 2, on_left = n - on_right;
  bool right = part->flip ? before < on_right : before >= on_left;
  guint rows = right ? on_right : on_left,
        own = part->flip == right ? before : before - (right ? on_left : on_right);
  *dx = right ? 1 : -1;
  LoomRect box = loom_tag_box(part, tag);
  double out = LOOM_STUB_MM + loom_end_size(&part->kind->ends[end]).depth_mm;
  return (LoomPoint){tag.x + *dx * (box.width / 2 + out), tag.y + (own - (rows - 1) / 2.0) * row};
}

/* Where the wire of a free end leaves the tag. */
static LoomPoint
lead_root(const LoomPart *part, guint end, int *dx, int *dy)
{
  LoomPoint tag = {part->x_mm, part->y_mm};
  loom_place_hung(part, tag, NULL, end, 0, dx);
  *dy = 0;
  return (LoomPoint){tag.x + *dx * loom_tag_box(part, tag).width / 2, tag.y};
}

LoomPoint
loom_place_root(const LoomPart *part, guint end, int *dx, int *dy)
{
  if (part->kind->lead)
    return lead_root(part, end, dx, dy);
  const LoomEnd *e = &part->kind->ends[end];
  *dx = SIDE_STEP[e->side][0];
  *dy = SIDE_STEP[e->side][1];
  turned(part, dx, dy);
  double u = e->side == LOOM_SIDE_LEFT    ? 0
             : e->side == LOOM_SIDE_RIGHT ? part->kind->width_mm
                                          : e->at_mm;
  double v = e->side == LOOM_SIDE_TOP      ? 0
             : e->side == LOOM_SIDE_BOTTOM ? part->kind->height_mm
                                           : e->at_mm;
  return loom_place_point(part, u, v);
}

LoomPoint
loom_place_end(const LoomPart *part, guint end, int *dx, int *dy)
{
  const LoomEnd *e = &part->kind->ends[end];
  LoomPoint at = loom_place_root(part, end, dx, dy);
  if (part->kind->lead)
    return loom_place_hung(part, (LoomPoint){part->x_mm, part->y_mm}, NULL, end, 0, dx);
  double out = loom_end_size(e).depth_mm + (e->pigtail_mm > 0 ? LOOM_STUB_MM : 0);
  return (LoomPoint){at.x + *dx * out, at.y + *dy * out};
}
