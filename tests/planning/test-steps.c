/* The order of plugging: proven on random designs by acting the steps out, and read on an ordinary
 * one.
 *
 * Acting out keeps the set of plugged joints and the switches. What is live is found anew for every
 * step, from the elements and contacts alone: all that is joined to a source through plugged
 * joints, wires, fuses and switches (all of them closed: the worst case). */
#include "planning/steps.h"

#include "electric/wiring.h"
#include "fixture.h"
#include "planning/csv.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

/* ---- acting the steps out ---- */

typedef struct {
  guint seed;
  LoomWiring *w;
  const LoomSteps *steps;
  bool *plugged;  /* [n_joints] of the wiring */
  guint *times;   /* [n_joints] plugged */
  guint *apart;   /* [n_joints] unplugged */
  bool *off, *on; /* [n_parts] what was last said of its switch */
} Act;

static guint
wired_of(const Act *act, guint joint)
{
  for (guint i = 0; i < act->w->n_joints; i++)
    if (act->w->joints[i].joint == joint)
      return i;
  fail_msg("seed %u: step on a joint that is not plugged in the scene", act->seed);
  return 0;
}

/* Nodes that a source reaches through what is plugged. `loads`: also through parts that take power.
 */
static bool *
live_nodes(const Act *act)
{
  const LoomWiring *w = act->w;
  bool *live = g_new0(bool, w->n_nodes + 1);
  for (bool more = true, first = true; more; first = false) {
    more = false;
    for (guint p = 0; p < w->n_parts; p++) {
      const LoomKind *kind = loom_wiring_part(w, p)->kind;
      for (guint i = 0; i < kind->n_elements; i++) {
        const LoomElement *e = &kind->elements[i];
        bool *a = &live[w->part_node[p] + e->a], *b = &live[w->part_node[p] + e->b];
        bool source = first && e->type == LOOM_ELEMENT_SOURCE;
        bool conducts = e->type <= LOOM_ELEMENT_FUSE && *a != *b;
        if (source || conducts)
          *a = *b = more = true;
      }
    }
    for (guint t = 0; t < w->n_touches; t++) {
      bool *a = &live[w->touches[t].a], *b = &live[w->touches[t].b];
      if (act->plugged[w->touches[t].wired] && *a != *b)
        *a = *b = more = true;
    }
  }
  return live;
}

static bool
has_source(const LoomKind *kind)
{
  for (guint i = 0; i < kind->n_elements; i++)
    if (kind->elements[i].type == LOOM_ELEMENT_SOURCE)
      return true;
  return false;
}

/* Whether an end of the joint is live while nothing at all is plugged. */
static bool
is_source_joint(const Act *act, const LoomWiredJoint *j)
{
  Act bare = *act;
  bare.plugged = g_new0(bool, act->w->n_joints + 1);
  g_autofree bool *live = live_nodes(&bare);
  g_free(bare.plugged);
  guint ends[2][2] = {{j->part_a, j->end_a}, {j->part_b, j->end_b}};
  for (guint side = 0; side < 2; side++) {
    const LoomKind *kind = loom_wiring_part(act->w, ends[side][0])->kind;
    for (guint c = 0; has_source(kind) && c < kind->ends[ends[side][1]].n_contacts; c++)
      if (live[loom_wiring_node(act->w, ends[side][0], ends[side][1], c)])
        return true;
  }
  return false;
}

/* Nothing may be live at any plugged joint while hands plug another. */
static void
assert_dead(const Act *act, guint step)
{
  g_autofree bool *live = live_nodes(act);
  for (guint t = 0; t < act->w->n_touches; t++)
    if (act->plugged[act->w->touches[t].wired] &&
        (live[act->w->touches[t].a] || live[act->w->touches[t].b]))
      fail_msg("seed %u, step %u: something is live while a joint is plugged", act->seed, step);
}

/* A switch between a source and this joint must have been put off: every switch that is joined to
 * the source without going through a part that has any other element. */
static void
assert_switches_off(const Act *act, guint step)
{
  for (guint p = 0; p < act->w->n_parts; p++) {
    const LoomPart *part = loom_wiring_part(act->w, p);
    bool plain = part->kind->has_switch;
    for (guint i = 0; i < part->kind->n_elements; i++)
      plain &= part->kind->elements[i].type <= LOOM_ELEMENT_FUSE;
    bool at_source = false;
    for (guint i = 0; plain && i < act->w->n_joints; i++) {
      const LoomWiredJoint *j = &act->w->joints[i];
      guint other = j->part_a == p ? j->part_b : j->part_b == p ? j->part_a : LOOM_NONE;
      at_source |= other != LOOM_NONE && j->mate == LOOM_MATE_YES && is_source_joint(act, j);
    }
    if (at_source && (act->on[p] || !act->off[p]))
      fail_msg("seed %u, step %u: %s is not off", act->seed, step, part->designation);
  }
}

static void
act_plug(Act *act, guint index, const LoomStep *step, bool *source_seen)
{
  guint wired = wired_of(act, step->joint);
  bool source = is_source_joint(act, &act->w->joints[wired]);
  if (source != step->source || act->plugged[wired] || step->again != (act->times[wired] > 0))
    fail_msg("seed %u, step %u: source, again or plugged twice", act->seed, index);
  if (!source) {
    assert_dead(act, index);
    if (*source_seen)
      fail_msg("seed %u, step %u: after a source in the same stage", act->seed, index);
  } else {
    assert_switches_off(act, index);
  }
  *source_seen |= source;
  act->plugged[wired] = true;
  act->times[wired]++;
}

static void
act_out(Act *act)
{
  bool source_seen = false;
  for (guint i = 0; i < act->steps->n_steps; i++) {
    const LoomStep *step = &act->steps->steps[i];
    if (i > 0 && step->stage != act->steps->steps[i - 1].stage)
      source_seen = false;
    if (i > 0 && step->stage < act->steps->steps[i - 1].stage)
      fail_msg("seed %u: stages out of order", act->seed);
    switch (step->act) {
    case LOOM_STEP_PLUG:
      act_plug(act, i, step, &source_seen);
      break;
    case LOOM_STEP_UNPLUG:
      assert_true(act->plugged[wired_of(act, step->joint)]);
      act->plugged[wired_of(act, step->joint)] = false;
      act->apart[wired_of(act, step->joint)]++;
      break;
    case LOOM_STEP_SWITCH_OFF:
    case LOOM_STEP_SWITCH_ON:
      act->on[step->part] = step->act == LOOM_STEP_SWITCH_ON;
      act->off[step->part] = !act->on[step->part];
      break;
    case LOOM_STEP_MEASURE:
      assert_true(step->nominal_V > 0 && step->low_V <= step->high_V);
      break;
    }
  }
}

/* Every joint once; what stage B takes apart twice; radio links never. All switches off at the end.
 */
static void
assert_complete(const Act *act)
{
  for (guint i = 0; i < act->w->n_joints; i++) {
    const LoomWiredJoint *j = &act->w->joints[i];
    bool radio =
        loom_wiring_part(act->w, j->part_a)->kind->ends[j->end_a].family->shape == LOOM_SHAPE_RADIO;
    guint expected = radio ? 0 : 1 + act->apart[i];
    if (act->times[i] != expected || act->apart[i] > 1 || act->plugged[i] == radio)
      fail_msg("seed %u: joint %u plugged %u times, apart %u times", act->seed, i, act->times[i],
               act->apart[i]);
  }
  for (guint p = 0; p < act->w->n_parts; p++)
    assert_false(act->on[p]);
}

static void
assert_groups(const LoomSteps *steps)
{
  guint next = 0;
  for (guint g = 0; g < steps->n_groups; g++) {
    assert_int_equal(steps->groups[g].first, next);
    assert_true(steps->groups[g].n > 0);
    next += steps->groups[g].n;
  }
  assert_int_equal(next, steps->n_steps);
}

static void
prove(const LoomDesign *design, guint seed, bool *tried)
{
  g_autoptr(LoomSteps) steps = loom_steps_new(design, 0);
  Act act = {.seed = seed, .w = loom_wiring_new(design, 0), .steps = steps};
  act.plugged = g_new0(bool, act.w->n_joints + 1);
  act.times = g_new0(guint, act.w->n_joints + 1);
  act.apart = g_new0(guint, act.w->n_joints + 1);
  act.off = g_new0(bool, act.w->n_parts + 1);
  act.on = g_new0(bool, act.w->n_parts + 1);
  act_out(&act);
  assert_complete(&act);
  assert_groups(steps);
  for (guint i = 0; i < steps->n_steps; i++)
    *tried |= steps->steps[i].act == LOOM_STEP_MEASURE;
  g_free(act.plugged);
  g_free(act.times);
  g_free(act.apart);
  g_free(act.off);
  g_free(act.on);
  loom_wiring_free(act.w);
}

static void
random_robots_keep_every_promise(void **state)
{
  (void)state;
  g_autoptr(LoomCatalogue) catalogue = fixture_built_in();
  guint with_trial = 0;
  for (guint seed = 1; seed <= 900; seed++) {
    g_autoptr(GRand) rand = g_rand_new_with_seed(seed);
    g_autoptr(LoomDesign) design = fixture_random_robot(catalogue, rand);
    bool tried = false;
    prove(design, seed, &tried);
    with_trial += tried;
  }
  print_message("%u of 900 have a supply that is tried alone\n", with_trial);
  assert_true(with_trial > 100);
}

/* ---- an ordinary robot, read ---- */

static LoomDesign *
ordinary(const LoomCatalogue *catalogue)
{
  LoomDesign *design = loom_design_new("ordinary");
  static const char *const kinds[] = {"pack-nimh-12v-3ah", "fuse-lead-20",     "switch-main-20",
                                      "extension-30-300",  "controller-rover", "motor-medium"};
  for (guint i = 0; i < G_N_ELEMENTS(kinds); i++)
    fixture_add(design, catalogue, kinds[i]);
  fixture_plug(design, "G1:out", "F1:in");
  fixture_plug(design, "F1:out", "Q1:in");
  fixture_plug(design, "Q1:out", "W1:a");
  fixture_plug(design, "W1:b", "K1:power");
  fixture_plug(design, "M1:poles", "K1:motor-1");
  fixture_set(design, "G1:out", "tied", "yes");
  return design;
}

static void
assert_step(const LoomSteps *steps, guint index, LoomStage stage, LoomStepAct act, const char *from,
            const char *to)
{
  const LoomStep *step = &steps->steps[index];
  if (step->stage != stage || step->act != act || g_strcmp0(step->from, from) ||
      g_strcmp0(step->to, to))
    fail_msg("step %u is %s %d %s %s", index, loom_stage_word(step->stage), (int)step->act,
             step->from, step->to);
}

static void
goes_through_the_stages(void **state)
{
  (void)state;
  g_autoptr(LoomCatalogue) catalogue = fixture_built_in();
  g_autoptr(LoomDesign) design = ordinary(catalogue);
  g_autoptr(LoomSteps) s = loom_steps_new(design, 0);
  assert_int_equal(s->n_steps, 11);
  assert_step(s, 0, LOOM_STAGE_A, LOOM_STEP_PLUG, "M1:poles", "K1:motor-1");
  assert_step(s, 1, LOOM_STAGE_B, LOOM_STEP_SWITCH_OFF, "Q1", NULL);
  assert_step(s, 2, LOOM_STAGE_B, LOOM_STEP_PLUG, "W1:a", "Q1:out");
  assert_step(s, 3, LOOM_STAGE_B, LOOM_STEP_PLUG, "F1:out", "Q1:in");
  assert_step(s, 4, LOOM_STAGE_B, LOOM_STEP_PLUG, "G1:out", "F1:in");
  assert_step(s, 5, LOOM_STAGE_B, LOOM_STEP_SWITCH_ON, "Q1", NULL);
  assert_step(s, 6, LOOM_STAGE_B, LOOM_STEP_MEASURE, "W1:b", NULL);
  assert_step(s, 7, LOOM_STAGE_B, LOOM_STEP_SWITCH_OFF, "Q1", NULL);
  assert_step(s, 8, LOOM_STAGE_B, LOOM_STEP_UNPLUG, "G1:out", "F1:in");
  assert_step(s, 9, LOOM_STAGE_C, LOOM_STEP_PLUG, "W1:b", "K1:power");
  assert_step(s, 10, LOOM_STAGE_C, LOOM_STEP_PLUG, "G1:out", "F1:in");
  assert_true(s->steps[10].again && s->steps[10].source);
  assert_string_equal(
      s->steps[6].sentence,
      "Meter on volts DC, red probe on W1:b:+, black probe on W1:b:-: it reads about "
      "12.2 V (10 V with an empty pack, 14 V with a full one).");
  assert_non_null(strstr(s->steps[4].home, "Then tie it."));
  assert_null(s->notes[0]);
}

/* The converter hands the supply on: it comes in with the supply, and 5 V are measured behind it.
 */
static void
measures_behind_a_converter(void **state)
{
  (void)state;
  g_autoptr(LoomCatalogue) catalogue = fixture_built_in();
  g_autoptr(LoomDesign) design = loom_design_new("converter");
  static const char *const kinds[] = {"pack-nimh-12v-3ah", "switch-main-20", "converter-5v-usb",
                                      "usb-lead-c-c-1000", "computer-board"};
  for (guint i = 0; i < G_N_ELEMENTS(kinds); i++)
    fixture_add(design, catalogue, kinds[i]);
  fixture_plug(design, "G1:out", "Q1:in");
  fixture_plug(design, "Q1:out", "T1:in");
  fixture_plug(design, "T1:out", "W1:a");
  fixture_plug(design, "W1:b", "K1:power");
  g_autoptr(LoomSteps) s = loom_steps_new(design, 0);
  assert_int_equal(s->n_steps, 10);
  assert_step(s, 1, LOOM_STAGE_B, LOOM_STEP_PLUG, "W1:a", "T1:out");
  assert_step(s, 5, LOOM_STAGE_B, LOOM_STEP_MEASURE, "W1:b", NULL);
  assert_true(fabs(s->steps[5].nominal_V - 5.1) < 1e-9);
  assert_step(s, 8, LOOM_STAGE_C, LOOM_STEP_PLUG, "W1:b", "K1:power");
}

static void
says_that_there_is_no_switch(void **state)
{
  (void)state;
  g_autoptr(LoomCatalogue) catalogue = fixture_built_in();
  g_autoptr(LoomDesign) design = loom_design_new("bare");
  fixture_add(design, catalogue, "pack-nimh-12v-3ah");
  fixture_add(design, catalogue, "controller-rover");
  fixture_plug(design, "G1:out", "K1:power");
  g_autoptr(LoomSteps) s = loom_steps_new(design, 0);
  assert_int_equal(s->n_steps, 1);
  assert_step(s, 0, LOOM_STAGE_C, LOOM_STEP_PLUG, "G1:out", "K1:power");
  assert_string_equal(s->notes[0],
                      "There is no switch behind G1: everything is live from the moment "
                      "that it is plugged.");
  assert_null(s->notes[1]);
}

static void
an_empty_sheet_has_no_steps(void **state)
{
  (void)state;
  g_autoptr(LoomDesign) design = loom_design_new("empty");
  g_autoptr(LoomSteps) s = loom_steps_new(design, 0);
  assert_int_equal(s->n_steps, 0);
  assert_int_equal(s->n_groups, 0);
  assert_string_equal(s->notes[0], "No pack is plugged in this scene.");
}

static void
writes_the_agreed_columns(void **state)
{
  (void)state;
  g_autoptr(LoomCatalogue) catalogue = fixture_built_in();
  g_autoptr(LoomDesign) design = ordinary(catalogue);
  g_autoptr(LoomSteps) s = loom_steps_new(design, 0);
  g_autofree char *text = loom_steps_to_csv(s);
  g_autoptr(LoomCsvTable) table = loom_csv_parse(text, strlen(text), "steps", NULL);
  assert_non_null(table);
  assert_true(g_str_has_prefix(text, "step,stage,from,to,sentence\r\n1,A,M1:poles,K1:motor-1,"));
  assert_int_equal(table->n_rows, s->n_steps + 1);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(random_robots_keep_every_promise),
      cmocka_unit_test(goes_through_the_stages),
      cmocka_unit_test(measures_behind_a_converter),
      cmocka_unit_test(says_that_there_is_no_switch),
      cmocka_unit_test(an_empty_sheet_has_no_steps),
      cmocka_unit_test(writes_the_agreed_columns),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
