/* Tidying: nothing covers anything, the way from pack to controller runs from left to right, words
 * keep apart, the same design always gives the same drawing, and one undo takes it back. */
#include "bench.h"

#include "design/edit.h"
#include "design/file.h"
#include "sheet/sheet-private.h"
#include "sheet/tidy.h"

#include "robots.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>

#include <cmocka.h>

#include "near.h"

static const char *const ALL[] = {"sandpiper", NULL};

static LoomDesign *
tidied(const char *name)
{
  LoomDesign *design = robots_load(name);
  LoomEdit *edit = loom_edit_new(design, "Tidy");
  loom_tidy(edit, 0);
  loom_design_apply(design, edit);
  return design;
}

typedef void (*Check)(const char *name, const LoomDesign *design, const LoomSheet *sheet);

static void
for_each_robot(Check check)
{
  const char *const *lists[] = {robots_ordinary(), ALL};
  for (guint l = 0; l < G_N_ELEMENTS(lists); l++)
    for (const char *const *name = lists[l]; *name; name++) {
      g_autoptr(LoomDesign) design = tidied(*name);
      g_autoptr(LoomSheet) sheet = loom_sheet_new(design, 0, NULL);
      check(*name, design, sheet);
    }
}

static bool
meets(LoomRect a, LoomRect b)
{
  return a.x < b.x + b.width && b.x < a.x + a.width && a.y < b.y + b.height && b.y < a.y + a.height;
}

/* Outlines on the grid, clear of each other, of others' connectors and of leads. */
static void
check_overlap(const char *name, const LoomDesign *design, const LoomSheet *sheet)
{
  g_autofree char *pierced = bench_pierced(sheet);
  g_autofree char *covered = bench_covered(sheet);
  if (pierced || covered)
    fail_msg("%s: %s", name, pierced ? pierced : covered);
  for (guint a = 0; a < sheet->n_parts; a++) {
    const LoomPart *part = loom_design_part(design, a);
    assert_double_equal(remainder(part->x_mm, LOOM_GRID_MM), 0, 1e-9);
    assert_double_equal(remainder(part->y_mm, LOOM_GRID_MM), 0, 1e-9);
    for (guint b = a + 1; b < sheet->n_parts; b++)
      if (meets(sheet->parts[a].outline, sheet->parts[b].outline))
        fail_msg("%s: %s lies on %s", name, part->designation,
                 loom_design_part(design, b)->designation);
    for (guint e = 0; e < sheet->n_ends; e++)
      if (sheet->ends[e].part != a && meets(sheet->parts[a].outline, sheet->ends[e].box))
        fail_msg("%s: %s lies on an end of %s", name, part->designation,
                 loom_design_part(design, sheet->ends[e].part)->designation);
  }
}

static void
nothing_covers_anything(void **state G_GNUC_UNUSED)
{
  for_each_robot(check_overlap);
}

/* Every word on the sheet: apart from the words of others, and off every outline and connector of
 * others. */
static void
add_words(GArray *all, const GArray *words, guint part)
{
  for (guint i = 0; words && i < words->len; i++) {
    LoomCrowded one = {g_array_index(words, LoomWords, i).box, 0, part};
    g_array_append_val(all, one);
  }
}

static void
check_words(const char *name, const LoomDesign *design, const LoomSheet *sheet)
{
  g_autoptr(GArray) all = g_array_new(FALSE, FALSE, sizeof(LoomCrowded));
  for (guint p = 0; p < sheet->n_parts; p++) {
    add_words(all, sheet->inside->words[p], p);
    add_words(all, sheet->inside->tags[p].words, p);
  }
  for (guint i = 0; i < all->len; i++) {
    const LoomCrowded *a = &g_array_index(all, LoomCrowded, i);
    const char *whose = loom_design_part(design, a->index)->designation;
    for (guint k = i + 1; k < all->len; k++) {
      const LoomCrowded *b = &g_array_index(all, LoomCrowded, k);
      if (a->index != b->index && meets(a->rect, b->rect))
        fail_msg("%s: words of %s lie on words of %s", name, whose,
                 loom_design_part(design, b->index)->designation);
    }
    for (guint p = 0; p < sheet->n_parts; p++)
      if (p != a->index && meets(a->rect, sheet->parts[p].outline))
        fail_msg("%s: words of %s lie on %s", name, whose,
                 loom_design_part(design, p)->designation);
    for (guint e = 0; e < sheet->n_ends; e++)
      if (sheet->ends[e].part != a->index && meets(a->rect, sheet->ends[e].box))
        fail_msg("%s: words of %s lie on an end of %s", name, whose,
                 loom_design_part(design, sheet->ends[e].part)->designation);
  }
}

static void
words_keep_apart(void **state G_GNUC_UNUSED)
{
  for_each_robot(check_words);
}

/* Packs that feed a controller stand to its left, motors not to the left of theirs. */
static void
check_order(const char *name, const LoomDesign *design, const LoomSheet *sheet)
{
  double controller = NAN;
  for (guint p = 0; p < sheet->n_parts; p++)
    if (loom_design_part(design, p)->kind->group == LOOM_GROUP_CONTROLLER && isnan(controller))
      controller = sheet->parts[p].outline.x;
  guint first = loom_design_find_part(design, "G1");
  if (isnan(controller) || first == LOOM_NONE)
    return;
  if (sheet->parts[first].outline.x >= controller)
    fail_msg("%s: G1 is not to the left of the controller", name);
  for (guint p = 0; p < sheet->n_parts; p++)
    if (loom_design_part(design, p)->kind->group == LOOM_GROUP_MOTOR &&
        sheet->parts[p].outline.x < controller)
      fail_msg("%s: %s is to the left of the controller", name,
               loom_design_part(design, p)->designation);
}

static void
supply_left_loads_right(void **state G_GNUC_UNUSED)
{
  for_each_robot(check_order);
}

/* Few crossings: no more than one for two leads, and none in a plain chain with motors. */
static void
check_crossings(const char *name, const LoomDesign *design G_GNUC_UNUSED, const LoomSheet *sheet)
{
  if (sheet->crossings > sheet->n_leads / 2)
    fail_msg("%s: %u crossings of %u leads", name, sheet->crossings, sheet->n_leads);
}

static void
leads_hardly_cross(void **state G_GNUC_UNUSED)
{
  for_each_robot(check_crossings);
  static const char *const PLAIN[] = {"bare-posts", "charging", "four-cells",
                                      "lead-acid",  "two-pole", "genderless"};
  for (guint i = 0; i < G_N_ELEMENTS(PLAIN); i++) {
    g_autoptr(LoomDesign) design = tidied(PLAIN[i]);
    g_autoptr(LoomSheet) sheet = loom_sheet_new(design, 0, NULL);
    assert_int_equal(sheet->crossings, 0);
  }
}

static void
the_same_design_gives_the_same_drawing(void **state G_GNUC_UNUSED)
{
  for (const char *const *name = robots_ordinary(); *name; name++) {
    g_autoptr(LoomDesign) a = tidied(*name);
    g_autoptr(LoomDesign) b = tidied(*name);
    g_autofree char *text_a = loom_design_to_text(a);
    g_autofree char *text_b = loom_design_to_text(b);
    assert_string_equal(text_a, text_b);
    LoomEdit *again = loom_edit_new(a, "Tidy");
    loom_tidy(again, 0);
    if (!loom_edit_is_empty(again)) /* what is tidy stays */
      fail_msg("%s: tidying again moves something", *name);
    loom_edit_free(again);
  }
}

static void
one_undo_takes_it_back(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomDesign) design = robots_load("sandpiper");
  g_autofree char *before = loom_design_to_text(design);
  LoomEdit *edit = loom_edit_new(design, "Tidy");
  loom_tidy(edit, 0);
  assert_true(loom_design_apply(design, edit));
  assert_true(loom_design_undo(design));
  g_autofree char *after = loom_design_to_text(design);
  assert_string_equal(before, after);
}

/* Whatever the bench: random parts, joints that do not mate, rings; none on another afterwards. */
static void
random_benches_come_out_tidy(void **state G_GNUC_UNUSED)
{
  for (guint seed = 1; seed <= 12; seed++) {
    g_autoptr(LoomDesign) design = bench_random(seed, 12 + 3 * seed);
    LoomEdit *edit = loom_edit_new(design, "Tidy");
    loom_tidy(edit, 0);
    loom_design_apply(design, edit);
    g_autoptr(LoomSheet) sheet = loom_sheet_new(design, 0, NULL);
    for (guint a = 0; a < sheet->n_parts; a++)
      for (guint b = a + 1; b < sheet->n_parts; b++) {
        bool leads =
            loom_design_part(design, a)->kind->lead && loom_design_part(design, b)->kind->lead;
        if (!leads && meets(sheet->parts[a].outline, sheet->parts[b].outline))
          fail_msg("seed %u: %s lies on %s", seed, loom_design_part(design, a)->designation,
                   loom_design_part(design, b)->designation);
      }
  }
}

static void
a_free_place_is_free_and_near(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomDesign) design = tidied("sandpiper");
  guint n;
  const LoomKind *const *kinds = loom_catalogue_kinds(robots_catalogue(), &n);
  g_autoptr(LoomSheet) sheet = loom_sheet_new(design, 0, NULL);
  for (guint k = 0; k < n; k += 7) {
    LoomPoint at = loom_tidy_free_place(design, kinds[k], 100, 50);
    g_autoptr(LoomPart) part = loom_part_new(kinds[k], "X99");
    part->x_mm = at.x;
    part->y_mm = at.y;
    LoomRect outline = loom_place_outline(part);
    for (guint p = 0; p < sheet->n_parts; p++)
      if (!loom_design_part(design, p)->kind->lead && meets(outline, sheet->parts[p].outline))
        fail_msg("%s would lie on %s", kinds[k]->id, loom_design_part(design, p)->designation);
    assert_double_equal(remainder(at.x, LOOM_GRID_MM), 0, 1e-9);
    assert_true(hypot(at.x - 100, at.y - 50) < 400);
  }
  LoomPoint empty = loom_tidy_free_place(design, kinds[0], 5000, 5000);
  assert_double_equal(empty.x, 5000, 1e-9);
  assert_double_equal(empty.y, 5000, 1e-9);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(nothing_covers_anything),
      cmocka_unit_test(words_keep_apart),
      cmocka_unit_test(supply_left_loads_right),
      cmocka_unit_test(leads_hardly_cross),
      cmocka_unit_test(the_same_design_gives_the_same_drawing),
      cmocka_unit_test(one_undo_takes_it_back),
      cmocka_unit_test(random_benches_come_out_tidy),
      cmocka_unit_test(a_free_place_is_free_and_near),
  };
  return cmocka_run_group_tests_name("tidy", tests, NULL, NULL);
}
