#include "foldback.h"

#include "margins.h"

#include <math.h>

/* Aimed at, so that the limit is kept and not only approached. */
static const double just_below = 1 - 1e-5;

typedef struct {
  LoomTopology *t;
  const LoomOperatingPoint *p;
  const LoomCircuits *inside;
  guint part;
  const LoomLimit *limit;
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

/* Outputs at the group's own ends give up what is too much. What a motor costs at the supply falls
 * with its current or with the square of that: the root overshoots neither. */
static bool
lower(const Fold *f, double sum_A, bool *held)
{
  double outputs_A = 0, inputs_A = 0, excess_A = sum_A - just_below * f->limit->limit_A;
  for (guint k = 0; k < f->t->eq->n_models; k++) {
    const LoomModel *m = &f->t->eq->models[k];
    *(gives_to(f, m) ? &outputs_A : &inputs_A) += yields_A(f, m);
  }
  double yielding_A = outputs_A + inputs_A;
  if (!(yielding_A > 0))
    return false;
  double share = fmax(1 - excess_A / yielding_A, 0);
  for (guint k = 0; k < f->t->eq->n_models; k++) {
    LoomModel *m = &f->t->eq->models[k];
    if (!(yields_A(f, m) > 0))
      continue;
    double now_A = fabs(f->t->x[m->at[m->n - 1]]);
    m->limit_A = fmin(m->limit_A, fmax((inputs_A > 0 ? sqrt(share) : share) * now_A, 1e-6));
    held[m->branch] = true;
  }
  return true;
}

bool
loom_fold_back(LoomTopology *t, const LoomOperatingPoint *p, const LoomCircuits *inside, bool *held)
{
  const LoomWiring *w = t->network->wiring;
  bool again = false;
  for (guint part = 0; part < w->n_parts; part++) {
    const LoomKind *kind = loom_wiring_part(w, part)->kind;
    for (guint g = 0; g < kind->n_limits; g++) {
      Fold f = {t, p, inside, part, &kind->limits[g]};
      if (!f.limit->acts || !(f.limit->limit_A > 0))
        continue;
      double sum_A = group_A(&f);
      if (sum_A > f.limit->limit_A)
        again |= lower(&f, sum_A, held);
    }
  }
  return again;
}
