/* Contacts numbered, joints resolved, circuits: what every later view of the wiring starts from. */
#include "electric/circuit.h"
#include "rig.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>

#include <cmocka.h>

static guint
node_of(const LoomWiring *w, const char *name)
{
  for (guint v = 0; v < w->n_nodes; v++) {
    g_autofree char *here = loom_wiring_node_name(w, v);
    if (g_str_equal(here, name))
      return v;
  }
  fail_msg("no contact %s", name);
  return 0;
}

static bool
touch(const LoomWiring *w, const char *a, const char *b)
{
  guint x = node_of(w, a), y = node_of(w, b);
  for (guint i = 0; i < w->n_touches; i++)
    if ((w->touches[i].a == x && w->touches[i].b == y) ||
        (w->touches[i].a == y && w->touches[i].b == x))
      return true;
  return false;
}

static bool
joined(const LoomWiring *w, const LoomCircuits *c, const char *a, const char *b)
{
  return c->circuit[node_of(w, a)] == c->circuit[node_of(w, b)];
}

static Rig *
chain(void)
{
  Rig *rig = rig_new(NULL);
  rig_add(rig, "pack-nimh-12v-3ah", "G1");
  rig_add(rig, "fuse-lead-20", "F1");
  rig_add(rig, "switch-main-20", "Q1");
  rig_add(rig, "controller-rover", "K1");
  rig_plug(rig, "G1:out", "F1:in");
  rig_plug(rig, "F1:out", "Q1:in");
  rig_plug(rig, "Q1:out", "K1:power");
  return rig;
}

static void
test_numbers(void **state)
{
  (void)state;
  g_autoptr(Rig) rig = chain();
  g_autoptr(LoomWiring) w = loom_wiring_new(rig_done(rig), 0);
  assert_int_equal(w->n_parts, 4);
  assert_int_equal(w->n_joints, 3);
  assert_int_equal(w->n_touches, 6);
  for (guint v = 0; v < w->n_nodes; v++) {
    guint part, end, contact;
    assert_in_range(v, w->part_node[w->node_part[v]], w->part_node[w->node_part[v] + 1] - 1);
    if (loom_wiring_contact(w, v, &part, &end, &contact))
      assert_int_equal(loom_wiring_node(w, part, end, contact), v);
  }
  assert_int_equal(loom_wiring_n_joints_at(w, 0, 0), 1);
  assert_true(touch(w, "G1:out:+", "F1:in:+") && touch(w, "Q1:out:-", "K1:power:-"));
  assert_false(touch(w, "G1:out:+", "F1:in:-"));
}

static void
test_switch_and_fuse(void **state)
{
  (void)state;
  g_autoptr(Rig) rig = chain();
  rig_set(rig, "Q1", "on", "no");
  g_autoptr(LoomWiring) w = loom_wiring_new(rig_done(rig), 0);
  static const struct {
    LoomThrough through;
    bool past_fuse, past_switch;
  } cases[] = {
      {0, false, false},
      {LOOM_THROUGH_FUSES, true, false},
      {LOOM_THROUGH_SWITCHES, false, false}, /* it is off */
      {LOOM_THROUGH_OPEN, false, true},
      {LOOM_THROUGH_OPEN | LOOM_THROUGH_FUSES, true, true},
  };
  for (guint i = 0; i < G_N_ELEMENTS(cases); i++) {
    g_autoptr(LoomCircuits) c = loom_circuits_new(w, NULL, cases[i].through);
    assert_int_equal(joined(w, c, "G1:out:+", "F1:out:+"), cases[i].past_fuse);
    assert_int_equal(joined(w, c, "Q1:in:+", "K1:power:+"), cases[i].past_switch);
    assert_true(joined(w, c, "G1:out:-", "K1:power:-"));
    assert_false(joined(w, c, "G1:out:+", "G1:out:-"));
  }
  g_autoptr(LoomCircuits) apart = loom_circuits_new(w, NULL, LOOM_WITHOUT_JOINTS);
  assert_false(joined(w, apart, "G1:out:+", "F1:in:+"));
}

static void
test_circuits_list_their_nodes(void **state)
{
  (void)state;
  g_autoptr(Rig) rig = chain();
  g_autoptr(LoomWiring) w = loom_wiring_new(rig_done(rig), 0);
  g_autoptr(LoomCircuits) c = loom_circuits_new(w, NULL, LOOM_THROUGH_FUSES);
  guint last = 0, seen = 0;
  for (guint k = 0; k < c->n_circuits; k++) {
    guint lowest = c->nodes[c->first[k]];
    assert_true(k == 0 || lowest > last); /* numbered by lowest node */
    last = lowest;
    for (guint i = c->first[k]; i < c->first[k + 1]; i++, seen++) {
      assert_int_equal(c->circuit[c->nodes[i]], k);
      assert_true(i == c->first[k] || c->nodes[i] > c->nodes[i - 1]);
    }
  }
  assert_int_equal(seen, w->n_nodes);
}

/* A servo plug turned: signal and minus change places, plus stays in the middle. Shifted by one:
 * minus is where plus was, and the last contact hangs free. */
static void
test_fits(void **state)
{
  (void)state;
  static const struct {
    LoomFit fit;
    guint touches;
  } cases[] = {{LOOM_FIT_NORMAL, 3}, {LOOM_FIT_TURNED, 3}, {LOOM_FIT_SHIFTED, 2}};
  for (guint i = 0; i < G_N_ELEMENTS(cases); i++) {
    g_autoptr(Rig) rig = rig_new(NULL);
    rig_add(rig, "controller-rover", "K1");
    rig_add(rig, "servo-standard", "M1");
    rig_plug_as(rig, "M1:lead", "K1:servo-1", cases[i].fit, NULL);
    g_autoptr(LoomWiring) w = loom_wiring_new(rig_done(rig), 0);
    assert_int_equal(w->n_touches, cases[i].touches);
    assert_true(w->joints[0].possible);
    assert_int_equal(touch(w, "M1:lead:-", "K1:servo-1:-"), cases[i].fit == LOOM_FIT_NORMAL);
    assert_int_equal(touch(w, "M1:lead:-", "K1:servo-1:signal"), cases[i].fit == LOOM_FIT_TURNED);
    assert_int_equal(touch(w, "M1:lead:+", "K1:servo-1:+"), cases[i].fit != LOOM_FIT_SHIFTED);
  }
}

/* Two ends of one kind, genderless: they share the record of their end, and still mate. */
static void
test_equal_kinds_mate(void **state)
{
  (void)state;
  g_autoptr(Rig) rig = rig_new(NULL);
  rig_add(rig, "extension-g30-300", "W1");
  rig_add(rig, "extension-g30-300", "W2");
  rig_plug(rig, "W1:a", "W2:a");
  g_autoptr(LoomWiring) w = loom_wiring_new(rig_done(rig), 0);
  assert_int_equal(w->joints[0].mate, LOOM_MATE_YES);
  assert_int_equal(w->n_touches, 2);
}

static void
test_what_does_not_mate_conducts_nothing(void **state)
{
  (void)state;
  g_autoptr(Rig) rig = rig_new(NULL);
  rig_add(rig, "pack-nimh-12v-3ah", "G1");
  rig_add(rig, "pack-nimh-12v-3ah", "G2");
  rig_plug(rig, "G1:out", "G2:out");
  g_autoptr(LoomWiring) w = loom_wiring_new(rig_done(rig), 0);
  assert_int_equal(w->joints[0].mate, LOOM_MATE_BOTH_SOCKETS);
  assert_int_equal(w->n_touches, 0);
  assert_int_equal(loom_wiring_n_joints_at(w, 1, 0), 1);
}

static void
test_scenes(void **state)
{
  (void)state;
  g_autoptr(GError) error = NULL;
  g_autoptr(Rig) rig = rig_new(NULL);
  bool done = loom_edit_add_target(rig->edit, "scene:charging", &error);
  assert_true(done);
  rig_add(rig, "pack-nimh-12v-3ah", "G1");
  rig_add(rig, "charger-nimh-12v", "T1");
  const char *const charging[] = {"charging", NULL};
  rig_plug_as(rig, "G1:out", "T1:out", LOOM_FIT_NORMAL, charging);
  const LoomDesign *d = rig_done(rig);
  g_autoptr(LoomWiring) drive = loom_wiring_new(d, 0);
  g_autoptr(LoomWiring) charge = loom_wiring_new(d, 1);
  assert_int_equal(drive->n_joints, 0);
  assert_int_equal(charge->n_joints, 1);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(test_numbers),
      cmocka_unit_test(test_switch_and_fuse),
      cmocka_unit_test(test_circuits_list_their_nodes),
      cmocka_unit_test(test_fits),
      cmocka_unit_test(test_equal_kinds_mate),
      cmocka_unit_test(test_what_does_not_mate_conducts_nothing),
      cmocka_unit_test(test_scenes),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
