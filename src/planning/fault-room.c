#include "faults-private.h"

#include <math.h>
#include <string.h>

static void
set_branch(LoomFaulty *f, guint branch, LoomBranch with)
{
  f->network.branches[branch] = with;
}

/* Breaks a branch: what stands there now joins nothing. */
static void
cut(LoomFaulty *f, const LoomFaultRoom *room, guint branch)
{
  guint a = f->network.branches[branch].a, part = f->network.branches[branch].part;
  set_branch(f, branch,
             (LoomBranch){.element = branch < room->network->n_touches ? NULL : &room->cut,
                          .part = part,
                          .a = a,
                          .b = a,
                          .c = LOOM_NONE,
                          .d = LOOM_NONE,
                          .ohm = 1,
                          .possible = true});
}

static void
join(LoomFaulty *f, const LoomFaultRoom *room, guint a, guint b)
{
  LoomNetwork *n = &f->network;
  n->branches = g_renew(LoomBranch, n->branches, n->n_branches + 2);
  n->branches[n->n_branches++] = (LoomBranch){.element = &room->link,
                                              .part = 0,
                                              .a = a,
                                              .b = b,
                                              .c = LOOM_NONE,
                                              .d = LOOM_NONE,
                                              .ohm = room->link.ohm,
                                              .possible = true};
}

static void
cut_joint(LoomFaulty *f, const LoomFaultRoom *room, guint wired)
{
  for (guint t = 0; t < room->w->n_touches; t++)
    if (room->w->touches[t].wired == wired)
      cut(f, room, t);
}

static LoomSlip
as_slip(const LoomFault *fault)
{
  static const LoomSlipType types[] = {[LOOM_FAULT_TURNED] = LOOM_SLIP_TURNED,
                                       [LOOM_FAULT_SHIFTED] = LOOM_SLIP_SHIFTED,
                                       [LOOM_FAULT_PORT] = LOOM_SLIP_CROSSED,
                                       [LOOM_FAULT_REVERSED] = LOOM_SLIP_SWAPPED};
  return (LoomSlip){.type = types[fault->type],
                    .joint = fault->joint,
                    .part = fault->part,
                    .end = fault->end,
                    .a = fault->a,
                    .b = fault->b,
                    .other = fault->a,
                    .rated_A = NAN};
}

static guint64
touch_key(const LoomTouch *t)
{
  return (guint64)t->a << 32 | t->b;
}

/* Touches that are no longer there are cut, new ones joined. */
static void
replug(LoomFaulty *f, const LoomFaultRoom *room, const LoomFault *fault)
{
  LoomSlip slip = as_slip(fault);
  g_autoptr(GArray) touches = loom_meter_touches(&room->meter, LOOM_METER_POWERED, &slip);
  g_autoptr(GHashTable) now = g_hash_table_new_full(g_int64_hash, g_int64_equal, g_free, NULL);
  g_autoptr(GHashTable) drawn = g_hash_table_new_full(g_int64_hash, g_int64_equal, g_free, NULL);
  for (guint i = 0; i < touches->len; i++) {
    guint64 k = touch_key(&g_array_index(touches, LoomTouch, i));
    g_hash_table_add(now, g_memdup2(&k, sizeof k));
  }
  for (guint i = 0; i < room->w->n_touches; i++) {
    guint64 k = touch_key(&room->w->touches[i]);
    g_hash_table_add(drawn, g_memdup2(&k, sizeof k));
    if (!g_hash_table_contains(now, &k))
      cut(f, room, i);
  }
  for (guint i = 0; i < touches->len; i++) {
    const LoomTouch *t = &g_array_index(touches, LoomTouch, i);
    guint64 k = touch_key(t);
    if (!g_hash_table_contains(drawn, &k))
      join(f, room, t->a, t->b);
  }
}

static void
swap_wires(LoomFaulty *f, const LoomFaultRoom *room, const LoomFault *fault)
{
  LoomSlip slip = as_slip(fault);
  LoomOhmsChange change = loom_meter_change(&room->meter, &slip);
  const LoomNetwork *n = &f->network;
  for (guint i = n->part_branch[fault->part]; i < n->part_branch[fault->part + 1]; i++) {
    n->branches[i].a = loom_ohms_swapped(&change, fault->part, n->branches[i].a);
    n->branches[i].b = loom_ohms_swapped(&change, fault->part, n->branches[i].b);
  }
}

static void
kill_part(LoomFaulty *f, const LoomFaultRoom *room, guint part)
{
  f->dead[part] = true;
  for (guint i = room->network->part_branch[part]; i < room->network->part_branch[part + 1]; i++) {
    LoomElementType type = room->network->branches[i].element->type;
    if (type > LOOM_ELEMENT_FUSE && type != LOOM_ELEMENT_SOURCE)
      cut(f, room, i);
  }
}

static void
open_switches(LoomFaulty *f, const LoomFaultRoom *room, guint part)
{
  for (guint i = room->network->part_branch[part]; i < room->network->part_branch[part + 1]; i++)
    if (room->network->branches[i].element->type == LOOM_ELEMENT_SWITCH)
      cut(f, room, i);
}

static void
open_contact(LoomFaulty *f, const LoomFaultRoom *room, const LoomFault *fault)
{
  guint node = loom_wiring_node(room->w, fault->part, fault->end, fault->a);
  guint wired = room->meter.wired[fault->joint];
  for (guint t = 0; t < room->w->n_touches; t++)
    if (room->w->touches[t].wired == wired && room->w->touches[t].a == node)
      cut(f, room, t);
}

static void
loosen(LoomFaulty *f, const LoomFaultRoom *room, guint wired)
{
  for (guint t = 0; t < room->w->n_touches; t++)
    if (room->w->touches[t].wired == wired)
      f->network.branches[t].ohm += LOOM_FAULT_LOOSE_OHM;
}

static void
put_in(LoomFaulty *f, const LoomFaultRoom *room, const LoomFault *fault)
{
  guint branch = fault->part == LOOM_NONE || fault->a == LOOM_NONE
                     ? LOOM_NONE
                     : room->network->part_branch[fault->part] + fault->a;
  switch (fault->type) {
  case LOOM_FAULT_OUT:
    cut_joint(f, room, room->meter.wired[fault->joint]);
    break;
  case LOOM_FAULT_CONTACT:
    open_contact(f, room, fault);
    break;
  case LOOM_FAULT_LOOSE:
    loosen(f, room, room->meter.wired[fault->joint]);
    break;
  case LOOM_FAULT_TURNED:
  case LOOM_FAULT_SHIFTED:
  case LOOM_FAULT_PORT:
    replug(f, room, fault);
    break;
  case LOOM_FAULT_REVERSED:
    swap_wires(f, room, fault);
    break;
  case LOOM_FAULT_SHORT:
    join(f, room, loom_wiring_node(room->w, fault->part, fault->end, fault->a),
         loom_wiring_node(room->w, fault->part, fault->end, fault->b));
    break;
  case LOOM_FAULT_OFF:
    open_switches(f, room, fault->part);
    break;
  case LOOM_FAULT_WIRE:
  case LOOM_FAULT_BLOWN:
  case LOOM_FAULT_SWITCH:
  case LOOM_FAULT_PACK:
    cut(f, room, branch);
    break;
  case LOOM_FAULT_FLAT:
    f->charges[branch] = 0;
    f->network.branches[branch].ohm *= LOOM_FAULT_FLAT_OHM;
    break;
  case LOOM_FAULT_PART:
    kill_part(f, room, fault->part);
    break;
  case LOOM_FAULT_ADDRESS:
    f->clash_a = fault->part;
    f->clash_b = fault->a;
    break;
  case LOOM_FAULT_BACKWARDS:
    f->backwards = fault->part;
    break;
  }
}

static LoomOperatingPoint *
solve(LoomFaulty *f, const LoomState *state)
{
  g_autoptr(LoomSolver) solver = loom_solver_new(&f->network, state);
  LoomConditions now = loom_conditions(&f->network);
  now.charge = LOOM_FAULT_CHARGE;
  now.charges = f->charges;
  return loom_solver_run(solver, &now);
}

static bool
sleeps(const LoomFaulty *f, const LoomFaultRoom *room, const LoomOperatingPoint *point)
{
  if (point->trouble != LOOM_TROUBLE_NONE)
    return true;
  for (guint i = room->network->n_touches; i < room->network->n_branches; i++) {
    const LoomBranch *b = &room->network->branches[i];
    if (loom_wiring_part(room->w, b->part)->kind->group == LOOM_GROUP_CONTROLLER &&
        !f->dead[b->part] && f->awake[b->part] && point->sleep[i] != LOOM_AWAKE)
      return true;
  }
  return false;
}

static void
copy_network(LoomFaulty *f, const LoomFaultRoom *room)
{
  guint n = room->network->n_branches;
  f->network = *room->network;
  f->network.branches = g_memdup2(room->network->branches, (n + 1) * sizeof(LoomBranch));
  f->charges = g_new(double, n + 3);
  for (guint i = 0; i < n + 3; i++)
    f->charges[i] = NAN;
  f->dead = g_new0(bool, room->w->n_parts + 1);
  f->clash_a = f->clash_b = f->backwards = LOOM_NONE;
}

/* Room for the figures of branches that a fault has added. */
static void
stretch_charges(LoomFaulty *f, guint from)
{
  f->charges = g_renew(double, f->charges, f->network.n_branches + 1);
  for (guint i = from; i < f->network.n_branches; i++)
    f->charges[i] = NAN;
}

/* Behind a controller, a load that is taken away asks for less: nothing starts again for it. */
static bool
may_restart(const LoomFaultRoom *room, const LoomFault *fault)
{
  if (!fault || loom_fault_in_supply(room, fault))
    return true;
  switch (fault->type) {
  case LOOM_FAULT_OUT:
  case LOOM_FAULT_CONTACT:
  case LOOM_FAULT_LOOSE:
  case LOOM_FAULT_WIRE:
  case LOOM_FAULT_PART:
  case LOOM_FAULT_ADDRESS:
  case LOOM_FAULT_BACKWARDS:
    return false;
  default:
    return true;
  }
}

/* What is dark cannot start again. */
static bool
any_controller_awake(const LoomFaulty *f, const LoomFaultRoom *room)
{
  for (guint p = 0; p < room->w->n_parts; p++)
    if (loom_wiring_part(room->w, p)->kind->group == LOOM_GROUP_CONTROLLER && f->awake[p])
      return true;
  return false;
}

void
loom_faulty_init(LoomFaulty *f, const LoomFaultRoom *room, const LoomFault *fault)
{
  *f = (LoomFaulty){.rest = NULL};
  copy_network(f, room);
  if (fault)
    put_in(f, room, fault);
  stretch_charges(f, room->network->n_branches);
  f->rest = fault && room->calm ? loom_fault_solve_local(room, f, fault) : NULL;
  if (!f->rest && fault)
    f->rest = loom_fault_solve_cut(room, f, fault);
  if (!f->rest)
    f->rest = solve(f, room->meter.on);
  loom_faulty_behave(f, room);
  if (!room->work || !any_controller_awake(f, room) || !may_restart(room, fault))
    return;
  g_autoptr(LoomOperatingPoint) work = solve(f, room->work);
  f->restarts = f->rest->trouble == LOOM_TROUBLE_NONE && sleeps(f, room, work);
}

void
loom_faulty_clear(LoomFaulty *f)
{
  g_free(f->network.branches);
  g_free(f->charges);
  g_free(f->dead);
  g_free(f->circuit);
  g_free(f->sides);
  g_free(f->awake);
  loom_point_free(f->rest);
}

static bool
node_in_supply(const LoomFaultRoom *room, guint node)
{
  return room->meter.stages->node_supply[node] != LOOM_NONE;
}

bool
loom_fault_part_in_supply(const LoomFaultRoom *room, guint part)
{
  for (guint n = room->w->part_node[part]; n < room->w->part_node[part + 1]; n++)
    if (node_in_supply(room, n))
      return true;
  return false;
}

bool
loom_fault_in_supply(const LoomFaultRoom *room, const LoomFault *fault)
{
  if (fault->part != LOOM_NONE && loom_fault_part_in_supply(room, fault->part))
    return true;
  if (fault->joint == LOOM_NONE)
    return false;
  const LoomWiredJoint *j = &room->w->joints[room->meter.wired[fault->joint]];
  return loom_fault_part_in_supply(room, j->part_a) || loom_fault_part_in_supply(room, j->part_b);
}

/* ---- the room ---- */

/* Volts that the neediest controller keeps above its lock-out in the state. */
static double
reserve_V(LoomFaultRoom *room, const LoomState *state)
{
  g_autoptr(LoomSolver) solver = loom_solver_new(room->network, state);
  LoomConditions now = loom_conditions(room->network);
  now.charge = LOOM_FAULT_CHARGE;
  g_autoptr(LoomOperatingPoint) point = loom_solver_run(solver, &now);
  double least = INFINITY;
  for (guint i = room->network->n_touches; i < room->network->n_branches; i++) {
    const LoomBranch *b = &room->network->branches[i];
    if (loom_wiring_part(room->w, b->part)->kind->group == LOOM_GROUP_CONTROLLER &&
        b->element->lockout_V > 0)
      least = fmin(least, loom_point_volts(point, b->a, b->b) - b->element->lockout_V);
  }
  return point->trouble ? -INFINITY : least;
}

/* The hardest state in which a sound robot still works. */
static void
choose_work(LoomFaultRoom *room, guint scene)
{
  const LoomScene *s = loom_design_scene(room->design, scene);
  double least = INFINITY;
  for (guint i = 0; i < s->n_states; i++) {
    LoomState *on = loom_meter_state_on(&room->meter, &s->states[i]);
    double reserve = reserve_V(room, on);
    if (reserve > 0 && reserve < least) {
      least = reserve;
      room->heavy = &s->states[i];
    }
    loom_meter_state_free(on);
  }
  if (room->heavy)
    room->work = loom_meter_state_on(&room->meter, room->heavy);
}

void
loom_fault_room_init(LoomFaultRoom *room, const LoomDesign *design, guint scene)
{
  *room = (LoomFaultRoom){.design = design};
  loom_meter_room_init(&room->meter, design, scene, NULL);
  room->w = room->meter.w;
  loom_meter_list_slips(&room->meter);
  room->network = loom_network_new(room->w);
  room->cut = room->link = (LoomElement){
      .type = LOOM_ELEMENT_RESISTOR, .ohm = 1, .min_V = NAN, .max_V = NAN, .channel = LOOM_NONE};
  room->link.ohm = 1e-3;
  room->inside = loom_circuits_new(
      room->w, NULL, LOOM_THROUGH_SWITCHES | LOOM_THROUGH_FUSES | LOOM_WITHOUT_JOINTS);
  room->answerers = g_array_new(FALSE, FALSE, sizeof(LoomAnswerer));
  choose_work(room, scene);
}

void
loom_fault_room_clear(LoomFaultRoom *room)
{
  if (room->work)
    loom_meter_state_free(room->work);
  loom_point_free(room->rest);
  g_free(room->sides);
  g_free(room->calm);
  g_free(room->stir);
  loom_circuits_free(room->inside);
  g_array_unref(room->answerers);
  loom_network_free(room->network);
  g_array_unref(room->meter.readings);
  g_array_unref(room->meter.slips);
  loom_meter_room_clear(&room->meter);
}
