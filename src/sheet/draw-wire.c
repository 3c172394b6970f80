#include "draw-private.h"
#include "text.h"

#include <math.h>

#define RADIUS_MM 2.4

static double
luminance(guint32 rgb)
{
  double sum = 0;
  static const double SHARE[] = {0.2126, 0.7152, 0.0722}; /* WCAG 2.1, relative luminance */
  for (guint i = 0; i < 3; i++) {
    double c = (rgb >> (16 - 8 * i) & 0xff) / 255.0;
    sum += SHARE[i] * (c <= 0.03928 ? c / 12.92 : pow((c + 0.055) / 1.055, 2.4));
  }
  return sum;
}

/* Whether the paint hardly shows on this paper: contrast (WCAG 2.1) below 2. */
bool
loom_needs_edge(const LoomInk *ink, LoomPaint paint)
{
  double a = luminance(loom_palette_rgb(ink->palette, paint));
  double b = luminance(loom_palette_rgb(ink->palette, LOOM_PAINT_PAPER));
  return (fmax(a, b) + 0.05) / (fmin(a, b) + 0.05) < 2;
}

static void
stroke_line(LoomInk *ink, const LoomPath *path, const LoomStroke *s, double width)
{
  if (loom_needs_edge(ink, s->paint)) {
    LoomStyle edge = loom_style_line(LOOM_PAINT_INK, width + 0.12);
    loom_ink_path(ink, path, &edge);
    width = fmax(width - 0.1, 0.25);
  }
  LoomStyle line = loom_style_line(s->paint, width);
  loom_ink_path(ink, path, &line);
  if (s->second == LOOM_PAINT_NONE)
    return;
  LoomStyle second = loom_style_line(s->second, width);
  second.dash_mm = 1.5;
  loom_ink_path(ink, path, &second);
}

void
loom_draw_strokes(LoomInk *ink, const GArray *strokes, const LoomPoint *points, guint n, int side,
                  double width_factor)
{
  for (guint i = 0; i < strokes->len; i++) {
    const LoomStroke *s = &g_array_index(strokes, LoomStroke, i);
    g_autoptr(LoomPath) path = loom_path_new();
    loom_strokes_path(path, points, n, side * s->offset_mm * fmax(width_factor, 1), RADIUS_MM);
    stroke_line(ink, path, s, s->line_mm * width_factor);
  }
}

/* Paper under the wire, so that one that crosses passes as under a bridge; a glow where it gets
 * warm, broken into dashes where it is beyond its rating. */
void
loom_draw_bed(LoomInk *ink, const LoomPath *path, double width, double stress)
{
  LoomStyle bed = loom_style_line(LOOM_PAINT_PAPER, width + 1.2);
  loom_ink_path(ink, path, &bed);
  if (stress <= LOOM_WARM_STRESS)
    return;
  LoomStyle glow = loom_style_line(stress > 1 ? LOOM_PAINT_STOP : LOOM_PAINT_CARE, width + 2.2);
  glow.opacity = stress > 1 ? 0.6 : 0.35;
  glow.dash_mm = stress > 1 ? 1.6 : 0;
  loom_ink_path(ink, path, &glow);
}

/* Length along the wire where it passes its tag; NAN without. */
static guint
leg_of_tag(const LoomLaidLead *lead)
{
  for (guint k = 0; k + 1 < lead->n_points; k++) {
    LoomRect r = loom_rect_grown(loom_rect_around(lead->points[k], lead->points[k + 1]), 0.01);
    if (lead->tag.x >= r.x && lead->tag.x <= r.x + r.width && lead->tag.y >= r.y &&
        lead->tag.y <= r.y + r.height)
      return k;
  }
  return LOOM_NONE;
}

static int
side_at(const LoomLaidLead *lead, guint leg)
{
  return loom_strokes_side(lead->points[leg], lead->points[leg + 1]);
}

/* From the first end to the tag in the order of the first end, from there in that of the second:
 * what changes places does so under the tag. */
static void
draw_two_ends(LoomInk *ink, const LoomPart *part, const LoomLaidLead *lead, double width_factor)
{
  g_autoptr(GArray) a = loom_strokes_of_end(part->kind, lead->end_a);
  g_autoptr(GArray) b = loom_strokes_of_end(part->kind, lead->end_b);
  guint leg = leg_of_tag(lead), n = lead->n_points;
  if (leg == LOOM_NONE) {
    loom_draw_strokes(ink, a, lead->points, n, side_at(lead, 0), width_factor);
    return;
  }
  g_autofree LoomPoint *half = g_new(LoomPoint, n + 1);
  memcpy(half, lead->points, (leg + 1) * sizeof *half);
  half[leg + 1] = lead->tag;
  loom_draw_strokes(ink, a, half, leg + 2, side_at(lead, 0), width_factor);
  half[0] = lead->tag;
  memcpy(half + 1, lead->points + leg + 1, (n - leg - 1) * sizeof *half);
  loom_draw_strokes(ink, b, half, n - leg, side_at(lead, n - 2), width_factor);
}

void
loom_draw_wire(LoomInk *ink, const LoomPart *part, const LoomLaidLead *lead, double width_factor,
               double stress)
{
  if (lead->n_points < 2)
    return;
  bool from_a = lead->end_a != LOOM_NONE;
  guint end = from_a ? lead->end_a : lead->end_b;
  g_autoptr(GArray) strokes = loom_strokes_of_end(part->kind, end);
  g_autoptr(LoomPath) path = loom_path_new();
  loom_strokes_path(path, lead->points, lead->n_points, 0, RADIUS_MM);
  loom_draw_bed(ink, path, loom_strokes_width(strokes) * width_factor, stress);
  if (from_a && lead->end_b != LOOM_NONE)
    draw_two_ends(ink, part, lead, width_factor);
  else
    loom_draw_strokes(ink, strokes, lead->points, lead->n_points,
                      side_at(lead, from_a ? 0 : lead->n_points - 2), width_factor);
}

void
loom_draw_tag(LoomInk *ink, const LoomPart *part, const LoomTag *tag)
{
  LoomRect box = loom_tag_box(part, tag->at);
  loom_draw_rect(ink, box, LOOM_TAG_MM / 2,
                 loom_style_both(LOOM_PAINT_GROUP + part->kind->group, LOOM_PAINT_INK, 0.3));
  loom_ink_text(ink, tag->at.x, tag->at.y + 0.36 * LOOM_TAG_TEXT_MM, LOOM_TAG_TEXT_MM,
                LOOM_ANCHOR_MIDDLE, true, LOOM_PAINT_INK, part->designation);
  for (guint i = 0; tag->words && i < tag->words->len; i++)
    loom_words_draw(ink, &g_array_index(tag->words, LoomWords, i));
}
