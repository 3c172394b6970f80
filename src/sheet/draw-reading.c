/* Readings: written beside what they are of, where they cover nothing. What finds no room within a
 * few centimetres is left out rather than written over something. */
#include "draw-private.h"
#include "text.h"

#include <math.h>

#define READING_MM 3.0
#define NEAR_MM 2.0 /* farther than this, a hairline leads to what it is of */
#define FAR_MM 33.0 /* farther away it would be taken for something else's */

static LoomRect
box_of(const LoomDrawing *d, const LoomSheetReading *r)
{
  return r->end != LOOM_NONE ? loom_sheet_end(d->sheet, r->part, r->end)->box
                             : d->sheet->parts[r->part].outline;
}

/* From a reading that stands apart to what it is of; false where it stands right beside it. */
static bool
hairline_of(LoomPoint at, LoomPoint half, LoomRect box, LoomPoint *from, LoomPoint *to)
{
  *to = (LoomPoint){CLAMP(at.x, box.x, box.x + box.width), CLAMP(at.y, box.y, box.y + box.height)};
  double dx = to->x - at.x, dy = to->y - at.y;
  double out =
      fmin(fabs(dx) > 1e-9 ? half.x / fabs(dx) : 1, fabs(dy) > 1e-9 ? half.y / fabs(dy) : 1);
  *from = (LoomPoint){at.x + out * dx, at.y + out * dy};
  return out < 1 && hypot(to->x - from->x, to->y - from->y) > NEAR_MM;
}

/* Small boxes along a hairline: nothing else is to be written there, nor it over anything. */
static LoomRect
bead(LoomPoint from, LoomPoint to, guint i, guint n)
{
  double t = (i + 0.5) / n;
  return (LoomRect){from.x + t * (to.x - from.x) - 0.3, from.y + t * (to.y - from.y) - 0.3, 0.6,
                    0.6};
}

static guint
n_beads(LoomPoint from, LoomPoint to)
{
  return 1 + (guint)hypot(to.x - from.x, to.y - from.y);
}

static bool
lies_within(LoomRect r, LoomRect paper)
{
  return paper.width <= 0 ||
         (r.x >= paper.x && r.y >= paper.y && r.x + r.width <= paper.x + paper.width &&
          r.y + r.height <= paper.y + paper.height);
}

static bool
is_no_words(const LoomCrowded *one, gpointer data)
{
  if (one->type == LOOM_CROWD_WORDS)
    *(bool *)data = true;
  return one->type != LOOM_CROWD_WORDS;
}

static bool
covers_words(const LoomDrawing *d, LoomRect rect)
{
  bool found = loom_crowd_meets(d->labels, rect, LOOM_NONE, 0);
  if (!found)
    loom_crowd_each(d->sheet->inside->crowd, rect, is_no_words, &found);
  return found;
}

static bool
take_place(LoomDrawing *d, LoomPoint at, LoomPoint half, LoomRect box, bool hairline)
{
  LoomRect room = {at.x - half.x, at.y - half.y, 2 * half.x, 2 * half.y};
  LoomPoint from, to;
  if (!lies_within(room, d->paper) || !loom_draw_is_free(d, room))
    return false;
  guint n = hairline && hairline_of(at, half, box, &from, &to) ? n_beads(from, to) : 0;
  for (guint i = 0; i < n; i++)
    if (covers_words(d, bead(from, to, i, n)))
      return false;
  for (guint i = 0; i < n; i++)
    loom_crowd_add(d->labels, bead(from, to, i, n), 0, 0);
  loom_crowd_add(d->labels, room, 0, 0);
  return true;
}

static LoomPoint
half_size(const LoomSheetReading *r)
{
  return (LoomPoint){loom_text_width_mm(r->text, READING_MM, true) / 2 + 0.7,
                     READING_MM * 0.55 + 0.45};
}

/* Where the reading goes, which takes the room; false where it is not drawn. */
static bool
put_reading(LoomDrawing *d, const LoomSheetReading *r, LoomPoint *at)
{
  if (!r->text || r->part >= d->sheet->n_parts || !loom_drawing_has(d, r->part) ||
      (r->end != LOOM_NONE && r->end >= d->sheet->parts[r->part].n_ends))
    return false;
  LoomRect box = box_of(d, r);
  LoomPoint half = half_size(r), middle = {box.x + box.width / 2, box.y + box.height / 2};
  for (double away = 3; away <= FAR_MM; away += 1.5)
    for (guint k = 0; k < 16; k++) {
      double angle = -G_PI / 2 + (k % 2 ? -1.0 : 1.0) * ((k + 1) / 2) * G_PI / 8;
      *at = (LoomPoint){middle.x + (away + half.x) * cos(angle),
                        middle.y + (away + half.y) * sin(angle)};
      if (take_place(d, *at, half, box, r->end != LOOM_NONE))
        return true;
    }
  return false;
}

static LoomPaint
paint_of(double stress)
{
  return stress > 1                  ? LOOM_PAINT_STOP
         : stress > LOOM_WARM_STRESS ? LOOM_PAINT_CARE
                                     : LOOM_PAINT_READING;
}

static void
draw_hairline(LoomInk *ink, LoomPoint at, LoomPoint half, LoomRect box)
{
  LoomPoint from, to;
  if (hairline_of(at, half, box, &from, &to))
    loom_draw_segment(ink, from.x, from.y, to.x, to.y, loom_style_line(LOOM_PAINT_FAINT, 0.2));
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
    if (r->end != LOOM_NONE)
      draw_hairline(d->ink, at, half_size(r), box_of(d, r));
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
