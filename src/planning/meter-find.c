#include "meter-private.h"

#include <math.h>

/* Pieces of the situation's network that hold a changed contact. */
static GHashTable *
touched_pieces(const LoomMeterRoom *room, LoomMeterWhen when, const GArray *nodes)
{
  GHashTable *pieces = g_hash_table_new(NULL, NULL);
  for (guint i = 0; i < nodes->len; i++)
    g_hash_table_add(pieces, GUINT_TO_POINTER(loom_ohms_piece(room->ohms[when],
                                                              g_array_index(nodes, guint, i))));
  return pieces;
}

static bool
can_change(const LoomMeterRoom *room, const LoomReading *r, GHashTable *pieces)
{
  const LoomOhms *ohms = room->ohms[r->when];
  guint red = loom_ohms_piece(ohms, loom_meter_node(room, &r->red));
  guint black = loom_ohms_piece(ohms, loom_meter_node(room, &r->black));
  return g_hash_table_contains(pieces, GUINT_TO_POINTER(red)) ||
         g_hash_table_contains(pieces, GUINT_TO_POINTER(black));
}

static bool
leaves_in_ohms(const LoomMeterRoom *room, const LoomOhms *ohms, const LoomReading *r)
{
  double least, most;
  if (!loom_ohms_between(ohms, loom_meter_node(room, &r->red), loom_meter_node(room, &r->black),
                         &least, &most))
    return false;
  return loom_meter_shown_ohms(&room->meter, most) < r->low ||
         loom_meter_shown_ohms(&room->meter, least) > r->high;
}

static bool
outside(const LoomMeterBench *bench, const LoomMeterRoom *room, const LoomReading *r)
{
  double volts = loom_point_volts(bench->point, loom_meter_bench_node(bench, room, &r->red),
                                  loom_meter_bench_node(bench, room, &r->black));
  volts = isnan(volts) ? 0 : volts;
  return volts < r->low || volts > r->high;
}

/* A robot that has no single answer may have one once the meter loads it. */
static bool
leaves_with_meter(const LoomMeterRoom *room, const LoomReading *r, const LoomSlip *slip)
{
  LoomMeterBench bench;
  loom_meter_bench_init(&bench, room, r->when, slip);
  loom_meter_bench_put(&bench, room, r);
  loom_meter_bench_run(&bench, 0.5);
  LoomTrouble trouble = bench.point->trouble;
  bool leaves =
      trouble == LOOM_TROUBLE_NONE ? outside(&bench, room, r) : trouble != LOOM_TROUBLE_SINGULAR;
  loom_meter_bench_clear(&bench);
  return leaves;
}

/* No operating point: smoke, or a fuse. The meter's own load is left out: it changes nothing that
 * is fed. */
static bool
leaves_in_volts(const LoomMeterRoom *room, const LoomMeterBench *bench, const LoomReading *r,
                const LoomSlip *slip)
{
  switch (bench->point->trouble) {
  case LOOM_TROUBLE_NONE:
    return outside(bench, room, r);
  case LOOM_TROUBLE_SINGULAR:
    return leaves_with_meter(room, r, slip);
  default:
    return true;
  }
}

/* The first reading of that situation that shows the slip. */
static guint
seen_in_ohms(const LoomMeterRoom *room, LoomMeterWhen when, const LoomSlip *slip,
             GHashTable *pieces)
{
  GArray *touches = NULL;
  LoomOhms *ohms = NULL;
  guint found = LOOM_NONE;
  for (guint i = 0; i < room->readings->len && found == LOOM_NONE; i++) {
    const LoomReading *r = loom_meter_reading(room, i);
    if (r->when != when || !can_change(room, r, pieces))
      continue;
    if (!ohms) {
      touches = loom_meter_touches(room, when, slip);
      ohms = loom_meter_ohms(room, when, touches, slip);
    }
    if (leaves_in_ohms(room, ohms, r))
      found = i;
  }
  loom_ohms_free(ohms);
  if (touches)
    g_array_unref(touches);
  return found;
}

static guint
seen_in_volts(const LoomMeterRoom *room, LoomMeterWhen when, const LoomSlip *slip,
              GHashTable *pieces)
{
  LoomMeterBench bench;
  bool ready = false;
  guint found = LOOM_NONE;
  for (guint i = 0; i < room->readings->len && found == LOOM_NONE; i++) {
    const LoomReading *r = loom_meter_reading(room, i);
    if (r->when != when || !can_change(room, r, pieces))
      continue;
    if (!ready) {
      loom_meter_bench_init(&bench, room, when, slip);
      loom_meter_bench_run(&bench, 0.5);
      ready = true;
    }
    if (leaves_in_volts(room, &bench, r, slip))
      found = i;
  }
  if (ready)
    loom_meter_bench_clear(&bench);
  return found;
}

static void
find_slip(const LoomMeterRoom *room, LoomSlip *slip)
{
  g_autoptr(GArray) nodes = g_array_new(FALSE, FALSE, sizeof(guint));
  loom_meter_slip_nodes(room, slip, nodes);
  for (LoomMeterWhen when = LOOM_METER_PACK; when <= LOOM_METER_POWERED; when++) {
    if (slip->seen_by != LOOM_NONE || !loom_meter_has(room, when) ||
        (when == LOOM_METER_POWERED && loom_meter_idle(room, slip)))
      continue;
    g_autoptr(GHashTable) pieces = touched_pieces(room, when, nodes);
    bool in_ohms = when == LOOM_METER_ON || when == LOOM_METER_OFF;
    slip->seen_by =
        in_ohms ? seen_in_ohms(room, when, slip, pieces) : seen_in_volts(room, when, slip, pieces);
  }
}

static void
find_slip_in_thread(gpointer slip, gpointer room)
{
  find_slip(room, slip);
}

/* What idle slips are judged by. */
static void
solve_powered(LoomMeterRoom *room)
{
  if (!loom_meter_has(room, LOOM_METER_POWERED))
    return;
  LoomMeterBench bench;
  loom_meter_bench_init(&bench, room, LOOM_METER_POWERED, NULL);
  loom_meter_bench_run(&bench, 0.5);
  room->powered = g_steal_pointer(&bench.point);
  for (guint i = 0; i < room->powered->n_nodes; i++)
    room->highest_V = fmax(room->highest_V, fabs(room->powered->potential_V[i]));
  loom_meter_bench_clear(&bench);
}

/* Slips have nothing to do with each other: they are shared out among the processors. */
void
loom_meter_find_slips(LoomMeterRoom *room)
{
  solve_powered(room);
  loom_meter_robots_init(room);
  loom_meter_calm_init(room);
  GThreadPool *pool =
      g_thread_pool_new(find_slip_in_thread, room, (int)g_get_num_processors(), FALSE, NULL);
  for (guint i = 0; i < room->slips->len; i++)
    g_thread_pool_push(pool, &g_array_index(room->slips, LoomSlip, i), NULL);
  g_thread_pool_free(pool, FALSE, TRUE);
  loom_meter_calm_clear(&room->calm);
  loom_meter_robots_clear(&room->robots);
}
