/* Volts of a test: at rest as it is, or with joints apart.
 *
 * With a joint apart, only what still hangs together with the probes can change what they show: the
 * rest is left out of the network, and a fault that lies there shows what the sound robot does. */
#include "faults-private.h"

#include "electric/forest.h"

#include <math.h>

double
loom_fault_volts(const LoomFaultRoom *room, const LoomTest *test, const LoomOperatingPoint *point)
{
  double volts =
      loom_point_volts(point, loom_wiring_node(room->w, test->part, test->end, test->plus),
                       loom_wiring_node(room->w, test->part, test->end, test->minus));
  return isnan(volts) ? 0 : volts;
}

/* Whether the joint is apart while the test is done: its own, or all of a pack that lies alone. */
static bool
is_apart(const LoomFaultRoom *room, const LoomTest *test, guint wired)
{
  const LoomWiredJoint *j = &room->w->joints[wired];
  if (test->type == LOOM_TEST_PACK)
    return j->part_a == test->part || j->part_b == test->part;
  return j->joint == test->joint;
}

/* Branches that a fault has added belong to no joint: those at the tested part go too. The branches
 * are to be freed. */
static LoomNetwork
take_apart(const LoomFaultRoom *room, const LoomTest *test, const LoomFaulty *faulty)
{
  LoomNetwork network = faulty->network;
  network.branches = g_memdup2(network.branches, (network.n_branches + 1) * sizeof(LoomBranch));
  for (guint t = 0; t < room->w->n_touches; t++)
    if (is_apart(room, test, room->w->touches[t].wired))
      network.branches[t].b = network.branches[t].a;
  for (guint i = room->network->n_branches; i < network.n_branches; i++) {
    LoomBranch *b = &network.branches[i];
    if (room->w->node_part[b->a] != room->w->node_part[b->b] &&
        (room->w->node_part[b->a] == test->part || room->w->node_part[b->b] == test->part))
      b->b = b->a;
  }
  return network;
}

/* ---- what hangs together with the probes ---- */

/* A driver that is off joins nothing to its outputs. */
static LoomForest *
islands_of(const LoomFaultRoom *room, const LoomNetwork *n)
{
  LoomForest *islands = loom_forest_new(room->w->n_nodes + 1);
  for (guint i = 0; i < n->n_branches; i++) {
    const LoomBranch *b = &n->branches[i];
    bool off = i < room->network->n_branches && room->idle[i];
    loom_forest_join(islands, b->a, b->b);
    if (b->c != LOOM_NONE && !off)
      loom_forest_join(islands, b->a, b->c);
    if (b->d != LOOM_NONE && !off)
      loom_forest_join(islands, b->a, b->d);
  }
  return islands;
}

static bool
same_branch(const LoomBranch *a, const LoomBranch *b)
{
  return a->a == b->a && a->b == b->b && a->c == b->c && a->d == b->d && a->ohm == b->ohm &&
         a->element == b->element;
}

/* Which islands a probe is on. */
typedef struct {
  LoomForest *islands;
  guint plus, minus; /* roots */
} Reach;

static bool
is_reached(const Reach *r, guint node)
{
  guint root = loom_forest_root(r->islands, node);
  return root == r->plus || root == r->minus;
}

/* Whether anything that the fault has changed hangs together with the probes. */
static bool
is_concerned(const LoomFaultRoom *room, const Reach *r, const LoomFaulty *faulty)
{
  for (guint i = 0; i < faulty->network.n_branches; i++) {
    const LoomBranch *now = &faulty->network.branches[i];
    bool made = i >= room->network->n_branches;
    if (!made && same_branch(now, &room->network->branches[i]) && isnan(faulty->charges[i]))
      continue;
    if (is_reached(r, now->a) || is_reached(r, now->b))
      return true;
    const LoomBranch *was = &room->network->branches[i];
    if (!made && (is_reached(r, was->a) || is_reached(r, was->b)))
      return true;
  }
  return false;
}

/* ---- solving ---- */

static LoomOperatingPoint *
solve_apart(const LoomFaultRoom *room, const LoomNetwork *network, const double *charges)
{
  g_autoptr(LoomSolver) solver = loom_solver_new(network, room->meter.on);
  LoomConditions now = loom_conditions(network);
  now.charge = LOOM_FAULT_CHARGE;
  now.charges = charges;
  LoomOperatingPoint *point = loom_solver_run(solver, &now);
  if (point->trouble)
    g_clear_pointer(&point, loom_point_free);
  return point;
}

LoomOperatingPoint *
loom_fault_point_apart(const LoomFaultRoom *room, const LoomTest *test, const LoomFaulty *sound)
{
  LoomNetwork network = take_apart(room, test, sound);
  LoomOperatingPoint *point = solve_apart(room, &network, sound->charges);
  g_free(network.branches);
  return point;
}

static double
volts_of(const LoomFaultRoom *room, const LoomTest *test, const LoomNetwork *network,
         const double *charges)
{
  g_autoptr(LoomOperatingPoint) point = solve_apart(room, network, charges);
  return point ? loom_fault_volts(room, test, point) : 0;
}

static double
solve_reached(const LoomFaultRoom *room, const LoomTest *test, const Reach *r,
              const LoomNetwork *network, const LoomFaulty *faulty)
{
  g_autofree bool *keep = g_new(bool, network->n_branches + 1);
  for (guint i = 0; i < network->n_branches; i++)
    keep[i] = is_reached(r, network->branches[i].a);
  LoomPruned pruned;
  loom_fault_prune(&pruned, network, faulty->charges, keep,
                   loom_wiring_node(room->w, test->part, test->end, test->plus),
                   loom_wiring_node(room->w, test->part, test->end, test->minus));
  g_autoptr(LoomOperatingPoint) point = loom_fault_solve_pruned(&pruned, room->meter.on);
  loom_fault_pruned_clear(&pruned);
  return point->trouble ? 0 : loom_fault_volts(room, test, point);
}

static double
volts_reached(const LoomFaultRoom *room, const LoomTest *test, const LoomNetwork *network,
              const LoomFaulty *faulty)
{
  Reach r = {.islands = islands_of(room, network)};
  guint plus = loom_wiring_node(room->w, test->part, test->end, test->plus);
  guint minus = loom_wiring_node(room->w, test->part, test->end, test->minus);
  r.plus = loom_forest_root(r.islands, plus);
  r.minus = loom_forest_root(r.islands, minus);
  double volts = is_concerned(room, &r, faulty) ? solve_reached(room, test, &r, network, faulty)
                                                : test->expected_V;
  loom_forest_free(r.islands);
  return volts;
}

double
loom_fault_volts_apart(const LoomFaultRoom *room, const LoomTest *test, const LoomFault *fault,
                       const LoomFaulty *faulty)
{
  LoomNetwork network = take_apart(room, test, faulty);
  double volts;
  if (!loom_fault_volts_cut(room, test, fault, &network, &volts))
    volts = room->idle ? volts_reached(room, test, &network, faulty)
                       : volts_of(room, test, &network, faulty->charges);
  g_free(network.branches);
  return volts;
}
