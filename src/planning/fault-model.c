#include "faults-private.h"

#include <math.h>
#include <string.h>

/* Solves the sound robot, and keeps of it what faults are held against. */
static GArray *
find_tests(LoomFaultRoom *room)
{
  LoomFaulty sound;
  loom_faulty_init(&sound, room, NULL);
  room->rest = g_steal_pointer(&sound.rest);
  room->sides = g_new(guint8, room->w->n_nodes + 1);
  for (guint i = 0; i < room->w->n_nodes; i++)
    room->sides[i] = sound.sides[sound.circuit[i]];
  sound.rest = room->rest;
  loom_fault_list_answerers(room, &sound);
  GArray *tests = loom_fault_tests(room, &sound);
  sound.rest = NULL;
  loom_faulty_clear(&sound);
  return tests;
}

/* Outcomes beyond those that have a name are no answer at all. */
static guint8
named(const LoomTest *test, guint outcome)
{
  return (guint8)(outcome < test->n_outcomes ? outcome : MIN(2, test->n_outcomes - 1));
}

typedef struct {
  const LoomFaultRoom *room;
  LoomFaultModel *model;
} Job;

static void
simulate(gpointer item, gpointer data)
{
  Job *job = data;
  LoomFaultModel *m = job->model;
  LoomFault *fault = item;
  guint8 *shows = m->shows + (gsize)(fault - m->faults) * m->n_tests;
  LoomFaulty faulty;
  loom_faulty_init(&faulty, job->room, fault);
  for (guint t = 0; t < m->n_tests; t++)
    shows[t] = named(&m->tests[t], loom_fault_outcome(job->room, &m->tests[t], fault, &faulty));
  loom_faulty_clear(&faulty);
}

/* Faults have nothing to do with each other: they are shared out among the processors. */
static void
simulate_all(const LoomFaultRoom *room, LoomFaultModel *m)
{
  Job job = {room, m};
  GThreadPool *pool = g_thread_pool_new(simulate, &job, (int)g_get_num_processors(), FALSE, NULL);
  for (guint i = 0; i < m->n_faults; i++)
    g_thread_pool_push(pool, &m->faults[i], NULL);
  g_thread_pool_free(pool, FALSE, TRUE);
}

/* Joints behind which faults may be solved by themselves. */
static void
find_calm(LoomFaultRoom *room)
{
  g_autoptr(LoomSolver) solver = loom_solver_new(room->network, room->meter.on);
  LoomConditions now = loom_conditions(room->network);
  now.charge = LOOM_FAULT_CHARGE;
  LoomOperatingPoint *point = loom_solver_run(solver, &now);
  if (point->trouble == LOOM_TROUBLE_NONE)
    loom_fault_find_calm(room, solver);
  loom_point_free(point);
}

LoomFaultModel *
loom_fault_model_new(const LoomDesign *design, guint scene)
{
  return loom_fault_model_solved(design, scene, true);
}

LoomFaultModel *
loom_fault_model_solved(const LoomDesign *design, guint scene, bool local)
{
  LoomFaultRoom room;
  loom_fault_room_init(&room, design, scene);
  GArray *tests = find_tests(&room), *faults = loom_fault_list(&room);
  if (local)
    find_calm(&room);
  LoomFaultModel *m = g_new0(LoomFaultModel, 1);
  m->n_tests = tests->len;
  m->n_faults = faults->len;
  m->tests = (LoomTest *)g_array_free(tests, FALSE);
  m->faults = (LoomFault *)g_array_free(faults, FALSE);
  for (guint i = 0; i < m->n_tests; i++)
    loom_fault_test_words(&room, &m->tests[i]);
  for (guint i = 0; i < m->n_faults; i++)
    loom_fault_words(&room, &m->faults[i]);
  m->shows = g_new0(guint8, (gsize)m->n_faults * m->n_tests + 1);
  simulate_all(&room, m);
  loom_fault_room_clear(&room);
  return m;
}

void
loom_fault_model_free(LoomFaultModel *m)
{
  if (!m)
    return;
  for (guint i = 0; i < m->n_faults; i++) {
    g_free(m->faults[i].suspect);
    g_free(m->faults[i].sentence);
  }
  for (guint i = 0; i < m->n_tests; i++) {
    g_free(m->tests[i].name);
    g_free(m->tests[i].todo);
    g_strfreev(m->tests[i].outcomes);
  }
  g_free(m->faults);
  g_free(m->tests);
  g_free(m->shows);
  g_free(m);
}

/* ---- answers in words ---- */

static bool
no_test(GError **error, const char *format, const char *what)
{
  g_autofree char *sentence = g_strdup_printf(
      g_str_equal(format, "part") ? "There is no part %s that shows whether it works."
                                  : "There is no test of the volts at %s.",
      what);
  g_set_error_literal(error, LOOM_ERROR, LOOM_ERROR_REFERENCE, sentence);
  return false;
}

/* The test that says whether a part works: its roll-call, otherwise its lamp. */
static guint
find_behaviour(const LoomFaultModel *m, const LoomDesign *design, const char *designation)
{
  guint part = loom_design_find_part(design, designation), found = LOOM_NONE;
  for (guint i = 0; part != LOOM_NONE && i < m->n_tests; i++) {
    const LoomTest *t = &m->tests[i];
    if (t->part != part || (t->type != LOOM_TEST_ROLL && t->type != LOOM_TEST_LAMP))
      continue;
    if (found == LOOM_NONE || (t->type == LOOM_TEST_ROLL && m->tests[found].type == LOOM_TEST_LAMP))
      found = i;
  }
  return found;
}

static guint
find_restart(const LoomFaultModel *m)
{
  for (guint i = 0; i < m->n_tests; i++)
    if (m->tests[i].type == LOOM_TEST_RESTART)
      return i;
  return LOOM_NONE;
}

static bool
behaviour_evidence(const LoomFaultModel *m, const LoomDesign *design, const char *word,
                   const char *what, LoomEvidence *evidence, GError **error)
{
  evidence->test = find_behaviour(m, design, what);
  if (evidence->test == LOOM_NONE)
    return no_test(error, "part", what);
  const LoomTest *t = &m->tests[evidence->test];
  guint32 all = t->n_outcomes < 32 ? (1u << t->n_outcomes) - 1 : G_MAXUINT32;
  bool lamp = t->type == LOOM_TEST_LAMP;
  if (g_str_equal(word, "works"))
    evidence->outcomes = 1u;
  else if (g_str_equal(word, "dead"))
    evidence->outcomes = lamp ? 1u << 1 : 1u << 2;
  else
    evidence->outcomes = lamp ? 1u << 1 : all & ~(1u | 1u << 2);
  return true;
}

static bool
restart_evidence(const LoomFaultModel *m, bool restarts, LoomEvidence *evidence, GError **error)
{
  evidence->test = find_restart(m);
  evidence->outcomes = restarts ? 1u << 1 : 1u;
  if (evidence->test != LOOM_NONE)
    return true;
  g_set_error_literal(error, LOOM_ERROR, LOOM_ERROR_REFERENCE,
                      "In no state of this scene does a controller work under load.");
  return false;
}

static bool
is_volts(LoomTestType type)
{
  return type == LOOM_TEST_FREE || type == LOOM_TEST_PACK || type == LOOM_TEST_OPENED;
}

/* "W2:b=0" */
static bool
volts_evidence(const LoomFaultModel *m, const LoomDesign *design, const char *what,
               LoomEvidence *evidence, GError **error)
{
  const char *equals = strrchr(what, '=');
  double volts;
  if (!equals || !loom_number_from_text(equals + 1, &volts)) {
    g_set_error(error, LOOM_ERROR, LOOM_ERROR_CONTENT,
                "A reading is written as END=VOLTS, as in W2:b=12.1, not %s.", what);
    return false;
  }
  g_autofree char *name = g_strndup(what, (gsize)(equals - what));
  guint part, end;
  if (!loom_design_find_end(design, name, &part, &end, error))
    return false;
  for (guint i = 0; i < m->n_tests; i++) {
    const LoomTest *t = &m->tests[i];
    if (!is_volts(t->type) || t->part != part || t->end != end)
      continue;
    *evidence = (LoomEvidence){i, 1u << loom_fault_volts_outcome(t, volts)};
    return true;
  }
  return no_test(error, "volts", name);
}

bool
loom_fault_evidence(const LoomFaultModel *m, const LoomDesign *design, const char *word,
                    const char *what, LoomEvidence *evidence, GError **error)
{
  if (g_str_equal(word, "resets") || g_str_equal(word, "steady"))
    return restart_evidence(m, g_str_equal(word, "resets"), evidence, error);
  if (g_str_equal(word, "volts"))
    return volts_evidence(m, design, what, evidence, error);
  g_return_val_if_fail(
      g_str_equal(word, "dead") || g_str_equal(word, "works") || g_str_equal(word, "wrong"), false);
  return behaviour_evidence(m, design, word, what, evidence, error);
}
