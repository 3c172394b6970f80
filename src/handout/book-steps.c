/* Steps: one joint each, in the order in which they are plugged, with a cut-out of the drawing for
 * every handful. */
#include "book-private.h"
#include "figure.h"

#define LEAST_HANDFUL 3 /* most steps below one cut-out: between these two */
#define MOST_HANDFUL 6
#define ABOVE_PT 4.0   /* a figure */
#define BETWEEN_PT 6.0 /* it and its table */
#define BELOW_PT 10.0  /* a table */
#define ENDS_MM 33.0

guint
loom_book_step_number(guint step)
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
  loom_table_textf(table, "%u", loom_book_step_number(i));
  ends_cell(m, table, s);
  if (s->home)
    loom_table_textf(table, "%s\n%s", s->sentence, s->home);
  else
    loom_table_text(table, s->sentence);
  if (read && s->act == LOOM_STEP_MEASURE)
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

static LoomTable *
table_new(LoomMaking *m, bool read)
{
  LoomColumn columns[] = {{"", 7, 0, false},
                          {_("step"), 13, 0, true},
                          {_("the ends"), ENDS_MM, 0, false},
                          {_("what to do, and how you know that it is done"), 0, 1, false},
                          {_("it reads"), 19, 0, false}};
  return loom_table_begin(m->scroll, columns, G_N_ELEMENTS(columns) - !read, true);
}

static void
handful(LoomMaking *m, guint first, guint n)
{
  bool read = any_reading(m->steps, first, n);
  loom_book_cut_out(m, first, n);
  LoomTable *table = table_new(m, read);
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
  g_autofree char *heading =
      group_heading(g->place, loom_book_step_number(g->first), g->first + g->n);
  loom_scroll_text(m->scroll, LOOM_TEXT_STRONG, heading);
}

/* --- how many steps go below one cut-out --- */

/* Heights of what a handful consists of, in points; [1] with a column for readings. */
typedef struct {
  double head[2], *rows[2]; /* [steps] */
  GArray *cut_outs;         /* of double, steps times MOST_HANDFUL; 0: not yet known */
} Sizes;

static void
measure_rows(LoomMaking *m, Sizes *sizes, bool read)
{
  LoomScrollPlace here = loom_scroll_place(m->scroll);
  guint n = m->steps->n_steps;
  LoomTable *table = table_new(m, read);
  for (guint i = 0; i < n; i++)
    step_row(m, table, i, read);
  loom_table_end(table);
  const LoomStrip *strips = &g_array_index(m->scroll->strips, LoomStrip, here.n_strips);
  guint n_strips = m->scroll->strips->len - here.n_strips;
  sizes->rows[read] = g_new0(double, n);
  sizes->head[read] = strips[0].height;
  for (guint i = 0; i < n; i++)
    sizes->rows[read][i] = strips[MIN(i + 1, n_strips - 1)].height;
  loom_scroll_rewind(m->scroll, here);
}

static double
cut_out_pt(LoomMaking *m, Sizes *sizes, guint first, guint n)
{
  double *known = &g_array_index(sizes->cut_outs, double, first *MOST_HANDFUL + n - 1);
  if (*known == 0)
    *known = loom_book_cut_out_mm(m, first, n) * LOOM_PT_PER_MM;
  return *known;
}

/* Room for a handful in place of itself. */
static void
stand_in(LoomMaking *m, Sizes *sizes, guint first, guint n)
{
  bool read = any_reading(m->steps, first, n);
  double height = cut_out_pt(m, sizes, first, n) + BETWEEN_PT + sizes->head[read];
  for (guint i = first; i < first + n; i++)
    height += sizes->rows[read][i];
  loom_scroll_space(m->scroll, ABOVE_PT);
  loom_scroll_strip(m->scroll, height);
  loom_scroll_space(m->scroll, BELOW_PT);
}

/* As many steps as still go onto the page that is begun, `most` at most; where not even one does,
 * an even share of what is left. Leaves room for them. */
static guint
next_handful(LoomMaking *m, Sizes *sizes, const LoomStepGroup *g, guint first, guint most)
{
  guint left = g->first + g->n - first, pages = loom_pages_count(m->scroll);
  guint handfuls = (left + most - 1) / most;
  LoomScrollPlace here = loom_scroll_place(m->scroll);
  for (guint n = MIN(left, most); n > 0; n--) {
    if (first == g->first)
      group_head(m, g);
    stand_in(m, sizes, first, n);
    if (loom_pages_count(m->scroll) == pages)
      return n;
    loom_scroll_rewind(m->scroll, here);
  }
  if (first == g->first)
    group_head(m, g);
  guint share = (left + handfuls - 1) / handfuls;
  stand_in(m, sizes, first, share);
  return share;
}

/* Handfuls of `most` steps at most, one after the other; new, of guint. `pages` is what they
 * fill. */
static GArray *
plan_handfuls(LoomMaking *m, Sizes *sizes, guint most, guint *pages)
{
  GArray *plan = g_array_new(FALSE, FALSE, sizeof(guint));
  LoomScrollPlace here = loom_scroll_place(m->scroll);
  for (guint i = 0; i < m->steps->n_groups; i++) {
    const LoomStepGroup *g = &m->steps->groups[i];
    for (guint first = g->first, n; first < g->first + g->n; first += n) {
      n = next_handful(m, sizes, g, first, most);
      g_array_append_val(plan, n);
    }
  }
  *pages = loom_pages_count(m->scroll);
  loom_scroll_rewind(m->scroll, here);
  return plan;
}

/* The handfuls that fill the fewest pages, small ones rather than large ones. New, of guint. */
static GArray *
best_plan(LoomMaking *m)
{
  guint n = m->steps->n_steps, fewest = G_MAXUINT, pages;
  Sizes sizes = {.cut_outs = g_array_new(FALSE, TRUE, sizeof(double))};
  g_array_set_size(sizes.cut_outs, n * MOST_HANDFUL);
  measure_rows(m, &sizes, false);
  if (any_reading(m->steps, 0, n))
    measure_rows(m, &sizes, true);
  GArray *best = NULL;
  for (guint most = LEAST_HANDFUL; most <= MOST_HANDFUL; most++) {
    GArray *plan = plan_handfuls(m, &sizes, most, &pages);
    if (pages < fewest) {
      fewest = pages;
      g_clear_pointer(&best, g_array_unref);
      best = g_array_ref(plan);
    }
    g_array_unref(plan);
  }
  g_array_unref(sizes.cut_outs);
  g_free(sizes.rows[0]);
  g_free(sizes.rows[1]);
  return best;
}

static void
set_groups(LoomMaking *m, const GArray *plan)
{
  guint k = 0;
  for (guint i = 0; i < m->steps->n_groups; i++) {
    const LoomStepGroup *g = &m->steps->groups[i];
    group_head(m, g);
    for (guint first = g->first, n; first < g->first + g->n; first += n) {
      n = g_array_index(plan, guint, k++);
      handful(m, first, n);
    }
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
  g_autoptr(GArray) plan = best_plan(m);
  set_groups(m, plan);
}
