#include "limit.h"

#include "fuse.h"
#include "graph.h"
#include "ways.h"

#include <math.h>
#include <string.h>

/* Currents are counted as they leave a source by either pole and end in a load by either contact:
 * so a negative wire is held like a positive one. Sources push at both poles, loads take at both
 * contacts; a converter or driver takes at its input and pushes at its output. Amounts settle in a
 * few rounds, each from the rounds before: what a load can take shrinks to what can reach it, an
 * input to what its output is asked for. All start at their greatest, so every round gives true
 * bounds. */

enum { MOST_ROUNDS = 12 };

/* An element that pushes or takes. Vertices are nodes, or stand-ins behind a group's limit. */
typedef struct {
  guint part, element;
  const LoomElement *e;
  guint a, b, c, d;
  guint feed;           /* SOURCE, CONVERTER: index in the supply's feeds */
  double high_V, low_V; /* at its input: with feeds full, and the least at which it works */
  LoomAmount most;      /* what it would take of an endless supply; SOURCE: what it can push */
  LoomAmount take;      /* as found so far; SOURCE: what its other pole lets it take at a */
  LoomAmount take_b;    /* SOURCE: the same at b */
  LoomAmount push;      /* at c and d; SOURCE: at a */
  LoomAmount push_b;    /* SOURCE: at b */
  double out_A;         /* asked of its output */
} Station;

/* A vertex behind a cap. */
typedef struct {
  guint which; /* tells several behind one vertex apart */
  guint next;  /* an earlier one behind the same vertex; LOOM_NONE */
} StandIn;

typedef struct {
  const LoomWiring *w;
  LoomSupply *supply;
  GArray *edges;         /* LoomEdge */
  GArray *caps;          /* LoomAmount, beside edges */
  GArray *stations;      /* Station */
  GArray *stand_ins;     /* StandIn: vertex n_nodes and those after it */
  GArray *last_stand_in; /* guint: by vertex, its latest stand-in as a vertex; LOOM_NONE */
  guint n_vertices;
  LoomWays *ways;
  double *driven_V; /* [circuits] highest volts that a driver puts on the circuit */
  LoomAmount *own;  /* [n_vertices] scratch */
  /* Filled anew each round. */
  LoomSpread *push, *push_source, *take, *take_source;
  LoomSpread *shorts; /* what would reach each load if it were a dead short */
} Sheet;

static const LoomAmount endless = {INFINITY, {LOOM_CAUSE_NONE, 0, 0, false}};

static LoomAmount
amount(double A, LoomCauseType type, guint part, guint index)
{
  bool electronic = type == LOOM_CAUSE_END || type == LOOM_CAUSE_GROUP || type == LOOM_CAUSE_OUTPUT;
  return (LoomAmount){isnan(A) ? INFINITY : fmax(A, 0), {type, part, index, electronic}};
}

static const LoomKind *
kind_of(const Sheet *s, guint part)
{
  return loom_wiring_part(s->w, part)->kind;
}

static bool
holds(const LoomLimit *limit, guint end)
{
  for (guint i = 0; i < limit->n_ends; i++)
    if (limit->ends[i] == end)
      return true;
  return false;
}

/* The group that comes after `after` on the way outwards to `end`: larger groups first. */
static guint
next_group(const LoomKind *kind, guint end, guint other_end, guint after)
{
  guint best = LOOM_NONE;
  for (guint g = 0; g < kind->n_limits; g++) {
    const LoomLimit *l = &kind->limits[g];
    bool applies = l->acts && l->n_ends > 1 && holds(l, end) &&
                   (other_end == LOOM_NONE || !holds(l, other_end));
    bool later = after == LOOM_NONE || l->n_ends < kind->limits[after].n_ends ||
                 (l->n_ends == kind->limits[after].n_ends && g > after);
    if (applies && later && (best == LOOM_NONE || l->n_ends > kind->limits[best].n_ends))
      best = g;
  }
  return best;
}

static guint
find_stand_in(const Sheet *s, guint vertex, guint which)
{
  guint at = g_array_index(s->last_stand_in, guint, vertex);
  while (at != LOOM_NONE && g_array_index(s->stand_ins, StandIn, at - s->w->n_nodes).which != which)
    at = g_array_index(s->stand_ins, StandIn, at - s->w->n_nodes).next;
  return at;
}

/* The vertex that stands behind `vertex` and a cap; `which` tells several behind one vertex apart.
 */
static guint
stand_in(Sheet *s, guint vertex, guint which, LoomAmount cap)
{
  guint found = find_stand_in(s, vertex, which);
  if (found != LOOM_NONE)
    return found;
  guint made = s->n_vertices++, none = LOOM_NONE;
  LoomEdge edge = {vertex, made, LOOM_NONE, LOOM_NONE};
  StandIn stand_in = {which, g_array_index(s->last_stand_in, guint, vertex)};
  g_array_append_val(s->edges, edge);
  g_array_append_val(s->caps, cap);
  g_array_append_val(s->stand_ins, stand_in);
  g_array_append_val(s->last_stand_in, none);
  g_array_index(s->last_stand_in, guint, vertex) = made;
  return made;
}

static LoomAmount
group_cap(const Sheet *s, guint part, guint group)
{
  return amount(kind_of(s, part)->limits[group].limit_A, LOOM_CAUSE_GROUP, part, group);
}

/* Where elements of the part meet the node: behind the limit of the end that shows it. */
static guint
inside(Sheet *s, guint part, guint local)
{
  const LoomKind *kind = kind_of(s, part);
  guint vertex = s->w->part_node[part] + local, end = loom_kind_end_of_node(kind, local);
  if (end == LOOM_NONE)
    return vertex;
  if (!isnan(kind->ends[end].limit_A))
    vertex =
        stand_in(s, vertex, LOOM_NONE, amount(kind->ends[end].limit_A, LOOM_CAUSE_END, part, end));
  for (guint g = 0; g < kind->n_limits; g++)
    if (kind->limits[g].acts && kind->limits[g].n_ends == 1 && kind->limits[g].ends[0] == end)
      vertex = stand_in(s, vertex, g, group_cap(s, part, g));
  return vertex;
}

/* Outwards from an inner vertex through the groups that limit `end`. */
static guint
behind_groups(Sheet *s, guint part, guint vertex, guint end, guint other_end)
{
  const LoomKind *kind = kind_of(s, part);
  guint group = LOOM_NONE;
  while (end != LOOM_NONE && (group = next_group(kind, end, other_end, group)) != LOOM_NONE)
    vertex = stand_in(s, vertex, group, group_cap(s, part, group));
  return vertex;
}

static void
limit_edge(Sheet *s, LoomEdge *edge, LoomAmount *cap)
{
  const LoomKind *kind = kind_of(s, edge->part);
  const LoomElement *e = &kind->elements[edge->element];
  guint end_a = loom_kind_end_of_node(kind, e->a), end_b = loom_kind_end_of_node(kind, e->b);
  if (e->type == LOOM_ELEMENT_FUSE)
    *cap = amount(loom_part_fuse_A(loom_wiring_part(s->w, edge->part), edge->element),
                  LOOM_CAUSE_FUSE, edge->part, edge->element);
  edge->a = behind_groups(s, edge->part, inside(s, edge->part, e->a), end_b, end_a);
  edge->b = behind_groups(s, edge->part, inside(s, edge->part, e->b), end_a, end_b);
}

static void
limit_edges(Sheet *s)
{
  guint n = s->edges->len;
  g_array_set_size(s->caps, n);
  for (guint i = 0; i < n; i++) {
    LoomEdge edge = g_array_index(s->edges, LoomEdge, i);
    LoomAmount cap = endless;
    if (edge.part != LOOM_NONE)
      limit_edge(s, &edge, &cap);
    g_array_index(s->edges, LoomEdge, i) = edge; /* the arrays may have moved meanwhile */
    g_array_index(s->caps, LoomAmount, i) = cap;
  }
}

static double
lowest_working_V(const LoomElement *e, double low_V)
{
  return !isnan(e->lockout_V) ? e->lockout_V : !isnan(e->min_V) ? e->min_V : low_V;
}

static void
set_volts(const Sheet *s, Station *t)
{
  guint a = s->w->part_node[t->part] + t->e->a, b = s->w->part_node[t->part] + t->e->b;
  double low_V;
  t->high_V = t->low_V = 0;
  if (loom_supply_volts(s->supply, a, b, NULL, &low_V, &t->high_V)) {
    t->high_V = fabs(t->high_V);
    t->low_V = lowest_working_V(t->e, fabs(low_V));
    return;
  }
  const guint *circuit = loom_supply_circuits(s->supply)->circuit;
  t->high_V = t->low_V = fmax(s->driven_V[circuit[a]], s->driven_V[circuit[b]]);
}

/* What it takes of an endless supply: stalled, and at the lowest voltage at which it works. */
static double
greatest_draw_A(const Station *t)
{
  const LoomElement *e = t->e;
  if (!(t->high_V > 0))
    return 0;
  switch (e->type) {
  case LOOM_ELEMENT_RESISTOR:
  case LOOM_ELEMENT_MOTOR:
    return e->ohm > 0 ? t->high_V / e->ohm : INFINITY;
  case LOOM_ELEMENT_CURRENT:
    return fabs(e->current_A);
  case LOOM_ELEMENT_POWER:
    return t->low_V > 0 ? e->power_W / t->low_V : INFINITY;
  case LOOM_ELEMENT_SERVO:
    return fmax(e->stall_A, fmax(e->moving_A, e->idle_A));
  default:
    return INFINITY;
  }
}

static guint
feed_index(const LoomSupply *supply, guint part, guint element)
{
  guint n, low = 0;
  const LoomFeed *feeds = loom_supply_feeds(supply, &n);
  while (low < n) {
    guint mid = low + (n - low) / 2;
    bool before =
        feeds[mid].part < part || (feeds[mid].part == part && feeds[mid].element < element);
    if (before)
      low = mid + 1;
    else
      n = mid;
  }
  return low;
}

static Station
new_station(Sheet *s, guint part, guint element)
{
  const LoomKind *kind = kind_of(s, part);
  const LoomElement *e = &kind->elements[element];
  Station t = {.part = part,
               .element = element,
               .e = e,
               .a = inside(s, part, e->a),
               .b = inside(s, part, e->b),
               .c = LOOM_NONE,
               .d = LOOM_NONE,
               .feed = LOOM_NONE};
  bool driver = e->type == LOOM_ELEMENT_DRIVER, converter = e->type == LOOM_ELEMENT_CONVERTER;
  if (driver || converter) {
    t.c = inside(s, part, e->c);
    t.d = inside(s, part, e->d);
    guint end = loom_kind_end_of_node(kind, e->c);
    t.a = behind_groups(s, part, t.a, end, LOOM_NONE);
    t.push = amount(e->limit_A, LOOM_CAUSE_OUTPUT, part, element);
  }
  if (converter || e->type == LOOM_ELEMENT_SOURCE)
    t.feed = feed_index(s->supply, part, element);
  t.most = t.take = t.take_b = endless;
  t.out_A = INFINITY;
  return t;
}

static void
note_driven(const Sheet *s, const Station *t)
{
  const guint *circuit = loom_supply_circuits(s->supply)->circuit;
  guint base = s->w->part_node[t->part];
  double *c = &s->driven_V[circuit[base + t->e->c]], *d = &s->driven_V[circuit[base + t->e->d]];
  *c = fmax(*c, t->high_V);
  *d = fmax(*d, t->high_V);
}

static void
collect_stations(Sheet *s)
{
  for (guint p = 0; p < s->w->n_parts; p++)
    for (guint i = 0; i < kind_of(s, p)->n_elements; i++) {
      if (kind_of(s, p)->elements[i].type < LOOM_ELEMENT_SOURCE)
        continue;
      Station t = new_station(s, p, i);
      set_volts(s, &t);
      if (t.e->type == LOOM_ELEMENT_DRIVER)
        note_driven(s, &t);
      g_array_append_val(s->stations, t);
    }
}

static Station *
station(const Sheet *s, guint i)
{
  return &g_array_index(s->stations, Station, i);
}

static void
size_stations(Sheet *s)
{
  guint n;
  const LoomFeed *feeds = loom_supply_feeds(s->supply, &n);
  for (guint i = 0; i < s->stations->len; i++) {
    Station *t = station(s, i);
    if (t->e->type == LOOM_ELEMENT_SOURCE) {
      t->most = amount(feeds[t->feed].short_A, LOOM_CAUSE_SOURCE, t->part, t->element);
      t->most.cause.electronic = !isnan(t->e->limit_A);
      continue;
    }
    set_volts(s, t);
    t->most = amount(greatest_draw_A(t), LOOM_CAUSE_LOAD, t->part, t->element);
    t->take = t->most;
  }
}

static guint
block_of(const Sheet *s, guint vertex)
{
  return s->ways->block[vertex];
}

static void
put(LoomAmount *own, guint vertex, LoomAmount what)
{
  bool greater = what.A > own[vertex].A;
  own[vertex].A += what.A;
  if (greater)
    own[vertex].cause = what.cause;
}

static LoomAmount *
nothing_yet(Sheet *s)
{
  memset(s->own, 0, s->n_vertices * sizeof(LoomAmount));
  return s->own;
}

/* With every contact of a load shorted, and fuses alone to hold the current. */
static LoomSpread *
spread_of_shorts(Sheet *s)
{
  guint n = s->ways->graph->n_edges;
  LoomAmount *own = nothing_yet(s);
  g_autofree LoomAmount *fuses = g_new(LoomAmount, n + 1);
  for (guint i = 0; i < n; i++)
    fuses[i] = s->ways->caps[i].cause.type == LOOM_CAUSE_FUSE ? s->ways->caps[i] : endless;
  for (guint i = 0; i < s->stations->len; i++) {
    put(own, station(s, i)->a, endless);
    put(own, station(s, i)->b, endless);
  }
  LoomSpread *spread = loom_spread_new(s->ways);
  loom_spread_fill(spread, s->ways, fuses, own);
  return spread;
}

/* What a source pushes at one pole is no more than what the fuses at its other pole let through,
 * even into shorts: so a fuse in the positive wire guards the negative one too. */
static void
fuse_sources(Sheet *s)
{
  g_autoptr(LoomSpread) shorts = spread_of_shorts(s);
  for (guint i = 0; i < s->stations->len; i++) {
    Station *t = station(s, i);
    if (t->e->type != LOOM_ELEMENT_SOURCE)
      continue;
    LoomAmount at_a = loom_spread_without(shorts, block_of(s, t->a), INFINITY);
    LoomAmount at_b = loom_spread_without(shorts, block_of(s, t->b), INFINITY);
    t->push = loom_amount_min(t->most, at_b);
    t->push_b = loom_amount_min(t->most, at_a);
  }
}

/* What a converter's loads take returns to the converter: nobody beyond it has to carry that. */
static void
put_returned(LoomAmount *take, const Station *t)
{
  if (t->e->type == LOOM_ELEMENT_CONVERTER && !isinf(t->out_A))
    put(take, t->d, (LoomAmount){-t->out_A, {LOOM_CAUSE_NONE, 0, 0, false}});
}

/* `sources`: what sources push or take, for the others apart. */
static void
put_taken(LoomAmount *own, const Station *t, bool sources)
{
  bool source = t->e->type == LOOM_ELEMENT_SOURCE;
  if (source != sources)
    return;
  put(own, t->a, t->take);
  put(own, t->b, source ? t->take_b : t->take);
  if (t->c != LOOM_NONE)
    put_returned(own, t);
}

static void
put_pushed(LoomAmount *own, const Station *t, bool only_sources)
{
  if (t->e->type == LOOM_ELEMENT_SOURCE) {
    put(own, t->a, t->push);
    put(own, t->b, t->push_b);
  } else if (t->c != LOOM_NONE && !only_sources) {
    put(own, t->c, t->push);
    put(own, t->d, t->push);
  }
}

static void
fill_spread(Sheet *s, LoomSpread *spread, void (*put_station)(LoomAmount *, const Station *, bool),
            bool sources)
{
  LoomAmount *own = nothing_yet(s);
  for (guint i = 0; i < s->stations->len; i++)
    put_station(own, station(s, i), sources);
  loom_spread_fill(spread, s->ways, s->ways->caps, own);
}

static void
spread_all(Sheet *s)
{
  fill_spread(s, s->push, put_pushed, false);
  fill_spread(s, s->push_source, put_pushed, true);
  fill_spread(s, s->take, put_taken, false);
  fill_spread(s, s->take_source, put_taken, true);
}

/* The less of what its output may give and what is asked of it there. */
static LoomAmount
asked_of_output(const Sheet *s, const Station *t)
{
  LoomAmount c = s->take->total[block_of(s, t->c)], d = s->take->total[block_of(s, t->d)];
  return loom_amount_min(t->push, t->e->type == LOOM_ELEMENT_DRIVER ? loom_amount_min(c, d) : c);
}

static double
or_zero(double value)
{
  return isnan(value) ? 0 : value;
}

static LoomAmount
wanted(const Sheet *s, Station *t)
{
  if (t->c == LOOM_NONE)
    return t->most;
  LoomAmount out = asked_of_output(s, t);
  t->out_A = out.A;
  if (!(t->high_V > 0))
    return (LoomAmount){0};
  if (t->e->type == LOOM_ELEMENT_CONVERTER)
    out.A *= t->e->output_V / (t->e->efficiency * fmax(t->low_V, 1e-9));
  out.A += or_zero(t->e->quiescent_A);
  if (isinf(out.A) || out.cause.type == LOOM_CAUSE_NONE)
    out.cause = (LoomCause){LOOM_CAUSE_LOAD, t->part, t->element, false};
  return out;
}

static void
settle_output(const Sheet *s, Station *t)
{
  LoomAmount in = s->push->total[block_of(s, t->a)];
  if (t->e->type == LOOM_ELEMENT_CONVERTER)
    in.A *= t->e->efficiency * t->high_V / t->e->output_V;
  t->push = loom_amount_min(t->push, in);
}

/* A source takes at one pole no more than leaves it by the other; electronics take nothing. */
static void
settle_source(const Sheet *s, Station *t)
{
  guint a = block_of(s, t->a), b = block_of(s, t->b);
  LoomCause cause = {LOOM_CAUSE_SOURCE, t->part, t->element, false};
  double asked_a = loom_spread_without(s->take_source, a, t->take.A).A + s->take->total[a].A;
  double asked_b = loom_spread_without(s->take_source, b, t->take_b.A).A + s->take->total[b].A;
  t->take_b = loom_amount_min(t->take_b, (LoomAmount){fmin(t->push.A, asked_a), cause});
  t->take = loom_amount_min(t->take, (LoomAmount){isnan(t->e->limit_A) ? asked_b : 0, cause});
}

static void
settle_load(const Sheet *s, Station *t)
{
  LoomAmount limit =
      loom_amount_min(s->push->total[block_of(s, t->a)], s->push->total[block_of(s, t->b)]);
  LoomAmount want = wanted(s, t);
  want.A = fmin(want.A, limit.A);
  t->take = loom_amount_min(t->take, want);
  if (t->c != LOOM_NONE)
    settle_output(s, t);
}

/* By more than rounding. */
static bool
fell(const LoomAmount *before, const LoomAmount *now)
{
  return isinf(before->A) ? !isinf(now->A) : now->A < before->A * (1 - 1e-9);
}

/* Whether any of its amounts fell. */
static bool
settle_station(const Sheet *s, Station *t)
{
  Station before = *t;
  if (t->e->type == LOOM_ELEMENT_SOURCE)
    settle_source(s, t);
  else
    settle_load(s, t);
  return fell(&before.take, &t->take) || fell(&before.take_b, &t->take_b) ||
         fell(&before.push, &t->push);
}

static void
settle(Sheet *s)
{
  bool more = true;
  spread_all(s);
  for (guint round = 0; more && round < MOST_ROUNDS; round++) {
    more = false;
    for (guint i = 0; i < s->stations->len; i++)
      more |= settle_station(s, station(s, i));
    if (more)
      spread_all(s);
  }
}

/* What a dead short in a load's place would draw: no end where a source reaches it, otherwise what
 * the converter or driver gives that feeds it. */
static void
spread_shorts_of_loads(Sheet *s)
{
  LoomAmount *own = nothing_yet(s);
  for (guint i = 0; i < s->stations->len; i++) {
    const Station *t = station(s, i);
    if (t->e->type == LOOM_ELEMENT_SOURCE)
      continue;
    guint a = block_of(s, t->a), b = block_of(s, t->b);
    bool from_source = s->push_source->total[a].A > 0 && s->push_source->total[b].A > 0;
    LoomAmount reach = loom_amount_min(s->push->total[a], s->push->total[b]);
    put(own, t->a, from_source ? endless : reach);
    put(own, t->b, from_source ? endless : reach);
  }
  s->shorts = loom_spread_new(s->ways);
  loom_spread_fill(s->shorts, s->ways, NULL, own);
}

/* Where only loads lie beyond that a converter feeds, its limit guards their way back too. */
static LoomBound
bound_at(const Sheet *s, guint edge)
{
  LoomBound loads = loom_ways_bound(s->ways, s->push, s->take, edge);
  LoomBound sources = loom_ways_bound(s->ways, s->push_source, s->take_source, edge);
  LoomBound shorts = loom_ways_bound(s->ways, s->push, s->shorts, edge);
  LoomBound bound = sources.most_A > loads.most_A ? sources : loads;
  if (!(shorts.most_A > 0) || sources.most_A > loads.most_A)
    return bound;
  bound.guard_A = shorts.most_A;
  bound.guard = shorts.draw_A < shorts.guard_A ? shorts.draw : shorts.guard;
  return bound;
}

static void
fill_bounds(const Sheet *s, LoomLimits *limits)
{
  limits->n_touches = s->w->n_touches;
  limits->touches = g_new0(LoomBound, limits->n_touches + 1);
  limits->elements = g_new0(LoomBound, limits->n_elements + 1);
  for (guint i = 0; i < s->edges->len; i++) {
    const LoomEdge *edge = &s->ways->graph->edges[i];
    if (i < limits->n_touches)
      limits->touches[i] = bound_at(s, i);
    else if (edge->part != LOOM_NONE)
      limits->elements[limits->part_element[edge->part] + edge->element] = bound_at(s, i);
  }
}

static void
fill_draws(const Sheet *s, LoomLimits *limits)
{
  limits->draws = g_new0(LoomDraw, s->stations->len + 1);
  for (guint i = 0; i < s->stations->len; i++) {
    const Station *t = station(s, i);
    if (t->e->type != LOOM_ELEMENT_SOURCE)
      limits->draws[limits->n_draws++] = (LoomDraw){t->part, t->element, t->take.A};
  }
}

static void
fill_groups(const Sheet *s, LoomLimits *limits)
{
  limits->n_groups = limits->part_group[s->w->n_parts];
  limits->groups_A = g_new0(double, limits->n_groups + 1);
  for (guint p = 0; p < s->w->n_parts; p++)
    for (guint g = 0; g < kind_of(s, p)->n_limits; g++)
      for (guint i = 0; i < kind_of(s, p)->limits[g].n_ends; i++) {
        const LoomBound *end = loom_limits_end(limits, s->w, p, kind_of(s, p)->limits[g].ends[i]);
        limits->groups_A[limits->part_group[p] + g] += end ? end->most_A : 0;
      }
}

static void
number_elements(const LoomWiring *w, LoomLimits *limits)
{
  limits->part_element = g_new0(guint, w->n_parts + 1);
  limits->part_group = g_new0(guint, w->n_parts + 1);
  for (guint p = 0; p < w->n_parts; p++) {
    const LoomKind *kind = loom_wiring_part(w, p)->kind;
    limits->part_element[p + 1] = limits->part_element[p] + kind->n_elements;
    limits->part_group[p + 1] = limits->part_group[p] + kind->n_limits;
  }
  limits->n_elements = limits->part_element[w->n_parts];
}

/* Touches by joint: needed to look an end up. */
static void
index_touches(const LoomWiring *w, LoomLimits *limits)
{
  limits->joint_touch = g_new0(guint, w->n_joints + 1);
  for (guint t = 0; t < w->n_touches; t++)
    limits->joint_touch[w->touches[t].wired + 1]++;
  for (guint j = 0; j < w->n_joints; j++)
    limits->joint_touch[j + 1] += limits->joint_touch[j];
}

static void
open_sheet(Sheet *s)
{
  guint none = LOOM_NONE;
  s->edges = loom_graph_edges(s->w);
  s->caps = g_array_new(FALSE, TRUE, sizeof(LoomAmount));
  s->stations = g_array_new(FALSE, FALSE, sizeof(Station));
  s->stand_ins = g_array_new(FALSE, FALSE, sizeof(StandIn));
  s->last_stand_in = g_array_sized_new(FALSE, FALSE, sizeof(guint), 2 * s->w->n_nodes);
  for (guint v = 0; v < s->w->n_nodes; v++)
    g_array_append_val(s->last_stand_in, none);
  s->driven_V = g_new0(double, loom_supply_circuits(s->supply)->n_circuits + 1);
  limit_edges(s);
  collect_stations(s);
  size_stations(s);
  LoomGraph *graph = loom_graph_take(s->n_vertices, 0, g_array_copy(s->edges));
  s->ways =
      loom_ways_new(graph, g_memdup2(s->caps->data, MAX(s->caps->len, 1) * sizeof(LoomAmount)));
  s->own = g_new(LoomAmount, s->n_vertices + 1);
  s->push = loom_spread_new(s->ways);
  s->push_source = loom_spread_new(s->ways);
  s->take = loom_spread_new(s->ways);
  s->take_source = loom_spread_new(s->ways);
}

static void
close_sheet(Sheet *s)
{
  LoomSpread *const spreads[] = {s->push, s->push_source, s->take, s->take_source, s->shorts};
  for (guint i = 0; i < G_N_ELEMENTS(spreads); i++)
    loom_spread_free(spreads[i]);
  loom_ways_free(s->ways);
  loom_supply_free(s->supply);
  GArray *const arrays[] = {s->edges, s->caps, s->stations, s->stand_ins, s->last_stand_in};
  for (guint i = 0; i < G_N_ELEMENTS(arrays); i++)
    g_array_free(arrays[i], TRUE);
  g_free(s->own);
  g_free(s->driven_V);
}

LoomLimits *
loom_limits_new(const LoomWiring *w)
{
  LoomLimits *limits = g_new0(LoomLimits, 1);
  Sheet s = {.w = w, .supply = loom_supply_new(w, NULL, true), .n_vertices = w->n_nodes};
  number_elements(w, limits);
  index_touches(w, limits);
  open_sheet(&s);
  fuse_sources(&s);
  settle(&s);
  spread_shorts_of_loads(&s);
  fill_bounds(&s, limits);
  fill_draws(&s, limits);
  fill_groups(&s, limits);
  close_sheet(&s);
  return limits;
}

void
loom_limits_free(LoomLimits *limits)
{
  if (!limits)
    return;
  g_free(limits->touches);
  g_free(limits->joint_touch);
  g_free(limits->part_element);
  g_free(limits->elements);
  g_free(limits->draws);
  g_free(limits->part_group);
  g_free(limits->groups_A);
  g_free(limits);
}

const LoomBound *
loom_limits_element(const LoomLimits *limits, guint part, guint element)
{
  return &limits->elements[limits->part_element[part] + element];
}

static bool
is_more(double a, double b)
{
  return a > b * (1 + 1e-9);
}

/* More flows there; where that is the same but for rounding, more is let through. */
static bool
is_worse(const LoomBound *a, const LoomBound *b)
{
  return is_more(a->most_A, b->most_A) ||
         (!is_more(b->most_A, a->most_A) && is_more(a->guard_A, b->guard_A));
}

const LoomBound *
loom_limits_end(const LoomLimits *limits, const LoomWiring *w, guint part, guint end)
{
  const LoomBound *worst = NULL;
  guint number = loom_wiring_end(w, part, end);
  for (guint k = w->end_first[number]; k < w->end_first[number + 1]; k++) {
    guint joint = w->end_joints[k];
    for (guint t = limits->joint_touch[joint]; t < limits->joint_touch[joint + 1]; t++)
      if (!worst || is_worse(&limits->touches[t], worst))
        worst = &limits->touches[t];
  }
  return worst;
}
