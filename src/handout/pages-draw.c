#include "pages-private.h"
#include "sheet/inks.h"

#include <glib/gi18n-lib.h>
#include <pango/pangocairo.h>

#define FURNITURE_GREY 0.3
#define FRAME_PAD 8.0

static void
set_grey(cairo_t *cr, double grey)
{
  cairo_set_source_rgb(cr, grey, grey, grey);
}

/* --- marks --- */

static void
draw_lines(cairo_t *cr, const LoomSet *mark, double x, double y)
{
  PangoLayoutIter *iter = pango_layout_get_iter(mark->layout);
  double from = 0;
  for (int i = 0; i <= mark->last; i++, pango_layout_iter_next_line(iter)) {
    int top, baseline = pango_layout_iter_get_baseline(iter);
    pango_layout_iter_get_line_yrange(iter, &top, NULL);
    if (i == mark->first)
      from = (double)top / PANGO_SCALE;
    if (i < mark->first)
      continue;
    PangoRectangle logical;
    pango_layout_iter_get_line_extents(iter, NULL, &logical);
    cairo_move_to(cr, x + (double)logical.x / PANGO_SCALE,
                  y - from + (double)baseline / PANGO_SCALE);
    pango_cairo_show_layout_line(cr, pango_layout_iter_get_line_readonly(iter));
  }
  pango_layout_iter_free(iter);
}

static void
draw_figure(cairo_t *cr, LoomStamps *stamps, const LoomSet *mark, double x, double y)
{
  cairo_save(cr);
  cairo_translate(cr, x, y);
  cairo_scale(cr, LOOM_PT_PER_MM, LOOM_PT_PER_MM);
  g_autoptr(LoomInk) ink = stamps ? loom_ink_cairo_stamped_new(cr, LOOM_PALETTE_PRINT, stamps)
                                  : loom_ink_cairo_new(cr, LOOM_PALETTE_PRINT);
  mark->figure.draw(ink, cr, mark->width / LOOM_PT_PER_MM, mark->height / LOOM_PT_PER_MM,
                    mark->figure.data);
  cairo_restore(cr);
}

static void
draw_page_of(const LoomPages *pages, cairo_t *cr, const LoomSet *mark, double x, double y)
{
  if (mark->target >= pages->chapters->len)
    return;
  guint page = g_array_index(pages->chapters, guint, mark->target);
  g_autofree char *number = g_strdup_printf("%u", page + 1);
  g_autofree char *link = g_strdup_printf("dest='chapter-%u'", mark->target);
  PangoLayout *layout = loom_scroll_layout(pages->scroll, LOOM_TEXT_CELL, 60, number);
  cairo_tag_begin(cr, CAIRO_TAG_LINK, link);
  cairo_move_to(cr, x - loom_layout_width(layout), y);
  pango_cairo_show_layout(cr, layout);
  cairo_tag_end(cr, CAIRO_TAG_LINK);
  g_object_unref(layout);
}

static void
draw_mark(const LoomPages *pages, cairo_t *cr, LoomStamps *stamps, const LoomSet *mark, double y)
{
  double x = LOOM_MARGIN_LEFT + mark->x, top = y + mark->y;
  set_grey(cr, mark->grey);
  cairo_set_line_width(cr, mark->weight);
  switch (mark->type) {
  case LOOM_MARK_LAYOUT:
    cairo_move_to(cr, x, top);
    pango_cairo_show_layout(cr, mark->layout);
    break;
  case LOOM_MARK_LINES:
    draw_lines(cr, mark, x, top);
    break;
  case LOOM_MARK_RULE:
    cairo_move_to(cr, x, top);
    cairo_line_to(cr, x + mark->width, top + mark->height);
    cairo_stroke(cr);
    break;
  case LOOM_MARK_BOX:
    cairo_rectangle(cr, x, top, mark->width, mark->height);
    cairo_stroke(cr);
    break;
  case LOOM_MARK_TINT:
    cairo_rectangle(cr, x, top, mark->width, mark->height);
    cairo_fill(cr);
    break;
  case LOOM_MARK_DRAWING:
    draw_figure(cr, stamps, mark, x, top);
    break;
  case LOOM_MARK_PAGE_OF:
    draw_page_of(pages, cr, mark, x, top);
    break;
  }
  cairo_new_path(cr);
}

/* --- a page --- */

static const LoomPut *
put_at(const LoomPages *pages, const LoomPage *page, guint i)
{
  return &g_array_index(pages->puts, LoomPut, page->first_put + i);
}

static const LoomStrip *
strip_of(const LoomPages *pages, const LoomPut *put)
{
  return &g_array_index(pages->scroll->strips, LoomStrip, put->strip);
}

static void
draw_frame(cairo_t *cr, double top, double bottom, double width, bool heavy)
{
  cairo_rectangle(cr, LOOM_MARGIN_LEFT, top - FRAME_PAD, width, bottom - top + 2 * FRAME_PAD);
  set_grey(cr, heavy ? 0.93 : 1);
  cairo_fill_preserve(cr);
  set_grey(cr, heavy ? 0 : 0.25);
  cairo_set_line_width(cr, heavy ? 2.6 : 0.9);
  cairo_stroke(cr);
}

static void
draw_frames(const LoomPages *pages, cairo_t *cr, const LoomPage *page)
{
  double width = page->sideways ? pages->scroll->wide : pages->scroll->width;
  for (guint i = 0; i < page->n_puts;) {
    const LoomStrip *first = strip_of(pages, put_at(pages, page, i));
    double top = put_at(pages, page, i)->y, bottom = top;
    guint frame = first->frame;
    for (; i < page->n_puts && strip_of(pages, put_at(pages, page, i))->frame == frame; i++)
      bottom = put_at(pages, page, i)->y + strip_of(pages, put_at(pages, page, i))->height;
    if (frame)
      draw_frame(cr, top + LOOM_MARGIN_TOP, bottom + LOOM_MARGIN_TOP, width, first->heavy);
  }
}

static void
draw_small(const LoomPages *pages, cairo_t *cr, const char *text, double x, double y, double back)
{
  PangoLayout *layout = loom_scroll_layout(pages->scroll, LOOM_TEXT_SMALL, -1, text);
  pango_layout_set_width(layout, -1);
  pango_layout_set_attributes(layout, NULL);
  cairo_move_to(cr, x - back * loom_layout_width(layout), y);
  pango_cairo_show_layout(cr, layout);
  g_object_unref(layout);
}

static void
draw_furniture(const LoomPages *pages, cairo_t *cr, guint i, bool plain)
{
  double width, height;
  loom_pages_size_pt(pages, i, &width, &height);
  double right = width - LOOM_MARGIN_RIGHT;
  g_autofree char *number = g_strdup_printf(_("%u of %u"), i + 1, pages->pages->len);
  set_grey(cr, FURNITURE_GREY);
  draw_small(pages, cr, pages->footer ? pages->footer : "", LOOM_MARGIN_LEFT, height - 34, 0);
  draw_small(pages, cr, number, right, height - 34, 1);
  if (plain)
    return;
  draw_small(pages, cr, pages->title, LOOM_MARGIN_LEFT, 28, 0);
  draw_small(pages, cr, loom_pages_chapter(pages, i), right, 28, 1);
  cairo_set_line_width(cr, 0.5);
  cairo_move_to(cr, LOOM_MARGIN_LEFT, 42);
  cairo_line_to(cr, right, 42);
  cairo_stroke(cr);
}

/* Chapters are places that the contents link to. */
static void
mark_chapters(const LoomPages *pages, cairo_t *cr, guint page)
{
  for (guint c = 0; c < pages->chapters->len; c++) {
    if (g_array_index(pages->chapters, guint, c) != page)
      continue;
    g_autofree char *name = g_strdup_printf("name='chapter-%u' x=0 y=0 internal", c);
    cairo_tag_begin(cr, CAIRO_TAG_DEST, name);
    cairo_tag_end(cr, CAIRO_TAG_DEST);
  }
}

static void
fill_page(const LoomPages *pages, cairo_t *cr, guint page, double grey)
{
  double width, height;
  loom_pages_size_pt(pages, page, &width, &height);
  cairo_rectangle(cr, 0, 0, width, height);
  set_grey(cr, grey);
  cairo_fill(cr);
}

/* Takes the saturation of every colour and leaves its lightness. */
static void
take_colours(const LoomPages *pages, cairo_t *cr, guint page)
{
  cairo_set_operator(cr, CAIRO_OPERATOR_HSL_SATURATION);
  fill_page(pages, cr, page, 0.5);
}

/* `stamps` NULL: everything is drawn each time. */
static void
draw_page(const LoomPages *pages, cairo_t *cr, LoomStamps *stamps, guint i)
{
  const LoomPage *page = &g_array_index(pages->pages, LoomPage, i);
  cairo_save(cr);
  if (pages->grey)
    fill_page(pages, cr, i, 1);
  mark_chapters(pages, cr, i);
  draw_furniture(pages, cr, i, page->plain);
  draw_frames(pages, cr, page);
  for (guint p = 0; p < page->n_puts; p++) {
    const LoomPut *put = put_at(pages, page, p);
    const LoomStrip *strip = strip_of(pages, put);
    for (guint m = 0; m < strip->n_marks; m++)
      draw_mark(pages, cr, stamps,
                &g_array_index(pages->scroll->marks, LoomSet, strip->first_mark + m),
                put->y + LOOM_MARGIN_TOP);
  }
  if (pages->grey)
    take_colours(pages, cr, i);
  cairo_restore(cr);
}

void
loom_pages_draw(const LoomPages *pages, cairo_t *cr, guint i)
{
  draw_page(pages, cr, NULL, i);
}

/* --- PDF --- */

static void
add_outline(const LoomPages *pages, cairo_surface_t *pdf, guint page, int *chapter)
{
  const LoomPage *p = &g_array_index(pages->pages, LoomPage, page);
  for (guint i = 0; i < p->n_puts; i++) {
    const LoomPut *put = put_at(pages, p, i);
    const LoomStrip *strip = strip_of(pages, put);
    if (!strip->title || put->again)
      continue;
    g_autofree char *where =
        g_strdup_printf("page=%u pos=[0 %d]", page + 1, (int)(put->y + LOOM_MARGIN_TOP - 12));
    int parent = strip->level == 1 ? CAIRO_PDF_OUTLINE_ROOT : *chapter;
    int id = cairo_pdf_surface_add_outline(pdf, parent, strip->title, where, 0);
    if (strip->level == 1)
      *chapter = id;
  }
}

/* What the PDF is written from. */
typedef struct {
  const LoomPages *pages;
  int chapter; /* outline entry that sections go under */
  LoomStamps *stamps;
} Writing;

static void
page_size(gpointer data, guint page, double *width, double *height)
{
  loom_pages_size_pt(((Writing *)data)->pages, page, width, height);
}

static void
write_page(gpointer data, cairo_t *cr, guint page)
{
  Writing *w = data;
  add_outline(w->pages, cairo_get_target(cr), page, &w->chapter);
  draw_page(w->pages, cr, w->stamps, page);
}

bool
loom_pages_write_pdf(const LoomPages *pages, const char *path, GCancellable *cancellable,
                     LoomProgress progress, gpointer data, GError **error)
{
  g_autoptr(LoomStamps) stamps = loom_stamps_new();
  Writing writing = {pages, CAIRO_PDF_OUTLINE_ROOT, stamps};
  LoomPdf pdf = {.title = pages->title,
                 .author = pages->author,
                 .created = pages->created,
                 .n_pages = pages->pages->len,
                 .data = &writing,
                 .size = page_size,
                 .draw = write_page};
  return loom_pdf_write(&pdf, path, cancellable, progress, data, error);
}
