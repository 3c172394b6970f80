/* Fault finding: what faults show, that the true one is never lost, and how good the order of tests
 * is. */
#include "planning/faults.h"

#include "design/file.h"
#include "electric/solve.h"
#include "fixture.h"
#include "planning/csv.h"
#include "planning/faults-private.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

/* ---- small robots ---- */

static LoomDesign *
chain(const LoomCatalogue *catalogue)
{
  LoomDesign *design = loom_design_new("chain");
  static const char *const kinds[] = {"pack-nimh-12v-3ah", "fuse-lead-20",     "switch-main-20",
                                      "extension-30-300",  "controller-rover", "motor-medium",
                                      "motor-medium"};
  for (guint i = 0; i < G_N_ELEMENTS(kinds); i++)
    fixture_add(design, catalogue, kinds[i]);
  fixture_plug(design, "G1:out", "F1:in");
  fixture_plug(design, "F1:out", "Q1:in");
  fixture_plug(design, "Q1:out", "W1:a");
  fixture_plug(design, "W1:b", "K1:power");
  fixture_plug(design, "M1:poles", "K1:motor-1");
  fixture_plug(design, "M2:poles", "K1:motor-2");
  fixture_set(design, "Q1", "on", "yes");
  return design;
}

static LoomDesign *
tiny(const LoomCatalogue *catalogue, guint size)
{
  LoomDesign *design = loom_design_new("tiny");
  fixture_add(design, catalogue, "pack-nimh-12v-3ah");
  if (size > 0)
    fixture_add(design, catalogue, "switch-main-20");
  fixture_add(design, catalogue, "controller-rover");
  if (size > 1)
    fixture_add(design, catalogue, "motor-medium");
  fixture_plug(design, "G1:out", size > 0 ? "Q1:in" : "K1:power");
  if (size > 0)
    fixture_plug(design, "Q1:out", "K1:power");
  if (size > 1)
    fixture_plug(design, "M1:poles", "K1:motor-1");
  return design;
}

static guint
find_fault(const LoomFaultModel *m, const char *sentence)
{
  for (guint i = 0; i < m->n_faults; i++)
    if (g_str_equal(m->faults[i].sentence, sentence))
      return i;
  fail_msg("no fault: %s", sentence);
  return 0;
}

static guint
find_test(const LoomFaultModel *m, const char *name)
{
  for (guint i = 0; i < m->n_tests; i++)
    if (g_str_equal(m->tests[i].name, name))
      return i;
  fail_msg("no test: %s", name);
  return 0;
}

static void
assert_shows(const LoomFaultModel *m, const char *fault, const char *test, const char *outcome)
{
  guint t = find_test(m, test), shown = loom_fault_shows(m, find_fault(m, fault), t);
  if (!g_str_equal(m->tests[t].outcomes[shown], outcome))
    fail_msg("%s %s: %s", fault, test, m->tests[t].outcomes[shown]);
}

/* What anybody with a meter would expect of these. */
static void
faults_show_what_they_must(void **state)
{
  (void)state;
  g_autoptr(LoomCatalogue) catalogue = fixture_built_in();
  g_autoptr(LoomDesign) design = chain(catalogue);
  g_autoptr(LoomFaultModel) m = loom_fault_model_new(design, 0);
  assert_shows(m, "The fuse in F1 is blown.", "lamp of K1", "dark");
  assert_shows(m, "The fuse in F1 is blown.", "fuse in F1", "blown");
  assert_shows(m, "The fuse in F1 is blown.", "volts at G1:out", "about 12.2 V, as it should");
  assert_shows(m, "The fuse in F1 is blown.", "volts at F1:out, opened", "nothing, or nearly");
  assert_shows(m, "The fuse in F1 is blown.", "volts at W1:b, opened", "nothing, or nearly");
  assert_shows(m, "G1 is nearly empty: it wants charging.", "volts at G1:out", "less than 11 V");
  assert_shows(m, "G1 gives nothing: it is completely flat, or broken inside.", "volts at G1:out",
               "nothing, or nearly");
  assert_shows(m, "Q1 is off.", "volts at F1:out, opened", "about 12.2 V, as it should");
  assert_shows(m, "Q1 is off.", "volts at Q1:out, opened", "nothing, or nearly");
  assert_shows(m, "Q1 is off.", "position of Q1", "off");
  assert_shows(m, "W1 was made with + and - swapped.", "volts at W1:b, opened", "a minus sign");
  assert_shows(m, "W1 was made with + and - swapped.", "lamp of K1", "dark");
  assert_shows(m, "M1:poles and K1:motor-1 are not pushed fully together.", "what M1 does",
               "nothing moves");
  assert_shows(m, "M1:poles and K1:motor-1 are not pushed fully together.", "what M2 does",
               "it moves, the right way");
  assert_shows(m, "The plugs at K1:motor-1 and K1:motor-2 have changed places.", "what M1 does",
               "M2 moves instead");
  assert_shows(m, "The plugs at K1:motor-1 and K1:motor-2 have changed places.", "what M2 does",
               "M1 moves instead");
  assert_shows(m, "The plug that belongs in K1:motor-2 is in K1:motor-3.", "what M2 does",
               "nothing moves");
  assert_shows(m, "K1 itself is broken.", "lamp of K1", "dark");
  assert_shows(m, "K1 itself is broken.", "volts at W1:b, opened", "about 12.2 V, as it should");
}

#define DEAD_MOTOR_1                                                                               \
  "The port K1:motor-1 is dead: its driver is burnt out, the rest of K1 lives. Use another port "  \
  "like it, and name that one in the program."

/* One port of a controller that lives: its lamp is lit, the other motor runs, the supply is as it
 * should be, and the motor works elsewhere. */
static void
a_dead_port_leaves_the_rest_alive(void **state)
{
  (void)state;
  g_autoptr(LoomCatalogue) catalogue = fixture_built_in();
  g_autoptr(LoomDesign) design = chain(catalogue);
  g_autoptr(LoomFaultModel) m = loom_fault_model_new(design, 0);
  assert_shows(m, DEAD_MOTOR_1, "lamp of K1", "lit");
  assert_shows(m, DEAD_MOTOR_1, "what M1 does", "nothing moves");
  assert_shows(m, DEAD_MOTOR_1, "what M2 does", "it moves, the right way");
  assert_shows(m, DEAD_MOTOR_1, "volts at W1:b, opened", "about 12.2 V, as it should");
  assert_shows(m, DEAD_MOTOR_1, "M1 at K1:motor-3", "now it works");
  assert_shows(m, DEAD_MOTOR_1, "M2 at K1:motor-3", "no change");
  assert_shows(m, DEAD_MOTOR_1, "another in place of K1", "now it works");
  assert_shows(m, DEAD_MOTOR_1, "another in place of M1", "no change");
  assert_shows(m, "M1 itself is broken.", "M1 at K1:motor-3", "no change");
  assert_shows(m, "K1 itself is broken.", "M1 at K1:motor-3", "no change");
  assert_shows(m, "M1:poles and K1:motor-1 are not pushed fully together.", "M1 at K1:motor-3",
               "now it works");
  assert_shows(m, "Between M1:poles and K1:motor-1 the contact 1 does not touch.",
               "M1 at K1:motor-3", "no change");
  /* once all plugs are seen to sit well, moving one is the least trouble */
  g_autoptr(GError) error = NULL;
  LoomEvidence e[3];
  assert_true(loom_fault_evidence(m, design, "dead", "M1", &e[0], &error));
  assert_true(loom_fault_evidence(m, design, "works", "M2", &e[1], &error));
  assert_true(loom_fault_evidence(m, design, "found", "look-M1:poles=a", &e[2], &error));
  g_autoptr(LoomDiagnosis) d = loom_diagnosis_new(m, e, 3);
  assert_int_equal(m->tests[d->next_test].type, LOOM_TEST_PORT);
  assert_string_equal(m->tests[d->next_test].key, "port-M1");
}

/* Symptoms of two motors that do each other's work, wherever they sit on the controller. */
static void
plugs_far_apart_can_change_places(void **state)
{
  (void)state;
  g_autoptr(LoomCatalogue) catalogue = fixture_built_in();
  g_autoptr(LoomDesign) design = chain(catalogue);
  fixture_add(design, catalogue, "motor-medium");
  fixture_plug(design, "M3:poles", "K1:motor-5");
  g_autoptr(LoomFaultModel) m = loom_fault_model_new(design, 0);
  const char *far = "The plugs at K1:motor-1 and K1:motor-5 have changed places.";
  assert_shows(m, far, "what M1 does", "M3 moves instead");
  assert_shows(m, far, "what M3 does", "M1 moves instead");
  assert_shows(m, far, "what M2 does", "it moves, the right way");
  double near = m->faults[find_fault(m, "The plugs at K1:motor-1 and K1:motor-2 have changed "
                                        "places.")]
                    .prior;
  assert_float_equal(m->faults[find_fault(m, far)].prior, near / 4, 1e-12);
}

/* The robot with the plug of a test really moved by an edit; NULL where its port is in use. New. */
static LoomDesign *
with_plug_moved(const LoomDesign *design, const LoomTest *test)
{
  const LoomPart *part = loom_design_part(design, test->part);
  if (loom_design_joints_at(design, test->part, test->end, NULL, 0) > 0)
    return NULL;
  const LoomJoint *j = loom_design_joint(design, test->joint);
  const char *own = part->kind->ends[test->from].id;
  bool first = g_str_equal(j->a.part, part->designation) && g_str_equal(j->a.end, own);
  const LoomEndName *plug = first ? &j->b : &j->a;
  g_autofree char *name = g_strdup_printf("%s:%s", plug->part, plug->end);
  g_autofree char *to = g_strdup_printf("%s:%s", part->designation, part->kind->ends[test->end].id);
  LoomDesign *copy = loom_design_snapshot(design);
  LoomEdit *edit = loom_edit_new(copy, "move");
  assert_true(loom_edit_unplug_joint(edit, test->joint, NULL));
  assert_true(loom_edit_plug(edit, name, to, LOOM_FIT_NORMAL, NULL, NULL));
  loom_design_apply(copy, edit);
  return copy;
}

/* Faults that the moved robot has as well, by their sentence, against its own roll-call. */
static guint
compare_moved(const LoomFaultModel *m, guint test, const LoomFaultModel *moved)
{
  const LoomTest *t = &m->tests[test];
  guint before = LOOM_NONE, after = LOOM_NONE, compared = 0;
  for (guint i = 0; i < m->n_tests; i++)
    if (m->tests[i].type == LOOM_TEST_ROLL && m->tests[i].part == t->mover &&
        m->tests[i].device == t->device)
      before = i;
  for (guint i = 0; i < moved->n_tests; i++)
    if (moved->tests[i].type == LOOM_TEST_ROLL && moved->tests[i].part == t->mover &&
        moved->tests[i].device == t->device)
      after = i;
  assert_true(before != LOOM_NONE && after != LOOM_NONE);
  for (guint f = 0; f < m->n_faults; f++)
    for (guint g = 0; g < moved->n_faults; g++) {
      if (m->faults[f].type == LOOM_FAULT_PORT ||
          !g_str_equal(m->faults[f].sentence, moved->faults[g].sentence))
        continue;
      bool cured = loom_fault_shows(m, f, before) != 0 && loom_fault_shows(moved, g, after) == 0;
      if ((loom_fault_shows(m, f, test) == 1) != cured)
        fail_msg("%s %s: %s", m->faults[f].sentence, t->name,
                 t->outcomes[loom_fault_shows(m, f, test)]);
      compared++;
    }
  return compared;
}

static void
moving_a_plug_shows_what_the_edited_robot_shows(void **state)
{
  (void)state;
  g_autoptr(LoomCatalogue) catalogue = fixture_built_in();
  g_autofree char *path = loom_data_path("demo/sandpiper.loom");
  g_autoptr(LoomDesign) small = chain(catalogue);
  g_autoptr(LoomDesign) sandpiper = loom_design_open(path, NULL);
  const LoomDesign *const designs[] = {small, sandpiper};
  guint compared = 0;
  for (guint i = 0; i < G_N_ELEMENTS(designs); i++) {
    g_autoptr(LoomFaultModel) m = loom_fault_model_new(designs[i], 0);
    for (guint t = 0; t < m->n_tests; t++) {
      g_autoptr(LoomDesign) edited =
          m->tests[t].type == LOOM_TEST_PORT ? with_plug_moved(designs[i], &m->tests[t]) : NULL;
      if (!edited)
        continue;
      g_autoptr(LoomFaultModel) moved = loom_fault_model_new(edited, 0);
      compared += compare_moved(m, t, moved);
    }
  }
  print_message("%u outcomes of moved plugs against edited robots\n", compared);
  assert_true(compared > 1000);
}

/* Lamps and volts against fresh designs with the fault made by an edit, and a fresh solver. */
static void
solver_agrees_on_edited_designs(void **state)
{
  (void)state;
  g_autoptr(LoomCatalogue) catalogue = fixture_built_in();
  g_autoptr(LoomDesign) design = chain(catalogue);
  g_autoptr(LoomFaultModel) m = loom_fault_model_new(design, 0);
  guint rails = 0;
  for (guint j = 0; j < loom_design_n_joints(design); j++) {
    g_autoptr(LoomDesign) copy = loom_design_snapshot(design);
    LoomEdit *edit = loom_edit_new(copy, "out");
    assert_true(loom_edit_unplug_joint(edit, j, NULL));
    loom_design_apply(copy, edit);
    g_autoptr(LoomWiring) w = loom_wiring_new(copy, 0);
    g_autoptr(LoomNetwork) n = loom_network_new(w);
    g_autoptr(LoomSolver) s = loom_solver_new(n, NULL);
    LoomConditions now = loom_conditions(n);
    now.charge = 0.5;
    g_autoptr(LoomOperatingPoint) p = loom_solver_run(s, &now);
    guint fault = LOOM_NONE;
    for (guint f = 0; f < m->n_faults && fault == LOOM_NONE; f++)
      if (m->faults[f].type == LOOM_FAULT_OUT && m->faults[f].joint == j)
        fault = f;
    for (guint t = 0; t < m->n_tests; t++) {
      const LoomTest *test = &m->tests[t];
      if (test->type != LOOM_TEST_FREE)
        continue;
      double volts = loom_point_volts(p, loom_wiring_node(w, test->part, test->end, test->plus),
                                      loom_wiring_node(w, test->part, test->end, test->minus));
      assert_int_equal(loom_fault_volts_outcome(test, isnan(volts) ? 0 : volts),
                       loom_fault_shows(m, fault, t));
      rails++;
    }
  }
  assert_true(rails > 10);
}

/* Solving what hangs on a controller by itself changes no outcome of any test. */
static guint
compare_ways(const LoomDesign *design)
{
  g_autoptr(LoomFaultModel) full = loom_fault_model_solved(design, 0, false);
  g_autoptr(LoomFaultModel) local = loom_fault_model_solved(design, 0, true);
  assert_int_equal(full->n_faults, local->n_faults);
  assert_int_equal(full->n_tests, local->n_tests);
  for (guint f = 0; f < full->n_faults; f++)
    for (guint t = 0; t < full->n_tests; t++)
      if (loom_fault_shows(full, f, t) != loom_fault_shows(local, f, t))
        fail_msg("%s %s: %s in full, %s by itself", full->faults[f].sentence, full->tests[t].name,
                 full->tests[t].outcomes[loom_fault_shows(full, f, t)],
                 full->tests[t].outcomes[loom_fault_shows(local, f, t)]);
  return full->n_faults;
}

static void
solving_parts_by_themselves_changes_nothing(void **state)
{
  (void)state;
  g_autoptr(LoomCatalogue) catalogue = fixture_built_in();
  g_autofree char *path = loom_data_path("demo/sandpiper.loom");
  g_autoptr(LoomDesign) sandpiper = loom_design_open(path, NULL);
  guint faults = compare_ways(sandpiper);
  for (guint seed = 100; seed < 170; seed++) {
    g_autoptr(GRand) rand = g_rand_new_with_seed(seed);
    g_autoptr(LoomDesign) design = fixture_random_robot(catalogue, rand);
    faults += compare_ways(design);
  }
  print_message("%u faults solved both ways\n", faults);
  assert_true(faults > 1000);
}

static void
takes_answers_in_words(void **state)
{
  (void)state;
  g_autoptr(LoomCatalogue) catalogue = fixture_built_in();
  g_autoptr(LoomDesign) design = chain(catalogue);
  g_autoptr(LoomFaultModel) m = loom_fault_model_new(design, 0);
  g_autoptr(GError) error = NULL;
  LoomEvidence e[3];
  assert_true(loom_fault_evidence(m, design, "dead", "K1", &e[0], &error));
  assert_int_equal(m->tests[e[0].test].type, LOOM_TEST_LAMP);
  assert_true(loom_fault_evidence(m, design, "volts", "F1:out=12.1", &e[1], &error));
  assert_int_equal(e[1].outcomes, 1);
  assert_true(loom_fault_evidence(m, design, "volts", "W1:b=0", &e[2], &error));
  assert_int_equal(e[2].outcomes, 1 << 2);
  g_autoptr(LoomDiagnosis) d = loom_diagnosis_new(m, e, 3);
  for (guint i = 0; i < d->n_suspects; i++)
    for (guint k = 0; k < d->suspects[i].n_faults; k++) {
      const char *s = m->faults[d->suspects[i].faults[k]].suspect;
      if (g_str_equal(s, "F1") || strstr(s, "G1:out"))
        fail_msg("%s cannot be: there are volts behind it", s);
    }
  assert_true(d->n_suspects > 3 && d->next_test != LOOM_NONE);
  assert_false(loom_fault_evidence(m, design, "dead", "W1", &e[0], &error));
  assert_string_equal(error->message, "W1 does nothing that one could see or hear in this scene.");
  g_clear_error(&error);
  assert_false(loom_fault_evidence(m, design, "volts", "W1:b", &e[0], &error));
  assert_string_equal(error->message,
                      "A reading is written as END=VOLTS, as in W2:b=12.1, not W1:b.");
}

static void
an_answer_that_says_nothing_changes_nothing(void **state)
{
  (void)state;
  g_autoptr(LoomCatalogue) catalogue = fixture_built_in();
  g_autoptr(LoomDesign) design = chain(catalogue);
  g_autoptr(LoomFaultModel) m = loom_fault_model_new(design, 0);
  g_autoptr(GError) error = NULL;
  LoomEvidence e[2];
  assert_true(loom_fault_evidence(m, design, "dead", "K1", &e[0], &error));
  g_autoptr(LoomDiagnosis) before = loom_diagnosis_new(m, e, 1);
  e[1] = (LoomEvidence){before->next_test, 0};
  g_autoptr(LoomDiagnosis) after = loom_diagnosis_new(m, e, 2);
  assert_int_not_equal(after->next_test, before->next_test);
  double sum = 0;
  for (guint i = 0; i < after->n_suspects; i++)
    sum += after->suspects[i].likelihood;
  assert_float_equal(sum, 1, 1e-9);
}

/* ---- to the end, with honest answers ---- */

/* What the robot's user sees before any test: the lamps, whether it starts again, and the first
 * thing in the roll-call that is not as it should be. Returns how many answers; 0: nothing is
 * amiss. */
static guint
seen_at_once(const LoomFaultModel *m, guint fault, LoomEvidence *seen)
{
  guint n = 0;
  bool amiss = false;
  for (guint t = 0; t < m->n_tests; t++) {
    LoomTestType type = m->tests[t].type;
    if (type != LOOM_TEST_LAMP && type != LOOM_TEST_RESTART)
      continue;
    guint shown = loom_fault_shows(m, fault, t);
    amiss |= shown != 0;
    seen[n++] = (LoomEvidence){t, 1u << shown};
  }
  for (guint t = 0; t < m->n_tests && !amiss; t++) {
    guint shown = loom_fault_shows(m, fault, t);
    if (m->tests[t].type != LOOM_TEST_ROLL || shown == 0)
      continue;
    amiss = true;
    seen[n++] = (LoomEvidence){t, 1u << shown};
  }
  return amiss ? n : 0;
}

static bool
is_suspect(const LoomDiagnosis *d, guint fault)
{
  for (guint i = 0; i < d->n_suspects; i++)
    for (guint k = 0; k < d->suspects[i].n_faults; k++)
      if (d->suspects[i].faults[k] == fault)
        return true;
  return false;
}

/* Follows the tests that are proposed; the trouble that they were. Fails where the fault gets lost.
 */
static double
trouble_to_find(const LoomFaultModel *m, guint fault, const LoomEvidence *seen, guint n)
{
  g_autofree LoomEvidence *e = g_new(LoomEvidence, m->n_tests + n + 1);
  memcpy(e, seen, n * sizeof *e);
  double trouble = 0;
  for (guint round = 0; round <= m->n_tests; round++) {
    g_autoptr(LoomDiagnosis) d = loom_diagnosis_new(m, e, n);
    if (!is_suspect(d, fault))
      fail_msg("lost: %s", m->faults[fault].sentence);
    if (d->next_test == LOOM_NONE) {
      assert_int_equal(d->n_suspects, 1);
      return trouble;
    }
    trouble += m->tests[d->next_test].trouble;
    e[n++] = (LoomEvidence){d->next_test, 1u << loom_fault_shows(m, fault, d->next_test)};
  }
  fail_msg("no end: %s", m->faults[fault].sentence);
  return 0;
}

/* ---- the best possible ---- */

typedef struct {
  const LoomFaultModel *m;
  guint n;
  guint *fault;   /* [n] one of each class */
  double *weight; /* [n] */
  double *best;   /* [2^n] NAN: not known */
} Best;

static double
best_trouble(Best *b, guint32 set)
{
  if (!isnan(b->best[set]))
    return b->best[set];
  double total = 0, best = INFINITY;
  for (guint i = 0; i < b->n; i++)
    total += set >> i & 1 ? b->weight[i] : 0;
  for (guint t = 0; t < b->m->n_tests && (set & (set - 1)); t++) {
    guint32 parts[32] = {0};
    for (guint i = 0; i < b->n; i++)
      if (set >> i & 1)
        parts[loom_fault_shows(b->m, b->fault[i], t)] |= 1u << i;
    double trouble = total * b->m->tests[t].trouble;
    for (guint o = 0; o < 32 && trouble < best; o++)
      if (parts[o] == set)
        trouble = INFINITY;
      else if (parts[o])
        trouble += best_trouble(b, parts[o]);
    best = fmin(best, trouble);
  }
  return b->best[set] = isinf(best) ? 0 : best;
}

#define MOST_CLASSES 17

/* Expected trouble of the best decision tree for the suspects, by trying every tree. NAN: too many.
 */
static double
best_of(const LoomFaultModel *m, const LoomDiagnosis *d)
{
  if (d->n_suspects > MOST_CLASSES)
    return NAN;
  Best b = {m, d->n_suspects, g_new(guint, d->n_suspects), g_new(double, d->n_suspects),
            g_new(double, 1u << d->n_suspects)};
  double total = 0;
  for (guint i = 0; i < b.n; i++) {
    b.fault[i] = d->suspects[i].faults[0];
    b.weight[i] = d->suspects[i].likelihood;
    total += b.weight[i];
  }
  for (guint32 i = 0; i < 1u << b.n; i++)
    b.best[i] = NAN;
  double best = best_trouble(&b, (1u << b.n) - 1) / total;
  g_free(b.fault);
  g_free(b.weight);
  g_free(b.best);
  return best;
}

/* Bits that a unit of trouble can bring at most: no tree is better than the entropy over that. */
static double
most_bits_per_trouble(const LoomFaultModel *m)
{
  double most = 0;
  for (guint t = 0; t < m->n_tests; t++) {
    guint32 seen = 1;
    for (guint f = 0; f < m->n_faults; f++)
      seen |= 1u << loom_fault_shows(m, f, t);
    most = fmax(most, log2(__builtin_popcount(seen)) / m->tests[t].trouble);
  }
  return most;
}

typedef struct {
  guint faults, groups, compared;
  double weight, trouble;           /* over all faults that are seen */
  double small_trouble, small_best; /* over those with a best tree */
  double worst;                     /* ratio */
  double bits_bound;
} Score;

/* Marks the faults that look the same at first sight; how many. */
static guint
mark_alike(const LoomFaultModel *m, guint fault, const LoomEvidence *seen, guint n, bool *done)
{
  guint alike = 0;
  g_autofree LoomEvidence *other = g_new(LoomEvidence, m->n_tests + 1);
  for (guint g = fault; g < m->n_faults; g++)
    if (seen_at_once(m, g, other) == n && memcmp(seen, other, n * sizeof *seen) == 0) {
      done[g] = true;
      alike++;
    }
  return alike;
}

/* Every single fault of the robot, from what is seen at once to the end. A first sight fits faults
 * that would have been seen otherwise too; they count with those that it fits. */
static void
score_robot(const LoomDesign *design, Score *score)
{
  g_autoptr(LoomFaultModel) m = loom_fault_model_new(design, 0);
  g_autofree bool *done = g_new0(bool, m->n_faults + 1);
  g_autofree LoomEvidence *seen = g_new(LoomEvidence, m->n_tests + 1);
  double per_trouble = most_bits_per_trouble(m);
  for (guint f = 0; f < m->n_faults; f++) {
    guint n = done[f] ? 0 : seen_at_once(m, f, seen);
    if (n == 0)
      continue;
    g_autoptr(LoomDiagnosis) d = loom_diagnosis_new(m, seen, n);
    double weight = 0, trouble = 0;
    for (guint i = 0; i < d->n_suspects; i++)
      for (guint k = 0; k < d->suspects[i].n_faults; k++) {
        guint g = d->suspects[i].faults[k];
        weight += m->faults[g].prior;
        trouble += m->faults[g].prior * trouble_to_find(m, g, seen, n);
      }
    score->faults += mark_alike(m, f, seen, n, done);
    score->groups++;
    score->weight += weight;
    score->trouble += trouble;
    score->bits_bound += weight * d->bits / per_trouble;
    double best = best_of(m, d);
    if (isnan(best) || best == 0)
      continue;
    score->compared++;
    score->small_trouble += trouble;
    score->small_best += weight * best;
    score->worst = fmax(score->worst, trouble / (weight * best));
  }
}

static void
print_score(const char *name, const Score *s)
{
  print_message(
      "%-22s %4u faults, %3u first sights; trouble %5.2f, entropy bound %5.2f; %3u with the "
      "best tree: %.3f of it, worst %.3f\n",
      name, s->faults, s->groups, s->trouble / s->weight, s->bits_bound / s->weight, s->compared,
      s->small_best > 0 ? s->small_trouble / s->small_best : 1, s->worst);
}

static void
small_robots_come_near_the_best_tree(void **state)
{
  (void)state;
  g_autoptr(LoomCatalogue) catalogue = fixture_built_in();
  for (guint size = 0; size < 3; size++) {
    g_autoptr(LoomDesign) design = tiny(catalogue, size);
    Score score = {0};
    score_robot(design, &score);
    print_score("tiny", &score);
    assert_true(score.compared > 0);
    assert_true(score.small_trouble <= 1.15 * score.small_best);
  }
}

static void
sandpiper_loses_no_fault(void **state)
{
  (void)state;
  g_autoptr(GError) error = NULL;
  g_autofree char *path = loom_data_path("demo/sandpiper.loom");
  g_autoptr(LoomDesign) design = loom_design_open(path, &error);
  assert_non_null(design);
  Score score = {0};
  score_robot(design, &score);
  print_score("sandpiper", &score);
  assert_true(score.faults > 150 && score.compared > 3);
  assert_true(score.small_trouble <= 1.15 * score.small_best);
}

#define ROBOTS 10

static void
random_robots_lose_no_fault(void **state)
{
  (void)state;
  g_autoptr(LoomCatalogue) catalogue = fixture_built_in();
  guint robots = 0;
  Score all = {0};
  for (guint seed = 1; robots < ROBOTS; seed++) {
    g_autoptr(GRand) rand = g_rand_new_with_seed(seed);
    g_autoptr(LoomDesign) design = fixture_random_robot(catalogue, rand);
    Score score = {0};
    score_robot(design, &score);
    if (score.faults < 20)
      continue;
    g_autofree char *name = g_strdup_printf("random, seed %u", seed);
    print_score(name, &score);
    all.small_trouble += score.small_trouble;
    all.small_best += score.small_best;
    robots++;
  }
  assert_true(all.small_trouble <= 1.15 * all.small_best);
}

static void
the_tree_begins_with_the_next_test(void **state)
{
  (void)state;
  g_autoptr(LoomCatalogue) catalogue = fixture_built_in();
  g_autoptr(LoomDesign) design = chain(catalogue);
  g_autoptr(LoomFaultModel) m = loom_fault_model_new(design, 0);
  LoomEvidence e;
  assert_true(loom_fault_evidence(m, design, "dead", "K1", &e, NULL));
  g_autoptr(LoomFaultTree) tree = loom_fault_tree_new(m, &e, 1, 2);
  g_autoptr(LoomDiagnosis) d = loom_diagnosis_new(m, &e, 1);
  assert_int_equal(tree->diagnosis->next_test, d->next_test);
  assert_true(tree->n_branches >= 2);
  guint below = 0;
  for (guint i = 0; i < tree->n_branches; i++) {
    below += tree->branches[i]->n_branches;
    for (guint k = 0; k < tree->branches[i]->n_branches; k++)
      assert_int_equal(tree->branches[i]->branches[k]->n_branches, 0);
  }
  assert_true(below >= 2);
}

static void
writes_the_agreed_columns(void **state)
{
  (void)state;
  g_autoptr(LoomCatalogue) catalogue = fixture_built_in();
  g_autoptr(LoomDesign) design = chain(catalogue);
  g_autoptr(LoomFaultModel) m = loom_fault_model_new(design, 0);
  LoomEvidence e;
  assert_true(loom_fault_evidence(m, design, "dead", "K1", &e, NULL));
  g_autoptr(LoomDiagnosis) d = loom_diagnosis_new(m, &e, 1);
  g_autofree char *text = loom_diagnosis_to_csv(m, d);
  assert_true(g_str_has_prefix(
      text, "rank,suspect,fault,likelihood,next_test,expected_if_so,expected_if_not\r\n1,"));
  g_autoptr(LoomCsvTable) table = loom_csv_parse(text, strlen(text), "faults", NULL);
  guint so = loom_csv_column(table, "expected_if_so"),
        other = loom_csv_column(table, "expected_if_not");
  for (guint i = 1; i < table->n_rows; i++)
    assert_string_not_equal(loom_csv_field(table, i, so), loom_csv_field(table, i, other));
}

static void
an_empty_sheet_has_no_faults(void **state)
{
  (void)state;
  g_autoptr(LoomDesign) design = loom_design_new("empty");
  g_autoptr(LoomFaultModel) m = loom_fault_model_new(design, 0);
  assert_int_equal(m->n_faults, 0);
  g_autoptr(LoomDiagnosis) d = loom_diagnosis_new(m, NULL, 0);
  assert_int_equal(d->n_suspects, 0);
  assert_int_equal(d->next_test, LOOM_NONE);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(faults_show_what_they_must),
      cmocka_unit_test(a_dead_port_leaves_the_rest_alive),
      cmocka_unit_test(plugs_far_apart_can_change_places),
      cmocka_unit_test(moving_a_plug_shows_what_the_edited_robot_shows),
      cmocka_unit_test(solver_agrees_on_edited_designs),
      cmocka_unit_test(solving_parts_by_themselves_changes_nothing),
      cmocka_unit_test(takes_answers_in_words),
      cmocka_unit_test(an_answer_that_says_nothing_changes_nothing),
      cmocka_unit_test(small_robots_come_near_the_best_tree),
      cmocka_unit_test(sandpiper_loses_no_fault),
      cmocka_unit_test(random_robots_lose_no_fault),
      cmocka_unit_test(the_tree_begins_with_the_next_test),
      cmocka_unit_test(writes_the_agreed_columns),
      cmocka_unit_test(an_empty_sheet_has_no_faults),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
