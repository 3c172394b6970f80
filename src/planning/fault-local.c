#include "faults-private.h"

#include <math.h>
#include <string.h>

#define CALM_SHARE 0.05   /* of the volts at a port; loads and bins are judged at 10 % and more */
#define PORT_OHM 1e-3     /* of what stands in the place of a port */
#define IDLE_A 1e-6       /* less out of a driver is none */
#define MORE_A 1e-3       /* less more is no more */
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

/* Drivers that are off, or whose load can be taken away without moving what feeds them. */
static void
find_idle(LoomFaultRoom *room, LoomSolver *solver)
{
  room->idle = g_new0(bool, room->network->n_branches + 1);
  for (guint i = room->network->n_touches; i < room->network->n_branches; i++) {
    const LoomBranch *b = &room->network->branches[i];
    double volt, ohm;
    room->idle[i] = b->element->type == LOOM_ELEMENT_DRIVER &&
                    fabs(room->rest->flows[i].c_A) < IDLE_A &&
                    loom_solver_source(solver, b->a, b->b, &volt, &ohm) &&
                    fabs(room->rest->flows[i].a_A) * ohm <= CALM_SHARE * fabs(volt);
  }
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
  find_idle(room, solver);
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

/* What the fault is about itself. */
static bool
begin_with(Local *l, const LoomFault *fault)
{
  const LoomWiring *w = l->room->w;
  bool local = fault->part == LOOM_NONE || visit(l, fault->part);
  guint joints[2] = {LOOM_NONE, LOOM_NONE};
  if (fault->joint != LOOM_NONE)
    joints[0] = l->room->meter.wired[fault->joint];
  if (fault->type == LOOM_FAULT_PORT)
    joints[1] = loom_fault_joint_at(l->room, fault->part, fault->a);
  for (guint i = 0; i < 2; i++)
    if (joints[i] != LOOM_NONE)
      local &= visit(l, w->joints[joints[i]].part_a) && visit(l, w->joints[joints[i]].part_b);
  return local;
}

/* All that can be reached without going through a hub; false where that is the supply itself, or a
 * hub that would notice. */
static bool
gather(Local *l, const LoomFault *fault, const LoomFault *move)
{
  const LoomWiring *w = l->room->w;
  bool port = fault && fault->type == LOOM_FAULT_DEAD_PORT; /* it lies in the hub */
  bool local = (!fault || port || begin_with(l, fault)) && (!move || begin_with(l, move));
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

/* Touches that the fault has made. */
static void
take_made(Local *l)
{
  const LoomFaultRoom *room = l->room;
  for (guint i = room->network->n_branches; i < l->faulty->network.n_branches; i++) {
    const LoomBranch *b = &l->faulty->network.branches[i];
    bool x = l->mine[room->w->node_part[b->a]], y = l->mine[room->w->node_part[b->b]];
    if (!x && !y)
      continue;
    take_branch(l, i);
    guint hub = x ? b->b : b->a;
    if (x != y && is_rail(room, hub))
      g_array_append_val(l->ports, hub);
  }
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

/* Potentials and sleep of the sound robot. New. */
static LoomOperatingPoint *
like_sound(const LoomFaultRoom *room, const LoomFaulty *faulty)
{
  const LoomOperatingPoint *sound = room->rest;
  LoomOperatingPoint *point = g_new0(LoomOperatingPoint, 1);
  point->branch = LOOM_NONE;
  point->n_nodes = sound->n_nodes;
  point->potential_V = g_memdup2(sound->potential_V, (sound->n_nodes + 1) * sizeof(double));
  point->sleep = g_new0(LoomSleep, faulty->network.n_branches + 1);
  memcpy(point->sleep, sound->sleep, room->network->n_branches * sizeof *point->sleep);
  return point;
}

/* What the sound robot's rail gives to these parts, all contacts of its circuit together. */
static double
drawn_before(const Local *l, guint circuit)
{
  const LoomFaultRoom *room = l->room;
  double sum = 0;
  for (guint t = 0; t < room->w->n_touches; t++) {
    const LoomTouch *touch = &room->w->touches[t];
    bool a = l->mine[room->w->node_part[touch->a]], b = l->mine[room->w->node_part[touch->b]];
    guint hub = a ? touch->b : touch->a;
    if (a != b && is_rail(room, hub) && room->inside->circuit[hub] == circuit)
      sum += a ? room->rest->flows[t].b_A : room->rest->flows[t].a_A;
  }
  return sum;
}

/* Whether every rail gives no more than before: then they stay where they are, as all that hangs
 * there is calm, and no limit that did not act can be passed. */
static bool
draws_no_more(const Local *l, const LoomOperatingPoint *own, guint first_source, guint lowest)
{
  const guint *circuit = l->room->inside->circuit;
  for (guint i = first_source; i < l->network.n_branches; i++) {
    guint rail = circuit[l->network.branches[i].a];
    double sum = 0;
    for (guint k = first_source; k < l->network.n_branches; k++)
      sum -= circuit[l->network.branches[k].a] == rail ? own->flows[k].a_A : 0;
    if (rail != circuit[lowest] && fabs(sum) > fabs(drawn_before(l, rail)) + MORE_A)
      return false;
  }
  return true;
}

/* The sound robot's point, with what was found for these parts. */
static LoomOperatingPoint *
merge(const Local *l, const LoomOperatingPoint *own, guint lowest)
{
  const LoomOperatingPoint *sound = l->room->rest;
  LoomOperatingPoint *point = like_sound(l->room, l->faulty);
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
solve_local(Local *l, bool weakens)
{
  const LoomFaultRoom *room = l->room;
  guint most = 2 * l->faulty->network.n_branches + room->w->n_touches + 2;
  l->network = *room->network;
  l->network.n_branches = l->network.n_touches = 0;
  l->network.branches = g_new(LoomBranch, most);
  l->network.part_branch = g_new(guint, room->w->n_parts + 1);
  take_touches(l);
  take_parts(l);
  take_made(l);
  guint lowest = lowest_port(l), first_source = l->network.n_branches;
  g_autofree LoomElement *sources = put_sources(l, lowest);
  g_autoptr(LoomSolver) solver = loom_solver_new(&l->network, room->meter.on);
  LoomConditions now = loom_conditions(&l->network);
  LoomOperatingPoint *own = loom_solver_run(solver, &now);
  bool holds = !own->trouble && (weakens || draws_no_more(l, own, first_source, lowest));
  LoomOperatingPoint *point = holds ? merge(l, own, lowest) : NULL;
  loom_point_free(own);
  g_free(l->network.branches);
  g_free(l->network.part_branch);
  return point;
}

/* Faults that lie in electronics on which others hang, or in nothing that conducts. */
static bool
lies_in_hub(const LoomFaultRoom *room, const LoomFault *fault)
{
  return fault->part != LOOM_NONE && fault->joint == LOOM_NONE &&
         is_hub(loom_wiring_part(room->w, fault->part)->kind);
}

static bool
is_idle(const LoomFaultRoom *room, const LoomFault *fault)
{
  return fault->type == LOOM_FAULT_DEAD_PORT &&
         (fault->b == LOOM_NONE || room->idle[room->network->part_branch[fault->part] + fault->b]);
}

LoomOperatingPoint *
loom_fault_solve_local(const LoomFaultRoom *room, LoomFaulty *faulty, const LoomFault *fault,
                       const LoomFault *move)
{
  if (!room->calm || room->rest->trouble != LOOM_TROUBLE_NONE)
    return NULL;
  if (fault && lies_in_hub(room, fault) && !is_idle(room, fault))
    return NULL;
  if (fault && !move && fault->type == LOOM_FAULT_DEAD_PORT)
    return like_sound(room, faulty);
  Local l = {room,
             faulty,
             g_new0(bool, room->w->n_parts + 1),
             LOOM_NONE,
             g_array_new(FALSE, FALSE, sizeof(guint)),
             g_array_new(FALSE, FALSE, sizeof(guint))};
  l.from = g_array_new(FALSE, FALSE, sizeof(guint));
  bool weakens = fault && !move && weakens_only(fault->type);
  LoomOperatingPoint *point = gather(&l, fault, move) ? solve_local(&l, weakens) : NULL;
  g_free(l.mine);
  g_array_unref(l.parts);
  g_array_unref(l.ports);
  g_array_unref(l.from);
  return point;
}
