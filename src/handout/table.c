#include "table.h"

#include <stdarg.h>

#define PAD_X 4.0
#define TICK 12.0
#define HIGHEST_BOX 30.0 /* to write in */
#define HIGHEST 0.75     /* of a page: a row above that is cut after all */

typedef enum {
  CELL_TEXT,
  CELL_TICK,
  CELL_BLANK,
  CELL_FIGURE,
  CELL_PICTURED,
  CELL_PAGE_OF
} CellType;

typedef struct {
  CellType type;
  PangoLayout *layout; /* owned */
  LoomFigure figure;
  guint target;
  guint n;                /* PICTURED */
  LoomFigure *figures;    /* [n] owned */
  PangoLayout **captions; /* [n] owned */
  double indent;          /* of the captions */
} Cell;

typedef struct {
  double x, width; /* outer */
  bool right;
} Column;

struct LoomTable {
  LoomScroll *scroll;
  guint n, filled;
  Column *columns; /* [n] */
  Cell *cells;     /* [n] of the row at work */
  char **heads;    /* [n] */
  bool ruled;
  double least, pad; /* lowest row; room above and below a cell */
  bool together;
  guint first; /* strip */
  guint head;  /* strip; LOOM_NO_STRIP before the first row */
  guint rows;
};

static void
place_columns(LoomTable *table, const LoomColumn *columns)
{
  double rest = loom_scroll_line(table->scroll), shares = 0, x = 0;
  for (guint i = 0; i < table->n; i++) {
    rest -= columns[i].width_mm * LOOM_PT_PER_MM;
    shares += columns[i].width_mm > 0 ? 0 : columns[i].share;
  }
  for (guint i = 0; i < table->n; i++) {
    double width = columns[i].width_mm > 0 ? columns[i].width_mm * LOOM_PT_PER_MM
                                           : rest * columns[i].share / shares;
    table->columns[i] = (Column){x, width, columns[i].right};
    x += width;
  }
}

LoomTable *
loom_table_begin(LoomScroll *scroll, const LoomColumn *columns, guint n, bool ruled)
{
  LoomTable *table = g_new0(LoomTable, 1);
  loom_scroll_keep(scroll); /* what introduces it stands above it */
  table->scroll = scroll;
  table->n = n;
  table->ruled = ruled;
  table->pad = ruled ? 4 : 2;
  table->head = LOOM_NO_STRIP;
  table->first = scroll->strips->len;
  table->columns = g_new0(Column, n);
  table->cells = g_new0(Cell, n);
  table->heads = g_new0(char *, n);
  for (guint i = 0; i < n; i++)
    table->heads[i] = g_strdup(columns[i].head ? columns[i].head : "");
  place_columns(table, columns);
  return table;
}

void
loom_table_together(LoomTable *table)
{
  table->together = true;
}

/* Ties rows so that the last one does not stand alone, or so that all of them stay together. */
static void
tie_rows(LoomTable *table)
{
  GArray *strips = table->scroll->strips;
  double height = 0,
         page = table->scroll->sideways ? table->scroll->short_body : table->scroll->body;
  for (guint i = table->first; i < strips->len; i++)
    height += g_array_index(strips, LoomStrip, i).height;
  guint from = table->together && height < page / 2 ? table->first : strips->len - 2;
  for (guint i = from; i + 1 < strips->len; i++)
    g_array_index(strips, LoomStrip, i).tied = true;
}

void
loom_table_end(LoomTable *table)
{
  g_assert(table->filled == 0);
  if (table->rows > 1)
    tie_rows(table);
  loom_scroll_space(table->scroll, 10);
  for (guint i = 0; i < table->n; i++)
    g_free(table->heads[i]);
  g_free(table->heads);
  g_free(table->columns);
  g_free(table->cells);
  g_free(table);
}

void
loom_table_least_height(LoomTable *table, double points)
{
  table->least = points;
}

static double
inner_width(const LoomTable *table, guint column)
{
  return table->columns[column].width - (table->ruled || column > 0 ? 2 * PAD_X : PAD_X);
}

double
loom_table_column_mm(const LoomTable *table, guint column)
{
  return inner_width(table, column) / LOOM_PT_PER_MM;
}

/* --- a row on the scroll --- */

static void
add_rule(LoomScroll *scroll, double y, double weight, double grey)
{
  LoomSet *rule = loom_scroll_mark(scroll, LOOM_MARK_RULE, 0, y);
  rule->width = loom_scroll_line(scroll);
  rule->weight = weight;
  rule->grey = grey;
}

static void
set_head(LoomTable *table)
{
  LoomScroll *scroll = table->scroll;
  g_autofree PangoLayout **layouts = g_new(PangoLayout *, table->n);
  double height = 0;
  for (guint i = 0; i < table->n; i++) {
    layouts[i] = loom_scroll_cell(scroll, LOOM_TEXT_HEAD, inner_width(table, i),
                                  table->columns[i].right, table->heads[i]);
    height = MAX(height, loom_layout_height(layouts[i]));
  }
  height += 2 * table->pad;
  table->head = scroll->strips->len;
  loom_scroll_strip(scroll, height)->tied = true;
  LoomSet *tint = loom_scroll_mark(scroll, LOOM_MARK_TINT, 0, 0);
  tint->width = loom_scroll_line(scroll);
  tint->height = height;
  tint->grey = 0.91;
  for (guint i = 0; i < table->n; i++)
    loom_scroll_mark(scroll, LOOM_MARK_LAYOUT, table->columns[i].x + PAD_X, table->pad)->layout =
        layouts[i];
  add_rule(scroll, height, 0.8, 0);
}

#define BETWEEN 4.0 /* pictures of one cell */

static double
pictured_height(const Cell *cell, guint i)
{
  return MAX(cell->figures[i].height_mm * LOOM_PT_PER_MM, loom_layout_height(cell->captions[i])) +
         (i + 1 < cell->n ? BETWEEN : 0);
}

static double
cell_height(const Cell *cell)
{
  double height = 0;
  switch (cell->type) {
  case CELL_TEXT:
    return loom_layout_height(cell->layout);
  case CELL_FIGURE:
    return cell->figure.height_mm * LOOM_PT_PER_MM;
  case CELL_TICK:
  case CELL_PAGE_OF:
    return TICK;
  case CELL_PICTURED:
    for (guint i = 0; i < cell->n; i++)
      height += pictured_height(cell, i);
    return height;
  case CELL_BLANK:
    break;
  }
  return 18;
}

static void
set_box(LoomTable *table, double x, double y, double width, double height, double weight)
{
  LoomSet *box = loom_scroll_mark(table->scroll, LOOM_MARK_BOX, x, y);
  box->width = width;
  box->height = height;
  box->weight = weight;
}

static void
set_pictured(LoomTable *table, Cell *cell, double x)
{
  double y = table->pad;
  for (guint i = 0; i < cell->n; i++) {
    LoomSet *mark = loom_scroll_mark(table->scroll, LOOM_MARK_DRAWING, x, y);
    mark->figure = cell->figures[i];
    mark->width = cell->figures[i].width_mm * LOOM_PT_PER_MM;
    mark->height = cell->figures[i].height_mm * LOOM_PT_PER_MM;
    loom_scroll_mark(table->scroll, LOOM_MARK_LAYOUT, x + cell->indent, y)->layout =
        cell->captions[i];
    y += pictured_height(cell, i);
  }
  g_free(cell->figures);
  g_free(cell->captions);
}

static void
set_cell(LoomTable *table, guint i, double height)
{
  Cell *cell = &table->cells[i];
  double x = table->columns[i].x + (table->ruled || i > 0 ? PAD_X : 0);
  switch (cell->type) {
  case CELL_TEXT:
    loom_scroll_mark(table->scroll, LOOM_MARK_LAYOUT, x, table->pad)->layout = cell->layout;
    break;
  case CELL_TICK:
    set_box(table, x, table->pad, TICK, TICK, 1.1);
    break;
  case CELL_BLANK:
    set_box(table, x - 1, 2.5, inner_width(table, i) + 2, MIN(height - 5, HIGHEST_BOX), 0.5);
    break;
  case CELL_PAGE_OF:
    loom_scroll_mark(table->scroll, LOOM_MARK_PAGE_OF, x + inner_width(table, i), table->pad)
        ->target = cell->target;
    break;
  case CELL_PICTURED:
    set_pictured(table, cell, x);
    break;
  case CELL_FIGURE: {
    LoomSet *mark = loom_scroll_mark(table->scroll, LOOM_MARK_DRAWING, x, table->pad);
    mark->figure = cell->figure;
    mark->width = cell->figure.width_mm * LOOM_PT_PER_MM;
    mark->height = cell->figure.height_mm * LOOM_PT_PER_MM;
    break;
  }
  }
}

/* Lines of the layout whose tops lie in from ... to; false where there is none. */
static bool
lines_between(PangoLayout *layout, double from, double to, int *first, int *last)
{
  PangoLayoutIter *iter = pango_layout_get_iter(layout);
  int line = 0;
  *first = -1;
  do {
    int top;
    pango_layout_iter_get_line_yrange(iter, &top, NULL);
    double y = (double)top / PANGO_SCALE;
    if (y >= from && y < to) {
      *first = *first < 0 ? line : *first;
      *last = line;
    }
    line++;
  } while (pango_layout_iter_next_line(iter));
  pango_layout_iter_free(iter);
  return *first >= 0;
}

static void
drop_figure(const LoomFigure *figure)
{
  if (figure->free)
    figure->free(figure->data);
}

static void
drop_cell(Cell *cell)
{
  g_clear_object(&cell->layout);
  if (cell->type == CELL_FIGURE)
    drop_figure(&cell->figure);
  for (guint i = 0; i < cell->n; i++) {
    drop_figure(&cell->figures[i]);
    g_object_unref(cell->captions[i]);
  }
  g_free(cell->figures);
  g_free(cell->captions);
}

/* A row that no page can hold: its texts are cut between lines. */
static void
set_cut_row(LoomTable *table, double height, double slice)
{
  for (double from = 0; from < height; from += slice - 16) {
    loom_scroll_strip(table->scroll, MIN(slice, height - from + 2 * table->pad))->head =
        table->head;
    for (guint i = 0; i < table->n; i++) {
      const Cell *cell = &table->cells[i];
      int first, last;
      if (cell->type != CELL_TEXT ||
          !lines_between(cell->layout, from, from + slice - 16, &first, &last))
        continue;
      LoomSet *mark =
          loom_scroll_mark(table->scroll, LOOM_MARK_LINES, table->columns[i].x + PAD_X, table->pad);
      mark->layout = g_object_ref(cell->layout);
      mark->first = first;
      mark->last = last;
    }
  }
  for (guint i = 0; i < table->n; i++) {
    drop_cell(&table->cells[i]);
  }
}

static void
set_row(LoomTable *table)
{
  LoomScroll *scroll = table->scroll;
  double height = 0, page = scroll->sideways ? scroll->short_body : scroll->body;
  for (guint i = 0; i < table->n; i++)
    height = MAX(height, cell_height(&table->cells[i]));
  if (table->ruled && table->rows == 0)
    set_head(table);
  if (height > HIGHEST * page) {
    set_cut_row(table, height, HIGHEST * page);
  } else {
    height = MAX(height + 2 * table->pad, table->least);
    loom_scroll_strip(scroll, height)->head = table->head;
    for (guint i = 0; i < table->n; i++)
      set_cell(table, i, height);
    if (table->ruled)
      add_rule(scroll, height, 0.35, 0.45);
  }
  table->rows++;
  table->filled = 0;
  memset(table->cells, 0, sizeof *table->cells * table->n);
}

/* --- cells --- */

static Cell *
next_cell(LoomTable *table, CellType type)
{
  Cell *cell = &table->cells[table->filled++];
  *cell = (Cell){.type = type};
  return cell;
}

static void
cell_done(LoomTable *table)
{
  if (table->filled == table->n)
    set_row(table);
}

void
loom_table_styled(LoomTable *table, LoomText style, const char *text)
{
  guint column = table->filled;
  Cell *cell = next_cell(table, CELL_TEXT);
  cell->layout = loom_scroll_cell(table->scroll, style, inner_width(table, column),
                                  table->columns[column].right, text);
  cell_done(table);
}

void
loom_table_text(LoomTable *table, const char *text)
{
  loom_table_styled(table, LOOM_TEXT_CELL, text);
}

void
loom_table_textf(LoomTable *table, const char *format, ...)
{
  va_list arguments;
  va_start(arguments, format);
  g_autofree char *text = g_strdup_vprintf(format, arguments);
  va_end(arguments);
  loom_table_text(table, text);
}

void
loom_table_tick(LoomTable *table)
{
  next_cell(table, CELL_TICK);
  cell_done(table);
}

void
loom_table_blank(LoomTable *table)
{
  next_cell(table, CELL_BLANK);
  cell_done(table);
}

void
loom_table_page_of(LoomTable *table, guint target)
{
  next_cell(table, CELL_PAGE_OF)->target = target;
  cell_done(table);
}

void
loom_table_figure(LoomTable *table, LoomFigure figure)
{
  next_cell(table, CELL_FIGURE)->figure = figure;
  cell_done(table);
}

void
loom_table_pictured(LoomTable *table, const LoomFigure *figures, const char *const *texts, guint n,
                    double figure_mm)
{
  guint column = table->filled;
  Cell *cell = next_cell(table, CELL_PICTURED);
  cell->n = n;
  cell->indent = figure_mm * LOOM_PT_PER_MM;
  cell->figures = g_memdup2(figures, sizeof *figures * n);
  cell->captions = g_new(PangoLayout *, n);
  for (guint i = 0; i < n; i++)
    cell->captions[i] = loom_scroll_cell(
        table->scroll, LOOM_TEXT_CELL, inner_width(table, column) - cell->indent, false, texts[i]);
  cell_done(table);
}
