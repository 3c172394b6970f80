/* Offers: what plugs into a free end, and putting the choice beside it in one act.
 *
 *   g_autoptr(LoomOffers) o = loom_offers_new(catalogue, design, scene, part, end, LOOM_OFFER_ALL);
 *   LoomPlacing at = loom_offer_facing(&o->offers[0], -1, 0);   // the free end looks to the left
 *   at.x_mm = ..., at.y_mm = ...;                               // the caller knows the sheet
 *   LoomEdit *e = loom_edit_new(design, "Add and plug");
 *   if (loom_offer_place(e, &o->offers[0], "G1:out", &at, NULL, &error))
 *     loom_design_apply(design, e);
 *
 * Offered is every kind, of the catalogue and of those that the design embeds, with an end that
 * mates and whose contacts do no harm there: plus does not meet minus, nor supply a signal. Order:
 * kinds made for it (the same roles and signals meet) before those that merely mate, those that
 * would put two supplies onto each other last; then the kind's rank, its group (from the pack to
 * the loads), fewer ends, name. A kind stands once, with the end that serves best. */
#pragma once

#include "design/edit.h"

G_BEGIN_DECLS

typedef enum {
  LOOM_OFFER_ALL,
  LOOM_OFFER_LEADS, /* leads, adaptors and fuse leads only: for an end dropped in the open */
} LoomOfferWhat;

typedef enum {
  LOOM_SUITS_WELL,   /* what meets belongs together, or is passed on by a lead */
  LOOM_SUITS_MATES,  /* goes together; whether it makes sense the rules will say */
  LOOM_SUITS_SUPPLY, /* both sides supply */
} LoomSuits;

typedef struct {
  LoomKind *kind; /* owned reference */
  guint end;      /* index in the kind: the end that plugs */
  LoomSuits suits;
  char *label;  /* "Extension lead, 1.5 mm²" */
  char *reason; /* one sentence: "Its end \"in\" has pins (male) for keyed pair ..." */
} LoomOffer;

typedef struct {
  guint n_offers;
  LoomOffer *offers; /* [n_offers] */
} LoomOffers;

/* Where a part is to lie: as in LoomPart. x, y NAN: a free place. */
typedef struct {
  double x_mm, y_mm;
  LoomTurn turn;
  bool flip;
} LoomPlacing;

/* `part`, `end`: indices of the free end; `scene`: index, for what the end carries. `catalogue` may
 * be NULL: only what the design embeds. New; stands on its own. */
LoomOffers *loom_offers_new(const LoomCatalogue *catalogue, const LoomDesign *design, guint scene,
                            guint part, guint end, LoomOfferWhat what);
void loom_offers_free(LoomOffers *offers);

/* Turn and flip with which the offered end faces a free end that looks along dx, dy (a unit step
 * out of its part, y down); x, y are NAN. Leads, which have no outline, come unturned. */
LoomPlacing loom_offer_facing(const LoomOffer *offer, int dx, int dy);

/* Adds the kind at `at` and plugs it into `end` ("G1:out") in the `scenes` (NULL: wherever both are
 * free). Returns the designation, borrowed from the edit; NULL with `error` and the edit as it was.
 */
const char *loom_offer_place(LoomEdit *edit, const LoomOffer *offer, const char *end,
                             const LoomPlacing *at, const char *const *scenes, GError **error);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomOffers, loom_offers_free)

G_END_DECLS
