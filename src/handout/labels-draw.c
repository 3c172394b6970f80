#include "labels.h"

#include <glib/gi18n-lib.h>
#include <math.h>
#include <pango/pangocairo.h>

#define PAD_MM 1.6
#define WRAP_MM 10.0 /* of a flag goes around the wire */
#define LARGEST_PT 13.0
#define SMALLEST_PT 5.5
#define SECOND 0.8 /* size of the lower lines against the first */

struct LoomLabelPages {
  LoomLabels *labels;
  char *title;
  const LoomLabelSheet *sheet;
  bool flags;
  guint skip;
  LoomScroll *scroll; /* for its fonts */
};

static PangoLayout *
line_layout(const LoomLabelPages *p, const char *text, double size_pt, bool bold)
{
  PangoLayout *layout =
      loom_scroll_layout(p->scroll, bold ? LOOM_TEXT_STRONG : LOOM_TEXT_BODY, -1, text);
  PangoFontDescription *font =
      pango_font_description_copy(pango_layout_get_font_description(layout));
  pango_font_description_set_absolute_size(font, size_pt * PANGO_SCALE);
  pango_layout_set_font_description(layout, font);
  pango_font_description_free(font);
  pango_layout_set_attributes(layout, NULL);
  pango_layout_set_width(layout, -1);
  return layout;
}

/* The lines of a label, NULL-terminated; new. `split`: the end and where it goes on two lines. */
static char **
lines_of(const LoomLabel *label, bool split, bool detail)
{
  GPtrArray *lines = g_ptr_array_new();
  if (label->to && !split) {
    g_ptr_array_add(lines, g_strdup_printf(_("%s to %s"), label->end, label->to));
  } else {
    g_ptr_array_add(lines, g_strdup(label->end));
    if (label->to)
      g_ptr_array_add(lines, g_strdup_printf(_("to %s"), label->to));
  }
  if (label->other)
    g_ptr_array_add(lines, g_strdup_printf(_("other end: %s"), label->other));
  if (detail && label->detail)
    g_ptr_array_add(lines, g_strdup(label->detail));
  g_ptr_array_add(lines, NULL);
  return (char **)g_ptr_array_free(lines, FALSE);
}

static void
measure(const LoomLabelPages *p, char **lines, double size_pt, double *width, double *height)
{
  *width = *height = 0;
  for (guint i = 0; lines[i]; i++) {
    PangoLayout *layout = line_layout(p, lines[i], i ? SECOND * size_pt : size_pt, i == 0);
    *width = fmax(*width, loom_layout_width(layout));
    *height += loom_layout_height(layout);
    g_object_unref(layout);
  }
}

/* Size of the first line at which all of them go into the room. */
static double
fitting_size(const LoomLabelPages *p, char **lines, double room_x, double room_y)
{
  double width, height;
  measure(p, lines, LARGEST_PT, &width, &height);
  return LARGEST_PT * fmin(1, 0.985 * fmin(room_x / width, room_y / height));
}

/* Draws the lines as large as they go into the room; those for which even the smallest type is too
 * wide are cut with an ellipsis. */
static void
draw_lines(const LoomLabelPages *p, cairo_t *cr, char **lines, double x, double y, double room_x,
           double room_y)
{
  double width, height;
  double size = fmax(fitting_size(p, lines, room_x, room_y), SMALLEST_PT);
  measure(p, lines, size, &width, &height);
  y += fmax((room_y - height) / 2, 0);
  for (guint i = 0; lines[i]; i++) {
    PangoLayout *layout = line_layout(p, lines[i], i ? SECOND * size : size, i == 0);
    pango_layout_set_ellipsize(layout, PANGO_ELLIPSIZE_END);
    if (width > room_x)
      pango_layout_set_width(layout, (int)(room_x * PANGO_SCALE));
    cairo_move_to(cr, x, y);
    pango_cairo_show_layout(cr, layout);
    y += loom_layout_height(layout);
    g_object_unref(layout);
  }
}

/* The arrangement of the lines that lets the type be larger. New. */
static char **
best_lines(const LoomLabelPages *p, const LoomLabel *label, bool detail, double room_x,
           double room_y)
{
  char **one = lines_of(label, false, detail), **two = lines_of(label, true, detail);
  bool split = fitting_size(p, two, room_x, room_y) > fitting_size(p, one, room_x, room_y);
  g_strfreev(split ? one : two);
  return split ? two : one;
}

static void
draw_line(cairo_t *cr, double x0, double y0, double x1, double y1, bool dashed)
{
  static const double DASH[] = {2, 2};
  cairo_set_dash(cr, DASH, dashed ? 2 : 0, 0);
  cairo_set_line_width(cr, 0.3);
  cairo_set_source_rgb(cr, 0.55, 0.55, 0.55);
  cairo_move_to(cr, x0, y0);
  cairo_line_to(cr, x1, y1);
  cairo_stroke(cr);
  cairo_set_source_rgb(cr, 0, 0, 0);
}

/* Words, room for the wire, the same words: they stand back to back once folded. */
static void
draw_flag(const LoomLabelPages *p, cairo_t *cr, const LoomLabel *label, LoomRect r)
{
  double pad = PAD_MM * LOOM_PT_PER_MM, wrap = WRAP_MM * LOOM_PT_PER_MM;
  double half = (r.width - wrap) / 2, room_x = half - 2 * pad, room_y = r.height - 2 * pad;
  g_auto(GStrv) lines = best_lines(p, label, false, room_x, room_y);
  draw_lines(p, cr, lines, r.x + pad, r.y + pad, room_x, room_y);
  draw_lines(p, cr, lines, r.x + half + wrap + pad, r.y + pad, room_x, room_y);
  draw_line(cr, r.x + half, r.y, r.x + half, r.y + r.height, true);
  draw_line(cr, r.x + half + wrap, r.y, r.x + half + wrap, r.y + r.height, true);
}

static void
draw_words(const LoomLabelPages *p, cairo_t *cr, const LoomLabel *label, LoomRect r)
{
  double pad = PAD_MM * LOOM_PT_PER_MM;
  double room_x = r.width - 4 * pad, room_y = r.height - 2 * pad;
  g_auto(GStrv) lines = best_lines(p, label, true, room_x, room_y);
  draw_lines(p, cr, lines, r.x + 2 * pad, r.y + pad, room_x, room_y);
}

static void
draw_label(const LoomLabelPages *p, cairo_t *cr, guint place, const LoomLabel *label)
{
  const LoomLabelSheet *s = p->sheet;
  LoomRect r = {(s->left_mm + place % s->across * s->step_x_mm) * LOOM_PT_PER_MM,
                (s->top_mm + place / s->across * s->step_y_mm) * LOOM_PT_PER_MM,
                s->width_mm * LOOM_PT_PER_MM, s->height_mm * LOOM_PT_PER_MM};
  if (p->flags)
    draw_flag(p, cr, label, r);
  else
    draw_words(p, cr, label, r);
  if (!s->cut)
    return;
  draw_line(cr, r.x, r.y, r.x + r.width, r.y, false);
  draw_line(cr, r.x, r.y + r.height, r.x + r.width, r.y + r.height, false);
  draw_line(cr, r.x, r.y, r.x, r.y + r.height, false);
  draw_line(cr, r.x + r.width, r.y, r.x + r.width, r.y + r.height, false);
}

LoomLabelPages *
loom_label_pages_new(LoomLabels *labels, const char *title, const LoomLabelSheet *sheet, bool flags,
                     guint skip)
{
  LoomLabelPages *pages = g_new0(LoomLabelPages, 1);
  pages->labels = labels;
  pages->title = g_strdup(title);
  pages->sheet = sheet;
  pages->flags = flags;
  pages->skip = skip % (sheet->across * sheet->down);
  pages->scroll = loom_scroll_new(sheet->paper);
  return pages;
}

void
loom_label_pages_free(LoomLabelPages *pages)
{
  if (!pages)
    return;
  loom_labels_free(pages->labels);
  loom_scroll_free(pages->scroll);
  g_free(pages->title);
  g_free(pages);
}

guint
loom_label_pages_n(const LoomLabelPages *pages)
{
  guint a_page = pages->sheet->across * pages->sheet->down;
  return MAX(1, (pages->labels->n_labels + pages->skip + a_page - 1) / a_page);
}

void
loom_label_pages_size_pt(const LoomLabelPages *pages, double *width, double *height)
{
  loom_paper_size_pt(pages->sheet->paper, width, height);
}

void
loom_label_pages_draw(const LoomLabelPages *pages, cairo_t *cr, guint page)
{
  guint a_page = pages->sheet->across * pages->sheet->down;
  cairo_set_source_rgb(cr, 0, 0, 0);
  for (guint place = 0; place < a_page; place++) {
    guint number = page * a_page + place;
    if (number >= pages->skip && number - pages->skip < pages->labels->n_labels)
      draw_label(pages, cr, place, &pages->labels->labels[number - pages->skip]);
  }
}

static void
page_size(gpointer data, guint page G_GNUC_UNUSED, double *width, double *height)
{
  loom_label_pages_size_pt(data, width, height);
}

static void
draw_page(gpointer data, cairo_t *cr, guint page)
{
  loom_label_pages_draw(data, cr, page);
}

bool
loom_label_pages_write_pdf(const LoomLabelPages *pages, const char *path, GCancellable *cancellable,
                           LoomProgress progress, gpointer data, GError **error)
{
  LoomPdf pdf = {.title = pages->title,
                 .n_pages = loom_label_pages_n(pages),
                 .data = (gpointer)pages,
                 .size = page_size,
                 .draw = draw_page};
  return loom_pdf_write(&pdf, path, cancellable, progress, data, error);
}
