/* Where runs begin and end, and where tags stand that are fixed things themselves.
 *
 *        top
 *      +--||--+          a tag has a gate on each side, and two more at top and bottom where a
 *  ----| (W3) |--right   lead has more than four ends; connectors that hang take one side
 *      +--||--+
 *       bottom                                                                               */
#include "sheet-private.h"

#include <math.h>
#include <stdlib.h>

#define GATE_MM 1.2      /* straight wire before the first place where it may bend */
#define ROOT_MM 2.4      /* the same where it leaves an outline */
#define APPROACH_MM 15.0 /* a knot keeps this far from the ends that it serves */
#define RINGS 24         /* lanes that a knot is pushed at most */

enum { GATE_RIGHT, GATE_LEFT, GATE_TOP, GATE_BOTTOM, GATE_MORE, N_GATES = 8 };
static const int GATE_DX[N_GATES] = {1, -1, 0, 0, 0, 0, 0, 0};
static const int GATE_DY[N_GATES] = {0, 0, -1, 1, -1, -1, 1, 1};
static const int GATE_ASIDE[N_GATES] = {0, 0, 0, 0, -1, 1, -1, 1};

static int
to_lane(double at)
{
  return (int)floor(at / LOOM_LANE_MM + 0.5);
}

/* First place at least `out` beyond `at` along the step. */
static LoomSpot
spot_beyond(LoomPoint at, int dx, int dy, double out)
{
  double slack = 1e-6;
  LoomSpot s = {to_lane(at.x), to_lane(at.y)};
  if (dx)
    s.i = dx > 0 ? (int)ceil((at.x + out - slack) / LOOM_LANE_MM)
                 : (int)floor((at.x - out + slack) / LOOM_LANE_MM);
  if (dy)
    s.j = dy > 0 ? (int)ceil((at.y + out - slack) / LOOM_LANE_MM)
                 : (int)floor((at.y - out + slack) / LOOM_LANE_MM);
  return s;
}

static guint
tag_gates(const LoomSheet *sheet, const LoomStop *stop, LoomGate *gates, guint *numbers)
{
  const LoomTagGates *taken = &sheet->inside->gates[stop->part];
  guint n = 0, all = loom_sheet_part(sheet, stop->part)->kind->n_ends > 4 ? N_GATES : GATE_MORE;
  for (guint g = 0; g < all; g++) {
    if (taken->gates & 1u << g)
      continue;
    LoomStop side = *stop;
    side.dx = GATE_DX[g];
    side.dy = GATE_DY[g];
    gates[n] = (LoomGate){.dx = side.dx, .dy = side.dy};
    LoomPoint at = loom_stop_start(sheet, &side, &gates[n]);
    gates[n].at = spot_beyond(at, side.dx, side.dy, GATE_MM);
    gates[n].at.i += GATE_ASIDE[g];
    numbers[n++] = 1u << g;
  }
  return n;
}

guint
loom_stop_gates(const LoomSheet *sheet, const LoomStop *stop, LoomGate *gates, guint *numbers)
{
  if (stop->type == LOOM_STOP_TAG) {
    guint n = tag_gates(sheet, stop, gates, numbers);
    if (n > 0)
      return n;
  }
  int dx = stop->dx, dy = stop->dy;
  if (stop->type == LOOM_STOP_TAG)
    dx = 1;
  double out = stop->type == LOOM_STOP_ROOT ? ROOT_MM : GATE_MM;
  gates[0] = (LoomGate){spot_beyond(stop->at, dx, dy, out), dx, dy};
  int aside = 2 * (int)stop->place - (int)stop->n_places + 1;
  int shift = aside >= 0 ? (aside + 1) / 2 : -((1 - aside) / 2);
  gates[0].at.i += dy ? shift : 0;
  gates[0].at.j += dx ? shift : 0;
  numbers[0] = 0;
  return 1;
}

LoomPoint
loom_stop_start(const LoomSheet *sheet, const LoomStop *stop, const LoomGate *gate)
{
  if (stop->type != LOOM_STOP_TAG)
    return stop->at;
  LoomRect box = sheet->parts[stop->part].outline;
  LoomPoint middle = {box.x + box.width / 2, box.y + box.height / 2};
  return (LoomPoint){middle.x + gate->dx * box.width / 2, middle.y + gate->dy * box.height / 2};
}

/* The connector that is plugged onto a face reaches this far out of it. */
static double
reach_of_mate(const LoomSheet *sheet, const LoomRun *run, bool at_to)
{
  const LoomWiring *w = sheet->inside->wiring;
  const LoomRunJoint *j =
      &g_array_index(run->joints, LoomRunJoint, at_to ? run->joints->len - 1 : 0);
  guint part, end;
  loom_run_joint_end(w, j, !at_to, &part, &end);
  double gap = w->joints[j->wired].mate == LOOM_MATE_YES ? 0 : LOOM_APART_MM;
  return gap + loom_end_size(loom_run_kind_end(w, part, end)).depth_mm;
}

static void
place_stop(LoomSheet *sheet, const LoomRun *run, LoomStop *stop, bool at_to)
{
  const LoomPart *part = loom_sheet_part(sheet, stop->part);
  if (stop->type == LOOM_STOP_TAG) {
    LoomRect box = sheet->parts[stop->part].outline;
    stop->at = (LoomPoint){box.x + box.width / 2, box.y + box.height / 2};
    return;
  }
  if (stop->type == LOOM_STOP_ROOT) {
    stop->at = loom_place_root(part, stop->end, &stop->dx, &stop->dy);
    return;
  }
  const LoomPlacedEnd *end = loom_sheet_end(sheet, stop->part, stop->end);
  stop->dx = end->dx;
  stop->dy = end->dy;
  double out = run->stretches->len > 0 ? reach_of_mate(sheet, run, at_to)
                                       : loom_end_size(&part->kind->ends[stop->end]).prong_mm;
  stop->at = (LoomPoint){end->at.x + end->dx * out, end->at.y + end->dy * out};
}

static void
place_stops(LoomSheet *sheet)
{
  GPtrArray *runs = sheet->inside->runs->runs;
  for (guint i = 0; i < runs->len; i++) {
    LoomRun *run = runs->pdata[i];
    place_stop(sheet, run, &run->from, false);
    place_stop(sheet, run, &run->to, true);
  }
}

/* Far stops of the runs that begin or end at a tag: sums and lists by part. */
typedef struct {
  GArray *x, *y; /* of double */
  int across;    /* ends that look sideways, less those that look up or down */
} Anchors;

static void
anchors_clear(gpointer data)
{
  Anchors *a = data;
  g_array_unref(a->x);
  g_array_unref(a->y);
  g_free(a);
}

static void
add_anchor(GHashTable *all, const LoomStop *tag, const LoomStop *far)
{
  if (tag->type != LOOM_STOP_TAG || far->part == tag->part)
    return;
  Anchors *a = g_hash_table_lookup(all, GUINT_TO_POINTER(tag->part));
  if (!a) {
    a = g_new0(Anchors, 1);
    a->x = g_array_new(FALSE, FALSE, sizeof(double));
    a->y = g_array_new(FALSE, FALSE, sizeof(double));
    g_hash_table_insert(all, GUINT_TO_POINTER(tag->part), a);
  }
  double x = far->at.x + far->dx * APPROACH_MM, y = far->at.y + far->dy * APPROACH_MM;
  g_array_append_val(a->x, x);
  g_array_append_val(a->y, y);
  a->across += far->dx ? 1 : -1;
}

static int
by_value(gconstpointer a, gconstpointer b)
{
  double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

static double
mean(const GArray *values)
{
  double sum = 0;
  for (guint i = 0; i < values->len; i++)
    sum += g_array_index(values, double, i);
  return sum / values->len;
}

static double
median(GArray *values)
{
  g_array_sort(values, by_value);
  guint n = values->len;
  return (g_array_index(values, double, (n - 1) / 2) + g_array_index(values, double, n / 2)) / 2;
}

static void
move_tag(LoomSheet *sheet, guint part, LoomPoint middle)
{
  sheet->inside->tags[part].at = middle;
  sheet->parts[part].outline = loom_tag_box(loom_sheet_part(sheet, part), middle);
}

/* The nearest place where the tag and the wires beside it cover nothing. */
static LoomPoint
free_place(const LoomSheet *sheet, guint part, LoomPoint wish)
{
  int i0 = to_lane(wish.x), j0 = to_lane(wish.y);
  for (int ring = 0; ring <= RINGS; ring++)
    for (int j = -ring; j <= ring; j++)
      for (int i = -ring; i <= ring; i++) {
        if (MAX(abs(i), abs(j)) != ring)
          continue;
        LoomPoint at = {(i0 + i) * LOOM_LANE_MM, (j0 + j) * LOOM_LANE_MM};
        LoomRect box = loom_rect_grown(loom_tag_box(loom_sheet_part(sheet, part), at), 4.5);
        if (!loom_crowd_meets(sheet->inside->crowd, box, LOOM_NONE, 0))
          return at;
      }
  return wish;
}

/* Connectors that hang beside the tag: to `side`, or half of them to the left where it is 0. */
static void
hang(LoomSheet *sheet, guint part, int side)
{
  const LoomPart *p = loom_sheet_part(sheet, part);
  LoomSheetInside *in = sheet->inside;
  const bool *hung = &in->runs->hung[loom_wiring_end(in->wiring, part, 0)];
  LoomPoint tag = in->tags[part].at;
  for (guint e = 0; e < p->kind->n_ends; e++) {
    if (!hung[e])
      continue;
    LoomPlacedEnd *end = loom_sheet_end_of(sheet, part, e);
    end->at = loom_place_hung(p, tag, hung, e, side, &end->dx);
    end->dy = 0;
    in->gates[part].gates |= 1u << (end->dx > 0 ? GATE_RIGHT : GATE_LEFT);
    LoomEndSize size = loom_end_size(&p->kind->ends[e]);
    LoomPoint tip = {end->at.x + end->dx * size.prong_mm, end->at.y};
    size.depth_mm += size.prong_mm;
    loom_crowd_add(in->crowd, loom_end_box(&size, tip, end->dx, 0), LOOM_CROWD_END, part);
  }
}

static bool
has_hung(const LoomSheet *sheet, guint part)
{
  const LoomWiring *w = sheet->inside->wiring;
  for (guint number = w->part_end[part]; number < w->part_end[part + 1]; number++)
    if (sheet->inside->runs->hung[number])
      return true;
  return false;
}

/* A tag with connectors hanging from it lies where it was put; others lie amid what they join. */
static void
settle(LoomSheet *sheet, guint part, Anchors *anchors)
{
  const LoomPart *p = loom_sheet_part(sheet, part);
  LoomPoint own = {p->x_mm, p->y_mm};
  if (has_hung(sheet, part)) {
    int side = !anchors ? 0 : mean(anchors->x) > own.x ? -1 : 1;
    hang(sheet, part, side);
    return;
  }
  if (!anchors)
    return;
  double x = median(anchors->x), y = median(anchors->y);
  if (anchors->across >= 0)
    x = mean(anchors->x);
  else
    y = mean(anchors->y);
  move_tag(sheet, part, free_place(sheet, part, (LoomPoint){x, y}));
}

void
loom_stops_place(LoomSheet *sheet)
{
  LoomSheetInside *in = sheet->inside;
  place_stops(sheet);
  g_autoptr(GHashTable) anchors = g_hash_table_new_full(NULL, NULL, NULL, anchors_clear);
  for (guint i = 0; i < in->runs->runs->len; i++) {
    const LoomRun *run = in->runs->runs->pdata[i];
    add_anchor(anchors, &run->from, &run->to);
    add_anchor(anchors, &run->to, &run->from);
  }
  for (guint p = 0; p < sheet->n_parts; p++) {
    if (!in->runs->tag[p])
      continue;
    settle(sheet, p, g_hash_table_lookup(anchors, GUINT_TO_POINTER(p)));
    loom_crowd_add(in->crowd, loom_rect_grown(sheet->parts[p].outline, 1), LOOM_CROWD_TAG, p);
    in->tags[p].shown = true;
  }
  place_stops(sheet);
}
