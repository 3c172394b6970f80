/* The shelf: every kind of the catalogue with its picture, grouped by what it is for, searchable.
 *
 * Rows are dragged to the bench (the drag carries a LOOM_TYPE_KIND); Enter or a double click asks
 * for a place. Signals: "wanted" (LoomKind): put one on the bench; "left": Escape, the bench is
 * wanted; "dragging" (bool): a drag began or ended. */
#pragma once

#include "catalogue/catalogue.h"

#include <gtk/gtk.h>

G_BEGIN_DECLS

/* LoomKind as a boxed value: what a drag carries. */
#define LOOM_TYPE_KIND (loom_kind_get_type())
GType loom_kind_get_type(void);

#define LOOM_TYPE_SHELF (loom_shelf_get_type())
G_DECLARE_FINAL_TYPE(LoomShelf, loom_shelf, LOOM, SHELF, GtkWidget)

void loom_shelf_set_catalogue(LoomShelf *shelf, LoomCatalogue *catalogue);
/* Moves the focus to the search entry. */
void loom_shelf_search(LoomShelf *shelf);
/* Scrolls to the row of a kind and gives its place within `root`; false where there is none. */
bool loom_shelf_row_bounds(LoomShelf *shelf, const char *kind, GtkWidget *root,
                           graphene_rect_t *bounds);

G_END_DECLS
