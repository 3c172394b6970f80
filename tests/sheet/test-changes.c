/* Two revisions on one sheet: everything that differs is marked, nothing else is, and what is gone
 * lies on nothing. The picture is read back as SVG by libxml2; no colour is needed to tell new,
 * gone and changed apart. */
#include "design/edit.h"
#include "sheet/changes.h"
#include "sheet/inks.h"

#include "bench.h"
#include "robots.h"

#include <libxml/parser.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>

#include <cmocka.h>

typedef struct {
  LoomDesign *old, *now;
  LoomCompare *compare;
  LoomMerged *merged;
  LoomSheet *sheet;
} Pair;

/* The robot, and the same after the lines. */
static Pair
pair_new(const char *robot, const char *const *lines)
{
  Pair p = {.old = robots_load(robot), .now = robots_load(robot)};
  for (; *lines; lines++)
    robots_do(p.now, *lines);
  p.compare = loom_compare_new(p.old, p.now, LOOM_COMPARE_DRAWING);
  p.merged = loom_compare_merged(p.compare, p.old, p.now);
  p.sheet = loom_changes_sheet_new(p.merged, 0);
  return p;
}

static void
pair_clear(Pair *p)
{
  loom_sheet_free(p->sheet);
  loom_merged_free(p->merged);
  loom_compare_free(p->compare);
  loom_design_free(p->now);
  loom_design_free(p->old);
}

static char *
draw(const Pair *p, const LoomMerged *merged)
{
  LoomDrawOptions options;
  loom_draw_options_init(&options);
  options.palette = LOOM_PALETTE_PRINT;
  options.merged = merged;
  options.legend = true;
  LoomInk *ink = loom_ink_svg_new(loom_draw_extents(p->sheet, &options), options.palette, "t", "d");
  loom_draw_sheet(ink, p->sheet, &options);
  return loom_ink_svg_free_to_text(ink);
}

/* Ids of all groups, as a set. */
static void
collect(xmlNode *node, GHashTable *ids)
{
  for (; node; node = node->next) {
    xmlChar *id = node->type == XML_ELEMENT_NODE ? xmlGetProp(node, BAD_CAST "id") : NULL;
    if (id && !g_hash_table_add(ids, g_strdup((const char *)id)))
      fail_msg("%s stands twice", (const char *)id);
    xmlFree(id);
    collect(node->children, ids);
  }
}

static GHashTable *
ids_of(const char *svg)
{
  GHashTable *ids = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
  xmlDoc *doc = xmlReadMemory(svg, (int)strlen(svg), NULL, NULL, XML_PARSE_NONET);
  assert_non_null(doc);
  collect(xmlDocGetRootElement(doc), ids);
  xmlFreeDoc(doc);
  return ids;
}

static guint
marks_in(GHashTable *ids)
{
  static const char *const PREFIXES[] = {"new-", "gone-", "changed-"};
  guint n = 0;
  GHashTableIter iter;
  gpointer id;
  g_hash_table_iter_init(&iter, ids);
  while (g_hash_table_iter_next(&iter, &id, NULL))
    for (guint i = 0; i < G_N_ELEMENTS(PREFIXES); i++)
      n += g_str_has_prefix(id, PREFIXES[i]);
  return n;
}

static void
assert_ids(const Pair *p, const char *const *wanted, guint n)
{
  g_autofree char *svg = draw(p, p->merged);
  g_autoptr(GHashTable) ids = ids_of(svg);
  for (guint i = 0; i < n; i++)
    if (!g_hash_table_contains(ids, wanted[i]))
      fail_msg("%s is not drawn", wanted[i]);
  assert_int_equal(marks_in(ids), n);
}

static void
nothing_is_marked_where_nothing_differs(void **state G_GNUC_UNUSED)
{
  const char *const lines[] = {NULL};
  Pair p = pair_new("sandpiper", lines);
  assert_ids(&p, NULL, 0);
  pair_clear(&p);
}

static void
each_change_is_marked_once(void **state G_GNUC_UNUSED)
{
  const char *const lines[] = {"set W3 length_mm=450", "remove B2",
                               "add servo-standard M9 --at 400,300", NULL};
  const char *const wanted[] = {"changed-part-W3", "gone-part-B2", "new-part-M9"};
  Pair p = pair_new("sandpiper", lines);
  assert_ids(&p, wanted, G_N_ELEMENTS(wanted));
  pair_clear(&p);
}

static void
a_joint_between_parts_that_stay_is_marked(void **state G_GNUC_UNUSED)
{
  const char *const pulled[] = {"unplug G1:out", NULL};
  const char *const wanted[] = {"gone-joint-G1-out--F1-in"};
  Pair p = pair_new("sandpiper", pulled);
  assert_ids(&p, wanted, 1);
  pair_clear(&p);
}

/* Without colours: in the SVG of one colour each status still has strokes of its own. */
static void
statuses_differ_without_colour(void **state G_GNUC_UNUSED)
{
  char *drawn[4] = {NULL};
  for (LoomStatus s = LOOM_STATUS_CHANGED; s <= LOOM_STATUS_GONE; s++) {
    const char *const lines[] = {NULL};
    Pair p = pair_new("sandpiper", lines);
    p.merged->parts[loom_design_find_part(p.merged->design, "Q1")] = s;
    g_autofree char *svg = draw(&p, p.merged);
    g_autoptr(GRegex) colour = g_regex_new("#[0-9a-f]{6}|(new|gone|changed)", 0, 0, NULL);
    drawn[s] = g_regex_replace_literal(colour, svg, -1, 0, "", 0, NULL);
    pair_clear(&p);
  }
  assert_string_not_equal(drawn[LOOM_STATUS_NEW], drawn[LOOM_STATUS_GONE]);
  assert_string_not_equal(drawn[LOOM_STATUS_NEW], drawn[LOOM_STATUS_CHANGED]);
  assert_string_not_equal(drawn[LOOM_STATUS_GONE], drawn[LOOM_STATUS_CHANGED]);
  for (guint s = 0; s < G_N_ELEMENTS(drawn); s++)
    g_free(drawn[s]);
}

static bool
meets(LoomRect a, LoomRect b)
{
  return a.x < b.x + b.width && b.x < a.x + a.width && a.y < b.y + b.height && b.y < a.y + a.height;
}

/* A motor in the place of another: both are seen. */
static void
what_is_gone_lies_beside_what_took_its_place(void **state G_GNUC_UNUSED)
{
  Pair p = {.old = robots_load("sandpiper"), .now = robots_load("sandpiper")};
  guint m3 = loom_design_find_part(p.old, "M3");
  const LoomPart *was = loom_design_part(p.old, m3);
  g_autofree char *add = g_strdup_printf("add servo-standard M9 --at %g,%g", was->x_mm, was->y_mm);
  robots_do(p.now, "remove M3");
  robots_do(p.now, add);
  p.compare = loom_compare_new(p.old, p.now, LOOM_COMPARE_DRAWING);
  p.merged = loom_compare_merged(p.compare, p.old, p.now);
  p.sheet = loom_changes_sheet_new(p.merged, 0);
  guint gone = loom_design_find_part(p.sheet->design, "M3");
  assert_int_equal(p.merged->parts[gone], LOOM_STATUS_GONE);
  for (guint i = 0; i < p.sheet->n_parts; i++)
    if (i != gone && meets(p.sheet->parts[i].outline, p.sheet->parts[gone].outline))
      fail_msg("M3 lies on %s", loom_design_part(p.sheet->design, i)->designation);
  pair_clear(&p);
}

/* Every difference about a part or joint leads to a place on some scene's sheet. */
static void
every_place_is_found(void **state G_GNUC_UNUSED)
{
  const char *const lines[] = {"set W3 length_mm=450", "remove B2", "unplug M1:poles", NULL};
  Pair p = pair_new("sandpiper", lines);
  for (guint i = 0; i < p.compare->n_differences; i++) {
    const LoomDifference *d = &p.compare->differences[i];
    guint n = d->n_old_places + d->n_new_places;
    g_autoptr(GArray) places = loom_changes_places(p.sheet, p.merged, d);
    if (places->len != n)
      fail_msg("%s: %u places of %u", d->sentence, places->len, n);
  }
  assert_true(p.compare->n_differences >= 3);
  pair_clear(&p);
}

/* A charger is seen in the scene that plugs it. */
static void
the_scene_that_shows_it_is_found(void **state G_GNUC_UNUSED)
{
  const char *const lines[] = {"set T1 label=Old", NULL};
  Pair p = pair_new("sandpiper", lines);
  guint scene = loom_changes_scene(p.merged, &p.compare->differences[0], 0);
  g_autofree bool *shown = loom_design_scene_parts(p.merged->design, scene);
  assert_true(shown[loom_design_find_part(p.merged->design, "T1")]);
  assert_int_not_equal(scene, 0);
  pair_clear(&p);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(nothing_is_marked_where_nothing_differs),
      cmocka_unit_test(each_change_is_marked_once),
      cmocka_unit_test(a_joint_between_parts_that_stay_is_marked),
      cmocka_unit_test(statuses_differ_without_colour),
      cmocka_unit_test(what_is_gone_lies_beside_what_took_its_place),
      cmocka_unit_test(every_place_is_found),
      cmocka_unit_test(the_scene_that_shows_it_is_found),
  };
  return cmocka_run_group_tests_name("changes", tests, NULL, NULL);
}
