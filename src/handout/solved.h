/* What the book takes from solving, and nothing of how that is done. */
#pragma once

#include "electric/wiring.h"
#include "rules/finding.h"

G_BEGIN_DECLS

/* Share (0 ... 1) of a full charge that the hungriest outing of the wiring's scene takes; 1 where
 * none is drawn, or where one does not come to its end. */
double loom_solved_share_used(const LoomWiring *wiring);

/* Findings of all rules. New. */
LoomFindings *loom_solved_findings(const LoomDesign *design);

G_END_DECLS
