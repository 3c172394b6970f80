#include "meaning.h"
#include "placing-private.h"

#include <glib/gi18n-lib.h>
#include <math.h>
#include <string.h>

/* The free end, and what it carries. */
typedef struct {
  const LoomEnd *end;
  LoomMeaning means[LOOM_MOST_WAYS];
  guint64 ways[LOOM_MOST_WAYS];
  LoomFed fed;
  LoomOfferWhat what;
} FreeEnd;

static bool
is_lead(const LoomKind *kind)
{
  return kind->lead || kind->group == LOOM_GROUP_LEAD;
}

/* Supplies on both sides do not belong together, but for a pack and its charger. */
static bool
both_supply(LoomFed a, LoomFed b)
{
  return a.fed && b.fed && a.charger == b.charger;
}

/* Whether the two ends, which mate, go together, and how well. */
static bool
judge(const FreeEnd *free_end, const LoomKind *kind, guint end, LoomSuits *suits)
{
  LoomMeaning means[LOOM_MOST_WAYS];
  const LoomEnd *e = &kind->ends[end];
  if (e->n_contacts > LOOM_MOST_WAYS)
    return false;
  loom_meanings_of_kind(kind, end, means);
  LoomFitting fitting =
      loom_meanings_compare(free_end->means, free_end->ways, free_end->end->n_contacts, e, means);
  if (fitting == LOOM_CLASHES)
    return false;
  *suits = fitting == LOOM_FITS ? LOOM_SUITS_WELL : LOOM_SUITS_MATES;
  if (both_supply(free_end->fed, loom_meanings_kind_feeds(kind, end)))
    *suits = LOOM_SUITS_SUPPLY;
  return true;
}

static char *
reason_of(const LoomEnd *end)
{
  if (end->gender == LOOM_GENDER_TERMINAL)
    return g_strdup_printf(_("Its end %s goes there: “%s”."), end->id, end->family->name);
  return g_strdup_printf(_("Its end %s fits: “%s”, %s."), end->id, end->family->name,
                         _(loom_gender_label(end->gender)));
}

static void
offer_kind(const FreeEnd *free_end, const LoomKind *kind, GArray *offers)
{
  LoomOffer best = {.end = LOOM_NONE};
  for (guint e = 0; e < kind->n_ends; e++) {
    LoomEnd end = kind->ends[e]; /* never the same record as the free end */
    LoomSuits suits;
    if (loom_mate(free_end->end, &end) != LOOM_MATE_YES || !judge(free_end, kind, e, &suits))
      continue;
    if (best.end == LOOM_NONE || suits < best.suits)
      best = (LoomOffer){.end = e, .suits = suits};
  }
  if (best.end == LOOM_NONE)
    return;
  best.kind = loom_kind_ref(kind);
  best.label = g_strdup(kind->name);
  best.reason = reason_of(&kind->ends[best.end]);
  g_array_append_val(offers, best);
}

/* From the pack to the loads, as a robot is built; other supplies last. */
static guint
place_of_group(LoomGroup group)
{
  static const guint places[LOOM_N_GROUPS] = {
      [LOOM_GROUP_SUPPLY] = 12,    [LOOM_GROUP_CHARGING] = 13, [LOOM_GROUP_PROTECTION] = 0,
      [LOOM_GROUP_SWITCHING] = 1,  [LOOM_GROUP_LEAD] = 2,      [LOOM_GROUP_DISTRIBUTION] = 3,
      [LOOM_GROUP_CONTROLLER] = 4, [LOOM_GROUP_CONVERTER] = 5, [LOOM_GROUP_MOTOR] = 6,
      [LOOM_GROUP_SERVO] = 7,      [LOOM_GROUP_SENSOR] = 8,    [LOOM_GROUP_LAMP] = 9,
      [LOOM_GROUP_STRUCTURE] = 10, [LOOM_GROUP_COMPUTER] = 11};
  return places[group];
}

static int
compare(gconstpointer a, gconstpointer b)
{
  const LoomOffer *x = a, *y = b;
  if (x->suits != y->suits)
    return x->suits < y->suits ? -1 : 1;
  if (x->kind->rank != y->kind->rank)
    return x->kind->rank < y->kind->rank ? -1 : 1;
  guint place_x = place_of_group(x->kind->group), place_y = place_of_group(y->kind->group);
  if (place_x != place_y)
    return place_x < place_y ? -1 : 1;
  if (x->kind->n_ends != y->kind->n_ends)
    return x->kind->n_ends < y->kind->n_ends ? -1 : 1;
  int order = strcmp(x->kind->name, y->kind->name);
  return order ? order : strcmp(x->kind->id, y->kind->id);
}

static bool
is_asked(const FreeEnd *free_end, const LoomKind *kind)
{
  return free_end->what == LOOM_OFFER_ALL || is_lead(kind);
}

/* The design's own entry of a kind goes before the catalogue's: a part of it is what would be
 * added. */
static void
offer_all(const FreeEnd *free_end, const LoomCatalogue *catalogue, const LoomDesign *design,
          GArray *offers)
{
  g_autoptr(GHashTable) known = g_hash_table_new(g_str_hash, g_str_equal);
  for (guint i = 0; i < loom_design_n_parts(design); i++) {
    const LoomKind *kind = loom_design_part(design, i)->kind;
    if (g_hash_table_add(known, kind->id) && is_asked(free_end, kind))
      offer_kind(free_end, kind, offers);
  }
  guint n = 0;
  const LoomKind *const *kinds = catalogue ? loom_catalogue_kinds(catalogue, &n) : NULL;
  for (guint i = 0; i < n; i++)
    if (g_hash_table_add(known, kinds[i]->id) && is_asked(free_end, kinds[i]))
      offer_kind(free_end, kinds[i], offers);
}

LoomOffers *
loom_offers_new(const LoomCatalogue *catalogue, const LoomDesign *design, guint scene, guint part,
                guint end, LoomOfferWhat what)
{
  g_autoptr(LoomMeanings) meanings = loom_meanings_new(design, scene);
  FreeEnd free_end = {.end = &loom_design_part(design, part)->kind->ends[end], .what = what};
  loom_meanings_of_end(meanings, part, end, free_end.means);
  for (guint i = 0; i < free_end.end->n_contacts; i++)
    free_end.ways[i] = G_GUINT64_CONSTANT(1) << (free_end.end->contacts[i].way - 1);
  free_end.fed = loom_meanings_fed(meanings, part, end);
  GArray *offers = g_array_new(FALSE, FALSE, sizeof(LoomOffer));
  offer_all(&free_end, catalogue, design, offers);
  g_array_sort(offers, compare);
  LoomOffers *result = g_new0(LoomOffers, 1);
  result->n_offers = offers->len;
  result->offers = (LoomOffer *)g_array_free(offers, FALSE);
  return result;
}

void
loom_offers_free(LoomOffers *offers)
{
  if (!offers)
    return;
  for (guint i = 0; i < offers->n_offers; i++) {
    loom_kind_unref(offers->offers[i].kind);
    g_free(offers->offers[i].label);
    g_free(offers->offers[i].reason);
  }
  g_free(offers->offers);
  g_free(offers);
}

/* Sides as quarter turns clockwise from the top. */
static int
quarter_of_side(LoomSide side)
{
  static const int quarters[] = {
      [LOOM_SIDE_TOP] = 0, [LOOM_SIDE_RIGHT] = 1, [LOOM_SIDE_BOTTOM] = 2, [LOOM_SIDE_LEFT] = 3};
  return quarters[side];
}

LoomPlacing
loom_offer_facing(const LoomOffer *offer, int dx, int dy)
{
  LoomPlacing placing = {.x_mm = NAN, .y_mm = NAN, .turn = LOOM_TURN_0};
  if (offer->kind->lead || (dx == 0 && dy == 0))
    return placing;
  int wanted = dy > 0 ? 0 : dx < 0 ? 1 : dy < 0 ? 2 : 3; /* against dx, dy */
  int turn = (wanted - quarter_of_side(offer->kind->ends[offer->end].side) + 4) % 4;
  bool sideways = quarter_of_side(offer->kind->ends[offer->end].side) % 2 == 1;
  if (turn == 2 && sideways) /* mirrored rather than upside down: its lettering stays upright */
    placing.flip = true;
  else
    placing.turn = (LoomTurn)turn;
  return placing;
}

typedef struct {
  const LoomOffer *offer;
  const char *end;
  const LoomPlacing *at;
  const char *const *scenes;
} Act;

static bool
place(LoomEdit *edit, gpointer data, GError **error)
{
  const Act *act = data;
  const char *given = loom_placing_add(edit, act->offer->kind, act->at, error);
  if (!given)
    return false;
  const char *id = act->offer->kind->ends[act->offer->end].id;
  g_autofree char *end = g_strconcat(given, ":", id, NULL);
  return loom_edit_plug(edit, act->end, end, LOOM_FIT_NORMAL, act->scenes, error);
}

const char *
loom_offer_place(LoomEdit *edit, const LoomOffer *offer, const char *end, const LoomPlacing *at,
                 const char *const *scenes, GError **error)
{
  Act act = {offer, end, at, scenes};
  if (!loom_placing_whole(edit, place, &act, error))
    return NULL;
  const LoomDesign *design = loom_edit_design(edit);
  return loom_design_part(design, loom_design_n_parts(design) - 1)->designation;
}
