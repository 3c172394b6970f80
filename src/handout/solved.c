#include "solved.h"

#include "electric/outing.h"
#include "rules/rules.h"

#include <math.h>

double
loom_solved_share_used(const LoomWiring *wiring)
{
  const LoomScene *scene = loom_design_scene(wiring->design, wiring->scene);
  double most = 0;
  for (guint i = 0; i < scene->n_outings; i++) {
    g_autoptr(LoomTrace) trace = loom_outing_run(wiring, &scene->outings[i], NULL);
    most = fmax(most, trace->end == LOOM_OUTING_DONE ? trace->used_pct / 100 : 1);
  }
  return most > 0 ? fmin(most, 1) : 1;
}

LoomFindings *
loom_solved_findings(const LoomDesign *design)
{
  return loom_check(design);
}
