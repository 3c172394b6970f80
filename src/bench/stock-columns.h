/* The columns of the table of the stock: widgets in which a row is read and changed. */
#pragma once

#include "stock-item.h"

#include <gtk/gtk.h>

G_BEGIN_DECLS

/* What a cell wants: the item's row is to become `now`, NULL: is to go. */
typedef void (*LoomStockWish)(LoomStockItem *item, const LoomStockRow *now, const char *label,
                              gpointer data);

/* `wish` is called with `data`, which must outlive the view. */
void loom_stock_columns_add(GtkColumnView *view, LoomStockWish wish, gpointer data);

G_END_DECLS
