#include "faults-private.h"

#include <math.h>

static const LoomPart *
part_at(const LoomFaultRoom *room, guint part)
{
  return loom_wiring_part(room->w, part);
}

/* "M1 (Drive left)". New. */
static char *
part_words(const LoomFaultRoom *room, guint part)
{
  const LoomPart *p = part_at(room, part);
  return p->label ? g_strdup_printf("%s (%s)", p->designation, p->label) : g_strdup(p->designation);
}

/* "W1:a and Q1:in". New. */
static char *
joint_words(const LoomFaultRoom *room, guint joint)
{
  const LoomWiredJoint *j = &room->w->joints[room->meter.wired[joint]];
  g_autofree char *a = loom_wiring_end_name(room->w, j->part_a, j->end_a);
  g_autofree char *b = loom_wiring_end_name(room->w, j->part_b, j->end_b);
  return g_strdup_printf("%s and %s", a, b);
}

static const char *
contact_name(const LoomFaultRoom *room, guint part, guint end, guint contact)
{
  return part_at(room, part)->kind->ends[end].contacts[contact].name;
}

/* The name of a wire of a lead: of the contact that it comes out on, with its colour. New. */
static char *
wire_words(const LoomFaultRoom *room, const LoomFault *fault)
{
  const LoomKind *kind = part_at(room, fault->part)->kind;
  const LoomElement *e = &kind->elements[fault->a];
  const LoomColour *colour = e->colour ? loom_colour(e->colour) : NULL;
  guint end = loom_kind_end_of_node(kind, e->a), node = e->a;
  if (end == LOOM_NONE) {
    end = loom_kind_end_of_node(kind, e->b);
    node = e->b;
  }
  const char *name =
      end == LOOM_NONE ? "inner" : kind->ends[end].contacts[node - kind->ends[end].first_node].name;
  return colour ? g_strdup_printf("%s (%s) at %s", name, colour->name,
                                  end == LOOM_NONE ? "-" : kind->ends[end].id)
                : g_strdup(name);
}

/* ---- faults ---- */

static char *
joint_sentence(const LoomFaultRoom *room, const LoomFault *fault)
{
  const char *s = fault->suspect;
  switch (fault->type) {
  case LOOM_FAULT_OUT:
    return g_strdup_printf("%s are not home.", s);
  case LOOM_FAULT_CONTACT:
    return g_strdup_printf("Between %s the contact %s does not touch.", s,
                           contact_name(room, fault->part, fault->end, fault->a));
  case LOOM_FAULT_LOOSE:
    return g_strdup_printf("%s touch badly.", s);
  case LOOM_FAULT_TURNED:
    return g_strdup_printf("%s are plugged the wrong way round.", s);
  case LOOM_FAULT_SHIFTED:
    return g_strdup_printf("%s are plugged one pin off.", s);
  default:
    break;
  }
  g_autofree char *port = loom_wiring_end_name(room->w, fault->part, fault->end);
  g_autofree char *other = loom_wiring_end_name(room->w, fault->part, fault->a);
  bool both = loom_wiring_n_joints_at(room->w, fault->part, fault->a) > 0;
  return both ? g_strdup_printf("%s and %s are exchanged.", port, other)
              : g_strdup_printf("What belongs in %s is in %s.", port, other);
}

static char *
part_sentence(const LoomFaultRoom *room, const LoomFault *fault)
{
  g_autofree char *name = part_words(room, fault->part);
  g_autofree char *wire = fault->type == LOOM_FAULT_WIRE ? wire_words(room, fault) : NULL;
  switch (fault->type) {
  case LOOM_FAULT_WIRE:
    return g_strdup_printf("In %s the wire %s is broken.", name, wire);
  case LOOM_FAULT_SHORT:
    return g_strdup_printf("In %s the wires %s and %s touch each other.", name,
                           contact_name(room, fault->part, fault->end, fault->a),
                           contact_name(room, fault->part, fault->end, fault->b));
  case LOOM_FAULT_REVERSED:
    return g_strdup_printf("%s is made with %s and %s exchanged.", name,
                           contact_name(room, fault->part, fault->end, fault->a),
                           contact_name(room, fault->part, fault->end, fault->b));
  case LOOM_FAULT_BLOWN:
    return g_strdup_printf("The fuse in %s is blown.", name);
  case LOOM_FAULT_OFF:
    return g_strdup_printf("%s is off.", name);
  case LOOM_FAULT_SWITCH:
    return g_strdup_printf("%s is on and does not conduct.", name);
  case LOOM_FAULT_FLAT:
    return g_strdup_printf("%s is empty.", name);
  case LOOM_FAULT_PACK:
    return g_strdup_printf("%s gives nothing.", name);
  case LOOM_FAULT_ADDRESS: {
    g_autofree char *other = part_words(room, fault->a);
    return g_strdup_printf("%s and %s answer to one address.", name, other);
  }
  default:
    return g_strdup_printf("%s is broken.", name);
  }
}

void
loom_fault_words(const LoomFaultRoom *room, LoomFault *fault)
{
  if (fault->joint != LOOM_NONE) {
    fault->suspect = joint_words(room, fault->joint);
    fault->sentence = joint_sentence(room, fault);
    return;
  }
  fault->suspect = g_strdup(part_at(room, fault->part)->designation);
  fault->sentence = part_sentence(room, fault);
}

/* ---- tests ---- */

static void
say(LoomTest *test, char *name, char *todo)
{
  test->name = name;
  test->todo = todo;
}

static void
can_show(LoomTest *test, const char *const *outcomes, guint n)
{
  test->n_outcomes = n;
  test->outcomes = g_new0(char *, n + 1);
  for (guint i = 0; i < n; i++)
    test->outcomes[i] = g_strdup(outcomes[i]);
}

static void
can_show_volts(LoomTest *test)
{
  g_autofree char *good = g_strdup_printf("about %.3g V, as it should", test->expected_V);
  g_autofree char *low = g_strdup_printf("less than %.3g V", 0.9 * test->expected_V);
  g_autofree char *high = g_strdup_printf("more than %.3g V", 1.15 * test->expected_V);
  const char *outcomes[] = {good, low, "nothing", "a minus sign", high};
  can_show(test, outcomes, G_N_ELEMENTS(outcomes));
}

/* What the device does when its channel is asked, and what that is called when it does not. */
static void
can_show_roll(const LoomFaultRoom *room, LoomTest *test)
{
  const LoomDevice *device = &part_at(room, test->part)->kind->devices[test->device];
  bool moves = g_str_equal(device->channel, "motor") || g_str_equal(device->channel, "servo");
  bool counts = g_str_equal(device->channel, "encoder");
  test->n_outcomes = MIN(3 + room->answerers->len, 32);
  test->outcomes = g_new0(char *, test->n_outcomes + 1);
  test->outcomes[0] = g_strdup(moves    ? "it moves, the right way"
                               : counts ? "it counts"
                                        : "it reads");
  test->outcomes[1] = g_strdup(moves ? "it turns the other way" : "it counts the other way");
  test->outcomes[2] = g_strdup("nothing");
  for (guint i = 3; i < test->n_outcomes; i++) {
    guint part = g_array_index(room->answerers, LoomAnswerer, i - 3).part;
    g_autofree char *name = part_words(room, part);
    test->outcomes[i] = g_strdup_printf("%s answers instead", name);
  }
}

static void
roll_words(const LoomFaultRoom *room, LoomTest *test, const char *name)
{
  const LoomDevice *device = &part_at(room, test->part)->kind->devices[test->device];
  const char *what = g_str_equal(device->channel, "motor") || g_str_equal(device->channel, "servo")
                         ? "Let the controller move %s, wheels off the ground: what moves?"
                     : g_str_equal(device->channel, "encoder")
                         ? "Turn %s by hand, switched on: does its count change?"
                         : "Look at what %s reads while you act on it.";
  g_autoptr(GString) todo = g_string_new(what);
  g_string_replace(todo, "%s", name, 1);
  say(test, g_strdup_printf("roll-call of %s, %s", name, device->channel),
      g_string_free(g_steal_pointer(&todo), FALSE));
  can_show_roll(room, test);
}

static void
volts_words(const LoomFaultRoom *room, LoomTest *test)
{
  g_autofree char *end = loom_wiring_end_name(room->w, test->part, test->end);
  const char *plus = contact_name(room, test->part, test->end, test->plus);
  const char *minus = contact_name(room, test->part, test->end, test->minus);
  g_autofree char *probes = g_strdup_printf(
      "meter on volts DC, red probe on %s:%s, black probe on %s:%s", end, plus, end, minus);
  test->power = test->type != LOOM_TEST_PACK;
  can_show_volts(test);
  if (test->type == LOOM_TEST_FREE) {
    say(test, g_strdup_printf("volts at %s", end),
        g_strdup_printf("Switched on, at the free end: %s.", probes));
  } else if (test->type == LOOM_TEST_PACK) {
    say(test, g_strdup_printf("volts at %s", end),
        g_strdup_printf("Switch off, unplug the pack; at its own end: %s.", probes));
  } else {
    g_autofree char *joint = joint_words(room, test->joint);
    say(test, g_strdup_printf("volts at %s, opened", end),
        g_strdup_printf(
            "Switch off, pack off. Part %s. Pack on, switch on: %s. Then switch off, pack "
            "off, and plug it again.",
            joint, probes));
  }
}

static void
joint_test_words(const LoomFaultRoom *room, LoomTest *test)
{
  static const char *const seen[] = {"home and right", "not home", "the wrong way round",
                                     "one pin off", "in another place"};
  static const char *const felt[] = {"nothing changes", "something comes and goes"};
  g_autofree char *joint = joint_words(room, test->joint);
  if (test->type == LOOM_TEST_LOOK) {
    say(test, g_strdup_printf("look at %s", joint),
        g_strdup_printf("Look at %s: home, the right way round, in the right place?", joint));
    can_show(test, seen, G_N_ELEMENTS(seen));
  } else {
    say(test, g_strdup_printf("wiggle %s", joint),
        g_strdup_printf("Switched on, move the leads at %s gently and watch.", joint));
    test->power = true;
    can_show(test, felt, G_N_ELEMENTS(felt));
  }
}

static void
part_test_words(LoomTest *test, const char *name)
{
  static const char *const lit[] = {"awake", "dark"}, *const whole[] = {"whole", "blown"},
                           *const on[] = {"on", "off"},
                           *const own[] = {"its own", "one that another has"},
                           *const cured[] = {"no change", "it works"},
                           *const lead[] = {"each wire through, no two joined", "a wire is open",
                                            "two wires are joined", "wires are exchanged"};
  switch (test->type) {
  case LOOM_TEST_LAMP:
    test->power = true;
    say(test, g_strdup_printf("lamp of %s", name),
        g_strdup_printf("Switch on and look at %s: does it wake?", name));
    can_show(test, lit, G_N_ELEMENTS(lit));
    break;
  case LOOM_TEST_FUSE:
    say(test, g_strdup_printf("fuse in %s", name),
        g_strdup_printf("Pack off. Look at the fuse in %s: is its wire whole?", name));
    can_show(test, whole, G_N_ELEMENTS(whole));
    break;
  case LOOM_TEST_SWITCH:
    say(test, g_strdup_printf("position of %s", name),
        g_strdup_printf("Look at %s: is it on?", name));
    can_show(test, on, G_N_ELEMENTS(on));
    break;
  case LOOM_TEST_ADDRESS:
    say(test, g_strdup_printf("address of %s", name),
        g_strdup_printf("Look at the address that %s is set to.", name));
    can_show(test, own, G_N_ELEMENTS(own));
    break;
  case LOOM_TEST_LEAD:
    say(test, g_strdup_printf("%s through and through", name),
        g_strdup_printf(
            "Pack off. Unplug %s at all ends; meter on ohms: each wire from end to end, and "
            "between neighbours.",
            name));
    can_show(test, lead, G_N_ELEMENTS(lead));
    break;
  default:
    say(test, g_strdup_printf("another %s", name),
        g_strdup_printf("Pack off. Put another one that is known to work in the place of %s.",
                        name));
    can_show(test, cured, G_N_ELEMENTS(cured));
    break;
  }
}

void
loom_fault_test_words(const LoomFaultRoom *room, LoomTest *test)
{
  static const char *const steady[] = {"it keeps running", "it starts again"};
  if (test->type == LOOM_TEST_RESTART) {
    test->power = true;
    say(test, g_strdup("running under load"),
        g_strdup_printf("Let the robot work as in “%s”, held so that it cannot run away: does the "
                        "controller start again?",
                        room->heavy->name));
    can_show(test, steady, G_N_ELEMENTS(steady));
    return;
  }
  g_autofree char *name = part_words(room, test->part);
  switch (test->type) {
  case LOOM_TEST_ROLL:
    test->power = true;
    roll_words(room, test, name);
    break;
  case LOOM_TEST_LOOK:
  case LOOM_TEST_WIGGLE:
    joint_test_words(room, test);
    break;
  case LOOM_TEST_FREE:
  case LOOM_TEST_PACK:
  case LOOM_TEST_OPENED:
    volts_words(room, test);
    break;
  default:
    part_test_words(test, name);
    break;
  }
}
