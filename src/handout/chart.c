#include "chart.h"

#include <glib/gi18n-lib.h>
#include <math.h>
#include <string.h>

#define NAME_MM 20.0
#define ROW_MM 8.5
#define BAR_MM 6.0
#define AXIS_MM 7.0
#define LEGEND_MM 9.0
#define TEXT_MM 3.1

/* What is drawn: the rota's spans without the rest of it. */
typedef struct {
  guint n_packs, n_spans, from_min, to_min;
  char **packs; /* [n_packs] NULL-terminated */
  LoomRotaSpan *spans;
  guint *numbers; /* [n_spans] of the outing or the charger, from 1; 0 none */
} Chart;

static void
set_grey(cairo_t *cr, double grey)
{
  cairo_set_source_rgb(cr, grey, grey, grey);
}

/* Diagonal strokes inside the rectangle. */
static void
hatch(cairo_t *cr, LoomRect r, double step)
{
  cairo_save(cr);
  cairo_rectangle(cr, r.x, r.y, r.width, r.height);
  cairo_clip(cr);
  for (double x = r.x - r.height; x < r.x + r.width; x += step) {
    cairo_move_to(cr, x, r.y + r.height);
    cairo_line_to(cr, x + r.height, r.y);
  }
  set_grey(cr, 0.35);
  cairo_set_line_width(cr, 0.2);
  cairo_stroke(cr);
  cairo_restore(cr);
}

static void
bar(cairo_t *cr, LoomSpanKind what, LoomRect r)
{
  static const double FILL[] = {
      [LOOM_SPAN_READY] = 1,   [LOOM_SPAN_OUT] = 0.12,      [LOOM_SPAN_COOLING] = 1,
      [LOOM_SPAN_WAITING] = 1, [LOOM_SPAN_CHARGING] = 0.84,
  };
  if (what == LOOM_SPAN_WAITING) {
    set_grey(cr, 0.5);
    cairo_set_line_width(cr, 0.25);
    cairo_move_to(cr, r.x, r.y + r.height / 2);
    cairo_line_to(cr, r.x + r.width, r.y + r.height / 2);
    cairo_stroke(cr);
    return;
  }
  set_grey(cr, FILL[what]);
  cairo_rectangle(cr, r.x, r.y, r.width, r.height);
  cairo_fill(cr);
  if (what == LOOM_SPAN_COOLING)
    hatch(cr, r, 1.4);
  set_grey(cr, what == LOOM_SPAN_READY ? 0.55 : 0);
  cairo_set_line_width(cr, 0.2);
  cairo_rectangle(cr, r.x, r.y, r.width, r.height);
  cairo_stroke(cr);
}

static void
bar_number(LoomInk *ink, LoomSpanKind what, LoomRect r, guint number)
{
  if (number == 0)
    return;
  g_autofree char *text = g_strdup_printf("%u", number);
  if (r.width < 1.9 * strlen(text))
    return;
  loom_ink_text(ink, r.x + r.width / 2, r.y + r.height / 2 + 1.1, TEXT_MM, LOOM_ANCHOR_MIDDLE, true,
                what == LOOM_SPAN_OUT ? LOOM_PAINT_PAPER : LOOM_PAINT_INK, text);
}

/* Minutes between two marks of the axis, so that there are at most a dozen. */
static guint
axis_step(guint minutes)
{
  static const guint STEPS[] = {10, 15, 30, 60, 120, 180, 240, 360, 720};
  guint i = 0;
  while (i + 1 < G_N_ELEMENTS(STEPS) && minutes / STEPS[i] > 10)
    i++;
  return STEPS[i];
}

static double
x_of(const Chart *c, double minute, double width_mm)
{
  return NAME_MM + (minute - c->from_min) / (c->to_min - c->from_min) * (width_mm - NAME_MM - 4);
}

static void
axis(const Chart *c, LoomInk *ink, cairo_t *cr, double width_mm, double bottom)
{
  guint step = axis_step(c->to_min - c->from_min);
  for (guint minute = (c->from_min + step - 1) / step * step; minute <= c->to_min; minute += step) {
    double x = x_of(c, minute, width_mm);
    g_autofree char *clock = loom_rota_clock(minute);
    set_grey(cr, 0.75);
    cairo_set_line_width(cr, 0.15);
    cairo_move_to(cr, x, AXIS_MM - 1);
    cairo_line_to(cr, x, bottom);
    cairo_stroke(cr);
    loom_ink_text(ink, x, AXIS_MM - 2.4, TEXT_MM, LOOM_ANCHOR_MIDDLE, false, LOOM_PAINT_INK, clock);
  }
}

static void
legend(LoomInk *ink, cairo_t *cr, double y)
{
  static const struct {
    LoomSpanKind what;
    const char *text;
  } ENTRIES[] = {{LOOM_SPAN_OUT, N_("outing")},
                 {LOOM_SPAN_COOLING, N_("cools")},
                 {LOOM_SPAN_WAITING, N_("waits")},
                 {LOOM_SPAN_CHARGING, N_("on charger")},
                 {LOOM_SPAN_READY, N_("full")}};
  double x = NAME_MM;
  for (guint i = 0; i < G_N_ELEMENTS(ENTRIES); i++) {
    bar(cr, ENTRIES[i].what, (LoomRect){x, y - 3.4, 7, 4});
    loom_ink_text(ink, x + 8.5, y - 0.2, TEXT_MM, LOOM_ANCHOR_START, false, LOOM_PAINT_INK,
                  _(ENTRIES[i].text));
    x += 30;
  }
}

static void
draw_chart(LoomInk *ink, cairo_t *cr, double width_mm, double height_mm, gpointer data)
{
  const Chart *c = data;
  double bottom = AXIS_MM + c->n_packs * ROW_MM;
  axis(c, ink, cr, width_mm, bottom);
  for (guint p = 0; p < c->n_packs; p++)
    loom_ink_text(ink, 0, AXIS_MM + p * ROW_MM + BAR_MM / 2 + 1.1, TEXT_MM, LOOM_ANCHOR_START, true,
                  LOOM_PAINT_INK, c->packs[p]);
  for (guint i = 0; i < c->n_spans; i++) {
    const LoomRotaSpan *s = &c->spans[i];
    double x0 = x_of(c, s->from_min, width_mm), x1 = x_of(c, s->to_min, width_mm);
    LoomRect r = {x0, AXIS_MM + s->pack * ROW_MM, x1 - x0, BAR_MM};
    bar(cr, s->what, r);
    bar_number(ink, s->what, r, c->numbers[i]);
  }
  legend(ink, cr, height_mm - 1.5);
}

static void
free_chart(gpointer data)
{
  Chart *c = data;
  g_strfreev(c->packs);
  g_free(c->spans);
  g_free(c->numbers);
  g_free(c);
}

LoomFigure
loom_chart_rota(const LoomRota *rota, double width_mm)
{
  Chart *c = g_new0(Chart, 1);
  c->n_packs = rota->n_packs;
  c->n_spans = rota->n_spans;
  c->from_min = rota->from_min;
  c->to_min = MAX(rota->to_min, rota->from_min + 1);
  c->packs = g_new0(char *, rota->n_packs + 1);
  for (guint i = 0; i < rota->n_packs; i++)
    c->packs[i] = g_strdup(rota->packs[i]);
  c->spans = g_memdup2(rota->spans, sizeof(LoomRotaSpan) * rota->n_spans);
  c->numbers = g_new0(guint, rota->n_spans + 1);
  for (guint i = 0; i < rota->n_spans; i++) {
    const LoomRotaSpan *s = &rota->spans[i];
    if (s->use != LOOM_NONE)
      c->numbers[i] = s->use + 1;
    else if (s->charge != LOOM_NONE && rota->n_chargers > 1)
      c->numbers[i] = rota->charges[s->charge].charger + 1;
  }
  double height = AXIS_MM + rota->n_packs * ROW_MM + LEGEND_MM;
  return (LoomFigure){width_mm, height, draw_chart, c, free_chart};
}
