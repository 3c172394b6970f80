#include "foldback.h"

#include "margins.h"

#include <math.h>

/* Aimed at, so that the limit is kept and not only approached, and how near to that is enough. */
static const double just_below = 1 - 2e-5, near_enough = 1e-5;

typedef struct {
  LoomTopology *t;
  const LoomOperatingPoint *p;
  const LoomCircuits *inside;
  guint part;
  const LoomLimit *limit;
  guint first, end; /* of the part's models */
} Fold;

static const LoomNetwork *
network_of(const Fold *f)
{
  return f->t->network;
}

static const LoomKind *
kind_of(const Fold *f)
{
  return loom_wiring_part(network_of(f)->wiring, f->part)->kind;
}

static double
group_A(const Fold *f)
{
  double sum = 0;
  for (guint i = 0; i < f->limit->n_ends; i++)
    sum += loom_end_current_A(network_of(f), f->p, f->part, f->limit->ends[i]);
  return sum;
}

/* Whether a contact that carries the group's current is one with the node inside the part. */
static bool
shows(const Fold *f, guint node)
{
  const LoomWiring *w = network_of(f)->wiring;
  for (guint i = 0; i < f->limit->n_ends; i++) {
    const LoomEnd *e = &kind_of(f)->ends[f->limit->ends[i]];
    for (guint c = 0; c < e->n_contacts; c++) {
      bool carries = e->contacts[c].role == LOOM_ROLE_PLUS || e->contacts[c].role == LOOM_ROLE_POLE;
      guint contact = loom_wiring_node(w, f->part, f->limit->ends[i], c);
      if (carries && f->inside->circuit[contact] == f->inside->circuit[node])
        return true;
    }
  }
  return false;
}

static bool
gives_to(const Fold *f, const LoomModel *m)
{
  const LoomBranch *b = &network_of(f)->branches[m->branch];
  bool leg = m->type == LOOM_MODEL_LEG;
  return (leg || m->type == LOOM_MODEL_CONVERTER) && b->part == f->part &&
         (shows(f, b->c) || (leg && shows(f, b->d)));
}

/* Of what the group carries the part that this output can be asked to give up: all that it gives
 * where it feeds the group's ends, what its motor costs where it is fed by them. */
static double
yields_A(const Fold *f, const LoomModel *m)
{
  const LoomBranch *b = &network_of(f)->branches[m->branch];
  if (b->part != f->part || m->type > LOOM_MODEL_CONVERTER || m->type == LOOM_MODEL_HOLD)
    return 0;
  const LoomCurrents *I = &f->p->flows[m->branch];
  bool leg = m->type == LOOM_MODEL_LEG;
  if (leg && !(m->share > 0))
    return 0;
  if (gives_to(f, m))
    return fabs(leg ? f->t->x[m->at[3]] : I->c_A);
  return leg && shows(f, b->a) ? fabs(I->a_A) : 0;
}

/* By which factor the group wants its outputs' currents changed: below 1 where it carries too much.
 * Outputs at its own ends make up the sum; what a motor costs at the supply goes about with the
 * square of its current, since its voltage goes along. */
static void
want(const Fold *f, double *factors)
{
  double outputs_A = 0, inputs_A = 0;
  double excess_A = group_A(f) - just_below * f->limit->limit_A;
  for (guint k = f->first; k < f->end; k++) {
    const LoomModel *m = &f->t->eq->models[k];
    *(gives_to(f, m) ? &outputs_A : &inputs_A) += yields_A(f, m);
  }
  double share = fmax(1 - excess_A / (outputs_A + inputs_A), 0);
  double factor = inputs_A > 0 ? sqrt(share) : share;
  for (guint k = f->first; k < f->end; k++)
    if (yields_A(f, &f->t->eq->models[k]) > 0)
      factors[k] = fmin(factors[k], factor);
}

/* Lowers the output's limit, or raises one that was lowered too far, up to the output's own. */
static bool
follow(const Fold *f, LoomModel *m, double factor, bool *held)
{
  bool lowered = held[m->branch] && m->at_limit;
  if (isinf(factor) || fabs(factor - 1) < near_enough || (factor > 1 && !lowered))
    return false;
  double before_A = m->limit_A, now_A = fabs(f->t->x[m->at[m->n - 1]]);
  m->limit_A = fmin(fmax(factor * now_A, 1e-6), m->own_limit_A);
  held[m->branch] = m->limit_A < m->own_limit_A;
  return fabs(m->limit_A - before_A) > 1e-9 * m->limit_A;
}

/* The first model of that branch or a later one: they stand by branch. */
static guint
first_model(const LoomEquations *eq, guint branch)
{
  guint low = 0, high = eq->n_models;
  while (low < high) {
    guint middle = low + (high - low) / 2;
    if (eq->models[middle].branch < branch)
      low = middle + 1;
    else
      high = middle;
  }
  return low;
}

/* A group that carries less than it may has a say only where it was lowered before. */
static bool
has_a_say(const Fold *f, const bool *held)
{
  if (!f->limit->acts || !(f->limit->limit_A > 0))
    return false;
  if (group_A(f) > f->limit->limit_A)
    return true;
  for (guint k = f->first; k < f->end; k++)
    if (held[f->t->eq->models[k].branch])
      return true;
  return false;
}

static void
want_all(LoomTopology *t, const LoomOperatingPoint *p, const LoomCircuits *inside, const bool *held,
         double *factors)
{
  const LoomWiring *w = t->network->wiring;
  for (guint part = 0; part < w->n_parts; part++) {
    const LoomKind *kind = loom_wiring_part(w, part)->kind;
    for (guint g = 0; g < kind->n_limits; g++) {
      const Fold f = {t,
                      p,
                      inside,
                      part,
                      &kind->limits[g],
                      first_model(t->eq, t->network->part_branch[part]),
                      first_model(t->eq, t->network->part_branch[part + 1])};
      if (has_a_say(&f, held))
        want(&f, factors);
    }
  }
}

bool
loom_fold_back(LoomTopology *t, const LoomOperatingPoint *p, const LoomCircuits *inside, bool *held)
{
  const Fold all = {.t = t, .p = p};
  g_autofree double *factors = g_new(double, t->eq->n_models + 1);
  for (guint k = 0; k < t->eq->n_models; k++)
    factors[k] = INFINITY;
  want_all(t, p, inside, held, factors);
  bool again = false;
  for (guint k = 0; k < t->eq->n_models; k++)
    again |= follow(&all, &t->eq->models[k], factors[k], held);
  return again;
}
