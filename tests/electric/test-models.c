/* Motors, servos, drivers, converters, constant powers and lock-out: each in a small circuit
 * against its equations and published worked examples. */
#include "electric/solve.h"
#include "rig.h"
#include "table.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

/* A source G1 and elements E1 ... across it, or (four-pole) between it and more. */
typedef struct {
  Rig *rig;
  LoomWiring *wiring;
  LoomNetwork *network;
  LoomSolver *solver;
} Bench;

static char *
four_pole(const char *id, const char *element)
{
  static const char *const contact = "<contact way=\"1\" name=\"x\" role=\"pass\"/></end>";
  g_autoptr(GString) text = g_string_new(NULL);
  g_string_append_printf(
      text, "<kind id=\"%s\" name=\"%s\" letter=\"T\" group=\"converter\" source=\"test\">", id,
      id);
  for (const char *end = "abcd"; *end; end++)
    g_string_append_printf(text,
                           "<end id=\"%c\" family=\"post\" gender=\"genderless\" side=\"left\">%s",
                           *end, contact);
  g_string_append_printf(text, "%s</kind>", element);
  return g_strdup(text->str);
}

/* `kinds`: XML of more kinds. The source is "s". */
static Bench
bench_new(double emf_V, double ohm, const char *kinds)
{
  Bench b = {0};
  g_autofree char *source =
      g_strdup_printf("<source a=\"a:x\" b=\"b:x\" emf_V=\"%.17g\" ohm=\"%.17g\"/>", emf_V, ohm);
  g_autofree char *s = rig_kind("s", source);
  g_autofree char *extra = g_strconcat(rig_post_family, s, kinds, NULL);
  b.rig = rig_new(extra);
  rig_add(b.rig, "s", "G1");
  return b;
}

static void
across(Bench *b, const char *kind, const char *name)
{
  g_autofree char *head = g_strdup_printf("%s:a", name), *foot = g_strdup_printf("%s:b", name);
  rig_add(b->rig, kind, name);
  rig_plug(b->rig, "G1:a", head);
  rig_plug(b->rig, "G1:b", foot);
}

static LoomOperatingPoint *
solve(Bench *b, const char *state, bool carry_on)
{
  if (!b->solver) {
    b->wiring = loom_wiring_new(rig_done(b->rig), 0);
    b->network = loom_network_new(b->wiring);
    const LoomScene *scene = loom_design_scene(b->wiring->design, 0);
    b->solver = loom_solver_new(b->network, &scene->states[loom_scene_find_state(scene, state)]);
  }
  LoomConditions now = loom_conditions(b->network);
  now.carry_on = carry_on;
  return loom_solver_run(b->solver, &now);
}

static void
bench_clear(Bench *b)
{
  loom_solver_free(b->solver);
  loom_network_free(b->network);
  loom_wiring_free(b->wiring);
  rig_free(b->rig);
}

static guint
branch_of(const Bench *b, const char *part)
{
  return b->network->part_branch[loom_design_find_part(b->wiring->design, part)];
}

static double
volts(const Bench *b, const LoomOperatingPoint *p, const char *part)
{
  const LoomBranch *branch = &b->network->branches[branch_of(b, part)];
  return loom_point_volts(p, branch->a, branch->b);
}

static double
amps(const Bench *b, const LoomOperatingPoint *p, const char *part)
{
  return p->flows[branch_of(b, part)].a_A;
}

/* One motor straight across a source. */
static LoomOperatingPoint *
motor_point(Bench *b, double V, double ohm, double k, double no_load_A, const char *load,
            const char *torque_Nm)
{
  g_autofree char *element = g_strdup_printf(
      "<motor a=\"a:x\" b=\"b:x\" ohm=\"%g\" volt_s_per_rad=\"%g\" no_load_A=\"%g\"/>", ohm, k,
      no_load_A);
  g_autofree char *kind = rig_kind("m", element);
  *b = bench_new(V, 0, kind);
  across(b, "m", "M1");
  rig_set(b->rig, "state:driving/resting", "M1.load", load);
  if (torque_Nm)
    rig_set(b->rig, "state:driving/resting", "M1.torque_Nm", torque_Nm);
  LoomOperatingPoint *p = solve(b, "resting", false);
  rig_check_point(b->network, p);
  return p;
}

/* Published motor problems: their stalled and running currents from resistance, k and torque. */
static void
test_motor_examples(void **state)
{
  (void)state;
  static const struct {
    const char *id;
    double V, ohm, k, no_load_A;
    const char *load, *torque_Nm;
    double want_A, back_emf_V; /* NAN: not stated */
  } cases[] = {
      {"ME02 starting", 6, 0.5, 1, 0, "stalled", NULL, 12.0, 0},
      {"ME02 running", 6, 0.5, 1, 3.0, "free", NULL, 3.0, 4.50},
      {"ME03 starting", 115, 115 / 21.5, 1, 0, "stalled", NULL, 21.5, 0},
      {"ME03 running", 115, 115 / 21.5, 1, 6.5, "free", NULL, 6.5, 80.23},
      {"ME04 locked", 5.5, 5.5 / 8.6, 1, 0, "stalled", NULL, 8.6, 0},
      {"ME04 running", 5.5, 5.5 / 8.6, 1, 1.9, "free", NULL, 1.9, 4.285},
      {"ME05", 12, 12.062, 0.030156, 0, "loaded", "0.01026", 0.3403, 7.895},
      {"ME06", 10, 1.5, 0.12, 0, "loaded", "0.6", 5.0, 10 - 5 * 1.5},
      {"ME06 stalled", 10, 1.5, 0.12, 0, "stalled", NULL, 6.667, 0},
      {"ME07", 12, 2.4, 0.7334, 0.2, "free", NULL, 0.2, 11.52},
      {"ME08 stalled", 10.5, 2.4, 0.7334, 0.2, "stalled", NULL, 4.375, 0},
  };
  for (guint i = 0; i < G_N_ELEMENTS(cases); i++) {
    Bench b;
    g_autoptr(LoomOperatingPoint) p =
        motor_point(&b, cases[i].V, cases[i].ohm, cases[i].k, cases[i].no_load_A, cases[i].load,
                    cases[i].torque_Nm);
    double I = amps(&b, p, "M1"), back_V = cases[i].V - I * cases[i].ohm;
    if (fabs(I - cases[i].want_A) > 2e-3 * cases[i].want_A ||
        fabs(back_V - cases[i].back_emf_V) > 2e-3 * cases[i].V)
      fail_msg("%s: %g A, back EMF %g V", cases[i].id, I, back_V);
    bench_clear(&b);
  }
}

/* A torque that the voltage cannot turn: it stands and takes V / R. */
static void
test_motor_that_cannot_turn(void **state)
{
  (void)state;
  Bench b;
  g_autoptr(LoomOperatingPoint) p =
      motor_point(&b, 3, 1.5, 0.1, 0.2, "loaded", "1"); /* wants 10.2 A */
  assert_float_equal(amps(&b, p, "M1"), 2, 1e-12);
  bench_clear(&b);
}

static const char *const servo_kind =
    "<servo a=\"a:x\" b=\"b:x\" idle_A=\"0.01\" moving_A=\"0.3\" stall_A=\"1.2\" min_V=\"4.8\"/>";

static void
test_servo(void **state)
{
  (void)state;
  static const struct {
    const char *load;
    double want_A;
  } cases[] = {{"idle", 0.01}, {"moving", 0.3}, {"stalled", 1.2}};
  for (guint i = 0; i < G_N_ELEMENTS(cases); i++) {
    g_autofree char *kind = rig_kind("m", servo_kind);
    Bench b = bench_new(6, 0.1, kind);
    across(&b, "m", "M1");
    rig_set(b.rig, "state:driving/resting", "M1.load", cases[i].load);
    g_autoptr(LoomOperatingPoint) p = solve(&b, "resting", false);
    rig_check_point(b.network, p);
    assert_float_equal(amps(&b, p, "M1"), cases[i].want_A, 1e-12);
    bench_clear(&b);
  }
}

/* A driver D1 on G1 with a motor M1 on its output, in "resting" with the given duty and load. */
static LoomOperatingPoint *
driven(Bench *b, const char *duty, const char *load, const char *more)
{
  g_autofree char *element =
      g_strdup_printf("<driver a=\"a:x\" b=\"b:x\" c=\"c:x\" d=\"d:x\" ohm=\"0.2\" %s/>", more);
  g_autofree char *driver = four_pole("d", element);
  g_autofree char *motor =
      rig_kind("m", "<motor a=\"a:x\" b=\"b:x\" ohm=\"1.8\" volt_s_per_rad=\"0.1\" "
                    "no_load_A=\"0.5\" torque_Nm=\"0.25\"/>");
  g_autofree char *kinds = g_strconcat(driver, motor, NULL);
  *b = bench_new(12, 0.5, kinds);
  rig_add(b->rig, "d", "T1");
  rig_add(b->rig, "m", "M1");
  rig_plug(b->rig, "G1:a", "T1:a");
  rig_plug(b->rig, "G1:b", "T1:b");
  rig_plug(b->rig, "T1:c", "M1:a");
  rig_plug(b->rig, "T1:d", "M1:b");
  if (duty)
    rig_set(b->rig, "state:driving/resting", "M1.duty", duty);
  rig_set(b->rig, "state:driving/resting", "M1.load", load);
  LoomOperatingPoint *p = solve(b, "resting", false);
  rig_check_point(b->network, p);
  return p;
}

/* Stalled at duty d: I = d V / (R + ron), the supply gives d I: V = 12 - 0.5 d I. Turned round it
 * is the same the other way. */
static void
test_driver(void **state)
{
  (void)state;
  const double duties[] = {1, 0.5, -0.25, -1};
  for (guint i = 0; i < G_N_ELEMENTS(duties); i++) {
    double d = duties[i], V = 12 / (1 + 0.5 * d * d / 2.0), I = d * V / 2.0;
    g_autofree char *duty = g_strdup_printf("%g", d);
    Bench b;
    g_autoptr(LoomOperatingPoint) p = driven(&b, duty, "stalled", "");
    assert_float_equal(amps(&b, p, "M1"), I, 1e-9);
    assert_float_equal(amps(&b, p, "T1"), d * I, 1e-9);
    assert_float_equal(volts(&b, p, "M1"), 1.8 * I, 1e-9);
    bench_clear(&b);
  }
}

static void
test_driver_at_rest_and_loaded(void **state)
{
  (void)state;
  Bench b;
  g_autoptr(LoomOperatingPoint) rest = driven(&b, NULL, "free", "quiescent_A=\"0.02\"");
  assert_true(isnan(rest->potential_V[b.network->branches[branch_of(&b, "M1")].a])); /* floats */
  assert_float_equal(amps(&b, rest, "T1"), 0.02, 1e-12);
  bench_clear(&b);
  g_autoptr(LoomOperatingPoint) loaded = driven(&b, "0.8", "loaded", ""); /* 0.5 + 0.25 / 0.1 */
  assert_float_equal(amps(&b, loaded, "M1"), 3, 1e-9);
  assert_float_equal(amps(&b, loaded, "T1"), 2.4, 1e-9);
  bench_clear(&b);
}

/* At its limit the driver lowers the duty by itself: power in is still power out plus its loss. */
static void
test_driver_limit(void **state)
{
  (void)state;
  Bench b;
  g_autoptr(LoomOperatingPoint) p = driven(&b, "1", "stalled", "limit_A=\"4\"");
  assert_float_equal(amps(&b, p, "M1"), 4, 1e-9);
  assert_true(p->at_limit[branch_of(&b, "T1")]);
  double in_W = volts(&b, p, "T1") * amps(&b, p, "T1");
  assert_float_equal(in_W, 4 * 4 * (1.8 + 0.2), 1e-6);
  bench_clear(&b);
}

static LoomOperatingPoint *
converted(Bench *b, double emf_V, double load_ohm, const char *more)
{
  g_autofree char *element =
      g_strdup_printf("<converter a=\"a:x\" b=\"b:x\" c=\"c:x\" d=\"d:x\" "
                      "output_V=\"5\" efficiency=\"0.8\" quiescent_A=\"0.01\" %s/>",
                      more);
  g_autofree char *converter = four_pole("c", element);
  g_autofree char *resistor =
      g_strdup_printf("<resistor a=\"a:x\" b=\"b:x\" ohm=\"%g\"/>", load_ohm);
  g_autofree char *load = rig_kind("r", resistor);
  g_autofree char *kinds = g_strconcat(converter, load, NULL);
  *b = bench_new(emf_V, 0.5, kinds);
  rig_add(b->rig, "c", "T1");
  rig_add(b->rig, "r", "R1");
  rig_plug(b->rig, "G1:a", "T1:a");
  rig_plug(b->rig, "G1:b", "T1:b");
  rig_plug(b->rig, "T1:c", "R1:a");
  rig_plug(b->rig, "T1:d", "R1:b");
  LoomOperatingPoint *p = solve(b, "resting", false);
  rig_check_point(b->network, p);
  return p;
}

/* 2 A at 5 V through 80 % is 12.5 W: V I' = 12.5 with V = 12 - 0.5 (I' + 0.01), the higher root. */
static void
test_converter(void **state)
{
  (void)state;
  Bench b;
  g_autoptr(LoomOperatingPoint) p = converted(&b, 12, 2.5, "");
  double E = 12 - 0.5 * 0.01, V = (E + sqrt(E * E - 4 * 0.5 * 12.5)) / 2;
  assert_float_equal(volts(&b, p, "R1"), 5, 1e-9);
  assert_float_equal(volts(&b, p, "T1"), V, 1e-9);
  assert_float_equal(amps(&b, p, "T1"), 12.5 / V + 0.01, 1e-9);
  bench_clear(&b);
}

static void
test_converter_limit(void **state)
{
  (void)state;
  Bench b;
  g_autoptr(LoomOperatingPoint) p = converted(&b, 12, 1, "limit_A=\"3\"");
  assert_float_equal(volts(&b, p, "R1"), 3, 1e-9);
  assert_true(p->at_limit[branch_of(&b, "T1")]);
  bench_clear(&b);
}

/* Its output belongs to an island of its own here, and dies with its input. */
static void
test_converter_asleep(void **state)
{
  (void)state;
  Bench b;
  g_autoptr(LoomOperatingPoint) p = converted(&b, 6, 2.5, "lockout_V=\"6.5\" release_V=\"7.5\"");
  assert_int_equal(p->sleep[branch_of(&b, "T1")], LOOM_ASLEEP);
  assert_true(isnan(p->potential_V[b.network->branches[branch_of(&b, "R1")].a]));
  assert_float_equal(amps(&b, p, "T1"), 0, 0);
  bench_clear(&b);
}

/* Stable and unstable side of constant power: over a hundred shares of the greatest power the
 * answer is the closed form's higher root; just above it there is none. */
static void
test_both_sides_of_the_maximum(void **state)
{
  (void)state;
  const double E = 12, r = 0.3, most_W = E * E / (4 * r);
  for (guint i = 1; i <= 100; i++) {
    double watt = most_W * i / 100;
    g_autofree char *element =
        g_strdup_printf("<power a=\"a:x\" b=\"b:x\" power_W=\"%.17g\"/>", watt);
    g_autofree char *kind = rig_kind("p", element);
    Bench b = bench_new(E, r, kind);
    across(&b, "p", "P1");
    g_autoptr(LoomOperatingPoint) p = solve(&b, "resting", false);
    rig_check_point(b.network, p);
    double root = sqrt(fmax(E * E - 4 * r * watt, 0));
    assert_float_equal(volts(&b, p, "P1"), (E + root) / 2, i == 100 ? 1e-5 : 1e-9 * E);
    bench_clear(&b);
  }
  for (guint i = 1; i <= 6; i++) {
    g_autofree char *element = g_strdup_printf("<power a=\"a:x\" b=\"b:x\" power_W=\"%.17g\"/>",
                                               most_W * (1 + pow(10, -(double)i)));
    g_autofree char *kind = rig_kind("p", element);
    Bench b = bench_new(E, r, kind);
    across(&b, "p", "P1");
    g_autoptr(LoomOperatingPoint) p = solve(&b, "resting", false);
    assert_int_equal(p->trouble, LOOM_TROUBLE_DEMAND);
    assert_float_equal(p->gives_W, most_W, 1e-4 * most_W);
    assert_true(isnan(p->potential_V[0]));
    g_autofree char *why = loom_point_why(p, b.network);
    assert_non_null(strstr(why, "P1 asks for"));
    bench_clear(&b);
  }
}

/* Lock-out with hysteresis. 25 W with 0.5 ohm at 12 V is fine; behind a heavy load it falls below 8
 * V and goes to sleep, and starts again and again where its release voltage is lower than what it
 * then gets. */
static void
test_lock_out(void **state)
{
  (void)state;
  g_autofree char *power =
      rig_kind("p", "<power a=\"a:x\" b=\"b:x\" power_W=\"25\" lockout_V=\"8\" release_V=\"9\"/>");
  g_autofree char *heavy = rig_kind("r", "<resistor a=\"a:x\" b=\"b:x\" ohm=\"0.8\"/>");
  g_autofree char *lighter = rig_kind("q", "<resistor a=\"a:x\" b=\"b:x\" ohm=\"1.53\"/>");
  g_autofree char *kinds = g_strconcat(power, heavy, lighter, NULL);
  static const struct {
    const char *load;
    LoomSleep sleep;
  } cases[] = {{NULL, LOOM_AWAKE},
               {"r", LOOM_ASLEEP},   /* 12 x 0.8 / 1.3 = 7.4 V without it */
               {"q", LOOM_CYCLING}}; /* 12 x 1.53 / 2.03 = 9.04 V without it, 7.84 V with it */
  for (guint i = 0; i < G_N_ELEMENTS(cases); i++) {
    Bench b = bench_new(12, 0.5, kinds);
    across(&b, "p", "P1");
    if (cases[i].load)
      across(&b, cases[i].load, "R1");
    g_autoptr(LoomOperatingPoint) p = solve(&b, "resting", false);
    rig_check_point(b.network, p);
    if (p->sleep[branch_of(&b, "P1")] != cases[i].sleep)
      fail_msg("case %u: %d at %g V", i, p->sleep[branch_of(&b, "P1")], volts(&b, p, "P1"));
    bench_clear(&b);
  }
}

/* Of two that get too little the one that gets least of its own sleeps first; that is enough for
 * the other. 12 V behind 0.5 ohm: both at once would fall to 7.4 V. */
static void
test_neediest_sleeps_first(void **state)
{
  (void)state;
  g_autofree char *p =
      rig_kind("p", "<power a=\"a:x\" b=\"b:x\" power_W=\"30\" lockout_V=\"8.2\"/>");
  g_autofree char *q =
      rig_kind("q", "<power a=\"a:x\" b=\"b:x\" power_W=\"38\" lockout_V=\"8.5\"/>");
  g_autofree char *kinds = g_strconcat(p, q, NULL);
  for (guint turned = 0; turned < 2; turned++) {
    Bench b = bench_new(12, 0.5, kinds);
    across(&b, turned ? "q" : "p", "P1");
    across(&b, turned ? "p" : "q", "P2");
    g_autoptr(LoomOperatingPoint) point = solve(&b, "resting", false);
    rig_check_point(b.network, point);
    const char *needy = turned ? "P1" : "P2", *other = turned ? "P2" : "P1";
    assert_int_not_equal(point->sleep[branch_of(&b, needy)], LOOM_AWAKE);
    assert_int_equal(point->sleep[branch_of(&b, other)], LOOM_AWAKE);
    assert_float_equal(volts(&b, point, other), (12 + sqrt(144 - 60)) / 2, 1e-9);
    bench_clear(&b);
  }
}

/* Forty controllers of 4 W at one pack of 12 V behind 0.5 ohm, each with a little higher lock-out
 * than the one before: with n of them awake V = 6 + sqrt(36 - 2 n), and as many stay awake as find
 * that enough, those with the lowest lock-outs. Equal ones do the same, whatever their number. */
static void
test_a_crowd_sleeps(void **state)
{
  (void)state;
  enum { CROWD = 40 };
  for (guint equal = 0; equal < 2; equal++) {
    g_autoptr(GString) kinds = g_string_new(NULL);
    for (guint i = 0; i < CROWD; i++) {
      g_autofree char *id = g_strdup_printf("p%u", i);
      g_autofree char *xml =
          g_strdup_printf("<power a=\"a:x\" b=\"b:x\" power_W=\"4\" lockout_V=\"%.3f\"/>",
                          8 + (equal ? 0 : 0.01 * i));
      g_autofree char *kind = rig_kind(id, xml);
      g_string_append(kinds, kind);
    }
    Bench b = bench_new(12, 0.5, kinds->str);
    for (guint i = 0; i < CROWD; i++) {
      g_autofree char *id = g_strdup_printf("p%u", (7 * i) % CROWD);
      g_autofree char *name = g_strdup_printf("P%u", (7 * i) % CROWD + 1);
      across(&b, id, name);
    }
    g_autoptr(LoomOperatingPoint) p = solve(&b, "resting", false);
    rig_check_point(b.network, p);
    guint awake = 0; /* 6 + sqrt(36 - 2 n) < 8 + 0.01 (n - 1) from n = 16 on */
    for (guint n = 1; n <= 18 && !equal; n++)
      if (6 + sqrt(36 - 2 * n) >= 8 + 0.01 * (n - 1))
        awake = n;
    for (guint i = 0; i < CROWD; i++) {
      g_autofree char *name = g_strdup_printf("P%u", i + 1);
      assert_int_equal(p->sleep[branch_of(&b, name)] == LOOM_AWAKE, i < awake);
    }
    assert_true(equal || awake == 15);
    bench_clear(&b);
  }
}

/* What sleeps stays asleep between lock-out and release, and wakes above. */
static void
test_hysteresis(void **state)
{
  (void)state;
  g_autofree char *source =
      rig_kind("pack", "<source a=\"a:x\" b=\"b:x\" emf_full_V=\"12\" emf_V=\"8.5\" "
                       "emf_empty_V=\"7\" ohm=\"0.01\" capacity_Ah=\"1\"/>");
  g_autofree char *power =
      rig_kind("p", "<power a=\"a:x\" b=\"b:x\" power_W=\"1\" lockout_V=\"8\" release_V=\"9\"/>");
  g_autofree char *extra = g_strconcat(rig_post_family, source, power, NULL);
  g_autoptr(Rig) rig = rig_new(extra);
  rig_add(rig, "pack", "G1");
  rig_add(rig, "p", "P1");
  rig_plug(rig, "G1:a", "P1:a");
  rig_plug(rig, "G1:b", "P1:b");
  g_autoptr(LoomWiring) w = loom_wiring_new(rig_done(rig), 0);
  g_autoptr(LoomNetwork) n = loom_network_new(w);
  g_autoptr(LoomSolver) solver = loom_solver_new(n, NULL);
  static const struct {
    double charge;
    LoomSleep sleep;
  } steps[] = {
      {1, LOOM_AWAKE}, {0.5, LOOM_AWAKE}, {0, LOOM_ASLEEP}, {0.5, LOOM_ASLEEP}, {1, LOOM_AWAKE}};
  guint load = n->part_branch[1];
  for (guint i = 0; i < G_N_ELEMENTS(steps); i++) {
    LoomConditions now = loom_conditions(n);
    now.charge = steps[i].charge;
    now.carry_on = true;
    g_autoptr(LoomOperatingPoint) p = loom_solver_run(solver, &now);
    assert_int_equal(p->sleep[load], steps[i].sleep);
  }
}

/* Charger: holds its voltage up to its current limit, and takes nothing back. */
static void
test_limited_source(void **state)
{
  (void)state;
  static const struct {
    double emf_V, want_A; /* out of the limited source */
  } cases[] = {{16, 1.8}, {12.5, 0.5 / 0.25}, {11, 0}};
  for (guint i = 0; i < G_N_ELEMENTS(cases); i++) {
    g_autofree char *element =
        g_strdup_printf("<source a=\"a:x\" b=\"b:x\" emf_V=\"%g\" ohm=\"0.05\" limit_A=\"%g\"/>",
                        cases[i].emf_V, i == 1 ? 5.0 : 1.8);
    g_autofree char *kind = rig_kind("t", element);
    Bench b = bench_new(12, 0.2, kind);
    across(&b, "t", "T1");
    g_autoptr(LoomOperatingPoint) p = solve(&b, "resting", false);
    rig_check_point(b.network, p);
    assert_float_equal(-amps(&b, p, "T1"), cases[i].want_A, 1e-9);
    bench_clear(&b);
  }
}

/* Five stalled motors on a controller whose ports may carry 14 A together: they do, alike, and no
 * port is at its own 8 A. */
static void
test_common_limit(void **state)
{
  (void)state;
  g_autoptr(Rig) rig = rig_new(NULL);
  rig_add(rig, "pack-nimh-12v-3ah", "G1");
  rig_add(rig, "controller-rover", "K1");
  rig_plug(rig, "G1:out", "K1:power");
  for (guint i = 1; i <= 4; i++) {
    g_autofree char *name = g_strdup_printf("M%u", i), *poles = g_strdup_printf("M%u:poles", i);
    g_autofree char *port = g_strdup_printf("K1:motor-%u", i);
    g_autofree char *duty = g_strdup_printf("M%u.duty", i), *load = g_strdup_printf("M%u.load", i);
    rig_add(rig, "motor-medium", name);
    rig_plug(rig, poles, port);
    rig_set(rig, "state:driving/resting", duty, i % 2 ? "1" : "-1");
    rig_set(rig, "state:driving/resting", load, "stalled");
  }
  g_autoptr(LoomWiring) w = loom_wiring_new(rig_done(rig), 0);
  g_autoptr(LoomNetwork) n = loom_network_new(w);
  g_autoptr(LoomSolver) solver = loom_solver_new(n, &loom_design_scene(w->design, 0)->states[0]);
  LoomConditions now = loom_conditions(n);
  for (guint again = 0; again < 2; again++) {
    g_autoptr(LoomOperatingPoint) p = loom_solver_run(solver, &now);
    rig_check_point(n, p);
    guint held = 0;
    for (guint i = 0; i < 4; i++)
      assert_float_equal(fabs(p->flows[n->part_branch[2 + i]].a_A), 14.0 / 4, 1e-3);
    for (guint b = 0; b < p->n_branches; b++)
      held += p->held_back[b];
    assert_int_equal(held, 4);
  }
}

/* With five stalled servos besides, the whole controller's 15 A are what holds: motors are taken
 * back until just that flows in. */
static void
test_limit_of_the_whole(void **state)
{
  (void)state;
  g_autoptr(Rig) rig = rig_new(NULL);
  rig_add(rig, "pack-nimh-12v-3ah", "G1");
  rig_add(rig, "controller-rover", "K1");
  rig_plug(rig, "G1:out", "K1:power");
  for (guint i = 1; i <= 8; i++) {
    bool servo = i > 3;
    g_autofree char *name = g_strdup_printf("M%u", i);
    g_autofree char *end = g_strdup_printf(servo ? "M%u:lead" : "M%u:poles", i);
    g_autofree char *port =
        g_strdup_printf(servo ? "K1:servo-%u" : "K1:motor-%u", servo ? i - 3 : i);
    g_autofree char *duty = g_strdup_printf("M%u.duty", i), *load = g_strdup_printf("M%u.load", i);
    rig_add(rig, servo ? "servo-standard" : "motor-small-12v", name);
    rig_plug(rig, end, port);
    if (!servo)
      rig_set(rig, "state:driving/resting", duty, "1");
    rig_set(rig, "state:driving/resting", load, "stalled");
  }
  rig_add(rig, "motor-medium", "M10");
  rig_plug(rig, "M10:poles", "K1:motor-5");
  rig_set(rig, "state:driving/resting", "M10.duty", "1");
  rig_set(rig, "state:driving/resting", "M10.load", "stalled");
  g_autoptr(LoomWiring) w = loom_wiring_new(rig_done(rig), 0);
  g_autoptr(LoomNetwork) n = loom_network_new(w);
  g_autoptr(LoomSolver) solver = loom_solver_new(n, &loom_design_scene(w->design, 0)->states[0]);
  LoomConditions now = loom_conditions(n);
  g_autoptr(LoomOperatingPoint) p = loom_solver_run(solver, &now);
  rig_check_point(n, p);
  assert_float_equal(p->into_A[loom_wiring_node(w, 1, 0, 0)], 15, 2e-3);
}

/* A slider: the same topology is analysed once, and few refactorings are needed for a new charge.
 */
static void
test_one_analysis(void **state)
{
  (void)state;
  g_autoptr(Rig) rig = rig_new(NULL);
  rig_add(rig, "pack-nimh-12v-3ah", "G1");
  rig_add(rig, "controller-rover", "K1");
  rig_plug(rig, "G1:out", "K1:power");
  g_autoptr(LoomWiring) w = loom_wiring_new(rig_done(rig), 0);
  g_autoptr(LoomNetwork) n = loom_network_new(w);
  g_autoptr(LoomSolver) solver = loom_solver_new(n, NULL);
  double last_V = INFINITY;
  for (double charge = 1; charge > 0.05; charge -= 0.1) {
    LoomConditions now = loom_conditions(n);
    now.charge = charge;
    g_autoptr(LoomOperatingPoint) p = loom_solver_run(solver, &now);
    rig_check_point(n, p);
    guint power = loom_wiring_node(w, 1, 0, 0);
    assert_true(p->potential_V[power] < last_V);
    last_V = p->potential_V[power];
    assert_true(p->iterations <= 6);
  }
  LoomSolverCounts counts = loom_solver_counts(solver);
  assert_int_equal(counts.analyses, 1);
  assert_true(counts.factors <= 2);
}

/* A broken wire, a loose contact: one branch taken out, and back. */
static void
test_broken_branch(void **state)
{
  (void)state;
  g_autofree char *kind = rig_kind("r", "<resistor a=\"a:x\" b=\"b:x\" ohm=\"2\"/>");
  Bench b = bench_new(12, 0.5, kind);
  across(&b, "r", "R1");
  across(&b, "r", "R2");
  g_autoptr(LoomOperatingPoint) whole = solve(&b, "resting", false);
  assert_float_equal(amps(&b, whole, "R1"), 12 / 1.5 / 2, 1e-12);
  g_autofree bool *broken = g_new0(bool, b.network->n_branches);
  broken[branch_of(&b, "R1")] = true;
  loom_solver_break(b.solver, broken);
  g_autoptr(LoomOperatingPoint) less = solve(&b, "resting", false);
  rig_check_point(b.network, less);
  assert_float_equal(amps(&b, less, "R1"), 0, 0);
  assert_float_equal(amps(&b, less, "R2"), 12 / 2.5, 1e-12);
  for (guint i = 0; i < b.network->n_touches; i++) /* every contact of R2 as well: it floats */
    broken[i] = true;
  loom_solver_break(b.solver, broken);
  g_autoptr(LoomOperatingPoint) nothing = solve(&b, "resting", false);
  rig_check_point(b.network, nothing);
  assert_float_equal(nothing->largest_A, 0, 0);
  loom_solver_break(b.solver, NULL);
  g_autoptr(LoomOperatingPoint) again = solve(&b, "resting", false);
  assert_float_equal(amps(&b, again, "R1"), amps(&b, whole, "R1"), 1e-12);
  bench_clear(&b);
}

/* Thevenin at the terminals: 12 V behind 0.5 ohm, 2 ohm across it. */
static void
test_source_seen_from_a_place(void **state)
{
  (void)state;
  g_autofree char *kind = rig_kind("r", "<resistor a=\"a:x\" b=\"b:x\" ohm=\"2\"/>");
  Bench b = bench_new(12, 0.5, kind);
  across(&b, "r", "R1");
  g_autoptr(LoomOperatingPoint) p = solve(&b, "resting", false);
  const LoomBranch *r = &b.network->branches[branch_of(&b, "R1")];
  double V, ohm;
  assert_true(loom_solver_source(b.solver, r->a, r->b, &V, &ohm));
  assert_float_equal(V, 9.6, 1e-12);
  assert_float_equal(ohm, 0.4, 1e-12);
  bench_clear(&b);
}

/* Missing return, floating parts, dead ends: legal, and no number where there is none. */
static void
test_floating(void **state)
{
  (void)state;
  g_autofree char *kind = rig_kind("r", "<resistor a=\"a:x\" b=\"b:x\" ohm=\"2\"/>");
  Bench b = bench_new(12, 0.5, kind);
  rig_add(b.rig, "r", "R1");
  rig_add(b.rig, "r", "R2");
  rig_plug(b.rig, "G1:a", "R1:a"); /* no return; R2 hangs nowhere */
  g_autoptr(LoomOperatingPoint) p = solve(&b, "resting", false);
  rig_check_point(b.network, p);
  assert_float_equal(amps(&b, p, "R1"), 0, 0);
  assert_float_equal(volts(&b, p, "R1"), 0, 0); /* its far end is at +12 V too */
  assert_float_equal(p->potential_V[b.network->branches[branch_of(&b, "R1")].b], 12, 1e-12);
  assert_true(isnan(p->potential_V[b.network->branches[branch_of(&b, "R2")].a]));
  bench_clear(&b);
}

/* Two galvanic islands: each has its own zero, and there is no voltage between them. */
static void
test_two_islands(void **state)
{
  (void)state;
  g_autofree char *kind = rig_kind("r", "<resistor a=\"a:x\" b=\"b:x\" ohm=\"2\"/>");
  Bench b = bench_new(12, 0.5, kind);
  across(&b, "r", "R1");
  rig_add(b.rig, "s", "G2");
  rig_add(b.rig, "r", "R2");
  rig_plug(b.rig, "G2:a", "R2:b"); /* turned round: no matter */
  rig_plug(b.rig, "G2:b", "R2:a");
  g_autoptr(LoomOperatingPoint) p = solve(&b, "resting", false);
  rig_check_point(b.network, p);
  assert_float_equal(amps(&b, p, "R1"), 4.8, 1e-12);
  assert_float_equal(amps(&b, p, "R2"), -4.8, 1e-12);
  assert_float_equal(p->potential_V[b.network->branches[branch_of(&b, "G1")].b], 0, 0);
  assert_float_equal(p->potential_V[b.network->branches[branch_of(&b, "G2")].b], 0, 0);
  bench_clear(&b);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(test_motor_examples),
      cmocka_unit_test(test_motor_that_cannot_turn),
      cmocka_unit_test(test_servo),
      cmocka_unit_test(test_driver),
      cmocka_unit_test(test_driver_at_rest_and_loaded),
      cmocka_unit_test(test_driver_limit),
      cmocka_unit_test(test_converter),
      cmocka_unit_test(test_converter_limit),
      cmocka_unit_test(test_converter_asleep),
      cmocka_unit_test(test_both_sides_of_the_maximum),
      cmocka_unit_test(test_lock_out),
      cmocka_unit_test(test_neediest_sleeps_first),
      cmocka_unit_test(test_a_crowd_sleeps),
      cmocka_unit_test(test_hysteresis),
      cmocka_unit_test(test_limited_source),
      cmocka_unit_test(test_common_limit),
      cmocka_unit_test(test_limit_of_the_whole),
      cmocka_unit_test(test_one_analysis),
      cmocka_unit_test(test_broken_branch),
      cmocka_unit_test(test_source_seen_from_a_place),
      cmocka_unit_test(test_floating),
      cmocka_unit_test(test_two_islands),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
