/* What is said of two ends, and what choosing an answer does to the design. */
#include "planning/linkup.h"

#include "design/file.h"
#include "electric/circuit.h"
#include "fixture.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#define PAIR(id, family, gender, plus, minus)                                                      \
  "<end id=\"" id "\" family=\"" family "\" gender=\"" gender "\" side=\"left\">"                  \
  "<contact way=\"1\" name=\"+\" role=\"" plus "\"/>"                                              \
  "<contact way=\"2\" name=\"-\" role=\"" minus "\"/></end>"
#define WIRES "<wire a=\"a:+\" b=\"b:+\" mm2=\"1.5\"/><wire a=\"a:-\" b=\"b:-\" mm2=\"1.5\"/>"
#define BOX(id, letter, group)                                                                     \
  "<kind id=\"" id "\" name=\"" id "\" letter=\"" letter "\" group=\"" group                       \
  "\" width_mm=\"30\" height_mm=\"20\" source=\"typical\">"
#define LEAD(id, name)                                                                             \
  "<kind id=\"" id "\" name=\"" name                                                               \
  "\" letter=\"W\" group=\"lead\" lead=\"yes\" length_mm=\"500\" price=\"4\" source=\"typical\">"

static const char *const entries = BOX("pack", "G", "supply") PAIR(
    "out", "round", "sockets", "plus",
    "minus") "<source a=\"out:+\" b=\"out:-\" emf_V=\"12\"/></kind>" BOX("hub", "K", "controller")
    PAIR("power", "blade", "pins", "plus",
         "minus") "<power a=\"power:+\" b=\"power:-\" power_W=\"3\"/></kind>" BOX("lamp", "P",
                                                                                  "lamp")
        PAIR("in", "round", "sockets", "plus",
             "minus") "<resistor a=\"in:+\" b=\"in:-\" ohm=\"10\"/></kind>" BOX("coil", "P", "lamp")
            PAIR("in", "moulded", "pins", "plus",
                 "minus") "<resistor a=\"in:+\" b=\"in:-\" "
                          "ohm=\"10\"/></kind>" BOX(
                              "block", "X",
                              "distribution") "<end id=\"one\" "
                                              "family=\"screw\" "
                                              "gender="
                                              "\"terminal\" "
                                              "side=\"left\">"
                                              "<contact way=\"1\" "
                                              "name=\"1\" "
                                              "role=\"pass\"/></"
                                              "end></kind>" LEAD("extension", "Extension")
                                                  PAIR("a", "round", "pins", "pass", "pass")
                                                      PAIR("b", "round",
                                                           "socket"
                                                           "s",
                                                           "pass", "pass") WIRES
    "</kind>" LEAD("adaptor", "Adaptor") PAIR("a", "round", "pins", "pass", "pass")
        PAIR("b", "blade", "sockets", "pass", "pass") WIRES "</kind>" LEAD("double", "Double")
            PAIR("a", "round", "pins", "pass", "pass") PAIR("b", "round", "pins", "pass", "pass")
                WIRES
    "</kind>" LEAD("thick", "Thick wire") "<end id=\"a\" family=\"ferrule\" gender=\"terminal\" "
                                          "side=\"left\" wire_mm2=\"6\">"
                                          "<contact way=\"1\" name=\"1\" role=\"pass\"/></end>"
                                          "<end id=\"b\" family=\"ferrule\" gender=\"terminal\" "
                                          "side=\"right\" wire_mm2=\"6\">"
                                          "<contact way=\"1\" name=\"1\" role=\"pass\"/></end>"
                                          "<wire a=\"a:1\" b=\"b:1\" mm2=\"6\"/></kind>";

static LoomCatalogue *
shelf(void)
{
  g_autofree char *round = fixture_family("round", 2), *blade = fixture_family("blade", 2);
  g_autofree char *all = g_strconcat(
      round, blade,
      "<family id=\"moulded\" name=\"moulded plug\" ways=\"2\" shape=\"coax\" rated_A=\"5\" "
      "source=\"typical\"/>"
      "<family id=\"ferrule\" name=\"ferrule\" ways=\"1\" shape=\"conductor\" rated_A=\"20\" "
      "source=\"typical\"/>"
      "<family id=\"screw\" name=\"screw terminal\" ways=\"1\" shape=\"screw\" rated_A=\"20\" "
      "wire_min_mm2=\"0.5\" wire_max_mm2=\"2.5\" accepts=\"ferrule\" source=\"typical\"/>",
      entries, NULL);
  return fixture_catalogue(all);
}

typedef struct {
  LoomCatalogue *catalogue;
  LoomDesign *design;
  LoomPieces *pieces;
} Bench;

static int
set_up(void **state)
{
  Bench *bench = g_new0(Bench, 1);
  bench->catalogue = shelf();
  bench->design = loom_design_new("bench");
  bench->pieces = loom_pieces_new(bench->catalogue, NULL);
  *state = bench;
  return 0;
}

static int
tear_down(void **state)
{
  Bench *bench = *state;
  loom_pieces_free(bench->pieces);
  loom_design_free(bench->design);
  loom_catalogue_unref(bench->catalogue);
  g_free(bench);
  return 0;
}

static LoomLinkup *
ask(const Bench *bench, const char *a, const char *b, const LoomStock *stock, double current_A)
{
  LoomLinkupQuestion q = {.current_A = current_A};
  fixture_find(bench->design, a, &q.part_a, &q.end_a);
  fixture_find(bench->design, b, &q.part_b, &q.end_b);
  return loom_linkup_new(bench->pieces, bench->design, stock, &q);
}

static char *
why(const Bench *bench, const char *a, const char *b)
{
  guint part_a, end_a, part_b, end_b;
  fixture_find(bench->design, a, &part_a, &end_a);
  fixture_find(bench->design, b, &part_b, &end_b);
  return loom_linkup_why(bench->design, 0, part_a, end_a, part_b, end_b);
}

/* Index of the first answer of that type; fails where there is none. */
static guint
answer_of(const LoomLinkup *linkup, LoomAnswer type)
{
  for (guint i = 0; i < linkup->n_answers; i++)
    if (linkup->answers[i].type == type)
      return i;
  fail_msg("no answer of type %d", (int)type);
  return 0;
}

static void
place(const Bench *bench, const LoomLinkup *linkup, guint index)
{
  g_autoptr(GError) error = NULL;
  LoomEdit *edit = loom_edit_new(bench->design, "link up");
  if (!loom_linkup_place(edit, linkup, index, NULL, NULL, &error))
    fail_msg("%s", error->message);
  loom_design_apply(bench->design, edit);
}

/* Every joint mates, and plus and minus of the two ends meet their like and not each other. */
static void
assert_joined(const LoomDesign *design, const char *a, const char *b)
{
  guint part_a, end_a, part_b, end_b;
  fixture_find(design, a, &part_a, &end_a);
  fixture_find(design, b, &part_b, &end_b);
  g_autoptr(LoomWiring) w = loom_wiring_new(design, 0);
  for (guint i = 0; i < w->n_joints; i++)
    assert_int_equal(w->joints[i].mate, LOOM_MATE_YES);
  g_autoptr(LoomCircuits) c = loom_circuits_new(w, NULL, 0);
  guint plus_a = c->circuit[loom_wiring_node(w, part_a, end_a, 0)];
  guint minus_a = c->circuit[loom_wiring_node(w, part_a, end_a, 1)];
  assert_int_equal(plus_a, c->circuit[loom_wiring_node(w, part_b, end_b, 0)]);
  assert_int_equal(minus_a, c->circuit[loom_wiring_node(w, part_b, end_b, 1)]);
  assert_int_not_equal(plus_a, minus_a);
}

static void
says_why_in_one_sentence(void **state)
{
  const Bench *bench = *state;
  fixture_add(bench->design, bench->catalogue, "pack");
  fixture_add(bench->design, bench->catalogue, "lamp");
  fixture_add(bench->design, bench->catalogue, "hub");
  fixture_add(bench->design, bench->catalogue, "extension");
  fixture_add(bench->design, bench->catalogue, "block");
  fixture_add(bench->design, bench->catalogue, "thick");
  g_autofree char *gender = why(bench, "G1:out", "P1:in");
  assert_string_equal(gender, "G1:out and P1:in do not mate. Both ends have sockets: one of "
                              "the two must have pins.");
  g_autofree char *family = why(bench, "G1:out", "K1:power");
  assert_string_equal(family, "G1:out and K1:power do not mate. They are different "
                              "connectors: family round and family blade.");
  g_autofree char *thick = why(bench, "X1:one", "W2:a");
  assert_non_null(strstr(thick, "X1:one and W2:a do not mate. The wire of 6 mm²"));
  g_autofree char *self = why(bench, "G1:out", "G1:out");
  assert_non_null(strstr(self, "G1:out and G1:out do not mate. "));
  g_autofree char *fine = why(bench, "G1:out", "W1:a");
  assert_null(fine);
  fixture_plug(bench->design, "G1:out", "W1:a");
  g_autofree char *taken = why(bench, "W1:a", "P1:in");
  assert_string_equal(taken, "W1:a is taken: G1:out is plugged there.");
}

static void
plugs_what_mates(void **state)
{
  const Bench *bench = *state;
  fixture_add(bench->design, bench->catalogue, "pack");
  fixture_add(bench->design, bench->catalogue, "extension");
  g_autoptr(LoomLinkup) linkup = ask(bench, "G1:out", "W1:a", NULL, NAN);
  assert_null(linkup->why);
  assert_int_equal(linkup->n_answers, 1);
  assert_int_equal(linkup->answers[0].type, LOOM_ANSWER_PLUG);
  place(bench, linkup, 0);
  assert_int_equal(loom_design_n_joints(bench->design), 1);
}

static void
places_and_plugs_in_one_step(void **state)
{
  const Bench *bench = *state;
  fixture_add(bench->design, bench->catalogue, "pack");
  fixture_add(bench->design, bench->catalogue, "hub");
  g_autofree char *before = loom_design_to_text(bench->design);
  g_autoptr(LoomStock) stock = loom_stock_new();
  loom_stock_set(stock, "adaptor", "box", LOOM_CONDITION_GOOD, 1, NAN);
  g_autoptr(LoomLinkup) linkup = ask(bench, "G1:out", "K1:power", stock, 8);
  const LoomLinkupAnswer *best = &linkup->answers[0];
  assert_int_equal(best->type, LOOM_ANSWER_CHAIN);
  assert_string_equal(best->sentence, "From G1:out to K1:power: Adaptor (in stock, end a first).");
  assert_int_equal(best->live_pins, 0);
  assert_true(best->enough && best->rating_A == 10);
  assert_null(best->caution);
  place(bench, linkup, 0);
  assert_int_equal(loom_design_n_joints(bench->design), 2);
  assert_joined(bench->design, "G1:out", "K1:power");
  assert_true(loom_design_undo(bench->design));
  g_autofree char *after = loom_design_to_text(bench->design);
  assert_string_equal(before, after);
}

/* 13 A is more than the contacts stand (10 A); the far end has sockets, so live pins cannot be kept
 * away from it (IEC 60309-1 principle). */
static void
warns_of_weakness_and_live_pins(void **state)
{
  const Bench *bench = *state;
  fixture_add(bench->design, bench->catalogue, "pack");
  fixture_add(bench->design, bench->catalogue, "lamp");
  g_autoptr(LoomLinkup) linkup = ask(bench, "G1:out", "P1:in", NULL, 13);
  const LoomLinkupAnswer *best = &linkup->answers[0];
  assert_string_equal(best->pieces[0].kind->id, "double");
  assert_int_equal(best->live_pins, 1);
  assert_false(best->enough);
  assert_string_equal(best->caution, "Live pins at 1 of its joints when open: unplug at the pack "
                                     "first, and plug there last. Too weak: it carries 10 A, and "
                                     "13 A are to flow. Take it only for want of a stronger one.");
}

/* 3 W at 12 V are 0.25 A (P = U I); the wires of the adaptor take less than a hundredth of it. */
static void
rates_for_the_current_that_flows(void **state)
{
  const Bench *bench = *state;
  fixture_add(bench->design, bench->catalogue, "pack");
  fixture_add(bench->design, bench->catalogue, "hub");
  g_autofree char *before = loom_design_to_text(bench->design);
  LoomLinkupQuestion q = {.current_A = NAN};
  fixture_find(bench->design, "G1:out", &q.part_a, &q.end_a);
  fixture_find(bench->design, "K1:power", &q.part_b, &q.end_b);
  g_autoptr(LoomLinkup) linkup = loom_linkup_solved_new(bench->pieces, bench->design, NULL, &q);
  assert_true(linkup->n_answers > 0);
  for (guint i = 0; i < linkup->n_answers; i++)
    assert_true(fabs(linkup->answers[i].current_A - 0.25) < 0.0025);
  g_autofree char *after = loom_design_to_text(bench->design);
  assert_string_equal(after, before);
}

static void
turns_a_lead_round(void **state)
{
  const Bench *bench = *state;
  fixture_add(bench->design, bench->catalogue, "pack");
  fixture_add(bench->design, bench->catalogue, "extension");
  g_autoptr(LoomLinkup) linkup = ask(bench, "G1:out", "W1:b", NULL, NAN);
  const LoomLinkupAnswer *first = &linkup->answers[0];
  assert_int_equal(first->type, LOOM_ANSWER_TURN);
  assert_string_equal(first->sentence, "Turn W1 round: its end a fits G1:out.");
  place(bench, linkup, 0);
  const LoomJoint *joint = loom_design_joint(bench->design, 0);
  assert_string_equal(joint->a.end, "a");
  assert_string_equal(joint->b.part, "G1");
}

/* The made lead is a kind like any other: it can be placed, written and read again. */
static void
makes_a_lead_to_measure(void **state)
{
  const Bench *bench = *state;
  fixture_add(bench->design, bench->catalogue, "pack");
  fixture_add(bench->design, bench->catalogue, "hub");
  g_autoptr(LoomLinkup) linkup = ask(bench, "G1:out", "K1:power", NULL, 8);
  guint index = answer_of(linkup, LOOM_ANSWER_MAKE);
  const LoomLinkupAnswer *made = &linkup->answers[index];
  assert_int_equal(made->live_pins, 0);
  assert_true(made->enough);
  assert_string_equal(made->crimps[1],
                      "At the end for G1:out: crimp “family round”, pins (male): red on way 1 (+), "
                      "black on way 2 (-).");
  place(bench, linkup, index);
  assert_joined(bench->design, "G1:out", "K1:power");
  g_autofree char *text = loom_design_to_text(bench->design);
  g_autoptr(GError) error = NULL;
  g_autoptr(LoomDesign) again = loom_design_parse(text, strlen(text), "made", &error);
  assert_null(error);
  assert_joined(again, "G1:out", "K1:power");
}

static void
says_what_would_have_to_exist(void **state)
{
  const Bench *bench = *state;
  fixture_add(bench->design, bench->catalogue, "pack");
  fixture_add(bench->design, bench->catalogue, "coil");
  g_autoptr(LoomLinkup) linkup = ask(bench, "G1:out", "P1:in", NULL, NAN);
  assert_int_equal(linkup->n_answers, 0);
  assert_string_equal(linkup->nothing,
                      "No leads and adaptors of the catalogue join G1:out and P1:in: there would "
                      "have to be a lead with “family round” with pins (male) at one end and "
                      "“moulded plug” with sockets (female) at the other.");
}

static void
a_failure_leaves_the_edit(void **state)
{
  const Bench *bench = *state;
  fixture_add(bench->design, bench->catalogue, "pack");
  fixture_add(bench->design, bench->catalogue, "hub");
  g_autoptr(LoomLinkup) linkup = ask(bench, "G1:out", "K1:power", NULL, NAN);
  fixture_add(bench->design, bench->catalogue, "adaptor");
  fixture_plug(bench->design, "W1:b", "K1:power");
  g_autoptr(LoomEdit) edit = loom_edit_new(bench->design, "link up");
  g_autoptr(GError) error = NULL;
  assert_false(loom_linkup_place(edit, linkup, 0, NULL, NULL, &error));
  assert_non_null(error);
  assert_true(loom_edit_is_empty(edit));
}

static void
rings_tell_what_every_end_can_do(void **state)
{
  const Bench *bench = *state;
  static const char *const kinds[] = {"pack",      "hub",     "lamp",  "coil",
                                      "extension", "adaptor", "block", "extension"};
  for (guint i = 0; i < G_N_ELEMENTS(kinds); i++)
    fixture_add(bench->design, bench->catalogue, kinds[i]);
  fixture_plug(bench->design, "W1:b", "W2:a");
  g_autoptr(LoomRings) rings = loom_linkup_rings(bench->pieces, bench->design, 0, 0, 0);
  assert_int_equal(rings->n_parts, G_N_ELEMENTS(kinds));
  static const struct {
    const char *end;
    LoomRingAnswer answer;
    guint pieces;
  } expected[] = {{"G1:out", LOOM_RING_SELF, 0},  {"K1:power", LOOM_RING_PIECES, 1},
                  {"P1:in", LOOM_RING_PIECES, 1}, {"P2:in", LOOM_RING_CANNOT, 0},
                  {"W1:a", LOOM_RING_MATES, 0},   {"W1:b", LOOM_RING_TAKEN, 0},
                  {"W2:b", LOOM_RING_CANNOT, 0},  {"X1:one", LOOM_RING_CANNOT, 0},
                  {"W3:b", LOOM_RING_TURN, 0}};
  for (guint i = 0; i < G_N_ELEMENTS(expected); i++) {
    guint part, end;
    fixture_find(bench->design, expected[i].end, &part, &end);
    LoomRing ring = rings->ends[rings->part_end[part] + end];
    if (ring.answer != expected[i].answer || ring.pieces != expected[i].pieces)
      fail_msg("%s: %d, %u", expected[i].end, (int)ring.answer, ring.pieces);
  }
  guint part, end;
  fixture_find(bench->design, "W3:b", &part, &end);
  g_autoptr(LoomRings) dragged = loom_linkup_rings(bench->pieces, bench->design, 0, part, end);
  assert_int_equal(dragged->ends[0].answer, LOOM_RING_TURN);
}

/* Any two ends of the real catalogue: whatever is offered can be placed, and every joint mates. */
static void
every_answer_can_be_placed(void **state)
{
  (void)state;
  Bench bench = {.catalogue = fixture_built_in()};
  bench.pieces = loom_pieces_new(bench.catalogue, NULL);
  guint n, answers = 0;
  const LoomKind *const *kinds = loom_catalogue_kinds(bench.catalogue, &n);
  g_autoptr(GRand) rand = g_rand_new_with_seed(58);
  for (guint round = 0; round < 150; round++) {
    const LoomKind *a = kinds[g_rand_int_range(rand, 0, (gint32)n)];
    const LoomKind *b = kinds[g_rand_int_range(rand, 0, (gint32)n)];
    if (a->n_ends == 0 || b->n_ends == 0)
      continue;
    bench.design = loom_design_new("any");
    fixture_add(bench.design, bench.catalogue, a->id);
    fixture_add(bench.design, bench.catalogue, b->id);
    LoomLinkupQuestion q = {.part_b = 1, .current_A = NAN};
    q.end_a = (guint)g_rand_int_range(rand, 0, (gint32)a->n_ends);
    q.end_b = (guint)g_rand_int_range(rand, 0, (gint32)b->n_ends);
    g_autoptr(LoomLinkup) linkup = loom_linkup_new(bench.pieces, bench.design, NULL, &q);
    for (guint i = 0; i < linkup->n_answers; i++, answers++) {
      place(&bench, linkup, i);
      g_autoptr(LoomWiring) w = loom_wiring_new(bench.design, 0);
      assert_int_equal(w->n_joints, linkup->answers[i].n_joints);
      for (guint k = 0; k < w->n_joints; k++)
        assert_int_equal(w->joints[k].mate, LOOM_MATE_YES);
      assert_true(loom_design_undo(bench.design));
    }
    loom_design_free(bench.design);
  }
  print_message("%u answers placed\n", answers);
  assert_true(answers > 30);
  loom_pieces_free(bench.pieces);
  loom_catalogue_unref(bench.catalogue);
}

#define BENCHED(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)

int
main(void)
{
  const struct CMUnitTest tests[] = {
      BENCHED(says_why_in_one_sentence),
      BENCHED(plugs_what_mates),
      BENCHED(places_and_plugs_in_one_step),
      BENCHED(warns_of_weakness_and_live_pins),
      BENCHED(rates_for_the_current_that_flows),
      BENCHED(turns_a_lead_round),
      BENCHED(makes_a_lead_to_measure),
      BENCHED(says_what_would_have_to_exist),
      BENCHED(a_failure_leaves_the_edit),
      BENCHED(rings_tell_what_every_end_can_do),
      cmocka_unit_test(every_answer_can_be_placed),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
