#include "stock-private.h"

#include <math.h>
#include <string.h>

void
loom_stock_row_free(LoomStockRow *row)
{
  if (!row)
    return;
  g_free(row->kind);
  g_free(row->where);
  g_free(row->note);
  g_free(row);
}

LoomStockRow *
loom_stock_row_copy(const LoomStockRow *row)
{
  LoomStockRow *copy = g_memdup2(row, sizeof *row);
  copy->kind = g_strdup(row->kind);
  copy->where = g_strdup(row->where);
  copy->note = g_strdup(row->note);
  return copy;
}

GPtrArray *
loom_stock_rows_new(void)
{
  return g_ptr_array_new_with_free_func((GDestroyNotify)loom_stock_row_free);
}

GPtrArray *
loom_stock_rows_copy(const GPtrArray *rows)
{
  GPtrArray *copy = loom_stock_rows_new();
  for (guint i = 0; i < rows->len; i++)
    g_ptr_array_add(copy, loom_stock_row_copy(rows->pdata[i]));
  return copy;
}

static int
compare(const LoomStockRow *a, const LoomStockRow *b)
{
  int order = strcmp(a->kind, b->kind);
  if (order == 0)
    order = strcmp(a->where, b->where);
  return order ? order : (int)a->condition - (int)b->condition;
}

bool
loom_stock_row_equal(const LoomStockRow *a, const LoomStockRow *b)
{
  bool same_price = a->price == b->price || (isnan(a->price) && isnan(b->price));
  return compare(a, b) == 0 && a->count == b->count && same_price &&
         g_strcmp0(a->note, b->note) == 0;
}

bool
loom_stock_rows_equal(const GPtrArray *a, const GPtrArray *b)
{
  if (a->len != b->len)
    return false;
  for (guint i = 0; i < a->len; i++)
    if (!loom_stock_row_equal(a->pdata[i], b->pdata[i]))
      return false;
  return true;
}

guint
loom_stock_rows_find(const GPtrArray *rows, const LoomStockRow *row, bool *found)
{
  guint low = 0, high = rows->len;
  while (low < high) {
    guint middle = (low + high) / 2;
    if (compare(rows->pdata[middle], row) < 0)
      low = middle + 1;
    else
      high = middle;
  }
  *found = low < rows->len && compare(rows->pdata[low], row) == 0;
  return low;
}

static void
sum_up(LoomStock *stock)
{
  g_hash_table_remove_all(stock->sums);
  for (guint i = 0; i < stock->rows->len; i++) {
    const LoomStockRow *row = stock->rows->pdata[i];
    LoomStockSum *sum = g_hash_table_lookup(stock->sums, row->kind);
    if (!sum) {
      sum = g_new0(LoomStockSum, 1);
      sum->price = NAN;
      g_hash_table_insert(stock->sums, g_strdup(row->kind), sum);
    }
    if (row->condition != LOOM_CONDITION_BROKEN)
      sum->count += row->count;
    sum->price = fmin(sum->price, row->price);
  }
}

void
loom_stock_take_rows(LoomStock *stock, GPtrArray *rows)
{
  g_ptr_array_unref(stock->rows);
  stock->rows = rows;
  sum_up(stock);
}

LoomStock *
loom_stock_new(void)
{
  LoomStock *stock = g_new0(LoomStock, 1);
  stock->rows = loom_stock_rows_new();
  stock->base = loom_stock_rows_new();
  stock->sums = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, g_free);
  return stock;
}

LoomStock *
loom_stock_copy(const LoomStock *stock)
{
  LoomStock *copy = loom_stock_new();
  loom_stock_take_rows(copy, loom_stock_rows_copy(stock->rows));
  g_ptr_array_unref(copy->base);
  copy->base = loom_stock_rows_copy(stock->base);
  return copy;
}

void
loom_stock_free(LoomStock *stock)
{
  if (!stock)
    return;
  g_ptr_array_unref(stock->rows);
  g_ptr_array_unref(stock->base);
  g_hash_table_unref(stock->sums);
  g_free(stock);
}

guint
loom_stock_n_rows(const LoomStock *stock)
{
  return stock->rows->len;
}

const LoomStockRow *
loom_stock_row(const LoomStock *stock, guint index)
{
  return stock->rows->pdata[index];
}

guint
loom_stock_count(const LoomStock *stock, const char *kind)
{
  const LoomStockSum *sum = stock ? g_hash_table_lookup(stock->sums, kind) : NULL;
  return sum ? sum->count : 0;
}

double
loom_stock_price(const LoomStock *stock, const char *kind)
{
  const LoomStockSum *sum = stock ? g_hash_table_lookup(stock->sums, kind) : NULL;
  return sum ? sum->price : NAN;
}

char *
loom_stock_where(const LoomStock *stock, const char *kind)
{
  bool found;
  LoomStockRow key = {.kind = (char *)kind, .where = (char *)""};
  g_autoptr(GPtrArray) places = g_ptr_array_new();
  for (guint i = loom_stock_rows_find(stock->rows, &key, &found); i < stock->rows->len; i++) {
    const LoomStockRow *row = stock->rows->pdata[i];
    if (!g_str_equal(row->kind, kind))
      break;
    bool usable = row->count > 0 && row->condition != LOOM_CONDITION_BROKEN && *row->where;
    bool again = places->len && g_str_equal(places->pdata[places->len - 1], row->where);
    if (usable && !again)
      g_ptr_array_add(places, row->where);
  }
  if (places->len == 0)
    return NULL;
  g_ptr_array_add(places, NULL);
  return g_strjoinv(", ", (char **)places->pdata);
}

/* The row with that key, made where there is none. */
static LoomStockRow *
row_at(LoomStock *stock, const char *kind, const char *where, LoomCondition condition)
{
  bool found;
  LoomStockRow key = {
      .kind = (char *)kind, .where = (char *)where, .condition = condition, .price = NAN};
  guint index = loom_stock_rows_find(stock->rows, &key, &found);
  if (!found)
    g_ptr_array_insert(stock->rows, (int)index, loom_stock_row_copy(&key));
  return stock->rows->pdata[index];
}

void
loom_stock_set(LoomStock *stock, const char *kind, const char *where, LoomCondition condition,
               guint count, double price)
{
  LoomStockRow *row = row_at(stock, kind, where, condition);
  row->count = MIN(count, LOOM_STOCK_MOST);
  row->price = price;
  sum_up(stock);
}

void
loom_stock_set_note(LoomStock *stock, const char *kind, const char *where, LoomCondition condition,
                    const char *note)
{
  LoomStockRow *row = row_at(stock, kind, where, condition);
  g_free(row->note);
  row->note = note && *note ? g_strdup(note) : NULL;
  sum_up(stock);
}

bool
loom_stock_remove(LoomStock *stock, const char *kind, const char *where, LoomCondition condition)
{
  bool found;
  LoomStockRow key = {.kind = (char *)kind, .where = (char *)where, .condition = condition};
  guint index = loom_stock_rows_find(stock->rows, &key, &found);
  if (!found)
    return false;
  g_ptr_array_remove_index(stock->rows, index);
  sum_up(stock);
  return true;
}

bool
loom_stock_modified(const LoomStock *stock)
{
  return !loom_stock_rows_equal(stock->rows, stock->base);
}

const char *
loom_condition_word(LoomCondition condition)
{
  static const char *const words[] = {"good", "worn", "broken"};
  return words[condition];
}
