/* The network of a scene: every contact that touches and every element as one branch with its
 * figures, whatever the state. Built once a revision and scene; the wiring must outlive it.
 *
 * Branch numbers: 0 ... n_touches - 1 the wiring's touches, then the elements of part 0, 1, ... */
#pragma once

#include "wiring.h"

G_BEGIN_DECLS

typedef struct {
  const LoomElement *element; /* NULL for a touch; lives in the wiring */
  guint part;                 /* LOOM_NONE for a touch */
  guint a, b, c, d;           /* nodes of the wiring; c, d LOOM_NONE where there are none */
  double ohm;    /* at 20 °C; touches, wires, inner joints, switches, fuses, sources, resistors */
  bool copper;   /* a wire: its resistance follows its temperature */
  bool possible; /* false: a figure that no such thing can have (negative, no number, ...) */
} LoomBranch;

typedef struct {
  const LoomWiring *wiring; /* borrowed */
  guint n_branches, n_touches;
  LoomBranch *branches; /* [n_branches] */
  guint *part_branch;   /* [n_parts + 1] first branch of each part */
  double ambient_C;     /* of the title block */
} LoomNetwork;

/* New. */
LoomNetwork *loom_network_new(const LoomWiring *wiring);
void loom_network_free(LoomNetwork *network);

/* Resistances below this are none: such a branch makes one node of two. A nano-ohm is a millionth
 * of the least contact resistance that one meets. */
#define LOOM_NO_OHM 1e-9

/* "G1" for an element, "G1:out:+ and F1:in:+" for a touch. New. */
char *loom_branch_name(const LoomNetwork *network, guint branch);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomNetwork, loom_network_free)

G_END_DECLS
