#include "figure.h"

#include "sheet/inks.h"

#include <math.h>
#include <string.h>

/* --- parts of a sheet --- */

#define COARSE 0.14 /* mm of paper a mm of sheet: the largest words would be 1.3 pt high */

typedef struct {
  LoomSheetView view;
  guint *only;          /* owned */
  LoomSheetMark *marks; /* owned */
} SheetFigure;

double
loom_figure_scale(LoomRect area, double width_mm, double height_mm, double most)
{
  return fmin(most, fmin(width_mm / area.width, height_mm / area.height));
}

static void
draw_mark(LoomInk *ink, const LoomSheetMark *mark, double scale)
{
  double radius = LOOM_MARK_RADIUS_MM / scale, size = 3.4 / scale;
  g_autoptr(LoomPath) path = loom_path_new();
  g_autofree char *number = g_strdup_printf("%u", mark->number);
  LoomStyle style = {LOOM_PAINT_PAPER, LOOM_PAINT_INK, 0.55 / scale, 0, 1};
  loom_path_circle(path, mark->at.x, mark->at.y, radius);
  loom_ink_path(ink, path, &style);
  loom_ink_text(ink, mark->at.x, mark->at.y + 0.36 * size, size * (mark->number > 99 ? 0.75 : 1),
                LOOM_ANCHOR_MIDDLE, true, LOOM_PAINT_INK, number);
}

static void
draw_sheet(LoomInk *ink, cairo_t *cr, double width_mm, double height_mm, gpointer data)
{
  const SheetFigure *f = data;
  const LoomSheetView *v = &f->view;
  double scale = loom_figure_scale(v->area, width_mm, height_mm, v->most_scale);
  cairo_save(cr);
  cairo_translate(cr, (width_mm - scale * v->area.width) / 2,
                  (height_mm - scale * v->area.height) / 2);
  cairo_scale(cr, scale, scale);
  cairo_translate(cr, -v->area.x, -v->area.y);
  cairo_rectangle(cr, v->area.x, v->area.y, v->area.width, v->area.height);
  cairo_clip(cr);
  LoomDrawOptions options = v->options;
  options.coarse |= scale < COARSE;
  options.block_scale = 1 / scale;
  loom_draw_sheet(ink, v->sheet, &options);
  for (guint i = 0; i < v->n_marks; i++)
    draw_mark(ink, &f->marks[i], scale);
  cairo_restore(cr);
  if (!v->border)
    return;
  cairo_set_line_width(cr, 0.2);
  cairo_set_source_rgb(cr, 0.5, 0.5, 0.5);
  cairo_rectangle(cr, 0, 0, width_mm, height_mm);
  cairo_stroke(cr);
}

static void
free_sheet_figure(gpointer data)
{
  SheetFigure *f = data;
  g_free(f->only);
  g_free(f->marks);
  g_free(f);
}

#define FINE 100 /* extents are measured in whole units */

/* What is covered by what `draw` draws, in millimetres. */
static LoomRect
measure(void (*draw)(LoomInk *, gconstpointer), gconstpointer data)
{
  cairo_surface_t *surface = cairo_recording_surface_create(CAIRO_CONTENT_COLOR_ALPHA, NULL);
  cairo_t *cr = cairo_create(surface);
  cairo_scale(cr, FINE, FINE);
  LoomInk *ink = loom_ink_cairo_new(cr, LOOM_PALETTE_PRINT);
  draw(ink, data);
  loom_ink_free(ink);
  cairo_destroy(cr);
  double x, y, width, height;
  cairo_recording_surface_ink_extents(surface, &x, &y, &width, &height);
  cairo_surface_destroy(surface);
  return (LoomRect){x / FINE, y / FINE, width / FINE, height / FINE};
}

static void
draw_view(LoomInk *ink, gconstpointer view)
{
  const LoomSheetView *v = view;
  loom_draw_sheet(ink, v->sheet, &v->options);
}

LoomRect
loom_figure_ink(const LoomSheetView *view)
{
  return measure(draw_view, view);
}

LoomFigure
loom_figure_sheet(const LoomSheetView *view, double width_mm, double height_mm)
{
  SheetFigure *f = g_new0(SheetFigure, 1);
  f->view = *view;
  if (view->options.only_parts) { /* none at all is another thing than NULL, which is all of them */
    f->only = g_new(guint, view->options.n_only + 1);
    memcpy(f->only, view->options.only_parts, sizeof(guint) * view->options.n_only);
  }
  f->marks = g_memdup2(view->marks, sizeof(LoomSheetMark) * view->n_marks);
  f->view.options.only_parts = f->only;
  f->view.options.findings = NULL;
  return (LoomFigure){width_mm, height_mm, draw_sheet, f, free_sheet_figure};
}

/* --- several --- */

typedef struct {
  guint n;
  LoomFigure *figures; /* [n] */
  double gap_mm;
} Row;

static void
draw_row(LoomInk *ink, cairo_t *cr, double width_mm G_GNUC_UNUSED, double height_mm, gpointer data)
{
  const Row *row = data;
  double x = 0;
  for (guint i = 0; i < row->n; i++) {
    const LoomFigure *f = &row->figures[i];
    cairo_save(cr);
    cairo_translate(cr, x, (height_mm - f->height_mm) / 2);
    f->draw(ink, cr, f->width_mm, f->height_mm, f->data);
    cairo_restore(cr);
    x += f->width_mm + row->gap_mm;
  }
}

static void
free_row(gpointer data)
{
  Row *row = data;
  for (guint i = 0; i < row->n; i++)
    if (row->figures[i].free)
      row->figures[i].free(row->figures[i].data);
  g_free(row->figures);
  g_free(row);
}

LoomFigure
loom_figure_row(const LoomFigure *figures, guint n, double gap_mm)
{
  Row *row = g_new(Row, 1);
  *row = (Row){n, g_memdup2(figures, n * sizeof *figures), gap_mm};
  double width = n > 1 ? (n - 1) * gap_mm : 0, height = 0;
  for (guint i = 0; i < n; i++) {
    width += figures[i].width_mm;
    height = fmax(height, figures[i].height_mm);
  }
  return (LoomFigure){width, height, draw_row, row, free_row};
}

/* --- kinds --- */

static void
draw_kind(LoomInk *ink, cairo_t *cr, double width_mm, double height_mm, gpointer data)
{
  LoomRect area = loom_draw_kind_extents(data);
  double scale = loom_figure_scale(area, width_mm, height_mm, 1);
  cairo_translate(cr, (width_mm - scale * area.width) / 2, (height_mm - scale * area.height) / 2);
  cairo_scale(cr, scale, scale);
  cairo_translate(cr, -area.x, -area.y);
  loom_draw_kind(ink, data);
}

static void
unref_kind(gpointer kind)
{
  loom_kind_unref(kind);
}

LoomFigure
loom_figure_kind(const LoomKind *kind, double width_mm, double most_height_mm)
{
  LoomRect area = loom_draw_kind_extents(kind);
  double height = area.height * loom_figure_scale(area, width_mm, most_height_mm, 1);
  return (LoomFigure){width_mm, height, draw_kind, loom_kind_ref(kind), unref_kind};
}

/* --- ends --- */

#define ENLARGED 1.5 /* mm of paper a mm of the catalogue */
#define GAP_MM 5.0   /* of paper, between ends that face each other */

/* One end, or two of which the second looks at the first. */
typedef struct {
  LoomKind *kind, *to_kind; /* owned references; to_kind NULL for one */
  guint end, to_end;
  LoomRect box, to_box; /* what they cover, in mm of the catalogue */
} EndFigure;

static void
draw_one_end(LoomInk *ink, gconstpointer end)
{
  loom_draw_end(ink, end, false);
}

static void
draw_arrow(LoomInk *ink, double x0, double x1, double y)
{
  g_autoptr(LoomPath) path = loom_path_new();
  LoomStyle style = {LOOM_PAINT_NONE, LOOM_PAINT_INK, 0.35, 0, 1};
  loom_path_move(path, x0, y);
  loom_path_line(path, x1, y);
  loom_path_move(path, x1 - 1, y - 0.8);
  loom_path_line(path, x1, y);
  loom_path_line(path, x1 - 1, y + 0.8);
  loom_ink_path(ink, path, &style);
}

static void
draw_ends(LoomInk *ink, cairo_t *cr, double width_mm, double height_mm, gpointer data)
{
  const EndFigure *f = data;
  double total = f->box.width + (f->to_kind ? f->to_box.width + GAP_MM / ENLARGED : 0);
  double scale = fmin(ENLARGED, width_mm / total);
  double middle = height_mm / scale / 2;
  cairo_scale(cr, scale, scale);
  loom_ink_begin_placed(ink, -f->box.x, middle - f->box.y - f->box.height / 2, 0, false);
  loom_draw_end(ink, &f->kind->ends[f->end], false);
  loom_ink_end(ink);
  if (!f->to_kind)
    return;
  double right = total + f->to_box.x;
  loom_ink_begin_placed(ink, right, middle - f->to_box.y - f->to_box.height / 2, 0, true);
  loom_draw_end(ink, &f->to_kind->ends[f->to_end], false);
  loom_ink_end(ink);
  draw_arrow(ink, f->box.width + 0.5, total - f->to_box.width - 0.5, middle);
}

static void
free_end_figure(gpointer data)
{
  EndFigure *f = data;
  loom_kind_unref(f->kind);
  if (f->to_kind)
    loom_kind_unref(f->to_kind);
  g_free(f);
}

LoomFigure
loom_figure_ends(const LoomKind *kind, guint end, const LoomKind *to_kind, guint to_end,
                 double width_mm)
{
  EndFigure *f = g_new0(EndFigure, 1);
  f->kind = loom_kind_ref(kind);
  f->end = end;
  f->box = measure(draw_one_end, &kind->ends[end]);
  double height = f->box.height;
  if (to_kind) {
    f->to_kind = loom_kind_ref(to_kind);
    f->to_end = to_end;
    f->to_box = measure(draw_one_end, &to_kind->ends[to_end]);
    height = fmax(height, f->to_box.height);
  }
  return (LoomFigure){width_mm, height * ENLARGED, draw_ends, f, free_end_figure};
}

LoomFigure
loom_figure_end(const LoomKind *kind, guint end, double width_mm)
{
  return loom_figure_ends(kind, end, NULL, 0, width_mm);
}
