/* Connectors, true to gender without colour. Each is drawn lying: face at x = 0, looking to the
 * right, way 1 at the top; the sheet turns it.
 *
 *      wires      housing     face    prongs
 *      ========+-----------+  |       pins:       solid, standing out of the face
 *              |      [ == |==|===    sockets:    hollow wells, open at the face
 *      ========+-----------+          genderless: a step;  terminal: ring, screw, bare metal
 *           x = -depth    x = 0                                                          */
#include "draw-private.h"

#include <math.h>

#define OUTLINE_MM 0.3

typedef struct {
  LoomInk *ink;
  const LoomEnd *end;
  LoomEndSize size;
  double half; /* half its width */
  bool first;  /* of two genderless halves, the one that looks right or down */
} Plug;

static bool
has_pins(const Plug *p)
{
  return p->end->gender == LOOM_GENDER_PINS;
}

static guint
ways(const Plug *p)
{
  return MAX(p->end->family->ways, 1);
}

static double
way_y(const Plug *p, guint way)
{
  return (way - (ways(p) + 1) / 2.0) * p->size.pitch_mm;
}

static bool
filled(const Plug *p, guint way)
{
  return loom_end_contact_at(p->end, way) != LOOM_NONE;
}

static LoomStyle
housing_style(const Plug *p)
{
  return loom_style_both(has_pins(p) ? LOOM_PAINT_SHELL : LOOM_PAINT_TINT, LOOM_PAINT_INK,
                         OUTLINE_MM);
}

static void
box(const Plug *p, double x0, double x1, double half, double radius, LoomStyle style)
{
  loom_draw_rect(p->ink, (LoomRect){x0, -half, x1 - x0, 2 * half}, radius, style);
}

/* A housing with its corner by way 1 cut where the family is keyed. */
static void
keyed_housing(const Plug *p, double cut)
{
  double d = p->size.depth_mm, h = p->half, c = p->end->family->keyed ? cut : 0;
  LoomPoint corners[] = {{-d + 0.6, -h}, {-c, -h},      {0, -h + c},   {0, h},
                         {-d + 0.6, h},  {-d, h - 0.6}, {-d, -h + 0.6}};
  loom_draw_corners(p->ink, corners, G_N_ELEMENTS(corners), true, housing_style(p));
}

/* A prong with a round or square tip. */
static void
prong(const Plug *p, double y, double width, double length, bool round)
{
  LoomRect r = {-0.3, y - width / 2, length + 0.3, width};
  loom_draw_rect(p->ink, r, round ? width / 2 : 0.15, loom_style_fill(LOOM_PAINT_INK));
}

/* A well with its mouth at the face; its contact shows as two thin lines of metal where it is
 * filled. */
static void
well(const Plug *p, double y, double width, double depth, bool round, bool contact)
{
  g_autoptr(LoomPath) path = loom_path_new();
  double h = width / 2, r = round ? h : 0.2;
  loom_path_move(path, 0, y - h);
  loom_path_line(path, -depth + r, y - h);
  loom_path_curve(path, -depth + 0.45 * r, y - h, -depth, y - h + 0.55 * r, -depth, y - h + r);
  loom_path_line(path, -depth, y + h - r);
  loom_path_curve(path, -depth, y + h - 0.55 * r, -depth + 0.45 * r, y + h, -depth + r, y + h);
  loom_path_line(path, 0, y + h);
  LoomStyle style = loom_style_both(LOOM_PAINT_WELL, LOOM_PAINT_INK, 0.25);
  loom_ink_path(p->ink, path, &style);
  if (!contact)
    loom_draw_segment(p->ink, -depth, y - h, 0, y + h, loom_style_line(LOOM_PAINT_FAINT, 0.2));
}

static void
contacts(const Plug *p, double width, double extra, bool round)
{
  for (guint way = 1; way <= ways(p); way++) {
    double y = way_y(p, way);
    if (!has_pins(p))
      well(p, y, width + 0.5, p->size.prong_mm + 0.15, round, filled(p, way));
    else if (filled(p, way))
      prong(p, y, width, p->size.prong_mm - extra, round);
  }
}

static void
draw_round(const Plug *p)
{
  keyed_housing(p, 1.3);
  contacts(p, ways(p) == 1 ? 1.8 : 1.4, 0.2, true);
  if (p->end->family->latches)
    loom_draw_rect(p->ink, (LoomRect){-p->size.depth_mm + 0.8, -p->half - 0.7, 2.2, 0.7}, 0.25,
                   housing_style(p));
}

static void
draw_blade(const Plug *p)
{
  box(p, -p->size.depth_mm, 0, p->half, 0.5, housing_style(p));
  double width = CLAMP(p->size.pitch_mm - 0.9, 1.4, 2.2);
  contacts(p, width, 0.2, false);
  for (guint way = 1; has_pins(p) && way <= ways(p); way++)
    if (filled(p, way))
      loom_draw_circle(p->ink, 1.5, way_y(p, way), 0.35, loom_style_fill(LOOM_PAINT_PAPER));
}

/* Half of each contact's housing stands out, half stands back: turned over, it fits its like. */
static void
draw_flat(const Plug *p)
{
  double d = p->size.depth_mm, s = p->size.prong_mm / 2,
         cell = ways(p) > 1 ? p->size.pitch_mm : 2 * p->half;
  for (guint way = 1; way <= ways(p); way++) {
    double y = way_y(p, way), top = y - cell / 2 + 0.1, low = y + cell / 2 - 0.1;
    double up = p->first ? s : -s;
    LoomPoint step[] = {{-d, top}, {up, top}, {up, y}, {-up, y}, {-up, low}, {-d, low}};
    loom_draw_corners(p->ink, step, G_N_ELEMENTS(step), true,
                      loom_style_both(LOOM_PAINT_SHELL, LOOM_PAINT_INK, OUTLINE_MM));
    double side = p->first ? y - 0.5 : y + 0.5;
    loom_draw_segment(p->ink, -d + 0.8, side, s - 0.5, side, loom_style_line(LOOM_PAINT_INK, 0.5));
  }
}

/* Way 1 of a small connector is marked by a triangle (common practice, no source). */
static void
way_one(const Plug *p)
{
  double x = -p->size.depth_mm + 0.35, y = way_y(p, 1);
  LoomPoint corners[] = {{x, y - 0.5}, {x, y + 0.5}, {x + 0.75, y}};
  loom_draw_corners(p->ink, corners, 3, true, loom_style_fill(LOOM_PAINT_INK));
}

static void
draw_post(const Plug *p)
{
  box(p, has_pins(p) ? -2.2 : -p->size.depth_mm, 0, p->half, 0.2, housing_style(p));
  if (has_pins(p))
    box(p, -p->size.depth_mm, -2.2, p->half - 0.5, 0.1,
        loom_style_both(LOOM_PAINT_SHADE, LOOM_PAINT_INK, 0.25));
  contacts(p, MIN(0.75, 0.5 * p->size.pitch_mm), 0, false);
  way_one(p);
}

static void
draw_locked(const Plug *p)
{
  box(p, -p->size.depth_mm, 0, p->half, 0.4, housing_style(p));
  LoomPoint hook[] = {{-2.9, -p->half}, {-0.9, -p->half - 0.75}, {-0.5, -p->half}};
  loom_draw_corners(p->ink, hook, 3, !has_pins(p), housing_style(p));
  contacts(p, MIN(0.8, 0.5 * p->size.pitch_mm), 0.1, false);
  way_one(p);
}

static void
draw_coax(const Plug *p)
{
  box(p, -p->size.depth_mm, -1.2, p->half, 0.8, housing_style(p));
  box(p, -1.4, 0, p->half - 0.6, 0.2, housing_style(p));
  if (!has_pins(p)) {
    well(p, 0, 3.0, p->size.prong_mm + 0.2, false, true);
    loom_draw_segment(p->ink, -p->size.prong_mm, 0, -0.8, 0, loom_style_line(LOOM_PAINT_INK, 0.6));
    return;
  }
  prong(p, 0, 2.4, p->size.prong_mm, false);
  loom_draw_segment(p->ink, 0.7, 0, p->size.prong_mm, 0, loom_style_line(LOOM_PAINT_WELL, 0.6));
}

static bool
accepts_others(const LoomEnd *end)
{
  return end->family->accepts && end->family->accepts[0];
}

static void
draw_stud(const Plug *p)
{
  box(p, -p->size.depth_mm, 0.6, p->half, 0.5,
      loom_style_both(LOOM_PAINT_SHELL, LOOM_PAINT_INK, OUTLINE_MM));
  LoomPoint nut[6];
  for (guint k = 0; k < 6; k++)
    nut[k] = (LoomPoint){1.75 * cos(k * G_PI / 3), 1.75 * sin(k * G_PI / 3)};
  loom_draw_corners(p->ink, nut, 6, true, loom_style_both(LOOM_PAINT_METAL, LOOM_PAINT_INK, 0.3));
  loom_draw_circle(p->ink, 0, 0, 0.8, loom_style_both(LOOM_PAINT_TINT, LOOM_PAINT_INK, 0.25));
}

static void
draw_lug(const Plug *p)
{
  box(p, -p->size.depth_mm - 0.6, -1.7, 0.9, 0.2,
      loom_style_both(LOOM_PAINT_METAL, LOOM_PAINT_INK, 0.25));
  loom_draw_circle(p->ink, 0, 0, 2.0, loom_style_line(LOOM_PAINT_INK, 1.3));
  loom_draw_circle(p->ink, 0, 0, 2.0, loom_style_line(LOOM_PAINT_METAL, 0.8));
}

static void
draw_screw(const Plug *p)
{
  box(p, -p->size.depth_mm, 0, p->half, 0.4,
      loom_style_both(LOOM_PAINT_SHELL, LOOM_PAINT_INK, OUTLINE_MM));
  for (guint way = 1; way <= ways(p); way++) {
    double y = way_y(p, way), x = -p->size.depth_mm + 1.6;
    well(p, y, 1.5, 1.3, false, true);
    loom_draw_circle(p->ink, x, y, 1.05, loom_style_both(LOOM_PAINT_METAL, LOOM_PAINT_INK, 0.25));
    loom_draw_segment(p->ink, x - 0.6, y - 0.6, x + 0.6, y + 0.6,
                      loom_style_line(LOOM_PAINT_INK, 0.3));
  }
}

static void
draw_conductor(const Plug *p)
{
  for (guint way = 1; way <= ways(p); way++) {
    double y = way_y(p, way), d = p->size.depth_mm;
    loom_draw_rect(p->ink, (LoomRect){-0.4, y - 0.45, p->size.prong_mm + 0.4, 0.9}, 0.2,
                   loom_style_both(LOOM_PAINT_METAL, LOOM_PAINT_INK, 0.2));
    LoomPoint collar[] = {{-d, y - 0.65}, {-0.3, y - 0.95}, {-0.3, y + 0.95}, {-d, y + 0.65}};
    loom_draw_corners(p->ink, collar, 4, true,
                      loom_style_both(LOOM_PAINT_SHELL, LOOM_PAINT_INK, 0.25));
  }
}

static void
draw_usb(const Plug *p)
{
  box(p, -p->size.depth_mm, 0, p->half, 0.5, housing_style(p));
  if (!has_pins(p)) {
    well(p, 0, 4.8, p->size.prong_mm + 0.2, false, true);
    box(p, -p->size.prong_mm, -0.5, 0.8, 0.1, loom_style_fill(LOOM_PAINT_INK));
    return;
  }
  box(p, 0, p->size.prong_mm, 2.2, 0.2,
      loom_style_both(LOOM_PAINT_METAL, LOOM_PAINT_INK, OUTLINE_MM));
  for (int side = -1; side <= 1; side += 2)
    loom_draw_rect(p->ink, (LoomRect){1.0, side * 1.0 - 0.35, 0.7, 0.7}, 0,
                   loom_style_fill(LOOM_PAINT_INK));
}

static void
draw_modular(const Plug *p)
{
  box(p, -p->size.depth_mm, 0, p->half, 0.3, housing_style(p));
  if (!has_pins(p))
    well(p, 0, 6.2, p->size.prong_mm + 0.2, false, true);
  else
    box(p, 0, p->size.prong_mm, 2.8, 0.2,
        loom_style_both(LOOM_PAINT_SHELL, LOOM_PAINT_INK, OUTLINE_MM));
  double x0 = has_pins(p) ? 0.9 : -p->size.prong_mm, x1 = has_pins(p) ? p->size.prong_mm : -1.3;
  for (guint way = 1; way <= ways(p); way++)
    if (filled(p, way))
      loom_draw_segment(p->ink, x0, way_y(p, way), x1, way_y(p, way),
                        loom_style_line(LOOM_PAINT_INK, 0.3));
}

static void
draw_circular(const Plug *p)
{
  double d = p->size.depth_mm;
  box(p, -d, -2.6, p->half - 0.8, 0.5, housing_style(p));
  box(p, -2.6, 0, p->half, 0.5, housing_style(p));
  for (double y = -p->half + 0.6; y < p->half - 0.3; y += 0.7)
    loom_draw_segment(p->ink, -2.3, y, -1.9, y, loom_style_line(LOOM_PAINT_INK, 0.2));
  for (guint way = 1; way <= ways(p); way++) {
    if (!has_pins(p))
      well(p, way_y(p, way), 1.2, 1.7, true, filled(p, way));
    else if (filled(p, way))
      prong(p, way_y(p, way), 0.8, 1.5, true);
  }
}

static void
draw_radio(const Plug *p)
{
  loom_draw_circle(p->ink, -3.2, 0, 0.7, loom_style_fill(LOOM_PAINT_INK));
  for (guint k = 1; k <= 3; k++) {
    double r = 0.5 + 1.05 * k, c = r * 0.7071067811865476, h = r * 0.39;
    g_autoptr(LoomPath) arc = loom_path_new();
    loom_path_move(arc, -3.2 + c, -c);
    loom_path_curve(arc, -3.2 + c + h * 0.7071, -c + h * 0.7071, -3.2 + c + h * 0.7071,
                    c - h * 0.7071, -3.2 + c, c);
    LoomStyle style = loom_style_line(LOOM_PAINT_INK, 0.4);
    loom_ink_path(p->ink, arc, &style);
  }
}

static void
draw_ring(const Plug *p)
{
  if (accepts_others(p->end))
    draw_stud(p);
  else
    draw_lug(p);
}

static void (*const DRAW[])(const Plug *plug) = {
    [LOOM_SHAPE_ROUND] = draw_round,         [LOOM_SHAPE_BLADE] = draw_blade,
    [LOOM_SHAPE_FLAT] = draw_flat,           [LOOM_SHAPE_POST] = draw_post,
    [LOOM_SHAPE_LOCKED] = draw_locked,       [LOOM_SHAPE_COAX] = draw_coax,
    [LOOM_SHAPE_RING] = draw_ring,           [LOOM_SHAPE_SCREW] = draw_screw,
    [LOOM_SHAPE_CONDUCTOR] = draw_conductor, [LOOM_SHAPE_USB] = draw_usb,
    [LOOM_SHAPE_MODULAR] = draw_modular,     [LOOM_SHAPE_CIRCULAR] = draw_circular,
    [LOOM_SHAPE_RADIO] = draw_radio,
};

bool
loom_end_is_on_top(const LoomEnd *end)
{
  if (end->gender == LOOM_GENDER_TERMINAL)
    return !accepts_others(end);
  return end->gender == LOOM_GENDER_PINS;
}

static void
draw_plug(LoomInk *ink, gconstpointer data)
{
  Plug plug = *(const Plug *)data;
  plug.ink = ink;
  DRAW[plug.end->family->shape](&plug);
}

#define MOST_STAMPED 50 /* ways: a double tells so many apart */

/* Everything that the look of a connector depends on. */
static LoomStamp
stamp_of(const Plug *p)
{
  const LoomFamily *f = p->end->family;
  double contacts = 0;
  for (guint way = 1; way <= ways(p); way++)
    contacts = 2 * contacts + filled(p, way);
  double out = p->size.depth_mm + p->size.prong_mm + 2, aside = p->half + 2;
  return (LoomStamp){
      .draw = draw_plug,
      .data = p,
      .figures = {f->shape, p->end->gender, ways(p), contacts,
                  8 * p->first + 4 * f->keyed + 2 * f->latches + accepts_others(p->end),
                  p->size.depth_mm, p->size.prong_mm, p->size.width_mm, p->size.pitch_mm},
      .box = {-out, -aside, 2 * out, 2 * aside}};
}

/* Way 1 comes to lie at the top of ends that look sideways, at the left of those that look up or
 * down. */
void
loom_draw_end_at(LoomInk *ink, const LoomEnd *end, LoomPoint at, int dx, int dy)
{
  int quarters = dy ? 3 : 0;
  bool mirrored = dx < 0 || dy > 0;
  Plug plug = {.end = end, .size = loom_end_size(end), .first = dx > 0 || dy > 0};
  plug.half = plug.size.width_mm / 2;
  loom_ink_begin_placed(ink, at.x, at.y, quarters, mirrored);
  if (ways(&plug) <= MOST_STAMPED) {
    LoomStamp stamp = stamp_of(&plug);
    loom_ink_stamp(ink, &stamp);
  } else {
    draw_plug(ink, &plug);
  }
  loom_ink_end(ink);
}

void
loom_draw_end(LoomInk *ink, const LoomEnd *end, bool plugged G_GNUC_UNUSED)
{
  LoomEndSize size = loom_end_size(end);
  loom_draw_end_at(ink, end, (LoomPoint){size.depth_mm, size.width_mm / 2}, 1, 0);
}
