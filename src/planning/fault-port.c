/* A plug moved into another port of its controller: where it works there, the fault was its own
 * port, or that it was not plugged right. */
#include "faults-private.h"

guint
loom_fault_joint_at(const LoomFaultRoom *room, guint part, guint end)
{
  guint at = loom_wiring_end(room->w, part, end), first = room->w->end_first[at];
  return first < room->w->end_first[at + 1] ? room->w->end_joints[first] : LOOM_NONE;
}

static bool
same_plug_fits(const LoomEnd *a, const LoomEnd *b)
{
  if (a == b || a->family != b->family || a->gender != b->gender || a->n_contacts != b->n_contacts)
    return false;
  for (guint c = 0; c < a->n_contacts; c++)
    if (a->contacts[c].role != b->contacts[c].role || a->contacts[c].way != b->contacts[c].way)
      return false;
  return true;
}

/* Whether the channels are of one type and lie on the same contacts of their ends. */
static bool
same_place(const LoomKind *kind, const LoomChannel *x, const LoomChannel *y)
{
  if (!g_str_equal(x->type, y->type) || x->n_nodes != y->n_nodes)
    return false;
  for (guint i = 0; i < x->n_nodes; i++)
    if (x->nodes[i] - kind->ends[x->end].first_node != y->nodes[i] - kind->ends[y->end].first_node)
      return false;
  return true;
}

guint
loom_fault_other_port(const LoomFaultRoom *room, const LoomAnswerer *a)
{
  const LoomKind *kind = loom_wiring_part(room->w, a->controller)->kind;
  const LoomChannel *own = &kind->channels[a->channel];
  guint wired = loom_fault_joint_at(room, a->controller, own->end), used = LOOM_NONE;
  if (wired == LOOM_NONE || room->w->joints[wired].mate != LOOM_MATE_YES)
    return LOOM_NONE;
  for (guint c = 0; c < kind->n_channels; c++) {
    const LoomChannel *other = &kind->channels[c];
    if (!same_plug_fits(&kind->ends[own->end], &kind->ends[other->end]) ||
        !same_place(kind, own, other))
      continue;
    if (loom_wiring_n_joints_at(room->w, a->controller, other->end) == 0)
      return c;
    if (used == LOOM_NONE)
      used = c;
  }
  return used;
}

/* Plugging anew puts right how the plug sat. */
static bool
is_replugged(const LoomTest *test, const LoomFault *fault)
{
  switch (fault->type) {
  case LOOM_FAULT_OUT:
  case LOOM_FAULT_TURNED:
  case LOOM_FAULT_SHIFTED:
    return fault->joint == test->joint;
  case LOOM_FAULT_PORT:
    return fault->joint == test->joint || (fault->part == test->part && fault->a == test->from);
  default:
    return false;
  }
}

guint
loom_fault_port_outcome(const LoomFaultRoom *room, const LoomTest *test, const LoomFault *fault,
                        const LoomFaulty *faulty)
{
  guint asked = loom_fault_find_answerer(room, test->mover, test->device);
  if (!fault || asked == LOOM_NONE || !faulty->awake[test->part] ||
      loom_faulty_answer(faulty, room, asked) == 0)
    return 0;
  const LoomAnswerer *a = &g_array_index(room->answerers, LoomAnswerer, asked);
  const LoomFault move = {.type = LOOM_FAULT_PORT,
                          .joint = test->joint,
                          .part = test->part,
                          .end = test->from,
                          .a = test->end,
                          .b = LOOM_NONE};
  LoomFaulty moved;
  loom_faulty_init_moved(&moved, room, is_replugged(test, fault) ? NULL : fault, &move);
  guint answer = loom_faulty_answer_on(&moved, room, asked, loom_fault_other_port(room, a));
  loom_faulty_clear(&moved);
  return answer == 0;
}
