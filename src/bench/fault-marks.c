#include "fault-marks.h"

void
loom_fault_place(const LoomFault *fault, const LoomDesign *design, const char **part,
                 const char **end)
{
  const LoomPart *p = loom_design_part(design, fault->part);
  bool at_end = fault->joint != LOOM_NONE && fault->end != LOOM_NONE;
  *part = p->designation;
  *end = at_end ? p->kind->ends[fault->end].id : NULL;
}

static LoomFaultMark *
mark_at(LoomFaultMarks *marks, GHashTable *known, const char *part, const char *end, guint rank)
{
  g_autofree char *name = g_strdup_printf("%s:%s", part, end ? end : "");
  gpointer found = g_hash_table_lookup(known, name);
  if (!found) {
    LoomFaultMark mark = {.part = g_strdup(part), .end = g_strdup(end), .rank = rank};
    g_array_append_val(marks->marks, mark);
    found = GUINT_TO_POINTER(marks->marks->len);
    g_hash_table_insert(known, g_steal_pointer(&name), found);
  }
  return &g_array_index(marks->marks, LoomFaultMark, GPOINTER_TO_UINT(found) - 1);
}

/* The likelihood of suspects that nothing tells apart is shared out by their priors. */
static void
mark_suspects(LoomFaultMarks *marks, GHashTable *known, const LoomFaultModel *m,
              const LoomSuspects *s, guint rank, const LoomDesign *design)
{
  double sum = 0;
  for (guint i = 0; i < s->n_faults; i++)
    sum += m->faults[s->faults[i]].prior;
  for (guint i = 0; i < s->n_faults; i++) {
    const LoomFault *fault = &m->faults[s->faults[i]];
    const char *part, *end;
    loom_fault_place(fault, design, &part, &end);
    mark_at(marks, known, part, end, rank)->share += s->likelihood * fault->prior / sum;
  }
}

static LoomFaultProbe
probe_at(const LoomPart *part, guint end, guint contact)
{
  return (LoomFaultProbe){g_strdup(part->designation), g_strdup(part->kind->ends[end].id), contact};
}

static void
mark_test(LoomFaultMarks *marks, const LoomTest *test, const LoomDesign *design)
{
  if (test->part == LOOM_NONE)
    return;
  const LoomPart *part = loom_design_part(design, test->part);
  marks->part = g_strdup(part->designation);
  marks->end = test->end == LOOM_NONE ? NULL : g_strdup(part->kind->ends[test->end].id);
  if (loom_fault_reads_volts(test)) {
    marks->plus = probe_at(part, test->end, test->plus);
    marks->minus = probe_at(part, test->end, test->minus);
  } else if (test->type == LOOM_TEST_LEAD && part->kind->n_ends > 1) {
    marks->plus = probe_at(part, 0, 0);
    marks->minus = probe_at(part, 1, 0);
  }
}

LoomFaultMarks *
loom_fault_marks_new(const LoomFaultModel *m, const LoomDiagnosis *d, const LoomDesign *design)
{
  LoomFaultMarks *marks = g_new0(LoomFaultMarks, 1);
  g_autoptr(GHashTable) known = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
  marks->marks = g_array_new(FALSE, FALSE, sizeof(LoomFaultMark));
  if (!d || !d->amiss)
    return marks;
  for (guint i = 0; i < d->n_suspects; i++)
    mark_suspects(marks, known, m, &d->suspects[i], i + 1, design);
  if (d->next_test != LOOM_NONE)
    mark_test(marks, &m->tests[d->next_test], design);
  return marks;
}

void
loom_fault_marks_free(LoomFaultMarks *marks)
{
  if (!marks)
    return;
  for (guint i = 0; i < marks->marks->len; i++) {
    g_free(g_array_index(marks->marks, LoomFaultMark, i).part);
    g_free(g_array_index(marks->marks, LoomFaultMark, i).end);
  }
  g_array_unref(marks->marks);
  g_free(marks->plus.part);
  g_free(marks->plus.end);
  g_free(marks->minus.part);
  g_free(marks->minus.end);
  g_free(marks->part);
  g_free(marks->end);
  g_free(marks);
}
