/* Resistance between two contacts: textbook networks, and what stands in the way of a measurement.
 */
#include "planning/ohms-private.h"

#include "fixture.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

/* A part with single contacts c0 ... and the elements given; its wiring. */
static LoomWiring *
part_of(guint contacts, const char *elements)
{
  g_autoptr(GString) xml = g_string_new(NULL);
  g_autofree char *family = fixture_family("f", 1);
  g_string_append_printf(xml,
                         "%s<kind id=\"net\" name=\"net\" letter=\"X\" group=\"sensor\" "
                         "width_mm=\"30\" height_mm=\"20\" switch=\"off\" source=\"typical\">",
                         family);
  for (guint i = 0; i < contacts; i++)
    g_string_append_printf(xml,
                           "<end id=\"c%u\" family=\"f\" gender=\"pins\" side=\"left\">"
                           "<contact way=\"1\" name=\"1\" role=\"pass\"/></end>",
                           i);
  g_string_append_printf(xml, "%s</kind>", elements);
  g_autoptr(LoomCatalogue) catalogue = fixture_catalogue(xml->str);
  g_autoptr(LoomDesign) design = loom_design_new("net");
  fixture_add(design, catalogue, "net");
  return loom_wiring_new(design, 0);
}

static void
element(GString *xml, const char *name, guint a, guint b, const char *figures)
{
  g_string_append_printf(xml, "<%s a=\"c%u:1\" b=\"c%u:1\" %s/>", name, a, b, figures);
}

static void
assert_ohms(const LoomOhms *ohms, guint a, guint b, double expected)
{
  double least, most;
  assert_true(loom_ohms_between(ohms, a, b, &least, &most));
  if (fabs(most - expected) > 1e-6 * expected || fabs(least - expected) > 1e-6 * expected)
    fail_msg("%u to %u: %g to %g, expected %g", a, b, least, most, expected);
}

/* Twelve equal resistors along the edges of a cube: 7/12 between neighbours, 3/4 across a face, 5/6
 * across the cube (a problem of many textbooks on circuits, from memory). */
static void
the_cube_of_the_textbooks(void **state)
{
  (void)state;
  g_autoptr(GString) xml = g_string_new(NULL);
  for (guint corner = 0; corner < 8; corner++)
    for (guint axis = 1; axis < 8; axis <<= 1)
      if (!(corner & axis))
        element(xml, "resistor", corner, corner | axis, "ohm=\"12\"");
  g_autoptr(LoomWiring) w = part_of(8, xml->str);
  g_autoptr(LoomOhms) ohms = loom_ohms_new(w, NULL, 0, NULL, NULL);
  assert_ohms(ohms, 0, 1, 7);
  assert_ohms(ohms, 0, 3, 9);
  assert_ohms(ohms, 0, 7, 10);
  assert_ohms(ohms, 5, 2, 10);
}

/* A balanced bridge (Wheatstone) carries nothing in its middle: it may be left out from the
 * outside. */
static void
the_bridge(void **state)
{
  (void)state;
  static const char *const balanced[] = {"ohm=\"10\"", "ohm=\"20\"", "ohm=\"30\"", "ohm=\"60\""};
  g_autoptr(GString) xml = g_string_new(NULL);
  element(xml, "resistor", 0, 1, balanced[0]);
  element(xml, "resistor", 1, 3, balanced[1]);
  element(xml, "resistor", 0, 2, balanced[2]);
  element(xml, "resistor", 2, 3, balanced[3]);
  element(xml, "resistor", 1, 2, "ohm=\"7\"");
  g_autoptr(LoomWiring) w = part_of(4, xml->str);
  g_autoptr(LoomOhms) ohms = loom_ohms_new(w, NULL, 0, NULL, NULL);
  assert_ohms(ohms, 0, 3, 30.0 * 90 / 120);
  assert_ohms(ohms, 1, 2, 1 / (1.0 / 7 + 1.0 / 40 + 1.0 / 80));
}

/* Electronics may conduct or not: both bounds are told. */
static void
electronics_leave_two_bounds(void **state)
{
  (void)state;
  g_autoptr(GString) xml = g_string_new(NULL);
  element(xml, "resistor", 0, 1, "ohm=\"100\"");
  element(xml, "resistor", 1, 2, "ohm=\"50\"");
  element(xml, "power", 1, 2, "power_W=\"3\"");
  element(xml, "current", 2, 3, "current_A=\"0.1\"");
  g_autoptr(LoomWiring) w = part_of(4, xml->str);
  g_autoptr(LoomOhms) ohms = loom_ohms_new(w, NULL, 0, NULL, NULL);
  double least, most;
  assert_true(loom_ohms_between(ohms, 0, 2, &least, &most));
  assert_true(fabs(most - 150) < 1e-6 && fabs(least - 100) < 1e-6);
  assert_true(loom_ohms_between(ohms, 0, 3, &least, &most));
  assert_true(isinf(most) && fabs(least - 100) < 1e-6);
  assert_int_equal(loom_ohms_piece(ohms, 0), loom_ohms_piece(ohms, 3));
}

static void
no_ohms_at_a_source(void **state)
{
  (void)state;
  g_autoptr(GString) xml = g_string_new(NULL);
  element(xml, "resistor", 0, 1, "ohm=\"100\"");
  element(xml, "source", 1, 2, "emf_V=\"12\" ohm=\"0.1\"");
  element(xml, "resistor", 3, 4, "ohm=\"5\"");
  g_autoptr(LoomWiring) w = part_of(5, xml->str);
  g_autoptr(LoomOhms) ohms = loom_ohms_new(w, NULL, 0, NULL, NULL);
  double least, most;
  assert_false(loom_ohms_between(ohms, 0, 2, &least, &most));
  assert_false(loom_ohms_between(ohms, 0, 3, &least, &most));
  assert_ohms(ohms, 3, 4, 5);
}

static void
switches_and_changes_count(void **state)
{
  (void)state;
  g_autoptr(GString) xml = g_string_new(NULL);
  element(xml, "switch", 0, 1, "rated_A=\"10\" ohm=\"0.5\"");
  element(xml, "resistor", 1, 2, "ohm=\"10\"");
  element(xml, "resistor", 1, 3, "ohm=\"20\"");
  g_autoptr(LoomWiring) w = part_of(4, xml->str);
  const bool open[] = {true};
  g_autoptr(LoomOhms) on = loom_ohms_new(w, NULL, 0, NULL, NULL);
  g_autoptr(LoomOhms) off = loom_ohms_new(w, NULL, 0, open, NULL);
  assert_ohms(on, 0, 2, 10.5);
  double least, most;
  assert_true(loom_ohms_between(off, 0, 2, &least, &most));
  assert_true(isinf(most) && isinf(least));
  LoomOhmsChange swap = {0, LOOM_NONE, NAN, 2, 3}, other = {0, 1, 3, LOOM_NONE, LOOM_NONE};
  g_autoptr(LoomOhms) swapped = loom_ohms_new(w, NULL, 0, NULL, &swap);
  g_autoptr(LoomOhms) changed = loom_ohms_new(w, NULL, 0, NULL, &other);
  assert_ohms(swapped, 0, 2, 20.5);
  assert_ohms(changed, 0, 2, 3.5);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_cube_of_the_textbooks),    cmocka_unit_test(the_bridge),
      cmocka_unit_test(electronics_leave_two_bounds), cmocka_unit_test(no_ohms_at_a_source),
      cmocka_unit_test(switches_and_changes_count),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
