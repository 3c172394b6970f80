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
  if (point->trouble == LOOM_TROUBLE_NONE) {
    loom_fault_find_calm(room, solver);
    loom_fault_find_stir(room, solver);
  }
  loom_point_free(point);
}

GArray *
loom_fault_room_prepare(LoomFaultRoom *room, const LoomDesign *design, guint scene)
{
  loom_fault_room_init(room, design, scene);
  GArray *tests = find_tests(room);
  find_calm(room);
  return tests;
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
  GArray *tests = loom_fault_room_prepare(&room, design, scene), *faults = loom_fault_list(&room);
  if (!local) {
    g_clear_pointer(&room.calm, g_free);
    g_clear_pointer(&room.stir, g_free);
    g_clear_pointer(&room.idle, g_free);
  }
  LoomFaultModel *m = g_new0(LoomFaultModel, 1);
  m->n_tests = tests->len;
  m->n_faults = faults->len;
  m->tests = (LoomTest *)g_array_free(tests, FALSE);
  m->faults = (LoomFault *)g_array_free(faults, FALSE);
  loom_fault_all_test_words(&room, m->tests, m->n_tests);
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
    g_free(m->faults[i].where);
    g_free(m->faults[i].which);
    g_free(m->faults[i].sentence);
  }
  for (guint i = 0; i < m->n_tests; i++) {
    g_free(m->tests[i].key);
    g_free(m->tests[i].name);
    g_free(m->tests[i].todo);
    g_strfreev(m->tests[i].outcomes);
    g_free(m->tests[i].answers);
  }
  g_free(m->faults);
  g_free(m->tests);
  g_free(m->shows);
  g_free(m);
}
