#include "outing-words.h"

#include "csv.h"

#include <glib/gi18n-lib.h>
#include <math.h>

static const char *
name_of(const LoomDesign *design, guint part)
{
  return part == LOOM_NONE ? NULL : loom_design_part(design, part)->designation;
}

static void
append_brown_out(GString *text, const LoomDesign *design, const LoomTrace *trace)
{
  if (trace->brown_part == LOOM_NONE)
    g_string_append(text, _("No part fell below its lowest voltage.\n"));
  else
    g_string_append_printf(text, _("After %.1f s %s %s.\n"), trace->brown_s,
                           name_of(design, trace->brown_part),
                           trace->brown_slept ? _("went to sleep for want of voltage")
                                              : _("was below its lowest voltage"));
}

/* Beyond what PVC outlives for a moment (160 °C, IEC 60364-4-43) a figure says nothing more. */
static void
append_hottest(GString *text, const LoomDesign *design, const LoomTrace *trace)
{
  if (trace->hottest_part == LOOM_NONE)
    return;
  const char *wire = name_of(design, trace->hottest_part);
  if (trace->hottest_C <= 160)
    g_string_append_printf(text, _("Hottest wire: %s, %.0f °C.\n"), wire, trace->hottest_C);
  else
    g_string_append_printf(text, _("Hottest wire: %s, above 160 °C: its insulation burns.\n"),
                           wire);
}

char *
loom_outing_summary(const LoomDesign *design, const LoomOuting *outing, const LoomTrace *trace)
{
  GString *text = g_string_new(NULL);
  g_string_append_printf(text, _("%s: %.0f s, %.3f Ah used, %.1f %% of a pack.\n"), outing->name,
                         trace->seconds, trace->used_Ah, trace->used_pct);
  if (isfinite(trace->lowest_V))
    g_string_append_printf(text, _("Lowest pack voltage %.2f V, after %.1f s.\n"), trace->lowest_V,
                           trace->lowest_V_s);
  append_brown_out(text, design, trace);
  append_hottest(text, design, trace);
  if (isfinite(trace->per_charge))
    g_string_append_printf(text, _("A full pack is good for %.1f outings like this.\n"),
                           floor(trace->per_charge * 10) / 10);
  if (trace->why)
    g_string_append_printf(text, _("It ended early: %s\n"), trace->why);
  return g_string_free(text, FALSE);
}

char *
loom_outing_csv(const LoomDesign *design, const LoomScene *scene, const LoomTrace *trace)
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
    loom_csv_text(csv, name_of(design, sample->lowest_part));
    loom_csv_number(csv, sample->lowest_part == LOOM_NONE ? NAN : sample->lowest_V);
    loom_csv_end_row(csv);
  }
  return g_strdup(loom_csv_bytes(csv));
}
