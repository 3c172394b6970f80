/* How a rule says something: a report gathers findings, and turns into the sorted list at the end.
 *
 *   LoomFinding *f = loom_report_add(report, LOOM_STOP, "gender", scene);
 *   loom_finding_place(f, part, end);                   // the first place is where the flag stands
 *   f->message = g_strdup_printf(...);
 *   f->why = g_strdup(...);
 *   f->remedy = g_strdup(...);
 *
 * `where` is made of the first places at the end unless the rule has set it. Two findings with the
 * same rule and the same `where` are one: the graver, and of equals the first, stays. */
#pragma once

#include "finding.h"

G_BEGIN_DECLS

typedef struct LoomReport LoomReport;

LoomReport *loom_report_new(void);
/* Ends the report. New. */
LoomFindings *loom_report_free_to_findings(LoomReport *report);

/* Borrowed; stays where it is until the report ends. */
LoomFinding *loom_report_add(LoomReport *report, LoomSeverity severity, const char *rule,
                             guint scene);
/* Whether another rule than `rule` begins a finding, `severity` or graver, with these two ends:
 * "what follows from this joint". */
bool loom_report_speaks_of(LoomReport *report, const LoomJoint *joint, LoomSeverity severity,
                           const char *rule);

/* Frees what a finding holds, not the finding. */
void loom_finding_clear(LoomFinding *finding);

/* Adds the end (LOOM_NONE: the part itself): unless it is there, and without looking (long lists).
 */
void loom_finding_place(LoomFinding *finding, const LoomPart *part, guint end);
void loom_finding_add_place(LoomFinding *finding, const LoomPart *part, guint end);
/* `where` from the first `n` places: "A", "A and B", "A, B and C"; what is beyond eight is counted.
 */
void loom_finding_where(LoomFinding *finding, guint n);
/* Appends a call of the command to `mend`; printf format. */
void loom_finding_mend_with(LoomFinding *finding, const char *format, ...) G_GNUC_PRINTF(2, 3);

/* "A", "A and B", "A, B and C" of the strings; what is beyond `most` is counted. New. */
char *loom_words_list(const GPtrArray *words, guint most);

G_END_DECLS
