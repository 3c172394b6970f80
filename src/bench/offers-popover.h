/* The list of things to choose from at a place on the sheet: what plugs in, what links up.
 *
 *   loom_offers_popover_begin(p, "What plugs into G1:out", NULL);
 *   loom_offers_popover_add(p, 0, "On the bench", kind, "K1:power", "Robot controller");
 *   loom_offers_popover_open(p, &rect);
 *
 * Typing filters; Up and Down move, Enter or a click takes; the pointer chooses what it is on.
 * Signals "taken" (uint: the key given) and "pointed" (uint: the key of the row that is chosen,
 * G_MAXUINT once the list is closed).
 */
#pragma once

#include "catalogue/kind.h"

#include <gtk/gtk.h>

G_BEGIN_DECLS

#define LOOM_TYPE_OFFERS_POPOVER (loom_offers_popover_get_type())
G_DECLARE_FINAL_TYPE(LoomOffersPopover, loom_offers_popover, LOOM, OFFERS_POPOVER, GtkPopover)

LoomOffersPopover *loom_offers_popover_new(void);

/* Empties the list. `sentence` stands above it; NULL: none. */
void loom_offers_popover_begin(LoomOffersPopover *popover, const char *title, const char *sentence);
/* A row under `heading` (rows of one heading must follow each other). `kind` gives the picture,
 * NULL none; `detail` may be NULL. */
void loom_offers_popover_add(LoomOffersPopover *popover, guint key, const char *heading,
                             const LoomKind *kind, const char *label, const char *detail);
guint loom_offers_popover_n_rows(LoomOffersPopover *popover);
/* Scrolls to the first row of that kind; its place within the popover. false where there is none.
 */
bool loom_offers_popover_row_bounds(LoomOffersPopover *popover, const char *kind,
                                    graphene_rect_t *bounds);
void loom_offers_popover_open(LoomOffersPopover *popover, const GdkRectangle *at);

G_END_DECLS
