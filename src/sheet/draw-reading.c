/* Readings: written beside what they are of, where they cover nothing. What finds no room within a
 * few centimetres is left out rather than written over something. */
#include "draw-private.h"
#include "text.h"

#include <math.h>

#define READING_MM 3.0
#define FAR_MM 7.0 /* from here on a hairline leads to what it is of */

static LoomRect
box_of(const LoomDrawing *d, const LoomSheetReading *r)
{
  return r->end != LOOM_NONE ? loom_sheet_end(d->sheet, r->part, r->end)->box
                             : d->sheet->parts[r->part].outline;
}

/* Where the reading goes, which takes the room; false where it is not drawn. */
static bool
put_reading(LoomDrawing *d, const LoomSheetReading *r, LoomPoint *at)
{
  if (!r->text || r->part >= d->sheet->n_parts || !loom_drawing_has(d, r->part) ||
      (r->end != LOOM_NONE && r->end >= d->sheet->parts[r->part].n_ends))
    return false;
  LoomRect box = box_of(d, r);
  double width = loom_text_width_mm(r->text, READING_MM, true) + 1.4;
  *at = (LoomPoint){box.x + box.width / 2, box.y + box.height / 2};
  return loom_draw_find_room(d, at, width, READING_MM * 1.1 + 0.9, 4.0);
}

static LoomPaint
paint_of(double stress)
{
  return stress > 1                  ? LOOM_PAINT_STOP
         : stress > LOOM_WARM_STRESS ? LOOM_PAINT_CARE
                                     : LOOM_PAINT_READING;
}

static void
draw_hairline(LoomInk *ink, LoomPoint at, double width, LoomRect box)
{
  LoomPoint to = {CLAMP(at.x, box.x, box.x + box.width), CLAMP(at.y, box.y, box.y + box.height)};
  double dx = to.x - at.x, dy = to.y - at.y, far = hypot(dx, dy);
  if (far < FAR_MM)
    return;
  double out = fmin(fabs(dx) > 1e-9 ? (width / 2 + 0.4) / fabs(dx) : 1,
                    fabs(dy) > 1e-9 ? (READING_MM * 0.6 + 0.2) / fabs(dy) : 1);
  if (out < 1)
    loom_draw_segment(ink, at.x + out * dx, at.y + out * dy, to.x, to.y,
                      loom_style_line(LOOM_PAINT_FAINT, 0.2));
}

/* Which part and end it belongs to, for SVG: "reading-G1-out". New. */
static char *
id_of(const LoomDrawing *d, const LoomSheetReading *r)
{
  const LoomPart *part = loom_sheet_part(d->sheet, r->part);
  return r->end == LOOM_NONE
             ? g_strdup_printf("reading-%s", part->designation)
             : g_strdup_printf("reading-%s-%s", part->designation, part->kind->ends[r->end].id);
}

void
loom_draw_readings(LoomDrawing *d)
{
  for (guint i = 0; i < d->options->n_readings; i++) {
    const LoomSheetReading *r = &d->options->readings[i];
    LoomPoint at;
    if (!put_reading(d, r, &at))
      continue;
    g_autofree char *id = id_of(d, r);
    loom_ink_begin(d->ink, id, NULL, NULL);
    draw_hairline(d->ink, at, loom_text_width_mm(r->text, READING_MM, true), box_of(d, r));
    loom_ink_text(d->ink, at.x, at.y + 0.36 * READING_MM, READING_MM, LOOM_ANCHOR_MIDDLE, true,
                  paint_of(r->stress), r->text);
    loom_ink_end(d->ink);
  }
}

void
loom_place_readings(LoomDrawing *d)
{
  LoomPoint at;
  for (guint i = 0; i < d->options->n_readings; i++)
    put_reading(d, &d->options->readings[i], &at);
}

void
loom_draw_stress_sample(LoomInk *ink, double width_factor, double stress, double x, double y)
{
  g_autoptr(LoomPath) path = loom_path_new();
  loom_path_move(path, x - 5, y);
  loom_path_line(path, x + 5, y);
  double width = 0.7 * width_factor;
  loom_draw_bed(ink, path, width, stress);
  LoomStyle line = loom_style_line(LOOM_PAINT_INK, width);
  loom_ink_path(ink, path, &line);
}
