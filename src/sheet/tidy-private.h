/* Tidying: what stands in which column, and where in it. Never leaves this room.
 *
 *   layer  -2      -1       0         1
 *        [ F1 ]->[ Q1 ]->[     ]->[ M1 ]       1. tidy-graph.c   parts and what joins them
 *                        | K1  |->[ M2 ]       2. tidy-layer.c   columns, which way each looks
 *                [ B1 ]<-[     ]->(W4)->[M3]   3. tidy-column.c  heights in the columns, widths
 *                           |                  4. tidy-page.c    components on the page
 *    (W9) loose           [ S1 ] below                                                      */
#pragma once

#include "run.h"
#include "tidy.h"

G_BEGIN_DECLS

typedef struct {
  guint a, end_a, b, end_b; /* parts; of tags the end of the lead */
  double need_mm;           /* length that joints and tags on it take */
  bool weak;                /* plugged in another scene only */
  bool direct;              /* two faces without a wire: they should touch */
} LoomTidyEdge;

typedef struct {
  LoomPart *part; /* copy that may be turned; owned */
  bool centre;    /* stays as it is, everything else is placed around it */
  bool reached;
  int layer, travel; /* travel: 1 when reached to the right, -1 to the left, 0 below */
  guint component;
  guint parent; /* node, or LOOM_NONE */
  guint parent_edge;
  guint order;     /* in which it was reached */
  guint below;     /* node that its component hangs below, or LOOM_NONE */
  guint glued;     /* node that it is plugged straight into and moves with, or LOOM_NONE */
  LoomPoint aside; /* from there to it */
  LoomRect box;    /* outline with words, connectors and plugs, at part x = y = 0 */
  GArray *edges;   /* of guint */
} LoomTidyNode;

typedef struct {
  const LoomDesign *design;
  guint n_nodes; /* one a part; through leads have no edges and are skipped */
  LoomTidyNode *nodes;
  bool *skip;    /* [n_nodes] leads that are laid between two ends */
  GArray *edges; /* of LoomTidyEdge */
  guint n_components, n_reached;
} LoomTidyGraph;

LoomTidyGraph *loom_tidy_graph_new(const LoomDesign *design, guint scene);
void loom_tidy_graph_free(LoomTidyGraph *graph);

/* Box of a part at 0, 0 as it is turned now, with all that sticks out of it. */
LoomRect loom_tidy_box(const LoomPart *part, GHashTable *pictures);
/* Where an end of the node looks (0, 0 for tags, which look anywhere), and its place relative to x,
 * y. */
LoomPoint loom_tidy_look(const LoomTidyNode *node, guint end, int *dx, int *dy);

void loom_tidy_layers(LoomTidyGraph *graph);
void loom_tidy_columns(LoomTidyGraph *graph);
/* `components`: of GArray of guint, nodes in the order in which they were reached. */
void loom_tidy_page(LoomTidyGraph *graph, GPtrArray *components);

double loom_grid_near(double mm); /* the nearest multiple of LOOM_GRID_MM, and the next one up */
double loom_grid_up(double mm);

G_END_DECLS
