#include "command.h"
#include "design/file.h"

#include <glib/gi18n-lib.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

/* loom stock                       what the boxes hold
 * loom stock set KIND COUNT [WHERE] [PRICE]
 * loom stock remove KIND [WHERE]
 * loom stock read FILE             takes the rows of a CSV file over */

static char *
stock_path(const Call *call)
{
  return call->stock ? g_strdup(call->stock) : loom_stock_default_path();
}

static int
print_stock(const Call *call, const LoomStock *stock)
{
  static const char *const columns[] = {N_("kind"),      N_("count"), N_("where"),
                                        N_("condition"), N_("price"), N_("note")};
  if (call->csv) {
    g_autofree char *text = loom_stock_to_text(stock);
    fputs(text, stdout);
    return 0;
  }
  Table *table = table_new(columns, G_N_ELEMENTS(columns));
  table_flush_right(table, 1);
  table_flush_right(table, 4);
  for (guint i = 0; i < loom_stock_n_rows(stock); i++) {
    const LoomStockRow *row = loom_stock_row(stock, i);
    table_cell(table, row->kind);
    table_cellf(table, "%u", row->count);
    table_cell(table, row->where);
    table_cell(table, loom_condition_word(row->condition));
    table_cellf(table, isnan(row->price) ? "" : "%.2f", row->price);
    table_cell(table, row->note);
  }
  table_print(table);
  return 0;
}

static bool
set_row(const Call *call, LoomStock *stock, GError **error)
{
  double count, price = NAN;
  const char *where = call->n_words > 3 ? call->words[3] : "";
  if (!loom_number_from_text(call->words[2], &count) || count < 0 || count > 100000 ||
      count > floor(count)) {
    g_set_error(error, LOOM_ERROR, LOOM_ERROR_EDIT, _("\"%s\" is not a count."), call->words[2]);
    return false;
  }
  if (call->n_words > 4 && (!loom_number_from_text(call->words[4], &price) || price < 0)) {
    g_set_error(error, LOOM_ERROR, LOOM_ERROR_EDIT, _("\"%s\" is not a price."), call->words[4]);
    return false;
  }
  loom_stock_set(stock, call->words[1], where, LOOM_CONDITION_GOOD, (guint)count, price);
  return true;
}

static bool
remove_row(const Call *call, LoomStock *stock, GError **error)
{
  const char *where = call->n_words > 2 ? call->words[2] : "";
  if (loom_stock_remove(stock, call->words[1], where, LOOM_CONDITION_GOOD))
    return true;
  g_set_error(error, LOOM_ERROR, LOOM_ERROR_REFERENCE, _("The stock has no %s%s%s."),
              call->words[1], *where ? _(" in ") : "", where);
  return false;
}

static bool
read_rows(const Call *call, LoomStock *stock, GError **error)
{
  g_autoptr(GError) cause = NULL;
  g_autofree char *text = NULL;
  gsize length;
  if (!g_file_get_contents(call->words[1], &text, &length, &cause)) {
    g_set_error(error, LOOM_ERROR, LOOM_ERROR_FILE, _("%s:0: Cannot be read: %s."), call->words[1],
                cause->message);
    return false;
  }
  g_autoptr(LoomStock) rows = loom_stock_parse(text, length, call->words[1], error);
  if (!rows)
    return false;
  for (guint i = 0; i < loom_stock_n_rows(rows); i++) {
    const LoomStockRow *row = loom_stock_row(rows, i);
    loom_stock_set(stock, row->kind, row->where, row->condition, row->count, row->price);
    loom_stock_set_note(stock, row->kind, row->where, row->condition, row->note);
  }
  return true;
}

typedef bool (*StockChange)(const Call *call, LoomStock *stock, GError **error);

static StockChange
find_change(const Call *call)
{
  static const struct {
    const char *word;
    guint least, most;
    StockChange change;
  } changes[] = {{"set", 3, 5, set_row}, {"remove", 2, 3, remove_row}, {"read", 2, 2, read_rows}};
  for (guint i = 0; i < G_N_ELEMENTS(changes); i++)
    if (g_str_equal(changes[i].word, call->words[0]) && call->n_words >= changes[i].least &&
        call->n_words <= changes[i].most)
      return changes[i].change;
  return NULL;
}

int
command_stock(const Call *call)
{
  GError *error = NULL;
  g_autofree char *path = stock_path(call);
  StockChange change = call->n_words ? find_change(call) : NULL;
  if (call->n_words && !change)
    return command_wrong(_("It is called: loom stock, loom stock set KIND COUNT [WHERE] [PRICE], "
                           "loom stock remove KIND [WHERE] or loom stock read FILE."));
  g_autoptr(LoomStock) stock = loom_stock_open(path, &error);
  if (!stock)
    return command_fail(error);
  if (!change)
    return print_stock(call, stock);
  if (!change(call, stock, &error) || !loom_stock_save(stock, path, &error))
    return command_fail(error);
  return 0;
}
