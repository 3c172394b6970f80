#include "table.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

/* One record from `*at` on, which is moved behind it. */
static char **
read_record(const char **at)
{
  g_autoptr(GPtrArray) fields = g_ptr_array_new();
  g_autoptr(GString) field = g_string_new(NULL);
  bool quoted = false;
  for (const char *p = *at;; p++) {
    bool doubled = quoted && p[0] == '"' && p[1] == '"';
    if (doubled) {
      g_string_append_c(field, *p++);
    } else if (*p == '"') {
      quoted = !quoted;
    } else if (!quoted && (*p == ',' || *p == '\n' || *p == '\0')) {
      g_ptr_array_add(fields, g_strdup(field->str));
      g_string_truncate(field, 0);
      *at = *p == '\n' ? p + 1 : p;
      if (*p != ',')
        break;
    } else if (*p != '\r') {
      g_string_append_c(field, *p);
    }
  }
  g_ptr_array_add(fields, NULL);
  return (char **)g_ptr_array_free(g_steal_pointer(&fields), FALSE);
}

Table *
table_read(const char *name)
{
  g_autofree char *path = g_build_filename(LOOM_TEST_REFERENCE, name, NULL);
  g_autofree char *text = NULL;
  if (!g_file_get_contents(path, &text, NULL, NULL))
    fail_msg("cannot read %s", path);
  Table *t = g_new0(Table, 1);
  const char *at = text;
  t->header = read_record(&at);
  t->n_columns = g_strv_length(t->header);
  GPtrArray *rows = g_ptr_array_new();
  while (*at)
    g_ptr_array_add(rows, read_record(&at));
  t->n_rows = rows->len;
  t->rows = (char ***)g_ptr_array_free(rows, FALSE);
  return t;
}

void
table_free(Table *t)
{
  for (guint i = 0; i < t->n_rows; i++)
    g_strfreev(t->rows[i]);
  g_free(t->rows);
  g_strfreev(t->header);
  g_free(t);
}

const char *
table_text(const Table *t, guint row, const char *column)
{
  for (guint c = 0; c < t->n_columns; c++)
    if (g_str_equal(t->header[c], column))
      return c < g_strv_length(t->rows[row]) ? t->rows[row][c] : "";
  fail_msg("no column %s", column);
  return "";
}

double
table_number(const Table *t, guint row, const char *column)
{
  const char *text = table_text(t, row, column);
  char *end = NULL;
  double value = g_ascii_strtod(text, &end);
  return end == text || *end ? NAN : value;
}
