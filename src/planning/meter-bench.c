#include "meter-private.h"

#include <math.h>

/* Numbers in the bench's wiring of a part and of a node of the room's. */
static guint
own_part(const LoomMeterBench *b, const LoomMeterRoom *room, guint part)
{
  return b->robot == LOOM_NONE ? part : room->robots.part[part];
}

static guint
own_node(const LoomMeterBench *b, const LoomMeterRoom *room, guint node)
{
  if (b->robot == LOOM_NONE || node == LOOM_NONE)
    return node;
  guint part = room->w->node_part[node];
  return b->wiring.part_node[room->robots.part[part]] + node - room->w->part_node[part];
}

static const LoomState *
state_of(const LoomMeterBench *b, const LoomMeterRoom *room)
{
  return b->robot == LOOM_NONE ? room->on : room->robots.on[b->robot];
}

guint
loom_meter_bench_node(const LoomMeterBench *b, const LoomMeterRoom *room, const LoomProbe *probe)
{
  return own_node(b, room, loom_meter_node(room, probe));
}

/* Touches of the situation that lie on the bench's robot, by its own numbers. */
static void
take_touches(LoomMeterBench *b, const LoomMeterRoom *room, LoomMeterWhen when, const LoomSlip *slip)
{
  b->touches = loom_meter_touches(room, when, slip);
  guint kept = 0;
  for (guint i = 0; i < b->touches->len && b->robot != LOOM_NONE; i++) {
    LoomTouch t = g_array_index(b->touches, LoomTouch, i);
    if (room->robots.of[room->w->node_part[t.a]] != b->robot)
      continue;
    g_array_index(b->touches, LoomTouch, kept++) =
        (LoomTouch){own_node(b, room, t.a), own_node(b, room, t.b), room->robots.joint[t.wired]};
  }
  if (b->robot != LOOM_NONE)
    g_array_set_size(b->touches, kept);
  b->wiring.touches = (LoomTouch *)b->touches->data;
  b->wiring.n_touches = b->touches->len;
}

static void
change_network(LoomMeterBench *b, const LoomMeterRoom *room, const LoomSlip *slip)
{
  LoomOhmsChange change = loom_meter_change(room, slip);
  if (change.part == LOOM_NONE)
    return;
  change.part = own_part(b, room, change.part);
  change.swap_a = own_node(b, room, change.swap_a);
  change.swap_b = own_node(b, room, change.swap_b);
  LoomNetwork *network = b->network;
  guint first = network->part_branch[change.part];
  for (guint i = first; i < network->part_branch[change.part + 1]; i++) {
    LoomBranch *branch = &network->branches[i];
    branch->a = loom_ohms_swapped(&change, change.part, branch->a);
    branch->b = loom_ohms_swapped(&change, change.part, branch->b);
  }
  if (change.element != LOOM_NONE)
    network->branches[first + change.element].ohm = change.ohm;
}

void
loom_meter_bench_init(LoomMeterBench *b, const LoomMeterRoom *room, LoomMeterWhen when,
                      const LoomSlip *slip)
{
  b->robot = slip ? loom_meter_robot_of_slip(room, slip) : LOOM_NONE;
  b->wiring = slip ? *room->robots.wirings[b->robot] : *room->w;
  take_touches(b, room, when, slip);
  b->network = loom_network_new(&b->wiring);
  change_network(b, room, slip);
  b->solver = loom_solver_new(b->network, state_of(b, room));
  b->point = NULL;
}

/* Puts the meter between the probes, as the resistor that it is. */
void
loom_meter_bench_put(LoomMeterBench *b, const LoomMeterRoom *room, const LoomReading *r)
{
  LoomNetwork *n = b->network;
  guint red = loom_meter_bench_node(b, room, &r->red);
  guint black = loom_meter_bench_node(b, room, &r->black);
  b->voltmeter = (LoomElement){
      .type = LOOM_ELEMENT_RESISTOR, .ohm = room->meter.input_ohm, .min_V = NAN, .max_V = NAN};
  n->branches = g_renew(LoomBranch, n->branches, n->n_branches + 2);
  n->branches[n->n_branches++] = (LoomBranch){.element = &b->voltmeter,
                                              .a = red,
                                              .b = black,
                                              .c = LOOM_NONE,
                                              .d = LOOM_NONE,
                                              .ohm = room->meter.input_ohm,
                                              .possible = true};
  loom_solver_free(b->solver);
  b->solver = loom_solver_new(n, state_of(b, room));
}

void
loom_meter_bench_run(LoomMeterBench *b, double charge)
{
  LoomConditions now = loom_conditions(b->network);
  now.charge = charge;
  loom_point_free(b->point);
  b->point = loom_solver_run(b->solver, &now);
}

void
loom_meter_bench_clear(LoomMeterBench *b)
{
  loom_point_free(b->point);
  loom_solver_free(b->solver);
  loom_network_free(b->network);
  g_array_unref(b->touches);
}
