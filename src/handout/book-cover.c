/* The cover: whose wiring it is, whether it may be powered at all, and what every helper must know.
 */
#include "book-private.h"
#include "figure.h"
#include "safety.h"

#include <math.h>

#define LEAST_DIAGRAM_MM 52.0
#define MOST_DIAGRAM_MM 130.0

static void
title_block(LoomMaking *m)
{
  static const LoomColumn COLUMNS[] = {{N_("Revision"), 24, 0, false},
                                       {N_("Date"), 44, 0, false},
                                       {N_("Drawn by"), 0, 1, false},
                                       {N_("Checked by"), 0, 1, false}};
  LoomColumn columns[G_N_ELEMENTS(COLUMNS)];
  for (guint i = 0; i < G_N_ELEMENTS(COLUMNS); i++) {
    columns[i] = COLUMNS[i];
    columns[i].head = _(COLUMNS[i].head);
  }
  const LoomTitle *title = loom_design_title(m->design);
  g_autofree char *date = loom_book_date(title->date);
  LoomTable *table = loom_table_begin(m->scroll, columns, G_N_ELEMENTS(columns), true);
  loom_table_least_height(table, 23);
  loom_table_text(table, title->revision);
  loom_table_text(table, date);
  loom_table_text(table, title->drawn_by);
  loom_table_text(table, title->checked_by);
  loom_table_end(table);
}

static void
list_findings(LoomMaking *m, LoomSeverity severity)
{
  for (guint i = 0; i < m->findings->n_findings; i++) {
    const LoomFinding *f = &m->findings->findings[i];
    if (f->severity != severity)
      continue;
    g_autofree char *text =
        g_strdup_printf("%s: %s %s", f->where, f->message, f->remedy ? f->remedy : "");
    loom_scroll_item(m->scroll, "•", text);
  }
}

static void
stop_box(LoomMaking *m)
{
  if (m->findings->n_stop == 0)
    return;
  loom_scroll_frame_begin(m->scroll, true);
  loom_scroll_text(m->scroll, LOOM_TEXT_SECTION, _("STOP: do not power this robot"));
  loom_scroll_text(
      m->scroll, LOOM_TEXT_BODY,
      _("The drawing has mistakes that can burn wires or break parts. Mend them in the "
        "drawing first, then print this book anew."));
  list_findings(m, LOOM_STOP);
  loom_scroll_frame_end(m->scroll);
}

static void
care_box(LoomMaking *m)
{
  if (m->findings->n_care == 0)
    return;
  loom_scroll_frame_begin(m->scroll, false);
  loom_scroll_text(m->scroll, LOOM_TEXT_STRONG, _("Take care with this robot"));
  list_findings(m, LOOM_CARE);
  loom_scroll_frame_end(m->scroll);
}

/* Returns the figure's strip. */
static guint
diagram(LoomMaking *m)
{
  const LoomSheet *sheet = loom_book_sheet(m->book, m->scene);
  LoomSheetView view = {.sheet = sheet, .most_scale = 0.9};
  loom_draw_options_init(&view.options);
  view.options.palette = LOOM_PALETTE_PRINT;
  view.options.only_parts = (const guint *)m->here->data;
  view.options.n_only = m->here->len;
  view.area = loom_draw_extents(sheet, &view.options);
  loom_scroll_space(m->scroll, 6);
  loom_scroll_figure(m->scroll,
                     loom_figure_sheet(&view, loom_scroll_width_mm(m->scroll), LEAST_DIAGRAM_MM));
  return m->scroll->strips->len - 1;
}

/* Two columns, read down the first one. */
static void
contents(LoomMaking *m)
{
  static const LoomColumn COLUMNS[] = {{NULL, 0, 1, false},
                                       {NULL, 14, 0, false},
                                       {NULL, 8, 0, false},
                                       {NULL, 0, 1, false},
                                       {NULL, 14, 0, false}};
  LoomChapter listed[LOOM_N_CHAPTERS];
  guint n = 0;
  for (guint i = LOOM_CHAPTER_COVER + 1; i < LOOM_N_CHAPTERS; i++)
    if (m->made >> i & 1)
      listed[n++] = i;
  if (n == 0)
    return;
  loom_scroll_text(m->scroll, LOOM_TEXT_STRONG, _("What is inside"));
  LoomTable *table = loom_table_begin(m->scroll, COLUMNS, G_N_ELEMENTS(COLUMNS), false);
  guint half = (n + 1) / 2;
  for (guint i = 0; i < half; i++) {
    loom_table_text(table, loom_chapter_title(listed[i]));
    loom_table_page_of(table, i + 1);
    loom_table_text(table, NULL);
    loom_table_text(table, half + i < n ? loom_chapter_title(listed[half + i]) : NULL);
    if (half + i < n)
      loom_table_page_of(table, half + i + 1);
    else
      loom_table_text(table, NULL);
  }
  loom_table_end(table);
}

static void
cautions(LoomMaking *m)
{
  const char *sentence;
  loom_scroll_frame_begin(m->scroll, false);
  loom_scroll_text(m->scroll, LOOM_TEXT_STRONG, _("Before you touch anything"));
  for (guint i = 0; (sentence = loom_safety_sentence(LOOM_SAFETY_WORKING, i)); i++)
    loom_scroll_item(m->scroll, "•", sentence);
  loom_scroll_frame_end(m->scroll);
}

void
loom_book_cover(LoomMaking *m)
{
  guint first = m->scroll->strips->len;
  const LoomTitle *title = loom_design_title(m->design);
  loom_scroll_title(m->scroll, loom_chapter_title(LOOM_CHAPTER_COVER), title->name);
  loom_scroll_text(m->scroll, LOOM_TEXT_BODY, _("The book for the build day"));
  title_block(m);
  stop_box(m);
  guint figure = diagram(m);
  contents(m);
  if (title->note)
    loom_scroll_text(m->scroll, LOOM_TEXT_BODY, title->note);
  cautions(m);
  care_box(m);
  loom_scroll_grow(m->scroll, first, figure, MOST_DIAGRAM_MM);
}
