#include "command.h"

#include <glib/gi18n-lib.h>
#include <stdarg.h>
#include <stdio.h>

struct Table {
  guint n_columns;
  GPtrArray *cells; /* row by row, the header first */
  gboolean *right;  /* [n_columns] */
};

Table *
table_new(const char *const *columns, guint n)
{
  Table *table = g_new0(Table, 1);
  table->n_columns = n;
  table->cells = g_ptr_array_new_with_free_func(g_free);
  table->right = g_new0(gboolean, n);
  for (guint i = 0; i < n; i++)
    table_cell(table, *columns[i] ? _(columns[i]) : "");
  return table;
}

void
table_flush_right(Table *table, guint column)
{
  table->right[column] = TRUE;
}

void
table_cell(Table *table, const char *text)
{
  g_ptr_array_add(table->cells, g_strdup(text ? text : ""));
}

void
table_cellf(Table *table, const char *format, ...)
{
  va_list arguments;
  va_start(arguments, format);
  g_ptr_array_add(table->cells, g_strdup_vprintf(format, arguments));
  va_end(arguments);
}

static guint
width_of(const Table *table, guint column)
{
  glong width = 0;
  for (guint i = column; i < table->cells->len; i += table->n_columns)
    width = MAX(width, g_utf8_strlen(table->cells->pdata[i], -1));
  return (guint)width;
}

void
table_print(Table *table)
{
  g_autofree guint *widths = g_new(guint, table->n_columns);
  for (guint c = 0; c < table->n_columns; c++)
    widths[c] = width_of(table, c);
  for (guint i = 0; i < table->cells->len; i++) {
    guint column = i % table->n_columns;
    const char *text = table->cells->pdata[i];
    int pad = (int)(widths[column] - (guint)g_utf8_strlen(text, -1));
    bool last = column + 1 == table->n_columns;
    if (table->right[column])
      printf("%*s%s", pad, "", text);
    else
      printf("%s%*s", text, last ? 0 : pad, "");
    fputs(last ? "\n" : "  ", stdout);
  }
  g_ptr_array_unref(table->cells);
  g_free(table->right);
  g_free(table);
}
