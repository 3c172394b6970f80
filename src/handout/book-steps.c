/* Steps: one joint each, in the order in which they are plugged, with a cut-out of the drawing for
 * every handful. */
#include "book-private.h"
#include "figure.h"

#include <math.h>

#define HANDFUL 5            /* steps below one cut-out */
#define LEAST_FIGURE_MM 40.0 /* highest cut-out of one step, and more for each further one */
#define STEP_FIGURE_MM 6.0
#define AROUND_MM 6.0 /* of the sheet, around what is shown */
#define ENDS_MM 33.0

/* Number of a step as it is called out: 1 for the first. */
static guint
number_of(guint step)
{
  return step + 1;
}

static const char *
stage_text(LoomStage stage)
{
  switch (stage) {
  case LOOM_STAGE_A:
    return _(
        "Plug everything together but the packs and the supply of the controller. No pack is on "
        "the table.");
  case LOOM_STAGE_B:
    return _(
        "Now the supply alone, measured before anything hangs on it. One person holds the meter, "
        "one the switch, nobody else touches the robot. Wheels off the ground.");
  case LOOM_STAGE_C:
    return _("Everything is proven: now the supply goes in, packs last. The switch is off.");
  }
  return "";
}

/* --- cut-outs --- */

static LoomRect
joined(LoomRect a, LoomRect b)
{
  if (a.width <= 0)
    return b;
  double x = fmin(a.x, b.x), y = fmin(a.y, b.y);
  return (LoomRect){x, y, fmax(a.x + a.width, b.x + b.width) - x,
                    fmax(a.y + a.height, b.y + b.height) - y};
}

static LoomRect
around(LoomPoint at, double by)
{
  return (LoomRect){at.x - by, at.y - by, 2 * by, 2 * by};
}

static void
add_part(GArray *only, guint part)
{
  for (guint i = 0; i < only->len; i++)
    if (g_array_index(only, guint, i) == part)
      return;
  if (part != LOOM_NONE)
    g_array_append_val(only, part);
}

/* What the cut-out of these steps must show: their joints and ends, and small parts whole. */
static LoomRect
area_of(const LoomSheet *sheet, const LoomSteps *steps, guint first, guint n)
{
  LoomRect area = {0};
  for (guint i = first; i < first + n; i++) {
    const LoomStep *s = &steps->steps[i];
    guint parts[] = {s->part, s->to_part}, ends[] = {s->end, s->to_end};
    for (guint k = 0; k < 2; k++) {
      if (parts[k] == LOOM_NONE)
        continue;
      const LoomPlacedPart *p = &sheet->parts[parts[k]];
      if (p->outline.width <= 60 && p->outline.height <= 60)
        area = joined(area, joined(p->outline, p->caption.width > 0 ? p->caption : p->outline));
      if (ends[k] != LOOM_NONE)
        area = joined(area, around(loom_sheet_end(sheet, parts[k], ends[k])->at, 12));
    }
  }
  return (LoomRect){area.x - AROUND_MM, area.y - AROUND_MM, area.width + 2 * AROUND_MM,
                    area.height + 2 * AROUND_MM};
}

#define PLUG_MM 8.0 /* of the sheet: longest connector */

/* Beside the lead's tag where the two would cover each other. */
static LoomPoint
clear_of_tag(LoomPoint at, LoomRect tag, int dx, double radius)
{
  bool meets = at.x + radius > tag.x && at.x - radius < tag.x + tag.width &&
               at.y + radius > tag.y && at.y - radius < tag.y + tag.height;
  if (!meets)
    return at;
  return dx ? (LoomPoint){at.x, tag.y - radius} : (LoomPoint){tag.x - radius, at.y};
}

/* Where the number of a step goes: on the wire behind the plug in the hand, or at the corner of
 * what is switched. */
static LoomPoint
place_of(const LoomSheet *sheet, const LoomStep *s, double radius)
{
  LoomRect outline = sheet->parts[s->part].outline;
  if (s->end == LOOM_NONE)
    return (LoomPoint){outline.x + outline.width, outline.y};
  const LoomPlacedEnd *end = loom_sheet_end(sheet, s->part, s->end);
  double back = s->act == LOOM_STEP_MEASURE ? -radius - 3 : PLUG_MM + radius;
  LoomPoint at = {end->at.x - end->dx * back, end->at.y - end->dy * back};
  return loom_design_part(sheet->design, s->part)->kind->lead
             ? clear_of_tag(at, outline, end->dx, radius)
             : at;
}

/* A second number at the same place goes beside the first. */
static void
add_mark(GArray *marks, LoomPoint at, guint number, double radius)
{
  for (guint i = 0; i < marks->len; i++) {
    const LoomPoint *other = &g_array_index(marks, LoomSheetMark, i).at;
    if (fabs(other->x - at.x) < radius && fabs(other->y - at.y) < radius)
      at.x = other->x + 2 * radius;
  }
  LoomSheetMark mark = {at, number};
  g_array_append_val(marks, mark);
}

static void
cut_out(LoomMaking *m, guint first, guint n)
{
  const LoomSheet *sheet = loom_book_sheet(m->book, m->scene);
  g_autoptr(GArray) only = g_array_new(FALSE, FALSE, sizeof(guint));
  g_autoptr(GArray) marks = g_array_new(FALSE, FALSE, sizeof(LoomSheetMark));
  LoomSheetView view = {.sheet = sheet, .most_scale = 1.15, .border = true};
  loom_draw_options_init(&view.options);
  view.options.palette = LOOM_PALETTE_PRINT;
  view.area = area_of(sheet, m->steps, first, n);
  double width = loom_scroll_width_mm(m->scroll), high = LEAST_FIGURE_MM + n * STEP_FIGURE_MM;
  double scale = loom_figure_scale(view.area, width, high, view.most_scale);
  for (guint i = first; i < first + n; i++) {
    const LoomStep *s = &m->steps->steps[i];
    add_part(only, s->part);
    add_part(only, s->to_part);
    add_mark(marks, place_of(sheet, s, LOOM_MARK_RADIUS_MM / scale), number_of(i),
             LOOM_MARK_RADIUS_MM / scale);
  }
  view.options.only_parts = (const guint *)only->data;
  view.options.n_only = only->len;
  view.options.clip = view.area;
  view.marks = (const LoomSheetMark *)marks->data;
  view.n_marks = marks->len;
  loom_scroll_figure(m->scroll,
                     loom_figure_sheet(&view, width, fmin(high, scale * view.area.height)));
  loom_scroll_keep(m->scroll);
}

/* --- steps --- */

static void
ends_cell(LoomMaking *m, LoomTable *table, const LoomStep *s)
{
  const LoomKind *kind = loom_design_part(m->design, s->part)->kind;
  if (s->end == LOOM_NONE)
    loom_table_figure(table, loom_figure_kind(kind, ENDS_MM - 3, 13));
  else if (s->to_part == LOOM_NONE)
    loom_table_figure(table, loom_figure_end(kind, s->end, ENDS_MM - 3));
  else if (s->act == LOOM_STEP_UNPLUG)
    loom_table_figure(table, loom_figure_end(kind, s->end, ENDS_MM - 3));
  else
    loom_table_figure(table,
                      loom_figure_ends(kind, s->end, loom_design_part(m->design, s->to_part)->kind,
                                       s->to_end, ENDS_MM - 3));
}

static void
step_row(LoomMaking *m, LoomTable *table, guint i, bool read)
{
  const LoomStep *s = &m->steps->steps[i];
  loom_table_tick(table);
  loom_table_textf(table, "%u", number_of(i));
  ends_cell(m, table, s);
  if (s->home)
    loom_table_textf(table, "%s\n%s", s->sentence, s->home);
  else
    loom_table_text(table, s->sentence);
  if (s->act == LOOM_STEP_MEASURE)
    loom_table_blank(table);
  else if (read)
    loom_table_text(table, NULL);
}

/* "Arm: steps 4 to 9". New. */
static char *
group_heading(const char *place, guint first, guint last)
{
  g_autofree char *steps = first == last ? g_strdup_printf(_("step %u"), last)
                                         : g_strdup_printf(_("steps %u to %u"), first, last);
  g_autofree char *text = place ? g_strdup_printf("%s: %s", place, steps) : g_strdup(steps);
  return loom_book_capital(text);
}

static bool
any_reading(const LoomSteps *steps, guint first, guint n)
{
  for (guint i = first; i < first + n; i++)
    if (steps->steps[i].act == LOOM_STEP_MEASURE)
      return true;
  return false;
}

static void
handful(LoomMaking *m, guint first, guint n)
{
  LoomColumn columns[] = {{"", 7, 0, false},
                          {_("step"), 13, 0, true},
                          {_("the ends"), ENDS_MM, 0, false},
                          {_("what to do, and how you know that it is done"), 0, 1, false},
                          {_("it reads"), 19, 0, false}};
  bool read = any_reading(m->steps, first, n);
  cut_out(m, first, n);
  LoomTable *table = loom_table_begin(m->scroll, columns, G_N_ELEMENTS(columns) - !read, true);
  loom_table_together(table); /* with the cut-out above it */
  for (guint i = first; i < first + n; i++)
    step_row(m, table, i, read);
  loom_table_end(table);
}

static void
group(LoomMaking *m, const LoomStepGroup *g)
{
  guint last = g->first + g->n;
  g_autofree char *heading = group_heading(g->place, number_of(g->first), last);
  loom_scroll_text(m->scroll, LOOM_TEXT_STRONG, heading);
  /* Even handfuls: seven steps are four and three. */
  guint handfuls = (g->n + HANDFUL - 1) / HANDFUL;
  for (guint k = 0, first = g->first; k < handfuls; k++) {
    guint n = (last - first + handfuls - k - 1) / (handfuls - k);
    handful(m, first, n);
    first += n;
  }
}

void
loom_book_steps(LoomMaking *m)
{
  loom_scroll_text(
      m->scroll, LOOM_TEXT_BODY,
      _("One joint a step, in this order. Tick each one off. Stop and ask when a plug does "
        "not go in by itself: never force it. Turn the switch off and take the pack off "
        "before you change anything."));
  for (char **note = m->steps->notes; note && *note; note++)
    loom_scroll_item(m->scroll, "•", *note);
  LoomStage stage = LOOM_STAGE_A;
  for (guint i = 0; i < m->steps->n_groups; i++) {
    const LoomStepGroup *g = &m->steps->groups[i];
    if (i == 0 || g->stage != stage) {
      g_autofree char *title =
          g_strdup_printf(_("Stage %s: %s"), loom_stage_word(g->stage), loom_stage_label(g->stage));
      loom_scroll_section(m->scroll, title);
      loom_scroll_text(m->scroll, LOOM_TEXT_BODY, stage_text(g->stage));
      loom_scroll_keep(m->scroll);
      stage = g->stage;
    }
    group(m, g);
  }
}
