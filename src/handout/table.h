/* Tables on a scroll: rows are never cut, the head stands again on top of every page.
 *
 *   static const LoomColumn COLUMNS[] = {{"", 8}, {"part", 0, 2}, {"reading", 30}};
 *   LoomTable *t = loom_table_begin(scroll, COLUMNS, 3, true);
 *   loom_table_tick(t); loom_table_text(t, "M1"); loom_table_blank(t);   // one row
 *   loom_table_end(t);
 *
 * Cells are filled from left to right; the row is set when its last cell has come. */
#pragma once

#include "scroll.h"

G_BEGIN_DECLS

typedef struct {
  const char *head; /* of the column; NULL and "" are none */
  double width_mm;  /* fixed; 0: a share of what is left */
  double share;     /* against the other shares */
  bool right;       /* numbers: flush right */
} LoomColumn;

typedef struct LoomTable LoomTable;

/* Without `ruled` there is neither head nor line: things set side by side. `columns` [n] is copied,
 * their heads are borrowed until the first row. New. */
LoomTable *loom_table_begin(LoomScroll *scroll, const LoomColumn *columns, guint n, bool ruled);
void loom_table_end(LoomTable *table); /* frees */
/* The whole table stands on one page, unless it is higher than half of one. */
void loom_table_together(LoomTable *table);

void loom_table_text(LoomTable *table, const char *text); /* NULL: empty */
void loom_table_textf(LoomTable *table, const char *format, ...) G_GNUC_PRINTF(2, 3);
void loom_table_styled(LoomTable *table, LoomText style, const char *text);
void loom_table_tick(LoomTable *table);
/* Room to write in. */
void loom_table_blank(LoomTable *table);
/* Number of the page on which chapter `target`, counted from 0, begins. */
void loom_table_page_of(LoomTable *table, guint target);
/* Takes `figure.data`. The figure must fit the column. */
void loom_table_figure(LoomTable *table, LoomFigure figure);

/* Figures [n], each with a text [n] to its right, one below the other; the figures take
 * `figure_mm` of the column. Takes their data. */
void loom_table_pictured(LoomTable *table, const LoomFigure *figures, const char *const *texts,
                         guint n, double figure_mm);

/* Rows from now on are at least that high. */
void loom_table_least_height(LoomTable *table, double points);
/* Room inside the column. */
double loom_table_column_mm(const LoomTable *table, guint column);

G_END_DECLS
