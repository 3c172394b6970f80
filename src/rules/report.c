#include "report-private.h"

#include <glib/gi18n-lib.h>
#include <stdarg.h>
#include <string.h>

#define MOST_IN_WHERE 8

struct LoomReport {
  GPtrArray *findings; /* LoomFinding *, owned */
};

LoomReport *
loom_report_new(void)
{
  LoomReport *report = g_new(LoomReport, 1);
  report->findings = g_ptr_array_new();
  return report;
}

LoomFinding *
loom_report_add(LoomReport *report, LoomSeverity severity, const char *rule, guint scene)
{
  LoomFinding *f = g_new0(LoomFinding, 1);
  f->severity = severity;
  f->rule = g_strdup(rule);
  f->scene = scene;
  g_ptr_array_add(report->findings, f);
  return f;
}

static void
free_finding(LoomFinding *f)
{
  loom_finding_clear(f);
  g_free(f);
}

static bool
has_place(const LoomFinding *f, const char *part, const char *end)
{
  for (guint i = 0; i < f->n_places; i++)
    if (g_str_equal(f->places[i].part, part) && g_strcmp0(f->places[i].end, end) == 0)
      return true;
  return false;
}

static bool
is_place(const LoomFindingPlace *place, const LoomEndName *end)
{
  return g_str_equal(place->part, end->part) && g_strcmp0(place->end, end->end) == 0;
}

bool
loom_report_speaks_of(LoomReport *report, const LoomJoint *joint, LoomSeverity severity,
                      const char *rule)
{
  for (guint i = 0; i < report->findings->len; i++) {
    const LoomFinding *f = report->findings->pdata[i];
    if (f->severity > severity || f->n_places < 2 || g_str_equal(f->rule, rule))
      continue;
    if ((is_place(&f->places[0], &joint->a) && is_place(&f->places[1], &joint->b)) ||
        (is_place(&f->places[0], &joint->b) && is_place(&f->places[1], &joint->a)))
      return true;
  }
  return false;
}

void
loom_finding_add_place(LoomFinding *f, const LoomPart *part, guint end)
{
  f->places = g_realloc_n(f->places, f->n_places + 1, sizeof *f->places);
  f->places[f->n_places].part = g_strdup(part->designation);
  f->places[f->n_places].end = end == LOOM_NONE ? NULL : g_strdup(part->kind->ends[end].id);
  f->n_places++;
}

void
loom_finding_place(LoomFinding *f, const LoomPart *part, guint end)
{
  if (!has_place(f, part->designation, end == LOOM_NONE ? NULL : part->kind->ends[end].id))
    loom_finding_add_place(f, part, end);
}

char *
loom_words_list(const GPtrArray *words, guint most)
{
  guint n = MIN(words->len, most), rest = words->len - n;
  g_autoptr(GString) s = g_string_new(NULL);
  for (guint i = 0; i < n; i++) {
    bool last = i + 1 == n && rest == 0;
    g_string_append(s, i == 0 ? "" : last ? _(" and ") : ", ");
    g_string_append(s, words->pdata[i]);
  }
  if (rest > 0)
    g_string_append_printf(s, _(" and %u more"), rest);
  return g_string_free(g_steal_pointer(&s), FALSE);
}

void
loom_finding_where(LoomFinding *f, guint n)
{
  g_autoptr(GPtrArray) names = g_ptr_array_new_with_free_func(g_free);
  for (guint i = 0; i < MIN(n, f->n_places); i++)
    g_ptr_array_add(names, f->places[i].end
                               ? g_strdup_printf("%s:%s", f->places[i].part, f->places[i].end)
                               : g_strdup(f->places[i].part));
  g_free(f->where);
  f->where = loom_words_list(names, MOST_IN_WHERE);
}

void
loom_finding_mend_with(LoomFinding *f, const char *format, ...)
{
  va_list arguments;
  va_start(arguments, format);
  g_autofree char *call = g_strdup_vprintf(format, arguments);
  va_end(arguments);
  char *all = f->mend ? g_strdup_printf("%s\n%s", f->mend, call) : g_strdup(call);
  g_free(f->mend);
  f->mend = all;
}

static int
by_gravity(gconstpointer a, gconstpointer b)
{
  const LoomFinding *x = *(LoomFinding *const *)a, *y = *(LoomFinding *const *)b;
  if (x->severity != y->severity)
    return (int)x->severity - (int)y->severity;
  int rule = strcmp(x->rule, y->rule);
  return rule ? rule : strcmp(x->where, y->where);
}

/* Of those with one rule and one where the gravest stays, of equals the first. */
static void
merge(GPtrArray *findings)
{
  g_autoptr(GHashTable) first = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
  g_autoptr(GPtrArray) kept = g_ptr_array_new();
  for (guint i = 0; i < findings->len; i++) {
    LoomFinding *f = findings->pdata[i];
    char *key = g_strdup_printf("%s|%s", f->rule, f->where);
    gpointer at;
    if (!g_hash_table_lookup_extended(first, key, NULL, &at)) {
      g_hash_table_insert(first, key, GUINT_TO_POINTER(kept->len));
      g_ptr_array_add(kept, f);
      continue;
    }
    g_free(key);
    gpointer *slot = &kept->pdata[GPOINTER_TO_UINT(at)];
    LoomFinding *other = *slot;
    bool graver = f->severity < other->severity;
    free_finding(graver ? other : f);
    *slot = graver ? f : other;
  }
  g_ptr_array_set_size(findings, 0);
  g_ptr_array_extend(findings, kept, NULL, NULL);
}

LoomFindings *
loom_report_free_to_findings(LoomReport *report)
{
  for (guint i = 0; i < report->findings->len; i++) {
    LoomFinding *f = report->findings->pdata[i];
    if (!f->where)
      loom_finding_where(f, 2);
  }
  merge(report->findings);
  g_ptr_array_sort(report->findings, by_gravity);
  LoomFindings *out = g_new0(LoomFindings, 1);
  out->n_findings = report->findings->len;
  out->findings = g_new(LoomFinding, out->n_findings);
  for (guint i = 0; i < out->n_findings; i++) {
    LoomFinding *f = report->findings->pdata[i];
    out->findings[i] = *f;
    g_free(f);
    guint *counts[] = {&out->n_stop, &out->n_care, &out->n_note};
    ++*counts[out->findings[i].severity];
  }
  g_ptr_array_free(report->findings, TRUE);
  g_free(report);
  return out;
}
