/* At the foot of the drawing, in its free room: legend on the left, title block on the right,
 * safety line under both.
 *
 *   +--------------------------------------------------+
 *   |                 the drawing                      |
 *   +--------------------------------------------------+
 *   +-- How to read it ----------+    +-- title block --+
 *   | marks        | colours     |    | name            |
 *   +----------------------------+    | drawn | rev ... |
 *   Unplug the pack first ...         +-----------------+     */
#include "draw-private.h"
#include "text.h"

#include <glib/gi18n-lib.h>
#include <math.h>

#define LEGEND_WIDTH 118.0
#define TITLE_WIDTH 92.0
#define TITLE_HEIGHT 25.0
#define ROW 6.2
#define GAP 6.0
#define SAFETY_MM 2.4
#define SAFETY_ROOM 5.0

static const char *const SAFETY = N_("Fuse close to the pack. Unplug the pack first, plug it last. "
                                     "Switch off and lift the wheels off the "
                                     "ground before you touch the wiring.");

/* Wire colours on the sheet: bit set by index in loom_colours(). */
static guint32
colours_used(const LoomSheet *sheet)
{
  guint32 used = 0;
  for (guint p = 0; p < sheet->n_parts; p++) {
    const LoomPart *part = loom_sheet_part(sheet, p);
    for (guint e = 0; e < part->kind->n_ends; e++) {
      if (!part->kind->lead && part->kind->ends[e].pigtail_mm <= 0)
        continue;
      g_autoptr(GArray) strokes = loom_strokes_of_end(part->kind, e);
      for (guint i = 0; i < strokes->len; i++) {
        const LoomStroke *s = &g_array_index(strokes, LoomStroke, i);
        used |= s->paint >= LOOM_PAINT_WIRE ? 1u << (s->paint - LOOM_PAINT_WIRE) : 0;
        used |= s->second >= LOOM_PAINT_WIRE ? 1u << (s->second - LOOM_PAINT_WIRE) : 0;
      }
    }
  }
  return used;
}

static guint
count_bits(guint32 bits)
{
  guint n = 0;
  for (; bits; bits &= bits - 1)
    n++;
  return n;
}

/* What the sheet shows beyond plugs and tags. */
typedef struct {
  bool radio, apart, direct, tied, genderless, terminal, findings, changes, readings;
} Shown;

static Shown
shown_on(const LoomSheet *sheet, const LoomDrawOptions *options)
{
  Shown s = {.findings = options->findings && options->findings->n_findings > 0,
             .changes = options->merged != NULL,
             .readings = options->n_readings > 0};
  for (guint i = 0; i < sheet->n_joints; i++) {
    const LoomWiredJoint *w = &sheet->inside->wiring->joints[i];
    bool radio = loom_run_kind_end(sheet->inside->wiring, w->part_a, w->end_a)->family->shape ==
                 LOOM_SHAPE_RADIO;
    s.radio |= radio;
    s.apart |= !sheet->joints[i].mates;
    s.direct |= sheet->joints[i].mates && sheet->joints[i].apart && !radio;
    s.tied |= loom_design_joint(sheet->design, w->joint)->tied;
  }
  for (guint i = 0; i < sheet->n_ends; i++) {
    const LoomEnd *e = &loom_sheet_part(sheet, sheet->ends[i].part)->kind->ends[sheet->ends[i].end];
    s.genderless |= e->gender == LOOM_GENDER_GENDERLESS && e->family->shape != LOOM_SHAPE_RADIO;
    s.terminal |= e->gender == LOOM_GENDER_TERMINAL;
  }
  return s;
}

/* Connectors of no part, for the legend. */
typedef struct {
  LoomFamily family;
  LoomContact contacts[2];
  LoomEnd end;
} Sample;

static void
sample_init(Sample *s, LoomShape shape, LoomGender gender, guint ways)
{
  *s = (Sample){.family = {.ways = ways, .shape = shape, .keyed = true, .pitch_mm = 4},
                .contacts = {{.way = 1}, {.way = 2}}};
  s->end = (LoomEnd){
      .family = &s->family, .gender = gender, .n_contacts = ways, .contacts = s->contacts};
}

static void
draw_sample(LoomInk *ink, LoomShape shape, LoomGender gender, double x, double y, int dx)
{
  Sample s;
  sample_init(&s, shape, gender, shape == LOOM_SHAPE_ROUND || shape == LOOM_SHAPE_FLAT ? 2 : 1);
  if (shape == LOOM_SHAPE_FLAT || shape == LOOM_SHAPE_RING)
    s.family.ways = s.end.n_contacts = 1;
  loom_draw_end_at(ink, &s.end, (LoomPoint){x, y}, dx, 0);
}

typedef struct {
  LoomInk *ink;
  double x, y;     /* next row */
  double top, low; /* of the column */
  double width;
} Column;

static void
caption(const Column *c, double at, const char *text)
{
  g_autofree char *fit = loom_text_fit(text, 2.3, false, c->width - at - 0.5);
  loom_ink_text(c->ink, c->x + at, c->y + 0.8, 2.3, LOOM_ANCHOR_START, false, LOOM_PAINT_INK, fit);
}

static void
next_row(Column *c, double step, double column)
{
  c->y += step;
  if (c->y > c->low) {
    c->y = c->top;
    c->x += column;
  }
}

static void
gender_rows(Column *c, const Shown *shown)
{
  draw_sample(c->ink, LOOM_SHAPE_ROUND, LOOM_GENDER_PINS, c->x + 5, c->y, 1);
  caption(c, 13, _("pins (male)"));
  next_row(c, ROW + 2.2, 37);
  draw_sample(c->ink, LOOM_SHAPE_ROUND, LOOM_GENDER_SOCKETS, c->x + 5, c->y, 1);
  caption(c, 13, _("sockets (female)"));
  next_row(c, ROW + 2.2, 37);
  draw_sample(c->ink, LOOM_SHAPE_ROUND, LOOM_GENDER_SOCKETS, c->x + 5, c->y, 1);
  draw_sample(c->ink, LOOM_SHAPE_ROUND, LOOM_GENDER_PINS, c->x + 5, c->y, -1);
  caption(c, 13, _("plugged"));
  next_row(c, ROW + 2.2, 37);
  if (shown->genderless) {
    draw_sample(c->ink, LOOM_SHAPE_FLAT, LOOM_GENDER_GENDERLESS, c->x + 5, c->y, 1);
    caption(c, 13, _("genderless"));
    next_row(c, ROW + 2.2, 37);
  }
  if (shown->terminal) {
    draw_sample(c->ink, LOOM_SHAPE_RING, LOOM_GENDER_TERMINAL, c->x + 5, c->y, 1);
    caption(c, 13, _("ring, terminal"));
    next_row(c, ROW + 2.2, 37);
  }
}

static void
dashed(const Column *c, LoomPaint paint, double line, double dash)
{
  LoomStyle style = loom_style_line(paint, line);
  style.dash_mm = dash;
  loom_draw_segment(c->ink, c->x, c->y, c->x + 10, c->y, style);
}

static void
reading_rows(Column *c)
{
  static const struct {
    double width, stress;
    const char *text;
  } WIRES[] = {{1.5, 0, N_("thick: many amps, thin: few")},
               {1.2, 0.9, N_("less than a fifth from its limit")},
               {1.2, 1.2, N_("beyond its limit")}};
  g_autofree char *example = g_strdup_printf("%.2f V", 12.0);
  loom_ink_text(c->ink, c->x, c->y + 0.9, 2.5, LOOM_ANCHOR_START, true, LOOM_PAINT_READING,
                example);
  caption(c, 13, _("volts between + and −"));
  next_row(c, ROW, 50);
  for (guint i = 0; i < G_N_ELEMENTS(WIRES); i++) {
    loom_draw_stress_sample(c->ink, WIRES[i].width, WIRES[i].stress, c->x + 5, c->y);
    caption(c, 13, _(WIRES[i].text));
    next_row(c, ROW, 50);
  }
}

static void
line_rows(Column *c, const Shown *shown)
{
  loom_draw_rect(c->ink, (LoomRect){c->x, c->y - 2.1, 10, 4.2}, 2.1,
                 loom_style_both(LOOM_PAINT_TINT, LOOM_PAINT_INK, 0.3));
  loom_ink_text(c->ink, c->x + 5, c->y + 0.9, 2.5, LOOM_ANCHOR_MIDDLE, true, LOOM_PAINT_INK, "W1");
  caption(c, 13, _("lead, with its length and size"));
  next_row(c, ROW, 50);
  if (shown->radio) {
    dashed(c, LOOM_PAINT_NOTE, 0.5, 2.4);
    caption(c, 13, _("radio link, no wire"));
    next_row(c, ROW, 50);
  }
  if (shown->direct) {
    dashed(c, LOOM_PAINT_FAINT, 0.4, 0.9);
    caption(c, 13, _("plugged straight together"));
    next_row(c, ROW, 50);
  }
  if (shown->apart) {
    dashed(c, LOOM_PAINT_STOP, 0.7, 1.3);
    caption(c, 13, _("these do not mate"));
    next_row(c, ROW, 50);
  }
  if (shown->readings)
    reading_rows(c);
  static const char *const STATUS[] = {"", N_("changed"), N_("new"), N_("gone")};
  for (guint s = LOOM_STATUS_CHANGED; shown->changes && s <= LOOM_STATUS_GONE; s++) {
    loom_draw_change_sample(c->ink, (LoomStatus)s, c->x + 5, c->y);
    caption(c, 13, _(STATUS[s]));
    next_row(c, ROW + 2, 50);
  }
  static const char *const WORDS[] = {N_("stop: never power this"), N_("take care"), N_("note")};
  for (guint s = 0; shown->findings && s < 3; s++) {
    loom_draw_flag_sign(c->ink, (LoomPoint){c->x + 5, c->y}, (LoomSeverity)s, 1);
    caption(c, 13, _(WORDS[s]));
    next_row(c, ROW + 1, 50);
  }
}

static void
colour_rows(Column *c, guint32 used)
{
  guint n;
  const LoomColour *colours = loom_colours(&n);
  for (guint i = 0; i < n; i++) {
    if (!(used & 1u << i))
      continue;
    LoomPaint paint = LOOM_PAINT_WIRE + (LoomPaint)i;
    if (loom_needs_edge(c->ink, paint))
      loom_draw_segment(c->ink, c->x, c->y, c->x + 7, c->y, loom_style_line(LOOM_PAINT_INK, 1.2));
    loom_draw_segment(c->ink, c->x, c->y, c->x + 7, c->y, loom_style_line(paint, 0.9));
    g_autofree char *text = g_strdup_printf("%s  %s", colours[i].code, _(colours[i].name));
    caption(c, 9.5, text);
    next_row(c, 4.2, 26);
  }
}

static guint
rows_of(const LoomSheet *sheet, const LoomDrawOptions *options)
{
  Shown s = shown_on(sheet, options);
  guint lines = 1u + s.radio + s.direct + s.apart + (s.findings ? 3 : 0) + (s.changes ? 4 : 0) +
                (s.readings ? 4 : 0);
  guint genders = 3u + s.genderless + s.terminal;
  guint colours = (count_bits(colours_used(sheet)) + 1) / 2;
  double height = fmax(fmax(genders * (ROW + 2.2), lines * (ROW + 0.6)), colours * 4.2);
  return (guint)ceil(height);
}

static double
legend_height(const LoomSheet *sheet, const LoomDrawOptions *options)
{
  return rows_of(sheet, options) + 12;
}

static void
draw_legend(LoomDrawing *d, LoomPoint at)
{
  Shown shown = shown_on(d->sheet, d->options);
  double height = legend_height(d->sheet, d->options), low = height - 3;
  loom_ink_begin(d->ink, "legend", _("How to read it"), NULL);
  loom_ink_begin_placed(d->ink, at.x, at.y, 0, false);
  loom_draw_rect(d->ink, (LoomRect){0, 0, LEGEND_WIDTH + 14, height}, 1.6,
                 loom_style_both(LOOM_PAINT_PAPER, LOOM_PAINT_INK, 0.25));
  loom_ink_text(d->ink, 4, 5.4, 2.8, LOOM_ANCHOR_START, true, LOOM_PAINT_INK, _("How to read it"));
  if (d->options->readings_caption) {
    g_autofree char *fit =
        loom_text_fit(d->options->readings_caption, 2.3, true, LEGEND_WIDTH - 24);
    loom_ink_text(d->ink, 34, 5.4, 2.3, LOOM_ANCHOR_START, true, LOOM_PAINT_READING, fit);
  }
  Column genders = {d->ink, 4, 12.4, 12.4, low, 38};
  gender_rows(&genders, &shown);
  Column lines = {d->ink, 42, 11.4, 11.4, low, 54};
  line_rows(&lines, &shown);
  Column colours = {d->ink, 96, 10.6, 10.6, low, 26};
  colour_rows(&colours, colours_used(d->sheet));
  loom_ink_end(d->ink);
  loom_ink_end(d->ink);
}

static void
cell(LoomInk *ink, LoomRect r, const char *head, const char *text)
{
  loom_draw_rect(ink, r, 0, loom_style_line(LOOM_PAINT_INK, 0.25));
  loom_ink_text(ink, r.x + 1.6, r.y + 3.2, 1.9, LOOM_ANCHOR_START, false, LOOM_PAINT_FAINT, head);
  g_autofree char *fit = loom_text_fit(text && *text ? text : "–", 2.5, false, r.width - 3);
  loom_ink_text(ink, r.x + 1.6, r.y + 7, 2.5, LOOM_ANCHOR_START, false, LOOM_PAINT_INK, fit);
}

static void
draw_title_block(LoomDrawing *d, LoomPoint at)
{
  const LoomTitle *t = loom_design_title(d->sheet->design);
  const char *scene = loom_design_scene(d->sheet->design, d->sheet->scene)->name;
  double third = TITLE_WIDTH / 3;
  loom_ink_begin(d->ink, "title-block", t->name, NULL);
  loom_ink_begin_placed(d->ink, at.x, at.y, 0, false);
  loom_draw_rect(d->ink, (LoomRect){0, 0, TITLE_WIDTH, TITLE_HEIGHT}, 0,
                 loom_style_both(LOOM_PAINT_PAPER, LOOM_PAINT_INK, 0.4));
  g_autofree char *name = loom_text_fit(t->name, 3.2, true, TITLE_WIDTH - 4);
  loom_ink_text(d->ink, 2, 5, 3.2, LOOM_ANCHOR_START, true, LOOM_PAINT_INK, name);
  g_autofree char *count = g_strdup_printf("%u, %u", d->sheet->n_parts, d->sheet->n_joints);
  const char *const cells[2][3][2] = {
      {{_("Scene"), scene}, {_("Revision"), t->revision}, {_("Date"), t->date}},
      {{_("Drawn by"), t->drawn_by},
       {_("Checked by"), t->checked_by ? t->checked_by : _("not yet checked")},
       {_("Parts and joints"), count}}};
  for (guint row = 0; row < 2; row++)
    for (guint k = 0; k < 3; k++)
      cell(d->ink, (LoomRect){k * third, 7.5 + row * 8.75, third, 8.75}, cells[row][k][0],
           cells[row][k][1]);
  loom_ink_end(d->ink);
  loom_ink_end(d->ink);
}

/* Where the blocks lie, in millimetres of the sheet, and the page around everything. */
typedef struct {
  LoomRect page;
  LoomPoint legend, title;
} Blocks;

static double
blocks_width(const LoomDrawOptions *options)
{
  double width =
      (options->title_block ? TITLE_WIDTH : 0) + (options->legend ? LEGEND_WIDTH + 14 : 0);
  width += options->title_block && options->legend ? GAP : 0;
  return (width + 2 * GAP) * options->block_scale;
}

/* Highest top of a block of that width at `left` that leaves what is drawn alone. */
static double
top_at(const LoomSheet *sheet, const bool *drawn, double left, double width, double scale)
{
  double gap = GAP * scale;
  return loom_draw_lowest(sheet, drawn, left - gap, left + width + gap) + gap;
}

/* 1. The legend goes to the left corner, the title block to the right one or, where it would have
 * to lie lower there, beside the legend.
 * 2. The page ends with what is drawn or with the block that lies lowest, and the safety line.
 * 3. Both blocks stand on that line. */
static Blocks
place_blocks(const LoomSheet *sheet, const LoomDrawOptions *options, const bool *drawn,
             LoomRect above)
{
  double s = options->block_scale, wider = fmax(blocks_width(options) - above.width, 0);
  Blocks b = {.page = {above.x - wider / 2, above.y, above.width + wider, above.height}};
  double bottom = above.y + above.height, foot = SAFETY_ROOM * s;
  double legend = options->legend ? legend_height(sheet, options) * s : 0, title = TITLE_HEIGHT * s;
  b.legend.x = b.page.x + GAP * s;
  if (options->legend)
    bottom =
        fmax(bottom, top_at(sheet, drawn, b.legend.x, (LEGEND_WIDTH + 14) * s, s) + legend + foot);
  if (options->title_block) {
    double beside = b.legend.x + (options->legend ? (LEGEND_WIDTH + 14 + GAP) * s : 0);
    double corner = b.page.x + b.page.width - (GAP + TITLE_WIDTH) * s;
    double at_corner =
        fmax(bottom, top_at(sheet, drawn, corner, TITLE_WIDTH * s, s) + title + foot);
    double at_legend =
        fmax(bottom, top_at(sheet, drawn, beside, TITLE_WIDTH * s, s) + title + foot);
    b.title.x = at_legend < at_corner ? beside : corner;
    bottom = fmin(at_legend, at_corner);
  }
  b.page.height = bottom - above.y + 2;
  b.legend.y = bottom + 2 - foot - legend;
  b.title.y = bottom + 2 - foot - title;
  return b;
}

LoomRect
loom_draw_page_extents(const LoomSheet *sheet, const LoomDrawOptions *options, const bool *drawn,
                       LoomRect above)
{
  if (!options->legend && !options->title_block)
    return above;
  return place_blocks(sheet, options, drawn, above).page;
}

/* The left end of the safety line stays clear of what is drawn because the legend does; without a
 * legend it is left out. */
void
loom_draw_page(LoomDrawing *d, LoomRect above)
{
  if (!d->options->legend && !d->options->title_block)
    return;
  double s = d->options->block_scale;
  Blocks b = place_blocks(d->sheet, d->options, d->drawn, above);
  LoomRect page = b.page;
  loom_ink_begin_scaled(d->ink, page.x, page.y, s);
  if (d->options->legend) {
    draw_legend(d, (LoomPoint){(b.legend.x - page.x) / s, (b.legend.y - page.y) / s});
    loom_ink_text(d->ink, GAP, page.height / s - 1.5, SAFETY_MM, LOOM_ANCHOR_START, false,
                  LOOM_PAINT_INK, _(SAFETY));
  }
  if (d->options->title_block)
    draw_title_block(d, (LoomPoint){(b.title.x - page.x) / s, (b.title.y - page.y) / s});
  loom_ink_end(d->ink);
}
