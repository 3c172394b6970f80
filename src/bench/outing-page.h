/* An outing in the drawer: which one, its curve, what came of it in words, and its export.
 *
 * It starts from the charge that is chosen on the bench, and runs in a thread once for each
 * revision, outing and charge, only while it is in sight. */
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
/* By the suffix of `path`: .csv the samples, .svg, .pdf or .png the curve. */
bool loom_outing_page_write(LoomOutingPage *page, const char *path, GError **error);

G_END_DECLS
