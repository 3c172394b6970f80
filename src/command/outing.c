#include "electric/outing.h"
#include "command.h"
#include "planning/outing-words.h"

#include <glib/gi18n-lib.h>
#include <math.h>
#include <stdio.h>

static const LoomOuting *
find_outing(const Call *call, const LoomScene *scene, GError **error)
{
  for (guint i = 0; i < scene->n_outings; i++)
    if (!call->outing || g_str_equal(scene->outings[i].name, call->outing))
      return &scene->outings[i];
  g_set_error(error, LOOM_ERROR, LOOM_ERROR_REFERENCE,
              _("Scene %s has no outing%s%s; \"loom add FILE outing:%s/NAME\" makes one."),
              scene->name, call->outing ? " " : "", call->outing ? call->outing : "", scene->name);
  return NULL;
}

int
command_outing(const Call *call)
{
  GError *error = NULL;
  g_autoptr(LoomDesign) design = command_open(call, 0, &error);
  guint scene = design ? command_scene(call, design, &error) : LOOM_NONE;
  if (error)
    return command_fail(error);
  const LoomScene *record = loom_design_scene(design, scene);
  const LoomOuting *outing = find_outing(call, record, &error);
  if (!outing)
    return command_fail(error);
  LoomOutingTerms terms = loom_outing_terms();
  if (!isnan(call->charge_pct))
    terms.charge = call->charge_pct / 100;
  g_autoptr(LoomWiring) wiring = loom_wiring_new(design, scene);
  g_autoptr(LoomTrace) trace = loom_outing_run(wiring, outing, &terms);
  g_autofree char *text = call->csv ? loom_outing_csv(design, record, trace)
                                    : loom_outing_summary(design, outing, trace);
  fputs(text, stdout);
  return trace->end == LOOM_OUTING_TROUBLE ? 2 : 0;
}
