#include "solve.h"

#include "foldback.h"
#include "lockout.h"
#include "topology.h"

#include <float.h>
#include <math.h>
#include <string.h>

enum { MOST_TOPOLOGIES = 4, MOST_FOLDS = 60 };

/* The arithmetic's, whatever else flows. */
static const double no_current_A = 1e-12, no_power_W = 1e-6;

struct LoomSolver {
  const LoomNetwork *network;
  const LoomState *state; /* borrowed */
  LoomUse *uses;
  GPtrArray
      *topologies;      /* LoomTopology, last used first; the one with all awake is never dropped */
  LoomTopology *now;    /* borrowed from there */
  bool *asleep;         /* [n_branches] after the last run */
  LoomCircuits *inside; /* within parts */
  LoomSolverCounts dropped; /* what topologies no longer kept had done */
};

LoomConditions
loom_conditions(const LoomNetwork *network)
{
  return (LoomConditions){.charge = 1, .ambient_C = network->ambient_C};
}

LoomSolver *
loom_solver_new(const LoomNetwork *network, const LoomState *state)
{
  LoomSolver *s = g_new0(LoomSolver, 1);
  s->network = network;
  s->state = state;
  s->uses = loom_uses_new(network, state);
  s->topologies = g_ptr_array_new_with_free_func((GDestroyNotify)loom_topology_free);
  s->asleep = g_new0(bool, network->n_branches + 1);
  s->inside = loom_circuits_new(network->wiring, state, LOOM_WITHOUT_JOINTS);
  return s;
}

void
loom_solver_free(LoomSolver *s)
{
  if (!s)
    return;
  g_ptr_array_unref(s->topologies);
  g_free(s->uses);
  loom_circuits_free(s->inside);
  g_free(s->asleep);
  g_free(s);
}

static void
count(LoomSolverCounts *sum, const LoomTopology *t)
{
  LoomFactorCounts c = t->factor ? loom_factor_counts(t->factor) : (LoomFactorCounts){0};
  sum->topologies++;
  sum->analyses += c.analyses;
  sum->factors += c.factors;
  sum->refactors += c.refactors;
  sum->iterations += t->iterations;
}

void
loom_solver_break(LoomSolver *s, const bool *broken)
{
  g_free(s->uses);
  s->uses = loom_uses_new(s->network, s->state);
  for (guint i = 0; broken && i < s->network->n_branches; i++)
    s->uses[i].open |= broken[i];
  for (guint i = 0; i < s->topologies->len; i++)
    count(&s->dropped, g_ptr_array_index(s->topologies, i));
  g_ptr_array_set_size(s->topologies, 0);
  s->now = NULL;
}

static bool
any(const bool *flags, guint n)
{
  return memchr(flags, true, n) != NULL;
}

static void
drop_oldest(LoomSolver *s)
{
  guint last = s->topologies->len - 1;
  LoomTopology *oldest = g_ptr_array_index(s->topologies, last);
  if (!any(oldest->asleep, s->network->n_branches))
    oldest = g_ptr_array_index(s->topologies, --last);
  count(&s->dropped, oldest);
  g_ptr_array_remove_index(s->topologies, last);
}

/* The topology with these asleep, from what was kept or new. */
static LoomTopology *
topology_of(LoomSolver *s, const bool *asleep)
{
  LoomTopology *found = NULL;
  for (guint i = 0; i < s->topologies->len && !found; i++) {
    LoomTopology *t = g_ptr_array_index(s->topologies, i);
    if (memcmp(t->asleep, asleep, s->network->n_branches * sizeof(bool)) == 0)
      found = g_ptr_array_steal_index(s->topologies, i);
  }
  if (!found)
    found = loom_topology_new(s->network, s->uses, asleep);
  g_ptr_array_insert(s->topologies, 0, found);
  if (s->topologies->len > MOST_TOPOLOGIES)
    drop_oldest(s);
  return found;
}

/* Seven electrons a second and less are the arithmetic's, not the circuit's. */
static double
if_any(double A)
{
  return fabs(A) < 1e-18 ? 0 : A;
}

static void
add_flow(LoomCurrents *flow, guint8 pin, double A)
{
  double *const at[4] = {&flow->a_A, &flow->b_A, &flow->c_A, &flow->d_A};
  *at[pin] += if_any(A);
}

static void
fill_flows(const LoomTopology *t, LoomOperatingPoint *p, double *scale)
{
  const LoomEquations *eq = t->eq;
  for (guint k = 0; k < eq->n_ohms; k++) {
    const LoomConductance *o = &t->ohms[k];
    guint branch = eq->ohms[k].branch;
    double A = if_any(o->siemens * (t->x[o->a] - t->x[o->b]));
    p->flows[branch].a_A = A;
    p->flows[branch].b_A = -A;
    double sum = o->siemens * (fabs(t->x[o->a]) + fabs(t->x[o->b]));
    scale[t->network->branches[branch].a] += sum;
    scale[t->network->branches[branch].b] += sum;
  }
  for (guint k = 0; k < eq->n_models; k++) {
    LoomModel *m = &eq->models[k];
    double f[LOOM_MODEL_MOST], j[LOOM_MODEL_MOST * LOOM_MODEL_MOST];
    loom_model_evaluate(m, (LoomModelView){1, false}, t->x, f, j);
    bool holds = m->type <= LOOM_MODEL_CONVERTER;
    for (guint i = 0; i < m->n - (holds ? 1 : 0); i++)
      add_flow(&p->flows[m->branch], m->pins[i], f[i]);
    p->at_limit[m->branch] |= holds && m->at_limit;
  }
}

static void
leave_node(double *sum, guint node, double A)
{
  if (node != LOOM_NONE)
    sum[node] += A;
}

/* Sum of the currents that leave each node into branches. */
static double *
sums_at_nodes(const LoomNetwork *n, const LoomOperatingPoint *p)
{
  double *sum = g_new0(double, p->n_nodes + 1);
  for (guint i = 0; i < n->n_branches; i++) {
    const LoomBranch *b = &n->branches[i];
    leave_node(sum, b->a, p->flows[i].a_A);
    leave_node(sum, b->b, p->flows[i].b_A);
    leave_node(sum, b->c, p->flows[i].c_A);
    leave_node(sum, b->d, p->flows[i].d_A);
  }
  return sum;
}

/* Branches without resistance carry what balances their nodes. They form a forest: from its leaves
 * inwards each has one branch left that is not yet known. `sum` is balanced on the way, and what
 * cannot be is gathered at one node of each tree. */
static void
fill_ties(const LoomTopology *t, LoomOperatingPoint *p, double *sum, double *scale)
{
  const LoomEquations *eq = t->eq;
  g_autofree guint *degree = g_new0(guint, p->n_nodes + 1);
  g_autofree guint *xor_tie = g_new0(guint, p->n_nodes + 1); /* of the ties left at each node */
  g_autofree guint *leaves = g_new(guint, p->n_nodes + 1);
  guint n_leaves = 0;
  for (guint k = 0; k < eq->n_ties; k++)
    for (guint side = 0; side < 2; side++) {
      guint node = side ? eq->ties[k].b : eq->ties[k].a;
      degree[node]++;
      xor_tie[node] ^= k;
    }
  for (guint v = 0; v < p->n_nodes; v++)
    if (degree[v] == 1)
      leaves[n_leaves++] = v;
  for (guint i = 0; i < n_leaves; i++) {
    guint v = leaves[i];
    if (degree[v] != 1)
      continue;
    const LoomTie *tie = &eq->ties[xor_tie[v]];
    guint next = tie->a == v ? tie->b : tie->a;
    LoomCurrents *flow = &p->flows[tie->branch];
    flow->a_A = tie->a == v ? -sum[v] : sum[v];
    flow->b_A = -flow->a_A;
    sum[next] += sum[v];
    scale[next] += scale[v];
    sum[v] = 0;
    degree[v] = 0;
    degree[next]--;
    xor_tie[next] ^= xor_tie[v];
    if (degree[next] == 1)
      leaves[n_leaves++] = next;
  }
}

static void
fill_balance(const LoomNetwork *n, LoomOperatingPoint *p, const double *sum, const double *scale)
{
  double worst = -1;
  for (guint i = 0; i < n->n_branches; i++)
    p->largest_A = fmax(p->largest_A, fmax(fmax(fabs(p->flows[i].a_A), fabs(p->flows[i].b_A)),
                                           fmax(fabs(p->flows[i].c_A), fabs(p->flows[i].d_A))));
  for (guint v = 0; v < p->n_nodes; v++) {
    double bound = fmax(1e-9 * p->largest_A, 16 * DBL_EPSILON * scale[v]);
    if (isnan(p->potential_V[v]) || fabs(sum[v]) <= worst * bound)
      continue;
    worst = bound > 0 ? fabs(sum[v]) / bound : 0;
    p->residual_A = fabs(sum[v]);
    p->bound_A = bound;
  }
  for (guint i = 0; i < n->n_branches; i++) {
    double watt = loom_point_power_W(p, n, i);
    if (watt < 0)
      p->given_W -= watt;
    else
      p->taken_W += watt;
  }
  for (guint i = 0; i < n->n_touches; i++) {
    p->into_A[n->branches[i].a] -= p->flows[i].a_A;
    p->into_A[n->branches[i].b] -= p->flows[i].b_A;
  }
}

static void
fill_sleep(const LoomSolver *s, LoomOperatingPoint *p)
{
  for (guint i = s->network->n_touches; i < s->network->n_branches; i++)
    if (s->asleep[i])
      p->sleep[i] = loom_lockout_sleep(s->now, i);
}

static LoomOperatingPoint *
new_point(const LoomNetwork *n)
{
  LoomOperatingPoint *p = g_new0(LoomOperatingPoint, 1);
  p->branch = LOOM_NONE;
  p->asks_W = p->gives_W = NAN;
  p->n_nodes = n->wiring->n_nodes;
  p->n_branches = n->n_branches;
  p->potential_V = g_new0(double, p->n_nodes + 1);
  p->into_A = g_new0(double, p->n_nodes + 1);
  p->flows = g_new0(LoomCurrents, p->n_branches + 1);
  p->sleep = g_new0(LoomSleep, p->n_branches + 1);
  p->at_limit = g_new0(bool, p->n_branches + 1);
  p->held_back = g_new0(bool, p->n_branches + 1);
  return p;
}

static void
clear_answer(LoomOperatingPoint *p)
{
  memset(p->into_A, 0, (p->n_nodes + 1) * sizeof(double));
  memset(p->flows, 0, (p->n_branches + 1) * sizeof(LoomCurrents));
  memset(p->at_limit, 0, (p->n_branches + 1) * sizeof(bool));
  p->largest_A = p->residual_A = p->bound_A = p->given_W = p->taken_W = 0;
}

static void
fill_answer(const LoomSolver *s, LoomOperatingPoint *p)
{
  g_autofree double *scale = g_new0(double, p->n_nodes + 1);
  clear_answer(p);
  for (guint v = 0; v < p->n_nodes; v++)
    p->potential_V[v] = loom_topology_V(s->now, v);
  fill_flows(s->now, p, scale);
  g_autofree double *sum = sums_at_nodes(s->network, p);
  fill_ties(s->now, p, sum, scale);
  fill_balance(s->network, p, sum, scale);
}

/* Where voltages have run away (a current of its own that nothing takes up), their rounding hides
 * what is missing at every node but the reference, where all of it comes together; and little as it
 * may be, at such voltages it is power out of nothing. Such an answer is none. */
static bool
adds_up(const LoomOperatingPoint *p)
{
  return p->residual_A <= p->n_nodes * fmax(p->bound_A, no_current_A) &&
         fabs(p->given_W - p->taken_W) <= 1e-3 * p->given_W + no_power_W;
}

/* Solves the topology at hand, and again while common limits take outputs back. */
static void
solve_and_fold(LoomSolver *s, LoomOperatingPoint *p, const LoomConditions *now)
{
  memset(p->held_back, 0, (p->n_branches + 1) * sizeof(bool));
  loom_topology_set(s->now, now);
  for (guint fold = 0; fold < MOST_FOLDS; fold++) {
    p->trouble = loom_topology_solve(s->now, &p->branch, &p->asks_W, &p->gives_W);
    if (p->trouble != LOOM_TROUBLE_NONE)
      return;
    fill_answer(s, p);
    if (!adds_up(p)) {
      s->now->answered = false;
      p->trouble = LOOM_TROUBLE_SINGULAR;
      p->branch = loom_topology_suspect(s->now);
      return;
    }
    if (!loom_fold_back(s->now, p, s->inside, p->held_back))
      return;
  }
}

static void
fill_nothing(LoomOperatingPoint *p)
{
  for (guint v = 0; v < p->n_nodes; v++)
    p->potential_V[v] = p->into_A[v] = NAN;
  for (guint i = 0; i < p->n_branches; i++)
    p->flows[i] = (LoomCurrents){NAN, NAN, NAN, NAN};
  p->largest_A = p->residual_A = p->bound_A = p->given_W = p->taken_W = NAN;
}

LoomOperatingPoint *
loom_solver_run(LoomSolver *s, const LoomConditions *now)
{
  LoomOperatingPoint *p = new_point(s->network);
  guint n = s->network->n_branches, before = loom_solver_counts(s).iterations;
  if (!now->carry_on)
    memset(s->asleep, 0, n * sizeof(bool));
  g_autoptr(LoomLockout) lockout = loom_lockout_new(s->network, s->asleep);
  do {
    s->now = topology_of(s, s->asleep);
    solve_and_fold(s, p, now);
  } while (p->trouble == LOOM_TROUBLE_NONE && loom_lockout_next(lockout, s->now));
  p->iterations = loom_solver_counts(s).iterations - before;
  if (p->trouble == LOOM_TROUBLE_NONE)
    fill_sleep(s, p);
  else
    fill_nothing(p);
  return p;
}

void
loom_solver_carry(LoomSolver *s, const LoomOperatingPoint *point)
{
  for (guint i = 0; i < s->network->n_branches; i++)
    s->asleep[i] = point->sleep[i] != LOOM_AWAKE;
}

bool
loom_solver_source(LoomSolver *s, guint a, guint b, double *volt, double *ohm)
{
  const LoomTopology *t = s->now;
  *volt = *ohm = NAN;
  if (!t || !t->answered || t->eq->island[a] == LOOM_NONE || t->eq->island[a] != t->eq->island[b])
    return false;
  guint n = t->eq->n_unknowns;
  g_autofree double *side = g_new0(double, n + 1);
  side[t->eq->unknown[a]] += 1;
  side[t->eq->unknown[b]] -= 1;
  side[n] = 0;
  loom_factor_solve(t->factor, side, 1);
  side[n] = 0;
  *volt = loom_topology_V(t, a) - loom_topology_V(t, b);
  *ohm = side[t->eq->unknown[a]] - side[t->eq->unknown[b]];
  return isfinite(*ohm);
}

LoomSolverCounts
loom_solver_counts(const LoomSolver *s)
{
  LoomSolverCounts sum = s->dropped;
  for (guint i = 0; i < s->topologies->len; i++)
    count(&sum, g_ptr_array_index(s->topologies, i));
  return sum;
}
