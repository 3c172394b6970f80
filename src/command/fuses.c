/* Fuse and wire, and what a short would draw: what the wiring is like, whatever state it is in. */
#include "command.h"
#include "electric/protection.h"
#include "planning/csv.h"

#include <glib/gi18n-lib.h>
#include <math.h>
#include <stdio.h>

#define ADIABATIC_S 5.0 /* the formula holds no longer than this (IEC 60364-4-43) */

/* An empty field says that there is no such value, or no bound. */
static void
put_number(LoomCsv *csv, double number)
{
  loom_csv_number(csv, isfinite(number) ? number : NAN);
}

static void
put_text(Table *table, const char *unit, double number)
{
  if (isfinite(number))
    table_cellf(table, "%.3g %s", number, unit);
  else
    table_cell(table, "");
}

static const LoomPart *
part_of(const LoomNetwork *network, guint part)
{
  return part == LOOM_NONE ? NULL : loom_wiring_part(network->wiring, part);
}

/* --- loom fuses --- */

static void
fuse_csv(LoomCsv *csv, const LoomNetwork *network, const LoomProtection *wire)
{
  const LoomPart *part = part_of(network, wire->part), *fuse = part_of(network, wire->fuse_part);
  loom_csv_text(csv, part->designation);
  put_number(csv, part->kind->elements[wire->element].mm2);
  loom_csv_text(csv, fuse ? fuse->designation : NULL);
  put_number(csv, wire->fuse_A);
  put_number(csv, wire->load_A);
  put_number(csv, wire->carries_A);
  put_number(csv, wire->short_A);
  put_number(csv, wire->opens_s);
  put_number(csv, wire->lives_s);
  loom_csv_text(csv, !fuse ? NULL : wire->fits ? "yes" : "no");
  loom_csv_text(csv, !fuse ? NULL : wire->outlives ? "yes" : "no");
  put_number(csv, wire->wanted_fuse_A);
  put_number(csv, wire->wanted_mm2);
  loom_csv_end_row(csv);
}

static const char *
verdict(const LoomProtection *wire)
{
  if (isfinite(wire->held_A))
    return wire->held_A <= wire->carries_A ? _("electronics hold it")
                                           : _("port gives more than it carries");
  if (wire->fuse_part == LOOM_NONE)
    return _("no fuse");
  if (!wire->outlives)
    return _("may burn before the fuse opens");
  return wire->fits ? _("suits") : _("fuse too large for the wire");
}

static void
fuse_cells(Table *table, const LoomNetwork *network, const LoomProtection *wire)
{
  const LoomPart *part = part_of(network, wire->part), *fuse = part_of(network, wire->fuse_part);
  table_cell(table, part->designation);
  put_text(table, "mm²", part->kind->elements[wire->element].mm2);
  if (fuse)
    table_cellf(table, "%s, %.3g A", fuse->designation, wire->fuse_A);
  else
    table_cell(table, "");
  put_text(table, "A", wire->load_A);
  put_text(table, "A", wire->carries_A);
  put_text(table, "A", wire->short_A);
  put_text(table, "s", wire->opens_s);
  if (wire->lives_s > ADIABATIC_S)
    table_cell(table, _("over 5 s"));
  else
    put_text(table, "s", wire->lives_s);
  table_cell(table, verdict(wire));
}

static void
print_fuses(const Call *call, const LoomNetwork *network, const LoomLimits *limits)
{
  static const char *const columns[] = {N_("wire in"),       N_("size"),       N_("fuse"),
                                        N_("load"),          N_("carries"),    N_("short circuit"),
                                        N_("fuse opens in"), N_("wire lives"), N_("verdict")};
  guint n;
  g_autofree LoomProtection *wires = loom_protections_new(network, limits, &n);
  if (call->csv) {
    g_autoptr(LoomCsv) csv = loom_csv_new();
    loom_csv_row(csv, "part", "size_mm2", "fuse", "fuse_A", "load_A", "carries_A", "short_A",
                 "opens_s", "lives_s", "fits", "outlives", "wanted_fuse_A", "wanted_mm2", NULL);
    for (guint i = 0; i < n; i++)
      fuse_csv(csv, network, &wires[i]);
    fputs(loom_csv_bytes(csv), stdout);
    return;
  }
  Table *table = table_new(columns, G_N_ELEMENTS(columns));
  for (guint i = 3; i < 8; i++)
    table_flush_right(table, i);
  for (guint i = 0; i < n; i++)
    fuse_cells(table, network, &wires[i]);
  table_print(table);
}

/* --- loom shorts --- */

static void
print_shorts(const Call *call, const LoomNetwork *network, const LoomLimits *limits)
{
  static const char *const columns[] = {N_("end"), N_("a short there draws")};
  const LoomWiring *w = network->wiring;
  g_autofree double *shorts = loom_short_currents_A(network, limits);
  g_autoptr(LoomCsv) csv = call->csv ? loom_csv_new() : NULL;
  Table *table = csv ? NULL : table_new(columns, G_N_ELEMENTS(columns));
  if (csv)
    loom_csv_row(csv, "part", "end", "short_A", NULL);
  else
    table_flush_right(table, 1);
  for (guint i = 0; i < w->n_ends; i++) {
    const LoomPart *part = loom_wiring_part(w, w->end_part[i]);
    const char *end = part->kind->ends[i - w->part_end[w->end_part[i]]].id;
    if (!isfinite(shorts[i]))
      continue;
    if (csv) {
      loom_csv_text(csv, part->designation);
      loom_csv_text(csv, end);
      loom_csv_number(csv, shorts[i]);
      loom_csv_end_row(csv);
    } else {
      table_cellf(table, "%s:%s", part->designation, end);
      table_cellf(table, "%.3g A", shorts[i]);
    }
  }
  if (csv)
    fputs(loom_csv_bytes(csv), stdout);
  else
    table_print(table);
}

/* --- both --- */

typedef void (*Print)(const Call *call, const LoomNetwork *network, const LoomLimits *limits);

static int
run(const Call *call, Print print)
{
  GError *error = NULL;
  g_autoptr(LoomDesign) design = command_open(call, 0, &error);
  guint scene = design ? command_scene(call, design, &error) : LOOM_NONE;
  if (scene == LOOM_NONE)
    return command_fail(error);
  g_autoptr(LoomWiring) wiring = loom_wiring_new(design, scene);
  g_autoptr(LoomNetwork) network = loom_network_new(wiring);
  g_autoptr(LoomLimits) limits = loom_limits_new(wiring);
  print(call, network, limits);
  return 0;
}

int
command_fuses(const Call *call)
{
  return run(call, print_fuses);
}

int
command_shorts(const Call *call)
{
  return run(call, print_shorts);
}
