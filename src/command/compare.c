#include "command.h"

#include "sheet/changes.h"
#include "sheet/export.h"

#include <glib/gi18n-lib.h>
#include <stdio.h>

static void
print_differences(const Call *call, const LoomCompare *compare)
{
  if (call->csv) {
    g_autofree char *csv = loom_compare_to_csv(compare);
    fputs(csv, stdout);
    return;
  }
  for (guint i = 0; i < compare->n_differences; i++)
    printf("%s\n", compare->differences[i].sentence);
  if (compare->n_differences == 0)
    puts(_("Nothing differs."));
}

/* Both revisions on one drawing. */
static bool
draw(const Call *call, const LoomMerged *merged, GError **error)
{
  guint scene = command_scene(call, merged->design, error);
  if (scene == LOOM_NONE)
    return false;
  g_autoptr(LoomSheet) sheet = loom_changes_sheet_new(merged, scene);
  g_autoptr(GArray) parts = loom_design_list_scene_parts(merged->design, scene);
  LoomDrawOptions options;
  loom_draw_options_init(&options);
  options.palette = LOOM_PALETTE_PRINT;
  options.title_block = options.legend = true;
  options.merged = merged;
  if (parts->len < merged->n_parts) {
    options.only_parts = (const guint *)parts->data;
    options.n_only = parts->len;
  }
  return loom_export_diagram(sheet, &options, call->output, error);
}

/* Findings of both revisions and currents of all their states are compared too. */
int
command_compare(const Call *call)
{
  GError *error = NULL;
  g_autoptr(LoomDesign) old = command_open(call, 0, &error);
  g_autoptr(LoomDesign) now = old ? command_open(call, 1, &error) : NULL;
  if (!now)
    return command_fail(error);
  g_autoptr(LoomCompare) compare = loom_compare_new(old, now, LOOM_COMPARE_ALL);
  if (call->output) {
    g_autoptr(LoomMerged) merged = loom_compare_merged(compare, old, now);
    if (!draw(call, merged, &error))
      return command_fail(error);
  }
  print_differences(call, compare);
  return compare->n_differences > 0;
}
