#include "command.h"

#include "planning/compare.h"

#include <glib/gi18n-lib.h>
#include <stdio.h>

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
  if (call->csv) {
    g_autofree char *csv = loom_compare_to_csv(compare);
    fputs(csv, stdout);
  } else {
    for (guint i = 0; i < compare->n_differences; i++)
      printf("%s\n", compare->differences[i].sentence);
    if (compare->n_differences == 0)
      puts(_("Nothing differs."));
  }
  return compare->n_differences > 0;
}
