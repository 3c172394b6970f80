#include "protection.h"

#include "conductor.h"
#include "fuse.h"
#include "margins.h"
#include "topology.h"

#include <math.h>

static const double level_V = 1e-9; /* what rounding alone may make */

/* Sources alone, everything that draws left out. */
static LoomTopology *
sources_alone(const LoomNetwork *n)
{
  g_autofree LoomUse *uses = g_new0(LoomUse, n->n_branches + 1);
  g_autofree bool *asleep = g_new0(bool, n->n_branches + 1);
  for (guint i = n->n_touches; i < n->n_branches; i++) {
    LoomElementType type = n->branches[i].element->type;
    asleep[i] = type == LOOM_ELEMENT_POWER || type == LOOM_ELEMENT_DRIVER ||
                type == LOOM_ELEMENT_CONVERTER || type == LOOM_ELEMENT_RESISTOR ||
                type == LOOM_ELEMENT_CURRENT;
  }
  LoomTopology *t = loom_topology_new(n, uses, asleep);
  LoomConditions now = {.charge = 1, .ambient_C = 20};
  loom_topology_set(t, &now);
  return t;
}

/* Short current between two nodes; NAN where there is no voltage between them. */
static double
short_between_A(const LoomTopology *t, LoomTriangles *triangles, guint a, guint b)
{
  guint ua = t->eq->unknown[a], ub = t->eq->unknown[b];
  double V = fabs(t->x[ua] - t->x[ub]), ohm = loom_triangles_between(triangles, ua, ub);
  if (!(V > 1e-6))
    return NAN;
  return ohm < LOOM_NO_OHM ? INFINITY : V / ohm;
}

/* The two contacts of the end with most volts between them; false where there are none. */
static bool
widest_pair(const LoomNetwork *n, const LoomTopology *t, guint part, guint end, guint *a, guint *b)
{
  const LoomEnd *e = &loom_wiring_part(n->wiring, part)->kind->ends[end];
  double most = 1e-6;
  bool found = false;
  for (guint i = 0; i < e->n_contacts; i++)
    for (guint k = i + 1; k < e->n_contacts; k++) {
      guint x = loom_wiring_node(n->wiring, part, end, i);
      guint y = loom_wiring_node(n->wiring, part, end, k);
      if (t->eq->island[x] == LOOM_NONE || t->eq->island[x] != t->eq->island[y])
        continue;
      double V = fabs(t->x[t->eq->unknown[x]] - t->x[t->eq->unknown[y]]);
      if (V <= most + level_V) /* equal ones: the first as the kind lists them */
        continue;
      most = V;
      *a = x;
      *b = y;
      found = true;
    }
  return found;
}

/* The poles of the sources, island by island. */
typedef struct {
  guint *first; /* [n_islands + 1] */
  guint *nodes; /* [first[n_islands]] */
} Poles;

/* The next pole after those that `at` has counted; LOOM_NONE at the end. */
static guint
next_pole(const LoomNetwork *n, const LoomEquations *eq, guint *at)
{
  for (; *at < 2 * eq->n_models; (*at)++) {
    const LoomBranch *b = &n->branches[eq->models[*at / 2].branch];
    guint node = *at % 2 ? b->b : b->a;
    if (b->element->type != LOOM_ELEMENT_SOURCE || eq->island[node] == LOOM_NONE)
      continue;
    (*at)++;
    return node;
  }
  return LOOM_NONE;
}

static Poles
poles_of(const LoomNetwork *n, const LoomEquations *eq)
{
  Poles p = {g_new0(guint, eq->n_islands + 2), g_new(guint, 2 * eq->n_models + 1)};
  guint node, at = 0;
  while ((node = next_pole(n, eq, &at)) != LOOM_NONE)
    p.first[eq->island[node] + 2]++;
  for (guint i = 2; i <= eq->n_islands; i++)
    p.first[i] += p.first[i - 1];
  at = 0;
  while ((node = next_pole(n, eq, &at)) != LOOM_NONE)
    p.nodes[p.first[eq->island[node] + 1]++] = node;
  return p;
}

/* From a node to the sources' poles that are further from it; of several at one potential the one
 * that gives most, so that it is the same however the parts are numbered. */
static double
short_to_poles_A(const LoomTopology *t, LoomTriangles *triangles, const Poles *poles, guint node)
{
  guint island = t->eq->island[node];
  double low = INFINITY, high = -INFINITY, most_A = NAN, V = t->x[t->eq->unknown[node]];
  for (guint i = poles->first[island]; i < poles->first[island + 1]; i++) {
    low = fmin(low, t->x[t->eq->unknown[poles->nodes[i]]]);
    high = fmax(high, t->x[t->eq->unknown[poles->nodes[i]]]);
  }
  double far = 2 * V > low + high ? low : high;
  for (guint i = poles->first[island]; i < poles->first[island + 1]; i++)
    if (fabs(t->x[t->eq->unknown[poles->nodes[i]]] - far) < level_V)
      most_A = fmax(most_A, short_between_A(t, triangles, node, poles->nodes[i]));
  return most_A;
}

/* An end of a single wire. */
static double
short_of_lone_A(const LoomNetwork *n, const LoomTopology *t, LoomTriangles *triangles,
                const Poles *poles, guint part, guint end)
{
  const LoomEnd *e = &loom_wiring_part(n->wiring, part)->kind->ends[end];
  for (guint i = 0; i < e->n_contacts; i++) {
    guint node = loom_wiring_node(n->wiring, part, end, i);
    if (t->eq->island[node] != LOOM_NONE)
      return short_to_poles_A(t, triangles, poles, node);
  }
  return NAN;
}

static bool
solved(LoomTopology *t)
{
  guint branch;
  double asks_W, gives_W;
  return loom_topology_solve(t, &branch, &asks_W, &gives_W) == LOOM_TROUBLE_NONE;
}

/* What electronics hold a short to. */

static double
held_by_A(const LoomBound *bound)
{
  return bound->guard.electronic && bound->guard_A > 0 ? bound->guard_A : INFINITY;
}

static bool
is_output(const LoomElement *element)
{
  return element->type == LOOM_ELEMENT_SOURCE || element->type == LOOM_ELEMENT_DRIVER ||
         element->type == LOOM_ELEMENT_CONVERTER;
}

/* Behind a pigtail lie nodes of the part's own: there every output counts. */
static bool
touches(const LoomElement *element, const LoomEnd *end)
{
  const guint nodes[] = {element->a, element->b, element->c, element->d};
  for (guint k = 0; k < G_N_ELEMENTS(nodes); k++)
    if (nodes[k] >= end->first_node && nodes[k] < end->first_node + end->n_contacts)
      return true;
  return end->pigtail_mm > 0;
}

/* What feeds the end inside the part: an output with a limit, or a wire behind electronics. */
static double
held_inside_A(const LoomLimits *limits, const LoomKind *kind, guint part, guint end)
{
  double held = INFINITY;
  for (guint i = 0; i < kind->n_elements; i++) {
    const LoomElement *element = &kind->elements[i];
    if (!touches(element, &kind->ends[end]))
      continue;
    if (is_output(element))
      held = fmin(held, element->limit_A); /* fmin passes over NAN */
    held = fmin(held, held_by_A(loom_limits_element(limits, part, i)));
  }
  return held;
}

/* Of an end that nothing is plugged into: its own limit, what feeds it, and those of its groups
 * that act. */
static double
held_at_free_end_A(const LoomLimits *limits, const LoomKind *kind, guint part, guint end)
{
  double held = held_inside_A(limits, kind, part, end);
  if (!isnan(kind->ends[end].limit_A))
    held = fmin(held, kind->ends[end].limit_A);
  for (guint i = 0; i < kind->n_limits; i++)
    for (guint k = 0; kind->limits[i].acts && k < kind->limits[i].n_ends; k++)
      if (kind->limits[i].ends[k] == end)
        held = fmin(held, kind->limits[i].limit_A);
  return held;
}

static double
held_at_end_A(const LoomLimits *limits, const LoomWiring *w, guint part, guint end)
{
  const LoomBound *bound = loom_limits_end(limits, w, part, end);
  const LoomKind *kind = loom_wiring_part(w, part)->kind;
  return bound ? held_by_A(bound) : held_at_free_end_A(limits, kind, part, end);
}

/* Shorts, end by end. */

struct LoomShorts {
  const LoomNetwork *network;
  const LoomLimits *limits;
  LoomTopology *t;
  LoomTriangles *triangles; /* NULL: no answer */
  Poles poles;
  double *short_A; /* [n_ends] as far as known */
  bool *known;     /* [n_ends] */
};

LoomShorts *
loom_shorts_new(const LoomNetwork *network, const LoomLimits *limits)
{
  LoomShorts *s = g_new0(LoomShorts, 1);
  guint n_ends = network->wiring->n_ends;
  s->network = network;
  s->limits = limits;
  s->t = sources_alone(network);
  if (solved(s->t))
    s->triangles = loom_factor_triangles(s->t->factor);
  s->poles = poles_of(network, s->t->eq);
  s->short_A = g_new(double, n_ends + 1);
  s->known = g_new0(bool, n_ends + 1);
  return s;
}

void
loom_shorts_free(LoomShorts *s)
{
  if (!s)
    return;
  loom_topology_free(s->t);
  loom_triangles_free(s->triangles);
  g_free(s->poles.first);
  g_free(s->poles.nodes);
  g_free(s->short_A);
  g_free(s->known);
  g_free(s);
}

static double
work_out_A(const LoomShorts *s, guint part, guint end)
{
  guint a, b;
  const LoomNetwork *n = s->network;
  if (!s->triangles)
    return NAN;
  double amps = widest_pair(n, s->t, part, end, &a, &b)
                    ? short_between_A(s->t, s->triangles, a, b)
                    : short_of_lone_A(n, s->t, s->triangles, &s->poles, part, end);
  return isnan(amps) ? NAN : fmin(amps, held_at_end_A(s->limits, n->wiring, part, end));
}

double
loom_shorts_end_A(LoomShorts *s, guint part, guint end)
{
  guint i = loom_wiring_end(s->network->wiring, part, end);
  if (!s->known[i])
    s->short_A[i] = work_out_A(s, part, end);
  s->known[i] = true;
  return s->short_A[i];
}

double *
loom_short_currents_A(const LoomNetwork *n, const LoomLimits *limits)
{
  const LoomWiring *w = n->wiring;
  g_autoptr(LoomShorts) s = loom_shorts_new(n, limits);
  double *shorts = g_new(double, w->n_ends + 1);
  for (guint i = 0; i < w->n_ends; i++)
    shorts[i] = loom_shorts_end_A(s, w->end_part[i], i - w->part_end[w->end_part[i]]);
  return shorts;
}

/* At the ends that the wire's nodes belong to. An inner node counts with the end of the other. */
void
loom_shorts_wire_A(LoomShorts *s, guint part, guint element, double *least_A, double *greatest_A)
{
  const LoomNetwork *n = s->network;
  const LoomBranch *b = &n->branches[n->part_branch[part] + element];
  double held_A = held_by_A(loom_limits_element(s->limits, part, element));
  *least_A = *greatest_A = NAN;
  for (guint k = 0; k < 2; k++) {
    guint of, end, contact;
    if (!loom_wiring_contact(n->wiring, k ? b->b : b->a, &of, &end, &contact))
      continue;
    double amps = loom_shorts_end_A(s, of, end);
    if (isnan(amps))
      continue;
    *least_A = fmin(*least_A, fmin(amps, held_A)); /* fmin and fmax pass over NAN */
    *greatest_A = fmax(*greatest_A, fmin(amps, held_A));
  }
}

bool
loom_wire_outlives(double mm2, double carries_A, double fuse_A, double short_A)
{
  if (isnan(short_A))
    return true;
  return short_A <= carries_A ||
         loom_fuse_opens_s(fuse_A, short_A) <= loom_adiabatic_s(mm2, short_A);
}

/* A larger wire lets a little more short current through; the difference is left out. */
static double
wanted_size_mm2(const LoomProtection *p, double mm2)
{
  guint n;
  const double *sizes = loom_wire_sizes_mm2(&n);
  double derating = p->carries_A / loom_ampacity_A(mm2, NULL);
  for (guint i = 0; i < n; i++) {
    double carries_A = derating * loom_ampacity_A(sizes[i], NULL);
    if (p->wanted_fuse_A <= carries_A &&
        loom_wire_outlives(sizes[i], carries_A, p->wanted_fuse_A, p->short_A) &&
        loom_wire_outlives(sizes[i], carries_A, p->wanted_fuse_A, p->greatest_A))
      return sizes[i];
  }
  return INFINITY;
}

static void
judge(const LoomNetwork *n, LoomProtection *p, const LoomBound *bound)
{
  double mm2 = loom_wiring_part(n->wiring, p->part)->kind->elements[p->element].mm2;
  bool fused = bound->guard.type == LOOM_CAUSE_FUSE;
  p->fuse_part = fused ? bound->guard.part : LOOM_NONE;
  p->fuse = fused ? bound->guard.index : LOOM_NONE;
  p->fuse_A = fused ? loom_part_fuse_A(loom_wiring_part(n->wiring, p->fuse_part), p->fuse) : NAN;
  p->parallel = bound->parallel;
  p->load_A = bound->draw_A;
  p->carries_A = loom_wire_ampacity_A(n, NULL, p->part, p->element, &p->table);
  p->opens_s = fused && !isnan(p->short_A) ? loom_fuse_opens_s(p->fuse_A, p->short_A) : NAN;
  p->lives_s = loom_adiabatic_s(mm2, p->short_A);
  p->fits = fused && p->fuse_A <= p->carries_A;
  p->allowed = fused && p->fuse_A <= 1.5 * p->carries_A;
  p->outlives = fused && loom_wire_outlives(mm2, p->carries_A, p->fuse_A, p->short_A) &&
                loom_wire_outlives(mm2, p->carries_A, p->fuse_A, p->greatest_A);
  p->wanted_fuse_A = loom_fuse_for_load_A(p->load_A);
  p->wanted_mm2 = wanted_size_mm2(p, mm2);
}

LoomProtection *
loom_protections_new(const LoomNetwork *network, const LoomLimits *limits, guint *n)
{
  g_autoptr(LoomShorts) shorts = loom_shorts_new(network, limits);
  GArray *list = g_array_new(FALSE, TRUE, sizeof(LoomProtection));
  for (guint part = 0; part < network->wiring->n_parts; part++)
    for (guint i = network->part_branch[part]; i < network->part_branch[part + 1]; i++) {
      guint element = i - network->part_branch[part];
      const LoomBound *bound = loom_limits_element(limits, part, element);
      if (!network->branches[i].copper || !(bound->most_A > 0))
        continue;
      LoomProtection p = {.part = part, .element = element, .held_A = held_by_A(bound)};
      loom_shorts_wire_A(shorts, part, element, &p.short_A, &p.greatest_A);
      judge(network, &p, bound);
      g_array_append_val(list, p);
    }
  *n = list->len;
  return (LoomProtection *)g_array_free(list, FALSE);
}
