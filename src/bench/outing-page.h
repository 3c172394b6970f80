/* An outing in the drawer: which one, its curve, what came of it in words, and its export.
 *
 * It starts from the charge that is chosen on the bench, and runs in a thread once for each
 * revision, outing and charge, only while it is in sight: closing the page, another design, outing
 * or charge end it. What takes long has a button that cancels it, and is not begun again until it
 * is asked for or something is another. */
#pragma once

#include "flow-state.h"

#include <gtk/gtk.h>

G_BEGIN_DECLS

#define LOOM_TYPE_OUTING_PAGE (loom_outing_page_get_type())
G_DECLARE_FINAL_TYPE(LoomOutingPage, loom_outing_page, LOOM, OUTING_PAGE, GtkWidget)

/* To be called once; referenced. */
void loom_outing_page_attach(LoomOutingPage *page, LoomFlowState *flow);
/* Whether there is something to export. */
bool loom_outing_page_has_outing(LoomOutingPage *page);
/* Runs it in a thread and writes it there, see outing-job.h; the page need not be in sight. An
 * export that is under way is cancelled, as it is with the page's button or its end. */
void loom_outing_page_export(LoomOutingPage *page, const char *path, GAsyncReadyCallback done,
                             gpointer data);
bool loom_outing_page_export_finish(GAsyncResult *result, GError **error);

G_END_DECLS
