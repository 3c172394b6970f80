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

static bool
names_pole(const LoomContact *c)
{
  return g_str_equal(c->name, "+") || g_str_equal(c->name, "-");
}

/* Whether poles cross on the edge: at a joint that sits wrongly or in a lead that swaps them. */
static bool
crosses(const LoomScenery *s, guint edge)
{
  const LoomEdge *e = &s->graph->edges[edge];
  const LoomContact *a = loom_scenery_contact(s, e->a), *b = loom_scenery_contact(s, e->b);
  if (edge >= s->graph->n_touches)
    return a && b && names_pole(a) && names_pole(b) && !g_str_equal(a->name, b->name);
  const LoomWiredJoint *j = &s->wiring->joints[s->wiring->touches[edge].wired];
  return loom_design_joint(s->wiring->design, j->joint)->fit != LOOM_FIT_NORMAL || clash(a, b);
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
        place_node(s, f, node);
        place_node(s, f, next);
      }
      node = next;
    }
    if (pass == 0)
      crossed = f->n_places;
  }
  return crossed;
}

static bool
touches_something(const LoomScenery *s, guint node)
{
  for (guint k = s->graph->first[node]; k < s->graph->first[node + 1]; k++)
    if (s->graph->incident[k] < s->graph->n_touches)
      return true;
  return false;
}

static bool
leads_somewhere(const LoomScenery *s, guint node)
{
  guint part = s->wiring->node_part[node], local = node - s->wiring->part_node[part];
  const LoomKind *kind = loom_wiring_part(s->wiring, part)->kind;
  for (guint i = 0; i < kind->n_elements; i++) {
    const LoomElement *e = &kind->elements[i];
    if (e->a == local || e->b == local || e->c == local || e->d == local)
      return true;
  }
  return false;
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
    if (s->node_end[node] != LOOM_NONE &&
        (!touches_something(s, node) || !leads_somewhere(s, node)))
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
