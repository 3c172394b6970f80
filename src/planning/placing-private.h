/* Adding parts and plugging them in one act, which is done whole or not at all. */
#pragma once

#include "offers.h"

G_BEGIN_DECLS

/* Adds a part at `at` (NULL: a free place). Borrowed designation, or NULL with `error`. */
const char *loom_placing_add(LoomEdit *edit, const LoomKind *kind, const LoomPlacing *at,
                             GError **error);

/* Runs `act` on a trial edit of the same working copy first, then on `edit`: where it fails, `edit`
 * is what it was. */
typedef bool (*LoomAct)(LoomEdit *edit, gpointer data, GError **error);
bool loom_placing_whole(LoomEdit *edit, LoomAct act, gpointer data, GError **error);

G_END_DECLS
