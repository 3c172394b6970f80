#include "rota-private.h"

#include <string.h>

/* A state is a row of guint: [0] the minute up to which dues are checked, then for each charger,
 * type by type and ascending within the type, the minute at which it is free (never below [0]). */
typedef struct {
  const LoomRotaProblem *problem;
  guint n_chargers;
  guint *first;  /* [n_types + 1] column of the first charger of each type, from 1 */
  guint n_jobs;  /* charges that any due needs */
  guint fastest; /* of all types */
} Search;

static guint
charges_needed(const LoomRotaProblem *p)
{
  return MIN(p->n_dues > p->n_full ? p->n_dues - p->n_full : 0, p->n_releases);
}

static void
search_init(Search *search, const LoomRotaProblem *problem)
{
  *search = (Search){.problem = problem, .n_jobs = charges_needed(problem), .fastest = G_MAXUINT};
  search->first = g_new(guint, problem->n_types + 1);
  search->first[0] = 1;
  for (guint t = 0; t < problem->n_types; t++) {
    guint n = problem->types[t].n_chargers + (t == problem->more_of ? problem->n_more : 0);
    search->first[t + 1] = search->first[t] + n;
    search->fastest = MIN(search->fastest, problem->types[t].fastest);
  }
  search->n_chargers = search->first[problem->n_types] - 1;
  if (search->n_chargers == 0)
    search->n_jobs = 0;
}

/* First due after that minute. */
static guint
first_after(const LoomRotaProblem *p, guint minute)
{
  guint low = 0, high = p->n_dues;
  while (low < high) {
    guint middle = low + (high - low) / 2;
    if (p->dues[middle] <= minute)
      low = middle + 1;
    else
      high = middle;
  }
  return low;
}

/* Whether the dues after `row[0]` and up to `until` are met by the `placed` charges; none starts
 * later. */
static bool
meets(const Search *s, const guint *row, guint placed, guint until)
{
  const LoomRotaProblem *p = s->problem;
  for (guint j = MAX(p->n_full, first_after(p, row[0])); j < p->n_dues && p->dues[j] <= until;
       j++) {
    guint done = placed;
    for (guint m = 1; m <= s->n_chargers; m++)
      done -= row[m] > p->dues[j];
    if (p->n_full + done < j + 1)
      return false;
  }
  return true;
}

/* Checks dues up to `until`. */
static bool
passes(const Search *s, guint *row, guint placed, guint until)
{
  bool met = meets(s, row, placed, until);
  row[0] = MAX(row[0], until);
  return met;
}

/* No further charge starts before `now`. */
static void
raise_to(const Search *s, guint *row, guint now)
{
  for (guint m = 0; m <= s->n_chargers; m++)
    row[m] = MAX(row[m], now);
}

/* Checks what passes before charge number `placed` can start; false: the state is dropped. */
static bool
settle(const Search *s, guint *row, guint placed)
{
  guint now = placed < s->n_jobs ? s->problem->releases[placed] : G_MAXUINT;
  if (!passes(s, row, placed, now))
    return false;
  if (placed < s->n_jobs)
    raise_to(s, row, now);
  return true;
}

/* Puts the next charge, of `minutes`, on the charger of the type that is free first. */
static bool
place(const Search *s, guint *row, guint placed, guint type, guint minutes)
{
  guint m = s->first[type], last = s->first[type + 1];
  guint start = row[m];
  if (!passes(s, row, placed, start))
    return false;
  guint end = start + minutes;
  for (; m + 1 < last && row[m + 1] < end; m++)
    row[m] = row[m + 1];
  row[m] = end;
  raise_to(s, row, start);
  return settle(s, row, placed + 1);
}

/* Whether whatever follows from b can follow from a too. */
static bool
covers(const Search *s, const guint *a, const guint *b, guint placed)
{
  for (guint m = 1; m <= s->n_chargers; m++)
    if (a[m] > b[m])
      return false;
  return a[0] >= b[0] || meets(s, a, placed, b[0]);
}

/* Appends the row unless another covers it; drops those that it covers. */
static void
keep(const Search *s, GArray *rows, const guint *row, guint placed)
{
  guint width = s->n_chargers + 1, kept = 0, n = rows->len / width;
  guint *all = (guint *)(gpointer)rows->data;
  for (guint i = 0; i < n; i++)
    if (covers(s, &all[i * width], row, placed))
      return;
  for (guint i = 0; i < n; i++) {
    if (covers(s, row, &all[i * width], placed))
      continue;
    memmove(&all[kept * width], &all[i * width], width * sizeof *all);
    kept++;
  }
  g_array_set_size(rows, kept * width);
  g_array_append_vals(rows, row, width);
}

/* The type whose next charge would be full first; with `minutes` the one that can start first. */
static guint
soonest(const Search *s, const guint *row, guint minutes)
{
  guint best = LOOM_NONE, best_end = G_MAXUINT;
  for (guint t = 0; t < s->problem->n_types; t++) {
    if (s->first[t] == s->first[t + 1])
      continue;
    guint full = row[s->first[t]] + (minutes ? minutes : s->problem->types[t].fastest);
    if (full < best_end) {
      best = t;
      best_end = full;
    }
  }
  return best;
}

/* Whether it works if each charge goes where it is full first. `minutes` for every charge on every
 * charger, or 0: as they are. Exact where all take the same. */
static bool
simply(const Search *s, const guint *from, guint placed, guint minutes)
{
  g_autofree guint *row = g_memdup2(from, (s->n_chargers + 1) * sizeof *from);
  for (guint i = placed; i < s->n_jobs; i++) {
    guint t = soonest(s, row, minutes);
    if (!place(s, row, i, t, minutes ? minutes : s->problem->types[t].fastest))
      return false;
  }
  return true;
}

/* Whether more charges would have to be done by some due than the chargers can do from now on, each
 * with its own speed and never without a pack. */
static bool
hopeless(const Search *s, const guint *row, guint placed)
{
  const LoomRotaProblem *p = s->problem;
  if (!simply(s, row, placed, s->fastest))
    return true;
  for (guint j = MAX(p->n_full, first_after(p, row[0])); j < p->n_dues; j++) {
    guint done = placed;
    for (guint t = 0; t < p->n_types; t++)
      for (guint m = s->first[t]; m < s->first[t + 1]; m++)
        if (row[m] <= p->dues[j])
          done += (p->dues[j] - row[m]) / p->types[t].fastest;
        else
          done -= 1;
    if (p->n_full + done < j + 1)
      return true;
  }
  return false;
}

typedef enum { FOUND, NOT_YET, OUT_OF_EFFORT } Outcome;

/* All states that follow a stage by one more charge and may lead somewhere, into `next`. */
static Outcome
next_stage(const Search *s, const GArray *rows, guint placed, GArray *next)
{
  guint width = s->n_chargers + 1, *effort = s->problem->effort;
  g_autofree guint *row = g_new(guint, width);
  for (guint i = 0; i < rows->len / width; i++)
    for (guint t = 0; t < s->problem->n_types; t++) {
      guint cost = 2 * (s->n_jobs - placed) + next->len / width;
      if (s->first[t] == s->first[t + 1])
        continue;
      if (*effort < cost || next->len / width >= LOOM_ROTA_STATES)
        return OUT_OF_EFFORT;
      *effort -= cost;
      memcpy(row, &g_array_index(rows, guint, i * width), width * sizeof *row);
      if (!place(s, row, placed, t, s->problem->types[t].fastest))
        continue;
      if (simply(s, row, placed + 1, 0))
        return FOUND;
      if (!hopeless(s, row, placed + 1))
        keep(s, next, row, placed + 1);
    }
  return NOT_YET;
}

/* Stage by stage, all states. */
static Outcome
try_all(const Search *s, const guint *from, guint placed)
{
  Outcome outcome = NOT_YET;
  GArray *rows = g_array_new(FALSE, FALSE, sizeof(guint));
  g_array_append_vals(rows, from, s->n_chargers + 1);
  for (guint i = placed; i < s->n_jobs && rows->len > 0 && outcome == NOT_YET; i++) {
    GArray *next = g_array_new(FALSE, FALSE, sizeof(guint));
    outcome = next_stage(s, rows, i, next);
    g_array_unref(rows);
    rows = next;
  }
  g_array_unref(rows);
  return outcome;
}

/* From a state with `placed` charges: whether every due can be met. Mostly it is plain: the simple
 * way works, or could not work whatever is done. */
static bool
can_finish(const Search *s, const guint *from, guint placed, bool *exact)
{
  if (simply(s, from, placed, 0))
    return true;
  if (hopeless(s, from, placed))
    return false;
  Outcome outcome = try_all(s, from, placed);
  if (outcome == OUT_OF_EFFORT && exact)
    *exact = false;
  return outcome == FOUND;
}

bool
loom_rota_possible(const LoomRotaProblem *problem, bool *exact)
{
  Search s;
  search_init(&s, problem);
  g_autofree guint *row = g_new0(guint, s.n_chargers + 1);
  bool done = settle(&s, row, 0) && can_finish(&s, row, 0, exact);
  g_free(s.first);
  return done;
}

guint
loom_rota_reach(const LoomRotaProblem *problem, bool *exact)
{
  LoomRotaProblem part = *problem;
  guint low = MIN(problem->n_full, problem->n_dues), high = problem->n_dues;
  while (low < high) { /* `low` dues are within reach, more than `high` are not */
    part.n_dues = high - (high - low) / 2;
    if (loom_rota_possible(&part, exact))
      low = part.n_dues;
    else
      high = part.n_dues - 1;
  }
  return low;
}

/* ---- one plan ---- */

/* A state of which the chargers are known by name. */
typedef struct {
  Search search;
  guint *row;
  guint *who; /* [n_chargers + 1] by column: index in the day */
} Planner;

typedef struct {
  LoomRotaPlanned charge;
  double current_A;
} Choice;

static int
gentler(gconstpointer a, gconstpointer b)
{
  const Choice *x = a, *y = b;
  if (x->current_A < y->current_A || x->current_A > y->current_A)
    return x->current_A < y->current_A ? -1 : 1;
  if (x->charge.end_min != y->charge.end_min)
    return x->charge.end_min < y->charge.end_min ? -1 : 1;
  return x->charge.charger < y->charge.charger ? -1 : 1;
}

static int
sooner(gconstpointer a, gconstpointer b)
{
  const Choice *x = a, *y = b;
  if (x->charge.end_min != y->charge.end_min)
    return x->charge.end_min < y->charge.end_min ? -1 : 1;
  return gentler(a, b);
}

/* Of the chargers of a type that are free first the one with the lowest number comes to the front:
 * the row does not change by that. */
static void
lowest_first(Planner *p, guint type)
{
  guint first = p->search.first[type], best = first;
  for (guint m = first + 1; m < p->search.first[type + 1] && p->row[m] == p->row[first]; m++)
    if (p->who[m] < p->who[best])
      best = m;
  guint who = p->who[best];
  p->who[best] = p->who[first];
  p->who[first] = who;
}

static GArray *
choices(Planner *p, bool gentle)
{
  const LoomRotaProblem *problem = p->search.problem;
  GArray *all = g_array_new(FALSE, FALSE, sizeof(Choice));
  for (guint t = 0; t < problem->n_types; t++) {
    guint m = p->search.first[t];
    if (m == p->search.first[t + 1])
      continue;
    lowest_first(p, t);
    for (guint o = 0; o < problem->types[t].n_options; o++) {
      const LoomRotaOption *option = &problem->types[t].options[o];
      Choice c = {{t, p->who[m], o, p->row[m], p->row[m] + option->minutes}, option->current_A};
      g_array_append_val(all, c);
    }
  }
  g_array_sort(all, gentle ? gentler : sooner);
  return all;
}

/* Puts the choice into the planner's state. */
static void
take(Planner *p, const LoomRotaPlanned *charge, guint placed)
{
  guint m = p->search.first[charge->type], last = p->search.first[charge->type + 1];
  for (; m + 1 < last && p->row[m + 1] < charge->end_min; m++)
    p->who[m] = p->who[m + 1];
  p->who[m] = charge->charger;
  place(&p->search, p->row, placed, charge->type, charge->end_min - charge->start_min);
}

/* The first choice after which every due can still be met. */
static const LoomRotaPlanned *
first_possible(Planner *p, const GArray *all, guint placed, bool *exact)
{
  guint width = p->search.n_chargers + 1;
  g_autofree guint *row = g_new(guint, width);
  for (guint i = 0; i < all->len; i++) {
    const LoomRotaPlanned *c = &g_array_index(all, Choice, i).charge;
    memcpy(row, p->row, width * sizeof *row);
    if (place(&p->search, row, placed, c->type, c->end_min - c->start_min) &&
        can_finish(&p->search, row, placed + 1, exact))
      return c;
  }
  return NULL;
}

GArray *
loom_rota_plan(const LoomRotaProblem *problem, bool gentle, bool *exact)
{
  Planner p = {0};
  search_init(&p.search, problem);
  p.row = g_new0(guint, p.search.n_chargers + 1);
  p.who = g_new0(guint, p.search.n_chargers + 1);
  for (guint t = 0, m = 1; t < problem->n_types; t++)
    for (guint i = 0; i < problem->types[t].n_chargers; i++)
      p.who[m++] = problem->types[t].chargers[i];
  settle(&p.search, p.row, 0);
  GArray *planned = g_array_new(FALSE, FALSE, sizeof(LoomRotaPlanned));
  for (guint i = 0; i < p.search.n_jobs; i++) {
    g_autoptr(GArray) all = choices(&p, gentle);
    const LoomRotaPlanned *chosen = first_possible(&p, all, i, exact);
    if (!chosen)
      break; /* only where the search was cut short */
    g_array_append_val(planned, *chosen);
    take(&p, chosen, i);
  }
  g_free(p.search.first);
  g_free(p.row);
  g_free(p.who);
  return planned;
}
