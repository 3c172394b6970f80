#include "lanes.h"

#include "grid.h"

#include <math.h>

#define TILE 16 /* places along a side of a tile */

typedef struct {
  LoomLane lanes[TILE * TILE];
} Tile;

struct LoomLanes {
  GHashTable *tiles; /* key of tile -> Tile */
  gint64 last_key;
  Tile *last; /* tile found last, or NULL */
};

static const LoomLane OPEN;

LoomLanes *
loom_lanes_new(void)
{
  LoomLanes *lanes = g_new0(LoomLanes, 1);
  lanes->tiles = g_hash_table_new_full(loom_grid_hash, g_int64_equal, g_free, g_free);
  lanes->last_key = G_MAXINT64;
  return lanes;
}

void
loom_lanes_free(LoomLanes *lanes)
{
  if (!lanes)
    return;
  g_hash_table_unref(lanes->tiles);
  g_free(lanes);
}

static Tile *
find_tile(LoomLanes *lanes, int ti, int tj)
{
  gint64 key = loom_grid_key(ti, tj);
  if (key != lanes->last_key) {
    lanes->last_key = key;
    lanes->last = g_hash_table_lookup(lanes->tiles, &key);
  }
  return lanes->last;
}

const LoomLane *
loom_lanes_at(LoomLanes *lanes, int i, int j)
{
  int ti = loom_grid_tile(i, TILE), tj = loom_grid_tile(j, TILE);
  const Tile *tile = find_tile(lanes, ti, tj);
  return tile ? &tile->lanes[(j - tj * TILE) * TILE + i - ti * TILE] : &OPEN;
}

LoomLane *
loom_lanes_touch(LoomLanes *lanes, int i, int j)
{
  int ti = loom_grid_tile(i, TILE), tj = loom_grid_tile(j, TILE);
  Tile *tile = find_tile(lanes, ti, tj);
  if (!tile) {
    gint64 *key = g_new(gint64, 1);
    *key = lanes->last_key;
    tile = lanes->last = g_new0(Tile, 1);
    g_hash_table_insert(lanes->tiles, key, tile);
  }
  return &tile->lanes[(j - tj * TILE) * TILE + i - ti * TILE];
}

typedef struct {
  int i0, j0, i1, j1; /* inclusive; empty where i1 < i0 or j1 < j0 */
} Span;

/* Places strictly inside. */
static Span
span_of(LoomRect r)
{
  double slack = 1e-6;
  return (Span){(int)ceil((r.x + slack) / LOOM_LANE_MM), (int)ceil((r.y + slack) / LOOM_LANE_MM),
                (int)floor((r.x + r.width - slack) / LOOM_LANE_MM),
                (int)floor((r.y + r.height - slack) / LOOM_LANE_MM)};
}

void
loom_lanes_block(LoomLanes *lanes, LoomRect rect, LoomBlock block)
{
  Span s = span_of(rect);
  for (int j = s.j0; j <= s.j1; j++)
    for (int i = s.i0; i <= s.i1; i++) {
      LoomLane *lane = loom_lanes_touch(lanes, i, j);
      lane->block = MAX(lane->block, block);
    }
}

void
loom_lanes_near(LoomLanes *lanes, LoomRect rect, guint8 cost)
{
  Span s = span_of(rect);
  for (int j = s.j0; j <= s.j1; j++)
    for (int i = s.i0; i <= s.i1; i++) {
      LoomLane *lane = loom_lanes_touch(lanes, i, j);
      lane->near = (guint8)MIN(lane->near + cost, 250);
    }
}

/* One step at a time along corners. */
typedef struct {
  const LoomSpot *corners;
  guint n, leg;
  LoomSpot at;
} Walk;

static int
sign(int a)
{
  return (a > 0) - (a < 0);
}

/* The next place and the direction (0 across, 1 down) that it was reached in; false at the end. */
static bool
walk_on(Walk *w, int *direction)
{
  while (w->leg + 1 < w->n) {
    LoomSpot to = w->corners[w->leg + 1];
    if (w->at.i != to.i || w->at.j != to.j) {
      *direction = w->at.i == to.i;
      w->at.i += sign(to.i - w->at.i);
      w->at.j += *direction ? sign(to.j - w->at.j) : 0;
      return true;
    }
    w->leg++;
  }
  return false;
}

static void
mark(LoomLanes *lanes, LoomSpot at, int direction, guint32 owner, bool put)
{
  LoomLane *lane = loom_lanes_touch(lanes, at.i, at.j);
  guint32 wanted = put ? owner + 1 : 0;
  if (lane->owner[direction] == wanted || (!put && lane->owner[direction] != owner + 1))
    return;
  lane->owner[direction] = wanted;
  for (int side = -1; side <= 1; side += 2) {
    LoomLane *next =
        loom_lanes_touch(lanes, at.i + (direction ? side : 0), at.j + (direction ? 0 : side));
    next->beside[direction] = (guint8)CLAMP(next->beside[direction] + (put ? 1 : -1), 0, 250);
  }
}

void
loom_lanes_run(LoomLanes *lanes, const LoomSpot *corners, guint n, guint32 owner, bool put)
{
  Walk w = {corners, n, 0, corners[0]};
  LoomSpot before = w.at;
  int direction = 0;
  while (walk_on(&w, &direction)) {
    mark(lanes, before, direction, owner, put);
    mark(lanes, w.at, direction, owner, put);
    before = w.at;
  }
}

guint
loom_lanes_crossings(LoomLanes *lanes, const LoomSpot *corners, guint n)
{
  Walk w = {corners, n, 0, corners[0]};
  guint crossings = 0;
  int direction;
  while (walk_on(&w, &direction)) {
    const LoomLane *lane = loom_lanes_at(lanes, w.at.i, w.at.j);
    guint32 other = lane->owner[!direction];
    crossings += other != 0 && other != lane->owner[direction];
  }
  return crossings;
}

bool
loom_lanes_blocked(LoomLanes *lanes, const LoomSpot *corners, guint n, LoomBlock block)
{
  Walk w = {corners, n, 0, corners[0]};
  int direction;
  if (loom_lanes_at(lanes, w.at.i, w.at.j)->block >= block)
    return true;
  while (walk_on(&w, &direction))
    if (loom_lanes_at(lanes, w.at.i, w.at.j)->block >= block)
      return true;
  return false;
}
