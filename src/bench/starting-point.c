#include "starting-point.h"

#include "planning/linkup.h"
#include "scenes.h"
#include "sheet/tidy.h"

#include <glib/gi18n-lib.h>
#include <math.h>

static const LoomKind *
commonest(LoomCatalogue *catalogue, LoomGroup group)
{
  guint n;
  const LoomKind *const *kinds = loom_catalogue_kinds(catalogue, &n);
  for (guint i = 0; i < n; i++)
    if (kinds[i]->group == group)
      return kinds[i];
  return NULL;
}

/* The first end of the part that is free and not meant for a charger. */
static guint
free_end(const LoomDesign *design, guint part)
{
  const LoomKind *kind = loom_design_part(design, part)->kind;
  for (guint i = 0; i < kind->n_ends; i++)
    if (!kind->ends[i].charge && loom_scenes_places_left(design, 0, part, i))
      return i;
  return LOOM_NONE;
}

static char *
end_name(const LoomDesign *design, guint part, guint end)
{
  const LoomPart *p = loom_design_part(design, part);
  return g_strdup_printf("%s:%s", p->designation, p->kind->ends[end].id);
}

/* Puts the commonest piece of the group onto the last part's free end; false where none goes there.
 */
static bool
extend(LoomEdit *edit, LoomCatalogue *catalogue, LoomGroup group, guint *last)
{
  const LoomDesign *design = loom_edit_design(edit);
  guint end = free_end(design, *last);
  if (end == LOOM_NONE)
    return false;
  g_autofree char *name = end_name(design, *last, end);
  g_autoptr(LoomOffers) offers = loom_offers_new(catalogue, design, 0, *last, end, LOOM_OFFER_ALL);
  for (guint i = 0; i < offers->n_offers; i++) {
    const LoomOffer *offer = &offers->offers[i];
    const char *given =
        offer->kind->group == group ? loom_offer_place(edit, offer, name, NULL, NULL, NULL) : NULL;
    if (!given)
      continue;
    *last = loom_design_find_part(loom_edit_design(edit), given);
    return true;
  }
  return false;
}

/* End of the controller that it is fed through: the shortest link-up decides. */
static bool
feed(LoomEdit *edit, LoomCatalogue *catalogue, guint from, guint controller, GError **error)
{
  const LoomDesign *design = loom_edit_design(edit);
  g_autoptr(LoomPieces) pieces = loom_pieces_new(catalogue, design);
  guint end = free_end(design, from);
  g_autoptr(LoomRings) rings = loom_linkup_rings(pieces, design, 0, from, end);
  guint best = LOOM_NONE, fewest = G_MAXUINT;
  for (guint i = 0; i < loom_design_part(design, controller)->kind->n_ends; i++) {
    LoomRing ring = rings->ends[rings->part_end[controller] + i];
    bool reaches = ring.answer == LOOM_RING_MATES || ring.answer == LOOM_RING_PIECES;
    if (reaches && ring.pieces < fewest) {
      fewest = ring.pieces;
      best = i;
    }
  }
  if (best == LOOM_NONE)
    return false;
  LoomLinkupQuestion question = {0, from, end, controller, best, NAN};
  g_autoptr(LoomLinkup) linkup = loom_linkup_new(pieces, design, NULL, &question);
  return linkup->n_answers && loom_linkup_place(edit, linkup, 0, NULL, NULL, error);
}

static bool
draw_chain(LoomEdit *edit, LoomCatalogue *catalogue, GError **error)
{
  const LoomKind *pack = commonest(catalogue, LOOM_GROUP_SUPPLY);
  const LoomKind *controller = commonest(catalogue, LOOM_GROUP_CONTROLLER);
  if (!pack || !controller || !loom_edit_add(edit, pack, NULL, NAN, NAN, error))
    return false;
  guint last = 0;
  extend(edit, catalogue, LOOM_GROUP_PROTECTION, &last);
  extend(edit, catalogue, LOOM_GROUP_SWITCHING, &last);
  const char *given = loom_edit_add(edit, controller, NULL, NAN, NAN, error);
  return given &&
         feed(edit, catalogue, last, loom_design_find_part(loom_edit_design(edit), given), error);
}

LoomDesign *
loom_starting_point_new(LoomCatalogue *catalogue, GError **error)
{
  g_autoptr(LoomDesign) design = loom_design_new(_("New robot"));
  g_autoptr(LoomEdit) edit = loom_edit_new(design, _("Supply chain"));
  g_autoptr(GError) cause = NULL;
  if (!draw_chain(edit, catalogue, &cause)) {
    g_set_error(error, LOOM_ERROR, LOOM_ERROR_CONTENT,
                _("The catalogue has no pack and controller that leads can join%s%s"),
                cause ? ": " : ".", cause ? cause->message : "");
    return NULL;
  }
  loom_tidy(edit, 0);
  loom_design_apply(design, g_steal_pointer(&edit));
  return loom_design_snapshot(design);
}
