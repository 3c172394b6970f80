#include "ways.h"

#include "forest.h"

#include <math.h>
#include <string.h>

/* Depth-first walk without recursion (leads can be chained by the thousand). An edge is a bridge
 * where nothing below it reaches back above it. */
typedef struct {
  guint node, next, by; /* place in the list of incident edges; edge by which it was reached */
} Step;

typedef struct {
  const LoomGraph *graph;
  guint *seen, *low; /* [n_nodes] number of arrival, from 1; earliest number reached back to */
  guint count;
  bool *bridge; /* [n_edges] */
  GArray *stack;
} Bridges;

static void
arrive(Bridges *b, guint node, guint by)
{
  Step step = {node, b->graph->first[node], by};
  b->seen[node] = b->low[node] = ++b->count;
  g_array_append_val(b->stack, step);
}

static void
leave(Bridges *b)
{
  Step done = g_array_index(b->stack, Step, b->stack->len - 1);
  g_array_set_size(b->stack, b->stack->len - 1);
  if (b->stack->len == 0)
    return;
  guint above = g_array_index(b->stack, Step, b->stack->len - 1).node;
  b->low[above] = MIN(b->low[above], b->low[done.node]);
  b->bridge[done.by] = b->low[done.node] > b->seen[above];
}

static void
walk_from(Bridges *b, guint root)
{
  arrive(b, root, LOOM_NONE);
  while (b->stack->len) {
    Step *top = &g_array_index(b->stack, Step, b->stack->len - 1);
    if (top->next == b->graph->first[top->node + 1]) {
      leave(b);
      continue;
    }
    guint edge = b->graph->incident[top->next++];
    guint next = loom_graph_across(b->graph, edge, top->node);
    if (edge == top->by)
      continue;
    if (b->seen[next])
      b->low[top->node] = MIN(b->low[top->node], b->seen[next]);
    else
      arrive(b, next, edge);
  }
}

static bool *
find_bridges(const LoomGraph *graph)
{
  g_autofree guint *seen = g_new0(guint, graph->n_nodes + 1);
  g_autofree guint *low = g_new0(guint, graph->n_nodes + 1);
  Bridges b = {graph,
               seen,
               low,
               0,
               g_new0(bool, graph->n_edges + 1),
               g_array_new(FALSE, FALSE, sizeof(Step))};
  for (guint v = 0; v < graph->n_nodes; v++)
    if (!seen[v])
      walk_from(&b, v);
  g_array_free(b.stack, TRUE);
  return b.bridge;
}

static void
shrink(LoomWays *ways, const bool *bridge)
{
  const LoomGraph *g = ways->graph;
  g_autoptr(LoomForest) forest = loom_forest_new(g->n_nodes);
  for (guint e = 0; e < g->n_edges; e++)
    if (!bridge[e])
      loom_forest_join(forest, g->edges[e].a, g->edges[e].b);
  LoomCircuits *blocks = loom_forest_circuits(forest);
  ways->n_blocks = blocks->n_circuits;
  ways->block = g_steal_pointer(&blocks->circuit);
  loom_circuits_free(blocks);
}

/* Bridges at each block, as a graph of blocks. */
static LoomGraph *
graph_of_blocks(const LoomWays *ways, const bool *bridge, GArray *numbers)
{
  GArray *edges = g_array_new(FALSE, FALSE, sizeof(LoomEdge));
  for (guint e = 0; e < ways->graph->n_edges; e++) {
    if (!bridge[e])
      continue;
    LoomEdge edge = {ways->block[ways->graph->edges[e].a], ways->block[ways->graph->edges[e].b],
                     LOOM_NONE, LOOM_NONE};
    g_array_append_val(edges, edge);
    g_array_append_val(numbers, e);
  }
  return loom_graph_take(ways->n_blocks, edges->len, edges);
}

/* From each root outwards, parents before children, in `order`; parents and bridges by old number.
 */
static void
order_blocks(const LoomGraph *tree, const guint *edge_of, guint *order, guint *parent,
             guint *bridge)
{
  g_autofree bool *seen = g_new0(bool, tree->n_nodes + 1);
  guint end = 0;
  for (guint root = 0; root < tree->n_nodes; root++) {
    if (seen[root])
      continue;
    guint begin = end;
    seen[root] = true;
    parent[root] = bridge[root] = LOOM_NONE;
    order[end++] = root;
    for (guint i = begin; i < end; i++) {
      guint block = order[i];
      for (guint k = tree->first[block]; k < tree->first[block + 1]; k++) {
        guint edge = tree->incident[k], next = loom_graph_across(tree, edge, block);
        if (seen[next])
          continue;
        seen[next] = true;
        parent[next] = block;
        bridge[next] = edge_of[edge];
        order[end++] = next;
      }
    }
  }
}

/* Numbers the blocks anew, so that parents stand before their children and sweeps go straight
 * through memory. */
static void
number_blocks(LoomWays *ways, const bool *bridge)
{
  guint n = ways->n_blocks;
  g_autoptr(GArray) edge_of = g_array_new(FALSE, FALSE, sizeof(guint));
  g_autoptr(LoomGraph) tree = graph_of_blocks(ways, bridge, edge_of);
  g_autofree guint *order = g_new(guint, n + 1);
  g_autofree guint *number = g_new(guint, n + 1);
  g_autofree guint *parent = g_new(guint, n + 1);
  g_autofree guint *by = g_new(guint, n + 1);
  order_blocks(tree, (const guint *)(gpointer)edge_of->data, order, parent, by);
  for (guint i = 0; i < n; i++)
    number[order[i]] = i;
  for (guint v = 0; v < ways->graph->n_nodes; v++)
    ways->block[v] = number[ways->block[v]];
  ways->parent = g_new(guint, n + 1);
  ways->bridge = g_new(guint, n + 1);
  for (guint i = 0; i < n; i++) {
    guint old = order[i];
    ways->parent[i] = parent[old] == LOOM_NONE ? LOOM_NONE : number[parent[old]];
    ways->bridge[i] = by[old];
  }
}

LoomWays *
loom_ways_new(LoomGraph *graph, LoomAmount *caps)
{
  LoomWays *ways = g_new0(LoomWays, 1);
  ways->graph = graph;
  ways->caps = caps;
  g_autofree bool *bridge = find_bridges(graph);
  shrink(ways, bridge);
  number_blocks(ways, bridge);
  return ways;
}

void
loom_ways_free(LoomWays *ways)
{
  if (!ways)
    return;
  loom_graph_free(ways->graph);
  g_free(ways->caps);
  g_free(ways->block);
  g_free(ways->parent);
  g_free(ways->bridge);
  g_free(ways);
}

/* A sum that can give one of its terms back, infinite ones too, and knows its two greatest. */
typedef struct LoomSum {
  double finite, greatest; /* of the finite terms: sum, and the greatest with its cause */
  LoomCause cause;
  guint n_infinite, n_open; /* terms without end, and those that more than electronics bound */
  struct {
    LoomAmount amount;
    guint who; /* block that it came from, LOOM_NONE: the block's own, or from above */
  } best, second;
} Sum;

static bool
is_open(LoomAmount amount)
{
  return amount.A > 0 && !amount.cause.electronic;
}

static void
sum_add(Sum *sum, LoomAmount amount, guint who)
{
  sum->n_open += is_open(amount);
  if (isinf(amount.A)) {
    sum->n_infinite++;
  } else {
    sum->finite += amount.A;
    if (amount.A > sum->greatest) {
      sum->greatest = amount.A;
      sum->cause = amount.cause;
    }
  }
  if (amount.A > sum->best.amount.A) {
    sum->second = sum->best;
    sum->best.amount = amount;
    sum->best.who = who;
  } else if (amount.A > sum->second.amount.A) {
    sum->second.amount = amount;
    sum->second.who = who;
  }
}

static LoomAmount
sum_all(const Sum *sum)
{
  LoomAmount all = {sum->n_infinite ? INFINITY : fmax(sum->finite, 0), sum->best.amount.cause};
  all.cause.electronic = sum->n_open == 0;
  return all;
}

/* Without what block `who` brought. */
static LoomAmount
sum_without(const Sum *sum, LoomAmount amount, guint who)
{
  guint n_infinite = sum->n_infinite - (isinf(amount.A) ? 1 : 0);
  double finite = sum->finite - (isinf(amount.A) ? 0 : amount.A);
  if (finite < 1e-12 * sum->finite)
    finite = 0;
  bool own = sum->best.who == who && sum->best.amount.A > 0;
  LoomAmount rest = {n_infinite ? INFINITY : finite,
                     own ? sum->second.amount.cause : sum->best.amount.cause};
  rest.cause.electronic = sum->n_open == (is_open(amount) ? 1 : 0);
  return rest;
}

LoomAmount
loom_amount_min(LoomAmount a, LoomAmount b)
{
  if (a.A < b.A || b.A < a.A)
    return b.A < a.A ? b : a;
  return b.cause.electronic && !a.cause.electronic ? b : a;
}

LoomSpread *
loom_spread_new(const LoomWays *ways)
{
  guint n = ways->n_blocks;
  LoomSpread *spread = g_new(LoomSpread, 1);
  spread->up = g_new0(LoomAmount, n + 1);
  spread->out = g_new0(LoomAmount, n + 1);
  spread->total = g_new0(LoomAmount, n + 1);
  spread->sums = g_new(Sum, n + 1);
  return spread;
}

/* From the leaves inwards. */
static void
sweep_up(LoomSpread *spread, const LoomWays *ways, const LoomAmount *caps)
{
  for (guint c = ways->n_blocks; c-- > 0;) {
    guint p = ways->parent[c];
    if (p == LOOM_NONE)
      continue;
    spread->up[c] = sum_all(&spread->sums[c]);
    if (caps)
      spread->up[c] = loom_amount_min(spread->up[c], caps[ways->bridge[c]]);
    sum_add(&spread->sums[p], spread->up[c], c);
  }
}

static void
sweep_out(LoomSpread *spread, const LoomWays *ways, const LoomAmount *caps)
{
  for (guint c = 0; c < ways->n_blocks; c++) {
    guint p = ways->parent[c];
    if (p != LOOM_NONE) {
      spread->out[c] = sum_without(&spread->sums[p], spread->up[c], c);
      if (caps)
        spread->out[c] = loom_amount_min(spread->out[c], caps[ways->bridge[c]]);
      sum_add(&spread->sums[c], spread->out[c], LOOM_NONE);
    }
    spread->total[c] = sum_all(&spread->sums[c]);
  }
}

void
loom_spread_fill(LoomSpread *spread, const LoomWays *ways, const LoomAmount *caps,
                 const LoomAmount *own)
{
  memset(spread->sums, 0, ways->n_blocks * sizeof(Sum));
  for (guint v = 0; v < ways->graph->n_nodes; v++)
    if (fabs(own[v].A) > 0) /* most vertices have nothing of their own */
      sum_add(&spread->sums[ways->block[v]], own[v], LOOM_NONE);
  sweep_up(spread, ways, caps);
  sweep_out(spread, ways, caps);
}

void
loom_spread_free(LoomSpread *spread)
{
  if (!spread)
    return;
  g_free(spread->up);
  g_free(spread->out);
  g_free(spread->total);
  g_free(spread->sums);
  g_free(spread);
}

LoomAmount
loom_spread_without(const LoomSpread *spread, guint block, double own_A)
{
  const Sum *sum = &spread->sums[block];
  bool infinite = isinf(own_A);
  if (sum->n_infinite > (infinite ? 1u : 0u))
    return (LoomAmount){INFINITY, spread->total[block].cause};
  return (LoomAmount){fmax(sum->finite - (infinite ? 0 : own_A), 0), sum->cause};
}

static LoomBound
bound_of(LoomAmount guard, LoomAmount draw)
{
  return (LoomBound){guard.A, draw.A, fmin(guard.A, draw.A), guard.cause, draw.cause, false};
}

LoomBound
loom_ways_bound(const LoomWays *ways, const LoomSpread *push, const LoomSpread *take, guint edge)
{
  guint a = ways->block[ways->graph->edges[edge].a], b = ways->block[ways->graph->edges[edge].b];
  if (a == b) {
    LoomBound whole = bound_of(loom_amount_min(push->total[a], ways->caps[edge]),
                               loom_amount_min(take->total[a], ways->caps[edge]));
    whole.parallel = true;
    return whole;
  }
  guint child = ways->bridge[a] == edge ? a : b;
  LoomBound down = bound_of(push->out[child], take->up[child]);
  LoomBound up = bound_of(push->up[child], take->out[child]);
  bool same = up.most_A <= down.most_A && down.most_A <= up.most_A;
  return up.most_A > down.most_A || (same && up.guard_A > down.guard_A) ? up : down;
}
