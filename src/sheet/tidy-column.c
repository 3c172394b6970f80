/* Heights and widths: the parts of a column stand in the order of what they hang on, each as near
 * as can be to where its lead would be straight. With the order given that is an isotonic
 * regression in the first norm, solved by pooling (Barlow et al., Statistical Inference under Order
 * Restrictions, 1972):
 *
 *     wish  3 1 1 9            1. each part is a pool of its own, at its wish
 *           |  \|  |           2. a pool that would overlap the one above joins it; the pool stands
 * at put  [A][B][C]   [D]        the median of the wishes of its parts */
#include "tidy-private.h"

#include "place.h"

#include <math.h>

#define BETWEEN_MM 6.0 /* parts of a column */
#define COMPONENT_MM 15.0
#define LEAST_GAP_MM 15.0
#define LANE_ROOM_MM 2.5 /* width for each lead that has to bend between two columns */
#define MOST_LANES 14
#define SHEET_WIDTH_MM 300.0

static double
on_grid(double mm)
{
  return floor(mm / LOOM_GRID_MM + 0.5) * LOOM_GRID_MM;
}

static double
up_to_grid(double mm)
{
  return ceil(mm / LOOM_GRID_MM - 1e-6) * LOOM_GRID_MM;
}

typedef struct {
  guint number;
  double wish;  /* y of the part */
  guint order;  /* among equals */
  guint weight; /* how much a straight lead to it is worth */
} Placing;

static int
by_wish(gconstpointer a, gconstpointer b)
{
  const Placing *x = a, *y = b;
  if (fabs(x->wish - y->wish) > 1e-6)
    return x->wish < y->wish ? -1 : 1;
  return (x->order > y->order) - (x->order < y->order);
}

static int
by_value(gconstpointer a, gconstpointer b)
{
  double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

/* y of the part at which its leads to what is placed nearer to the middle run straight; `rank`
 * sorts. */
static bool
wish_of(const LoomTidyGraph *g, guint number, const bool *placed, double *wish, double *rank)
{
  const LoomTidyNode *node = &g->nodes[number];
  g_autoptr(GArray) wishes = g_array_new(FALSE, FALSE, sizeof(double));
  double sum = 0;
  for (guint k = 0; k < node->edges->len; k++) {
    const LoomTidyEdge *edge =
        &g_array_index(g->edges, LoomTidyEdge, g_array_index(node->edges, guint, k));
    bool a = edge->a == number;
    guint other = a ? edge->b : edge->a;
    int dx, dy;
    if (!placed[other] || (edge->weak && node->parent_edge != g_array_index(node->edges, guint, k)))
      continue;
    LoomPoint far = loom_tidy_look(&g->nodes[other], a ? edge->end_b : edge->end_a, &dx, &dy);
    double down = dy > 0 ? 30 : dy < 0 ? -30 : 0;
    LoomPoint own = loom_tidy_look(node, a ? edge->end_a : edge->end_b, &dx, &dy);
    double y = far.y + down - (own.y - node->part->y_mm);
    g_array_append_val(wishes, y);
    sum += far.y + down;
  }
  if (wishes->len == 0)
    return false;
  g_array_sort(wishes, by_value);
  *wish = on_grid(g_array_index(wishes, double, (wishes->len - 1) / 2));
  *rank = sum / wishes->len;
  return true;
}

/* A pool: parts first ... last - 1 of the column, stacked without gaps. */
typedef struct {
  guint first, last;
  double y; /* of the first */
} Pool;

static double
depth_of(const LoomTidyGraph *g, const Placing *p)
{
  const LoomTidyNode *node = &g->nodes[p->number];
  return up_to_grid(node->box.height + BETWEEN_MM);
}

/* From the top of the box to the part's y, on the grid. */
static double
head_of(const LoomTidyGraph *g, const Placing *p)
{
  return up_to_grid(-g->nodes[p->number].box.y);
}

static double
pool_height(const LoomTidyGraph *g, const Placing *all, const Pool *pool)
{
  double sum = 0;
  for (guint i = pool->first; i < pool->last; i++)
    sum += depth_of(g, &all[i]);
  return sum;
}

static double
median_start(const LoomTidyGraph *g, const Placing *all, const Pool *pool)
{
  g_autoptr(GArray) starts = g_array_new(FALSE, FALSE, sizeof(double));
  double above = 0;
  for (guint i = pool->first; i < pool->last; i++) {
    double start = all[i].wish - head_of(g, &all[i]) - above;
    for (guint k = 0; k < all[i].weight; k++)
      g_array_append_val(starts, start);
    above += depth_of(g, &all[i]);
  }
  g_array_sort(starts, by_value);
  return g_array_index(starts, double, (starts->len - 1) / 2);
}

static void
stack(LoomTidyGraph *g, const Placing *all, guint n)
{
  g_autoptr(GArray) pools = g_array_new(FALSE, FALSE, sizeof(Pool));
  for (guint i = 0; i < n; i++) {
    Pool pool = {i, i + 1, all[i].wish - head_of(g, &all[i])};
    while (pools->len > 0) {
      Pool *above = &g_array_index(pools, Pool, pools->len - 1);
      if (above->y + pool_height(g, all, above) <= pool.y + 1e-6)
        break;
      pool.first = above->first;
      pool.y = median_start(g, all, &pool);
      g_array_set_size(pools, pools->len - 1);
    }
    g_array_append_val(pools, pool);
  }
  for (guint k = 0; k < pools->len; k++) {
    const Pool *pool = &g_array_index(pools, Pool, k);
    double y = pool->y;
    for (guint i = pool->first; i < pool->last; i++) {
      g->nodes[all[i].number].part->y_mm = y + head_of(g, &all[i]);
      y += depth_of(g, &all[i]);
    }
  }
}

/* The way from the pack should run straight. */
static guint
weight_of(const LoomTidyNode *node)
{
  switch (node->part->kind->group) {
  case LOOM_GROUP_SUPPLY:
  case LOOM_GROUP_PROTECTION:
  case LOOM_GROUP_SWITCHING:
  case LOOM_GROUP_DISTRIBUTION:
    return 8;
  default:
    return 1;
  }
}

/* One column, after those nearer to the middle. */
static void
place_column(LoomTidyGraph *g, const GArray *column, bool *placed)
{
  guint n = column->len;
  g_autofree Placing *all = g_new(Placing, n + 1);
  double below = 0;
  for (guint i = 0; i < n; i++) {
    guint number = g_array_index(column, guint, i);
    double rank;
    all[i] = (Placing){.number = number, .order = i, .weight = weight_of(&g->nodes[number])};
    if (!wish_of(g, number, placed, &all[i].wish, &rank))
      all[i].wish = below + head_of(g, &all[i]);
    below = fmax(below, all[i].wish - head_of(g, &all[i]) + depth_of(g, &all[i]));
  }
  qsort(all, n, sizeof *all, by_wish);
  stack(g, all, n);
  for (guint i = 0; i < n; i++)
    placed[all[i].number] = true;
}

typedef struct {
  int first, last;    /* layers */
  GPtrArray *columns; /* of GArray of guint: nodes by layer - first */
} Component;

static Component
component_new(const LoomTidyGraph *g, const GArray *members)
{
  Component c = {G_MAXINT, G_MININT, NULL};
  for (guint i = 0; i < members->len; i++) {
    int layer = g->nodes[g_array_index(members, guint, i)].layer;
    c.first = MIN(c.first, layer);
    c.last = MAX(c.last, layer);
  }
  c.columns = g_ptr_array_new_with_free_func((GDestroyNotify)g_array_unref);
  for (int l = c.first; l <= c.last; l++)
    g_ptr_array_add(c.columns, g_array_new(FALSE, FALSE, sizeof(guint)));
  for (guint i = 0; i < members->len; i++) {
    guint number = g_array_index(members, guint, i);
    g_array_append_val((GArray *)c.columns->pdata[g->nodes[number].layer - c.first], number);
  }
  return c;
}

static void
place_heights(LoomTidyGraph *g, const Component *c, bool *placed)
{
  place_column(g, c->columns->pdata[-c->first], placed);
  for (int l = 1; l <= MAX(c->last, -c->first); l++) {
    if (-l >= c->first)
      place_column(g, c->columns->pdata[-l - c->first], placed);
    if (l <= c->last)
      place_column(g, c->columns->pdata[l - c->first], placed);
  }
}

/* Paper between two columns: for the longest lead from one to the other, and those that bend. */
static double
gap_between(const LoomTidyGraph *g, const GArray *left)
{
  double need = LEAST_GAP_MM;
  guint bent = 0;
  for (guint i = 0; i < left->len; i++) {
    const LoomTidyNode *node = &g->nodes[g_array_index(left, guint, i)];
    for (guint k = 0; k < node->edges->len; k++) {
      const LoomTidyEdge *e =
          &g_array_index(g->edges, LoomTidyEdge, g_array_index(node->edges, guint, k));
      const LoomTidyNode *a = &g->nodes[e->a], *b = &g->nodes[e->b];
      int dx, dy;
      if (MAX(a->layer, b->layer) != node->layer + 1 || MIN(a->layer, b->layer) != node->layer)
        continue;
      bool straight = fabs(loom_tidy_look(a, e->end_a, &dx, &dy).y -
                           loom_tidy_look(b, e->end_b, &dx, &dy).y) < 1e-6;
      bent += !straight;
      need = fmax(need, e->need_mm + (straight ? 0 : 8));
    }
  }
  return need + LANE_ROOM_MM * MIN(bent, MOST_LANES);
}

/* Words and open connectors may stand between columns too; plugs are part of a lead's need. */
static double
beyond(const LoomTidyNode *node, bool right)
{
  LoomRect o = loom_place_outline(node->part);
  double out = right ? node->box.x + node->box.width - (o.x - node->part->x_mm) - o.width
                     : o.x - node->part->x_mm - node->box.x;
  return fmax(out - 10, 0);
}

static void
place_widths(LoomTidyGraph *g, const Component *c)
{
  double x = 0;
  for (guint l = 0; l < c->columns->len; l++) {
    const GArray *column = c->columns->pdata[l];
    double width = 0, left = 0, right = 0;
    for (guint i = 0; i < column->len; i++) {
      const LoomTidyNode *node = &g->nodes[g_array_index(column, guint, i)];
      width = fmax(width, loom_place_outline(node->part).width);
      left = fmax(left, beyond(node, false));
      right = fmax(right, beyond(node, true));
    }
    x = up_to_grid(x + left);
    width = up_to_grid(width);
    for (guint i = 0; i < column->len; i++) {
      LoomTidyNode *node = &g->nodes[g_array_index(column, guint, i)];
      double own = loom_place_outline(node->part).width;
      double at = node->layer < 0 ? width - own : 0; /* towards the middle */
      node->part->x_mm = node->part->kind->lead ? on_grid(x + width / 2) : on_grid(x + at);
    }
    x += width + right + gap_between(g, column);
  }
}

static LoomRect
bounds(const LoomTidyGraph *g, const GArray *members)
{
  LoomRect all = {0, 0, 0, 0};
  for (guint i = 0; i < members->len; i++) {
    const LoomTidyNode *node = &g->nodes[g_array_index(members, guint, i)];
    LoomRect r = node->box;
    r.x += node->part->x_mm;
    r.y += node->part->y_mm;
    all = loom_rect_union(all, r);
  }
  return all;
}

static void
shift(LoomTidyGraph *g, const GArray *members, double dx, double dy)
{
  for (guint i = 0; i < members->len; i++) {
    LoomTidyNode *node = &g->nodes[g_array_index(members, guint, i)];
    node->part->x_mm += dx;
    node->part->y_mm += dy;
  }
}

/* Components one after the other in rows, as words on a page. */
static void
arrange(LoomTidyGraph *g, GPtrArray *components)
{
  double x = 0, y = 0, row = 0, widest = SHEET_WIDTH_MM;
  for (guint c = 0; c < components->len; c++) {
    const GArray *members = components->pdata[c];
    LoomRect r = bounds(g, members);
    if (x > 0 && x + r.width > widest) {
      x = 0;
      y = up_to_grid(y + row + COMPONENT_MM);
      row = 0;
    }
    shift(g, members, on_grid(x - r.x + 2), on_grid(y - r.y + 2));
    x = up_to_grid(x + r.width + COMPONENT_MM);
    row = fmax(row, r.height);
    widest = fmax(widest, r.width);
  }
}

void
loom_tidy_columns(LoomTidyGraph *g)
{
  g_autoptr(GPtrArray) components = g_ptr_array_new_with_free_func((GDestroyNotify)g_array_unref);
  for (guint c = 0; c < g->n_components; c++)
    g_ptr_array_add(components, g_array_new(FALSE, FALSE, sizeof(guint)));
  for (guint p = 0; p < g->n_nodes; p++) {
    LoomTidyNode *node = &g->nodes[p];
    if (!node->reached)
      continue;
    node->box = loom_tidy_box(node->part);
    g_array_append_val((GArray *)components->pdata[node->component], p);
  }
  g_autofree bool *placed = g_new0(bool, g->n_nodes + 1);
  for (guint c = 0; c < components->len; c++) {
    Component component = component_new(g, components->pdata[c]);
    place_heights(g, &component, placed);
    place_widths(g, &component);
    g_ptr_array_unref(component.columns);
  }
  arrange(g, components);
}
