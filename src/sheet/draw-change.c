/* What differs between two revisions, drawn over the sheet that shows both: a line around every
 * part, lines along every lead, a sign at each of them and at each joint.
 *
 *   new  ━━━━━ [+]    gone  ╌╌╌╌╌ [×] and hatched    changed  ═════ <≠>                        */
#include "changes.h"
#include "draw-private.h"

#include <math.h>

#define SIGN_MM 2.6 /* half the size of a sign */
#define AROUND_MM 1.4
#define HATCH_MM 3.0
#define GONE_OPACITY 0.35
#define JOINT_RING_MM 4.6

static LoomPaint
paint_of(LoomStatus status)
{
  return status == LOOM_STATUS_NEW    ? LOOM_PAINT_NEW
         : status == LOOM_STATUS_GONE ? LOOM_PAINT_GONE
                                      : LOOM_PAINT_CHANGED;
}

static const char *
word_of(LoomStatus status)
{
  return status == LOOM_STATUS_NEW ? "new" : status == LOOM_STATUS_GONE ? "gone" : "changed";
}

bool *
loom_changed_parts(const LoomSheet *sheet, const LoomMerged *merged)
{
  bool *parts = g_new0(bool, sheet->n_parts + 1);
  for (guint p = 0; p < sheet->n_parts && p < merged->n_parts; p++)
    parts[p] = merged->parts[p] != LOOM_STATUS_SAME;
  return parts;
}

bool *
loom_changed_ends(const LoomSheet *sheet, const bool *parts)
{
  bool *ends = g_new0(bool, sheet->n_ends + 1);
  for (guint i = 0; i < sheet->n_ends; i++)
    ends[i] = parts[sheet->ends[i].part];
  const LoomWiring *w = sheet->inside->wiring;
  for (guint i = 0; i < w->n_joints; i++) {
    const LoomWiredJoint *j = &w->joints[i];
    if (!parts[j->part_a] && !parts[j->part_b])
      continue;
    ends[sheet->parts[j->part_a].first_end + j->end_a] = true;
    ends[sheet->parts[j->part_b].first_end + j->end_b] = true;
  }
  return ends;
}

/* Signs. */

static void
draw_cross(LoomInk *ink, LoomPoint at, double r, LoomStyle style)
{
  loom_draw_segment(ink, at.x - r, at.y - r, at.x + r, at.y + r, style);
  loom_draw_segment(ink, at.x - r, at.y + r, at.x + r, at.y - r, style);
}

static void
draw_square(LoomInk *ink, LoomPoint at, LoomStyle style)
{
  double r = SIGN_MM - 0.3;
  loom_draw_rect(ink, (LoomRect){at.x - r, at.y - r, 2 * r, 2 * r}, 0.5, style);
}

static void
draw_new_sign(LoomInk *ink, LoomPoint at)
{
  LoomStyle line = loom_style_line(LOOM_PAINT_PAPER, 0.8);
  draw_square(ink, at, loom_style_both(LOOM_PAINT_NEW, LOOM_PAINT_NEW, 0.5));
  loom_draw_segment(ink, at.x - 1.5, at.y, at.x + 1.5, at.y, line);
  loom_draw_segment(ink, at.x, at.y - 1.5, at.x, at.y + 1.5, line);
}

static void
draw_gone_sign(LoomInk *ink, LoomPoint at)
{
  draw_square(ink, at, loom_style_both(LOOM_PAINT_PAPER, LOOM_PAINT_GONE, 0.6));
  draw_cross(ink, at, 1.2, loom_style_line(LOOM_PAINT_GONE, 0.8));
}

static void
draw_changed_sign(LoomInk *ink, LoomPoint at)
{
  double r = SIGN_MM + 0.7;
  LoomPoint corners[] = {{at.x, at.y - r}, {at.x + r, at.y}, {at.x, at.y + r}, {at.x - r, at.y}};
  LoomStyle line = loom_style_line(LOOM_PAINT_PAPER, 0.55);
  loom_draw_corners(ink, corners, 4, true,
                    loom_style_both(LOOM_PAINT_CHANGED, LOOM_PAINT_CHANGED, 0.4));
  loom_draw_segment(ink, at.x - 1.2, at.y - 0.6, at.x + 1.2, at.y - 0.6, line);
  loom_draw_segment(ink, at.x - 1.2, at.y + 0.6, at.x + 1.2, at.y + 0.6, line);
  loom_draw_segment(ink, at.x - 0.7, at.y + 1.5, at.x + 0.7, at.y - 1.5, line);
}

void
loom_draw_change_sign(LoomInk *ink, LoomStatus status, LoomPoint at)
{
  if (status == LOOM_STATUS_NEW)
    draw_new_sign(ink, at);
  else if (status == LOOM_STATUS_GONE)
    draw_gone_sign(ink, at);
  else
    draw_changed_sign(ink, at);
}

/* Lines around. */

typedef void (*DrawAround)(LoomInk *ink, double grow, LoomStyle style, gconstpointer thing);

/* The line of a status, whatever it goes around. */
static void
draw_around(LoomInk *ink, LoomStatus status, DrawAround draw, gconstpointer thing)
{
  LoomPaint paint = paint_of(status);
  LoomStyle style = loom_style_line(paint, status == LOOM_STATUS_NEW ? 1.1 : 0.6);
  if (status == LOOM_STATUS_CHANGED) {
    draw(ink, AROUND_MM - 0.5, loom_style_line(paint, 0.4), thing);
    draw(ink, AROUND_MM + 0.5, loom_style_line(paint, 0.4), thing);
    return;
  }
  style.dash_mm = status == LOOM_STATUS_GONE ? 2.2 : 0;
  draw(ink, AROUND_MM, style, thing);
}

static void
draw_box(LoomInk *ink, double grow, LoomStyle style, gconstpointer thing)
{
  loom_draw_rect(ink, loom_rect_grown(*(const LoomRect *)thing, grow), 1.2, style);
}

static void
draw_ring(LoomInk *ink, double grow, LoomStyle style, gconstpointer thing)
{
  const LoomPoint *at = thing;
  loom_draw_circle(ink, at->x, at->y, JOINT_RING_MM - AROUND_MM + grow, style);
}

/* Both sides of a wire. */
typedef struct {
  const LoomLaidLead *lead;
  double half; /* of its width */
} Wire;

static void
draw_along(LoomInk *ink, double grow, LoomStyle style, gconstpointer thing)
{
  const Wire *wire = thing;
  for (int side = -1; side <= 1; side += 2) {
    g_autoptr(LoomPath) path = loom_path_new();
    loom_strokes_path(path, wire->lead->points, wire->lead->n_points,
                      side * (wire->half + grow - 0.5), 2.4);
    loom_ink_path(ink, path, &style);
  }
}

/* Strokes at 45 degrees over the box; `c` is x + y along a stroke. */
static void
hatch(LoomInk *ink, LoomRect r, LoomPaint paint)
{
  LoomStyle style = loom_style_line(paint, 0.3);
  for (double c = HATCH_MM; c < r.width + r.height; c += HATCH_MM) {
    double x0 = fmax(0, c - r.height), x1 = fmin(r.width, c);
    loom_draw_segment(ink, r.x + x0, r.y + c - x0, r.x + x1, r.y + c - x1, style);
  }
}

/* Beside what is small, where the sign covers nothing. */
static LoomPoint
sign_place(LoomDrawing *d, LoomRect box)
{
  LoomPoint middle = {box.x + box.width / 2, box.y + box.height / 2};
  return loom_draw_near(d, middle, 2 * SIGN_MM + 1, 2 * SIGN_MM + 1, SIGN_MM + 3.5);
}

static void
begin(LoomDrawing *d, const char *what, const char *name, LoomStatus status)
{
  g_autofree char *id = g_strdup_printf("%s-%s-%s", word_of(status), what, name);
  g_autofree char *title = g_strdup_printf("%s: %s", name, word_of(status));
  loom_ink_begin(d->ink, id, title, NULL);
}

static void
draw_part_change(LoomDrawing *d, guint part, LoomStatus status)
{
  LoomRect outline = d->sheet->parts[part].outline;
  begin(d, "part", loom_sheet_part(d->sheet, part)->designation, status);
  bool lead = loom_sheet_part(d->sheet, part)->kind->lead;
  if (status == LOOM_STATUS_GONE && !d->options->coarse && !lead)
    hatch(d->ink, outline, LOOM_PAINT_GONE);
  if (!lead) /* lines along its wires say it */
    draw_around(d->ink, status, draw_box, &outline);
  LoomPoint corner = {outline.x - AROUND_MM, outline.y - AROUND_MM};
  loom_draw_change_sign(d->ink, status, lead ? sign_place(d, outline) : corner);
  loom_ink_end(d->ink);
}

static void
draw_wire_change(LoomDrawing *d, const LoomLaidLead *lead, LoomStatus status)
{
  const LoomPart *part = loom_sheet_part(d->sheet, lead->part);
  guint end = lead->end_a != LOOM_NONE ? lead->end_a : lead->end_b;
  if (lead->n_points < 2 || (!part->kind->lead && status == LOOM_STATUS_CHANGED))
    return;
  g_autoptr(GArray) strokes = loom_strokes_of_end(part->kind, end);
  Wire wire = {lead, loom_strokes_width(strokes) / 2};
  draw_around(d->ink, status, draw_along, &wire);
}

/* A joint that cannot be plugged in the merged design. */
static void
draw_gone_line(LoomDrawing *d, const LoomMergedLine *line)
{
  const LoomPlacedEnd *a = loom_sheet_end(d->sheet, line->part_a, line->end_a);
  const LoomPlacedEnd *b = loom_sheet_end(d->sheet, line->part_b, line->end_b);
  LoomStyle style = loom_style_line(LOOM_PAINT_GONE, 0.6);
  LoomPoint middle = {(a->at.x + b->at.x) / 2, (a->at.y + b->at.y) / 2};
  style.dash_mm = 2.2;
  loom_draw_segment(d->ink, a->at.x, a->at.y, b->at.x, b->at.y, style);
  loom_draw_change_sign(d->ink, LOOM_STATUS_GONE, sign_place(d, loom_rect_around(middle, middle)));
}

static bool
line_in_scene(const LoomSheet *sheet, const LoomMergedLine *line)
{
  const char *scene = loom_design_scene(sheet->design, sheet->scene)->name;
  return !line->scenes || g_strv_contains((const char *const *)line->scenes, scene);
}

/* The joint of a part that is new or gone as a whole says nothing by itself. */
static bool
joint_tells(const LoomMerged *merged, const LoomWiredJoint *j)
{
  LoomStatus status = merged->joints[j->joint];
  return status == LOOM_STATUS_CHANGED ||
         (status != LOOM_STATUS_SAME && merged->parts[j->part_a] != status &&
          merged->parts[j->part_b] != status);
}

static void
draw_joint_change(LoomDrawing *d, guint i, LoomStatus status)
{
  const LoomLaidJoint *j = &d->sheet->joints[i];
  const LoomJoint *joint = loom_design_joint(d->sheet->design, j->joint);
  g_autofree char *name =
      g_strdup_printf("%s-%s--%s-%s", joint->a.part, joint->a.end, joint->b.part, joint->b.end);
  begin(d, "joint", name, status);
  draw_around(d->ink, status, draw_ring, &j->at);
  LoomRect ring = loom_rect_grown(loom_rect_around(j->at, j->at), JOINT_RING_MM);
  loom_crowd_add(d->labels, ring, 0, 0);
  loom_draw_change_sign(d->ink, status, sign_place(d, ring));
  loom_ink_end(d->ink);
}

static void
draw_joints(LoomDrawing *d)
{
  const LoomMerged *merged = d->options->merged;
  const LoomWiring *w = d->sheet->inside->wiring;
  for (guint i = 0; i < d->sheet->n_joints; i++)
    if (loom_drawing_has(d, w->joints[i].part_a) && loom_drawing_has(d, w->joints[i].part_b) &&
        joint_tells(merged, &w->joints[i]))
      draw_joint_change(d, i, merged->joints[w->joints[i].joint]);
  for (guint i = 0; i < merged->n_lines; i++)
    if (loom_drawing_has(d, merged->lines[i].part_a) &&
        loom_drawing_has(d, merged->lines[i].part_b) && line_in_scene(d->sheet, &merged->lines[i]))
      draw_gone_line(d, &merged->lines[i]);
}

void
loom_draw_changes(LoomDrawing *d)
{
  const LoomMerged *merged = d->options->merged;
  g_autofree bool *gone = g_new0(bool, d->sheet->n_parts + 1);
  for (guint p = 0; p < merged->n_parts; p++)
    gone[p] = merged->parts[p] == LOOM_STATUS_GONE;
  loom_draw_veil(d, gone, GONE_OPACITY);
  for (guint i = 0; i < d->sheet->n_leads; i++) {
    LoomStatus status = merged->parts[d->sheet->leads[i].part];
    if (status != LOOM_STATUS_SAME && loom_drawing_has(d, d->sheet->leads[i].part))
      draw_wire_change(d, &d->sheet->leads[i], status);
  }
  for (guint p = 0; p < merged->n_parts; p++)
    if (merged->parts[p] != LOOM_STATUS_SAME && loom_drawing_has(d, p))
      draw_part_change(d, p, merged->parts[p]);
  draw_joints(d);
}

void
loom_draw_change_sample(LoomInk *ink, LoomStatus status, double x, double y)
{
  LoomRect box = {x - 0.6, y - 1.2, 5.6, 2.4};
  if (status == LOOM_STATUS_GONE)
    hatch(ink, box, LOOM_PAINT_GONE);
  draw_around(ink, status, draw_box, &box);
  loom_draw_change_sign(ink, status, (LoomPoint){x - 4.6, y});
}
