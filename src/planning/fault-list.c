#include "faults-private.h"

#include "electric/circuit.h"

#include <math.h>
#include <stdlib.h>

/* How often each thing is found, against others, on a school robot: common practice, no source. */
static double
weight_of(LoomFaultType type)
{
  static const double weights[] = {
      [LOOM_FAULT_OUT] = 10,    [LOOM_FAULT_CONTACT] = 1,   [LOOM_FAULT_LOOSE] = 3,
      [LOOM_FAULT_TURNED] = 4,  [LOOM_FAULT_SHIFTED] = 3,   [LOOM_FAULT_PORT] = 4,
      [LOOM_FAULT_WIRE] = 1,    [LOOM_FAULT_SHORT] = 0.2,   [LOOM_FAULT_REVERSED] = 0.5,
      [LOOM_FAULT_BLOWN] = 4,   [LOOM_FAULT_OFF] = 8,       [LOOM_FAULT_SWITCH] = 0.5,
      [LOOM_FAULT_FLAT] = 8,    [LOOM_FAULT_PACK] = 3,      [LOOM_FAULT_PART] = 0.5,
      [LOOM_FAULT_ADDRESS] = 1, [LOOM_FAULT_BACKWARDS] = 2, [LOOM_FAULT_DEAD_PORT] = 0.3};
  return weights[type];
}

typedef struct {
  const LoomFaultRoom *room;
  LoomCircuits *circuits; /* as drawn */
  GArray *faults;
} Lister;

static LoomFault *
add(Lister *l, LoomFaultType type, guint joint, guint part, guint end)
{
  LoomFault fault = {.type = type,
                     .joint = joint,
                     .part = part,
                     .end = end,
                     .a = LOOM_NONE,
                     .b = LOOM_NONE,
                     .prior = weight_of(type)};
  g_array_append_val(l->faults, fault);
  return &g_array_index(l->faults, LoomFault, l->faults->len - 1);
}

/* A joint that latches or is tied comes off less often; how much its family is known to trouble. */
static double
joint_share(const LoomFaultRoom *room, const LoomWiredJoint *j)
{
  const LoomFamily *family = loom_wiring_part(room->w, j->part_a)->kind->ends[j->end_a].family;
  double share = family->loose_likelihood > 0 ? family->loose_likelihood : 1;
  if (family->latches)
    share *= 0.5;
  return loom_design_joint(room->design, j->joint)->tied ? share * 0.3 : share;
}

static bool
one_circuit(const Lister *l, guint x, guint y)
{
  return l->circuits->circuit[x] == l->circuits->circuit[y];
}

static void
list_contacts(Lister *l, guint wired)
{
  const LoomWiring *w = l->room->w;
  const LoomWiredJoint *j = &w->joints[wired];
  const LoomEnd *a = &loom_wiring_part(w, j->part_a)->kind->ends[j->end_a];
  for (guint c = 0; a->n_contacts > 1 && c < a->n_contacts; c++)
    for (guint t = 0; t < w->n_touches; t++)
      if (w->touches[t].wired == wired &&
          w->touches[t].a == loom_wiring_node(w, j->part_a, j->end_a, c))
        add(l, LOOM_FAULT_CONTACT, j->joint, j->part_a, j->end_a)->a = c;
}

static void
list_joint(Lister *l, guint wired)
{
  const LoomWiredJoint *j = &l->room->w->joints[wired];
  const LoomEnd *a = &loom_wiring_part(l->room->w, j->part_a)->kind->ends[j->end_a];
  const LoomEnd *b = &loom_wiring_part(l->room->w, j->part_b)->kind->ends[j->end_b];
  double share = joint_share(l->room, j);
  add(l, LOOM_FAULT_OUT, j->joint, j->part_a, j->end_a)->prior *= share;
  add(l, LOOM_FAULT_LOOSE, j->joint, j->part_a, j->end_a)->prior *= share;
  if (loom_fit_possible(a, b, LOOM_FIT_TURNED))
    add(l, LOOM_FAULT_TURNED, j->joint, j->part_a, j->end_a);
  if (loom_fit_possible(a, b, LOOM_FIT_SHIFTED))
    add(l, LOOM_FAULT_SHIFTED, j->joint, j->part_a, j->end_a);
  list_contacts(l, wired);
}

/* Wrong ports are the same mistakes as those that a meter is asked for. */
static void
list_ports(Lister *l)
{
  const GArray *slips = l->room->meter.slips;
  for (guint i = 0; i < slips->len; i++) {
    const LoomSlip *slip = &g_array_index(slips, LoomSlip, i);
    if (slip->type == LOOM_SLIP_CROSSED)
      add(l, LOOM_FAULT_PORT, slip->joint, slip->part, slip->end)->a = slip->other;
  }
}

static bool
is_crossed(const Lister *l, guint part, guint end, guint other)
{
  for (guint i = 0; i < l->faults->len; i++) {
    const LoomFault *f = &g_array_index(l->faults, LoomFault, i);
    if (f->type == LOOM_FAULT_PORT && f->part == part &&
        ((f->end == end && f->a == other) || (f->end == other && f->a == end)))
      return true;
  }
  return false;
}

/* The first channel of its end, where a plug is. */
static bool
leads_end(const Lister *l, guint part, guint channel)
{
  const LoomKind *kind = loom_wiring_part(l->room->w, part)->kind;
  for (guint c = 0; c < channel; c++)
    if (kind->channels[c].end == kind->channels[channel].end)
      return false;
  guint wired = loom_fault_joint_at(l->room, part, kind->channels[channel].end);
  return wired != LOOM_NONE && l->room->w->joints[wired].mate == LOOM_MATE_YES;
}

/* Plugs of one sort that have changed places, wherever they sit on a controller: the further apart,
 * the less often. */
static void
list_exchanged(Lister *l, guint part)
{
  const LoomKind *kind = loom_wiring_part(l->room->w, part)->kind;
  for (guint x = 0; x < kind->n_channels; x++)
    for (guint y = x + 1; leads_end(l, part, x) && y < kind->n_channels; y++) {
      const LoomChannel *a = &kind->channels[x], *b = &kind->channels[y];
      const LoomEnd *end = &kind->ends[a->end], *other = &kind->ends[b->end];
      if (!g_str_equal(a->type, b->type) || end->family != other->family ||
          end->gender != other->gender || end->n_contacts != other->n_contacts ||
          !leads_end(l, part, y) || is_crossed(l, part, a->end, b->end))
        continue;
      guint wired = loom_fault_joint_at(l->room, part, a->end);
      LoomFault *f = add(l, LOOM_FAULT_PORT, l->room->w->joints[wired].joint, part, a->end);
      f->a = b->end;
      f->prior /= MAX(abs((int)b->number - (int)a->number), 1);
    }
}

/* The element that drives the channel; LOOM_NONE: the controller reads there, or only signals. */
static guint
driver_of(const LoomKind *kind, guint channel)
{
  for (guint i = 0; i < kind->n_elements; i++)
    if (kind->elements[i].type == LOOM_ELEMENT_DRIVER && kind->elements[i].channel == channel)
      return i;
  return LOOM_NONE;
}

/* Every channel that something answers on. What is driven with power burns out more often than
 * what only carries a signal. */
static void
list_dead_ports(Lister *l)
{
  g_autoptr(GHashTable) known = g_hash_table_new(NULL, NULL);
  for (guint i = 0; i < l->room->answerers->len; i++) {
    const LoomAnswerer *a = &g_array_index(l->room->answerers, LoomAnswerer, i);
    const LoomKind *kind = loom_wiring_part(l->room->w, a->controller)->kind;
    if (!g_hash_table_add(known, GUINT_TO_POINTER(a->controller << 12 | a->channel)))
      continue;
    LoomFault *f =
        add(l, LOOM_FAULT_DEAD_PORT, LOOM_NONE, a->controller, kind->channels[a->channel].end);
    f->a = a->channel;
    f->b = driver_of(kind, a->channel);
    f->prior *= f->b == LOOM_NONE ? 0.5 : 1;
  }
}

static bool
is_plugged(const LoomFaultRoom *room, guint part)
{
  const LoomWiring *w = room->w;
  return w->end_first[w->part_end[part]] < w->end_first[w->part_end[part + 1]];
}

/* The end whose contacts the wires of a lead are named by: the first that is plugged. */
static guint
plugged_end(const LoomFaultRoom *room, guint part)
{
  const LoomWiring *w = room->w;
  guint n = loom_wiring_part(w, part)->kind->n_ends;
  for (guint e = 0; e < n; e++)
    if (loom_wiring_n_joints_at(w, part, e) > 0)
      return e;
  return 0;
}

static void
list_lead(Lister *l, guint part)
{
  const LoomWiring *w = l->room->w;
  const LoomKind *kind = loom_wiring_part(w, part)->kind;
  guint end = plugged_end(l->room, part), n = kind->ends[end].n_contacts;
  for (guint i = 0; i < kind->n_elements; i++)
    if (kind->elements[i].type == LOOM_ELEMENT_WIRE)
      add(l, LOOM_FAULT_WIRE, LOOM_NONE, part, end)->a = i;
  for (guint c = 1; c < n; c++) {
    guint x = loom_wiring_node(w, part, end, c - 1), y = loom_wiring_node(w, part, end, c);
    if (one_circuit(l, x, y))
      continue;
    LoomFault *joined = add(l, LOOM_FAULT_SHORT, LOOM_NONE, part, end);
    joined->a = c - 1;
    joined->b = c;
  }
  if (n < 2 || one_circuit(l, loom_wiring_node(w, part, end, 0), loom_wiring_node(w, part, end, 1)))
    return;
  LoomFault *swapped = add(l, LOOM_FAULT_REVERSED, LOOM_NONE, part, end);
  swapped->a = 0;
  swapped->b = 1;
}

static bool
works(LoomElementType type)
{
  return type > LOOM_ELEMENT_FUSE && type != LOOM_ELEMENT_SOURCE;
}

static void
list_part(Lister *l, guint part)
{
  const LoomKind *kind = loom_wiring_part(l->room->w, part)->kind;
  bool alive = kind->n_devices > 0;
  for (guint i = 0; i < kind->n_elements; i++) {
    const LoomElement *e = &kind->elements[i];
    alive |= works(e->type);
    if (e->type == LOOM_ELEMENT_FUSE)
      add(l, LOOM_FAULT_BLOWN, LOOM_NONE, part, LOOM_NONE)->a = i;
    if (e->type == LOOM_ELEMENT_SWITCH && l->room->meter.stages->switches[part])
      add(l, LOOM_FAULT_SWITCH, LOOM_NONE, part, LOOM_NONE)->a = i;
    if (e->type == LOOM_ELEMENT_SOURCE && !isnan(e->capacity_Ah)) {
      add(l, LOOM_FAULT_FLAT, LOOM_NONE, part, LOOM_NONE)->a = i;
      add(l, LOOM_FAULT_PACK, LOOM_NONE, part, LOOM_NONE)->a = i;
    }
  }
  if (l->room->meter.stages->switches[part])
    add(l, LOOM_FAULT_OFF, LOOM_NONE, part, LOOM_NONE);
  if (alive)
    add(l, LOOM_FAULT_PART, LOOM_NONE, part, LOOM_NONE);
  for (guint i = 0; i < kind->n_devices; i++)
    if (g_str_equal(kind->devices[i].channel, "motor"))
      add(l, LOOM_FAULT_BACKWARDS, LOOM_NONE, part, LOOM_NONE);
}

/* Whether the two can be set to one address. */
static bool
may_clash(const LoomPart *a, const LoomPart *b)
{
  if (loom_part_address(a) < 0 || loom_part_address(b) < 0)
    return false;
  return a->kind->address_min <= b->kind->address_max &&
         b->kind->address_min <= a->kind->address_max;
}

static void
list_clashes(Lister *l)
{
  const GArray *answerers = l->room->answerers;
  for (guint i = 0; i < answerers->len; i++)
    for (guint k = 0; k < i; k++) {
      const LoomAnswerer *x = &g_array_index(answerers, LoomAnswerer, k);
      const LoomAnswerer *y = &g_array_index(answerers, LoomAnswerer, i);
      if (x->controller == y->controller && x->channel == y->channel && x->part != y->part &&
          may_clash(loom_wiring_part(l->room->w, x->part), loom_wiring_part(l->room->w, y->part)))
        add(l, LOOM_FAULT_ADDRESS, LOOM_NONE, x->part, LOOM_NONE)->a = y->part;
    }
}

static void
share_out(GArray *faults)
{
  double sum = 0;
  for (guint i = 0; i < faults->len; i++)
    sum += g_array_index(faults, LoomFault, i).prior;
  for (guint i = 0; i < faults->len; i++)
    g_array_index(faults, LoomFault, i).prior /= sum;
}

GArray *
loom_fault_list(const LoomFaultRoom *room)
{
  LoomThrough all = LOOM_THROUGH_SWITCHES | LOOM_THROUGH_OPEN | LOOM_THROUGH_FUSES;
  Lister l = {room, loom_circuits_new(room->w, NULL, all),
              g_array_new(FALSE, FALSE, sizeof(LoomFault))};
  for (guint i = 0; i < room->w->n_joints; i++)
    if (room->meter.stages->joints[i].side != LOOM_SIDE_RADIO &&
        room->w->joints[i].mate == LOOM_MATE_YES)
      list_joint(&l, i);
  list_ports(&l);
  for (guint p = 0; p < room->w->n_parts; p++)
    list_exchanged(&l, p);
  for (guint p = 0; p < room->w->n_parts; p++) {
    if (!is_plugged(room, p))
      continue;
    if (loom_wiring_part(room->w, p)->kind->lead)
      list_lead(&l, p);
    list_part(&l, p);
  }
  list_clashes(&l);
  list_dead_ports(&l);
  share_out(l.faults);
  loom_circuits_free(l.circuits);
  return l.faults;
}
