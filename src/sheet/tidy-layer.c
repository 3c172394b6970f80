/* Columns: breadth first from the controllers, or where there are none from the packs. What hangs
 * on an end that looks to the left comes to the left, on one that looks to the right to the right.
 * What hangs on an end of a controller that looks up or down begins a component of its own, to
 * stand below; what sits alone on such an end of another part stays in its column. Each part is
 * mirrored, or turned if only one of its ends is used, so that it looks back to where it came from.
 */
#include "tidy-private.h"

static bool
is_used(const LoomTidyGraph *g, const LoomTidyNode *node)
{
  for (guint k = 0; k < node->edges->len; k++)
    if (!g_array_index(g->edges, LoomTidyEdge, g_array_index(node->edges, guint, k)).weak)
      return true;
  return false;
}

/* How much everything else should gather around a part of the group. */
static guint
weight_of(const LoomTidyGraph *g, guint number)
{
  const LoomTidyNode *node = &g->nodes[number];
  if (g->skip[number] || node->reached)
    return 0;
  switch (node->part->kind->group) {
  case LOOM_GROUP_CONTROLLER:
    return is_used(g, node) ? 9 : 4;
  case LOOM_GROUP_SUPPLY:
    return 7;
  case LOOM_GROUP_CONVERTER:
  case LOOM_GROUP_DISTRIBUTION:
    return 6;
  case LOOM_GROUP_CHARGING:
    return 5;
  default:
    return node->part->kind->lead ? 1 : 3;
  }
}

static void
other_end(const LoomTidyEdge *edge, guint from, guint *own_end, guint *other, guint *far_end)
{
  bool a = edge->a == from;
  *own_end = a ? edge->end_a : edge->end_b;
  *other = a ? edge->b : edge->a;
  *far_end = a ? edge->end_b : edge->end_a;
}

/* How well the node's ends look at what is already placed: each that looks the right way counts. */
static int
score(const LoomTidyGraph *g, guint number)
{
  const LoomTidyNode *node = &g->nodes[number];
  int sum = 0;
  for (guint k = 0; k < node->edges->len; k++) {
    const LoomTidyEdge *edge =
        &g_array_index(g->edges, LoomTidyEdge, g_array_index(node->edges, guint, k));
    guint own_end, other, far_end;
    int dx, dy;
    other_end(edge, number, &own_end, &other, &far_end);
    loom_tidy_look(node, own_end, &dx, &dy);
    if (!g->nodes[other].reached || other == number)
      continue;
    int wanted = g->nodes[other].layer - node->layer;
    wanted = (wanted > 0) - (wanted < 0);
    int factor = g_array_index(node->edges, guint, k) == node->parent_edge ? 3 : edge->weak ? 0 : 1;
    sum += factor * (wanted == 0     ? (dy < 0 && node->travel == 0)
                     : dx == wanted  ? 2
                     : dx == -wanted ? -2
                                     : 0);
  }
  return sum;
}

static guint
used_ends(const LoomTidyGraph *g, const LoomTidyNode *node)
{
  guint n = 0;
  for (guint k = 0; k < node->edges->len; k++)
    n += !g_array_index(g->edges, LoomTidyEdge, g_array_index(node->edges, guint, k)).weak;
  return n;
}

/* A part with one connector in use, and that on its edge: a pigtail looks where it likes. */
static bool
may_turn(const LoomTidyGraph *g, const LoomTidyNode *node)
{
  if (used_ends(g, node) != 1 || node->part->kind->n_ends > 2)
    return false;
  for (guint e = 0; e < node->part->kind->n_ends; e++)
    if (node->part->kind->ends[e].pigtail_mm > 0)
      return false;
  return true;
}

/* Step 2 for one node: the first of the orientations that scores best. */
static void
orient(LoomTidyGraph *g, guint number)
{
  static const struct {
    LoomTurn turn;
    bool flip;
  } WAYS[] = {{LOOM_TURN_0, false},
              {LOOM_TURN_0, true},
              {LOOM_TURN_180, false},
              {LOOM_TURN_90, false},
              {LOOM_TURN_270, false}};
  LoomTidyNode *node = &g->nodes[number];
  if (node->centre || node->part->kind->lead)
    return;
  guint best = 0, n = may_turn(g, node) ? G_N_ELEMENTS(WAYS) : 2;
  int most = G_MININT;
  for (guint i = 0; i < n; i++) {
    node->part->turn = WAYS[i].turn;
    node->part->flip = WAYS[i].flip;
    int own = score(g, number);
    if (own > most) {
      most = own;
      best = i;
    }
  }
  node->part->turn = WAYS[best].turn;
  node->part->flip = WAYS[best].flip;
}

static void
reach(LoomTidyGraph *g, guint number, guint parent, guint edge, int travel, GQueue *queue)
{
  LoomTidyNode *node = &g->nodes[number];
  node->reached = true;
  node->order = g->n_reached++;
  node->parent = parent;
  node->parent_edge = edge;
  node->travel = travel;
  bool below = parent != LOOM_NONE && travel == 0 && g->nodes[parent].centre;
  if (below) {
    node->below = parent;
    node->component = g->n_components++;
  } else if (parent != LOOM_NONE) {
    node->component = g->nodes[parent].component;
    node->layer = g->nodes[parent].layer + travel;
  }
  orient(g, number);
  g_queue_push_tail(queue, GUINT_TO_POINTER(number));
}

/* Which way something goes that hangs on the end: as the end looks. From ends that look up or down:
 * to below, if it is plugged straight in or hangs on a controller, else on in the way that the part
 * was reached. What belongs to another scene stays in the column, out of the way. */
static int
travel_from(const LoomTidyNode *node, guint end, const LoomTidyEdge *edge)
{
  int dx, dy;
  loom_tidy_look(node, end, &dx, &dy);
  if (edge->weak && !node->centre)
    return node->layer >= 0;
  if (dx != 0)
    return dx;
  if (node->centre || (dy != 0 && edge->direct))
    return 0;
  return node->travel ? node->travel : 1;
}

/* Spreads over all edges of that strength. */
static void
spread(LoomTidyGraph *g, GQueue *queue, bool weak)
{
  while (!g_queue_is_empty(queue)) {
    guint number = GPOINTER_TO_UINT(g_queue_pop_head(queue));
    const LoomTidyNode *node = &g->nodes[number];
    for (guint k = 0; k < node->edges->len; k++) {
      guint e = g_array_index(node->edges, guint, k), own_end, other, far_end;
      const LoomTidyEdge *edge = &g_array_index(g->edges, LoomTidyEdge, e);
      other_end(edge, number, &own_end, &other, &far_end);
      if (!g->nodes[other].reached && (weak || !edge->weak))
        reach(g, other, number, e, travel_from(node, own_end, edge), queue);
    }
  }
}

/* Controllers that a strong path leads to stand in the middle with the root. */
static void
add_centres(LoomTidyGraph *g, guint root, GQueue *queue)
{
  g_autofree bool *seen = g_new0(bool, g->n_nodes + 1);
  GQueue walk = G_QUEUE_INIT;
  g_queue_push_tail(&walk, GUINT_TO_POINTER(root));
  seen[root] = true;
  while (!g_queue_is_empty(&walk)) {
    guint number = GPOINTER_TO_UINT(g_queue_pop_head(&walk));
    const LoomTidyNode *node = &g->nodes[number];
    for (guint k = 0; k < node->edges->len; k++) {
      guint own_end, other, far_end;
      const LoomTidyEdge *edge =
          &g_array_index(g->edges, LoomTidyEdge, g_array_index(node->edges, guint, k));
      other_end(edge, number, &own_end, &other, &far_end);
      if (seen[other] || edge->weak)
        continue;
      seen[other] = true;
      g_queue_push_tail(&walk, GUINT_TO_POINTER(other));
    }
  }
  for (guint p = 0; p < g->n_nodes; p++)
    if (seen[p] && p != root && g->nodes[p].part->kind->group == LOOM_GROUP_CONTROLLER) {
      g->nodes[p].centre = true;
      reach(g, p, LOOM_NONE, LOOM_NONE, 0, queue);
      g->nodes[p].component = g->nodes[root].component;
    }
}

typedef struct {
  guint weight, number;
} Candidate;

static int
by_weight(gconstpointer a, gconstpointer b)
{
  const Candidate *x = a, *y = b;
  if (x->weight != y->weight)
    return x->weight > y->weight ? -1 : 1;
  return (x->number > y->number) - (x->number < y->number);
}

void
loom_tidy_layers(LoomTidyGraph *g)
{
  g_autoptr(GArray) roots = g_array_new(FALSE, FALSE, sizeof(Candidate));
  for (guint p = 0; p < g->n_nodes; p++) {
    Candidate c = {weight_of(g, p), p};
    if (!g->skip[p])
      g_array_append_val(roots, c);
  }
  g_array_sort(roots, by_weight);
  for (guint i = 0; i < roots->len; i++) {
    guint root = g_array_index(roots, Candidate, i).number;
    if (g->nodes[root].reached)
      continue;
    GQueue queue = G_QUEUE_INIT;
    bool controller = g->nodes[root].part->kind->group == LOOM_GROUP_CONTROLLER;
    g->nodes[root].centre = controller;
    guint first = g->nodes[root].component = g->n_components++;
    reach(g, root, LOOM_NONE, LOOM_NONE, 0, &queue);
    if (controller)
      add_centres(g, root, &queue);
    spread(g, &queue, false);
    for (guint p = 0; p < g->n_nodes; p++)
      if (g->nodes[p].reached && g->nodes[p].component >= first)
        g_queue_push_tail(&queue, GUINT_TO_POINTER(p));
    spread(g, &queue, true);
  }
}
