#include "meter-private.h"

#include <math.h>

/* Currents and voltages below this share of the greatest are none. */
#define NOTHING 1e-9

/* What is joined to each floating node, as far as added touches and floating branches go. */
typedef struct {
  const LoomMeterRoom *room;
  guint *parent; /* [n_nodes] union-find over floating nodes */
  guint
      *witness; /* [n_nodes] at roots: a live node whose potential the piece takes on; LOOM_NONE */
} Floats;

static guint
root(const Floats *f, guint node)
{
  while (f->parent[node] != node)
    node = f->parent[node] = f->parent[f->parent[node]];
  return node;
}

static double
potential(const LoomMeterRoom *room, guint node)
{
  return room->powered->potential_V[node];
}

static bool
same_volts(const LoomMeterRoom *room, guint a, guint b)
{
  double volts = loom_point_volts(room->powered, a, b);
  return !isnan(volts) && fabs(volts) <= NOTHING * room->highest_V;
}

/* Whether two live nodes may be joined without anything flowing. */
static bool
join_live(Floats *f, guint piece, guint live)
{
  if (f->witness[piece] == LOOM_NONE) {
    f->witness[piece] = live;
    return true;
  }
  return f->witness[piece] == live || same_volts(f->room, f->witness[piece], live);
}

static bool
join_floating(Floats *f, guint a, guint b)
{
  guint x = root(f, a), y = root(f, b);
  if (x == y)
    return true;
  f->parent[x] = y;
  return f->witness[x] == LOOM_NONE || join_live(f, y, f->witness[x]);
}

/* false where something could flow. */
static bool
join(Floats *f, guint a, guint b)
{
  bool live_a = !isnan(potential(f->room, a)), live_b = !isnan(potential(f->room, b));
  if (live_a && live_b)
    return same_volts(f->room, a, b);
  if (!live_a && !live_b)
    return join_floating(f, a, b);
  return live_a ? join_live(f, root(f, b), a) : join_live(f, root(f, a), b);
}

static void
join_element(Floats *f, guint base, const LoomElement *e)
{
  join(f, base + e->a, base + e->b);
  if (e->type != LOOM_ELEMENT_CONVERTER)
    return;
  join(f, base + e->a, base + e->c);
  join(f, base + e->c, base + e->d);
}

/* Floating pieces as drawn. All elements count as joining but for the outputs of drivers: a driver
 * that drives nothing leaves them open, and one that drives gives them a potential. */
static void
join_drawn(Floats *f, const LoomMeterRoom *room)
{
  for (guint i = 0; i < room->w->n_nodes; i++) {
    f->parent[i] = i;
    f->witness[i] = LOOM_NONE;
  }
  for (guint i = 0; i < room->w->n_touches; i++)
    join(f, room->w->touches[i].a, room->w->touches[i].b);
  for (guint p = 0; p < room->w->n_parts; p++) {
    const LoomKind *kind = loom_wiring_part(room->w, p)->kind;
    for (guint i = 0; i < kind->n_elements; i++)
      join_element(f, room->w->part_node[p], &kind->elements[i]);
  }
}

/* The touches that the slip puts in; wires swapped in a lead are as good as swapped contacts of its
 * joint. New. */
static GArray *
touches_put_in(const LoomMeterRoom *room, const LoomSlip *slip, const GArray *joints)
{
  GArray *touches = g_array_new(FALSE, FALSE, sizeof(LoomTouch));
  loom_meter_slip_touches(room, LOOM_METER_POWERED, slip, touches);
  LoomOhmsChange change = loom_meter_change(room, slip);
  for (guint i = 0; slip->type == LOOM_SLIP_SWAPPED && i < joints->len; i++) {
    guint joint = g_array_index(joints, guint, i);
    for (guint k = room->first_touch[joint]; k < room->first_touch[joint + 1]; k++) {
      LoomTouch t = room->w->touches[k];
      t.a = loom_ohms_swapped(&change, room->w->node_part[t.a], t.a);
      t.b = loom_ohms_swapped(&change, room->w->node_part[t.b], t.b);
      g_array_append_val(touches, t);
    }
  }
  return touches;
}

static guint64
key(const LoomTouch *t)
{
  return (guint64)MIN(t->a, t->b) << 32 | MAX(t->a, t->b);
}

/* Touches by the two nodes. */
static GHashTable *
drawn_touches(const LoomMeterRoom *room)
{
  GHashTable *drawn = g_hash_table_new_full(g_int64_hash, g_int64_equal, g_free, NULL);
  for (guint i = 0; i < room->w->n_touches; i++) {
    guint64 k = key(&room->w->touches[i]);
    g_hash_table_insert(drawn, g_memdup2(&k, sizeof k), GUINT_TO_POINTER(i + 1));
  }
  return drawn;
}

static bool
carries_nothing(const LoomMeterRoom *room, guint touch)
{
  return !(fabs(room->powered->flows[touch].a_A) > NOTHING * room->powered->largest_A);
}

/* Parts that feed something, or are measured. New. */
static bool *
parts_that_matter(const LoomMeterRoom *room)
{
  bool *matters = g_new0(bool, room->w->n_parts + 1);
  for (guint p = 0; p < room->w->n_parts; p++) {
    const LoomKind *kind = loom_wiring_part(room->w, p)->kind;
    for (guint i = 0; i < kind->n_elements; i++)
      matters[p] |= kind->elements[i].type == LOOM_ELEMENT_SOURCE ||
                    kind->elements[i].type == LOOM_ELEMENT_CONVERTER;
  }
  for (guint i = 0; i < room->readings->len; i++) {
    const LoomReading *r = loom_meter_reading(room, i);
    if (r->when == LOOM_METER_POWERED)
      matters[r->red.part] = matters[r->black.part] = true;
  }
  return matters;
}

/* Whether all that hangs on the part, the joint left out, neither feeds anything nor is measured:
 * its potentials are nobody's business. */
static bool
is_appendix(const LoomMeterRoom *room, guint part, guint without)
{
  const LoomWiring *w = room->w;
  g_autoptr(GHashTable) seen = g_hash_table_new(NULL, NULL);
  g_autoptr(GArray) queue = g_array_new(FALSE, FALSE, sizeof(guint));
  g_hash_table_add(seen, GUINT_TO_POINTER(part));
  g_array_append_val(queue, part);
  for (guint i = 0; i < queue->len; i++) {
    guint p = g_array_index(queue, guint, i);
    if (room->calm.matters[p])
      return false;
    for (guint e = w->end_first[w->part_end[p]]; e < w->end_first[w->part_end[p + 1]]; e++) {
      const LoomWiredJoint *j = &w->joints[w->end_joints[e]];
      guint far = j->part_a == p ? j->part_b : j->part_a;
      if (w->end_joints[e] != without && g_hash_table_add(seen, GUINT_TO_POINTER(far)))
        g_array_append_val(queue, far);
    }
  }
  return true;
}

/* A touch may go if it carries nothing, and on one side of it lies nothing that matters. */
static bool
may_part(const LoomMeterRoom *room, guint touch)
{
  const LoomTouch *t = &room->w->touches[touch];
  const LoomWiredJoint *j = &room->w->joints[t->wired];
  if (isnan(potential(room, t->a)) && isnan(potential(room, t->b)))
    return true;
  return carries_nothing(room, touch) &&
         (is_appendix(room, j->part_a, t->wired) || is_appendix(room, j->part_b, t->wired));
}

void
loom_meter_calm_init(LoomMeterRoom *room)
{
  LoomMeterCalm *calm = &room->calm;
  if (!room->powered || room->powered->trouble != LOOM_TROUBLE_NONE)
    return;
  guint n = room->w->n_nodes;
  calm->parent = g_new(guint, n + 1);
  calm->witness = g_new(guint, n + 1);
  Floats floats = {room, calm->parent, calm->witness};
  join_drawn(&floats, room);
  calm->matters = parts_that_matter(room);
  calm->drawn = drawn_touches(room);
}

void
loom_meter_calm_clear(LoomMeterCalm *calm)
{
  g_free(calm->parent);
  g_free(calm->witness);
  g_free(calm->matters);
  g_clear_pointer(&calm->drawn, g_hash_table_unref);
}

bool
loom_meter_idle(const LoomMeterRoom *room, const LoomSlip *slip)
{
  if (!room->calm.drawn || slip->type == LOOM_SLIP_FUSE)
    return false;
  guint n = room->w->n_nodes + 1;
  g_autoptr(GArray) joints = loom_meter_slip_joints(room, slip);
  g_autoptr(GArray) touches = touches_put_in(room, slip, joints);
  g_autofree bool *stays = g_new0(bool, room->w->n_touches + 1);
  g_autofree guint *parent = g_memdup2(room->calm.parent, n * sizeof *parent);
  g_autofree guint *witness = g_memdup2(room->calm.witness, n * sizeof *witness);
  Floats floats = {room, parent, witness};
  bool idle = true;
  for (guint i = 0; i < touches->len && idle; i++) {
    const LoomTouch *t = &g_array_index(touches, LoomTouch, i);
    guint64 k = key(t);
    guint number = GPOINTER_TO_UINT(g_hash_table_lookup(room->calm.drawn, &k));
    if (number > 0)
      stays[number - 1] = true;
    else
      idle = join(&floats, t->a, t->b);
  }
  for (guint i = 0; i < joints->len && idle; i++) {
    guint joint = g_array_index(joints, guint, i);
    for (guint k = room->first_touch[joint]; k < room->first_touch[joint + 1] && idle; k++)
      idle = stays[k] || may_part(room, k);
  }
  return idle;
}
