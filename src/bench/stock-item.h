/* One line of the table of the stock: a row, with what the catalogue says of its kind.
 *
 * Signal "changed": the row has other values. */
#pragma once

#include "catalogue/catalogue.h"
#include "planning/stock.h"

#include <gio/gio.h>

G_BEGIN_DECLS

#define LOOM_TYPE_STOCK_ITEM (loom_stock_item_get_type())
G_DECLARE_FINAL_TYPE(LoomStockItem, loom_stock_item, LOOM, STOCK_ITEM, GObject)

/* Copies the row; `kind` (referenced) may be NULL where the catalogue has no such kind. */
LoomStockItem *loom_stock_item_new(const LoomStockRow *row, const LoomKind *kind);
const LoomStockRow *loom_stock_item_row(LoomStockItem *item);
const LoomKind *loom_stock_item_kind(LoomStockItem *item);
/* Name of the kind, or its id where the catalogue has none. Borrowed. */
const char *loom_stock_item_name(LoomStockItem *item);
/* Copied; says "changed" where it differs. */
void loom_stock_item_set_row(LoomStockItem *item, const LoomStockRow *row);
/* Whether kind, place or note have the words. */
bool loom_stock_item_matches(LoomStockItem *item, const char *words);

G_END_DECLS
