/* A fault put into the network of the sound robot. */
#include "faults-private.h"

#include <math.h>

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

static LoomBranch *
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
  return &n->branches[n->n_branches - 1];
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

/* What is wrong at a plug goes with it into another port: a crimp that has slipped, sockets that
 * are worn (they fail in plugs rather than in ports; common practice, no source). */
static void
join_touch(LoomFaulty *f, const LoomFaultRoom *room, const LoomTouch *t, const LoomFault *carried)
{
  bool with =
      carried && carried->joint != LOOM_NONE && room->meter.wired[carried->joint] == t->wired;
  if (with && carried->type == LOOM_FAULT_CONTACT) {
    guint bad = loom_wiring_node(room->w, carried->part, carried->end, carried->a);
    for (guint i = 0; i < room->w->n_touches; i++) {
      const LoomTouch *drawn = &room->w->touches[i];
      if (drawn->wired == t->wired && drawn->a == bad && (t->a == bad || t->a == drawn->b))
        return;
    }
  }
  LoomBranch *branch = join(f, room, t->a, t->b);
  if (with && carried->type == LOOM_FAULT_LOOSE)
    branch->ohm += LOOM_FAULT_LOOSE_OHM;
}

static bool
has_touch(const LoomTouch *touches, guint n, const LoomTouch *t)
{
  for (guint i = 0; i < n; i++)
    if (touches[i].wired == t->wired && touches[i].a == t->a && touches[i].b == t->b)
      return true;
  return false;
}

/* Of the joints that the slip is about, touches that are no longer there are cut, new ones joined.
 */
static void
replug(LoomFaulty *f, const LoomFaultRoom *room, const LoomSlip *slip, const LoomFault *carried)
{
  g_autoptr(GArray) touches = loom_meter_touches(&room->meter, LOOM_METER_POWERED, slip);
  const LoomTouch *now = (const LoomTouch *)touches->data, *drawn = room->w->touches;
  guint own = room->meter.wired[slip->joint], n_drawn = room->w->n_touches;
  guint second = slip->type == LOOM_SLIP_CROSSED
                     ? loom_fault_joint_at(room, slip->part, slip->other)
                     : LOOM_NONE;
  for (guint i = 0; i < n_drawn; i++)
    if ((drawn[i].wired == own || drawn[i].wired == second) &&
        !has_touch(now, touches->len, &drawn[i]))
      cut(f, room, i);
  for (guint i = 0; i < touches->len; i++)
    if ((now[i].wired == own || now[i].wired == second) && !has_touch(drawn, n_drawn, &now[i]))
      join_touch(f, room, &now[i], carried);
}

void
loom_faulty_move_plug(LoomFaulty *f, const LoomFaultRoom *room, const LoomFault *move,
                      const LoomFault *carried)
{
  LoomSlip slip = as_slip(move);
  replug(f, room, &slip, carried);
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

void
loom_faulty_put_in(LoomFaulty *f, const LoomFaultRoom *room, const LoomFault *fault)
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
    loom_faulty_move_plug(f, room, fault, NULL);
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
  case LOOM_FAULT_DEAD_PORT:
    f->dead_controller = fault->part;
    f->dead_channel = fault->a;
    if (fault->b != LOOM_NONE)
      cut(f, room, room->network->part_branch[fault->part] + fault->b);
    break;
  }
}
