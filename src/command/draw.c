#include "command.h"
#include "electric/solve.h"
#include "rules/rules.h"
#include "sheet/export.h"
#include "sheet/readings.h"

#include <glib/gi18n-lib.h>
#include <math.h>

/* The state of --state, otherwise the scene's first; NULL where it has none: as placed. */
static const LoomState *
state_of(const Call *call, const LoomScene *scene)
{
  for (guint i = 0; i < scene->n_states; i++)
    if (!call->state || g_str_equal(scene->states[i].name, call->state))
      return &scene->states[i];
  return NULL;
}

static LoomReadings *
readings_of(const Call *call, const LoomDesign *design, guint scene)
{
  g_autoptr(LoomWiring) wiring = loom_wiring_new(design, scene);
  g_autoptr(LoomNetwork) network = loom_network_new(wiring);
  const LoomState *state = state_of(call, loom_design_scene(wiring->design, scene));
  g_autoptr(LoomSolver) solver = loom_solver_new(network, state);
  LoomConditions now = loom_conditions(network);
  now.charge = isnan(call->charge_pct) ? 1 : call->charge_pct / 100;
  g_autoptr(LoomOperatingPoint) point = loom_solver_run(solver, &now);
  g_autoptr(LoomMargins) margins = loom_margins_new(network, point);
  return loom_readings_new(network, point, margins, state ? state->name : NULL, now.charge);
}

int
command_draw(const Call *call)
{
  GError *error = NULL;
  if (!call->output)
    return command_wrong(_("draw needs -o FILE, ending in .svg, .pdf or .png."));
  g_autoptr(LoomDesign) design = command_open(call, 0, &error);
  guint scene = design ? command_scene(call, design, &error) : LOOM_NONE;
  if (error || !command_state_exists(call, design, scene, &error))
    return command_fail(error);
  if (!call->readings && call->given & (OPTION_STATE | OPTION_CHARGE))
    return command_wrong(_("--state and --charge of a diagram go with --readings."));
  g_autoptr(LoomSheet) sheet = loom_sheet_new(design, scene, NULL);
  g_autoptr(LoomFindings) findings = loom_check(design);
  LoomDrawOptions options;
  loom_draw_options_init(&options);
  options.palette = LOOM_PALETTE_PRINT;
  options.title_block = options.legend = true;
  options.findings = findings;
  g_autoptr(LoomReadings) readings = call->readings ? readings_of(call, design, scene) : NULL;
  if (readings) {
    options.readings = readings->readings;
    options.n_readings = readings->n_readings;
    options.readings_caption = readings->caption;
    const LoomState *state = state_of(call, loom_design_scene(design, scene));
    options.state = state ? state->name : NULL;
  }
  g_autoptr(GArray) parts = loom_design_list_scene_parts(design, scene);
  if (parts->len < loom_design_n_parts(design)) {
    options.only_parts = (const guint *)parts->data;
    options.n_only = parts->len;
  }
  if (!loom_export_diagram(sheet, &options, call->output, &error))
    return command_fail(error);
  if (readings && !readings->solved) {
    fprintf(stderr, "loom: %s\n", readings->caption);
    return 2;
  }
  return 0;
}
