/* Circuits: which nodes are one, through leads, joints, closed switches and whole fuses.
 *
 * This is what rules speak of; the solver has its own, finer view. */
#pragma once

#include "wiring.h"

G_BEGIN_DECLS

/* What counts as joined, besides joints, wires and inner joints. */
typedef enum {
  LOOM_THROUGH_SWITCHES = 1 << 0, /* by the state; without: no switch conducts */
  LOOM_THROUGH_OPEN = 1 << 1,     /* open switches too: what could become live */
  LOOM_THROUGH_FUSES = 1 << 2,
  LOOM_WITHOUT_JOINTS = 1 << 3, /* inside parts only */
} LoomThrough;

typedef struct {
  guint n_nodes, n_circuits;
  guint *circuit; /* [n_nodes] 0 ... n_circuits - 1, numbered by lowest node */
  guint *first;   /* [n_circuits + 1] into nodes */
  guint *nodes;   /* [n_nodes] by circuit, ascending */
} LoomCircuits;

/* `state` NULL: every part as placed. New. */
LoomCircuits *loom_circuits_new(const LoomWiring *wiring, const LoomState *state,
                                LoomThrough through);
void loom_circuits_free(LoomCircuits *circuits);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomCircuits, loom_circuits_free)

G_END_DECLS
