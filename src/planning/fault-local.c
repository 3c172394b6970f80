#include "faults-private.h"

#include <math.h>
#include <string.h>

#define CALM_SHARE 0.05   /* of the volts at a port; loads and bins are judged at 10 % and more */
#define PORT_OHM 1e-3     /* of what stands in the place of a port */
#define LEAST_PORT_V 0.01 /* less between two contacts of a port is none */

/* Parts on which the rest of the robot hangs. */
static bool
is_hub(const LoomKind *kind)
{
  if (kind->n_channels > 0)
    return true;
  for (guint i = 0; i < kind->n_elements; i++)
    switch (kind->elements[i].type) {
    case LOOM_ELEMENT_SOURCE:
    case LOOM_ELEMENT_DRIVER:
    case LOOM_ELEMENT_CONVERTER:
      return true;
    default:
      break;
    }
  return false;
}

static bool
weakens_only(LoomFaultType type)
{
  switch (type) {
  case LOOM_FAULT_OUT:
  case LOOM_FAULT_CONTACT:
  case LOOM_FAULT_LOOSE:
  case LOOM_FAULT_WIRE:
  case LOOM_FAULT_PART:
  case LOOM_FAULT_ADDRESS:
  case LOOM_FAULT_BACKWARDS:
    return true;
  default:
    return false;
  }
}

/* ---- which joints of hubs are calm ---- */

/* The contacts of the joint on the hub's side that bring a supply. */
static bool
is_rail(const LoomFaultRoom *room, guint node)
{
  guint part, end, contact;
  if (!loom_wiring_contact(room->w, node, &part, &end, &contact))
    return false;
  LoomRole role = loom_wiring_part(room->w, part)->kind->ends[end].contacts[contact].role;
  return (role == LOOM_ROLE_PLUS || role == LOOM_ROLE_MINUS) &&
         !isnan(room->rest->potential_V[node]);
}

/* The touch's node that lies on the hub, if its other one does not; LOOM_NONE otherwise. */
static guint
hub_node(const LoomFaultRoom *room, guint touch)
{
  const LoomTouch *t = &room->w->touches[touch];
  bool a = is_hub(loom_wiring_part(room->w, room->w->node_part[t->a])->kind);
  bool b = is_hub(loom_wiring_part(room->w, room->w->node_part[t->b])->kind);
  return a == b ? LOOM_NONE : a ? t->a : t->b;
}

/* Lowest rail of the hub's side of the joint. */
static guint
lowest_rail(const LoomFaultRoom *room, guint wired)
{
  guint lowest = LOOM_NONE;
  for (guint t = 0; t < room->w->n_touches; t++) {
    guint node = room->w->touches[t].wired == wired ? hub_node(room, t) : LOOM_NONE;
    if (node != LOOM_NONE && is_rail(room, node) &&
        (lowest == LOOM_NONE || room->rest->potential_V[node] < room->rest->potential_V[lowest]))
      lowest = node;
  }
  return lowest;
}

/* Taking the whole current of the touch away moves no voltage of the hub by more than this: in a
 * network of resistors nothing moves further than the place where the current is drawn. Uses the
 * factors of the sound robot. */
static bool
is_calm(const LoomFaultRoom *room, LoomSolver *solver, guint touch, guint node, guint lowest)
{
  double volt, ohm;
  if (node == lowest || !is_rail(room, node))
    return true;
  if (!loom_solver_source(solver, node, lowest, &volt, &ohm))
    return false;
  return fabs(room->rest->flows[touch].a_A) * ohm <= CALM_SHARE * fabs(volt);
}

void
loom_fault_find_calm(LoomFaultRoom *room, LoomSolver *solver)
{
  room->calm = g_new(bool, room->w->n_joints + 1);
  for (guint j = 0; j < room->w->n_joints; j++)
    room->calm[j] = true;
  g_autofree guint *lowest = g_new(guint, room->w->n_joints + 1);
  for (guint j = 0; j < room->w->n_joints; j++)
    lowest[j] = LOOM_NONE;
  for (guint t = 0; t < room->w->n_touches; t++) {
    guint wired = room->w->touches[t].wired, node = hub_node(room, t);
    if (node == LOOM_NONE)
      continue;
    if (lowest[wired] == LOOM_NONE)
      lowest[wired] = lowest_rail(room, wired);
    room->calm[wired] &=
        lowest[wired] == LOOM_NONE || is_calm(room, solver, t, node, lowest[wired]);
  }
}

/* ---- what hangs on the hubs ---- */

typedef struct {
  const LoomFaultRoom *room;
  LoomFaulty *faulty;
  bool *mine;    /* [n_parts] */
  guint hub;     /* on which they hang; LOOM_NONE: not met */
  GArray *parts; /* guint: those, in the order in which they were met */
  GArray *ports; /* guint: rails of hubs that it hangs on */
  LoomNetwork network;
  GArray *from; /* guint: number in the whole network of each branch; LOOM_NONE */
} Local;

static bool
visit(Local *l, guint part)
{
  if (is_hub(loom_wiring_part(l->room->w, part)->kind)) {
    bool alone = l->hub == LOOM_NONE || l->hub == part; /* what joins two hubs may feed one */
    l->hub = part;
    return alone;
  }
  if (l->mine[part])
    return true;
  l->mine[part] = true;
  g_array_append_val(l->parts, part);
  return !loom_fault_part_in_supply(l->room, part);
}

/* All that can be reached without going through a hub; false where that is the supply itself, or a
 * hub that would notice. */
static bool
gather(Local *l, const LoomFault *fault)
{
  const LoomWiring *w = l->room->w;
  bool local = fault->part == LOOM_NONE || visit(l, fault->part);
  if (fault->joint != LOOM_NONE) {
    const LoomWiredJoint *j = &w->joints[l->room->meter.wired[fault->joint]];
    local &= visit(l, j->part_a) && visit(l, j->part_b);
  }
  for (guint i = 0; i < l->parts->len && local; i++) {
    guint p = g_array_index(l->parts, guint, i);
    for (guint e = w->end_first[w->part_end[p]]; e < w->end_first[w->part_end[p + 1]]; e++) {
      const LoomWiredJoint *j = &w->joints[w->end_joints[e]];
      local &= visit(l, j->part_a) && visit(l, j->part_b) && l->room->calm[w->end_joints[e]];
    }
  }
  return local && l->parts->len > 0;
}

static void
take_branch(Local *l, guint branch)
{
  l->network.branches[l->network.n_branches++] = l->faulty->network.branches[branch];
  g_array_append_val(l->from, branch);
}

static void
take_touches(Local *l)
{
  const LoomFaultRoom *room = l->room;
  for (guint t = 0; t < room->w->n_touches; t++) {
    const LoomTouch *touch = &room->w->touches[t];
    bool a = l->mine[room->w->node_part[touch->a]], b = l->mine[room->w->node_part[touch->b]];
    if (!a && !b)
      continue;
    take_branch(l, t);
    guint hub = a ? touch->b : touch->a;
    if (a != b && is_rail(room, hub))
      g_array_append_val(l->ports, hub);
  }
  l->network.n_touches = l->network.n_branches;
}

static void
take_parts(Local *l)
{
  const LoomNetwork *whole = l->room->network;
  for (guint p = 0; p < l->room->w->n_parts; p++) {
    l->network.part_branch[p] = l->network.n_branches;
    for (guint i = whole->part_branch[p]; l->mine[p] && i < whole->part_branch[p + 1]; i++)
      take_branch(l, i);
  }
  l->network.part_branch[l->room->w->n_parts] = l->network.n_branches;
}

static guint
lowest_port(const Local *l)
{
  guint lowest = LOOM_NONE;
  for (guint i = 0; i < l->ports->len; i++) {
    guint node = g_array_index(l->ports, guint, i);
    if (lowest == LOOM_NONE ||
        l->room->rest->potential_V[node] < l->room->rest->potential_V[lowest])
      lowest = node;
  }
  return lowest;
}

static LoomElement
rail_source(double volts)
{
  return (LoomElement){.type = volts < LEAST_PORT_V ? LOOM_ELEMENT_RESISTOR : LOOM_ELEMENT_SOURCE,
                       .ohm = PORT_OHM,
                       .emf_V = volts,
                       .emf_full_V = NAN,
                       .emf_empty_V = NAN,
                       .capacity_Ah = NAN,
                       .peukert = NAN,
                       .limit_A = NAN,
                       .min_V = NAN,
                       .max_V = NAN,
                       .channel = LOOM_NONE};
}

/* Sources that hold the rails where they are in the sound robot; one element for each. */
static LoomElement *
put_sources(Local *l, guint lowest)
{
  LoomElement *sources = g_new(LoomElement, l->ports->len + 1);
  g_autoptr(GHashTable) held = g_hash_table_new(NULL, NULL);
  for (guint i = 0; i < l->ports->len; i++) {
    guint node = g_array_index(l->ports, guint, i);
    double volts = loom_point_volts(l->room->rest, node, lowest);
    if (node == lowest || !g_hash_table_add(held, GUINT_TO_POINTER(node)))
      continue;
    sources[i] = rail_source(volts);
    guint none = LOOM_NONE;
    g_array_append_val(l->from, none);
    l->network.branches[l->network.n_branches++] = (LoomBranch){.element = &sources[i],
                                                                .part = 0,
                                                                .a = node,
                                                                .b = lowest,
                                                                .c = LOOM_NONE,
                                                                .d = LOOM_NONE,
                                                                .ohm = PORT_OHM,
                                                                .possible = true};
  }
  return sources;
}

/* The sound robot's point, with what was found for these parts. */
static LoomOperatingPoint *
merge(const Local *l, const LoomOperatingPoint *own, guint lowest)
{
  const LoomOperatingPoint *sound = l->room->rest;
  LoomOperatingPoint *point = g_new0(LoomOperatingPoint, 1);
  point->branch = LOOM_NONE;
  point->n_nodes = sound->n_nodes;
  point->potential_V = g_memdup2(sound->potential_V, (sound->n_nodes + 1) * sizeof(double));
  point->sleep = g_new0(LoomSleep, l->faulty->network.n_branches + 1);
  memcpy(point->sleep, sound->sleep, l->room->network->n_branches * sizeof *point->sleep);
  double lift = lowest == LOOM_NONE ? NAN : sound->potential_V[lowest] - own->potential_V[lowest];
  for (guint i = 0; i < l->parts->len; i++) {
    guint p = g_array_index(l->parts, guint, i);
    for (guint n = l->room->w->part_node[p]; n < l->room->w->part_node[p + 1]; n++)
      point->potential_V[n] = own->potential_V[n] + lift;
  }
  for (guint i = 0; i < l->from->len; i++) {
    guint whole = g_array_index(l->from, guint, i);
    if (whole != LOOM_NONE)
      point->sleep[whole] = own->sleep[i];
  }
  return point;
}

static LoomOperatingPoint *
solve_local(Local *l)
{
  const LoomFaultRoom *room = l->room;
  guint most = l->faulty->network.n_branches + room->w->n_touches + 2;
  l->network = *room->network;
  l->network.n_branches = l->network.n_touches = 0;
  l->network.branches = g_new(LoomBranch, most);
  l->network.part_branch = g_new(guint, room->w->n_parts + 1);
  take_touches(l);
  take_parts(l);
  guint lowest = lowest_port(l);
  g_autofree LoomElement *sources = put_sources(l, lowest);
  g_autoptr(LoomSolver) solver = loom_solver_new(&l->network, room->meter.on);
  LoomConditions now = loom_conditions(&l->network);
  LoomOperatingPoint *own = loom_solver_run(solver, &now);
  LoomOperatingPoint *point = own->trouble ? NULL : merge(l, own, lowest);
  loom_point_free(own);
  g_free(l->network.branches);
  g_free(l->network.part_branch);
  return point;
}

LoomOperatingPoint *
loom_fault_solve_local(const LoomFaultRoom *room, LoomFaulty *faulty, const LoomFault *fault)
{
  if (!room->calm || !weakens_only(fault->type) || room->rest->trouble != LOOM_TROUBLE_NONE ||
      (fault->part != LOOM_NONE && fault->joint == LOOM_NONE &&
       is_hub(loom_wiring_part(room->w, fault->part)->kind)))
    return NULL;
  Local l = {room,
             faulty,
             g_new0(bool, room->w->n_parts + 1),
             LOOM_NONE,
             g_array_new(FALSE, FALSE, sizeof(guint)),
             g_array_new(FALSE, FALSE, sizeof(guint))};
  l.from = g_array_new(FALSE, FALSE, sizeof(guint));
  LoomOperatingPoint *point = gather(&l, fault) ? solve_local(&l) : NULL;
  g_free(l.mine);
  g_array_unref(l.parts);
  g_array_unref(l.ports);
  g_array_unref(l.from);
  return point;
}
