/* The case in hand: a robot that does not work, what has been seen of it so far, and what that
 * says.
 *
 * The model of the present revision and scene is made in a thread as soon as the case is followed.
 * Answers are kept by the keys of their tests, so that they outlive a change of the drawing. Signal
 * "changed", without arguments: model, answers or diagnosis are others. */
#pragma once

#include "document.h"
#include "planning/faults.h"

G_BEGIN_DECLS

#define LOOM_TYPE_FAULT_CASE (loom_fault_case_get_type())
G_DECLARE_FINAL_TYPE(LoomFaultCase, loom_fault_case, LOOM, FAULT_CASE, GObject)

/* `document` is referenced. New. */
LoomFaultCase *loom_fault_case_new(LoomDocument *document);
/* Nothing is worked out while it is not followed. */
void loom_fault_case_follow(LoomFaultCase *self, bool followed);

/* Both NULL while the model is being made, and of the same model otherwise. Borrowed until
 * "changed". */
const LoomFaultModel *loom_fault_case_model(LoomFaultCase *self);
const LoomDiagnosis *loom_fault_case_diagnosis(LoomFaultCase *self);
/* What the model was made of: its numbers of parts and ends hold for this. Borrowed. */
const LoomDesign *loom_fault_case_design(LoomFaultCase *self);
/* Counts up with every model. */
guint loom_fault_case_serial(LoomFaultCase *self);

/* Answers in the order in which they were given; at most one a test. */
guint loom_fault_case_n_answers(LoomFaultCase *self);
LoomEvidence loom_fault_case_answer(LoomFaultCase *self, guint index);
/* The answer to this test; false where there is none. */
bool loom_fault_case_find(LoomFaultCase *self, guint test, guint32 *outcomes);

/* Outcomes as a bit set; 0: cannot tell. Takes the place of an answer to the same test. */
void loom_fault_case_say(LoomFaultCase *self, guint test, guint32 outcomes);
/* Takes the answer back, as if it had not been given; can be undone. */
void loom_fault_case_forget(LoomFaultCase *self, guint test);
/* Takes back what was last said, forgotten or started afresh. */
bool loom_fault_case_can_undo(LoomFaultCase *self);
void loom_fault_case_undo(LoomFaultCase *self);
void loom_fault_case_afresh(LoomFaultCase *self);

G_END_DECLS
