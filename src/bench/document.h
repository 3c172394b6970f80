/* The document: one design in one window, with everything that is computed from it once a revision.
 *
 * Every change goes through it, so that the sheet, the findings, the draft and the title follow.
 * Signals, without arguments:
 *   "changed"    the design has another revision; the sheet is anew
 *   "scene"      another scene is shown; the sheet is anew
 *   "findings"   the rules have looked at the present revision
 *   "title"      path or modified mark changed */
#pragma once

#include "draft.h"
#include "events.h"
#include "planning/linkup.h"
#include "rules/rules.h"
#include "sheet/sheet.h"

#include <gio/gio.h>

G_BEGIN_DECLS

#define LOOM_TYPE_DOCUMENT (loom_document_get_type())
G_DECLARE_FINAL_TYPE(LoomDocument, loom_document, LOOM, DOCUMENT, GObject)

/* An empty sheet. `catalogue` is referenced; `drafts` and `events` are borrowed and must live on;
 * either may be NULL. */
LoomDocument *loom_document_new(LoomCatalogue *catalogue, LoomDrafts *drafts, LoomEvents *events);

/* Reads `path` in place of what is there; false with `error`, nothing changed. */
bool loom_document_open(LoomDocument *document, const char *path, GError **error);
/* Takes over a draft: its text, the path of its original, modified. */
bool loom_document_recover(LoomDocument *document, const LoomDraft *draft, GError **error);
/* Puts another design in place of what is there, as a new sheet that has never been saved; taken.
 */
void loom_document_start_from(LoomDocument *document, LoomDesign *design);
bool loom_document_save(LoomDocument *document, const char *path, GError **error);
/* Gives up the draft: the work is saved or not wanted. */
void loom_document_discard_draft(LoomDocument *document);

const char *loom_document_path(LoomDocument *document); /* borrowed; NULL where never saved */
char *loom_document_name(LoomDocument *document);       /* for titles; new */
bool loom_document_modified(LoomDocument *document);
/* Whether nothing has been drawn in it and it has no file: may be replaced without a question. */
bool loom_document_untouched(LoomDocument *document);

/* All borrowed. The sheet is valid until the next change; findings are NULL until first computed.
 */
const LoomDesign *loom_document_design(LoomDocument *document);
/* Counts the designs that have been put in place of one another: two of them may have the same
 * revision. */
guint loom_document_design_number(LoomDocument *document);
LoomCatalogue *loom_document_catalogue(LoomDocument *document);
void loom_document_set_catalogue(LoomDocument *document, LoomCatalogue *catalogue);
LoomPieces *loom_document_pieces(LoomDocument *document);
LoomEvents *loom_document_events(LoomDocument *document);
const LoomSheet *loom_document_sheet(LoomDocument *document);
const LoomFindings *loom_document_findings(LoomDocument *document);

/* Lets the rules look at the present revision, as every change does by itself. */
void loom_document_check(LoomDocument *document);

guint loom_document_scene(LoomDocument *document);
void loom_document_set_scene(LoomDocument *document, guint scene);
const char *loom_document_scene_name(LoomDocument *document); /* borrowed */

/* Starts a change of the present design. New. */
LoomEdit *loom_document_edit(LoomDocument *document, const char *label);
/* Ends it; the edit is taken. false where it holds no change. */
bool loom_document_apply(LoomDocument *document, LoomEdit *edit);
/* One property in one step; see loom_edit_set. */
bool loom_document_set(LoomDocument *document, const char *target, const char *key,
                       const char *value, GError **error);
bool loom_document_undo(LoomDocument *document);
bool loom_document_redo(LoomDocument *document);

G_END_DECLS
