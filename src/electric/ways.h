/* How much can cross each edge of a graph whose edges have capacities: the arithmetic behind
 * limits. Inside electric/ only.
 *
 * Parts of the graph that hang together twice are shrunk to one vertex; what is left is a forest of
 * bridges. A sweep from the leaves and one back give for each bridge what the vertices on either
 * side can push over it and what they can take from it:
 *
 *      up[c]  = min(cap of c's bridge, own(c) + sum of up over its children)
 *      out[c] = min(cap of c's bridge, own(p) + out[p] + sum of up over c's siblings)      p:
 * parent */
#pragma once

#include "graph.h"
#include "limit.h"

G_BEGIN_DECLS

/* A current and what sets it. */
typedef struct {
  double A; /* 0 ... INFINITY */
  LoomCause cause;
} LoomAmount;

typedef struct {
  LoomGraph *graph;       /* owned */
  LoomAmount *caps;       /* [n_edges], owned */
  guint n_blocks;         /* vertices after shrinking, parents before children */
  guint *block;           /* [n_nodes] */
  guint *parent, *bridge; /* [n_blocks] parent and the edge to it; LOOM_NONE at roots */
} LoomWays;

/* Takes both. New. */
LoomWays *loom_ways_new(LoomGraph *graph, LoomAmount *caps);
void loom_ways_free(LoomWays *ways);

/* One kind of amount (pushed, or taken) spread over the forest. Arrays are [n_blocks]. */
typedef struct {
  LoomAmount *up, *out; /* across each block's bridge: of its own side, of the far side */
  LoomAmount *total;    /* at the block, from all sides */
  struct LoomSum *sums; /* what the total is made of */
} LoomSpread;

/* New, and empty until filled. */
LoomSpread *loom_spread_new(const LoomWays *ways);
/* `own` [n_nodes]; a negative amount is a credit (what returns here by itself). `caps` [n_edges]:
 * those of the ways as a rule; NULL: none. Can be filled again. */
void loom_spread_fill(LoomSpread *spread, const LoomWays *ways, const LoomAmount *caps,
                      const LoomAmount *own);
void loom_spread_free(LoomSpread *spread);

/* The total at the block without one term of it. */
LoomAmount loom_spread_without(const LoomSpread *spread, guint block, double own_A);

/* What can cross the edge. */
LoomBound loom_ways_bound(const LoomWays *ways, const LoomSpread *push, const LoomSpread *take,
                          guint edge);

/* The lesser, of equal ones what electronics hold. */
LoomAmount loom_amount_min(LoomAmount a, LoomAmount b);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomWays, loom_ways_free)
G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomSpread, loom_spread_free)

G_END_DECLS
