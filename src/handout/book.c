#include "book-private.h"
#include "solved.h"

#include <langinfo.h>
#include <locale.h>
#include <math.h>
#include <string.h>

typedef struct {
  const char *word, *title;
  LoomStart start;
  void (*make)(LoomMaking *m);
} Chapter;

static const Chapter CHAPTERS[LOOM_N_CHAPTERS] = {
    {"cover", N_("Cover"), LOOM_START_PAGE, loom_book_cover},
    {"kit", N_("Kit check"), LOOM_START_PAGE, loom_book_kit},
    {"wires", N_("Wires to make"), LOOM_START_HERE, loom_book_wires},
    {"diagram", N_("Diagram"), LOOM_START_SIDEWAYS, loom_book_diagram},
    {"steps", N_("Steps"), LOOM_START_PAGE, loom_book_steps},
    {"meter", N_("Meter checks"), LOOM_START_HERE, loom_book_meter},
    {"power", N_("First power-up"), LOOM_START_HERE, loom_book_power},
    {"ports", N_("Port map and roll-call"), LOOM_START_HERE, loom_book_ports},
    {"dark", N_("If it stays dark"), LOOM_START_HERE, loom_book_dark},
    {"charging", N_("Charging and event day"), LOOM_START_HERE, loom_book_charging},
    {"signoff", N_("Sign-off"), LOOM_START_IF_FITS, loom_book_signoff},
};

const char *
loom_chapter_word(LoomChapter chapter)
{
  return CHAPTERS[chapter].word;
}

const char *
loom_chapter_title(LoomChapter chapter)
{
  return _(CHAPTERS[chapter].title);
}

bool
loom_chapters_parse(const char *text, guint *chapters, GError **error)
{
  g_auto(GStrv) words = g_strsplit_set(text, ", ", -1);
  guint mask = 0;
  for (char **word = words; *word; word++) {
    guint i = 0;
    if (!**word)
      continue;
    while (i < LOOM_N_CHAPTERS && !g_str_equal(*word, CHAPTERS[i].word))
      i++;
    if (i == LOOM_N_CHAPTERS) {
      g_set_error(
          error, LOOM_ERROR, LOOM_ERROR_REFERENCE,
          _("There are no pages called %s; there are cover, kit, wires, diagram, steps, meter, "
            "power, ports, dark, charging and signoff."),
          *word);
      return false;
    }
    mask |= 1u << i;
  }
  *chapters = mask;
  return true;
}

bool
loom_event_day_parse(const char *text, LoomEventDay *day, GError **error)
{
  guint outings, hour, minute, every;
  char more;
  if (sscanf(text, "%2u,%2u:%2u,%3u%c", &outings, &hour, &minute, &every, &more) != 4 ||
      every < 1 || outings > 40 || hour > 23 || minute > 59) {
    g_set_error(error, LOOM_ERROR, LOOM_ERROR_CONTENT,
                _("A day is written outings,first,minutes apart: \"8,10:00,30\"."));
    return false;
  }
  day->n_outings = outings;
  day->first_min = 60 * hour + minute;
  day->every_min = every;
  day->minutes = MIN(day->minutes, every);
  return true;
}

void
loom_book_options_init(LoomBookOptions *options)
{
  *options = (LoomBookOptions){.paper = loom_paper_of_locale(),
                               .chapters = (1u << LOOM_N_CHAPTERS) - 1,
                               .day = {8, 600, 30, 10, 0}};
  locale_t numbers = newlocale(LC_NUMERIC_MASK, "", NULL);
  const char *mark = numbers ? nl_langinfo_l(RADIXCHAR, numbers) : ".";
  g_strlcpy(options->decimal, *mark ? mark : ".", sizeof options->decimal);
  if (numbers)
    freelocale(numbers);
}

/* --- what chapters share --- */

static bool
is_wanted(const LoomMaking *m, LoomChapter chapter)
{
  if (!(m->options->chapters >> chapter & 1))
    return false;
  switch (chapter) {
  case LOOM_CHAPTER_WIRES:
    return m->cuts->n_cuts > 0;
  case LOOM_CHAPTER_STEPS:
    return m->steps->n_steps > 0;
  case LOOM_CHAPTER_PORTS:
    return m->ports->n_rows > 0;
  case LOOM_CHAPTER_CHARGING:
    return m->charging->len > 0;
  default:
    return true;
  }
}

static void
prepare(LoomMaking *m)
{
  if (!m->options->findings && (m->options->chapters >> LOOM_CHAPTER_COVER & 1))
    m->findings = m->own_findings = loom_solved_findings(m->design);
  m->wiring = loom_wiring_new(m->design, m->scene);
  m->parts = loom_parts_list_new(m->design, m->options->catalogue, m->options->stock);
  m->cuts = loom_cuts_new(m->design, m->options->stock);
  m->steps = loom_steps_new(m->design, m->scene);
  m->ports = loom_port_map_new(m->design, m->scene, false);
  m->here = loom_design_list_scene_parts(m->design, m->scene);
  m->charging = loom_book_find_charging(m->design);
  for (guint i = 0; i < LOOM_N_CHAPTERS; i++)
    m->made |= is_wanted(m, i) ? 1u << i : 0;
}

static void
clear(LoomMaking *m)
{
  loom_findings_free(m->own_findings);
  loom_wiring_free(m->wiring);
  loom_parts_list_free(m->parts);
  loom_cuts_free(m->cuts);
  loom_steps_free(m->steps);
  loom_port_map_free(m->ports);
  g_array_unref(m->charging);
  g_array_unref(m->here);
}

const LoomSheet *
loom_book_sheet(LoomBook *book, guint scene)
{
  gpointer *sheet = &book->sheets->pdata[scene];
  if (!*sheet)
    *sheet = loom_sheet_new(book->design, scene, NULL);
  return *sheet;
}

static LoomPages *
break_pages(LoomScroll *scroll, const LoomDesign *design, bool grey)
{
  const LoomTitle *title = loom_design_title(design);
  g_autofree char *name = g_strdup_printf(_("%s: the book for the build day"), title->name);
  g_autofree char *date = loom_book_date(title->date);
  g_autoptr(GString) footer = g_string_new(NULL);
  if (title->revision)
    g_string_append_printf(footer, _("Revision %s"), title->revision);
  if (*date)
    g_string_append_printf(footer, "%s%s", footer->len ? ", " : "", date);
  LoomFurniture furniture = {name, title->drawn_by, footer->str, title->date, grey};
  return loom_pages_new(scroll, &furniture);
}

static bool
make_chapters(LoomMaking *m, GCancellable *cancellable, LoomProgress progress, gpointer data,
              GError **error)
{
  for (guint i = 0; i < LOOM_N_CHAPTERS; i++) {
    if (g_cancellable_set_error_if_cancelled(cancellable, error))
      return false;
    if (progress)
      progress((i + 1.0) / (LOOM_N_CHAPTERS + 1), data);
    if (!(m->made >> i & 1))
      continue;
    LoomStart start = CHAPTERS[i].start;
    if (i == LOOM_CHAPTER_DIAGRAM && loom_book_diagram_is_upright(m))
      start = LOOM_START_PAGE;
    if (i != LOOM_CHAPTER_COVER)
      loom_scroll_chapter(m->scroll, loom_chapter_title(i), start);
    CHAPTERS[i].make(m);
  }
  return true;
}

LoomBook *
loom_book_new(const LoomDesign *design, const LoomBookOptions *options, GCancellable *cancellable,
              LoomProgress progress, gpointer data, GError **error)
{
  g_autoptr(LoomBook) book = g_new0(LoomBook, 1);
  book->design = loom_design_snapshot(design);
  book->sheets = g_ptr_array_new_with_free_func((GDestroyNotify)loom_sheet_free);
  g_ptr_array_set_size(book->sheets, (int)loom_design_n_scenes(design));
  LoomMaking m = {.book = book,
                  .scroll = loom_scroll_new(options->paper),
                  .design = book->design,
                  .options = options,
                  .findings = options->findings,
                  .scene = options->scene};
  prepare(&m);
  bool whole = make_chapters(&m, cancellable, progress, data, error);
  clear(&m);
  book->pages = break_pages(m.scroll, book->design, options->grey);
  if (!whole)
    return NULL;
  if (progress)
    progress(1, data);
  return g_steal_pointer(&book);
}

void
loom_book_free(LoomBook *book)
{
  if (!book)
    return;
  loom_pages_free(book->pages);
  g_ptr_array_unref(book->sheets);
  loom_design_free(book->design);
  g_free(book);
}

const LoomPages *
loom_book_pages(const LoomBook *book)
{
  return book->pages;
}

guint
loom_book_n_pages(const LoomBook *book)
{
  return loom_pages_n(book->pages);
}

void
loom_book_page_size_pt(const LoomBook *book, guint page, double *width, double *height)
{
  loom_pages_size_pt(book->pages, page, width, height);
}

void
loom_book_draw_page(const LoomBook *book, cairo_t *cr, guint page)
{
  loom_pages_draw(book->pages, cr, page);
}

bool
loom_book_write_pdf(const LoomBook *book, const char *path, GCancellable *cancellable,
                    LoomProgress progress, gpointer data, GError **error)
{
  return loom_pages_write_pdf(book->pages, path, cancellable, progress, data, error);
}
