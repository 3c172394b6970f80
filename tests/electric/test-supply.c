/* Feeds, how they reach contacts, islands and loops, and the bounds on every current. */
#include "electric/limit.h"
#include "rig.h"

#include <math.h>
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

/* How the + pole (of the feed of `part`) comes to the contact: "" not at all, otherwise letters. */
static char *
way_of(const LoomWiring *w, const LoomSupply *s, const char *contact, bool plus, const char *part)
{
  guint n, node = node_of(w, contact);
  const LoomFeed *feeds = loom_supply_feeds(s, &n);
  GString *text = g_string_new(NULL);
  for (guint i = 0; i < loom_supply_n_reach(s, node); i++) {
    LoomReach r = loom_supply_reach(s, node, i);
    const char *from = loom_wiring_part(w, feeds[r.feed].part)->designation;
    if (r.plus == plus && g_str_equal(from, part))
      g_string_append_printf(text, "%c%s%s%s%s", plus ? '+' : '-', r.fused ? "f" : "",
                             r.limited ? "l" : "", r.guarded ? "g" : "", r.switched ? "s" : "");
  }
  return g_string_free(text, FALSE);
}

static void
check_way(const LoomWiring *w, const LoomSupply *s, const char *contact, bool plus,
          const char *part, const char *want)
{
  g_autofree char *got = way_of(w, s, contact, plus, part);
  assert_string_equal(got, want);
}

/* Pack, 20 A fuse, switch, controller with two motors and two servos. */
static Rig *
robot(void)
{
  Rig *rig = rig_new(NULL);
  rig_add(rig, "pack-nimh-12v-3ah", "G1");
  rig_add(rig, "fuse-lead-20", "F1");
  rig_add(rig, "switch-main-20", "Q1");
  rig_add(rig, "controller-rover", "K1");
  rig_plug(rig, "G1:out", "F1:in");
  rig_plug(rig, "F1:out", "Q1:in");
  rig_plug(rig, "Q1:out", "K1:power");
  rig_add(rig, "motor-medium", "M1");
  rig_add(rig, "motor-medium", "M2");
  rig_plug(rig, "M1:poles", "K1:motor-1");
  rig_plug(rig, "M2:poles", "K1:motor-2");
  rig_add(rig, "servo-standard", "M3");
  rig_add(rig, "servo-standard", "M4");
  rig_plug(rig, "M3:lead", "K1:servo-1");
  rig_plug(rig, "M4:lead", "K1:servo-2");
  return rig;
}

static void
test_reach(void **state)
{
  (void)state;
  g_autoptr(Rig) rig = robot();
  rig_set(rig, "Q1", "on", "no");
  g_autoptr(LoomWiring) w = loom_wiring_new(rig_done(rig), 0);
  g_autoptr(LoomSupply) off = loom_supply_new(w, NULL, false);
  g_autoptr(LoomSupply) on = loom_supply_new(w, NULL, true);
  check_way(w, off, "F1:in:+", true, "G1", "+");
  check_way(w, off, "Q1:in:+", true, "G1", "+fg");
  check_way(w, off, "K1:power:+", true, "G1", "");
  check_way(w, on, "K1:power:+", true, "G1", "+fgs");
  check_way(w, on, "K1:power:-", false, "G1", "-");
  check_way(w, on, "M3:lead:+", true, "K1", "+lg");
  check_way(w, off, "M3:lead:+", true, "K1", ""); /* its converter has no input */
  assert_true(loom_supply_live_unguarded(off, node_of(w, "G1:out:+")));
  assert_false(loom_supply_live_unguarded(on, node_of(w, "Q1:in:+")));
  assert_false(loom_supply_live_unguarded(on, node_of(w, "G1:out:-")));
}

static void
test_islands_and_volts(void **state)
{
  (void)state;
  g_autoptr(Rig) rig = robot();
  g_autoptr(LoomWiring) w = loom_wiring_new(rig_done(rig), 0);
  g_autoptr(LoomSupply) s = loom_supply_new(w, NULL, true);
  double nominal_V, low_V, high_V;
  assert_true(loom_supply_volts(s, node_of(w, "K1:power:+"), node_of(w, "K1:power:-"), &nominal_V,
                                &low_V, &high_V));
  assert_float_equal(nominal_V, 12.2, 1e-9); /* the pack's figures */
  assert_float_equal(low_V, 10, 1e-9);
  assert_float_equal(high_V, 14, 1e-9);
  assert_true(loom_supply_volts(s, node_of(w, "M3:lead:-"), node_of(w, "M3:lead:+"), &nominal_V,
                                NULL, NULL));
  assert_float_equal(nominal_V, -5, 1e-9); /* the servo rail, asked the other way round */
  assert_int_equal(loom_supply_island(s, node_of(w, "M1:poles:1")), LOOM_NONE);
  assert_false(loom_supply_volts(s, node_of(w, "M1:poles:1"), node_of(w, "K1:power:-"), &nominal_V,
                                 NULL, NULL));
  assert_true(isnan(nominal_V));
}

static const LoomFeed *
feed_of(const LoomSupply *s, guint part)
{
  guint n;
  const LoomFeed *feeds = loom_supply_feeds(s, &n);
  for (guint i = 0; i < n; i++)
    if (feeds[i].part == part)
      return &feeds[i];
  fail_msg("part %u feeds nothing", part);
  return NULL;
}

static void
test_guards_near_the_pack(void **state)
{
  (void)state;
  g_autoptr(Rig) rig = robot();
  g_autoptr(LoomWiring) w = loom_wiring_new(rig_done(rig), 0);
  g_autoptr(LoomSupply) s = loom_supply_new(w, NULL, true);
  const LoomFeed *pack = feed_of(s, 0);
  assert_false(pack->unguarded);
  assert_float_equal(pack->fuse_mm, 200, 1e-9); /* 150 mm pigtail of the pack, 50 mm to the fuse */
  assert_true(pack->pack && !pack->charger && !pack->converter);
  assert_float_equal(pack->short_A, 14 / 0.12, 1e-9);

  g_autoptr(Rig) bare = rig_new(NULL);
  rig_add(bare, "pack-nimh-12v-3ah", "G1");
  rig_add(bare, "controller-rover", "K1");
  rig_plug(bare, "G1:out", "K1:power");
  g_autoptr(LoomWiring) w2 = loom_wiring_new(rig_done(bare), 0);
  g_autoptr(LoomSupply) s2 = loom_supply_new(w2, NULL, true);
  assert_true(feed_of(s2, 0)->unguarded);
  assert_true(loom_supply_live_unguarded(s2, node_of(w2, "K1:power:+")));
}

/* A charger limits itself: what hangs on it is guarded, and its pins are not live unguarded. */
static void
test_charger_guards_itself(void **state)
{
  (void)state;
  g_autoptr(Rig) rig = rig_new(NULL);
  rig_add(rig, "charger-nimh-12v", "T1");
  rig_add(rig, "pack-nimh-12v-3ah", "G1");
  rig_plug(rig, "T1:out", "G1:out");
  g_autoptr(LoomWiring) plugged = loom_wiring_new(rig_done(rig), 0);
  g_autoptr(LoomSupply) both = loom_supply_new(plugged, NULL, true);
  assert_true(loom_supply_live_unguarded(both, node_of(plugged, "T1:out:+"))); /* by the pack */
  guint n;
  assert_int_equal((loom_supply_loops(both, &n), n), 1);
  g_autoptr(Rig) alone = rig_new(NULL);
  rig_add(alone, "charger-nimh-12v", "T1");
  g_autoptr(LoomWiring) w = loom_wiring_new(rig_done(alone), 0);
  g_autoptr(LoomSupply) s = loom_supply_new(w, NULL, true);
  assert_true(feed_of(s, 0)->charger);
  assert_false(feed_of(s, 0)->unguarded);
  assert_false(loom_supply_live_unguarded(s, node_of(w, "T1:out:+")));
  check_way(w, s, "T1:out:+", true, "T1", "+lg");
}

/* Two packs side by side close a loop without mismatch; turned round, one with twice their voltage.
 */
static void
test_loops(void **state)
{
  (void)state;
  g_autofree char *s = rig_kind("s", "<source a=\"a:x\" b=\"b:x\" emf_V=\"6\" ohm=\"0.1\"/>");
  g_autofree char *extra = g_strconcat(rig_post_family, s, NULL);
  for (guint turned = 0; turned < 2; turned++) {
    g_autoptr(Rig) rig = rig_new(extra);
    rig_add(rig, "s", "G1");
    rig_add(rig, "s", "G2");
    rig_plug(rig, "G1:a", turned ? "G2:b" : "G2:a");
    rig_plug(rig, "G1:b", turned ? "G2:a" : "G2:b");
    g_autoptr(LoomWiring) w = loom_wiring_new(rig_done(rig), 0);
    g_autoptr(LoomSupply) supply = loom_supply_new(w, NULL, true);
    guint n;
    const LoomLoop *loops = loom_supply_loops(supply, &n);
    assert_int_equal(n, 1);
    assert_int_equal(loops[0].n_feeds, 2);
    assert_float_equal(fabs(loops[0].mismatch_V), turned ? 12 : 0, 1e-9);
  }
}

static void
test_series_packs(void **state)
{
  (void)state;
  g_autofree char *s = rig_kind("s", "<source a=\"a:x\" b=\"b:x\" emf_V=\"6\" ohm=\"0.1\"/>");
  g_autofree char *extra = g_strconcat(rig_post_family, s, NULL);
  g_autoptr(Rig) rig = rig_new(extra);
  rig_add(rig, "s", "G1");
  rig_add(rig, "s", "G2");
  rig_plug(rig, "G1:b", "G2:a");
  g_autoptr(LoomWiring) w = loom_wiring_new(rig_done(rig), 0);
  g_autoptr(LoomSupply) supply = loom_supply_new(w, NULL, true);
  guint n;
  double V;
  loom_supply_loops(supply, &n);
  assert_int_equal(n, 0);
  assert_true(
      loom_supply_volts(supply, node_of(w, "G1:a:x"), node_of(w, "G2:b:x"), &V, NULL, NULL));
  assert_float_equal(V, 12, 1e-9);
}

static void
test_short(void **state)
{
  (void)state;
  g_autofree char *s = rig_kind("s", "<source a=\"a:x\" b=\"b:x\" emf_V=\"6\" ohm=\"0.1\"/>");
  g_autofree char *wire = rig_kind("w", "<wire a=\"a:x\" b=\"b:x\" mm2=\"1\" length_mm=\"100\"/>");
  g_autofree char *extra = g_strconcat(rig_post_family, s, wire, NULL);
  g_autoptr(Rig) rig = rig_new(extra);
  rig_add(rig, "s", "G1");
  rig_add(rig, "w", "W1");
  rig_plug(rig, "G1:a", "W1:a");
  rig_plug(rig, "G1:b", "W1:b");
  g_autoptr(LoomWiring) w = loom_wiring_new(rig_done(rig), 0);
  g_autoptr(LoomSupply) supply = loom_supply_new(w, NULL, true);
  guint n;
  assert_true(loom_supply_feeds(supply, &n)->shorted);
  loom_supply_loops(supply, &n);
  assert_int_equal(n, 0);
}

static const LoomBound *
bound_at_end(const LoomLimits *l, const LoomWiring *w, const char *end)
{
  guint part, index;
  g_autoptr(GError) error = NULL;
  assert_true(loom_design_find_end(w->design, end, &part, &index, &error));
  const LoomBound *b = loom_limits_end(l, w, part, index);
  assert_non_null(b);
  return b;
}

static void
check_bound(const LoomBound *b, double guard_A, LoomCauseType guard, double draw_A)
{
  assert_float_equal(b->guard_A, guard_A, 1e-6 * guard_A);
  assert_int_equal(b->guard.type, guard);
  assert_float_equal(b->draw_A, draw_A, 1e-3 * draw_A);
  assert_float_equal(b->most_A, fmin(b->guard_A, b->draw_A), 1e-12);
}

/* The figures are the catalogue's: 8 A a motor port, 15 A the whole controller, 1.5 A a stalled
 * servo. */
static void
test_limits_of_a_robot(void **state)
{
  (void)state;
  g_autoptr(Rig) rig = robot();
  g_autoptr(LoomWiring) w = loom_wiring_new(rig_done(rig), 0);
  g_autoptr(LoomLimits) l = loom_limits_new(w);
  check_bound(bound_at_end(l, w, "G1:out"), 14 / 0.12, LOOM_CAUSE_SOURCE, 15);
  check_bound(bound_at_end(l, w, "F1:out"), 20, LOOM_CAUSE_FUSE, 15);
  check_bound(bound_at_end(l, w, "K1:power"), 20, LOOM_CAUSE_FUSE, 15);
  check_bound(bound_at_end(l, w, "M1:poles"), 8, LOOM_CAUSE_OUTPUT, 8);
  check_bound(bound_at_end(l, w, "M3:lead"), 6, LOOM_CAUSE_GROUP, 1.5);
  assert_false(bound_at_end(l, w, "K1:power")->parallel);
  guint k = l->part_group[3];
  assert_float_equal(l->groups_A[k], 15, 1e-6);     /* the whole */
  assert_float_equal(l->groups_A[k + 1], 16, 1e-6); /* motors: more than their common 14 A */
  assert_float_equal(l->groups_A[k + 2], 3, 1e-6);  /* servo rail */
}

/* A charger's own limit is what its lead and the pack's can carry. */
static void
test_limits_while_charging(void **state)
{
  (void)state;
  g_autoptr(Rig) rig = rig_new(NULL);
  rig_add(rig, "pack-nimh-12v-3ah", "G1");
  rig_add(rig, "charger-nimh-12v", "T1");
  rig_plug(rig, "G1:out", "T1:out");
  g_autoptr(LoomWiring) w = loom_wiring_new(rig_done(rig), 0);
  g_autoptr(LoomLimits) l = loom_limits_new(w);
  assert_float_equal(bound_at_end(l, w, "G1:out")->most_A, 1.8, 1e-9);
}

/* Random trees of fuses, loads and one source: against a plain recursion over the tree. */
typedef struct {
  guint parent;
  double fuse_A, load_A;
} Twig;

static double
guard_above(const Twig *twigs, guint at)
{
  double least = INFINITY;
  for (; at != LOOM_NONE; at = twigs[at].parent)
    least = fmin(least, twigs[at].fuse_A);
  return least;
}

/* A load takes no more than the fuses on its way let through. */
static double
draw_below(const Twig *twigs, guint n, guint at)
{
  double sum = fmin(twigs[at].load_A, guard_above(twigs, at));
  for (guint i = at + 1; i < n; i++)
    if (twigs[i].parent == at)
      sum += draw_below(twigs, n, i);
  return fmin(sum, twigs[at].fuse_A);
}

static void
test_random_trees(void **state)
{
  (void)state;
  static const double fuses[] = {5, 10, 20, 30};
  static const double loads[] = {0.5, 1, 3, 8};
  g_autoptr(GString) extra = g_string_new(rig_post_family);
  for (guint i = 0; i < 4; i++) {
    g_autofree char *fuse = g_strdup_printf("<fuse a=\"a:x\" b=\"b:x\" rated_A=\"%g\"/>", fuses[i]);
    g_autofree char *load =
        g_strdup_printf("<current a=\"a:x\" b=\"b:x\" current_A=\"%g\"/>", loads[i]);
    g_autofree char *fuse_id = g_strdup_printf("f%u", i), *load_id = g_strdup_printf("l%u", i);
    g_autofree char *fuse_kind = rig_kind(fuse_id, fuse), *load_kind = rig_kind(load_id, load);
    g_string_append(extra, fuse_kind);
    g_string_append(extra, load_kind);
  }
  g_autofree char *s = rig_kind("s", "<source a=\"a:x\" b=\"b:x\" emf_V=\"12\" ohm=\"0.001\"/>");
  g_string_append(extra, s);
  for (guint32 seed = 1; seed < 12; seed++) {
    GRand *rand = g_rand_new_with_seed(seed);
    enum { N = 25 };
    Twig twigs[N];
    g_autoptr(Rig) rig = rig_new(extra->str);
    rig_add(rig, "s", "G1");
    for (guint i = 0; i < N; i++) {
      guint f = (guint)g_rand_int_range(rand, 0, 4), l = (guint)g_rand_int_range(rand, 0, 4);
      twigs[i] =
          (Twig){i ? (guint)g_rand_int_range(rand, 0, (gint32)i) : LOOM_NONE, fuses[f], loads[l]};
      g_autofree char *fuse = g_strdup_printf("F%u", i + 1), *load = g_strdup_printf("R%u", i + 1);
      g_autofree char *fuse_id = g_strdup_printf("f%u", f), *load_id = g_strdup_printf("l%u", l);
      g_autofree char *in = g_strdup_printf("%s:a", fuse), *out = g_strdup_printf("%s:b", fuse);
      g_autofree char *above = i ? g_strdup_printf("F%u:b", twigs[i].parent + 1) : g_strdup("G1:a");
      g_autofree char *head = g_strdup_printf("%s:a", load), *foot = g_strdup_printf("%s:b", load);
      rig_add(rig, fuse_id, fuse);
      rig_add(rig, load_id, load);
      rig_plug(rig, above, in);
      rig_plug(rig, out, head);
      rig_plug(rig, "G1:b", foot);
    }
    g_autoptr(LoomWiring) w = loom_wiring_new(rig_done(rig), 0);
    g_autoptr(LoomLimits) l = loom_limits_new(w);
    for (guint i = 0; i < N; i++) {
      g_autofree char *fuse = g_strdup_printf("F%u", i + 1);
      const LoomBound *b = loom_limits_element(l, loom_design_find_part(w->design, fuse), 0);
      assert_float_equal(b->guard_A, guard_above(twigs, i), 1e-9);
      assert_float_equal(b->draw_A, draw_below(twigs, N, i), 1e-9);
    }
    g_rand_free(rand);
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(test_reach),
      cmocka_unit_test(test_islands_and_volts),
      cmocka_unit_test(test_guards_near_the_pack),
      cmocka_unit_test(test_charger_guards_itself),
      cmocka_unit_test(test_loops),
      cmocka_unit_test(test_series_packs),
      cmocka_unit_test(test_short),
      cmocka_unit_test(test_limits_of_a_robot),
      cmocka_unit_test(test_limits_while_charging),
      cmocka_unit_test(test_random_trees),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
