#include "meter-private.h"

#include "csv.h"

#include <math.h>

#define CONDUCTOR_SHARE 0.3  /* conductors and contacts may differ by that, common practice */
#define CONTACT_OHM 0.2      /* and worn contacts add so much */
#define INSULATION_OHM 0.5e6 /* IEC 60364-6 table 6.1, SELV and PELV; from memory */
#define LEAST_VOLTS 0.5      /* less is no supply that anybody would measure */
#define MOST_VOLTS 1000.0    /* more is no robot: outputs work against each other at their limits */

LoomMeter
loom_meter_usual(void)
{
  return (LoomMeter){.volt_share = 0.005,
                     .volt_digits = 2,
                     .ohm_share = 0.008,
                     .ohm_digits = 5,
                     .counts = 2000,
                     .input_ohm = 10e6,
                     .probe_ohm = 0.4,
                     .most_ohm = 20e6};
}

/* The last digit of the range in which the value is shown: ranges end at `counts` times 1, 10, ...
 */
static double
last_digit(double value, double counts, double least)
{
  double digit = least;
  while (fabs(value) >= counts * digit && digit < 1e9)
    digit *= 10;
  return digit;
}

double
loom_meter_volts_error(const LoomMeter *m, double volts)
{
  return m->volt_share * fabs(volts) + m->volt_digits * last_digit(volts, m->counts, 1e-3);
}

double
loom_meter_ohms_error(const LoomMeter *m, double ohms)
{
  if (isinf(ohms))
    return 0;
  return m->ohm_share * ohms + m->ohm_digits * last_digit(ohms, m->counts, 0.1);
}

guint
loom_meter_node(const LoomMeterRoom *room, const LoomProbe *probe)
{
  return loom_wiring_node(room->w, probe->part, probe->end, probe->contact);
}

static LoomReading *
reading_at(const LoomMeterRoom *room, guint index)
{
  return &g_array_index(room->readings, LoomReading, index);
}

static bool
is_ohms(const LoomReading *r)
{
  return r->check != LOOM_CHECK_VOLTS;
}

/* ---- volts: the solver on the situation's network ---- */

typedef struct {
  LoomWiring wiring;     /* the room's, with touches of its own */
  LoomElement voltmeter; /* where the meter is put in */
  GArray *touches;
  LoomNetwork *network;
  LoomSolver *solver;
  LoomPoint *point;
} Bench;

static void
change_network(LoomNetwork *network, const LoomMeterRoom *room, const LoomSlip *slip)
{
  LoomOhmsChange change = loom_meter_change(room, slip);
  if (change.part == LOOM_NONE)
    return;
  guint first = network->part_branch[change.part];
  for (guint i = first; i < network->part_branch[change.part + 1]; i++) {
    LoomBranch *b = &network->branches[i];
    b->a = loom_ohms_swapped(&change, change.part, b->a);
    b->b = loom_ohms_swapped(&change, change.part, b->b);
  }
  if (change.element != LOOM_NONE)
    network->branches[first + change.element].ohm = change.ohm;
}

static void
bench_init(Bench *b, const LoomMeterRoom *room, LoomMeterWhen when, const LoomSlip *slip)
{
  b->touches = loom_meter_touches(room, when, slip);
  b->wiring = *room->w;
  b->wiring.touches = (LoomTouch *)b->touches->data;
  b->wiring.n_touches = b->touches->len;
  b->network = loom_network_new(&b->wiring);
  change_network(b->network, room, slip);
  b->solver = loom_solver_new(b->network, room->on);
  b->point = NULL;
}

/* Puts the meter between the probes, as the resistor that it is. */
static void
bench_put_meter(Bench *b, const LoomMeterRoom *room, const LoomReading *r)
{
  LoomNetwork *n = b->network;
  guint red = loom_meter_node(room, &r->red), black = loom_meter_node(room, &r->black);
  b->voltmeter = (LoomElement){
      .type = LOOM_ELEMENT_RESISTOR, .ohm = room->meter.input_ohm, .min_V = NAN, .max_V = NAN};
  n->branches = g_renew(LoomBranch, n->branches, n->n_branches + 2);
  n->branches[n->n_branches++] = (LoomBranch){.element = &b->voltmeter,
                                              .a = red,
                                              .b = black,
                                              .c = LOOM_NONE,
                                              .d = LOOM_NONE,
                                              .ohm = room->meter.input_ohm,
                                              .possible = true};
  loom_solver_free(b->solver);
  b->solver = loom_solver_new(n, room->on);
}

static void
bench_run(Bench *b, double charge)
{
  LoomConditions now = loom_conditions(b->network);
  now.charge = charge;
  loom_point_free(b->point);
  b->point = loom_solver_run(b->solver, &now);
}

static void
bench_clear(Bench *b)
{
  loom_point_free(b->point);
  loom_solver_free(b->solver);
  loom_network_free(b->network);
  g_array_unref(b->touches);
}

/* What the meter shows: the open-circuit voltage, less what it loads it down by its own resistance.
 * 0 where nothing is between the probes; NAN where the network has no operating point. */
static double
bench_volts(Bench *b, const LoomMeterRoom *room, const LoomReading *r)
{
  double volt, ohm;
  if (b->point->trouble != LOOM_TROUBLE_NONE)
    return NAN;
  if (!loom_solver_source(b->solver, loom_meter_node(room, &r->red),
                          loom_meter_node(room, &r->black), &volt, &ohm))
    return 0;
  return volt * room->meter.input_ohm / (room->meter.input_ohm + ohm);
}

/* Expected volts of all readings of a situation, with limits from the empty to the full pack. */
static void
expect_volts(LoomMeterRoom *room, LoomMeterWhen when)
{
  static const double charges[] = {0.5, 0, 1};
  Bench bench;
  bench_init(&bench, room, when, NULL);
  for (guint k = 0; k < G_N_ELEMENTS(charges); k++) {
    bench_run(&bench, charges[k]);
    for (guint i = 0; i < room->readings->len; i++) {
      LoomReading *r = reading_at(room, i);
      if (r->when != when || is_ohms(r))
        continue;
      double volts = bench_volts(&bench, room, r);
      if (k == 0)
        r->expected = r->low = r->high = volts;
      r->low = fmin(r->low, volts);
      r->high = fmax(r->high, volts);
    }
  }
  bench_clear(&bench);
  for (guint i = 0; i < room->readings->len; i++) {
    LoomReading *r = reading_at(room, i);
    if (r->when != when || is_ohms(r))
      continue;
    r->low -= loom_meter_volts_error(&room->meter, r->low);
    r->high += loom_meter_volts_error(&room->meter, r->high);
  }
}

/* ---- ohms ---- */

static double
shown_ohms(const LoomMeter *meter, double ohm)
{
  return ohm + meter->probe_ohm > meter->most_ohm ? INFINITY : ohm + meter->probe_ohm;
}

/* false: no expectation (electronics, or a source, lie between). */
static bool
expect_ohms(const LoomMeterRoom *room, LoomReading *r)
{
  const LoomMeter *meter = &room->meter;
  double least, most;
  if (!loom_ohms_between(room->ohms[r->when], loom_meter_node(room, &r->red),
                         loom_meter_node(room, &r->black), &least, &most))
    return false;
  least = shown_ohms(meter, least);
  most = shown_ohms(meter, most);
  r->expected = most;
  if (isinf(most)) {
    r->low = INSULATION_OHM;
    r->high = INFINITY;
    return least >= r->low;
  }
  r->high = most * (1 + CONDUCTOR_SHARE) + CONTACT_OHM;
  r->high += loom_meter_ohms_error(meter, r->high);
  r->low = most * (1 - CONDUCTOR_SHARE) - CONTACT_OHM;
  r->low = fmax(0, r->low - loom_meter_ohms_error(meter, fmax(0, r->low)));
  return least >= r->low;
}

/* ---- expectations ---- */

static bool
has_when(const LoomMeterRoom *room, LoomMeterWhen when)
{
  for (guint i = 0; i < room->readings->len; i++)
    if (reading_at(room, i)->when == when)
      return true;
  return false;
}

static bool
is_same(const LoomReading *a, const LoomReading *b)
{
  return a->when == b->when && a->red.part == b->red.part && a->red.end == b->red.end &&
         a->red.contact == b->red.contact && a->black.part == b->black.part &&
         a->black.end == b->black.end && a->black.contact == b->black.contact;
}

/* Whether the reading has an expectation, and is not there already. */
static bool
is_kept(const LoomMeterRoom *room, GArray *kept, LoomReading *r)
{
  if (is_ohms(r) ? !expect_ohms(room, r) : !(r->expected > LEAST_VOLTS && r->high < MOST_VOLTS))
    return false;
  for (guint i = 0; i < kept->len; i++)
    if (is_same(&g_array_index(kept, LoomReading, i), r))
      return false;
  return true;
}

static void
expect_all(LoomMeterRoom *room)
{
  static const LoomMeterWhen live[] = {LOOM_METER_PACK, LOOM_METER_TRIAL, LOOM_METER_POWERED};
  for (guint i = 0; i < G_N_ELEMENTS(live); i++)
    if (has_when(room, live[i]))
      expect_volts(room, live[i]);
  GArray *kept = g_array_new(FALSE, FALSE, sizeof(LoomReading));
  for (guint i = 0; i < room->readings->len; i++) {
    LoomReading *r = reading_at(room, i);
    if (is_kept(room, kept, r))
      g_array_append_val(kept, *r);
  }
  g_array_unref(room->readings);
  room->readings = kept;
}

/* ---- slips ---- */

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
  return shown_ohms(&room->meter, most) < r->low || shown_ohms(&room->meter, least) > r->high;
}

static bool
outside(const LoomPoint *point, const LoomMeterRoom *room, const LoomReading *r)
{
  double volts =
      loom_point_volts(point, loom_meter_node(room, &r->red), loom_meter_node(room, &r->black));
  volts = isnan(volts) ? 0 : volts;
  return volts < r->low || volts > r->high;
}

/* A robot that has no single answer may have one once the meter loads it. */
static bool
leaves_with_meter(const LoomMeterRoom *room, const LoomReading *r, const LoomSlip *slip)
{
  Bench bench;
  bench_init(&bench, room, r->when, slip);
  bench_put_meter(&bench, room, r);
  bench_run(&bench, 0.5);
  LoomTrouble trouble = bench.point->trouble;
  bool leaves = trouble == LOOM_TROUBLE_NONE ? outside(bench.point, room, r)
                                             : trouble != LOOM_TROUBLE_SINGULAR;
  bench_clear(&bench);
  return leaves;
}

/* No operating point: smoke, or a fuse. The meter's own load is left out: it changes nothing that
 * is fed. */
static bool
leaves_in_volts(const LoomMeterRoom *room, const Bench *bench, const LoomReading *r,
                const LoomSlip *slip)
{
  switch (bench->point->trouble) {
  case LOOM_TROUBLE_NONE:
    return outside(bench->point, room, r);
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
    const LoomReading *r = reading_at(room, i);
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
  Bench bench;
  bool ready = false;
  guint found = LOOM_NONE;
  for (guint i = 0; i < room->readings->len && found == LOOM_NONE; i++) {
    const LoomReading *r = reading_at(room, i);
    if (r->when != when || !can_change(room, r, pieces))
      continue;
    if (!ready) {
      bench_init(&bench, room, when, slip);
      bench_run(&bench, 0.5);
      ready = true;
    }
    if (leaves_in_volts(room, &bench, r, slip))
      found = i;
  }
  if (ready)
    bench_clear(&bench);
  return found;
}

static void
find_slip(const LoomMeterRoom *room, LoomSlip *slip)
{
  g_autoptr(GArray) nodes = g_array_new(FALSE, FALSE, sizeof(guint));
  loom_meter_slip_nodes(room, slip, nodes);
  for (LoomMeterWhen when = LOOM_METER_PACK; when <= LOOM_METER_POWERED; when++) {
    if (slip->seen_by != LOOM_NONE || !has_when(room, when) ||
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

/* Slips have nothing to do with each other: they are shared out among the processors. */
static void
find_slips(LoomMeterRoom *room)
{
  GThreadPool *pool =
      g_thread_pool_new(find_slip_in_thread, room, (int)g_get_num_processors(), FALSE, NULL);
  for (guint i = 0; i < room->slips->len; i++)
    g_thread_pool_push(pool, &g_array_index(room->slips, LoomSlip, i), NULL);
  g_thread_pool_free(pool, FALSE, TRUE);
}

/* ---- the plan ---- */

/* The scene's first state, with the switches of the supply on. */
static LoomState *
state_on(const LoomMeterRoom *room, guint scene)
{
  const LoomScene *s = loom_design_scene(room->design, scene);
  const LoomState *first = s->n_states ? &s->states[0] : NULL;
  GArray *settings = g_array_new(FALSE, TRUE, sizeof(LoomSetting));
  for (guint i = 0; first && i < first->n_settings; i++) {
    LoomSetting copy = {g_strdup(first->settings[i].part), g_strdup(first->settings[i].key),
                        g_strdup(first->settings[i].value)};
    g_array_append_val(settings, copy);
  }
  for (guint p = 0; p < room->w->n_parts; p++) {
    LoomSetting on = {g_strdup(loom_wiring_part(room->w, p)->designation), g_strdup("on"),
                      g_strdup("yes")};
    if (room->stages->switches[p]) {
      g_array_append_val(settings, on);
      continue;
    }
    g_free(on.part);
    g_free(on.key);
    g_free(on.value);
  }
  LoomState *state = g_new0(LoomState, 1);
  state->n_settings = settings->len;
  state->settings = (LoomSetting *)g_array_free(settings, FALSE);
  return state;
}

static void
state_free(LoomState *state)
{
  for (guint i = 0; i < state->n_settings; i++) {
    g_free(state->settings[i].part);
    g_free(state->settings[i].key);
    g_free(state->settings[i].value);
  }
  g_free(state->settings);
  g_free(state);
}

static void
room_init(LoomMeterRoom *room, const LoomDesign *design, guint scene, const LoomMeter *meter)
{
  *room = (LoomMeterRoom){.design = design, .meter = meter ? *meter : loom_meter_usual()};
  room->stages = loom_stages_new(design, scene);
  room->w = room->stages->wiring;
  room->on = state_on(room, scene);
  room->open = g_memdup2(room->stages->switches, (room->w->n_parts + 1) * sizeof(bool));
  room->readings = g_array_new(FALSE, FALSE, sizeof(LoomReading));
  room->slips = g_array_new(FALSE, FALSE, sizeof(LoomSlip));
  guint n_joints = loom_design_n_joints(design);
  room->wired = g_new(guint, n_joints + 1);
  for (guint i = 0; i < n_joints; i++)
    room->wired[i] = LOOM_NONE;
  for (guint i = 0; i < room->w->n_joints; i++)
    room->wired[room->w->joints[i].joint] = i;
  for (guint when = 0; when < LOOM_N_METER_WHEN; when++) {
    g_autoptr(GArray) touches = loom_meter_touches(room, when, NULL);
    room->ohms[when] = loom_meter_ohms(room, when, touches, NULL);
  }
}

/* What idle slips are judged by. */
static void
solve_powered(LoomMeterRoom *room)
{
  if (!has_when(room, LOOM_METER_POWERED))
    return;
  Bench bench;
  bench_init(&bench, room, LOOM_METER_POWERED, NULL);
  bench_run(&bench, 0.5);
  room->powered = g_steal_pointer(&bench.point);
  for (guint i = 0; i < room->powered->n_nodes; i++)
    room->highest_V = fmax(room->highest_V, fabs(room->powered->potential_V[i]));
  bench_clear(&bench);
}

static void
room_clear(LoomMeterRoom *room)
{
  for (guint when = 0; when < LOOM_N_METER_WHEN; when++)
    loom_ohms_free(room->ohms[when]);
  loom_point_free(room->powered);
  state_free(room->on);
  g_free(room->open);
  g_free(room->wired);
  loom_stages_free(room->stages);
}

LoomMeterPlan *
loom_meter_new(const LoomDesign *design, guint scene, const LoomMeter *meter)
{
  LoomMeterRoom room;
  room_init(&room, design, scene, meter);
  loom_meter_list_readings(&room);
  expect_all(&room);
  loom_meter_list_slips(&room);
  solve_powered(&room);
  find_slips(&room);
  LoomMeterPlan *plan = g_new0(LoomMeterPlan, 1);
  for (guint i = 0; i < room.slips->len; i++) {
    LoomSlip *slip = &g_array_index(room.slips, LoomSlip, i);
    loom_meter_slip_words(&room, slip);
    plan->n_unseen += slip->seen_by == LOOM_NONE;
  }
  for (guint i = 0; i < room.readings->len; i++)
    loom_meter_words(&room, reading_at(&room, i));
  room_clear(&room);
  plan->n_readings = room.readings->len;
  plan->n_slips = room.slips->len;
  plan->readings = (LoomReading *)g_array_free(room.readings, FALSE);
  plan->slips = (LoomSlip *)g_array_free(room.slips, FALSE);
  return plan;
}

void
loom_meter_free(LoomMeterPlan *plan)
{
  if (!plan)
    return;
  for (guint i = 0; i < plan->n_readings; i++) {
    g_free(plan->readings[i].red_name);
    g_free(plan->readings[i].black_name);
    g_free(plan->readings[i].sentence);
    g_free(plan->readings[i].off);
  }
  for (guint i = 0; i < plan->n_slips; i++) {
    g_free(plan->slips[i].what);
    g_free(plan->slips[i].shows);
  }
  g_free(plan->readings);
  g_free(plan->slips);
  g_free(plan);
}

char *
loom_meter_to_csv(const LoomMeterPlan *plan)
{
  g_autoptr(LoomCsv) csv = loom_csv_new();
  loom_csv_row(csv, "step", "when", "red_probe", "black_probe", "quantity", "expected", "low",
               "high", "unit", NULL);
  for (guint i = 0; i < plan->n_readings; i++) {
    const LoomReading *r = &plan->readings[i];
    int decimals = is_ohms(r) ? 2 : 3;
    loom_csv_whole(csv, i + 1);
    loom_csv_text(csv, loom_meter_when_label(r->when));
    loom_csv_text(csv, r->red_name);
    loom_csv_text(csv, r->black_name);
    loom_csv_text(csv, is_ohms(r) ? "resistance" : "voltage");
    loom_csv_rounded(csv, r->expected, decimals);
    loom_csv_rounded(csv, r->low, decimals);
    loom_csv_rounded(csv, r->high, decimals);
    loom_csv_text(csv, is_ohms(r) ? "ohm" : "V");
    loom_csv_end_row(csv);
  }
  return g_strdup(loom_csv_bytes(csv));
}
