/* Sparse LU factors of one pattern, in three lifetimes.
 *
 *   pattern     loom_factor_new       ordering and blocks, once a topology
 *   values      loom_factor_run       pivots are kept while they stay good, chosen anew otherwise
 *   statistics  loom_factor_counts    what was done so far
 *
 * Solving with factors does not change them, so several right-hand sides share one set. KLU is
 * behind this and nowhere else. */
#pragma once

#include "triangles.h"

G_BEGIN_DECLS

typedef struct LoomFactor LoomFactor;

typedef struct {
  guint analyses, factors, refactors;
  double error;     /* of the last loom_factor_run, see there */
  double condition; /* cheap estimate of the reciprocal condition number */
} LoomFactorCounts;

/* n by n; `first` [n + 1] and `rows` [first[n]] by column, rows ascending and none twice; copied.
 * New; never NULL: a pattern that is singular as such fails in loom_factor_run. */
LoomFactor *loom_factor_new(guint n, const int *first, const int *rows);
void loom_factor_free(LoomFactor *factor);

/* Factors `values` [first[n]], in the order of the pattern, and solves A x = b in place. Pivots
 * chosen for earlier values are kept while every equation holds within a million-millionth of what
 * is added up in it, max |b - A x| / (|A| |x| + |b|) (backward error: Oettli and Prager, 1964), or
 * within ten times what it was when they were chosen. false where the matrix is singular; `column`
 * (may be NULL) then gets a column that depends on others, or G_MAXUINT. */
bool loom_factor_run(LoomFactor *factor, const double *values, double *x, guint *column);

/* A x = b in place; `x` [n_sides][n]. Only after a successful run. */
void loom_factor_solve(LoomFactor *factor, double *x, guint n_sides);

/* The factors as they stand now. Only after a successful run, and only of a pattern that is
 * symmetric with all of its diagonal: others may fall into blocks that depend on each other. New.
 */
LoomTriangles *loom_factor_triangles(const LoomFactor *factor);

LoomFactorCounts loom_factor_counts(const LoomFactor *factor);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomFactor, loom_factor_free)

G_END_DECLS
