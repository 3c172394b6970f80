#include "stages-private.h"

#include <math.h>

/* What one kind's ends are to its elements; worked out once a kind. */
typedef struct {
  bool *takes;  /* [n_ends] leads to what takes power */
  bool *source; /* [n_ends] leads to a source of the part itself */
  bool pack;    /* whose source runs down */
} KindEnds;

static bool
takes_power(LoomElementType type)
{
  switch (type) {
  case LOOM_ELEMENT_RESISTOR:
  case LOOM_ELEMENT_CURRENT:
  case LOOM_ELEMENT_POWER:
  case LOOM_ELEMENT_MOTOR:
  case LOOM_ELEMENT_SERVO:
  case LOOM_ELEMENT_DRIVER:
    return true;
  default:
    return false;
  }
}

/* Parts that are there to hand the supply on may have a lamp or a display of their own. */
static bool
hands_on(const LoomKind *kind)
{
  switch (kind->group) {
  case LOOM_GROUP_SUPPLY:
  case LOOM_GROUP_CHARGING:
  case LOOM_GROUP_PROTECTION:
  case LOOM_GROUP_SWITCHING:
  case LOOM_GROUP_LEAD:
  case LOOM_GROUP_DISTRIBUTION:
  case LOOM_GROUP_STRUCTURE:
    return true;
  default:
    return false;
  }
}

/* A converter that stands alone passes the supply on; within a controller it takes power. */
static bool
only_converts(const LoomKind *kind)
{
  for (guint i = 0; i < kind->n_elements; i++)
    if (takes_power(kind->elements[i].type))
      return hands_on(kind);
  return true;
}

/* Marks the nodes that are joined to marked ones through wires, inner joints, switches and fuses.
 */
static void
spread(const LoomKind *kind, bool *marked)
{
  for (bool more = true; more;) {
    more = false;
    for (guint i = 0; i < kind->n_elements; i++) {
      const LoomElement *e = &kind->elements[i];
      if (e->type > LOOM_ELEMENT_FUSE || marked[e->a] == marked[e->b])
        continue;
      marked[e->a] = marked[e->b] = more = true;
    }
  }
}

static void
mark_ends(const LoomKind *kind, const bool *marked, bool *ends)
{
  for (guint e = 0; e < kind->n_ends; e++)
    for (guint c = 0; c < kind->ends[e].n_contacts; c++)
      ends[e] |= marked[kind->ends[e].first_node + c];
}

static KindEnds *
kind_ends_new(const LoomKind *kind)
{
  KindEnds *k = g_new0(KindEnds, 1);
  k->takes = g_new0(bool, kind->n_ends + 1);
  k->source = g_new0(bool, kind->n_ends + 1);
  g_autofree bool *taking = g_new0(bool, kind->n_nodes + 1);
  g_autofree bool *giving = g_new0(bool, kind->n_nodes + 1);
  bool passes = only_converts(kind);
  for (guint i = 0; i < kind->n_elements; i++) {
    const LoomElement *e = &kind->elements[i];
    if (!passes && (takes_power(e->type) || e->type == LOOM_ELEMENT_CONVERTER))
      taking[e->a] = taking[e->b] = true;
    if (e->type == LOOM_ELEMENT_SOURCE) {
      giving[e->a] = giving[e->b] = true;
      k->pack |= !isnan(e->capacity_Ah);
    }
  }
  spread(kind, taking);
  spread(kind, giving);
  mark_ends(kind, taking, k->takes);
  mark_ends(kind, giving, k->source);
  return k;
}

static void
kind_ends_free(gpointer data)
{
  KindEnds *k = data;
  g_free(k->takes);
  g_free(k->source);
  g_free(k);
}

/* The walk from the sources over nodes: 1. inside a part, 2. over joints, but not into an end that
 * takes power. */
typedef struct {
  LoomStages *stages;
  const LoomWiring *w;
  GHashTable *kinds;  /* LoomKind -> KindEnds */
  guint *touch_first; /* [n_nodes + 1] into touches */
  guint *touches;     /* touches at each node */
  guint *distance;    /* [n_nodes] joints from the nearest source */
  GQueue queue;       /* nodes */
  guint now;          /* distance of the node that is looked at: nearer nodes go first */
  guint supply;       /* the number that is given now */
} Walk;

static const KindEnds *
ends_of(Walk *walk, guint part)
{
  const LoomKind *kind = loom_wiring_part(walk->w, part)->kind;
  KindEnds *ends = g_hash_table_lookup(walk->kinds, kind);
  if (!ends) {
    ends = kind_ends_new(kind);
    g_hash_table_insert(walk->kinds, (gpointer)kind, ends);
  }
  return ends;
}

static void
index_touches(Walk *walk)
{
  const LoomWiring *w = walk->w;
  walk->touch_first = g_new0(guint, w->n_nodes + 2);
  walk->touches = g_new(guint, 2 * w->n_touches + 1);
  for (guint i = 0; i < w->n_touches; i++) {
    walk->touch_first[w->touches[i].a + 2]++;
    walk->touch_first[w->touches[i].b + 2]++;
  }
  for (guint n = 2; n <= w->n_nodes + 1; n++)
    walk->touch_first[n] += walk->touch_first[n - 1];
  for (guint i = 0; i < w->n_touches; i++) {
    walk->touches[walk->touch_first[w->touches[i].a + 1]++] = i;
    walk->touches[walk->touch_first[w->touches[i].b + 1]++] = i;
  }
}

static void
reach(Walk *walk, guint node, guint distance)
{
  if (walk->stages->node_supply[node] != LOOM_NONE)
    return;
  walk->stages->node_supply[node] = walk->supply;
  walk->distance[node] = distance;
  if (distance == walk->now)
    g_queue_push_head(&walk->queue, GUINT_TO_POINTER(node));
  else
    g_queue_push_tail(&walk->queue, GUINT_TO_POINTER(node));
}

/* Where an element leads from one of its nodes: the other side of what conducts, the other pole of
 * a source (two in a row are one supply), the output of a converter that stands alone. */
static void
reach_through(Walk *walk, const LoomElement *e, guint first, guint node, guint distance)
{
  guint at = node - first;
  if (e->type <= LOOM_ELEMENT_SOURCE && (at == e->a || at == e->b)) {
    reach(walk, first + e->a, distance);
    reach(walk, first + e->b, distance);
  }
  if (e->type == LOOM_ELEMENT_CONVERTER && (at == e->a || at == e->b)) {
    reach(walk, first + e->c, distance);
    reach(walk, first + e->d, distance);
  }
}

static void
walk_part(Walk *walk, guint node)
{
  guint part = walk->w->node_part[node], first = walk->w->part_node[part];
  const LoomKind *kind = loom_wiring_part(walk->w, part)->kind;
  for (guint i = 0; i < kind->n_elements; i++) {
    const LoomElement *e = &kind->elements[i];
    if (e->type == LOOM_ELEMENT_SWITCH && (node - first == e->a || node - first == e->b)) {
      walk->stages->switches[part] = loom_wiring_part(walk->w, part)->kind->has_switch;
      walk->stages->part_supply[part] = walk->supply;
    }
    reach_through(walk, e, first, node, walk->distance[node]);
  }
}

/* The joint lies on the supply side, or leads out of it. */
static void
mark_joint(Walk *walk, guint wired, LoomJointSide side, guint distance)
{
  LoomJointStage *stage = &walk->stages->joints[wired];
  if (stage->side != LOOM_SIDE_FEEDS)
    stage->side = side;
  stage->supply = walk->supply;
  stage->distance = MIN(stage->distance, distance);
}

static void
walk_joints(Walk *walk, guint node)
{
  const LoomWiring *w = walk->w;
  for (guint i = walk->touch_first[node]; i < walk->touch_first[node + 1]; i++) {
    const LoomTouch *touch = &w->touches[walk->touches[i]];
    const LoomWiredJoint *j = &w->joints[touch->wired];
    bool from_a = touch->a == node;
    guint part = from_a ? j->part_b : j->part_a, end = from_a ? j->end_b : j->end_a;
    bool feeds = ends_of(walk, part)->takes[end] && !ends_of(walk, part)->source[end];
    mark_joint(walk, touch->wired, feeds ? LOOM_SIDE_FEEDS : LOOM_SIDE_SUPPLY,
               walk->distance[node]);
    if (!feeds)
      reach(walk, from_a ? touch->b : touch->a, walk->distance[node] + 1);
  }
}

static void
walk_from(Walk *walk, guint node)
{
  if (walk->stages->node_supply[node] != LOOM_NONE)
    return;
  walk->supply = walk->stages->n_supplies++;
  walk->now = 0;
  reach(walk, node, 0);
  while (!g_queue_is_empty(&walk->queue)) {
    guint next = GPOINTER_TO_UINT(g_queue_pop_head(&walk->queue));
    walk->now = walk->distance[next];
    walk_part(walk, next);
    walk_joints(walk, next);
  }
}

static void
walk_all(Walk *walk)
{
  for (guint p = 0; p < walk->w->n_parts; p++) {
    const LoomKind *kind = loom_wiring_part(walk->w, p)->kind;
    for (guint i = 0; i < kind->n_elements; i++)
      if (kind->elements[i].type == LOOM_ELEMENT_SOURCE)
        walk_from(walk, walk->w->part_node[p] + kind->elements[i].a);
  }
}

guint
loom_stages_supply_of(const LoomStages *stages, guint part, guint end)
{
  const LoomEnd *e = &loom_wiring_part(stages->wiring, part)->kind->ends[end];
  for (guint c = 0; c < e->n_contacts; c++) {
    guint supply = stages->node_supply[loom_wiring_node(stages->wiring, part, end, c)];
    if (supply != LOOM_NONE)
      return supply;
  }
  return LOOM_NONE;
}

static void
mark_source_end(Walk *walk, guint wired, guint part, guint end)
{
  const KindEnds *ends = ends_of(walk, part);
  LoomJointStage *stage = &walk->stages->joints[wired];
  if (!ends->source[end])
    return;
  stage->source = true;
  stage->pack |= ends->pack;
  if (stage->side == LOOM_SIDE_ELSE) { /* the ends do not mate: nothing was reached over it */
    stage->side = LOOM_SIDE_SUPPLY;
    stage->supply = loom_stages_supply_of(walk->stages, part, end);
    stage->distance = 0;
  }
}

static void
mark_joints(Walk *walk)
{
  const LoomWiring *w = walk->w;
  for (guint i = 0; i < w->n_joints; i++) {
    const LoomWiredJoint *j = &w->joints[i];
    const LoomFamily *family = loom_wiring_part(w, j->part_a)->kind->ends[j->end_a].family;
    if (family->shape == LOOM_SHAPE_RADIO) {
      walk->stages->joints[i].side = LOOM_SIDE_RADIO;
      continue;
    }
    mark_source_end(walk, i, j->part_a, j->end_a);
    mark_source_end(walk, i, j->part_b, j->end_b);
  }
}

static bool
at_computer(const LoomWiring *w, guint wired)
{
  return loom_wiring_part(w, w->joints[wired].part_a)->kind->group == LOOM_GROUP_COMPUTER ||
         loom_wiring_part(w, w->joints[wired].part_b)->kind->group == LOOM_GROUP_COMPUTER;
}

/* A supply can be tried alone if it feeds something over a joint that is not its source's own. What
 * comes out of a computer is not measured. */
static void
find_tried(LoomStages *s)
{
  g_autofree bool *feeds = g_new0(bool, s->n_supplies + 1);
  g_autofree bool *plugs = g_new0(bool, s->n_supplies + 1);
  for (guint i = 0; i < s->wiring->n_joints; i++) {
    const LoomJointStage *j = &s->joints[i];
    if (j->supply == LOOM_NONE)
      continue;
    feeds[j->supply] |= j->side == LOOM_SIDE_FEEDS;
    plugs[j->supply] |= j->side == LOOM_SIDE_SUPPLY && j->source && !at_computer(s->wiring, i);
  }
  s->tried = g_new0(bool, s->n_supplies + 1);
  for (guint i = 0; i < s->n_supplies; i++)
    s->tried[i] = feeds[i] && plugs[i];
}

LoomStages *
loom_stages_new(const LoomDesign *design, guint scene)
{
  LoomStages *stages = g_new0(LoomStages, 1);
  LoomWiring *w = stages->wiring = loom_wiring_new(design, scene);
  stages->joints = g_new0(LoomJointStage, w->n_joints + 1);
  stages->node_supply = g_new(guint, w->n_nodes + 1);
  stages->switches = g_new0(bool, w->n_parts + 1);
  stages->part_supply = g_new(guint, w->n_parts + 1);
  for (guint i = 0; i < w->n_joints; i++)
    stages->joints[i].supply = stages->joints[i].distance = LOOM_NONE;
  for (guint i = 0; i < w->n_nodes; i++)
    stages->node_supply[i] = LOOM_NONE;
  for (guint i = 0; i < w->n_parts; i++)
    stages->part_supply[i] = LOOM_NONE;
  Walk walk = {.stages = stages, .w = w, .queue = G_QUEUE_INIT};
  walk.kinds = g_hash_table_new_full(NULL, NULL, NULL, kind_ends_free);
  walk.distance = g_new0(guint, w->n_nodes + 1);
  index_touches(&walk);
  walk_all(&walk);
  mark_joints(&walk);
  find_tried(stages);
  g_hash_table_unref(walk.kinds);
  g_free(walk.touch_first);
  g_free(walk.touches);
  g_free(walk.distance);
  return stages;
}

void
loom_stages_free(LoomStages *stages)
{
  if (!stages)
    return;
  g_free(stages->joints);
  g_free(stages->node_supply);
  g_free(stages->switches);
  g_free(stages->part_supply);
  g_free(stages->tried);
  loom_wiring_free(stages->wiring);
  g_free(stages);
}
