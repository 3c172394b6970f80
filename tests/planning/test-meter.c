/* The meter plan against the solver with the meter put in, and every slip by brute force.
 *
 * The twin knows nothing of star and mesh, pieces or situations: which joints are plugged when is
 * taken from the build order; slips are real edits of a copy of the design wherever an edit can
 * make them; every reading is an own solving of the whole network with the meter as one more branch
 * (on volts its input resistance, on ohms a small source). Electronics are tried as open and as
 * shorts. */
#include "planning/meter.h"

#include "electric/solve.h"
#include "fixture.h"
#include "planning/csv.h"
#include "planning/steps.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

/* ---- the twin: situations ---- */

/* Ends ("W1:a") that are apart in a situation, from the build order. */
static GHashTable *
ends_apart(const LoomDesign *design, LoomMeterWhen when)
{
  GHashTable *apart = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
  g_autoptr(LoomSteps) steps = loom_steps_new(design, 0);
  for (guint pass = 0; pass < 2; pass++)
    for (guint i = 0; i < steps->n_steps; i++) {
      const LoomStep *s = &steps->steps[i];
      if (s->act != LOOM_STEP_PLUG)
        continue;
      bool plugged =
          when == LOOM_METER_POWERED || (when != LOOM_METER_PACK && s->stage != LOOM_STAGE_C &&
                                         (when == LOOM_METER_TRIAL || !s->source));
      if (pass == 0 && !plugged) {
        g_hash_table_add(apart, g_strdup(s->from));
        g_hash_table_add(apart, g_strdup(s->to));
      } else if (pass == 1 && plugged) {
        g_hash_table_remove(apart, s->from);
        g_hash_table_remove(apart, s->to);
      }
    }
  return apart;
}

static char *
end_name(const LoomDesign *design, guint part, guint end)
{
  const LoomPart *p = loom_design_part(design, part);
  return g_strdup_printf("%s:%s", p->designation, p->kind->ends[end].id);
}

/* ---- the twin: slips as edits ---- */

static bool
joins(const LoomJoint *j, const char *end)
{
  g_autofree char *a = g_strdup_printf("%s:%s", j->a.part, j->a.end);
  g_autofree char *b = g_strdup_printf("%s:%s", j->b.part, j->b.end);
  return g_str_equal(a, end) || g_str_equal(b, end);
}

/* What is plugged at the end; NULL where nothing is. New. */
static char *
far_of(const LoomDesign *design, const char *end)
{
  for (guint i = 0; i < loom_design_n_joints(design); i++) {
    const LoomJoint *j = loom_design_joint(design, i);
    if (!joins(j, end))
      continue;
    g_autofree char *a = g_strdup_printf("%s:%s", j->a.part, j->a.end);
    return g_str_equal(a, end) ? g_strdup_printf("%s:%s", j->b.part, j->b.end)
                               : g_steal_pointer(&a);
  }
  return NULL;
}

/* The same kind with two contacts of an end exchanged wherever an element names them. */
static LoomKind *
crossed_kind(const LoomKind *kind, guint end, guint a, guint b)
{
  const LoomEnd *e = &kind->ends[end];
  g_autofree char *one = g_strdup_printf("\"%s:%s\"", e->id, e->contacts[a].name);
  g_autofree char *two = g_strdup_printf("\"%s:%s\"", e->id, e->contacts[b].name);
  g_autoptr(GString) xml = g_string_new(kind->xml);
  g_string_replace(xml, one, "\"@\"", 0);
  g_string_replace(xml, two, one, 0);
  g_string_replace(xml, "\"@\"", two, 0);
  g_autofree char *id = g_strdup_printf("kind id=\"%s\"", kind->id);
  g_string_replace(xml, id, "kind id=\"crossed\"", 1);
  g_autoptr(GString) all = g_string_new(NULL);
  g_autoptr(GHashTable) known = g_hash_table_new(g_str_hash, g_str_equal);
  for (guint i = 0; i < kind->n_ends; i++)
    if (g_hash_table_add(known, kind->ends[i].family->id))
      g_string_append(all, kind->ends[i].family->xml);
  g_string_append(all, xml->str);
  g_autoptr(LoomCatalogue) catalogue = fixture_catalogue(all->str);
  return loom_kind_ref(loom_catalogue_kind(catalogue, "crossed"));
}

static void
must(bool ok, const GError *error)
{
  if (!ok)
    fail_msg("%s", error ? error->message : "an edit was refused");
}

static void
cross(LoomEdit *edit, const LoomSlip *slip)
{
  g_autoptr(GError) error = NULL;
  const LoomDesign *design = loom_edit_design(edit);
  g_autofree char *here = end_name(design, slip->part, slip->end);
  g_autofree char *there = end_name(design, slip->part, slip->other);
  g_autofree char *far_here = far_of(design, here), *far_there = far_of(design, there);
  must(loom_edit_unplug(edit, here, NULL, &error), error);
  if (far_there)
    must(loom_edit_unplug(edit, there, NULL, &error), error);
  must(loom_edit_plug(edit, far_here, there, LOOM_FIT_NORMAL, NULL, &error), error);
  if (far_there)
    must(loom_edit_plug(edit, far_there, here, LOOM_FIT_NORMAL, NULL, &error), error);
}

/* A copy of the design with the slip made in it, as far as an edit can make it. */
static LoomDesign *
with_slip(const LoomDesign *design, const LoomSlip *slip)
{
  LoomDesign *copy = loom_design_snapshot(design);
  if (!slip || slip->type == LOOM_SLIP_SHORT || slip->type == LOOM_SLIP_FUSE)
    return copy;
  g_autoptr(GError) error = NULL;
  LoomEdit *edit = loom_edit_new(copy, "slip");
  const LoomJoint *joint = loom_design_joint(copy, slip->joint);
  g_autofree char *end = g_strdup_printf("%s:%s", joint->a.part, joint->a.end);
  if (slip->type == LOOM_SLIP_LEFT_OUT) {
    must(loom_edit_unplug_joint(edit, slip->joint, &error), error);
  } else if (slip->type == LOOM_SLIP_CROSSED) {
    cross(edit, slip);
  } else if (slip->type == LOOM_SLIP_SWAPPED) {
    const LoomPart *part = loom_design_part(copy, slip->part);
    LoomKind *kind = crossed_kind(part->kind, slip->end, slip->a, slip->b);
    must(loom_edit_set_kind(edit, part->designation, kind, &error), error);
    loom_kind_unref(kind);
  } else {
    const char *fit = slip->type == LOOM_SLIP_TURNED ? "turned" : "shifted";
    must(loom_edit_set(edit, end, "fit", fit, &error), error);
  }
  loom_design_apply(copy, edit);
  return copy;
}

/* ---- the twin: one network, with branches of our own ---- */

/* What all readings of a design, and of a slip in it, are taken from. */
typedef struct {
  const LoomDesign *design;
  GHashTable *apart[LOOM_METER_POWERED + 1]; /* ends_apart; NULL: not yet known */
  LoomState *states[LOOM_METER_POWERED + 1];
  const LoomSlip *slip; /* that is made in the wiring; NULL: none */
  LoomWiring *wiring;   /* NULL: not yet made */
} Twin;

typedef struct {
  LoomWiring w; /* the twin's, with touches of its own */
  LoomNetwork *n;
  GArray *extra; /* LoomElement, kept until the end */
} Net;

/* Takes touches of joints away of which the end that the slip does not move is apart. */
static void
take_apart(Net *net, Twin *twin, LoomMeterWhen when)
{
  guint kept = 0;
  for (guint t = 0; t < net->w.n_touches; t++) {
    const LoomWiredJoint *j = &net->w.joints[net->w.touches[t].wired];
    bool moved_a =
        twin->slip && twin->slip->type == LOOM_SLIP_CROSSED && j->part_a == twin->slip->part;
    g_autofree char *end = moved_a ? end_name(twin->design, j->part_b, j->end_b)
                                   : end_name(twin->design, j->part_a, j->end_a);
    if (when != LOOM_METER_PACK && !g_hash_table_contains(twin->apart[when], end))
      net->w.touches[kept++] = net->w.touches[t];
  }
  net->w.n_touches = kept;
}

static void
add_branch(Net *net, LoomElementType type, guint a, guint b, double ohm, double emf_V)
{
  LoomElement *e = g_new(LoomElement, 1);
  *e = (LoomElement){.type = type,
                     .a = a,
                     .b = b,
                     .c = LOOM_NONE,
                     .d = LOOM_NONE,
                     .ohm = ohm,
                     .mm2 = NAN,
                     .length_mm = NAN,
                     .rated_A = NAN,
                     .rated_V = NAN,
                     .limit_A = NAN,
                     .emf_full_V = NAN,
                     .emf_V = emf_V,
                     .emf_empty_V = NAN,
                     .capacity_Ah = NAN,
                     .peukert = NAN,
                     .current_A = NAN,
                     .power_W = NAN,
                     .lockout_V = NAN,
                     .release_V = NAN,
                     .min_V = NAN,
                     .max_V = NAN,
                     .volt_s_per_rad = NAN,
                     .no_load_A = NAN,
                     .torque_Nm = NAN,
                     .idle_A = NAN,
                     .moving_A = NAN,
                     .stall_A = NAN,
                     .output_V = NAN,
                     .efficiency = NAN,
                     .quiescent_A = NAN,
                     .channel = LOOM_NONE};
  g_array_append_val(net->extra, e);
  net->n->branches = g_renew(LoomBranch, net->n->branches, net->n->n_branches + 2);
  net->n->branches[net->n->n_branches++] = (LoomBranch){.element = e,
                                                        .part = 0,
                                                        .a = a,
                                                        .b = b,
                                                        .c = LOOM_NONE,
                                                        .d = LOOM_NONE,
                                                        .ohm = ohm,
                                                        .possible = true};
}

static bool
is_electronics(LoomElementType type)
{
  return type == LOOM_ELEMENT_CURRENT || type == LOOM_ELEMENT_POWER || type == LOOM_ELEMENT_SERVO ||
         type == LOOM_ELEMENT_DRIVER || type == LOOM_ELEMENT_CONVERTER ||
         type == LOOM_ELEMENT_SOURCE;
}

/* Turns electronics into resistors: next to nothing, or more than any meter shows. Sources, which
 * are not joined to the probes, go the same way: whatever trouble they have is not of this reading.
 */
static void
freeze_electronics(Net *net, double ohm)
{
  guint n = net->n->n_branches;
  for (guint i = net->n->n_touches; i < n; i++) {
    LoomBranch old = net->n->branches[i];
    if (!is_electronics(old.element->type))
      continue;
    guint far[] = {old.b, old.c, old.d};
    net->n->branches[i].a = net->n->branches[i].b = old.a;
    net->n->branches[i].c = net->n->branches[i].d = LOOM_NONE;
    for (guint k = 0; k < G_N_ELEMENTS(far); k++)
      if (far[k] != LOOM_NONE)
        add_branch(net, LOOM_ELEMENT_RESISTOR, old.a, far[k], ohm, NAN);
    net->n->branches[i].element =
        *(LoomElement **)(void *)(net->extra->data + (net->extra->len - 1) * sizeof(void *));
    net->n->branches[i].ohm = 1;
    net->n->branches[i].possible = true;
  }
}

/* The scene's first state with all switches of parts on, or (OFF) those off that the order
 * switches. */
static LoomState *
twin_state(const LoomDesign *design, LoomMeterWhen when)
{
  g_autoptr(LoomSteps) steps = loom_steps_new(design, 0);
  LoomState *state = g_new0(LoomState, 1);
  state->settings = g_new0(LoomSetting, steps->n_steps + 1);
  for (guint i = 0; i < steps->n_steps; i++)
    if (steps->steps[i].act == LOOM_STEP_SWITCH_OFF)
      state->settings[state->n_settings++] =
          (LoomSetting){g_strdup(loom_design_part(design, steps->steps[i].part)->designation),
                        (char *)"on", (char *)(when == LOOM_METER_OFF ? "no" : "yes")};
  return state;
}

static void
state_free(LoomState *state)
{
  for (guint i = 0; i < state->n_settings; i++)
    g_free(state->settings[i].part);
  g_free(state->settings);
  g_free(state);
}

static void
twin_init(Twin *twin, const LoomDesign *design)
{
  *twin = (Twin){.design = design};
  for (LoomMeterWhen when = LOOM_METER_PACK; when <= LOOM_METER_POWERED; when++) {
    twin->apart[when] = ends_apart(design, when);
    twin->states[when] = twin_state(design, when);
  }
}

static void
twin_clear(Twin *twin)
{
  for (guint when = 0; when < G_N_ELEMENTS(twin->apart); when++) {
    g_hash_table_unref(twin->apart[when]);
    state_free(twin->states[when]);
  }
  loom_wiring_free(twin->wiring);
}

static void
twin_make(Twin *twin, const LoomSlip *slip)
{
  if (twin->wiring && twin->slip == slip)
    return;
  g_autoptr(LoomDesign) design = with_slip(twin->design, slip);
  loom_wiring_free(twin->wiring);
  twin->wiring = loom_wiring_new(design, 0);
  twin->slip = slip;
}

static void
net_init(Net *net, Twin *twin, const LoomSlip *slip, LoomMeterWhen when)
{
  twin_make(twin, slip);
  *net = (Net){.w = *twin->wiring, .extra = g_array_new(FALSE, FALSE, sizeof(void *))};
  net->w.touches = g_memdup2(net->w.touches, net->w.n_touches * sizeof *net->w.touches);
  take_apart(net, twin, when);
  net->n = loom_network_new(&net->w);
  if (slip && slip->type == LOOM_SLIP_SHORT)
    add_branch(net, LOOM_ELEMENT_RESISTOR,
               loom_wiring_node(&net->w, slip->part, slip->end, slip->a),
               loom_wiring_node(&net->w, slip->part, slip->end, slip->b), 1e-3, NAN);
}

static void
net_clear(Net *net)
{
  loom_network_free(net->n);
  g_free(net->w.touches);
  for (guint i = 0; i < net->extra->len; i++)
    g_free(g_array_index(net->extra, LoomElement *, i));
  g_array_unref(net->extra);
}

static guint
probe_node(const Net *net, const LoomProbe *p)
{
  return loom_wiring_node(&net->w, p->part, p->end, p->contact);
}

/* ---- the twin: readings ---- */

/* Nodes that are joined to `from` over any branch. */
static bool *
joined_to(const Net *net, guint from)
{
  bool *reached = g_new0(bool, net->w.n_nodes + 1);
  reached[from] = true;
  for (bool more = true; more;) {
    more = false;
    for (guint i = 0; i < net->n->n_branches; i++) {
      const LoomBranch *b = &net->n->branches[i];
      guint at[] = {b->a, b->b, b->c, b->d};
      bool any = false;
      for (guint k = 0; k < 4; k++)
        any |= at[k] != LOOM_NONE && reached[at[k]];
      for (guint k = 0; any && k < 4; k++)
        if (at[k] != LOOM_NONE && !reached[at[k]])
          reached[at[k]] = more = true;
    }
  }
  return reached;
}

static bool
meets_source(const Net *net, guint from)
{
  g_autofree bool *joined = joined_to(net, from);
  for (guint i = 0; i < net->n->n_branches; i++) {
    const LoomBranch *b = &net->n->branches[i];
    if (b->element && b->element->type == LOOM_ELEMENT_SOURCE && (joined[b->a] || joined[b->b]))
      return true;
  }
  return false;
}

/* Whether the contact has to do with the part where there is no operating point; where it cannot be
 * told which, with the slip's own. */
static bool
has_to_do_with(const Net *net, guint from, const LoomOperatingPoint *point, const LoomSlip *slip)
{
  g_autofree bool *joined = joined_to(net, from);
  if (point->branch != LOOM_NONE) {
    const LoomBranch *b = &net->n->branches[point->branch];
    return joined[b->a] || joined[b->b];
  }
  guint part = slip ? slip->part : LOOM_NONE;
  for (guint i = 0; part != LOOM_NONE && i < net->w.n_nodes; i++)
    if (net->w.node_part[i] == part && joined[i])
      return true;
  return part == LOOM_NONE;
}

/* Volts shown at the charge; NAN: smoke. A piece of the robot that smoke has nothing to do with
 * reads as it should: INFINITY says so. */
static double
twin_volts(Twin *twin, const LoomSlip *slip, const LoomReading *r, double charge)
{
  Net net;
  net_init(&net, twin, slip, r->when);
  guint red = probe_node(&net, &r->red), black = probe_node(&net, &r->black);
  add_branch(&net, LOOM_ELEMENT_RESISTOR, red, black, loom_meter_usual().input_ohm, NAN);
  LoomSolver *solver = loom_solver_new(net.n, twin->states[r->when]);
  LoomConditions now = loom_conditions(net.n);
  now.charge = charge;
  LoomOperatingPoint *point = loom_solver_run(solver, &now);
  double volts = loom_point_volts(point, red, black);
  volts = isnan(volts) ? 0 : volts;
  if (point->trouble == LOOM_TROUBLE_SINGULAR)
    volts = INFINITY;
  else if (point->trouble)
    volts = has_to_do_with(&net, red, point, slip) || has_to_do_with(&net, black, point, slip)
                ? NAN
                : INFINITY;
  loom_point_free(point);
  loom_solver_free(solver);
  net_clear(&net);
  return volts;
}

/* Ohms shown: 0.1 V behind 100 ohm put between the probes. */
static double
twin_ohms(Twin *twin, const LoomSlip *slip, const LoomReading *r, double electronics)
{
  LoomMeter meter = loom_meter_usual();
  Net net;
  net_init(&net, twin, slip, r->when);
  guint red = probe_node(&net, &r->red), black = probe_node(&net, &r->black);
  double ohms = NAN;
  if (!meets_source(&net, red) && !meets_source(&net, black)) {
    freeze_electronics(&net, electronics);
    add_branch(&net, LOOM_ELEMENT_SOURCE, red, black, 100, 0.1);
    LoomSolver *solver = loom_solver_new(net.n, twin->states[r->when]);
    LoomConditions now = loom_conditions(net.n);
    now.ambient_C = 20;
    LoomOperatingPoint *point = loom_solver_run(solver, &now);
    double volts = loom_point_volts(point, red, black), amps = (0.1 - volts) / 100;
    ohms = amps > 1e-13 ? volts / amps + meter.probe_ohm : INFINITY;
    ohms = ohms > meter.most_ohm ? INFINITY : ohms;
    if (point->trouble)
      fail_msg("no operating point with the ohmmeter in: %s", r->sentence);
    loom_point_free(point);
    loom_solver_free(solver);
  }
  net_clear(&net);
  return ohms;
}

static bool
twin_leaves(Twin *twin, const LoomSlip *slip, const LoomReading *r)
{
  if (r->check == LOOM_CHECK_VOLTS) {
    double volts = twin_volts(twin, slip, r, 0.5);
    return isnan(volts) || (isfinite(volts) && (volts < r->low || volts > r->high));
  }
  double most = twin_ohms(twin, slip, r, 1e10), least = twin_ohms(twin, slip, r, 1e-4);
  return most < r->low || least > r->high;
}

/* ---- both against each other ---- */

static void
compare_readings(Twin *twin, const LoomMeterPlan *plan, guint seed)
{
  for (guint i = 0; i < plan->n_readings; i++) {
    const LoomReading *r = &plan->readings[i];
    bool volts = r->check == LOOM_CHECK_VOLTS;
    double by_twin = volts ? twin_volts(twin, NULL, r, 0.5) : twin_ohms(twin, NULL, r, 1e10);
    bool same = isinf(r->expected) ? isinf(by_twin)
                                   : fabs(by_twin - r->expected) <= 2e-6 * fabs(r->expected) + 1e-9;
    if (!same || !(r->low <= r->expected && r->expected <= r->high))
      fail_msg("seed %u: %s %g (%g to %g), the solver has %g", seed, r->sentence, r->expected,
               r->low, r->high, by_twin);
    if (volts &&
        !(r->low <= twin_volts(twin, NULL, r, 0) && twin_volts(twin, NULL, r, 1) <= r->high))
      fail_msg("seed %u: %s leaves its limits with an empty or full pack", seed, r->sentence);
  }
}

static void
compare_slips(Twin *twin, const LoomMeterPlan *plan, guint seed, guint *seen, guint *not_seen)
{
  for (guint i = 0; i < plan->n_slips; i++) {
    const LoomSlip *slip = &plan->slips[i];
    guint first = LOOM_NONE;
    for (guint k = 0; k < plan->n_readings && first == LOOM_NONE; k++)
      if (twin_leaves(twin, slip, &plan->readings[k]))
        first = k;
    if (first != slip->seen_by || (first == LOOM_NONE) != (slip->shows != NULL))
      fail_msg("seed %u: %s seen by %d, the solver shows it at %d (%s)", seed, slip->what,
               (int)slip->seen_by, (int)first,
               first == LOOM_NONE ? "" : plan->readings[first].sentence);
    *(first == LOOM_NONE ? not_seen : seen) += 1;
  }
}

static guint
slips_at(const LoomMeterPlan *plan, LoomSlipType type, guint joint)
{
  guint n = 0;
  for (guint i = 0; i < plan->n_slips; i++)
    n += plan->slips[i].type == type && plan->slips[i].joint == joint;
  return n;
}

/* Counted from the design: every joint that mates may be left out, turned and shifted where its
 * connectors let it, and every fuse may be another. */
static void
assert_complete(const LoomDesign *design, const LoomMeterPlan *plan, guint seed)
{
  guint fuses = 0;
  for (guint i = 0; i < loom_design_n_joints(design); i++) {
    const LoomJoint *joint = loom_design_joint(design, i);
    guint pa = loom_design_find_part(design, joint->a.part);
    guint pb = loom_design_find_part(design, joint->b.part);
    const LoomKind *ka = loom_design_part(design, pa)->kind,
                   *kb = loom_design_part(design, pb)->kind;
    const LoomEnd *a = &ka->ends[loom_kind_find_end(ka, joint->a.end)];
    const LoomEnd *b = &kb->ends[loom_kind_find_end(kb, joint->b.end)];
    bool here = loom_joint_in_scene(joint, loom_design_scene(design, 0)->name) &&
                a->n_contacts > 0 && loom_mate(a, b) == LOOM_MATE_YES;
    bool turned = loom_fit_possible(a, b, LOOM_FIT_TURNED) && joint->fit != LOOM_FIT_TURNED;
    bool shifted = loom_fit_possible(a, b, LOOM_FIT_SHIFTED) && joint->fit != LOOM_FIT_SHIFTED;
    if (here && (slips_at(plan, LOOM_SLIP_LEFT_OUT, i) != 1 ||
                 slips_at(plan, LOOM_SLIP_TURNED, i) != turned ||
                 slips_at(plan, LOOM_SLIP_SHIFTED, i) != shifted))
      fail_msg("seed %u: %s:%s and %s:%s have %u left out, %u of %d turned, %u of %d shifted", seed,
               joint->a.part, joint->a.end, joint->b.part, joint->b.end,
               slips_at(plan, LOOM_SLIP_LEFT_OUT, i), slips_at(plan, LOOM_SLIP_TURNED, i), turned,
               slips_at(plan, LOOM_SLIP_SHIFTED, i), shifted);
  }
  for (guint p = 0; p < loom_design_n_parts(design); p++) {
    const LoomKind *kind = loom_design_part(design, p)->kind;
    for (guint e = 0; e < kind->n_elements; e++)
      fuses += kind->elements[e].type == LOOM_ELEMENT_FUSE;
  }
  assert_int_equal(slips_at(plan, LOOM_SLIP_FUSE, LOOM_NONE), fuses);
}

static void
prove(const LoomDesign *design, const LoomMeterPlan *plan, guint seed, guint *seen, guint *not_seen)
{
  Twin twin;
  twin_init(&twin, design);
  compare_readings(&twin, plan, seed);
  compare_slips(&twin, plan, seed, seen, not_seen);
  twin_clear(&twin);
  assert_complete(design, plan, seed);
}

#define ROBOTS 14

static void
every_slip_is_seen_or_listed(void **state)
{
  (void)state;
  g_autoptr(LoomCatalogue) catalogue = fixture_built_in();
  guint robots = 0, seen = 0, not_seen = 0;
  for (guint seed = 1; robots < ROBOTS; seed++) {
    g_autoptr(GRand) rand = g_rand_new_with_seed(seed);
    g_autoptr(LoomDesign) design = fixture_random_robot(catalogue, rand);
    g_autoptr(LoomMeterPlan) plan = loom_meter_new(design, 0, NULL);
    if (plan->n_readings < 4 || plan->n_slips > 90)
      continue;
    prove(design, plan, seed, &seen, &not_seen);
    robots++;
  }
  print_message("%u robots: %u slips seen, %u listed\n", robots, seen, not_seen);
  assert_true(seen > 40 && not_seen > 100);
}

/* ---- an ordinary robot with a frame ---- */

static LoomDesign *
ordinary(const LoomCatalogue *catalogue)
{
  LoomDesign *design = loom_design_new("ordinary");
  static const char *const kinds[] = {"pack-nimh-12v-3ah", "fuse-lead-20",     "switch-main-20",
                                      "extension-30-300",  "controller-rover", "motor-medium",
                                      "motor-medium",      "frame-metal"};
  for (guint i = 0; i < G_N_ELEMENTS(kinds); i++)
    fixture_add(design, catalogue, kinds[i]);
  fixture_plug(design, "G1:out", "F1:in");
  fixture_plug(design, "F1:out", "Q1:in");
  fixture_plug(design, "Q1:out", "W1:a");
  fixture_plug(design, "W1:b", "K1:power");
  fixture_plug(design, "M1:poles", "K1:motor-1");
  fixture_plug(design, "M2:poles", "K1:motor-2");
  return design;
}

static const LoomReading *
find(const LoomMeterPlan *plan, LoomMeterWhen when, LoomMeterCheck check)
{
  for (guint i = 0; i < plan->n_readings; i++)
    if (plan->readings[i].when == when && plan->readings[i].check == check)
      return &plan->readings[i];
  fail_msg("no such reading");
  return NULL;
}

static void
reads_an_ordinary_robot(void **state)
{
  (void)state;
  g_autoptr(LoomCatalogue) catalogue = fixture_built_in();
  g_autoptr(LoomDesign) design = ordinary(catalogue);
  g_autoptr(LoomMeterPlan) plan = loom_meter_new(design, 0, NULL);
  guint seen = 0, not_seen = 0;
  Twin twin;
  twin_init(&twin, design);
  compare_readings(&twin, plan, 0);
  compare_slips(&twin, plan, 0, &seen, &not_seen);
  twin_clear(&twin);
  const LoomReading *pack = find(plan, LOOM_METER_PACK, LOOM_CHECK_VOLTS);
  assert_string_equal(pack->sentence, "Volts DC, red probe on G1:out:+, black probe on G1:out:-: "
                                      "about 12.2 V, between 9.93 V and 14.1 V.");
  const LoomReading *way = find(plan, LOOM_METER_ON, LOOM_CHECK_CONTINUITY);
  assert_string_equal(way->red_name, "F1:in:+");
  assert_string_equal(way->black_name, "W1:b:+");
  assert_true(way->low == 0 && way->high < 2);
  const LoomReading *shorted = find(plan, LOOM_METER_ON, LOOM_CHECK_SHORT);
  assert_true(isinf(shorted->expected) && isinf(shorted->high) && shorted->low == 0.5e6);
  assert_true(isinf(find(plan, LOOM_METER_OFF, LOOM_CHECK_SWITCH)->expected));
  assert_string_equal(find(plan, LOOM_METER_ON, LOOM_CHECK_INSULATION)->black_name, "U1:stud-1:1");
  assert_true(fabs(find(plan, LOOM_METER_TRIAL, LOOM_CHECK_VOLTS)->expected - 12.2) < 1e-4);
}

/* The book turns the switches itself, whatever the scene's first state does with them. */
static void
a_state_that_rests_with_the_switch_off_changes_nothing(void **state)
{
  (void)state;
  g_autoptr(LoomCatalogue) catalogue = fixture_built_in();
  g_autoptr(LoomDesign) design = ordinary(catalogue), off = ordinary(catalogue);
  const LoomScene *scene = loom_design_scene(off, 0);
  g_autofree char *target = g_strdup_printf("state:%s/%s", scene->name, scene->states[0].name);
  fixture_set(off, target, "Q1.on", "no");
  assert_string_equal(loom_state_value(&loom_design_scene(off, 0)->states[0], "Q1", "on"), "no");
  g_autoptr(LoomMeterPlan) as_drawn = loom_meter_new(design, 0, NULL);
  g_autoptr(LoomMeterPlan) resting = loom_meter_new(off, 0, NULL);
  g_autofree char *a = loom_meter_to_csv(as_drawn), *b = loom_meter_to_csv(resting);
  assert_string_equal(a, b);
}

/* A reversed lead and a joint left out in the supply are seen before power comes; mixed-up motors
 * are not, and the roll-call is named. */
static void
knows_what_it_cannot_see(void **state)
{
  (void)state;
  g_autoptr(LoomCatalogue) catalogue = fixture_built_in();
  g_autoptr(LoomDesign) design = ordinary(catalogue);
  g_autoptr(LoomMeterPlan) plan = loom_meter_new(design, 0, NULL);
  guint unseen = 0;
  for (guint i = 0; i < plan->n_slips; i++) {
    const LoomSlip *slip = &plan->slips[i];
    unseen += slip->seen_by == LOOM_NONE;
    if (slip->type == LOOM_SLIP_SWAPPED)
      assert_int_equal(plan->readings[slip->seen_by].when, LOOM_METER_ON);
    if (slip->type == LOOM_SLIP_CROSSED && slip->end == 10) {
      assert_string_equal(slip->what, "K1:motor-1 and K1:motor-2 are mixed up.");
      assert_string_equal(slip->shows, "Roll-call: another one answers in place of M1.");
    }
    if (slip->type == LOOM_SLIP_FUSE)
      assert_string_equal(slip->shows, "Look: the number on the fuse must be 20.");
  }
  assert_int_equal(unseen, plan->n_unseen);
  assert_true(unseen > 3 && unseen < plan->n_slips);
}

/* The error of the display: share plus last digits of the range (usual data sheet form). */
static void
adds_share_and_digits(void **state)
{
  (void)state;
  LoomMeter m = loom_meter_usual();
  assert_true(fabs(loom_meter_volts_error(&m, 12) - (0.06 + 0.02)) < 1e-12);
  assert_true(fabs(loom_meter_volts_error(&m, -1.5) - (0.0075 + 0.002)) < 1e-12);
  assert_true(fabs(loom_meter_volts_error(&m, 24) - (0.12 + 0.2)) < 1e-12);
  assert_true(fabs(loom_meter_ohms_error(&m, 100) - (0.8 + 0.5)) < 1e-12);
  assert_true(fabs(loom_meter_ohms_error(&m, 1500) - (12 + 5)) < 1e-12);
  assert_true(loom_meter_ohms_error(&m, INFINITY) == 0);
}

static void
writes_the_agreed_columns(void **state)
{
  (void)state;
  g_autoptr(LoomCatalogue) catalogue = fixture_built_in();
  g_autoptr(LoomDesign) design = ordinary(catalogue);
  g_autoptr(LoomMeterPlan) plan = loom_meter_new(design, 0, NULL);
  g_autofree char *text = loom_meter_to_csv(plan);
  g_autoptr(LoomCsvTable) table = loom_csv_parse(text, strlen(text), "meter", NULL);
  assert_true(g_str_has_prefix(text,
                               "step,when,red_probe,black_probe,quantity,expected,low,high,unit"
                               "\r\n1,pack alone,G1:out:+,G1:out:-,voltage,12.2,"));
  assert_int_equal(table->n_rows, plan->n_readings + 1);
  guint low = loom_csv_column(table, "low"), high = loom_csv_column(table, "high");
  bool open = false;
  for (guint i = 1; i < table->n_rows; i++)
    open |= g_str_equal(loom_csv_field(table, i, low), "500000") &&
            g_str_equal(loom_csv_field(table, i, high), "");
  assert_true(open);
}

static void
an_empty_sheet_has_nothing_to_measure(void **state)
{
  (void)state;
  g_autoptr(LoomDesign) design = loom_design_new("empty");
  g_autoptr(LoomMeterPlan) plan = loom_meter_new(design, 0, NULL);
  assert_int_equal(plan->n_readings, 0);
  assert_int_equal(plan->n_slips, 0);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(every_slip_is_seen_or_listed),
      cmocka_unit_test(reads_an_ordinary_robot),
      cmocka_unit_test(a_state_that_rests_with_the_switch_off_changes_nothing),
      cmocka_unit_test(knows_what_it_cannot_see),
      cmocka_unit_test(adds_share_and_digits),
      cmocka_unit_test(writes_the_agreed_columns),
      cmocka_unit_test(an_empty_sheet_has_nothing_to_measure),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
