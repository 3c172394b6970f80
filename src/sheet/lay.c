/* Laying all runs of a sheet, one after the other:
 *
 *   +-----+                  +-----+     1. block what runs must keep off: outlines, ends, words
 *   | G1  |=----(W1)----+    | M1  |     2. take over the ways of an older sheet that still hold
 *   +-----+             |    +-----+     3. lay the others, short ones first: they have least
 * choice
 *              +-----+  |       |        4. lay those again that cross: now they see the later ones
 *              | K1  |<-+       |        5. lay those with a detour that are too short for their
 *              |     |----------+           joints and tags
 *              +-----+                   6. places become points, ends exact                     */
#include "sheet-private.h"

#include <math.h>
#include <stdlib.h>

#define CLEAR_MM 2.4   /* between outlines and the middle of a lead */
#define TIGHT_MM 0.9   /* where there is no other way */
#define MOST_AGAIN 400 /* runs that are laid a second time */
#define MOST_DETOUR 10 /* further lanes tried for a detour */

static void
block_parts(LoomSheet *sheet)
{
  LoomSheetInside *in = sheet->inside;
  for (guint p = 0; p < sheet->n_parts; p++) {
    LoomRect r = sheet->parts[p].outline;
    if (!loom_sheet_part(sheet, p)->kind->lead) {
      loom_lanes_near(in->lanes, loom_rect_grown(r, 6), 1);
      loom_lanes_block(in->lanes, loom_rect_grown(r, CLEAR_MM), LOOM_BLOCK_END);
      loom_lanes_block(in->lanes, loom_rect_grown(r, TIGHT_MM), LOOM_BLOCK_OUTLINE);
    } else if (in->tags[p].shown) {
      loom_lanes_block(in->lanes, loom_rect_grown(r, 0.8), LOOM_BLOCK_END);
    }
  }
  for (guint p = 0; p < sheet->n_parts; p++)
    for (guint i = 0; in->words[p] && i < in->words[p]->len; i++)
      loom_lanes_block(in->lanes,
                       loom_rect_grown(g_array_index(in->words[p], LoomWords, i).box, 0.9),
                       LOOM_BLOCK_WORDS);
}

/* Whether the end stays where it is, and so is in the way of others. */
static bool
stays(const LoomSheet *sheet, guint number)
{
  const LoomSheetInside *in = sheet->inside;
  guint part = in->wiring->end_part[number];
  const LoomEnd *end = loom_run_kind_end(in->wiring, part, number - in->wiring->part_end[part]);
  if (in->runs->hung[number])
    return true;
  return !loom_sheet_part(sheet, part)->kind->lead && end->pigtail_mm <= 0;
}

/* Wires of a stub or from a tag to a connector that hangs. */
static void
block_wires(LoomSheet *sheet, guint part, guint end, const LoomPlacedEnd *placed)
{
  const LoomPart *p = loom_sheet_part(sheet, part);
  if (!p->kind->lead && p->kind->ends[end].pigtail_mm <= 0)
    return;
  LoomRect tag = sheet->parts[part].outline;
  int dx, dy;
  LoomPoint root = loom_place_root(p, end, &dx, &dy);
  if (p->kind->lead)
    root = (LoomPoint){tag.x + (placed->dx > 0 ? tag.width : 0), tag.y + tag.height / 2};
  loom_lanes_block(sheet->inside->lanes, loom_rect_grown(loom_rect_around(root, placed->at), 1.2),
                   LOOM_BLOCK_END);
}

static void
block_ends(LoomSheet *sheet)
{
  const LoomWiring *w = sheet->inside->wiring;
  LoomLanes *lanes = sheet->inside->lanes;
  for (guint number = 0; number < w->n_ends; number++) {
    if (!stays(sheet, number))
      continue;
    guint part = w->end_part[number], end = number - w->part_end[part];
    const LoomPlacedEnd *placed = loom_sheet_end(sheet, part, end);
    LoomEndSize size = loom_end_size(loom_run_kind_end(w, part, end));
    LoomPoint tip = {placed->at.x + placed->dx * size.prong_mm,
                     placed->at.y + placed->dy * size.prong_mm};
    size.depth_mm += size.prong_mm;
    loom_lanes_block(lanes, loom_rect_grown(loom_end_box(&size, tip, placed->dx, placed->dy), 0.8),
                     LOOM_BLOCK_END);
    size.depth_mm = 9;
    tip = (LoomPoint){placed->at.x + placed->dx * 9, placed->at.y + placed->dy * 9};
    loom_lanes_near(lanes, loom_end_box(&size, tip, placed->dx, placed->dy), 5);
    block_wires(sheet, part, end, placed);
  }
}

/* The connector plugged onto a face, and the way out of it. */
static void
block_stop(LoomSheet *sheet, const LoomRun *run, const LoomStop *stop, double width)
{
  LoomLanes *lanes = sheet->inside->lanes;
  if (stop->type == LOOM_STOP_TAG)
    return;
  if (stop->type == LOOM_STOP_FACE && run->stretches->len > 0) {
    LoomPoint face = loom_sheet_end(sheet, stop->part, stop->end)->at;
    LoomEndSize size = {.depth_mm = fabs(stop->at.x - face.x) + fabs(stop->at.y - face.y),
                        .width_mm = width};
    loom_lanes_block(lanes, loom_rect_grown(loom_end_box(&size, stop->at, stop->dx, stop->dy), 0.8),
                     LOOM_BLOCK_END);
  }
  LoomPoint out = {stop->at.x + stop->dx * 9, stop->at.y + stop->dy * 9};
  loom_lanes_near(lanes, loom_rect_grown(loom_rect_around(stop->at, out), 0.3), 8);
}

static double
width_of_mate(const LoomSheet *sheet, const LoomRun *run, bool at_to)
{
  const LoomWiring *w = sheet->inside->wiring;
  guint part, end;
  loom_run_joint_end(w, &g_array_index(run->joints, LoomRunJoint, at_to ? run->joints->len - 1 : 0),
                     !at_to, &part, &end);
  return loom_end_size(loom_run_kind_end(w, part, end)).width_mm;
}

static void
block_stops(LoomSheet *sheet)
{
  GPtrArray *runs = sheet->inside->runs->runs;
  for (guint i = 0; i < runs->len; i++) {
    const LoomRun *run = runs->pdata[i];
    block_stop(sheet, run, &run->from, width_of_mate(sheet, run, false));
    block_stop(sheet, run, &run->to, width_of_mate(sheet, run, true));
  }
}

/* Plugged straight into each other: nothing to lay. */
static bool
is_direct(const LoomSheet *sheet, const LoomRun *run)
{
  if (run->stretches->len > 0)
    return false;
  LoomPoint a = loom_sheet_end(sheet, run->from.part, run->from.end)->at;
  LoomPoint b = loom_sheet_end(sheet, run->to.part, run->to.end)->at;
  return fabs(a.x - b.x) + fabs(a.y - b.y) < 0.5;
}

/* Steps 2: ways of the older sheet. */

static const LoomJoint *
joint_record(const LoomWiring *w, const LoomRun *run, guint k)
{
  const LoomRunJoint *j = &g_array_index(run->joints, LoomRunJoint, k);
  return loom_design_joint(w->design, w->joints[j->wired].joint);
}

static bool
same_stop(const LoomSheet *a, const LoomStop *sa, const LoomSheet *b, const LoomStop *sb)
{
  return sa->type == sb->type && sa->end == sb->end && sa->place == sb->place &&
         sa->n_places == sb->n_places && sa->dx == sb->dx && sa->dy == sb->dy &&
         sa->at.x == sb->at.x && sa->at.y == sb->at.y &&
         loom_sheet_part(a, sa->part) == loom_sheet_part(b, sb->part);
}

static bool
same_run(const LoomSheet *a, const LoomRun *ra, const LoomSheet *b, const LoomRun *rb)
{
  if (ra->joints->len != rb->joints->len || ra->stretches->len != rb->stretches->len ||
      !same_stop(a, &ra->from, b, &rb->from) || !same_stop(a, &ra->to, b, &rb->to))
    return false;
  for (guint k = 0; k < ra->joints->len; k++)
    if (joint_record(a->inside->wiring, ra, k) != joint_record(b->inside->wiring, rb, k))
      return false;
  for (guint k = 0; k < ra->stretches->len; k++)
    if (loom_sheet_part(a, g_array_index(ra->stretches, LoomStretch, k).part) !=
        loom_sheet_part(b, g_array_index(rb->stretches, LoomStretch, k).part))
      return false;
  return true;
}

static bool
take_gate(LoomSheetInside *in, const LoomStop *stop, guint bit)
{
  if (stop->type != LOOM_STOP_TAG)
    return true;
  if (in->gates[stop->part].gates & bit)
    return false;
  in->gates[stop->part].gates |= bit;
  return true;
}

static void
keep(LoomSheet *sheet, LoomRun *run, guint number, const LoomRun *before)
{
  LoomSheetInside *in = sheet->inside;
  const LoomSpot *corners = (const LoomSpot *)before->corners->data;
  guint n = before->corners->len;
  /* The first and last places are gates, which may lie close to something by right. */
  if (loom_lanes_blocked(in->lanes, corners, n, LOOM_BLOCK_WORDS) ||
      !take_gate(in, &run->from, before->from_gate.bit))
    return;
  if (!take_gate(in, &run->to, before->to_gate.bit)) {
    in->gates[run->from.part].gates &= ~before->from_gate.bit;
    return;
  }
  run->corners = g_array_ref(before->corners);
  run->from_gate = before->from_gate;
  run->to_gate = before->to_gate;
  loom_lanes_run(in->lanes, corners, n, number, true);
}

static void
keep_old(LoomSheet *sheet, const LoomSheet *old)
{
  g_autoptr(GHashTable) by_joint = g_hash_table_new(NULL, NULL);
  const GPtrArray *before = old->inside->runs->runs;
  for (guint i = 0; i < before->len; i++)
    g_hash_table_insert(by_joint, (gpointer)joint_record(old->inside->wiring, before->pdata[i], 0),
                        before->pdata[i]);
  const GPtrArray *runs = sheet->inside->runs->runs;
  for (guint i = 0; i < runs->len; i++) {
    LoomRun *run = runs->pdata[i];
    const LoomRun *was = g_hash_table_lookup(by_joint, joint_record(sheet->inside->wiring, run, 0));
    if (was && was->corners && same_run(sheet, run, old, was))
      keep(sheet, run, i, was);
  }
}

/* Step 3. */

static void
set_gate(LoomSheet *sheet, const LoomStop *stop, struct LoomRunGate *gate, const LoomGate *taken,
         guint bit)
{
  *gate = (struct LoomRunGate){taken->at, taken->dx, taken->dy, bit};
  if (stop->type == LOOM_STOP_TAG)
    sheet->inside->gates[stop->part].gates |= bit;
}

static void
lift(LoomSheet *sheet, LoomRun *run, guint number)
{
  LoomSheetInside *in = sheet->inside;
  loom_lanes_run(in->lanes, (const LoomSpot *)run->corners->data, run->corners->len, number, false);
  g_clear_pointer(&run->corners, g_array_unref);
  if (run->from.type == LOOM_STOP_TAG)
    in->gates[run->from.part].gates &= ~run->from_gate.bit;
  if (run->to.type == LOOM_STOP_TAG)
    in->gates[run->to.part].gates &= ~run->to_gate.bit;
}

static void
route(LoomSheet *sheet, LoomRouter *router, LoomRun *run, guint number)
{
  LoomGate from[8], to[8];
  guint from_bits[8], to_bits[8], a, b;
  guint n_from = loom_stop_gates(sheet, &run->from, from, from_bits);
  guint n_to = loom_stop_gates(sheet, &run->to, to, to_bits);
  if (run->from.type == LOOM_STOP_TAG && run->to.type == LOOM_STOP_TAG &&
      run->from.part == run->to.part) { /* a ring: out at one gate, in at another */
    n_from = 1;
    to[0] = to[n_to - 1];
    to_bits[0] = to_bits[n_to - 1];
    n_to = 1;
  }
  run->corners = loom_router_find(router, from, n_from, to, n_to, run->wide, &a, &b);
  set_gate(sheet, &run->from, &run->from_gate, &from[a], from_bits[a]);
  set_gate(sheet, &run->to, &run->to_gate, &to[b], to_bits[b]);
  loom_lanes_run(sheet->inside->lanes, (const LoomSpot *)run->corners->data, run->corners->len,
                 number, true);
}

/* Later leads should rather cross where this one's tag will not be. */
static void
spare_tag(LoomSheet *sheet, const LoomRun *run)
{
  const LoomSpot *c = (const LoomSpot *)run->corners->data;
  guint best = 0;
  int longest = -1;
  for (guint k = 0; k + 1 < run->corners->len; k++) {
    int own = abs(c[k + 1].i - c[k].i) + abs(c[k + 1].j - c[k].j);
    if (own > longest) {
      longest = own;
      best = k;
    }
  }
  bool tagged = false;
  for (guint k = 0; k < run->stretches->len; k++) {
    const LoomStretch *s = &g_array_index(run->stretches, LoomStretch, k);
    tagged |= s->end_a != LOOM_NONE && s->end_b != LOOM_NONE;
  }
  if (!tagged || longest < 4)
    return;
  bool across = c[best].j == c[best + 1].j;
  LoomPoint middle = {(c[best].i + c[best + 1].i) * LOOM_LANE_MM / 2,
                      (c[best].j + c[best + 1].j) * LOOM_LANE_MM / 2};
  double x = across ? fmin(13, longest * LOOM_LANE_MM / 4) : 5, y = across ? 5 : 8;
  loom_lanes_near(sheet->inside->lanes, (LoomRect){middle.x - x, middle.y - y, 2 * x, 2 * y}, 5);
}

typedef struct {
  double length;
  guint number;
} Turn;

static int
by_length(gconstpointer a, gconstpointer b)
{
  const Turn *x = a, *y = b;
  if (x->length != y->length)
    return x->length < y->length ? -1 : 1;
  return (x->number > y->number) - (x->number < y->number);
}

static GArray *
lay_new(LoomSheet *sheet, LoomRouter *router)
{
  const GPtrArray *runs = sheet->inside->runs->runs;
  GArray *turns = g_array_new(FALSE, FALSE, sizeof(Turn));
  for (guint i = 0; i < runs->len; i++) {
    const LoomRun *run = runs->pdata[i];
    double aside = fmin(fabs(run->from.at.x - run->to.at.x), fabs(run->from.at.y - run->to.at.y));
    Turn turn = {aside + fabs(run->from.at.x - run->to.at.x) + fabs(run->from.at.y - run->to.at.y),
                 i};
    if (!run->corners && !is_direct(sheet, run))
      g_array_append_val(turns, turn);
  }
  g_array_sort(turns, by_length);
  for (guint t = 0; t < turns->len; t++) {
    guint number = g_array_index(turns, Turn, t).number;
    route(sheet, router, runs->pdata[number], number);
    spare_tag(sheet, runs->pdata[number]);
  }
  return turns;
}

/* Step 4. */

static guint
crossings_of(const LoomSheet *sheet, const LoomRun *run)
{
  return loom_lanes_crossings(sheet->inside->lanes, (const LoomSpot *)run->corners->data,
                              run->corners->len);
}

static void
lay_again(LoomSheet *sheet, LoomRouter *router, const GArray *turns)
{
  guint again = 0;
  for (guint pass = 0; pass < 2; pass++)
    for (guint t = turns->len; t-- > 0 && again < MOST_AGAIN;) {
      guint number = g_array_index(turns, Turn, t).number;
      LoomRun *run = sheet->inside->runs->runs->pdata[number];
      if (crossings_of(sheet, run) == 0)
        continue;
      lift(sheet, run, number);
      route(sheet, router, run, number);
      again++;
    }
}

/* Step 6. */

static void
add_point(GArray *points, double x, double y)
{
  LoomPoint p = {x, y};
  guint n = points->len;
  LoomPoint *all = (LoomPoint *)points->data;
  if (n > 0 && fabs(all[n - 1].x - x) + fabs(all[n - 1].y - y) < 1e-6)
    return;
  bool inline_x =
      n > 1 && fabs(all[n - 2].x - all[n - 1].x) < 1e-6 && fabs(all[n - 1].x - x) < 1e-6;
  bool inline_y =
      n > 1 && fabs(all[n - 2].y - all[n - 1].y) < 1e-6 && fabs(all[n - 1].y - y) < 1e-6;
  if (inline_x || inline_y)
    all[n - 1] = p;
  else
    g_array_append_val(points, p);
}

/* Draws the first leg of the places (from the end where `back`) onto the line of the exact start.
 */
static void
straighten(LoomPoint *places, guint n, LoomPoint start, bool across, bool back)
{
  double off = across ? places[back ? n - 1 : 0].y - start.y : places[back ? n - 1 : 0].x - start.x;
  if (fabs(off) > 0.6 * LOOM_LANE_MM)
    return;
  for (guint k = 0; k < n; k++) {
    LoomPoint *p = &places[back ? n - 1 - k : k];
    double own = across ? p->y - start.y : p->x - start.x;
    if (fabs(own - off) > 1e-6)
      break;
    if (across)
      p->y = start.y;
    else
      p->x = start.x;
  }
}

/* One more corner where two points in a row do not share a row or column. */
static void
add_bent(GArray *points, LoomPoint to, bool across)
{
  LoomPoint from = points->len > 0 ? g_array_index(points, LoomPoint, points->len - 1) : to;
  if (fabs(from.x - to.x) > 1e-6 && fabs(from.y - to.y) > 1e-6)
    add_point(points, across ? to.x : from.x, across ? from.y : to.y);
  add_point(points, to.x, to.y);
}

static void
make_points(const LoomSheet *sheet, LoomRun *run)
{
  guint n = run->corners->len;
  g_autofree LoomPoint *places = g_new(LoomPoint, n);
  for (guint k = 0; k < n; k++) {
    LoomSpot s = g_array_index(run->corners, LoomSpot, k);
    places[k] = (LoomPoint){s.i * LOOM_LANE_MM, s.j * LOOM_LANE_MM};
  }
  LoomGate from = {run->from_gate.at, run->from_gate.dx, run->from_gate.dy};
  LoomGate to = {run->to_gate.at, run->to_gate.dx, run->to_gate.dy};
  LoomPoint start = loom_stop_start(sheet, &run->from, &from);
  LoomPoint goal = loom_stop_start(sheet, &run->to, &to);
  straighten(places, n, start, from.dx != 0, false);
  straighten(places, n, goal, to.dx != 0, true);
  if (run->points)
    g_array_unref(run->points);
  run->points = g_array_new(FALSE, FALSE, sizeof(LoomPoint));
  add_point(run->points, start.x, start.y);
  for (guint k = 0; k < n; k++)
    add_bent(run->points, places[k], from.dx != 0);
  add_bent(run->points, goal, to.dx == 0);
}

/* Step 5. */

static void
append_way(GArray *corners, GArray *more)
{
  g_array_append_vals(corners, more->data, more->len);
  g_array_unref(more);
}

/* From gate to gate over the place `via`, which is passed along `step`. */
static void
route_over(LoomSheet *sheet, LoomRouter *router, LoomRun *run, guint number, LoomSpot via, int dx,
           int dy)
{
  LoomGate from = {run->from_gate.at, run->from_gate.dx, run->from_gate.dy};
  LoomGate to = {run->to_gate.at, run->to_gate.dx, run->to_gate.dy};
  LoomGate in = {via, -dx, -dy}, out = {via, dx, dy};
  guint a, b;
  LoomLanes *lanes = sheet->inside->lanes;
  run->corners = loom_router_find(router, &from, 1, &in, 1, run->wide, &a, &b);
  guint first = run->corners->len;
  loom_lanes_run(lanes, (const LoomSpot *)run->corners->data, first, number, true);
  append_way(run->corners, loom_router_find(router, &out, 1, &to, 1, run->wide, &a, &b));
  loom_lanes_run(lanes, (const LoomSpot *)run->corners->data + first, run->corners->len - first,
                 number, true);
}

static bool
is_open(LoomLanes *lanes, LoomSpot at)
{
  const LoomLane *lane = loom_lanes_at(lanes, at.i, at.j);
  return lane->block == LOOM_BLOCK_OPEN && !lane->owner[0] && !lane->owner[1];
}

static void
put_back(LoomSheet *sheet, LoomRun *run, guint number, GArray *corners)
{
  loom_lanes_run(sheet->inside->lanes, (const LoomSpot *)run->corners->data, run->corners->len,
                 number, false);
  g_array_unref(run->corners);
  run->corners = corners;
}

/* A way with a bulge to the side, as small as will do. Keeps the old one where none is found. */
static void
detour(LoomSheet *sheet, LoomRouter *router, LoomRun *run, guint number, double missing_mm)
{
  LoomLanes *lanes = sheet->inside->lanes;
  LoomSpot a = run->from_gate.at, b = run->to_gate.at;
  bool across = run->from_gate.dx != 0;
  int dx = across ? (b.i >= a.i ? 1 : -1) : 0, dy = across ? 0 : (b.j >= a.j ? 1 : -1);
  int least = MAX((int)ceil(missing_mm / 2 / LOOM_LANE_MM), 2);
  GArray *plain = run->corners;
  loom_lanes_run(lanes, (const LoomSpot *)plain->data, plain->len, number, false);
  for (int k = least; k < least + MOST_DETOUR; k++)
    for (int side = -1; side <= 1; side += 2) {
      LoomSpot via = {(a.i + b.i) / 2 + (across ? 0 : side * k),
                      (a.j + b.j) / 2 + (across ? side * k : 0)};
      if (!is_open(lanes, via))
        continue;
      route_over(sheet, router, run, number, via, dx, dy);
      make_points(sheet, run);
      if (loom_items_fit(sheet, run) && crossings_of(sheet, run) == 0) {
        g_array_unref(plain);
        return;
      }
      put_back(sheet, run, number, NULL);
    }
  run->corners = plain;
  loom_lanes_run(lanes, (const LoomSpot *)plain->data, plain->len, number, true);
  make_points(sheet, run);
}

static double
length_of(const LoomRun *run)
{
  double sum = 0;
  for (guint k = 1; k < run->points->len; k++) {
    LoomPoint a = g_array_index(run->points, LoomPoint, k - 1),
              b = g_array_index(run->points, LoomPoint, k);
    sum += fabs(a.x - b.x) + fabs(a.y - b.y);
  }
  return sum;
}

static void
make_room(LoomSheet *sheet, LoomRouter *router)
{
  const GPtrArray *runs = sheet->inside->runs->runs;
  for (guint i = 0; i < runs->len; i++) {
    LoomRun *run = runs->pdata[i];
    if (!run->corners || loom_items_fit(sheet, run))
      continue;
    detour(sheet, router, run, i, fmax(loom_items_length_mm(sheet, run) - length_of(run), 0));
  }
}

void
loom_lay(LoomSheet *sheet, const LoomSheet *old)
{
  LoomSheetInside *in = sheet->inside;
  in->lanes = loom_lanes_new();
  block_parts(sheet);
  block_ends(sheet);
  block_stops(sheet);
  if (old && old->scene == sheet->scene)
    keep_old(sheet, old);
  LoomRouter *router = loom_router_new(in->lanes);
  g_autoptr(GArray) turns = lay_new(sheet, router);
  lay_again(sheet, router, turns);
  for (guint i = 0; i < in->runs->runs->len; i++) {
    LoomRun *run = in->runs->runs->pdata[i];
    if (run->corners)
      make_points(sheet, run);
  }
  make_room(sheet, router);
  loom_router_free(router);
}
