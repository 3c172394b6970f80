#include "electric/outing.h"
#include "command.h"
#include "planning/csv.h"

#include <glib/gi18n-lib.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

static const char *
lowest_part(const LoomDesign *design, const LoomSample *sample)
{
  return sample->lowest_part == LOOM_NONE
             ? NULL
             : loom_design_part(design, sample->lowest_part)->designation;
}

static void
print_csv(const LoomDesign *design, const LoomScene *scene, const LoomTrace *trace)
{
  g_autoptr(LoomCsv) csv = loom_csv_new();
  loom_csv_row(csv, "time_s", "state", "pack_V", "pack_A", "charge_pct", "lowest_part", "lowest_V",
               NULL);
  for (guint i = 0; i < trace->n_samples; i++) {
    const LoomSample *sample = &trace->samples[i];
    loom_csv_number(csv, sample->time_s);
    loom_csv_text(csv, scene->states[sample->state].name);
    loom_csv_number(csv, sample->pack_V);
    loom_csv_number(csv, sample->pack_A);
    loom_csv_number(csv, sample->charge_pct);
    loom_csv_text(csv, lowest_part(design, sample));
    loom_csv_number(csv, sample->lowest_part == LOOM_NONE ? NAN : sample->lowest_V);
    loom_csv_end_row(csv);
  }
  fputs(loom_csv_bytes(csv), stdout);
}

static void
print_brown_out(const LoomDesign *design, const LoomTrace *trace)
{
  if (trace->brown_part == LOOM_NONE) {
    printf(_("No part fell below its lowest voltage.\n"));
    return;
  }
  printf(_("After %.1f s %s %s.\n"), trace->brown_s,
         loom_design_part(design, trace->brown_part)->designation,
         trace->brown_slept ? _("went to sleep for want of voltage")
                            : _("was below its lowest voltage"));
}

static void
print_summary(const LoomDesign *design, const LoomOuting *outing, const LoomTrace *trace)
{
  printf(_("%s: %.0f s, %.3f Ah used, %.1f %% of a pack.\n"), outing->name, trace->seconds,
         trace->used_Ah, trace->used_pct);
  printf(_("Lowest pack voltage %.2f V, after %.1f s.\n"), trace->lowest_V, trace->lowest_V_s);
  print_brown_out(design, trace);
  if (trace->hottest_part != LOOM_NONE)
    printf(_("Hottest wire: %s, %.0f °C.\n"),
           loom_design_part(design, trace->hottest_part)->designation, trace->hottest_C);
  if (isfinite(trace->per_charge))
    printf(_("A full pack is good for %.1f outings like this.\n"),
           floor(trace->per_charge * 10) / 10);
  if (trace->why)
    printf(_("It ended early: %s\n"), trace->why);
}

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
  if (call->csv)
    print_csv(design, record, trace);
  else
    print_summary(design, outing, trace);
  return trace->end == LOOM_OUTING_TROUBLE ? 2 : 0;
}
