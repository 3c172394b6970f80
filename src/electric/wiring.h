/* The wiring of one scene: the design with every contact numbered and every joint resolved.
 *
 *        part 0          part 1                 nodes:   0 1 | 2 3 4 5 | ...
 *      [ out: + - ]---[ in: + -   out: + - ]    part_node: 0, 2, ...   (the kind's nodes in order)
 *
 * Made once per revision and scene; circuits, limits, the network and the rules all start from it.
 * It holds a snapshot, so it stays valid while the design goes on. All arrays are [n] and owned. */
#pragma once

#include "design/design.h"

G_BEGIN_DECLS

typedef struct {
  guint joint;         /* index in the design */
  guint part_a, end_a; /* indices in the design and in the kind */
  guint part_b, end_b;
  LoomMate mate; /* only LOOM_MATE_YES conducts */
  bool possible; /* the fit is one that the family allows; otherwise it conducts as normal */
} LoomWiredJoint;

/* Two contacts that touch. */
typedef struct {
  guint a, b;  /* nodes */
  guint wired; /* index in joints below */
} LoomTouch;

typedef struct {
  LoomDesign *design; /* snapshot */
  guint scene;        /* index */
  guint n_parts, n_nodes, n_ends, n_joints, n_touches;
  guint *part_node;       /* [n_parts + 1] first node of each part */
  guint *part_end;        /* [n_parts + 1] first end of each part in the numbering of all ends */
  guint *node_part;       /* [n_nodes] */
  guint *end_part;        /* [n_ends] */
  LoomWiredJoint *joints; /* [n_joints] those plugged in the scene, in file order */
  LoomTouch *touches;     /* [n_touches] by joint, then by contact of end a */
  guint *end_first;       /* [n_ends + 1] into end_joints */
  guint *end_joints;      /* joints at each end: indices in joints */
} LoomWiring;

/* `scene` is an index. New. */
LoomWiring *loom_wiring_new(const LoomDesign *design, guint scene);
void loom_wiring_free(LoomWiring *wiring);

const LoomPart *loom_wiring_part(const LoomWiring *wiring, guint part);
/* Node of a contact, node of a node index of the part's kind, number of an end among all ends. */
guint loom_wiring_node(const LoomWiring *wiring, guint part, guint end, guint contact);
guint loom_wiring_end(const LoomWiring *wiring, guint part, guint end);
/* How many joints of this scene are at the end; those that do not mate count too. */
guint loom_wiring_n_joints_at(const LoomWiring *wiring, guint part, guint end);
/* End and contact that show the node; false for an inner node. */
bool loom_wiring_contact(const LoomWiring *wiring, guint node, guint *part, guint *end,
                         guint *contact);
/* "G1:out:+"; an inner node is "K1 (5 V rail)" by its id. New. */
char *loom_wiring_node_name(const LoomWiring *wiring, guint node);
char *loom_wiring_end_name(const LoomWiring *wiring, guint part, guint end);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomWiring, loom_wiring_free)

G_END_DECLS
