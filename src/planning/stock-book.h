/* A stock that is being edited: every change is saved at once and can be undone.
 *
 *   g_autoptr(LoomStockBook) book = loom_stock_book_open(path, &error);
 *   loom_stock_book_change(book, NULL, &row, "Add", &error);       // a row more
 *   loom_stock_book_change(book, &row, &other, "Change", &error);  // the same row, other fields
 *   loom_stock_book_change(book, &other, NULL, "Remove", &error);
 *   loom_stock_book_undo(book, &error);
 *
 * Undoing takes back this book's own change and nothing else: where another program has added two
 * pieces since, they stay. A change that cannot be saved (disk full, no permission) is kept and
 * goes with the next one that can; loom_stock_book_unsaved says so. */
#pragma once

#include "stock.h"

G_BEGIN_DECLS

typedef struct LoomStockBook LoomStockBook;

/* A file that is not there is an empty stock. New, or NULL with `error`. */
LoomStockBook *loom_stock_book_open(const char *path, GError **error);
void loom_stock_book_free(LoomStockBook *book);

/* Borrowed until the next change. */
const LoomStock *loom_stock_book_stock(const LoomStockBook *book);
const char *loom_stock_book_path(const LoomStockBook *book);

/* `was` (its kind, place and condition) becomes `now`; NULL: a new row, or none any more. A row
 * that comes to the kind, place and condition of another is added to it. `label` says what was
 * done. false with `error` where it could not be saved. */
bool loom_stock_book_change(LoomStockBook *book, const LoomStockRow *was, const LoomStockRow *now,
                            const char *label, GError **error);
/* Sets every row of `rows`, as one change; others stay. */
bool loom_stock_book_take(LoomStockBook *book, const LoomStock *rows, const char *label,
                          GError **error);

/* Labels of what undo and redo would do; NULL: nothing. Borrowed until the next change. */
const char *loom_stock_book_undo_label(const LoomStockBook *book);
const char *loom_stock_book_redo_label(const LoomStockBook *book);
bool loom_stock_book_undo(LoomStockBook *book, GError **error);
bool loom_stock_book_redo(LoomStockBook *book, GError **error);

/* Takes in what other programs have saved; true where something changed. */
bool loom_stock_book_refresh(LoomStockBook *book, GError **error);
/* Tries again to save what could not be. */
bool loom_stock_book_save(LoomStockBook *book, GError **error);
bool loom_stock_book_unsaved(const LoomStockBook *book);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomStockBook, loom_stock_book_free)

G_END_DECLS
