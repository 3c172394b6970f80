/* Parts list, port map, cut list, crimp forces: counted by hand from small designs. */
#include "catalogue/wire.h"
#include "handout/crimp.h"
#include "handout/cuts.h"
#include "handout/parts.h"
#include "handout/ports.h"
#include "robots.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "near.h"

static const LoomPartsRow *
row_of(const LoomPartsList *list, const char *designations)
{
  for (guint i = 0; i < list->n_rows; i++)
    if (g_str_equal(list->rows[i].designations, designations))
      return &list->rows[i];
  fail_msg("There is no row of %s.", designations);
  return NULL;
}

/* --- parts list --- */

static void
equal_parts_make_one_row(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomDesign) design = robots_parse("add motor-medium M1\n"
                                              "add extension-30-300 W1\n"
                                              "add motor-medium M2\n"
                                              "add extension-30-300 W2\n"
                                              "add extension-30-300 W3\n"
                                              "set W3 length_mm=450\n"
                                              "add pack-nimh-12v-3ah G1\n",
                                              "equal");
  g_autoptr(LoomPartsList) list = loom_parts_list_new(design, NULL, NULL);
  assert_int_equal(list->n_rows, 4);
  assert_string_equal(list->rows[0].designations, "G1"); /* supply first */
  const LoomPartsRow *motors = row_of(list, "M1, M2");
  assert_int_equal(motors->count, 2);
  assert_true(isnan(motors->length_mm));
  assert_int_equal(motors->have, -1);
  const LoomPartsRow *leads = row_of(list, "W1, W2");
  assert_int_equal(leads->count, 2);
  assert_double_equal(leads->length_mm, 300, 0);
  assert_double_equal(leads->mm2, 1.5, 0);
  assert_double_equal(row_of(list, "W3")->length_mm, 450, 0);
  assert_true(row_of(list, "W1, W2") < row_of(list, "W3")); /* shorter first */
}

static void
what_lies_in_a_holder_is_listed_once(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomDesign) design = robots_parse("add fuse-holder-lead F1\n"
                                              "add fuse-holder-lead F2\n"
                                              "add fuse-holder-lead F3\n"
                                              "add fuse-blade-10 F4\n"
                                              "plug F3:fuse F4:blades\n",
                                              "holder");
  const char *holds = loom_design_part(design, 0)->kind->holds;
  g_autoptr(LoomPartsList) list = loom_parts_list_new(design, robots_catalogue(), NULL);
  assert_int_equal(list->n_rows, 3);
  assert_int_equal(row_of(list, "F1, F2, F3")->count, 3);
  /* F1 and F2 with the fuse of their kind; in F3 another one has been drawn. */
  assert_string_equal(row_of(list, "F1, F2")->kind, holds);
  assert_string_equal(row_of(list, "F4")->kind, "fuse-blade-10");
}

static void
rows_of_one_kind_share_the_stock(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomStock) stock = loom_stock_new();
  loom_stock_set(stock, "extension-30-300", "box", LOOM_CONDITION_GOOD, 3, 2.5);
  loom_stock_set(stock, "extension-30-300", "bin", LOOM_CONDITION_BROKEN, 9, NAN);
  g_autoptr(LoomDesign) design = robots_parse("add extension-30-300 W1\n"
                                              "add extension-30-300 W2\n"
                                              "add extension-30-300 W3\n"
                                              "add extension-30-300 W4\n"
                                              "set W3 length_mm=450\n"
                                              "set W4 length_mm=450\n",
                                              "stock");
  g_autoptr(LoomPartsList) list = loom_parts_list_new(design, NULL, stock);
  const LoomPartsRow *shorter = row_of(list, "W1, W2"), *longer = row_of(list, "W3, W4");
  assert_int_equal(shorter->have, 2);
  assert_int_equal(shorter->missing, 0);
  assert_int_equal(longer->have, 1); /* of three there was one left */
  assert_int_equal(longer->missing, 1);
  assert_double_equal(shorter->price, 5.0, 1e-12);
}

static void
the_list_counts_every_part_once(void **state G_GNUC_UNUSED)
{
  for (const char *const *name = robots_ordinary(); *name; name++) {
    g_autoptr(LoomDesign) design = robots_load(*name);
    g_autoptr(LoomPartsList) list = loom_parts_list_new(design, NULL, NULL);
    g_autoptr(GHashTable) seen = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
    guint sum = 0;
    for (guint i = 0; i < list->n_rows; i++) {
      g_auto(GStrv) names = g_strsplit(list->rows[i].designations, ", ", -1);
      assert_int_equal(g_strv_length(names), list->rows[i].count);
      sum += list->rows[i].count;
      for (char **n = names; *n; n++) {
        assert_true(g_hash_table_add(seen, g_strdup(*n)));
        guint part = loom_design_find_part(design, *n);
        assert_string_equal(loom_design_part(design, part)->kind->id, list->rows[i].kind);
      }
    }
    assert_int_equal(sum, loom_design_n_parts(design));
  }
}

/* --- port map --- */

static const LoomPortRow *
port_of(const LoomPortMap *map, const char *part, const char *type)
{
  for (guint i = 0; i < map->n_rows; i++)
    if (map->rows[i].part && g_str_equal(map->rows[i].part, part) &&
        g_str_equal(map->rows[i].type, type))
      return &map->rows[i];
  return NULL;
}

static void
sandpiper_has_its_ports(void **state G_GNUC_UNUSED)
{
  static const struct {
    const char *part, *type;
    guint channel;
    const char *end, *name;
  } EXPECTED[] = {
      {"M1", "motor", 1, "K1:motor-1", "drive_left"},
      {"M2", "motor", 2, "K1:motor-2", "drive_right"},
      {"M3", "motor", 3, "K1:motor-3", "arm"}, /* through an extension */
      {"M1", "encoder", 1, "K1:encoder-1", "drive_left"},
      {"M2", "encoder", 2, "K1:encoder-2", "drive_right"},
      {"M4", "servo", 1, "K1:servo-1", "lid"},
      {"M5", "servo", 2, "K1:servo-2", "gripper"},
      {"B1", "digital", 2, "K1:digital-1-2",
       "front_bump"}, /* three wires reach the higher channel */
      {"B2", "i2c", 1, "K1:i2c-1", "distance_ahead"},
  };
  g_autoptr(LoomDesign) design = robots_load("sandpiper");
  g_autoptr(LoomPortMap) map = loom_port_map_new(design, 0, false);
  assert_int_equal(map->n_rows, G_N_ELEMENTS(EXPECTED));
  for (guint i = 0; i < G_N_ELEMENTS(EXPECTED); i++) {
    const LoomPortRow *row = port_of(map, EXPECTED[i].part, EXPECTED[i].type);
    assert_non_null(row);
    assert_string_equal(row->controller, "K1");
    assert_int_equal(row->channel, EXPECTED[i].channel);
    assert_string_equal(row->end, EXPECTED[i].end);
    assert_string_equal(row->name, EXPECTED[i].name);
    assert_non_null(row->device_type);
  }
  assert_string_equal(port_of(map, "M2", "motor")->settings, "reversed");
  assert_non_null(strstr(port_of(map, "B2", "i2c")->settings, "0x29"));
}

static void
free_channels_stand_only_where_asked(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomDesign) design = robots_parse("add controller-rover K1\n"
                                              "add motor-medium M1\n"
                                              "plug K1:motor-4 M1:poles\n",
                                              "free");
  g_autoptr(LoomPortMap) taken = loom_port_map_new(design, 0, false);
  g_autoptr(LoomPortMap) all = loom_port_map_new(design, 0, true);
  assert_int_equal(taken->n_rows, 1);
  assert_int_equal(taken->rows[0].channel, 4);
  assert_int_equal(all->n_rows, loom_design_part(design, 0)->kind->n_channels);
  for (guint i = 0; i < all->n_rows; i++)
    if (g_str_equal(all->rows[i].type, "motor"))
      assert_true((all->rows[i].channel == 4) == (all->rows[i].part != NULL));
}

static void
a_port_counts_in_its_own_scene_only(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomDesign) design = robots_parse("add \"scene:bench test\"\n"
                                              "add controller-rover K1\n"
                                              "add motor-medium M1\n"
                                              "plug K1:motor-1 M1:poles --scene driving\n"
                                              "plug K1:motor-2 M1:poles --scene \"bench test\"\n",
                                              "scenes");
  for (guint scene = 0; scene < 2; scene++) {
    g_autoptr(LoomPortMap) map = loom_port_map_new(design, scene, false);
    assert_int_equal(map->n_rows, 1);
    assert_int_equal(map->rows[0].channel, scene + 1);
  }
}

/* --- cut list --- */

static void
wires_are_cut_with_an_allowance(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomDesign) design = robots_parse("add extension-30-300 W1\n"
                                              "add extension-30-300 W2\n"
                                              "add motor-medium M1\n"
                                              "set W2 length_mm=300\n"
                                              "add extension-30-300 W3\n"
                                              "set W3 length_mm=411\n"
                                              "add usb-lead-a-c-500 W4\n",
                                              "cuts");
  g_autoptr(LoomCuts) cuts = loom_cuts_new(design, NULL);
  assert_int_equal(cuts->n_cuts, 2); /* a motor is no lead, a USB lead is bought */
  const LoomCut *two = &cuts->cuts[0], *one = &cuts->cuts[1];
  assert_string_equal(two->designations, "W1, W2");
  assert_int_equal(two->count, 2);
  assert_int_equal(two->n_wires, 2);
  assert_string_equal(two->wires[0].colour, "RD");
  assert_string_equal(two->wires[0].contact_a, "+");
  assert_string_equal(two->wires[0].contact_b, "+");
  assert_double_equal(two->wires[0].length_mm, 300, 0);
  assert_double_equal(two->wires[0].cut_mm, 320, 1e-9); /* 10 mm more at each end */
  assert_double_equal(one->wires[1].cut_mm, 435, 1e-9); /* 431, rounded up to 5 mm */
}

static void
only_what_the_stock_lacks_is_cut(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomStock) stock = loom_stock_new();
  loom_stock_set(stock, "extension-30-300", "box", LOOM_CONDITION_GOOD, 2, NAN);
  g_autoptr(LoomDesign) design = robots_parse("add extension-30-300 W1\n"
                                              "add extension-30-300 W2\n"
                                              "add extension-30-300 W3\n"
                                              "add servo-extension-300 W4\n",
                                              "lacks");
  g_autoptr(LoomCuts) cuts = loom_cuts_new(design, stock);
  assert_int_equal(cuts->n_cuts, 2);
  for (guint i = 0; i < 2; i++)
    assert_int_equal(cuts->cuts[i].count, 1);
}

/* --- crimps, against tests/reference/safety.csv ---
 *
 * UL 486A as printed by two terminal makers. IEC 60352-2: each value from memory; typical, the
 * terminal maker's figure counts. */

static void
crimp_forces_are_those_of_the_tables(void **state G_GNUC_UNUSED)
{
  g_autofree char *bytes = NULL;
  gsize length;
  assert_true(g_file_get_contents(LOOM_TEST_REFERENCE "/safety.csv", &bytes, &length, NULL));
  g_autoptr(LoomCsvTable) table = loom_csv_parse(bytes, length, "safety.csv", NULL);
  guint group = loom_csv_column(table, "group"), size = loom_csv_column(table, "quantity");
  guint value = loom_csv_column(table, "value"), n = 0;
  for (guint i = 1; i < table->n_rows; i++) {
    const char *which = loom_csv_field(table, i, group);
    double number = g_ascii_strtod(loom_csv_field(table, i, size), NULL);
    double pull = g_ascii_strtod(loom_csv_field(table, i, value), NULL);
    if (g_str_equal(which, "crimp_pull_UL486A"))
      assert_double_equal(loom_crimp_pull_ul_N(loom_awg_area_mm2((int)number)), pull, 1e-9);
    else if (g_str_equal(which, "crimp_pull_IEC60352-2"))
      assert_double_equal(loom_crimp_pull_iec_N(number), pull, 1e-9);
    else
      continue;
    n++;
  }
  assert_int_equal(n, 14 + 21);
}

static void
crimp_forces_between_sizes_lie_between(void **state G_GNUC_UNUSED)
{
  assert_double_equal(loom_crimp_pull_iec_N(1.25), 108 + 0.25 / 0.3 * 27,
                      1e-9); /* values from memory */
  double between = loom_crimp_pull_ul_N(1.5);
  assert_true(between > 133.5 && between < 222.5); /* AWG 16 is 1.31 mm², AWG 14 2.08 mm² */
  assert_true(isnan(loom_crimp_pull_iec_N(0.01)));
  assert_true(isnan(loom_crimp_pull_iec_N(16)));
  assert_true(isnan(loom_crimp_pull_ul_N(NAN)));
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(equal_parts_make_one_row),
      cmocka_unit_test(what_lies_in_a_holder_is_listed_once),
      cmocka_unit_test(rows_of_one_kind_share_the_stock),
      cmocka_unit_test(the_list_counts_every_part_once),
      cmocka_unit_test(sandpiper_has_its_ports),
      cmocka_unit_test(free_channels_stand_only_where_asked),
      cmocka_unit_test(a_port_counts_in_its_own_scene_only),
      cmocka_unit_test(wires_are_cut_with_an_allowance),
      cmocka_unit_test(only_what_the_stock_lacks_is_cut),
      cmocka_unit_test(crimp_forces_are_those_of_the_tables),
      cmocka_unit_test(crimp_forces_between_sizes_lie_between),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
