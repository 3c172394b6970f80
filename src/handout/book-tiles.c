/* The diagram in tiles, for when it is too small to read on one page.
 *
 *     +-----+-----+-----+       columns lie evenly over the sheet; within its column a stack of
 * tiles |  1  |  2  |     |       lies evenly over what is drawn there, so that no tile shows white
 *     |     +-----+  4  |       paper alone
 *     +-----|  3  |     |
 *           +-----+-----+  */
#include "book-diagram-private.h"

#include <math.h>

#define MOST_SCALE 1.25 /* mm of paper a mm of sheet */
#define LEAST_SCALE 0.9
#define OVERLAP_MM 14.0 /* of the sheet, between neighbours, at least */
#define AROUND_MM 6.0   /* of the sheet, around what is drawn */
#define KEY_WIDTH_MM 44.0
#define KEY_HEIGHT_MM 21.0
#define HEAD_MM 27.0 /* title and key */

typedef struct {
  LoomRect all; /* of the sheet */
  double scale;
  GArray *tiles; /* of LoomRect, mm of the sheet */
} Tiling;

bool
loom_book_rects_meet(LoomRect a, LoomRect b)
{
  return a.x < b.x + b.width && b.x < a.x + a.width && a.y < b.y + b.height && b.y < a.y + a.height;
}

LoomRect
loom_book_segment(const LoomLaidLead *lead, guint i)
{
  LoomPoint a = lead->points[i], b = lead->points[i + 1];
  return (LoomRect){fmin(a.x, b.x), fmin(a.y, b.y), fabs(a.x - b.x) + 0.1, fabs(a.y - b.y) + 0.1};
}

static guint
how_many(double length, double tile)
{
  return length <= tile ? 1 : 1 + (guint)ceil((length - tile) / (tile - OVERLAP_MM) - 1e-9);
}

/* Where tile `i` of `n` begins so that they lie evenly over `length`; one alone lies in the middle.
 */
static double
start_of(double length, double tile, guint i, guint n)
{
  return n > 1 ? i * (length - tile) / (n - 1) : (length - tile) / 2;
}

/* --- what is drawn in a column --- */

/* Lowest and highest y of what lies between x0 and x1. */
typedef struct {
  double x0, x1, low, high;
} Column;

static void
take(Column *c, LoomRect r)
{
  if (r.x >= c->x1 || r.x + r.width <= c->x0)
    return;
  c->low = fmin(c->low, r.y);
  c->high = fmax(c->high, r.y + r.height);
}

static Column
measure_column(const LoomMaking *m, const LoomSheet *sheet, double x0, double x1)
{
  Column c = {x0, x1, INFINITY, -INFINITY};
  g_autofree bool *here = g_new0(bool, sheet->n_parts + 1);
  for (guint i = 0; i < m->here->len; i++) {
    guint part = g_array_index(m->here, guint, i);
    here[part] = true;
    take(&c, sheet->parts[part].outline);
    if (sheet->parts[part].caption.width > 0)
      take(&c, sheet->parts[part].caption);
  }
  for (guint i = 0; i < sheet->n_ends; i++)
    if (here[sheet->ends[i].part])
      take(&c, sheet->ends[i].box);
  for (guint i = 0; i < sheet->n_leads; i++)
    for (guint k = 0; here[sheet->leads[i].part] && k + 1 < sheet->leads[i].n_points; k++)
      take(&c, loom_book_segment(&sheet->leads[i], k));
  return c;
}

static Tiling
tile_at(const LoomMaking *m, const LoomSheet *sheet, LoomRect all, double width_mm,
        double height_mm, double scale)
{
  Tiling t = {all, scale, g_array_new(FALSE, FALSE, sizeof(LoomRect))};
  double width = width_mm / scale, height = height_mm / scale;
  guint columns = how_many(all.width, width);
  for (guint i = 0; i < columns; i++) {
    double x = all.x + start_of(all.width, width, i, columns);
    Column c = measure_column(m, sheet, x, x + width);
    if (c.low > c.high)
      continue;
    double top = c.low - AROUND_MM, length = c.high - c.low + 2 * AROUND_MM;
    guint rows = how_many(length, height);
    for (guint k = 0; k < rows; k++) {
      LoomRect tile = {x, top + start_of(length, height, k, rows), width, height};
      g_array_append_val(t.tiles, tile);
    }
  }
  return t;
}

/* The fewest tiles, and among equal numbers the largest scale. */
static Tiling
choose_tiling(const LoomMaking *m, const LoomSheet *sheet, LoomRect all, double width_mm,
              double height_mm)
{
  Tiling best = tile_at(m, sheet, all, width_mm, height_mm, MOST_SCALE);
  for (double scale = MOST_SCALE - 0.05; scale > LEAST_SCALE - 1e-6; scale -= 0.05) {
    Tiling t = tile_at(m, sheet, all, width_mm, height_mm, scale);
    if (t.tiles->len < best.tiles->len) {
      g_array_unref(best.tiles);
      best = t;
    } else {
      g_array_unref(t.tiles);
    }
  }
  return best;
}

/* --- the key: the whole sheet in small, with the tile that is shown --- */

/* What all keys of a book show alike, counted. */
typedef struct {
  LoomRect all;
  LoomPath *outlines; /* of the parts */
} Map;

typedef struct {
  Map *map;
  LoomRect shown;
} Key;

static void
clear_map(gpointer map)
{
  loom_path_free(((Map *)map)->outlines);
}

static Map *
map_new(const LoomMaking *m, const LoomSheet *sheet, LoomRect all)
{
  Map *map = g_atomic_rc_box_new(Map);
  *map = (Map){all, loom_path_new()};
  for (guint i = 0; i < m->here->len; i++)
    loom_path_rect(map->outlines, sheet->parts[g_array_index(m->here, guint, i)].outline, 0);
  return map;
}

static void
map_unref(Map *map)
{
  g_atomic_rc_box_release_full(map, clear_map);
}

static void
free_key(gpointer key)
{
  map_unref(((Key *)key)->map);
  g_free(key);
}

static void
add_rect(cairo_t *cr, LoomRect r)
{
  cairo_rectangle(cr, r.x, r.y, r.width, r.height);
}

static double
map_scale(const Map *map)
{
  return loom_figure_scale(map->all, KEY_WIDTH_MM, KEY_HEIGHT_MM, 1);
}

static void
draw_map(LoomInk *ink, gconstpointer data)
{
  const Map *map = data;
  LoomStyle style = {LOOM_PAINT_NONE, LOOM_PAINT_FAINT, 0.25 / map_scale(map), 0, 1};
  loom_ink_path(ink, map->outlines, &style);
}

static void
draw_key(LoomInk *ink, cairo_t *cr, double width_mm, double height_mm G_GNUC_UNUSED, gpointer data)
{
  const Key *key = data;
  LoomRect all = key->map->all;
  double scale = map_scale(key->map);
  cairo_translate(cr, width_mm - scale * all.width, 0);
  cairo_scale(cr, scale, scale);
  cairo_translate(cr, -all.x, -all.y);
  add_rect(cr, all);
  cairo_clip(cr);
  cairo_set_source_rgb(cr, 0.82, 0.82, 0.82);
  add_rect(cr, key->shown);
  cairo_fill(cr);
  LoomStamp stamp = {.draw = draw_map, .data = key->map, .thing = key->map, .box = all};
  loom_ink_stamp(ink, &stamp);
  cairo_set_source_rgb(cr, 0, 0, 0);
  cairo_set_line_width(cr, 0.7 / scale);
  add_rect(cr, key->shown);
  cairo_stroke(cr);
}

static LoomFigure
key_figure(Map *map, LoomRect shown)
{
  Key *key = g_new(Key, 1);
  *key = (Key){g_atomic_rc_box_acquire(map), shown};
  return (LoomFigure){KEY_WIDTH_MM, KEY_HEIGHT_MM, draw_key, key, free_key};
}

/* --- pages --- */

static void
tile_head(LoomMaking *m, const Tiling *t, Map *map, guint i)
{
  g_autofree char *title = g_strdup_printf(_("Diagram, tile %u of %u"), i + 1, t->tiles->len);
  static const LoomColumn COLUMNS[] = {
      {NULL, 78, 0, false}, {NULL, 0, 1, false}, {NULL, KEY_WIDTH_MM + 4, 0, false}};
  LoomTable *table = loom_table_begin(m->scroll, COLUMNS, G_N_ELEMENTS(COLUMNS), false);
  loom_table_styled(table, LOOM_TEXT_SECTION, title);
  loom_table_text(table,
                  _("The small picture shows where this piece lies. Neighbouring tiles overlap."));
  loom_table_figure(table, key_figure(map, g_array_index(t->tiles, LoomRect, i)));
  loom_table_end(table);
  loom_scroll_entry(m->scroll, title);
  loom_scroll_keep(m->scroll);
}

static void
one_tile(LoomMaking *m, const Tiling *t, Map *map, guint i)
{
  LoomSheetView view = loom_book_diagram_view(m);
  view.most_scale = t->scale;
  view.border = true;
  view.area = view.options.clip = g_array_index(t->tiles, LoomRect, i);
  loom_scroll_page(m->scroll, true);
  tile_head(m, t, map, i);
  loom_scroll_figure(
      m->scroll, loom_figure_sheet(&view, view.area.width * t->scale, view.area.height * t->scale));
}

void
loom_book_tiles(LoomMaking *m)
{
  LoomSheetView view = loom_book_diagram_view(m);
  LoomRect all = loom_draw_extents(view.sheet, &view.options);
  Tiling t = choose_tiling(m, view.sheet, all, m->scroll->wide / LOOM_PT_PER_MM,
                           m->scroll->short_body / LOOM_PT_PER_MM - HEAD_MM);
  Map *map = map_new(m, view.sheet, all);
  for (guint i = 0; i < t.tiles->len; i++)
    one_tile(m, &t, map, i);
  map_unref(map);
  g_array_unref(t.tiles);
}
