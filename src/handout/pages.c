#include "pages-private.h"

#define APART 26.0 /* between two chapters on one page */
#define ENOUGH 0.4 /* of a page, for a chapter to begin there */
#define TIGHT 0.6  /* of the room between things, where that saves a page */

/* Where the breaker stands. */
typedef struct {
  LoomPages *pages;
  double y, bottom;
  bool empty;      /* nothing is on the page yet */
  double air;      /* share of the room between things, TIGHT or 1 */
  guint air_until; /* last strip that it is for */
} Breaker;

static const LoomStrip *
strip_at(const LoomPages *pages, guint i)
{
  return &g_array_index(pages->scroll->strips, LoomStrip, i);
}

static LoomPage *
last_page(LoomPages *pages)
{
  return &g_array_index(pages->pages, LoomPage, pages->pages->len - 1);
}

static double
above(const Breaker *b, guint strip)
{
  return (strip <= b->air_until ? b->air : 1) * strip_at(b->pages, strip)->above;
}

static void
put(Breaker *b, guint strip, bool again)
{
  if (!b->empty && !again)
    b->y += above(b, strip);
  LoomPut here = {strip, b->y, again};
  g_array_append_val(b->pages->puts, here);
  last_page(b->pages)->n_puts++;
  b->y += strip_at(b->pages, strip)->height;
  b->empty = false;
}

static void
begin_page(Breaker *b, guint strip)
{
  LoomPages *pages = b->pages;
  const LoomStrip *s = strip_at(pages, strip);
  bool sideways = pages->pages->len > 0 && last_page(pages)->sideways;
  if (s->new_page)
    sideways = s->start == LOOM_START_SIDEWAYS;
  else if (s->level == 1)
    sideways = false;
  LoomPage page = {.sideways = sideways,
                   .plain = s->plain,
                   .first_put = pages->puts->len,
                   .chapter = pages->chapters->len - 1};
  g_array_append_val(pages->pages, page);
  b->y = 0;
  b->bottom = sideways ? pages->scroll->short_body : pages->scroll->body;
  b->empty = true;
  if (s->head != LOOM_NO_STRIP && s->head != strip)
    put(b, s->head, true);
}

/* Height of strips first ... last one below the other, without the room above the first. */
static double
height_of(const Breaker *b, guint first, guint last)
{
  double height = strip_at(b->pages, first)->height;
  for (guint i = first + 1; i <= last; i++)
    height += above(b, i) + strip_at(b->pages, i)->height;
  return height;
}

/* Last strip of the chapter that begins at `i`. */
static guint
chapter_end(const LoomPages *pages, guint i)
{
  while (i + 1 < pages->scroll->strips->len) {
    const LoomStrip *next = strip_at(pages, i + 1);
    if (next->level == 1 || next->new_page)
      break;
    i++;
  }
  return i;
}

/* Last strip of those that are tied together from `i` on. */
static guint
tied_end(const LoomPages *pages, guint i)
{
  while (strip_at(pages, i)->tied && i + 1 < pages->scroll->strips->len &&
         !strip_at(pages, i + 1)->new_page)
    i++;
  return i;
}

static bool
starts_page(const Breaker *b, guint i)
{
  const LoomStrip *s = strip_at(b->pages, i);
  if (b->pages->pages->len == 0 || s->new_page)
    return true;
  if (s->level != 1 || b->empty)
    return false;
  if (last_page(b->pages)->sideways)
    return true;
  if (s->start == LOOM_START_HERE)
    return b->bottom - b->y < ENOUGH * b->bottom;
  return b->y + APART + height_of(b, i, chapter_end(b->pages, i)) > b->bottom;
}

static void
note_chapter(LoomPages *pages, guint strip)
{
  if (strip_at(pages, strip)->level != 1)
    return;
  guint page = pages->pages->len - 1;
  g_array_append_val(pages->chapters, page);
  g_array_append_val(pages->chapter_strips, strip);
  if (last_page(pages)->n_puts == 0)
    last_page(pages)->chapter = pages->chapters->len - 1;
}

static void tighten(Breaker *b, guint i);

static void
break_strips(Breaker *b, guint first, guint last)
{
  LoomPages *pages = b->pages;
  for (guint i = first; i <= last && i < pages->scroll->strips->len;) {
    guint end = tied_end(pages, i);
    bool fresh = starts_page(b, i);
    if (!fresh && !b->empty && b->y + above(b, i) + height_of(b, i, end) > b->bottom)
      fresh = true;
    if (fresh)
      begin_page(b, i);
    tighten(b, i);
    for (; i <= end; i++) {
      if (!b->empty && b->y + above(b, i) + strip_at(pages, i)->height > b->bottom &&
          last_page(pages)->n_puts > (strip_at(pages, i)->head != LOOM_NO_STRIP))
        begin_page(b, i);
      note_chapter(pages, i);
      put(b, i, false);
    }
  }
}

static LoomPages *
empty_pages(LoomScroll *scroll)
{
  LoomPages *pages = g_new0(LoomPages, 1);
  pages->scroll = scroll;
  pages->pages = g_array_new(FALSE, TRUE, sizeof(LoomPage));
  pages->puts = g_array_new(FALSE, TRUE, sizeof(LoomPut));
  pages->chapters = g_array_new(FALSE, TRUE, sizeof(guint));
  pages->chapter_strips = g_array_new(FALSE, TRUE, sizeof(guint));
  return pages;
}

static LoomPages *
broken_from(LoomScroll *scroll, guint first)
{
  LoomPages *pages = empty_pages(scroll);
  Breaker b = {.pages = pages, .empty = true, .air = 1};
  break_strips(&b, first, G_MAXUINT);
  return pages;
}

/* How many pages the chapter at strip `first` takes from where the breaker stands on. */
static guint
pages_with(const Breaker *b, guint first, guint last, double air)
{
  LoomPages *pages = empty_pages(b->pages->scroll);
  Breaker trial = {.pages = pages, .empty = true, .air = air, .air_until = last};
  begin_page(&trial, first);
  trial.y = b->empty ? 0 : b->y + above(&trial, first);
  break_strips(&trial, first, last);
  guint n = pages->pages->len;
  pages->scroll = NULL;
  loom_pages_free(pages);
  return n;
}

/* A chapter of upright pages after which a new page begins in any case is set tighter where it then
 * needs a page less: not to leave that one all but empty. */
static void
tighten(Breaker *b, guint i)
{
  guint end = chapter_end(b->pages, i);
  if (strip_at(b->pages, i)->level != 1 || last_page(b->pages)->sideways || i <= b->air_until ||
      end + 1 >= b->pages->scroll->strips->len || !strip_at(b->pages, end + 1)->new_page)
    return;
  b->air_until = end;
  b->air = pages_with(b, i, end, TIGHT) < pages_with(b, i, end, 1) ? TIGHT : 1;
}

guint
loom_pages_count(LoomScroll *scroll)
{
  guint first = scroll->strips->len;
  while (first > 0 && !g_array_index(scroll->strips, LoomStrip, --first).new_page)
    ;
  LoomPages *pages = broken_from(scroll, first);
  guint n = pages->pages->len;
  pages->scroll = NULL;
  loom_pages_free(pages);
  return n;
}

LoomPages *
loom_pages_new(LoomScroll *scroll, const LoomFurniture *furniture)
{
  LoomPages *pages = broken_from(scroll, 0);
  pages->title = g_strdup(furniture->title);
  pages->author = g_strdup(furniture->author);
  pages->footer = g_strdup(furniture->footer);
  pages->created = g_strdup(furniture->created);
  pages->grey = furniture->grey;
  return pages;
}

void
loom_pages_free(LoomPages *pages)
{
  if (!pages)
    return;
  loom_scroll_free(pages->scroll);
  g_array_unref(pages->pages);
  g_array_unref(pages->puts);
  g_array_unref(pages->chapters);
  g_array_unref(pages->chapter_strips);
  g_free(pages->title);
  g_free(pages->author);
  g_free(pages->footer);
  g_free(pages->created);
  g_free(pages);
}

guint
loom_pages_n(const LoomPages *pages)
{
  return pages->pages->len;
}

void
loom_pages_size_pt(const LoomPages *pages, guint page, double *width, double *height)
{
  double across, down;
  loom_paper_size_pt(pages->scroll->paper, &across, &down);
  bool sideways = g_array_index(pages->pages, LoomPage, page).sideways;
  *width = sideways ? down : across;
  *height = sideways ? across : down;
}

const char *
loom_pages_chapter(const LoomPages *pages, guint page)
{
  guint chapter = g_array_index(pages->pages, LoomPage, page).chapter;
  if (chapter >= pages->chapter_strips->len)
    return "";
  return strip_at(pages, g_array_index(pages->chapter_strips, guint, chapter))->title;
}

const guint *
loom_pages_chapter_pages(const LoomPages *pages, guint *n)
{
  *n = pages->chapters->len;
  return (const guint *)pages->chapters->data;
}
