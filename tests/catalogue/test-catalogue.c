/* Reading the catalogue, layering, searching, and mating of ends. */
#include "catalogue/catalogue.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "near.h"

static LoomCatalogue *
small(void)
{
  g_autoptr(GError) error = NULL;
  LoomCatalogue *catalogue = loom_catalogue_new();
  loom_catalogue_layer(catalogue, LOOM_TEST_FILES "/catalogue/small.xml", &error);
  assert_null(error);
  return catalogue;
}

static const LoomEnd *
end_of(const LoomCatalogue *catalogue, const char *kind, const char *end)
{
  const LoomKind *k = loom_catalogue_kind(catalogue, kind);
  assert_non_null(k);
  guint index = loom_kind_find_end(k, end);
  assert_int_not_equal(index, LOOM_NONE);
  return &k->ends[index];
}

static void
a_kind_has_its_nodes_end_by_end(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomCatalogue) catalogue = small();
  const LoomKind *sensor = loom_catalogue_kind(catalogue, "sensor");
  assert_int_equal(sensor->n_nodes, 4);
  assert_int_equal(sensor->ends[0].first_node, 0);
  assert_int_equal(loom_kind_end_of_node(sensor, 2), 0);
  assert_int_equal(loom_kind_end_of_node(sensor, 3), LOOM_NONE);
  assert_string_equal(sensor->inner[0], "inside");
  assert_int_equal(sensor->elements[0].b, 3);
  assert_int_equal(sensor->address, 0x29);
  assert_int_equal(sensor->address_max, 0x2c);
}

static void
figures_that_are_absent_are_nan(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomCatalogue) catalogue = small();
  const LoomKind *pack = loom_catalogue_kind(catalogue, "pack");
  assert_true(isnan(pack->price));
  assert_true(isnan(pack->elements[0].limit_A));
  assert_double_equal(pack->elements[0].emf_full_V, 14, 0);
  assert_double_equal(pack->elements[0].peukert, 1, 0);
  assert_int_equal(pack->chemistry.cells_max, 10);
  assert_false(pack->chemistry.charger);
}

static void
pins_take_sockets_of_their_family_only(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomCatalogue) catalogue = small();
  const LoomEnd *sockets = end_of(catalogue, "pack", "out"),
                *pins = end_of(catalogue, "switch", "in");
  const LoomEnd *header = end_of(catalogue, "sensor", "pins");
  assert_int_equal(loom_mate(sockets, pins), LOOM_MATE_YES);
  assert_int_equal(loom_mate(pins, sockets), LOOM_MATE_YES);
  assert_int_equal(loom_mate(sockets, sockets), LOOM_MATE_BOTH_SOCKETS);
  assert_int_equal(loom_mate(pins, pins), LOOM_MATE_BOTH_PINS);
  assert_int_equal(loom_mate(pins, header), LOOM_MATE_FAMILY);
  g_autofree char *why = loom_mate_why(LOOM_MATE_BOTH_PINS, pins, pins);
  assert_non_null(strstr(why, "pins"));
  assert_null(loom_mate_why(LOOM_MATE_YES, pins, sockets));
}

static void
a_terminal_holds_wires_within_its_range(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomCatalogue) catalogue = small();
  const LoomEnd *screw = end_of(catalogue, "block", "t");
  const LoomEnd *thin = end_of(catalogue, "wire-thin", "a"),
                *thick = end_of(catalogue, "wire-thin", "b");
  const LoomEnd *fits = end_of(catalogue, "wire-thin", "c");
  assert_int_equal(loom_mate(screw, fits), LOOM_MATE_YES);
  assert_int_equal(loom_mate(fits, screw), LOOM_MATE_YES);
  assert_int_equal(loom_mate(screw, thin), LOOM_MATE_WIRE_THIN);
  assert_int_equal(loom_mate(thick, screw), LOOM_MATE_WIRE_THICK);
  assert_int_equal(loom_mate(thin, thick), LOOM_MATE_TERMINALS);
  g_autofree char *why = loom_mate_why(LOOM_MATE_WIRE_THIN, thin, screw);
  assert_non_null(strstr(why, "0.5 mm²"));
}

static void
fits_follow_the_family(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomCatalogue) catalogue = small();
  const LoomEnd *pins = end_of(catalogue, "switch", "in"),
                *header = end_of(catalogue, "sensor", "pins");
  assert_false(loom_fit_possible(pins, pins, LOOM_FIT_TURNED));
  assert_true(loom_fit_possible(header, header, LOOM_FIT_SHIFTED));
  assert_int_equal(loom_fit_meets(header, 0, header, LOOM_FIT_NORMAL), 0);
  assert_int_equal(loom_fit_meets(header, 0, header, LOOM_FIT_TURNED), 2);
  assert_int_equal(loom_fit_meets(header, 1, header, LOOM_FIT_TURNED), 1);
  assert_int_equal(loom_fit_meets(header, 1, header, LOOM_FIT_SHIFTED), 2);
  assert_int_equal(loom_fit_meets(header, 2, header, LOOM_FIT_SHIFTED), LOOM_NONE);
}

static void
search_knows_both_words_of_gender(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomCatalogue) catalogue = small();
  const LoomKind *pack = loom_catalogue_kind(catalogue, "pack");
  const LoomKind *lead = loom_catalogue_kind(catalogue, "lead");
  assert_true(loom_kind_matches(pack, "female"));
  assert_true(loom_kind_matches(pack, "SOCKETS 12"));
  assert_false(loom_kind_matches(pack, "male"));
  assert_true(loom_kind_matches(lead, "cable male"));
  assert_true(loom_kind_matches(lead, ""));
  assert_false(loom_kind_matches(lead, "cable motor"));
}

static void
write_text(const char *path, const char *text)
{
  assert_true(g_file_set_contents(path, text, -1, NULL));
}

static const char HEAD[] = "<catalogue xmlns=\"urn:loombook:catalogue:1\" version=\"1.0\">";

static void
a_layer_replaces_and_adds(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomCatalogue) catalogue = small();
  g_autofree char *folder = g_dir_make_tmp("loom-XXXXXX", NULL);
  g_autofree char *path = g_build_filename(folder, "ours.xml", NULL);
  g_autofree char *text = g_strdup_printf(
      "%s<kind id=\"pack\" name=\"Our pack\" letter=\"G\" group=\"supply\" source=\"ours\"/>"
      "</catalogue>",
      HEAD);
  write_text(path, text);
  g_autoptr(LoomKind) before = loom_kind_ref(loom_catalogue_kind(catalogue, "pack"));
  assert_true(loom_catalogue_layer(catalogue, path, NULL));
  assert_string_equal(loom_catalogue_kind(catalogue, "pack")->name, "Our pack");
  assert_string_equal(before->name, "Pack 12 V");
  guint n;
  loom_catalogue_kinds(catalogue, &n);
  assert_int_equal(n, 7);
  remove(path);
  remove(folder);
}

/* Every wrong file leaves the catalogue as it was and names the line. */
static void
wrong_entries_are_refused(void **state G_GNUC_UNUSED)
{
  static const struct {
    const char *body, *says;
  } cases[] = {
      {"<kind id=\"k\" name=\"k\" letter=\"G\" group=\"supply\" source=\"s\" colour=\"red\"/>",
       "no attribute colour"},
      {"<kind id=\"k\" name=\"k\" letter=\"GG\" group=\"supply\" source=\"s\"/>", "capital letter"},
      {"<kind id=\"k\" name=\"k\" letter=\"G\" group=\"toys\" source=\"s\"/>", "none of"},
      {"<kind id=\"k\" letter=\"G\" group=\"supply\" source=\"s\"/>", "lacks name"},
      {"<kind id=\"k\" name=\"k\" letter=\"G\" group=\"supply\" source=\"s\" price=\"NaN\"/>",
       "not a number"},
      {"<kind id=\"k\" name=\"k\" letter=\"G\" group=\"supply\" source=\"s\" price=\"1e308\"/>",
       "not between"},
      {"<kind id=\"k\" name=\"k\" letter=\"G\" group=\"supply\" source=\"s\" price=\"0x10\"/>",
       "not a number"},
      {"<kind id=\"k\" name=\"k\" letter=\"G\" group=\"supply\" source=\"s\"><end id=\"a\" "
       "family=\"none\" gender=\"pins\" side=\"left\"/></kind>",
       "no connector family none"},
      {"<kind id=\"k\" name=\"k\" letter=\"G\" group=\"supply\" source=\"s\"><end id=\"a\" "
       "family=\"pair\" gender=\"pins\" side=\"left\"><contact way=\"3\" name=\"x\" "
       "role=\"pass\"/></end></kind>",
       "way 3"},
      {"<kind id=\"k\" name=\"k\" letter=\"G\" group=\"supply\" source=\"s\"><resistor a=\"x:1\" "
       "b=\"y\" ohm=\"1\"/></kind>",
       "no contact or node x:1"},
      {"<kind id=\"k\" name=\"k\" letter=\"G\" group=\"supply\" source=\"s\"><node id=\"n\"/><node "
       "id=\"m\"/><resistor a=\"n\" b=\"m\" ohm=\"-1\"/></kind>",
       "not between"},
      {"<kind id=\"k\" name=\"k\" letter=\"G\" group=\"supply\" source=\"s\"><node id=\"n\"/><node "
       "id=\"m\"/><resistor a=\"n\" b=\"m\"/></kind>",
       "lacks ohm"},
      {"<kind id=\"k\" name=\"k\" letter=\"G\" group=\"supply\" source=\"s\"><blob/></kind>",
       "no <blob>"},
      {"<family id=\"f\" name=\"f\" ways=\"2\" shape=\"round\" source=\"s\"/><family id=\"f\" "
       "name=\"f\" ways=\"2\" shape=\"round\" source=\"s\"/>",
       "two families"},
      {"<family id=\"f\" name=\"f\" ways=\"2\" shape=\"round\" source=\"s\" wire_min_mm2=\"2\" "
       "wire_max_mm2=\"1\"/>",
       "below"},
      {"<family id=\"f\" name=\"f\" ways=\"2\" shape=\"round\" source=\"s\" touchable=\"all\"/>",
       "knows only"},
  };
  g_autofree char *folder = g_dir_make_tmp("loom-XXXXXX", NULL);
  g_autofree char *path = g_build_filename(folder, "wrong.xml", NULL);
  for (guint i = 0; i < G_N_ELEMENTS(cases); i++) {
    g_autoptr(LoomCatalogue) catalogue = small();
    g_autoptr(GError) error = NULL;
    g_autofree char *text = g_strdup_printf("%s\n%s\n</catalogue>", HEAD, cases[i].body);
    write_text(path, text);
    assert_false(loom_catalogue_layer(catalogue, path, &error));
    g_autofree char *at = g_strdup_printf("%s:2: ", path);
    if (!strstr(error->message, cases[i].says) || !g_str_has_prefix(error->message, at))
      fail_msg("case %u: %s", i, error->message);
    guint n;
    loom_catalogue_kinds(catalogue, &n);
    assert_int_equal(n, 7);
    loom_catalogue_families(catalogue, &n);
    assert_int_equal(n, 5);
  }
  remove(path);
  remove(folder);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_kind_has_its_nodes_end_by_end),
      cmocka_unit_test(figures_that_are_absent_are_nan),
      cmocka_unit_test(pins_take_sockets_of_their_family_only),
      cmocka_unit_test(a_terminal_holds_wires_within_its_range),
      cmocka_unit_test(fits_follow_the_family),
      cmocka_unit_test(search_knows_both_words_of_gender),
      cmocka_unit_test(a_layer_replaces_and_adds),
      cmocka_unit_test(wrong_entries_are_refused),
  };
  return cmocka_run_group_tests_name("catalogue", tests, NULL, NULL);
}
