#include "paper.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#define FOOTER_PT 50.0
#define HEADER_PT 45.0
#define COLUMN_PT 7.0 /* between columns at least */

/* --- text --- */

/* Attributes of the character at `i`, or NULL. Goes on from `at`, as the characters do. */
static const PopplerTextAttributes *
attributes_at(GList **at, int i)
{
  for (; *at; *at = (*at)->next) {
    const PopplerTextAttributes *a = (*at)->data;
    if (i <= a->end_index)
      return i >= a->start_index ? a : NULL;
  }
  return NULL;
}

static void
add_character(PaperLine *line, const PopplerRectangle *r, const PopplerTextAttributes *a,
              gunichar c)
{
  if (line->x1 < line->x0) {
    *line = (PaperLine){.x0 = r->x1, .y0 = r->y1, .x1 = r->x2, .y1 = r->y2, .bold = true};
  } else {
    line->x0 = MIN(line->x0, r->x1);
    line->y0 = MIN(line->y0, r->y1);
    line->x1 = MAX(line->x1, r->x2);
    line->y1 = MAX(line->y1, r->y2);
  }
  if (!a || g_unichar_isspace(c))
    return;
  line->size = MAX(line->size, a->font_size);
  line->bold &= a->font_name && strstr(a->font_name, "Bold") != NULL;
}

static void
end_line(GArray *lines, PaperLine *line, GString *text)
{
  if (line->x1 >= line->x0 && text->len > 0) {
    line->text = g_strdup(text->str);
    g_array_append_val(lines, *line);
  }
  *line = (PaperLine){.x0 = 0, .x1 = -1};
  g_string_truncate(text, 0);
}

/* What stands in the next column is another line. */
static bool
is_gap(const PaperLine *line, const PopplerRectangle *box, gunichar c)
{
  bool begun = line->x1 >= line->x0;
  return (c == ' ' && box->x2 - box->x1 > COLUMN_PT) ||
         (begun &&
          (box->x1 - line->x1 > COLUMN_PT || box->y1 > line->y1 - 1 || box->x1 < line->x0 - 1));
}

static void
read_lines(PaperPage *page, PopplerPage *pdf)
{
  GArray *lines = g_array_new(FALSE, TRUE, sizeof(PaperLine));
  GList *attributes = poppler_page_get_text_attributes(pdf), *attribute = attributes;
  g_autofree char *all = poppler_page_get_text(pdf);
  g_autoptr(GString) text = g_string_new(NULL);
  PopplerRectangle *boxes = NULL;
  guint n = 0;
  g_assert_true(poppler_page_get_text_layout(pdf, &boxes, &n));
  PaperLine line = {.x0 = 0, .x1 = -1};
  const char *at = all;
  for (guint i = 0; i < n; i++, at = g_utf8_next_char(at)) {
    gunichar c = g_utf8_get_char(at);
    bool gap = c == '\n' || is_gap(&line, &boxes[i], c);
    if (gap)
      end_line(lines, &line, text);
    if (c == '\n' || (gap && c == ' '))
      continue;
    add_character(&line, &boxes[i], attributes_at(&attribute, (int)i), c);
    g_string_append_unichar(text, c);
  }
  end_line(lines, &line, text);
  g_free(boxes);
  poppler_page_free_text_attributes(attributes);
  page->n_lines = lines->len;
  page->lines = (PaperLine *)g_array_free(lines, FALSE);
  GString *joined = g_string_new(NULL);
  for (guint i = 0; i < page->n_lines; i++)
    g_string_append_printf(joined, "%s\n", page->lines[i].text);
  page->text = g_string_free(joined, FALSE);
}

static void
read_outline(Paper *paper, PopplerIndexIter *iter, const char *indent)
{
  if (!iter)
    return;
  do {
    PopplerAction *action = poppler_index_iter_get_action(iter);
    int page = 0;
    if (action->type == POPPLER_ACTION_GOTO_DEST && action->goto_dest.dest)
      page = action->goto_dest.dest->page_num;
    g_ptr_array_add(paper->outline, g_strconcat(indent, action->any.title, NULL));
    g_array_append_val(paper->outline_pages, page);
    poppler_action_free(action);
    PopplerIndexIter *child = poppler_index_iter_get_child(iter);
    read_outline(paper, child, " ");
    if (child)
      poppler_index_iter_free(child);
  } while (poppler_index_iter_next(iter));
}

Paper *
paper_open(const char *path)
{
  g_autoptr(GError) error = NULL;
  g_autofree char *uri = g_filename_to_uri(path, NULL, NULL);
  Paper *paper = g_new0(Paper, 1);
  paper->pdf = poppler_document_new_from_file(uri, NULL, &error);
  if (!paper->pdf)
    fail_msg("%s: %s", path, error->message);
  paper->title = poppler_document_get_title(paper->pdf);
  paper->n_pages = (guint)poppler_document_get_n_pages(paper->pdf);
  paper->pages = g_new0(PaperPage, paper->n_pages);
  for (guint i = 0; i < paper->n_pages; i++) {
    PopplerPage *pdf = poppler_document_get_page(paper->pdf, (int)i);
    poppler_page_get_size(pdf, &paper->pages[i].width, &paper->pages[i].height);
    read_lines(&paper->pages[i], pdf);
    g_object_unref(pdf);
  }
  paper->outline = g_ptr_array_new_with_free_func(g_free);
  paper->outline_pages = g_array_new(FALSE, FALSE, sizeof(int));
  PopplerIndexIter *iter = poppler_index_iter_new(paper->pdf);
  read_outline(paper, iter, "");
  if (iter)
    poppler_index_iter_free(iter);
  return paper;
}

void
paper_free(Paper *paper)
{
  if (!paper)
    return;
  for (guint i = 0; i < paper->n_pages; i++) {
    for (guint k = 0; k < paper->pages[i].n_lines; k++)
      g_free(paper->pages[i].lines[k].text);
    g_free(paper->pages[i].lines);
    g_free(paper->pages[i].text);
  }
  g_free(paper->pages);
  g_free(paper->title);
  g_ptr_array_unref(paper->outline);
  g_array_unref(paper->outline_pages);
  g_object_unref(paper->pdf);
  g_free(paper);
}

char *
paper_temporary(const char *name)
{
  g_autofree char *file = g_strdup_printf("loombook-%d-%s", (int)getpid(), name);
  return g_build_filename(g_get_tmp_dir(), file, NULL);
}

/* Text with every run of white space as one blank: lines may break anywhere. */
static char *
flat(const char *text)
{
  g_autoptr(GRegex) blanks = g_regex_new("\\s+", 0, 0, NULL);
  return g_regex_replace_literal(blanks, text, -1, 0, " ", 0, NULL);
}

guint
paper_count(const Paper *paper, const char *words)
{
  guint n = 0;
  for (guint i = 0; i < paper->n_pages; i++) {
    g_autofree char *text = flat(paper->pages[i].text);
    n += strstr(text, words) != NULL;
  }
  return n;
}

guint
paper_find(const Paper *paper, const char *words)
{
  for (guint i = 0; i < paper->n_pages; i++) {
    g_autofree char *text = flat(paper->pages[i].text);
    if (strstr(text, words))
      return i;
  }
  return G_MAXUINT;
}

/* --- ink --- */

static bool
is_white(const unsigned char *pixel)
{
  return pixel[0] > 250 && pixel[1] > 250 && pixel[2] > 250;
}

/* Fails where there is ink in the strip x0 ... x1, y0 ... y1 of the page. */
static void
assert_white(cairo_surface_t *image, guint page, int x0, int x1, int y0, int y1)
{
  const unsigned char *data = cairo_image_surface_get_data(image);
  int stride = cairo_image_surface_get_stride(image);
  for (int y = y0; y < y1; y++)
    for (int x = x0; x < x1; x++)
      if (!is_white(data + y * stride + 4 * x))
        fail_msg("page %u has ink at %d, %d", page + 1, x, y);
}

void
paper_assert_margins(const Paper *paper, double left, double right, double top, double bottom)
{
  for (guint i = 0; i < paper->n_pages; i++) {
    int width = (int)paper->pages[i].width, height = (int)paper->pages[i].height;
    cairo_surface_t *image = cairo_image_surface_create(CAIRO_FORMAT_RGB24, width, height);
    cairo_t *cr = cairo_create(image);
    cairo_set_source_rgb(cr, 1, 1, 1);
    cairo_paint(cr);
    PopplerPage *pdf = poppler_document_get_page(paper->pdf, (int)i);
    poppler_page_render(pdf, cr);
    g_object_unref(pdf);
    cairo_surface_flush(image);
    assert_white(image, i, 0, (int)ceil(left), 0, height);
    assert_white(image, i, (int)ceil(width - right), width, 0, height);
    assert_white(image, i, 0, width, 0, (int)ceil(top));
    assert_white(image, i, 0, width, (int)ceil(height - bottom), height);
    cairo_destroy(cr);
    cairo_surface_destroy(image);
  }
}

static bool
is_heading(const PaperLine *line)
{
  if (g_regex_match_simple("^[A-Z]{1,2}[0-9]+$", line->text, 0, 0))
    return false; /* a designation in a diagram, of whatever size */
  return line->bold && (line->size > 13 || (line->size > 10.9 && line->size < 11.1) ||
                        (line->size > 9.4 && line->size < 9.6));
}

void
paper_assert_no_orphans(const Paper *paper)
{
  for (guint i = 0; i < paper->n_pages; i++) {
    const PaperPage *page = &paper->pages[i];
    for (guint k = 0; k < page->n_lines; k++) {
      const PaperLine *line = &page->lines[k];
      bool followed = false;
      if (!is_heading(line) || line->y0 < HEADER_PT)
        continue;
      for (guint other = 0; other < page->n_lines && !followed; other++) {
        const PaperLine *o = &page->lines[other];
        followed = o->y0 >= line->y1 - 3 && o->y1 < page->height - FOOTER_PT + 8 && !is_heading(o);
      }
      if (!followed)
        fail_msg("page %u: nothing stands below \"%s\"", i + 1, line->text);
    }
  }
}
