/* Bad figures and senseless circuits: one clear sentence or a plain answer, never NAN among the
 * numbers of an answer, never an endless iteration. And many random robots in random states. */
#include "electric/operation.h"
#include "electric/outing.h"
#include "rig.h"
#include "robots.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

/* A source "s", a load of the kind `load` and a wire in the way; then `spoil` is done to the
 * elements, past the catalogue's reader. */
typedef void (*Spoil)(LoomElement *source, LoomElement *wire, LoomElement *load);

static Rig *
spoilt(const char *load_xml, Spoil spoil)
{
  g_autofree char *source =
      rig_kind("s", "<source a=\"a:x\" b=\"b:x\" emf_V=\"12\" ohm=\"0.1\" capacity_Ah=\"3\"/>");
  g_autofree char *wire = rig_kind("w", "<wire a=\"a:x\" b=\"b:x\" mm2=\"1\" length_mm=\"500\"/>");
  g_autofree char *load = rig_kind("l", load_xml);
  g_autofree char *extra = g_strconcat(rig_post_family, source, wire, load, NULL);
  Rig *rig = rig_new(extra);
  rig_add(rig, "s", "G1");
  rig_add(rig, "w", "W1");
  rig_add(rig, "l", "R1");
  rig_plug(rig, "G1:a", "W1:a");
  rig_plug(rig, "W1:b", "R1:a");
  rig_plug(rig, "R1:b", "G1:b");
  rig_done(rig);
  const LoomDesign *d = rig->design;
  /* Not what a program may do to a kind; it stands for a reader that let the figure pass. */
  spoil((LoomElement *)&loom_design_part(d, 0)->kind->elements[0],
        (LoomElement *)&loom_design_part(d, 1)->kind->elements[0],
        (LoomElement *)&loom_design_part(d, 2)->kind->elements[0]);
  return rig;
}

static void
negative_ohm(LoomElement *s, LoomElement *w, LoomElement *l)
{
  (void)s, (void)w;
  l->ohm = -1;
}

static void
nan_ohm(LoomElement *s, LoomElement *w, LoomElement *l)
{
  (void)s, (void)w;
  l->ohm = NAN;
}

static void
endless_ohm(LoomElement *s, LoomElement *w, LoomElement *l)
{
  (void)s, (void)w;
  l->ohm = INFINITY;
}

static void
negative_inner(LoomElement *s, LoomElement *w, LoomElement *l)
{
  (void)w, (void)l;
  s->ohm = -0.5;
}

static void
endless_emf(LoomElement *s, LoomElement *w, LoomElement *l)
{
  (void)w, (void)l;
  s->emf_V = INFINITY;
}

static void
no_capacity(LoomElement *s, LoomElement *w, LoomElement *l)
{
  (void)w, (void)l;
  s->capacity_Ah = 0;
}

static void
no_size(LoomElement *s, LoomElement *w, LoomElement *l)
{
  (void)s, (void)l;
  w->mm2 = 0;
}

static void
negative_length(LoomElement *s, LoomElement *w, LoomElement *l)
{
  (void)s, (void)l;
  w->length_mm = -5;
}

static void
test_impossible_figures(void **state)
{
  (void)state;
  static const struct {
    Spoil spoil;
    const char *part;
  } cases[] = {{negative_ohm, "R1"},   {nan_ohm, "R1"},        {endless_ohm, "R1"},
               {negative_inner, "G1"}, {endless_emf, "G1"},    {no_capacity, "G1"},
               {no_size, "W1"},        {negative_length, "W1"}};
  for (guint i = 0; i < G_N_ELEMENTS(cases); i++) {
    g_autoptr(Rig) rig = spoilt("<resistor a=\"a:x\" b=\"b:x\" ohm=\"2\"/>", cases[i].spoil);
    g_autoptr(LoomWiring) w = loom_wiring_new(rig->design, 0);
    g_autoptr(LoomOperation) op = loom_operation_new(w, 1);
    assert_int_equal(op->points[0]->trouble, LOOM_TROUBLE_FIGURE);
    g_autofree char *why = loom_point_why(op->points[0], op->network);
    assert_true(g_str_has_prefix(why, cases[i].part));
    g_autoptr(LoomMargins) margins = loom_margins_new(op->network, op->points[0]);
    assert_int_equal(margins->n_margins, 0);
  }
}

static void
over_unity(LoomElement *s, LoomElement *w, LoomElement *l)
{
  (void)s, (void)w;
  l->efficiency = 1.2;
}

static void
test_efficiency_above_one(void **state)
{
  (void)state;
  g_autoptr(Rig) rig = spoilt(
      "<converter a=\"a:x\" b=\"b:x\" c=\"a:x\" d=\"b:x\" output_V=\"5\" efficiency=\"0.9\"/>",
      over_unity);
  g_autoptr(LoomWiring) w = loom_wiring_new(rig->design, 0);
  g_autoptr(LoomOperation) op = loom_operation_new(w, 1);
  assert_int_equal(op->points[0]->trouble, LOOM_TROUBLE_FIGURE);
}

static void
length_zero(LoomElement *s, LoomElement *w, LoomElement *l)
{
  (void)s, (void)l;
  w->length_mm = 0;
}

static void
length_huge(LoomElement *s, LoomElement *w, LoomElement *l)
{
  (void)s, (void)l;
  w->length_mm = 1e9;
}

static void
ohm_zero(LoomElement *s, LoomElement *w, LoomElement *l)
{
  (void)s, (void)w;
  l->ohm = 0;
}

/* Extreme but possible: plain answers. */
static void
test_extreme_figures(void **state)
{
  (void)state;
  static const struct {
    Spoil spoil;
    double want_A;
  } cases[] = {{length_zero, 12 / 2.1},
               {length_huge, 12 / (2.1 + 1e6 * 19.5e-3 * (1 + 0.00393 * 5))},
               {ohm_zero, 12 / (0.1 + 0.5 * 19.5e-3 * (1 + 0.00393 * 5))}};
  for (guint i = 0; i < G_N_ELEMENTS(cases); i++) {
    g_autoptr(Rig) rig = spoilt("<resistor a=\"a:x\" b=\"b:x\" ohm=\"2\"/>", cases[i].spoil);
    g_autoptr(LoomWiring) w = loom_wiring_new(rig->design, 0);
    g_autoptr(LoomOperation) op = loom_operation_new(w, 1);
    rig_check_point(op->network, op->points[0]);
    double got = op->points[0]->flows[op->network->part_branch[2]].a_A;
    assert_float_equal(got, cases[i].want_A, 1e-9 * cases[i].want_A);
  }
}

/* Ideal sources against each other, shorted, and side by side. */
static void
test_ideal_sources(void **state)
{
  (void)state;
  static const struct {
    double second_V;
    bool turned, shorted;
    LoomTrouble want;
  } cases[] = {{9, false, false, LOOM_TROUBLE_LOOP},
               {12, false, false, LOOM_TROUBLE_LOOP},
               {12, true, false, LOOM_TROUBLE_LOOP},
               {0, false, true, LOOM_TROUBLE_SHORT}};
  for (guint i = 0; i < G_N_ELEMENTS(cases); i++) {
    g_autofree char *second =
        g_strdup_printf("<source a=\"a:x\" b=\"b:x\" emf_V=\"%g\"/>", cases[i].second_V);
    g_autofree char *a = rig_kind("s", "<source a=\"a:x\" b=\"b:x\" emf_V=\"12\"/>");
    g_autofree char *b = rig_kind("t", second);
    g_autofree char *c = rig_kind("u", "<through a=\"a:x\" b=\"b:x\" ohm=\"0\"/>");
    g_autofree char *extra = g_strconcat(rig_post_family, a, b, c, NULL);
    g_autoptr(Rig) rig = rig_new(extra);
    rig_add(rig, "s", "G1");
    rig_add(rig, cases[i].shorted ? "u" : "t", cases[i].shorted ? "X1" : "G2");
    rig_plug(rig, "G1:a", cases[i].shorted ? "X1:a" : cases[i].turned ? "G2:b" : "G2:a");
    rig_plug(rig, "G1:b", cases[i].shorted ? "X1:b" : cases[i].turned ? "G2:a" : "G2:b");
    g_autoptr(LoomWiring) w = loom_wiring_new(rig_done(rig), 0);
    g_autoptr(LoomOperation) op = loom_operation_new(w, 1);
    assert_int_equal(op->points[0]->trouble, cases[i].want);
    g_autofree char *why = loom_point_why(op->points[0], op->network);
    assert_non_null(strchr(why, '.'));
  }
}

/* A current of its own into nothing; two of them in a row; constant powers in a row. */
static void
test_senseless_circuits(void **state)
{
  (void)state;
  static const char *const loads[] = {
      "<current a=\"a:x\" b=\"b:x\" current_A=\"3\"/>",
      "<power a=\"a:x\" b=\"b:x\" power_W=\"10\"/>",
      "<power a=\"a:x\" b=\"b:x\" power_W=\"10\" lockout_V=\"5\"/>",
      "<motor a=\"a:x\" b=\"b:x\" ohm=\"1\" volt_s_per_rad=\"0.1\" no_load_A=\"0.2\"/>",
      "<servo a=\"a:x\" b=\"b:x\" idle_A=\"0.1\" moving_A=\"0.3\" stall_A=\"1\"/>",
      "<resistor a=\"a:x\" b=\"b:x\" ohm=\"0\"/>",
      "<source a=\"a:x\" b=\"b:x\" emf_V=\"30\" ohm=\"0.1\" limit_A=\"2\"/>",
  };
  for (guint i = 0; i < G_N_ELEMENTS(loads); i++)
    for (guint k = 0; k < G_N_ELEMENTS(loads); k++)
      for (guint broken = 0; broken < 2; broken++) {
        g_autofree char *s =
            rig_kind("s", "<source a=\"a:x\" b=\"b:x\" emf_V=\"12\" ohm=\"0.1\"/>");
        g_autofree char *a = rig_kind("p", loads[i]), *b = rig_kind("q", loads[k]);
        g_autofree char *extra = g_strconcat(rig_post_family, s, a, b, NULL);
        g_autoptr(Rig) rig = rig_new(extra);
        rig_add(rig, "s", "G1");
        rig_add(rig, "p", "R1");
        rig_add(rig, "q", "R2");
        rig_plug(rig, "G1:a", "R1:a");
        rig_plug(rig, "R1:b", "R2:a");
        if (!broken)
          rig_plug(rig, "R2:b", "G1:b");
        g_autoptr(LoomWiring) w = loom_wiring_new(rig_done(rig), 0);
        g_autoptr(LoomOperation) op = loom_operation_new(w, 1);
        if (op->points[0]->trouble == LOOM_TROUBLE_NONE) {
          rig_check_point(op->network, op->points[0]);
        } else {
          g_autofree char *why = loom_point_why(op->points[0], op->network);
          assert_non_null(why);
          assert_int_not_equal(op->points[0]->branch, LOOM_NONE);
        }
        assert_true(op->points[0]->iterations < 5000);
        g_autoptr(LoomLimits) limits = loom_limits_new(w);
        assert_non_null(limits);
      }
}

static void
plug_at_random(Rig *rig, GRand *rand, guint part, guint n_posts)
{
  for (guint side = 0; side < 2; side++) {
    g_autofree char *end = g_strdup_printf("R%u:%c", part, side ? 'b' : 'a');
    g_autofree char *post =
        g_strdup_printf("X%d:a", g_rand_int_range(rand, 1, (gint32)n_posts + 1));
    rig_plug(rig, end, post);
  }
}

/* Parts of kinds k0, k1, ... between posts as they fall. New. */
static Rig *
nonsense(GRand *rand, const char *kinds, guint n_posts, guint n_parts, guint n_kinds)
{
  Rig *rig = rig_new(kinds);
  for (guint v = 1; v <= n_posts; v++) {
    g_autofree char *post = g_strdup_printf("X%u", v);
    rig_add(rig, "node", post);
  }
  for (guint i = 1; i <= n_parts; i++) {
    g_autofree char *part = g_strdup_printf("R%u", i);
    g_autofree char *kind = g_strdup_printf("k%d", g_rand_int_range(rand, 0, (gint32)n_kinds));
    rig_add(rig, kind, part);
    plug_at_random(rig, rand, i, n_posts);
  }
  return rig;
}

/* An answer that holds, or a sentence that names a part. */
static void
test_nonsense_names_a_part(void **state)
{
  (void)state;
  static const char *const loads[] = {
      "<current a=\"a:x\" b=\"b:x\" current_A=\"3\"/>",
      "<power a=\"a:x\" b=\"b:x\" power_W=\"10\"/>",
      "<resistor a=\"a:x\" b=\"b:x\" ohm=\"2\"/>",
      "<resistor a=\"a:x\" b=\"b:x\" ohm=\"0\"/>",
      "<source a=\"a:x\" b=\"b:x\" emf_V=\"12\" ohm=\"0.1\"/>",
      "<source a=\"a:x\" b=\"b:x\" emf_V=\"5\" ohm=\"0\" limit_A=\"2\"/>",
      "<source a=\"a:x\" b=\"b:x\" emf_V=\"9\" ohm=\"0\"/>",
  };
  g_autoptr(GString) kinds = g_string_new(rig_post_family);
  g_string_append(kinds, rig_node_kind);
  for (guint i = 0; i < G_N_ELEMENTS(loads); i++) {
    g_autofree char *id = g_strdup_printf("k%u", i), *kind = rig_kind(id, loads[i]);
    g_string_append(kinds, kind);
  }
  GRand *rand = g_rand_new_with_seed(17);
  guint singular = 0;
  for (guint round = 0; round < 600; round++) {
    g_autoptr(Rig) rig =
        nonsense(rand, kinds->str, 2 + round % 5, 2 + round % 9, G_N_ELEMENTS(loads));
    g_autoptr(LoomWiring) w = loom_wiring_new(rig_done(rig), 0);
    g_autoptr(LoomOperation) op = loom_operation_new(w, 1);
    if (op->points[0]->trouble == LOOM_TROUBLE_NONE) {
      rig_check_point(op->network, op->points[0]);
      continue;
    }
    g_autofree char *why = loom_point_why(op->points[0], op->network);
    singular += op->points[0]->trouble == LOOM_TROUBLE_SINGULAR;
    if (!g_regex_match_simple("\\b[RX][0-9]", why, 0, 0))
      fail_msg("round %u: no part is named in: %s", round, why);
  }
  assert_true(singular > 5);
  g_rand_free(rand);
}

static void
random_state(GRand *rand, Rig *rig, const char *state, guint n_motors, guint n_servos)
{
  static const char *const loads[] = {"free", "loaded", "stalled"};
  static const char *const servo_loads[] = {"idle", "moving", "stalled"};
  g_autofree char *target = g_strdup_printf("state:driving/%s", state);
  for (guint i = 1; i <= n_motors + n_servos; i++) {
    g_autofree char *load = g_strdup_printf("M%u.load", i), *duty = g_strdup_printf("M%u.duty", i);
    g_autofree char *value = g_strdup_printf("%.3f", g_rand_double_range(rand, -1, 1));
    guint pick = (guint)g_rand_int_range(rand, 0, 3);
    rig_set(rig, target, load, i <= n_motors ? loads[pick] : servo_loads[pick]);
    if (i <= n_motors && g_rand_int_range(rand, 0, 4))
      rig_set(rig, target, duty, value);
  }
}

/* Pack, leads, controller, motors and servos at random, some plugged turned, some not at all. */
static Rig *
random_robot(GRand *rand)
{
  static const char *const packs[] = {"pack-nimh-12v-3ah", "pack-nimh-12v-2ah"};
  static const char *const motors[] = {"motor-medium", "motor-small-12v"};
  Rig *rig = rig_new(NULL);
  rig_add(rig, packs[g_rand_int_range(rand, 0, 2)], "G1");
  rig_add(rig, "fuse-lead-20", "F1");
  rig_add(rig, "switch-main-20", "Q1");
  rig_add(rig, "controller-rover", "K1");
  rig_plug(rig, "G1:out", "F1:in");
  rig_plug(rig, "F1:out", "Q1:in");
  if (g_rand_int_range(rand, 0, 8))
    rig_plug(rig, "Q1:out", "K1:power");
  rig_set(rig, "Q1", "on", g_rand_int_range(rand, 0, 8) ? "yes" : "no");
  for (guint i = 1; i <= 5; i++) {
    g_autofree char *name = g_strdup_printf("M%u", i), *port = g_strdup_printf("K1:motor-%u", i);
    g_autofree char *poles = g_strdup_printf("M%u:poles", i);
    rig_add(rig, motors[g_rand_int_range(rand, 0, 2)], name);
    rig_plug(rig, poles, port);
  }
  for (guint i = 1; i <= 5; i++) {
    g_autofree char *name = g_strdup_printf("M%u", 5 + i),
                    *port = g_strdup_printf("K1:servo-%u", i);
    g_autofree char *lead = g_strdup_printf("M%u:lead", 5 + i);
    rig_add(rig, "servo-standard", name);
    rig_plug_as(rig, lead, port, (LoomFit)g_rand_int_range(rand, 0, 3), NULL);
  }
  for (guint i = 0; i < 4; i++) {
    g_autofree char *state = g_strdup_printf("state-%u", i);
    rig_state(rig, state);
    random_state(rand, rig, state, 5, 5);
  }
  rig_done(rig);
  return rig;
}

static void
test_random_robots(void **state)
{
  (void)state;
  guint with_sleep = 0, at_limit = 0;
  for (guint32 seed = 1; seed <= 40; seed++) {
    GRand *rand = g_rand_new_with_seed(seed);
    g_autoptr(Rig) rig = random_robot(rand);
    g_autoptr(LoomWiring) w = loom_wiring_new(rig->design, 0);
    for (guint charge = 0; charge <= 10; charge += 5) {
      g_autoptr(LoomOperation) op = loom_operation_new(w, charge / 10.0);
      for (guint i = 0; i < op->n_states; i++) {
        LoomOperatingPoint *p = op->points[i];
        rig_check_point(op->network, p);
        for (guint b = 0; b < p->n_branches; b++) {
          with_sleep += p->sleep[b] != LOOM_AWAKE;
          at_limit += p->at_limit[b];
        }
        g_autoptr(LoomMargins) m = loom_margins_new(op->network, p);
        for (guint k = 1; k < m->n_margins; k++)
          assert_true(m->margins[k - 1].margin_pct <= m->margins[k].margin_pct);
      }
    }
    g_rand_free(rand);
  }
  assert_true(with_sleep > 0 && at_limit > 0); /* the interesting branches were met */
}

static void
check_every_state(const LoomDesign *design)
{
  for (guint s = 0; s < loom_design_n_scenes(design); s++) {
    g_autoptr(LoomWiring) w = loom_wiring_new(design, s);
    for (guint charge = 0; charge <= 4; charge += 2) {
      g_autoptr(LoomOperation) op = loom_operation_new(w, charge / 4.0);
      for (guint i = 0; i < op->n_states; i++)
        rig_check_point(op->network, op->points[i]);
    }
  }
}

/* Settings for everything that moves, in the first state of the first scene. */
static void
stir(GRand *rand, LoomDesign *design)
{
  static const char *const loads[] = {"free", "loaded", "stalled", "moving", "idle"};
  const LoomScene *scene = loom_design_scene(design, 0);
  g_autofree char *target = g_strdup_printf("state:%s/%s", scene->name, scene->states[0].name);
  LoomEdit *edit = loom_edit_new(design, "stir");
  for (guint i = 0; i < loom_design_n_parts(design); i++) {
    const LoomPart *part = loom_design_part(design, i);
    bool switched = part->kind->has_switch;
    if (part->designation[0] != 'M' && !switched)
      continue;
    g_autofree char *load = g_strdup_printf("%s.load", part->designation);
    g_autofree char *duty = g_strdup_printf("%s.duty", part->designation);
    g_autofree char *on = g_strdup_printf("%s.on", part->designation);
    g_autofree char *value = g_strdup_printf("%.2f", g_rand_double_range(rand, -1, 1));
    if (switched) {
      loom_edit_set(edit, target, on, g_rand_int_range(rand, 0, 6) ? "yes" : "no", NULL);
    } else {
      loom_edit_set(edit, target, load, loads[g_rand_int_range(rand, 0, 5)], NULL);
      loom_edit_set(edit, target, duty, g_rand_int_range(rand, 0, 4) ? value : "1", NULL);
    }
  }
  loom_design_apply(design, edit);
}

/* Every ordinary robot, in every scene and state, full, half and empty; and with everything that
 * moves set at random. */
static void
test_ordinary_robots(void **state)
{
  (void)state;
  GRand *rand = g_rand_new_with_seed(7);
  for (const char *const *name = robots_ordinary(); *name; name++) {
    g_autoptr(LoomDesign) design = robots_load(*name);
    check_every_state(design);
    for (guint i = 0; i < 12; i++) {
      stir(rand, design);
      check_every_state(design);
    }
  }
  g_rand_free(rand);
}

static void
test_bad_outings(void **state)
{
  (void)state;
  g_autoptr(Rig) rig = spoilt("<resistor a=\"a:x\" b=\"b:x\" ohm=\"2\"/>", length_zero);
  g_autoptr(LoomWiring) w = loom_wiring_new(rig->design, 0);
  LoomLeg nowhere[] = {RIG_LEG("flying", 10)},
          endless[] = {RIG_LEG("resting", INFINITY), RIG_LEG("resting", NAN),
                       RIG_LEG("resting", -3)};
  LoomLeg long_one[] = {RIG_LEG("resting", 1e9)};
  LoomOuting a = {(char *)"a", 1, nowhere}, b = {(char *)"b", 3, endless},
             c = {(char *)"c", 1, long_one}, d = {(char *)"d", 0, NULL};
  g_autoptr(LoomTrace) ta = loom_outing_run(w, &a, NULL);
  assert_int_equal(ta->end, LOOM_OUTING_NO_STATE);
  assert_non_null(strstr(ta->why, "flying"));
  g_autoptr(LoomTrace) tb = loom_outing_run(w, &b, NULL);
  assert_int_equal(tb->n_samples, 0);
  g_autoptr(LoomTrace) tc = loom_outing_run(w, &c, NULL);
  assert_int_equal(tc->end, LOOM_OUTING_EMPTY);
  assert_true(tc->steps < 20000);
  g_autoptr(LoomTrace) td = loom_outing_run(w, &d, NULL);
  assert_int_equal(td->end, LOOM_OUTING_DONE);
  const LoomOutingTerms bad = {.charge = NAN, .tolerance = -1, .longest_s = 0};
  g_autoptr(LoomTrace) te = loom_outing_run(w, &c, &bad);
  assert_int_equal(te->end, LOOM_OUTING_EMPTY);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(test_impossible_figures), cmocka_unit_test(test_efficiency_above_one),
      cmocka_unit_test(test_extreme_figures),    cmocka_unit_test(test_ideal_sources),
      cmocka_unit_test(test_senseless_circuits), cmocka_unit_test(test_nonsense_names_a_part),
      cmocka_unit_test(test_random_robots),      cmocka_unit_test(test_ordinary_robots),
      cmocka_unit_test(test_bad_outings),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
