/* The list of findings: what, where, why it matters, what to do; choosing one shows it on the
 * bench.
 *
 * Signals: "shown" (uint: index of the finding), "mend" (uint). */
#pragma once

#include "document.h"

#include <gtk/gtk.h>

G_BEGIN_DECLS

#define LOOM_TYPE_FINDINGS_LIST (loom_findings_list_get_type())
G_DECLARE_FINAL_TYPE(LoomFindingsList, loom_findings_list, LOOM, FINDINGS_LIST, GtkWidget)

void loom_findings_list_attach(LoomFindingsList *list, LoomDocument *document);
/* Chooses a finding without telling. */
void loom_findings_list_choose(LoomFindingsList *list, guint finding);
/* Goes to the next (or, by < 0, the one before) and tells. */
void loom_findings_list_step(LoomFindingsList *list, int by);

/* Name of the icon for a severity. */
const char *loom_severity_icon(LoomSeverity severity);

G_END_DECLS
