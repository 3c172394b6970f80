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

static guint
root(guint *parent, guint part)
{
  while (parent[part] != part)
    part = parent[part] = parent[parent[part]];
  return part;
}

/* Parts that touch, one through another, are one robot; what happens on one is nothing to the
 * next. [n_parts] a part of each robot; new. */
static guint *
robots_of(const LoomWiring *w)
{
  guint *parent = g_new(guint, w->n_parts + 1);
  for (guint p = 0; p < w->n_parts; p++)
    parent[p] = p;
  for (guint i = 0; i < w->n_touches; i++)
    parent[root(parent, w->node_part[w->touches[i].a])] =
        root(parent, w->node_part[w->touches[i].b]);
  for (guint p = 0; p < w->n_parts; p++)
    parent[p] = root(parent, p);
  return parent;
}

/* Leaves out of the solving what the slip cannot reach. */
static void
keep_near(LoomMeterBench *b, const LoomMeterRoom *room, const LoomSlip *slip)
{
  const LoomNetwork *n = b->network;
  g_autofree guint *robot = robots_of(&b->wiring);
  g_autofree bool *near = g_new0(bool, room->w->n_parts + 1);
  g_autofree bool *far = g_new0(bool, n->n_branches + 1);
  g_autoptr(GArray) nodes = g_array_new(FALSE, FALSE, sizeof(guint));
  loom_meter_slip_nodes(room, slip, nodes);
  for (guint i = 0; i < nodes->len; i++)
    near[robot[room->w->node_part[g_array_index(nodes, guint, i)]]] = true;
  for (guint i = 0; i < n->n_branches; i++)
    far[i] = !near[robot[room->w->node_part[n->branches[i].a]]];
  loom_solver_break(b->solver, far);
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
  if (slip)
    keep_near(b, room, slip);
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
