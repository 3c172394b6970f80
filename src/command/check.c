#include "command.h"
#include "planning/csv.h"
#include "rules/rules.h"

#include <glib/gi18n-lib.h>
#include <stdio.h>

static void
print_csv(const LoomFindings *findings)
{
  g_autoptr(LoomCsv) csv = loom_csv_new();
  loom_csv_row(csv, "severity", "rule", "where", "message", "remedy", NULL);
  for (guint i = 0; i < findings->n_findings; i++) {
    const LoomFinding *finding = &findings->findings[i];
    loom_csv_text(csv, loom_severity_word(finding->severity));
    loom_csv_text(csv, finding->rule);
    loom_csv_text(csv, finding->where);
    loom_csv_text(csv, finding->message);
    loom_csv_text(csv, finding->remedy);
    loom_csv_end_row(csv);
  }
  fputs(loom_csv_bytes(csv), stdout);
}

static void
print_sentences(const LoomFindings *findings, const LoomDesign *design)
{
  for (guint i = 0; i < findings->n_findings; i++) {
    const LoomFinding *finding = &findings->findings[i];
    printf("%s: %s: %s %s %s\n", _(loom_severity_word(finding->severity)), finding->where,
           finding->message, finding->why, finding->remedy);
  }
  g_autofree char *verdict = loom_findings_verdict(findings, design);
  printf("%s\n", verdict);
}

int
command_check(const Call *call)
{
  GError *error = NULL;
  g_autoptr(LoomDesign) design = command_open(call, 0, &error);
  if (!design)
    return command_fail(error);
  g_autoptr(LoomFindings) findings = loom_check(design);
  if (call->csv)
    print_csv(findings);
  else
    print_sentences(findings, design);
  return findings->n_stop ? 2 : findings->n_care ? 1 : 0;
}
