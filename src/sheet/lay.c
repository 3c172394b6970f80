/* Laying all runs of a sheet, one after the other:
 *
 *   +-----+                 +-----+    1. block what runs must keep off: outlines, ends, words
 *   | G1  |=---(W1)----+    | M1  |    2. take over the ways of an older sheet that still hold
 *   +-----+            |    +-----+    3. lay the others, short ones first: they have least choice
 *              +-----+ |       |       4. lay those again that cross: now they see the later ones
 *              | K1  |<+       |       5. lay those with a detour that are too short for their
 *              |     |---------+          joints and tags
 *              +-----+                 6. places become points, ends exact                    */
#include "lay-private.h"

#include <math.h>
#include <stdlib.h>

#define MOST_AGAIN 400 /* runs that are laid a second time */

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

guint
loom_way_crossings(const LoomSheet *sheet, const LoomRun *run)
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
      if (loom_way_crossings(sheet, run) == 0)
        continue;
      lift(sheet, run, number);
      route(sheet, router, run, number);
      again++;
    }
}

void
loom_lay(LoomSheet *sheet, const LoomSheet *old)
{
  LoomSheetInside *in = sheet->inside;
  in->lanes = loom_lanes_new();
  loom_block_all(sheet);
  if (old && old->scene == sheet->scene)
    loom_keep_old(sheet, old);
  LoomRouter *router = loom_router_new(in->lanes);
  g_autoptr(GArray) turns = lay_new(sheet, router);
  lay_again(sheet, router, turns);
  for (guint i = 0; i < in->runs->runs->len; i++) {
    LoomRun *run = in->runs->runs->pdata[i];
    if (run->corners)
      loom_way_points(sheet, run);
  }
  loom_make_room(sheet, router);
  loom_router_free(router);
}
