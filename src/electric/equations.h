/* The equations of one topology: which unknowns there are and where each branch stands in the
 * matrix. Inside electric/ only.
 *
 * 1. Branches without resistance make one node of their two (a cluster).
 * 2. Clusters that branches tie together form a galvanic island. An island is alive if a source, or
 * a converter with a living input, or a current of its own lies in it; only living ones have
 * unknowns.
 * 3. Each living island has a reference of its own, potential 0: the negative pole of its first
 * source.
 * 4. Unknowns are the other clusters' potentials, and the current of each device that holds a
 * voltage.
 *
 * Open branches are not there at all: no tiny conductances stand for them. */
#pragma once

#include "model.h"
#include "point.h"
#include "usage.h"

G_BEGIN_DECLS

/* A resistor of fixed value between two unknowns (or the reference). */
typedef struct {
  guint branch, a, b;
  guint slots[4]; /* aa, ab, ba, bb */
} LoomOhm;

/* Two nodes made one by a branch without resistance. */
typedef struct {
  guint branch, a, b; /* nodes of the wiring */
} LoomTie;

typedef struct {
  guint n_unknowns, n_nodes; /* unknowns in all; nodes of the wiring */
  guint n_islands;
  guint *unknown;   /* [n_nodes] unknown of the node; n_unknowns: reference; LOOM_NONE: floating */
  guint *island;    /* [n_nodes] number of the living island; LOOM_NONE floating */
  guint *reference; /* [n_islands] a node at its reference */
  guint n_ohms, n_models, n_ties;
  LoomOhm *ohms;
  LoomModel *models;
  LoomTie *ties;     /* forest of the branches without resistance; others of them carry nothing */
  int *first, *rows; /* pattern by column, see factor.h */
  guint n_values;    /* slots go up to this one, which is for what falls on the reference */
  double highest_V;  /* greatest voltage that any source or converter holds */
  LoomTrouble trouble;
  guint branch; /* of the trouble */
} LoomEquations;

/* `asleep` [n_branches]: locked out. New; its trouble is to be looked at first. */
LoomEquations *loom_equations_new(const LoomNetwork *network, const LoomUse *uses,
                                  const bool *asleep);
void loom_equations_free(LoomEquations *equations);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomEquations, loom_equations_free)

G_END_DECLS
