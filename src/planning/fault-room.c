#include "faults-private.h"

#include <math.h>
#include <string.h>

static LoomOperatingPoint *
solve_whole(const LoomFaulty *f, const LoomState *state)
{
  g_autoptr(LoomSolver) solver = loom_solver_new(&f->network, state);
  LoomConditions now = loom_conditions(&f->network);
  now.charge = LOOM_FAULT_CHARGE;
  now.charges = f->charges;
  return loom_solver_run(solver, &now);
}

static LoomOperatingPoint *
solve(const LoomFaulty *f, const LoomFaultRoom *room, const LoomState *state)
{
  if (!room->idle)
    return solve_whole(f, state);
  g_autofree bool *keep = g_new(bool, f->network.n_branches + 1);
  for (guint i = 0; i < f->network.n_branches; i++)
    keep[i] = true;
  LoomPruned pruned;
  loom_fault_prune(&pruned, &f->network, f->charges, keep, LOOM_NONE, LOOM_NONE);
  LoomOperatingPoint *point = loom_fault_solve_pruned(&pruned, state);
  loom_fault_pruned_clear(&pruned);
  return point;
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
  f->clash_a = f->clash_b = f->backwards = f->dead_controller = f->dead_channel = LOOM_NONE;
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
  case LOOM_FAULT_DEAD_PORT:
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

/* At rest: by itself, by the graph, otherwise as a whole. */
static void
settle(LoomFaulty *f, const LoomFaultRoom *room, const LoomFault *fault, const LoomFault *move)
{
  stretch_charges(f, room->network->n_branches);
  f->rest = room->calm && (fault || move) ? loom_fault_solve_local(room, f, fault, move) : NULL;
  if (!f->rest && fault && !move)
    f->rest = loom_fault_solve_cut(room, f, fault);
  if (!f->rest)
    f->rest = solve(f, room, room->meter.on);
  loom_faulty_behave(f, room);
}

void
loom_faulty_init(LoomFaulty *f, const LoomFaultRoom *room, const LoomFault *fault)
{
  *f = (LoomFaulty){.rest = NULL};
  copy_network(f, room);
  if (fault)
    loom_faulty_put_in(f, room, fault);
  settle(f, room, fault, NULL);
  if (!room->work || !any_controller_awake(f, room) || !may_restart(room, fault))
    return;
  g_autoptr(LoomOperatingPoint) work = solve(f, room, room->work);
  f->restarts = f->rest->trouble == LOOM_TROUBLE_NONE && sleeps(f, room, work);
}

void
loom_faulty_init_moved(LoomFaulty *f, const LoomFaultRoom *room, const LoomFault *fault,
                       const LoomFault *move)
{
  *f = (LoomFaulty){.rest = NULL};
  copy_network(f, room);
  if (fault)
    loom_faulty_put_in(f, room, fault);
  loom_faulty_move_plug(f, room, move, fault);
  settle(f, room, fault, move);
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
  if (fault->type == LOOM_FAULT_DEAD_PORT)
    return false;
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
    loom_state_free(on);
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
    loom_state_free(room->work);
  loom_point_free(room->rest);
  g_free(room->sides);
  g_free(room->calm);
  g_free(room->stir);
  g_free(room->idle);
  loom_circuits_free(room->inside);
  g_array_unref(room->answerers);
  loom_network_free(room->network);
  g_array_unref(room->meter.readings);
  g_array_unref(room->meter.slips);
  loom_meter_room_clear(&room->meter);
}
