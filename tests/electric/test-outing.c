/* Outings through time: charge, energy, heat and brown-out, against closed forms. */
#include "electric/battery.h"
#include "electric/outing.h"
#include "electric/thermal.h"
#include "rig.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>

#include <cmocka.h>

/* Pack G1 of `pack`, load R1 of `load`, joined by wires W1 and W2 of 1.5 mm2 and 500 mm. */
static Rig *
pack_and_load(const char *pack, const char *load)
{
  g_autofree char *p = rig_kind("pack", pack), *l = rig_kind("load", load);
  g_autofree char *w = rig_kind("w", "<wire a=\"a:x\" b=\"b:x\" mm2=\"1.5\" length_mm=\"500\"/>");
  g_autofree char *extra = g_strconcat(rig_post_family, p, l, w, NULL);
  Rig *rig = rig_new(extra);
  rig_add(rig, "pack", "G1");
  rig_add(rig, "load", "R1");
  rig_add(rig, "w", "W1");
  rig_add(rig, "w", "W2");
  rig_plug(rig, "G1:a", "W1:a");
  rig_plug(rig, "W1:b", "R1:a");
  rig_plug(rig, "G1:b", "W2:a");
  rig_plug(rig, "W2:b", "R1:b");
  rig_done(rig);
  return rig;
}

static LoomTrace *
run(const Rig *rig, double seconds, const LoomOutingTerms *terms)
{
  g_autoptr(LoomWiring) w = loom_wiring_new(rig->design, 0);
  LoomLeg leg = RIG_LEG("resting", seconds);
  LoomOuting outing = {(char *)"test", 1, &leg};
  return loom_outing_run(w, &outing, terms);
}

#define PACK(more)                                                                                 \
  "<source a=\"a:x\" b=\"b:x\" emf_full_V=\"14\" emf_V=\"12.2\" emf_empty_V=\"10\" ohm=\"0.12\" "  \
  "capacity_Ah=\"3\" " more "/>"
#define CURRENT(A) "<current a=\"a:x\" b=\"b:x\" current_A=\"" A "\"/>"

/* Without Peukert effect a constant current empties the pack after capacity / current hours. */
static void
test_constant_current(void **state)
{
  (void)state;
  g_autoptr(Rig) rig = pack_and_load(PACK(""), CURRENT("6"));
  g_autoptr(LoomTrace) t = run(rig, 7200, NULL);
  assert_int_equal(t->end, LOOM_OUTING_EMPTY);
  assert_float_equal(t->seconds, 3600 * 3.0 / 6, 0.02);
  assert_float_equal(t->used_Ah, 3, 1e-4);
  assert_float_equal(t->used_pct, 100, 0.01);
  assert_non_null(strstr(t->why, "G1 is empty"));
}

/* With it: H (C / (I H))^k, H = 5 h for this chemistry; at and below C / H nothing changes. */
static void
test_peukert_outing(void **state)
{
  (void)state;
  g_autoptr(Rig) rig = pack_and_load(PACK("peukert=\"1.07\""), CURRENT("6"));
  g_autoptr(LoomTrace) t = run(rig, 7200, NULL);
  assert_float_equal(t->seconds, 3600 * loom_peukert_hours(3, 5, 1.07, 6), 0.1);
  g_autoptr(Rig) slow = pack_and_load(PACK("peukert=\"1.07\""), CURRENT("0.3"));
  g_autoptr(LoomTrace) s = run(slow, 11 * 3600, NULL);
  assert_float_equal(s->seconds, 10 * 3600, 1);
}

/* EMF times charge, by the pack's own figures: straight lines from 14 over 12.2 to 10 V. */
static double
emf_energy_J(double from, double to)
{
  double joule = 0;
  const LoomElement pack = {.emf_full_V = 14, .emf_V = 12.2, .emf_empty_V = 10};
  enum { N = 10000 };
  for (guint i = 0; i < N; i++)
    joule += loom_emf_V(&pack, from + (to - from) * (i + 0.5) / N) * (from - to) / N * 3 * 3600;
  return joule;
}

/* What EMFs give is what inner resistances and all else take, within 0.1 %; and it is what the
 * charge that went was worth. */
static void
test_energy_balance(void **state)
{
  (void)state;
  static const char *const loads[] = {
      CURRENT("4"),
      "<resistor a=\"a:x\" b=\"b:x\" ohm=\"1.5\"/>",
      "<power a=\"a:x\" b=\"b:x\" power_W=\"60\" lockout_V=\"6\"/>",
  };
  for (guint i = 0; i < G_N_ELEMENTS(loads); i++) {
    g_autoptr(Rig) rig = pack_and_load(PACK(""), loads[i]);
    g_autoptr(LoomTrace) t = run(rig, 900, NULL);
    assert_int_equal(t->end, LOOM_OUTING_DONE);
    assert_float_equal(t->emf_J, t->inner_J + t->taken_J, 1e-3 * t->emf_J);
    assert_float_equal(t->emf_J, emf_energy_J(1, 1 - t->used_pct / 100), 1e-3 * t->emf_J);
  }
}

/* A resistor on a pack whose EMF falls along a straight line: charge decays exponentially,
 * dq/dt = -(E0 + s q) / (R C). From 100 to 50 %: E = 10.4 + 3.6 q. */
static void
test_decay(void **state)
{
  (void)state;
  g_autofree char *p = rig_kind("pack", PACK("")),
                  *l = rig_kind("load", "<resistor a=\"a:x\" b=\"b:x\" ohm=\"1.88\"/>");
  g_autofree char *extra = g_strconcat(rig_post_family, p, l, NULL);
  g_autoptr(Rig) rig = rig_new(extra);
  rig_add(rig, "pack", "G1");
  rig_add(rig, "load", "R1");
  rig_plug(rig, "G1:a", "R1:a");
  rig_plug(rig, "G1:b", "R1:b");
  rig_done(rig);
  const double seconds = 600, slope_V = 3.6, base_V = 10.4,
               store = 2.0 * 3 * 3600; /* 2 ohm in all */
  g_autoptr(LoomTrace) t = run(rig, seconds, NULL);
  double q = (1 + base_V / slope_V) * exp(-slope_V * seconds / store) - base_V / slope_V;
  assert_float_equal(t->used_pct, 100 * (1 - q), 0.002);
  /* closer tolerance, more steps, nearer */
  const LoomOutingTerms fine = {.charge = 1, .tolerance = 1e-8, .longest_s = 1};
  g_autoptr(LoomTrace) f = run(rig, seconds, &fine);
  assert_true(f->steps > t->steps);
  assert_float_equal(f->used_pct, 100 * (1 - q), 1e-4);
}

/* The wires follow the first-order equation in closed form. */
static void
test_heat(void **state)
{
  (void)state;
  g_autoptr(Rig) rig = pack_and_load(PACK(""), CURRENT("18"));
  g_autoptr(LoomTrace) t = run(rig, 120, NULL);
  assert_float_equal(t->hottest_C, loom_wire_warmed_C(1.5, 25, 25, 18, 120), 0.05);
  assert_float_equal(t->hottest_s, 120, 1e-6);
  assert_int_equal(t->hottest_part, 2);
}

/* Resting and pushing by turns: the lowest voltage is met while pushing, at its end; the first
 * brown-out is where the pack's voltage first falls below what the load needs. */
static void
test_states_and_brown_out(void **state)
{
  (void)state;
  g_autofree char *p = rig_kind("pack", PACK(""));
  g_autofree char *m =
      rig_kind("m", "<motor a=\"a:x\" b=\"b:x\" ohm=\"0.5\" volt_s_per_rad=\"0.02\" "
                    "no_load_A=\"1\"/>");
  g_autofree char *l =
      rig_kind("l", "<power a=\"a:x\" b=\"b:x\" power_W=\"5\" lockout_V=\"6\" min_V=\"11.2\"/>");
  g_autofree char *extra = g_strconcat(rig_post_family, p, m, l, NULL);
  g_autoptr(Rig) rig = rig_new(extra);
  rig_add(rig, "pack", "G1");
  rig_add(rig, "m", "M1");
  rig_add(rig, "l", "K1");
  rig_plug(rig, "G1:a", "M1:a");
  rig_plug(rig, "G1:b", "M1:b");
  rig_plug(rig, "G1:a", "K1:a");
  rig_plug(rig, "G1:b", "K1:b");
  rig_state(rig, "pushing");
  rig_set(rig, "state:driving/pushing", "M1.load", "stalled");
  rig_done(rig);
  g_autoptr(LoomWiring) w = loom_wiring_new(rig->design, 0);
  LoomLeg legs[] = {RIG_LEG("resting", 30), RIG_LEG("pushing", 5), RIG_LEG("resting", 30),
                    RIG_LEG("pushing", 5)};
  LoomOuting outing = {(char *)"match", 4, legs};
  g_autoptr(LoomTrace) t = loom_outing_run(w, &outing, NULL);
  assert_int_equal(t->end, LOOM_OUTING_DONE);
  assert_float_equal(t->seconds, 70, 1e-6);
  assert_float_equal(t->lowest_V_s, 70, 1e-6);
  assert_int_equal(t->brown_part, loom_design_find_part(w->design, "K1"));
  assert_false(t->brown_slept);
  assert_true(t->brown_s >= 65 && t->brown_s <= 70); /* in the second push, not the first */
  for (guint i = 1; i < t->n_samples; i++) {
    assert_true(t->samples[i].time_s >= t->samples[i - 1].time_s);
    assert_true(t->samples[i].charge_pct <= t->samples[i - 1].charge_pct);
    bool below = t->samples[i].lowest_V < 11.2 && t->samples[i].time_s > 0;
    assert_true(!below || t->samples[i].time_s >= t->brown_s);
    assert_true(isfinite(t->samples[i].pack_V) && isfinite(t->samples[i].hottest_C));
  }
  assert_float_equal(t->per_charge, 100 / t->used_pct, 1e-9);
}

/* While the motor stands the controller gets 11.3 V, which is less than its lock-out: it sleeps,
 * and says so; at rest it gets its release voltage and wakes. */
static void
test_reset(void **state)
{
  (void)state;
  g_autofree char *p = rig_kind("pack", PACK(""));
  g_autofree char *m = rig_kind("m", "<resistor a=\"a:x\" b=\"b:x\" ohm=\"0.5\"/>");
  g_autofree char *l = rig_kind(
      "l", "<power a=\"a:x\" b=\"b:x\" power_W=\"5\" lockout_V=\"11.5\" release_V=\"12.5\"/>");
  g_autofree char *q = rig_kind("q", "<switch a=\"a:x\" b=\"b:x\" rated_A=\"40\"/>");
  g_autofree char *with_switch = g_strdup(strstr(q, " letter"));
  g_autofree char *kind =
      g_strconcat("<kind id=\"q\" name=\"q\" switch=\"off\"", with_switch, NULL);
  g_autofree char *extra = g_strconcat(rig_post_family, p, m, l, kind, NULL);
  g_autoptr(Rig) rig = rig_new(extra);
  rig_add(rig, "pack", "G1");
  rig_add(rig, "m", "R1");
  rig_add(rig, "q", "Q1");
  rig_add(rig, "l", "K1");
  rig_plug(rig, "G1:a", "Q1:a");
  rig_plug(rig, "Q1:b", "R1:a");
  rig_plug(rig, "G1:b", "R1:b");
  rig_plug(rig, "G1:a", "K1:a");
  rig_plug(rig, "G1:b", "K1:b");
  rig_state(rig, "pushing");
  rig_set(rig, "state:driving/pushing", "Q1.on", "yes");
  rig_done(rig);
  g_autoptr(LoomWiring) w = loom_wiring_new(rig->design, 0);
  LoomLeg legs[] = {RIG_LEG("resting", 10), RIG_LEG("pushing", 2), RIG_LEG("resting", 10)};
  LoomOuting outing = {(char *)"match", 3, legs};
  g_autoptr(LoomTrace) t = loom_outing_run(w, &outing, NULL);
  assert_int_equal(t->end, LOOM_OUTING_DONE);
  assert_int_equal(t->brown_part, loom_design_find_part(w->design, "K1"));
  assert_true(t->brown_slept);
  assert_float_equal(t->brown_s, 10, 1e-6);
  double last_A = t->samples[t->n_samples - 1].pack_A;
  assert_true(last_A > 0.3 && last_A < 0.45); /* awake again: 5 W */
}

/* A pack on its charger fills up, never beyond full. */
static void
test_charging(void **state)
{
  (void)state;
  g_autoptr(Rig) rig = rig_new(NULL);
  rig_add(rig, "pack-nimh-12v-3ah", "G1");
  rig_add(rig, "charger-nimh-12v", "T1");
  rig_plug(rig, "G1:out", "T1:out");
  rig_done(rig);
  const LoomOutingTerms terms = {.charge = 0.5, .tolerance = 1e-5, .longest_s = 5};
  g_autoptr(LoomTrace) t = run(rig, 1800, &terms);
  assert_int_equal(t->end, LOOM_OUTING_DONE);
  assert_float_equal(t->used_Ah, -0.9, 1e-6); /* 1.8 A for half an hour */
  assert_float_equal(t->samples[t->n_samples - 1].charge_pct, 80, 1e-3);
}

/* Cancels while it runs: from another thread, as a window does. */
static gpointer
cancel_soon(gpointer data)
{
  g_usleep(20000);
  g_cancellable_cancel(data);
  return NULL;
}

/* Half a million legs: seconds. */
static void
run_cancelled(const Rig *rig, GCancellable *cancellable, guint *steps)
{
  enum { N_LEGS = 500000 };
  g_autoptr(LoomWiring) w = loom_wiring_new(rig->design, 0);
  g_autofree LoomLeg *legs = g_new(LoomLeg, N_LEGS);
  for (guint i = 0; i < N_LEGS; i++)
    legs[i] = (LoomLeg)RIG_LEG("resting", 0.01);
  LoomOuting outing = {(char *)"test", N_LEGS, legs};
  LoomOutingTerms terms = loom_outing_terms();
  terms.cancellable = cancellable;
  g_autoptr(LoomTrace) t = loom_outing_run(w, &outing, &terms);
  assert_int_equal(t->end, LOOM_OUTING_CANCELLED);
  assert_non_null(t->why);
  assert_true(t->leg < N_LEGS && t->n_samples >= 1);
  assert_float_equal(t->samples[t->n_samples - 1].time_s, t->seconds, 1e-9);
  *steps = t->steps;
}

/* Before it begins nothing is stepped; in the middle it ends where it is, and what was run is
 * there. */
static void
test_cancelled(void **state)
{
  (void)state;
  guint steps;
  g_autoptr(Rig) rig = pack_and_load(PACK(""), CURRENT("0.3"));
  g_autoptr(GCancellable) before = g_cancellable_new(), amid = g_cancellable_new();
  g_cancellable_cancel(before);
  run_cancelled(rig, before, &steps);
  assert_int_equal(steps, 0);
  GThread *thread = g_thread_new("cancel", cancel_soon, amid);
  run_cancelled(rig, amid, &steps);
  g_thread_join(thread);
  assert_true(steps > 0);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(test_constant_current),
      cmocka_unit_test(test_peukert_outing),
      cmocka_unit_test(test_energy_balance),
      cmocka_unit_test(test_decay),
      cmocka_unit_test(test_heat),
      cmocka_unit_test(test_states_and_brown_out),
      cmocka_unit_test(test_reset),
      cmocka_unit_test(test_charging),
      cmocka_unit_test(test_cancelled),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
