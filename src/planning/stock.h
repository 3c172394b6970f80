/* The team's own boxes: how many of which kind, where they lie, in what condition, at what price.
 *
 *   g_autofree char *path = loom_stock_default_path();
 *   g_autoptr(LoomStock) s = loom_stock_open(path, &error);
 *   loom_stock_set(s, "lead-ext-1.5-500", "blue box", LOOM_CONDITION_GOOD, 4, 3.20);
 *   loom_stock_save(s, path, &error);
 *
 * Kept outside the designs, shared by all of them, as CSV with the columns
 *   kind,count,where,condition,price,note
 * One row a kind, place and condition. Several programs may have it open: saving takes a lock,
 * reads what others have saved since, and puts only one's own changes onto it (counts as
 * differences), so that nobody's change is lost: of a row that one removes, what others have added
 * to it since stays. */
#pragma once

#include "csv.h"

G_BEGIN_DECLS

typedef enum {
  LOOM_CONDITION_GOOD,
  LOOM_CONDITION_WORN,   /* usable */
  LOOM_CONDITION_BROKEN, /* kept, but not counted */
} LoomCondition;

typedef struct {
  char *kind;  /* id; the catalogue need not have it */
  char *where; /* never NULL, may be "" */
  LoomCondition condition;
  guint count;
  double price; /* of one; NAN unknown */
  char *note;   /* or NULL */
} LoomStockRow;

LoomStockRow *loom_stock_row_copy(const LoomStockRow *row);
void loom_stock_row_free(LoomStockRow *row);
/* Whether all fields are the same. */
bool loom_stock_row_equal(const LoomStockRow *a, const LoomStockRow *b);

typedef struct LoomStock LoomStock;

LoomStock *loom_stock_new(void);
LoomStock *loom_stock_copy(const LoomStock *stock);
void loom_stock_free(LoomStock *stock);

/* Rows by kind, place and condition. Borrowed until the next change. */
guint loom_stock_n_rows(const LoomStock *stock);
const LoomStockRow *loom_stock_row(const LoomStock *stock, guint index);

/* How many usable ones there are; constant time. `stock` may be NULL: 0. */
guint loom_stock_count(const LoomStock *stock, const char *kind);
/* Price that the team noted for it (the lowest), or NAN. */
double loom_stock_price(const LoomStock *stock, const char *kind);
/* Where usable ones lie ("blue box, shelf 2"). New; NULL where there are none. */
char *loom_stock_where(const LoomStock *stock, const char *kind);

/* Puts a row in or changes it; a count of 0 keeps the row (the price stays known). */
void loom_stock_set(LoomStock *stock, const char *kind, const char *where, LoomCondition condition,
                    guint count, double price);
void loom_stock_set_note(LoomStock *stock, const char *kind, const char *where,
                         LoomCondition condition, const char *note);
/* false where there is no such row. */
bool loom_stock_remove(LoomStock *stock, const char *kind, const char *where,
                       LoomCondition condition);

/* CSV in and out. Reading wants columns kind and count, in any order; others may be missing,
 * unknown ones are left out; equal rows are added up. Errors name file, line and what is wrong.
 * New. */
LoomStock *loom_stock_parse(const char *bytes, gsize length, const char *name, GError **error);
char *loom_stock_to_text(const LoomStock *stock);

/* $XDG_DATA_HOME/loombook/stock.csv. New. */
char *loom_stock_default_path(void);
/* A file that is not there is an empty stock. New, or NULL with `error`. */
LoomStock *loom_stock_open(const char *path, GError **error);
/* Merges with what lies there (see above) and replaces the file whole; makes the folder. After any
 * failure the old file is there. Afterwards `stock` holds the merged rows. */
bool loom_stock_save(LoomStock *stock, const char *path, GError **error);
/* Takes in what others have saved, keeping own changes; true where something changed. */
bool loom_stock_refresh(LoomStock *stock, const char *path, GError **error);
/* Whether it differs from what was last opened or saved. */
bool loom_stock_modified(const LoomStock *stock);

const char *loom_condition_word(LoomCondition condition); /* "good", "worn", "broken" */

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomStock, loom_stock_free)
G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomStockRow, loom_stock_row_free)

G_END_DECLS
