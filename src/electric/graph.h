/* The graph of contacts: what limits, distances and waterfalls walk on. For electric/ and rules/.
 *
 * Vertices are the wiring's nodes, edges its touches (first, by their number) and after them every
 * element that simply joins two nodes: wires, inner joints, switches, fuses. */
#pragma once

#include "wiring.h"

G_BEGIN_DECLS

typedef struct {
  guint a, b;          /* nodes */
  guint part, element; /* of an element; LOOM_NONE of a touch */
} LoomEdge;

typedef struct {
  guint n_nodes, n_edges, n_touches;
  LoomEdge *edges; /* [n_edges] */
  guint *first;    /* [n_nodes + 1] into incident */
  guint *incident; /* [2 n_edges] edge numbers by node */
} LoomGraph;

LoomGraph *loom_graph_new(const LoomWiring *wiring);
/* A graph of other edges (LoomEdge; the array is taken), the first `n_touches` of them touches. */
LoomGraph *loom_graph_take(guint n_nodes, guint n_touches, GArray *edges);
/* Its edges (LoomEdge), for the latter. New. */
GArray *loom_graph_edges(const LoomWiring *wiring);
void loom_graph_free(LoomGraph *graph);
/* The other node of the edge. */
guint loom_graph_across(const LoomGraph *graph, guint edge, guint node);
/* The element behind an edge; NULL for a touch. Borrowed. */
const LoomElement *loom_graph_element(const LoomGraph *graph, const LoomWiring *wiring, guint edge);
/* Length of conductor along the edge, 0 for all but wires. */
double loom_graph_length_mm(const LoomGraph *graph, const LoomWiring *wiring, guint edge);

/* Length of a WIRE element of the part; 0 where neither states one. */
double loom_wire_length_mm(const LoomPart *part, const LoomElement *wire);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomGraph, loom_graph_free)

G_END_DECLS
