/* Fuse and wire, and what a short would draw: what the wiring is like, whatever state it is in. */
#include "command.h"
#include "electric/protection.h"
#include "planning/csv.h"

#include <glib/gi18n-lib.h>
#include <math.h>
#include <stdio.h>

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

/* --- what electronics hold a short to --- */

static bool
is_electronic(const LoomBound *bound)
{
  LoomCauseType type = bound->guard.type;
  return type == LOOM_CAUSE_END || type == LOOM_CAUSE_GROUP || type == LOOM_CAUSE_OUTPUT;
}

static double
held_at_wire_A(const LoomLimits *limits, const LoomProtection *wire)
{
  const LoomBound *bound = loom_limits_element(limits, wire->part, wire->element);
  return is_electronic(bound) ? bound->guard_A : INFINITY;
}

static bool
is_output(const LoomElement *element)
{
  return element->type == LOOM_ELEMENT_SOURCE || element->type == LOOM_ELEMENT_DRIVER ||
         element->type == LOOM_ELEMENT_CONVERTER;
}

/* Behind a pigtail lie nodes of the part's own: there every output counts. */
static bool
touches(const LoomElement *element, const LoomEnd *end)
{
  const guint nodes[] = {element->a, element->b, element->c, element->d};
  for (guint k = 0; k < G_N_ELEMENTS(nodes); k++)
    if (nodes[k] >= end->first_node && nodes[k] < end->first_node + end->n_contacts)
      return true;
  return end->pigtail_mm > 0;
}

/* Of an end that nothing is plugged into: its own limit, what feeds it inside the part, and those
 * of its groups that act. */
static double
held_at_free_end_A(const LoomKind *kind, guint end)
{
  double held = isnan(kind->ends[end].limit_A) ? INFINITY : kind->ends[end].limit_A;
  for (guint i = 0; i < kind->n_elements; i++)
    if (is_output(&kind->elements[i]) && touches(&kind->elements[i], &kind->ends[end]))
      held = fmin(held, kind->elements[i].limit_A); /* fmin passes over NAN */
  for (guint i = 0; i < kind->n_limits; i++)
    for (guint k = 0; kind->limits[i].acts && k < kind->limits[i].n_ends; k++)
      if (kind->limits[i].ends[k] == end)
        held = fmin(held, kind->limits[i].limit_A);
  return held;
}

static double
held_at_end_A(const LoomLimits *limits, const LoomWiring *w, guint part, guint end)
{
  const LoomBound *bound = loom_limits_end(limits, w, part, end);
  if (!bound)
    return held_at_free_end_A(loom_wiring_part(w, part)->kind, end);
  return is_electronic(bound) ? bound->guard_A : INFINITY;
}

/* --- loom fuses --- */

static void
fuse_csv(LoomCsv *csv, const LoomNetwork *network, const LoomProtection *wire, double held_A)
{
  const LoomPart *part = part_of(network, wire->part), *fuse = part_of(network, wire->fuse_part);
  loom_csv_text(csv, part->designation);
  put_number(csv, part->kind->elements[wire->element].mm2);
  loom_csv_text(csv, fuse ? fuse->designation : NULL);
  put_number(csv, wire->fuse_A);
  put_number(csv, wire->load_A);
  put_number(csv, wire->carries_A);
  put_number(csv, isfinite(held_A) ? held_A : wire->short_A);
  put_number(csv, wire->opens_s);
  put_number(csv, isfinite(held_A) ? NAN : wire->lives_s);
  loom_csv_text(csv, !fuse ? NULL : wire->fits ? "yes" : "no");
  loom_csv_text(csv, !fuse ? NULL : wire->outlives ? "yes" : "no");
  put_number(csv, wire->wanted_fuse_A);
  put_number(csv, wire->wanted_mm2);
  loom_csv_end_row(csv);
}

static const char *
verdict(const LoomProtection *wire, double held_A)
{
  if (isfinite(held_A))
    return held_A <= wire->carries_A ? _("electronics hold it")
                                     : _("port gives more than it carries");
  if (wire->fuse_part == LOOM_NONE)
    return _("no fuse");
  if (!wire->outlives)
    return _("may burn before the fuse opens");
  return wire->fits ? _("suits") : _("fuse too large for the wire");
}

static void
fuse_cells(Table *table, const LoomNetwork *network, const LoomProtection *wire, double held_A)
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
  put_text(table, "A", isfinite(held_A) ? held_A : wire->short_A);
  put_text(table, "s", wire->opens_s);
  put_text(table, "s", isfinite(held_A) ? NAN : wire->lives_s);
  table_cell(table, verdict(wire, held_A));
}

static void
print_fuses(const Call *call, const LoomNetwork *network, const LoomLimits *limits,
            const LoomProtection *wires, guint n)
{
  static const char *const columns[] = {N_("wire in"),       N_("size"),       N_("fuse"),
                                        N_("load"),          N_("carries"),    N_("short"),
                                        N_("fuse opens in"), N_("wire lives"), N_("verdict")};
  if (call->csv) {
    g_autoptr(LoomCsv) csv = loom_csv_new();
    loom_csv_row(csv, "part", "size_mm2", "fuse", "fuse_A", "load_A", "carries_A", "short_A",
                 "opens_s", "lives_s", "fits", "outlives", "wanted_fuse_A", "wanted_mm2", NULL);
    for (guint i = 0; i < n; i++)
      fuse_csv(csv, network, &wires[i], held_at_wire_A(limits, &wires[i]));
    fputs(loom_csv_bytes(csv), stdout);
    return;
  }
  Table *table = table_new(columns, G_N_ELEMENTS(columns));
  for (guint i = 3; i < 8; i++)
    table_flush_right(table, i);
  for (guint i = 0; i < n; i++)
    fuse_cells(table, network, &wires[i], held_at_wire_A(limits, &wires[i]));
  table_print(table);
}

/* --- loom shorts --- */

static void
print_shorts(const Call *call, const LoomWiring *w, const LoomLimits *limits, const double *shorts)
{
  static const char *const columns[] = {N_("end"), N_("a short there draws")};
  g_autoptr(LoomCsv) csv = call->csv ? loom_csv_new() : NULL;
  Table *table = csv ? NULL : table_new(columns, G_N_ELEMENTS(columns));
  if (csv)
    loom_csv_row(csv, "part", "end", "short_A", NULL);
  else
    table_flush_right(table, 1);
  for (guint i = 0; i < w->n_ends; i++) {
    const LoomPart *part = loom_wiring_part(w, w->end_part[i]);
    guint number = i - w->part_end[w->end_part[i]];
    const char *end = part->kind->ends[number].id;
    double amps = fmin(shorts[i], held_at_end_A(limits, w, w->end_part[i], number));
    if (isnan(shorts[i]) || !isfinite(amps))
      continue;
    if (csv) {
      loom_csv_text(csv, part->designation);
      loom_csv_text(csv, end);
      loom_csv_number(csv, amps);
      loom_csv_end_row(csv);
    } else {
      table_cellf(table, "%s:%s", part->designation, end);
      table_cellf(table, "%.3g A", amps);
    }
  }
  if (csv)
    fputs(loom_csv_bytes(csv), stdout);
  else
    table_print(table);
}

/* --- both --- */

/* Wiring of the scene that was asked for. New, or NULL with `error`. */
static LoomWiring *
wiring_of(const Call *call, GError **error)
{
  g_autoptr(LoomDesign) design = command_open(call, 0, error);
  guint scene = design ? command_scene(call, design, error) : LOOM_NONE;
  return scene == LOOM_NONE ? NULL : loom_wiring_new(design, scene);
}

int
command_fuses(const Call *call)
{
  GError *error = NULL;
  g_autoptr(LoomWiring) wiring = wiring_of(call, &error);
  if (!wiring)
    return command_fail(error);
  g_autoptr(LoomNetwork) network = loom_network_new(wiring);
  g_autoptr(LoomLimits) limits = loom_limits_new(wiring);
  guint n;
  g_autofree LoomProtection *wires = loom_protections_new(network, limits, &n);
  print_fuses(call, network, limits, wires, n);
  return 0;
}

int
command_shorts(const Call *call)
{
  GError *error = NULL;
  g_autoptr(LoomWiring) wiring = wiring_of(call, &error);
  if (!wiring)
    return command_fail(error);
  g_autoptr(LoomNetwork) network = loom_network_new(wiring);
  g_autoptr(LoomLimits) limits = loom_limits_new(wiring);
  g_autofree double *shorts = loom_short_currents_A(network);
  print_shorts(call, wiring, limits, shorts);
  return 0;
}
