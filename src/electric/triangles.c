#include "triangles.h"

static LoomTriangle
triangle_new(guint n, guint n_entries)
{
  return (LoomTriangle){g_new0(int, n + 1), g_new(int, n_entries + 1), g_new(double, n_entries + 1),
                        g_new(double, n + 1)};
}

static void
triangle_clear(LoomTriangle *t)
{
  g_free(t->first);
  g_free(t->at);
  g_free(t->by);
  g_free(t->pivot);
}

LoomTriangles *
loom_triangles_new(guint n, guint n_lower, guint n_upper)
{
  LoomTriangles *t = g_new(LoomTriangles, 1);
  *t = (LoomTriangles){
      .n = n,
      .row_place = g_new(guint, n + 1),
      .column_place = g_new(guint, n + 1),
      .scale = g_new(double, n + 1),
      .lower = triangle_new(n, n_lower),
      .upper = triangle_new(n, n_upper),
      .x = g_new0(double, n + 1),
      .y = g_new0(double, n + 1),
      .x_order = g_new(guint, n + 1),
      .y_order = g_new(guint, n + 1),
      .stack = g_new(guint, n + 1),
      .next = g_new(int, n + 1),
      .seen = g_new0(bool, n + 1),
  };
  return t;
}

void
loom_triangles_free(LoomTriangles *t)
{
  if (!t)
    return;
  g_free(t->row_place);
  g_free(t->column_place);
  g_free(t->scale);
  triangle_clear(&t->lower);
  triangle_clear(&t->upper);
  g_free(t->x);
  g_free(t->y);
  g_free(t->x_order);
  g_free(t->y_order);
  g_free(t->stack);
  g_free(t->next);
  g_free(t->seen);
  g_free(t);
}

/* Puts all places that `from` leads to, each after those that it leads to itself, behind the
 * `n_found` ones in `order`. */
static guint
reach(LoomTriangles *t, const LoomTriangle *triangle, guint from, guint *order, guint n_found)
{
  if (t->seen[from])
    return n_found;
  guint depth = 1;
  t->stack[0] = from;
  t->next[from] = triangle->first[from];
  t->seen[from] = true;
  while (depth) {
    guint place = t->stack[depth - 1];
    if (t->next[place] == triangle->first[place + 1]) {
      order[n_found++] = place;
      depth--;
      continue;
    }
    guint later = (guint)triangle->at[t->next[place]++];
    if (t->seen[later])
      continue;
    t->seen[later] = true;
    t->next[later] = triangle->first[later];
    t->stack[depth++] = later;
  }
  return n_found;
}

/* Solves for `x`, whose entries are 0 but for places a and b (`n`: none). The places that are not 0
 * then stand in `order`, last ones first; returns how many. */
static guint
sweep(LoomTriangles *t, const LoomTriangle *triangle, guint a, guint b, double *x, guint *order)
{
  guint n_found = 0;
  if (a < t->n)
    n_found = reach(t, triangle, a, order, n_found);
  if (b < t->n)
    n_found = reach(t, triangle, b, order, n_found);
  for (guint i = n_found; i-- > 0;) {
    guint place = order[i];
    double value = x[place] /= triangle->pivot[place];
    t->seen[place] = false;
    for (int k = triangle->first[place]; k < triangle->first[place + 1]; k++)
      x[triangle->at[k]] -= triangle->by[k] * value;
  }
  return n_found;
}

static guint
place_of(const LoomTriangles *t, const guint *places, guint index)
{
  return index < t->n ? places[index] : t->n;
}

static void
put(double *x, guint n, guint place, double value)
{
  if (place < n)
    x[place] = value;
}

double
loom_triangles_between(LoomTriangles *t, guint a, guint b)
{
  guint n = t->n;
  if (a == b)
    return 0;
  guint row_a = place_of(t, t->row_place, a), row_b = place_of(t, t->row_place, b);
  put(t->x, n, row_a, 1 / t->scale[MIN(row_a, n - 1)]);
  put(t->x, n, row_b, -1 / t->scale[MIN(row_b, n - 1)]);
  guint n_x = sweep(t, &t->lower, row_a, row_b, t->x, t->x_order);
  guint column_a = place_of(t, t->column_place, a), column_b = place_of(t, t->column_place, b);
  put(t->y, n, column_a, 1);
  put(t->y, n, column_b, -1);
  guint n_y = sweep(t, &t->upper, column_a, column_b, t->y, t->y_order);
  double sum = 0;
  for (guint i = 0; i < n_y; i++) {
    sum += t->x[t->y_order[i]] * t->y[t->y_order[i]];
    t->y[t->y_order[i]] = 0;
  }
  for (guint i = 0; i < n_x; i++)
    t->x[t->x_order[i]] = 0;
  return sum;
}
