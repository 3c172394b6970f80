/* A network without its dead ends: a conductor behind which nothing hangs carries no current, so it
 * changes nothing, and its far end is at the potential of its near one. Ports that are not in use
 * are most of a controller. */
#include "faults-private.h"

#include <math.h>
#include <string.h>

static bool
only_conducts(const LoomBranch *b)
{
  bool plain = b->c == LOOM_NONE && b->d == LOOM_NONE && b->possible;
  return plain && (!b->element || b->element->type <= LOOM_ELEMENT_FUSE);
}

/* Branches at every node: how many, and the exclusive or of their numbers, which is the last one's
 * where only one is left. */
typedef struct {
  guint *count, *mixed; /* [n_nodes] */
} Around;

static void
change(Around *at, guint node, guint branch, bool add)
{
  if (node == LOOM_NONE)
    return;
  at->count[node] += add ? 1 : G_MAXUINT;
  at->mixed[node] ^= branch;
}

static void
change_all(Around *at, const LoomBranch *b, guint branch, bool add)
{
  change(at, b->a, branch, add);
  change(at, b->b, branch, add);
  change(at, b->c, branch, add);
  change(at, b->d, branch, add);
}

/* Takes dead ends off, one after the other. */
static void
drop_dead_ends(LoomPruned *p, const LoomNetwork *n, bool *keep, const guint *probes)
{
  guint n_nodes = n->wiring->n_nodes;
  Around at = {g_new0(guint, n_nodes + 1), g_new0(guint, n_nodes + 1)};
  for (guint i = 0; i < n->n_branches; i++) {
    bool loop = n->branches[i].a == n->branches[i].b && only_conducts(&n->branches[i]);
    keep[i] = keep[i] && !loop;
    if (keep[i])
      change_all(&at, &n->branches[i], i, true);
  }
  for (guint start = 0; start < n_nodes; start++)
    for (guint node = start; at.count[node] == 1 && node != probes[0] && node != probes[1];) {
      guint branch = at.mixed[node];
      const LoomBranch *b = &n->branches[branch];
      if (!only_conducts(b))
        break;
      guint near = b->a == node ? b->b : b->a;
      keep[branch] = false;
      change_all(&at, b, branch, false);
      p->far[p->n_ends] = node;
      p->near[p->n_ends++] = near;
      node = near;
    }
  g_free(at.count);
  g_free(at.mixed);
}

void
loom_fault_prune(LoomPruned *p, const LoomNetwork *n, const double *charges, bool *keep,
                 guint probe_a, guint probe_b)
{
  guint n_parts = n->wiring->n_parts, kept = 0;
  const guint probes[] = {probe_a, probe_b};
  *p = (LoomPruned){.network = *n, .whole = n};
  p->far = g_new(guint, n->n_branches + 1);
  p->near = g_new(guint, n->n_branches + 1);
  p->from = g_new(guint, n->n_branches + 1);
  p->charges = g_new(double, n->n_branches + 1);
  p->network.branches = g_new(LoomBranch, n->n_branches + 1);
  p->network.part_branch = g_new(guint, n_parts + 1);
  drop_dead_ends(p, n, keep, probes);
  for (guint i = 0, part = 0; i <= n->n_branches; i++) {
    if (i == n->n_touches)
      p->network.n_touches = kept;
    while (part <= n_parts && n->part_branch[part] == i)
      p->network.part_branch[part++] = kept;
    if (i == n->n_branches || !keep[i])
      continue;
    p->network.branches[kept] = n->branches[i];
    p->charges[kept] = charges[i];
    p->from[kept++] = i;
  }
  p->network.n_branches = kept;
}

LoomOperatingPoint *
loom_fault_solve_pruned(const LoomPruned *p, const LoomState *state)
{
  g_autoptr(LoomSolver) solver = loom_solver_new(&p->network, state);
  LoomConditions now = loom_conditions(&p->network);
  now.charge = LOOM_FAULT_CHARGE;
  now.charges = p->charges;
  LoomOperatingPoint *point = loom_solver_run(solver, &now);
  for (guint i = p->n_ends; i-- > 0;)
    point->potential_V[p->far[i]] = point->potential_V[p->near[i]];
  LoomSleep *sleep = g_new0(LoomSleep, p->whole->n_branches + 1);
  for (guint i = 0; i < p->network.n_branches; i++)
    sleep[p->from[i]] = point->sleep[i];
  g_free(point->sleep);
  point->sleep = sleep;
  return point;
}

void
loom_fault_pruned_clear(LoomPruned *p)
{
  g_free(p->far);
  g_free(p->near);
  g_free(p->from);
  g_free(p->charges);
  g_free(p->network.branches);
  g_free(p->network.part_branch);
}
