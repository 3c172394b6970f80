/* Drafts: unsaved work kept beside the user's files, so that it survives a kill or a power cut.
 *
 * The folder is loombook/drafts below the user's state folder. A draft is two files: ID.loom, the
 * design, and ID.ini, which says whose it is. A lock on the folder tells the drafts of a program
 * that is running from those of one that died: only who holds the lock may take over what it finds.
 */
#pragma once

#include "design/design.h"

G_BEGIN_DECLS

typedef struct LoomDrafts LoomDrafts;

/* A draft that somebody left behind. */
typedef struct {
  char *id;
  char *file;     /* the design */
  char *original; /* path of the file that it belongs to, or NULL */
  gint64 time;    /* of the last writing, seconds since 1970 */
} LoomDraft;

LoomDrafts *loom_drafts_new(void);
void loom_drafts_free(LoomDrafts *drafts);

/* What was left behind by programs that no longer run: array of LoomDraft *, new. Empty where
 * another program holds the lock. */
GPtrArray *loom_drafts_left(LoomDrafts *drafts);

/* An id that no draft has. New. */
char *loom_drafts_new_id(LoomDrafts *drafts);

/* Writes the design as draft `id`; `original` NULL where it has never been saved. May be called in
 * a thread with a snapshot. false with `error` where it cannot be written. */
bool loom_drafts_write(LoomDrafts *drafts, const char *id, const LoomDesign *design,
                       const char *original, GError **error);
void loom_drafts_discard(LoomDrafts *drafts, const char *id);

void loom_draft_free(LoomDraft *draft);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomDrafts, loom_drafts_free)
G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomDraft, loom_draft_free)

G_END_DECLS
