#include "planning/meter.h"
#include "command.h"

#include <glib/gi18n-lib.h>
#include <stdio.h>

static void
print_readings(const LoomMeterPlan *plan)
{
  for (guint i = 0; i < plan->n_readings; i++) {
    const LoomReading *r = &plan->readings[i];
    if (i == 0 || r->when != plan->readings[i - 1].when)
      printf("%s%s:\n", i ? "\n" : "", _(loom_meter_when_label(r->when)));
    printf("%4u  %s\n", i + 1, r->sentence);
  }
}

static void
print_unseen(const LoomMeterPlan *plan)
{
  if (plan->n_unseen == 0)
    return;
  printf(_("\nThe meter cannot see:\n"));
  for (guint i = 0; i < plan->n_slips; i++)
    if (plan->slips[i].seen_by == LOOM_NONE)
      printf("  %s %s\n", plan->slips[i].what, plan->slips[i].shows);
}

int
command_meter(const Call *call)
{
  GError *error = NULL;
  g_autoptr(LoomDesign) design = command_open(call, 0, &error);
  guint scene = design ? command_scene(call, design, &error) : 0;
  if (error)
    return command_fail(error);
  g_autoptr(LoomMeterPlan) plan = loom_meter_new(design, scene, NULL);
  if (call->csv) {
    g_autofree char *csv = loom_meter_to_csv(plan);
    fputs(csv, stdout);
    return 0;
  }
  print_readings(plan);
  print_unseen(plan);
  return 0;
}
