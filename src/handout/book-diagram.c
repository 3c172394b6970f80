/* The diagram whole on one page, with legend and title block; and which way that page is turned. */
#include "book-diagram-private.h"

#include <math.h>

#define HEADING_MM 16.0
#define CLEAR_MM 3.0 /* around the legend, on paper */
#define READABLE 0.9 /* mm of paper a mm of sheet: names of ends are then 5.6 pt high */

LoomSheetView
loom_book_diagram_view(const LoomMaking *m)
{
  LoomSheetView view = {.sheet = loom_book_sheet(m->book, m->scene), .most_scale = 1.3};
  loom_draw_options_init(&view.options);
  view.options.palette = LOOM_PALETTE_PRINT;
  view.options.only_parts = (const guint *)m->here->data;
  view.options.n_only = m->here->len;
  return view;
}

/* Extents with title block and legend, whose size follows the scale at which all of it is shown. */
static LoomRect
whole_area(LoomSheetView *view, double width_mm, double height_mm)
{
  view->options.title_block = view->options.legend = true;
  for (guint i = 0; i < 4; i++) {
    LoomRect area = loom_draw_extents(view->sheet, &view->options);
    view->options.block_scale = 1 / loom_figure_scale(area, width_mm, height_mm, view->most_scale);
  }
  return loom_draw_extents(view->sheet, &view->options);
}

static double
scale_on(LoomMaking *m, double width_mm, double height_mm)
{
  LoomSheetView view = loom_book_diagram_view(m);
  LoomRect area = whole_area(&view, width_mm, height_mm);
  return loom_figure_scale(area, width_mm, height_mm, view.most_scale);
}

bool
loom_book_diagram_is_upright(LoomMaking *m)
{
  const LoomScroll *s = m->scroll;
  double wide = s->wide / LOOM_PT_PER_MM, low = s->short_body / LOOM_PT_PER_MM - HEADING_MM;
  double narrow = s->width / LOOM_PT_PER_MM, high = s->body / LOOM_PT_PER_MM - HEADING_MM;
  return scale_on(m, narrow, high) >= scale_on(m, wide, low);
}

/* --- the legend in a corner --- */

/* The legend by itself: a drawing of no part. */
static LoomSheetView
legend_view(const LoomMaking *m)
{
  static const guint NO_PART = 0;
  LoomSheetView view = loom_book_diagram_view(m);
  view.options.only_parts = &NO_PART;
  view.options.n_only = 0;
  view.options.legend = true;
  view.most_scale = 1;
  LoomRect ink = loom_figure_ink(&view);
  view.area = (LoomRect){ink.x - 0.5, ink.y - 0.5, ink.width + 1, ink.height + 1};
  return view;
}

static bool
is_free(const LoomMaking *m, const LoomSheet *sheet, LoomRect area)
{
  g_autofree bool *here = g_new0(bool, sheet->n_parts + 1);
  for (guint i = 0; i < m->here->len; i++) {
    guint part = g_array_index(m->here, guint, i);
    here[part] = true;
    if (loom_book_rects_meet(sheet->parts[part].outline, area) ||
        loom_book_rects_meet(sheet->parts[part].caption, area))
      return false;
  }
  for (guint i = 0; i < sheet->n_leads; i++)
    for (guint k = 0; here[sheet->leads[i].part] && k + 1 < sheet->leads[i].n_points; k++)
      if (loom_book_rects_meet(loom_book_segment(&sheet->leads[i], k), area))
        return false;
  for (guint i = 0; i < sheet->n_joints; i++)
    if (loom_book_rects_meet(
            (LoomRect){sheet->joints[i].at.x - 8, sheet->joints[i].at.y - 8, 16, 16}, area))
      return false;
  return true;
}

/* The diagram and the legend in opposite corners of a room. */
typedef struct {
  LoomFigure diagram, legend;
  LoomPoint diagram_at, legend_at; /* mm of paper */
} Both;

static void
draw_both(LoomInk *ink, cairo_t *cr, double width_mm G_GNUC_UNUSED, double height_mm G_GNUC_UNUSED,
          gpointer data)
{
  const Both *both = data;
  const LoomFigure *figures[] = {&both->diagram, &both->legend};
  const LoomPoint places[] = {both->diagram_at, both->legend_at};
  for (guint i = 0; i < 2; i++) {
    cairo_save(cr);
    cairo_translate(cr, places[i].x, places[i].y);
    figures[i]->draw(ink, cr, figures[i]->width_mm, figures[i]->height_mm, figures[i]->data);
    cairo_restore(cr);
  }
}

static void
free_both(gpointer data)
{
  Both *both = data;
  both->diagram.free(both->diagram.data);
  both->legend.free(both->legend.data);
  g_free(both);
}

/* Places for something of size `legend` in a corner of the room and for the diagram of size `size`
 * in the opposite one, so that the legend covers nothing that is drawn. */
static bool
find_corner(const LoomMaking *m, const LoomSheetView *view, LoomRect room, LoomRect legend,
            LoomRect size, LoomPoint *legend_at, LoomPoint *diagram_at)
{
  double scale = size.width / view->area.width;
  for (guint corner = 0; corner < 4; corner++) {
    bool right = corner & 1, top = corner & 2;
    *legend_at =
        (LoomPoint){right ? room.width - legend.width : 0, top ? 0 : room.height - legend.height};
    *diagram_at =
        (LoomPoint){right ? 0 : room.width - size.width, top ? room.height - size.height : 0};
    LoomRect covered = {view->area.x + (legend_at->x - CLEAR_MM - diagram_at->x) / scale,
                        view->area.y + (legend_at->y - CLEAR_MM - diagram_at->y) / scale,
                        (legend.width + 2 * CLEAR_MM) / scale,
                        (legend.height + 2 * CLEAR_MM) / scale};
    if (is_free(m, view->sheet, covered))
      return true;
  }
  return false;
}

/* The diagram as large as the page lets it be, if a corner is left for the legend. */
static bool
with_corner(LoomMaking *m, LoomRect room)
{
  LoomSheetView view = loom_book_diagram_view(m), legend = legend_view(m);
  view.area = loom_draw_extents(view.sheet, &view.options);
  double scale = loom_figure_scale(view.area, room.width, room.height, view.most_scale);
  LoomRect size = {0, 0, scale * view.area.width, scale * view.area.height};
  LoomPoint legend_at, diagram_at;
  if (!find_corner(m, &view, room, legend.area, size, &legend_at, &diagram_at))
    return false;
  Both *both = g_new(Both, 1);
  *both = (Both){loom_figure_sheet(&view, size.width, size.height),
                 loom_figure_sheet(&legend, legend.area.width, legend.area.height), diagram_at,
                 legend_at};
  loom_scroll_figure(m->scroll, (LoomFigure){room.width, room.height, draw_both, both, free_both});
  return true;
}

void
loom_book_diagram(LoomMaking *m)
{
  if (loom_design_n_parts(m->design) == 0) {
    loom_scroll_text(m->scroll, LOOM_TEXT_BODY, _("Nothing has been drawn yet."));
    return;
  }
  LoomSheetView view = loom_book_diagram_view(m);
  double width = loom_scroll_width_mm(m->scroll);
  double height = loom_scroll_body_mm(m->scroll) - HEADING_MM;
  view.area = whole_area(&view, width, height);
  double scale = loom_figure_scale(view.area, width, height, view.most_scale);
  if (scale >= READABLE || !with_corner(m, (LoomRect){0, 0, width, height}))
    loom_scroll_figure(m->scroll, loom_figure_sheet(&view, width, height));
  if (scale < READABLE)
    loom_book_tiles(m);
}
