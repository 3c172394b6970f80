/* The cheapest way over the lanes, by A* over (place, direction):
 *
 *    from                        cost = steps + bends + crossings + company
 *    [>--+   #####
 *        |   #####      1. put the gates of the start into the heap
 *        +---------+    2. take the state of least cost + estimate; at a gate of the goal: done
 *            #     |    3. go one place ahead, if nothing blocks and nobody runs there likewise
 *            #  <--+    4. or turn left or right, if nobody crosses here
 *              to       5. walk back along the states, keep the corners
 *
 * The estimate counts the steps and the least number of bends that must still come, so in open
 * paper the search looks at little more than the way itself. A lead may cross another at a right
 * angle, for a price; it never runs on top of one. Where no way exists, words, then ends, then
 * outlines and other leads are let through for a high price, so that there is always an answer. */
#include "route.h"

#include "grid.h"

#include <stdlib.h>

enum { RIGHT, DOWN, LEFT, UP, NOWHERE };
static const int DX[] = {1, 0, -1, 0}, DY[] = {0, 1, 0, -1};

#define STEP 4
#define BEND 36
#define CROSSING 60
#define COMPANY 3       /* a lead in the next lane */
#define WIDE_COMPANY 10 /* the same, where one of the two is wide */
#define FORCED 240      /* through something that blocks */
#define TILE 16
/* For goals farther than NEAR places the estimate is raised by and by, from FAR on by the share
 * RAISED: else every way around would be looked at. The way may be that much too dear. */
#define NEAR 60
#define FAR 160
#define RAISED 0.4
#define MOST_STATES 400000
#define POCKET 400 /* places looked at to see whether a goal is shut in */
#define NEVER G_MAXINT32

typedef struct {
  gint32 cost[TILE * TILE * 4];
  guint8 from[TILE * TILE * 4]; /* direction before; NOWHERE at the start */
} Tile;

typedef struct {
  gint32 estimate, cost;
  guint32 order;
  int i, j;
  int direction;
} State;

struct LoomRouter {
  LoomLanes *lanes;
  GHashTable *tiles; /* of this search */
  GPtrArray *spare;
  gint64 last_key;
  Tile *last;
  GArray *heap;   /* of State */
  GArray *pocket; /* of LoomSpot */
  guint32 order;
  /* this search */
  const LoomGate *to;
  guint n_to;
  bool wide;
  int passes;   /* blocks below this are let through free */
  bool force;   /* the rest for a price */
  double raise; /* of the estimate */
  int i0, j0, i1, j1;
};

LoomRouter *
loom_router_new(LoomLanes *lanes)
{
  LoomRouter *r = g_new0(LoomRouter, 1);
  r->lanes = lanes;
  r->tiles = g_hash_table_new_full(loom_grid_hash, g_int64_equal, g_free, NULL);
  r->spare = g_ptr_array_new_with_free_func(g_free);
  r->heap = g_array_new(FALSE, FALSE, sizeof(State));
  r->pocket = g_array_new(FALSE, FALSE, sizeof(LoomSpot));
  r->last_key = G_MAXINT64;
  return r;
}

static void
forget(LoomRouter *r)
{
  GHashTableIter iter;
  gpointer tile;
  g_hash_table_iter_init(&iter, r->tiles);
  while (g_hash_table_iter_next(&iter, NULL, &tile))
    g_ptr_array_add(r->spare, tile);
  g_hash_table_remove_all(r->tiles);
  r->last_key = G_MAXINT64;
  r->last = NULL;
  g_array_set_size(r->heap, 0);
  r->order = 0;
}

void
loom_router_free(LoomRouter *r)
{
  if (!r)
    return;
  forget(r);
  g_hash_table_unref(r->tiles);
  g_ptr_array_unref(r->spare);
  g_array_unref(r->heap);
  g_array_unref(r->pocket);
  g_free(r);
}

static Tile *
fresh_tile(LoomRouter *r)
{
  Tile *tile = r->spare->len > 0 ? g_ptr_array_steal_index_fast(r->spare, r->spare->len - 1)
                                 : g_new(Tile, 1);
  for (guint i = 0; i < G_N_ELEMENTS(tile->cost); i++)
    tile->cost[i] = NEVER;
  return tile;
}

/* Tile of the place and the index of its state there. */
static Tile *
state_at(LoomRouter *r, int i, int j, int direction, guint *index)
{
  int ti = loom_grid_tile(i, TILE), tj = loom_grid_tile(j, TILE);
  gint64 key = loom_grid_key(ti, tj);
  *index = (guint)(((j - tj * TILE) * TILE + i - ti * TILE) * 4 + direction);
  if (key == r->last_key)
    return r->last;
  r->last_key = key;
  r->last = g_hash_table_lookup(r->tiles, &key);
  if (!r->last) {
    gint64 *own = g_new(gint64, 1);
    *own = key;
    r->last = fresh_tile(r);
    g_hash_table_insert(r->tiles, own, r->last);
  }
  return r->last;
}

static bool
before(const State *a, const State *b)
{
  if (a->estimate != b->estimate)
    return a->estimate < b->estimate;
  if (a->cost != b->cost)
    return a->cost > b->cost;
  return a->order < b->order;
}

static void
push(GArray *heap, State state)
{
  g_array_append_val(heap, state);
  State *s = (State *)heap->data;
  guint at = heap->len - 1;
  while (at > 0 && before(&state, &s[(at - 1) / 2])) {
    s[at] = s[(at - 1) / 2];
    at = (at - 1) / 2;
  }
  s[at] = state;
}

static State
pop(GArray *heap)
{
  State *s = (State *)heap->data;
  State top = s[0], last = s[heap->len - 1];
  guint n = heap->len - 1, at = 0;
  g_array_set_size(heap, n);
  while (2 * at + 1 < n) {
    guint child = 2 * at + 1;
    if (child + 1 < n && before(&s[child + 1], &s[child]))
      child++;
    if (!before(&s[child], &last))
      break;
    s[at] = s[child];
    at = child;
  }
  if (n > 0)
    s[at] = last;
  return top;
}

static int
direction_of(int dx, int dy)
{
  return dx > 0 ? RIGHT : dx < 0 ? LEFT : dy > 0 ? DOWN : UP;
}

/* Fewest bends of a way that starts along `direction`, ends along `last` and covers di, dj. */
static int
fewest_bends(int di, int dj, int direction, int last)
{
  int ahead = di * DX[direction] + dj * DY[direction];
  int aside = abs(di * DY[direction]) + abs(dj * DX[direction]);
  if (direction == last)
    return ahead < 0 ? 4 : aside == 0 ? 0 : 2;
  if (direction == (last + 2) % 4)
    return aside == 0 ? 4 : 2;
  int along = di * DX[last] + dj * DY[last];
  return ahead >= 0 && along >= 0 ? 1 : 3;
}

static gint32
estimate(const LoomRouter *r, int i, int j, int direction)
{
  gint32 best = NEVER;
  for (guint t = 0; t < r->n_to; t++) {
    const LoomGate *gate = &r->to[t];
    int di = gate->at.i - i, dj = gate->at.j - j;
    int bends = fewest_bends(di, dj, direction, direction_of(-gate->dx, -gate->dy));
    gint32 cost = STEP * (abs(di) + abs(dj)) + BEND * bends;
    best = MIN(best, cost);
  }
  return (gint32)(best * r->raise);
}

static void
offer(LoomRouter *r, int i, int j, int direction, gint32 cost, int from)
{
  guint index;
  Tile *tile = state_at(r, i, j, direction, &index);
  if (tile->cost[index] <= cost)
    return;
  tile->cost[index] = cost;
  tile->from[index] = (guint8)from;
  push(r->heap, (State){cost + estimate(r, i, j, direction), cost, r->order++, i, j, direction});
}

/* Price of stepping to the place along `direction`; NEVER where that cannot be. */
static gint32
step_price(const LoomRouter *r, const LoomLane *lane, int direction)
{
  int way = direction & 1;
  bool stopped = lane->block >= r->passes || lane->owner[way];
  if (stopped && !r->force)
    return NEVER;
  gint32 price = STEP + lane->near + lane->beside[way] * (r->wide ? WIDE_COMPANY : COMPANY);
  return price + (stopped ? FORCED : 0) + (lane->owner[!way] ? CROSSING : 0);
}

static void
go_ahead(LoomRouter *r, const State *s)
{
  int i = s->i + DX[s->direction], j = s->j + DY[s->direction];
  if (i < r->i0 || i > r->i1 || j < r->j0 || j > r->j1)
    return;
  gint32 price = step_price(r, loom_lanes_at(r->lanes, i, j), s->direction);
  if (price != NEVER)
    offer(r, i, j, s->direction, s->cost + price, s->direction);
}

static void
turn(LoomRouter *r, const State *s)
{
  const LoomLane *lane = loom_lanes_at(r->lanes, s->i, s->j);
  bool crossed = lane->owner[!(s->direction & 1)] != 0;
  if (crossed && !r->force)
    return;
  gint32 cost = s->cost + BEND + (crossed ? FORCED : 0);
  offer(r, s->i, s->j, (s->direction + 1) % 4, cost, s->direction);
  offer(r, s->i, s->j, (s->direction + 3) % 4, cost, s->direction);
}

static bool
arrived(const LoomRouter *r, const State *s, guint *gate)
{
  for (guint t = 0; t < r->n_to; t++) {
    const LoomGate *to = &r->to[t];
    if (to->at.i == s->i && to->at.j == s->j && s->direction == direction_of(-to->dx, -to->dy)) {
      *gate = t;
      return true;
    }
  }
  return false;
}

/* Notes that the goal can be reached from the place. */
static void
reach(LoomRouter *r, int i, int j)
{
  if (i < r->i0 || i > r->i1 || j < r->j0 || j > r->j1)
    return;
  guint index;
  Tile *tile = state_at(r, i, j, RIGHT, &index);
  LoomSpot at = {i, j};
  if (tile->cost[index] != NEVER)
    return;
  tile->cost[index] = 0;
  g_array_append_val(r->pocket, at);
}

/* Whether no way leads to the goal, for all that can be seen close to it: going back from it, one
 * is soon at an end everywhere, and has met no start. Such a goal would cost a search of everything
 * around the start. */
static bool
is_shut_in(LoomRouter *r, const LoomGate *from, guint n_from)
{
  forget(r);
  g_array_set_size(r->pocket, 0);
  for (guint t = 0; t < r->n_to; t++)
    reach(r, r->to[t].at.i, r->to[t].at.j);
  for (guint p = 0; p < r->pocket->len; p++) {
    if (r->pocket->len > POCKET)
      return false;
    LoomSpot at = g_array_index(r->pocket, LoomSpot, p);
    const LoomLane *lane = loom_lanes_at(r->lanes, at.i, at.j);
    for (int direction = RIGHT; direction <= UP; direction++)
      if (step_price(r, lane, direction) != NEVER)
        reach(r, at.i - DX[direction], at.j - DY[direction]);
  }
  for (guint f = 0; f < n_from; f++) {
    guint index;
    if (state_at(r, from[f].at.i, from[f].at.j, RIGHT, &index)->cost[index] != NEVER)
      return false;
  }
  return true;
}

static double
raise_for(const LoomRouter *r, const LoomGate *from)
{
  int far = abs(from->at.i - r->to[0].at.i) + abs(from->at.j - r->to[0].at.j);
  return 1 + RAISED * CLAMP((far - NEAR) / (double)(FAR - NEAR), 0, 1);
}

static bool
search(LoomRouter *r, const LoomGate *from, guint n_from, State *goal, guint *to_gate)
{
  forget(r);
  r->raise = raise_for(r, &from[0]);
  for (guint f = 0; f < n_from; f++)
    offer(r, from[f].at.i, from[f].at.j, direction_of(from[f].dx, from[f].dy), 0, NOWHERE);
  while (r->heap->len > 0 && r->order < MOST_STATES) {
    State s = pop(r->heap);
    guint index;
    const Tile *tile = state_at(r, s.i, s.j, s.direction, &index);
    if (tile->cost[index] < s.cost)
      continue;
    if (arrived(r, &s, to_gate)) {
      *goal = s;
      return true;
    }
    bool straight = tile->from[index] == s.direction || tile->from[index] == NOWHERE;
    go_ahead(r, &s);
    if (straight)
      turn(r, &s);
  }
  return false;
}

/* Corners from the goal back to the start, then turned round. */
static GArray *
walk_back(LoomRouter *r, State s, LoomGate *start)
{
  GArray *corners = g_array_new(FALSE, FALSE, sizeof(LoomSpot));
  LoomSpot at = {s.i, s.j};
  g_array_append_val(corners, at);
  int direction = s.direction;
  for (;;) {
    guint index;
    int from = state_at(r, at.i, at.j, direction, &index)->from[index];
    if (from == NOWHERE)
      break;
    if (from != direction) {
      g_array_append_val(corners, at);
      direction = from;
      continue;
    }
    at.i -= DX[direction];
    at.j -= DY[direction];
  }
  g_array_append_val(corners, at);
  *start = (LoomGate){at, DX[direction], DY[direction]};
  for (guint a = 0, b = corners->len - 1; a < b; a++, b--) {
    LoomSpot swap = g_array_index(corners, LoomSpot, a);
    g_array_index(corners, LoomSpot, a) = g_array_index(corners, LoomSpot, b);
    g_array_index(corners, LoomSpot, b) = swap;
  }
  return corners;
}

static void
set_window(LoomRouter *r, const LoomGate *from, guint n_from, int margin)
{
  r->i0 = r->j0 = G_MAXINT;
  r->i1 = r->j1 = G_MININT;
  for (guint k = 0; k < n_from + r->n_to; k++) {
    LoomSpot at = k < n_from ? from[k].at : r->to[k - n_from].at;
    r->i0 = MIN(r->i0, at.i);
    r->j0 = MIN(r->j0, at.j);
    r->i1 = MAX(r->i1, at.i);
    r->j1 = MAX(r->j1, at.j);
  }
  r->i0 -= margin;
  r->j0 -= margin;
  r->i1 += margin;
  r->j1 += margin;
}

static guint
gate_index(const LoomGate *gates, guint n, LoomGate gate)
{
  for (guint g = 0; g < n; g++)
    if (gates[g].at.i == gate.at.i && gates[g].at.j == gate.at.j && gates[g].dx == gate.dx &&
        gates[g].dy == gate.dy)
      return g;
  return 0;
}

/* A plain bent line, where the paper is too large to search. */
static GArray *
plain_way(const LoomGate *from, const LoomGate *to)
{
  GArray *corners = g_array_new(FALSE, FALSE, sizeof(LoomSpot));
  LoomSpot bend = from->dx ? (LoomSpot){to->at.i, from->at.j} : (LoomSpot){from->at.i, to->at.j};
  g_array_append_val(corners, from->at);
  g_array_append_val(corners, bend);
  g_array_append_val(corners, to->at);
  return corners;
}

/* How far one goes for a way: what is let through, how far around, and whether by force. */
typedef struct {
  LoomBlock passes;
  int margin;
  bool force;
} Try;

static const Try TRIES[] = {{LOOM_BLOCK_WORDS, 60, false},
                            {LOOM_BLOCK_END, 60, false},
                            {LOOM_BLOCK_OUTLINE, 60, false},
                            {LOOM_BLOCK_OUTLINE, 24, true}};

/* The first `n` tries; NULL where none finds a way. */
static GArray *
find(LoomRouter *r, const LoomGate *from, guint n_from, bool wide, guint n, guint *from_gate,
     guint *to_gate)
{
  r->wide = wide;
  for (guint t = 0; t < n; t++) {
    r->passes = TRIES[t].passes;
    r->force = TRIES[t].force;
    set_window(r, from, n_from, TRIES[t].margin);
    State goal;
    if (is_shut_in(r, from, n_from) || !search(r, from, n_from, &goal, to_gate))
      continue;
    LoomGate start;
    GArray *corners = walk_back(r, goal, &start);
    *from_gate = gate_index(from, n_from, start);
    return corners;
  }
  return NULL;
}

GArray *
loom_router_find(LoomRouter *r, const LoomGate *from, guint n_from, const LoomGate *to, guint n_to,
                 bool wide, guint *from_gate, guint *to_gate)
{
  r->to = to;
  r->n_to = n_to;
  GArray *corners = find(r, from, n_from, wide, G_N_ELEMENTS(TRIES), from_gate, to_gate);
  if (corners)
    return corners;
  *from_gate = *to_gate = 0;
  return plain_way(&from[0], &to[0]);
}

GArray *
loom_router_find_open(LoomRouter *r, const LoomGate *from, const LoomGate *to, bool wide)
{
  guint from_gate, to_gate;
  r->to = to;
  r->n_to = 1;
  return find(r, from, 1, wide, 2, &from_gate, &to_gate);
}
