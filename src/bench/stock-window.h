/* The team's boxes in a window of their own: a table to edit, search, import and export.
 *
 * Every change is saved at once, together with what another program may have saved meanwhile, and
 * can be undone; what others save appears by itself. */
#pragma once

#include "catalogue/catalogue.h"
#include "events.h"

#include <gtk/gtk.h>

G_BEGIN_DECLS

#define LOOM_TYPE_STOCK_WINDOW (loom_stock_window_get_type())
G_DECLARE_FINAL_TYPE(LoomStockWindow, loom_stock_window, LOOM, STOCK_WINDOW, GtkWindow)

/* Opens the stock of `path` over `parent`, or brings it to the front where it is open. `catalogue`
 * is referenced; `events` is borrowed and must live on, or NULL. false with `error` where the file
 * cannot be read. */
bool loom_stock_window_show(GtkWindow *parent, LoomCatalogue *catalogue, const char *path,
                            LoomEvents *events, GError **error);

G_END_DECLS
