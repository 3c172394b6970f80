/* Flags of findings: put where they cover nothing, as near as there is room. */
#include "draw-private.h"

#include <math.h>

#define FLAG_MM LOOM_FLAG_MM

bool
loom_draw_is_free(const LoomDrawing *d, LoomRect r)
{
  return !loom_crowd_meets(d->sheet->inside->crowd, r, LOOM_NONE, 0) &&
         !loom_crowd_meets(d->labels, r, LOOM_NONE, 0);
}

LoomPoint
loom_draw_near(LoomDrawing *d, LoomPoint at, double width, double height, double first)
{
  for (guint ring = 0; ring < 9; ring++)
    for (guint k = 0; k < 16; k++) {
      double r = first + ring * 2.0,
             angle = -G_PI / 2 + (k % 2 ? -1.0 : 1.0) * ((k + 1) / 2) * G_PI / 8;
      LoomPoint p = {at.x + r * cos(angle) * (1 + width / 14), at.y + r * sin(angle)};
      LoomRect box = {p.x - width / 2, p.y - height / 2, width, height};
      if (!loom_draw_is_free(d, box))
        continue;
      loom_crowd_add(d->labels, box, 0, 0);
      return p;
    }
  return at;
}

/* Stop: hexagon; care: triangle; note: ring. The shape says it without colour. */
void
loom_draw_flag_sign(LoomInk *ink, LoomPoint at, LoomSeverity severity, guint number)
{
  static const LoomPaint PAINT[] = {LOOM_PAINT_STOP, LOOM_PAINT_CARE, LOOM_PAINT_NOTE};
  LoomPaint paint = PAINT[severity];
  g_autofree char *text = g_strdup_printf("%u", number);
  if (severity == LOOM_NOTE) {
    loom_draw_circle(ink, at.x, at.y, FLAG_MM - 0.4, loom_style_both(LOOM_PAINT_PAPER, paint, 0.6));
  } else {
    guint n = severity == LOOM_STOP ? 6 : 3;
    LoomPoint corners[6];
    double r = severity == LOOM_STOP ? FLAG_MM : FLAG_MM + 0.9,
           drop = severity == LOOM_STOP ? 0 : 0.7;
    for (guint k = 0; k < n; k++) {
      double angle = k * 2 * G_PI / n - (severity == LOOM_STOP ? 0 : G_PI / 2);
      corners[k] = (LoomPoint){at.x + r * cos(angle), at.y + drop + r * sin(angle)};
    }
    loom_draw_corners(ink, corners, n, true, loom_style_both(paint, paint, 0.4));
  }
  double size = number > 9 ? 2.2 : 2.8;
  loom_ink_text(ink, at.x, at.y + (severity == LOOM_CARE ? 0.8 : 0) + 0.36 * size, size,
                LOOM_ANCHOR_MIDDLE, true, severity == LOOM_NOTE ? paint : LOOM_PAINT_PAPER, text);
}

/* The part or end that a finding is about: what it covers, and whether a flag on its corner would
 * hide it (ends, and tags of leads, are smaller than a flag). False where it is not drawn. */
static bool
find_place(const LoomDrawing *d, const struct LoomFindingPlace *place, LoomRect *box, bool *small)
{
  guint part = loom_design_find_part(d->sheet->design, place->part);
  if (part == LOOM_NONE || !loom_drawing_has(d, part))
    return false;
  const LoomKind *kind = loom_sheet_part(d->sheet, part)->kind;
  guint end = place->end ? loom_kind_find_end(kind, place->end) : LOOM_NONE;
  *box =
      end != LOOM_NONE ? loom_sheet_end(d->sheet, part, end)->box : d->sheet->parts[part].outline;
  *small = end != LOOM_NONE || kind->lead;
  return true;
}

/* Right on the corner of a part, unless another flag is there. */
static LoomPoint
corner_place(LoomDrawing *d, LoomPoint corner)
{
  double size = 2 * FLAG_MM + 0.6;
  LoomRect box = {corner.x - size / 2, corner.y - size / 2, size, size};
  if (loom_crowd_meets(d->labels, box, LOOM_NONE, 0))
    return loom_draw_near(d, corner, size, size, 6.5);
  loom_crowd_add(d->labels, box, 0, 0);
  return corner;
}

/* What the finding is about and where its flag goes, which takes the room; false where it is not
 * drawn. */
static bool
put_flag(LoomDrawing *d, const LoomFinding *finding, LoomRect *box, LoomPoint *sign)
{
  bool small;
  if (finding->n_places == 0 || !find_place(d, &finding->places[0], box, &small))
    return false;
  double size = 2 * FLAG_MM + 0.6;
  LoomPoint middle = {box->x + box->width / 2, box->y + box->height / 2};
  *sign = small ? loom_draw_near(d, middle, size, size, 6.5)
                : corner_place(d, (LoomPoint){box->x + box->width, box->y});
  return true;
}

/* From a flag that stands apart to the nearest place of what it is about. */
static void
draw_pointer(LoomInk *ink, LoomPoint sign, LoomRect box)
{
  LoomPoint to = {CLAMP(sign.x, box.x, box.x + box.width),
                  CLAMP(sign.y, box.y, box.y + box.height)};
  if (hypot(sign.x - to.x, sign.y - to.y) > FLAG_MM + 1.5)
    loom_draw_segment(ink, sign.x, sign.y, to.x, to.y, loom_style_line(LOOM_PAINT_INK, 0.25));
}

void
loom_draw_flags(LoomDrawing *d)
{
  const LoomFindings *f = d->options->findings;
  for (guint i = 0; f && i < f->n_findings; i++) {
    const LoomFinding *finding = &f->findings[i];
    LoomRect box;
    LoomPoint sign;
    if (!put_flag(d, finding, &box, &sign))
      continue;
    g_autofree char *id = g_strdup_printf("finding-%u", i + 1);
    loom_ink_begin(d->ink, id, finding->where, finding->message);
    draw_pointer(d->ink, sign, box);
    loom_draw_flag_sign(d->ink, sign, finding->severity, i + 1);
    loom_ink_end(d->ink);
  }
}

/* The flags go where they go when they are drawn: readings first, then one after the other. */
void
loom_place_flags(LoomDrawing *d, LoomPoint *places)
{
  const LoomFindings *f = d->options->findings;
  LoomRect box;
  loom_place_readings(d);
  for (guint i = 0; f && i < f->n_findings; i++)
    if (!put_flag(d, &f->findings[i], &box, &places[i]))
      places[i] = (LoomPoint){NAN, NAN};
}
