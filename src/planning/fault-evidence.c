/* Answers as the command and the window get them: in words, with the names of parts, ends, tests.
 */
#include "faults-private.h"

#include <glib/gi18n-lib.h>
#include <string.h>

static bool
refuse(GError **error, LoomError code, char *sentence)
{
  g_set_error_literal(error, LOOM_ERROR, code, sentence);
  g_free(sentence);
  return false;
}

static guint32
all_outcomes(const LoomTest *t)
{
  return t->n_outcomes < 32 ? (1u << t->n_outcomes) - 1 : G_MAXUINT32;
}

guint
loom_fault_find_test(const LoomFaultModel *m, const char *key)
{
  for (guint i = 0; i < m->n_tests; i++)
    if (g_str_equal(m->tests[i].key, key))
      return i;
  return LOOM_NONE;
}

/* ---- what works and what does not ---- */

/* The test that says whether a part works: its roll-call, otherwise its lamp. */
static guint
find_behaviour(const LoomFaultModel *m, guint part)
{
  guint found = LOOM_NONE;
  for (guint i = 0; i < m->n_tests; i++) {
    const LoomTest *t = &m->tests[i];
    if (t->part != part || (t->type != LOOM_TEST_ROLL && t->type != LOOM_TEST_LAMP))
      continue;
    if (found == LOOM_NONE || (t->type == LOOM_TEST_ROLL && m->tests[found].type == LOOM_TEST_LAMP))
      found = i;
  }
  return found;
}

static bool
behaviour_of(const LoomFaultModel *m, const LoomDesign *design, const char *what, guint *test,
             GError **error)
{
  guint part = loom_design_find_part(design, what);
  if (part == LOOM_NONE)
    return refuse(error, LOOM_ERROR_REFERENCE, g_strdup_printf(_("There is no part %s."), what));
  *test = find_behaviour(m, part);
  if (*test == LOOM_NONE)
    return refuse(
        error, LOOM_ERROR_REFERENCE,
        g_strdup_printf(_("%s does nothing that one could see or hear in this scene."), what));
  return true;
}

static bool
works_or_not(const LoomFaultModel *m, const LoomDesign *design, const char *word, const char *what,
             LoomEvidence *e, GError **error)
{
  if (!behaviour_of(m, design, what, &e->test, error))
    return false;
  const LoomTest *t = &m->tests[e->test];
  bool lamp = t->type == LOOM_TEST_LAMP;
  if (g_str_equal(word, "works"))
    e->outcomes = 1u;
  else if (g_str_equal(word, "dead"))
    e->outcomes = lamp ? 1u << 1 : 1u << 2;
  else if (lamp)
    return refuse(error, LOOM_ERROR_CONTENT,
                  g_strdup_printf(_("%s is lit or dark; it does not turn."), what));
  else if (g_str_equal(word, "backwards"))
    e->outcomes = 1u << 1;
  else /* wrong: any of them */
    e->outcomes = all_outcomes(t) & ~(1u | 1u << 2);
  return true;
}

/* "M2=M1": M2 is told to move, and M1 does. */
static bool
instead(const LoomFaultModel *m, const LoomDesign *design, const char *what, LoomEvidence *e,
        GError **error)
{
  const char *equals = strchr(what, '=');
  if (!equals)
    return refuse(
        error, LOOM_ERROR_CONTENT,
        g_strdup_printf(_("What moves instead is written as M2=M1, where M2 was told to move and "
                          "M1 did, not %s."),
                        what));
  g_autofree char *name = g_strndup(what, (gsize)(equals - what));
  guint other = loom_design_find_part(design, equals + 1);
  if (other == LOOM_NONE)
    return refuse(error, LOOM_ERROR_REFERENCE,
                  g_strdup_printf(_("There is no part %s."), equals + 1));
  if (!behaviour_of(m, design, name, &e->test, error))
    return false;
  const LoomTest *t = &m->tests[e->test];
  e->outcomes = 0;
  for (guint i = 0; t->answers && i < t->n_outcomes; i++)
    if (t->answers[i] == other)
      e->outcomes |= 1u << i;
  if (e->outcomes == 0)
    return refuse(error, LOOM_ERROR_REFERENCE,
                  g_strdup_printf(_("%s cannot answer in the place of %s."), equals + 1, name));
  return true;
}

static bool
restart(const LoomFaultModel *m, bool restarts, LoomEvidence *e, GError **error)
{
  e->test = LOOM_NONE;
  for (guint i = 0; i < m->n_tests; i++)
    if (m->tests[i].type == LOOM_TEST_RESTART)
      e->test = i;
  e->outcomes = restarts ? 1u << 1 : 1u;
  if (e->test == LOOM_NONE)
    return refuse(error, LOOM_ERROR_REFERENCE,
                  g_strdup(_("In no state of this scene does a controller work under load.")));
  return true;
}

/* ---- volts ---- */

bool
loom_fault_reads_volts(const LoomTest *t)
{
  return t->type == LOOM_TEST_FREE || t->type == LOOM_TEST_PACK || t->type == LOOM_TEST_OPENED;
}

guint
loom_fault_find_volts(const LoomFaultModel *m, guint part, guint end)
{
  for (guint i = 0; i < m->n_tests; i++)
    if (loom_fault_reads_volts(&m->tests[i]) && m->tests[i].part == part && m->tests[i].end == end)
      return i;
  return LOOM_NONE;
}

/* Where to measure instead at an end that is plugged: the other end of its joint. Borrowed, or
 * NULL.
 */
static const char *
mate_that_reads(const LoomFaultModel *m, const LoomDesign *design, guint part, guint end)
{
  guint joints[8], n = MIN(loom_design_joints_at(design, part, end, joints, 8), 8);
  for (guint t = 0; t < m->n_tests; t++)
    for (guint i = 0; i < n && m->tests[t].type == LOOM_TEST_OPENED; i++)
      if (m->tests[t].joint == joints[i])
        return m->tests[t].key + strlen("volts-");
  return NULL;
}

/* "W2:b=0" */
static bool
volts(const LoomFaultModel *m, const LoomDesign *design, const char *what, LoomEvidence *e,
      GError **error)
{
  const char *equals = strrchr(what, '=');
  double reading;
  if (!equals || !loom_number_from_text(equals + 1, &reading))
    return refuse(
        error, LOOM_ERROR_CONTENT,
        g_strdup_printf(_("A reading is written as END=VOLTS, as in W2:b=12.1, not %s."), what));
  g_autofree char *name = g_strndup(what, (gsize)(equals - what));
  guint part, end;
  if (!loom_design_find_end(design, name, &part, &end, error))
    return false;
  e->test = loom_fault_find_volts(m, part, end);
  if (e->test != LOOM_NONE) {
    e->outcomes = 1u << loom_fault_volts_outcome(&m->tests[e->test], reading);
    return true;
  }
  const char *mate = mate_that_reads(m, design, part, end);
  return refuse(
      error, LOOM_ERROR_REFERENCE,
      mate ? g_strdup_printf(_("No volts are read at %s; of that joint they are read at %s, with "
                               "the two apart."),
                             name, mate)
           : g_strdup_printf(_("No volts are to be read at %s in this scene."), name));
}

/* ---- tests by their keys ---- */

static bool
by_key(const LoomFaultModel *m, const char *key, guint *test, GError **error)
{
  *test = loom_fault_find_test(m, key);
  if (*test == LOOM_NONE)
    return refuse(
        error, LOOM_ERROR_REFERENCE,
        g_strdup_printf(_("There is no test %s; each test is printed with its key."), key));
  return true;
}

/* "fuse-F1=b": the second of the answers that the test can have. */
static bool
found(const LoomFaultModel *m, const char *what, LoomEvidence *e, GError **error)
{
  const char *equals = strrchr(what, '=');
  g_autofree char *key = equals ? g_strndup(what, (gsize)(equals - what)) : g_strdup(what);
  if (!by_key(m, key, &e->test, error))
    return false;
  guint n = m->tests[e->test].n_outcomes;
  guint answer = equals && equals[1] && !equals[2] ? (guint)(g_ascii_tolower(equals[1]) - 'a') : n;
  if (answer >= n)
    return refuse(error, LOOM_ERROR_CONTENT,
                  g_strdup_printf(_("The answer to %s is one letter from a to %c, as in %s=a."),
                                  key, 'a' + MIN(n, 26) - 1, key));
  e->outcomes = 1u << answer;
  return true;
}

bool
loom_fault_evidence(const LoomFaultModel *m, const LoomDesign *design, const char *word,
                    const char *what, LoomEvidence *e, GError **error)
{
  if (g_str_equal(word, "resets") || g_str_equal(word, "steady"))
    return restart(m, g_str_equal(word, "resets"), e, error);
  if (g_str_equal(word, "volts"))
    return volts(m, design, what, e, error);
  if (g_str_equal(word, "instead"))
    return instead(m, design, what, e, error);
  if (g_str_equal(word, "found"))
    return found(m, what, e, error);
  if (g_str_equal(word, "cannot-tell")) {
    e->outcomes = 0;
    return by_key(m, what, &e->test, error);
  }
  g_return_val_if_fail(g_str_equal(word, "dead") || g_str_equal(word, "works") ||
                           g_str_equal(word, "wrong") || g_str_equal(word, "backwards"),
                       false);
  return works_or_not(m, design, word, what, e, error);
}
