/* What is said of tests: what to do, where the probes go, what may be seen, by which key the
 * command knows them. */
#include "faults-private.h"

#include <glib/gi18n-lib.h>
#include <math.h>

/* All three are taken. */
static void
say(LoomTest *test, char *key, char *name, char *todo)
{
  test->key = key;
  test->name = name;
  test->todo = todo;
}

static void
can_show(LoomTest *test, const char *const *outcomes, guint n)
{
  test->n_outcomes = n;
  test->outcomes = g_new0(char *, n + 1);
  for (guint i = 0; i < n; i++)
    test->outcomes[i] = g_strdup(_(outcomes[i]));
}

static const char *
designation(const LoomFaultRoom *room, const LoomTest *test)
{
  return loom_wiring_part(room->w, test->part)->designation;
}

/* ---- the roll-call ---- */

typedef enum { MOVES, COUNTS, READS } Answer;

static Answer
answer_of(const char *channel)
{
  return g_str_equal(channel, "motor") || g_str_equal(channel, "servo") ? MOVES
         : g_str_equal(channel, "encoder")                              ? COUNTS
                                                                        : READS;
}

static void
can_show_roll(const LoomFaultRoom *room, LoomTest *test, Answer answer)
{
  static const char *const well[] = {N_("it moves, the right way"), N_("it counts"),
                                     N_("it reads")};
  static const char *const reversed[] = {N_("it moves the wrong way"), N_("it counts backwards"),
                                         N_("it reads backwards")};
  static const char *const silent[] = {N_("nothing moves"), N_("nothing changes"),
                                       N_("it reads nothing, or never changes")};
  static const char *const other[] = {N_("%s moves instead"), N_("%s is counted instead"),
                                      N_("%s is read instead")};
  const char *const own[] = {well[answer], reversed[answer], silent[answer]};
  can_show(test, own, G_N_ELEMENTS(own));
  guint asked = loom_fault_find_answerer(room, test->part, test->device);
  g_autoptr(GArray) rivals = loom_fault_rivals(room, asked);
  test->n_outcomes = MIN(3 + rivals->len, 32);
  test->outcomes = g_renew(char *, test->outcomes, test->n_outcomes + 1);
  test->outcomes[test->n_outcomes] = NULL;
  test->answers = g_new(guint, test->n_outcomes);
  for (guint i = 0; i < test->n_outcomes; i++)
    test->answers[i] = LOOM_NONE;
  for (guint i = 3; i < test->n_outcomes; i++) {
    guint rival = g_array_index(rivals, guint, i - 3);
    test->answers[i] = g_array_index(room->answerers, LoomAnswerer, rival).part;
    g_autofree char *name = loom_fault_part_words(room, test->answers[i]);
    g_autoptr(GString) text = g_string_new(_(other[answer]));
    g_string_replace(text, "%s", name, 1);
    test->outcomes[i] = g_string_free(g_steal_pointer(&text), FALSE);
  }
}

static void
roll_words(const LoomFaultRoom *room, LoomTest *test, const char *name)
{
  const char *channel = loom_wiring_part(room->w, test->part)->kind->devices[test->device].channel;
  char *key = g_strdup_printf("%s-%s", channel, designation(room, test));
  Answer answer = answer_of(channel);
  if (answer == MOVES)
    say(test, key, g_strdup_printf(_("what %s does"), name),
        g_strdup_printf(_("Wheels off the ground, switched on: let the program move %s for a "
                          "moment. What moves?"),
                        name));
  else if (answer == COUNTS)
    say(test, key, g_strdup_printf(_("what %s counts"), name),
        g_strdup_printf(_("Switched on: turn %s by hand. Does its count on the controller change?"),
                        name));
  else
    say(test, key, g_strdup_printf(_("what %s reads"), name),
        g_strdup_printf(_("Switched on: press %s, or hold something before it. Does its reading on "
                          "the controller change?"),
                        name));
  test->power = true;
  can_show_roll(room, test, answer);
}

/* ---- volts ---- */

static void
can_show_volts(LoomTest *test)
{
  g_autofree char *good = g_strdup_printf(_("about %.3g V, as it should"), test->expected_V);
  g_autofree char *low = g_strdup_printf(_("less than %.3g V"), 0.9 * test->expected_V);
  g_autofree char *high = g_strdup_printf(_("more than %.3g V"), 1.15 * test->expected_V);
  const char *outcomes[] = {good, low, N_("nothing, or nearly"), N_("a minus sign"), high};
  can_show(test, outcomes, G_N_ELEMENTS(outcomes));
}

static void
volts_words(const LoomFaultRoom *room, LoomTest *test)
{
  g_autofree char *end = loom_wiring_end_name(room->w, test->part, test->end);
  const LoomContact *contacts =
      loom_wiring_part(room->w, test->part)->kind->ends[test->end].contacts;
  g_autofree char *probes = g_strdup_printf(
      _("Meter on volts DC: red probe on contact %s of %s, black probe on contact %s."),
      contacts[test->plus].name, end, contacts[test->minus].name);
  char *key = g_strdup_printf("volts-%s", end);
  test->power = test->type != LOOM_TEST_PACK;
  can_show_volts(test);
  if (test->type == LOOM_TEST_FREE) {
    say(test, key, g_strdup_printf(_("volts at %s"), end),
        g_strdup_printf(_("Switched on; the connector %s is free, so nothing has to be unplugged. "
                          "%s Let the probes touch nothing else."),
                        end, probes));
  } else if (test->type == LOOM_TEST_PACK) {
    say(test, key, g_strdup_printf(_("volts at %s"), end),
        g_strdup_printf(_("Switch off and unplug the pack; measure at its own plug. %s Let the "
                          "probes touch nothing else."),
                        probes));
  } else {
    g_autofree char *joint = loom_fault_joint_words(room, test->joint, true);
    say(test, key, g_strdup_printf(_("volts at %s, opened"), end),
        g_strdup_printf(
            _("Switch off and unplug the pack. Pull %s apart. Plug the pack in and "
              "switch on. %s Let the probes touch nothing else. Then switch off, unplug "
              "the pack, and push the two together again."),
            joint, probes));
  }
}

/* ---- joints and parts ---- */

static void
joint_test_words(const LoomFaultRoom *room, LoomTest *test)
{
  static const char *const seen[] = {N_("fully home, all as drawn"), N_("not fully home"),
                                     N_("the wrong way round"), N_("one pin to the side"),
                                     N_("in another place")};
  static const char *const felt[] = {N_("nothing changes"), N_("something comes and goes")};
  g_autofree char *joint = loom_fault_joint_words(room, test->joint, false);
  g_autofree char *labelled = loom_fault_joint_words(room, test->joint, true);
  g_autofree char *end = loom_wiring_end_name(room->w, test->part, test->end);
  if (test->type == LOOM_TEST_LOOK) {
    say(test, g_strdup_printf("look-%s", end), g_strdup_printf(_("a look at %s"), joint),
        g_strdup_printf(_("Look closely at %s: pushed fully together, the right way round, in the "
                          "right place?"),
                        labelled));
    can_show(test, seen, G_N_ELEMENTS(seen));
    return;
  }
  say(test, g_strdup_printf("wiggle-%s", end), g_strdup_printf(_("wiggling %s"), joint),
      g_strdup_printf(_("Switched on, wheels off the ground: move the leads at %s gently, without "
                        "pulling. Does anything flicker, or come and go?"),
                      labelled));
  test->power = true;
  can_show(test, felt, G_N_ELEMENTS(felt));
}

typedef struct {
  LoomTestType type;
  bool power;
  const char *key, *name, *todo; /* with the part's name in the place of %s */
  const char *outcomes[4];
} PartTest;

static const PartTest part_tests[] = {
    {LOOM_TEST_LAMP,
     true,
     "lamp",
     N_("lamp of %s"),
     N_("Switch on and look at %s: does it light up?"),
     {N_("lit"), N_("dark")}},
    {LOOM_TEST_FUSE,
     false,
     "fuse",
     N_("fuse in %s"),
     N_("Unplug the pack. Take the fuse out of %s and look through it: is its wire whole?"),
     {N_("whole"), N_("blown")}},
    {LOOM_TEST_SWITCH,
     false,
     "switch",
     N_("position of %s"),
     N_("Look at %s: is it on?"),
     {N_("on"), N_("off")}},
    {LOOM_TEST_ADDRESS,
     false,
     "address",
     N_("address of %s"),
     N_("Look at the little switches of %s, or in the controller's set-up: which address has it?"),
     {N_("one that nobody else has"), N_("the same as another part's")}},
    {LOOM_TEST_LEAD,
     false,
     "lead",
     N_("%s through and through"),
     N_("Unplug the pack, then %s at all its ends. Meter on ohms: each wire from one end to the "
        "other must read nearly 0; between two wires the meter must show that nothing joins them."),
     {N_("every wire goes through, no two are joined"), N_("a wire does not go through"),
      N_("two wires are joined"), N_("wires are swapped")}},
    {LOOM_TEST_EXCHANGE,
     false,
     "exchange",
     N_("another in place of %s"),
     N_("Unplug the pack. Put another one, which is known to work, in the place of %s and try "
        "again."),
     {N_("no change"), N_("now it works")}},
};

static void
part_test_words(const LoomFaultRoom *room, LoomTest *test, const char *name)
{
  const PartTest *p = part_tests;
  while (p->type != test->type)
    p++;
  g_autoptr(GString) title = g_string_new(_(p->name)), todo = g_string_new(_(p->todo));
  g_string_replace(title, "%s", name, 1);
  g_string_replace(todo, "%s", name, 1);
  test->power = p->power;
  say(test, g_strdup_printf("%s-%s", p->key, designation(room, test)),
      g_string_free(g_steal_pointer(&title), FALSE), g_string_free(g_steal_pointer(&todo), FALSE));
  can_show(test, p->outcomes, p->outcomes[2] ? 4 : 2);
}

static void
port_words(const LoomFaultRoom *room, LoomTest *test)
{
  static const char *const outcomes[] = {N_("no change"), N_("now it works")};
  const char *mover = loom_wiring_part(room->w, test->mover)->designation;
  g_autofree char *name = loom_fault_part_words(room, test->mover);
  g_autofree char *from = loom_wiring_end_name(room->w, test->part, test->from);
  g_autofree char *to = loom_wiring_end_name(room->w, test->part, test->end);
  bool both = loom_wiring_n_joints_at(room->w, test->part, test->end) > 0;
  g_autofree char *move =
      both ? g_strdup_printf(_("Let the plugs in %s and %s change places."), from, to)
           : g_strdup_printf(_("Pull the plug out of %s and push it into %s."), from, to);
  test->power = true;
  say(test, g_strdup_printf("port-%s", mover), g_strdup_printf(_("%s at %s"), name, to),
      g_strdup_printf(
          _("Switch off and unplug the pack. %s Wheels off the ground, plug the pack in, "
            "switch on, and let the program use that port for %s. Does it work there? "
            "Then switch off, unplug the pack, and put everything back."),
          move, name));
  can_show(test, outcomes, G_N_ELEMENTS(outcomes));
}

static void
restart_words(const LoomFaultRoom *room, LoomTest *test)
{
  static const char *const outcomes[] = {N_("it keeps running"), N_("it starts again")};
  test->power = true;
  say(test, g_strdup("load"), g_strdup(_("running under load")),
      g_strdup_printf(
          _("Let the robot work hard, as in “%s”, held so that it cannot run away. Does "
            "the controller start again by itself?"),
          room->heavy->name));
  can_show(test, outcomes, G_N_ELEMENTS(outcomes));
}

static void
test_words(const LoomFaultRoom *room, LoomTest *test)
{
  g_autofree char *name = test->part == LOOM_NONE ? NULL : loom_fault_part_words(room, test->part);
  switch (test->type) {
  case LOOM_TEST_RESTART:
    restart_words(room, test);
    break;
  case LOOM_TEST_ROLL:
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
  case LOOM_TEST_PORT:
    port_words(room, test);
    break;
  default:
    part_test_words(room, test, name);
    break;
  }
}

/* A part with several devices of one sort: "motor-M1", "motor-M1-2". Keys stay with the tests. */
static void
keep_unique(GHashTable *known, LoomTest *test)
{
  g_autofree char *plain = g_strdup(test->key);
  for (guint n = 2; g_hash_table_contains(known, test->key); n++) {
    g_free(test->key);
    test->key = g_strdup_printf("%s-%u", plain, n);
  }
  g_hash_table_add(known, test->key);
}

void
loom_fault_all_test_words(const LoomFaultRoom *room, LoomTest *tests, guint n)
{
  g_autoptr(GHashTable) known = g_hash_table_new(g_str_hash, g_str_equal);
  for (guint i = 0; i < n; i++) {
    test_words(room, &tests[i]);
    keep_unique(known, &tests[i]);
  }
}
