#include "equations.h"

#include "forest.h"

#include <math.h>

/* While building. Numbers of clusters are circuits of `clusters`. */
typedef struct {
  const LoomNetwork *n;
  const LoomUse *uses;
  const bool *asleep;
  LoomEquations *eq;
  LoomCircuits *clusters;
  LoomForest *islands;    /* over clusters */
  bool *alive;            /* [clusters] by root of its island */
  bool *dead;             /* [n_branches] converters and drivers without a living input */
  guint *root_island;     /* [clusters] number by root */
  guint *root_reference;  /* [clusters] cluster at its reference, by root */
  guint *cluster_unknown; /* [clusters] */
  GArray *ohms, *models, *ties;
  GArray *columns, *entry_rows; /* entries of the matrix in the order of their making */
  GArray *homes;                /* guint *: where each entry's slot is to be written */
} Build;

static bool
plain_ohm(const LoomBranch *b)
{
  return !b->element || b->element->type == LOOM_ELEMENT_WIRE ||
         b->element->type == LOOM_ELEMENT_THROUGH || b->element->type == LOOM_ELEMENT_SWITCH ||
         b->element->type == LOOM_ELEMENT_FUSE || b->element->type == LOOM_ELEMENT_RESISTOR;
}

static bool
is_type(const LoomBranch *b, LoomElementType type)
{
  return b->element && b->element->type == type;
}

static bool
without_resistance(const LoomBranch *b)
{
  return plain_ohm(b) && b->ohm < LOOM_NO_OHM;
}

static bool
takes_part(const Build *t, guint branch)
{
  return !(t->asleep && t->asleep[branch]) && !t->dead[branch];
}

static guint
cluster(const Build *t, guint node)
{
  return t->clusters->circuit[node];
}

static void
report(LoomEquations *eq, LoomTrouble trouble, guint branch)
{
  if (eq->trouble != LOOM_TROUBLE_NONE)
    return;
  eq->trouble = trouble;
  eq->branch = branch;
}

/* Step 1. */
static void
make_clusters(Build *t)
{
  g_autoptr(LoomForest) forest = loom_forest_new(t->n->wiring->n_nodes);
  for (guint i = 0; i < t->n->n_branches; i++) {
    const LoomBranch *b = &t->n->branches[i];
    LoomTie tie = {i, b->a, b->b};
    if (!b->possible)
      report(t->eq, LOOM_TROUBLE_FIGURE, i);
    else if (without_resistance(b) && !t->uses[i].open && loom_forest_join(forest, b->a, b->b))
      g_array_append_val(t->ties, tie);
  }
  t->clusters = loom_forest_circuits(forest);
}

static void
tie_islands(const Build *t, guint a, guint b)
{
  loom_forest_join(t->islands, cluster(t, a), cluster(t, b));
}

/* Step 2: what a branch ties together. What never takes anything ties nothing; nor does a current
 * of its own; the input of electronics does where it draws something even at rest. */
static bool
ties_poles(const Build *t, guint i)
{
  const LoomElement *e = t->n->branches[i].element;
  if (t->uses[i].open && !(e && e->type == LOOM_ELEMENT_DRIVER))
    return false;
  if (!e)
    return true;
  switch (e->type) {
  case LOOM_ELEMENT_CURRENT:
    return !isnan(e->min_V) && fabs(t->uses[i].current_A) > 0;
  case LOOM_ELEMENT_MOTOR:
  case LOOM_ELEMENT_SERVO:
    return t->uses[i].current_A > 0;
  case LOOM_ELEMENT_POWER:
    return e->power_W > 0;
  case LOOM_ELEMENT_DRIVER:
    return e->quiescent_A > 0;
  case LOOM_ELEMENT_CONVERTER:
    return e->quiescent_A > 0;
  default:
    return true;
  }
}

static void
tie_branch(const Build *t, guint i)
{
  const LoomBranch *b = &t->n->branches[i];
  if (!takes_part(t, i))
    return;
  if (ties_poles(t, i))
    tie_islands(t, b->a, b->b);
  if (is_type(b, LOOM_ELEMENT_CONVERTER) && !t->uses[i].open)
    tie_islands(t, b->c, b->d);
  if (is_type(b, LOOM_ELEMENT_DRIVER) && !t->uses[i].open) {
    tie_islands(t, b->c, b->b);
    tie_islands(t, b->d, b->b);
  }
}

static guint
root_of(const Build *t, guint node)
{
  return loom_forest_root(t->islands, cluster(t, node));
}

static void
enliven(Build *t, guint node, guint reference)
{
  guint root = root_of(t, node);
  if (!t->alive[root])
    t->root_reference[root] = cluster(t, reference);
  t->alive[root] = true;
}

/* Whether both poles of its input lie in one living island. */
static bool
fed(const Build *t, const LoomBranch *b)
{
  guint root = root_of(t, b->a);
  return t->alive[root] && root == root_of(t, b->b);
}

/* Converters of the islands that are alive bring their outputs' islands to life; one round for each
 * converter behind another. */
static void
enliven_outputs(Build *t)
{
  for (bool more = true; more;) {
    more = false;
    for (guint i = t->n->n_touches; i < t->n->n_branches; i++) {
      const LoomBranch *b = &t->n->branches[i];
      if (!is_type(b, LOOM_ELEMENT_CONVERTER) || !takes_part(t, i) || !t->alive[root_of(t, b->a)] ||
          t->alive[root_of(t, b->c)])
        continue;
      enliven(t, b->c, b->d);
      more = true;
    }
  }
}

static void
find_living(Build *t)
{
  for (guint pass = 0; pass < 2; pass++)
    for (guint i = t->n->n_touches; i < t->n->n_branches; i++) {
      const LoomBranch *b = &t->n->branches[i];
      bool current = pass == 1 && is_type(b, LOOM_ELEMENT_CURRENT) && isnan(b->element->min_V) &&
                     root_of(t, b->a) == root_of(t, b->b);
      if ((pass == 0 && is_type(b, LOOM_ELEMENT_SOURCE)) || current)
        enliven(t, b->b, b->b);
    }
  enliven_outputs(t);
}

/* Until no converter or driver is left without an input: each round takes at least one out. */
static void
make_islands(Build *t)
{
  for (bool more = true; more;) {
    loom_forest_free(t->islands);
    t->islands = loom_forest_new(t->clusters->n_circuits);
    memset(t->alive, 0, t->clusters->n_circuits * sizeof(bool));
    for (guint i = 0; i < t->n->n_branches; i++)
      tie_branch(t, i);
    find_living(t);
    more = false;
    for (guint i = t->n->n_touches; i < t->n->n_branches; i++) {
      const LoomBranch *b = &t->n->branches[i];
      bool electronics = is_type(b, LOOM_ELEMENT_CONVERTER) || is_type(b, LOOM_ELEMENT_DRIVER);
      bool lost = electronics && takes_part(t, i) && !fed(t, b);
      t->dead[i] |= lost;
      more |= lost;
    }
  }
}

/* Steps 3 and 4. */
static void
number_clusters(Build *t)
{
  for (guint c = 0; c < t->clusters->n_circuits; c++) {
    guint root = loom_forest_root(t->islands, c);
    t->cluster_unknown[c] = LOOM_NONE;
    if (!t->alive[root])
      continue;
    if (t->root_island[root] == LOOM_NONE) {
      t->root_island[root] = t->eq->n_islands++;
      guint node = t->clusters->nodes[t->clusters->first[t->root_reference[root]]];
      t->eq->reference[t->root_island[root]] = node;
    }
    if (t->root_reference[root] != c)
      t->cluster_unknown[c] = t->eq->n_unknowns++;
  }
}

static void
number_nodes(Build *t)
{
  for (guint v = 0; v < t->eq->n_nodes; v++) {
    guint c = cluster(t, v), root = loom_forest_root(t->islands, c);
    t->eq->island[v] = t->alive[root] ? t->root_island[root] : LOOM_NONE;
    t->eq->unknown[v] = !t->alive[root]                ? LOOM_NONE
                        : t->root_reference[root] == c ? t->eq->n_unknowns
                                                       : t->cluster_unknown[c];
  }
}

static double
knee_V(const LoomElement *e, double highest_V)
{
  return e->lockout_V > 0 ? e->lockout_V : 0.05 * fmax(highest_V, 1e-3);
}

enum { A, B, C, D };

static guint
pin_node(const LoomBranch *b, guint8 pin)
{
  const guint nodes[4] = {b->a, b->b, b->c, b->d};
  return nodes[pin];
}

/* `pins`: the branch's nodes that are the model's, in its order. */
static LoomModel *
add_model(Build *t, LoomModelType type, guint branch, const guint8 *pins, guint n_nodes)
{
  bool holds = type <= LOOM_MODEL_CONVERTER;
  g_array_set_size(t->models, t->models->len + 1);
  LoomModel *m = &g_array_index(t->models, LoomModel, t->models->len - 1);
  *m = (LoomModel){
      .type = type, .branch = branch, .n = n_nodes + (holds ? 1 : 0), .limit_A = INFINITY};
  m->scale_V = 1;
  for (guint i = 0; i < n_nodes; i++) {
    m->pins[i] = pins[i];
    m->at[i] = pin_node(&t->n->branches[branch], pins[i]); /* of the wiring for now */
  }
  return m;
}

static double
or_endless(double value)
{
  return isnan(value) ? INFINITY : value;
}

static const guint8 straight[2] = {A, B}, turned[2] = {B, A};

static void
add_clamp(Build *t, guint i, const guint8 *pins, double ohm, double amp)
{
  if (!(amp > 0))
    return;
  LoomModel *m = add_model(t, LOOM_MODEL_CLAMP, i, pins, 2);
  m->ohm = ohm;
  m->amp = amp;
}

/* A current that electronics draw: constant from where they work, proportional below. */
static void
add_draw(Build *t, guint i, double amp, double from_V)
{
  add_clamp(t, i, amp < 0 ? turned : straight, from_V / fabs(amp), fabs(amp));
}

static void
add_source(Build *t, guint i, const LoomBranch *b)
{
  LoomModel *m = add_model(t, LOOM_MODEL_HOLD, i, straight, 2);
  m->volt = b->element->emf_V;
  m->ohm = b->ohm;
  m->limit_A = or_endless(b->element->limit_A);
  m->one_way = !isnan(b->element->limit_A);
}

static void
add_converter(Build *t, guint i, const LoomBranch *b)
{
  static const guint8 pins[4] = {C, D, A, B};
  double knee = knee_V(b->element, t->eq->highest_V);
  LoomModel *m = add_model(t, LOOM_MODEL_CONVERTER, i, pins, 4);
  m->volt = b->element->output_V;
  m->scale_V = fmax(fabs(m->volt), 1e-3);
  m->ohm = b->ohm;
  m->limit_A = or_endless(b->element->limit_A);
  m->one_way = true;
  m->efficiency = b->element->efficiency;
  m->knee_V = knee;
  add_draw(t, i, b->element->quiescent_A, knee);
}

static void
add_leg(Build *t, guint i, const LoomBranch *b, guint8 out, double share)
{
  const guint8 pins[3] = {out, A, B};
  LoomModel *m = add_model(t, LOOM_MODEL_LEG, i, pins, 3);
  m->share = share;
  m->ohm = b->ohm / 2; /* of the on-resistance, half in each leg */
  m->limit_A = share > 0 ? or_endless(b->element->limit_A) : INFINITY;
}

static void
add_driver(Build *t, guint i, const LoomBranch *b)
{
  add_draw(t, i, b->element->quiescent_A, knee_V(b->element, t->eq->highest_V));
  if (t->uses[i].open)
    return;
  add_leg(t, i, b, C, fmax(t->uses[i].duty, 0));
  add_leg(t, i, b, D, fmax(-t->uses[i].duty, 0));
}

static void
add_power(Build *t, guint i, const LoomElement *e)
{
  if (!(e->power_W > 0))
    return;
  LoomModel *m = add_model(t, LOOM_MODEL_POWER, i, straight, 2);
  m->watt = e->power_W;
  m->knee_V = knee_V(e, t->eq->highest_V);
}

static void
add_two_pole(Build *t, guint i, const LoomBranch *b)
{
  const LoomElement *e = b->element;
  double amp = t->uses[i].current_A, from_V = e->min_V > 0 ? e->min_V : 1;
  if (e->type == LOOM_ELEMENT_MOTOR)
    add_clamp(t, i, straight, b->ohm, amp);
  else if (e->type == LOOM_ELEMENT_POWER)
    add_power(t, i, e);
  else if (e->type == LOOM_ELEMENT_SERVO || !isnan(e->min_V))
    add_draw(t, i, amp, from_V);
  else
    add_model(t, LOOM_MODEL_CURRENT, i, straight, 2)->amp = amp;
}

static void
add_ohm(Build *t, guint i, const LoomBranch *b)
{
  LoomOhm ohm = {.branch = i, .a = b->a, .b = b->b};
  if (!without_resistance(b) && cluster(t, b->a) != cluster(t, b->b))
    g_array_append_val(t->ohms, ohm);
}

/* Whether the branch is there at all. A current of its own whose ends are not tied has no way back:
 * it carries nothing. */
static bool
stands(const Build *t, guint i)
{
  const LoomBranch *b = &t->n->branches[i];
  if (!takes_part(t, i) || !fed(t, b))
    return false;
  return !t->uses[i].open || is_type(b, LOOM_ELEMENT_DRIVER);
}

static void
add_branch(Build *t, guint i)
{
  const LoomBranch *b = &t->n->branches[i];
  if (!stands(t, i))
    return;
  if (plain_ohm(b))
    add_ohm(t, i, b);
  else if (is_type(b, LOOM_ELEMENT_SOURCE))
    add_source(t, i, b);
  else if (is_type(b, LOOM_ELEMENT_CONVERTER))
    add_converter(t, i, b);
  else if (is_type(b, LOOM_ELEMENT_DRIVER))
    add_driver(t, i, b);
  else
    add_two_pole(t, i, b);
}

static void
find_highest(Build *t)
{
  for (guint i = t->n->n_touches; i < t->n->n_branches; i++) {
    const LoomElement *e = t->n->branches[i].element;
    double V = e->type == LOOM_ELEMENT_SOURCE
                   ? fmax(e->emf_V, fmax(e->emf_full_V, e->emf_empty_V))
                   : (e->type == LOOM_ELEMENT_CONVERTER ? e->output_V : 0);
    t->eq->highest_V = fmax(t->eq->highest_V, V);
  }
}

static bool
holds_ideally(const LoomModel *m)
{
  return m->type <= LOOM_MODEL_CONVERTER && m->ohm <= LOOM_NO_OHM;
}

/* Joins the clusters that the device holds; false where they were held already. */
static bool
hold_together(const Build *t, LoomForest *held, const LoomModel *m)
{
  guint a = cluster(t, m->at[0]);
  guint b = cluster(t, m->at[m->type == LOOM_MODEL_LEG ? 2 : 1]);
  return a != b && loom_forest_join(held, a, b);
}

/* Devices without resistance that hold voltages must not close loops: their currents would be
 * anybody's guess, or endless. */
static void
find_loops(Build *t, LoomForest *held)
{
  for (guint k = 0; k < t->models->len; k++) {
    const LoomModel *m = &g_array_index(t->models, LoomModel, k);
    if (!holds_ideally(m) || m->limit_A < INFINITY || hold_together(t, held, m))
      continue;
    guint other = cluster(t, m->at[m->type == LOOM_MODEL_LEG ? 2 : 1]);
    bool same = cluster(t, m->at[0]) == other;
    report(t->eq, same ? LOOM_TROUBLE_SHORT : LOOM_TROUBLE_LOOP, m->branch);
  }
}

/* Those with a limit may close loops, as outputs in parallel do. They share in proportion to their
 * limits: each gives way by a millionth of the highest voltage at its own. */
static void
share_loops(Build *t, LoomForest *held)
{
  g_autofree bool *closed = g_new0(bool, t->clusters->n_circuits + 1); /* by any cluster of it */
  for (guint k = 0; k < t->models->len; k++) {
    const LoomModel *m = &g_array_index(t->models, LoomModel, k);
    if (holds_ideally(m) && m->limit_A < INFINITY && !hold_together(t, held, m))
      closed[cluster(t, m->at[0])] = true;
  }
  for (guint c = 0; c < t->clusters->n_circuits; c++)
    if (closed[c])
      closed[loom_forest_root(held, c)] = true;
  for (guint k = 0; k < t->models->len; k++) {
    LoomModel *m = &g_array_index(t->models, LoomModel, k);
    if (holds_ideally(m) && m->limit_A < INFINITY &&
        closed[loom_forest_root(held, cluster(t, m->at[0]))])
      m->ohm = 1e-6 * fmax(t->eq->highest_V, 1e-3) / m->limit_A;
  }
}

static void
settle_loops(Build *t)
{
  g_autoptr(LoomForest) held = loom_forest_new(t->clusters->n_circuits);
  find_loops(t, held);
  share_loops(t, held);
}

static void
add_entry(Build *t, guint row, guint column, guint *home)
{
  g_array_append_val(t->entry_rows, row);
  g_array_append_val(t->columns, column);
  g_array_append_val(t->homes, home);
}

static void
place_models(Build *t)
{
  LoomEquations *eq = t->eq;
  for (guint k = 0; k < eq->n_models; k++) {
    LoomModel *d = &eq->models[k];
    bool holds = d->type <= LOOM_MODEL_CONVERTER;
    for (guint i = 0; i < d->n - (holds ? 1 : 0); i++) {
      guint unknown = t->cluster_unknown[cluster(t, d->at[i])];
      d->at[i] = unknown; /* LOOM_NONE: the reference, mended below */
    }
    if (holds)
      d->at[d->n - 1] = eq->n_unknowns++;
  }
  for (guint k = 0; k < eq->n_ohms; k++) {
    eq->ohms[k].a = t->cluster_unknown[cluster(t, eq->ohms[k].a)];
    eq->ohms[k].b = t->cluster_unknown[cluster(t, eq->ohms[k].b)];
  }
}

static guint
or_reference(const LoomEquations *eq, guint unknown)
{
  return unknown == LOOM_NONE ? eq->n_unknowns : unknown;
}

static void
list_entries(Build *t)
{
  LoomEquations *eq = t->eq;
  for (guint k = 0; k < eq->n_ohms; k++) {
    LoomOhm *o = &eq->ohms[k];
    o->a = or_reference(eq, o->a);
    o->b = or_reference(eq, o->b);
    add_entry(t, o->a, o->a, &o->slots[0]);
    add_entry(t, o->a, o->b, &o->slots[1]);
    add_entry(t, o->b, o->a, &o->slots[2]);
    add_entry(t, o->b, o->b, &o->slots[3]);
  }
  for (guint k = 0; k < eq->n_models; k++) {
    LoomModel *d = &eq->models[k];
    for (guint i = 0; i < d->n; i++)
      d->at[i] = or_reference(eq, d->at[i]);
    for (guint r = 0; d->type != LOOM_MODEL_CURRENT && r < d->n; r++)
      for (guint c = 0; c < d->n; c++)
        add_entry(t, d->at[r], d->at[c], &d->slots[r * d->n + c]);
  }
}

/* Entries in `order` sorted stably by `key` (0 ... n - 1). New. */
static guint *
sorted_by(const guint *key, const guint *order, guint n_entries, guint n)
{
  g_autofree guint *fill = g_new0(guint, n + 2);
  guint *sorted = g_new(guint, n_entries + 1);
  for (guint i = 0; i < n_entries; i++)
    fill[key[i] + 1]++;
  for (guint k = 0; k < n; k++)
    fill[k + 1] += fill[k];
  for (guint i = 0; i < n_entries; i++) {
    guint entry = order ? order[i] : i;
    sorted[fill[key[entry]]++] = entry;
  }
  return sorted;
}

/* The pattern by column from the entries: two stable counting sorts, then equal ones share a slot.
 */
static void
make_pattern(Build *t)
{
  LoomEquations *eq = t->eq;
  guint n = eq->n_unknowns, n_entries = t->columns->len;
  const guint *rows = (guint *)t->entry_rows->data, *columns = (guint *)t->columns->data;
  guint **homes = (guint **)t->homes->data;
  g_autofree guint *by_row = sorted_by(rows, NULL, n_entries, n + 1);
  g_autofree guint *order = sorted_by(columns, by_row, n_entries, n + 1);
  eq->first = g_new0(int, n + 1);
  eq->rows = g_new(int, n_entries + 1);
  guint used = 0, last = LOOM_NONE;
  for (guint i = 0; i < n_entries; i++) {
    guint entry = order[i];
    if (rows[entry] == n || columns[entry] == n)
      continue;
    bool same = last != LOOM_NONE && rows[last] == rows[entry] && columns[last] == columns[entry];
    if (!same) {
      eq->rows[used++] = (int)rows[entry];
      eq->first[columns[entry] + 1]++;
    }
    *homes[entry] = used - 1;
    last = entry;
  }
  for (guint c = 0; c < n; c++)
    eq->first[c + 1] += eq->first[c];
  for (guint i = 0; i < n_entries; i++)
    if (rows[i] == n || columns[i] == n)
      *homes[i] = used;
  eq->n_values = used;
}

static void
build(Build *t)
{
  LoomEquations *eq = t->eq;
  make_clusters(t);
  guint n = t->clusters->n_circuits + 1;
  t->alive = g_new0(bool, n);
  t->root_island = g_new(guint, n);
  t->root_reference = g_new0(guint, n);
  t->cluster_unknown = g_new(guint, n);
  eq->reference = g_new0(guint, n);
  for (guint i = 0; i < n; i++)
    t->root_island[i] = LOOM_NONE;
  if (eq->trouble != LOOM_TROUBLE_NONE)
    return;
  make_islands(t);
  find_highest(t);
  for (guint i = 0; i < t->n->n_branches; i++)
    add_branch(t, i);
  settle_loops(t);
  number_clusters(t);
  for (guint k = 0; k < t->models->len; k++) {
    LoomModel *m = &g_array_index(t->models, LoomModel, k);
    m->own_limit_A = m->limit_A;
  }
  eq->n_ohms = t->ohms->len;
  eq->n_models = t->models->len;
  eq->n_ties = t->ties->len;
  eq->ohms = g_memdup2(t->ohms->data, MAX(eq->n_ohms, 1) * sizeof(LoomOhm));
  eq->models = g_memdup2(t->models->data, MAX(eq->n_models, 1) * sizeof(LoomModel));
  eq->ties = g_memdup2(t->ties->data, MAX(eq->n_ties, 1) * sizeof(LoomTie));
  place_models(t);
  number_nodes(t);
  list_entries(t);
  make_pattern(t);
}

LoomEquations *
loom_equations_new(const LoomNetwork *network, const LoomUse *uses, const bool *asleep)
{
  LoomEquations *eq = g_new0(LoomEquations, 1);
  Build t = {.n = network, .uses = uses, .asleep = asleep, .eq = eq};
  eq->n_nodes = network->wiring->n_nodes;
  eq->unknown = g_new(guint, eq->n_nodes + 1);
  eq->island = g_new(guint, eq->n_nodes + 1);
  t.dead = g_new0(bool, network->n_branches + 1);
  t.ohms = g_array_new(FALSE, FALSE, sizeof(LoomOhm));
  t.models = g_array_new(FALSE, FALSE, sizeof(LoomModel));
  t.ties = g_array_new(FALSE, FALSE, sizeof(LoomTie));
  t.columns = g_array_new(FALSE, FALSE, sizeof(guint));
  t.entry_rows = g_array_new(FALSE, FALSE, sizeof(guint));
  t.homes = g_array_new(FALSE, FALSE, sizeof(guint *));
  build(&t);
  GArray *const arrays[] = {t.ohms, t.models, t.ties, t.columns, t.entry_rows, t.homes};
  for (guint i = 0; i < G_N_ELEMENTS(arrays); i++)
    g_array_free(arrays[i], TRUE);
  loom_circuits_free(t.clusters);
  loom_forest_free(t.islands);
  g_free(t.alive);
  g_free(t.dead);
  g_free(t.root_island);
  g_free(t.root_reference);
  g_free(t.cluster_unknown);
  return eq;
}

void
loom_equations_free(LoomEquations *eq)
{
  if (!eq)
    return;
  g_free(eq->unknown);
  g_free(eq->island);
  g_free(eq->reference);
  g_free(eq->ohms);
  g_free(eq->models);
  g_free(eq->ties);
  g_free(eq->first);
  g_free(eq->rows);
  g_free(eq);
}
