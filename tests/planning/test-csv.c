/* RFC 4180 by its own rules, and read back by a reader that is not ours (Python's csv module). */
#include "planning/csv.h"

#include <glib/gstdio.h>

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

static LoomCsvTable *
parse(const char *text)
{
  g_autoptr(GError) error = NULL;
  LoomCsvTable *table = loom_csv_parse(text, strlen(text), "t.csv", &error);
  assert_null(error);
  assert_non_null(table);
  return table;
}

static void
assert_sentence(const char *bytes, gsize length, const char *expected)
{
  g_autoptr(GError) error = NULL;
  assert_null(loom_csv_parse(bytes, length, "t.csv", &error));
  assert_true(g_error_matches(error, LOOM_ERROR, LOOM_ERROR_SYNTAX));
  assert_string_equal(error->message, expected);
}

/* RFC 4180 section 2, rules 1 (CRLF), 5 (quotes), 6 (fields that need them), 7 (doubled quotes). */
static void
writes_by_the_rules(void **state)
{
  (void)state;
  g_autoptr(LoomCsv) csv = loom_csv_new();
  loom_csv_row(csv, "a", "b", NULL);
  loom_csv_text(csv, "x,y");
  loom_csv_text(csv, "he said \"go\"");
  loom_csv_text(csv, "two\nlines");
  loom_csv_text(csv, NULL);
  loom_csv_text(csv, "");
  loom_csv_end_row(csv);
  assert_string_equal(loom_csv_bytes(csv),
                      "a,b\r\n\"x,y\",\"he said \"\"go\"\"\",\"two\nlines\",,\r\n");
}

static void
writes_numbers_in_no_locale(void **state)
{
  (void)state;
  g_autoptr(LoomCsv) csv = loom_csv_new();
  loom_csv_number(csv, 0.1);
  loom_csv_number(csv, NAN);
  loom_csv_number(csv, INFINITY);
  loom_csv_rounded(csv, 2.0 / 3.0, 3);
  loom_csv_rounded(csv, -0.0001, 2);
  loom_csv_rounded(csv, 12.0, 2);
  loom_csv_whole(csv, -42);
  loom_csv_end_row(csv);
  assert_string_equal(loom_csv_bytes(csv), "0.1,,,0.667,0,12,-42\r\n");
}

/* RFC 4180 section 2: a last line without its break; fields of one record are kept in order. */
static void
reads_by_the_rules(void **state)
{
  (void)state;
  g_autoptr(LoomCsvTable) t = parse("aaa,bbb,ccc\r\n\"aaa\",\"b\r\nb\"\"b\",\r\n\r\nzzz,yyy,xxx");
  assert_int_equal(t->n_rows, 3);
  assert_int_equal(t->rows[1].n_fields, 3);
  assert_string_equal(t->rows[1].fields[1], "b\r\nb\"b");
  assert_string_equal(t->rows[1].fields[2], "");
  assert_int_equal(t->rows[2].line, 5);
  assert_string_equal(loom_csv_field(t, 2, 2), "xxx");
  assert_string_equal(loom_csv_field(t, 2, 3), "");
  assert_string_equal(loom_csv_field(t, 2, G_MAXUINT), "");
  assert_int_equal(loom_csv_column(t, "BBB"), 1);
  assert_int_equal(loom_csv_column(t, "none"), G_MAXUINT);
}

static void
takes_what_spreadsheets_write(void **state)
{
  (void)state;
  g_autoptr(LoomCsvTable) t = parse("\xef\xbb\xbfkind,count\nfuse,2\n");
  assert_int_equal(t->n_rows, 2);
  assert_int_equal(loom_csv_column(t, "kind"), 0);
  assert_string_equal(loom_csv_field(t, 1, 1), "2");
  g_autoptr(LoomCsvTable) empty = parse("");
  assert_int_equal(empty->n_rows, 0);
  assert_int_equal(loom_csv_column(empty, "kind"), G_MAXUINT);
}

static void
refuses_with_the_line(void **state)
{
  (void)state;
  const char *open = "a\r\n\"b\r\nc", *stray = "a\r\nb\"c\r\n", *after = "\"a\"b\r\n";
  assert_sentence(open, strlen(open),
                  "t.csv:2: A field is quoted and its closing quote is missing.");
  assert_sentence(stray, strlen(stray),
                  "t.csv:2: A quote stands inside a field that is not quoted.");
  assert_sentence(after, strlen(after),
                  "t.csv:1: Something follows a closing quote; a comma must.");
  assert_sentence("a\nb\n\xff", 5, "t.csv:3: This is not UTF-8 text.");
  assert_sentence("a\0b", 3, "t.csv:1: This is not UTF-8 text.");
}

/* Random fields of the characters that matter; printed seed. */
static GPtrArray *
random_fields(GRand *rand, guint n)
{
  static const char *const pieces[] = {"a", ",", "\"", "\r\n", "\n", " ", "Ω", ";", "12.5"};
  GPtrArray *fields = g_ptr_array_new_with_free_func(g_free);
  for (guint i = 0; i < n; i++) {
    g_autoptr(GString) field = g_string_new(i % 7 ? NULL : "x");
    for (int k = g_rand_int_range(rand, 0, 6); k > 0; k--)
      g_string_append(field, pieces[g_rand_int_range(rand, 0, G_N_ELEMENTS(pieces))]);
    g_ptr_array_add(fields, g_string_free(g_steal_pointer(&field), FALSE));
  }
  return fields;
}

#define ROWS 50
#define COLUMNS 7

static char *
written(const GPtrArray *fields)
{
  g_autoptr(LoomCsv) csv = loom_csv_new();
  for (guint i = 0; i < fields->len; i++) {
    loom_csv_text(csv, fields->pdata[i]);
    if (i % COLUMNS == COLUMNS - 1)
      loom_csv_end_row(csv);
  }
  return g_strdup(loom_csv_bytes(csv));
}

static void
reads_back_what_it_wrote(void **state)
{
  (void)state;
  for (guint32 seed = 1; seed <= 40; seed++) {
    g_autoptr(GRand) rand = g_rand_new_with_seed(seed);
    g_autoptr(GPtrArray) fields = random_fields(rand, ROWS * COLUMNS);
    g_autofree char *text = written(fields);
    g_autoptr(LoomCsvTable) table = parse(text);
    assert_int_equal(table->n_rows, ROWS);
    for (guint i = 0; i < fields->len; i++)
      if (!g_str_equal(loom_csv_field(table, i / COLUMNS, i % COLUMNS), fields->pdata[i]))
        fail_msg("seed %u, field %u", seed, i);
  }
}

/* The reader prints every field on a line of its own, in hexadecimal. */
static const char script[] = "import csv,sys,io\n"
                             "text=open(sys.argv[1],encoding='utf-8',newline='').read()\n"
                             "for row in csv.reader(io.StringIO(text,newline=''),strict=True):\n"
                             "  for field in row: print('x'+field.encode('utf-8').hex())\n";

static void
another_reader_agrees(void **state)
{
  (void)state;
  g_autoptr(GRand) rand = g_rand_new_with_seed(4180);
  g_autoptr(GPtrArray) fields = random_fields(rand, ROWS * COLUMNS);
  g_autofree char *text = written(fields), *name = NULL, *out = NULL;
  int fd = g_file_open_tmp("loom-XXXXXX.csv", &name, NULL), status = -1;
  assert_true(fd >= 0 && g_file_set_contents(name, text, -1, NULL));
  g_close(fd, NULL);
  char *argv[] = {(char *)"python3", (char *)"-c", (char *)script, name, NULL};
  assert_true(
      g_spawn_sync(NULL, argv, NULL, G_SPAWN_SEARCH_PATH, NULL, NULL, &out, NULL, &status, NULL));
  assert_int_equal(status, 0);
  g_unlink(name);
  g_auto(GStrv) lines = g_strsplit(out, "\n", -1);
  assert_int_equal(g_strv_length(lines), fields->len + 1);
  for (guint i = 0; i < fields->len; i++) {
    g_autoptr(GString) hex = g_string_new("x");
    for (const char *p = fields->pdata[i]; *p; p++)
      g_string_append_printf(hex, "%02x", (unsigned char)*p);
    assert_string_equal(lines[i], hex->str);
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(writes_by_the_rules),   cmocka_unit_test(writes_numbers_in_no_locale),
      cmocka_unit_test(reads_by_the_rules),    cmocka_unit_test(takes_what_spreadsheets_write),
      cmocka_unit_test(refuses_with_the_line), cmocka_unit_test(reads_back_what_it_wrote),
      cmocka_unit_test(another_reader_agrees),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
