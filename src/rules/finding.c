#include "report-private.h"

#include <glib/gi18n-lib.h>

const char *
loom_severity_word(LoomSeverity severity)
{
  static const char *const words[] = {"stop", "care", "note"};
  return words[severity];
}

void
loom_finding_clear(LoomFinding *f)
{
  for (guint i = 0; i < f->n_places; i++) {
    g_free(f->places[i].part);
    g_free(f->places[i].end);
  }
  g_free(f->places);
  g_free(f->rule);
  g_free(f->where);
  g_free(f->message);
  g_free(f->why);
  g_free(f->remedy);
  g_free(f->mend);
}

void
loom_findings_free(LoomFindings *findings)
{
  if (!findings)
    return;
  for (guint i = 0; i < findings->n_findings; i++)
    loom_finding_clear(&findings->findings[i]);
  g_free(findings->findings);
  g_free(findings);
}

/* "2 stop, 1 care, 3 notes", what is none left out. New; "" where there is nothing at all. */
static char *
counts(const LoomFindings *f)
{
  g_autoptr(GString) s = g_string_new(NULL);
  if (f->n_stop > 0)
    g_string_append_printf(s, ngettext("%u stop", "%u stop", f->n_stop), f->n_stop);
  if (f->n_care > 0) {
    g_string_append(s, s->len ? ", " : "");
    g_string_append_printf(s, ngettext("%u care", "%u care", f->n_care), f->n_care);
  }
  if (f->n_note > 0) {
    g_string_append(s, s->len ? ", " : "");
    g_string_append_printf(s, ngettext("%u note", "%u notes", f->n_note), f->n_note);
  }
  return g_string_free(g_steal_pointer(&s), FALSE);
}

char *
loom_findings_verdict(const LoomFindings *f, const LoomDesign *design)
{
  g_autofree char *n = counts(f);
  if (f->n_stop > 0)
    return g_strdup_printf(_("Do not power this: %s."), n);
  if (f->n_care > 0)
    return g_strdup_printf(_("Look at this before you power it: %s."), n);
  if (loom_design_n_parts(design) == 0)
    return g_strdup(_("Nothing is drawn yet."));
  if (loom_design_n_joints(design) == 0)
    return g_strdup(_("Nothing is plugged yet."));
  return *n ? g_strdup_printf(
                  _("Nothing speaks against powering this: %s. Let a second person look first."), n)
            : g_strdup(_("Nothing speaks against powering this. Let a second person look first."));
}
