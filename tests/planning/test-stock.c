/* The team's boxes: rows, sums, CSV, and two programs at once. */
#include "planning/stock.h"

#include <glib/gstdio.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>

/* A folder of the test's own, emptied afterwards. */
typedef struct {
  char *folder, *path;
} Place;

static int
set_up(void **state)
{
  Place *place = g_new0(Place, 1);
  place->folder = g_dir_make_tmp("loom-stock-XXXXXX", NULL);
  place->path = g_build_filename(place->folder, "team", "stock.csv", NULL);
  *state = place;
  return place->folder ? 0 : -1;
}

static void
remove_in(const char *folder)
{
  g_autoptr(GDir) dir = g_dir_open(folder, 0, NULL);
  for (const char *name; dir && (name = g_dir_read_name(dir));) {
    g_autofree char *path = g_build_filename(folder, name, NULL);
    if (g_file_test(path, G_FILE_TEST_IS_DIR))
      remove_in(path);
    g_remove(path);
  }
}

static int
tear_down(void **state)
{
  Place *place = *state;
  remove_in(place->folder);
  g_rmdir(place->folder);
  g_free(place->folder);
  g_free(place->path);
  g_free(place);
  return 0;
}

static LoomStock *
parse(const char *text)
{
  g_autoptr(GError) error = NULL;
  LoomStock *stock = loom_stock_parse(text, strlen(text), "s.csv", &error);
  assert_null(error);
  assert_non_null(stock);
  return stock;
}

static void
save(LoomStock *stock, const char *path)
{
  g_autoptr(GError) error = NULL;
  assert_true(loom_stock_save(stock, path, &error));
  assert_null(error);
}

static LoomStock *
open_stock(const char *path)
{
  g_autoptr(GError) error = NULL;
  LoomStock *stock = loom_stock_open(path, &error);
  assert_null(error);
  assert_non_null(stock);
  return stock;
}

static void
counts_what_is_usable(void **state)
{
  (void)state;
  g_autoptr(LoomStock) s = loom_stock_new();
  loom_stock_set(s, "lead", "blue box", LOOM_CONDITION_GOOD, 4, 3.5);
  loom_stock_set(s, "lead", "shelf", LOOM_CONDITION_WORN, 2, NAN);
  loom_stock_set(s, "lead", "bin", LOOM_CONDITION_BROKEN, 7, 1);
  assert_int_equal(loom_stock_count(s, "lead"), 6);
  assert_int_equal(loom_stock_count(s, "other"), 0);
  assert_int_equal(loom_stock_count(NULL, "lead"), 0);
  assert_true(loom_stock_price(s, "lead") == 1);
  assert_true(isnan(loom_stock_price(s, "other")));
  g_autofree char *where = loom_stock_where(s, "lead"), *none = loom_stock_where(s, "other");
  assert_string_equal(where, "blue box, shelf");
  assert_null(none);
  loom_stock_set(s, "lead", "blue box", LOOM_CONDITION_GOOD, 1, 3.5);
  assert_int_equal(loom_stock_count(s, "lead"), 3);
  assert_true(loom_stock_remove(s, "lead", "shelf", LOOM_CONDITION_WORN));
  assert_false(loom_stock_remove(s, "lead", "shelf", LOOM_CONDITION_WORN));
  assert_int_equal(loom_stock_count(s, "lead"), 1);
  assert_int_equal(loom_stock_n_rows(s), 2);
}

static void
reads_what_a_team_would_write(void **state)
{
  (void)state;
  g_autoptr(LoomStock) s = parse("Count,Owner,Kind\r\n3,Ada,fuse\r\n2,Bo,fuse\r\n1,Bo,lead\r\n");
  assert_int_equal(loom_stock_n_rows(s), 2);
  assert_int_equal(loom_stock_count(s, "fuse"), 5);
  g_autofree char *text = loom_stock_to_text(s);
  assert_string_equal(text, "kind,count,where,condition,price,note\r\n"
                            "fuse,5,,good,,\r\nlead,1,,good,,\r\n");
  g_autoptr(LoomStock) full = parse("kind,count,where,condition,price,note\r\n"
                                    "pack,2,\"box 1, left\",worn,49.9,\"says \"\"B\"\"\"\r\n");
  g_autofree char *again = loom_stock_to_text(full);
  assert_string_equal(again, "kind,count,where,condition,price,note\r\n"
                             "pack,2,\"box 1, left\",worn,49.9,\"says \"\"B\"\"\"\r\n");
}

static void
names_what_is_wrong(void **state)
{
  (void)state;
  static const struct {
    const char *text, *sentence;
  } wrong[] = {
      {"kind,where\r\n",
       "s.csv:1: The first line of a stock must name the columns kind and count."},
      {"kind,count\r\n,3\r\n", "s.csv:2: The kind must be named."},
      {"kind,count\r\nx,-3\r\n",
       "s.csv:2: The count must be a whole number up to a million, not \"-3\"."},
      {"kind,count\r\n\r\nx,1e9\r\n",
       "s.csv:3: The count must be a whole number up to a million, not \"1e9\"."},
      {"kind,count,price\r\nx,1,NaN\r\n",
       "s.csv:2: The price must be a number that is not negative, not \"NaN\"."},
      {"kind,count,price\r\nx,1,-2\r\n",
       "s.csv:2: The price must be a number that is not negative, not \"-2\"."},
      {"kind,count,condition\r\nx,1,lost\r\n",
       "s.csv:2: The condition must be good, worn or broken, not \"lost\"."},
  };
  for (guint i = 0; i < G_N_ELEMENTS(wrong); i++) {
    g_autoptr(GError) error = NULL;
    assert_null(loom_stock_parse(wrong[i].text, strlen(wrong[i].text), "s.csv", &error));
    assert_string_equal(error->message, wrong[i].sentence);
  }
}

static void
keeps_what_was_saved(void **state)
{
  Place *place = *state;
  g_autoptr(LoomStock) none = open_stock(place->path);
  assert_int_equal(loom_stock_n_rows(none), 0);
  loom_stock_set(none, "fuse", "box", LOOM_CONDITION_GOOD, 5, 0.4);
  loom_stock_set_note(none, "fuse", "box", LOOM_CONDITION_GOOD, "20 A");
  assert_true(loom_stock_modified(none));
  save(none, place->path);
  assert_false(loom_stock_modified(none));
  g_autoptr(LoomStock) again = open_stock(place->path);
  assert_int_equal(loom_stock_count(again, "fuse"), 5);
  assert_string_equal(loom_stock_row(again, 0)->note, "20 A");
  assert_false(loom_stock_modified(again));
  g_autoptr(LoomStock) copy = loom_stock_copy(again);
  loom_stock_set(copy, "fuse", "box", LOOM_CONDITION_GOOD, 4, 0.4);
  assert_true(loom_stock_modified(copy));
  assert_int_equal(loom_stock_count(again, "fuse"), 5);
}

/* Two programs have the same boxes open; each takes and adds something, neither loses anything. */
static void
two_programs_lose_nothing(void **state)
{
  Place *place = *state;
  g_autoptr(LoomStock) first = loom_stock_new();
  loom_stock_set(first, "fuse", "box", LOOM_CONDITION_GOOD, 10, 0.4);
  loom_stock_set(first, "lead", "box", LOOM_CONDITION_GOOD, 3, NAN);
  loom_stock_set(first, "old", "box", LOOM_CONDITION_GOOD, 1, NAN);
  save(first, place->path);
  g_autoptr(LoomStock) second = open_stock(place->path);
  loom_stock_set(first, "fuse", "box", LOOM_CONDITION_GOOD, 8, 0.4);
  loom_stock_remove(first, "old", "box", LOOM_CONDITION_GOOD);
  save(first, place->path);
  loom_stock_set(second, "fuse", "box", LOOM_CONDITION_GOOD, 15, 0.5);
  loom_stock_set(second, "pack", "", LOOM_CONDITION_GOOD, 2, 50);
  save(second, place->path);
  assert_int_equal(loom_stock_count(second, "fuse"), 13); /* 10 - 2 + 5 */
  assert_true(loom_stock_price(second, "fuse") == 0.5);
  assert_int_equal(loom_stock_count(second, "old"), 0);
  assert_int_equal(loom_stock_n_rows(second), 3);
  loom_stock_set(first, "lead", "box", LOOM_CONDITION_GOOD, 4, NAN);
  assert_true(loom_stock_refresh(first, place->path, NULL));
  assert_int_equal(loom_stock_count(first, "fuse"), 13);
  assert_int_equal(loom_stock_count(first, "lead"), 4);
  assert_true(loom_stock_modified(first));
  assert_false(loom_stock_refresh(first, place->path, NULL));
}

#define PROGRAMS 4
#define SAVES 15

static void
count_up(const char *path)
{
  for (int i = 0; i < SAVES; i++) {
    g_autoptr(LoomStock) stock = loom_stock_open(path, NULL);
    if (!stock)
      _exit(1);
    guint count = loom_stock_count(stock, "fuse");
    loom_stock_set(stock, "fuse", "box", LOOM_CONDITION_GOOD, count + 1, NAN);
    if (!loom_stock_save(stock, path, NULL))
      _exit(1);
  }
  _exit(0);
}

static void
many_programs_at_once(void **state)
{
  Place *place = *state;
  pid_t children[PROGRAMS];
  for (int i = 0; i < PROGRAMS; i++)
    if ((children[i] = fork()) == 0)
      count_up(place->path);
  for (int i = 0; i < PROGRAMS; i++) {
    int status;
    assert_int_equal(waitpid(children[i], &status, 0), children[i]);
    assert_int_equal(status, 0);
  }
  g_autoptr(LoomStock) stock = open_stock(place->path);
  assert_int_equal(loom_stock_count(stock, "fuse"), PROGRAMS * SAVES);
}

static void
a_failure_leaves_the_old_file(void **state)
{
  Place *place = *state;
  g_autoptr(LoomStock) stock = loom_stock_new();
  loom_stock_set(stock, "fuse", "box", LOOM_CONDITION_GOOD, 1, NAN);
  save(stock, place->path);
  const char *broken = "kind,count\r\nfuse,many\r\n";
  assert_true(g_file_set_contents(place->path, broken, -1, NULL));
  loom_stock_set(stock, "fuse", "box", LOOM_CONDITION_GOOD, 2, NAN);
  g_autoptr(GError) error = NULL;
  assert_false(loom_stock_save(stock, place->path, &error));
  assert_non_null(strstr(error->message, "stock.csv:2: The count must be"));
  g_autofree char *bytes = NULL;
  assert_true(g_file_get_contents(place->path, &bytes, NULL, NULL));
  assert_string_equal(bytes, broken);
  assert_int_equal(loom_stock_count(stock, "fuse"), 2);
  g_autoptr(GError) folder = NULL;
  assert_null(loom_stock_open(place->folder, &folder));
  assert_true(g_error_matches(folder, LOOM_ERROR, LOOM_ERROR_FILE));
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(counts_what_is_usable),
      cmocka_unit_test(reads_what_a_team_would_write),
      cmocka_unit_test(names_what_is_wrong),
      cmocka_unit_test_setup_teardown(keeps_what_was_saved, set_up, tear_down),
      cmocka_unit_test_setup_teardown(two_programs_lose_nothing, set_up, tear_down),
      cmocka_unit_test_setup_teardown(many_programs_at_once, set_up, tear_down),
      cmocka_unit_test_setup_teardown(a_failure_leaves_the_old_file, set_up, tear_down),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
