#include "circuit.h"

#include "forest.h"

/* What an element joins under `through`, as a pair of the kind's nodes. */
static bool
conducts(const LoomElement *e, bool on, LoomThrough through)
{
  switch (e->type) {
  case LOOM_ELEMENT_WIRE:
  case LOOM_ELEMENT_THROUGH:
    return true;
  case LOOM_ELEMENT_SWITCH:
    return (through & LOOM_THROUGH_OPEN) || ((through & LOOM_THROUGH_SWITCHES) && on);
  case LOOM_ELEMENT_FUSE:
    return through & LOOM_THROUGH_FUSES;
  default:
    return false;
  }
}

static void
join_parts(LoomForest *forest, const LoomWiring *w, const LoomState *state, LoomThrough through)
{
  for (guint p = 0; p < w->n_parts; p++) {
    const LoomPart *part = loom_wiring_part(w, p);
    bool on = loom_part_on(part, state);
    for (guint i = 0; i < part->kind->n_elements; i++) {
      const LoomElement *e = &part->kind->elements[i];
      if (conducts(e, on, through))
        loom_forest_join(forest, w->part_node[p] + e->a, w->part_node[p] + e->b);
    }
  }
}

LoomCircuits *
loom_circuits_new(const LoomWiring *w, const LoomState *state, LoomThrough through)
{
  g_autoptr(LoomForest) forest = loom_forest_new(w->n_nodes);
  join_parts(forest, w, state, through);
  for (guint t = 0; !(through & LOOM_WITHOUT_JOINTS) && t < w->n_touches; t++)
    loom_forest_join(forest, w->touches[t].a, w->touches[t].b);
  return loom_forest_circuits(forest);
}

void
loom_circuits_free(LoomCircuits *circuits)
{
  if (!circuits)
    return;
  g_free(circuits->circuit);
  g_free(circuits->first);
  g_free(circuits->nodes);
  g_free(circuits);
}
