#include "meter-private.h"

#include "electric/circuit.h"

#include <math.h>

typedef struct {
  LoomMeterRoom *room;
  LoomCircuits *inside; /* within parts: what an end is to its own source */
} Lister;

/* Contacts at which a pack's joint, now apart, would bring in its poles. */
typedef struct {
  GArray *plus, *minus; /* LoomProbe */
} PackPlugs;

static const LoomKind *
kind_at(const LoomMeterRoom *room, guint part)
{
  return loom_wiring_part(room->w, part)->kind;
}

static void
add(LoomMeterRoom *room, LoomMeterWhen when, LoomMeterCheck check, LoomProbe red, LoomProbe black)
{
  LoomReading reading = {.when = when, .check = check, .red = red, .black = black};
  g_array_append_val(room->readings, reading);
}

/* Which pole of the part's own source the contact is: 1 plus, -1 minus, 0 neither. */
static int
own_pole(const Lister *l, guint part, guint node)
{
  const LoomWiring *w = l->room->w;
  const LoomKind *kind = kind_at(l->room, part);
  for (guint i = 0; i < kind->n_elements; i++) {
    const LoomElement *e = &kind->elements[i];
    if (e->type != LOOM_ELEMENT_SOURCE)
      continue;
    if (l->inside->circuit[node] == l->inside->circuit[w->part_node[part] + e->a])
      return 1;
    if (l->inside->circuit[node] == l->inside->circuit[w->part_node[part] + e->b])
      return -1;
  }
  return 0;
}

/* ---- the pack alone ---- */

static void
list_pack(const Lister *l, guint part)
{
  const LoomKind *kind = kind_at(l->room, part);
  for (guint e = 0; e < kind->n_ends; e++) {
    guint plus = LOOM_NONE, minus = LOOM_NONE;
    for (guint c = 0; c < kind->ends[e].n_contacts; c++) {
      int pole = own_pole(l, part, loom_wiring_node(l->room->w, part, e, c));
      if (pole > 0 && plus == LOOM_NONE)
        plus = c;
      if (pole < 0 && minus == LOOM_NONE)
        minus = c;
    }
    if (plus == LOOM_NONE || minus == LOOM_NONE)
      continue;
    add(l->room, LOOM_METER_PACK, LOOM_CHECK_VOLTS, (LoomProbe){part, e, plus},
        (LoomProbe){part, e, minus});
    return;
  }
}

static bool
is_pack(const LoomKind *kind)
{
  for (guint i = 0; i < kind->n_elements; i++)
    if (kind->elements[i].type == LOOM_ELEMENT_SOURCE && !isnan(kind->elements[i].capacity_Ah))
      return true;
  return false;
}

/* ---- without power ---- */

static void
plugs_at(const Lister *l, guint wired, PackPlugs *plugs)
{
  const LoomWiring *w = l->room->w;
  for (guint t = 0; t < w->n_touches; t++) {
    if (w->touches[t].wired != wired)
      continue;
    guint nodes[2] = {w->touches[t].a, w->touches[t].b};
    for (guint side = 0; side < 2; side++) {
      guint own = nodes[side], far = nodes[1 - side];
      int pole = own_pole(l, w->node_part[own], own);
      LoomProbe probe;
      if (pole == 0 || own_pole(l, w->node_part[far], far) != 0 ||
          !loom_wiring_contact(w, far, &probe.part, &probe.end, &probe.contact))
        continue;
      g_array_append_val(pole > 0 ? plugs->plus : plugs->minus, probe);
    }
  }
}

/* The pack's plugs of one supply. */
static PackPlugs
pack_plugs(const Lister *l, guint supply)
{
  PackPlugs plugs = {g_array_new(FALSE, FALSE, sizeof(LoomProbe)),
                     g_array_new(FALSE, FALSE, sizeof(LoomProbe))};
  for (guint i = 0; i < l->room->w->n_joints; i++) {
    const LoomJointStage *joint = &l->room->stages->joints[i];
    if (joint->source && joint->supply == supply && joint->side == LOOM_SIDE_SUPPLY)
      plugs_at(l, i, &plugs);
  }
  return plugs;
}

static double
ohms(const LoomMeterRoom *room, LoomMeterWhen when, LoomProbe a, LoomProbe b)
{
  double least, most;
  return loom_ohms_between(room->ohms[when], loom_meter_node(room, &a), loom_meter_node(room, &b),
                           &least, &most)
             ? most
             : NAN;
}

/* The plug that conducts best to the probe; false where none does. */
static bool
nearest_plug(const LoomMeterRoom *room, const GArray *plugs, LoomProbe to, LoomProbe *best)
{
  double least = INFINITY;
  for (guint i = 0; i < plugs->len; i++) {
    LoomProbe plug = g_array_index(plugs, LoomProbe, i);
    double ohm = ohms(room, LOOM_METER_ON, plug, to);
    if (!(ohm < least))
      continue;
    least = ohm;
    *best = plug;
  }
  return isfinite(least);
}

/* From the pack's plug to one open end: both poles through, and parted by the switch. */
static void
list_way(const Lister *l, const PackPlugs *plugs, const LoomStageVolts *v)
{
  LoomMeterRoom *room = l->room;
  LoomProbe red = {v->red_part, v->red_end, v->plus}, from;
  LoomProbe black = {v->black_part, v->black_end, v->minus};
  bool parted = false;
  if (nearest_plug(room, plugs->plus, red, &from)) {
    add(room, LOOM_METER_ON, LOOM_CHECK_CONTINUITY, from, red);
    parted = isinf(ohms(room, LOOM_METER_OFF, from, red));
    if (parted)
      add(room, LOOM_METER_OFF, LOOM_CHECK_SWITCH, from, red);
  }
  if (nearest_plug(room, plugs->minus, black, &from)) {
    add(room, LOOM_METER_ON, LOOM_CHECK_CONTINUITY, from, black);
    if (!parted && isinf(ohms(room, LOOM_METER_OFF, from, black)))
      add(room, LOOM_METER_OFF, LOOM_CHECK_SWITCH, from, black);
  }
  add(room, LOOM_METER_ON, LOOM_CHECK_SHORT, red, black);
}

/* Loads without electronics, at their own open ends. */
static void
list_load(const Lister *l, guint wired)
{
  const LoomWiredJoint *j = &l->room->w->joints[wired];
  bool a_gives = loom_stages_supply_of(l->room->stages, j->part_a, j->end_a) != LOOM_NONE;
  guint part = a_gives ? j->part_b : j->part_a, end = a_gives ? j->end_b : j->end_a;
  if (kind_at(l->room, part)->ends[end].n_contacts < 2)
    return;
  LoomProbe red = {part, end, 0}, black = {part, end, 1};
  double ohm = ohms(l->room, LOOM_METER_ON, red, black);
  if (isfinite(ohm) && ohm < l->room->meter.most_ohm)
    add(l->room, LOOM_METER_ON, LOOM_CHECK_LOAD, red, black);
}

/* The metal of the frame against both poles. */
static void
list_frame(const Lister *l, guint part, const PackPlugs *plugs)
{
  const LoomKind *kind = kind_at(l->room, part);
  LoomProbe metal = {part, LOOM_NONE, 0};
  for (guint e = 0; e < kind->n_ends && metal.end == LOOM_NONE; e++)
    if (kind->ends[e].n_contacts > 0)
      metal.end = e;
  if (metal.end == LOOM_NONE)
    return;
  if (plugs->plus->len > 0)
    add(l->room, LOOM_METER_ON, LOOM_CHECK_INSULATION, g_array_index(plugs->plus, LoomProbe, 0),
        metal);
  if (plugs->minus->len > 0)
    add(l->room, LOOM_METER_ON, LOOM_CHECK_INSULATION, g_array_index(plugs->minus, LoomProbe, 0),
        metal);
}

static void
list_supply(const Lister *l, guint supply)
{
  LoomMeterRoom *room = l->room;
  PackPlugs plugs = pack_plugs(l, supply);
  g_autoptr(GArray) volts = loom_stages_volts(room->stages, supply);
  for (guint i = 0; i < volts->len; i++)
    list_way(l, &plugs, &g_array_index(volts, LoomStageVolts, i));
  if (volts->len == 0 && plugs.plus->len > 0 && plugs.minus->len > 0)
    add(room, LOOM_METER_ON, LOOM_CHECK_SHORT, g_array_index(plugs.plus, LoomProbe, 0),
        g_array_index(plugs.minus, LoomProbe, 0));
  for (guint p = 0; p < room->w->n_parts; p++)
    if (kind_at(room, p)->metal)
      list_frame(l, p, &plugs);
  for (guint i = 0; plugs.plus->len > 0 && i < volts->len; i++) {
    const LoomStageVolts *v = &g_array_index(volts, LoomStageVolts, i);
    add(room, LOOM_METER_TRIAL, LOOM_CHECK_VOLTS, (LoomProbe){v->red_part, v->red_end, v->plus},
        (LoomProbe){v->black_part, v->black_end, v->minus});
  }
  g_array_unref(plugs.plus);
  g_array_unref(plugs.minus);
}

/* ---- powered ---- */

static guint
contact_with(const LoomEnd *end, LoomRole role)
{
  for (guint c = 0; c < end->n_contacts; c++)
    if (end->contacts[c].role == role)
      return c;
  return LOOM_NONE;
}

/* One free end for every pair of rails that the part brings out. */
static void
list_rails(const Lister *l, guint part)
{
  const LoomWiring *w = l->room->w;
  const LoomKind *kind = kind_at(l->room, part);
  g_autoptr(GHashTable) known = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
  for (guint e = 0; e < kind->n_ends; e++) {
    guint plus = contact_with(&kind->ends[e], LOOM_ROLE_PLUS);
    guint minus = contact_with(&kind->ends[e], LOOM_ROLE_MINUS);
    if (plus == LOOM_NONE || minus == LOOM_NONE || loom_wiring_n_joints_at(w, part, e) > 0)
      continue;
    guint a = loom_wiring_node(w, part, e, plus), b = loom_wiring_node(w, part, e, minus);
    if (g_hash_table_add(known,
                         g_strdup_printf("%u %u", l->inside->circuit[a], l->inside->circuit[b])))
      add(l->room, LOOM_METER_POWERED, LOOM_CHECK_VOLTS, (LoomProbe){part, e, plus},
          (LoomProbe){part, e, minus});
  }
}

static int
by_time(gconstpointer a, gconstpointer b)
{
  const LoomReading *x = a, *y = b;
  if (x->when != y->when)
    return x->when < y->when ? -1 : 1;
  return x->check < y->check ? -1 : x->check > y->check;
}

/* Whether anything is plugged to the part in this scene. */
static bool
takes_part(const LoomMeterRoom *room, guint part)
{
  const LoomWiring *w = room->w;
  return w->end_first[w->part_end[part]] < w->end_first[w->part_end[part + 1]];
}

void
loom_meter_list_readings(LoomMeterRoom *room)
{
  LoomThrough closed = LOOM_THROUGH_SWITCHES | LOOM_THROUGH_OPEN | LOOM_THROUGH_FUSES;
  Lister l = {room, loom_circuits_new(room->w, NULL, closed | LOOM_WITHOUT_JOINTS)};
  for (guint p = 0; p < room->w->n_parts; p++)
    if (is_pack(kind_at(room, p)) && takes_part(room, p))
      list_pack(&l, p);
  for (guint supply = 0; supply < room->stages->n_supplies; supply++)
    list_supply(&l, supply);
  for (guint i = 0; i < room->w->n_joints; i++)
    if (room->stages->joints[i].side == LOOM_SIDE_FEEDS)
      list_load(&l, i);
  for (guint p = 0; p < room->w->n_parts; p++)
    if (!is_pack(kind_at(room, p)) && takes_part(room, p))
      list_rails(&l, p);
  loom_circuits_free(l.inside);
  g_array_sort(room->readings, by_time);
}
