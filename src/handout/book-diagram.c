/* The diagram whole on one page, with legend and title block; and which way that page is turned. */
#include "book-diagram-private.h"

#include <math.h>

#define HEADING_MM 16.0
#define READABLE 0.9 /* mm of paper a mm of sheet: names of ends are then 5.6 pt high */
#define CLEAR_MM 3.0 /* around the legend, on paper */

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

/* The legend by itself: a drawing of no part has nothing above it. */
static LoomSheetView
legend_view(const LoomMaking *m)
{
  static const guint NO_PART = 0;
  LoomSheetView view = loom_book_diagram_view(m);
  view.options.only_parts = &NO_PART;
  view.options.n_only = 0;
  view.options.legend = true;
  LoomRect all = loom_draw_extents(view.sheet, &view.options);
  view.area = (LoomRect){all.x + 5, all.y + 19, 146, all.height - 19};
  view.most_scale = 1;
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

/* The diagram in a room of that size, and a corner of the room (mm of paper) that it leaves free
 * for something of `width` and `height`. */
static bool
find_corner(const LoomMaking *m, const LoomSheetView *view, LoomRect room, double width,
            double height, LoomPoint *corner)
{
  double scale = loom_figure_scale(view->area, room.width, room.height, view->most_scale);
  double x0 = (room.width - scale * view->area.width) / 2,
         y0 = (room.height - scale * view->area.height) / 2;
  const LoomPoint corners[] = {{0, room.height - height},
                               {room.width - width, room.height - height},
                               {0, 0},
                               {room.width - width, 0}};
  for (guint i = 0; i < G_N_ELEMENTS(corners); i++) {
    LoomRect area = {view->area.x + (corners[i].x - CLEAR_MM - x0) / scale,
                     view->area.y + (corners[i].y - CLEAR_MM - y0) / scale,
                     (width + 2 * CLEAR_MM) / scale, (height + 2 * CLEAR_MM) / scale};
    if (!is_free(m, view->sheet, area))
      continue;
    *corner = corners[i];
    return true;
  }
  return false;
}

/* The diagram, and the legend over a free corner of it. */
typedef struct {
  LoomFigure diagram, legend;
  LoomPoint corner;
} Both;

static void
draw_both(LoomInk *ink, cairo_t *cr, double width_mm, double height_mm, gpointer data)
{
  const Both *both = data;
  cairo_save(cr);
  both->diagram.draw(ink, cr, width_mm, height_mm, both->diagram.data);
  cairo_restore(cr);
  cairo_translate(cr, both->corner.x, both->corner.y);
  both->legend.draw(ink, cr, both->legend.width_mm, both->legend.height_mm, both->legend.data);
}

static void
free_both(gpointer data)
{
  Both *both = data;
  both->diagram.free(both->diagram.data);
  both->legend.free(both->legend.data);
  g_free(both);
}

/* The diagram as large as the page lets it be, if a corner is left for the legend. */
static bool
with_corner(LoomMaking *m, LoomRect room)
{
  LoomSheetView view = loom_book_diagram_view(m), legend = legend_view(m);
  LoomPoint corner;
  double width = legend.area.width, height = legend.area.height;
  view.area = loom_draw_extents(view.sheet, &view.options);
  if (!find_corner(m, &view, room, width, height, &corner))
    return false;
  Both *both = g_new(Both, 1);
  *both = (Both){loom_figure_sheet(&view, room.width, room.height),
                 loom_figure_sheet(&legend, width, height), corner};
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
  LoomRect room = {0, 0, loom_scroll_width_mm(m->scroll),
                   loom_scroll_body_mm(m->scroll) - HEADING_MM};
  view.area = whole_area(&view, room.width, room.height);
  double scale = loom_figure_scale(view.area, room.width, room.height, view.most_scale);
  if (scale >= READABLE || !with_corner(m, room))
    loom_scroll_figure(m->scroll, loom_figure_sheet(&view, room.width, room.height));
  if (scale < READABLE)
    loom_book_tiles(m);
}
