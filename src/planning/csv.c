#include "csv.h"

#include "catalogue/xml.h"

#include <glib/gi18n-lib.h>
#include <math.h>
#include <stdarg.h>
#include <string.h>

struct LoomCsv {
  GString *bytes;
  bool in_row; /* a field has been written since the last end of a record */
};

LoomCsv *
loom_csv_new(void)
{
  LoomCsv *csv = g_new0(LoomCsv, 1);
  csv->bytes = g_string_new(NULL);
  return csv;
}

void
loom_csv_free(LoomCsv *csv)
{
  if (!csv)
    return;
  g_string_free(csv->bytes, TRUE);
  g_free(csv);
}

void
loom_csv_text(LoomCsv *csv, const char *field)
{
  if (csv->in_row)
    g_string_append_c(csv->bytes, ',');
  csv->in_row = true;
  if (!field)
    return;
  if (!strpbrk(field, ",\"\r\n")) {
    g_string_append(csv->bytes, field);
    return;
  }
  g_string_append_c(csv->bytes, '"');
  for (const char *p = field; *p; p++) {
    if (*p == '"')
      g_string_append_c(csv->bytes, '"');
    g_string_append_c(csv->bytes, *p);
  }
  g_string_append_c(csv->bytes, '"');
}

void
loom_csv_number(LoomCsv *csv, double number)
{
  g_autofree char *text = isfinite(number) ? loom_number_to_text(number) : NULL;
  loom_csv_text(csv, text);
}

void
loom_csv_rounded(LoomCsv *csv, double number, int decimals)
{
  double scale = pow(10, decimals);
  double rounded = round(number * scale) / scale;
  loom_csv_number(csv, rounded == 0 ? 0 : rounded);
}

void
loom_csv_whole(LoomCsv *csv, gint64 number)
{
  char text[24];
  g_snprintf(text, sizeof text, "%" G_GINT64_FORMAT, number);
  loom_csv_text(csv, text);
}

void
loom_csv_end_row(LoomCsv *csv)
{
  g_string_append(csv->bytes, "\r\n");
  csv->in_row = false;
}

void
loom_csv_row(LoomCsv *csv, ...)
{
  va_list fields;
  va_start(fields, csv);
  for (const char *field; (field = va_arg(fields, const char *));)
    loom_csv_text(csv, field);
  va_end(fields);
  loom_csv_end_row(csv);
}

const char *
loom_csv_bytes(const LoomCsv *csv)
{
  return csv->bytes->str;
}

/* The reader's place in the text. */
typedef struct {
  const char *p, *end;
  const char *name;
  guint line;
  GError **error;
} Reader;

static bool
fail(Reader *r, guint line, const char *what)
{
  g_set_error(r->error, LOOM_ERROR, LOOM_ERROR_SYNTAX, "%s:%u: %s", r->name, line, what);
  return false;
}

static bool
at_line_end(const Reader *r)
{
  return r->p == r->end || *r->p == '\n' ||
         (*r->p == '\r' && (r->p + 1 == r->end || r->p[1] == '\n'));
}

static void
skip_line_end(Reader *r)
{
  if (r->p < r->end && *r->p == '\r')
    r->p++;
  if (r->p < r->end && *r->p == '\n')
    r->p++;
  r->line++;
}

/* Inside quotes: everything up to the closing one. */
static bool
read_quoted(Reader *r, GString *field)
{
  guint begun = r->line;
  for (r->p++; r->p < r->end; r->p++) {
    if (*r->p == '"') {
      if (r->p + 1 == r->end || r->p[1] != '"') {
        r->p++;
        return at_line_end(r) || *r->p == ',' ||
               fail(r, r->line, _("Something follows a closing quote; a comma must."));
      }
      r->p++;
    } else if (*r->p == '\n') {
      r->line++;
    }
    g_string_append_c(field, *r->p);
  }
  return fail(r, begun, _("A field is quoted and its closing quote is missing."));
}

static bool
read_plain(Reader *r, GString *field)
{
  for (; !at_line_end(r) && *r->p != ','; r->p++) {
    if (*r->p == '"')
      return fail(r, r->line, _("A quote stands inside a field that is not quoted."));
    g_string_append_c(field, *r->p);
  }
  return true;
}

/* One record into `fields`; the reader stands behind its line end afterwards. */
static bool
read_row(Reader *r, GPtrArray *fields)
{
  for (;;) {
    g_autoptr(GString) field = g_string_new(NULL);
    if (!(r->p < r->end && *r->p == '"' ? read_quoted(r, field) : read_plain(r, field)))
      return false;
    g_ptr_array_add(fields, g_string_free(g_steal_pointer(&field), FALSE));
    if (at_line_end(r))
      break;
    r->p++;
  }
  skip_line_end(r);
  return true;
}

static bool
read_rows(Reader *r, GArray *rows)
{
  while (r->p < r->end) {
    if (at_line_end(r)) {
      skip_line_end(r);
      continue;
    }
    struct LoomCsvRow row = {.line = r->line};
    g_autoptr(GPtrArray) fields = g_ptr_array_new_with_free_func(g_free);
    if (!read_row(r, fields))
      return false;
    row.n_fields = fields->len;
    g_ptr_array_add(fields, NULL);
    row.fields = (char **)g_ptr_array_steal(fields, NULL);
    g_array_append_val(rows, row);
  }
  return true;
}

static LoomCsvTable *
table_of(GArray *rows)
{
  LoomCsvTable *table = g_new0(LoomCsvTable, 1);
  table->n_rows = rows->len;
  table->rows = (struct LoomCsvRow *)g_array_free(rows, FALSE);
  return table;
}

LoomCsvTable *
loom_csv_parse(const char *bytes, gsize length, const char *name, GError **error)
{
  Reader r = {.p = bytes, .end = bytes + length, .name = name, .line = 1, .error = error};
  const char *bad;
  if (!g_utf8_validate_len(bytes, length, &bad)) {
    for (const char *p = bytes; p < bad; p++)
      r.line += *p == '\n';
    fail(&r, r.line, _("This is not UTF-8 text."));
    return NULL;
  }
  if (length >= 3 && memcmp(bytes, "\xef\xbb\xbf", 3) == 0)
    r.p += 3;
  GArray *rows = g_array_new(FALSE, FALSE, sizeof(struct LoomCsvRow));
  bool ok = read_rows(&r, rows);
  g_autoptr(LoomCsvTable) table = table_of(rows);
  return ok ? g_steal_pointer(&table) : NULL;
}

void
loom_csv_table_free(LoomCsvTable *table)
{
  if (!table)
    return;
  for (guint i = 0; i < table->n_rows; i++)
    g_strfreev(table->rows[i].fields);
  g_free(table->rows);
  g_free(table);
}

guint
loom_csv_column(const LoomCsvTable *table, const char *name)
{
  if (table->n_rows == 0)
    return G_MAXUINT;
  for (guint i = 0; i < table->rows[0].n_fields; i++)
    if (g_ascii_strcasecmp(table->rows[0].fields[i], name) == 0)
      return i;
  return G_MAXUINT;
}

const char *
loom_csv_field(const LoomCsvTable *table, guint row, guint column)
{
  return column < table->rows[row].n_fields ? table->rows[row].fields[column] : "";
}
