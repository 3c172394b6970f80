/* How the robot is being used on the bench, and what flows then: the chosen state of the present
 * scene, the charge of its packs, and the flow that was solved last.
 *
 * Solves only while somebody watches, once for each revision, scene, state and charge. What took
 * less than a frame is solved at once, otherwise in a thread on a snapshot; while that goes on only
 * the newest wish is kept. Signals, without arguments:
 *   "flow"     another flow, or none, is there
 *   "use"      state, charge or the list of states is another
 *   "shown"    readings are shown on the sheet, or not */
#pragma once

#include "document.h"
#include "flow-solve.h"

G_BEGIN_DECLS

#define LOOM_TYPE_FLOW_STATE (loom_flow_state_get_type())
G_DECLARE_FINAL_TYPE(LoomFlowState, loom_flow_state, LOOM, FLOW_STATE, GObject)

/* `document` is referenced. */
LoomFlowState *loom_flow_state_new(LoomDocument *document);
LoomDocument *loom_flow_state_document(LoomFlowState *self);

/* Index in the present scene; LOOM_NONE where it has no states: as placed. */
guint loom_flow_state_state(LoomFlowState *self);
void loom_flow_state_set_state(LoomFlowState *self, guint state);
double loom_flow_state_charge(LoomFlowState *self); /* 0 ... 1 */
void loom_flow_state_set_charge(LoomFlowState *self, double charge);

/* Readings on the sheet. */
bool loom_flow_state_shown(LoomFlowState *self);
void loom_flow_state_show(LoomFlowState *self, bool shown);
/* Somebody else wants flows too; calls count. */
void loom_flow_state_watch(LoomFlowState *self, bool on);

/* Of the present revision and scene; it may be of the wish before while the newest is on its way.
 * Borrowed; NULL where there is none yet. */
const LoomFlowing *loom_flow_state_flow(LoomFlowState *self);

G_END_DECLS
