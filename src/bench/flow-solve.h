/* Solving for the bench: one scene of one revision, solved for any of its states and any charge.
 *
 * A model is made from a snapshot and may be made, used and freed in any one thread at a time. What
 * comes out of it, a flow, never changes again and may be read anywhere while the model goes on:
 * the solver of a state keeps its analysis, so that another charge only costs the numbers. */
#pragma once

#include "electric/outing.h"
#include "sheet/readings.h"

G_BEGIN_DECLS

typedef struct LoomFlowModel LoomFlowModel;

/* Both take a reference to nothing else: `design` is copied; its number
 * tells it from others of the same revision, see document.h. Counted. */
LoomFlowModel *loom_flow_model_new(const LoomDesign *design, guint scene, guint design_number);
LoomFlowModel *loom_flow_model_ref(LoomFlowModel *model);
void loom_flow_model_unref(LoomFlowModel *model);
bool loom_flow_model_is_of(const LoomFlowModel *model, const LoomDesign *design, guint scene,
                           guint design_number);

/* One state at one charge. */
typedef struct {
  gatomicrefcount references;
  LoomFlowModel *model;       /* held */
  const LoomNetwork *network; /* of the model; its wiring has the design */
  guint state;                /* index in the scene; LOOM_NONE: as placed */
  double charge;
  LoomOperatingPoint *point;
  LoomMargins *margins;
  LoomReadings *readings;
} LoomFlowing;

/* Never NULL; see the point's trouble. Counted. */
LoomFlowing *loom_flow_model_solve(LoomFlowModel *model, guint state, double charge);
LoomFlowing *loom_flowing_ref(LoomFlowing *flowing);
void loom_flowing_unref(LoomFlowing *flowing);

/* Writes its readings: options that borrow from it. */
void loom_flowing_write(const LoomFlowing *flowing, LoomDrawOptions *options);

/* The scene as the model has it. Borrowed. */
const LoomScene *loom_flow_model_scene(const LoomFlowModel *model);
const LoomDesign *loom_flow_model_design(const LoomFlowModel *model);
/* From that charge on, until it is cancelled (`cancellable` may be NULL). New. */
LoomTrace *loom_flow_model_outing(LoomFlowModel *model, guint outing, double charge,
                                  GCancellable *cancellable);

/* Whether the kind has something that takes current for its own work. */
bool loom_flow_kind_is_load(const LoomKind *kind);
/* The load of a part that draws most: a branch of the network, or LOOM_NONE. */
guint loom_flowing_load(const LoomFlowing *flowing, guint part);
/* The part whose load takes most power; LOOM_NONE where nothing flows. */
guint loom_flowing_strongest(const LoomFlowing *flowing);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomFlowModel, loom_flow_model_unref)
G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomFlowing, loom_flowing_unref)

G_END_DECLS
