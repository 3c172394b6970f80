#include "graph.h"

#include <math.h>

static bool
joins_two(const LoomElement *e)
{
  return e->type == LOOM_ELEMENT_WIRE || e->type == LOOM_ELEMENT_THROUGH ||
         e->type == LOOM_ELEMENT_SWITCH || e->type == LOOM_ELEMENT_FUSE;
}

GArray *
loom_graph_edges(const LoomWiring *w)
{
  GArray *edges = g_array_sized_new(FALSE, FALSE, sizeof(LoomEdge), w->n_touches + w->n_nodes);
  for (guint t = 0; t < w->n_touches; t++) {
    LoomEdge edge = {w->touches[t].a, w->touches[t].b, LOOM_NONE, LOOM_NONE};
    g_array_append_val(edges, edge);
  }
  for (guint p = 0; p < w->n_parts; p++) {
    const LoomKind *kind = loom_wiring_part(w, p)->kind;
    for (guint i = 0; i < kind->n_elements; i++) {
      const LoomElement *e = &kind->elements[i];
      LoomEdge edge = {w->part_node[p] + e->a, w->part_node[p] + e->b, p, i};
      if (joins_two(e))
        g_array_append_val(edges, edge);
    }
  }
  return edges;
}

static void
list_incident(LoomGraph *g)
{
  g->first = g_new0(guint, g->n_nodes + 2);
  g->incident = g_new(guint, 2 * g->n_edges + 1);
  guint *fill = g->first + 1; /* becomes the table of firsts as it fills up */
  for (guint i = 0; i < g->n_edges; i++)
    for (guint k = 0; k < 2; k++)
      fill[(k ? g->edges[i].b : g->edges[i].a) + 1]++;
  for (guint v = 0; v < g->n_nodes; v++)
    fill[v + 1] += fill[v];
  for (guint i = 0; i < g->n_edges; i++)
    for (guint k = 0; k < 2; k++)
      g->incident[fill[k ? g->edges[i].b : g->edges[i].a]++] = i;
}

LoomGraph *
loom_graph_take(guint n_nodes, guint n_touches, GArray *edges)
{
  LoomGraph *g = g_new0(LoomGraph, 1);
  g->n_nodes = n_nodes;
  g->n_touches = n_touches;
  g->n_edges = edges->len;
  g->edges = (LoomEdge *)g_array_free(edges, FALSE);
  list_incident(g);
  return g;
}

LoomGraph *
loom_graph_new(const LoomWiring *w)
{
  return loom_graph_take(w->n_nodes, w->n_touches, loom_graph_edges(w));
}

void
loom_graph_free(LoomGraph *g)
{
  if (!g)
    return;
  g_free(g->edges);
  g_free(g->first);
  g_free(g->incident);
  g_free(g);
}

guint
loom_graph_across(const LoomGraph *g, guint edge, guint node)
{
  return g->edges[edge].a == node ? g->edges[edge].b : g->edges[edge].a;
}

const LoomElement *
loom_graph_element(const LoomGraph *g, const LoomWiring *w, guint edge)
{
  const LoomEdge *e = &g->edges[edge];
  return e->part == LOOM_NONE ? NULL : &loom_wiring_part(w, e->part)->kind->elements[e->element];
}

double
loom_wire_length_mm(const LoomPart *part, const LoomElement *wire)
{
  double own = isnan(wire->length_mm) ? loom_part_length_mm(part) : wire->length_mm;
  return isnan(own) ? 0 : own;
}

double
loom_graph_length_mm(const LoomGraph *g, const LoomWiring *w, guint edge)
{
  const LoomElement *e = loom_graph_element(g, w, edge);
  return e && e->type == LOOM_ELEMENT_WIRE
             ? loom_wire_length_mm(loom_wiring_part(w, g->edges[edge].part), e)
             : 0;
}
