#include "stock-book.h"

#include "stock-private.h"

#include <math.h>

/* The rows as they were around a change: undoing is the merge that goes from `after` to `before`.
 */
typedef struct {
  GPtrArray *before, *after;
  char *label;
} Step;

struct LoomStockBook {
  LoomStock *stock;
  char *path;
  GPtrArray *steps; /* of Step */
  guint done;       /* steps that have not been undone */
};

static void
step_free(gpointer data)
{
  Step *step = data;
  g_ptr_array_unref(step->before);
  g_ptr_array_unref(step->after);
  g_free(step->label);
  g_free(step);
}

LoomStockBook *
loom_stock_book_open(const char *path, GError **error)
{
  LoomStock *stock = loom_stock_open(path, error);
  if (!stock)
    return NULL;
  LoomStockBook *book = g_new0(LoomStockBook, 1);
  book->stock = stock;
  book->path = g_strdup(path);
  book->steps = g_ptr_array_new_with_free_func(step_free);
  return book;
}

void
loom_stock_book_free(LoomStockBook *book)
{
  if (!book)
    return;
  g_ptr_array_unref(book->steps);
  loom_stock_free(book->stock);
  g_free(book->path);
  g_free(book);
}

const LoomStock *
loom_stock_book_stock(const LoomStockBook *book)
{
  return book->stock;
}

const char *
loom_stock_book_path(const LoomStockBook *book)
{
  return book->path;
}

bool
loom_stock_book_save(LoomStockBook *book, GError **error)
{
  return loom_stock_save(book->stock, book->path, error);
}

bool
loom_stock_book_refresh(LoomStockBook *book, GError **error)
{
  return loom_stock_refresh(book->stock, book->path, error);
}

bool
loom_stock_book_unsaved(const LoomStockBook *book)
{
  return loom_stock_modified(book->stock);
}

/* Notes the change from `before` (taken) to the present rows as a step, and saves. */
static bool
end_step(LoomStockBook *book, GPtrArray *before, const char *label, GError **error)
{
  if (loom_stock_rows_equal(before, book->stock->rows)) {
    g_ptr_array_unref(before);
    return true;
  }
  Step *step = g_new0(Step, 1);
  step->before = before;
  step->after = loom_stock_rows_copy(book->stock->rows);
  step->label = g_strdup(label);
  g_ptr_array_set_size(book->steps, (int)book->done);
  g_ptr_array_add(book->steps, step);
  book->done++;
  return loom_stock_book_save(book, error);
}

/* A row that is there already gets the pieces; its price and note stay unless it has none. */
static void
put_row(LoomStock *stock, const LoomStockRow *now)
{
  bool found;
  guint index = loom_stock_rows_find(stock->rows, now, &found);
  guint count = now->count;
  double price = now->price;
  const char *note = now->note;
  if (found) {
    const LoomStockRow *there = stock->rows->pdata[index];
    count += there->count;
    price = isnan(there->price) ? price : there->price;
    note = there->note ? there->note : note;
  }
  g_autofree char *kept = g_strdup(note);
  loom_stock_set(stock, now->kind, now->where, now->condition, count, price);
  loom_stock_set_note(stock, now->kind, now->where, now->condition, kept);
}

bool
loom_stock_book_change(LoomStockBook *book, const LoomStockRow *was, const LoomStockRow *now,
                       const char *label, GError **error)
{
  GPtrArray *before = loom_stock_rows_copy(book->stock->rows);
  g_autoptr(LoomStockRow) old = was ? loom_stock_row_copy(was) : NULL;
  g_autoptr(LoomStockRow) next = now ? loom_stock_row_copy(now) : NULL;
  if (old)
    loom_stock_remove(book->stock, old->kind, old->where, old->condition);
  if (next)
    put_row(book->stock, next);
  return end_step(book, before, label, error);
}

bool
loom_stock_book_take(LoomStockBook *book, const LoomStock *rows, const char *label, GError **error)
{
  GPtrArray *before = loom_stock_rows_copy(book->stock->rows);
  for (guint i = 0; i < loom_stock_n_rows(rows); i++) {
    const LoomStockRow *row = loom_stock_row(rows, i);
    loom_stock_set(book->stock, row->kind, row->where, row->condition, row->count, row->price);
    loom_stock_set_note(book->stock, row->kind, row->where, row->condition, row->note);
  }
  return end_step(book, before, label, error);
}

static const Step *
step_at(const LoomStockBook *book, guint index)
{
  return index < book->steps->len ? book->steps->pdata[index] : NULL;
}

const char *
loom_stock_book_undo_label(const LoomStockBook *book)
{
  return book->done ? step_at(book, book->done - 1)->label : NULL;
}

const char *
loom_stock_book_redo_label(const LoomStockBook *book)
{
  const Step *step = step_at(book, book->done);
  return step ? step->label : NULL;
}

static bool
go(LoomStockBook *book, const GPtrArray *from, const GPtrArray *to, GError **error)
{
  loom_stock_take_rows(book->stock, loom_stock_rows_merge(book->stock->rows, from, to));
  return loom_stock_book_save(book, error);
}

bool
loom_stock_book_undo(LoomStockBook *book, GError **error)
{
  if (!book->done)
    return true;
  const Step *step = step_at(book, --book->done);
  return go(book, step->after, step->before, error);
}

bool
loom_stock_book_redo(LoomStockBook *book, GError **error)
{
  const Step *step = step_at(book, book->done);
  if (!step)
    return true;
  book->done++;
  return go(book, step->before, step->after, error);
}
