/* Heights and widths: the parts of a column stand in the order of what they hang on, each as near
 * as can be to where its lead would be straight. With the order given that is an isotonic
 * regression in the first norm, solved by pooling (Barlow et al., Statistical Inference under Order
 * Restrictions, 1972):
 *
 *     wish  3 1 1 9           1. each part is a pool of its own, at its wish
 *           |  \|  |          2. a pool that would overlap the one above joins it; the pool
 *     put  [A][B][C]  [D]        stands at the median of the wishes of its parts             */
#include "tidy-private.h"

#include "place.h"

#include <math.h>

#define BETWEEN_MM 6.0 /* parts of a column */
#define LEAST_GAP_MM 15.0
#define LANE_ROOM_MM 2.5 /* width for each lead that has to bend between two columns */
#define MOST_LANES 14

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

/* The way from the pack should run straight. */
static guint
weight_of(const LoomTidyNode *node)
{
  if (node->edges->len < 2 && node->part->kind->group != LOOM_GROUP_SUPPLY)
    return 1;
  switch (node->part->kind->group) {
  case LOOM_GROUP_SUPPLY:
  case LOOM_GROUP_PROTECTION:
  case LOOM_GROUP_SWITCHING:
  case LOOM_GROUP_DISTRIBUTION:
    return 40;
  default:
    return 1;
  }
}

/* y of the part at which its leads to what is placed nearer to the middle run straight. The lead
 * that it was reached by counts more than all others where it is part of the way from the pack. */
static bool
wish_of(const LoomTidyGraph *g, guint number, const bool *placed, double *wish)
{
  const LoomTidyNode *node = &g->nodes[number];
  g_autoptr(GArray) wishes = g_array_new(FALSE, FALSE, sizeof(double));
  for (guint k = 0; k < node->edges->len; k++) {
    guint number_of_edge = g_array_index(node->edges, guint, k);
    const LoomTidyEdge *edge = &g_array_index(g->edges, LoomTidyEdge, number_of_edge);
    bool a = edge->a == number, own_edge = number_of_edge == node->parent_edge;
    guint other = a ? edge->b : edge->a;
    int dx, dy;
    if (!placed[other] || g->nodes[other].component != node->component || (edge->weak && !own_edge))
      continue;
    LoomPoint far = loom_tidy_look(&g->nodes[other], a ? edge->end_b : edge->end_a, &dx, &dy);
    double down = dy > 0 ? 20 : dy < 0 ? -20 : 0;
    LoomPoint own = loom_tidy_look(node, a ? edge->end_a : edge->end_b, &dx, &dy);
    double y = far.y + down - (own.y - node->part->y_mm);
    for (guint n = own_edge ? weight_of(node) : 1; n > 0; n--)
      g_array_append_val(wishes, y);
  }
  if (wishes->len == 0)
    return false;
  g_array_sort(wishes, by_value);
  *wish = loom_grid_near(g_array_index(wishes, double, (wishes->len - 1) / 2));
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
  return loom_grid_up(node->box.height + BETWEEN_MM);
}

/* From the top of the box to the part's y, on the grid. */
static double
head_of(const LoomTidyGraph *g, const Placing *p)
{
  return loom_grid_up(-g->nodes[p->number].box.y);
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
    for (guint k = 0; k < MAX(all[i].weight, pool->last - pool->first == 1); k++)
      g_array_append_val(starts, start);
    above += depth_of(g, &all[i]);
  }
  if (starts->len == 0)
    return all[pool->first].wish - head_of(g, &all[pool->first]);
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

/* A part that is here for another scene only gives way. */
static guint
weight_in_column(const LoomTidyGraph *g, const LoomTidyNode *node)
{
  bool weak = node->parent_edge != LOOM_NONE &&
              g_array_index(g->edges, LoomTidyEdge, node->parent_edge).weak;
  return weak ? 0 : weight_of(node);
}

/* One column, after those nearer to the middle; its nodes in the order in which they were reached.
 */
static void
place_column(LoomTidyGraph *g, const GArray *column, bool *placed)
{
  guint n = column->len;
  g_autofree Placing *all = g_new(Placing, n + 1);
  double below = 0;
  for (guint i = 0; i < n; i++) {
    guint number = g_array_index(column, guint, i);
    LoomTidyNode *node = &g->nodes[number];
    all[i] = (Placing){.number = number, .order = i, .weight = weight_in_column(g, node)};
    if (!wish_of(g, number, placed, &all[i].wish))
      all[i].wish = below + head_of(g, &all[i]);
    below = fmax(below, all[i].wish - head_of(g, &all[i]) + depth_of(g, &all[i]));
    node->part->y_mm = all[i].wish;
    placed[number] = true;
  }
  qsort(all, n, sizeof *all, by_wish);
  stack(g, all, n);
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

/* Whether the node has a lead to a layer on that side, from an end that looks there. */
static bool
leaves_by(const LoomTidyGraph *g, const LoomTidyNode *node, int side, guint *n)
{
  guint number = (guint)(node - g->nodes);
  for (guint k = 0; k < node->edges->len; k++) {
    const LoomTidyEdge *e =
        &g_array_index(g->edges, LoomTidyEdge, g_array_index(node->edges, guint, k));
    int dx, dy;
    loom_tidy_look(node, e->a == number ? e->end_a : e->end_b, &dx, &dy);
    *n += dx == side;
  }
  return *n > 0;
}

/* Paper between two columns: for the longest lead from one to the other, and for those that bend
 * there. */
static double
gap_between(const LoomTidyGraph *g, const GArray *left, const GArray *right)
{
  double need = LEAST_GAP_MM;
  guint straight = 0, out = 0, in = 0;
  for (guint i = 0; i < left->len; i++) {
    const LoomTidyNode *node = &g->nodes[g_array_index(left, guint, i)];
    leaves_by(g, node, 1, &out);
    for (guint k = 0; k < node->edges->len; k++) {
      const LoomTidyEdge *e =
          &g_array_index(g->edges, LoomTidyEdge, g_array_index(node->edges, guint, k));
      const LoomTidyNode *a = &g->nodes[e->a], *b = &g->nodes[e->b];
      int dx, dy;
      if (a->component != b->component || MAX(a->layer, b->layer) != node->layer + 1 ||
          MIN(a->layer, b->layer) != node->layer)
        continue;
      bool level = fabs(loom_tidy_look(a, e->end_a, &dx, &dy).y -
                        loom_tidy_look(b, e->end_b, &dx, &dy).y) < 1e-6;
      straight += level;
      need = fmax(need, e->need_mm + (level ? 0 : 8));
    }
  }
  for (guint i = 0; right && i < right->len; i++)
    leaves_by(g, &g->nodes[g_array_index(right, guint, i)], -1, &in);
  guint bent = MAX(out, in) - MIN(straight, MAX(out, in));
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
    x = loom_grid_up(x + left);
    width = loom_grid_up(width);
    for (guint i = 0; i < column->len; i++) {
      LoomTidyNode *node = &g->nodes[g_array_index(column, guint, i)];
      double own = loom_place_outline(node->part).width;
      double at = node->layer < 0 ? width - own : 0; /* towards the middle */
      node->part->x_mm =
          node->part->kind->lead ? loom_grid_near(x + width / 2) : loom_grid_near(x + at);
    }
    const GArray *next = l + 1 < c->columns->len ? c->columns->pdata[l + 1] : NULL;
    x += width + right + gap_between(g, column, next);
  }
}

/* Parts plugged straight into another one: they take their place from it, it takes room for them.
 * Parts that would cover each other so are left to the columns. */
static void
glue(LoomTidyGraph *g, guint number)
{
  LoomTidyNode *node = &g->nodes[number];
  if (node->parent == LOOM_NONE || node->below != LOOM_NONE || node->centre)
    return;
  const LoomTidyEdge *e = &g_array_index(g->edges, LoomTidyEdge, node->parent_edge);
  LoomTidyNode *parent = &g->nodes[node->parent];
  if (!e->direct || e->weak || node->edges->len > 1 || parent->glued != LOOM_NONE)
    return;
  bool a = e->a == number;
  int dx, dy, own_dx, own_dy;
  LoomPoint far = loom_tidy_look(parent, a ? e->end_b : e->end_a, &dx, &dy);
  LoomPoint own = loom_tidy_look(node, a ? e->end_a : e->end_b, &own_dx, &own_dy);
  if (dx != -own_dx || dy != -own_dy)
    return;
  double both = loom_end_size(&parent->part->kind->ends[a ? e->end_b : e->end_a]).depth_mm +
                loom_end_size(&node->part->kind->ends[a ? e->end_a : e->end_b]).depth_mm;
  LoomPoint aside = {far.x + dx * both - own.x, far.y + dy * both - own.y};
  if (fabs(aside.x - loom_grid_near(aside.x)) + fabs(aside.y - loom_grid_near(aside.y)) > 1e-6)
    return;
  LoomRect outline = loom_place_outline(node->part);
  outline.x += aside.x;
  outline.y += aside.y;
  for (guint k = 0; k < parent->edges->len; k++) {
    const LoomTidyEdge *other =
        &g_array_index(g->edges, LoomTidyEdge, g_array_index(parent->edges, guint, k));
    const LoomTidyNode *sibling = &g->nodes[other->a == node->parent ? other->b : other->a];
    LoomRect taken = loom_place_outline(sibling->part);
    taken.x += sibling->aside.x;
    taken.y += sibling->aside.y;
    if (sibling->glued == node->parent && loom_rect_meets(taken, outline))
      return;
  }
  node->glued = node->parent;
  node->aside = aside;
  LoomRect box = node->box;
  box.x += aside.x;
  box.y += aside.y;
  parent->box = loom_rect_union(parent->box, box);
}

static void
follow_glue(LoomTidyGraph *g)
{
  for (guint p = 0; p < g->n_nodes; p++) {
    LoomTidyNode *node = &g->nodes[p];
    if (node->glued == LOOM_NONE)
      continue;
    node->part->x_mm = g->nodes[node->glued].part->x_mm + node->aside.x;
    node->part->y_mm = g->nodes[node->glued].part->y_mm + node->aside.y;
  }
}

static int
by_order(gconstpointer a, gconstpointer b, gpointer data)
{
  const LoomTidyGraph *g = data;
  guint x = g->nodes[*(const guint *)a].order, y = g->nodes[*(const guint *)b].order;
  return (x > y) - (x < y);
}

void
loom_tidy_columns(LoomTidyGraph *g)
{
  g_autoptr(GHashTable) pictures = loom_pictures_new();
  g_autoptr(GArray) order = g_array_new(FALSE, FALSE, sizeof(guint));
  for (guint p = 0; p < g->n_nodes; p++) {
    if (!g->nodes[p].reached)
      continue;
    g->nodes[p].box = loom_tidy_box(g->nodes[p].part, pictures);
    g_array_append_val(order, p);
  }
  g_array_sort_with_data(order, by_order, g);
  g_autoptr(GPtrArray) components = g_ptr_array_new_with_free_func((GDestroyNotify)g_array_unref);
  for (guint c = 0; c < g->n_components; c++)
    g_ptr_array_add(components, g_array_new(FALSE, FALSE, sizeof(guint)));
  for (guint i = 0; i < order->len; i++) {
    guint p = g_array_index(order, guint, i);
    glue(g, p);
    if (g->nodes[p].glued == LOOM_NONE)
      g_array_append_val((GArray *)components->pdata[g->nodes[p].component], p);
  }
  g_autofree bool *placed = g_new0(bool, g->n_nodes + 1);
  for (guint c = 0; c < components->len; c++) {
    Component component = component_new(g, components->pdata[c]);
    place_heights(g, &component, placed);
    place_widths(g, &component);
    g_ptr_array_unref(component.columns);
  }
  loom_tidy_page(g, components);
  follow_glue(g);
}
