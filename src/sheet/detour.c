/* Detours for runs that are too short for their joints and tags:
 *
 *                             +-(W1)-+        a place beside what lies between the two is passed
 *     [ G1 ]=--=[ K1 ]  ->    |      |        on the way, farther and farther out until all fits
 *                       [ G1 ]=      =[ K1 ]                                                  */
#include "lay-private.h"

#include <math.h>

#define MOST_DETOUR 30 /* further lanes tried for a detour */
#define MOST_TRIES 600 /* ways tried on one sheet */

static void
append_way(GArray *corners, GArray *more)
{
  g_array_append_vals(corners, more->data, more->len);
  g_array_unref(more);
}

static void
put_back(LoomSheet *sheet, LoomRun *run, guint number, GArray *corners)
{
  loom_lanes_run(sheet->inside->lanes, (const LoomSpot *)run->corners->data, run->corners->len,
                 number, false);
  g_array_unref(run->corners);
  run->corners = corners;
}

/* From gate to gate over the place `via`, which is passed along `step`. false, and no way on the
 * lanes, where that cannot be. */
static bool
route_over(LoomSheet *sheet, LoomRouter *router, LoomRun *run, guint number, LoomSpot via, int dx,
           int dy)
{
  LoomGate from = {run->from_gate.at, run->from_gate.dx, run->from_gate.dy};
  LoomGate to = {run->to_gate.at, run->to_gate.dx, run->to_gate.dy};
  LoomGate in = {via, -dx, -dy}, out = {via, dx, dy};
  LoomLanes *lanes = sheet->inside->lanes;
  run->corners = loom_router_find_open(router, &from, &in, run->wide);
  if (!run->corners)
    return false;
  guint first = run->corners->len;
  loom_lanes_run(lanes, (const LoomSpot *)run->corners->data, first, number, true);
  GArray *rest = loom_router_find_open(router, &out, &to, run->wide);
  if (!rest) {
    put_back(sheet, run, number, NULL);
    return false;
  }
  append_way(run->corners, rest);
  loom_lanes_run(lanes, (const LoomSpot *)run->corners->data + first, run->corners->len - first,
                 number, true);
  return true;
}

static bool
is_open(LoomLanes *lanes, LoomSpot at)
{
  const LoomLane *lane = loom_lanes_at(lanes, at.i, at.j);
  return lane->block == LOOM_BLOCK_OPEN && !lane->owner[0] && !lane->owner[1];
}

/* Which way round: to the sides of what lies between the stops, then past its ends. */
static const struct {
  int di, dj;
} BULGES[] = {{0, -1}, {0, 1}, {-1, 0}, {1, 0}, {-1, -1}, {1, -1}, {-1, 1}, {1, 1}};

/* Tries one place to pass by; keeps the way if joints and tags have room on it and nothing is
 * crossed. */
static bool
try_over(LoomSheet *sheet, LoomRouter *router, LoomRun *run, guint number, LoomSpot via,
         bool across)
{
  LoomSpot a = run->from_gate.at, b = run->to_gate.at;
  int dx = across ? (b.i >= a.i ? 1 : -1) : 0, dy = across ? 0 : (b.j >= a.j ? 1 : -1);
  if (!route_over(sheet, router, run, number, via, dx, dy))
    return false;
  loom_way_points(sheet, run);
  if (loom_items_fit(sheet, run, number) && loom_way_crossings(sheet, run) == 0)
    return true;
  put_back(sheet, run, number, NULL);
  return false;
}

/* A way with a bulge, as small as will do. Keeps the old one where none is found. `budget`: ways
 * that may still be tried. */
static void
detour(LoomSheet *sheet, LoomRouter *router, LoomRun *run, guint number, double missing_mm,
       int *budget)
{
  LoomLanes *lanes = sheet->inside->lanes;
  LoomSpot a = run->from_gate.at, b = run->to_gate.at;
  int least = MAX((int)ceil(missing_mm / 2 / LOOM_LANE_MM), 2);
  GArray *plain = run->corners;
  loom_lanes_run(lanes, (const LoomSpot *)plain->data, plain->len, number, false);
  for (int k = least; k<least + MOST_DETOUR && * budget> 0; k += 1 + k / 6)
    for (guint d = 0; d < 2 * G_N_ELEMENTS(BULGES); d++) {
      LoomSpot via = {(a.i + b.i) / 2 + BULGES[d / 2].di * k,
                      (a.j + b.j) / 2 + BULGES[d / 2].dj * k};
      bool across = (run->from_gate.dx != 0) == (d % 2 == 0);
      if (!is_open(lanes, via))
        continue;
      (*budget)--;
      if (try_over(sheet, router, run, number, via, across)) {
        g_array_unref(plain);
        return;
      }
    }
  run->corners = plain;
  loom_lanes_run(lanes, (const LoomSpot *)plain->data, plain->len, number, true);
  loom_way_points(sheet, run);
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

/* Its stops are buried under other parts: no detour mends that. */
static bool
is_forced(const LoomSheet *sheet, const LoomRun *run)
{
  return loom_lanes_blocked(sheet->inside->lanes, (const LoomSpot *)run->corners->data,
                            run->corners->len, LOOM_BLOCK_END);
}

void
loom_make_room(LoomSheet *sheet, LoomRouter *router)
{
  const GPtrArray *runs = sheet->inside->runs->runs;
  int budget = MOST_TRIES;
  for (guint i = 0; i < runs->len; i++) {
    LoomRun *run = runs->pdata[i];
    if (!run->corners || loom_items_fit(sheet, run, i) || is_forced(sheet, run))
      continue;
    double missing = fmax(loom_items_length_mm(sheet, run) - length_of(run), 0);
    detour(sheet, router, run, i, missing, &budget);
  }
}
