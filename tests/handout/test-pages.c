/* Breaking into pages, and what a PDF says of itself; read back with poppler. */
#include "handout/pages.h"
#include "handout/table.h"
#include "paper.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>
#include <glib/gstdio.h>

static const LoomFurniture FURNITURE = {"Test: the book", "Nobody", "Revision 1", "2026-03-01"};

/* Sets the pages and reads them back. Takes `scroll`. */
static Paper *
print(LoomScroll *scroll, const LoomFurniture *furniture, char **bytes, gsize *length)
{
  g_autoptr(GError) error = NULL;
  g_autofree char *path = paper_temporary("pages.pdf");
  g_autoptr(LoomPages) pages = loom_pages_new(scroll, furniture);
  if (!loom_pages_write_pdf(pages, path, NULL, NULL, NULL, &error))
    fail_msg("%s", error->message);
  Paper *paper = paper_open(path);
  assert_int_equal(paper->n_pages, loom_pages_n(pages));
  if (bytes)
    assert_true(g_file_get_contents(path, bytes, length, NULL));
  g_unlink(path);
  return paper;
}

static void
filler(LoomScroll *scroll, guint lines)
{
  for (guint i = 0; i < lines; i++) {
    g_autofree char *text = g_strdup_printf("filler line %u", i + 1);
    loom_scroll_text(scroll, LOOM_TEXT_CELL, text);
  }
}

static void
headings_stand_with_what_follows(void **state G_GNUC_UNUSED)
{
  static const LoomColumn COLUMNS[] = {{"first head", 0, 1, false}, {"second head", 0, 1, false}};
  /* One more line before the heading each time, so that it meets the foot of the page in every
   * possible way. */
  for (guint lines = 44; lines < 60; lines++) {
    LoomScroll *scroll = loom_scroll_new(LOOM_PAPER_A4);
    loom_scroll_chapter(scroll, "Chapter", LOOM_START_PAGE);
    filler(scroll, lines);
    loom_scroll_section(scroll, "A section");
    loom_scroll_text(scroll, LOOM_TEXT_STRONG, "A heading below it");
    LoomTable *table = loom_table_begin(scroll, COLUMNS, 2, true);
    for (guint i = 0; i < 3; i++) {
      loom_table_text(table, "a cell");
      loom_table_text(table, "another");
    }
    loom_table_end(table);
    g_autoptr(Paper) paper = print(scroll, &FURNITURE, NULL, NULL);
    paper_assert_no_orphans(paper);
  }
}

static void
heads_of_tables_are_repeated(void **state G_GNUC_UNUSED)
{
  static const LoomColumn COLUMNS[] = {{"number", 30, 0, true}, {"what it is", 0, 1, false}};
  LoomScroll *scroll = loom_scroll_new(LOOM_PAPER_A4);
  loom_scroll_chapter(scroll, "Numbers", LOOM_START_PAGE);
  LoomTable *table = loom_table_begin(scroll, COLUMNS, 2, true);
  for (guint i = 0; i < 100; i++) {
    loom_table_textf(table, "%u", i);
    loom_table_textf(table, "row no. %u", i);
  }
  loom_table_end(table);
  g_autoptr(Paper) paper = print(scroll, &FURNITURE, NULL, NULL);
  assert_in_range(paper->n_pages, 3, 5);
  assert_int_equal(paper_count(paper, "what it is"), paper->n_pages);
  for (guint i = 0; i < 100; i++) { /* nothing is lost, nothing comes twice */
    g_autofree char *row = g_strdup_printf("row no. %u\n", i);
    guint n = 0;
    for (guint p = 0; p < paper->n_pages; p++)
      n += strstr(paper->pages[p].text, row) != NULL;
    assert_int_equal(n, 1);
  }
  /* The last page has more than one row. */
  assert_non_null(strstr(paper->pages[paper->n_pages - 1].text, "row no. 98"));
}

static void
a_row_higher_than_a_page_is_cut_between_lines(void **state G_GNUC_UNUSED)
{
  static const LoomColumn COLUMNS[] = {{"n", 30, 0, false}, {"story", 0, 1, false}};
  g_autoptr(GString) story = g_string_new(NULL);
  for (guint i = 0; i < 900; i++)
    g_string_append_printf(story, "word%u ", i);
  LoomScroll *scroll = loom_scroll_new(LOOM_PAPER_LETTER);
  LoomTable *table = loom_table_begin(scroll, COLUMNS, 2, true);
  loom_table_text(table, "1");
  loom_table_text(table, story->str);
  loom_table_end(table);
  loom_scroll_text(scroll, LOOM_TEXT_BODY, story->str); /* the same as a paragraph */
  g_autoptr(Paper) paper = print(scroll, &FURNITURE, NULL, NULL);
  for (guint i = 0; i < 900; i++) {
    g_autofree char *word = g_strdup_printf("word%u ", i);
    guint n = 0;
    for (guint p = 0; p < paper->n_pages; p++) {
      g_autofree char *text = g_strdelimit(g_strdup(paper->pages[p].text), "\n", ' ');
      for (const char *at = text; (at = strstr(at, word)); at += strlen(word))
        n++;
    }
    assert_int_equal(n, 2);
  }
  paper_assert_margins(paper, 50, 36, 20, 20);
}

static void
a_paragraph_never_leaves_one_line_alone(void **state G_GNUC_UNUSED)
{
  for (guint lines = 44; lines < 60; lines++) {
    LoomScroll *scroll = loom_scroll_new(LOOM_PAPER_A4);
    filler(scroll, lines);
    loom_scroll_text(scroll, LOOM_TEXT_BODY, "one\ntwo\nthree\nfour");
    g_autoptr(Paper) paper = print(scroll, &FURNITURE, NULL, NULL);
    guint of_one = paper_find(paper, "one"), of_two = paper_find(paper, "two");
    guint of_three = paper_find(paper, "three"), of_four = paper_find(paper, "four");
    assert_int_equal(of_one, of_two);
    assert_int_equal(of_three, of_four);
  }
}

static void
chapters_begin_where_they_may(void **state G_GNUC_UNUSED)
{
  LoomScroll *scroll = loom_scroll_new(LOOM_PAPER_A4);
  loom_scroll_title(scroll, "Cover", "The robot");
  loom_scroll_chapter(scroll, "Long", LOOM_START_PAGE);
  filler(scroll, 20);
  loom_scroll_chapter(scroll, "Short", LOOM_START_IF_FITS); /* fits below */
  filler(scroll, 5);
  loom_scroll_chapter(scroll, "Too long", LOOM_START_IF_FITS);
  filler(scroll, 40);
  loom_scroll_chapter(scroll, "Wide", LOOM_START_SIDEWAYS);
  filler(scroll, 3);
  loom_scroll_chapter(scroll, "Upright again", LOOM_START_HERE);
  filler(scroll, 3);
  loom_scroll_chapter(scroll, "Here", LOOM_START_HERE);
  filler(scroll, 90); /* to the lower half of the next page */
  loom_scroll_chapter(scroll, "Not here", LOOM_START_HERE);
  g_autoptr(GError) error = NULL;
  g_autoptr(LoomPages) pages = loom_pages_new(scroll, &FURNITURE);
  static const guint EXPECTED[] = {0, 1, 1, 2, 3, 4, 4, 6};
  guint n;
  const guint *chapters = loom_pages_chapter_pages(pages, &n);
  assert_int_equal(n, G_N_ELEMENTS(EXPECTED));
  for (guint i = 0; i < n; i++)
    assert_int_equal(chapters[i], EXPECTED[i]);
  double width, height;
  loom_pages_size_pt(pages, 3, &width, &height);
  assert_true(width > height);
  loom_pages_size_pt(pages, 4, &width, &height);
  assert_true(width < height);
  assert_string_equal(loom_pages_chapter(pages, 1), "Long");
  assert_string_equal(loom_pages_chapter(pages, 5), "Here");
}

static void
outline_title_and_numbers(void **state G_GNUC_UNUSED)
{
  LoomScroll *scroll = loom_scroll_new(LOOM_PAPER_LETTER);
  loom_scroll_title(scroll, "Cover", "Robot");
  loom_scroll_chapter(scroll, "One", LOOM_START_PAGE);
  loom_scroll_section(scroll, "One and a half");
  loom_scroll_text(scroll, LOOM_TEXT_BODY, "Größe 1,5 mm² — Ω");
  loom_scroll_chapter(scroll, "Two", LOOM_START_PAGE);
  loom_scroll_text(scroll, LOOM_TEXT_BODY, "text");
  g_autoptr(Paper) paper = print(scroll, &FURNITURE, NULL, NULL);
  static const char *const ENTRIES[] = {"Cover", "One", " One and a half", "Two"};
  static const int PAGES[] = {1, 2, 2, 3};
  assert_int_equal(paper->outline->len, G_N_ELEMENTS(ENTRIES));
  for (guint i = 0; i < G_N_ELEMENTS(ENTRIES); i++) {
    assert_string_equal(paper->outline->pdata[i], ENTRIES[i]);
    assert_int_equal(g_array_index(paper->outline_pages, int, i), PAGES[i]);
  }
  assert_string_equal(paper->title, "Test: the book");
  assert_int_equal(paper_find(paper, "Größe 1,5 mm² — Ω"), 1);
  for (guint i = 0; i < paper->n_pages; i++) {
    g_autofree char *number = g_strdup_printf("%u of %u", i + 1, paper->n_pages);
    assert_non_null(strstr(paper->pages[i].text, number));
    assert_true(paper->pages[i].width == 612 && paper->pages[i].height == 792);
  }
}

static void
equal_pages_give_equal_bytes(void **state G_GNUC_UNUSED)
{
  char *bytes[2];
  gsize lengths[2];
  for (guint i = 0; i < 2; i++) {
    LoomScroll *scroll = loom_scroll_new(LOOM_PAPER_A4);
    loom_scroll_chapter(scroll, "One", LOOM_START_PAGE);
    filler(scroll, 70);
    g_autoptr(Paper) paper = print(scroll, &FURNITURE, &bytes[i], &lengths[i]);
    GDateTime *made = poppler_document_get_creation_date_time(paper->pdf);
    assert_int_equal(g_date_time_get_year(made), 2026); /* the date of the design, not of today */
    assert_int_equal(g_date_time_get_month(made), 3);
    g_date_time_unref(made);
  }
  assert_int_equal(lengths[0], lengths[1]);
  assert_memory_equal(bytes[0], bytes[1], lengths[0]);
  g_free(bytes[0]);
  g_free(bytes[1]);
}

static void
stop_soon(double share, gpointer cancellable)
{
  if (share > 0.3)
    g_cancellable_cancel(cancellable);
}

static void
a_cancelled_file_is_not_written(void **state G_GNUC_UNUSED)
{
  g_autoptr(GError) error = NULL;
  g_autoptr(GCancellable) cancellable = g_cancellable_new();
  g_autofree char *path = paper_temporary("cancelled.pdf");
  assert_true(g_file_set_contents(path, "what was there", -1, NULL));
  LoomScroll *scroll = loom_scroll_new(LOOM_PAPER_A4);
  filler(scroll, 200);
  g_autoptr(LoomPages) pages = loom_pages_new(scroll, &FURNITURE);
  assert_false(loom_pages_write_pdf(pages, path, cancellable, stop_soon, cancellable, &error));
  assert_true(g_error_matches(error, G_IO_ERROR, G_IO_ERROR_CANCELLED));
  g_autofree char *left = NULL;
  assert_true(g_file_get_contents(path, &left, NULL, NULL));
  assert_string_equal(left, "what was there");
  g_unlink(path);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(headings_stand_with_what_follows),
      cmocka_unit_test(heads_of_tables_are_repeated),
      cmocka_unit_test(a_row_higher_than_a_page_is_cut_between_lines),
      cmocka_unit_test(a_paragraph_never_leaves_one_line_alone),
      cmocka_unit_test(chapters_begin_where_they_may),
      cmocka_unit_test(outline_title_and_numbers),
      cmocka_unit_test(equal_pages_give_equal_bytes),
      cmocka_unit_test(a_cancelled_file_is_not_written),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
