/* Union-find with path halving and union by size: near-linear in the number of joins. */
#pragma once

#include "circuit.h"

G_BEGIN_DECLS

typedef struct {
  guint n;
  guint *parent; /* [n] */
  guint *size;   /* [n] of the tree, at roots */
} LoomForest;

LoomForest *loom_forest_new(guint n);
void loom_forest_free(LoomForest *forest);
guint loom_forest_root(LoomForest *forest, guint node);
/* false where both were in one tree already. */
bool loom_forest_join(LoomForest *forest, guint a, guint b);
/* The trees as circuits, numbered by lowest node. New. */
LoomCircuits *loom_forest_circuits(LoomForest *forest);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomForest, loom_forest_free)

G_END_DECLS
