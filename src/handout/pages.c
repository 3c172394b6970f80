#include "pages-private.h"

#define APART 26.0 /* between two chapters on one page */
#define ENOUGH 0.4 /* of a page, for a chapter to begin there */

/* Where the breaker stands. */
typedef struct {
  LoomPages *pages;
  double y, bottom;
  bool empty; /* nothing is on the page yet */
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

static void
put(Breaker *b, guint strip, bool again)
{
  if (!b->empty && !again)
    b->y += strip_at(b->pages, strip)->above;
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
height_of(const LoomPages *pages, guint first, guint last)
{
  double height = strip_at(pages, first)->height;
  for (guint i = first + 1; i <= last; i++)
    height += strip_at(pages, i)->above + strip_at(pages, i)->height;
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
  return b->y + APART + height_of(b->pages, i, chapter_end(b->pages, i)) > b->bottom;
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

static void
break_pages(LoomPages *pages, guint first)
{
  Breaker b = {pages, 0, 0, true};
  for (guint i = first; i < pages->scroll->strips->len;) {
    guint end = tied_end(pages, i);
    const LoomStrip *s = strip_at(pages, i);
    bool fresh = starts_page(&b, i);
    if (!fresh && !b.empty && b.y + s->above + height_of(pages, i, end) > b.bottom)
      fresh = true;
    if (fresh)
      begin_page(&b, i);
    for (; i <= end; i++) {
      if (!b.empty && b.y + strip_at(pages, i)->above + strip_at(pages, i)->height > b.bottom &&
          last_page(pages)->n_puts > (strip_at(pages, i)->head != LOOM_NO_STRIP))
        begin_page(&b, i);
      note_chapter(pages, i);
      put(&b, i, false);
    }
  }
}

static LoomPages *
broken_from(LoomScroll *scroll, guint first)
{
  LoomPages *pages = g_new0(LoomPages, 1);
  pages->scroll = scroll;
  pages->pages = g_array_new(FALSE, TRUE, sizeof(LoomPage));
  pages->puts = g_array_new(FALSE, TRUE, sizeof(LoomPut));
  pages->chapters = g_array_new(FALSE, TRUE, sizeof(guint));
  pages->chapter_strips = g_array_new(FALSE, TRUE, sizeof(guint));
  break_pages(pages, first);
  return pages;
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
