#include "ports.h"

#include "electric/circuit.h"

#include <glib/gi18n-lib.h>
#include <string.h>

/* Devices by circuit: which part's device has a contact there. */
typedef struct {
  guint part, device;
} OnCircuit;

static void
add_devices(GHashTable *by_circuit, const LoomWiring *wiring, const LoomCircuits *circuits,
            guint part)
{
  const LoomKind *kind = loom_wiring_part(wiring, part)->kind;
  for (guint d = 0; d < kind->n_devices; d++)
    for (guint k = 0; k < kind->devices[d].n_nodes; k++) {
      guint circuit = circuits->circuit[wiring->part_node[part] + kind->devices[d].nodes[k]];
      GArray *list = g_hash_table_lookup(by_circuit, GUINT_TO_POINTER(circuit));
      if (!list) {
        list = g_array_new(FALSE, FALSE, sizeof(OnCircuit));
        g_hash_table_insert(by_circuit, GUINT_TO_POINTER(circuit), list);
      }
      OnCircuit here = {part, d};
      g_array_append_val(list, here);
    }
}

static char *
settings_of(const LoomPart *part)
{
  int address = loom_part_address(part);
  if (address < 0)
    return g_strdup(part->settings);
  return part->settings ? g_strdup_printf(_("%s; address 0x%02X"), part->settings, (guint)address)
                        : g_strdup_printf(_("address 0x%02X"), (guint)address);
}

static void
add_row(GArray *rows, const LoomPart *controller, const LoomChannel *channel, const LoomPart *part,
        const LoomDevice *device)
{
  LoomPortRow row = {.controller = g_strdup(controller->designation),
                     .module = g_strdup(channel->module),
                     .type = g_strdup(channel->type),
                     .channel = channel->number,
                     .end = g_strdup_printf("%s:%s", controller->designation,
                                            controller->kind->ends[channel->end].id)};
  if (part) {
    row.device_type = g_strdup(device->type);
    row.part = g_strdup(part->designation);
    row.name = g_strdup(part->name);
    row.settings = settings_of(part);
  }
  g_array_append_val(rows, row);
}

static bool
listed(const GArray *found, const OnCircuit *device)
{
  for (guint i = 0; i < found->len; i++)
    if (memcmp(&g_array_index(found, OnCircuit, i), device, sizeof *device) == 0)
      return true;
  return false;
}

static int
by_part(gconstpointer a, gconstpointer b)
{
  const OnCircuit *x = a, *y = b;
  if (x->part != y->part)
    return x->part < y->part ? -1 : 1;
  return (x->device > y->device) - (x->device < y->device);
}

/* Devices of other parts with a contact on one of the channel's, each once, in the design's order.
 */
static GArray *
devices_on(GHashTable *by_circuit, const LoomWiring *wiring, const LoomCircuits *circuits,
           guint part, const LoomChannel *channel)
{
  GArray *found = g_array_new(FALSE, FALSE, sizeof(OnCircuit));
  for (guint k = 0; k < channel->n_nodes; k++) {
    guint circuit = circuits->circuit[wiring->part_node[part] + channel->nodes[k]];
    const GArray *list = g_hash_table_lookup(by_circuit, GUINT_TO_POINTER(circuit));
    for (guint i = 0; list && i < list->len; i++) {
      const OnCircuit *device = &g_array_index(list, OnCircuit, i);
      if (device->part != part && !listed(found, device))
        g_array_append_val(found, *device);
    }
  }
  g_array_sort(found, by_part);
  return found;
}

static void
add_controller(GArray *rows, GHashTable *by_circuit, const LoomWiring *wiring,
               const LoomCircuits *circuits, guint part, bool free_too)
{
  const LoomPart *controller = loom_wiring_part(wiring, part);
  for (guint c = 0; c < controller->kind->n_channels; c++) {
    const LoomChannel *channel = &controller->kind->channels[c];
    g_autoptr(GArray) found = devices_on(by_circuit, wiring, circuits, part, channel);
    for (guint i = 0; i < found->len; i++) {
      const OnCircuit *on = &g_array_index(found, OnCircuit, i);
      const LoomPart *device = loom_wiring_part(wiring, on->part);
      add_row(rows, controller, channel, device, &device->kind->devices[on->device]);
    }
    if (found->len == 0 && free_too)
      add_row(rows, controller, channel, NULL, NULL);
  }
}

LoomPortMap *
loom_port_map_new(const LoomDesign *design, guint scene, bool free_too)
{
  g_autoptr(LoomWiring) wiring = loom_wiring_new(design, scene);
  g_autoptr(LoomCircuits) circuits =
      loom_circuits_new(wiring, NULL, LOOM_THROUGH_OPEN | LOOM_THROUGH_FUSES);
  g_autoptr(GHashTable) by_circuit =
      g_hash_table_new_full(NULL, NULL, NULL, (GDestroyNotify)g_array_unref);
  for (guint i = 0; i < wiring->n_parts; i++)
    add_devices(by_circuit, wiring, circuits, i);
  GArray *rows = g_array_new(FALSE, TRUE, sizeof(LoomPortRow));
  for (guint i = 0; i < wiring->n_parts; i++)
    add_controller(rows, by_circuit, wiring, circuits, i, free_too);
  LoomPortMap *map = g_new0(LoomPortMap, 1);
  map->n_rows = rows->len;
  map->rows = (LoomPortRow *)g_array_free(rows, FALSE);
  return map;
}

void
loom_port_map_free(LoomPortMap *map)
{
  if (!map)
    return;
  for (guint i = 0; i < map->n_rows; i++) {
    LoomPortRow *row = &map->rows[i];
    char *owned[] = {row->controller,  row->module, row->type, row->end,
                     row->device_type, row->part,   row->name, row->settings};
    for (guint k = 0; k < G_N_ELEMENTS(owned); k++)
      g_free(owned[k]);
  }
  g_free(map->rows);
  g_free(map);
}

char *
loom_port_map_csv(const LoomPortMap *map)
{
  g_autoptr(LoomCsv) csv = loom_csv_new();
  loom_csv_row(csv, "controller", "module", "type", "channel", "end", "device_type", "part", "name",
               "settings", NULL);
  for (guint i = 0; i < map->n_rows; i++) {
    const LoomPortRow *row = &map->rows[i];
    loom_csv_text(csv, row->controller);
    loom_csv_text(csv, row->module);
    loom_csv_text(csv, row->type);
    loom_csv_whole(csv, row->channel);
    loom_csv_text(csv, row->end);
    loom_csv_text(csv, row->device_type);
    loom_csv_text(csv, row->part);
    loom_csv_text(csv, row->name);
    loom_csv_text(csv, row->settings);
    loom_csv_end_row(csv);
  }
  return g_strdup(loom_csv_bytes(csv));
}
