/* How link-ups grow with the catalogue: index, best five answers, rings for a whole design.
 *
 * The catalogue has a family for every eight kinds or so, up to 24, each with extensions in many
 * lengths and sizes, adaptors to a few other families in all genders, crossed ones and Y-leads, so
 * that questions have many answers. The program fails where the best five of a 2,000-kind catalogue
 * take more than 50 ms. */
#include "planning/linkup.h"

#include "planning/fixture.h"

#include <math.h>
#include <stdio.h>

#define MOST_MS 50.0
#define FAMILIES 24

static void
put_end(GString *xml, const char *id, guint family, const char *gender)
{
  g_string_append_printf(xml,
                         "<end id=\"%s\" family=\"f%u\" gender=\"%s\" side=\"left\">"
                         "<contact way=\"1\" name=\"+\" role=\"pass\"/>"
                         "<contact way=\"2\" name=\"-\" role=\"pass\"/></end>",
                         id, family, gender);
}

static void
put_lead(GString *xml, GRand *rand, guint index)
{
  static const char *const genders[] = {"pins", "sockets"};
  guint from = (guint)g_rand_int_range(rand, 0, FAMILIES);
  guint to = index % 3 ? from : (from + (guint)g_rand_int_range(rand, 1, 4)) % FAMILIES;
  bool crossed = index % 17 == 0, y = index % 11 == 0;
  g_string_append_printf(xml,
                         "<kind id=\"lead-%05u\" name=\"Lead %u\" letter=\"W\" group=\"lead\" "
                         "lead=\"yes\" length_mm=\"%d\" price=\"%g\" source=\"typical\">",
                         index, index, g_rand_int_range(rand, 1, 20) * 50,
                         g_rand_int_range(rand, 10, 90) / 10.0);
  put_end(xml, "a", from, genders[index % 5 == 0]);
  put_end(xml, "b", to, genders[index % 7 != 0]);
  if (y)
    put_end(xml, "c", to, "sockets");
  double mm2 = 0.5 * g_rand_int_range(rand, 1, 8);
  g_string_append_printf(xml, "<wire a=\"a:+\" b=\"b:%c\" mm2=\"%g\"/>", crossed ? '-' : '+', mm2);
  g_string_append_printf(xml, "<wire a=\"a:-\" b=\"b:%c\" mm2=\"%g\"/>", crossed ? '+' : '-', mm2);
  if (y)
    g_string_append_printf(xml,
                           "<wire a=\"a:+\" b=\"c:+\" mm2=\"%g\"/>"
                           "<wire a=\"a:-\" b=\"c:-\" mm2=\"%g\"/>",
                           mm2, mm2);
  g_string_append(xml, "</kind>");
}

static void
put_box(GString *xml, const char *id, guint family, const char *gender, const char *element)
{
  g_string_append_printf(
      xml,
      "<kind id=\"%s\" name=\"%s\" letter=\"G\" group=\"supply\" width_mm=\"30\" "
      "height_mm=\"20\" source=\"typical\"><end id=\"out\" family=\"f%u\" "
      "gender=\"%s\" side=\"left\"><contact way=\"1\" name=\"+\" role=\"plus\"/>"
      "<contact way=\"2\" name=\"-\" role=\"minus\"/></end>%s</kind>",
      id, id, family, gender, element);
}

static LoomCatalogue *
catalogue_of(guint kinds)
{
  g_autoptr(GRand) rand = g_rand_new_with_seed(kinds);
  g_autoptr(GString) xml = g_string_new(NULL);
  for (guint i = 0; i < FAMILIES; i++) {
    g_autofree char *id = g_strdup_printf("f%u", i), *family = fixture_family(id, 2);
    g_string_append(xml, family);
  }
  put_box(xml, "source", 0, "sockets", "<source a=\"out:+\" b=\"out:-\" emf_V=\"12\"/>");
  for (guint i = 0; i < FAMILIES; i++) {
    g_autofree char *id = g_strdup_printf("load-%u", i);
    put_box(xml, id, i, i % 2 ? "pins" : "sockets",
            "<resistor a=\"out:+\" b=\"out:-\" ohm=\"10\"/>");
  }
  for (guint i = 0; i < kinds; i++)
    put_lead(xml, rand, i);
  return fixture_catalogue(xml->str);
}

static double
since_ms(gint64 start)
{
  return (double)(g_get_monotonic_time() - start) / 1000;
}

/* Slowest question of the source to each load, and whether it had five answers. */
static double
slowest_question(const LoomPieces *pieces, const LoomDesign *design, const LoomStock *stock,
                 guint *answers)
{
  double slowest = 0;
  *answers = 0;
  for (guint load = 0; load < FAMILIES; load++) {
    gint64 start = g_get_monotonic_time();
    LoomLinkupQuestion q = {.part_b = load + 1, .current_A = 5};
    g_autoptr(LoomLinkup) linkup = loom_linkup_new(pieces, design, stock, &q);
    slowest = MAX(slowest, since_ms(start));
    *answers += linkup->n_answers;
  }
  return slowest;
}

static double
measure(guint kinds)
{
  g_autoptr(LoomCatalogue) catalogue = catalogue_of(kinds);
  g_autoptr(LoomDesign) design = loom_design_new("bench");
  fixture_add(design, catalogue, "source");
  for (guint i = 0; i < FAMILIES; i++) {
    g_autofree char *id = g_strdup_printf("load-%u", i);
    fixture_add(design, catalogue, id);
  }
  g_autoptr(LoomStock) stock = loom_stock_new();
  for (guint i = 0; i < kinds; i += 3) {
    g_autofree char *id = g_strdup_printf("lead-%05u", i);
    loom_stock_set(stock, id, "", LOOM_CONDITION_GOOD, 1 + i % 2, NAN);
  }
  gint64 start = g_get_monotonic_time();
  g_autoptr(LoomPieces) pieces = loom_pieces_new(catalogue, NULL);
  double index_ms = since_ms(start);
  guint answers;
  double question_ms = slowest_question(pieces, design, stock, &answers);
  start = g_get_monotonic_time();
  g_autoptr(LoomRings) rings = loom_linkup_rings(pieces, design, 0, 0, 0);
  printf(
      "%6u kinds  index %7.2f ms  best five, slowest of %u %7.2f ms (%u answers)  rings %6.2f ms\n",
      kinds, index_ms, FAMILIES, question_ms, answers, since_ms(start));
  return question_ms;
}

int
main(void)
{
  double at_2000 = 0;
  for (guint kinds = 125; kinds <= 8000; kinds *= 2) {
    double ms = measure(kinds);
    if (kinds == 2000)
      at_2000 = ms;
  }
  return at_2000 <= MOST_MS ? 0 : 1;
}
