#include "command.h"
#include "rules/rules.h"
#include "sheet/export.h"

#include <glib/gi18n-lib.h>

int
command_draw(const Call *call)
{
  GError *error = NULL;
  if (!call->output)
    return command_wrong(_("draw needs -o FILE, ending in .svg, .pdf or .png."));
  g_autoptr(LoomDesign) design = command_open(call, 0, &error);
  guint scene = design ? command_scene(call, design, &error) : LOOM_NONE;
  if (error)
    return command_fail(error);
  g_autoptr(LoomSheet) sheet = loom_sheet_new(design, scene, NULL);
  g_autoptr(LoomFindings) findings = loom_check(design);
  LoomDrawOptions options;
  loom_draw_options_init(&options);
  options.palette = LOOM_PALETTE_PRINT;
  options.title_block = options.legend = true;
  options.findings = findings;
  g_autoptr(GArray) parts = loom_design_list_scene_parts(design, scene);
  if (parts->len < loom_design_n_parts(design)) {
    options.only_parts = (const guint *)parts->data;
    options.n_only = parts->len;
  }
  if (!loom_export_diagram(sheet, &options, call->output, &error))
    return command_fail(error);
  return 0;
}
