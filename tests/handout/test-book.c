/* The book, read back with poppler: nothing lost, nothing outside the margins, no heading alone,
 * and the figures that it prints against what they come from. */
#include "handout/book.h"
#include "handout/parts.h"
#include "paper.h"
#include "planning/charge.h"
#include "planning/faults.h"
#include "planning/steps.h"
#include "robots.h"
#include "sheet/tidy.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>
#include <glib/gstdio.h>

#include "near.h"

/* An ordinary robot, laid out as `loom tidy` does. */
static LoomDesign *
load(const char *name)
{
  LoomDesign *design = robots_load(name);
  LoomEdit *edit = loom_edit_new(design, "tidy");
  loom_tidy(edit, 0);
  loom_design_apply(design, edit);
  return design;
}

static Paper *
print(const LoomDesign *design, const LoomBookOptions *options)
{
  g_autoptr(GError) error = NULL;
  g_autofree char *path = paper_temporary("book.pdf");
  g_autoptr(LoomBook) book = loom_book_new(design, options, NULL, NULL, NULL, &error);
  if (!book || !loom_book_write_pdf(book, path, NULL, NULL, NULL, &error))
    fail_msg("%s", error->message);
  Paper *paper = paper_open(path);
  assert_int_equal(paper->n_pages, loom_book_n_pages(book));
  g_unlink(path);
  return paper;
}

static LoomBookOptions
options_for(LoomPaper paper)
{
  LoomBookOptions options;
  loom_book_options_init(&options);
  options.paper = paper;
  options.catalogue = robots_catalogue();
  return options;
}

/* Robots and their whole books, which several tests look at: made once. */
static GHashTable *designs, *books;

static const LoomDesign *
robot(const char *name)
{
  LoomDesign *design = g_hash_table_lookup(designs, name);
  if (!design)
    g_hash_table_insert(designs, g_strdup(name), design = load(name));
  return design;
}

static const Paper *
whole_book(const char *name, LoomPaper size)
{
  g_autofree char *key = g_strdup_printf("%s %u", name, size);
  Paper *paper = g_hash_table_lookup(books, key);
  LoomBookOptions options = options_for(size);
  if (!paper)
    g_hash_table_insert(books, g_steal_pointer(&key), paper = print(robot(name), &options));
  return paper;
}

static int
make_room(void **state G_GNUC_UNUSED)
{
  designs =
      g_hash_table_new_full(g_str_hash, g_str_equal, g_free, (GDestroyNotify)loom_design_free);
  books = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, (GDestroyNotify)paper_free);
  return 0;
}

static int
clear_room(void **state G_GNUC_UNUSED)
{
  g_hash_table_unref(books);
  g_hash_table_unref(designs);
  return 0;
}

/* Whether the page begins with a chapter's heading. */
static bool
begins_chapter(const PaperPage *page)
{
  for (guint k = 0; k < page->n_lines; k++)
    if (page->lines[k].size > 19 && page->lines[k].y0 < 100)
      return true;
  return false;
}

/* Pages, from 1, from the chapter's heading to the next chapter's. */
static void
chapter_pages(const Paper *paper, const char *title, int *from, int *to)
{
  *from = 0;
  *to = (int)paper->n_pages;
  for (guint i = 0; i < paper->outline->len; i++) {
    const char *entry = paper->outline->pdata[i];
    int page = g_array_index(paper->outline_pages, int, i);
    if (g_str_equal(entry, title)) {
      *from = page;
    } else if (*from && *entry != ' ') {
      *to = page > *from && begins_chapter(&paper->pages[page - 1]) ? page - 1 : page;
      break;
    }
  }
  assert_true(*from > 0);
}

/* Text of those pages. New. */
static char *
chapter_text(const Paper *paper, const char *title)
{
  g_autoptr(GString) text = g_string_new(NULL);
  int from, to;
  chapter_pages(paper, title, &from, &to);
  for (int p = from; p <= to; p++)
    g_string_append_printf(text, "%s\n", paper->pages[p - 1].text);
  g_autoptr(GRegex) blanks = g_regex_new("\\s+", 0, 0, NULL);
  return g_regex_replace_literal(blanks, text->str, -1, 0, " ", 0, NULL);
}

/* --- every ordinary robot --- */

static void
every_book_is_well_set(void **state G_GNUC_UNUSED)
{
  for (const char *const *name = robots_ordinary(); *name; name++) {
    bool both = (name - robots_ordinary()) % 4 == 0; /* the same code sets both: a few will do */
    for (LoomPaper p = LOOM_PAPER_A4; p <= (both ? LOOM_PAPER_LETTER : LOOM_PAPER_A4); p++) {
      const Paper *paper = whole_book(*name, p);
      paper_assert_margins(paper, 50, 36, 20, 20);
      paper_assert_no_orphans(paper);
      assert_int_equal(g_array_index(paper->outline_pages, int, 0), 1);
      for (guint i = 1; i < paper->outline_pages->len; i++)
        assert_true(g_array_index(paper->outline_pages, int, i) >=
                    g_array_index(paper->outline_pages, int, i - 1));
      for (guint i = 0; i < paper->n_pages; i++) {
        g_autofree char *number = g_strdup_printf("%u of %u", i + 1, paper->n_pages);
        assert_non_null(strstr(paper->pages[i].text, number));
      }
    }
  }
}

/* The number that stands to the right of the title on the cover; 0 where there is none. */
static int
page_in_contents(const PaperPage *cover, const char *title)
{
  for (guint i = 0; i < cover->n_lines; i++) {
    if (!g_str_equal(cover->lines[i].text, title))
      continue;
    const PaperLine *number = NULL;
    for (guint k = 0; k < cover->n_lines; k++) {
      const PaperLine *line = &cover->lines[k];
      if (fabs(line->y0 - cover->lines[i].y0) < 3 && line->x0 > cover->lines[i].x1 &&
          (!number || line->x0 < number->x0))
        number = line;
    }
    return number ? atoi(number->text) : 0;
  }
  return 0;
}

static void
contents_name_the_right_pages(void **state G_GNUC_UNUSED)
{
  const Paper *paper = whole_book("sandpiper", LOOM_PAPER_A4);
  guint n = 0;
  for (guint i = 1; i < paper->outline->len; i++) {
    const char *title = paper->outline->pdata[i];
    if (*title == ' ')
      continue;
    /* Chapters are set in 20 points on the page that the outline names. */
    int page = g_array_index(paper->outline_pages, int, i);
    bool found = false;
    for (guint k = 0; k < paper->pages[page - 1].n_lines; k++) {
      const PaperLine *line = &paper->pages[page - 1].lines[k];
      found |= line->size > 19 && g_str_has_prefix(line->text, title);
    }
    assert_true(found);
    assert_int_equal(page_in_contents(&paper->pages[0], title), page);
    n++;
  }
  assert_int_equal(n, LOOM_N_CHAPTERS - 1);
}

static void
type_is_large_enough(void **state G_GNUC_UNUSED)
{
  const LoomDesign *design = robot("sandpiper");
  LoomBookOptions options = options_for(LOOM_PAPER_A4);
  options.chapters = 1 << LOOM_CHAPTER_POWER | 1 << LOOM_CHAPTER_PORTS | 1 << LOOM_CHAPTER_METER |
                     1 << LOOM_CHAPTER_DARK | 1 << LOOM_CHAPTER_SIGNOFF; /* without figures */
  g_autoptr(Paper) paper = print(design, &options);
  for (guint p = 0; p < paper->n_pages; p++)
    for (guint k = 0; k < paper->pages[p].n_lines; k++) {
      const PaperLine *line = &paper->pages[p].lines[k];
      bool furniture = line->y0 < 45 || line->y0 > paper->pages[p].height - 45;
      if (!furniture && !line->bold && line->size < 10.4)
        fail_msg("page %u: \"%s\" is set in %.1f points", p + 1, line->text, line->size);
    }
}

/* --- chapters --- */

static void
the_kit_is_the_parts_list(void **state G_GNUC_UNUSED)
{
  for (const char *const *name = robots_ordinary(); *name; name++) {
    const LoomDesign *design = robot(*name);
    g_autofree char *kit = chapter_text(whole_book(*name, LOOM_PAPER_A4), "Kit check");
    for (guint i = 0; i < loom_design_n_parts(design); i++) {
      g_autofree char *pattern =
          g_strdup_printf("\\b%s\\b", loom_design_part(design, i)->designation);
      if (!g_regex_match_simple(pattern, kit, 0, 0))
        fail_msg("%s: %s is not in the kit", *name, loom_design_part(design, i)->designation);
    }
  }
}

static void
every_step_is_printed_in_its_order(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomSteps) steps = loom_steps_new(robot("sandpiper"), 0);
  g_autofree char *text = chapter_text(whole_book("sandpiper", LOOM_PAPER_A4), "Steps");
  const char *at = text;
  for (guint i = 0; i < steps->n_steps; i++) {
    const LoomStep *s = &steps->steps[i];
    g_autofree char *words =
        s->act == LOOM_STEP_PLUG ? g_strdup_printf("Plug %s", s->from) : g_strndup(s->sentence, 10);
    at = strstr(at, words);
    if (!at)
      fail_msg("step %u is missing: %s", i + 1, s->sentence);
    at += strlen(words);
  }
}

/* Lower edge of the last line above the footer. */
static double
last_line_y(const PaperPage *page)
{
  double y = 0;
  for (guint i = 0; i < page->n_lines; i++)
    if (page->lines[i].y1 < page->height - 40)
      y = MAX(y, page->lines[i].y1);
  return y;
}

/* The smallest thing that may follow is a heading with a cut-out, a table's head and one step: a
 * third of a page where a stage begins. */
static void
pages_of_steps_are_filled(void **state G_GNUC_UNUSED)
{
  for (const char *const *name = robots_ordinary(); *name; name++) {
    bool both = (name - robots_ordinary()) % 4 == 0;
    for (LoomPaper p = LOOM_PAPER_A4; p <= (both ? LOOM_PAPER_LETTER : LOOM_PAPER_A4); p++) {
      const Paper *paper = whole_book(*name, p);
      int from, to;
      chapter_pages(paper, "Steps", &from, &to);
      for (int i = from; i < to; i++) {
        double empty = paper->pages[i - 1].height - 50 - last_line_y(&paper->pages[i - 1]);
        if (empty > 0.38 * (paper->pages[i - 1].height - 108))
          fail_msg("%s: page %d has %.0f points left amid the steps", *name, i, empty);
      }
    }
  }
}

static void
the_dark_pages_ask_what_the_fault_finder_asks(void **state G_GNUC_UNUSED)
{
  const LoomDesign *design = robot("sandpiper");
  g_autofree char *text = chapter_text(whole_book("sandpiper", LOOM_PAPER_A4), "If it stays dark");
  g_autoptr(LoomFaultModel) model = loom_fault_model_new(design, 0);
  LoomEvidence dark;
  assert_true(loom_fault_evidence(model, design, "dead", "K1", &dark, NULL));
  g_autoptr(LoomFaultTree) tree = loom_fault_tree_new(model, &dark, 1, 1);
  assert_non_null(strstr(text, "K1 (Controller) stays dark"));
  assert_non_null(strstr(text, model->tests[tree->diagnosis->next_test].todo));
  guint ends = 0;
  for (guint i = 0; i < tree->n_branches; i++) {
    const LoomDiagnosis *then = tree->branches[i]->diagnosis;
    if (then->next_test != LOOM_NONE)
      continue;
    g_auto(GStrv) sentences = loom_suspects_sentences(model, &then->suspects[0]);
    assert_non_null(strstr(text, sentences[0]));
    ends++;
  }
  assert_true(ends > 0);
}

static void
a_robot_with_mistakes_gets_no_clean_cover(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomDesign) design = load("sandpiper");
  robots_do(design, "unplug F1:in");
  robots_do(design, "unplug F1:out");
  robots_do(design, "plug G1:out F1:out --scene driving --anyway"); /* sockets onto sockets */
  LoomBookOptions options = options_for(LOOM_PAPER_A4);
  options.chapters = 1 << LOOM_CHAPTER_COVER;
  g_autoptr(Paper) paper = print(design, &options);
  g_autofree char *cover = chapter_text(paper, "Cover");
  assert_non_null(strstr(cover, "STOP: do not power this robot"));
  assert_non_null(strstr(cover, "F1:out"));
  const Paper *other = whole_book("sandpiper", LOOM_PAPER_A4);
  assert_int_equal(paper_count(other, "STOP: do not power"), 0);
}

static void
the_team_s_own_steps_are_there(void **state G_GNUC_UNUSED)
{
  g_autofree char *text = chapter_text(whole_book("sandpiper", LOOM_PAPER_A4), "First power-up");
  assert_non_null(strstr(text, "Check that the wheels are off the ground."));
  assert_non_null(strstr(text, "Give the radio network its own password."));
  assert_non_null(strstr(text, "factory network password"));
  assert_non_null(strstr(text, "“sandpiper”"));
}

static void
port_map_and_roll_call_agree(void **state G_GNUC_UNUSED)
{
  g_autofree char *text =
      chapter_text(whole_book("sandpiper", LOOM_PAPER_A4), "Port map and roll-call");
  static const char *const NAMES[] = {"drive_left", "drive_right", "arm",           "lid",
                                      "gripper",    "front_bump",  "distance_ahead"};
  const char *roll_call = strstr(text, "Roll-call Wheels up");
  assert_non_null(roll_call);
  for (guint i = 0; i < G_N_ELEMENTS(NAMES); i++) {
    const char *map = strstr(text, NAMES[i]);
    assert_true(map && map < roll_call);
    assert_non_null(strstr(roll_call, NAMES[i]));
  }
}

/* --- charging, against tests/reference/battery_examples.csv --- */

static void
charge_time_is_that_of_the_rule(void **state G_GNUC_UNUSED)
{
  /* BE06: 2000 mAh at 200 mA take 14.0 h with k = 1.4 (charge rule of a battery distributor). */
  g_autofree char *bytes = NULL;
  gsize length;
  assert_true(
      g_file_get_contents(LOOM_TEST_REFERENCE "/battery_examples.csv", &bytes, &length, NULL));
  g_autoptr(LoomCsvTable) table = loom_csv_parse(bytes, length, "battery_examples.csv", NULL);
  guint id = loom_csv_column(table, "id"), expected = loom_csv_column(table, "expected"), row = 0;
  for (guint i = 1; i < table->n_rows; i++)
    if (g_str_equal(loom_csv_field(table, i, id), "BE06"))
      row = i;
  assert_true(row > 0);
  double hours = g_ascii_strtod(loom_csv_field(table, row, expected), NULL);
  g_autoptr(LoomDesign) design = robots_parse("add pack-aa-4 G1\nadd charger-nimh-aa T1\n"
                                              "plug G1:out T1:out\n",
                                              "charging");
  /* Four AA cells of 2 Ah on a charger with 0.2 A: the same figures. */
  const LoomKind *pack = loom_design_part(design, 0)->kind;
  assert_double_equal(pack->elements[0].capacity_Ah, 2.0, 0);
  assert_double_equal(loom_design_part(design, 1)->kind->chemistry.currents_A[0], 0.2, 0);
  LoomBookOptions options = options_for(LOOM_PAPER_A4);
  options.chapters = 1 << LOOM_CHAPTER_CHARGING;
  g_autoptr(Paper) paper = print(design, &options);
  g_autofree char *text = chapter_text(paper, "Charging and event day");
  g_autofree char *words = g_strdup_printf("%.0f h (", hours);
  assert_non_null(strstr(text, words));
}

static void
the_rota_follows_the_day(void **state G_GNUC_UNUSED)
{
  g_autoptr(GError) error = NULL;
  const LoomDesign *design = robot("sandpiper");
  LoomBookOptions options = options_for(LOOM_PAPER_A4);
  options.chapters = 1 << LOOM_CHAPTER_CHARGING;
  assert_true(loom_event_day_parse("3,9:30,45", &options.day, &error));
  g_autoptr(Paper) paper = print(design, &options);
  g_autofree char *text = chapter_text(paper, "Charging and event day");
  assert_non_null(strstr(text, "9:30 Outing 1"));
  assert_non_null(strstr(text, "10:15 Outing 2"));
  assert_non_null(strstr(text, "11:00 Outing 3"));
  assert_null(strstr(text, "Outing 4"));
  assert_false(loom_event_day_parse("3,24:30,45", &options.day, &error));
  assert_true(g_error_matches(error, LOOM_ERROR, LOOM_ERROR_CONTENT));
}

static void
a_pack_never_stands_with_a_wrong_charger(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomDesign) design = robots_parse("add pack-nimh-12v-3ah G1\nadd charger-nimh-12v T1\n"
                                              "add charger-nimh-aa T2\n",
                                              "wrong");
  LoomBookOptions options = options_for(LOOM_PAPER_A4);
  options.chapters = 1 << LOOM_CHAPTER_CHARGING;
  g_autoptr(Paper) paper = print(design, &options);
  g_autofree char *text = chapter_text(paper, "Charging and event day");
  assert_non_null(strstr(text, "T1"));
  assert_null(strstr(text, "T2")); /* made for four cells */
}

/* --- options --- */

static void
chapters_can_be_chosen(void **state G_GNUC_UNUSED)
{
  g_autoptr(GError) error = NULL;
  const LoomDesign *design = robot("sandpiper");
  LoomBookOptions options = options_for(LOOM_PAPER_LETTER);
  assert_true(loom_chapters_parse("ports, signoff", &options.chapters, &error));
  g_autoptr(Paper) paper = print(design, &options);
  assert_string_equal(paper->outline->pdata[0], "Port map and roll-call");
  assert_string_equal(paper->outline->pdata[paper->outline->len - 1], "Sign-off");
  assert_int_equal(paper_count(paper, "Kit check"), 0);
  assert_false(loom_chapters_parse("ports,poem", &options.chapters, &error));
  assert_non_null(strstr(error->message, "poem"));
}

static void
numbers_have_the_mark_of_the_locale(void **state G_GNUC_UNUSED)
{
  const LoomDesign *design = robot("sandpiper");
  LoomBookOptions options = options_for(LOOM_PAPER_A4);
  options.chapters = 1 << LOOM_CHAPTER_WIRES;
  g_strlcpy(options.decimal, ",", sizeof options.decimal);
  g_autoptr(Paper) paper = print(design, &options);
  g_autofree char *wires = chapter_text(paper, "Wires to make");
  assert_non_null(strstr(wires, "1,5 mm²"));
  assert_null(strstr(wires, "1.5 mm²"));
}

static void
pull_forces_say_what_they_are(void **state G_GNUC_UNUSED)
{
  g_autofree char *wires = chapter_text(whole_book("sandpiper", LOOM_PAPER_A4), "Wires to make");
  assert_non_null(strstr(wires, "IEC 60352-2 from memory"));
  assert_non_null(strstr(wires, "Both are typical; the terminal maker's figure counts."));
}

static void
what_the_stock_lacks_is_said(void **state G_GNUC_UNUSED)
{
  const LoomDesign *design = robot("sandpiper");
  g_autoptr(LoomStock) stock = loom_stock_new();
  for (guint i = 0; i < loom_design_n_parts(design); i++)
    loom_stock_set(stock, loom_design_part(design, i)->kind->id, "box", LOOM_CONDITION_GOOD, 1,
                   NAN);
  LoomBookOptions options = options_for(LOOM_PAPER_A4);
  options.chapters = 1 << LOOM_CHAPTER_KIT | 1 << LOOM_CHAPTER_WIRES;
  options.stock = stock;
  g_autoptr(Paper) paper = print(design, &options);
  g_autofree char *kit = chapter_text(paper, "Kit check");
  assert_non_null(strstr(kit, "The stock is short of"));
  assert_non_null(strstr(kit, "1 × Encoder lead, 300 mm")); /* two are needed */
  assert_null(strstr(kit, "1 × Rover controller"));
  g_autofree char *wires = chapter_text(paper, "Wires to make");
  assert_non_null(strstr(wires, "Encoder lead, 300 mm"));
  assert_null(strstr(wires, "I²C lead"));
}

static void
empty_and_odd_designs_have_a_book(void **state G_GNUC_UNUSED)
{
  LoomBookOptions options = options_for(LOOM_PAPER_A4);
  g_autoptr(LoomDesign) empty = loom_design_new("Nothing yet");
  g_autoptr(Paper) nothing = print(empty, &options);
  assert_true(nothing->n_pages > 0);
  paper_assert_no_orphans(nothing);
  g_autoptr(LoomDesign) odd = robots_parse("add extension-30-300 W1\nadd motor-medium M1\n", "odd");
  g_autoptr(GString) story = g_string_new(NULL);
  for (guint i = 0; i < 400; i++)
    g_string_append(story, "A very long note <b>&amp; more of it. ");
  LoomEdit *edit = loom_edit_new(odd, "notes");
  assert_true(loom_edit_set(edit, "design", "before", story->str, NULL));
  assert_true(loom_edit_set(edit, "M1", "label", "ÄÖÜ 電 <i>motor</i> & co", NULL));
  loom_design_apply(odd, edit);
  g_autoptr(Paper) paper = print(odd, &options);
  paper_assert_margins(paper, 50, 36, 20, 20);
  assert_true(paper_count(paper, "<b>&amp; more") >= 1); /* as it was written */
}

static void
remember_share(double share, gpointer data)
{
  GArray *shares = data;
  g_array_append_val(shares, share);
}

static void
making_it_shows_progress_and_can_be_stopped(void **state G_GNUC_UNUSED)
{
  g_autoptr(GError) error = NULL;
  g_autoptr(GArray) shares = g_array_new(FALSE, FALSE, sizeof(double));
  const LoomDesign *design = robot("two-packs");
  LoomBookOptions options = options_for(LOOM_PAPER_A4);
  g_autoptr(LoomBook) book = loom_book_new(design, &options, NULL, remember_share, shares, &error);
  assert_non_null(book);
  assert_true(shares->len >= 5);
  for (guint i = 1; i < shares->len; i++)
    assert_true(g_array_index(shares, double, i) >= g_array_index(shares, double, i - 1));
  assert_double_equal(g_array_index(shares, double, shares->len - 1), 1, 0);
  g_autoptr(GCancellable) cancellable = g_cancellable_new();
  g_cancellable_cancel(cancellable);
  assert_null(loom_book_new(design, &options, cancellable, NULL, NULL, &error));
  assert_true(g_error_matches(error, G_IO_ERROR, G_IO_ERROR_CANCELLED));
}

/* A page drawn at any scale is the same page: for the preview. */
static void
pages_can_be_drawn_anywhere(void **state G_GNUC_UNUSED)
{
  const LoomDesign *design = robot("two-packs");
  LoomBookOptions options = options_for(LOOM_PAPER_A4);
  g_autoptr(LoomBook) book = loom_book_new(design, &options, NULL, NULL, NULL, NULL);
  cairo_surface_t *image = cairo_image_surface_create(CAIRO_FORMAT_RGB24, 300, 424);
  cairo_t *cr = cairo_create(image);
  cairo_set_source_rgb(cr, 1, 1, 1);
  cairo_paint(cr);
  cairo_scale(cr, 0.5, 0.5);
  loom_book_draw_page(book, cr, 0);
  assert_int_equal(cairo_status(cr), CAIRO_STATUS_SUCCESS);
  cairo_surface_flush(image);
  const unsigned char *data = cairo_image_surface_get_data(image);
  guint dark = 0;
  for (int i = 0; i < 424 * cairo_image_surface_get_stride(image); i += 4)
    dark += data[i] < 128;
  assert_in_range(dark, 500, 40000);
  cairo_destroy(cr);
  cairo_surface_destroy(image);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(every_book_is_well_set),
      cmocka_unit_test(contents_name_the_right_pages),
      cmocka_unit_test(type_is_large_enough),
      cmocka_unit_test(the_kit_is_the_parts_list),
      cmocka_unit_test(every_step_is_printed_in_its_order),
      cmocka_unit_test(pages_of_steps_are_filled),
      cmocka_unit_test(the_dark_pages_ask_what_the_fault_finder_asks),
      cmocka_unit_test(a_robot_with_mistakes_gets_no_clean_cover),
      cmocka_unit_test(the_team_s_own_steps_are_there),
      cmocka_unit_test(port_map_and_roll_call_agree),
      cmocka_unit_test(charge_time_is_that_of_the_rule),
      cmocka_unit_test(the_rota_follows_the_day),
      cmocka_unit_test(a_pack_never_stands_with_a_wrong_charger),
      cmocka_unit_test(chapters_can_be_chosen),
      cmocka_unit_test(numbers_have_the_mark_of_the_locale),
      cmocka_unit_test(pull_forces_say_what_they_are),
      cmocka_unit_test(what_the_stock_lacks_is_said),
      cmocka_unit_test(empty_and_odd_designs_have_a_book),
      cmocka_unit_test(making_it_shows_progress_and_can_be_stopped),
      cmocka_unit_test(pages_can_be_drawn_anywhere),
  };
  return cmocka_run_group_tests(tests, make_room, clear_room);
}
