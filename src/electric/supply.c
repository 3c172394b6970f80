#include "supply.h"

#include "forest.h"
#include "graph.h"

#include <math.h>

/* What a partition of the nodes leaves out. FULL is what the others are compared with. */
typedef enum {
  FULL = 0,
  CUT_SWITCHES = 1 << 0,
  CUT_FUSES = 1 << 1,
  CUT_LIMITS = 1 << 2,
} Cut;

enum { WAY_FULL, WAY_SWITCH, WAY_FUSE, WAY_LIMIT, WAY_GUARD, N_WAYS };
static const Cut way_cuts[N_WAYS] = {FULL, CUT_SWITCHES, CUT_FUSES, CUT_LIMITS,
                                     CUT_FUSES | CUT_LIMITS};

enum { NOMINAL, LOW, HIGH, N_LEVELS };

/* Spanning forest of circuits, joined by living feeds: potentials are sums along it. */
typedef struct {
  guint island, depth;
  guint parent, feed; /* circuit and feed by which it was reached; LOOM_NONE at the root */
  double volt[N_LEVELS];
} Perch;

struct LoomSupply {
  LoomCircuits *ways[N_WAYS];
  guint n_feeds, n_loops;
  LoomFeed *feeds;
  LoomLoop *loops;
  guint *pole_first; /* [n_circuits + 1] into poles */
  guint *poles;      /* 2 * feed + plus, by circuit of WAY_FULL */
  Perch *perches;    /* [n_circuits] of WAY_FULL */
  bool *limited;     /* [n_nodes] contact of an end with own electronics or of an acting group */
  bool *live;        /* [n_circuits] of WAY_GUARD: holds a + pole that nothing limits */
};

static bool *
mark_limited(const LoomWiring *w)
{
  bool *limited = g_new0(bool, w->n_nodes + 1);
  for (guint p = 0; p < w->n_parts; p++) {
    const LoomKind *kind = loom_wiring_part(w, p)->kind;
    for (guint i = 0; i < kind->n_ends; i++)
      for (guint c = 0; kind->ends[i].limit_A >= 0 && c < kind->ends[i].n_contacts; c++)
        limited[loom_wiring_node(w, p, i, c)] = true;
    for (guint g = 0; g < kind->n_limits; g++)
      for (guint i = 0; kind->limits[g].acts && i < kind->limits[g].n_ends; i++)
        for (guint c = 0; c < kind->ends[kind->limits[g].ends[i]].n_contacts; c++)
          limited[loom_wiring_node(w, p, kind->limits[g].ends[i], c)] = true;
  }
  return limited;
}

static bool
passes(const LoomElement *e, bool on, Cut cut)
{
  switch (e->type) {
  case LOOM_ELEMENT_WIRE:
  case LOOM_ELEMENT_THROUGH:
    return true;
  case LOOM_ELEMENT_SWITCH:
    return on && !(cut & CUT_SWITCHES);
  case LOOM_ELEMENT_FUSE:
    return !(cut & CUT_FUSES);
  default:
    return false;
  }
}

static LoomCircuits *
partition(const LoomSupply *s, const LoomWiring *w, const LoomState *state, bool closed, Cut cut)
{
  g_autoptr(LoomForest) forest = loom_forest_new(w->n_nodes);
  for (guint p = 0; p < w->n_parts; p++) {
    const LoomPart *part = loom_wiring_part(w, p);
    bool on = closed || loom_part_on(part, state);
    for (guint i = 0; i < part->kind->n_elements; i++) {
      const LoomElement *e = &part->kind->elements[i];
      guint a = w->part_node[p] + e->a, b = w->part_node[p] + e->b;
      if (passes(e, on, cut) && !((cut & CUT_LIMITS) && (s->limited[a] || s->limited[b])))
        loom_forest_join(forest, a, b);
    }
  }
  for (guint t = 0; t < w->n_touches; t++)
    loom_forest_join(forest, w->touches[t].a, w->touches[t].b);
  return loom_forest_circuits(forest);
}

static double
known(double value, double otherwise)
{
  return isnan(value) ? otherwise : value;
}

static LoomFeed
feed_of_source(const LoomKind *kind, const LoomElement *e)
{
  LoomFeed f = {.nominal_V = e->emf_V,
                .low_V = known(e->emf_empty_V, e->emf_V),
                .high_V = known(e->emf_full_V, e->emf_V),
                .limit_A = e->limit_A,
                .charger = kind->chemistry.charger,
                .pack = !isnan(e->capacity_Ah) && !kind->chemistry.charger,
                .alive = true};
  double inner = e->ohm > 0 ? f.high_V / e->ohm : INFINITY;
  f.short_A = fmin(inner, known(e->limit_A, INFINITY));
  return f;
}

static LoomFeed
feed_of_converter(const LoomElement *e)
{
  return (LoomFeed){.nominal_V = e->output_V,
                    .low_V = e->output_V,
                    .high_V = e->output_V,
                    .limit_A = e->limit_A,
                    .short_A = known(e->limit_A, INFINITY),
                    .converter = true};
}

static void
collect_feeds(LoomSupply *s, const LoomWiring *w)
{
  GArray *feeds = g_array_new(FALSE, FALSE, sizeof(LoomFeed));
  for (guint p = 0; p < w->n_parts; p++) {
    const LoomKind *kind = loom_wiring_part(w, p)->kind;
    for (guint i = 0; i < kind->n_elements; i++) {
      const LoomElement *e = &kind->elements[i];
      bool source = e->type == LOOM_ELEMENT_SOURCE;
      if (!source && e->type != LOOM_ELEMENT_CONVERTER)
        continue;
      LoomFeed f = source ? feed_of_source(kind, e) : feed_of_converter(e);
      f.part = p;
      f.element = i;
      f.plus = w->part_node[p] + (source ? e->a : e->c);
      f.minus = w->part_node[p] + (source ? e->b : e->d);
      f.fuse_mm = NAN;
      f.shorted = s->ways[WAY_FULL]->circuit[f.plus] == s->ways[WAY_FULL]->circuit[f.minus];
      g_array_append_val(feeds, f);
    }
  }
  s->n_feeds = feeds->len;
  s->feeds = (LoomFeed *)g_array_free(feeds, FALSE);
}

static guint
circuit_of(const LoomSupply *s, guint node)
{
  return s->ways[WAY_FULL]->circuit[node];
}

static void
list_poles(LoomSupply *s)
{
  guint n = s->ways[WAY_FULL]->n_circuits;
  g_free(s->pole_first);
  g_free(s->poles);
  s->pole_first = g_new0(guint, n + 2);
  s->poles = g_new(guint, 2 * s->n_feeds + 1);
  guint *fill = s->pole_first + 1;
  for (guint f = 0; f < 2 * s->n_feeds; f++)
    if (s->feeds[f / 2].alive)
      fill[circuit_of(s, f % 2 ? s->feeds[f / 2].plus : s->feeds[f / 2].minus) + 1]++;
  for (guint c = 0; c < n; c++)
    fill[c + 1] += fill[c];
  for (guint f = 0; f < 2 * s->n_feeds; f++)
    if (s->feeds[f / 2].alive)
      s->poles[fill[circuit_of(s, f % 2 ? s->feeds[f / 2].plus : s->feeds[f / 2].minus)]++] = f;
}

/* Takes the circuit on the other side of a pole into the island, unless it is in one. */
static void
step_over(LoomSupply *s, GArray *queue, guint circuit, guint pole)
{
  const LoomFeed *f = &s->feeds[pole / 2];
  bool from_plus = pole % 2;
  guint other = circuit_of(s, from_plus ? f->minus : f->plus);
  if (s->perches[other].island != LOOM_NONE)
    return;
  const double feed_V[N_LEVELS] = {f->nominal_V, f->low_V, f->high_V};
  Perch next = s->perches[circuit];
  next.depth++;
  next.parent = circuit;
  next.feed = pole / 2;
  for (guint k = 0; k < N_LEVELS; k++)
    next.volt[k] += from_plus ? -feed_V[k] : feed_V[k];
  s->perches[other] = next;
  g_array_append_val(queue, other);
}

/* Starts at negative poles so that potentials read from there. */
static void
perch_circuits(LoomSupply *s)
{
  guint n = s->ways[WAY_FULL]->n_circuits, islands = 0;
  for (guint c = 0; c < n; c++)
    s->perches[c] = (Perch){.island = LOOM_NONE, .parent = LOOM_NONE, .feed = LOOM_NONE};
  g_autoptr(GArray) queue = g_array_new(FALSE, FALSE, sizeof(guint));
  for (guint f = 0; f < s->n_feeds; f++) {
    guint root = circuit_of(s, s->feeds[f].minus);
    if (!s->feeds[f].alive || s->perches[root].island != LOOM_NONE)
      continue;
    s->perches[root].island = islands++;
    g_array_set_size(queue, 0);
    g_array_append_val(queue, root);
    for (guint i = 0; i < queue->len; i++) {
      guint circuit = g_array_index(queue, guint, i);
      for (guint k = s->pole_first[circuit]; k < s->pole_first[circuit + 1]; k++)
        step_over(s, queue, circuit, s->poles[k]);
    }
  }
}

/* Whether a converter that was dead now has enough at its input. */
static bool
wake_converters(LoomSupply *s, const LoomWiring *w)
{
  bool woke = false;
  for (guint i = 0; i < s->n_feeds; i++) {
    LoomFeed *f = &s->feeds[i];
    double high_V;
    if (f->alive)
      continue;
    const LoomElement *e = &loom_wiring_part(w, f->part)->kind->elements[f->element];
    guint a = w->part_node[f->part] + e->a, b = w->part_node[f->part] + e->b;
    if (!loom_supply_volts(s, a, b, NULL, NULL, &high_V) || high_V <= 0 || high_V < e->lockout_V)
      continue;
    f->alive = woke = true;
  }
  return woke;
}

/* The feeds on the way through the forest from one circuit to another, appended. */
static void
append_way(const LoomSupply *s, GArray *feeds, guint a, guint b)
{
  while (a != b) {
    guint *deeper = s->perches[a].depth >= s->perches[b].depth ? &a : &b;
    g_array_append_val(feeds, s->perches[*deeper].feed);
    *deeper = s->perches[*deeper].parent;
  }
}

static bool
carries(const LoomSupply *s, guint feed)
{
  const LoomFeed *f = &s->feeds[feed];
  return s->perches[circuit_of(s, f->plus)].feed == feed ||
         s->perches[circuit_of(s, f->minus)].feed == feed;
}

static void
find_loops(LoomSupply *s)
{
  GArray *loops = g_array_new(FALSE, FALSE, sizeof(LoomLoop));
  for (guint i = 0; i < s->n_feeds; i++) {
    const LoomFeed *f = &s->feeds[i];
    if (!f->alive || f->shorted || carries(s, i))
      continue;
    guint plus = circuit_of(s, f->plus), minus = circuit_of(s, f->minus);
    g_autoptr(GArray) feeds = g_array_new(FALSE, FALSE, sizeof(guint));
    g_array_append_val(feeds, i);
    append_way(s, feeds, plus, minus);
    LoomLoop loop = {.n_feeds = feeds->len,
                     .mismatch_V = s->perches[plus].volt[NOMINAL] -
                                   s->perches[minus].volt[NOMINAL] - f->nominal_V};
    loop.feeds = (guint *)g_array_free(g_steal_pointer(&feeds), FALSE);
    g_array_append_val(loops, loop);
  }
  s->n_loops = loops->len;
  s->loops = (LoomLoop *)g_array_free(loops, FALSE);
}

static bool
takes_current(const LoomElement *e)
{
  return e->type >= LOOM_ELEMENT_RESISTOR && e->type < LOOM_N_ELEMENTS;
}

/* For each circuit past neither fuse nor limit: whether something draws from it. */
static bool *
circuits_that_draw(const LoomSupply *s, const LoomWiring *w)
{
  const LoomCircuits *guard = s->ways[WAY_GUARD];
  bool *draws = g_new0(bool, guard->n_circuits + 1);
  for (guint p = 0; p < w->n_parts; p++) {
    const LoomKind *kind = loom_wiring_part(w, p)->kind;
    for (guint i = 0; i < kind->n_elements; i++) {
      const LoomElement *e = &kind->elements[i];
      if (!takes_current(e))
        continue;
      draws[guard->circuit[w->part_node[p] + e->a]] = true;
      draws[guard->circuit[w->part_node[p] + e->b]] = true;
    }
  }
  return draws;
}

typedef struct {
  const LoomSupply *s;
  const LoomWiring *w;
  const LoomGraph *graph;
  double *from_mm; /* [n_nodes] NAN: not reached yet; all NAN between walks */
} Walk;

/* Wire from `start` to the farthest fuse or limited contact that is the first on its way. */
static double
farthest_guard_mm(Walk *walk, guint start)
{
  const guint *circuit = walk->s->ways[WAY_GUARD]->circuit;
  double farthest = walk->s->limited[start] ? 0 : NAN;
  g_autoptr(GArray) queue = g_array_new(FALSE, FALSE, sizeof(guint));
  g_array_append_val(queue, start);
  walk->from_mm[start] = 0;
  for (guint i = 0; i < queue->len; i++) {
    guint node = g_array_index(queue, guint, i);
    for (guint k = walk->graph->first[node]; k < walk->graph->first[node + 1]; k++) {
      guint edge = walk->graph->incident[k], next = loom_graph_across(walk->graph, edge, node);
      const LoomElement *e = loom_graph_element(walk->graph, walk->w, edge);
      double mm = walk->from_mm[node] + loom_graph_length_mm(walk->graph, walk->w, edge);
      bool guard = e && (e->type == LOOM_ELEMENT_FUSE || walk->s->limited[next]);
      if (guard)
        farthest = fmax(farthest, mm);
      if (guard || circuit[next] != circuit[start] || !isnan(walk->from_mm[next]))
        continue;
      walk->from_mm[next] = mm;
      g_array_append_val(queue, next);
    }
  }
  for (guint i = 0; i < queue->len; i++)
    walk->from_mm[g_array_index(queue, guint, i)] = NAN;
  return farthest;
}

static void
judge_guards(LoomSupply *s, const LoomWiring *w)
{
  g_autofree bool *draws = circuits_that_draw(s, w);
  s->live = g_new0(bool, s->ways[WAY_GUARD]->n_circuits + 1);
  g_autoptr(LoomGraph) graph = loom_graph_new(w);
  g_autofree double *from_mm = g_new(double, w->n_nodes + 1);
  for (guint i = 0; i < w->n_nodes; i++)
    from_mm[i] = NAN;
  Walk walk = {s, w, graph, from_mm};
  for (guint i = 0; i < s->n_feeds; i++) {
    LoomFeed *f = &s->feeds[i];
    guint circuit = s->ways[WAY_GUARD]->circuit[f->plus];
    bool free_of_limit = isnan(f->limit_A) && !s->limited[f->plus];
    s->live[circuit] |= f->alive && free_of_limit;
    f->unguarded = free_of_limit && draws[circuit];
    if (!f->converter)
      f->fuse_mm = farthest_guard_mm(&walk, f->plus);
  }
}

LoomSupply *
loom_supply_new(const LoomWiring *w, const LoomState *state, bool closed)
{
  LoomSupply *s = g_new0(LoomSupply, 1);
  s->limited = mark_limited(w);
  for (guint way = 0; way < N_WAYS; way++)
    s->ways[way] = partition(s, w, state, closed, way_cuts[way]);
  collect_feeds(s, w);
  s->perches = g_new(Perch, s->ways[WAY_FULL]->n_circuits + 1);
  do {
    list_poles(s);
    perch_circuits(s);
  } while (wake_converters(s, w));
  find_loops(s);
  judge_guards(s, w);
  return s;
}

void
loom_supply_free(LoomSupply *s)
{
  if (!s)
    return;
  for (guint way = 0; way < N_WAYS; way++)
    loom_circuits_free(s->ways[way]);
  for (guint i = 0; i < s->n_loops; i++)
    g_free(s->loops[i].feeds);
  g_free(s->feeds);
  g_free(s->loops);
  g_free(s->pole_first);
  g_free(s->poles);
  g_free(s->perches);
  g_free(s->limited);
  g_free(s->live);
  g_free(s);
}

const LoomFeed *
loom_supply_feeds(const LoomSupply *s, guint *n)
{
  *n = s->n_feeds;
  return s->feeds;
}

const LoomLoop *
loom_supply_loops(const LoomSupply *s, guint *n)
{
  *n = s->n_loops;
  return s->loops;
}

guint
loom_supply_n_reach(const LoomSupply *s, guint node)
{
  guint circuit = circuit_of(s, node);
  return s->pole_first[circuit + 1] - s->pole_first[circuit];
}

LoomReach
loom_supply_reach(const LoomSupply *s, guint node, guint index)
{
  guint pole = s->poles[s->pole_first[circuit_of(s, node)] + index];
  const LoomFeed *f = &s->feeds[pole / 2];
  guint from = pole % 2 ? f->plus : f->minus;
  bool around[N_WAYS]; /* a way that avoids what is cut */
  for (guint way = 0; way < N_WAYS; way++)
    around[way] = s->ways[way]->circuit[from] == s->ways[way]->circuit[node];
  bool limit = !isnan(f->limit_A) || s->limited[from];
  return (LoomReach){.feed = pole / 2,
                     .plus = pole % 2,
                     .fused = !around[WAY_FUSE],
                     .limited = limit || !around[WAY_LIMIT],
                     .guarded = limit || !around[WAY_GUARD],
                     .switched = !around[WAY_SWITCH]};
}

bool
loom_supply_live_unguarded(const LoomSupply *s, guint node)
{
  return s->live[s->ways[WAY_GUARD]->circuit[node]];
}

guint
loom_supply_island(const LoomSupply *s, guint node)
{
  return s->perches[circuit_of(s, node)].island;
}

bool
loom_supply_volts(const LoomSupply *s, guint a, guint b, double *nominal_V, double *low_V,
                  double *high_V)
{
  const Perch *pa = &s->perches[circuit_of(s, a)], *pb = &s->perches[circuit_of(s, b)];
  bool together = pa->island != LOOM_NONE && pa->island == pb->island;
  double *out[N_LEVELS] = {nominal_V, low_V, high_V};
  for (guint k = 0; k < N_LEVELS; k++)
    if (out[k])
      *out[k] = together ? pa->volt[k] - pb->volt[k] : NAN;
  return together;
}

const LoomCircuits *
loom_supply_circuits(const LoomSupply *s)
{
  return s->ways[WAY_FULL];
}
