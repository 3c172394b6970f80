#include "pages-private.h"

#include <langinfo.h>
#include <pango/pangocairo.h>

#define FAMILY "DejaVu Sans, Verdana, sans-serif"
#define FRAME_INSET 10.0

static const struct {
  double size;
  bool bold;
  double above, below; /* room of a paragraph of that style */
} STYLES[LOOM_N_TEXTS] = {
    [LOOM_TEXT_TITLE] = {28, true, 0, 6},    [LOOM_TEXT_CHAPTER] = {20, true, 22, 8},
    [LOOM_TEXT_SECTION] = {14, true, 16, 5}, [LOOM_TEXT_STRONG] = {11, true, 8, 3},
    [LOOM_TEXT_BODY] = {11, false, 4, 4},    [LOOM_TEXT_CELL] = {10.5, false, 0, 0},
    [LOOM_TEXT_HEAD] = {9.5, true, 0, 0},    [LOOM_TEXT_SMALL] = {9, false, 3, 3},
};

void
loom_paper_size_pt(LoomPaper paper, double *width, double *height)
{
  *width = paper == LOOM_PAPER_LETTER ? 612 : 210 * LOOM_PT_PER_MM;
  *height = paper == LOOM_PAPER_LETTER ? 792 : 297 * LOOM_PT_PER_MM;
}

LoomPaper
loom_paper_of_locale(void)
{
  /* glibc hands these numbers out as if they were pointers. */
  guint width_mm = GPOINTER_TO_UINT(nl_langinfo(_NL_PAPER_WIDTH));
  return width_mm == 216 ? LOOM_PAPER_LETTER : LOOM_PAPER_A4;
}

/* Threads must not share the fonts of a context at a time, and to find them is dear: contexts of
 * scrolls that are gone serve the next. */
static GMutex idle_lock;
static PangoContext *idle[4];

static PangoContext *
take_idle(void)
{
  PangoContext *found = NULL;
  g_mutex_lock(&idle_lock);
  for (guint i = 0; i < G_N_ELEMENTS(idle) && !found; i++)
    found = g_steal_pointer(&idle[i]);
  g_mutex_unlock(&idle_lock);
  return found;
}

/* Takes the context. */
static void
give_idle(PangoContext *context)
{
  g_mutex_lock(&idle_lock);
  for (guint i = 0; i < G_N_ELEMENTS(idle) && context; i++)
    if (!idle[i])
      idle[i] = g_steal_pointer(&context);
  g_mutex_unlock(&idle_lock);
  g_clear_object(&context);
}

static PangoContext *
new_context(void)
{
  PangoFontMap *map = pango_cairo_font_map_new();
  pango_cairo_font_map_set_resolution(PANGO_CAIRO_FONT_MAP(map), 72);
  PangoContext *context = pango_font_map_create_context(map);
  g_object_unref(map);
  cairo_font_options_t *options = cairo_font_options_create();
  cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
  cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
  pango_cairo_context_set_font_options(context, options);
  cairo_font_options_destroy(options);
  pango_context_set_round_glyph_positions(context, FALSE);
  return context;
}

static void
clear_strip(gpointer data)
{
  g_free(((LoomStrip *)data)->title);
}

static void
clear_mark(gpointer data)
{
  LoomSet *mark = data;
  g_clear_object(&mark->layout);
  if (mark->figure.free)
    mark->figure.free(mark->figure.data);
}

static void
measure_paper(LoomScroll *scroll)
{
  double width, height;
  loom_paper_size_pt(scroll->paper, &width, &height);
  scroll->width = width - LOOM_MARGIN_LEFT - LOOM_MARGIN_RIGHT;
  scroll->wide = height - LOOM_MARGIN_LEFT - LOOM_MARGIN_RIGHT;
  scroll->body = height - LOOM_MARGIN_TOP - LOOM_MARGIN_BOTTOM;
  scroll->short_body = width - LOOM_MARGIN_TOP - LOOM_MARGIN_BOTTOM;
}

LoomScroll *
loom_scroll_new(LoomPaper paper)
{
  LoomScroll *scroll = g_new0(LoomScroll, 1);
  scroll->paper = paper;
  measure_paper(scroll);
  scroll->strips = g_array_new(FALSE, TRUE, sizeof(LoomStrip));
  g_array_set_clear_func(scroll->strips, clear_strip);
  scroll->marks = g_array_new(FALSE, TRUE, sizeof(LoomSet));
  g_array_set_clear_func(scroll->marks, clear_mark);
  scroll->pango = take_idle();
  if (!scroll->pango)
    scroll->pango = new_context();
  scroll->cells = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, g_object_unref);
  for (guint i = 0; i < LOOM_N_TEXTS; i++) {
    scroll->fonts[i] = pango_font_description_from_string(FAMILY);
    pango_font_description_set_absolute_size(scroll->fonts[i], STYLES[i].size * PANGO_SCALE);
    if (STYLES[i].bold)
      pango_font_description_set_weight(scroll->fonts[i], PANGO_WEIGHT_BOLD);
  }
  scroll->designation =
      g_regex_new("\\b[A-Z]{1,2}[0-9]+(:[\\w.-]*\\w(:[+-])?)?", G_REGEX_OPTIMIZE, 0, NULL);
  return scroll;
}

void
loom_scroll_free(LoomScroll *scroll)
{
  if (!scroll)
    return;
  g_array_unref(scroll->marks);
  g_array_unref(scroll->strips);
  for (guint i = 0; i < LOOM_N_TEXTS; i++)
    pango_font_description_free(scroll->fonts[i]);
  g_regex_unref(scroll->designation);
  g_hash_table_unref(scroll->cells);
  give_idle(scroll->pango);
  g_free(scroll);
}

LoomScrollPlace
loom_scroll_place(const LoomScroll *scroll)
{
  return (LoomScrollPlace){scroll->strips->len, scroll->marks->len, scroll->n_frames,
                           scroll->n_chapters, scroll->gap};
}

void
loom_scroll_rewind(LoomScroll *scroll, LoomScrollPlace place)
{
  g_array_set_size(scroll->marks, place.n_marks);
  g_array_set_size(scroll->strips, place.n_strips);
  scroll->n_frames = place.n_frames;
  scroll->n_chapters = place.n_chapters;
  scroll->gap = place.gap;
}

double
loom_scroll_line(const LoomScroll *scroll)
{
  return (scroll->sideways ? scroll->wide : scroll->width) - 2 * scroll->inset;
}

double
loom_scroll_width_mm(const LoomScroll *scroll)
{
  return loom_scroll_line(scroll) / LOOM_PT_PER_MM;
}

double
loom_scroll_body_mm(const LoomScroll *scroll)
{
  return (scroll->sideways ? scroll->short_body : scroll->body) / LOOM_PT_PER_MM;
}

/* --- text --- */

static void
embolden(LoomScroll *scroll, PangoLayout *layout, const char *text)
{
  g_autoptr(GMatchInfo) match = NULL;
  PangoAttrList *list = pango_attr_list_new();
  for (g_regex_match(scroll->designation, text, 0, &match); g_match_info_matches(match);
       g_match_info_next(match, NULL)) {
    int start, end;
    g_match_info_fetch_pos(match, 0, &start, &end);
    PangoAttribute *bold = pango_attr_weight_new(PANGO_WEIGHT_BOLD);
    bold->start_index = (guint)start;
    bold->end_index = (guint)end;
    pango_attr_list_insert(list, bold);
  }
  pango_layout_set_attributes(layout, list);
  pango_attr_list_unref(list);
}

PangoLayout *
loom_scroll_layout(LoomScroll *scroll, LoomText style, double width, const char *text)
{
  PangoLayout *layout = pango_layout_new(scroll->pango);
  g_autofree char *valid = g_utf8_make_valid(text ? text : "", -1);
  pango_layout_set_font_description(layout, scroll->fonts[style]);
  pango_layout_set_text(layout, valid, -1);
  pango_layout_set_wrap(layout, PANGO_WRAP_WORD_CHAR);
  pango_layout_set_width(layout, (int)(width * PANGO_SCALE));
  pango_layout_set_line_spacing(layout, 1.06f);
  if (!STYLES[style].bold)
    embolden(scroll, layout, valid);
  return layout;
}

PangoLayout *
loom_scroll_cell(LoomScroll *scroll, LoomText style, double width, bool right, const char *text)
{
  char *key =
      g_strdup_printf("%d %d %d %s", style, (int)(width * PANGO_SCALE), right, text ? text : "");
  PangoLayout *layout = g_hash_table_lookup(scroll->cells, key);
  if (layout) {
    g_free(key);
    return g_object_ref(layout);
  }
  layout = loom_scroll_layout(scroll, style, width, text);
  if (right)
    pango_layout_set_alignment(layout, PANGO_ALIGN_RIGHT);
  g_hash_table_insert(scroll->cells, key, layout);
  return g_object_ref(layout);
}

double
loom_layout_height(PangoLayout *layout)
{
  PangoRectangle logical;
  pango_layout_get_extents(layout, NULL, &logical);
  return (double)logical.height / PANGO_SCALE;
}

double
loom_layout_width(PangoLayout *layout)
{
  PangoRectangle logical;
  pango_layout_get_extents(layout, NULL, &logical);
  return (double)logical.width / PANGO_SCALE;
}

/* --- strips and marks --- */

LoomStrip *
loom_scroll_strip(LoomScroll *scroll, double height)
{
  LoomStrip strip = {.height = height,
                     .above = scroll->gap,
                     .head = LOOM_NO_STRIP,
                     .frame = scroll->frame,
                     .heavy = scroll->heavy,
                     .first_mark = scroll->marks->len};
  scroll->gap = 0;
  g_array_append_val(scroll->strips, strip);
  return &g_array_index(scroll->strips, LoomStrip, scroll->strips->len - 1);
}

LoomSet *
loom_scroll_mark(LoomScroll *scroll, LoomSetType type, double x, double y)
{
  LoomSet mark = {.type = type, .x = x + scroll->inset, .y = y, .weight = 0.6};
  g_array_append_val(scroll->marks, mark);
  g_array_index(scroll->strips, LoomStrip, scroll->strips->len - 1).n_marks++;
  return &g_array_index(scroll->marks, LoomSet, scroll->marks->len - 1);
}

static void
want_gap(LoomScroll *scroll, double points)
{
  scroll->gap = MAX(scroll->gap, points);
}

void
loom_scroll_space(LoomScroll *scroll, double points)
{
  want_gap(scroll, points);
}

void
loom_scroll_keep(LoomScroll *scroll)
{
  if (scroll->strips->len > 0)
    g_array_index(scroll->strips, LoomStrip, scroll->strips->len - 1).tied = true;
}

/* Height of one line of the layout, and where it begins. */
static double
line_top(PangoLayoutIter *iter, double *height)
{
  int top, bottom;
  pango_layout_iter_get_line_yrange(iter, &top, &bottom);
  *height = (double)(bottom - top) / PANGO_SCALE;
  return (double)top / PANGO_SCALE;
}

/* One strip a line, so that long paragraphs break, but never leave one line alone. Takes `layout`.
 */
static void
set_lines(LoomScroll *scroll, PangoLayout *layout, double x, bool tick)
{
  int n = pango_layout_get_line_count(layout);
  PangoLayoutIter *iter = pango_layout_get_iter(layout);
  for (int i = 0; i < n; i++, pango_layout_iter_next_line(iter)) {
    double height;
    line_top(iter, &height);
    loom_scroll_strip(scroll, height)->tied = i + 1 < n && (i == 0 || i == n - 2);
    LoomSet *mark = loom_scroll_mark(scroll, LOOM_MARK_LINES, x, 0);
    mark->layout = g_object_ref(layout);
    mark->first = mark->last = i;
    if (tick && i == 0) {
      LoomSet *box = loom_scroll_mark(scroll, LOOM_MARK_BOX, 2, 1);
      box->width = box->height = 11;
      box->weight = 1.1;
    }
  }
  pango_layout_iter_free(iter);
  g_object_unref(layout);
}

void
loom_scroll_text(LoomScroll *scroll, LoomText style, const char *text)
{
  want_gap(scroll, STYLES[style].above);
  set_lines(scroll, loom_scroll_layout(scroll, style, loom_scroll_line(scroll), text), 0, false);
  if (STYLES[style].bold)
    loom_scroll_keep(scroll);
  want_gap(scroll, STYLES[style].below);
}

void
loom_scroll_item(LoomScroll *scroll, const char *mark, const char *text)
{
  double indent = mark && g_utf8_strlen(mark, -1) < 2 ? 14 : 22;
  want_gap(scroll, 3);
  guint first = scroll->strips->len;
  set_lines(scroll,
            loom_scroll_layout(scroll, LOOM_TEXT_BODY, loom_scroll_line(scroll) - indent, text),
            indent, mark == NULL);
  if (mark) {
    LoomSet set = {.type = LOOM_MARK_LAYOUT, .x = scroll->inset + 1};
    set.layout = loom_scroll_layout(scroll, LOOM_TEXT_BODY, indent, mark);
    LoomStrip *strip = &g_array_index(scroll->strips, LoomStrip, first);
    g_array_insert_val(scroll->marks, strip->first_mark, set);
    strip->n_marks++;
    for (guint i = first + 1; i < scroll->strips->len; i++)
      g_array_index(scroll->strips, LoomStrip, i).first_mark++;
  }
  want_gap(scroll, 3);
}

/* --- headings, pages, frames, figures --- */

static LoomStrip *
set_heading(LoomScroll *scroll, LoomText style, const char *title)
{
  guint first = scroll->strips->len;
  loom_scroll_text(scroll, style, title);
  for (guint i = first; i < scroll->strips->len; i++)
    g_array_index(scroll->strips, LoomStrip, i).tied = true;
  LoomStrip *strip = &g_array_index(scroll->strips, LoomStrip, first);
  strip->title = g_strdup(title);
  return strip;
}

void
loom_scroll_chapter(LoomScroll *scroll, const char *title, LoomStart start)
{
  scroll->sideways = start == LOOM_START_SIDEWAYS;
  LoomStrip *strip = set_heading(scroll, LOOM_TEXT_CHAPTER, title);
  strip->level = 1;
  strip->new_page = start == LOOM_START_PAGE || start == LOOM_START_SIDEWAYS;
  strip->start = start;
  scroll->n_chapters++;
}

void
loom_scroll_title(LoomScroll *scroll, const char *chapter, const char *title)
{
  scroll->sideways = false;
  LoomStrip *strip = set_heading(scroll, LOOM_TEXT_TITLE, title);
  g_free(strip->title);
  strip->title = g_strdup(chapter);
  strip->level = 1;
  strip->new_page = strip->plain = true;
  scroll->n_chapters++;
}

void
loom_scroll_section(LoomScroll *scroll, const char *title)
{
  set_heading(scroll, LOOM_TEXT_SECTION, title)->level = 2;
}

void
loom_scroll_entry(LoomScroll *scroll, const char *title)
{
  LoomStrip *strip = &g_array_index(scroll->strips, LoomStrip, scroll->strips->len - 1);
  strip->title = g_strdup(title);
  strip->level = 2;
}

void
loom_scroll_page(LoomScroll *scroll, bool sideways)
{
  scroll->sideways = sideways;
  scroll->gap = 0;
  LoomStrip *strip = loom_scroll_strip(scroll, 0);
  strip->new_page = true;
  strip->start = sideways ? LOOM_START_SIDEWAYS : LOOM_START_PAGE;
  strip->tied = true;
}

void
loom_scroll_frame_begin(LoomScroll *scroll, bool heavy)
{
  want_gap(scroll, 24);
  scroll->frame = ++scroll->n_frames;
  scroll->heavy = heavy;
  scroll->inset = FRAME_INSET;
}

void
loom_scroll_frame_end(LoomScroll *scroll)
{
  scroll->frame = 0;
  scroll->heavy = false;
  scroll->inset = 0;
  want_gap(scroll, 24);
}

void
loom_scroll_figure(LoomScroll *scroll, LoomFigure figure)
{
  double width = figure.width_mm * LOOM_PT_PER_MM, height = figure.height_mm * LOOM_PT_PER_MM;
  want_gap(scroll, 4);
  loom_scroll_strip(scroll, height);
  LoomSet *mark =
      loom_scroll_mark(scroll, LOOM_MARK_DRAWING, (loom_scroll_line(scroll) - width) / 2, 0);
  mark->width = width;
  mark->height = height;
  mark->figure = figure;
  want_gap(scroll, 6);
}

void
loom_scroll_grow(LoomScroll *scroll, guint first, guint figure, double most_mm)
{
  double used = g_array_index(scroll->strips, LoomStrip, first).height;
  for (guint i = first + 1; i < scroll->strips->len; i++) {
    const LoomStrip *strip = &g_array_index(scroll->strips, LoomStrip, i);
    used += strip->above + strip->height;
  }
  LoomStrip *strip = &g_array_index(scroll->strips, LoomStrip, figure);
  LoomSet *mark = &g_array_index(scroll->marks, LoomSet, strip->first_mark);
  double most = most_mm * LOOM_PT_PER_MM, room = scroll->body - FRAME_INSET - used;
  double more = CLAMP(room, 0, MAX(most - strip->height, 0));
  strip->height += more;
  mark->height += more;
}
