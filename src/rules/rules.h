/* The rules. Each looks at contacts, circuits and limits, never at names of parts. */
#pragma once

#include "design/edit.h"
#include "finding.h"

G_BEGIN_DECLS

/* All rules on every scene and state. New; stands on its own. */
LoomFindings *loom_check(const LoomDesign *design);

/* Carries out the finding's `mend`. false with `error` if it cannot. */
bool loom_finding_mend(const LoomFinding *finding, LoomEdit *edit, GError **error);

/* The rules there are, for documentation and tests: slug and one sentence; NULL-terminated. */
typedef struct {
  const char *slug, *about;
} LoomRuleInfo;
const LoomRuleInfo *loom_rule_list(void);

G_END_DECLS
