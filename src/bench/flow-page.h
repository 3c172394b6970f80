/* What flows: the page of the drawer with the state, the charge and what comes of it.
 *
 *   State [pushing v]   Charge ----o---- 80 %   [x] Readings on the sheet   Drop | Limits | Outing
 *   +---------------------------------------------------------------------------------------+
 *   |                                  one of three views                                   |
 *   +---------------------------------------------------------------------------------------+
 *
 * The views: where the volts go on the way to the chosen part, what is nearest to its limits, and
 * an outing over time. Solves only while it is in sight. Signal "wanted" (string): the part of that
 * designation has been chosen here and is to be brought into view. */
#pragma once

#include "choice.h"
#include "flow-state.h"
#include "outing-page.h"

#include <gtk/gtk.h>

G_BEGIN_DECLS

#define LOOM_TYPE_FLOW_PAGE (loom_flow_page_get_type())
G_DECLARE_FINAL_TYPE(LoomFlowPage, loom_flow_page, LOOM, FLOW_PAGE, GtkWidget)

/* To be called once; all are referenced. */
void loom_flow_page_attach(LoomFlowPage *page, LoomFlowState *flow, LoomChoice *choice);
LoomOutingPage *loom_flow_page_outing(LoomFlowPage *page); /* borrowed */

G_END_DECLS
