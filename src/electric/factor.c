#include "factor.h"

#include <klu.h>
#include <math.h>

/* Pivots are given up when growth falls to this share of what it was when they were chosen. */
static const double worst_growth = 1e-3;

struct LoomFactor {
  guint n;
  int *first, *rows;
  klu_common common;
  klu_symbolic *symbolic; /* NULL: structurally singular */
  klu_numeric *numeric;   /* NULL: no values yet */
  double chosen_growth;   /* when the pivots were chosen */
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
  g_free(f);
}

/* With the pivots at hand; false where they are no longer good enough. */
static bool
refactor(LoomFactor *f, double *values)
{
  f->counts.refactors++;
  if (!klu_refactor(f->first, f->rows, values, f->symbolic, f->numeric, &f->common) ||
      f->common.status != KLU_OK)
    return false;
  klu_rgrowth(f->first, f->rows, values, f->symbolic, f->numeric, &f->common);
  f->counts.growth = f->common.rgrowth;
  return f->counts.growth >= worst_growth * f->chosen_growth;
}

static bool
choose_pivots(LoomFactor *f, double *values)
{
  f->counts.factors++;
  klu_free_numeric(&f->numeric, &f->common);
  f->numeric = klu_factor(f->first, f->rows, values, f->symbolic, &f->common);
  if (!f->numeric || f->common.status != KLU_OK) {
    klu_free_numeric(&f->numeric, &f->common);
    return false;
  }
  klu_rgrowth(f->first, f->rows, values, f->symbolic, f->numeric, &f->common);
  f->chosen_growth = f->counts.growth = f->common.rgrowth;
  return true;
}

bool
loom_factor_set(LoomFactor *f, const double *values, guint *column)
{
  if (column)
    *column = G_MAXUINT;
  if (f->n == 0)
    return true;
  if (!f->symbolic)
    return false;
  double *x = (double *)values; /* KLU reads only, but its prototypes do not say so */
  if (!(f->numeric && refactor(f, x)) && !choose_pivots(f, x)) {
    if (column && f->common.singular_col >= 0 && f->common.singular_col < (int)f->n)
      *column = (guint)f->common.singular_col;
    return false;
  }
  klu_rcond(f->symbolic, f->numeric, &f->common);
  f->counts.condition = f->common.rcond;
  return f->common.rcond > 0 && isfinite(f->common.rcond);
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
