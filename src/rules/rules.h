/* The rules. Each looks at contacts, circuits and limits, never at names of parts. */
#pragma once

#include "design/edit.h"
#include "electric/operation.h"
#include "finding.h"

G_BEGIN_DECLS

/* All rules on every scene and state, what flows in each state included. New; stands on its own. */
LoomFindings *loom_check(const LoomDesign *design);

/* The same, with what has been solved already: `full` [n_scenes], the operation of each scene at
 * full charge, of this revision; borrowed. */
LoomFindings *loom_check_operations(const LoomDesign *design, LoomOperation *const *full);

/* Only the rules that need no solving: for answers while something is being dragged. */
LoomFindings *loom_check_wiring(const LoomDesign *design);

/* Carries out the finding's `mend`. false with `error` if it cannot. */
bool loom_finding_mend(const LoomFinding *finding, LoomEdit *edit, GError **error);

/* The rules there are, for documentation and tests: slug and one sentence; NULL-terminated. */
typedef struct {
  const char *slug, *about;
} LoomRuleInfo;
const LoomRuleInfo *loom_rule_list(void);

G_END_DECLS
