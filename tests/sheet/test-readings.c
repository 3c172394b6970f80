/* Readings on the drawing: their figures against the operating point, and that nothing written
 * covers anything else. How wide words are is asked of Pango with the font of the drawings, not of
 * our own tables. */
#include "design/edit.h"
#include "electric/solve.h"
#include "sheet/export.h"
#include "sheet/inks.h"
#include "sheet/readings.h"
#include "sheet/tidy.h"

#include "robots.h"
#include "written.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "near.h"

/* One state of one robot, solved. */
typedef struct {
  LoomDesign *design;
  LoomWiring *wiring;
  LoomNetwork *network;
  LoomOperatingPoint *point;
  LoomMargins *margins;
  LoomReadings *readings;
} Solved;

static Solved
solve(const LoomDesign *design, guint state, double charge)
{
  Solved s = {.design = loom_design_snapshot(design)};
  s.wiring = loom_wiring_new(s.design, 0);
  s.network = loom_network_new(s.wiring);
  const LoomScene *scene = loom_design_scene(s.wiring->design, 0);
  const LoomState *record = state < scene->n_states ? &scene->states[state] : NULL;
  g_autoptr(LoomSolver) solver = loom_solver_new(s.network, record);
  LoomConditions now = loom_conditions(s.network);
  now.charge = charge;
  s.point = loom_solver_run(solver, &now);
  s.margins = loom_margins_new(s.network, s.point);
  s.readings =
      loom_readings_new(s.network, s.point, s.margins, record ? record->name : NULL, charge);
  return s;
}

static void
solved_clear(Solved *s)
{
  loom_readings_free(s->readings);
  loom_margins_free(s->margins);
  loom_point_free(s->point);
  loom_network_free(s->network);
  loom_wiring_free(s->wiring);
  loom_design_free(s->design);
}

static LoomDesign *
tidied(const char *name)
{
  LoomDesign *design = robots_load(name);
  LoomEdit *edit = loom_edit_new(design, "Tidy");
  loom_tidy(edit, 0);
  loom_design_apply(design, edit);
  return design;
}

static void
test_figures_as_words(void **state G_GNUC_UNUSED)
{
  static const struct {
    double number;
    const char *volts, *amps;
  } cases[] = {{13.424, "13.42 V", "13.4 A"}, {0.0824, "0.08 V", "82 mA"},
               {0, "0.00 V", NULL},           {-7.5, "-7.50 V", "7.50 A"},
               {0.0004, "0.00 V", NULL},      {9.996, "10.00 V", "10.0 A"},
               {0.0996, "0.10 V", "0.10 A"},  {NAN, "off", NULL}};
  for (guint i = 0; i < G_N_ELEMENTS(cases); i++) {
    g_autofree char *volts = loom_volts_text(cases[i].number);
    g_autofree char *amps = loom_amps_text(cases[i].number);
    assert_string_equal(volts, cases[i].volts);
    if (cases[i].amps)
      assert_string_equal(amps, cases[i].amps);
    else
      assert_null(amps);
  }
}

/* Volts that two contacts of the end have at the point, whatever its roles: any pair will do. */
static bool
some_pair_has(const Solved *s, guint part, guint end, double volt)
{
  const LoomEnd *e = &loom_wiring_part(s->wiring, part)->kind->ends[end];
  for (guint a = 0; a < e->n_contacts; a++)
    for (guint b = 0; b < e->n_contacts; b++) {
      double between = s->point->potential_V[loom_wiring_node(s->wiring, part, end, a)] -
                       s->point->potential_V[loom_wiring_node(s->wiring, part, end, b)];
      if (a != b && fabs(between - volt) <= 0.00501)
        return true;
    }
  return false;
}

static bool
joint_has(const Solved *s, guint part, guint end, double volt)
{
  guint number = loom_wiring_end(s->wiring, part, end);
  bool found = some_pair_has(s, part, end, volt);
  for (guint k = s->wiring->end_first[number]; k < s->wiring->end_first[number + 1]; k++) {
    const LoomWiredJoint *j = &s->wiring->joints[s->wiring->end_joints[k]];
    found |= some_pair_has(s, j->part_a, j->end_a, volt);
    found |= some_pair_has(s, j->part_b, j->end_b, volt);
  }
  return found;
}

/* A lead's amps are those of one of its contacts. */
static bool
lead_has(const Solved *s, guint part, double ampere, double rounding)
{
  const LoomKind *kind = loom_wiring_part(s->wiring, part)->kind;
  for (guint e = 0; e < kind->n_ends; e++)
    for (guint c = 0; c < kind->ends[e].n_contacts; c++)
      if (fabs(fabs(s->point->into_A[loom_wiring_node(s->wiring, part, e, c)]) - ampere) <=
          rounding)
        return true;
  return false;
}

static void
check_figures(const Solved *s, const char *name)
{
  g_autofree guint *read = g_new0(guint, s->wiring->n_joints + 1);
  for (guint i = 0; i < s->readings->n_readings; i++) {
    const LoomSheetReading *r = &s->readings->readings[i];
    if (!r->text)
      continue;
    double number = g_ascii_strtod(r->text, NULL);
    if (r->end == LOOM_NONE) {
      bool milli = strstr(r->text, " mA") != NULL;
      if (!lead_has(s, r->part, milli ? number / 1000 : number, milli ? 0.00051 : 0.051))
        fail_msg("%s: %s is nothing that flows in part %u", name, r->text, r->part);
      continue;
    }
    if (strcmp(r->text, "off") != 0 && !joint_has(s, r->part, r->end, number))
      fail_msg("%s: %s is not at part %u", name, r->text, r->part);
    guint number_of_end = loom_wiring_end(s->wiring, r->part, r->end);
    for (guint k = s->wiring->end_first[number_of_end]; k < s->wiring->end_first[number_of_end + 1];
         k++)
      if (++read[s->wiring->end_joints[k]] > 1)
        fail_msg("%s: a joint is read twice", name);
  }
}

static void
test_every_figure_is_of_the_point(void **state G_GNUC_UNUSED)
{
  for (const char *const *name = robots_ordinary(); *name; name++) {
    g_autoptr(LoomDesign) design = robots_load(*name);
    for (guint i = 0; i < MAX(loom_design_scene(design, 0)->n_states, 1); i++) {
      Solved s = solve(design, i, 0.5);
      assert_int_equal(s.point->trouble, LOOM_TROUBLE_NONE);
      assert_true(s.readings->n_readings > 0);
      check_figures(&s, *name);
      solved_clear(&s);
    }
  }
}

/* What comes near its rating says so in words; what does not, does not. */
static void
test_a_thin_lead_says_its_limit(void **state G_GNUC_UNUSED)
{
  for (guint hot = 0; hot < 2; hot++) {
    g_autoptr(LoomDesign) design = robots_parse("add pack-nimh-12v-3ah G1\n"
                                                "add extension-30-300 W1\n"
                                                "plug G1:out W1:a\n",
                                                "thin");
    Solved s = solve(design, 0, 1);
    LoomMargin margin = {.what = LOOM_RATING_WIRE,
                         .part = loom_design_find_part(design, "W1"),
                         .load = hot ? 18.2 : 15,
                         .limit = 20,
                         .unit = "A"};
    LoomMargins margins = {1, &margin};
    guint node = loom_wiring_node(s.wiring, margin.part, 0, 0);
    s.point->into_A[node] = margin.load;
    g_autoptr(LoomReadings) r = loom_readings_new(s.network, s.point, &margins, NULL, 1);
    bool said = false;
    for (guint i = 0; i < r->n_readings; i++)
      said |= g_strcmp0(r->readings[i].text, hot ? "18.2 A of 20 A" : "15.0 A") == 0;
    assert_true(said);
    solved_clear(&s);
  }
}

static void
test_no_operating_point_no_readings(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomDesign) design = robots_load("sandpiper");
  Solved s = solve(design, 0, 1);
  s.point->trouble = LOOM_TROUBLE_SINGULAR;
  g_autoptr(LoomReadings) r = loom_readings_new(s.network, s.point, s.margins, "pushing", 1);
  assert_int_equal(r->n_readings, 0);
  assert_true(g_str_has_prefix(r->caption, "State pushing: "));
  assert_true(strlen(r->caption) > 25);
  solved_clear(&s);
}

static void
test_more_amps_thicker(void **state G_GNUC_UNUSED)
{
  double last = 0;
  for (double A = 0; A < 16; A += 0.5) {
    assert_true(loom_current_width(A) > last || last >= 1.7);
    assert_double_equal(loom_current_width(A), loom_current_width(-A), 1e-12);
    last = loom_current_width(A);
  }
}

/* --- on the paper --- */

static void
check_words(const GArray *all, const LoomSheet *sheet, const char *name)
{
  guint n_readings = 0;
  for (guint i = 0; i < all->len; i++) {
    const Written *w = &g_array_index(all, Written, i);
    if (!w->reading)
      continue;
    n_readings++;
    for (guint k = 0; k < all->len; k++)
      if (k != i && written_meet(w->rect, g_array_index(all, Written, k).rect))
        fail_msg("%s: %s covers %s", name, w->text, g_array_index(all, Written, k).text);
    for (guint p = 0; p < sheet->n_parts; p++)
      if (written_meet(w->rect, sheet->parts[p].outline))
        fail_msg("%s: %s lies on %s", name, w->text,
                 loom_design_part(sheet->design, p)->designation);
    for (guint e = 0; e < sheet->n_ends; e++)
      if (written_meet(w->rect, sheet->ends[e].box))
        fail_msg("%s: %s lies on an end of %s", name, w->text,
                 loom_design_part(sheet->design, sheet->ends[e].part)->designation);
  }
  assert_true(n_readings >= 3);
}

static void
test_nothing_written_covers_anything(void **state G_GNUC_UNUSED)
{
  for (const char *const *name = robots_ordinary(); *name; name++) {
    g_autoptr(LoomDesign) design = tidied(*name);
    g_autoptr(LoomSheet) sheet = loom_sheet_new(design, 0, NULL);
    Solved s = solve(design, 0, 1);
    LoomDrawOptions options;
    loom_draw_options_init(&options);
    options.palette = LOOM_PALETTE_PRINT;
    options.readings = s.readings->readings;
    options.n_readings = s.readings->n_readings;
    LoomInk *ink =
        loom_ink_svg_new(loom_draw_extents(sheet, &options), LOOM_PALETTE_PRINT, "t", "d");
    loom_draw_sheet(ink, sheet, &options);
    g_autofree char *svg = loom_ink_svg_free_to_text(ink);
    g_autoptr(GArray) all = written_read(svg);
    check_words(all, sheet, *name);
    solved_clear(&s);
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(test_figures_as_words),
      cmocka_unit_test(test_every_figure_is_of_the_point),
      cmocka_unit_test(test_a_thin_lead_says_its_limit),
      cmocka_unit_test(test_no_operating_point_no_readings),
      cmocka_unit_test(test_more_amps_thicker),
      cmocka_unit_test(test_nothing_written_covers_anything),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
