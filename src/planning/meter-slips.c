#include "meter-private.h"

#include "electric/circuit.h"
#include "electric/fuse.h"

#include <math.h>

/* ---- touches, as drawn and with a slip ---- */

static const LoomEnd *
end_at(const LoomMeterRoom *room, guint part, guint end)
{
  return &loom_wiring_part(room->w, part)->kind->ends[end];
}

static bool
is_plugged(const LoomMeterRoom *room, guint wired, LoomMeterWhen when)
{
  const LoomJointStage *joint = &room->stages->joints[wired];
  switch (when) {
  case LOOM_METER_PACK:
    return false;
  case LOOM_METER_ON:
  case LOOM_METER_OFF:
    return !joint->source && joint->side != LOOM_SIDE_FEEDS;
  case LOOM_METER_TRIAL:
    return joint->side != LOOM_SIDE_FEEDS && (!joint->source || room->stages->tried[joint->supply]);
  case LOOM_METER_POWERED:
    break;
  }
  return true;
}

static void
touch(const LoomMeterRoom *room, GArray *touches, guint wired, guint part_a, guint end_a,
      guint part_b, guint end_b, LoomFit fit)
{
  const LoomEnd *a = end_at(room, part_a, end_a), *b = end_at(room, part_b, end_b);
  for (guint c = 0; c < a->n_contacts; c++) {
    guint met = loom_fit_meets(a, c, b, fit);
    if (met == LOOM_NONE)
      continue;
    LoomTouch t = {loom_wiring_node(room->w, part_a, end_a, c),
                   loom_wiring_node(room->w, part_b, end_b, met), wired};
    g_array_append_val(touches, t);
  }
}

/* The joint of the wiring that is plugged at the end; LOOM_NONE where none is. */
static guint
joint_at(const LoomMeterRoom *room, guint part, guint end)
{
  guint at = loom_wiring_end(room->w, part, end), first = room->w->end_first[at];
  return first < room->w->end_first[at + 1] ? room->w->end_joints[first] : LOOM_NONE;
}

/* What the joint at `end` of the port's part has on its other side now sits at `to`. */
static void
touch_moved(const LoomMeterRoom *room, GArray *touches, guint wired, guint part, guint end,
            guint to)
{
  const LoomWiredJoint *j = &room->w->joints[wired];
  if (j->mate != LOOM_MATE_YES)
    return;
  bool port_is_a = j->part_a == part && j->end_a == end;
  touch(room, touches, wired, port_is_a ? j->part_b : j->part_a, port_is_a ? j->end_b : j->end_a,
        part, to, LOOM_FIT_NORMAL);
}

/* Touches of the slip's own joint, in place of those that are drawn. */
static void
touch_slip(const LoomMeterRoom *room, GArray *touches, guint wired, const LoomSlip *slip)
{
  const LoomWiredJoint *j = &room->w->joints[wired];
  if (slip->type == LOOM_SLIP_CROSSED)
    touch_moved(room, touches, wired, slip->part, slip->end, slip->other);
  else if (slip->type != LOOM_SLIP_LEFT_OUT)
    touch(room, touches, wired, j->part_a, j->end_a, j->part_b, j->end_b,
          slip->type == LOOM_SLIP_TURNED ? LOOM_FIT_TURNED : LOOM_FIT_SHIFTED);
}

static bool
replaces_touches(const LoomSlip *slip)
{
  return slip && slip->type != LOOM_SLIP_SWAPPED && slip->type != LOOM_SLIP_SHORT &&
         slip->type != LOOM_SLIP_FUSE;
}

/* The second joint that a crossed pair is about; LOOM_NONE where the other port is free. */
static guint
crossed_with(const LoomMeterRoom *room, const LoomSlip *slip)
{
  return slip && slip->type == LOOM_SLIP_CROSSED ? joint_at(room, slip->part, slip->other)
                                                 : LOOM_NONE;
}

void
loom_meter_slip_touches(const LoomMeterRoom *room, LoomMeterWhen when, const LoomSlip *slip,
                        GArray *touches)
{
  guint own = replaces_touches(slip) ? room->wired[slip->joint] : LOOM_NONE;
  guint second = crossed_with(room, slip);
  if (own != LOOM_NONE && is_plugged(room, own, when))
    touch_slip(room, touches, own, slip);
  if (second != LOOM_NONE && is_plugged(room, second, when))
    touch_moved(room, touches, second, slip->part, slip->other, slip->end);
  if (slip && slip->type == LOOM_SLIP_SHORT) {
    LoomTouch strand = {loom_wiring_node(room->w, slip->part, slip->end, slip->a),
                        loom_wiring_node(room->w, slip->part, slip->end, slip->b),
                        room->wired[slip->joint]};
    g_array_append_val(touches, strand);
  }
}

GArray *
loom_meter_slip_joints(const LoomMeterRoom *room, const LoomSlip *slip)
{
  GArray *joints = g_array_new(FALSE, FALSE, sizeof(guint));
  guint own = replaces_touches(slip) ? room->wired[slip->joint] : LOOM_NONE;
  guint second = crossed_with(room, slip);
  if (own != LOOM_NONE)
    g_array_append_val(joints, own);
  if (second != LOOM_NONE)
    g_array_append_val(joints, second);
  if (slip->type != LOOM_SLIP_SWAPPED)
    return joints;
  guint end = loom_wiring_end(room->w, slip->part, slip->end), first = room->w->end_first[end];
  g_array_append_vals(joints, room->w->end_joints + first, room->w->end_first[end + 1] - first);
  return joints;
}

GArray *
loom_meter_touches(const LoomMeterRoom *room, LoomMeterWhen when, const LoomSlip *slip)
{
  GArray *touches = g_array_new(FALSE, FALSE, sizeof(LoomTouch));
  guint own = replaces_touches(slip) ? room->wired[slip->joint] : LOOM_NONE;
  guint second = crossed_with(room, slip);
  for (guint i = 0; i < room->w->n_touches; i++) {
    const LoomTouch *t = &room->w->touches[i];
    if (t->wired != own && t->wired != second && is_plugged(room, t->wired, when))
      g_array_append_val(touches, *t);
  }
  loom_meter_slip_touches(room, when, slip, touches);
  return touches;
}

LoomOhmsChange
loom_meter_change(const LoomMeterRoom *room, const LoomSlip *slip)
{
  LoomOhmsChange change = {LOOM_NONE, LOOM_NONE, NAN, LOOM_NONE, LOOM_NONE};
  if (slip && slip->type == LOOM_SLIP_FUSE) {
    change.part = slip->part;
    change.element = slip->end;
    change.ohm = loom_fuse_ohm(slip->rated_A);
  }
  if (slip && slip->type == LOOM_SLIP_SWAPPED) {
    change.part = slip->part;
    change.swap_a = loom_wiring_node(room->w, slip->part, slip->end, slip->a);
    change.swap_b = loom_wiring_node(room->w, slip->part, slip->end, slip->b);
  }
  return change;
}

LoomOhms *
loom_meter_ohms(const LoomMeterRoom *room, LoomMeterWhen when, const GArray *touches,
                const LoomSlip *slip)
{
  LoomOhmsChange change = loom_meter_change(room, slip);
  return loom_ohms_new(room->w, (const LoomTouch *)touches->data, touches->len,
                       when == LOOM_METER_OFF ? room->open : NULL, &change);
}

static void
append_node(GArray *nodes, guint node)
{
  g_array_append_val(nodes, node);
}

static void
append_joint_nodes(const LoomMeterRoom *room, guint part, guint end, GArray *nodes)
{
  for (guint c = 0; c < end_at(room, part, end)->n_contacts; c++)
    append_node(nodes, loom_wiring_node(room->w, part, end, c));
}

void
loom_meter_slip_nodes(const LoomMeterRoom *room, const LoomSlip *slip, GArray *nodes)
{
  if (slip->type == LOOM_SLIP_FUSE) {
    const LoomElement *e = &loom_wiring_part(room->w, slip->part)->kind->elements[slip->end];
    append_node(nodes, room->w->part_node[slip->part] + e->a);
    append_node(nodes, room->w->part_node[slip->part] + e->b);
    return;
  }
  if (slip->type == LOOM_SLIP_SWAPPED) {
    for (guint n = room->w->part_node[slip->part]; n < room->w->part_node[slip->part + 1]; n++)
      append_node(nodes, n);
    return;
  }
  guint joints[2] = {room->wired[slip->joint], crossed_with(room, slip)};
  for (guint i = 0; i < 2; i++) {
    if (joints[i] == LOOM_NONE)
      continue;
    const LoomWiredJoint *j = &room->w->joints[joints[i]];
    append_joint_nodes(room, j->part_a, j->end_a, nodes);
    append_joint_nodes(room, j->part_b, j->end_b, nodes);
  }
  if (slip->type == LOOM_SLIP_CROSSED)
    append_joint_nodes(room, slip->part, slip->other, nodes);
}

/* ---- which slips there are ---- */

typedef struct {
  LoomMeterRoom *room;
  LoomCircuits *inside;   /* within parts, switches closed: ends that are one and the same */
  LoomCircuits *circuits; /* as drawn */
} Lister;

static LoomSlip *
add_slip(Lister *l, LoomSlipType type, guint wired)
{
  LoomSlip slip = {.type = type,
                   .joint = wired == LOOM_NONE ? LOOM_NONE : l->room->w->joints[wired].joint,
                   .part = LOOM_NONE,
                   .end = LOOM_NONE,
                   .a = LOOM_NONE,
                   .b = LOOM_NONE,
                   .other = LOOM_NONE,
                   .rated_A = NAN,
                   .seen_by = LOOM_NONE};
  g_array_append_val(l->room->slips, slip);
  return &g_array_index(l->room->slips, LoomSlip, l->room->slips->len - 1);
}

/* The side of the joint whose making is in question: a lead's, rather than a part's. */
static void
made_side(const LoomMeterRoom *room, const LoomWiredJoint *j, guint *part, guint *end)
{
  bool b = loom_wiring_part(room->w, j->part_b)->kind->lead &&
           !loom_wiring_part(room->w, j->part_a)->kind->lead;
  *part = b ? j->part_b : j->part_a;
  *end = b ? j->end_b : j->end_a;
}

static void
list_fits(Lister *l, guint wired)
{
  const LoomWiredJoint *j = &l->room->w->joints[wired];
  const LoomEnd *a = end_at(l->room, j->part_a, j->end_a),
                *b = end_at(l->room, j->part_b, j->end_b);
  LoomFit fit = loom_design_joint(l->room->design, j->joint)->fit;
  add_slip(l, LOOM_SLIP_LEFT_OUT, wired);
  if (fit != LOOM_FIT_TURNED && loom_fit_possible(a, b, LOOM_FIT_TURNED))
    add_slip(l, LOOM_SLIP_TURNED, wired);
  if (fit != LOOM_FIT_SHIFTED && loom_fit_possible(a, b, LOOM_FIT_SHIFTED))
    add_slip(l, LOOM_SLIP_SHIFTED, wired);
}

static bool
one_circuit(const Lister *l, guint part, guint end, guint a, guint b)
{
  const LoomWiring *w = l->room->w;
  return l->circuits->circuit[loom_wiring_node(w, part, end, a)] ==
         l->circuits->circuit[loom_wiring_node(w, part, end, b)];
}

/* A strand can join neighbours in every connector with two contacts or more. */
static void
list_strands(Lister *l, guint wired)
{
  guint part, end;
  made_side(l->room, &l->room->w->joints[wired], &part, &end);
  for (guint c = 1; c < end_at(l->room, part, end)->n_contacts; c++) {
    if (one_circuit(l, part, end, c - 1, c))
      continue;
    LoomSlip *slip = add_slip(l, LOOM_SLIP_SHORT, wired);
    slip->part = part;
    slip->end = end;
    slip->a = c - 1;
    slip->b = c;
  }
}

/* A lead made with its first two wires swapped. With two ends it does not matter at which. */
static void
list_swapped(Lister *l, guint part)
{
  const LoomKind *kind = loom_wiring_part(l->room->w, part)->kind;
  for (guint e = 0; kind->lead && e < (kind->n_ends == 2 ? 1 : kind->n_ends); e++) {
    guint wired = joint_at(l->room, part, e);
    if (kind->n_ends == 2 && wired == LOOM_NONE)
      wired = joint_at(l->room, part, 1);
    if (wired == LOOM_NONE || kind->ends[e].n_contacts < 2 || one_circuit(l, part, e, 0, 1))
      continue;
    LoomSlip *slip = add_slip(l, LOOM_SLIP_SWAPPED, wired);
    slip->part = part;
    slip->end = e;
    slip->a = 0;
    slip->b = 1;
  }
}

/* Two ports that are joined contact by contact inside the part may be crossed without harm. */
static bool
same_inside(const Lister *l, guint part, guint end, guint other)
{
  const LoomEnd *e = end_at(l->room, part, end);
  for (guint c = 0; c < e->n_contacts; c++)
    if (l->inside->circuit[loom_wiring_node(l->room->w, part, end, c)] !=
        l->inside->circuit[loom_wiring_node(l->room->w, part, other, c)])
      return false;
  return true;
}

static bool
alike(const LoomEnd *a, const LoomEnd *b)
{
  return a->gender == b->gender && a->n_contacts == b->n_contacts &&
         g_str_equal(a->family->id, b->family->id);
}

static guint
mated_at(const LoomMeterRoom *room, guint part, guint end)
{
  guint wired = joint_at(room, part, end);
  return wired != LOOM_NONE && room->w->joints[wired].mate == LOOM_MATE_YES ? wired : LOOM_NONE;
}

/* Every plugged port against the next one like it on the same part. */
static void
list_crossed(Lister *l, guint part)
{
  const LoomKind *kind = loom_wiring_part(l->room->w, part)->kind;
  for (guint end = 0; end < kind->n_ends; end++) {
    guint other = end + 1;
    while (other < kind->n_ends && !alike(&kind->ends[end], &kind->ends[other]))
      other++;
    if (other >= kind->n_ends || same_inside(l, part, end, other))
      continue;
    guint here = mated_at(l->room, part, end), there = mated_at(l->room, part, other);
    bool radio = kind->ends[end].family->shape == LOOM_SHAPE_RADIO;
    if (radio || kind->lead || (here == LOOM_NONE && there == LOOM_NONE))
      continue;
    LoomSlip *slip = add_slip(l, LOOM_SLIP_CROSSED, here == LOOM_NONE ? there : here);
    slip->part = part;
    slip->end = here == LOOM_NONE ? other : end;
    slip->other = here == LOOM_NONE ? end : other;
  }
}

/* The next rating above what is in it, as blade fuses are made. */
static double
wrong_rating_A(double rated_A)
{
  guint n;
  const double *ratings = loom_fuse_ratings_A(&n);
  for (guint i = 0; i < n; i++)
    if (ratings[i] > rated_A * 1.001)
      return ratings[i];
  return n > 1 ? ratings[n - 2] : rated_A;
}

static void
list_fuses(Lister *l, guint part)
{
  const LoomPart *p = loom_wiring_part(l->room->w, part);
  for (guint i = 0; i < p->kind->n_elements; i++) {
    if (p->kind->elements[i].type != LOOM_ELEMENT_FUSE)
      continue;
    LoomSlip *slip = add_slip(l, LOOM_SLIP_FUSE, LOOM_NONE);
    slip->part = part;
    slip->end = i;
    slip->rated_A = wrong_rating_A(loom_part_fuse_A(p, i));
  }
}

static int
by_type(gconstpointer a, gconstpointer b)
{
  const LoomSlip *x = a, *y = b;
  guint keys[][2] = {
      {x->type, y->type}, {x->joint, y->joint}, {x->part, y->part}, {x->end, y->end}, {x->a, y->a}};
  for (guint i = 0; i < G_N_ELEMENTS(keys); i++)
    if (keys[i][0] != keys[i][1])
      return keys[i][0] < keys[i][1] ? -1 : 1;
  return 0;
}

void
loom_meter_list_slips(LoomMeterRoom *room)
{
  LoomThrough all = LOOM_THROUGH_SWITCHES | LOOM_THROUGH_OPEN | LOOM_THROUGH_FUSES;
  Lister l = {room, loom_circuits_new(room->w, NULL, all | LOOM_WITHOUT_JOINTS),
              loom_circuits_new(room->w, NULL, all)};
  for (guint i = 0; i < room->w->n_joints; i++) {
    if (room->stages->joints[i].side == LOOM_SIDE_RADIO || room->w->joints[i].mate != LOOM_MATE_YES)
      continue;
    list_fits(&l, i);
    list_strands(&l, i);
  }
  for (guint p = 0; p < room->w->n_parts; p++) {
    list_swapped(&l, p);
    list_crossed(&l, p);
    list_fuses(&l, p);
  }
  loom_circuits_free(l.inside);
  loom_circuits_free(l.circuits);
  g_array_sort(room->slips, by_type);
}
