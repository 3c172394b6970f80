/* Everything that flows in a scene: one operating point for each of its states.
 *
 *   g_autoptr(LoomOperation) op = loom_operation_new(wiring, 1.0);
 *   for (guint i = 0; i < op->n_states; i++)
 *     if (op->points[i]->trouble) ... loom_point_why(op->points[i], op->network) ...
 *     else { g_autoptr(LoomMargins) m = loom_margins_new(op->network, op->points[i]); ... }
 *
 * This is what rules, sheets and commands start from; it costs one solving a state. */
#pragma once

#include "margins.h"
#include "protection.h"
#include "solve.h"
#include "waterfall.h"

G_BEGIN_DECLS

typedef struct {
  const LoomWiring *wiring; /* borrowed: must outlive this */
  LoomNetwork *network;
  guint n_states;
  LoomOperatingPoint **points; /* [n_states] in the order of the scene's states */
} LoomOperation;

/* `charge` of every pack, 0 ... 1; what is shown first is 1, full packs: the highest currents. The
 * lowest voltages come with what the user thinks the pack may fall to; 0.2 is a fair figure for
 * judging a brown-out. New. */
LoomOperation *loom_operation_new(const LoomWiring *wiring, double charge);
void loom_operation_free(LoomOperation *operation);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomOperation, loom_operation_free)

G_END_DECLS
