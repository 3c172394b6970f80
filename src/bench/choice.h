/* The choice: what is selected on the bench. Parts, or one joint; among the parts one may be the
 * cursor, and one of its ends with it.
 *
 * Things are named as the design names them, so a choice outlives every revision; what has gone is
 * dropped by loom_choice_prune. Signal "changed", without arguments, once a call that changed it.
 */
#pragma once

#include "design/design.h"

#include <glib-object.h>

G_BEGIN_DECLS

#define LOOM_TYPE_CHOICE (loom_choice_get_type())
G_DECLARE_FINAL_TYPE(LoomChoice, loom_choice, LOOM, CHOICE, GObject)

LoomChoice *loom_choice_new(void);

void loom_choice_clear(LoomChoice *choice);
/* Just this part; `end` is the id of the end under the cursor, or NULL. */
void loom_choice_set_part(LoomChoice *choice, const char *designation, const char *end);
/* Just these; [n]. The last is the cursor. */
void loom_choice_set_parts(LoomChoice *choice, const char *const *designations, guint n);
void loom_choice_toggle(LoomChoice *choice, const char *designation);
/* The joint between two ends, "G1:out" and "F1:in". */
void loom_choice_set_joint(LoomChoice *choice, const char *a, const char *b);

guint loom_choice_n_parts(LoomChoice *choice);
/* Borrowed until the next change. */
const char *loom_choice_part(LoomChoice *choice, guint index);
bool loom_choice_has(LoomChoice *choice, const char *designation);
/* Part and end under the cursor; NULL where there is none. Borrowed. */
const char *loom_choice_cursor(LoomChoice *choice);
const char *loom_choice_end(LoomChoice *choice);

/* Index of the chosen joint in the design, or LOOM_NONE. */
guint loom_choice_joint(LoomChoice *choice, const LoomDesign *design);
bool loom_choice_is_joint(LoomChoice *choice);

/* Drops what the design no longer has. */
void loom_choice_prune(LoomChoice *choice, const LoomDesign *design);

G_END_DECLS
