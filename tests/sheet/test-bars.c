/* Bars: what they say adds up to what was solved, and lies in one row. */
#include "electric/solve.h"
#include "sheet/bars.h"
#include "sheet/draw.h"
#include "sheet/inks.h"
#include "sheet/readings.h"

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

typedef struct {
  LoomDesign *design;
  LoomWiring *wiring;
  LoomNetwork *network;
  LoomOperatingPoint *point;
} Rig;

static Rig
rig_new(const char *state)
{
  Rig r = {.design = robots_load("sandpiper")};
  r.wiring = loom_wiring_new(r.design, 0);
  r.network = loom_network_new(r.wiring);
  const LoomScene *scene = loom_design_scene(r.wiring->design, 0);
  g_autoptr(LoomSolver) solver =
      loom_solver_new(r.network, &scene->states[loom_scene_find_state(scene, state)]);
  LoomConditions now = loom_conditions(r.network);
  r.point = loom_solver_run(solver, &now);
  return r;
}

static void
rig_clear(Rig *r)
{
  loom_point_free(r->point);
  loom_network_free(r->network);
  loom_wiring_free(r->wiring);
  loom_design_free(r->design);
}

/* The motor element of a part. */
static guint
motor_of(const Rig *r, const char *designation)
{
  guint part = loom_design_find_part(r->design, designation);
  for (guint b = r->network->part_branch[part]; b < r->network->part_branch[part + 1]; b++)
    if (r->network->branches[b].element->type == LOOM_ELEMENT_MOTOR)
      return b;
  return LOOM_NONE;
}

/* Kirchhoff's law round the loop: the EMF is what the pieces take and what the load has. */
static void
test_pieces_add_up(void **state G_GNUC_UNUSED)
{
  Rig r = rig_new("pushing");
  g_autoptr(LoomWaterfall) fall = loom_waterfall_new(r.network, r.point, motor_of(&r, "M1"));
  g_autoptr(LoomBars) bars = loom_bars_of_waterfall(r.network, fall, "M1");
  double sum = 0, share = 0;
  assert_true(bars->n_bars > 8);
  for (guint i = 0; i < bars->n_bars; i++) {
    sum += g_ascii_strtod(bars->bars[i].number, NULL);
    share += g_ascii_strtod(bars->bars[i].share, NULL);
    assert_double_equal(bars->bars[i].from, i ? bars->bars[i - 1].to : 0, 1e-12);
    for (guint k = 0; k < i; k++)
      assert_false(strcmp(bars->bars[i].where, bars->bars[k].where) == 0 &&
                   strcmp(bars->bars[i].what, bars->bars[k].what) == 0);
  }
  assert_double_equal(bars->bars[bars->n_bars - 1].to, 1, 1e-9);
  assert_double_equal(sum, fall->emf_V - fall->load_V, 0.0005 * bars->n_bars);
  assert_double_equal(share, 100 * sum / fall->emf_V, 0.05 * bars->n_bars + 0.05);
  rig_clear(&r);
}

static void
test_without_a_current_a_word(void **state G_GNUC_UNUSED)
{
  Rig r = rig_new("resting");
  g_autoptr(LoomWaterfall) fall = loom_waterfall_new(r.network, r.point, motor_of(&r, "M1"));
  assert_null(fall);
  g_autoptr(LoomBars) bars = loom_bars_of_waterfall(r.network, fall, "M1");
  g_autoptr(LoomBars) none = loom_bars_of_waterfall(r.network, NULL, NULL);
  assert_int_equal(bars->n_bars, 0);
  assert_string_equal(bars->heading, "M1: nothing flows there in this state.");
  assert_non_null(strstr(none->heading, "No motor"));
  rig_clear(&r);
}

static void
test_near_limits_come_first(void **state G_GNUC_UNUSED)
{
  Rig r = rig_new("pushing");
  LoomMargin list[] = {
      {.what = LOOM_RATING_LOWEST_V, .load = 5, .limit = 4.8, .unit = "V", .margin_pct = 4.2},
      {.what = LOOM_RATING_WIRE,
       .load = 4,
       .limit = 10,
       .unit = "A",
       .margin_pct = 60,
       .table = "t"},
      {.what = LOOM_RATING_LOWEST_V, .load = 6, .limit = 6.5, .unit = "V", .margin_pct = -7.7},
      {.what = LOOM_RATING_FUSE, .load = 14, .limit = 15, .unit = "A", .margin_pct = 6.7}};
  LoomMargins margins = {G_N_ELEMENTS(list), list};
  static const char *const order[] = {"6, needs 6.5 V", "14 of 15 A", "4 of 10 A",
                                      "5, needs 4.8 V"};
  g_autoptr(LoomBars) bars = loom_bars_of_margins(r.network, &margins, 3);
  g_autoptr(LoomBars) all = loom_bars_of_margins(r.network, &margins, 40);
  assert_int_equal(bars->n_bars, 3);
  assert_int_equal(all->n_bars, 4);
  for (guint i = 0; i < G_N_ELEMENTS(order); i++)
    assert_string_equal(all->bars[i].number, order[i]);
  assert_true(all->bars[0].strong);
  assert_false(all->bars[1].strong);
  rig_clear(&r);
}

static void
test_lines_are_found_where_they_are(void **state G_GNUC_UNUSED)
{
  Rig r = rig_new("pushing");
  g_autoptr(LoomMargins) margins = loom_margins_new(r.network, r.point);
  g_autoptr(LoomBars) bars = loom_bars_of_margins(r.network, margins, 30);
  for (guint i = 0; i < bars->n_bars; i++)
    assert_int_equal(loom_bars_at(bars, loom_bars_top_mm(i) + LOOM_BAR_ROW_MM / 2), i);
  assert_int_equal(loom_bars_at(bars, -1), LOOM_NONE);
  assert_int_equal(loom_bars_at(bars, loom_bars_height_mm(bars) + 1), LOOM_NONE);
  rig_clear(&r);
}

static void
test_words_keep_apart(void **state G_GNUC_UNUSED)
{
  static const double widths[] = {60, 66, 110, 160, 240};
  Rig r = rig_new("pushing");
  g_autoptr(LoomMargins) margins = loom_margins_new(r.network, r.point);
  g_autoptr(LoomWaterfall) fall = loom_waterfall_new(r.network, r.point, motor_of(&r, "M1"));
  LoomBars *both[] = {loom_bars_of_margins(r.network, margins, 30),
                      loom_bars_of_waterfall(r.network, fall, "M1")};
  for (guint k = 0; k < 2 * G_N_ELEMENTS(widths); k++) {
    double width = widths[k / 2], height = loom_bars_height_mm(both[k % 2]);
    LoomInk *ink = loom_ink_svg_new((LoomRect){0, 0, width, height}, LOOM_PALETTE_PRINT, "t", "d");
    loom_bars_draw(ink, both[k % 2], width, 2);
    g_autofree char *svg = loom_ink_svg_free_to_text(ink);
    g_autoptr(GArray) all = written_read(svg);
    assert_true(all->len >= 2 * both[k % 2]->n_bars);
    for (guint i = 0; i < all->len; i++) {
      const Written *w = &g_array_index(all, Written, i);
      if (w->rect.x < 0 || w->rect.x + w->rect.width > width || w->rect.y + w->rect.height > height)
        fail_msg("%g mm wide: %s leaves the room", width, w->text);
      for (guint j = 0; j < i; j++)
        if (written_meet(w->rect, g_array_index(all, Written, j).rect))
          fail_msg("%g mm wide: %s covers %s", width, w->text, g_array_index(all, Written, j).text);
    }
  }
  loom_bars_free(both[0]);
  loom_bars_free(both[1]);
  rig_clear(&r);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(test_pieces_add_up),
      cmocka_unit_test(test_without_a_current_a_word),
      cmocka_unit_test(test_near_limits_come_first),
      cmocka_unit_test(test_lines_are_found_where_they_are),
      cmocka_unit_test(test_words_keep_apart),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
