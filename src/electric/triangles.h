/* The triangles of a factored matrix, for single entries of its inverse. Inside electric/ only.
 *
 * A solution with all but two entries 0 on its right side, of which two entries are wanted, touches
 * only what lies above those in the triangles (Gilbert and Peierls, Sparse partial pivoting in time
 * proportional to arithmetic operations, 1988): of a network like a tree the way to its root, not
 * the whole of it. */
#pragma once

#include <glib.h>
#include <stdbool.h>

G_BEGIN_DECLS

/* One triangle: at each place its pivot, and the entries that it hands on to later places. */
typedef struct {
  int *first, *at; /* [n + 1]; [first[n]] later places */
  double *by;      /* [first[n]] */
  double *pivot;   /* [n] */
} LoomTriangle;

typedef struct {
  guint n;
  guint *row_place, *column_place; /* [n] of each row and column of the matrix */
  double *scale;                   /* [n] by place: what the row was divided by */
  LoomTriangle lower, upper;       /* L by columns, U by rows */
  double *x, *y;                   /* [n] 0 between calls */
  guint *x_order, *y_order;        /* [n] */
  guint *stack;                    /* [n] */
  int *next;                       /* [n] */
  bool *seen;                      /* [n] false between calls */
} LoomTriangles;

/* Takes nothing but the sizes; the arrays are for the caller to fill. New. */
LoomTriangles *loom_triangles_new(guint n, guint n_lower, guint n_upper);
void loom_triangles_free(LoomTriangles *triangles);

/* With B the inverse: B(a, a) + B(b, b) - B(a, b) - B(b, a), of a nodal matrix the resistance seen
 * between the two nodes. `n` is the reference, where B is 0. */
double loom_triangles_between(LoomTriangles *triangles, guint a, guint b);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomTriangles, loom_triangles_free)

G_END_DECLS
