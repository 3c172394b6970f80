/* Random networks of resistors and sources, and what LAPACK's dense solver makes of them: the naive
 * twin of the solver. Resistances from a milliohm to a kilo-ohm, sources from 1 to 24 V with or
 * without inner resistance, every node tied to the rest. */
#pragma once

#include "rig.h"

typedef struct {
  guint a, b;   /* nodes */
  double ohm;   /* of a source: inner, may be 0 */
  double emf_V; /* 0: a resistor; a is positive */
} RandomElement;

typedef struct {
  guint n_nodes, n_elements;
  RandomElement *elements;
} RandomNet;

/* How the nodes hang together. */
typedef enum { SHAPE_TREE, SHAPE_MESH, SHAPE_GRID, N_SHAPES } RandomShape;

RandomNet *random_net_new(GRand *rand, guint n_nodes, RandomShape shape);
void random_net_free(RandomNet *net);

/* The same as a design: posts X1 ..., elements R1 ... and G1 ... in the order `order` [n_elements]
 * (NULL: as they come). Designations follow that order. New. */
Rig *random_net_rig(const RandomNet *net, const guint *order);

/* Potentials against node 0 [n_nodes] by dense LU (modified nodal analysis), and the matrix's
 * reciprocal condition number. New. */
double *random_net_dense(const RandomNet *net, double *reciprocal_condition);
