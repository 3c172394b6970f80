#include "electric/solve.h"
#include "command.h"
#include "electric/margins.h"
#include "planning/csv.h"

#include <glib/gi18n-lib.h>
#include <math.h>
#include <stdio.h>

/* What a row needs; the same rows go to people and to CSV. */
typedef struct {
  const LoomWiring *wiring;
  const LoomOperatingPoint *point;
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
  table_cellf(table, isnan(volt) ? _("floating") : "%.3f V", volt);
  table_cellf(table, "%.3f A", amp);
}

/* --- margins --- */

static void
put_margins_csv(LoomCsv *csv, const char *state, const LoomMargins *margins,
                const LoomNetwork *network)
{
  for (guint i = 0; i < margins->n_margins; i++) {
    const LoomMargin *margin = &margins->margins[i];
    g_autofree char *where = loom_margin_where(margin, network);
    g_autofree char *what = loom_margin_what(margin, network);
    loom_csv_text(csv, state);
    loom_csv_text(csv, where);
    loom_csv_text(csv, what);
    loom_csv_number(csv, margin->load);
    loom_csv_number(csv, margin->limit);
    loom_csv_text(csv, margin->unit);
    loom_csv_rounded(csv, margin->margin_pct, 3);
    loom_csv_end_row(csv);
  }
}

static void
put_margins_cells(Table *table, const char *state, const LoomMargins *margins,
                  const LoomNetwork *network)
{
  for (guint i = 0; i < margins->n_margins; i++) {
    const LoomMargin *margin = &margins->margins[i];
    g_autofree char *where = loom_margin_where(margin, network);
    table_cell(table, state);
    table_cell(table, where);
    g_autofree char *what = loom_margin_words(margin, network);
    table_cell(table, what);
    table_cellf(table, "%.2f %s", margin->load, margin->unit);
    table_cellf(table, "%.2f %s", margin->limit, margin->unit);
    table_cellf(table, "%.0f %%", margin->margin_pct);
  }
}

/* --- one state after the other --- */

/* Where the rows go: exactly one of the two is set. */
typedef struct {
  LoomCsv *csv;
  Table *table;
  bool margins;
} Output;

static void
put_state(const Output *out, const Solved *solved, const LoomNetwork *network)
{
  if (!out->margins) {
    each_contact(solved, out->csv ? put_csv : put_cells,
                 out->csv ? (gpointer)out->csv : out->table);
    return;
  }
  g_autoptr(LoomMargins) margins = loom_margins_new(network, solved->point);
  if (out->csv)
    put_margins_csv(out->csv, solved->state, margins, network);
  else
    put_margins_cells(out->table, solved->state, margins, network);
}

/* false, with a sentence on standard error, where there is no operating point. */
static bool
solve_state(const LoomNetwork *network, const LoomState *state, double charge, const Output *out)
{
  g_autoptr(LoomSolver) solver = loom_solver_new(network, state);
  LoomConditions now = loom_conditions(network);
  now.charge = charge;
  g_autoptr(LoomOperatingPoint) point = loom_solver_run(solver, &now);
  const char *name = state ? state->name : _("as placed");
  if (point->trouble) {
    g_autofree char *why = loom_point_why(point, network);
    fprintf(stderr, _("loom: State %s has no operating point: %s\n"), name, why);
    return false;
  }
  const Solved solved = {network->wiring, point, name};
  put_state(out, &solved, network);
  return true;
}

/* The state of --state, or every one of the scene; a scene without states is solved as placed. */
static bool
solve_states(const Call *call, const LoomNetwork *network, const Output *out)
{
  const LoomScene *scene = loom_design_scene(network->wiring->design, network->wiring->scene);
  double charge = isnan(call->charge_pct) ? 1 : call->charge_pct / 100;
  bool all_there = true;
  for (guint i = 0; i < scene->n_states; i++)
    if (!call->state || g_str_equal(scene->states[i].name, call->state))
      all_there &= solve_state(network, &scene->states[i], charge, out);
  if (scene->n_states == 0)
    all_there &= solve_state(network, NULL, charge, out);
  return all_there;
}

static bool
print_csv(const Call *call, const LoomNetwork *network)
{
  g_autoptr(LoomCsv) csv = loom_csv_new();
  const Output out = {csv, NULL, call->margins};
  if (call->margins)
    loom_csv_row(csv, "state", "where", "what", "load", "limit", "unit", "margin_pct", NULL);
  else
    loom_csv_row(csv, "state", "part", "end", "contact", "potential_V", "current_A", NULL);
  bool all_there = solve_states(call, network, &out);
  fputs(loom_csv_bytes(csv), stdout);
  return all_there;
}

static bool
print_table(const Call *call, const LoomNetwork *network)
{
  static const char *const points[] = {N_("state"), N_("contact"), N_("volts"),
                                       N_("amps into the part")};
  static const char *const margins[] = {N_("state"), N_("where"), N_("what"),
                                        N_("load"),  N_("limit"), N_("margin")};
  Table *table = call->margins ? table_new(margins, G_N_ELEMENTS(margins))
                               : table_new(points, G_N_ELEMENTS(points));
  for (guint i = call->margins ? 3 : 2; i < (call->margins ? 6 : 4); i++)
    table_flush_right(table, i);
  const Output out = {NULL, table, call->margins};
  bool all_there = solve_states(call, network, &out);
  table_print(table);
  return all_there;
}

int
command_solve(const Call *call)
{
  GError *error = NULL;
  g_autoptr(LoomDesign) design = command_open(call, 0, &error);
  guint scene = design ? command_scene(call, design, &error) : LOOM_NONE;
  if (error || !command_state_exists(call, design, scene, &error))
    return command_fail(error);
  g_autoptr(LoomWiring) wiring = loom_wiring_new(design, scene);
  g_autoptr(LoomNetwork) network = loom_network_new(wiring);
  bool all_there = call->csv ? print_csv(call, network) : print_table(call, network);
  return all_there ? 0 : 2;
}
