#include "electric/solve.h"
#include "command.h"
#include "planning/csv.h"

#include <math.h>
#include <stdio.h>

/* What a row needs; the same rows go to people and to CSV. */
typedef struct {
  const LoomWiring *wiring;
  const LoomPoint *point;
  const char *state;
} Solved;

typedef void (*PutRow)(gpointer out, const Solved *solved, guint node, const char *part,
                       const char *end, const char *contact);

static void
each_contact(const Solved *solved, PutRow put, gpointer out)
{
  for (guint p = 0; p < solved->wiring->n_parts; p++) {
    const LoomPart *part = loom_wiring_part(solved->wiring, p);
    for (guint e = 0; e < part->kind->n_ends; e++)
      for (guint c = 0; c < part->kind->ends[e].n_contacts; c++)
        put(out, solved, loom_wiring_node(solved->wiring, p, e, c), part->designation,
            part->kind->ends[e].id, part->kind->ends[e].contacts[c].name);
  }
}

/* Below a nano-ampere is the arithmetic's noise, not a current. */
static double
clean(double number)
{
  return fabs(number) < 1e-9 ? 0 : number;
}

static void
put_csv(gpointer out, const Solved *solved, guint node, const char *part, const char *end,
        const char *contact)
{
  LoomCsv *csv = out;
  loom_csv_text(csv, solved->state);
  loom_csv_text(csv, part);
  loom_csv_text(csv, end);
  loom_csv_text(csv, contact);
  loom_csv_number(csv, clean(solved->point->potential_V[node]));
  loom_csv_number(csv, clean(solved->point->into_A[node]));
  loom_csv_end_row(csv);
}

static void
put_cells(gpointer out, const Solved *solved, guint node, const char *part, const char *end,
          const char *contact)
{
  Table *table = out;
  double volt = clean(solved->point->potential_V[node]), amp = clean(solved->point->into_A[node]);
  if (fabs(amp) < 5e-4)
    return; /* people look for what flows */
  table_cell(table, solved->state);
  table_cellf(table, "%s:%s:%s", part, end, contact);
  table_cellf(table, isnan(volt) ? "floating" : "%.3f V", volt);
  table_cellf(table, "%.3f A", amp);
}

static const char *const columns[] = {"state", "contact", "volts", "amps into the part"};

/* Solves one state; false, with a sentence on standard error, where there is no operating point. */
static bool
solve_state(const LoomNetwork *network, const LoomState *state, double charge, PutRow put,
            gpointer out)
{
  g_autoptr(LoomSolver) solver = loom_solver_new(network, state);
  LoomConditions now = loom_conditions(network);
  now.charge = charge;
  g_autoptr(LoomPoint) point = loom_solver_run(solver, &now);
  const char *name = state ? state->name : "as placed";
  if (point->trouble) {
    g_autofree char *why = loom_point_why(point, network);
    fprintf(stderr, "loom: State %s has no operating point: %s\n", name, why);
    return false;
  }
  const Solved solved = {network->wiring, point, name};
  each_contact(&solved, put, out);
  return true;
}

/* The state of --state, or every one of the scene; a scene without states is solved as placed. */
static bool
solve_states(const Call *call, const LoomNetwork *network, PutRow put, gpointer out, GError **error,
             bool *all_there)
{
  const LoomScene *scene = loom_design_scene(network->wiring->design, network->wiring->scene);
  double charge = isnan(call->charge_pct) ? 1 : call->charge_pct / 100;
  if (call->state && loom_scene_find_state(scene, call->state) == LOOM_NONE) {
    g_set_error(error, LOOM_ERROR, LOOM_ERROR_REFERENCE, "Scene %s has no state %s.", scene->name,
                call->state);
    return false;
  }
  *all_there = true;
  for (guint i = 0; i < scene->n_states; i++)
    if (!call->state || g_str_equal(scene->states[i].name, call->state))
      *all_there &= solve_state(network, &scene->states[i], charge, put, out);
  if (scene->n_states == 0)
    *all_there &= solve_state(network, NULL, charge, put, out);
  return true;
}

static int
print_points(const Call *call, const LoomNetwork *network, GError **error, bool *all_there)
{
  if (call->csv) {
    g_autoptr(LoomCsv) csv = loom_csv_new();
    loom_csv_row(csv, "state", "part", "end", "contact", "potential_V", "current_A", NULL);
    if (!solve_states(call, network, put_csv, csv, error, all_there))
      return EXIT_WRONG_FILE;
    fputs(loom_csv_bytes(csv), stdout);
    return 0;
  }
  Table *table = table_new(columns, G_N_ELEMENTS(columns));
  table_flush_right(table, 2);
  table_flush_right(table, 3);
  bool done = solve_states(call, network, put_cells, table, error, all_there);
  table_print(table);
  return done ? 0 : EXIT_WRONG_FILE;
}

int
command_solve(const Call *call)
{
  GError *error = NULL;
  bool all_there = false;
  g_autoptr(LoomDesign) design = loom_design_open(call->words[0], &error);
  guint scene = design ? command_scene(call, design, &error) : LOOM_NONE;
  if (error)
    return command_fail(error);
  g_autoptr(LoomWiring) wiring = loom_wiring_new(design, scene);
  g_autoptr(LoomNetwork) network = loom_network_new(wiring);
  if (print_points(call, network, &error, &all_there) != 0)
    return command_fail(error);
  return all_there ? 0 : 2;
}
