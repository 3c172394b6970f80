/* One topology being solved: its equations, their values, factors and the last answer; and Newton's
 * method on it. Inside electric/ only. */
#pragma once

#include "equations.h"
#include "factor.h"
#include "solve.h"

G_BEGIN_DECLS

/* A resistor at its temperature, of what the loops over all of them need. */
typedef struct {
  guint a, b; /* unknowns */
  double siemens;
} LoomConductance;

typedef struct {
  const LoomNetwork *network; /* borrowed */
  bool *asleep;               /* [n_branches] what it was made for */
  LoomEquations *eq;
  LoomFactor *factor;
  LoomConductance *ohms; /* [n_ohms] */
  double *base;          /* [n_values + 1] the matrix of the resistors */
  double *values, *f;    /* [n_values + 1], [n_unknowns + 1] at x */
  double *x;             /* [n_unknowns + 1] the last one is the reference, 0 */
  double *step, *trial;  /* [n_unknowns + 1] */
  bool answered;         /* x is an answer to start the next one from */
  guint stuck;           /* unknown that a matrix last had no answer for; LOOM_NONE */
  guint iterations;
} LoomTopology;

/* `asleep` [n_branches] or NULL; copied. New. */
LoomTopology *loom_topology_new(const LoomNetwork *network, const LoomUse *uses,
                                const bool *asleep);
void loom_topology_free(LoomTopology *topology);

void loom_topology_set(LoomTopology *topology, const LoomConditions *conditions);

/* Finds x, or says what is in the way, for LOOM_TROUBLE_SINGULAR by loom_topology_suspect; `asks_W`
 * and `gives_W` for LOOM_TROUBLE_DEMAND. */
LoomTrouble loom_topology_solve(LoomTopology *topology, guint *branch, double *asks_W,
                                double *gives_W);

/* The branch where there is no single answer: at the unknown that a matrix had none for, or that
 * ran away farthest, or whose equation holds least. LOOM_NONE where nothing is there. */
guint loom_topology_suspect(LoomTopology *topology);

/* Potential of a node of the wiring at x; NAN where it floats. */
double loom_topology_V(const LoomTopology *topology, guint node);

G_END_DECLS
