/* The places of a way as points of the paper. Stops need not lie on a lane: the first and the last
 * leg are drawn onto the exact line of their stop.
 *
 *      [ ]=--- - - - stop's line            [ ]=-----+
 *             +-----  lane           ->              |
 *             |                                      |          */
#include "lay-private.h"

#include <math.h>

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

void
loom_way_points(const LoomSheet *sheet, LoomRun *run)
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
