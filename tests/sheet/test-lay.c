/* Laying leads, held against a naive look at every pair: no lead through a part, none on another,
 * the crossings counted, pointers answered; and what must not change when the paper is moved or
 * turned over. */
#include "bench.h"

#include "design/edit.h"
#include "robots.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include "near.h"

#define SEEDS 10

static void
check(const LoomSheet *sheet, const char *what, guint seed)
{
  g_autofree char *pierced = bench_pierced(sheet);
  g_autofree char *covered = bench_covered(sheet);
  if (pierced || covered)
    fail_msg("%s, seed %u: %s", what, seed, pierced ? pierced : covered);
  assert_int_equal(sheet->crossings, bench_crossings(sheet));
}

static void
random_benches_are_laid_around_parts(void **state G_GNUC_UNUSED)
{
  for (guint seed = 1; seed <= SEEDS; seed++) {
    g_autoptr(LoomDesign) design = bench_random(seed, 8 + seed * 3);
    g_autoptr(LoomSheet) sheet = loom_sheet_new(design, 0, NULL);
    check(sheet, "random", seed);
  }
}

static void
ordinary_robots_are_laid_around_parts(void **state G_GNUC_UNUSED)
{
  for (const char *const *name = robots_ordinary(); *name; name++) {
    g_autoptr(LoomDesign) design = robots_load(*name);
    for (guint scene = 0; scene < loom_design_n_scenes(design); scene++) {
      g_autoptr(LoomSheet) sheet = loom_sheet_new(design, scene, NULL);
      assert_int_equal(sheet->n_parts, loom_design_n_parts(design));
    }
  }
}

/* Every plugged end lies at the face of what it is plugged into, looking the other way. */
static void
joints_bring_faces_together(void **state G_GNUC_UNUSED)
{
  for (guint seed = 1; seed <= SEEDS; seed++) {
    g_autoptr(LoomDesign) design = bench_random(seed, 24);
    g_autoptr(LoomSheet) sheet = loom_sheet_new(design, 0, NULL);
    for (guint i = 0; i < sheet->n_joints; i++) {
      const LoomLaidJoint *j = &sheet->joints[i];
      const LoomJoint *record = loom_design_joint(design, j->joint);
      guint a = loom_design_find_part(design, record->a.part),
            b = loom_design_find_part(design, record->b.part);
      const LoomPlacedEnd *end_a = loom_sheet_end(
          sheet, a, loom_kind_find_end(loom_design_part(design, a)->kind, record->a.end));
      const LoomPlacedEnd *end_b = loom_sheet_end(
          sheet, b, loom_kind_find_end(loom_design_part(design, b)->kind, record->b.end));
      assert_true(end_a->plugged && end_b->plugged);
      assert_double_equal(j->from.x, end_a->at.x, 1e-9);
      assert_double_equal(j->to.y, end_b->at.y, 1e-9);
      if (j->apart)
        continue;
      assert_double_equal(end_a->at.x, end_b->at.x, 0.5);
      assert_double_equal(end_a->at.y, end_b->at.y, 0.5);
      assert_int_equal(end_a->dx, -end_b->dx);
      assert_int_equal(end_a->dy, -end_b->dy);
    }
  }
}

/* The paper moved by whole lanes: the same drawing, moved. */
static void
moving_the_paper_changes_nothing(void **state G_GNUC_UNUSED)
{
  for (guint seed = 1; seed <= 4; seed++) {
    g_autoptr(LoomDesign) design = bench_random(seed, 24);
    g_autoptr(LoomDesign) moved = bench_moved(design, -395, 1250);
    g_autoptr(LoomSheet) a = loom_sheet_new(design, 0, NULL);
    g_autoptr(LoomSheet) b = loom_sheet_new(moved, 0, NULL);
    assert_int_equal(a->n_leads, b->n_leads);
    for (guint i = 0; i < a->n_leads; i++) {
      assert_int_equal(a->leads[i].n_points, b->leads[i].n_points);
      for (guint k = 0; k < a->leads[i].n_points; k++) {
        assert_double_equal(a->leads[i].points[k].x - 395, b->leads[i].points[k].x, 1e-6);
        assert_double_equal(a->leads[i].points[k].y + 1250, b->leads[i].points[k].y, 1e-6);
      }
    }
  }
}

/* Turned over, ties may fall the other way, but the drawing is as good. */
static void
mirroring_keeps_the_quality(void **state G_GNUC_UNUSED)
{
  double length[2] = {0, 0};
  guint crossings[2] = {0, 0};
  for (guint seed = 1; seed <= 8; seed++) {
    g_autoptr(LoomDesign) design = bench_random(seed, 24);
    g_autoptr(LoomDesign) mirrored = bench_mirrored(design);
    g_autoptr(LoomSheet) a = loom_sheet_new(design, 0, NULL);
    g_autoptr(LoomSheet) b = loom_sheet_new(mirrored, 0, NULL);
    check(b, "mirrored", seed);
    length[0] += bench_length_mm(a);
    length[1] += bench_length_mm(b);
    crossings[0] += a->crossings;
    crossings[1] += b->crossings;
  }
  assert_double_equal(length[0] / length[1], 1, 0.02);
  assert_true(crossings[0] <= crossings[1] * 1.15 + 3 && crossings[1] <= crossings[0] * 1.15 + 3);
}

/* Leads whose records have not changed keep their way; the rest is laid as well as from nothing. */
static void
old_sheets_are_reused(void **state G_GNUC_UNUSED)
{
  guint kept = 0, all = 0;
  for (guint seed = 1; seed <= 5; seed++) {
    g_autoptr(LoomDesign) design = bench_random(seed, 30);
    g_autoptr(LoomSheet) before = loom_sheet_new(design, 0, NULL);
    LoomEdit *edit = loom_edit_new(design, "Move");
    const LoomPart *first = loom_design_part(design, 0);
    assert_true(loom_edit_move(edit, first->designation, first->x_mm + 5, first->y_mm + 5, NULL));
    loom_design_apply(design, edit);
    g_autoptr(LoomSheet) after = loom_sheet_new(design, 0, before);
    check(after, "after a move", seed);
    assert_int_equal(before->n_leads, after->n_leads);
    for (guint i = 0; i < after->n_leads; i++) {
      const LoomLaidLead *a = &before->leads[i], *b = &after->leads[i];
      bool same = a->n_points == b->n_points;
      for (guint k = 0; same && k < a->n_points; k++)
        same = a->points[k].x == b->points[k].x && a->points[k].y == b->points[k].y;
      kept += same;
      all++;
    }
  }
  assert_true(kept > 0.9 * all);
}

static LoomHit
naive_hit(const LoomSheet *sheet, double x, double y)
{
  LoomHit hit = {LOOM_HIT_NOTHING, LOOM_NONE, LOOM_NONE, LOOM_NONE};
  for (guint i = 0; i < sheet->n_ends; i++) {
    LoomRect r = sheet->ends[i].box;
    if (x >= r.x && x <= r.x + r.width && y >= r.y && y <= r.y + r.height)
      hit.type = LOOM_HIT_END;
  }
  for (guint p = 0; hit.type == LOOM_HIT_NOTHING && p < sheet->n_parts; p++) {
    LoomRect r = sheet->parts[p].outline;
    if (x > r.x + 1.3 && x < r.x + r.width - 1.3 && y > r.y + 1.3 && y < r.y + r.height - 1.3) {
      hit.type = LOOM_HIT_PART;
      hit.part = p;
    }
  }
  return hit;
}

static void
a_pointer_finds_what_lies_there(void **state G_GNUC_UNUSED)
{
  Dice d = {7};
  g_autoptr(LoomDesign) design = bench_random(3, 60);
  g_autoptr(LoomSheet) sheet = loom_sheet_new(design, 0, NULL);
  guint ends = 0, parts = 0;
  for (guint i = 0; i < 20000; i++) {
    LoomRect r = sheet->parts[dice(&d, sheet->n_parts)].outline;
    double x = r.x - 15 + dice(&d, 100000) / 100000.0 * (r.width + 30);
    double y = r.y - 15 + dice(&d, 100000) / 100000.0 * (r.height + 30);
    LoomHit naive = naive_hit(sheet, x, y), hit = loom_sheet_hit(sheet, x, y, 0);
    if (naive.type == LOOM_HIT_END) {
      assert_int_equal(hit.type, LOOM_HIT_END);
      ends++;
    } else if (naive.type == LOOM_HIT_PART && hit.type == LOOM_HIT_PART) {
      assert_int_equal(hit.part, naive.part);
      parts++;
    } else if (naive.type == LOOM_HIT_PART) {
      assert_true(hit.type == LOOM_HIT_LEAD || hit.type == LOOM_HIT_JOINT);
    }
  }
  assert_true(ends > 20 && parts > 500);
  for (guint i = 0; i < sheet->n_leads; i++) {
    LoomPoint a = sheet->leads[i].points[0], b = sheet->leads[i].points[1];
    LoomHit hit = loom_sheet_hit(sheet, (a.x + b.x) / 2, (a.y + b.y) / 2, 1);
    assert_true(hit.type != LOOM_HIT_NOTHING);
  }
}

static void
a_rubber_band_finds_the_parts_that_it_meets(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomDesign) design = bench_random(5, 80);
  g_autoptr(LoomSheet) sheet = loom_sheet_new(design, 0, NULL);
  Dice d = {11};
  for (guint i = 0; i < 200; i++) {
    LoomRect band = {dice(&d, 1500), dice(&d, 1500), 1 + dice(&d, 500), 1 + dice(&d, 500)};
    g_autoptr(GArray) found = loom_sheet_parts_in(sheet, band);
    guint n = 0;
    for (guint p = 0; p < sheet->n_parts; p++) {
      LoomRect r = sheet->parts[p].outline;
      bool meets = r.x < band.x + band.width && band.x < r.x + r.width &&
                   r.y < band.y + band.height && band.y < r.y + r.height;
      if (meets)
        assert_int_equal(g_array_index(found, guint, n++), p);
    }
    assert_int_equal(found->len, n);
  }
}

/* Parts heaped on one place: there is no way around, and there is still an answer. */
static void
a_heap_is_laid_somehow(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomDesign) design = bench_random(9, 24);
  LoomEdit *edit = loom_edit_new(design, "Heap");
  for (guint i = 0; i < loom_design_n_parts(design); i++) {
    LoomPart *part = loom_part_copy(loom_design_part(design, i));
    part->x_mm = part->y_mm = 0;
    loom_edit_replace_part(edit, i, part);
  }
  loom_design_apply(design, edit);
  g_autoptr(LoomSheet) sheet = loom_sheet_new(design, 0, NULL);
  for (guint i = 0; i < sheet->n_leads; i++)
    assert_true(sheet->leads[i].n_points >= 2);
}

/* Rings of leads, a lead plugged into itself, an end into itself: nothing hangs, nothing is lost.
 */
static void
rings_of_leads_are_drawn(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomDesign) design = robots_parse("add extension-30-300 W1\nadd extension-30-300 W2\n"
                                              "add extension-30-300 W3\nadd y-30 W4\n"
                                              "plug W1:b W2:a --anyway\nplug W2:b W1:a --anyway\n"
                                              "plug W3:b W3:a --anyway\nplug W4:b W4:a --anyway\n",
                                              "rings");
  g_autoptr(LoomSheet) sheet = loom_sheet_new(design, 0, NULL);
  assert_int_equal(sheet->n_joints, 4);
  for (guint i = 0; i < 4; i++)
    assert_true(sheet->joints[i].dx != 0 || sheet->joints[i].dy != 0);
}

/* A chain has its joints on the line, in order, and a tag for each lead. */
static void
a_chain_is_one_line(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomDesign) design = robots_parse(
      "add pack-nimh-12v-3ah G1 --at 0,0\nadd extension-30-300 W1\nadd extension-30-300 W2\n"
      "add controller-rover K1 --at 300,0\nplug G1:out W1:a\nplug W1:b W2:a\nplug W2:b K1:power\n",
      "chain");
  g_autoptr(LoomSheet) sheet = loom_sheet_new(design, 0, NULL);
  assert_int_equal(sheet->n_leads, 3); /* pigtail, W1, W2 */
  assert_int_equal(sheet->crossings, 0);
  double x = 0;
  for (guint i = 0; i < 3; i++) {
    assert_false(sheet->joints[i].apart);
    assert_int_equal(sheet->joints[i].dx, 1);
    assert_double_equal(sheet->joints[i].at.y, 15, 1e-9);
    assert_true(sheet->joints[i].at.x > x + 15);
    x = sheet->joints[i].at.x;
  }
  for (guint i = 1; i < 3; i++)
    assert_double_equal(sheet->leads[i].tag.y, 15, 1e-9);
}

/* Parts so close that joints and tags have no room: the line makes itself longer. */
static void
a_short_line_takes_a_detour(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomDesign) design = robots_parse(
      "add pack-nimh-12v-3ah G1 --at 0,0\nadd extension-30-300 W1\nadd extension-30-300 W2\n"
      "add controller-rover K1 --at 70,0\nplug G1:out W1:a\nplug W1:b W2:a\nplug W2:b K1:power\n",
      "short chain");
  g_autoptr(LoomSheet) sheet = loom_sheet_new(design, 0, NULL);
  double length = 0;
  for (guint i = 0; i < 3; i++)
    for (guint k = i + 1; k < 3; k++)
      assert_true(hypot(sheet->joints[i].at.x - sheet->joints[k].at.x,
                        sheet->joints[i].at.y - sheet->joints[k].at.y) > 10);
  length = bench_length_mm(sheet);
  assert_true(length > 30);
  g_autofree char *pierced = bench_pierced(sheet);
  assert_null(pierced);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(random_benches_are_laid_around_parts),
      cmocka_unit_test(ordinary_robots_are_laid_around_parts),
      cmocka_unit_test(joints_bring_faces_together),
      cmocka_unit_test(moving_the_paper_changes_nothing),
      cmocka_unit_test(mirroring_keeps_the_quality),
      cmocka_unit_test(old_sheets_are_reused),
      cmocka_unit_test(a_pointer_finds_what_lies_there),
      cmocka_unit_test(a_rubber_band_finds_the_parts_that_it_meets),
      cmocka_unit_test(a_heap_is_laid_somehow),
      cmocka_unit_test(rings_of_leads_are_drawn),
      cmocka_unit_test(a_chain_is_one_line),
      cmocka_unit_test(a_short_line_takes_a_detour),
  };
  return cmocka_run_group_tests_name("lay", tests, NULL, NULL);
}
