/* Every rule, by the file that holds it. A rule looks at the whole desk and reports what it finds;
 * the table that calls them is in check.c. Inside rules/ only. */
#pragma once

#include "trace-private.h"

G_BEGIN_DECLS

/* rule-mating.c: can it be plugged so at all */
void loom_rule_gender(LoomDesk *desk);
void loom_rule_family(LoomDesk *desk);
void loom_rule_wire_range(LoomDesk *desk);
void loom_rule_places(LoomDesk *desk);
void loom_rule_fit(LoomDesk *desk);
void loom_rule_double_male(LoomDesk *desk);

/* rule-source.c: sources against each other and against themselves */
void loom_rule_short(LoomDesk *desk);
void loom_rule_two_supplies(LoomDesk *desk);
void loom_rule_charger(LoomDesk *desk);

/* rule-supply.c: what the loads get */
void loom_rule_polarity(LoomDesk *desk);
void loom_rule_over_voltage(LoomDesk *desk);
void loom_rule_under_voltage(LoomDesk *desk);

/* rule-missing.c: what they do not get */
void loom_rule_no_return(LoomDesk *desk);
void loom_rule_no_supply(LoomDesk *desk);

/* rule-protection.c: switch and fuse */
void loom_rule_no_switch(LoomDesk *desk);
void loom_rule_switch_in_return(LoomDesk *desk);
void loom_rule_no_fuse(LoomDesk *desk);
void loom_rule_fuse_in_return(LoomDesk *desk);
void loom_rule_fuse_far(LoomDesk *desk);
void loom_rule_fuse_and_wire(LoomDesk *desk);

/* rule-live.c: what can be touched, what can come apart */
void loom_rule_live_pins(LoomDesk *desk);
void loom_rule_live_plug(LoomDesk *desk);
void loom_rule_open_pack_end(LoomDesk *desk);
void loom_rule_loose(LoomDesk *desk);
void loom_rule_frame(LoomDesk *desk);

/* rule-rating.c: what carries more than it is made for */
void loom_rule_wire_load(LoomDesk *desk);
void loom_rule_contact_load(LoomDesk *desk);
void loom_rule_switch_load(LoomDesk *desk);
void loom_rule_port_load(LoomDesk *desk);
void loom_rule_group_load(LoomDesk *desk);
void loom_rule_rated_voltage(LoomDesk *desk);

/* rule-flow.c: what flows in the states, solved */
void loom_rule_no_operating_point(LoomDesk *desk);
void loom_rule_brown_out(LoomDesk *desk);
void loom_rule_fuse_opens(LoomDesk *desk);
void loom_rule_pack_load(LoomDesk *desk);
void loom_rule_flow_load(LoomDesk *desk);
void loom_rule_voltage_drop(LoomDesk *desk);

/* rule-output.c: driver outputs */
void loom_rule_output_short(LoomDesk *desk);
void loom_rule_output_supply(LoomDesk *desk);
void loom_rule_two_outputs(LoomDesk *desk);
void loom_rule_output_load(LoomDesk *desk);
void loom_rule_motor_pole(LoomDesk *desk);
void loom_rule_motor_reversed(LoomDesk *desk);

/* rule-signal.c: what meets what on the signal contacts */
void loom_rule_signal_on_supply(LoomDesk *desk);
void loom_rule_level(LoomDesk *desk);
void loom_rule_two_speakers(LoomDesk *desk);
void loom_rule_common_return(LoomDesk *desk);

/* rule-channel.c: devices and the channels that software addresses */
void loom_rule_wrong_port(LoomDesk *desk);
void loom_rule_no_channel(LoomDesk *desk);
void loom_rule_signal_swapped(LoomDesk *desk);
void loom_rule_shared_channel(LoomDesk *desk);

/* rule-bus.c: addresses */
void loom_rule_address_twice(LoomDesk *desk);
void loom_rule_address(LoomDesk *desk);

/* rule-name.c: names in code */
void loom_rule_name_twice(LoomDesk *desk);
void loom_rule_name_unusable(LoomDesk *desk);
void loom_rule_name_missing(LoomDesk *desk);

/* rule-layout.c: the drawing as a whole */
void loom_rule_short_lead(LoomDesk *desk);
void loom_rule_unplugged(LoomDesk *desk);
void loom_rule_open_lead(LoomDesk *desk);
void loom_rule_nothing_plugged(LoomDesk *desk);
void loom_rule_no_source(LoomDesk *desk);
void loom_rule_no_network(LoomDesk *desk);

/* Carries on over every scene: `f` is called with each. */
typedef void (*LoomSceneryRule)(LoomScenery *s);
void loom_desk_each_scene(LoomDesk *desk, LoomSceneryRule f);
/* The same without scenes in which a supply is shorted or works against another: mend that first.
 */
void loom_desk_each_sound_scene(LoomDesk *desk, LoomSceneryRule f);

/* [n_parts] whether a device of the part is on a channel in some scene (rule-channel.c). New. */
bool *loom_desk_on_channel(const LoomDesk *desk);

/* A finding of the scene, with its two fixed sentences. `remedy` and `why` are copied. */
LoomFinding *loom_scenery_find(LoomScenery *s, LoomSeverity severity, const char *rule,
                               const char *why, const char *remedy);
LoomFinding *loom_desk_find(LoomDesk *desk, LoomSeverity severity, const char *rule,
                            const char *why, const char *remedy);
/* Puts the end that shows the node (or the part) into the places. */
void loom_scenery_place(const LoomScenery *s, LoomFinding *finding, guint node);

/* A share above which insulation melts (PVC from 70 °C at the rating, 30 °C around it, to 160 °C of
 * IEC 60364-4-43 table 43A, by the square of the current): sqrt(130 / 40). */
#define LOOM_OUTLIVES 1.8

/* Ampacity of a conductor of the part at the design's own temperature, in A; NAN unknown. */
double loom_scenery_ampacity_A(const LoomScenery *s, double mm2);

G_END_DECLS
