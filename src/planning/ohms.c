#include "ohms-private.h"

#include "electric/conductor.h"
#include "electric/fuse.h"

#include <math.h>
#include <string.h>

/* Less is no resistance: a nano-ohm is a millionth of the least contact. */
#define LEAST_OHM 1e-9

typedef struct {
  guint a, b;
  double ohm; /* NAN: electronics */
} Edge;

struct LoomOhms {
  const LoomWiring *wiring;
  GArray *edges;           /* Edge */
  guint *first, *incident; /* [n_nodes + 1] edges by node */
  guint *piece;            /* [n_nodes] lowest node of everything that is joined */
  bool *source;            /* [n_nodes] the piece that is found there holds a source */
};

static double
element_ohm(const LoomPart *part, guint index, const LoomElement *e)
{
  switch (e->type) {
  case LOOM_ELEMENT_WIRE: {
    double own = isnan(e->length_mm) ? loom_part_length_mm(part) : e->length_mm;
    return loom_conductor_ohm(e->mm2, isnan(own) ? 0 : own, 20);
  }
  case LOOM_ELEMENT_FUSE:
    return e->ohm > 0 ? e->ohm : loom_fuse_ohm(loom_part_fuse_A(part, index));
  case LOOM_ELEMENT_THROUGH:
  case LOOM_ELEMENT_SWITCH:
    return isnan(e->ohm) ? 0 : e->ohm;
  case LOOM_ELEMENT_RESISTOR:
  case LOOM_ELEMENT_MOTOR:
    return e->ohm;
  default:
    return NAN;
  }
}

static void
add_edge(LoomOhms *o, guint a, guint b, double ohm)
{
  Edge edge = {a, b, isnan(ohm) ? NAN : fmax(ohm, LEAST_OHM)};
  g_array_append_val(o->edges, edge);
}

guint
loom_ohms_swapped(const LoomOhmsChange *change, guint part, guint node)
{
  if (!change || change->part != part)
    return node;
  return node == change->swap_a ? change->swap_b : node == change->swap_b ? change->swap_a : node;
}

/* Drivers and converters join all four of their nodes, as far as anyone can tell. */
static void
add_element(LoomOhms *o, guint p, guint index, const LoomOhmsChange *change)
{
  const LoomPart *part = loom_wiring_part(o->wiring, p);
  const LoomElement *e = &part->kind->elements[index];
  guint base = o->wiring->part_node[p];
  guint a = loom_ohms_swapped(change, p, base + e->a);
  double ohm = element_ohm(part, index, e);
  if (isnan(ohm) && e->type < LOOM_ELEMENT_SOURCE)
    ohm = 0;
  if (change && change->part == p && change->element == index)
    ohm = change->ohm;
  add_edge(o, a, loom_ohms_swapped(change, p, base + e->b), ohm);
  if (e->type == LOOM_ELEMENT_DRIVER || e->type == LOOM_ELEMENT_CONVERTER) {
    add_edge(o, a, loom_ohms_swapped(change, p, base + e->c), NAN);
    add_edge(o, a, loom_ohms_swapped(change, p, base + e->d), NAN);
  }
  if (e->type == LOOM_ELEMENT_SOURCE)
    o->source[a] = true;
}

static void
add_parts(LoomOhms *o, const bool *open, const LoomOhmsChange *change)
{
  for (guint p = 0; p < o->wiring->n_parts; p++) {
    const LoomKind *kind = loom_wiring_part(o->wiring, p)->kind;
    for (guint i = 0; i < kind->n_elements; i++)
      if (kind->elements[i].type != LOOM_ELEMENT_SWITCH || !open || !open[p])
        add_element(o, p, i, change);
  }
}

static void
add_touches(LoomOhms *o, const LoomTouch *touches, guint n)
{
  for (guint i = 0; i < n; i++) {
    const LoomWiredJoint *j = &o->wiring->joints[touches[i].wired];
    const LoomEnd *a = &loom_wiring_part(o->wiring, j->part_a)->kind->ends[j->end_a];
    const LoomEnd *b = &loom_wiring_part(o->wiring, j->part_b)->kind->ends[j->end_b];
    double ohm = loom_joint_ohm(a, b);
    add_edge(o, touches[i].a, touches[i].b, isnan(ohm) ? 0 : ohm);
  }
}

static void
index_edges(LoomOhms *o)
{
  guint n = o->wiring->n_nodes;
  o->first = g_new0(guint, n + 2);
  o->incident = g_new(guint, 2 * o->edges->len + 1);
  const Edge *edges = (const Edge *)o->edges->data;
  for (guint i = 0; i < o->edges->len; i++) {
    o->first[edges[i].a + 1]++;
    o->first[edges[i].b + 1]++;
  }
  for (guint i = 0; i < n; i++)
    o->first[i + 1] += o->first[i];
  g_autofree guint *fill = g_memdup2(o->first, (n + 1) * sizeof *fill);
  for (guint i = 0; i < o->edges->len; i++) {
    o->incident[fill[edges[i].a]++] = i;
    o->incident[fill[edges[i].b]++] = i;
  }
}

/* Gives `start` and all that is joined to it one number; sources count for the whole piece. */
static void
number_piece(LoomOhms *o, guint start, GArray *queue)
{
  const Edge *edges = (const Edge *)o->edges->data;
  g_array_set_size(queue, 0);
  g_array_append_val(queue, start);
  o->piece[start] = start;
  for (guint i = 0; i < queue->len; i++) {
    guint node = g_array_index(queue, guint, i);
    o->source[start] |= o->source[node];
    for (guint k = o->first[node]; k < o->first[node + 1]; k++) {
      const Edge *e = &edges[o->incident[k]];
      guint far = e->a == node ? e->b : e->a;
      if (o->piece[far] != LOOM_NONE)
        continue;
      o->piece[far] = start;
      g_array_append_val(queue, far);
    }
  }
}

static void
number_pieces(LoomOhms *o)
{
  g_autoptr(GArray) queue = g_array_new(FALSE, FALSE, sizeof(guint));
  o->piece = g_new(guint, o->wiring->n_nodes + 1);
  for (guint i = 0; i < o->wiring->n_nodes; i++)
    o->piece[i] = LOOM_NONE;
  for (guint i = 0; i < o->wiring->n_nodes; i++)
    if (o->piece[i] == LOOM_NONE)
      number_piece(o, i, queue);
}

LoomOhms *
loom_ohms_new(const LoomWiring *w, const LoomTouch *touches, guint n_touches, const bool *open,
              const LoomOhmsChange *change)
{
  LoomOhms *o = g_new0(LoomOhms, 1);
  o->wiring = w;
  o->edges = g_array_new(FALSE, FALSE, sizeof(Edge));
  o->source = g_new0(bool, w->n_nodes + 1);
  add_parts(o, open, change);
  add_touches(o, touches, n_touches);
  index_edges(o);
  number_pieces(o);
  return o;
}

void
loom_ohms_free(LoomOhms *o)
{
  if (!o)
    return;
  g_array_unref(o->edges);
  g_free(o->first);
  g_free(o->incident);
  g_free(o->source);
  g_free(o->piece);
  g_free(o);
}

guint
loom_ohms_piece(const LoomOhms *o, guint node)
{
  return o->piece[node];
}

/* ---- star-mesh ---- */

typedef struct {
  guint to; /* local number */
  double siemens;
} Arm;

/* The part of the network around a node, with numbers of its own. */
typedef struct {
  GArray *nodes;      /* guint: nodes of the wiring */
  GHashTable *number; /* node -> local number + 1 */
  GPtrArray *arms;    /* GArray of Arm for each */
} Mesh;

static guint
mesh_node(Mesh *m, guint node)
{
  guint found = GPOINTER_TO_UINT(g_hash_table_lookup(m->number, GUINT_TO_POINTER(node)));
  if (found > 0)
    return found - 1;
  g_array_append_val(m->nodes, node);
  g_ptr_array_add(m->arms, g_array_new(FALSE, FALSE, sizeof(Arm)));
  g_hash_table_insert(m->number, GUINT_TO_POINTER(node), GUINT_TO_POINTER(m->nodes->len));
  return m->nodes->len - 1;
}

static GArray *
arms_of(const Mesh *m, guint local)
{
  return m->arms->pdata[local];
}

static void
add_half(Mesh *m, guint from, guint to, double siemens)
{
  GArray *arms = arms_of(m, from);
  for (guint i = 0; i < arms->len; i++) {
    Arm *arm = &g_array_index(arms, Arm, i);
    if (arm->to != to)
      continue;
    arm->siemens += siemens;
    return;
  }
  Arm arm = {to, siemens};
  g_array_append_val(arms, arm);
}

static void
add_arm(Mesh *m, guint a, guint b, double siemens)
{
  if (a == b)
    return;
  add_half(m, a, b, siemens);
  add_half(m, b, a, siemens);
}

static void
drop_half(Mesh *m, guint from, guint to)
{
  GArray *arms = arms_of(m, from);
  for (guint i = 0; i < arms->len; i++)
    if (g_array_index(arms, Arm, i).to == to) {
      g_array_remove_index_fast(arms, i);
      return;
    }
}

/* Spreads from `a` over every edge that conducts, and takes those edges in. */
static void
mesh_fill(Mesh *m, const LoomOhms *o, guint a, bool electronics)
{
  const Edge *edges = (const Edge *)o->edges->data;
  mesh_node(m, a);
  for (guint i = 0; i < m->nodes->len; i++) {
    guint node = g_array_index(m->nodes, guint, i);
    for (guint k = o->first[node]; k < o->first[node + 1]; k++) {
      const Edge *e = &edges[o->incident[k]];
      if (isnan(e->ohm) && !electronics)
        continue;
      guint far = e->a == node ? e->b : e->a, to = mesh_node(m, far);
      if (e->a == node) /* each edge once */
        add_arm(m, i, to, 1 / (isnan(e->ohm) ? LEAST_OHM : e->ohm));
    }
  }
}

static void
take_out(Mesh *m, guint local)
{
  GArray *arms = arms_of(m, local);
  double sum = 0;
  for (guint i = 0; i < arms->len; i++)
    sum += g_array_index(arms, Arm, i).siemens;
  for (guint i = 0; i < arms->len; i++) {
    const Arm *x = &g_array_index(arms, Arm, i);
    drop_half(m, x->to, local);
    for (guint k = 0; k < i; k++) {
      const Arm *y = &g_array_index(arms, Arm, k);
      add_arm(m, x->to, y->to, x->siemens * y->siemens / sum);
    }
  }
  g_array_set_size(arms, 0);
}

/* The node with the fewest neighbours, but for the two; LOOM_NONE: all are gone. */
static guint
next_out(const Mesh *m, const bool *gone, guint a, guint b)
{
  guint best = LOOM_NONE;
  for (guint i = 0; i < m->nodes->len; i++) {
    if (gone[i] || i == a || i == b)
      continue;
    if (best == LOOM_NONE || arms_of(m, i)->len < arms_of(m, best)->len)
      best = i;
    if (arms_of(m, best)->len <= 2)
      break;
  }
  return best;
}

static double
mesh_ohm(Mesh *m, guint a, guint b)
{
  g_autofree bool *gone = g_new0(bool, m->nodes->len);
  for (guint out; (out = next_out(m, gone, a, b)) != LOOM_NONE;) {
    take_out(m, out);
    gone[out] = true;
  }
  const GArray *arms = arms_of(m, a);
  return arms->len ? 1 / g_array_index(arms, Arm, 0).siemens : INFINITY;
}

static double
between(const LoomOhms *o, guint a, guint b, bool electronics)
{
  if (a == b)
    return 0;
  Mesh m = {.nodes = g_array_new(FALSE, FALSE, sizeof(guint)),
            .number = g_hash_table_new(NULL, NULL),
            .arms = g_ptr_array_new_with_free_func((GDestroyNotify)g_array_unref)};
  mesh_fill(&m, o, a, electronics);
  guint far = GPOINTER_TO_UINT(g_hash_table_lookup(m.number, GUINT_TO_POINTER(b)));
  double ohm = far > 0 ? mesh_ohm(&m, 0, far - 1) : INFINITY;
  g_array_unref(m.nodes);
  g_hash_table_unref(m.number);
  g_ptr_array_unref(m.arms);
  return ohm;
}

bool
loom_ohms_between(const LoomOhms *o, guint a, guint b, double *least, double *most)
{
  guint piece_a = loom_ohms_piece(o, a), piece_b = loom_ohms_piece(o, b);
  *least = *most = INFINITY;
  if (o->source[piece_a] || o->source[piece_b])
    return false;
  if (piece_a != piece_b)
    return true;
  *most = between(o, a, b, false);
  *least = between(o, a, b, true);
  return true;
}
