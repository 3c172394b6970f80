#include "faults-private.h"

#include <math.h>

/* Trouble of each test, a glance being 1: common practice, no source. */
static double
trouble_of(LoomTestType type)
{
  static const double troubles[] = {
      [LOOM_TEST_LAMP] = 1,      [LOOM_TEST_ROLL] = 1,    [LOOM_TEST_RESTART] = 2,
      [LOOM_TEST_LOOK] = 1.5,    [LOOM_TEST_WIGGLE] = 2,  [LOOM_TEST_FUSE] = 2,
      [LOOM_TEST_SWITCH] = 1,    [LOOM_TEST_ADDRESS] = 3, [LOOM_TEST_FREE] = 3,
      [LOOM_TEST_PACK] = 3,      [LOOM_TEST_OPENED] = 6,  [LOOM_TEST_LEAD] = 6,
      [LOOM_TEST_EXCHANGE] = 10, [LOOM_TEST_PORT] = 5};
  return troubles[type];
}

typedef struct {
  const LoomFaultRoom *room;
  const LoomFaulty *sound;
  GArray *tests;
} Lister;

static LoomTest *
add(Lister *l, LoomTestType type, guint part, guint end)
{
  LoomTest test = {.type = type,
                   .part = part,
                   .end = end,
                   .device = LOOM_NONE,
                   .joint = LOOM_NONE,
                   .mover = LOOM_NONE,
                   .from = LOOM_NONE,
                   .plus = LOOM_NONE,
                   .minus = LOOM_NONE,
                   .expected_V = NAN,
                   .trouble = trouble_of(type)};
  g_array_append_val(l->tests, test);
  return &g_array_index(l->tests, LoomTest, l->tests->len - 1);
}

static bool
is_plugged(const LoomFaultRoom *room, guint part)
{
  const LoomWiring *w = room->w;
  return w->end_first[w->part_end[part]] < w->end_first[w->part_end[part + 1]];
}

/* ---- what there is to test ---- */

static guint
contact_with(const LoomEnd *end, LoomRole role)
{
  for (guint c = 0; c < end->n_contacts; c++)
    if (end->contacts[c].role == role)
      return c;
  return LOOM_NONE;
}

/* Free ends that bring out a supply, one for every pair of rails. */
static void
list_free(Lister *l, guint part)
{
  const LoomFaultRoom *room = l->room;
  const LoomKind *kind = loom_wiring_part(room->w, part)->kind;
  g_autoptr(GHashTable) known = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
  for (guint e = 0; e < kind->n_ends; e++) {
    LoomTest test = {.part = part, .end = e};
    test.plus = contact_with(&kind->ends[e], LOOM_ROLE_PLUS);
    test.minus = contact_with(&kind->ends[e], LOOM_ROLE_MINUS);
    if (test.plus == LOOM_NONE || test.minus == LOOM_NONE ||
        loom_wiring_n_joints_at(room->w, part, e) > 0)
      continue;
    double volts = loom_fault_volts(room, &test, l->sound->rest);
    guint plus = loom_wiring_node(room->w, part, e, test.plus);
    guint minus = loom_wiring_node(room->w, part, e, test.minus);
    char *rails =
        g_strdup_printf("%u %u", room->inside->circuit[plus], room->inside->circuit[minus]);
    if (!g_hash_table_add(known, rails) || !(volts > 0.5 && volts < 1000))
      continue;
    LoomTest *added = add(l, LOOM_TEST_FREE, part, e);
    added->plus = test.plus;
    added->minus = test.minus;
    added->expected_V = volts;
  }
}

/* The contacts of the end between which the sound supply has most volts. */
static bool
find_probes(Lister *l, LoomTest *test)
{
  const LoomEnd *e = &loom_wiring_part(l->room->w, test->part)->kind->ends[test->end];
  double most = 0.5;
  g_autoptr(LoomOperatingPoint) point = loom_fault_point_apart(l->room, test, l->sound);
  for (guint a = 0; a < e->n_contacts; a++)
    for (guint b = 0; b < e->n_contacts; b++) {
      LoomTest probe = *test;
      probe.plus = a;
      probe.minus = b;
      double volts = a == b || !point ? 0 : loom_fault_volts(l->room, &probe, point);
      if (!(volts > most))
        continue;
      most = volts;
      test->plus = a;
      test->minus = b;
      test->expected_V = volts;
    }
  return most > 0.5;
}

/* An end of the supply that is unplugged to be measured: the one nearer to the pack. */
static void
list_opened(Lister *l, guint wired)
{
  const LoomFaultRoom *room = l->room;
  const LoomWiredJoint *j = &room->w->joints[wired];
  const LoomJointStage *stage = &room->meter.stages->joints[wired];
  if (stage->source || (stage->side != LOOM_SIDE_SUPPLY && stage->side != LOOM_SIDE_FEEDS))
    return;
  LoomTest a = {.type = LOOM_TEST_OPENED, .part = j->part_a, .end = j->end_a, .joint = j->joint};
  LoomTest b = {.type = LOOM_TEST_OPENED, .part = j->part_b, .end = j->end_b, .joint = j->joint};
  const LoomTest *best = find_probes(l, &a) ? &a : find_probes(l, &b) ? &b : NULL;
  if (!best)
    return;
  LoomTest *test = add(l, LOOM_TEST_OPENED, best->part, best->end);
  test->joint = best->joint;
  test->plus = best->plus;
  test->minus = best->minus;
  test->expected_V = best->expected_V;
}

static void
list_joint(Lister *l, guint wired)
{
  const LoomWiredJoint *j = &l->room->w->joints[wired];
  add(l, LOOM_TEST_LOOK, j->part_a, j->end_a)->joint = j->joint;
  add(l, LOOM_TEST_WIGGLE, j->part_a, j->end_a)->joint = j->joint;
  list_opened(l, wired);
}

static void
list_pack(Lister *l, guint part)
{
  const LoomKind *kind = loom_wiring_part(l->room->w, part)->kind;
  for (guint e = 0; e < kind->n_ends; e++) {
    LoomTest test = {.type = LOOM_TEST_PACK, .part = part, .end = e, .joint = LOOM_NONE};
    if (!find_probes(l, &test))
      continue;
    LoomTest *added = add(l, LOOM_TEST_PACK, part, e);
    added->plus = test.plus;
    added->minus = test.minus;
    added->expected_V = test.expected_V;
    return;
  }
}

static bool
has_element(const LoomKind *kind, LoomElementType type)
{
  for (guint i = 0; i < kind->n_elements; i++)
    if (kind->elements[i].type == type)
      return true;
  return false;
}

static bool
is_pack(const LoomKind *kind)
{
  for (guint i = 0; i < kind->n_elements; i++)
    if (kind->elements[i].type == LOOM_ELEMENT_SOURCE && !isnan(kind->elements[i].capacity_Ah))
      return true;
  return false;
}

static bool
shows_life(const LoomKind *kind)
{
  bool shows = kind->group == LOOM_GROUP_CONTROLLER || kind->group == LOOM_GROUP_CONVERTER ||
               kind->group == LOOM_GROUP_LAMP || kind->group == LOOM_GROUP_COMPUTER;
  bool loads = false;
  for (guint i = 0; i < kind->n_elements; i++)
    loads |= kind->elements[i].type >= LOOM_ELEMENT_RESISTOR;
  return shows && loads;
}

static bool
works(const LoomKind *kind)
{
  bool alive = kind->n_devices > 0;
  for (guint i = 0; i < kind->n_elements; i++)
    alive |= kind->elements[i].type > LOOM_ELEMENT_SOURCE;
  return alive;
}

static void
list_part(Lister *l, guint part)
{
  const LoomKind *kind = loom_wiring_part(l->room->w, part)->kind;
  if (shows_life(kind))
    add(l, LOOM_TEST_LAMP, part, LOOM_NONE);
  if (has_element(kind, LOOM_ELEMENT_FUSE))
    add(l, LOOM_TEST_FUSE, part, LOOM_NONE);
  if (l->room->meter.stages->switches[part])
    add(l, LOOM_TEST_SWITCH, part, LOOM_NONE);
  if (is_pack(kind))
    list_pack(l, part);
  else
    list_free(l, part);
  if (kind->lead)
    add(l, LOOM_TEST_LEAD, part, LOOM_NONE);
  if (works(kind) || l->room->meter.stages->switches[part] || is_pack(kind))
    add(l, LOOM_TEST_EXCHANGE, part, LOOM_NONE);
}

static void
list_rolls(Lister *l)
{
  for (guint i = 0; i < l->room->answerers->len; i++) {
    const LoomAnswerer *a = &g_array_index(l->room->answerers, LoomAnswerer, i);
    LoomTest *test = add(l, LOOM_TEST_ROLL, a->part, LOOM_NONE);
    test->device = a->device;
    test->joint = LOOM_NONE;
    if (loom_wiring_part(l->room->w, a->part)->kind->n_devices > 1)
      test->end = loom_kind_end_of_node(
          loom_wiring_part(l->room->w, a->part)->kind,
          loom_wiring_part(l->room->w, a->part)->kind->devices[a->device].nodes[0]);
  }
}

static void
list_addresses(Lister *l)
{
  for (guint i = 0; i < l->room->answerers->len; i++) {
    const LoomAnswerer *a = &g_array_index(l->room->answerers, LoomAnswerer, i);
    if (loom_part_address(loom_wiring_part(l->room->w, a->part)) >= 0)
      add(l, LOOM_TEST_ADDRESS, a->part, LOOM_NONE);
  }
}

/* Everything that answers, asked on another port like its own. */
static void
list_moves(Lister *l)
{
  const LoomFaultRoom *room = l->room;
  for (guint i = 0; i < room->answerers->len; i++) {
    const LoomAnswerer *a = &g_array_index(room->answerers, LoomAnswerer, i);
    const LoomKind *kind = loom_wiring_part(room->w, a->controller)->kind;
    guint channel = loom_fault_other_port(room, a);
    if (channel == LOOM_NONE)
      continue;
    LoomTest *test = add(l, LOOM_TEST_PORT, a->controller, kind->channels[channel].end);
    test->from = kind->channels[a->channel].end;
    test->joint = room->w->joints[loom_fault_joint_at(room, a->controller, test->from)].joint;
    test->mover = a->part;
    test->device = a->device;
  }
}

GArray *
loom_fault_tests(const LoomFaultRoom *room, const LoomFaulty *sound)
{
  Lister l = {room, sound, g_array_new(FALSE, FALSE, sizeof(LoomTest))};
  list_rolls(&l);
  if (room->work)
    add(&l, LOOM_TEST_RESTART, LOOM_NONE, LOOM_NONE);
  for (guint p = 0; p < room->w->n_parts; p++)
    if (is_plugged(room, p))
      list_part(&l, p);
  for (guint i = 0; i < room->w->n_joints; i++)
    if (room->meter.stages->joints[i].side != LOOM_SIDE_RADIO &&
        room->w->joints[i].mate == LOOM_MATE_YES)
      list_joint(&l, i);
  list_addresses(&l);
  list_moves(&l);
  return l.tests;
}
