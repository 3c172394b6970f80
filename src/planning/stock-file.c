#include "stock-private.h"

#include "catalogue/xml.h"

#include <errno.h>
#include <fcntl.h>
#include <glib/gi18n-lib.h>
#include <glib/gstdio.h>
#include <math.h>
#include <sys/file.h>
#include <unistd.h>

#define LOCK_PATIENCE_US                                                                           \
  (5 * G_USEC_PER_SEC) /* a save takes milliseconds; then something is stuck */
#define LOCK_PAUSE_US 10000

typedef struct {
  guint kind, count, where, condition, price, note;
} Columns;

/* Takes the sentence. */
static bool
row_fail(const char *name, guint line, GError **error, char *said)
{
  g_set_error(error, LOOM_ERROR, LOOM_ERROR_CONTENT, "%s:%u: %s", name, line, said);
  g_free(said);
  return false;
}

static bool
find_columns(const LoomCsvTable *table, const char *name, Columns *c, GError **error)
{
  *c = (Columns){loom_csv_column(table, "kind"),  loom_csv_column(table, "count"),
                 loom_csv_column(table, "where"), loom_csv_column(table, "condition"),
                 loom_csv_column(table, "price"), loom_csv_column(table, "note")};
  if (c->kind != G_MAXUINT && c->count != G_MAXUINT)
    return true;
  g_set_error(error, LOOM_ERROR, LOOM_ERROR_CONTENT,
              _("%s:1: The first line of a stock must name the columns kind and count."), name);
  return false;
}

static bool
read_condition(const char *field, LoomCondition *condition)
{
  for (*condition = LOOM_CONDITION_GOOD; *condition <= LOOM_CONDITION_BROKEN; (*condition)++)
    if (g_ascii_strcasecmp(field, loom_condition_word(*condition)) == 0)
      return true;
  *condition = LOOM_CONDITION_GOOD;
  return *field == '\0';
}

/* Fields of one record; the strings stay the table's. */
static bool
read_row(const LoomCsvTable *table, guint r, const Columns *c, const char *name, LoomStockRow *row,
         GError **error)
{
  const char *count = loom_csv_field(table, r, c->count),
             *price = loom_csv_field(table, r, c->price);
  const char *condition = loom_csv_field(table, r, c->condition);
  guint line = table->rows[r].line;
  guint64 number;
  *row = (LoomStockRow){.kind = (char *)loom_csv_field(table, r, c->kind),
                        .where = (char *)loom_csv_field(table, r, c->where),
                        .note = (char *)loom_csv_field(table, r, c->note),
                        .price = NAN};
  if (!*row->kind)
    return row_fail(name, line, error, g_strdup(_("The kind must be named.")));
  if (!g_ascii_string_to_unsigned(count, 10, 0, LOOM_STOCK_MOST, &number, NULL))
    return row_fail(
        name, line, error,
        g_strdup_printf(_("The count must be a whole number up to a million, not \"%s\"."), count));
  if (*price && !(loom_number_from_text(price, &row->price) && row->price >= 0))
    return row_fail(
        name, line, error,
        g_strdup_printf(_("The price must be a number that is not negative, not \"%s\"."), price));
  if (!read_condition(condition, &row->condition))
    return row_fail(
        name, line, error,
        g_strdup_printf(_("The condition must be good, worn or broken, not \"%s\"."), condition));
  row->count = (guint)number;
  if (!*row->note)
    row->note = NULL;
  return true;
}

/* Puts a row in; one with the same key is added up. */
static void
add_row(GPtrArray *rows, const LoomStockRow *row)
{
  bool found;
  guint index = loom_stock_rows_find(rows, row, &found);
  if (!found) {
    g_ptr_array_insert(rows, (int)index, loom_stock_row_copy(row));
    return;
  }
  LoomStockRow *old = rows->pdata[index];
  old->count = MIN(old->count + row->count, LOOM_STOCK_MOST);
  old->price = fmin(old->price, row->price);
  if (!old->note)
    old->note = g_strdup(row->note);
}

LoomStock *
loom_stock_parse(const char *bytes, gsize length, const char *name, GError **error)
{
  g_autoptr(LoomCsvTable) table = loom_csv_parse(bytes, length, name, error);
  Columns columns = {0};
  if (!table || (table->n_rows > 0 && !find_columns(table, name, &columns, error)))
    return NULL;
  g_autoptr(GPtrArray) rows = loom_stock_rows_new();
  for (guint i = 1; i < table->n_rows; i++) {
    LoomStockRow row;
    if (!read_row(table, i, &columns, name, &row, error))
      return NULL;
    add_row(rows, &row);
  }
  LoomStock *stock = loom_stock_new();
  loom_stock_take_rows(stock, g_steal_pointer(&rows));
  return stock;
}

char *
loom_stock_to_text(const LoomStock *stock)
{
  g_autoptr(LoomCsv) csv = loom_csv_new();
  loom_csv_row(csv, "kind", "count", "where", "condition", "price", "note", NULL);
  for (guint i = 0; i < stock->rows->len; i++) {
    const LoomStockRow *row = stock->rows->pdata[i];
    loom_csv_text(csv, row->kind);
    loom_csv_whole(csv, row->count);
    loom_csv_text(csv, row->where);
    loom_csv_text(csv, loom_condition_word(row->condition));
    loom_csv_number(csv, row->price);
    loom_csv_text(csv, row->note);
    loom_csv_end_row(csv);
  }
  return g_strdup(loom_csv_bytes(csv));
}

char *
loom_stock_default_path(void)
{
  return g_build_filename(g_get_user_data_dir(), "loombook", "stock.csv", NULL);
}

/* Takes the sentence. */
static bool
file_fail(GError **error, const char *path, char *said)
{
  g_set_error(error, LOOM_ERROR, LOOM_ERROR_FILE, "%s: %s", path, said);
  g_free(said);
  return false;
}

LoomStock *
loom_stock_open(const char *path, GError **error)
{
  g_autofree char *bytes = NULL;
  gsize length;
  g_autoptr(GError) reading = NULL;
  if (!g_file_get_contents(path, &bytes, &length, &reading)) {
    if (g_error_matches(reading, G_FILE_ERROR, G_FILE_ERROR_NOENT))
      return loom_stock_new();
    file_fail(error, path, g_strdup_printf(_("The stock cannot be read: %s."), reading->message));
    return NULL;
  }
  LoomStock *stock = loom_stock_parse(bytes, length, path, error);
  if (stock) {
    g_ptr_array_unref(stock->base);
    stock->base = loom_stock_rows_copy(stock->rows);
  }
  return stock;
}

static bool
same_price(double a, double b)
{
  return a == b || (isnan(a) && isnan(b));
}

/* `theirs` with the difference between `base` (NULL: a new row) and `ours` put onto it. New. */
static LoomStockRow *
combine(const LoomStockRow *theirs, const LoomStockRow *base, const LoomStockRow *ours)
{
  LoomStockRow *row = loom_stock_row_copy(theirs);
  gint64 count = (gint64)theirs->count + ours->count - (base ? base->count : 0);
  row->count = (guint)CLAMP(count, 0, LOOM_STOCK_MOST);
  if (!same_price(ours->price, base ? base->price : NAN))
    row->price = ours->price;
  if (g_strcmp0(ours->note, base ? base->note : NULL) != 0) {
    g_free(row->note);
    row->note = g_strdup(ours->note);
  }
  return row;
}

/* The row has been removed here: what others put into it since is still there. New or NULL. */
static LoomStockRow *
what_others_added(const LoomStockRow *theirs, const LoomStockRow *base)
{
  if (theirs->count <= base->count)
    return NULL;
  LoomStockRow *row = loom_stock_row_copy(theirs);
  row->count = theirs->count - base->count;
  return row;
}

/* What becomes of one row; NULL as an argument: not there. New, or NULL: it goes. */
static LoomStockRow *
merge_row(const LoomStockRow *theirs, const LoomStockRow *base, const LoomStockRow *ours)
{
  bool untouched = base && ours ? loom_stock_row_equal(base, ours) : base == ours;
  if (untouched)
    return theirs ? loom_stock_row_copy(theirs) : NULL;
  if (!ours)
    return theirs && base ? what_others_added(theirs, base) : NULL;
  return theirs ? combine(theirs, base, ours) : loom_stock_row_copy(ours);
}

static const LoomStockRow *
same_key(const GPtrArray *rows, const LoomStockRow *key)
{
  bool found;
  guint index = loom_stock_rows_find(rows, key, &found);
  return found ? rows->pdata[index] : NULL;
}

GPtrArray *
loom_stock_rows_merge(const GPtrArray *theirs, const GPtrArray *base, const GPtrArray *ours)
{
  g_autoptr(GPtrArray) keys = loom_stock_rows_new();
  const GPtrArray *all[] = {theirs, base, ours};
  for (guint k = 0; k < G_N_ELEMENTS(all); k++)
    for (guint i = 0; i < all[k]->len; i++)
      add_row(keys, all[k]->pdata[i]);
  GPtrArray *merged = loom_stock_rows_new();
  for (guint i = 0; i < keys->len; i++) {
    const LoomStockRow *key = keys->pdata[i];
    LoomStockRow *row = merge_row(same_key(theirs, key), same_key(base, key), same_key(ours, key));
    if (row)
      g_ptr_array_add(merged, row);
  }
  return merged;
}

/* Takes the lock that belongs to `path`; the descriptor, or -1 with `error`. Closing it gives it
 * back.
 */
static int
lock(const char *path, GError **error)
{
  g_autofree char *name = g_strconcat(path, ".lock", NULL);
  int fd = g_open(name, O_RDWR | O_CREAT | O_CLOEXEC, 0666);
  gint64 until = g_get_monotonic_time() + LOCK_PATIENCE_US;
  while (fd >= 0 && flock(fd, LOCK_EX | LOCK_NB) != 0) {
    if ((errno != EWOULDBLOCK && errno != EINTR) || g_get_monotonic_time() > until) {
      int reason = errno;
      close(fd);
      file_fail(error, path,
                g_strdup_printf(_("The stock cannot be locked: %s."),
                                reason == EWOULDBLOCK ? _("another program holds it")
                                                      : g_strerror(reason)));
      return -1;
    }
    g_usleep(LOCK_PAUSE_US);
  }
  if (fd < 0)
    file_fail(error, path,
              g_strdup_printf(_("The stock cannot be locked: %s."), g_strerror(errno)));
  return fd;
}

/* Reads what lies at `path`, merges and, where `write`, replaces the file. */
static bool
exchange(LoomStock *stock, const char *path, bool write, GError **error)
{
  g_autoptr(LoomStock) theirs = loom_stock_open(path, error);
  if (!theirs)
    return false;
  g_autoptr(LoomStock) merged = loom_stock_new();
  loom_stock_take_rows(merged, loom_stock_rows_merge(theirs->rows, stock->base, stock->rows));
  if (write) {
    g_autofree char *text = loom_stock_to_text(merged);
    g_autoptr(GError) writing = NULL;
    if (!g_file_set_contents_full(path, text, -1,
                                  G_FILE_SET_CONTENTS_CONSISTENT | G_FILE_SET_CONTENTS_DURABLE,
                                  0666, &writing))
      return file_fail(error, path,
                       g_strdup_printf(_("The stock cannot be written: %s."), writing->message));
  }
  const LoomStock *base = write ? merged : theirs;
  g_ptr_array_unref(stock->base);
  stock->base = loom_stock_rows_copy(base->rows);
  loom_stock_take_rows(stock, loom_stock_rows_copy(merged->rows));
  return true;
}

bool
loom_stock_save(LoomStock *stock, const char *path, GError **error)
{
  g_autofree char *folder = g_path_get_dirname(path);
  if (g_mkdir_with_parents(folder, 0777) != 0)
    return file_fail(error, path,
                     g_strdup_printf(_("The stock cannot be written: %s."), g_strerror(errno)));
  int fd = lock(path, error);
  if (fd < 0)
    return false;
  bool ok = exchange(stock, path, true, error);
  close(fd);
  return ok;
}

bool
loom_stock_refresh(LoomStock *stock, const char *path, GError **error)
{
  g_autoptr(GPtrArray) before = loom_stock_rows_copy(stock->rows);
  return exchange(stock, path, false, error) && !loom_stock_rows_equal(before, stock->rows);
}
