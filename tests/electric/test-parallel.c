/* Outputs that stand side by side or against each other, at their limits and below; and what no
 * supply reaches. Closed forms by Kirchhoff's laws. */
#include "electric/solve.h"
#include "rig.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

typedef struct {
  Rig *rig;
  LoomWiring *wiring;
  LoomNetwork *network;
} Bench;

/* A kind with posts a, b, c, d and one element between them. */
static void
add_four_pole(GString *kinds, const char *id, const char *element)
{
  g_string_append_printf(
      kinds, "<kind id=\"%s\" name=\"%s\" letter=\"T\" group=\"converter\" source=\"test\">", id,
      id);
  for (const char *end = "abcd"; *end; end++)
    g_string_append_printf(kinds,
                           "<end id=\"%c\" family=\"post\" gender=\"genderless\" side=\"left\">"
                           "<contact way=\"1\" name=\"x\" role=\"pass\"/></end>",
                           *end);
  g_string_append_printf(kinds, "<%s a=\"a:x\" b=\"b:x\" c=\"c:x\" d=\"d:x\"/></kind>", element);
}

/* Sources of 12 V behind 0.05 ohm ("s"), two four-poles ("d1", "d2"; those named d are drivers) and
 * a load ("m"). */
static Bench
bench_new(const char *first, const char *second, const char *load)
{
  Bench b = {0};
  g_autofree char *s = rig_kind("s", "<source a=\"a:x\" b=\"b:x\" emf_V=\"12\" ohm=\"0.05\"/>");
  g_autofree char *m = rig_kind("m", load);
  g_autoptr(GString) kinds = g_string_new(rig_post_family);
  g_string_append_printf(kinds, "%s%s", s, m);
  add_four_pole(kinds, first[0] == 'd' ? "d1" : "t1", first);
  add_four_pole(kinds, second[0] == 'd' ? "d2" : "t2", second);
  b.rig = rig_new(kinds->str);
  rig_add(b.rig, "s", "G1");
  rig_add(b.rig, first[0] == 'd' ? "d1" : "t1", "T1");
  rig_add(b.rig, second[0] == 'd' ? "d2" : "t2", "T2");
  rig_add(b.rig, "m", "M1");
  return b;
}

static void
plug_all(Bench *b, const char *const (*joints)[2], guint n)
{
  for (guint i = 0; i < n; i++)
    rig_plug(b->rig, joints[i][0], joints[i][1]);
}

static LoomOperatingPoint *
solve(Bench *b)
{
  b->wiring = loom_wiring_new(rig_done(b->rig), 0);
  b->network = loom_network_new(b->wiring);
  g_autoptr(LoomSolver) solver =
      loom_solver_new(b->network, &loom_design_scene(b->wiring->design, 0)->states[0]);
  LoomConditions now = loom_conditions(b->network);
  LoomOperatingPoint *p = loom_solver_run(solver, &now);
  rig_check_point(b->network, p);
  return p;
}

static void
bench_clear(Bench *b)
{
  loom_network_free(b->network);
  loom_wiring_free(b->wiring);
  rig_free(b->rig);
}

static const LoomCurrents *
currents(const Bench *b, const LoomOperatingPoint *p, const char *part)
{
  return &p->flows[b->network->part_branch[loom_design_find_part(b->wiring->design, part)]];
}

/* The load at both outputs of T1 and T2, which hang on G1. */
static const char *const side_by_side[][2] = {{"G1:a", "T1:a"}, {"G1:b", "T1:b"}, {"T1:a", "T2:a"},
                                              {"T1:b", "T2:b"}, {"T1:c", "M1:a"}, {"T1:d", "M1:b"},
                                              {"T2:c", "M1:a"}, {"T2:d", "M1:b"}};

static char *
rail(double volts, double limit_A)
{
  return g_strdup_printf("converter output_V=\"%g\" efficiency=\"0.9\" limit_A=\"%g\"", volts,
                         limit_A);
}

static void
test_rails(void **state)
{
  (void)state;
  /* Volts and limit of each rail, load; what each gives. The higher one up to its limit first,
   * equal ones in proportion to their limits, both at the limit when that is not enough. */
  static const struct {
    double V1, A1, V2, A2, ohm, want1_A, want2_A;
  } cases[] = {{5, 3, 5, 3, 2, 1.25, 1.25},
               {5, 3, 5, 1, 2.5, 1.5, 0.5},
               {5, 3, 5.1, 1, 2, 1.5, 1},
               {5, 3, 5.1, 3, 3, 0, 1.7},
               {5, 3, 5, 3, 0.5, 3, 3}};
  for (guint i = 0; i < G_N_ELEMENTS(cases); i++) {
    g_autofree char *first = rail(cases[i].V1, cases[i].A1),
                    *second = rail(cases[i].V2, cases[i].A2);
    g_autofree char *load =
        g_strdup_printf("<resistor a=\"a:x\" b=\"b:x\" ohm=\"%g\"/>", cases[i].ohm);
    Bench b = bench_new(first, second, load);
    plug_all(&b, side_by_side, G_N_ELEMENTS(side_by_side));
    g_autoptr(LoomOperatingPoint) p = solve(&b);
    assert_float_equal(-currents(&b, p, "T1")->c_A, cases[i].want1_A, 1e-5);
    assert_float_equal(-currents(&b, p, "T2")->c_A, cases[i].want2_A, 1e-5);
    bench_clear(&b);
  }
}

static void
set_duties(Bench *b, const char *first, const char *second, const char *load)
{
  rig_set(b->rig, "state:driving/resting", "T1.duty", first);
  rig_set(b->rig, "state:driving/resting", "T2.duty", second);
  rig_set(b->rig, "state:driving/resting", "M1.load", load);
}

static const char *const motor =
    "<motor a=\"a:x\" b=\"b:x\" ohm=\"1\" volt_s_per_rad=\"0.05\" no_load_A=\"0.3\"/>";

/* Same way: each half of the motor's current, or its limit. Against each other: both at the limit,
 * nothing for the motor, and each turns only its own losses into heat. */
static void
test_motor_outputs(void **state)
{
  (void)state;
  static const char *const driver = "driver ohm=\"0.1\" limit_A=\"2\" quiescent_A=\"0.01\"";
  static const struct {
    const char *duty, *load;
    double want1_A, want2_A, motor_A;
  } cases[] = {{"1", "free", 0.15, 0.15, 0.3},
               {"1", "stalled", 2, 2, 4},
               {"-1", "free", 2, -2, 0},
               {"-1", "stalled", 2, -2, 0}};
  for (guint i = 0; i < G_N_ELEMENTS(cases); i++) {
    Bench b = bench_new(driver, driver, motor);
    plug_all(&b, side_by_side, G_N_ELEMENTS(side_by_side));
    set_duties(&b, "1", cases[i].duty, cases[i].load);
    g_autoptr(LoomOperatingPoint) p = solve(&b);
    assert_float_equal(-currents(&b, p, "T1")->c_A, cases[i].want1_A, 1e-6);
    assert_float_equal(-currents(&b, p, "T2")->c_A, cases[i].want2_A, 1e-6);
    assert_float_equal(currents(&b, p, "M1")->a_A, cases[i].motor_A, 1e-6);
    bench_clear(&b);
  }
}

/* Two packs, each with an output of its own, joined crosswise: a ring of two equal limits. It is
 * symmetric, so each takes half of what is in excess; no voltage leaves the packs' own. */
static void
test_ring_of_limits(void **state)
{
  (void)state;
  static const char *const crossed[][2] = {{"G1:a", "T1:a"}, {"G1:b", "T1:b"}, {"G2:a", "T2:a"},
                                           {"G2:b", "T2:b"}, {"T1:c", "M1:a"}, {"T1:d", "M1:b"},
                                           {"T2:d", "M1:a"}, {"T2:c", "M1:b"}};
  Bench b = bench_new("driver ohm=\"0.1\" limit_A=\"2\" quiescent_A=\"0.01\"",
                      "driver ohm=\"0.1\" limit_A=\"2\" quiescent_A=\"0.01\"", motor);
  rig_add(b.rig, "s", "G2");
  plug_all(&b, crossed, G_N_ELEMENTS(crossed));
  set_duties(&b, "1", "1", "free");
  g_autoptr(LoomOperatingPoint) p = solve(&b);
  assert_float_equal(-currents(&b, p, "T1")->c_A, 2, 1e-6);
  assert_float_equal(-currents(&b, p, "T2")->c_A, 2, 1e-6);
  assert_float_equal(currents(&b, p, "G1")->a_A, currents(&b, p, "G2")->a_A, 1e-6);
  for (guint v = 0; v < p->n_nodes; v++)
    assert_true(isnan(p->potential_V[v]) || fabs(p->potential_V[v]) <= 12);
  bench_clear(&b);
}

/* A driver whose own supply is missing ties nothing together, and a constant power that nothing
 * feeds asks for none: the rest of the robot works. */
static void
test_unfed(void **state)
{
  (void)state;
  static const char *const joints[][2] = {
      {"G1:a", "M1:a"}, {"T1:b", "M1:b"}, {"T1:c", "G1:b"}, {"T2:a", "G1:a"}, {"T2:b", "G1:b"}};
  Bench b = bench_new("driver ohm=\"0.1\"", "converter output_V=\"5\" efficiency=\"0.9\"",
                      "<power a=\"a:x\" b=\"b:x\" power_W=\"6\"/>");
  plug_all(&b, joints, G_N_ELEMENTS(joints));
  rig_set(b.rig, "state:driving/resting", "T1.duty", "1");
  g_autoptr(LoomOperatingPoint) p = solve(&b);
  assert_float_equal(currents(&b, p, "M1")->a_A, 0, 1e-9);
  bench_clear(&b);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(test_rails),
      cmocka_unit_test(test_motor_outputs),
      cmocka_unit_test(test_ring_of_limits),
      cmocka_unit_test(test_unfed),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
