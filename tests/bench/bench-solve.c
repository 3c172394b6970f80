/* What solving costs: against KLU by itself on the same matrix, and how it grows.
 *
 * Robots like trees: units of pack, fuse, switch, controller, five motors and five servos, each
 * unit's ground tied to the next one's by the expansion lead. State "driving": motors loaded at 60
 * %, servos moving. Printed as a table for docs/performance.md; times are the least of several
 * runs, since the least is what the machine can do. The last lines are the ratios that are aimed
 * at. */
#include "design/edit.h"
#include "electric/limit.h"
#include "electric/operation.h"
#include "electric/topology.h"

#include <klu.h>
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

enum { RUNS = 20, TURNS = 2 };

static LoomCatalogue *catalogue;

static void
add(LoomEdit *edit, const char *kind, const char *letter, guint number)
{
  g_autoptr(GError) error = NULL;
  g_autofree char *designation = g_strdup_printf("%s%u", letter, number);
  if (!loom_edit_add(edit, loom_catalogue_kind(catalogue, kind), designation, 0, 0, &error))
    g_error("%s", error->message);
}

/* Ends are given as "F:in" and get their number. */
static char *
numbered(const char *end, guint number)
{
  return g_strdup_printf("%c%u%s", end[0], number, end + 1);
}

static void
plug(LoomEdit *edit, const char *a, guint i, const char *b, guint k)
{
  g_autoptr(GError) error = NULL;
  g_autofree char *from = numbered(a, i), *to = numbered(b, k);
  if (!loom_edit_plug(edit, from, to, LOOM_FIT_NORMAL, NULL, &error))
    g_error("%s", error->message);
}

static void
set(LoomEdit *edit, guint motor, const char *key, const char *value)
{
  g_autoptr(GError) error = NULL;
  g_autofree char *name = g_strdup_printf("M%u.%s", motor, key);
  if (!loom_edit_set(edit, "state:driving/resting", name, value, &error))
    g_error("%s", error->message);
}

static void
add_unit(LoomEdit *edit, guint u)
{
  add(edit, "pack-nimh-12v-3ah", "G", u);
  add(edit, "fuse-lead-20", "F", u);
  add(edit, "switch-main-20", "Q", u);
  add(edit, "controller-rover", "K", u);
  plug(edit, "G:out", u, "F:in", u);
  plug(edit, "F:out", u, "Q:in", u);
  plug(edit, "Q:out", u, "K:power", u);
  g_autoptr(GError) error = NULL;
  g_autofree char *target = g_strdup_printf("Q%u", u);
  if (!loom_edit_set(edit, target, "on", "yes", &error))
    g_error("%s", error->message);
  for (guint i = 1; i <= 10; i++) {
    guint motor = 10 * u + i;
    bool servo = i > 5;
    g_autofree char *port =
        servo ? g_strdup_printf("K:servo-%u", i - 5) : g_strdup_printf("K:motor-%u", i);
    add(edit, servo ? "servo-standard" : "motor-medium", "M", motor);
    plug(edit, servo ? "M:lead" : "M:poles", motor, port, u);
    set(edit, motor, "load", servo ? "moving" : "loaded");
    if (!servo)
      set(edit, motor, "duty", i % 2 ? "0.6" : "-0.6");
  }
  if (u > 1 && u % 2 == 0) { /* one expansion plug a controller: pairs */
    add(edit, "serial-lead-300", "W", u);
    plug(edit, "W:a", u, "K:serial", u - 1);
    plug(edit, "W:b", u, "K:serial", u);
  }
}

static LoomDesign *
robots(guint n_units)
{
  LoomDesign *design = loom_design_new("bench");
  LoomEdit *edit = loom_edit_new(design, "bench");
  for (guint u = 1; u <= n_units; u++)
    add_unit(edit, u);
  loom_design_apply(design, edit);
  return design;
}

/* Of this thread alone: what other programs do in between does not count. */
static double
now_s(void)
{
  struct timespec now;
  clock_gettime(CLOCK_THREAD_CPUTIME_ID, &now);
  return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

static guint
n_contacts(const LoomWiring *w)
{
  guint n = 0;
  for (guint p = 0; p < w->n_parts; p++) {
    const LoomKind *kind = loom_wiring_part(w, p)->kind;
    for (guint e = 0; e < kind->n_ends; e++)
      n += kind->ends[e].n_contacts;
  }
  return n;
}

typedef struct {
  guint contacts, unknowns, iterations;
  double wiring_s, limits_s, network_s, first_s, solve_s, slider_s, klu_s, klu_once_s;
} Times;

/* KLU alone on the matrix of the topology: analysis apart, one factoring, and as many refactorings
 * and solutions as our solve took; `once` is one factoring and one solution. */
static void
time_klu(const LoomTopology *t, klu_symbolic *symbolic, klu_common *common, double *x, Times *times)
{
  const LoomEquations *eq = t->eq;
  double start = now_s();
  klu_numeric *numeric = klu_factor(eq->first, eq->rows, t->values, symbolic, common);
  x[0] = 1;
  klu_solve(symbolic, numeric, (int)eq->n_unknowns, 1, x, common);
  times->klu_once_s = fmin(times->klu_once_s, now_s() - start);
  for (guint i = 1; i < times->iterations; i++) {
    klu_refactor(eq->first, eq->rows, t->values, symbolic, numeric, common);
    klu_solve(symbolic, numeric, (int)eq->n_unknowns, 1, x, common);
  }
  times->klu_s = fmin(times->klu_s, now_s() - start);
  klu_free_numeric(&numeric, common);
}

/* The first answer, and one more for another state of charge. */
static void
time_runs(const LoomNetwork *network, const LoomState *state, Times *times)
{
  LoomConditions now = loom_conditions(network);
  double start = now_s();
  LoomSolver *solver = loom_solver_new(network, state);
  LoomOperatingPoint *first = loom_solver_run(solver, &now);
  times->first_s = fmin(times->first_s, now_s() - start);
  if (first->trouble != LOOM_TROUBLE_NONE)
    g_error("no operating point");
  now.charge = 0.98;
  start = now_s();
  LoomOperatingPoint *again = loom_solver_run(solver, &now);
  times->slider_s = fmin(times->slider_s, now_s() - start);
  loom_point_free(first);
  loom_point_free(again);
  loom_solver_free(solver);
}

/* From scratch on a topology that stands: no warm start. */
static void
time_solving(LoomTopology *t, Times *times)
{
  LoomConditions now = loom_conditions(t->network);
  guint branch, before = t->iterations;
  double asks_W, gives_W;
  t->answered = false;
  double start = now_s();
  loom_topology_set(t, &now);
  loom_topology_solve(t, &branch, &asks_W, &gives_W);
  times->solve_s = fmin(times->solve_s, now_s() - start);
  times->iterations = t->iterations - before + 1; /* and the start from high voltages */
}

/* One size of robot with all that stands while it is timed. */
typedef struct {
  LoomDesign *design;
  LoomWiring *wiring;
  LoomNetwork *network;
  LoomTopology *topology;
  klu_common common;
  klu_symbolic *symbolic;
  double *x;
  Times times;
} Stand;

static const LoomState *
state_of(const Stand *s)
{
  return &loom_design_scene(s->design, 0)->states[0];
}

static void
stand_open(Stand *s, guint n_units)
{
  const double none = 1e9;
  s->design = robots(n_units);
  s->wiring = loom_wiring_new(s->design, 0);
  s->network = loom_network_new(s->wiring);
  g_autofree LoomUse *uses = loom_uses_new(s->network, state_of(s));
  s->topology = loom_topology_new(s->network, uses, NULL);
  const LoomEquations *eq = s->topology->eq;
  klu_defaults(&s->common);
  s->symbolic = klu_analyze((int)eq->n_unknowns, eq->first, eq->rows, &s->common);
  s->x = g_new0(double, eq->n_unknowns);
  s->times = (Times){
      n_contacts(s->wiring), eq->n_unknowns, 0, none, none, none, none, none, none, none, none};
}

static void
stand_clear(Stand *s)
{
  g_free(s->x);
  klu_free_symbolic(&s->symbolic, &s->common);
  loom_topology_free(s->topology);
  loom_network_free(s->network);
  loom_wiring_free(s->wiring);
  loom_design_free(s->design);
}

static void
time_building(Stand *s)
{
  Times *t = &s->times;
  double start = now_s();
  g_autoptr(LoomWiring) wiring = loom_wiring_new(s->design, 0);
  t->wiring_s = fmin(t->wiring_s, now_s() - start);
  start = now_s();
  g_autoptr(LoomLimits) limits = loom_limits_new(wiring);
  t->limits_s = fmin(t->limits_s, now_s() - start);
  start = now_s();
  g_autoptr(LoomNetwork) network = loom_network_new(wiring);
  t->network_s = fmin(t->network_s, now_s() - start);
}

/* Solve and KLU by turns, so that what else the machine does falls on both alike. */
static void
time_all(Stand *s)
{
  for (guint turn = 0; turn < TURNS; turn++) {
    time_solving(s->topology, &s->times);
    time_klu(s->topology, s->symbolic, &s->common, s->x, &s->times);
  }
  time_runs(s->network, state_of(s), &s->times);
  time_building(s);
}

static void
print_row(const Times *t)
{
  printf("\n| %u | %u | %.2f | %.2f | %.2f | %.2f | %.2f (%u) | %.2f | %.2f (once %.2f) | %.2f |",
         t->contacts, t->unknowns, 1e3 * t->wiring_s, 1e3 * t->limits_s, 1e3 * t->network_s,
         1e3 * t->first_s, 1e3 * t->solve_s, t->iterations, 1e3 * t->slider_s, 1e3 * t->klu_s,
         1e3 * t->klu_once_s, t->solve_s / t->klu_s);
}

int
main(void)
{
  g_autoptr(GError) error = NULL;
  catalogue = loom_catalogue_built_in(&error);
  if (!catalogue)
    g_error("%s", error->message);
  const guint units[] = {2, 6, 17, 42, 84, 168};
  Stand stands[G_N_ELEMENTS(units)];
  for (guint i = 0; i < G_N_ELEMENTS(units); i++)
    stand_open(&stands[i], units[i]);
  for (guint run = 0; run < RUNS; run++) /* all sizes in each round, for the same reason */
    for (guint i = 0; i < G_N_ELEMENTS(units); i++)
      time_all(&stands[i]);
  printf(
      "| contacts | unknowns | wiring ms | limits ms | network ms | first answer ms | solve ms | "
      "slider ms | KLU same steps ms | solve / KLU |\n|");
  for (guint i = 0; i < 10; i++)
    printf(" ---: |");
  for (guint i = 0; i < G_N_ELEMENTS(units); i++)
    print_row(&stands[i].times);
  const Times *small = &stands[0].times, *large = &stands[G_N_ELEMENTS(units) - 1].times;
  const Times *ten = &stands[4].times;
  double growth =
      log(large->first_s / small->first_s) / log((double)large->contacts / (double)small->contacts);
  printf("\n\nat %u contacts solving takes %.2f times KLU by itself (aim 1.5)\n", ten->contacts,
         ten->solve_s / ten->klu_s);
  printf("time to the first answer grows with contacts^%.2f from %u to %u (aim 1.15)\n", growth,
         small->contacts, large->contacts);
  bool good = growth <= 1.3 && ten->solve_s <= 3 * ten->klu_s;
  for (guint i = 0; i < G_N_ELEMENTS(units); i++)
    stand_clear(&stands[i]);
  loom_catalogue_unref(catalogue);
  return good ? 0 : 1;
}
