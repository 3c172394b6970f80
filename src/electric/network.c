#include "network.h"

#include "conductor.h"
#include "fuse.h"
#include "graph.h"

#include <glib/gi18n-lib.h>
#include <math.h>

static double
or_zero(double value)
{
  return isnan(value) ? 0 : value;
}

static double
branch_ohm(const LoomPart *part, guint index, const LoomElement *e)
{
  switch (e->type) {
  case LOOM_ELEMENT_WIRE:
    return loom_conductor_ohm(e->mm2, loom_wire_length_mm(part, e), 20);
  case LOOM_ELEMENT_FUSE:
    return e->ohm > 0 ? e->ohm : or_zero(loom_fuse_ohm(loom_part_fuse_A(part, index)));
  case LOOM_ELEMENT_THROUGH:
  case LOOM_ELEMENT_SWITCH:
  case LOOM_ELEMENT_SOURCE:
  case LOOM_ELEMENT_DRIVER:
  case LOOM_ELEMENT_CONVERTER:
    return or_zero(e->ohm);
  default:
    return e->ohm;
  }
}

static bool
none_negative(const double *values, guint n)
{
  for (guint i = 0; i < n; i++)
    if (values[i] < 0 || isinf(values[i]))
      return false;
  return true;
}

/* Whether each figure that the solver will use is one that such a thing can have. The catalogue's
 * reader refuses most of this; kinds made in memory come past it. */
static bool
figures_possible(const LoomBranch *b)
{
  const LoomElement *e = b->element;
  const double never_negative[] = {e->limit_A,   e->power_W,    e->lockout_V, e->release_V,
                                   e->no_load_A, e->torque_Nm,  e->idle_A,    e->moving_A,
                                   e->stall_A,   e->quiescent_A};
  if (!none_negative(never_negative, G_N_ELEMENTS(never_negative)))
    return false;
  switch (e->type) {
  case LOOM_ELEMENT_SOURCE:
    return b->ohm >= 0 && isfinite(b->ohm) && isfinite(e->emf_V) &&
           (isnan(e->capacity_Ah) || e->capacity_Ah > 0);
  case LOOM_ELEMENT_CURRENT:
    return isfinite(e->current_A);
  case LOOM_ELEMENT_POWER:
    return isfinite(e->power_W);
  case LOOM_ELEMENT_SERVO:
    return isfinite(e->idle_A) && isfinite(e->moving_A) && isfinite(e->stall_A);
  case LOOM_ELEMENT_MOTOR:
    return b->ohm > 0 && isfinite(b->ohm) && e->volt_s_per_rad > 0;
  case LOOM_ELEMENT_CONVERTER:
    return b->ohm >= 0 && isfinite(e->output_V) && e->efficiency > 0 && e->efficiency <= 1;
  default:
    return b->ohm >= 0 && isfinite(b->ohm);
  }
}

static LoomBranch
branch_of_touch(const LoomWiring *w, guint touch)
{
  const LoomTouch *t = &w->touches[touch];
  const LoomWiredJoint *j = &w->joints[t->wired];
  const LoomEnd *a = &loom_wiring_part(w, j->part_a)->kind->ends[j->end_a],
                *b = &loom_wiring_part(w, j->part_b)->kind->ends[j->end_b];
  double ohm = or_zero(loom_joint_ohm(a, b));
  return (LoomBranch){.part = LOOM_NONE,
                      .a = t->a,
                      .b = t->b,
                      .c = LOOM_NONE,
                      .d = LOOM_NONE,
                      .ohm = ohm,
                      .possible = ohm >= 0 && isfinite(ohm)};
}

static LoomBranch
branch_of_element(const LoomWiring *w, guint p, guint i)
{
  const LoomPart *part = loom_wiring_part(w, p);
  const LoomElement *e = &part->kind->elements[i];
  bool four = e->type == LOOM_ELEMENT_DRIVER || e->type == LOOM_ELEMENT_CONVERTER;
  guint base = w->part_node[p];
  LoomBranch b = {.element = e,
                  .part = p,
                  .a = base + e->a,
                  .b = base + e->b,
                  .c = four ? base + e->c : LOOM_NONE,
                  .d = four ? base + e->d : LOOM_NONE,
                  .ohm = branch_ohm(part, i, e),
                  .copper = e->type == LOOM_ELEMENT_WIRE};
  b.possible = figures_possible(&b);
  return b;
}

LoomNetwork *
loom_network_new(const LoomWiring *w)
{
  LoomNetwork *n = g_new0(LoomNetwork, 1);
  n->wiring = w;
  n->n_touches = w->n_touches;
  double ambient_C = loom_design_title(w->design)->ambient_C;
  n->ambient_C = isfinite(ambient_C) ? ambient_C : 20;
  n->part_branch = g_new(guint, w->n_parts + 1);
  n->part_branch[0] = w->n_touches;
  for (guint p = 0; p < w->n_parts; p++)
    n->part_branch[p + 1] = n->part_branch[p] + loom_wiring_part(w, p)->kind->n_elements;
  n->n_branches = n->part_branch[w->n_parts];
  n->branches = g_new(LoomBranch, n->n_branches + 1);
  for (guint t = 0; t < w->n_touches; t++)
    n->branches[t] = branch_of_touch(w, t);
  for (guint p = 0; p < w->n_parts; p++)
    for (guint i = n->part_branch[p]; i < n->part_branch[p + 1]; i++)
      n->branches[i] = branch_of_element(w, p, i - n->part_branch[p]);
  return n;
}

void
loom_network_free(LoomNetwork *n)
{
  if (!n)
    return;
  g_free(n->branches);
  g_free(n->part_branch);
  g_free(n);
}

char *
loom_branch_name(const LoomNetwork *n, guint branch)
{
  const LoomBranch *b = &n->branches[branch];
  if (b->element)
    return g_strdup(loom_wiring_part(n->wiring, b->part)->designation);
  g_autofree char *x = loom_wiring_node_name(n->wiring, b->a);
  g_autofree char *y = loom_wiring_node_name(n->wiring, b->b);
  return g_strdup_printf(_("%s and %s"), x, y);
}
