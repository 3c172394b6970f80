/* Steps: one joint each, in the order in which they are plugged, with a cut-out of the drawing for
 * every handful. */
#include "book-private.h"
#include "figure.h"

#include <math.h>

#define LEAST_HANDFUL 3 /* most steps below one cut-out: between these two */
#define MOST_HANDFUL 6
#define LEAST_FIGURE_MM 27.0 /* highest cut-out of no step, and more for each one */
#define STEP_FIGURE_MM 4.5
#define MOST_SCALE 1.1  /* mm of paper a mm of sheet */
#define LEAST_SCALE 0.6 /* of a piece by itself */
#define HAND_MM 20.0    /* of the sheet, shown around the end in the hand and its number */
#define END_MM 14.0     /* around the other end */
#define AROUND_MM 6.0   /* of the sheet, shown around a part */
#define SMALL_MM 60.0   /* parts up to this size are shown whole */
#define WASTE 2.4       /* area of two pieces joined, against both by themselves */
#define APART_MM 3.0    /* of paper, between pieces side by side */
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
  double x = fmin(a.x, b.x), y = fmin(a.y, b.y);
  return (LoomRect){x, y, fmax(a.x + a.width, b.x + b.width) - x,
                    fmax(a.y + a.height, b.y + b.height) - y};
}

static LoomRect
grown(LoomRect r, double by)
{
  return (LoomRect){r.x - by, r.y - by, r.width + 2 * by, r.height + 2 * by};
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

/* What the cut-out of one step must show: its ends with their surroundings, small parts whole. */
static void
add_boxes(GArray *boxes, const LoomSheet *sheet, const LoomStep *s)
{
  guint parts[] = {s->part, s->to_part}, ends[] = {s->end, s->to_end};
  for (guint k = 0; k < 2; k++) {
    if (parts[k] == LOOM_NONE)
      continue;
    const LoomPlacedPart *p = &sheet->parts[parts[k]];
    if (ends[k] != LOOM_NONE) {
      LoomPoint at = loom_sheet_end(sheet, parts[k], ends[k])->at;
      LoomRect end = grown((LoomRect){at.x, at.y, 0, 0}, k == 0 ? HAND_MM : END_MM);
      g_array_append_val(boxes, end);
    }
    if (p->outline.width > SMALL_MM || p->outline.height > SMALL_MM)
      continue;
    LoomRect whole =
        grown(p->caption.width > 0 ? joined(p->outline, p->caption) : p->outline, AROUND_MM);
    g_array_append_val(boxes, whole);
  }
}

static double
size_of(LoomRect r)
{
  return r.width * r.height;
}

/* Joins boxes while that wastes little paper and stays readable in the room: what lies far apart
 * gets a picture of its own. */
static void
join_boxes(GArray *boxes, double width_mm, double height_mm)
{
  for (guint i = 0; i < boxes->len; i++)
    for (guint k = i + 1; k < boxes->len; k++) {
      LoomRect a = g_array_index(boxes, LoomRect, i), b = g_array_index(boxes, LoomRect, k);
      LoomRect both = joined(a, b);
      if (size_of(both) > WASTE * (size_of(a) + size_of(b)) ||
          loom_figure_scale(both, width_mm, height_mm, 1) < LEAST_SCALE)
        continue;
      g_array_index(boxes, LoomRect, i) = both;
      g_array_remove_index(boxes, k);
      i = (guint)-1; /* all of them anew: there are few */
      break;
    }
}

static int
by_place(gconstpointer a, gconstpointer b)
{
  const LoomRect *x = a, *y = b;
  if (x->x != y->x)
    return x->x < y->x ? -1 : 1;
  return (x->y > y->y) - (x->y < y->y);
}

/* The pieces of the sheet that these steps concern, from left to right. New, of LoomRect. */
static GArray *
pieces_of(const LoomSheet *sheet, const LoomSteps *steps, guint first, guint n, double width_mm,
          double height_mm)
{
  GArray *boxes = g_array_new(FALSE, FALSE, sizeof(LoomRect));
  for (guint i = first; i < first + n; i++)
    add_boxes(boxes, sheet, &steps->steps[i]);
  join_boxes(boxes, width_mm, height_mm);
  g_array_sort(boxes, by_place);
  return boxes;
}

/* Scale at which the pieces stand side by side. */
static double
scale_of(const GArray *pieces, double width_mm, double height_mm)
{
  double wide = 0, high = 0;
  for (guint i = 0; i < pieces->len; i++) {
    wide += g_array_index(pieces, LoomRect, i).width;
    high = fmax(high, g_array_index(pieces, LoomRect, i).height);
  }
  return fmin(MOST_SCALE, fmin((width_mm - (pieces->len - 1) * APART_MM) / wide, height_mm / high));
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
  g_autoptr(GArray) figures = g_array_new(FALSE, FALSE, sizeof(LoomFigure));
  double width = loom_scroll_width_mm(m->scroll), high = LEAST_FIGURE_MM + n * STEP_FIGURE_MM;
  g_autoptr(GArray) pieces = pieces_of(sheet, m->steps, first, n, width, high);
  double scale = scale_of(pieces, width, high);
  for (guint i = first; i < first + n; i++) {
    const LoomStep *s = &m->steps->steps[i];
    add_part(only, s->part);
    add_part(only, s->to_part);
    add_mark(marks, place_of(sheet, s, LOOM_MARK_RADIUS_MM / scale), number_of(i),
             LOOM_MARK_RADIUS_MM / scale);
  }
  LoomSheetView view = {.sheet = sheet, .most_scale = scale, .border = true};
  loom_draw_options_init(&view.options);
  view.options.palette = LOOM_PALETTE_PRINT;
  view.options.only_parts = (const guint *)only->data;
  view.options.n_only = only->len;
  view.marks = (const LoomSheetMark *)marks->data;
  view.n_marks = marks->len;
  for (guint i = 0; i < pieces->len; i++) {
    view.area = view.options.clip = g_array_index(pieces, LoomRect, i);
    LoomFigure figure = loom_figure_sheet(&view, scale * view.area.width, scale * view.area.height);
    g_array_append_val(figures, figure);
  }
  loom_scroll_figure(m->scroll,
                     loom_figure_row((const LoomFigure *)figures->data, figures->len, APART_MM));
  loom_scroll_keep(m->scroll);
}

/* --- steps --- */

static void
ends_cell(LoomMaking *m, LoomTable *table, const LoomStep *s)
{
  const LoomKind *kind = loom_design_part(m->design, s->part)->kind;
  if (s->end == LOOM_NONE)
    loom_table_figure(table, loom_figure_kind(kind, ENDS_MM - 3, 9));
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

/* What stands above the first handful of a group. */
static void
group_head(LoomMaking *m, const LoomStepGroup *g)
{
  const LoomSteps *steps = m->steps;
  bool begins = g == steps->groups || g->stage != (g - 1)->stage;
  if (begins) {
    g_autofree char *title = g_strdup_printf(_("Stage %s: %s"), loom_stage_word(g->stage),
                                             _(loom_stage_label(g->stage)));
    loom_scroll_section(m->scroll, title);
    loom_scroll_text(m->scroll, LOOM_TEXT_BODY, stage_text(g->stage));
    loom_scroll_keep(m->scroll);
  }
  g_autofree char *heading = group_heading(g->place, number_of(g->first), g->first + g->n);
  loom_scroll_text(m->scroll, LOOM_TEXT_STRONG, heading);
}

static void
set_handful(LoomMaking *m, const LoomStepGroup *g, guint first, guint n)
{
  if (first == g->first)
    group_head(m, g);
  handful(m, first, n);
}

/* Number of steps of the next handful: those that still go onto the page that is begun, or, where
 * not even one does, an even share of what is left. */
static guint
next_handful(LoomMaking *m, const LoomStepGroup *g, guint first, guint most)
{
  guint left = g->first + g->n - first, pages = loom_pages_count(m->scroll);
  LoomScrollPlace here = loom_scroll_place(m->scroll);
  for (guint n = MIN(left, most); n > 0; n--) {
    set_handful(m, g, first, n);
    bool fits = loom_pages_count(m->scroll) == pages;
    loom_scroll_rewind(m->scroll, here);
    if (fits)
      return n;
  }
  guint handfuls = (left + most - 1) / most;
  return (left + handfuls - 1) / handfuls;
}

static void
set_groups(LoomMaking *m, guint most)
{
  for (guint i = 0; i < m->steps->n_groups; i++) {
    const LoomStepGroup *g = &m->steps->groups[i];
    for (guint first = g->first, n; first < g->first + g->n; first += n) {
      n = next_handful(m, g, first, most);
      set_handful(m, g, first, n);
    }
  }
}

/* The handfuls that need the fewest pages, small ones rather than large ones. */
static guint
best_handful(LoomMaking *m)
{
  guint best = LEAST_HANDFUL, fewest = G_MAXUINT;
  LoomScrollPlace here = loom_scroll_place(m->scroll);
  for (guint most = LEAST_HANDFUL; most <= MOST_HANDFUL; most++) {
    set_groups(m, most);
    guint pages = loom_pages_count(m->scroll);
    loom_scroll_rewind(m->scroll, here);
    if (pages < fewest) {
      fewest = pages;
      best = most;
    }
  }
  return best;
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
  set_groups(m, best_handful(m));
}
