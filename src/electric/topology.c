#include "topology.h"

#include "battery.h"
#include "conductor.h"

#include <float.h>
#include <math.h>
#include <string.h>

enum { MOST_ITERATIONS = 80, MOST_HALVINGS = 12, MOST_MOMENTS = 100 };

static const double least_load_step = 1e-5;
static const double hardly_any =
    1e-6; /* load that says where a supply comes without drawing on it */

#define MOST_W 1e6   /* a converter that feeds itself asks for more than any part can state */
#define RAN_AWAY 1e6 /* volts or amperes for a volt of the highest voltage: no circuit has them */
#define LEAK 0.1     /* of what holds back each unknown while time passes */

LoomTopology *
loom_topology_new(const LoomNetwork *network, const LoomUse *uses, const bool *asleep)
{
  LoomTopology *t = g_new0(LoomTopology, 1);
  t->network = network;
  t->asleep = g_new0(bool, network->n_branches + 1);
  if (asleep)
    memcpy(t->asleep, asleep, network->n_branches * sizeof(bool));
  t->eq = loom_equations_new(network, uses, t->asleep);
  if (t->eq->trouble != LOOM_TROUBLE_NONE)
    return t;
  guint n = t->eq->n_unknowns + 1;
  t->factor = loom_factor_new(t->eq->n_unknowns, t->eq->first, t->eq->rows);
  t->ohms = g_new0(LoomConductance, t->eq->n_ohms + 1);
  t->base = g_new0(double, t->eq->n_values + 1);
  t->values = g_new0(double, t->eq->n_values + 1);
  t->f = g_new0(double, n);
  t->x = g_new0(double, n);
  t->step = g_new0(double, n);
  t->trial = g_new0(double, n);
  return t;
}

void
loom_topology_free(LoomTopology *t)
{
  if (!t)
    return;
  loom_equations_free(t->eq);
  loom_factor_free(t->factor);
  g_free(t->asleep);
  g_free(t->ohms);
  g_free(t->base);
  g_free(t->values);
  g_free(t->f);
  g_free(t->x);
  g_free(t->step);
  g_free(t->trial);
  g_free(t);
}

static double
ohm_at(const LoomBranch *b, guint branch, const LoomConditions *now)
{
  if (!b->copper)
    return b->ohm;
  return b->ohm * loom_copper_factor(now->wire_C ? now->wire_C[branch] : now->ambient_C);
}

void
loom_topology_set(LoomTopology *t, const LoomConditions *now)
{
  LoomEquations *eq = t->eq;
  if (eq->trouble != LOOM_TROUBLE_NONE)
    return;
  memset(t->base, 0, (eq->n_values + 1) * sizeof(double));
  for (guint k = 0; k < eq->n_ohms; k++) {
    const LoomOhm *o = &eq->ohms[k];
    double g = 1 / ohm_at(&t->network->branches[o->branch], o->branch, now);
    t->ohms[k] = (LoomConductance){o->a, o->b, g};
    t->base[o->slots[0]] += g;
    t->base[o->slots[1]] -= g;
    t->base[o->slots[2]] -= g;
    t->base[o->slots[3]] += g;
  }
  for (guint k = 0; k < eq->n_models; k++) {
    LoomModel *m = &eq->models[k];
    m->limit_A = m->own_limit_A;
    m->unfed = false;
    if (m->type != LOOM_MODEL_HOLD)
      continue;
    double own = now->charges ? now->charges[m->branch] : NAN;
    m->volt = loom_emf_V(t->network->branches[m->branch].element, isnan(own) ? now->charge : own);
    m->scale_V = fmax(fabs(m->volt), 1e-3);
  }
}

/* f and values at x. */
static void
evaluate(LoomTopology *t, LoomModelView view, const double *x)
{
  LoomEquations *eq = t->eq;
  double f[LOOM_MODEL_MOST], j[LOOM_MODEL_MOST * LOOM_MODEL_MOST];
  memcpy(t->values, t->base, (eq->n_values + 1) * sizeof(double));
  memset(t->f, 0, (eq->n_unknowns + 1) * sizeof(double));
  for (guint k = 0; k < eq->n_ohms; k++) {
    const LoomConductance *o = &t->ohms[k];
    double I = o->siemens * (x[o->a] - x[o->b]);
    t->f[o->a] += I;
    t->f[o->b] -= I;
  }
  for (guint k = 0; k < eq->n_models; k++) {
    LoomModel *m = &eq->models[k];
    loom_model_evaluate(m, view, x, f, j);
    for (guint i = 0; i < m->n; i++)
      t->f[m->at[i]] += f[i];
    for (guint i = 0; m->type != LOOM_MODEL_CURRENT && i < m->n * m->n; i++)
      t->values[m->slots[i]] += j[i];
  }
}

/* Sums and greatest sizes go in four strands, which the processor works on at once. */
enum { STRANDS = 4 };

static double
squares(const double *f, guint n)
{
  double sum[STRANDS] = {0};
  guint i = 0;
  for (; i + STRANDS <= n; i += STRANDS)
    for (guint k = 0; k < STRANDS; k++)
      sum[k] += f[i + k] * f[i + k];
  for (; i < n; i++)
    sum[0] += f[i] * f[i];
  return (sum[0] + sum[1]) + (sum[2] + sum[3]);
}

/* NAN where one is no number or has no end. */
static double
greatest(const double *v, guint n)
{
  double most[STRANDS] = {0}, odd[STRANDS] = {0};
  guint i = 0;
  for (; i + STRANDS <= n; i += STRANDS)
    for (guint k = 0; k < STRANDS; k++) {
      double size = fabs(v[i + k]);
      most[k] = size > most[k] ? size : most[k];
      odd[k] += size - size;
    }
  for (; i < n; i++) {
    most[0] = fmax(most[0], fabs(v[i]));
    odd[0] += v[i] - v[i];
  }
  return fmax(fmax(most[0], most[1]), fmax(most[2], most[3])) +
         ((odd[0] + odd[1]) + (odd[2] + odd[3]));
}

/* The matrix at hand, solved for x in place. */
static bool
solve_for(LoomTopology *t, double *x)
{
  guint column;
  if (loom_factor_run(t->factor, t->values, x, &column))
    return true;
  if (column < t->eq->n_unknowns)
    t->stuck = column;
  return false;
}

/* Along the step as far as it brings the equations nearer. At the root of it the first try is
 * taken. */
static bool
walk(LoomTopology *t, LoomModelView view)
{
  guint n = t->eq->n_unknowns;
  double share = 1, before = squares(t->f, n);
  double noise = 1e-20 * (1 + t->eq->highest_V * t->eq->highest_V);
  for (guint i = 0; i < MOST_HALVINGS; i++, share /= 2) {
    for (guint k = 0; k < n; k++)
      t->trial[k] = t->x[k] + share * t->step[k];
    evaluate(t, view, t->trial);
    double after = squares(t->f, n);
    if (isfinite(after) && after <= fmax((1 - 0.1 * share) * before, noise)) {
      double *x = t->x;
      t->x = t->trial;
      t->trial = x;
      return true;
    }
  }
  evaluate(t, view, t->x);
  return false;
}

/* All of the step, wherever it leads: limits find out by that which of them act. */
static bool
leap(LoomTopology *t, LoomModelView view)
{
  for (guint k = 0; k < t->eq->n_unknowns; k++)
    t->x[k] += t->step[k];
  evaluate(t, view, t->x);
  return isfinite(greatest(t->f, t->eq->n_unknowns));
}

/* Greatest current, and of each equation the sum of what is added up in it; `slack` is added to
 * those of voltages for each of their terms, as a share of the voltage that is held. */
static double
measure(const LoomTopology *t, double *scale, double slack)
{
  const LoomEquations *eq = t->eq;
  double largest_A = 0;
  memset(scale, 0, (eq->n_unknowns + 1) * sizeof(double));
  for (guint k = 0; k < eq->n_ohms; k++) {
    const LoomConductance *o = &t->ohms[k];
    double sum = o->siemens * (fabs(t->x[o->a]) + fabs(t->x[o->b]));
    double A = o->siemens * fabs(t->x[o->a] - t->x[o->b]);
    scale[o->a] += sum;
    scale[o->b] += sum;
    largest_A = A > largest_A ? A : largest_A;
  }
  for (guint k = 0; k < eq->n_models; k++) {
    const LoomModel *m = &eq->models[k];
    guint last = m->at[m->n - 1];
    bool holds = m->type <= LOOM_MODEL_CONVERTER;
    largest_A = fmax(largest_A, fabs(holds ? t->x[last] : m->amp));
    for (guint i = 0; holds && i + 1 < m->n; i++)
      scale[last] += fabs(t->x[m->at[i]]) + m->scale_V * slack;
  }
  scale[eq->n_unknowns] = 0; /* the reference */
  return largest_A;
}

static bool
within(const LoomTopology *t, const double *scale, double share, double least)
{
  for (guint k = 0; k < t->eq->n_unknowns; k++)
    if (!(fabs(t->f[k]) <= fmax(least, share * scale[k])))
      return false;
  return true;
}

/* Against so great numbers any rest would be rounding. */
static bool
ran_away(const LoomTopology *t)
{
  return !(greatest(t->x, t->eq->n_unknowns) <= RAN_AWAY * fmax(t->eq->highest_V, 1));
}

/* Whether the equations hold at x, currents within the bound of point.h and voltages within a
 * thousand-millionth. */
static bool
balanced(LoomTopology *t)
{
  double share = 16 * DBL_EPSILON;
  double largest_A = fmax(measure(t, t->trial, 1e-9 / share), 1e-3);
  return within(t, t->trial, share, 1e-9 * largest_A) && !ran_away(t);
}

/* Whether what is left of each equation is the rounding of its own sum: no step comes nearer. */
static bool
exhausted(LoomTopology *t)
{
  measure(t, t->trial, 0);
  return within(t, t->trial, 4 * DBL_EPSILON, 0) && !ran_away(t);
}

/* x is good when a step changes nothing that double precision could show. After a step so small
 * that its square is nothing, the equations tell that as well. */
static bool
iterate(LoomTopology *t, LoomModelView view, bool (*go)(LoomTopology *, LoomModelView))
{
  guint n = t->eq->n_unknowns;
  evaluate(t, view, t->x);
  for (guint i = 0; i < MOST_ITERATIONS; i++) {
    t->iterations++;
    for (guint k = 0; k < n; k++)
      t->step[k] = -t->f[k];
    if (!solve_for(t, t->step))
      return false;
    double size = greatest(t->step, n), reach = greatest(t->x, n);
    if (!isfinite(size))
      return false;
    bool settled = i > 0 && size <= 1e-13 * reach;
    if (!go(t, view) || settled)
      return (settled || size <= 1e-9 * reach) && balanced(t);
    if (greatest(t->f, n) <= 1e-13 * reach)
      return balanced(t);
    if (size <= 1e-7 * reach && exhausted(t))
      return true;
  }
  return false;
}

static bool
newton(LoomTopology *t, LoomModelView view)
{
  return iterate(t, view, walk);
}

/* Every load as a resistor that takes a quarter of what it asks for at the highest voltage there
 * is, but no more than it would: voltages come out too high. */
static bool
start_high(LoomTopology *t)
{
  LoomEquations *eq = t->eq;
  guint n = eq->n_unknowns;
  double V = 2 * fmax(eq->highest_V, 1e-3);
  memset(t->x, 0, (n + 1) * sizeof(double));
  evaluate(t, (LoomModelView){1, false}, t->x);
  for (guint k = 0; k < eq->n_models; k++) {
    LoomModel *m = &eq->models[k];
    if (m->type != LOOM_MODEL_CLAMP && m->type != LOOM_MODEL_POWER)
      continue;
    double now = m->type == LOOM_MODEL_CLAMP ? 1 / m->ohm : m->watt / (m->knee_V * m->knee_V);
    double wanted = m->type == LOOM_MODEL_CLAMP ? fmin(now, m->amp / V) : m->watt / (V * V);
    const double sign[4] = {1, -1, -1, 1};
    for (guint i = 0; i < 4; i++)
      t->values[m->slots[i]] += sign[i] * (wanted - now);
  }
  for (guint k = 0; k < n; k++)
    t->x[k] = -t->f[k];
  return solve_for(t, t->x) && isfinite(greatest(t->x, n));
}

/* Where column k has its diagonal; n_values where it has none. */
static guint
diagonal(const LoomEquations *eq, guint k)
{
  for (int i = eq->first[k]; i < eq->first[k + 1]; i++)
    if (eq->rows[i] == (int)k)
      return (guint)i;
  return eq->n_values;
}

/* Lets time pass, in steps that grow, with a capacity at every node and an inductance behind every
 * voltage that is held (pseudo-transient continuation, implicit Euler): so currents settle where
 * they would, limits and all, though no equation says so along the way. A leak beside each capacity
 * lets go what only sources that take nothing back have charged. Comes near, no more. */
static bool
relax(LoomTopology *t, LoomModelView view)
{
  guint n = t->eq->n_unknowns;
  double brake = 10;
  g_autofree guint *diagonals = g_new(guint, n + 1);
  for (guint k = 0; k < n; k++)
    diagonals[k] = diagonal(t->eq, k);
  for (guint k = 0; k < t->eq->n_models; k++)
    if (t->eq->models[k].type <= LOOM_MODEL_CONVERTER)
      t->x[t->eq->models[k].at[t->eq->models[k].n - 1]] = 0;
  evaluate(t, view, t->x);
  for (guint i = 0; i < MOST_MOMENTS; i++, brake *= 0.75) {
    t->iterations++;
    for (guint k = 0; k < n; k++) {
      t->values[diagonals[k]] += (1 + LEAK) * brake;
      t->step[k] = -t->f[k] - LEAK * brake * t->x[k];
    }
    if (!solve_for(t, t->step))
      return false;
    if (!leap(t, view))
      return false;
  }
  return true;
}

static bool
asks_for_power(const LoomModel *m)
{
  return m->type == LOOM_MODEL_POWER || m->type == LOOM_MODEL_CONVERTER;
}

static double
input_V(const LoomModel *m, const double *x)
{
  guint first = m->type == LOOM_MODEL_CONVERTER ? 2 : 0;
  return x[m->at[first]] - x[m->at[first + 1]];
}

/* A constant power without lock-out that has fallen below its knee has found no operating point but
 * the foot of its characteristic. */
static bool
stands_up(const LoomTopology *t, double load)
{
  for (guint k = 0; k < t->eq->n_models; k++) {
    const LoomModel *m = &t->eq->models[k];
    const LoomElement *e = t->network->branches[m->branch].element;
    bool idle = m->type == LOOM_MODEL_CONVERTER && fabs(t->x[m->at[4]]) < 1e-12;
    if (m->unfed && input_V(m, t->x) >= m->knee_V)
      return false; /* it would feed itself */
    if (load > hardly_any && asks_for_power(m) && !(e->lockout_V > 0) && !idle && !m->unfed &&
        input_V(m, t->x) < m->knee_V)
      return false;
  }
  return true;
}

/* By the derivatives of the secants first: where those of the models vanish or circle. */
static bool
settle_by_secants(LoomTopology *t, double load)
{
  if (!start_high(t))
    return false;
  bool near = newton(t, (LoomModelView){load, true});
  double *kept = g_memdup2(t->x, (t->eq->n_unknowns + 1) * sizeof(double));
  bool done = newton(t, (LoomModelView){load, false});
  if (!done && near)
    memcpy(t->x, kept, t->eq->n_unknowns * sizeof(double));
  g_free(kept);
  return done || near;
}

/* From high voltages; by Newton, and where that fails by detours. */
static bool
settle(LoomTopology *t, double load)
{
  const LoomModelView view = {load, false};
  if (start_high(t) && newton(t, view) && stands_up(t, load))
    return true;
  if (start_high(t) && iterate(t, view, leap) && stands_up(t, load))
    return true;
  if (settle_by_secants(t, load) && stands_up(t, load))
    return true;
  if (!start_high(t))
    memset(t->x, 0, (t->eq->n_unknowns + 1) * sizeof(double));
  return relax(t, view) && newton(t, view) && stands_up(t, load);
}

/* What has no voltage even while nobody draws power is not supplied, and asks for none. Returns
 * whether there is any. */
static bool
find_unfed(LoomTopology *t)
{
  bool any = false;
  for (guint k = 0; k < t->eq->n_models; k++) {
    LoomModel *m = &t->eq->models[k];
    m->unfed = asks_for_power(m) && input_V(m, t->x) < m->knee_V;
    any |= m->unfed;
  }
  return any;
}

/* Step 3 of solve.h. Returns the share of the constant powers that could be raised. */
static double
raise_loads(LoomTopology *t)
{
  double reached = 0, step = 0.25;
  double *good = g_memdup2(t->x, (t->eq->n_unknowns + 1) * sizeof(double));
  while (reached < 1 && step > least_load_step) {
    double next = fmin(reached + step, 1);
    if (newton(t, (LoomModelView){next, false}) && stands_up(t, next)) {
      reached = next;
      step *= 1.5;
      memcpy(good, t->x, t->eq->n_unknowns * sizeof(double));
    } else {
      step /= 2;
      memcpy(t->x, good, t->eq->n_unknowns * sizeof(double));
    }
  }
  g_free(good);
  return reached;
}

static double
demand_W(const LoomTopology *t, const LoomModel *m)
{
  if (m->type == LOOM_MODEL_POWER)
    return m->watt;
  double out_V = t->x[m->at[0]] - t->x[m->at[1]];
  return out_V * t->x[m->at[4]] / m->efficiency;
}

static const LoomModel *
greatest_demand(const LoomTopology *t)
{
  const LoomModel *best = NULL;
  for (guint k = 0; k < t->eq->n_models; k++) {
    const LoomModel *m = &t->eq->models[k];
    if (asks_for_power(m) && (!best || demand_W(t, m) > demand_W(t, best)))
      best = m;
  }
  return best;
}

/* Where the whole does not settle at once. */
static LoomTrouble
solve_by_steps(LoomTopology *t, guint *branch, double *asks_W, double *gives_W)
{
  if (!settle(t, hardly_any))
    return LOOM_TROUBLE_SINGULAR;
  double *calm = g_memdup2(t->x, (t->eq->n_unknowns + 1) * sizeof(double));
  t->answered = find_unfed(t) && settle(t, 1);
  double share = 1;
  if (!t->answered) {
    memcpy(t->x, calm, t->eq->n_unknowns * sizeof(double));
    share = raise_loads(t);
    t->answered = share >= 1;
  }
  g_free(calm);
  const LoomModel *greedy = greatest_demand(t);
  if (t->answered)
    return LOOM_TROUBLE_NONE;
  if (!greedy)
    return LOOM_TROUBLE_SINGULAR;
  *branch = greedy->branch;
  if (demand_W(t, greedy) > MOST_W)
    return LOOM_TROUBLE_SINGULAR;
  *asks_W = demand_W(t, greedy);
  *gives_W = share * *asks_W;
  return LOOM_TROUBLE_DEMAND;
}

static guint
place_of_greatest(const double *v, guint n)
{
  guint place = 0;
  for (guint k = 0; k < n; k++)
    if (!(fabs(v[k]) <= fabs(v[place]))) /* so that no number is the greatest */
      place = k;
  return place;
}

/* A device at the unknown; where there is none a resistor, of an element before a mere contact. */
static guint
branch_at(const LoomTopology *t, guint unknown)
{
  const LoomEquations *eq = t->eq;
  for (guint k = 0; k < eq->n_models; k++)
    for (guint i = 0; i < eq->models[k].n; i++)
      if (eq->models[k].at[i] == unknown)
        return eq->models[k].branch;
  guint found = LOOM_NONE;
  for (guint k = 0; k < eq->n_ohms; k++)
    if (eq->ohms[k].a == unknown || eq->ohms[k].b == unknown)
      found = eq->ohms[k].branch;
  return found;
}

guint
loom_topology_suspect(LoomTopology *t)
{
  guint n = t->eq->n_unknowns;
  if (n == 0)
    return t->eq->n_models ? t->eq->models[0].branch : LOOM_NONE;
  if (t->stuck != LOOM_NONE)
    return branch_at(t, t->stuck);
  if (ran_away(t))
    return branch_at(t, place_of_greatest(t->x, n));
  evaluate(t, (LoomModelView){1, false}, t->x);
  return branch_at(t, place_of_greatest(t->f, n));
}

LoomTrouble
loom_topology_solve(LoomTopology *t, guint *branch, double *asks_W, double *gives_W)
{
  const LoomModelView whole = {1, false};
  *branch = t->eq->branch;
  *asks_W = *gives_W = NAN;
  if (t->eq->trouble != LOOM_TROUBLE_NONE)
    return t->eq->trouble;
  t->stuck = LOOM_NONE;
  t->answered = (t->answered && newton(t, whole) && stands_up(t, 1)) || settle(t, 1);
  if (t->answered)
    return LOOM_TROUBLE_NONE;
  *branch = LOOM_NONE;
  LoomTrouble trouble = solve_by_steps(t, branch, asks_W, gives_W);
  if (trouble == LOOM_TROUBLE_SINGULAR && *branch == LOOM_NONE)
    *branch = loom_topology_suspect(t);
  return trouble;
}

double
loom_topology_V(const LoomTopology *t, guint node)
{
  guint unknown = t->eq->unknown[node];
  return unknown == LOOM_NONE ? NAN : t->x[unknown];
}
