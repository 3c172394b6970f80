/* Ratings, waterfall, and fuse against wire, on a small robot whose figures can be done by hand. */
#include "electric/conductor.h"
#include "electric/fuse.h"
#include "electric/operation.h"
#include "rig.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>

#include <cmocka.h>

/* Pack of 12 V behind 0.1 ohm, 10 A fuse of 8 mohm, wires of 1 mm2 and 1 m there and back, a load.
 */
static Rig *
circuit(const char *load, const char *fuse_A, const char *mm2)
{
  g_autofree char *fuse =
      g_strdup_printf("<fuse a=\"a:x\" b=\"b:x\" rated_A=\"%s\" ohm=\"0.008\"/>", fuse_A);
  g_autofree char *wire =
      g_strdup_printf("<wire a=\"a:x\" b=\"b:x\" mm2=\"%s\" length_mm=\"1000\"/>", mm2);
  g_autofree char *s = rig_kind("s", "<source a=\"a:x\" b=\"b:x\" emf_V=\"12\" ohm=\"0.1\"/>");
  g_autofree char *f = rig_kind("f", fuse), *w = rig_kind("w", wire), *l = rig_kind("l", load);
  g_autofree char *extra = g_strconcat(rig_post_family, s, f, w, l, NULL);
  Rig *rig = rig_new(extra);
  rig_add(rig, "s", "G1");
  rig_add(rig, "f", "F1");
  rig_add(rig, "w", "W1");
  rig_add(rig, "w", "W2");
  rig_add(rig, "l", "R1");
  rig_plug(rig, "G1:a", "F1:a");
  rig_plug(rig, "F1:b", "W1:a");
  rig_plug(rig, "W1:b", "R1:a");
  rig_plug(rig, "R1:b", "W2:a");
  rig_plug(rig, "W2:b", "G1:b");
  rig_set(rig, "design", "ambient_C", "30");
  rig_done(rig);
  return rig;
}

static const char *const plain_load =
    "<resistor a=\"a:x\" b=\"b:x\" ohm=\"1.2\" min_V=\"9\" max_V=\"14\"/>";

static const LoomMargin *
margin_of(const LoomMargins *m, LoomRating what, guint part)
{
  for (guint i = 0; i < m->n_margins; i++)
    if (m->margins[i].what == what && m->margins[i].part == part)
      return &m->margins[i];
  fail_msg("no margin %d of part %u", what, part);
  return NULL;
}

static void
test_margins(void **state)
{
  (void)state;
  g_autoptr(Rig) rig = circuit(plain_load, "10", "1");
  g_autoptr(LoomWiring) w = loom_wiring_new(rig->design, 0);
  g_autoptr(LoomOperation) op = loom_operation_new(w, 1);
  g_autoptr(LoomMargins) m = loom_margins_new(op->network, op->points[0]);
  double wire_ohm = 19.5e-3 * (1 + 0.00393 * 10); /* IEC 60228 at 30 degC */
  double I = 12 / (0.1 + 0.008 + 2 * wire_ohm + 1.2);
  const LoomMargin *fuse = margin_of(m, LOOM_RATING_FUSE, 1);
  assert_float_equal(fuse->load, I, 1e-9);
  assert_float_equal(fuse->margin_pct, 100 * (10 - I) / 10, 1e-9);
  const LoomMargin *steady = margin_of(m, LOOM_RATING_FUSE_STEADY, 1);
  assert_float_equal(steady->limit, 7.5, 1e-12);
  const LoomMargin *wire = margin_of(m, LOOM_RATING_WIRE, 2);
  assert_float_equal(wire->limit, 14, 1e-9); /* ISO 10133 A.1: 1 mm2, 70 degC, at 30 degC */
  assert_string_equal(wire->table, "ISO 10133 table A.1, 70 °C");
  const LoomMargin *low = margin_of(m, LOOM_RATING_LOWEST_V, 4);
  assert_float_equal(low->margin_pct, 100 * (1.2 * I - 9) / 9, 1e-9);
  const LoomMargin *high = margin_of(m, LOOM_RATING_HIGHEST_V, 4);
  assert_float_equal(high->margin_pct, 100 * (14 - 1.2 * I) / 14, 1e-9);
  for (guint i = 1; i < m->n_margins; i++)
    assert_true(m->margins[i - 1].margin_pct <= m->margins[i].margin_pct);
  g_autofree char *where = loom_margin_where(wire, op->network);
  g_autofree char *what = loom_margin_what(wire, op->network);
  assert_string_equal(where, "W1");
  assert_non_null(strstr(what, "ISO 10133"));
}

/* A lead of four wires has two circuits: IEC 60364-5-52 B.52.17 takes a fifth away; with less than
 * 30 % in them none counts. */
static void
test_bundle(void **state)
{
  (void)state;
  g_autoptr(Rig) rig = rig_new(NULL);
  rig_add(rig, "encoder-lead-300", "W1");
  rig_set(rig, "design", "ambient_C", "30");
  g_autoptr(LoomWiring) w = loom_wiring_new(rig_done(rig), 0);
  g_autoptr(LoomOperation) op = loom_operation_new(w, 1);
  const LoomElement *wire = &loom_wiring_part(w, 0)->kind->elements[0];
  assert_int_equal(loom_wiring_part(w, 0)->kind->n_elements, 4);
  double alone_A = loom_ampacity_A(wire->mm2, NULL);
  assert_float_equal(loom_wire_ampacity_A(op->network, NULL, 0, 0, NULL), 0.8 * alone_A, 1e-12);
  assert_float_equal(loom_wire_ampacity_A(op->network, op->points[0], 0, 0, NULL), alone_A, 1e-12);
}

/* A lead of two pairs between a source and two loads: the second pair counts from 30 % on. */
static double
carried_beside_A(double second_A)
{
  g_autoptr(GString) lead = g_string_new("<kind id=\"w\" name=\"w\" letter=\"W\" group=\"lead\" "
                                         "source=\"test\" lead=\"yes\" length_mm=\"100\">");
  for (const char *end = "abcdefgh"; *end; end++)
    g_string_append_printf(lead,
                           "<end id=\"%c\" family=\"post\" gender=\"genderless\" side=\"left\">"
                           "<contact way=\"1\" name=\"x\" role=\"pass\"/></end>",
                           *end);
  for (guint i = 0; i < 4; i++)
    g_string_append_printf(lead, "<wire a=\"%c:x\" b=\"%c:x\" mm2=\"1\"/>", 'a' + i, 'e' + i);
  g_string_append(lead, "</kind>");
  g_autofree char *load =
      g_strdup_printf("<current a=\"a:x\" b=\"b:x\" current_A=\"%g\"/>", second_A);
  g_autofree char *s = rig_kind("s", "<source a=\"a:x\" b=\"b:x\" emf_V=\"12\" ohm=\"0.01\"/>");
  g_autofree char *p = rig_kind("p", "<current a=\"a:x\" b=\"b:x\" current_A=\"9\"/>");
  g_autofree char *q = rig_kind("q", load);
  g_autofree char *extra = g_strconcat(rig_post_family, s, p, q, lead->str, NULL);
  g_autoptr(Rig) rig = rig_new(extra);
  rig_add(rig, "w", "W1");
  rig_add(rig, "s", "G1");
  rig_add(rig, "p", "R1");
  rig_add(rig, "q", "R2");
  static const char *const joints[][2] = {{"G1:a", "W1:a"}, {"G1:b", "W1:b"}, {"G1:a", "W1:c"},
                                          {"G1:b", "W1:d"}, {"R1:a", "W1:e"}, {"R1:b", "W1:f"},
                                          {"R2:a", "W1:g"}, {"R2:b", "W1:h"}};
  for (guint i = 0; i < G_N_ELEMENTS(joints); i++)
    rig_plug(rig, joints[i][0], joints[i][1]);
  rig_set(rig, "design", "ambient_C", "30");
  g_autoptr(LoomWiring) w = loom_wiring_new(rig_done(rig), 0);
  g_autoptr(LoomOperation) op = loom_operation_new(w, 1);
  rig_check_point(op->network, op->points[0]);
  return loom_wire_ampacity_A(op->network, op->points[0], 0, 0, NULL);
}

static void
test_lightly_loaded_pair(void **state)
{
  (void)state;
  assert_float_equal(carried_beside_A(4.1), 14, 1e-9); /* 14 A x 30 % = 4.2 A */
  assert_float_equal(carried_beside_A(4.3), 14 * 0.8, 1e-9);
}

/* The controller's servos: rail, port and group limits are there with their sums. */
static void
test_margins_of_a_controller(void **state)
{
  (void)state;
  g_autoptr(Rig) rig = rig_new(NULL);
  rig_add(rig, "pack-nimh-12v-3ah", "G1");
  rig_add(rig, "controller-rover", "K1");
  rig_plug(rig, "G1:out", "K1:power");
  const char *const names[] = {"M1", "M2", "M3"};
  for (guint i = 0; i < 3; i++) {
    g_autofree char *lead = g_strdup_printf("%s:lead", names[i]);
    g_autofree char *port = g_strdup_printf("K1:servo-%u", i + 1);
    g_autofree char *key = g_strdup_printf("%s.load", names[i]);
    rig_add(rig, "servo-standard", names[i]);
    rig_plug(rig, lead, port);
    rig_set(rig, "state:driving/resting", key, "stalled");
  }
  g_autoptr(LoomWiring) w = loom_wiring_new(rig_done(rig), 0);
  g_autoptr(LoomOperation) op = loom_operation_new(w, 1);
  rig_check_point(op->network, op->points[0]);
  g_autoptr(LoomMargins) m = loom_margins_new(op->network, op->points[0]);
  bool found = false;
  for (guint i = 0; i < m->n_margins; i++) {
    g_autofree char *where = loom_margin_where(&m->margins[i], op->network);
    if (m->margins[i].what != LOOM_RATING_GROUP || !strstr(where, "servo rail"))
      continue;
    assert_float_equal(m->margins[i].load, 3 * 1.5, 1e-6);
    found = true;
  }
  assert_true(found);
}

/* Pieces and load add up to the EMF, and each piece is its resistance times the current. */
static void
test_waterfall(void **state)
{
  (void)state;
  g_autoptr(Rig) rig = circuit(plain_load, "10", "1");
  g_autoptr(LoomWiring) w = loom_wiring_new(rig->design, 0);
  g_autoptr(LoomOperation) op = loom_operation_new(w, 1);
  guint load = op->network->part_branch[4];
  g_autoptr(LoomWaterfall) fall = loom_waterfall_new(op->network, op->points[0], load);
  assert_non_null(fall);
  double left = fall->emf_V, I = op->points[0]->flows[load].a_A;
  assert_float_equal(fall->emf_V, 12, 1e-12);
  const double want[] = {0.1, 0, 0.008, 0, 19.5e-3 * 1.0393, 0, 0, 19.5e-3 * 1.0393, 0};
  assert_int_equal(fall->n_drops, G_N_ELEMENTS(want));
  for (guint i = 0; i < fall->n_drops; i++) {
    assert_float_equal(fall->drops[i].drop_V, want[i] * I, 1e-9);
    assert_float_equal(fall->drops[i].current_A, I, 1e-9);
    assert_float_equal(fall->drops[i].share_pct, 100 * want[i] * I / 12, 1e-6);
    assert_int_equal(fall->drops[i].back, i > 5);
    left -= fall->drops[i].drop_V;
  }
  assert_float_equal(left, fall->load_V, 1e-12);
  g_autofree char *what = loom_drop_what(&fall->drops[4], op->network);
  assert_true(g_str_has_prefix(what, "wire 1 mm²"));
}

/* Over packs in a row. */
static void
test_waterfall_over_packs_in_a_row(void **state)
{
  (void)state;
  g_autofree char *s = rig_kind("s", "<source a=\"a:x\" b=\"b:x\" emf_V=\"6\" ohm=\"0.1\"/>");
  g_autofree char *r = rig_kind("r", "<resistor a=\"a:x\" b=\"b:x\" ohm=\"3\"/>");
  g_autofree char *extra = g_strconcat(rig_post_family, s, r, NULL);
  g_autoptr(Rig) row = rig_new(extra);
  const char *const parts[] = {"G1", "G2", "G3"};
  for (guint i = 0; i < 3; i++)
    rig_add(row, "s", parts[i]);
  rig_add(row, "r", "R1");
  rig_plug(row, "G1:b", "G2:a");
  rig_plug(row, "G2:b", "G3:a");
  rig_plug(row, "G1:a", "R1:a");
  rig_plug(row, "G3:b", "R1:b");
  g_autoptr(LoomWiring) w = loom_wiring_new(rig_done(row), 0);
  g_autoptr(LoomOperation) op = loom_operation_new(w, 1);
  g_autoptr(LoomWaterfall) fall =
      loom_waterfall_new(op->network, op->points[0], op->network->part_branch[3]);
  assert_float_equal(fall->emf_V, 18, 1e-9);
  double left = fall->emf_V;
  for (guint i = 0; i < fall->n_drops; i++)
    left -= fall->drops[i].drop_V;
  assert_float_equal(left, fall->load_V, 1e-9);
}

static void
test_waterfall_over_a_driver(void **state)
{
  (void)state;
  g_autoptr(Rig) rig = rig_new(NULL);
  rig_add(rig, "pack-nimh-12v-3ah", "G1");
  rig_add(rig, "controller-rover", "K1");
  rig_add(rig, "motor-medium", "M1");
  rig_plug(rig, "G1:out", "K1:power");
  rig_plug(rig, "M1:poles", "K1:motor-3");
  rig_set(rig, "state:driving/resting", "M1.duty", "-0.7");
  rig_set(rig, "state:driving/resting", "M1.load", "loaded");
  g_autoptr(LoomWiring) w = loom_wiring_new(rig_done(rig), 0);
  g_autoptr(LoomOperation) op = loom_operation_new(w, 1);
  rig_check_point(op->network, op->points[0]);
  g_autoptr(LoomWaterfall) fall =
      loom_waterfall_new(op->network, op->points[0], op->network->part_branch[2]);
  assert_non_null(fall);
  double left = fall->emf_V;
  for (guint i = 0; i < fall->n_drops; i++)
    left -= fall->drops[i].drop_V;
  assert_float_equal(left, fall->load_V, 1e-9);
}

static const LoomProtection *
protection_of(const LoomProtection *list, guint n, guint part)
{
  for (guint i = 0; i < n; i++)
    if (list[i].part == part)
      return &list[i];
  fail_msg("no wire of part %u", part);
  return NULL;
}

/* At the far end of the lead: 12 V over 0.1 + 0.008 + 2 x 19.5 mohm, cold. */
static void
test_protection(void **state)
{
  (void)state;
  g_autoptr(Rig) rig = circuit(plain_load, "10", "1");
  g_autoptr(LoomWiring) w = loom_wiring_new(rig->design, 0);
  g_autoptr(LoomNetwork) network = loom_network_new(w);
  g_autoptr(LoomLimits) limits = loom_limits_new(w);
  guint n;
  g_autofree LoomProtection *list = loom_protections_new(network, limits, &n);
  const LoomProtection *wire = protection_of(list, n, 2);
  assert_int_equal(wire->fuse_part, 1);
  assert_float_equal(wire->fuse_A, 10, 0);
  assert_float_equal(wire->load_A, 10, 1e-9); /* 12 / 1.2, as much as the fuse */
  assert_true(wire->fits && wire->allowed && wire->outlives);
  assert_float_equal(wire->carries_A, 14, 1e-9);
  assert_float_equal(wire->wanted_fuse_A, 15, 0);  /* 10 / 0.75 */
  assert_float_equal(wire->wanted_mm2, 1.5, 1e-9); /* 18 A; 1 mm2 carries 14 */
}

/* Ends of real parts: the prospective current falls along the chain, and is that of the
 * resistances. */
static void
test_short_currents(void **state)
{
  (void)state;
  g_autoptr(Rig) rig = rig_new(NULL);
  rig_add(rig, "pack-nimh-12v-3ah", "G1");
  rig_add(rig, "extension-30-1000", "W1");
  rig_add(rig, "extension-30-1000", "W2");
  rig_plug(rig, "G1:out", "W1:a");
  rig_plug(rig, "W1:b", "W2:a");
  g_autoptr(LoomWiring) w = loom_wiring_new(rig_done(rig), 0);
  g_autoptr(LoomNetwork) network = loom_network_new(w);
  g_autoptr(LoomLimits) limits = loom_limits_new(w);
  g_autofree double *shorts = loom_short_currents_A(network, limits);
  double pigtail = loom_conductor_ohm_per_m(loom_wiring_part(w, 0)->kind->ends[0].pigtail_mm2);
  double wire = loom_conductor_ohm_per_m(loom_wiring_part(w, 1)->kind->elements[0].mm2);
  double contact = loom_joint_ohm(&loom_wiring_part(w, 0)->kind->ends[0],
                                  &loom_wiring_part(w, 1)->kind->ends[0]);
  double pack_ohm = 0.12 + 2 * 0.15 * pigtail;
  const double ohm[] = {pack_ohm, pack_ohm + 2 * contact, pack_ohm + 2 * contact + 2 * wire,
                        pack_ohm + 4 * contact + 2 * wire, pack_ohm + 4 * contact + 4 * wire};
  for (guint i = 0; i < w->n_ends; i++)
    assert_float_equal(shorts[i], 14 / ohm[i], 1e-6 * shorts[i]);
}

/* Behind electronics a short draws what they let through: the controller's sensor rail, a charger
 * that lies unplugged. (Figures of the kinds, 1 A and 1.8 A.) */
static void
test_shorts_behind_electronics(void **state)
{
  (void)state;
  g_autoptr(Rig) rig = rig_new(NULL);
  rig_add(rig, "pack-nimh-12v-3ah", "G1");
  rig_add(rig, "controller-rover", "K1");
  rig_add(rig, "sensor-lead-300", "W1");
  rig_add(rig, "charger-nimh-12v", "T1");
  rig_plug(rig, "G1:out", "K1:power");
  rig_plug(rig, "K1:digital-1-2", "W1:a");
  g_autoptr(LoomWiring) w = loom_wiring_new(rig_done(rig), 0);
  g_autoptr(LoomNetwork) network = loom_network_new(w);
  g_autoptr(LoomLimits) limits = loom_limits_new(w);
  g_autofree double *shorts = loom_short_currents_A(network, limits);
  assert_float_equal(shorts[loom_wiring_end(w, 2, 1)], 1, 1e-9);
  assert_float_equal(shorts[loom_wiring_end(w, 3, 0)], 1.8, 1e-9);
  assert_true(shorts[loom_wiring_end(w, 0, 0)] > 50);
  guint n;
  g_autofree LoomProtection *list = loom_protections_new(network, limits, &n);
  for (guint i = 0; i < n; i++)
    assert_true(isfinite(list[i].held_A) == (list[i].part == 2));
}

/* A thin wire on a large fuse: too large by rating, and at a far short it does not live to see it
 * open. */
static void
test_fuse_too_large(void **state)
{
  (void)state;
  g_autoptr(Rig) rig = circuit(plain_load, "40", "0.14");
  g_autoptr(LoomWiring) w = loom_wiring_new(rig->design, 0);
  g_autoptr(LoomNetwork) network = loom_network_new(w);
  g_autoptr(LoomLimits) limits = loom_limits_new(w);
  guint n;
  g_autofree LoomProtection *list = loom_protections_new(network, limits, &n);
  const LoomProtection *wire = protection_of(list, n, 2);
  assert_false(wire->fits || wire->allowed || wire->outlives);
  assert_true(wire->wanted_mm2 >= 0.75);
  /* by hand: 12 V over 0.108 ohm and 138 mohm/m x 1 m is 49 A, which a 40 A fuse need not open at
   */
  assert_float_equal(wire->short_A, 12 / (0.108 + 0.138), 0.1);
  assert_true(isinf(wire->opens_s));
  assert_float_equal(wire->lives_s, pow(115 * 0.14 / wire->short_A, 2), 1e-9);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(test_margins),
      cmocka_unit_test(test_bundle),
      cmocka_unit_test(test_lightly_loaded_pair),
      cmocka_unit_test(test_margins_of_a_controller),
      cmocka_unit_test(test_waterfall),
      cmocka_unit_test(test_waterfall_over_packs_in_a_row),
      cmocka_unit_test(test_waterfall_over_a_driver),
      cmocka_unit_test(test_protection),
      cmocka_unit_test(test_short_currents),
      cmocka_unit_test(test_shorts_behind_electronics),
      cmocka_unit_test(test_fuse_too_large),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
