/* Editing the stock: undoing everything gives the same bytes back; two books on one file lose
 * nothing; what cannot be saved is kept. */
#include "planning/stock-book.h"

#include <glib/gstdio.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

typedef struct {
  char *folder, *path;
} Place;

static int
set_up(void **state)
{
  Place *place = g_new0(Place, 1);
  place->folder = g_dir_make_tmp("loombook-book-XXXXXX", NULL);
  place->path = g_build_filename(place->folder, "stock.csv", NULL);
  *state = place;
  return place->folder ? 0 : -1;
}

static int
tear_down(void **state)
{
  Place *place = *state;
  g_autofree char *lock = g_strconcat(place->path, ".lock", NULL);
  g_unlink(place->path);
  g_unlink(lock);
  g_rmdir(place->folder);
  g_free(place->path);
  g_free(place->folder);
  g_free(place);
  return 0;
}

static LoomStockBook *
open_book(const char *path)
{
  g_autoptr(GError) error = NULL;
  LoomStockBook *book = loom_stock_book_open(path, &error);
  if (!book)
    fail_msg("%s", error->message);
  return book;
}

static LoomStockRow
row_of(const char *kind, const char *where, LoomCondition condition, guint count)
{
  return (LoomStockRow){(char *)kind, (char *)where, condition, count, NAN, NULL};
}

static void
change(LoomStockBook *book, const LoomStockRow *was, const LoomStockRow *now)
{
  g_autoptr(GError) error = NULL;
  if (!loom_stock_book_change(book, was, now, "Change", &error))
    fail_msg("%s", error->message);
}

static guint
count_on_disk(const char *path, const char *kind)
{
  g_autoptr(LoomStock) stock = loom_stock_open(path, NULL);
  return loom_stock_count(stock, kind);
}

static char *
bytes_of(const char *path)
{
  char *bytes = NULL;
  g_file_get_contents(path, &bytes, NULL, NULL);
  return bytes;
}

/* Random edits, all undone, all done again. */
static void
undo_gives_the_same_bytes_back(void **state)
{
  Place *place = *state;
  g_autoptr(LoomStockBook) book = open_book(place->path);
  g_autoptr(GRand) random = g_rand_new_with_seed(1307);
  static const char *const kinds[] = {"a", "b", "c"}, *const boxes[] = {"", "blue", "red"};
  LoomStockRow first = row_of("a", "blue", LOOM_CONDITION_GOOD, 4);
  change(book, NULL, &first);
  g_autofree char *start = bytes_of(place->path);
  for (guint i = 0; i < 60; i++) {
    guint n = loom_stock_n_rows(loom_stock_book_stock(book));
    const LoomStockRow *any =
        n ? loom_stock_row(loom_stock_book_stock(book), (guint)g_rand_int_range(random, 0, (int)n))
          : NULL;
    LoomStockRow now = row_of(
        kinds[g_rand_int_range(random, 0, 3)], boxes[g_rand_int_range(random, 0, 3)],
        (LoomCondition)g_rand_int_range(random, 0, 3), (guint)g_rand_int_range(random, 0, 9));
    int what = g_rand_int_range(random, 0, 3);
    change(book, what ? any : NULL, what < 2 ? &now : NULL);
  }
  g_autofree char *end = bytes_of(place->path);
  while (loom_stock_book_undo_label(book))
    assert_true(loom_stock_book_undo(book, NULL));
  assert_int_equal(loom_stock_n_rows(loom_stock_book_stock(book)), 0);
  assert_true(loom_stock_book_redo(book, NULL));
  g_autofree char *back = bytes_of(place->path);
  assert_string_equal(back, start);
  while (loom_stock_book_redo_label(book))
    assert_true(loom_stock_book_redo(book, NULL));
  g_autofree char *again = bytes_of(place->path);
  assert_string_equal(again, end);
}

static void
a_row_that_meets_another_is_added_to_it(void **state)
{
  Place *place = *state;
  g_autoptr(LoomStockBook) book = open_book(place->path);
  LoomStockRow blue = row_of("a", "blue", LOOM_CONDITION_GOOD, 4);
  LoomStockRow red = row_of("a", "red", LOOM_CONDITION_GOOD, 3), moved = red;
  moved.where = (char *)"blue";
  change(book, NULL, &blue);
  change(book, NULL, &red);
  change(book, &red, &moved);
  assert_int_equal(loom_stock_n_rows(loom_stock_book_stock(book)), 1);
  assert_int_equal(count_on_disk(place->path, "a"), 7);
  assert_true(loom_stock_book_undo(book, NULL));
  assert_int_equal(loom_stock_n_rows(loom_stock_book_stock(book)), 2);
}

/* One takes two out, the other puts three in, one undoes: the three stay. */
static void
two_books_lose_nothing(void **state)
{
  Place *place = *state;
  g_autoptr(LoomStockBook) one = open_book(place->path);
  LoomStockRow four = row_of("a", "", LOOM_CONDITION_GOOD, 4), two = four, seven = four;
  two.count = 2;
  seven.count = 7;
  change(one, NULL, &four);
  g_autoptr(LoomStockBook) other = open_book(place->path);
  change(one, &four, &two);
  change(other, &four, &seven);
  assert_int_equal(count_on_disk(place->path, "a"), 5);
  assert_true(loom_stock_book_undo(one, NULL));
  assert_int_equal(count_on_disk(place->path, "a"), 7);
  assert_true(loom_stock_book_refresh(other, NULL));
  assert_int_equal(loom_stock_count(loom_stock_book_stock(other), "a"), 7);
}

static void
what_others_add_to_a_removed_row_stays(void **state)
{
  Place *place = *state;
  g_autoptr(LoomStockBook) one = open_book(place->path);
  LoomStockRow four = row_of("a", "", LOOM_CONDITION_GOOD, 4), six = four;
  six.count = 6;
  change(one, NULL, &four);
  g_autoptr(LoomStockBook) other = open_book(place->path);
  change(other, &four, &six);
  change(one, &four, NULL);
  assert_int_equal(count_on_disk(place->path, "a"), 2);
}

/* A folder in the file's place: nothing can be written until it is gone. */
static void
what_cannot_be_saved_is_kept(void **state)
{
  Place *place = *state;
  g_autoptr(LoomStockBook) book = open_book(place->path);
  LoomStockRow four = row_of("a", "", LOOM_CONDITION_GOOD, 4), five = row_of("b", "", 0, 5);
  g_autoptr(GError) error = NULL;
  assert_int_equal(g_mkdir(place->path, 0700), 0);
  assert_false(loom_stock_book_change(book, NULL, &four, "Add", &error));
  assert_non_null(strstr(error->message, place->path));
  assert_true(loom_stock_book_unsaved(book));
  assert_int_equal(g_rmdir(place->path), 0);
  change(book, NULL, &five);
  assert_false(loom_stock_book_unsaved(book));
  assert_int_equal(count_on_disk(place->path, "a"), 4);
  assert_int_equal(count_on_disk(place->path, "b"), 5);
}

static void
taking_rows_over_is_one_step(void **state)
{
  Place *place = *state;
  static const char TEXT[] = "kind,count\r\na,3\r\nb,5\r\n";
  g_autoptr(LoomStockBook) book = open_book(place->path);
  LoomStockRow four = row_of("a", "", LOOM_CONDITION_GOOD, 4);
  change(book, NULL, &four);
  g_autoptr(LoomStock) rows = loom_stock_parse(TEXT, strlen(TEXT), "t", NULL);
  assert_true(loom_stock_book_take(book, rows, "Import", NULL));
  assert_int_equal(count_on_disk(place->path, "a"), 3);
  assert_string_equal(loom_stock_book_undo_label(book), "Import");
  assert_true(loom_stock_book_undo(book, NULL));
  assert_int_equal(count_on_disk(place->path, "a"), 4);
  assert_int_equal(count_on_disk(place->path, "b"), 0);
}

static void
a_change_that_changes_nothing_is_no_step(void **state)
{
  Place *place = *state;
  g_autoptr(LoomStockBook) book = open_book(place->path);
  LoomStockRow four = row_of("a", "", LOOM_CONDITION_GOOD, 4);
  change(book, NULL, &four);
  change(book, &four, &four);
  assert_true(loom_stock_book_undo(book, NULL));
  assert_null(loom_stock_book_undo_label(book));
}

#define TEST(f) cmocka_unit_test_setup_teardown(f, set_up, tear_down)

int
main(void)
{
  const struct CMUnitTest tests[] = {
      TEST(undo_gives_the_same_bytes_back),
      TEST(a_row_that_meets_another_is_added_to_it),
      TEST(two_books_lose_nothing),
      TEST(what_others_add_to_a_removed_row_stays),
      TEST(what_cannot_be_saved_is_kept),
      TEST(taking_rows_over_is_one_step),
      TEST(a_change_that_changes_nothing_is_no_step),
  };
  return cmocka_run_group_tests_name("stock-book", tests, NULL, NULL);
}
