#include "outing-plot.h"

#include "draw-private.h"
#include "place.h"
#include "text.h"

#include <glib/gi18n-lib.h>
#include <math.h>

#define TEXT_MM 3.0
#define LEFT_MM 13.0  /* numbers of the axes */
#define RIGHT_MM 15.0 /* names of the curves */
#define TOP_MM 9.5    /* values under the cursor, then the states */
#define NARROW_MM 125 /* below this width the values take two lines */
#define LINE_MM 4.0
#define BESIDE_MM 1.8 /* from a moment to its word */
#define FOOT_MM 5.5   /* numbers of the time */
#define WHOLE 0.01    /* of a step: so little beyond a line does not need the next one */
#define GAP_MM 4.0    /* between panels */
#define MOST_FLAT                                                                                  \
  5                 /* a device's volts are left out where they flatten the pack's more than this  \
                     */
#define THREE_MM 58 /* from this height on there is room for the charge */

struct LoomOutingPlot {
  guint n;
  LoomSample *samples; /* [n] */
  char **states;       /* [n_states] names */
  char **parts;        /* [n_parts] designations */
  double seconds;
  double lowest_V, lowest_s;
  guint brown_part;
  double brown_s;
};

LoomOutingPlot *
loom_outing_plot_new(const LoomDesign *design, const LoomScene *scene, const LoomTrace *trace)
{
  LoomOutingPlot *plot = g_new0(LoomOutingPlot, 1);
  plot->n = trace->n_samples;
  plot->samples = g_memdup2(trace->samples, plot->n * sizeof *plot->samples);
  plot->states = g_new0(char *, scene->n_states + 1);
  for (guint i = 0; i < scene->n_states; i++)
    plot->states[i] = g_strdup(scene->states[i].name);
  plot->parts = g_new0(char *, loom_design_n_parts(design) + 1);
  for (guint i = 0; i < loom_design_n_parts(design); i++)
    plot->parts[i] = g_strdup(loom_design_part(design, i)->designation);
  plot->seconds = plot->n ? plot->samples[plot->n - 1].time_s : 0;
  plot->lowest_V = trace->lowest_V;
  plot->lowest_s = trace->lowest_V_s;
  plot->brown_part = trace->brown_part;
  plot->brown_s = trace->brown_s;
  return plot;
}

void
loom_outing_plot_free(LoomOutingPlot *plot)
{
  if (!plot)
    return;
  g_free(plot->samples);
  g_strfreev(plot->states);
  g_strfreev(plot->parts);
  g_free(plot);
}

double
loom_outing_plot_seconds(const LoomOutingPlot *plot)
{
  return plot->seconds;
}

/* --- values --- */

/* Last sample that is not later. */
static guint
sample_before(const LoomOutingPlot *plot, double time_s)
{
  guint low = 0, high = plot->n;
  while (high - low > 1) {
    guint middle = (low + high) / 2;
    if (plot->samples[middle].time_s <= time_s)
      low = middle;
    else
      high = middle;
  }
  return low;
}

static double
between(double a, double b, double share)
{
  return isnan(a) || isnan(b) ? a : a + share * (b - a);
}

LoomSample
loom_outing_plot_at(const LoomOutingPlot *plot, double time_s)
{
  guint i = sample_before(plot, time_s);
  LoomSample s = plot->samples[i];
  if (i + 1 >= plot->n)
    return s;
  const LoomSample *next = &plot->samples[i + 1];
  double span = next->time_s - s.time_s, share = span > 0 ? (time_s - s.time_s) / span : 0;
  share = CLAMP(share, 0, 1);
  s.pack_V = between(s.pack_V, next->pack_V, share);
  s.pack_A = between(s.pack_A, next->pack_A, share);
  s.charge_pct = between(s.charge_pct, next->charge_pct, share);
  if (next->lowest_part == s.lowest_part)
    s.lowest_V = between(s.lowest_V, next->lowest_V, share);
  s.time_s = time_s;
  return s;
}

double
loom_outing_plot_step(const LoomOutingPlot *plot, double time_s, int by)
{
  guint i = sample_before(plot, time_s);
  if (by > 0) {
    while (i + 1 < plot->n && plot->samples[i].time_s <= time_s + 1e-9)
      i++;
    return plot->samples[i].time_s;
  }
  while (i > 0 && plot->samples[i].time_s >= time_s - 1e-9)
    i--;
  return plot->samples[i].time_s;
}

static double
plot_width(double width_mm)
{
  return fmax(width_mm - LEFT_MM - RIGHT_MM, 1);
}

double
loom_outing_plot_time(const LoomOutingPlot *plot, double width_mm, double x_mm)
{
  return CLAMP((x_mm - LEFT_MM) / plot_width(width_mm), 0, 1) * plot->seconds;
}

char *
loom_outing_plot_text(const LoomOutingPlot *plot, double time_s)
{
  if (!plot->n)
    return g_strdup(_("There is no curve."));
  LoomSample s = loom_outing_plot_at(plot, time_s);
  g_autofree char *lowest =
      s.lowest_part == LOOM_NONE
          ? g_strdup("")
          : g_strdup_printf(_(", %s gets %.2f V"), plot->parts[s.lowest_part], s.lowest_V);
  if (isnan(s.pack_V))
    return g_strdup_printf(_("%.1f s, %s%s"), time_s, plot->states[s.state], lowest);
  return g_strdup_printf(_("%.1f s, %s: %.2f V, %.2f A, charge %.1f %%%s"), time_s,
                         plot->states[s.state], s.pack_V, s.pack_A, s.charge_pct, lowest);
}

/* --- drawing --- */

typedef double (*Value)(const LoomSample *sample);

static double
pack_V(const LoomSample *s)
{
  return s->pack_V;
}

static double
pack_A(const LoomSample *s)
{
  return s->pack_A;
}

static double
charge_pct(const LoomSample *s)
{
  return s->charge_pct;
}

static double
lowest_V(const LoomSample *s)
{
  return s->lowest_part == LOOM_NONE ? NAN : s->lowest_V;
}

/* One panel: a stretch of paper with its scale. */
typedef struct {
  LoomInk *ink;
  const LoomOutingPlot *plot;
  LoomRect room;
  double low, high, step; /* of the scale */
  const char *unit;
  double top; /* of all panels */
} Panel;

static double
x_of(const Panel *p, double time_s)
{
  return p->room.x + (p->plot->seconds > 0 ? time_s / p->plot->seconds : 0) * p->room.width;
}

static double
y_of(const Panel *p, double value)
{
  return p->room.y + (p->high - value) / (p->high - p->low) * p->room.height;
}

/* 1, 2 or 5 times a power of ten, so that about `n` of them go into the span. */
static double
nice_step(double span, double n)
{
  double raw = fmax(span, 1e-9) / fmax(n, 1), power = pow(10, floor(log10(raw)));
  double part = raw / power;
  return power * (part <= 1 ? 1 : part <= 2 ? 2 : part <= 5 ? 5 : 10);
}

static void
stretch(const LoomOutingPlot *plot, Value value, double *low, double *high)
{
  for (guint i = 0; i < plot->n; i++) {
    double v = value(&plot->samples[i]);
    if (isnan(v))
      continue;
    *low = fmin(*low, v);
    *high = fmax(*high, v);
  }
}

/* Scale from `low` to `high`, widened to whole steps. */
static void
set_scale(Panel *p, double low, double high)
{
  if (!(high > low)) {
    double middle = isfinite(low) ? low : 0;
    low = middle - 0.5;
    high = middle + 0.5;
  }
  p->step = nice_step(high - low, p->room.height / 6);
  p->low = floor(low / p->step + WHOLE) * p->step;
  p->high = ceil(high / p->step - WHOLE) * p->step;
}

static void
draw_scale(const Panel *p)
{
  LoomStyle line = loom_style_line(LOOM_PAINT_SHELL, 0.2);
  for (double v = p->low; v <= p->high + p->step / 2; v += p->step) {
    double y = y_of(p, v);
    g_autofree char *text = g_strdup_printf("%g", fabs(v) < p->step / 2 ? 0 : v);
    loom_draw_segment(p->ink, p->room.x, y, p->room.x + p->room.width, y, line);
    loom_ink_text(p->ink, p->room.x - 1.2, y + 0.36 * TEXT_MM, TEXT_MM, LOOM_ANCHOR_END, false,
                  LOOM_PAINT_FAINT, text);
  }
  loom_ink_text(p->ink, 1, p->room.y + p->room.height / 2 + 0.36 * TEXT_MM, TEXT_MM,
                LOOM_ANCHOR_START, true, LOOM_PAINT_INK, p->unit);
}

static void
draw_curve(const Panel *p, Value value, LoomPaint paint, double dash_mm)
{
  g_autoptr(LoomPath) path = loom_path_new();
  bool down = false;
  for (guint i = 0; i < p->plot->n; i++) {
    const LoomSample *s = &p->plot->samples[i];
    double v = value(s);
    if (isnan(v)) {
      down = false;
      continue;
    }
    (down ? loom_path_line : loom_path_move)(path, x_of(p, s->time_s), y_of(p, v));
    down = true;
  }
  LoomStyle style = loom_style_line(paint, 0.5);
  style.dash_mm = dash_mm;
  loom_ink_path(p->ink, path, &style);
}

static void
name_curve(const Panel *p, double value, double shift, LoomPaint paint, const char *name)
{
  double y = isnan(value) ? p->room.y + p->room.height / 2 : y_of(p, value);
  g_autofree char *fit = loom_text_fit(name, TEXT_MM, true, RIGHT_MM - 2);
  loom_ink_text(p->ink, p->room.x + p->room.width + 1, y + shift + 0.36 * TEXT_MM, TEXT_MM,
                LOOM_ANCHOR_START, true, paint, fit);
}

/* Legs of one state, as bands with its name where there is room. */
static void
draw_states(LoomInk *ink, const LoomOutingPlot *plot, const Panel *p, double bottom)
{
  for (guint i = 0, first = 0, band = 0; i < plot->n; i++) {
    if (i + 1 < plot->n && plot->samples[i + 1].state == plot->samples[first].state)
      continue;
    double from = x_of(p, plot->samples[first].time_s), to = x_of(p, plot->samples[i].time_s);
    if (band++ % 2 == 1) {
      LoomStyle tint = {LOOM_PAINT_SHELL, LOOM_PAINT_NONE, 0, 0, 0.35};
      loom_draw_rect(ink, (LoomRect){from, p->top - 4.2, to - from, bottom - p->top + 4.2}, 0,
                     tint);
    }
    const char *name = plot->states[plot->samples[first].state];
    g_autofree char *fit = loom_text_fit(name, 2.6, false, to - from - 1);
    if (g_utf8_strlen(fit, -1) > 2)
      loom_ink_text(ink, (from + to) / 2, p->top - 1.4, 2.6, LOOM_ANCHOR_MIDDLE, false,
                    LOOM_PAINT_INK, fit);
    first = i + 1;
  }
}

static void
draw_time(const Panel *p, double bottom)
{
  double step = nice_step(p->plot->seconds, p->room.width / 22);
  for (double t = 0; t <= p->plot->seconds + step * 1e-6; t += step) {
    double x = x_of(p, t);
    g_autofree char *text = g_strdup_printf("%g s", t);
    loom_draw_segment(p->ink, x, bottom, x, bottom + 1, loom_style_line(LOOM_PAINT_FAINT, 0.25));
    loom_ink_text(p->ink, x, bottom + 4.2, TEXT_MM, LOOM_ANCHOR_MIDDLE, false, LOOM_PAINT_FAINT,
                  text);
  }
}

/* What a word beside a moment should keep clear of. */
typedef struct {
  const Panel *p;
  bool device;   /* its curve is drawn */
  double mark_x; /* of the brown-out's line; NAN none */
  LoomRect word; /* one that stands already; width 0 none */
} Obstacles;

/* Whether the straight line comes through the rectangle: its box meets it, and the corners do not
 * all lie on one side. */
static bool
line_meets(LoomRect r, double x0, double y0, double x1, double y1)
{
  const double xs[] = {r.x, r.x + r.width, r.x, r.x + r.width};
  const double ys[] = {r.y, r.y, r.y + r.height, r.y + r.height};
  guint left = 0, right = 0;
  if (fmax(x0, x1) < r.x || fmin(x0, x1) > r.x + r.width || fmax(y0, y1) < r.y ||
      fmin(y0, y1) > r.y + r.height)
    return false;
  for (guint i = 0; i < 4; i++) {
    double side = (x1 - x0) * (ys[i] - y0) - (y1 - y0) * (xs[i] - x0);
    left += side > 0;
    right += side < 0;
  }
  return left < 4 && right < 4;
}

static bool
curve_meets(const Panel *p, Value value, LoomRect r)
{
  const LoomOutingPlot *plot = p->plot;
  double per_mm = plot->seconds / p->room.width, from_s = (r.x - p->room.x) * per_mm;
  for (guint i = sample_before(plot, from_s) + 1; i < plot->n; i++) {
    const LoomSample *s = &plot->samples[i - 1], *t = &plot->samples[i];
    if (s->time_s > from_s + r.width * per_mm)
      return false;
    double v = value(s), w = value(t);
    if (!isnan(v) && !isnan(w) &&
        line_meets(r, x_of(p, s->time_s), y_of(p, v), x_of(p, t->time_s), y_of(p, w)))
      return true;
  }
  return false;
}

/* How much of it a word in that place would cover. */
static guint
covers(const Obstacles *o, LoomRect r)
{
  const LoomRect *room = &o->p->room;
  bool inside = r.x >= room->x && r.x + r.width <= room->x + room->width && r.y >= room->y &&
                r.y + r.height <= room->y + room->height;
  return (inside ? 0 : 8) + (o->word.width > 0 && loom_rect_meets(r, o->word) ? 4 : 0) +
         (curve_meets(o->p, pack_V, r) ? 2 : 0) +
         (o->device && curve_meets(o->p, lowest_V, r) ? 2 : 0) +
         (o->mark_x > r.x && o->mark_x < r.x + r.width ? 2 : 0);
}

/* A word beside a moment, right or left of it or of the brown-out's line, `y` and about: where it
 * covers nothing, or least, and of those places the nearest. Cut where there is no room for it. */
static LoomRect
draw_moment(const Obstacles *o, double x, double y, LoomPaint paint, const char *text)
{
  const LoomRect *room = &o->p->room;
  double side = fmax(x - room->x, room->x + room->width - x) - BESIDE_MM;
  g_autofree char *fit = loom_text_fit(text, TEXT_MM, true, side);
  double width = loom_text_width_mm(fit, TEXT_MM, true), least = INFINITY;
  const double left[] = {x + BESIDE_MM, x - BESIDE_MM - width, o->mark_x - BESIDE_MM - width,
                         o->mark_x + BESIDE_MM};
  LoomRect best = {0};
  for (guint i = 0; i < 8 * room->height / TEXT_MM; i++) /* from the middle outwards */
    for (guint k = 0; k < (isnan(o->mark_x) ? 2 : 4); k++) {
      double up = (i % 2 ? 0.25 : -0.25) * TEXT_MM * ((i + 1) / 2);
      LoomRect r = {left[k], y + up - 0.8 * TEXT_MM, width, TEXT_MM};
      double cost = fmax(fmax(r.x - x, x - r.x - r.width), 0) + fabs(up);
      cost += cost < least ? 1000 * covers(o, r) : 0;
      if (cost >= least)
        continue;
      least = cost;
      best = r;
    }
  loom_ink_text(o->p->ink, best.x, best.y + 0.8 * TEXT_MM, TEXT_MM, LOOM_ANCHOR_START, true, paint,
                fit);
  return best;
}

/* Where a part first got too little: a broken line through the volts, a wedge at its top, in words
 * beside it. */
static void
draw_brown_out(Obstacles *o)
{
  const Panel *p = o->p;
  const LoomOutingPlot *plot = p->plot;
  double x = x_of(p, plot->brown_s), top = p->room.y;
  const LoomPoint corners[3] = {{x - 1.4, top}, {x + 1.4, top}, {x, top + 2.2}};
  g_autofree char *words =
      g_strdup_printf(_("%s browns out, %.1f s"), plot->parts[plot->brown_part], plot->brown_s);
  LoomStyle line = loom_style_line(LOOM_PAINT_STOP, 0.4);
  line.dash_mm = 1.2;
  o->mark_x = x;
  loom_draw_segment(p->ink, x, top, x, top + p->room.height, line);
  loom_draw_corners(p->ink, corners, 3, true, loom_style_fill(LOOM_PAINT_STOP));
  o->word = draw_moment(o, x, top + 3.4, LOOM_PAINT_STOP, words);
}

static void
draw_moments(const Panel *p, bool device)
{
  const LoomOutingPlot *plot = p->plot;
  Obstacles o = {p, device, NAN, {0}};
  if (isnan(plot->lowest_V) || isnan(plot->lowest_s))
    return; /* no pack */
  if (plot->brown_part != LOOM_NONE)
    draw_brown_out(&o);
  double x = x_of(p, plot->lowest_s), y = y_of(p, plot->lowest_V);
  g_autofree char *words = g_strdup_printf(_("lowest %.2f V"), plot->lowest_V);
  loom_draw_circle(p->ink, x, y, 1.1, loom_style_both(LOOM_PAINT_PAPER, LOOM_PAINT_INK, 0.4));
  draw_moment(&o, x, y + 4, LOOM_PAINT_INK, words);
}

/* Cuts the text after the last comma within the room; what comes next, or NULL where all fits. */
static char *
second_line(char *text, double room)
{
  char *cut = NULL;
  if (loom_text_width_mm(text, TEXT_MM, true) <= room)
    return NULL;
  for (char *comma = strstr(text, ", "); comma; comma = strstr(comma + 1, ", ")) {
    g_autofree char *head = g_strndup(text, (gsize)(comma - text));
    if (loom_text_width_mm(head, TEXT_MM, true) <= room)
      cut = comma;
  }
  if (!cut)
    return NULL;
  *cut = 0;
  return cut + 2;
}

static void
write_line(LoomInk *ink, double y, double room, const char *text)
{
  g_autofree char *fit = loom_text_fit(text, TEXT_MM, true, room);
  loom_ink_text(ink, 1, y, TEXT_MM, LOOM_ANCHOR_START, true, LOOM_PAINT_INK, fit);
}

static void
draw_cursor(const Panel *p, double bottom, double width, double cursor_s)
{
  double x = x_of(p, cursor_s);
  g_autofree char *text = loom_outing_plot_text(p->plot, cursor_s);
  char *rest = second_line(text, width - 2);
  loom_draw_segment(p->ink, x, p->top - 4.6, x, bottom, loom_style_line(LOOM_PAINT_CHOSEN, 0.35));
  write_line(p->ink, 3.6, width - 2, text);
  if (rest && p->top > TOP_MM)
    write_line(p->ink, 3.6 + LINE_MM, width - 2, rest);
}

static void
draw_volts(Panel *p)
{
  const LoomOutingPlot *plot = p->plot;
  const LoomSample *last = &plot->samples[plot->n - 1];
  double low = INFINITY, high = -INFINITY;
  stretch(plot, pack_V, &low, &high);
  double both_low = low, both_high = high;
  stretch(plot, lowest_V, &both_low, &both_high);
  bool device = both_high - both_low <= MOST_FLAT * fmax(high - low, 0.5);
  set_scale(p, device ? both_low : low, device ? both_high : high);
  draw_scale(p);
  if (device)
    draw_curve(p, lowest_V, LOOM_PAINT_NOTE, 1.1);
  draw_curve(p, pack_V, LOOM_PAINT_READING, 0);
  bool drawn = device;
  device = device && last->lowest_part != LOOM_NONE;
  double apart = device ? fabs(y_of(p, last->pack_V) - y_of(p, last->lowest_V)) : INFINITY;
  double shift = apart < TEXT_MM * 1.1 ? (TEXT_MM * 1.1 - apart) / 2 : 0;
  bool above = !(lowest_V(last) > last->pack_V);
  name_curve(p, last->pack_V, above ? -shift : shift, LOOM_PAINT_READING, _("pack"));
  if (device)
    name_curve(p, last->lowest_V, above ? shift : -shift, LOOM_PAINT_NOTE,
               plot->parts[last->lowest_part]);
  draw_moments(p, drawn);
}

static void
draw_simple(Panel *p, Value value, LoomPaint paint, double low, double high, const char *name)
{
  stretch(p->plot, value, &low, &high);
  set_scale(p, low, high);
  draw_scale(p);
  draw_curve(p, value, paint, 0);
  name_curve(p, value(&p->plot->samples[p->plot->n - 1]), 0, paint, name);
}

void
loom_outing_plot_draw(LoomInk *ink, const LoomOutingPlot *plot, double width_mm, double height_mm,
                      double cursor_s)
{
  if (!plot->n)
    return;
  bool three = height_mm >= THREE_MM;
  double bottom = height_mm - FOOT_MM, top = TOP_MM + (width_mm < NARROW_MM ? LINE_MM : 0);
  double room = bottom - top - (three ? 2 : 1) * GAP_MM;
  double volts = room * (three ? 0.48 : 0.62), amps = room * (three ? 0.3 : 0.38);
  Panel p = {ink, plot, {LEFT_MM, top, plot_width(width_mm), volts}, 0, 1, 1, "V", top};
  draw_states(ink, plot, &p, bottom);
  draw_volts(&p);
  p.unit = "A";
  p.room.y += p.room.height + GAP_MM;
  p.room.height = amps;
  draw_simple(&p, pack_A, LOOM_PAINT_NOTE, 0, 0, _("pack"));
  if (three) {
    p.unit = "%";
    p.room.y += p.room.height + GAP_MM;
    p.room.height = bottom - p.room.y;
    draw_simple(&p, charge_pct, LOOM_PAINT_INK, INFINITY, -INFINITY, _("charge"));
  }
  draw_time(&p, bottom);
  if (!isnan(cursor_s))
    draw_cursor(&p, bottom, width_mm, cursor_s);
}
