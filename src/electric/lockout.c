#include "lockout.h"

#include <math.h>
#include <string.h>

static const double equally = 1 + 1e-9;

typedef struct {
  guint part, branch; /* the neediest of the part */
  double share;       /* of the voltage that it needs */
} Needy;

struct LoomLockout {
  const LoomNetwork *network;
  bool *asleep;   /* [n_branches] borrowed */
  bool *may_wake; /* [n_branches] */
  /* Of the last round: */
  bool *before, *starving; /* [n_branches] who slept before it, and who starved */
  GArray *crowd;           /* Needy: at one supply, neediest first */
  guint n_sent;            /* so many of the crowd were put to sleep; 0: no round yet */
};

LoomLockout *
loom_lockout_new(const LoomNetwork *network, bool *asleep)
{
  gsize size = (network->n_branches + 1) * sizeof(bool);
  LoomLockout *l = g_new0(LoomLockout, 1);
  l->network = network;
  l->asleep = asleep;
  l->may_wake = g_memdup2(asleep, size);
  l->before = g_memdup2(asleep, size);
  l->starving = g_malloc0(size);
  l->crowd = g_array_new(FALSE, FALSE, sizeof(Needy));
  return l;
}

void
loom_lockout_free(LoomLockout *l)
{
  if (!l)
    return;
  g_free(l->may_wake);
  g_free(l->before);
  g_free(l->starving);
  g_array_free(l->crowd, TRUE);
  g_free(l);
}

static double
input_V(const LoomTopology *t, guint branch)
{
  const LoomBranch *b = &t->network->branches[branch];
  bool together = t->eq->island[b->a] == t->eq->island[b->b];
  return together ? loom_topology_V(t, b->a) - loom_topology_V(t, b->b) : NAN;
}

static double
release_V(const LoomElement *e)
{
  return fmax(isnan(e->release_V) ? e->lockout_V : e->release_V, e->lockout_V);
}

static bool
can_sleep(const LoomBranch *b)
{
  return b->element->lockout_V > 0 &&
         (b->element->type == LOOM_ELEMENT_POWER || b->element->type == LOOM_ELEMENT_CONVERTER ||
          b->element->type == LOOM_ELEMENT_DRIVER);
}

static bool
starves(const LoomLockout *l, const LoomTopology *t, guint branch)
{
  const LoomBranch *b = &l->network->branches[branch];
  return can_sleep(b) && !l->asleep[branch] &&
         input_V(t, branch) < b->element->lockout_V * (1 - 1e-12);
}

static guint
island_of(const LoomLockout *l, const LoomTopology *t, guint branch)
{
  return t->eq->island[l->network->branches[branch].b];
}

static bool
any_starves(const LoomLockout *l, const LoomTopology *t, guint island)
{
  for (guint i = l->network->n_touches; i < l->network->n_branches; i++)
    if (starves(l, t, i) && island_of(l, t, i) == island)
      return true;
  return false;
}

static int
by_need(gconstpointer a, gconstpointer b)
{
  double first = ((const Needy *)a)->share, second = ((const Needy *)b)->share;
  return (first > second) - (first < second);
}

/* Every part with something that starves, its neediest element. */
static void
find_needy(LoomLockout *l, const LoomTopology *t)
{
  g_array_set_size(l->crowd, 0);
  for (guint i = l->network->n_touches; i < l->network->n_branches; i++) {
    const LoomBranch *b = &l->network->branches[i];
    l->starving[i] = starves(l, t, i);
    if (!l->starving[i])
      continue;
    Needy needy = {b->part, i, input_V(t, i) / b->element->lockout_V};
    Needy *last = l->crowd->len ? &g_array_index(l->crowd, Needy, l->crowd->len - 1) : NULL;
    if (!last || last->part != needy.part)
      g_array_append_val(l->crowd, needy);
    else if (needy.share < last->share)
      *last = needy;
  }
  g_array_sort(l->crowd, by_need);
}

/* Keeps those at the supply of the neediest. */
static void
keep_one_island(LoomLockout *l, const LoomTopology *t)
{
  Needy *needy = (Needy *)(gpointer)l->crowd->data;
  guint island = island_of(l, t, needy[0].branch), n = 0;
  for (guint i = 0; i < l->crowd->len; i++)
    if (island_of(l, t, needy[i].branch) == island)
      needy[n++] = needy[i];
  g_array_set_size(l->crowd, n);
}

/* The first `n` of the crowd and those as needy as the last of them. */
static void
send(LoomLockout *l, guint n)
{
  const Needy *needy = (const Needy *)(gconstpointer)l->crowd->data;
  const guint *first = l->network->part_branch;
  memcpy(l->asleep, l->before, l->network->n_branches * sizeof(bool));
  for (guint k = 0; k < l->crowd->len; k++) {
    if (k >= n && needy[k].share > needy[n - 1].share * equally)
      break;
    for (guint i = first[needy[k].part]; i < first[needy[k].part + 1]; i++)
      l->asleep[i] |= l->starving[i];
  }
  l->n_sent = n;
}

/* Too many slept where nobody starves any more, though more than one was sent. */
static bool
sent_too_many(const LoomLockout *l, const LoomTopology *t)
{
  if (l->n_sent < 2)
    return false;
  return !any_starves(l, t, island_of(l, t, g_array_index(l->crowd, Needy, 0).branch));
}

/* Wakes what was asleep at the start and now gets its release voltage; once each. */
static bool
wake(LoomLockout *l, const LoomTopology *t)
{
  bool woke = false;
  for (guint i = l->network->n_touches; i < l->network->n_branches; i++) {
    if (!l->asleep[i] || !l->may_wake[i] || loom_lockout_sleep(t, i) != LOOM_CYCLING)
      continue;
    l->asleep[i] = l->may_wake[i] = false;
    woke = true;
  }
  l->n_sent = 0;
  return woke;
}

bool
loom_lockout_next(LoomLockout *l, const LoomTopology *t)
{
  if (sent_too_many(l, t)) {
    send(l, l->n_sent / 2);
    return true;
  }
  guint most = l->n_sent ? 2 * l->n_sent : G_MAXUINT;
  find_needy(l, t);
  if (l->crowd->len == 0)
    return wake(l, t);
  keep_one_island(l, t);
  memcpy(l->before, l->asleep, l->network->n_branches * sizeof(bool));
  send(l, CLAMP(l->crowd->len / 2, 1, most));
  return true;
}

LoomSleep
loom_lockout_sleep(const LoomTopology *t, guint branch)
{
  bool enough = input_V(t, branch) >= release_V(t->network->branches[branch].element);
  return enough ? LOOM_CYCLING : LOOM_ASLEEP;
}
