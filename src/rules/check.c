#include "rules.h"

#include "electric/conductor.h"
#include "rules-private.h"

/* Slug, what it finds, function; in the order in which they are explained in docs/rules.md. `fit`
 * comes last: it holds its tongue where another rule has said what follows from the plug. */
#define RULES(RULE)                                                                                \
  RULE("gender", "Two ends of the same gender cannot be plugged.", loom_rule_gender)               \
  RULE("family", "Ends of different connector families do not mate.", loom_rule_family)            \
  RULE("wire-range", "A wire is too thin or too thick for its terminal.", loom_rule_wire_range)    \
  RULE("places", "More is plugged at an end than it takes.", loom_rule_places)                     \
  RULE("double-male", "A lead with pins at both ends carries the supply.", loom_rule_double_male)  \
  RULE("short", "The poles of a supply are joined.", loom_rule_short)                              \
  RULE("two-supplies", "Two supplies feed one circuit, or work against each other.",               \
       loom_rule_two_supplies)                                                                     \
  RULE("charger", "A charger is not made for the pack on it.", loom_rule_charger)                  \
  RULE("polarity", "A load is fed the wrong way round.", loom_rule_polarity)                       \
  RULE("over-voltage", "A load gets more volts than it stands.", loom_rule_over_voltage)           \
  RULE("under-voltage", "A load gets fewer volts than it needs.", loom_rule_under_voltage)         \
  RULE("signal-on-supply", "A signal contact is joined to a supply or a motor output.",            \
       loom_rule_signal_on_supply)                                                                 \
  RULE("no-return", "A load has only one of its two supply contacts joined to the supply.",        \
       loom_rule_no_return)                                                                        \
  RULE("no-supply", "A load that is plugged gets no supply in any scene.", loom_rule_no_supply)    \
  RULE("no-switch", "Nothing switches a pack off.", loom_rule_no_switch)                           \
  RULE("switch-in-return", "A switch cuts the return only.", loom_rule_switch_in_return)           \
  RULE("no-fuse", "No fuse guards a pack.", loom_rule_no_fuse)                                     \
  RULE("fuse-in-return", "A fuse guards the return only.", loom_rule_fuse_in_return)               \
  RULE("fuse-far", "Too much wire lies between pack and fuse.", loom_rule_fuse_far)                \
  RULE("fuse-and-wire", "A fuse is too large for the wire behind it.", loom_rule_fuse_and_wire)    \
  RULE("live-pins", "An open end with bare contacts is live with no fuse before it.",              \
       loom_rule_live_pins)                                                                        \
  RULE("live-plug", "A joint has its pins on the side of the pack, with no fuse before it.",       \
       loom_rule_live_plug)                                                                        \
  RULE("open-pack-end", "An end of the pack itself lies open and is live.",                        \
       loom_rule_open_pack_end)                                                                    \
  RULE("loose", "Supply joints neither latch nor are tied.", loom_rule_loose)                      \
  RULE("frame", "A metal frame is joined to the supply.", loom_rule_frame)                         \
  RULE("wire-load", "A wire can get more current than it carries.", loom_rule_wire_load)           \
  RULE("contact-load", "A contact can get more current than it carries.", loom_rule_contact_load)  \
  RULE("switch-load", "A switch can get more current than it carries.", loom_rule_switch_load)     \
  RULE("port-load", "Loads can draw more than their port gives.", loom_rule_port_load)             \
  RULE("group-load", "Loads can draw more than their ports give together.", loom_rule_group_load)  \
  RULE("rated-voltage", "A connector, switch or fuse is not made for this voltage.",               \
       loom_rule_rated_voltage)                                                                    \
  RULE("no-operating-point", "In some state a load asks for more than the supply can give.",       \
       loom_rule_no_operating_point)                                                               \
  RULE("brown-out", "In some state a part gets fewer volts than it needs to go on.",               \
       loom_rule_brown_out)                                                                        \
  RULE("fuse-opens", "In some state a fuse carries more than its rating.", loom_rule_fuse_opens)   \
  RULE("pack-load", "In some state a pack gives more than it may.", loom_rule_pack_load)           \
  RULE("flow-load", "In some state a wire or contact among several ways carries too much.",        \
       loom_rule_flow_load)                                                                        \
  RULE("voltage-drop", "Wires and contacts eat more than a tenth of the voltage of a load.",       \
       loom_rule_voltage_drop)                                                                     \
  RULE("output-short", "The two contacts of a motor output are joined.", loom_rule_output_short)   \
  RULE("output-supply", "A motor output is joined to a supply.", loom_rule_output_supply)          \
  RULE("two-outputs", "Two motor outputs are joined.", loom_rule_two_outputs)                      \
  RULE("output-load", "A part with + and - hangs on a motor output.", loom_rule_output_load)       \
  RULE("motor-pole", "Only one contact of a motor reaches its output.", loom_rule_motor_pole)      \
  RULE("motor-reversed", "The wires of a motor are swapped.", loom_rule_motor_reversed)            \
  RULE("level", "A signal is too high or too low for its listener.", loom_rule_level)              \
  RULE("two-speakers", "Two signal outputs are joined.", loom_rule_two_speakers)                   \
  RULE("common-return", "Two parts exchange signals without a common return.",                     \
       loom_rule_common_return)                                                                    \
  RULE("wrong-port", "A device is on a channel of another type.", loom_rule_wrong_port)            \
  RULE("no-channel", "A signal of a device reaches no channel.", loom_rule_no_channel)             \
  RULE("signal-swapped", "The signal wires of a device are swapped.", loom_rule_signal_swapped)    \
  RULE("shared-channel", "Several devices are on one channel.", loom_rule_shared_channel)          \
  RULE("address-twice", "Two devices on one bus have the same address.", loom_rule_address_twice)  \
  RULE("address", "An address is reserved, or cannot be set on the part.", loom_rule_address)      \
  RULE("name-twice", "Two parts have the same name in the program.", loom_rule_name_twice)         \
  RULE("name-unusable", "A name cannot be used in a program.", loom_rule_name_unusable)            \
  RULE("name-missing", "Parts that the program talks to have no name.", loom_rule_name_missing)    \
  RULE("short-lead", "A lead is shorter than the way it has to go.", loom_rule_short_lead)         \
  RULE("unplugged", "A part is plugged nowhere.", loom_rule_unplugged)                             \
  RULE("open-lead", "A lead is plugged at one end only.", loom_rule_open_lead)                     \
  RULE("nothing-plugged", "Nothing is plugged at all.", loom_rule_nothing_plugged)                 \
  RULE("no-source", "There is no supply on the sheet.", loom_rule_no_source)                       \
  RULE("no-network", "A radio link has no network name.", loom_rule_no_network)                    \
  RULE("fit", "A plug sits turned or shifted.", loom_rule_fit)

#define INFO(slug, about, function) {slug, about},
#define FUNCTION(slug, about, function) function,

static const LoomRuleInfo infos[] = {RULES(INFO){NULL, NULL}};
static void (*const functions[])(LoomDesk *desk) = {RULES(FUNCTION) NULL};

const LoomRuleInfo *
loom_rule_list(void)
{
  return infos;
}

static LoomFindings *
check(const LoomDesign *design, bool solve, LoomOperation *const *full)
{
  LoomReport *report = loom_report_new();
  g_autoptr(LoomDesk) desk = loom_desk_new(design, report);
  if (solve)
    loom_desk_solve(desk, full);
  for (guint i = 0; functions[i]; i++)
    functions[i](desk);
  return loom_report_free_to_findings(report);
}

LoomFindings *
loom_check(const LoomDesign *design)
{
  return check(design, true, NULL);
}

LoomFindings *
loom_check_operations(const LoomDesign *design, LoomOperation *const *full)
{
  return check(design, true, full);
}

LoomFindings *
loom_check_wiring(const LoomDesign *design)
{
  return check(design, false, NULL);
}

void
loom_desk_each_scene(LoomDesk *desk, LoomSceneryRule f)
{
  for (guint i = 0; i < desk->n_scenes; i++)
    f(desk->scenes[i]);
}

void
loom_desk_each_sound_scene(LoomDesk *desk, LoomSceneryRule f)
{
  for (guint i = 0; i < desk->n_scenes; i++)
    if (!desk->scenes[i]->unsound)
      f(desk->scenes[i]);
}

static LoomFinding *
find(LoomReport *report, LoomSeverity severity, const char *rule, guint scene, const char *why,
     const char *remedy)
{
  LoomFinding *f = loom_report_add(report, severity, rule, scene);
  f->why = g_strdup(why);
  f->remedy = g_strdup(remedy);
  return f;
}

LoomFinding *
loom_scenery_find(LoomScenery *s, LoomSeverity severity, const char *rule, const char *why,
                  const char *remedy)
{
  return find(s->desk->report, severity, rule, s->scene, why, remedy);
}

LoomFinding *
loom_desk_find(LoomDesk *desk, LoomSeverity severity, const char *rule, const char *why,
               const char *remedy)
{
  return find(desk->report, severity, rule, 0, why, remedy);
}

void
loom_scenery_place(const LoomScenery *s, LoomFinding *f, guint node)
{
  loom_finding_place(f, loom_scenery_part(s, node), s->node_end[node]);
}

double
loom_scenery_ampacity_A(const LoomScenery *s, double mm2)
{
  double ambient = loom_design_title(s->wiring->design)->ambient_C;
  return loom_ampacity_A(mm2, NULL) * loom_ambient_factor(ambient);
}
