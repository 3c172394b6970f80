#include "meter-private.h"

#include <math.h>

static void
change_network(LoomNetwork *network, const LoomMeterRoom *room, const LoomSlip *slip)
{
  LoomOhmsChange change = loom_meter_change(room, slip);
  if (change.part == LOOM_NONE)
    return;
  guint first = network->part_branch[change.part];
  for (guint i = first; i < network->part_branch[change.part + 1]; i++) {
    LoomBranch *b = &network->branches[i];
    b->a = loom_ohms_swapped(&change, change.part, b->a);
    b->b = loom_ohms_swapped(&change, change.part, b->b);
  }
  if (change.element != LOOM_NONE)
    network->branches[first + change.element].ohm = change.ohm;
}

void
loom_meter_bench_init(LoomMeterBench *b, const LoomMeterRoom *room, LoomMeterWhen when,
                      const LoomSlip *slip)
{
  b->touches = loom_meter_touches(room, when, slip);
  b->wiring = *room->w;
  b->wiring.touches = (LoomTouch *)b->touches->data;
  b->wiring.n_touches = b->touches->len;
  b->network = loom_network_new(&b->wiring);
  change_network(b->network, room, slip);
  b->solver = loom_solver_new(b->network, room->on);
  b->point = NULL;
}

/* Puts the meter between the probes, as the resistor that it is. */
void
loom_meter_bench_put(LoomMeterBench *b, const LoomMeterRoom *room, const LoomReading *r)
{
  LoomNetwork *n = b->network;
  guint red = loom_meter_node(room, &r->red), black = loom_meter_node(room, &r->black);
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
  b->solver = loom_solver_new(n, room->on);
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
