/* The rows of a stock, shared by its files only. */
#pragma once

#include "stock.h"

G_BEGIN_DECLS

#define LOOM_STOCK_MOST 1000000 /* pieces in one row */

/* What is known of one kind over all its rows. */
typedef struct {
  guint count;  /* usable ones */
  double price; /* lowest, or NAN */
} LoomStockSum;

struct LoomStock {
  GPtrArray *rows;  /* LoomStockRow, by kind, place, condition; no two alike in these */
  GPtrArray *base;  /* the rows as last opened or saved */
  GHashTable *sums; /* kind -> LoomStockSum, of `rows` */
};

GPtrArray *loom_stock_rows_new(void);
GPtrArray *loom_stock_rows_copy(const GPtrArray *rows);
bool loom_stock_rows_equal(const GPtrArray *a, const GPtrArray *b);
/* Index of the row with the key of `row`, or where it belongs (then `found` is false). */
guint loom_stock_rows_find(const GPtrArray *rows, const LoomStockRow *row, bool *found);
/* `theirs` with what became of `base` in `ours` put onto it: counts as differences. New. */
GPtrArray *loom_stock_rows_merge(const GPtrArray *theirs, const GPtrArray *base,
                                 const GPtrArray *ours);
/* Takes `rows` in place of those that are there, and sums up. */
void loom_stock_take_rows(LoomStock *stock, GPtrArray *rows);

G_END_DECLS
