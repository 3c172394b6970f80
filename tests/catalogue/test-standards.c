/* Wire sizes and colours against the standards that define them. */
#include "catalogue/catalogue.h"

#include <limits.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include "near.h"

/* Diameters as printed in ASTM B258 (and in every handbook table since): solid conductor, inch
 * * 25.4. */
static void
awg_diameters_are_those_of_astm_b258(void **state G_GNUC_UNUSED)
{
  static const struct {
    int awg;
    double diameter_mm, area_mm2;
  } table[] = {
      {-3, 11.684, 107.2},  {0, 8.2515, 53.48},   {4, 5.1894, 21.15},   {8, 3.2636, 8.366},
      {10, 2.5882, 5.261},  {12, 2.0525, 3.309},  {14, 1.6277, 2.081},  {16, 1.2908, 1.309},
      {18, 1.0237, 0.8231}, {20, 0.8118, 0.5176}, {22, 0.6438, 0.3255}, {24, 0.5106, 0.2047},
      {26, 0.4049, 0.1288}, {28, 0.3211, 0.0810}, {30, 0.2546, 0.0509}, {36, 0.1270, 0.01267}};
  for (guint i = 0; i < G_N_ELEMENTS(table); i++) {
    assert_double_equal(loom_awg_diameter_mm(table[i].awg), table[i].diameter_mm,
                        table[i].diameter_mm * 2e-4);
    assert_double_equal(loom_awg_area_mm2(table[i].awg), table[i].area_mm2,
                        table[i].area_mm2 * 1e-3);
    assert_int_equal(loom_awg_nearest(table[i].area_mm2), table[i].awg);
  }
  assert_int_equal(loom_awg_nearest(1000), INT_MIN);
}

static void
sizes_read_as_people_write_them(void **state G_GNUC_UNUSED)
{
  g_autofree char *a = loom_wire_size_text(1.31), *b = loom_wire_size_text(0.75);
  assert_string_equal(a, "1.31 mm² (AWG 16)");
  assert_string_equal(b, "0.75 mm² (AWG 18)");
}

/* Letter codes and names: IEC 60757. */
static void
colours_have_the_letters_of_iec_60757(void **state G_GNUC_UNUSED)
{
  static const char *const table[][2] = {
      {"BK", "black"},     {"BN", "brown"},  {"RD", "red"},
      {"OG", "orange"},    {"YE", "yellow"}, {"GN", "green"},
      {"BU", "blue"},      {"VT", "violet"}, {"GY", "grey"},
      {"WH", "white"},     {"PK", "pink"},   {"GD", "gold"},
      {"TQ", "turquoise"}, {"SR", "silver"}, {"GNYE", "green-and-yellow"}};
  guint n;
  const LoomColour *colours = loom_colours(&n);
  assert_int_equal(n, G_N_ELEMENTS(table));
  for (guint i = 0; i < n; i++) {
    assert_string_equal(colours[i].code, table[i][0]);
    assert_string_equal(colours[i].name, table[i][1]);
  }
  assert_non_null(loom_colour("rd")); /* lower case means the same */
  assert_null(loom_colour("BL"));
  assert_true(loom_colour_valid("RDBU"));
  assert_false(loom_colour_valid("BURD")); /* joined in the order of the table */
  assert_true(loom_colour_valid("GNYE"));
  assert_false(loom_colour_valid(""));
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(awg_diameters_are_those_of_astm_b258),
      cmocka_unit_test(sizes_read_as_people_write_them),
      cmocka_unit_test(colours_have_the_letters_of_iec_60757),
  };
  return cmocka_run_group_tests_name("standards", tests, NULL, NULL);
}
