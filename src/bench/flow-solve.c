#include "flow-solve.h"

#include <math.h>

struct LoomFlowModel {
  gatomicrefcount references;
  guint64 revision;
  guint scene, design_number;
  LoomWiring *wiring;
  LoomNetwork *network;
  guint n_solvers;
  LoomSolver **solvers; /* [n_solvers] by state, the last one as placed; made when first wanted */
};

LoomFlowModel *
loom_flow_model_new(const LoomDesign *design, guint scene, guint design_number)
{
  LoomFlowModel *model = g_new0(LoomFlowModel, 1);
  g_atomic_ref_count_init(&model->references);
  model->revision = loom_design_revision(design);
  model->scene = scene;
  model->design_number = design_number;
  model->wiring = loom_wiring_new(design, scene);
  model->network = loom_network_new(model->wiring);
  model->n_solvers = loom_design_scene(model->wiring->design, scene)->n_states + 1;
  model->solvers = g_new0(LoomSolver *, model->n_solvers);
  return model;
}

LoomFlowModel *
loom_flow_model_ref(LoomFlowModel *model)
{
  g_atomic_ref_count_inc(&model->references);
  return model;
}

void
loom_flow_model_unref(LoomFlowModel *model)
{
  if (!model || !g_atomic_ref_count_dec(&model->references))
    return;
  for (guint i = 0; i < model->n_solvers; i++)
    g_clear_pointer(&model->solvers[i], loom_solver_free);
  g_free(model->solvers);
  loom_network_free(model->network);
  loom_wiring_free(model->wiring);
  g_free(model);
}

bool
loom_flow_model_is_of(const LoomFlowModel *model, const LoomDesign *design, guint scene,
                      guint design_number)
{
  return model->revision == loom_design_revision(design) && model->scene == scene &&
         model->design_number == design_number;
}

const LoomDesign *
loom_flow_model_design(const LoomFlowModel *model)
{
  return model->wiring->design;
}

const LoomScene *
loom_flow_model_scene(const LoomFlowModel *model)
{
  return loom_design_scene(model->wiring->design, model->scene);
}

static const LoomState *
state_of(const LoomFlowModel *model, guint state)
{
  const LoomScene *scene = loom_flow_model_scene(model);
  return state < scene->n_states ? &scene->states[state] : NULL;
}

static LoomSolver *
solver_of(LoomFlowModel *model, guint state)
{
  guint slot = MIN(state, model->n_solvers - 1);
  if (!model->solvers[slot])
    model->solvers[slot] = loom_solver_new(model->network, state_of(model, state));
  return model->solvers[slot];
}

LoomFlowing *
loom_flow_model_solve(LoomFlowModel *model, guint state, double charge)
{
  const LoomState *record = state_of(model, state);
  LoomConditions now = loom_conditions(model->network);
  LoomFlowing *flowing = g_new0(LoomFlowing, 1);
  g_atomic_ref_count_init(&flowing->references);
  now.charge = charge;
  flowing->model = loom_flow_model_ref(model);
  flowing->network = model->network;
  flowing->state = record ? state : LOOM_NONE;
  flowing->charge = charge;
  flowing->point = loom_solver_run(solver_of(model, state), &now);
  flowing->margins = loom_margins_new(model->network, flowing->point);
  flowing->readings = loom_readings_new(model->network, flowing->point, flowing->margins,
                                        record ? record->name : NULL, charge);
  return flowing;
}

LoomFlowing *
loom_flowing_ref(LoomFlowing *flowing)
{
  g_atomic_ref_count_inc(&flowing->references);
  return flowing;
}

void
loom_flowing_unref(LoomFlowing *flowing)
{
  if (!flowing || !g_atomic_ref_count_dec(&flowing->references))
    return;
  loom_readings_free(flowing->readings);
  loom_margins_free(flowing->margins);
  loom_point_free(flowing->point);
  loom_flow_model_unref(flowing->model);
  g_free(flowing);
}

void
loom_flowing_write(const LoomFlowing *f, LoomDrawOptions *options)
{
  const LoomState *state = state_of(f->model, f->state);
  options->readings = f->readings->readings;
  options->n_readings = f->readings->n_readings;
  options->readings_caption = f->readings->caption;
  options->state = state ? state->name : NULL;
}

LoomTrace *
loom_flow_model_outing(LoomFlowModel *model, guint outing, double charge, GCancellable *cancellable)
{
  LoomOutingTerms terms = loom_outing_terms();
  terms.charge = charge;
  terms.cancellable = cancellable;
  return loom_outing_run(model->wiring, &loom_flow_model_scene(model)->outings[outing], &terms);
}

/* --- which load --- */

static bool
is_load(LoomElementType type)
{
  return type == LOOM_ELEMENT_RESISTOR || type == LOOM_ELEMENT_CURRENT ||
         type == LOOM_ELEMENT_POWER || type == LOOM_ELEMENT_MOTOR || type == LOOM_ELEMENT_SERVO ||
         type == LOOM_ELEMENT_DRIVER || type == LOOM_ELEMENT_CONVERTER;
}

bool
loom_flow_kind_is_load(const LoomKind *kind)
{
  for (guint i = 0; i < kind->n_elements; i++)
    if (is_load(kind->elements[i].type))
      return true;
  return false;
}

guint
loom_flowing_load(const LoomFlowing *f, guint part)
{
  const LoomNetwork *n = f->network;
  guint best = LOOM_NONE;
  double most = 1e-9;
  for (guint b = n->part_branch[part];
       f->point->trouble == LOOM_TROUBLE_NONE && b < n->part_branch[part + 1]; b++) {
    double A = fabs(f->point->flows[b].a_A);
    if (n->branches[b].element && is_load(n->branches[b].element->type) && A > most) {
      most = A;
      best = b;
    }
  }
  return best;
}

guint
loom_flowing_strongest(const LoomFlowing *f)
{
  guint best = LOOM_NONE;
  double most = 0;
  for (guint p = 0; p < f->network->wiring->n_parts; p++) {
    guint load = loom_flowing_load(f, p);
    double W = load == LOOM_NONE ? 0 : loom_point_power_W(f->point, f->network, load);
    if (W > most) {
      most = W;
      best = p;
    }
  }
  return best;
}
