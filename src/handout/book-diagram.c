/* The diagram: whole on one page; in tiles besides where it would be too small to read. */
#include "book-private.h"

#include <math.h>

#define READABLE 0.8 /* mm of paper a mm of sheet: names of ends are then 5 pt high */
#define TILE_SCALE 1.0
#define OVERLAP_MM 12.0 /* of the sheet, between neighbouring tiles */
#define HEADING_MM 16.0
#define KEY_WIDTH_MM 46.0
#define KEY_HEIGHT_MM 24.0

static LoomSheetView
view_of(const LoomMaking *m)
{
  LoomSheetView view = {.sheet = loom_book_sheet(m->book, m->scene), .most_scale = 1.3};
  loom_draw_options_init(&view.options);
  view.options.palette = LOOM_PALETTE_PRINT;
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
  LoomSheetView view = view_of(m);
  LoomRect area = whole_area(&view, width_mm, height_mm);
  return loom_figure_scale(area, width_mm, height_mm, view.most_scale);
}

bool
loom_book_diagram_is_upright(LoomMaking *m)
{
  const LoomScroll *f = m->scroll;
  double wide = f->wide / LOOM_PT_PER_MM, low = f->short_body / LOOM_PT_PER_MM - HEADING_MM;
  double narrow = f->width / LOOM_PT_PER_MM, high = f->body / LOOM_PT_PER_MM - HEADING_MM;
  return scale_on(m, narrow, high) >= scale_on(m, wide, low);
}

/* Returns the scale. */
static double
whole(LoomMaking *m)
{
  LoomSheetView view = view_of(m);
  double width = loom_scroll_width_mm(m->scroll),
         height = loom_scroll_body_mm(m->scroll) - HEADING_MM;
  view.area = whole_area(&view, width, height);
  loom_scroll_figure(m->scroll, loom_figure_sheet(&view, width, height));
  return loom_figure_scale(view.area, width, height, view.most_scale);
}

/* --- tiles --- */

typedef struct {
  LoomRect all; /* of the sheet */
  guint columns, rows;
  double width, height; /* of one tile, mm of the sheet */
} Tiling;

static guint
how_many(double length, double tile)
{
  return length <= tile ? 1 : 1 + (guint)ceil((length - tile) / (tile - OVERLAP_MM));
}

static LoomRect
tile_area(const Tiling *t, guint column, guint row)
{
  return (LoomRect){t->all.x + column * (t->width - OVERLAP_MM),
                    t->all.y + row * (t->height - OVERLAP_MM), t->width, t->height};
}

static bool
meets(LoomRect a, LoomRect b)
{
  return a.x < b.x + b.width && b.x < a.x + a.width && a.y < b.y + b.height && b.y < a.y + a.height;
}

static bool
is_empty(const LoomSheet *sheet, LoomRect area)
{
  for (guint p = 0; p < sheet->n_parts; p++)
    if (meets(sheet->parts[p].outline, area))
      return false;
  for (guint i = 0; i < sheet->n_leads; i++)
    for (guint k = 0; k + 1 < sheet->leads[i].n_points; k++) {
      LoomPoint a = sheet->leads[i].points[k], b = sheet->leads[i].points[k + 1];
      LoomRect r = {fmin(a.x, b.x), fmin(a.y, b.y), fabs(a.x - b.x) + 0.1, fabs(a.y - b.y) + 0.1};
      if (meets(r, area))
        return false;
    }
  return true;
}

/* The whole sheet in small, with the tiles and the one that is shown. */
typedef struct {
  Tiling tiling;
  const LoomSheet *sheet;
  guint column, row;
} Key;

static void
draw_key(LoomInk *ink G_GNUC_UNUSED, cairo_t *cr, double width_mm, double height_mm, gpointer data)
{
  const Key *key = data;
  const LoomRect *all = &key->tiling.all;
  double scale = loom_figure_scale(*all, width_mm, height_mm, 1);
  cairo_scale(cr, scale, scale);
  cairo_translate(cr, -all->x, -all->y);
  LoomRect shown = tile_area(&key->tiling, key->column, key->row);
  cairo_rectangle(cr, all->x, all->y, all->width, all->height);
  cairo_clip(cr);
  cairo_set_source_rgb(cr, 0.82, 0.82, 0.82);
  cairo_rectangle(cr, shown.x, shown.y, shown.width, shown.height);
  cairo_fill(cr);
  cairo_set_source_rgb(cr, 0.35, 0.35, 0.35);
  cairo_set_line_width(cr, 0.25 / scale);
  for (guint p = 0; p < key->sheet->n_parts; p++) {
    const LoomRect *o = &key->sheet->parts[p].outline;
    cairo_rectangle(cr, o->x, o->y, o->width, o->height);
  }
  cairo_stroke(cr);
  cairo_set_source_rgb(cr, 0, 0, 0);
  cairo_set_line_width(cr, 0.6 / scale);
  cairo_rectangle(cr, shown.x, shown.y, shown.width, shown.height);
  cairo_stroke(cr);
}

static void
tile(LoomMaking *m, const Tiling *tiling, guint column, guint row)
{
  LoomSheetView view = view_of(m);
  view.most_scale = TILE_SCALE;
  view.border = true;
  view.area = view.options.clip = tile_area(tiling, column, row);
  if (is_empty(view.sheet, view.area))
    return;
  loom_scroll_page(m->scroll, true);
  g_autofree char *title = g_strdup_printf(_("Diagram, tile %c%u"), 'A' + (int)row, column + 1);
  g_autofree char *text =
      g_strdup_printf(_("Row %c of %c, column %u of %u. The small picture on the right shows where "
                        "it lies; neighbouring tiles overlap."),
                      'A' + (int)row, 'A' + (int)tiling->rows - 1, column + 1, tiling->columns);
  loom_scroll_section(m->scroll, title);
  Key *key = g_new(Key, 1);
  *key = (Key){*tiling, view.sheet, column, row};
  static const LoomColumn COLUMNS[] = {{NULL, 0, 1, false}, {NULL, KEY_WIDTH_MM + 4, 0, false}};
  LoomTable *table = loom_table_begin(m->scroll, COLUMNS, 2, false);
  loom_table_text(table, text);
  loom_table_figure(table, (LoomFigure){KEY_WIDTH_MM, KEY_HEIGHT_MM, draw_key, key, g_free});
  loom_table_end(table);
  loom_scroll_keep(m->scroll);
  loom_scroll_figure(
      m->scroll, loom_figure_sheet(&view, tiling->width * TILE_SCALE, tiling->height * TILE_SCALE));
}

static void
tiles(LoomMaking *m)
{
  LoomSheetView view = view_of(m);
  Tiling t = {.all = loom_draw_extents(view.sheet, &view.options),
              .width = loom_scroll_width_mm(m->scroll) / TILE_SCALE,
              .height = (loom_scroll_body_mm(m->scroll) - HEADING_MM - KEY_HEIGHT_MM) / TILE_SCALE};
  t.columns = how_many(t.all.width, t.width);
  t.rows = how_many(t.all.height, t.height);
  for (guint row = 0; row < MIN(t.rows, 26); row++)
    for (guint column = 0; column < t.columns; column++)
      tile(m, &t, column, row);
}

void
loom_book_diagram(LoomMaking *m)
{
  if (loom_design_n_parts(m->design) == 0) {
    loom_scroll_text(m->scroll, LOOM_TEXT_BODY, _("Nothing has been drawn yet."));
    return;
  }
  if (whole(m) < READABLE)
    tiles(m);
}
