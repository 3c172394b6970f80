#include "operation.h"

LoomOperation *
loom_operation_new(const LoomWiring *wiring, double charge)
{
  LoomOperation *op = g_new0(LoomOperation, 1);
  const LoomScene *scene = loom_design_scene(wiring->design, wiring->scene);
  op->wiring = wiring;
  op->network = loom_network_new(wiring);
  op->n_states = scene->n_states;
  op->points = g_new0(LoomOperatingPoint *, op->n_states + 1);
  LoomConditions now = loom_conditions(op->network);
  now.charge = charge;
  for (guint i = 0; i < op->n_states; i++) {
    g_autoptr(LoomSolver) solver = loom_solver_new(op->network, &scene->states[i]);
    op->points[i] = loom_solver_run(solver, &now);
  }
  return op;
}

void
loom_operation_free(LoomOperation *op)
{
  if (!op)
    return;
  for (guint i = 0; i < op->n_states; i++)
    loom_point_free(op->points[i]);
  g_free(op->points);
  loom_network_free(op->network);
  g_free(op);
}
