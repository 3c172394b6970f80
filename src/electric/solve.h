/* Solving a state: nodal analysis of the whole network, by Newton's method.
 *
 *   g_autoptr(LoomNetwork) network = loom_network_new(wiring);
 *   g_autoptr(LoomSolver) solver = loom_solver_new(network, state);
 *   LoomConditions now = loom_conditions(network);
 *   g_autoptr(LoomOperatingPoint) point = loom_solver_run(solver, &now);
 *   now.charge = 0.4;
 *   g_autoptr(LoomOperatingPoint) later = loom_solver_run(solver, &now);  // no new analysis
 *
 * 1. Equations of the topology: see equations.h. Switches and outputs that are off, and electronics
 * that are locked out, are not in them.
 * 2. Newton from above: loads start as resistors that take a quarter of what they ask for, so that
 *    voltages start too high. For constant powers behind resistances the iterates then fall towards
 * the highest solution, which is the stable one, and cannot jump over it. A step that does not
 * bring the equations nearer is halved.
 * 3. Where that fails, the same with full steps, with secants for derivatives, and by a walk
 * through time until it settles. Then constant powers are raised from nothing in steps, each from
 * the one before. If they cannot be raised to all that is asked for, no operating point exists, and
 * the share reached says what the supply can give at most.
 * 4. Where a common limit that acts is passed, the outputs behind it are taken back alike until it
 * holds, see foldback.h.
 * 5. Electronics that then get less than their lock-out voltage are put to sleep, the neediest part
 *    first and equally needy ones together (lockout.h), and it starts again from 1. What is asleep
 * at the start (`carry_on`) wakes if it gets its release voltage. Each does either once, so that
 * ends. */
#pragma once

#include "point.h"

G_BEGIN_DECLS

typedef struct {
  double charge;         /* 0 ... 1, of every pack without a figure of its own below */
  const double *charges; /* [n_branches] of packs, NAN: as `charge`; or NULL; borrowed */
  const double *wire_C;  /* [n_branches] temperatures of wires; or NULL: ambient; borrowed */
  double ambient_C;
  bool carry_on; /* what was asleep stays asleep until its release voltage */
} LoomConditions;

/* Full packs, wires at the title block's ambient temperature, everything awake. */
LoomConditions loom_conditions(const LoomNetwork *network);

typedef struct LoomSolver LoomSolver;

/* `state` NULL: as placed. Both must outlive it. New. */
LoomSolver *loom_solver_new(const LoomNetwork *network, const LoomState *state);
void loom_solver_free(LoomSolver *solver);

/* From now on these branches are broken as well [n_branches]: a loose contact, a broken wire, a
 * blown fuse. NULL: none. Topologies are made anew. */
void loom_solver_break(LoomSolver *solver, const bool *broken);

/* New, never NULL; see its trouble. The same topology is analysed once however often this is
 * called. */
LoomOperatingPoint *loom_solver_run(LoomSolver *solver, const LoomConditions *conditions);

/* For `carry_on`: what was asleep at `point`, of the same network, is asleep to begin with. */
void loom_solver_carry(LoomSolver *solver, const LoomOperatingPoint *point);

/* Around the last point: open-circuit voltage between two nodes and the resistance that a small
 * current drawn there sees. Uses the factors at hand. false where the nodes are not in one island.
 */
bool loom_solver_source(LoomSolver *solver, guint a, guint b, double *volt, double *ohm);

/* What was done so far, over all topologies. */
typedef struct {
  guint topologies, analyses, factors, refactors, iterations;
} LoomSolverCounts;
LoomSolverCounts loom_solver_counts(const LoomSolver *solver);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomSolver, loom_solver_free)

G_END_DECLS
