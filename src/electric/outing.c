#include "outing.h"

#include "battery.h"
#include "margins.h"
#include "thermal.h"

#include <glib/gi18n-lib.h>
#include <math.h>
#include <string.h>

static const double shortest_s = 0.01; /* and no less than what follows says */
static const double usual_steps_a_leg = 2000, most_steps_a_leg = 50000;

typedef struct {
  guint branch;
  double hours; /* at which its capacity is stated */
} Pack;

typedef struct {
  guint branch;
  double mm2;
} Wire;

/* What runs: packs and wires with their state, the solver of each state of the scene. */
typedef struct {
  const LoomWiring *w;
  const LoomScene *scene;
  LoomNetwork *n;
  LoomOutingTerms terms;
  LoomSolver **solvers; /* [n_states], made when first needed */
  GArray *packs, *wires;
  double *charge;               /* [n_branches] NAN but for packs */
  double *wire_C;               /* [n_branches] */
  double *next_charge, *next_C; /* foretold */
  LoomOperatingPoint *last;     /* where the leg before ended; NULL before the first */
  double at_s, shortest_s;      /* steps of this leg at least */
  LoomTrace *trace;
  GArray *samples;
} Run;

LoomOutingTerms
loom_outing_terms(void)
{
  return (LoomOutingTerms){.charge = 1, .tolerance = 1e-5, .longest_s = 5};
}

static LoomOutingTerms
sane(const LoomOutingTerms *terms)
{
  LoomOutingTerms usual = loom_outing_terms();
  if (!terms)
    return usual;
  return (LoomOutingTerms){
      .charge = isnan(terms->charge) ? usual.charge : CLAMP(terms->charge, 0, 1),
      .tolerance = terms->tolerance > 0 ? fmax(terms->tolerance, 1e-12) : usual.tolerance,
      .longest_s = terms->longest_s > 0 ? fmax(terms->longest_s, shortest_s) : usual.longest_s,
      .cancellable = terms->cancellable};
}

static void
collect(Run *r)
{
  r->packs = g_array_new(FALSE, FALSE, sizeof(Pack));
  r->wires = g_array_new(FALSE, FALSE, sizeof(Wire));
  for (guint i = 0; i < r->n->n_branches; i++) {
    const LoomBranch *b = &r->n->branches[i];
    r->charge[i] = r->next_charge[i] = NAN;
    r->wire_C[i] = r->next_C[i] = r->n->ambient_C;
    if (b->copper) {
      Wire wire = {i, b->element->mm2};
      g_array_append_val(r->wires, wire);
    } else if (b->element && b->element->type == LOOM_ELEMENT_SOURCE &&
               b->element->capacity_Ah > 0) {
      const LoomKind *kind = loom_wiring_part(r->w, b->part)->kind;
      Pack pack = {i, loom_rated_hours(kind->chemistry.chemistry)};
      r->charge[i] = r->terms.charge;
      g_array_append_val(r->packs, pack);
    }
  }
}

static LoomSolver *
solver_of(Run *r, guint state)
{
  if (!r->solvers[state])
    r->solvers[state] = loom_solver_new(r->n, &r->scene->states[state]);
  return r->solvers[state];
}

static LoomOperatingPoint *
solve_at(Run *r, guint state, const double *charge, const double *wire_C)
{
  LoomConditions now = loom_conditions(r->n);
  now.charges = charge;
  now.wire_C = wire_C;
  now.carry_on = true;
  r->trace->solutions++;
  return loom_solver_run(solver_of(r, state), &now);
}

static double
out_A(const LoomOperatingPoint *p, guint branch)
{
  return -p->flows[branch].a_A;
}

/* Where packs and wires come to in `h` with the mean of the currents of two points. */
static void
advance(const Run *r, const LoomOperatingPoint *a, const LoomOperatingPoint *b, double h,
        double *charge, double *wire_C)
{
  for (guint i = 0; i < r->packs->len; i++) {
    const Pack *pack = &g_array_index(r->packs, Pack, i);
    const LoomElement *e = r->n->branches[pack->branch].element;
    double rate = (loom_charge_rate_per_s(e, out_A(a, pack->branch), pack->hours) +
                   loom_charge_rate_per_s(e, out_A(b, pack->branch), pack->hours)) /
                  2;
    charge[pack->branch] = fmin(r->charge[pack->branch] - rate * h, 1);
  }
  for (guint i = 0; i < r->wires->len; i++) {
    const Wire *wire = &g_array_index(r->wires, Wire, i);
    double x = a->flows[wire->branch].a_A, y = b->flows[wire->branch].a_A;
    double mean_A = sqrt((x * x + y * y) / 2);
    wire_C[wire->branch] =
        loom_wire_warmed_C(wire->mm2, r->wire_C[wire->branch], r->n->ambient_C, mean_A, h);
  }
}

/* Difference between what was foretold and what came out, in tolerances. */
static double
error_of(const Run *r, const double *charge, const double *wire_C)
{
  double most = 0;
  for (guint i = 0; i < r->packs->len; i++) {
    guint b = g_array_index(r->packs, Pack, i).branch;
    most = fmax(most, fabs(charge[b] - r->next_charge[b]));
  }
  for (guint i = 0; i < r->wires->len; i++) {
    guint b = g_array_index(r->wires, Wire, i).branch;
    most = fmax(most, fabs(wire_C[b] - r->next_C[b]) / 100);
  }
  return most / r->terms.tolerance;
}

static bool
same_sleep(const LoomOperatingPoint *a, const LoomOperatingPoint *b)
{
  for (guint i = 0; i < a->n_branches; i++)
    if ((a->sleep[i] == LOOM_AWAKE) != (b->sleep[i] == LOOM_AWAKE))
      return false;
  return true;
}

/* The branch nearest to its lowest voltage, or furthest below. */
static guint
lowest_branch(const Run *r, const LoomOperatingPoint *p, double *share)
{
  guint lowest = LOOM_NONE;
  *share = INFINITY;
  for (guint i = r->n->n_touches; i < r->n->n_branches; i++) {
    const LoomBranch *b = &r->n->branches[i];
    double V = loom_point_volts(p, b->a, b->b);
    if (b->element->reverse_survives)
      V = fabs(V);
    double here = V / loom_lowest_V(b->element);
    if (!(loom_lowest_V(b->element) > 0) || !(here < *share) || fabs(here) < LOOM_UNSUPPLIED)
      continue;
    *share = here;
    lowest = i;
  }
  return lowest;
}

static void
note_brown_out(Run *r, const LoomOperatingPoint *p, guint lowest, double share)
{
  if (r->trace->brown_part != LOOM_NONE)
    return;
  for (guint i = 0; i < p->n_branches; i++)
    if (p->sleep[i] != LOOM_AWAKE) {
      r->trace->brown_part = r->n->branches[i].part;
      r->trace->brown_slept = true;
      r->trace->brown_s = r->at_s;
      return;
    }
  if (lowest != LOOM_NONE && share < 1) {
    r->trace->brown_part = r->n->branches[lowest].part;
    r->trace->brown_s = r->at_s;
  }
}

static double
hottest_now(Run *r)
{
  double hottest = r->n->ambient_C;
  for (guint i = 0; i < r->wires->len; i++) {
    guint b = g_array_index(r->wires, Wire, i).branch;
    hottest = fmax(hottest, r->wire_C[b]);
    if (r->wire_C[b] <= r->trace->hottest_C && r->trace->hottest_part != LOOM_NONE)
      continue;
    r->trace->hottest_C = r->wire_C[b];
    r->trace->hottest_s = r->at_s;
    r->trace->hottest_part = r->n->branches[b].part;
    r->trace->hottest_element = b - r->n->part_branch[r->n->branches[b].part];
  }
  return hottest;
}

/* The pack that holds most energy; LOOM_NONE where there is none. */
static guint
main_pack(const Run *r)
{
  guint best = LOOM_NONE;
  double most = 0;
  for (guint i = 0; i < r->packs->len; i++) {
    guint branch = g_array_index(r->packs, Pack, i).branch;
    const LoomElement *e = r->n->branches[branch].element;
    if (e->capacity_Ah * e->emf_V <= most)
      continue;
    most = e->capacity_Ah * e->emf_V;
    best = branch;
  }
  return best;
}

static void
sample(Run *r, guint state, const LoomOperatingPoint *p)
{
  LoomSample s = {.time_s = r->at_s,
                  .state = state,
                  .pack_V = NAN,
                  .charge_pct = NAN,
                  .lowest_part = LOOM_NONE,
                  .lowest_V = NAN};
  guint pack = main_pack(r);
  if (pack != LOOM_NONE) {
    s.pack_V = loom_point_volts(p, r->n->branches[pack].a, r->n->branches[pack].b);
    s.pack_A = out_A(p, pack);
    s.charge_pct = 100 * r->charge[pack];
  }
  double share;
  guint lowest = lowest_branch(r, p, &share);
  if (lowest != LOOM_NONE) {
    s.lowest_part = r->n->branches[lowest].part;
    s.lowest_V = share * loom_lowest_V(r->n->branches[lowest].element);
  }
  s.hottest_C = hottest_now(r);
  note_brown_out(r, p, lowest, share);
  if (!(s.pack_V >= r->trace->lowest_V)) {
    r->trace->lowest_V = s.pack_V;
    r->trace->lowest_V_s = r->at_s;
  }
  g_array_append_val(r->samples, s);
}

/* Energies and charge of a step, by the trapezoid. */
static void
book(Run *r, const LoomOperatingPoint *p, double half_h)
{
  double inner_W = 0, emf_W = 0;
  for (guint i = 0; i < r->packs->len; i++) {
    guint branch = g_array_index(r->packs, Pack, i).branch;
    const LoomBranch *b = &r->n->branches[branch];
    double A = out_A(p, branch), V = loom_point_volts(p, b->a, b->b);
    inner_W += A * A * b->ohm;
    emf_W += isnan(V) ? 0 : A * (V + A * b->ohm);
    r->trace->used_Ah += branch == main_pack(r) ? A * half_h / 3600 : 0;
  }
  double all_W = p->taken_W - p->given_W;
  for (guint i = 0; i < r->packs->len; i++)
    all_W -= loom_point_power_W(p, r->n, g_array_index(r->packs, Pack, i).branch);
  r->trace->emf_J += emf_W * half_h;
  r->trace->inner_J += inner_W * half_h;
  r->trace->taken_J += all_W * half_h;
}

static bool
stop(Run *r, LoomOutingEnd end, guint leg, char *why)
{
  r->trace->end = end;
  r->trace->leg = leg;
  r->trace->why = why;
  return false;
}

/* The pack that ends first within the step, and after which share of it. */
static double
runs_out(const Run *r, const double *charge, guint *branch)
{
  double first = INFINITY;
  for (guint i = 0; i < r->packs->len; i++) {
    guint b = g_array_index(r->packs, Pack, i).branch;
    double share = charge[b] > 0 ? INFINITY : r->charge[b] / (r->charge[b] - charge[b]);
    if (charge[b] <= 0 && share < first) {
      first = share;
      *branch = b;
    }
  }
  return first;
}

static void
take_over(Run *r, const double *charge, const double *wire_C)
{
  memcpy(r->charge, charge, r->n->n_branches * sizeof(double));
  memcpy(r->wire_C, wire_C, r->n->n_branches * sizeof(double));
}

/* One step of at most `h` from `*p`, which becomes the point at its end. Returns the length of the
 * step taken, 0 where there is no point at its end; `*h` gets what to try next. */
static double
step(Run *r, guint state, LoomOperatingPoint **p, double *h)
{
  g_autofree double *charge = g_memdup2(r->charge, (r->n->n_branches + 1) * sizeof(double));
  g_autofree double *wire_C = g_memdup2(r->wire_C, (r->n->n_branches + 1) * sizeof(double));
  for (double length = *h;; length /= 2) {
    advance(r, *p, *p, length, r->next_charge, r->next_C);
    g_autoptr(LoomOperatingPoint) end = solve_at(r, state, r->next_charge, r->next_C);
    bool shortest = length <= r->shortest_s;
    if (end->trouble != LOOM_TROUBLE_NONE && shortest)
      return 0;
    if (end->trouble != LOOM_TROUBLE_NONE || (!same_sleep(*p, end) && !shortest))
      continue;
    advance(r, *p, end, length, charge, wire_C);
    double error = error_of(r, charge, wire_C);
    if (error > 1 && !shortest)
      continue;
    book(r, *p, length / 2);
    book(r, end, length / 2);
    take_over(r, charge, wire_C);
    *h = fmax(length * CLAMP(0.9 / sqrt(fmax(error, 1e-4)), 0.5, 3), r->shortest_s);
    loom_point_free(*p);
    *p = g_steal_pointer(&end);
    r->trace->steps++;
    return length;
  }
}

static char *
empty_sentence(const Run *r, guint branch)
{
  const char *designation = loom_wiring_part(r->w, r->n->branches[branch].part)->designation;
  return g_strdup_printf(_("%s is empty after %.0f s."), designation, r->at_s);
}

/* A step that would take a pack below nothing is cut where it is empty. */
static double
until_empty_s(Run *r, const LoomOperatingPoint *p, double h, guint *branch)
{
  g_autofree double *charge = g_memdup2(r->charge, (r->n->n_branches + 1) * sizeof(double));
  advance(r, p, p, h, charge, r->next_C);
  double share = runs_out(r, charge, branch);
  return share * h;
}

static bool
is_cancelled(const Run *r)
{
  return r->terms.cancellable && g_cancellable_is_cancelled(r->terms.cancellable);
}

static bool
run_leg(Run *r, guint leg, guint state, double seconds)
{
  double left = seconds, longest = fmax(r->terms.longest_s, seconds / usual_steps_a_leg);
  r->shortest_s = fmax(shortest_s, seconds / most_steps_a_leg);
  double h = fmin(0.5, longest);
  if (r->last)
    loom_solver_carry(solver_of(r, state), r->last);
  g_autoptr(LoomOperatingPoint) p = solve_at(r, state, r->charge, r->wire_C);
  if (p->trouble != LOOM_TROUBLE_NONE)
    return stop(r, LOOM_OUTING_TROUBLE, leg, loom_point_why(p, r->n));
  sample(r, state, p);
  while (left > 1e-9 * seconds) {
    guint branch = LOOM_NONE;
    if (is_cancelled(r))
      return stop(r, LOOM_OUTING_CANCELLED, leg, g_strdup(_("It was cancelled.")));
    h = fmin(fmin(h, longest), left);
    double empty_s = until_empty_s(r, p, h, &branch);
    bool last = empty_s < shortest_s;
    h = fmin(h, fmax(empty_s, shortest_s)); /* to the end, however short */
    if (last)
      return stop(r, LOOM_OUTING_EMPTY, leg, empty_sentence(r, branch));
    double done = step(r, state, &p, &h);
    if (!(done > 0))
      return stop(r, LOOM_OUTING_TROUBLE, leg,
                  g_strdup(_("The pack can no longer give what is asked.")));
    r->at_s += done;
    left -= done;
    sample(r, state, p);
  }
  loom_point_free(r->last);
  r->last = g_steal_pointer(&p);
  return true;
}

static void
run_legs(Run *r, const LoomOuting *outing)
{
  for (guint leg = 0; leg < outing->n_legs; leg++) {
    double seconds = outing->legs[leg].seconds;
    guint state = loom_scene_find_state(r->scene, outing->legs[leg].state);
    if (state == LOOM_NONE) {
      stop(r, LOOM_OUTING_NO_STATE, leg,
           g_strdup_printf(_("There is no state called %s."), outing->legs[leg].state));
      return;
    }
    if (seconds > 0 && isfinite(seconds) && !run_leg(r, leg, state, seconds))
      return;
  }
}

static void
sum_up(Run *r)
{
  LoomTrace *t = r->trace;
  double used = 0;
  for (guint i = 0; i < r->packs->len; i++)
    used = fmax(used, r->terms.charge - r->charge[g_array_index(r->packs, Pack, i).branch]);
  t->used_pct = 100 * used;
  t->per_charge = used > 0 ? 1 / used : INFINITY;
  t->seconds = r->at_s;
  t->n_samples = r->samples->len;
  t->samples = (LoomSample *)g_array_free(r->samples, FALSE);
}

LoomTrace *
loom_outing_run(const LoomWiring *wiring, const LoomOuting *outing, const LoomOutingTerms *terms)
{
  Run r = {.w = wiring,
           .scene = loom_design_scene(wiring->design, wiring->scene),
           .n = loom_network_new(wiring),
           .terms = sane(terms),
           .trace = g_new0(LoomTrace, 1),
           .samples = g_array_new(FALSE, FALSE, sizeof(LoomSample))};
  guint n = r.n->n_branches + 1;
  r.solvers = g_new0(LoomSolver *, r.scene->n_states + 1);
  r.charge = g_new0(double, n);
  r.wire_C = g_new0(double, n);
  r.next_charge = g_new0(double, n);
  r.next_C = g_new0(double, n);
  r.trace->brown_part = r.trace->hottest_part = r.trace->hottest_element = LOOM_NONE;
  r.trace->lowest_V = r.trace->lowest_V_s = r.trace->brown_s = NAN;
  r.trace->hottest_C = r.n->ambient_C;
  collect(&r);
  run_legs(&r, outing);
  sum_up(&r);
  for (guint i = 0; i < r.scene->n_states; i++)
    loom_solver_free(r.solvers[i]);
  g_free(r.solvers);
  g_free(r.charge);
  g_free(r.wire_C);
  g_free(r.next_charge);
  g_free(r.next_C);
  loom_point_free(r.last);
  g_array_free(r.packs, TRUE);
  g_array_free(r.wires, TRUE);
  loom_network_free(r.n);
  return r.trace;
}

void
loom_trace_free(LoomTrace *trace)
{
  if (!trace)
    return;
  g_free(trace->samples);
  g_free(trace->why);
  g_free(trace);
}
