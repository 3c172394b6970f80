#include "faults-private.h"

#include <math.h>

guint
loom_fault_volts_outcome(const LoomTest *test, double volts)
{
  double share = volts / test->expected_V;
  if (share < -0.2)
    return 3;
  if (share < 0.2)
    return 2;
  return share < 0.9 ? 1 : share > 1.15 ? 4 : 0;
}

/* Looking shows where every plug sits. */
static guint
look(const LoomFaultRoom *room, const LoomTest *test, const LoomFault *fault)
{
  if (!fault || fault->joint == LOOM_NONE)
    return 0;
  bool here = fault->joint == test->joint;
  if (fault->type == LOOM_FAULT_PORT && !here) { /* the other one of an exchanged pair */
    const LoomWiredJoint *j = &room->w->joints[room->meter.wired[test->joint]];
    here = (j->part_a == fault->part && j->end_a == fault->a) ||
           (j->part_b == fault->part && j->end_b == fault->a);
  }
  if (!here)
    return 0;
  switch (fault->type) {
  case LOOM_FAULT_OUT:
    return 1;
  case LOOM_FAULT_TURNED:
    return 2;
  case LOOM_FAULT_SHIFTED:
    return 3;
  case LOOM_FAULT_PORT:
    return 4;
  default:
    return 0;
  }
}

static guint
root(guint *parent, guint node)
{
  while (parent[node] != node)
    node = parent[node] = parent[parent[node]];
  return node;
}

/* Circuits of the part alone, its switch closed: [nodes of its kind]. New. */
static guint *
circuits_alone(const LoomFaultRoom *room, guint part, const LoomNetwork *network)
{
  guint first = room->w->part_node[part], n = room->w->part_node[part + 1] - first;
  guint *parent = g_new(guint, n + 1);
  for (guint i = 0; i < n; i++)
    parent[i] = i;
  for (guint i = room->network->n_touches; i < network->n_branches; i++) {
    const LoomBranch *b = &network->branches[i];
    bool link = i >= room->network->n_branches;
    bool inside = b->a - first < n && b->b - first < n;
    if (inside && (link || b->element->type <= LOOM_ELEMENT_FUSE))
      parent[root(parent, b->a - first)] = root(parent, b->b - first);
  }
  for (guint i = 0; i < n; i++)
    parent[i] = root(parent, i);
  return parent;
}

/* A lead that lies on the bench, contact against contact: 0 as it should, 1 something is open, 2
 * something is joined, 3 both: exchanged. */
static guint
through_lead(const LoomFaultRoom *room, guint part, const LoomFaulty *faulty)
{
  guint n = room->w->part_node[part + 1] - room->w->part_node[part];
  g_autofree guint *sound = circuits_alone(room, part, room->network);
  g_autofree guint *now = circuits_alone(room, part, &faulty->network);
  bool open = false, joined = false;
  for (guint i = 0; i < n; i++)
    for (guint k = 0; k < i; k++) {
      open |= sound[i] == sound[k] && now[i] != now[k];
      joined |= sound[i] != sound[k] && now[i] == now[k];
    }
  return (open ? 1 : 0) + (joined ? 2 : 0);
}

static bool
is_at(const LoomFault *fault, LoomFaultType type, guint part)
{
  return fault && fault->type == type && fault->part == part;
}

/* Another one in its place makes good whatever was wrong inside it. */
static bool
is_cured(const LoomFault *fault, guint part)
{
  return is_at(fault, LOOM_FAULT_PART, part) || is_at(fault, LOOM_FAULT_SWITCH, part) ||
         is_at(fault, LOOM_FAULT_FLAT, part) || is_at(fault, LOOM_FAULT_PACK, part) ||
         is_at(fault, LOOM_FAULT_DEAD_PORT, part);
}

static guint
roll(const LoomFaultRoom *room, const LoomTest *test, const LoomFaulty *faulty)
{
  guint asked = loom_fault_find_answerer(room, test->part, test->device);
  guint answer = asked == LOOM_NONE ? 0 : loom_faulty_answer(faulty, room, asked);
  if (answer < 3)
    return answer;
  g_autoptr(GArray) rivals = loom_fault_rivals(room, asked);
  for (guint i = 0; i < rivals->len; i++)
    if (g_array_index(rivals, guint, i) == answer - 3)
      return 3 + i;
  return 2;
}

static bool
has_address(const LoomFault *fault, guint part)
{
  return fault && fault->type == LOOM_FAULT_ADDRESS && (fault->part == part || fault->a == part);
}

guint
loom_fault_outcome(const LoomFaultRoom *room, const LoomTest *test, const LoomFault *fault,
                   const LoomFaulty *faulty)
{
  switch (test->type) {
  case LOOM_TEST_LAMP:
    return faulty->awake[test->part] ? 0 : 1;
  case LOOM_TEST_ROLL:
    return roll(room, test, faulty);
  case LOOM_TEST_RESTART:
    return faulty->restarts;
  case LOOM_TEST_LOOK:
    return look(room, test, fault);
  case LOOM_TEST_WIGGLE:
    return fault && fault->type == LOOM_FAULT_LOOSE && fault->joint == test->joint;
  case LOOM_TEST_FUSE:
    return is_at(fault, LOOM_FAULT_BLOWN, test->part);
  case LOOM_TEST_SWITCH:
    return is_at(fault, LOOM_FAULT_OFF, test->part);
  case LOOM_TEST_ADDRESS:
    return has_address(fault, test->part);
  case LOOM_TEST_FREE:
    return faulty->rest->trouble
               ? 2
               : loom_fault_volts_outcome(test, loom_fault_volts(room, test, faulty->rest));
  case LOOM_TEST_PACK:
    if (!fault || fault->part != test->part)
      return 0;
    return loom_fault_volts_outcome(test, loom_fault_volts_apart(room, test, fault, faulty));
  case LOOM_TEST_OPENED:
    if (!fault || !loom_fault_in_supply(room, fault))
      return 0;
    return loom_fault_volts_outcome(test, loom_fault_volts_apart(room, test, fault, faulty));
  case LOOM_TEST_LEAD:
    return fault && fault->part == test->part ? through_lead(room, test->part, faulty) : 0;
  case LOOM_TEST_EXCHANGE:
    return is_cured(fault, test->part);
  case LOOM_TEST_PORT:
    return loom_fault_port_outcome(room, test, fault, faulty);
  }
  return 0;
}
