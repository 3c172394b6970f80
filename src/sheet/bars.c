#include "bars.h"

#include "draw-private.h"
#include "text.h"

#include <glib/gi18n-lib.h>
#include <math.h>

#define TEXT_MM 3.2
#define HEAD_MM 1.0    /* above the first line */
#define FOOT_MM 1.0    /* below the last one */
#define BAR_MM 2.8     /* height of a bar */
#define LEFT_MM 3.0    /* before everything */
#define WIDE_MM 140    /* from here on there is room to say what a piece is */
#define LEAST_BAR_MM 8 /* narrower ones say nothing */
#define GAP_MM 3.0     /* between columns */

double
loom_bars_height_mm(const LoomBars *bars)
{
  return HEAD_MM + bars->n_bars * LOOM_BAR_ROW_MM + FOOT_MM;
}

double
loom_bars_top_mm(guint bar)
{
  return HEAD_MM + bar * LOOM_BAR_ROW_MM;
}

guint
loom_bars_at(const LoomBars *bars, double y_mm)
{
  double row = floor((y_mm - HEAD_MM) / LOOM_BAR_ROW_MM);
  return row >= 0 && row < bars->n_bars ? (guint)row : LOOM_NONE;
}

char *
loom_bar_text(const LoomBar *bar)
{
  return g_strdup_printf("%s, %s: %s, %s", bar->where, bar->what, bar->number, bar->share);
}

void
loom_bars_free(LoomBars *bars)
{
  if (!bars)
    return;
  for (guint i = 0; i < bars->n_bars; i++) {
    g_free(bars->bars[i].where);
    g_free(bars->bars[i].what);
    g_free(bars->bars[i].number);
    g_free(bars->bars[i].share);
  }
  g_free(bars->bars);
  g_free(bars->heading);
  g_free(bars);
}

/* --- drawing --- */

/* Where the columns begin and end. */
typedef struct {
  double where, what, bar, bar_end, number_end, share_end;
} Columns;

typedef const char *(*Cell)(const LoomBar *bar);

static const char *
where_of(const LoomBar *bar)
{
  return bar->where;
}

static const char *
what_of(const LoomBar *bar)
{
  return bar->what;
}

static const char *
number_of(const LoomBar *bar)
{
  return bar->number;
}

static const char *
share_of(const LoomBar *bar)
{
  return bar->share;
}

static double
widest(const LoomBars *bars, Cell cell)
{
  double most = 0;
  for (guint i = 0; i < bars->n_bars; i++)
    most = fmax(most, loom_text_width_mm(cell(&bars->bars[i]), TEXT_MM, true));
  return most;
}

/* Numbers have all the room they want; names, words and bars share the rest. */
static Columns
columns_in(const LoomBars *bars, double width)
{
  Columns c = {.where = LEFT_MM, .share_end = width - LEFT_MM};
  c.number_end = c.share_end - widest(bars, share_of) - GAP_MM;
  c.bar_end = c.number_end - widest(bars, number_of) - GAP_MM;
  double room = fmax(c.bar_end - c.where, 0);
  bool wide = width >= WIDE_MM;
  double for_names = wide ? 0.35 : room * 0.3 - GAP_MM < LEAST_BAR_MM ? 1 : 0.7;
  double where = fmin(widest(bars, where_of), room * for_names - (wide ? 0 : GAP_MM));
  double what = wide ? fmin(widest(bars, what_of), room * 0.4) : 0;
  c.what = c.where + where + GAP_MM;
  c.bar = c.what + (wide ? what + GAP_MM : 0);
  return c;
}

static void
put(LoomInk *ink, double x, double y, LoomAnchor anchor, bool bold, LoomPaint paint, double room,
    const char *text)
{
  g_autofree char *fit = loom_text_fit(text, TEXT_MM, bold, room);
  if (*fit)
    loom_ink_text(ink, x, y, TEXT_MM, anchor, bold, paint, fit);
}

static LoomPaint
paint_of(const LoomBar *bar)
{
  return bar->stress > 1                  ? LOOM_PAINT_STOP
         : bar->stress > LOOM_WARM_STRESS ? LOOM_PAINT_CARE
                                          : LOOM_PAINT_READING;
}

static void
draw_bar(LoomInk *ink, const LoomBar *bar, const Columns *c, double y)
{
  double room = c->bar_end - c->bar;
  double from = c->bar + CLAMP(bar->from, 0, 1) * room, to = c->bar + CLAMP(bar->to, 0, 1) * room;
  LoomRect rail = {c->bar, y - BAR_MM / 2, room, BAR_MM};
  LoomRect rect = {fmin(from, to), y - BAR_MM / 2, fmax(fabs(to - from), 0.35), BAR_MM};
  if (room < LEAST_BAR_MM)
    return;
  loom_draw_rect(ink, rail, 0.4, loom_style_line(LOOM_PAINT_SHELL, 0.2));
  loom_draw_rect(ink, rect, 0.4, loom_style_fill(paint_of(bar)));
}

static void
draw_row(LoomInk *ink, const LoomBars *bars, guint i, const Columns *c, bool chosen)
{
  const LoomBar *bar = &bars->bars[i];
  double top = loom_bars_top_mm(i), middle = top + LOOM_BAR_ROW_MM / 2;
  double base = middle + 0.36 * TEXT_MM;
  if (chosen) {
    LoomStyle light = {LOOM_PAINT_CHOSEN, LOOM_PAINT_CHOSEN, 0.3, 0, 0.18};
    loom_draw_rect(ink, (LoomRect){LEFT_MM / 3, top, c->share_end + LEFT_MM / 3, LOOM_BAR_ROW_MM},
                   0.8, light);
  }
  put(ink, c->where, base, LOOM_ANCHOR_START, true, LOOM_PAINT_INK, c->what - c->where - GAP_MM,
      bar->where);
  if (c->bar > c->what)
    put(ink, c->what, base, LOOM_ANCHOR_START, false, LOOM_PAINT_FAINT, c->bar - c->what - GAP_MM,
        bar->what);
  draw_bar(ink, bar, c, middle);
  LoomPaint paint = bar->stress > LOOM_WARM_STRESS ? paint_of(bar) : LOOM_PAINT_INK;
  put(ink, c->number_end, base, LOOM_ANCHOR_END, bar->strong, paint, c->number_end, bar->number);
  put(ink, c->share_end, base, LOOM_ANCHOR_END, bar->strong, paint, c->share_end, bar->share);
}

void
loom_bars_draw(LoomInk *ink, const LoomBars *bars, double width_mm, guint chosen)
{
  Columns c = columns_in(bars, width_mm);
  for (guint i = 0; i < bars->n_bars; i++)
    draw_row(ink, bars, i, &c, i == chosen);
}
