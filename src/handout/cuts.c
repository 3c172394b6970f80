#include "cuts.h"

#include <math.h>
#include <string.h>

static void
free_wires(LoomCut *cut)
{
  for (guint i = 0; i < cut->n_wires; i++) {
    g_free(cut->wires[i].colour);
    g_free(cut->wires[i].contact_a);
    g_free(cut->wires[i].contact_b);
  }
  g_free(cut->wires);
}

static void
clear_cut(gpointer data)
{
  LoomCut *cut = data;
  free_wires(cut);
  g_free(cut->designations);
  loom_kind_unref(cut->kind);
}

/* End that shows the node and the name of the contact there, new. */
static guint
where(const LoomKind *kind, guint node, char **contact)
{
  guint end = loom_kind_end_of_node(kind, node);
  *contact = NULL;
  if (end != LOOM_NONE)
    *contact = g_strdup(kind->ends[end].contacts[node - kind->ends[end].first_node].name);
  return end;
}

static LoomCutWire
make_wire(const LoomKind *kind, const LoomElement *element, double lead_mm)
{
  double length_mm = isnan(element->length_mm) ? lead_mm : element->length_mm;
  LoomCutWire wire = {.colour = g_strdup(element->colour),
                      .mm2 = element->mm2,
                      .length_mm = length_mm,
                      .cut_mm = ceil((length_mm + 2 * LOOM_CUT_ALLOWANCE_MM) / 5 - 1e-9) * 5};
  wire.end_a = where(kind, element->a, &wire.contact_a);
  wire.end_b = where(kind, element->b, &wire.contact_b);
  return wire;
}

static void
make_wires(LoomCut *cut)
{
  GArray *wires = g_array_new(FALSE, TRUE, sizeof(LoomCutWire));
  for (guint i = 0; i < cut->kind->n_elements; i++) {
    if (cut->kind->elements[i].type != LOOM_ELEMENT_WIRE)
      continue;
    LoomCutWire wire = make_wire(cut->kind, &cut->kind->elements[i], cut->length_mm);
    g_array_append_val(wires, wire);
  }
  cut->n_wires = wires->len;
  cut->wires = (LoomCutWire *)g_array_free(wires, FALSE);
}

/* Whether the stock still has one of the kind; takes it. */
static bool
take_from_stock(GHashTable *used, const LoomStock *stock, const LoomKind *kind)
{
  guint taken = GPOINTER_TO_UINT(g_hash_table_lookup(used, kind->id));
  if (taken >= loom_stock_count(stock, kind->id))
    return false;
  g_hash_table_insert(used, kind->id, GUINT_TO_POINTER(taken + 1));
  return true;
}

static bool
has_wires(const LoomKind *kind)
{
  for (guint i = 0; i < kind->n_elements; i++)
    if (kind->elements[i].type == LOOM_ELEMENT_WIRE)
      return true;
  return false;
}

static void
count_lead(GArray *cuts, GHashTable *index, const LoomPart *part)
{
  double length_mm = loom_part_length_mm(part);
  g_autofree char *key =
      g_strdup_printf("%s|%.3f", part->kind->id, isnan(length_mm) ? -1 : length_mm);
  gpointer at;
  if (g_hash_table_lookup_extended(index, key, NULL, &at)) {
    LoomCut *cut = &g_array_index(cuts, LoomCut, GPOINTER_TO_UINT(at));
    char *longer = g_strdup_printf("%s, %s", cut->designations, part->designation);
    g_free(cut->designations);
    cut->designations = longer;
    cut->count++;
    return;
  }
  LoomCut cut = {.kind = loom_kind_ref(part->kind),
                 .designations = g_strdup(part->designation),
                 .count = 1,
                 .length_mm = length_mm};
  make_wires(&cut);
  g_hash_table_insert(index, g_steal_pointer(&key), GUINT_TO_POINTER(cuts->len));
  g_array_append_val(cuts, cut);
}

static int
by_shelf(gconstpointer a, gconstpointer b)
{
  const LoomCut *x = a, *y = b;
  if (x->kind->group != y->kind->group)
    return x->kind->group < y->kind->group ? -1 : 1;
  if (x->kind->rank != y->kind->rank)
    return x->kind->rank < y->kind->rank ? -1 : 1;
  int by_id = strcmp(x->kind->id, y->kind->id);
  return by_id ? by_id : (x->length_mm > y->length_mm) - (x->length_mm < y->length_mm);
}

/* USB and network plugs are moulded on, or crimped with a tool of their own: such leads are bought
 * (common practice, no source). */
static bool
is_bought(const LoomKind *kind)
{
  for (guint e = 0; e < kind->n_ends; e++)
    if (kind->ends[e].family->shape == LOOM_SHAPE_USB ||
        kind->ends[e].family->shape == LOOM_SHAPE_MODULAR)
      return true;
  return false;
}

LoomCuts *
loom_cuts_new(const LoomDesign *design, const LoomStock *stock)
{
  GArray *cuts = g_array_new(FALSE, TRUE, sizeof(LoomCut));
  g_autoptr(GHashTable) index = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
  g_autoptr(GHashTable) used = g_hash_table_new(g_str_hash, g_str_equal);
  for (guint i = 0; i < loom_design_n_parts(design); i++) {
    const LoomPart *part = loom_design_part(design, i);
    if (!part->kind->lead || !has_wires(part->kind) || is_bought(part->kind))
      continue;
    if (!stock || !take_from_stock(used, stock, part->kind))
      count_lead(cuts, index, part);
  }
  g_array_sort(cuts, by_shelf);
  LoomCuts *list = g_new0(LoomCuts, 1);
  list->n_cuts = cuts->len;
  list->cuts = (LoomCut *)g_array_free(cuts, FALSE);
  return list;
}

void
loom_cuts_free(LoomCuts *cuts)
{
  if (!cuts)
    return;
  for (guint i = 0; i < cuts->n_cuts; i++)
    clear_cut(&cuts->cuts[i]);
  g_free(cuts->cuts);
  g_free(cuts);
}
