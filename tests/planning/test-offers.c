/* What is offered at a free end of the real catalogue, in which order, and placing it in one act.
 */
#include "planning/offers.h"

#include "design/file.h"
#include "electric/wiring.h"
#include "fixture.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

typedef struct {
  LoomCatalogue *catalogue;
  LoomDesign *design;
} Bench;

static int
set_up(void **state)
{
  Bench *bench = g_new0(Bench, 1);
  bench->catalogue = fixture_built_in();
  bench->design = loom_design_new("bench");
  *state = bench;
  return 0;
}

static int
tear_down(void **state)
{
  Bench *bench = *state;
  loom_design_free(bench->design);
  loom_catalogue_unref(bench->catalogue);
  g_free(bench);
  return 0;
}

static LoomOffers *
ask(const Bench *bench, const char *name, LoomOfferWhat what)
{
  guint part, end;
  fixture_find(bench->design, name, &part, &end);
  return loom_offers_new(bench->catalogue, bench->design, 0, part, end, what);
}

static const LoomOffer *
find_group(const LoomOffers *offers, LoomGroup group)
{
  for (guint i = 0; i < offers->n_offers; i++)
    if (offers->offers[i].kind->group == group)
      return &offers->offers[i];
  return NULL;
}

/* At a pack: the fuse comes first (as close to the pack as can be), another pack never suits. */
static void
offers_the_fuse_first(void **state)
{
  const Bench *bench = *state;
  fixture_add(bench->design, bench->catalogue, "pack-nimh-12v-3ah");
  g_autoptr(LoomOffers) offers = ask(bench, "G1:out", LOOM_OFFER_ALL);
  assert_true(offers->n_offers > 10);
  assert_int_equal(offers->offers[0].kind->group, LOOM_GROUP_PROTECTION);
  assert_int_equal(offers->offers[0].suits, LOOM_SUITS_WELL);
  const LoomOffer *charger = find_group(offers, LOOM_GROUP_CHARGING);
  assert_non_null(charger);
  assert_int_equal(charger->suits, LOOM_SUITS_WELL);
  const LoomOffer *pack = find_group(offers, LOOM_GROUP_SUPPLY);
  assert_true(!pack || pack->suits == LOOM_SUITS_SUPPLY);
  for (guint i = 1; i < offers->n_offers; i++)
    if (offers->offers[i - 1].suits == offers->offers[i].suits)
      assert_true(offers->offers[i - 1].kind->rank <= offers->offers[i].kind->rank);
}

static void
offers_leads_in_the_open(void **state)
{
  const Bench *bench = *state;
  fixture_add(bench->design, bench->catalogue, "pack-nimh-12v-3ah");
  g_autoptr(LoomOffers) offers = ask(bench, "G1:out", LOOM_OFFER_LEADS);
  assert_true(offers->n_offers > 3);
  for (guint i = 0; i < offers->n_offers; i++)
    assert_true(offers->offers[i].kind->lead || offers->offers[i].kind->group == LOOM_GROUP_LEAD);
}

/* The servo rail's header takes servos before anything that merely has the plug. */
static void
offers_what_belongs_on_a_port(void **state)
{
  const Bench *bench = *state;
  fixture_add(bench->design, bench->catalogue, "controller-rover");
  g_autoptr(LoomOffers) servo = ask(bench, "K1:servo-1", LOOM_OFFER_ALL);
  assert_int_equal(servo->offers[0].kind->group, LOOM_GROUP_SERVO);
  g_autoptr(LoomOffers) motor = ask(bench, "K1:motor-1", LOOM_OFFER_ALL);
  assert_non_null(find_group(motor, LOOM_GROUP_MOTOR));
  assert_int_equal(motor->offers[0].suits, LOOM_SUITS_WELL);
}

/* Each offer mates, and no plus touches a minus: by the contacts themselves. */
static void
assert_harmless(const LoomKind *kind, guint end, const LoomOffer *offer)
{
  const LoomEnd *a = &kind->ends[end];
  LoomEnd b = offer->kind->ends[offer->end];
  assert_int_equal(loom_mate(a, &b), LOOM_MATE_YES);
  for (guint c = 0; c < a->n_contacts; c++) {
    guint met = loom_fit_meets(a, c, &b, LOOM_FIT_NORMAL);
    if (met == LOOM_NONE)
      continue;
    LoomRole x = a->contacts[c].role, y = b.contacts[met].role;
    assert_false(x == LOOM_ROLE_PLUS && y == LOOM_ROLE_MINUS);
    assert_false(x == LOOM_ROLE_MINUS && y == LOOM_ROLE_PLUS);
    assert_false(x == LOOM_ROLE_SIGNAL && (y == LOOM_ROLE_PLUS || y == LOOM_ROLE_MINUS));
  }
}

static void
every_offer_is_harmless(void **state)
{
  const Bench *bench = *state;
  guint n, seen = 0;
  const LoomKind *const *kinds = loom_catalogue_kinds(bench->catalogue, &n);
  for (guint k = 0; k < n; k += 3) {
    g_autoptr(LoomDesign) design = loom_design_new("one");
    fixture_add(design, bench->catalogue, kinds[k]->id);
    for (guint e = 0; e < kinds[k]->n_ends; e += 2) {
      g_autoptr(LoomOffers) offers =
          loom_offers_new(bench->catalogue, design, 0, 0, e, LOOM_OFFER_ALL);
      for (guint i = 0; i < offers->n_offers; i++, seen++)
        assert_harmless(kinds[k], e, &offers->offers[i]);
    }
  }
  assert_true(seen > 500);
}

/* A lead plugged to the pack carries plus and minus on: its free end is asked for, not its own. */
static void
follows_the_lead(void **state)
{
  const Bench *bench = *state;
  fixture_add(bench->design, bench->catalogue, "pack-nimh-12v-3ah");
  fixture_add(bench->design, bench->catalogue, "extension-30-300");
  fixture_plug(bench->design, "G1:out", "W1:a");
  g_autoptr(LoomOffers) offers = ask(bench, "W1:b", LOOM_OFFER_ALL);
  const LoomOffer *controller = find_group(offers, LOOM_GROUP_CONTROLLER);
  assert_non_null(controller);
  assert_int_equal(controller->suits, LOOM_SUITS_WELL);
}

/* The side that the offered end ends up on, after flip and turn, must look against dx, dy. */
static void
assert_faces(const LoomOffer *offer, int dx, int dy)
{
  static const int step[][2] = {[LOOM_SIDE_LEFT] = {-1, 0},
                                [LOOM_SIDE_RIGHT] = {1, 0},
                                [LOOM_SIDE_TOP] = {0, -1},
                                [LOOM_SIDE_BOTTOM] = {0, 1}};
  LoomPlacing at = loom_offer_facing(offer, dx, dy);
  LoomSide side = offer->kind->ends[offer->end].side;
  int x = step[side][0], y = step[side][1];
  if (at.flip)
    x = -x;
  for (int i = 0; i < (int)at.turn; i++) { /* a quarter clockwise, y down: (x, y) becomes (-y, x) */
    int old = x;
    x = -y;
    y = old;
  }
  assert_int_equal(x, -dx);
  assert_int_equal(y, -dy);
}

static void
faces_the_free_end(void **state)
{
  (void)state;
  static const int steps[][2] = {{1, 0}, {-1, 0}, {0, 1}, {0, -1}};
  for (LoomSide side = LOOM_SIDE_LEFT; side <= LOOM_SIDE_BOTTOM; side++)
    for (guint i = 0; i < G_N_ELEMENTS(steps); i++) {
      LoomEnd end = {.side = side};
      LoomKind kind = {.n_ends = 1, .ends = &end};
      LoomOffer offer = {.kind = &kind};
      assert_faces(&offer, steps[i][0], steps[i][1]);
    }
}

static void
places_and_plugs_in_one_act(void **state)
{
  const Bench *bench = *state;
  fixture_add(bench->design, bench->catalogue, "pack-nimh-12v-3ah");
  g_autoptr(LoomOffers) offers = ask(bench, "G1:out", LOOM_OFFER_ALL);
  g_autofree char *before = loom_design_to_text(bench->design);
  LoomEdit *edit = loom_edit_new(bench->design, "add and plug");
  LoomPlacing at = {120, 40, LOOM_TURN_90, true};
  g_autoptr(GError) error = NULL;
  const char *given = loom_offer_place(edit, &offers->offers[0], "G1:out", &at, NULL, &error);
  assert_null(error);
  assert_string_equal(given, "F1");
  loom_design_apply(bench->design, edit);
  const LoomPart *part = loom_design_part(bench->design, 1);
  assert_true(part->x_mm == 120 && part->y_mm == 40 && part->turn == LOOM_TURN_90 && part->flip);
  assert_int_equal(loom_design_n_joints(bench->design), 1);
  assert_true(loom_design_undo(bench->design));
  g_autofree char *after = loom_design_to_text(bench->design);
  assert_string_equal(before, after);
}

static void
a_taken_end_changes_nothing(void **state)
{
  const Bench *bench = *state;
  fixture_add(bench->design, bench->catalogue, "pack-nimh-12v-3ah");
  g_autoptr(LoomOffers) offers = ask(bench, "G1:out", LOOM_OFFER_ALL);
  fixture_add(bench->design, bench->catalogue, "extension-30-300");
  fixture_plug(bench->design, "G1:out", "W1:a");
  g_autoptr(LoomEdit) edit = loom_edit_new(bench->design, "add and plug");
  g_autoptr(GError) error = NULL;
  assert_null(loom_offer_place(edit, &offers->offers[0], "G1:out", NULL, NULL, &error));
  assert_true(g_error_matches(error, LOOM_ERROR, LOOM_ERROR_EDIT));
  assert_true(loom_edit_is_empty(edit));
}

#define BENCHED(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)

int
main(void)
{
  const struct CMUnitTest tests[] = {
      BENCHED(offers_the_fuse_first),
      BENCHED(offers_leads_in_the_open),
      BENCHED(offers_what_belongs_on_a_port),
      BENCHED(every_offer_is_harmless),
      BENCHED(follows_the_lead),
      cmocka_unit_test(faces_the_free_end),
      BENCHED(places_and_plugs_in_one_act),
      BENCHED(a_taken_end_changes_nothing),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
