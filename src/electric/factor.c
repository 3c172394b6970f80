#include "factor.h"

#include <klu.h>
#include <math.h>
#include <string.h>

/* Pivots are given up where the error is greater than this and than so many times what it was when
 * they were chosen. */
static const double good_error = 1e-15, worse = 10;

/* Of an equation: what is left of it, and the sum of the sizes of what is added up in it. */
typedef struct {
  double left, scale;
} Balance;

struct LoomFactor {
  guint n;
  int *first, *rows;
  klu_common common;
  klu_symbolic *symbolic; /* NULL: structurally singular */
  klu_numeric *numeric;   /* NULL: no values yet */
  double chosen_error;    /* when the pivots were chosen */
  double *b;              /* [n] the right side of the last run */
  Balance *balances;      /* [n] scratch */
  LoomFactorCounts counts;
};

LoomFactor *
loom_factor_new(guint n, const int *first, const int *rows)
{
  LoomFactor *f = g_new0(LoomFactor, 1);
  f->n = n;
  f->first = g_memdup2(first, (n + 1) * sizeof(int));
  f->rows = g_memdup2(rows, MAX(first[n], 1) * sizeof(int));
  klu_defaults(&f->common);
  f->b = g_new(double, n + 1);
  f->balances = g_new(Balance, n + 1);
  f->symbolic = n ? klu_analyze((int)n, f->first, f->rows, &f->common) : NULL;
  f->counts.analyses++;
  return f;
}

void
loom_factor_free(LoomFactor *f)
{
  if (!f)
    return;
  klu_free_numeric(&f->numeric, &f->common);
  klu_free_symbolic(&f->symbolic, &f->common);
  g_free(f->first);
  g_free(f->rows);
  g_free(f->b);
  g_free(f->balances);
  g_free(f);
}

static double
backward_error(const LoomFactor *f, const double *values, const double *x)
{
  Balance *balances = f->balances;
  for (guint k = 0; k < f->n; k++)
    balances[k] = (Balance){f->b[k], fabs(f->b[k])};
  for (guint c = 0; c < f->n; c++)
    for (int i = f->first[c]; i < f->first[c + 1]; i++) {
      double term = values[i] * x[c];
      balances[f->rows[i]].left -= term;
      balances[f->rows[i]].scale += fabs(term);
    }
  double worst = 0;
  for (guint k = 0; k < f->n; k++)
    if (!(fabs(balances[k].left) <= worst * balances[k].scale))
      worst = fabs(balances[k].left) / balances[k].scale;
  return worst;
}

/* klu_rcond's estimate has an end unless a pivot is none. */
static bool
solve_for_b(LoomFactor *f, const double *values, double *x)
{
  klu_rcond(f->symbolic, f->numeric, &f->common);
  f->counts.condition = f->common.rcond;
  if (!(f->common.rcond > 0 && isfinite(f->common.rcond)))
    return false;
  memcpy(x, f->b, f->n * sizeof(double));
  loom_factor_solve(f, x, 1);
  f->counts.error = backward_error(f, values, x);
  return true;
}

/* With the pivots at hand; false where they are no longer good enough. */
static bool
refactor(LoomFactor *f, double *values, double *x)
{
  f->counts.refactors++;
  return klu_refactor(f->first, f->rows, values, f->symbolic, f->numeric, &f->common) &&
         f->common.status == KLU_OK && solve_for_b(f, values, x) &&
         f->counts.error <= fmax(good_error, worse * f->chosen_error);
}

static bool
choose_pivots(LoomFactor *f, double *values, double *x, guint *column)
{
  f->counts.factors++;
  klu_free_numeric(&f->numeric, &f->common);
  f->numeric = klu_factor(f->first, f->rows, values, f->symbolic, &f->common);
  if (!f->numeric || f->common.status != KLU_OK) {
    if (f->common.singular_col >= 0 && f->common.singular_col < (int)f->n)
      *column = (guint)f->common.singular_col;
    klu_free_numeric(&f->numeric, &f->common);
    return false;
  }
  bool done = solve_for_b(f, values, x);
  f->chosen_error = f->counts.error;
  return done;
}

static guint
empty_column(const LoomFactor *f)
{
  for (guint k = 0; k < f->n; k++)
    if (f->first[k] == f->first[k + 1])
      return k;
  return G_MAXUINT;
}

bool
loom_factor_run(LoomFactor *f, const double *values, double *x, guint *column)
{
  guint scratch;
  column = column ? column : &scratch;
  *column = G_MAXUINT;
  if (f->n == 0)
    return true;
  if (!f->symbolic) {
    *column = empty_column(f);
    return false;
  }
  memcpy(f->b, x, f->n * sizeof(double));
  double *a = (double *)values; /* KLU reads only, but its prototypes do not say so */
  return (f->numeric && refactor(f, a, x)) || choose_pivots(f, a, x, column);
}

void
loom_factor_solve(LoomFactor *f, double *x, guint n_sides)
{
  if (f->n)
    klu_solve(f->symbolic, f->numeric, (int)f->n, (int)n_sides, x, &f->common);
}

/* Columns as KLU has them, without the pivot: first in each of L, last in each of U. */
static void
fill_lower(LoomTriangle *lower, guint n, const int *first, const int *at, const double *by)
{
  int used = 0;
  for (guint k = 0; k < n; k++) {
    lower->pivot[k] = by[first[k]];
    for (int i = first[k] + 1; i < first[k + 1]; i++, used++) {
      lower->at[used] = at[i];
      lower->by[used] = by[i];
    }
    lower->first[k + 1] = used;
  }
}

/* By rows from columns. */
static void
fill_upper(LoomTriangle *upper, guint n, const int *first, const int *at, const double *by)
{
  g_autofree int *fill = g_new0(int, n + 1);
  for (guint k = 0; k < n; k++) {
    upper->pivot[k] = by[first[k + 1] - 1];
    for (int i = first[k]; i < first[k + 1] - 1; i++)
      upper->first[at[i] + 1]++;
  }
  for (guint k = 0; k < n; k++) {
    upper->first[k + 1] += upper->first[k];
    fill[k] = upper->first[k];
  }
  for (guint k = 0; k < n; k++)
    for (int i = first[k]; i < first[k + 1] - 1; i++) {
      int place = fill[at[i]]++;
      upper->at[place] = (int)k;
      upper->by[place] = by[i];
    }
}

LoomTriangles *
loom_factor_triangles(const LoomFactor *f)
{
  guint n = f->n, n_lower = n ? (guint)f->numeric->lnz : 0,
        n_upper = n ? (guint)f->numeric->unz : 0;
  LoomTriangles *t = loom_triangles_new(n, n_lower, n_upper);
  if (n == 0)
    return t;
  g_assert(f->numeric->nzoff == 0);
  g_autofree int *lower_first = g_new(int, n + 1), *upper_first = g_new(int, n + 1);
  g_autofree int *lower_at = g_new(int, n_lower + 1), *upper_at = g_new(int, n_upper + 1);
  g_autofree double *lower = g_new(double, n_lower + 1), *upper = g_new(double, n_upper + 1);
  g_autofree int *rows = g_new(int, n), *columns = g_new(int, n);
  klu_common common = f->common; /* KLU notes there that it was asked */
  klu_extract(f->numeric, f->symbolic, lower_first, lower_at, lower, upper_first, upper_at, upper,
              NULL, NULL, NULL, rows, columns, t->scale, NULL, &common);
  fill_lower(&t->lower, n, lower_first, lower_at, lower);
  fill_upper(&t->upper, n, upper_first, upper_at, upper);
  for (guint k = 0; k < n; k++) {
    t->row_place[rows[k]] = k;
    t->column_place[columns[k]] = k;
  }
  return t;
}

LoomFactorCounts
loom_factor_counts(const LoomFactor *f)
{
  return f->counts;
}
