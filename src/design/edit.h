/* Changes, and how they are made: an edit is a list of records put in place of others.
 *
 * loom_edit_new takes a snapshot of the design; the calls below change that working copy and note
 * what they did, so that a later call sees what an earlier one made. A call that fails returns
 * false, sets `error` to one sentence and leaves the edit as it was before the call. Applying (or
 * freeing) the edit ends it. Any number of calls make one undo step. */
#pragma once

#include "design.h"

G_BEGIN_DECLS

/* `label` is what the Edit menu shows ("Plug G1:out into F1:in"); copied. */
LoomEdit *loom_edit_new(const LoomDesign *design, const char *label);
void loom_edit_free(LoomEdit *edit);
void loom_edit_set_label(LoomEdit *edit, const char *label);
/* The working copy, borrowed. */
const LoomDesign *loom_edit_design(const LoomEdit *edit);
bool loom_edit_is_empty(const LoomEdit *edit);

/* Places a part. `designation` NULL: letter of the kind and the lowest number that is free, from 1.
 * A kind that the design already embeds under the same id is used as embedded. x, y NAN: a free
 * place to the right of what is there. Returns the designation, borrowed from the edit's design, or
 * NULL. */
const char *loom_edit_add(LoomEdit *edit, const LoomKind *kind, const char *designation,
                          double x_mm, double y_mm, GError **error);

/* Plugs two ends, written "G1:out". `scenes` (NULL-terminated names) or NULL: every scene in which
 * both ends have a place left. Fails where an end does not exist, is taken in a scene named, or
 * where no scene has both free; does not ask whether they mate. */
bool loom_edit_plug(LoomEdit *edit, const char *a, const char *b, LoomFit fit,
                    const char *const *scenes, GError **error);

/* Unplugs whatever is plugged at the end, in the scene of that name or (NULL) altogether. */
bool loom_edit_unplug(LoomEdit *edit, const char *end, const char *scene, GError **error);
bool loom_edit_unplug_joint(LoomEdit *edit, guint joint, GError **error);

/* Removes a part, its joints and what states say of it. */
bool loom_edit_remove(LoomEdit *edit, const char *designation, GError **error);

/* Moves, turns by quarter turns clockwise, mirrors. */
bool loom_edit_move(LoomEdit *edit, const char *designation, double x_mm, double y_mm,
                    GError **error);
bool loom_edit_turn(LoomEdit *edit, const char *designation, int quarters, GError **error);
bool loom_edit_flip(LoomEdit *edit, const char *designation, GError **error);

/* Sets one property from text, as the tag and the command do. Targets and keys:
 *   "design"            name revision date drawn-by checked-by note before after ambient_C
 *   "M1"                designation label name note place settings x_mm y_mm turn flip on length_mm
 *                       reach_mm rated_A address kind (an id that the design embeds)
 *   "G1:out"            tied fit note network scenes ("driving, charging"; "" for every scene)
 *   "scene:driving"     name note
 *   "state:driving/pushing"  name, or PART.KEY ("Q1.on", "M1.duty"): "" takes the setting away
 *   "outing:driving/match"   name, legs ("driving 60, pushing 5")
 * "" clears what may be absent. */
bool loom_edit_set(LoomEdit *edit, const char *target, const char *key, const char *value,
                   GError **error);

/* Another kind for a part; joints at ends that it does not have are dropped. */
bool loom_edit_set_kind(LoomEdit *edit, const char *designation, const LoomKind *kind,
                        GError **error);

/* Scenes, states and outings by target ("scene:charging", "state:driving/pushing",
 * "outing:driving/match"). The last scene stays. Removing a scene removes the joints only it had.
 */
bool loom_edit_add_target(LoomEdit *edit, const char *target, GError **error);
bool loom_edit_remove_target(LoomEdit *edit, const char *target, GError **error);

/* Pastes what loom_design_extract wrote, moved by dx, dy; designations that are taken get the next
 * free number. The designations given are appended to `given` (new strings) unless NULL. */
bool loom_edit_paste(LoomEdit *edit, const char *text, double dx_mm, double dy_mm, GPtrArray *given,
                     GError **error);

/* Puts records straight into the tables: for generators and tidying. Replaces the record at
 * `index`; `part` is taken. */
void loom_edit_replace_part(LoomEdit *edit, guint index, LoomPart *part);

/* Lowest designation with that letter that is free: "W3". New. */
char *loom_design_free_designation(const LoomDesign *design, const char *letter);
/* Letter(s) and number, "M12". */
bool loom_designation_valid(const char *text);
/* Usable as an identifier in program code: a letter or _, then letters, digits, _; no keyword of C,
 * Java or Python. */
bool loom_name_valid(const char *text);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomEdit, loom_edit_free)

G_END_DECLS
