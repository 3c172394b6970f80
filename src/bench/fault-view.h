/* Fault finding: what is seen is ticked on the left, suspects stand in the middle, the next test on
 * the right. Signal "shown" (string part, string end): a suspect was chosen; end may be NULL. */
#pragma once

#include "choice.h"
#include "fault-case.h"

#include <gtk/gtk.h>

G_BEGIN_DECLS

#define LOOM_TYPE_FAULT_VIEW (loom_fault_view_get_type())
G_DECLARE_FINAL_TYPE(LoomFaultView, loom_fault_view, LOOM, FAULT_VIEW, GtkWidget)

/* All are referenced. The case is followed while the view is on the screen. */
void loom_fault_view_attach(LoomFaultView *self, LoomFaultCase *fault_case, LoomChoice *choice);

G_END_DECLS
