#include "strokes.h"

#include <math.h>

#define WIDEST_MM 3.0 /* more conductors are drawn thinner */
#define GAP_MM 0.3

/* The wire element that ends at the node, or NULL. */
static const LoomElement *
wire_at(const LoomKind *kind, guint node)
{
  for (guint i = 0; i < kind->n_elements; i++) {
    const LoomElement *e = &kind->elements[i];
    if (e->type == LOOM_ELEMENT_WIRE && (e->a == node || e->b == node))
      return e;
  }
  return NULL;
}

static LoomPaint
paint_of_code(const char *letters, guint at)
{
  char code[5] = "";
  guint n;
  const LoomColour *all = loom_colours(&n);
  if (at == 0 && loom_colour(letters))
    return LOOM_PAINT_WIRE + (LoomPaint)(loom_colour(letters) - all);
  if (strlen(letters) < at + 2)
    return LOOM_PAINT_NONE;
  memcpy(code, letters + at, 2);
  const LoomColour *one = loom_colour(code);
  return one ? LOOM_PAINT_WIRE + (LoomPaint)(one - all) : LOOM_PAINT_NONE;
}

/* Green-and-yellow is one entry of the standard and two colours of the wire. */
static void
set_paints(LoomStroke *stroke)
{
  bool earth = g_ascii_strcasecmp(stroke->letters, "GNYE") == 0;
  stroke->paint = paint_of_code(earth ? "GN" : stroke->letters, 0);
  stroke->second = paint_of_code(stroke->letters, 2);
  if (stroke->paint == LOOM_PAINT_NONE)
    stroke->paint = LOOM_PAINT_FAINT;
}

static LoomStroke
stroke_of(const LoomKind *kind, const LoomEnd *end, guint contact)
{
  const LoomElement *wire = wire_at(kind, end->first_node + contact);
  const char *letters = wire && wire->colour ? wire->colour : end->contacts[contact].colour;
  double mm2 = wire ? wire->mm2 : isnan(end->pigtail_mm2) ? 0.25 : end->pigtail_mm2;
  LoomStroke s = {.letters = letters ? letters : "", .line_mm = CLAMP(0.45 + 0.2 * mm2, 0.5, 1.1)};
  set_paints(&s);
  return s;
}

GArray *
loom_strokes_of_end(const LoomKind *kind, guint end)
{
  const LoomEnd *e = &kind->ends[end];
  GArray *strokes = g_array_new(FALSE, FALSE, sizeof(LoomStroke));
  double width = 0;
  for (guint c = 0; c < e->n_contacts; c++) {
    LoomStroke s = stroke_of(kind, e, c);
    width += s.line_mm + GAP_MM;
    g_array_append_val(strokes, s);
  }
  double shrink = width > WIDEST_MM ? WIDEST_MM / width : 1;
  double at = shrink * width / 2;
  for (guint i = 0; i < strokes->len; i++) {
    LoomStroke *s = &g_array_index(strokes, LoomStroke, i);
    double pitch = (s->line_mm + GAP_MM) * shrink;
    s->line_mm *= shrink;
    s->offset_mm = at - pitch / 2;
    at -= pitch;
  }
  return strokes;
}

double
loom_strokes_width(const GArray *strokes)
{
  if (strokes->len == 0)
    return 0;
  const LoomStroke *first = &g_array_index(strokes, LoomStroke, 0);
  return 2 * first->offset_mm + first->line_mm;
}

int
loom_strokes_side(LoomPoint a, LoomPoint b)
{
  return b.x - a.x > 1e-6 || b.y - a.y < -1e-6 ? 1 : -1;
}

static LoomPoint
step(LoomPoint a, LoomPoint b)
{
  double length = fmax(fabs(b.x - a.x) + fabs(b.y - a.y), 1e-9);
  return (LoomPoint){(b.x - a.x) / length, (b.y - a.y) / length};
}

/* A corner at `at`, coming along d1 and leaving along d2, all moved `offset` to the left. */
static void
round_corner(LoomPath *path, LoomPoint at, LoomPoint d1, LoomPoint d2, double offset, double radius)
{
  double turn = d1.x * d2.y - d1.y * d2.x; /* +1 to the right, y being down */
  LoomPoint p = {at.x + offset * (d1.y + d2.y), at.y - offset * (d1.x + d2.x)};
  if (fabs(turn) < 0.5) {
    loom_path_line(path, at.x + offset * d1.y, at.y - offset * d1.x);
    return;
  }
  double r = fmax(radius + (turn > 0 ? offset : -offset), 0.15), h = r * 0.4477152501692064;
  loom_path_line(path, p.x - d1.x * r, p.y - d1.y * r);
  loom_path_curve(path, p.x - d1.x * h, p.y - d1.y * h, p.x + d2.x * h, p.y + d2.y * h,
                  p.x + d2.x * r, p.y + d2.y * r);
}

static double
length_of(LoomPoint a, LoomPoint b)
{
  return fabs(b.x - a.x) + fabs(b.y - a.y);
}

void
loom_strokes_path(LoomPath *path, const LoomPoint *points, guint n, double offset, double radius)
{
  if (n < 2)
    return;
  LoomPoint d = step(points[0], points[1]);
  loom_path_move(path, points[0].x + offset * d.y, points[0].y - offset * d.x);
  for (guint i = 1; i + 1 < n; i++) {
    LoomPoint next = step(points[i], points[i + 1]);
    double room = fmin(length_of(points[i - 1], points[i]), length_of(points[i], points[i + 1]));
    round_corner(path, points[i], d, next, offset, fmin(radius, room / 2));
    d = next;
  }
  loom_path_line(path, points[n - 1].x + offset * d.y, points[n - 1].y - offset * d.x);
}
