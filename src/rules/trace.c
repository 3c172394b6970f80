#include "trace-private.h"

#include <string.h>

typedef struct {
  GArray *queue; /* nodes in the order they are reached */
  guint *by;     /* [n_nodes] edge by which a node was reached; FIRST, NOT_YET */
} Search;

#define NOT_YET LOOM_NONE
#define FIRST (LOOM_NONE - 1)

static Search
search_new(const LoomScenery *s)
{
  Search search = {g_array_new(FALSE, FALSE, sizeof(guint)), g_new(guint, s->wiring->n_nodes + 1)};
  memset(search.by, 0xff, (s->wiring->n_nodes + 1) * sizeof(guint));
  return search;
}

static void
search_clear(Search *search)
{
  g_array_free(search->queue, TRUE);
  g_free(search->by);
}

static void
reach(Search *search, guint node, guint edge)
{
  if (search->by[node] != NOT_YET)
    return;
  search->by[node] = edge;
  g_array_append_val(search->queue, node);
}

static void
step_from(const LoomScenery *s, Search *search, guint node)
{
  for (guint k = s->graph->first[node]; k < s->graph->first[node + 1]; k++) {
    guint edge = s->graph->incident[k];
    reach(search, loom_graph_across(s->graph, edge, node), edge);
  }
}

static GArray *
way_back(const LoomScenery *s, const Search *search, guint to)
{
  GArray *edges = g_array_new(FALSE, FALSE, sizeof(guint));
  for (guint node = to; search->by[node] != FIRST;) {
    guint edge = search->by[node];
    g_array_prepend_val(edges, edge);
    node = loom_graph_across(s->graph, edge, node);
  }
  return edges;
}

guint
loom_trace_nearest(const LoomScenery *s, guint from, LoomTraceWanted wanted, gpointer data,
                   GArray **edges)
{
  Search search = search_new(s);
  guint found = LOOM_NONE;
  reach(&search, from, FIRST);
  for (guint i = 0; i < search.queue->len && found == LOOM_NONE; i++) {
    guint node = g_array_index(search.queue, guint, i);
    if (wanted(s, node, data))
      found = node;
    else
      step_from(s, &search, node);
  }
  if (edges)
    *edges = found == LOOM_NONE ? NULL : way_back(s, &search, found);
  search_clear(&search);
  return found;
}

static bool
is_node(const LoomScenery *s, guint node, gpointer data)
{
  (void)s;
  return node == *(guint *)data;
}

GArray *
loom_trace_way(const LoomScenery *s, guint from, guint to)
{
  GArray *edges;
  loom_trace_nearest(s, from, is_node, &to, &edges);
  return edges;
}

static void
place_node(const LoomScenery *s, LoomFinding *f, guint node)
{
  if (s->node_end[node] != LOOM_NONE)
    loom_finding_place(f, loom_scenery_part(s, node), s->node_end[node]);
}

/* Unlike roles that meet in one joint: + and -, a supply and a signal, a motor pole and either. */
static bool
clash(const LoomContact *a, const LoomContact *b)
{
  return a->role != b->role && a->role != LOOM_ROLE_PASS && b->role != LOOM_ROLE_PASS;
}

/* A lead that joins two contacts of different names though each of the two ends has both. */
static bool
swaps_names(const LoomScenery *s, guint a, guint b)
{
  const LoomContact *x = loom_scenery_contact(s, a), *y = loom_scenery_contact(s, b);
  return x && y && !g_str_equal(x->name, y->name) &&
         loom_end_find_contact(loom_scenery_end(s, a), y->name) != LOOM_NONE &&
         loom_end_find_contact(loom_scenery_end(s, b), x->name) != LOOM_NONE;
}

/* Whether poles cross on the edge: at a joint that sits wrongly or in a lead that swaps them. */
static bool
crosses(const LoomScenery *s, guint edge)
{
  const LoomEdge *e = &s->graph->edges[edge];
  if (edge >= s->graph->n_touches)
    return swaps_names(s, e->a, e->b);
  const LoomWiredJoint *j = &s->wiring->joints[s->wiring->touches[edge].wired];
  return loom_design_joint(s->wiring->design, j->joint)->fit != LOOM_FIT_NORMAL ||
         clash(loom_scenery_contact(s, e->a), loom_scenery_contact(s, e->b));
}

guint
loom_trace_blame(const LoomScenery *s, LoomFinding *f, guint from, const GArray *edges)
{
  guint crossed = 0;
  for (guint pass = 0; pass < 2; pass++) {
    guint node = from;
    for (guint i = 0; i < edges->len; i++) {
      guint edge = g_array_index(edges, guint, i), next = loom_graph_across(s->graph, edge, node);
      if (crosses(s, edge) == (pass == 0) && (pass == 0 || edge < s->graph->n_touches)) {
        place_node(s, f, MIN(node, next));
        place_node(s, f, MAX(node, next));
      }
      node = next;
    }
    if (pass == 0)
      crossed = f->n_places;
  }
  return crossed;
}

static guint
degree(const LoomScenery *s, guint node)
{
  return s->graph->first[node + 1] - s->graph->first[node];
}

static bool
touches_something(const LoomScenery *s, guint node)
{
  for (guint k = s->graph->first[node]; k < s->graph->first[node + 1]; k++)
    if (s->graph->incident[k] < s->graph->n_touches)
      return true;
  return false;
}

/* Elements of its own part at the node. */
static guint
n_elements_at(const LoomScenery *s, guint node)
{
  guint part = s->wiring->node_part[node], local = node - s->wiring->part_node[part], n = 0;
  const LoomKind *kind = loom_wiring_part(s->wiring, part)->kind;
  for (guint i = 0; i < kind->n_elements; i++) {
    const LoomElement *e = &kind->elements[i];
    n += e->a == local || e->b == local || e->c == local || e->d == local;
  }
  return n;
}

/* Signal contacts need no element behind them: electronics listen there. */
static bool
is_loose(const LoomScenery *s, guint node)
{
  const LoomContact *c = loom_scenery_contact(s, node);
  if (!c)
    return degree(s, node) == 1 && n_elements_at(s, node) == 1;
  return !touches_something(s, node) ||
         (c->role != LOOM_ROLE_SIGNAL && n_elements_at(s, node) == 0);
}

GArray *
loom_trace_loose_ends(const LoomScenery *s, guint from)
{
  GArray *loose = g_array_new(FALSE, FALSE, sizeof(guint));
  Search search = search_new(s);
  reach(&search, from, FIRST);
  for (guint i = 0; i < search.queue->len; i++)
    step_from(s, &search, g_array_index(search.queue, guint, i));
  for (guint i = search.queue->len; i-- > 0;) {
    guint node = g_array_index(search.queue, guint, i);
    if (is_loose(s, node))
      g_array_append_val(loose, node);
  }
  search_clear(&search);
  return loose;
}

guint *
loom_trace_from_plus(const LoomScenery *s)
{
  Search search = search_new(s);
  guint n;
  const LoomFeed *feeds = loom_supply_feeds(s->closed, &n);
  for (guint i = 0; i < n; i++)
    if (!feeds[i].charger && !feeds[i].converter)
      reach(&search, feeds[i].plus, FIRST);
  for (guint i = 0; i < search.queue->len; i++)
    step_from(s, &search, g_array_index(search.queue, guint, i));
  g_array_free(search.queue, TRUE);
  for (guint i = 0; i < s->wiring->n_nodes; i++)
    if (search.by[i] == FIRST)
      search.by[i] = LOOM_NONE;
  return search.by;
}
