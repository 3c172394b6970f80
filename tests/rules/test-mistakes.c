/* Single mistakes, made one at a time at every site of every ordinary robot where they can be made:
 * each must be found, at the place where it was made.
 *
 * A mistake is a function that goes over the sites of a robot; for each site it makes a copy with
 * the mistake in it and hands it to `expect` with the places where it may be told, the rules that
 * may tell it and the least severity. What the robot without the mistake says does not count. */
#include "electric/conductor.h"
#include "electric/limit.h"
#include "electric/supply.h"
#include "robots.h"
#include "rules/rules.h"
#include "vary.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

/* A single mistake is told in a few findings, not in one a wire. */
#define MOST_FINDINGS 5

/* What may be said of wires that are crossed, or missing, and of joints that are missing. */
#define CROSSED                                                                                    \
  "polarity short signal-on-supply motor-reversed signal-swapped no-supply no-return "             \
  "two-supplies over-voltage charger no-channel"
#define MISSING_WIRE "no-return no-supply no-channel motor-pole common-return charger"
#define MISSING_JOINT                                                                              \
  "no-supply no-return unplugged open-lead no-channel charger common-return open-pack-end"
#define WRONG_FIT                                                                                  \
  "fit signal-on-supply polarity motor-reversed short no-supply no-return no-channel"

typedef struct {
  const char *name;
  LoomDesign *design;
  LoomFindings *before;
  guint sites;
  GString *missed;
} Robot;

/* ---- judging ---- */

static bool
same_finding(const LoomFinding *a, const LoomFinding *b)
{
  return g_str_equal(a->rule, b->rule) && g_str_equal(a->where, b->where) &&
         a->severity == b->severity && g_str_equal(a->message, b->message);
}

static bool
said_before(const Robot *robot, const LoomFinding *f)
{
  for (guint i = 0; i < robot->before->n_findings; i++)
    if (same_finding(&robot->before->findings[i], f))
      return true;
  return false;
}

static bool
rule_among(const char *rules, const char *rule)
{
  g_auto(GStrv) words = g_strsplit(rules, " ", -1);
  return g_strv_contains((const char *const *)words, rule);
}

/* Places are "M1" (the part or any of its ends) or "M1:poles". */
static bool
place_among(const char *places, const LoomFinding *f)
{
  g_auto(GStrv) words = g_strsplit(places, " ", -1);
  for (guint i = 0; i < f->n_places; i++) {
    g_autofree char *end = g_strdup_printf("%s:%s", f->places[i].part, f->places[i].end);
    if (g_strv_contains((const char *const *)words, end) ||
        g_strv_contains((const char *const *)words, f->places[i].part))
      return true;
  }
  return false;
}

static void
note_missed(Robot *robot, const char *what, const char *places, const LoomFindings *found)
{
  g_string_append_printf(robot->missed, "\n%s: %s at %s", robot->name, what, places);
  for (guint i = 0; i < found->n_findings; i++) {
    const LoomFinding *f = &found->findings[i];
    if (!said_before(robot, f))
      g_string_append_printf(robot->missed, "\n    %s %s [%s] %s", loom_severity_word(f->severity),
                             f->rule, f->where, f->message);
  }
}

/* Takes the design. */
static void
expect(Robot *robot, LoomDesign *design, const char *what, const char *places, const char *rules,
       LoomSeverity least)
{
  g_autoptr(LoomDesign) own = design;
  g_autoptr(LoomFindings) found = loom_check(own);
  bool told = false;
  guint above_note = 0;
  robot->sites++;
  for (guint i = 0; i < found->n_findings; i++) {
    const LoomFinding *f = &found->findings[i];
    if (said_before(robot, f))
      continue;
    above_note += f->severity < LOOM_NOTE;
    told |= f->severity <= least && rule_among(rules, f->rule) && place_among(places, f);
  }
  if (!told || above_note > MOST_FINDINGS)
    note_missed(robot, what, places, found);
}

/* ---- going over a robot ---- */

static const LoomPart *
part_at(const Robot *robot, guint part)
{
  return loom_design_part(robot->design, part);
}

static guint
find_part(const Robot *robot, const char *designation)
{
  return loom_design_find_part(robot->design, designation);
}

static const LoomEnd *
find_end(const Robot *robot, const LoomEndName *name)
{
  const LoomKind *kind = part_at(robot, find_part(robot, name->part))->kind;
  return &kind->ends[loom_kind_find_end(kind, name->end)];
}

static char *
joint_places(const LoomJoint *j)
{
  return g_strdup_printf("%s:%s %s:%s", j->a.part, j->a.end, j->b.part, j->b.end);
}

/* The ends of the part and what is plugged into them. */
static char *
around(const Robot *robot, guint part)
{
  GString *places = g_string_new(part_at(robot, part)->designation);
  for (guint i = 0; i < loom_design_n_joints(robot->design); i++) {
    const LoomJoint *j = loom_design_joint(robot->design, i);
    g_autofree char *both = joint_places(j);
    if (g_str_equal(j->a.part, part_at(robot, part)->designation) ||
        g_str_equal(j->b.part, part_at(robot, part)->designation))
      g_string_append_printf(places, " %s", both);
  }
  return g_string_free(places, FALSE);
}

static bool
plugged(const Robot *robot, guint part, const char *end)
{
  guint e = loom_kind_find_end(part_at(robot, part)->kind, end);
  return loom_design_joints_at(robot->design, part, e, NULL, 0) > 0;
}

/* ---- connectors ---- */

static bool
flip_gender(xmlNode *kind, const void *id)
{
  xmlNode *end = vary_end(kind, id);
  char *gender = vary_get(end, "gender");
  bool pins = strcmp(gender, "pins") == 0, sockets = strcmp(gender, "sockets") == 0;
  xmlFree(gender);
  vary_set(end, "gender", pins ? "sockets" : "pins");
  return pins || sockets;
}

static void
wrong_gender(Robot *robot)
{
  for (guint i = 0; i < loom_design_n_joints(robot->design); i++) {
    const LoomJoint *j = loom_design_joint(robot->design, i);
    const LoomEndName *sides[] = {&j->a, &j->b};
    for (guint k = 0; k < 2; k++) {
      LoomDesign *bad =
          vary_part(robot->design, find_part(robot, sides[k]->part), flip_gender, sides[k]->end);
      g_autofree char *places = joint_places(j);
      if (bad)
        expect(robot, bad, "gender", places, "gender", LOOM_STOP);
    }
  }
}

static bool
other_family(xmlNode *kind, const void *id)
{
  static const char *const by_ways[] = {NULL, "round-2", "barrel-2.5", "m8-3", "m12-4"};
  xmlNode *end = vary_end(kind, id);
  char *family = vary_get(end, "family"), *gender = vary_get(end, "gender");
  guint ways = loom_catalogue_family(robots_catalogue(), family)->ways;
  bool possible = ways > 0 && ways < G_N_ELEMENTS(by_ways) && strcmp(by_ways[ways], family) != 0;
  if (possible)
    vary_set(end, "family", by_ways[ways]);
  if (strcmp(gender, "genderless") == 0 || strcmp(gender, "terminal") == 0)
    vary_set(end, "gender", "pins");
  xmlFree(family);
  xmlFree(gender);
  return possible;
}

static void
wrong_family(Robot *robot)
{
  for (guint i = 0; i < loom_design_n_joints(robot->design); i++) {
    const LoomJoint *j = loom_design_joint(robot->design, i);
    LoomDesign *bad = vary_part(robot->design, find_part(robot, j->a.part), other_family, j->a.end);
    g_autofree char *places = joint_places(j);
    if (bad)
      expect(robot, bad, "family", places, "family", LOOM_STOP);
  }
}

static bool
thick_wire(xmlNode *kind, const void *id)
{
  vary_set(vary_end(kind, id), "wire_mm2", "50");
  return true;
}

static bool
hair_wire(xmlNode *kind, const void *id)
{
  vary_set(vary_end(kind, id), "wire_mm2", "0.02");
  return true;
}

static void
wire_range(Robot *robot)
{
  for (guint i = 0; i < loom_design_n_joints(robot->design); i++) {
    const LoomJoint *j = loom_design_joint(robot->design, i);
    const LoomEndName *sides[] = {&j->a, &j->b};
    for (guint k = 0; k < 4; k++) {
      const LoomEnd *end = find_end(robot, sides[k % 2]),
                    *other = find_end(robot, sides[1 - k % 2]);
      g_autofree char *places = joint_places(j);
      if (end->family->shape == LOOM_SHAPE_CONDUCTOR && other->family->wire_max_mm2 > 0)
        expect(robot,
               vary_part(robot->design, find_part(robot, sides[k % 2]->part),
                         k < 2 ? thick_wire : hair_wire, sides[k % 2]->end),
               "wire range", places, "wire-range", LOOM_CARE);
    }
  }
}

/* A fuse between two blades, a bare switch: either way round is right. */
static bool
has_no_sides(const LoomKind *kind)
{
  return kind->n_ends == 1 && kind->n_elements == 1 && kind->ends[0].n_contacts == 2 &&
         kind->elements[0].type == LOOM_ELEMENT_FUSE;
}

static LoomDesign *
with_fit(const Robot *robot, const LoomJoint *j, LoomFit fit)
{
  LoomDesign *copy = loom_design_snapshot(robot->design);
  g_autofree char *line =
      g_strdup_printf("set %s:%s fit=%s", j->a.part, j->a.end, loom_fit_word(fit));
  robots_do(copy, line);
  return copy;
}

static void
turned_plug(Robot *robot)
{
  for (guint i = 0; i < loom_design_n_joints(robot->design); i++) {
    const LoomJoint *j = loom_design_joint(robot->design, i);
    const LoomEnd *a = find_end(robot, &j->a), *b = find_end(robot, &j->b);
    g_autofree char *places = joint_places(j);
    if (!loom_fit_possible(a, b, LOOM_FIT_TURNED) ||
        has_no_sides(part_at(robot, find_part(robot, j->a.part))->kind) ||
        has_no_sides(part_at(robot, find_part(robot, j->b.part))->kind))
      continue;
    bool motor = a->contacts[0].role == LOOM_ROLE_POLE || b->contacts[0].role == LOOM_ROLE_POLE;
    expect(robot, with_fit(robot, j, LOOM_FIT_TURNED), "turned plug", places, WRONG_FIT,
           motor ? LOOM_NOTE : LOOM_CARE);
  }
}

/* The joint the other way round in the file, so that the plug is off to the other side. */
static LoomDesign *
shifted_back(const Robot *robot, const LoomJoint *j)
{
  LoomDesign *copy = loom_design_snapshot(robot->design);
  g_autofree char *out = g_strdup_printf("unplug %s:%s", j->a.part, j->a.end);
  g_autofree char *in =
      g_strdup_printf("plug %s:%s %s:%s --fit shifted", j->b.part, j->b.end, j->a.part, j->a.end);
  robots_do(copy, out);
  robots_do(copy, in);
  return copy;
}

static void
shifted_plug(Robot *robot)
{
  for (guint i = 0; i < loom_design_n_joints(robot->design); i++) {
    const LoomJoint *j = loom_design_joint(robot->design, i);
    g_autofree char *places = joint_places(j);
    if (!loom_fit_possible(find_end(robot, &j->a), find_end(robot, &j->b), LOOM_FIT_SHIFTED))
      continue;
    expect(robot, with_fit(robot, j, LOOM_FIT_SHIFTED), "shifted plug", places, WRONG_FIT,
           LOOM_CARE);
    expect(robot, shifted_back(robot, j), "plug shifted back", places, WRONG_FIT, LOOM_CARE);
  }
}

/* ---- wires ---- */

typedef struct {
  guint i, j;
} Pair;

static bool
cross_wires(xmlNode *kind, const void *data)
{
  const Pair *pair = data;
  xmlNode *x = vary_element(kind, pair->i), *y = vary_element(kind, pair->j);
  char *a = vary_get(x, "b"), *b = vary_get(y, "b");
  bool differ = strcmp(a, b) != 0;
  vary_set(x, "b", b);
  vary_set(y, "b", a);
  xmlFree(a);
  xmlFree(b);
  return differ;
}

/* Ends that the two wires have in common, so that they can be taken for each other. */
static bool
side_by_side(const LoomKind *kind, guint i, guint j)
{
  const LoomElement *x = &kind->elements[i], *y = &kind->elements[j];
  guint a = loom_kind_end_of_node(kind, x->b), b = loom_kind_end_of_node(kind, y->b);
  return x->type == LOOM_ELEMENT_WIRE && y->type == LOOM_ELEMENT_WIRE && a == b && a != LOOM_NONE;
}

static bool
is_network(const LoomKind *kind)
{
  return kind->n_ends && kind->ends[0].family->ways == 8;
}

static bool
in_use(const Robot *robot, guint part)
{
  const LoomKind *kind = part_at(robot, part)->kind;
  for (guint e = 0; e < kind->n_ends; e++)
    if (!plugged(robot, part, kind->ends[e].id))
      return false;
  return true;
}

static bool
cut_element(xmlNode *kind, const void *data)
{
  xmlNode *element = vary_element(kind, *(const guint *)data);
  xmlUnlinkNode(element);
  xmlFreeNode(element);
  return true;
}

/* Signal contacts of different parts in one circuit. */
static bool
carries_signal(const LoomWiring *w, guint node)
{
  g_autoptr(LoomCircuits) c = loom_circuits_new(w, NULL, LOOM_THROUGH_FUSES);
  guint circuit = c->circuit[node], first = LOOM_NONE, part, end, contact;
  for (guint i = c->first[circuit]; i < c->first[circuit + 1]; i++) {
    if (!loom_wiring_contact(w, c->nodes[i], &part, &end, &contact) ||
        loom_wiring_part(w, part)->kind->ends[end].contacts[contact].role != LOOM_ROLE_SIGNAL)
      continue;
    if (first != LOOM_NONE && part != first)
      return true;
    first = part;
  }
  return false;
}

/* Wires whose loss changes nothing: a second way round, the sense wire of a USB device. */
static bool
matters(const Robot *robot, guint part, guint element)
{
  const LoomElement *e = &part_at(robot, part)->kind->elements[element];
  for (guint scene = 0; scene < loom_design_n_scenes(robot->design); scene++) {
    g_autoptr(LoomWiring) w = loom_wiring_new(robot->design, scene);
    g_autoptr(LoomLimits) limits = loom_limits_new(w);
    const LoomBound *bound = loom_limits_element(limits, part, element);
    if (!bound->parallel && (bound->most_A > 0.002 || carries_signal(w, w->part_node[part] + e->a)))
      return true;
  }
  return false;
}

/* Leads, fuse leads, switches: what is between the others. */
static bool
passes_on(const LoomKind *kind)
{
  for (guint i = 0; i < kind->n_elements; i++)
    if (kind->elements[i].type == LOOM_ELEMENT_SOURCE ||
        kind->elements[i].type > LOOM_ELEMENT_SOURCE)
      return false;
  return true;
}

static void
cut_wire(Robot *robot)
{
  for (guint p = 0; p < loom_design_n_parts(robot->design); p++) {
    const LoomKind *kind = part_at(robot, p)->kind;
    if (is_network(kind) || !in_use(robot, p) || !passes_on(kind))
      continue;
    for (guint i = 0; i < kind->n_elements; i++) {
      g_autofree char *places = around(robot, p);
      g_autofree char *what = g_strdup_printf("wire %u missing", i);
      if (kind->elements[i].type == LOOM_ELEMENT_WIRE && matters(robot, p, i))
        expect(robot, vary_part(robot->design, p, cut_element, &i), what, places, MISSING_WIRE,
               LOOM_CARE);
    }
  }
}

static const char *
name_at(const LoomKind *kind, guint node)
{
  guint end = loom_kind_end_of_node(kind, node);
  return kind->ends[end].contacts[node - kind->ends[end].first_node].name;
}

/* The two wires end at + and -. */
static bool
swaps_poles(const LoomKind *kind, guint i, guint j)
{
  const char *x = name_at(kind, kind->elements[i].b), *y = name_at(kind, kind->elements[j].b);
  return (g_str_equal(x, "+") && g_str_equal(y, "-")) ||
         (g_str_equal(x, "-") && g_str_equal(y, "+"));
}

static void
crossed_lead(Robot *robot)
{
  for (guint p = 0; p < loom_design_n_parts(robot->design); p++) {
    const LoomKind *kind = part_at(robot, p)->kind;
    if (is_network(kind) || !in_use(robot, p) || part_at(robot, p)->settings)
      continue;
    for (guint i = 0; i < kind->n_elements; i++)
      for (guint j = i + 1; j < kind->n_elements; j++) {
        Pair pair = {i, j};
        bool makes_sense =
            side_by_side(kind, i, j) && (matters(robot, p, i) || matters(robot, p, j));
        LoomDesign *bad = makes_sense ? vary_part(robot->design, p, cross_wires, &pair) : NULL;
        g_autofree char *places = around(robot, p);
        g_autofree char *what = g_strdup_printf("wires %u and %u crossed", i, j);
        if (bad)
          expect(robot, bad, what, places, CROSSED,
                 swaps_poles(kind, i, j) ? LOOM_CARE : LOOM_NOTE);
      }
  }
}

static bool
thin_wire(xmlNode *kind, const void *data)
{
  vary_set(vary_element(kind, *(const guint *)data), "mm2", "0.14");
  return true;
}

static void
thin_lead(Robot *robot)
{
  for (guint scene = 0; scene < loom_design_n_scenes(robot->design); scene++) {
    g_autoptr(LoomWiring) w = loom_wiring_new(robot->design, scene);
    g_autoptr(LoomLimits) limits = loom_limits_new(w);
    double bears = 1.1 * loom_ampacity_A(0.14, NULL);
    for (guint p = 0; p < w->n_parts; p++)
      for (guint i = 0; i < part_at(robot, p)->kind->n_elements; i++) {
        const LoomElement *e = &part_at(robot, p)->kind->elements[i];
        const LoomBound *b = loom_limits_element(limits, p, i);
        if (e->type == LOOM_ELEMENT_WIRE && e->mm2 > 0.15 && !b->parallel && b->most_A > bears)
          expect(robot, vary_part(robot->design, p, thin_wire, &i), "thin wire",
                 part_at(robot, p)->designation, "wire-load", LOOM_CARE);
      }
  }
}

/* ---- joints ---- */

static LoomDesign *
without_joint(const Robot *robot, const LoomJoint *j)
{
  LoomDesign *copy = loom_design_snapshot(robot->design);
  guint part = find_part(robot, j->a.part), joints[16];
  guint end = loom_kind_find_end(part_at(robot, part)->kind, j->a.end);
  guint n = loom_design_joints_at(robot->design, part, end, joints, G_N_ELEMENTS(joints));
  for (guint i = 0; i < n; i++)
    if (loom_design_joint(robot->design, joints[i]) == j) {
      LoomEdit *edit = loom_edit_new(copy, "unplug");
      loom_edit_unplug_joint(edit, joints[i], NULL);
      loom_design_apply(copy, edit);
    }
  return copy;
}

/* Radio links are missed by nobody, nor is the resistor that a frame hangs on. */
static void
missing_joint(Robot *robot)
{
  for (guint i = 0; i < loom_design_n_joints(robot->design); i++) {
    const LoomJoint *j = loom_design_joint(robot->design, i);
    const LoomKind *a = part_at(robot, find_part(robot, j->a.part))->kind;
    const LoomKind *b = part_at(robot, find_part(robot, j->b.part))->kind;
    g_autofree char *places = joint_places(j);
    g_autofree char *parts = g_strdup_printf("%s %s", j->a.part, j->b.part);
    if (find_end(robot, &j->a)->family->ways && a->group != LOOM_GROUP_STRUCTURE &&
        b->group != LOOM_GROUP_STRUCTURE)
      expect(robot, without_joint(robot, j), "a joint missing", parts, MISSING_JOINT, LOOM_NOTE);
  }
}

/* Supply joints fall apart unless they are tied or latch. */
static void
untied_joint(Robot *robot)
{
  for (guint i = 0; i < loom_design_n_joints(robot->design); i++) {
    const LoomJoint *j = loom_design_joint(robot->design, i);
    if (!j->tied)
      continue;
    LoomDesign *copy = loom_design_snapshot(robot->design);
    g_autofree char *line = g_strdup_printf("set %s:%s tied=no", j->a.part, j->a.end);
    g_autofree char *places = joint_places(j);
    robots_do(copy, line);
    expect(robot, copy, "untied", places, "loose", LOOM_CARE);
  }
}

static bool
to_pins(xmlNode *kind, const void *id)
{
  vary_set(vary_end(kind, id), "gender", "pins");
  return true;
}

/* Before the fuse: pins that hang free, and pins on the side of the pack. */
static void
live_ends(Robot *robot)
{
  g_autoptr(LoomWiring) w = loom_wiring_new(robot->design, 0);
  g_autoptr(LoomSupply) supply = loom_supply_new(w, NULL, true);
  for (guint i = 0; i < w->n_joints; i++) {
    const LoomWiredJoint *wired = &w->joints[i];
    const LoomJoint *j = loom_design_joint(robot->design, wired->joint);
    guint part = wired->part_a, end = wired->end_a;
    const LoomEnd *e = &part_at(robot, part)->kind->ends[end];
    if (!e->n_contacts || e->gender != LOOM_GENDER_SOCKETS || !e->family->pins_touchable ||
        !loom_supply_live_unguarded(supply, loom_wiring_node(w, part, end, 0)))
      continue;
    LoomDesign *bad = vary_part(robot->design, part, to_pins, e->id);
    g_autofree char *name = g_strdup_printf("%s:%s", part_at(robot, part)->designation, e->id);
    g_autofree char *unplug = g_strdup_printf("unplug %s", name);
    robots_do(bad, unplug);
    expect(robot, bad, "live loose end", name, "live-pins", LOOM_STOP);
    LoomDesign *worse = vary_part(robot->design, part, to_pins, e->id);
    g_autoptr(LoomKind) other = vary(part_at(robot, wired->part_b)->kind, flip_gender, j->b.end);
    LoomEdit *edit = loom_edit_new(worse, "turn the other half too");
    if (!other || !loom_edit_set_kind(edit, j->b.part, other, NULL))
      fail();
    loom_design_apply(worse, edit);
    expect(robot, worse, "pins on the side of the pack", name, "live-plug double-male", LOOM_CARE);
  }
}

/* ---- supply ---- */

static bool
is_load(const LoomElement *e)
{
  return e->type == LOOM_ELEMENT_CURRENT || e->type == LOOM_ELEMENT_POWER ||
         e->type == LOOM_ELEMENT_SERVO || e->type == LOOM_ELEMENT_DRIVER ||
         e->type == LOOM_ELEMENT_CONVERTER;
}

/* Whether the load is fed in some scene, and the volts over it. */
static bool
fed(const Robot *robot, guint part, const LoomElement *e, double *volts)
{
  for (guint scene = 0; scene < loom_design_n_scenes(robot->design); scene++) {
    g_autoptr(LoomWiring) w = loom_wiring_new(robot->design, scene);
    g_autoptr(LoomSupply) supply = loom_supply_new(w, NULL, true);
    guint n = w->part_node[part];
    if (loom_supply_volts(supply, n + e->a, n + e->b, volts, NULL, NULL))
      return true;
  }
  return false;
}

static bool
add_source(xmlNode *kind, const void *data)
{
  xmlNode *load = vary_element(kind, *(const guint *)data);
  xmlNode *source = xmlNewNode(load->ns, (const xmlChar *)"source");
  char *a = vary_get(load, "a"), *b = vary_get(load, "b");
  vary_set(source, "a", a);
  vary_set(source, "b", b);
  vary_set(source, "emf_V", "12");
  vary_set(source, "ohm", "0.1");
  vary_set(source, "limit_A", "2");
  xmlAddNextSibling(load, source);
  xmlFree(a);
  xmlFree(b);
  return true;
}

typedef void (*LoadMistake)(Robot *robot, guint part, guint element);

static void
each_fed_load(Robot *robot, LoadMistake mistake)
{
  for (guint p = 0; p < loom_design_n_parts(robot->design); p++)
    for (guint i = 0; i < part_at(robot, p)->kind->n_elements; i++) {
      double volts;
      if (is_load(&part_at(robot, p)->kind->elements[i]) &&
          fed(robot, p, &part_at(robot, p)->kind->elements[i], &volts))
        mistake(robot, p, i);
    }
}

static void
second_supply_at(Robot *robot, guint part, guint element)
{
  expect(robot, vary_part(robot->design, part, add_source, &element), "a second supply",
         part_at(robot, part)->designation, "two-supplies", LOOM_STOP);
}

static void
second_supply(Robot *robot)
{
  each_fed_load(robot, second_supply_at);
}

static bool
frail(xmlNode *kind, const void *data)
{
  vary_set(vary_element(kind, *(const guint *)data), "min_V", NULL);
  vary_set(vary_element(kind, *(const guint *)data), "max_V", "2.5");
  return true;
}

static bool
hungry(xmlNode *kind, const void *data)
{
  vary_set(vary_element(kind, *(const guint *)data), "min_V", "60");
  vary_set(vary_element(kind, *(const guint *)data), "max_V", "80");
  return true;
}

static void
over_voltage_at(Robot *robot, guint part, guint element)
{
  expect(robot, vary_part(robot->design, part, frail, &element), "over-voltage",
         part_at(robot, part)->designation, "over-voltage", LOOM_STOP);
}

static void
over_voltage(Robot *robot)
{
  each_fed_load(robot, over_voltage_at);
}

static void
under_voltage_at(Robot *robot, guint part, guint element)
{
  expect(robot, vary_part(robot->design, part, hungry, &element), "under-voltage",
         part_at(robot, part)->designation, "under-voltage", LOOM_CARE);
}

static void
under_voltage(Robot *robot)
{
  each_fed_load(robot, under_voltage_at);
}

static bool
swap_load(xmlNode *kind, const void *data)
{
  xmlNode *load = vary_element(kind, *(const guint *)data);
  char *a = vary_get(load, "a"), *b = vary_get(load, "b");
  vary_set(load, "a", b);
  vary_set(load, "b", a);
  xmlFree(a);
  xmlFree(b);
  return true;
}

/* A part built the wrong way round: what harms is stop. */
static void
reversed_at(Robot *robot, guint part, guint element)
{
  const LoomElement *e = &part_at(robot, part)->kind->elements[element];
  expect(robot, vary_part(robot->design, part, swap_load, &element), "reversed",
         part_at(robot, part)->designation, "polarity",
         e->reverse_survives ? LOOM_CARE : LOOM_STOP);
}

static void
reversed_load(Robot *robot)
{
  each_fed_load(robot, reversed_at);
}

/* ---- switch and fuse ---- */

static bool
bridge(xmlNode *kind, const void *data)
{
  xmlNode *element = vary_element(kind, *(const guint *)data);
  xmlNodeSetName(element, (const xmlChar *)"through");
  vary_set(element, "rated_V", NULL);
  return true;
}

/* Designations of all packs, "G1 G2". */
static char *
packs(const Robot *robot)
{
  GString *s = g_string_new(NULL);
  for (guint p = 0; p < loom_design_n_parts(robot->design); p++)
    if (part_at(robot, p)->kind->group == LOOM_GROUP_SUPPLY)
      g_string_append_printf(s, "%s%s", s->len ? " " : "", part_at(robot, p)->designation);
  return g_string_free(s, FALSE);
}

/* Behind another fuse one may be missing; fuses in holders that follow each other are counted. */
static bool
first_fuse(const Robot *robot, guint part, guint element)
{
  g_autoptr(LoomWiring) w = loom_wiring_new(robot->design, 0);
  g_autoptr(LoomSupply) supply = loom_supply_new(w, NULL, true);
  const LoomElement *e = &part_at(robot, part)->kind->elements[element];
  return loom_supply_live_unguarded(supply, w->part_node[part] + e->a) ||
         loom_supply_live_unguarded(supply, w->part_node[part] + e->b);
}

static void
missing_fuse(Robot *robot)
{
  for (guint p = 0; p < loom_design_n_parts(robot->design); p++)
    for (guint i = 0; i < part_at(robot, p)->kind->n_elements; i++) {
      g_autofree char *places = packs(robot);
      if (part_at(robot, p)->kind->elements[i].type == LOOM_ELEMENT_FUSE && first_fuse(robot, p, i))
        expect(robot, vary_part(robot->design, p, bridge, &i), "no fuse", places,
               "no-fuse fuse-far", LOOM_NOTE);
    }
}

static void
missing_switch(Robot *robot)
{
  for (guint p = 0; p < loom_design_n_parts(robot->design); p++) {
    const LoomKind *kind = part_at(robot, p)->kind;
    guint switches = 0, element = 0;
    for (guint i = 0; i < kind->n_elements; i++)
      if (kind->elements[i].type == LOOM_ELEMENT_SWITCH) {
        switches++;
        element = i;
      }
    g_autofree char *places = packs(robot);
    if (switches == 1 && !kind->n_devices && plugged(robot, p, kind->ends[0].id))
      expect(robot, vary_part(robot->design, p, bridge, &element), "no switch", places, "no-switch",
             LOOM_CARE);
  }
}

/* "in:+" to "in:-" and back in all elements: what lay in the + lead lies in the - lead. */
static bool
change_sides(xmlNode *kind, const void *data)
{
  (void)data;
  xmlNode *element;
  for (guint i = 0; (element = vary_element(kind, i)); i++)
    for (const char *const *side = (const char *const[]){"a", "b", NULL}; *side; side++) {
      char *node = vary_get(element, *side);
      char *sign = node ? strrchr(node, ':') : NULL;
      if (sign && sign[1] == '+')
        sign[1] = '-';
      else if (sign && sign[1] == '-')
        sign[1] = '+';
      vary_set(element, *side, node);
      xmlFree(node);
    }
  return true;
}

static void
in_return(Robot *robot)
{
  for (guint p = 0; p < loom_design_n_parts(robot->design); p++) {
    const LoomKind *kind = part_at(robot, p)->kind;
    guint switches = 0, fuses = 0;
    for (guint i = 0; i < kind->n_elements; i++) {
      switches += kind->elements[i].type == LOOM_ELEMENT_SWITCH;
      fuses += kind->elements[i].type == LOOM_ELEMENT_FUSE;
    }
    if (kind->n_ends != 2 || kind->ends[0].n_contacts != 2 || switches + fuses != 1 ||
        !g_str_equal(kind->ends[0].contacts[0].name, "+"))
      continue;
    expect(robot, vary_part(robot->design, p, change_sides, NULL), "in the return only",
           part_at(robot, p)->designation, switches ? "switch-in-return" : "fuse-in-return",
           LOOM_CARE);
  }
}

static void
big_fuse(Robot *robot)
{
  for (guint p = 0; p < loom_design_n_parts(robot->design); p++) {
    const LoomPart *part = part_at(robot, p);
    bool first = false;
    for (guint i = 0; i < part->kind->n_elements; i++)
      first |= part->kind->elements[i].type == LOOM_ELEMENT_FUSE && first_fuse(robot, p, i);
    if (!first || part->kind->group != LOOM_GROUP_PROTECTION)
      continue;
    LoomDesign *copy = loom_design_snapshot(robot->design);
    g_autofree char *line = g_strdup_printf("set %s rated_A=60", part->designation);
    robots_do(copy, line);
    expect(robot, copy, "too big a fuse", part->designation, "fuse-and-wire", LOOM_CARE);
  }
}

/* ---- channels ---- */

static bool
free_end(const Robot *robot, guint part, guint end)
{
  return loom_design_joints_at(robot->design, part, end, NULL, 0) == 0;
}

static const char *
type_of_end(const LoomKind *kind, guint end)
{
  for (guint i = 0; i < kind->n_channels; i++)
    if (kind->channels[i].end == end)
      return kind->channels[i].type;
  return NULL;
}

static void
move_joint(Robot *robot, const LoomEndName *from, const LoomEndName *other, const char *to,
           const char *places)
{
  LoomDesign *copy = loom_design_snapshot(robot->design);
  g_autofree char *out = g_strdup_printf("unplug %s:%s", from->part, from->end);
  g_autofree char *in = g_strdup_printf("plug %s %s:%s", to, other->part, other->end);
  robots_do(copy, out);
  robots_do(copy, in);
  expect(robot, copy, "wrong port", places, "wrong-port", LOOM_CARE);
}

static void
wrong_port(Robot *robot)
{
  for (guint i = 0; i < loom_design_n_joints(robot->design); i++) {
    const LoomJoint *j = loom_design_joint(robot->design, i);
    const LoomEndName *sides[] = {&j->a, &j->b};
    for (guint k = 0; k < 2; k++) {
      guint part = find_part(robot, sides[k]->part);
      const LoomKind *kind = part_at(robot, part)->kind;
      guint end = loom_kind_find_end(kind, sides[k]->end);
      const char *type = type_of_end(kind, end);
      for (guint e = 0; type && e < kind->n_ends; e++) {
        const char *other = type_of_end(kind, e);
        if (!other || g_str_equal(other, type) || !free_end(robot, part, e) ||
            kind->ends[e].family != kind->ends[end].family ||
            kind->ends[e].gender != kind->ends[end].gender)
          continue;
        g_autofree char *to = g_strdup_printf("%s:%s", sides[k]->part, kind->ends[e].id);
        move_joint(robot, sides[k], sides[1 - k], to, to);
      }
    }
  }
}

/* One more of the same behind a Y-lead. */
static void
share(Robot *robot, const LoomEndName *port, const LoomEndName *device, const char *lead,
      const char *kind, const char *end, LoomSeverity least)
{
  LoomDesign *copy = loom_design_snapshot(robot->design);
  g_autofree char *script = g_strdup_printf("unplug %s:%s\nadd %s W90\nplug %s:%s W90:a\n"
                                            "plug W90:b %s:%s\nadd %s X90\nplug W90:c X90:%s",
                                            port->part, port->end, lead, port->part, port->end,
                                            device->part, device->end, kind, end);
  g_auto(GStrv) lines = g_strsplit(script, "\n", -1);
  for (char **line = lines; *line; line++)
    robots_do(copy, *line);
  g_autofree char *place = g_strdup_printf("%s:%s", port->part, port->end);
  expect(robot, copy, "same channel", place, "shared-channel", least);
}

static void
same_channel(Robot *robot)
{
  for (guint i = 0; i < loom_design_n_joints(robot->design); i++) {
    const LoomJoint *j = loom_design_joint(robot->design, i);
    const LoomEndName *sides[] = {&j->a, &j->b};
    for (guint k = 0; k < 2; k++) {
      const LoomKind *kind = part_at(robot, find_part(robot, sides[k]->part))->kind;
      const char *type = type_of_end(kind, loom_kind_find_end(kind, sides[k]->end));
      const LoomKind *device = part_at(robot, find_part(robot, sides[1 - k]->part))->kind;
      if (g_strcmp0(type, "servo") == 0 && device->n_devices)
        share(robot, sides[k], sides[1 - k], "servo-y", "servo-micro", "lead", LOOM_NOTE);
      if (g_strcmp0(type, "motor") == 0 && device->n_devices &&
          g_str_equal(find_end(robot, sides[k])->family->id, "locking-3.96-2"))
        share(robot, sides[k], sides[1 - k], "motor-y", "motor-small-12v", "poles", LOOM_NOTE);
    }
  }
}

/* A sensor of the same kind on the same digital channel. */
static void
same_sensor_channel(Robot *robot)
{
  for (guint p = 0; p < loom_design_n_parts(robot->design); p++) {
    const LoomPart *part = part_at(robot, p);
    if (!part->kind->n_devices || !g_str_equal(part->kind->devices[0].channel, "digital") ||
        loom_kind_find_end(part->kind, "port") == LOOM_NONE || !plugged(robot, p, "port"))
      continue;
    LoomDesign *copy = loom_design_snapshot(robot->design);
    guint joint;
    loom_design_joints_at(robot->design, p, loom_kind_find_end(part->kind, "port"), &joint, 1);
    const LoomJoint *j = loom_design_joint(robot->design, joint);
    bool first = g_str_equal(j->a.part, part->designation);
    const LoomEndName *other = first ? &j->b : &j->a;
    g_autofree char *script = g_strdup_printf(
        "unplug %s:port\nadd sensor-share W90\nplug %s:%s W90:a\nplug W90:b %s:port\n"
        "add sensor-touch B90\nplug W90:c B90:port",
        part->designation, other->part, other->end, part->designation);
    g_auto(GStrv) lines = g_strsplit(script, "\n", -1);
    for (char **line = lines; *line; line++)
      robots_do(copy, *line);
    expect(robot, copy, "same channel", part->designation, "shared-channel", LOOM_CARE);
  }
}

static void
same_address(Robot *robot)
{
  for (guint p = 0; p < loom_design_n_parts(robot->design); p++) {
    const LoomPart *part = part_at(robot, p);
    if (loom_part_address(part) < 0 || !plugged(robot, p, "port"))
      continue;
    guint joint;
    loom_design_joints_at(robot->design, p, loom_kind_find_end(part->kind, "port"), &joint, 1);
    const LoomJoint *j = loom_design_joint(robot->design, joint);
    const LoomEndName *other = g_str_equal(j->a.part, part->designation) ? &j->b : &j->a;
    LoomDesign *copy = loom_design_snapshot(robot->design);
    g_autofree char *script = g_strdup_printf(
        "unplug %s:port\nadd splitter-i2c-3 X90\nadd i2c-lead-200 W90\nadd i2c-lead-200 W91\n"
        "plug %s:%s X90:in\nplug X90:out-1 W90:a\nplug W90:b %s:port\nplug X90:out-2 W91:a\n"
        "add %s B90\nset B90 address=0x%02X\nplug W91:b B90:port",
        part->designation, other->part, other->end, part->designation, part->kind->id,
        (guint)loom_part_address(part));
    g_auto(GStrv) lines = g_strsplit(script, "\n", -1);
    for (char **line = lines; *line; line++)
      robots_do(copy, *line);
    g_autofree char *places = g_strdup_printf("%s B90", part->designation);
    expect(robot, copy, "same address", places, "address-twice", LOOM_CARE);
  }
}

static bool
at_address(xmlNode *kind, const void *address)
{
  vary_set(kind, "address", address);
  return true;
}

/* The part's own address, as its entry has it: an edit takes only what can be set on the part. */
static void
reserved_address(Robot *robot)
{
  static const char *const addresses[] = {"0x00", "0x07", "0x78", "0x7F"};
  for (guint p = 0; p < loom_design_n_parts(robot->design); p++)
    for (guint i = 0; loom_part_address(part_at(robot, p)) >= 0 && i < G_N_ELEMENTS(addresses); i++)
      if (part_at(robot, p)->address < 0)
        expect(robot, vary_part(robot->design, p, at_address, addresses[i]), "reserved address",
               part_at(robot, p)->designation, "address", LOOM_CARE);
}

static bool
loud(xmlNode *kind, const void *id)
{
  bool any = false;
  for (xmlNode *c = vary_end(kind, id)->children; c; c = c->next) {
    char *flow = c->type == XML_ELEMENT_NODE ? vary_get(c, "flow") : NULL;
    if (flow && strcmp(flow, "in") != 0) {
      vary_set(c, "level_V", "12");
      vary_set(c, "tolerates_V", "15");
      any = true;
    }
    xmlFree(flow);
  }
  return any;
}

static void
wrong_level(Robot *robot)
{
  for (guint p = 0; p < loom_design_n_parts(robot->design); p++) {
    const LoomKind *kind = part_at(robot, p)->kind;
    for (guint e = 0; kind->n_devices && e < kind->n_ends; e++) {
      bool bus = false;
      for (guint c = 0; c < kind->ends[e].n_contacts; c++)
        bus |= kind->ends[e].contacts[c].signal == LOOM_SIGNAL_SERIAL;
      g_autofree char *where =
          g_strdup_printf("%s:%s", part_at(robot, p)->designation, kind->ends[e].id);
      if (bus || !plugged(robot, p, kind->ends[e].id) || type_of_end(kind, e))
        continue;
      LoomDesign *bad = vary_part(robot->design, p, loud, kind->ends[e].id);
      if (bad && kind->ends[e].contacts[kind->ends[e].n_contacts - 1].level_V > 0)
        expect(robot, bad, "level", where, "level", LOOM_STOP);
      else
        loom_design_free(bad);
    }
  }
}

/* ---- names and the rest ---- */

static void
set_and_expect(Robot *robot, const char *target, const char *assignment, const char *what,
               const char *places, const char *rules, LoomSeverity least)
{
  LoomDesign *copy = loom_design_snapshot(robot->design);
  g_autofree char *line = g_strdup_printf("set %s '%s'", target, assignment);
  robots_do(copy, line);
  expect(robot, copy, what, places, rules, least);
}

static void
names(Robot *robot)
{
  static const char *const unusable[] = {"name=2fast", "name=drive left", "name=class", "name=a-b"};
  for (guint p = 0; p < loom_design_n_parts(robot->design); p++) {
    const LoomPart *part = part_at(robot, p);
    if (!part->name)
      continue;
    for (guint i = 0; i < G_N_ELEMENTS(unusable); i++)
      set_and_expect(robot, part->designation, unusable[i], "unusable name", part->designation,
                     "name-unusable", LOOM_CARE);
    if (part->kind->n_devices)
      set_and_expect(robot, part->designation, "name=", "no name", part->designation,
                     "name-missing", LOOM_NOTE);
    for (guint q = p + 1; q < loom_design_n_parts(robot->design); q++) {
      const LoomPart *other = part_at(robot, q);
      g_autofree char *name = g_strdup_printf("name=%s", part->name);
      if (other->name)
        set_and_expect(robot, other->designation, name, "duplicate name", other->designation,
                       "name-twice", LOOM_CARE);
    }
  }
}

static void
short_leads(Robot *robot)
{
  for (guint p = 0; p < loom_design_n_parts(robot->design); p++)
    if (part_at(robot, p)->kind->lead)
      set_and_expect(robot, part_at(robot, p)->designation, "reach_mm=5000", "short lead",
                     part_at(robot, p)->designation, "short-lead", LOOM_CARE);
}

static void
no_network(Robot *robot)
{
  for (guint i = 0; i < loom_design_n_joints(robot->design); i++) {
    const LoomJoint *j = loom_design_joint(robot->design, i);
    g_autofree char *places = joint_places(j);
    g_autofree char *target = g_strdup_printf("%s:%s", j->a.part, j->a.end);
    if (j->network)
      set_and_expect(robot, target, "network=", "no network", places, "no-network", LOOM_NOTE);
  }
}

static bool
wrong_chemistry(xmlNode *kind, const void *data)
{
  for (xmlNode *n = kind->children; n; n = n->next)
    if (n->type == XML_ELEMENT_NODE && strcmp((const char *)n->name, "chemistry") == 0)
      vary_set(n, data ? "cells" : "name", data ? data : "Li-po");
  return true;
}

static void
wrong_charger(Robot *robot)
{
  for (guint p = 0; p < loom_design_n_parts(robot->design); p++) {
    if (!part_at(robot, p)->kind->chemistry.charger)
      continue;
    g_autofree char *places = around(robot, p);
    expect(robot, vary_part(robot->design, p, wrong_chemistry, NULL),
           "charger for another chemistry", places, "charger", LOOM_STOP);
    expect(robot, vary_part(robot->design, p, wrong_chemistry, "17"), "charger for more cells",
           places, "charger", LOOM_STOP);
  }
}

/* ---- what flows ---- */

static bool
tired_pack(xmlNode *kind, const void *data)
{
  xmlNode *source = vary_element(kind, *(const guint *)data);
  char *ohm = vary_get(source, "ohm");
  double value = g_ascii_strtod(ohm, NULL);
  g_autofree char *more = loom_number_to_text(value + 12);
  vary_set(source, "ohm", more);
  xmlFree(ohm);
  return true;
}

/* Whether some state makes a motor or servo work. */
static bool
works(const Robot *robot)
{
  for (guint i = 0; i < loom_design_n_scenes(robot->design); i++)
    if (loom_design_scene(robot->design, i)->n_states > 1)
      return true;
  return false;
}

/* A pack with so much inner resistance that nothing starts on it. */
static void
weak_pack(Robot *robot)
{
  g_autoptr(LoomWiring) w = loom_wiring_new(robot->design, 0);
  g_autoptr(LoomLimits) limits = loom_limits_new(w);
  for (guint p = 0; p < loom_design_n_parts(robot->design); p++)
    for (guint i = 0; i < part_at(robot, p)->kind->n_elements; i++) {
      const LoomElement *e = &part_at(robot, p)->kind->elements[i];
      bool feeds_motors = e->type == LOOM_ELEMENT_SOURCE && e->capacity_Ah >= 2 &&
                          isnan(e->limit_A) && e->emf_V > 6 &&
                          plugged(robot, p, part_at(robot, p)->kind->ends[0].id);
      if (!feeds_motors || !works(robot))
        continue;
      LoomDesign *bad = vary_part(robot->design, p, tired_pack, &i);
      g_autoptr(GString) all = g_string_new(NULL);
      for (guint q = 0; q < loom_design_n_parts(robot->design); q++)
        g_string_append_printf(all, "%s%s", q ? " " : "", part_at(robot, q)->designation);
      expect(robot, bad, "a pack with a high inner resistance", all->str,
             "brown-out no-operating-point", LOOM_CARE);
    }
}

/* A fuse of a twentieth of an ampere opens in every state that does anything. */
static void
small_fuse(Robot *robot)
{
  for (guint p = 0; works(robot) && p < loom_design_n_parts(robot->design); p++) {
    const LoomPart *part = part_at(robot, p);
    bool first = false;
    for (guint i = 0; i < part->kind->n_elements; i++)
      first |= part->kind->elements[i].type == LOOM_ELEMENT_FUSE && first_fuse(robot, p, i);
    if (!first || part->kind->group != LOOM_GROUP_PROTECTION)
      continue;

    set_and_expect(robot, part->designation, "rated_A=0.05", "too small a fuse", part->designation,
                   "fuse-opens", LOOM_CARE);
  }
}

/* ---- all of them ---- */

typedef struct {
  const char *name;
  void (*make)(Robot *robot);
  guint least_sites; /* over all robots; a mistake that can be made nowhere tests nothing */
} Mistake;

static const Mistake mistakes[] = {
    {"gender", wrong_gender, 100},
    {"family", wrong_family, 100},
    {"wire range", wire_range, 20},
    {"turned plug", turned_plug, 20},
    {"shifted plug", shifted_plug, 30},
    {"crossed wires", crossed_lead, 100},
    {"a wire missing", cut_wire, 200},
    {"thin wire", thin_lead, 100},
    {"a joint missing", missing_joint, 150},
    {"untied", untied_joint, 50},
    {"live ends", live_ends, 20},
    {"a second supply", second_supply, 100},
    {"over-voltage", over_voltage, 100},
    {"under-voltage", under_voltage, 100},
    {"reversed", reversed_load, 100},
    {"no fuse", missing_fuse, 17},
    {"no switch", missing_switch, 10},
    {"in the return only", in_return, 20},
    {"too big a fuse", big_fuse, 15},
    {"wrong port", wrong_port, 50},
    {"same channel", same_channel, 10},
    {"same sensor channel", same_sensor_channel, 4},
    {"same address", same_address, 4},
    {"reserved address", reserved_address, 12},
    {"level", wrong_level, 10},
    {"names", names, 100},
    {"short lead", short_leads, 40},
    {"no network", no_network, 3},
    {"charger", wrong_charger, 10},
    {"weak pack", weak_pack, 8},
    {"too small a fuse", small_fuse, 8},
};

/* Made and judged once for all mistakes, which work on copies. */
static GArray *robots;

static void
robot_clear(gpointer item)
{
  Robot *robot = item;
  loom_design_free(robot->design);
  loom_findings_free(robot->before);
}

static int
make_robots(void **state)
{
  (void)state;
  robots = g_array_new(FALSE, FALSE, sizeof(Robot));
  g_array_set_clear_func(robots, robot_clear);
  for (const char *const *name = robots_ordinary(); *name; name++) {
    Robot robot = {.name = *name, .design = robots_load(*name)};
    robot.before = loom_check(robot.design);
    g_array_append_val(robots, robot);
  }
  return 0;
}

static int
free_robots(void **state)
{
  (void)state;
  g_array_unref(robots);
  return 0;
}

static void
test_mistake(void **state)
{
  const Mistake *mistake = *state;
  g_autoptr(GString) missed = g_string_new(NULL);
  guint sites = 0;
  for (guint i = 0; i < robots->len; i++) {
    Robot robot = g_array_index(robots, Robot, i);
    robot.missed = missed;
    mistake->make(&robot);
    sites += robot.sites;
  }
  print_message("    %u sites\n", sites);
  if (missed->len) {
    fprintf(stderr, "not found:%s\n", missed->str);
    fail();
  }
  assert_true(sites >= mistake->least_sites);
}

int
main(void)
{
  struct CMUnitTest tests[G_N_ELEMENTS(mistakes)];
  for (guint i = 0; i < G_N_ELEMENTS(mistakes); i++)
    tests[i] =
        (struct CMUnitTest){mistakes[i].name, test_mistake, NULL, NULL, (void *)&mistakes[i]};
  return cmocka_run_group_tests(tests, make_robots, free_robots);
}
