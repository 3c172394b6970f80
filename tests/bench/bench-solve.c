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

enum { RUNS = 15 };

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

static double
now_s(void)
{
  return g_get_monotonic_time() * 1e-6;
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
 * and solutions as Newton took; `once` is one factoring and one solution. */
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

/* By turns, so that what else the machine does falls on all alike. */
static void
time_state(const LoomNetwork *network, const LoomState *state, Times *times)
{
  g_autofree LoomUse *uses = loom_uses_new(network, state);
  LoomTopology *t = loom_topology_new(network, uses, NULL);
  klu_common common;
  klu_defaults(&common);
  klu_symbolic *symbolic = klu_analyze((int)t->eq->n_unknowns, t->eq->first, t->eq->rows, &common);
  g_autofree double *x = g_new0(double, t->eq->n_unknowns);
  times->unknowns = t->eq->n_unknowns;
  for (guint run = 0; run < RUNS; run++) {
    time_solving(t, times);
    time_klu(t, symbolic, &common, x, times);
    time_runs(network, state, times);
  }
  klu_free_symbolic(&symbolic, &common);
  loom_topology_free(t);
}

static Times
measure(guint n_units)
{
  g_autoptr(LoomDesign) design = robots(n_units);
  Times t = {.wiring_s = 1e9,
             .limits_s = 1e9,
             .network_s = 1e9,
             .first_s = 1e9,
             .solve_s = 1e9,
             .slider_s = 1e9,
             .klu_s = 1e9,
             .klu_once_s = 1e9};
  for (guint run = 0; run < 3; run++) {
    double start = now_s();
    g_autoptr(LoomWiring) wiring = loom_wiring_new(design, 0);
    t.wiring_s = fmin(t.wiring_s, now_s() - start);
    start = now_s();
    g_autoptr(LoomLimits) limits = loom_limits_new(wiring);
    t.limits_s = fmin(t.limits_s, now_s() - start);
    start = now_s();
    g_autoptr(LoomNetwork) network = loom_network_new(wiring);
    t.network_s = fmin(t.network_s, now_s() - start);
    t.contacts = n_contacts(wiring);
    if (run == 0)
      time_state(network, &loom_design_scene(wiring->design, 0)->states[0], &t);
  }
  return t;
}

int
main(void)
{
  g_autoptr(GError) error = NULL;
  catalogue = loom_catalogue_built_in(&error);
  if (!catalogue)
    g_error("%s", error->message);
  const guint units[] = {2, 6, 17, 42, 84, 168};
  Times all[G_N_ELEMENTS(units)];
  printf(
      "| contacts | unknowns | wiring ms | limits ms | network ms | first answer ms | solve ms | "
      "slider ms | KLU same steps ms | solve / KLU |\n|");
  for (guint i = 0; i < 10; i++)
    printf(" ---: |");
  for (guint i = 0; i < G_N_ELEMENTS(units); i++) {
    Times t = all[i] = measure(units[i]);
    printf("\n| %u | %u | %.2f | %.2f | %.2f | %.2f | %.2f (%u) | %.2f | %.2f (once %.2f) | %.2f |",
           t.contacts, t.unknowns, 1e3 * t.wiring_s, 1e3 * t.limits_s, 1e3 * t.network_s,
           1e3 * t.first_s, 1e3 * t.solve_s, t.iterations, 1e3 * t.slider_s, 1e3 * t.klu_s,
           1e3 * t.klu_once_s, t.solve_s / t.klu_s);
  }
  const Times *small = &all[0], *large = &all[G_N_ELEMENTS(units) - 1], *ten = &all[4];
  double growth =
      log(large->first_s / small->first_s) / log((double)large->contacts / (double)small->contacts);
  printf("\n\nat %u contacts solving takes %.2f times KLU by itself (aim 1.5)\n", ten->contacts,
         ten->solve_s / ten->klu_s);
  printf("time to the first answer grows with contacts^%.2f from %u to %u (aim 1.15)\n", growth,
         small->contacts, large->contacts);
  loom_catalogue_unref(catalogue);
  return growth <= 1.3 && ten->solve_s <= 3 * ten->klu_s ? 0 : 1;
}
