/* When it stays dark: what was seen is on the command line, the suspects and the next test are
 * printed. */
#include "planning/faults.h"
#include "command.h"

#include <glib/gi18n-lib.h>
#include <stdio.h>
#include <string.h>

/* ---- what was seen ---- */

typedef struct {
  const LoomFaultModel *model;
  const LoomDesign *design;
  GArray *evidence; /* LoomEvidence */
} Hearing;

static bool
contradicts(const Hearing *h, const LoomEvidence *e, GError **error)
{
  for (guint i = 0; i < h->evidence->len; i++) {
    const LoomEvidence *before = &g_array_index(h->evidence, LoomEvidence, i);
    if (before->test != e->test || before->outcomes == e->outcomes)
      continue;
    g_set_error(error, LOOM_ERROR, LOOM_ERROR_CONTENT,
                _("There are two different answers about %s."), h->model->tests[e->test].name);
    return true;
  }
  return false;
}

static bool
hear_one(Hearing *h, const char *word, const char *what, GError **error)
{
  LoomEvidence e;
  if (!loom_fault_evidence(h->model, h->design, word, what, &e, error) || contradicts(h, &e, error))
    return false;
  g_array_append_val(h->evidence, e);
  return true;
}

static bool
hear_all(Hearing *h, const Seen *seen, GError **error)
{
  const struct {
    const char *word;
    char **whats;
  } all[] = {{"works", seen->works},     {"dead", seen->dead},
             {"wrong", seen->wrong},     {"backwards", seen->backwards},
             {"instead", seen->instead}, {"volts", seen->volts},
             {"found", seen->found},     {"cannot-tell", seen->cannot_tell}};
  for (guint i = 0; i < G_N_ELEMENTS(all); i++)
    for (char **what = all[i].whats; what && *what; what++)
      if (!hear_one(h, all[i].word, *what, error))
        return false;
  return (!seen->resets || hear_one(h, "resets", NULL, error)) &&
         (!seen->steady || hear_one(h, "steady", NULL, error));
}

/* ---- for people ---- */

#define MOST_SUSPECTS 10

static void
print_suspects(const LoomFaultModel *m, const LoomDiagnosis *d, bool all)
{
  puts(_("It may be, likeliest first:"));
  guint n = all || d->n_suspects <= MOST_SUSPECTS + 2 ? d->n_suspects : MOST_SUSPECTS;
  for (guint i = 0; i < n; i++) {
    const LoomSuspects *s = &d->suspects[i];
    g_auto(GStrv) sentences = loom_suspects_sentences(m, s);
    g_autofree char *percent = loom_likelihood_percent(s->likelihood);
    printf("%4u. %5s  %s\n", i + 1, percent, sentences[0]);
    for (guint k = 1; sentences[k]; k++)
      printf(_("          or  %s\n"), sentences[k]);
  }
  if (n < d->n_suspects)
    printf(_("      and %u more; --all lists them.\n"), d->n_suspects - n);
}

static void
print_test(const LoomTest *test)
{
  printf(_("\nNext: %s\n"), test->todo);
  for (guint i = 0; i < test->n_outcomes && i < 26; i++)
    printf("  %c  %s\n", 'a' + (int)i, test->outcomes[i]);
  if (loom_fault_reads_volts(test))
    printf(
        _("Tell the answer by adding --volts %s=12.1 with what the meter shows, or --cannot-tell "
          "%s.\n"),
        test->key + strlen("volts-"), test->key);
  else
    printf(_("Tell the answer by adding --found %s=a (or another letter), or --cannot-tell %s.\n"),
           test->key, test->key);
}

static void
print_end(const LoomFaultModel *m, const LoomDiagnosis *d)
{
  if (d->n_suspects == 1 && d->suspects[0].n_faults == 1)
    printf(_("\nThere is nothing more to test: %s\n"),
           m->faults[d->suspects[0].faults[0]].sentence);
  else
    puts(_("\nNo test tells these any further apart. Try them in this order."));
}

static void
print_diagnosis(const LoomFaultModel *m, const LoomDiagnosis *d, bool all)
{
  if (d->n_suspects == 0) {
    puts(_("Nothing is plugged in this scene, so that nothing can be at fault."));
    return;
  }
  if (!d->amiss)
    puts(_(
        "Nothing that was told is amiss; say what is dark with --dead K1, for example. Until then "
        "this is what goes wrong most often."));
  if (d->unexplained > 0)
    printf(ngettext("No single fault explains all of this: %u answer does not fit. Either two "
                    "things are wrong at once, or an answer is a slip.\n",
                    "No single fault explains all of this: %u answers do not fit. Either two "
                    "things are wrong at once, or an answer is a slip.\n",
                    d->unexplained),
           d->unexplained);
  print_suspects(m, d, all);
  if (d->next_test == LOOM_NONE)
    print_end(m, d);
  else
    print_test(&m->tests[d->next_test]);
}

int
command_faults(const Call *call)
{
  if (call->seen.resets && call->seen.steady)
    return command_wrong(_("Either --resets or --steady: it cannot do both."));
  GError *error = NULL;
  g_autoptr(LoomDesign) design = command_open(call, 0, &error);
  guint scene = design ? command_scene(call, design, &error) : 0;
  if (error)
    return command_fail(error);
  g_autoptr(LoomFaultModel) model = loom_fault_model_new(design, scene);
  g_autoptr(GArray) evidence = g_array_new(FALSE, FALSE, sizeof(LoomEvidence));
  Hearing hearing = {model, design, evidence};
  if (!hear_all(&hearing, &call->seen, &error))
    return command_fail(error);
  g_autoptr(LoomDiagnosis) diagnosis =
      loom_diagnosis_new(model, (LoomEvidence *)evidence->data, evidence->len);
  if (call->csv) {
    g_autofree char *csv = loom_diagnosis_to_csv(model, diagnosis);
    fputs(csv, stdout);
  } else {
    print_diagnosis(model, diagnosis, call->all);
  }
  return 0;
}
