#include "faults-private.h"

#include <math.h>

#define NO_SUPPLY_V 0.5 /* less across a load of the sound robot: it is not in use */
#define ENOUGH 0.6      /* of the sound robot's volts, for loads that do not say what they need */

/* ---- circuits of signals ---- */

static guint
root(guint *parent, guint node)
{
  while (parent[node] != node)
    node = parent[node] = parent[parent[node]];
  return node;
}

static bool
conducts(const LoomFaulty *f, const LoomFaultRoom *room, guint branch)
{
  const LoomBranch *b = &f->network.branches[branch];
  if (!b->element || branch >= room->network->n_branches)
    return true;
  if (b->element->type == LOOM_ELEMENT_SWITCH)
    return loom_part_on(loom_wiring_part(room->w, b->part), room->meter.on);
  return b->element->type <= LOOM_ELEMENT_FUSE;
}

static void
join_circuits(LoomFaulty *f, const LoomFaultRoom *room)
{
  f->circuit = g_new(guint, room->w->n_nodes + 1);
  for (guint i = 0; i < room->w->n_nodes; i++)
    f->circuit[i] = i;
  for (guint i = 0; i < f->network.n_branches; i++) {
    const LoomBranch *b = &f->network.branches[i];
    if (conducts(f, room, i))
      f->circuit[root(f->circuit, b->a)] = root(f->circuit, b->b);
  }
  for (guint i = 0; i < room->w->n_nodes; i++)
    f->circuit[i] = root(f->circuit, i);
}

/* Parts that give supply to others: what is plus and minus is said by their contacts. */
static bool
gives_supply(const LoomKind *kind)
{
  if (kind->n_channels > 0)
    return true;
  for (guint i = 0; i < kind->n_elements; i++)
    if (kind->elements[i].type == LOOM_ELEMENT_SOURCE ||
        kind->elements[i].type == LOOM_ELEMENT_CONVERTER)
      return true;
  return false;
}

static void
sign_circuits(LoomFaulty *f, const LoomFaultRoom *room)
{
  f->sides = g_new0(guint8, room->w->n_nodes + 1);
  for (guint p = 0; p < room->w->n_parts; p++) {
    const LoomKind *kind = loom_wiring_part(room->w, p)->kind;
    if (!gives_supply(kind))
      continue;
    for (guint e = 0; e < kind->n_ends; e++)
      for (guint c = 0; c < kind->ends[e].n_contacts; c++) {
        LoomRole role = kind->ends[e].contacts[c].role;
        guint circuit = f->circuit[loom_wiring_node(room->w, p, e, c)];
        f->sides[circuit] |= role == LOOM_ROLE_PLUS    ? LOOM_SIGN_PLUS
                             : role == LOOM_ROLE_MINUS ? LOOM_SIGN_MINUS
                                                       : LOOM_SIGN_NONE;
      }
  }
}

static guint8
sign_of(const LoomFaulty *f, guint node)
{
  return f->sides[f->circuit[node]];
}

/* ---- who has what it needs ---- */

static bool
is_load(LoomElementType type)
{
  return type != LOOM_ELEMENT_MOTOR && type >= LOOM_ELEMENT_RESISTOR;
}

/* Whether the load has its volts, judged by what it has in the sound robot. */
static bool
has_volts(const LoomFaulty *f, const LoomFaultRoom *room, guint branch)
{
  const LoomBranch *b = &room->network->branches[branch];
  double sound =
      room->rest ? loom_point_volts(room->rest, b->a, b->b) : loom_point_volts(f->rest, b->a, b->b);
  if (!(fabs(sound) > NO_SUPPLY_V))
    return true;
  double volts = loom_point_volts(f->rest, b->a, b->b) * (sound < 0 ? -1 : 1);
  if (f->rest->trouble != LOOM_TROUBLE_NONE || f->rest->sleep[branch] != LOOM_AWAKE)
    return false;
  bool either_way = b->element->type == LOOM_ELEMENT_RESISTOR && b->element->reverse_survives;
  double needs =
      isnan(b->element->min_V) ? ENOUGH * fabs(sound) : fmin(b->element->min_V, 0.95 * fabs(sound));
  return (either_way ? fabs(volts) : volts) >= needs;
}

/* All loads of the part; with `circuits`, only those that hang on one of the end's contacts. */
static bool
loads_have_volts(const LoomFaulty *f, const LoomFaultRoom *room, guint part, guint end)
{
  const LoomWiring *w = room->w;
  const LoomEnd *e = end == LOOM_NONE ? NULL : &loom_wiring_part(w, part)->kind->ends[end];
  for (guint i = room->network->part_branch[part]; i < room->network->part_branch[part + 1]; i++) {
    const LoomBranch *b = &room->network->branches[i];
    bool mine = !e;
    for (guint c = 0; e && c < e->n_contacts; c++) {
      guint circuit = room->inside->circuit[loom_wiring_node(w, part, end, c)];
      mine |= room->inside->circuit[b->a] == circuit || room->inside->circuit[b->b] == circuit;
    }
    if (mine && is_load(b->element->type) && !has_volts(f, room, i))
      return false;
  }
  return true;
}

void
loom_faulty_behave(LoomFaulty *f, const LoomFaultRoom *room)
{
  join_circuits(f, room);
  sign_circuits(f, room);
  f->awake = g_new0(bool, room->w->n_parts + 1);
  for (guint p = 0; p < room->w->n_parts; p++)
    f->awake[p] = !f->dead[p] && loads_have_volts(f, room, p, LOOM_NONE);
}

/* ---- who answers ---- */

static const LoomDevice *
device_of(const LoomFaultRoom *room, const LoomAnswerer *a)
{
  return &loom_wiring_part(room->w, a->part)->kind->devices[a->device];
}

/* Whether a contact still lies where it lies in the sound robot. What ought to be minus stays so
 * where the rail of plus is shorted to it; what ought to be plus does not. */
static bool
lies_right(guint8 sound, guint8 now)
{
  return sound == LOOM_SIGN_MINUS ? (now & LOOM_SIGN_MINUS) != 0 : now == sound;
}

static bool
end_is_supplied(const LoomFaulty *f, const LoomFaultRoom *room, guint part, guint end)
{
  const LoomEnd *e = &loom_wiring_part(room->w, part)->kind->ends[end];
  for (guint c = 0; c < e->n_contacts; c++) {
    guint node = loom_wiring_node(room->w, part, end, c);
    if (room->sides && !lies_right(room->sides[node], sign_of(f, node)))
      return false;
  }
  return true;
}

static bool
device_works(const LoomFaulty *f, const LoomFaultRoom *room, const LoomAnswerer *a)
{
  const LoomKind *kind = loom_wiring_part(room->w, a->part)->kind;
  const LoomDevice *device = device_of(room, a);
  if (f->dead[a->part])
    return false;
  for (guint i = 0; i < device->n_nodes; i++) {
    guint end = loom_kind_end_of_node(kind, device->nodes[i]);
    if (end != LOOM_NONE &&
        (!end_is_supplied(f, room, a->part, end) || !loads_have_volts(f, room, a->part, end)))
      return false;
  }
  return true;
}

typedef enum { MEETS_NOT, MEETS, MEETS_REVERSED } Meets;

/* How the device's contacts lie on the channel's. */
static Meets
meets(const LoomFaulty *f, const LoomFaultRoom *room, guint controller, guint channel,
      const LoomAnswerer *a)
{
  const LoomChannel *ch = &loom_wiring_part(room->w, controller)->kind->channels[channel];
  const LoomDevice *device = device_of(room, a);
  guint n = MIN(ch->n_nodes, device->n_nodes), circuits[4], own[4];
  if (n == 0 || g_strcmp0(ch->type, device->channel) != 0)
    return MEETS_NOT;
  for (guint i = 0; i < n; i++) {
    guint node = room->w->part_node[controller] + ch->nodes[i];
    circuits[i] = f->circuit[node];
    own[i] = f->circuit[room->w->part_node[a->part] + device->nodes[i]];
    bool tied = room->sides && sign_of(f, node) != room->sides[node];
    if (tied || (i > 0 && circuits[i] == circuits[i - 1]))
      return MEETS_NOT;
  }
  bool straight = true, reversed = n == 2;
  for (guint i = 0; i < n; i++) {
    straight &= circuits[i] == own[i];
    reversed &= circuits[i] == own[n - 1 - i];
  }
  return straight ? MEETS : reversed ? MEETS_REVERSED : MEETS_NOT;
}

static bool
is_motor(const LoomDevice *device)
{
  return g_str_equal(device->channel, "motor");
}

/* A bus that is exchanged is silent; poles and tracks that are exchanged run backwards. */
static bool
can_reverse(const LoomDevice *device)
{
  return is_motor(device) || g_str_equal(device->channel, "encoder");
}

static bool
clashes(const LoomFaulty *f, guint part)
{
  return f->clash_a != LOOM_NONE && (part == f->clash_a || part == f->clash_b);
}

static guint
answer_of(const LoomFaulty *f, const LoomFaultRoom *room, const LoomAnswerer *asked,
          const LoomAnswerer *a)
{
  Meets how = meets(f, room, asked->controller, asked->channel, a);
  if (asked->controller == f->dead_controller && asked->channel == f->dead_channel)
    return 2;
  if (how == MEETS_NOT || !device_works(f, room, a) || clashes(f, a->part))
    return 2;
  if (how == MEETS_REVERSED && !can_reverse(device_of(room, a)))
    return 2;
  bool backwards = a->part == f->backwards && is_motor(device_of(room, a));
  return (how == MEETS) == backwards;
}

guint
loom_faulty_answer(const LoomFaulty *f, const LoomFaultRoom *room, guint index)
{
  const LoomAnswerer *asked = &g_array_index(room->answerers, LoomAnswerer, index);
  if (!f->awake[asked->controller])
    return 2;
  guint own = answer_of(f, room, asked, asked);
  if (own != 2)
    return own;
  for (guint i = 0; i < room->answerers->len; i++) {
    const LoomAnswerer *a = &g_array_index(room->answerers, LoomAnswerer, i);
    bool at_home = a->controller == asked->controller && a->channel == asked->channel;
    if (!at_home && answer_of(f, room, asked, a) != 2)
      return 3 + i;
  }
  return 2;
}

guint
loom_faulty_answer_on(const LoomFaulty *f, const LoomFaultRoom *room, guint index, guint channel)
{
  const LoomAnswerer *a = &g_array_index(room->answerers, LoomAnswerer, index);
  LoomAnswerer asked = *a;
  asked.channel = channel;
  return f->awake[asked.controller] ? answer_of(f, room, &asked, a) : 2;
}

GArray *
loom_fault_rivals(const LoomFaultRoom *room, guint index)
{
  GArray *rivals = g_array_new(FALSE, FALSE, sizeof(guint));
  const LoomAnswerer *asked = &g_array_index(room->answerers, LoomAnswerer, index);
  for (guint i = 0; i < room->answerers->len; i++) {
    const LoomAnswerer *a = &g_array_index(room->answerers, LoomAnswerer, i);
    bool at_home = a->controller == asked->controller && a->channel == asked->channel;
    if (!at_home && g_str_equal(device_of(room, a)->channel, device_of(room, asked)->channel))
      g_array_append_val(rivals, i);
  }
  return rivals;
}

guint
loom_fault_find_answerer(const LoomFaultRoom *room, guint part, guint device)
{
  for (guint i = 0; i < room->answerers->len; i++) {
    const LoomAnswerer *a = &g_array_index(room->answerers, LoomAnswerer, i);
    if (a->part == part && a->device == device)
      return i;
  }
  return LOOM_NONE;
}

static void
list_on_channel(LoomFaultRoom *room, const LoomFaulty *sound, guint controller, guint channel)
{
  for (guint p = 0; p < room->w->n_parts; p++) {
    const LoomKind *kind = loom_wiring_part(room->w, p)->kind;
    for (guint d = 0; p != controller && d < kind->n_devices; d++) {
      LoomAnswerer a = {p, d, controller, channel};
      if (meets(sound, room, controller, channel, &a) == MEETS)
        g_array_append_val(room->answerers, a);
    }
  }
}

void
loom_fault_list_answerers(LoomFaultRoom *room, const LoomFaulty *sound)
{
  for (guint p = 0; p < room->w->n_parts; p++)
    for (guint c = 0; c < loom_wiring_part(room->w, p)->kind->n_channels; c++)
      list_on_channel(room, sound, p, c);
}
