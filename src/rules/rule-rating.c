#include "rules-private.h"

#include <glib/gi18n-lib.h>
#include <math.h>

/* Ratings are no better known than this. */
#define TOLERANCE 1.02

/* Something that gets more than it is made for. */
typedef struct {
  guint part, end;        /* end LOOM_NONE: the part itself */
  guint other, other_end; /* of a joint, LOOM_NONE otherwise */
  double most_A, rated_A;
  LoomCause cause; /* what sets most_A */
} Overload;

static LoomCause
cause_of(const LoomBound *b)
{
  return b->guard_A <= b->draw_A ? b->guard : b->draw;
}

/* The solver has to say how parallel ways share; a bound of INFINITY is no number. */
static bool
exceeds(const LoomBound *b, double rated_A)
{
  return !b->parallel && isfinite(b->most_A) && b->most_A > TOLERANCE * rated_A;
}

static int
worst_first(gconstpointer a, gconstpointer b)
{
  const Overload *x = a, *y = b;
  double rx = x->most_A / x->rated_A, ry = y->most_A / y->rated_A;
  return rx > ry ? -1 : rx < ry;
}

/* What stands in the way, in words: "the fuse F1", "the port K1:motor-1", "what M1 draws". New. */
static char *
cause_words(const LoomScenery *s, LoomCause cause)
{
  const LoomPart *part = loom_wiring_part(s->wiring, cause.part);
  switch (cause.type) {
  case LOOM_CAUSE_FUSE:
    return g_strdup_printf(_("the fuse %s lets that through"), part->designation);
  case LOOM_CAUSE_END:
    return g_strdup_printf(_("%s:%s lets that through"), part->designation,
                           part->kind->ends[cause.index].id);
  case LOOM_CAUSE_GROUP:
    return g_strdup_printf(_("%s (%s) lets that through"), part->designation,
                           part->kind->limits[cause.index].label);
  case LOOM_CAUSE_SOURCE:
    return g_strdup_printf(_("%s can push that"), part->designation);
  case LOOM_CAUSE_LOAD:
  case LOOM_CAUSE_OUTPUT:
    return g_strdup_printf(_("%s can draw that"), part->designation);
  default:
    return g_strdup(_("nothing prevents that"));
  }
}

static bool
same_cause(LoomCause a, LoomCause b)
{
  return a.type == b.type && a.part == b.part && a.index == b.index;
}

typedef struct {
  const char *rule, *why, *remedy;
} Words;

static void
place_overload(const LoomScenery *s, LoomFinding *f, const Overload *o)
{
  loom_finding_place(f, loom_wiring_part(s->wiring, o->part), o->end);
  if (o->other != LOOM_NONE)
    loom_finding_place(f, loom_wiring_part(s->wiring, o->other), o->other_end);
}

/* One finding for all that suffer from one cause: the worst is named, the others counted and lit.
 */
static void
report_cause(LoomScenery *s, const Words *words, const GArray *all, guint first, bool *told)
{
  const Overload *worst = &g_array_index(all, Overload, first);
  bool melts = worst->most_A > LOOM_OUTLIVES * worst->rated_A;
  LoomFinding *f = loom_scenery_find(s, melts ? LOOM_STOP : LOOM_CARE, words->rule, _(words->why),
                                     _(words->remedy));
  place_overload(s, f, worst);
  loom_finding_where(f, worst->other == LOOM_NONE ? 1 : 2);
  guint others = 0;
  for (guint i = first + 1; i < all->len; i++) {
    const Overload *o = &g_array_index(all, Overload, i);
    if (told[i] || !same_cause(o->cause, worst->cause))
      continue;
    told[i] = true;
    if (others++ < 24)
      place_overload(s, f, o);
  }
  g_autofree char *cause = cause_words(s, worst->cause);
  g_autoptr(GString) more = g_string_new(NULL);
  if (others)
    g_string_append_printf(
        more,
        ngettext(" So does %u other on the same way.", " So do %u others on the same way.", others),
        others);
  f->message = g_strdup_printf(_("%s can get %.3g A, made for %.3g A: %s.%s"), f->where,
                               worst->most_A, worst->rated_A, cause, more->str);
}

/* Takes the array. */
static void
report_overloads(LoomScenery *s, GArray *all, const Words *words)
{
  g_array_sort(all, worst_first);
  g_autofree bool *told = g_new0(bool, all->len + 1);
  for (guint i = 0; i < all->len; i++)
    if (!told[i])
      report_cause(s, words, all, i, told);
  g_array_free(all, TRUE);
}

/* End that an element's wire goes to; LOOM_NONE inside, and for leads, which are meant as a whole.
 */
static guint
end_of_element(const LoomScenery *s, guint part, const LoomElement *e)
{
  if (loom_wiring_part(s->wiring, part)->kind->lead || e->type != LOOM_ELEMENT_WIRE)
    return LOOM_NONE;
  guint a = s->node_end[s->wiring->part_node[part] + e->a];
  return a != LOOM_NONE ? a : s->node_end[s->wiring->part_node[part] + e->b];
}

static double
rating_of(const LoomScenery *s, const LoomElement *e)
{
  return e->type == LOOM_ELEMENT_WIRE ? loom_scenery_ampacity_A(s, e->mm2) : e->rated_A;
}

/* Elements of a type that get more than they carry, one a part at most. New. */
static GArray *
overloaded_elements(const LoomScenery *s, LoomElementType type)
{
  GArray *all = g_array_new(FALSE, FALSE, sizeof(Overload));
  for (guint p = 0; p < s->wiring->n_parts; p++) {
    const LoomKind *kind = loom_wiring_part(s->wiring, p)->kind;
    Overload worst = {.part = LOOM_NONE};
    for (guint i = 0; i < kind->n_elements; i++) {
      const LoomBound *b = loom_limits_element(s->limits, p, i);
      double rated = kind->elements[i].type == type ? rating_of(s, &kind->elements[i]) : NAN;
      Overload o = {p,          end_of_element(s, p, &kind->elements[i]),
                    LOOM_NONE,  LOOM_NONE,
                    b->most_A,  rated,
                    cause_of(b)};
      if (exceeds(b, rated) && (worst.part == LOOM_NONE || worst_first(&o, &worst) < 0))
        worst = o;
    }
    if (worst.part != LOOM_NONE)
      g_array_append_val(all, worst);
  }
  return all;
}

static void
wire_load_in(LoomScenery *s)
{
  static const Words words = {
      "wire-load", N_("A wire that carries too much gets hot, and its insulation melts."),
      N_("Use a thicker wire, or a smaller fuse before it.")};
  report_overloads(s, overloaded_elements(s, LOOM_ELEMENT_WIRE), &words);
}

void
loom_rule_wire_load(LoomDesk *desk)
{
  loom_desk_each_sound_scene(desk, wire_load_in);
}

static void
switch_load_in(LoomScenery *s)
{
  static const Words words = {
      "switch-load",
      N_("The contacts of a switch that carries too much get hot and weld together: "
         "then it no longer switches off."),
      N_("Use a switch of a higher rating, or a smaller fuse before it.")};
  report_overloads(s, overloaded_elements(s, LOOM_ELEMENT_SWITCH), &words);
}

void
loom_rule_switch_load(LoomDesk *desk)
{
  loom_desk_each_sound_scene(desk, switch_load_in);
}

static void
contact_load_in(LoomScenery *s)
{
  static const Words words = {
      "contact-load",
      N_("A contact that carries too much gets hot, loses its spring and melts its "
         "housing."),
      N_("Use a bigger connector, or a smaller fuse before it.")};
  GArray *all = g_array_new(FALSE, FALSE, sizeof(Overload));
  for (guint i = 0; i < s->wiring->n_joints; i++) {
    const LoomWiredJoint *j = &s->wiring->joints[i];
    double rated =
        loom_joint_rated_A(&loom_wiring_part(s->wiring, j->part_a)->kind->ends[j->end_a],
                           &loom_wiring_part(s->wiring, j->part_b)->kind->ends[j->end_b]);
    Overload worst = {.part = LOOM_NONE};
    for (guint t = s->limits->joint_touch[i]; t < s->limits->joint_touch[i + 1]; t++) {
      const LoomBound *b = &s->limits->touches[t];
      Overload o = {j->part_a, j->end_a, j->part_b, j->end_b, b->most_A, rated, cause_of(b)};
      if (exceeds(b, rated) && (worst.part == LOOM_NONE || o.most_A > worst.most_A))
        worst = o;
    }
    if (worst.part != LOOM_NONE)
      g_array_append_val(all, worst);
  }
  report_overloads(s, all, &words);
}

void
loom_rule_contact_load(LoomDesk *desk)
{
  loom_desk_each_sound_scene(desk, contact_load_in);
}

/* ---- what electronics let through ---- */

/* What is drawn over the contacts that feed: what returns over the others may come from elsewhere.
 */
static const LoomBound *
drawn_at(const LoomScenery *s, guint part, guint end)
{
  const LoomBound *most = NULL;
  guint number = loom_wiring_end(s->wiring, part, end);
  for (guint i = s->wiring->end_first[number]; i < s->wiring->end_first[number + 1]; i++) {
    guint joint = s->wiring->end_joints[i];
    for (guint t = s->limits->joint_touch[joint]; t < s->limits->joint_touch[joint + 1]; t++) {
      const LoomTouch *touch = &s->wiring->touches[t];
      guint node = s->wiring->node_part[touch->a] == part ? touch->a : touch->b;
      const LoomBound *b = &s->limits->touches[t];
      if (loom_scenery_contact(s, node)->role != LOOM_ROLE_MINUS && !b->parallel &&
          isfinite(b->draw_A) && (!most || b->draw_A > most->draw_A))
        most = b;
    }
  }
  return most;
}

/* What the motors on each output would take of a driver without limit. [n_outputs], new. */
static double *
wanted_of_outputs(const LoomScenery *s)
{
  const guint *circuit = loom_supply_circuits(s->closed)->circuit;
  double *wanted = g_new0(double, s->desk->n_outputs + 1);
  for (guint i = 0; i < s->desk->n_loads; i++) {
    const LoomLoad *load = &s->loads[i];
    guint at = s->output_at[circuit[load->a]];
    if (load->e->type != LOOM_ELEMENT_MOTOR || at == LOOM_NONE)
      continue;
    const LoomOutput *o = &s->outputs[at / 2];
    double volts, ohm = load->e->ohm + (isnan(o->e->ohm) ? 0 : o->e->ohm);
    if (loom_supply_ruling_volts(s->closed, o->a, o->b, &volts, NULL) && ohm > 0)
      wanted[at / 2] += volts / ohm;
  }
  return wanted;
}

/* The same by end, over all ends: of an end without output 0. [n_ends], new. */
static double *
wanted_at_ends(const LoomScenery *s)
{
  g_autofree double *of_output = wanted_of_outputs(s);
  double *wanted = g_new0(double, s->wiring->n_ends + 1);
  for (guint i = 0; i < s->desk->n_outputs; i++) {
    const LoomOutput *o = &s->outputs[i];
    guint end = s->node_end[o->pole[0]];
    if (end != LOOM_NONE)
      wanted[loom_wiring_end(s->wiring, o->part, end)] += of_output[i];
  }
  return wanted;
}

/* What the loads behind the end would take of a supply without limit. */
static double
wanted_A(const LoomScenery *s, const double *at_ends, guint part, guint end)
{
  const LoomBound *b = drawn_at(s, part, end);
  double motors = at_ends[loom_wiring_end(s->wiring, part, end)];
  return b ? fmax(motors, b->draw_A) : motors;
}

/* One finding a part: the ports, and the one that is asked for most. */
static void
port_load_of(LoomScenery *s, const double *at_ends, guint part)
{
  const LoomPart *p = loom_wiring_part(s->wiring, part);
  LoomFinding *f = NULL;
  double worst = 0, limit = 0;
  for (guint e = 0; e < p->kind->n_ends; e++) {
    double gives = p->kind->ends[e].limit_A;
    double wanted = isnan(gives) || !loom_wiring_n_joints_at(s->wiring, part, e)
                        ? 0
                        : wanted_A(s, at_ends, part, e);
    if (!(wanted > TOLERANCE * gives))
      continue;
    if (!f)
      f = loom_scenery_find(
          s, LOOM_NOTE, "port-load",
          _("At its limit a port turns the current down or shuts off: a stalled motor is "
            "weaker than it could be."),
          _("Expect it, or spread the loads over more ports."));
    loom_finding_place(f, p, e);
    if (wanted / gives > worst) {
      worst = wanted / gives;
      limit = gives;
    }
  }
  if (!f)
    return;
  loom_finding_where(f, f->n_places);
  f->message =
      g_strdup_printf(_("What hangs on %s can ask for %.3g A, and the port gives %.3g A at most."),
                      f->where, worst * limit, limit);
}

static void
port_load_in(LoomScenery *s)
{
  g_autofree double *at_ends = wanted_at_ends(s);
  for (guint p = 0; p < s->wiring->n_parts; p++)
    port_load_of(s, at_ends, p);
}

void
loom_rule_port_load(LoomDesk *desk)
{
  loom_desk_each_sound_scene(desk, port_load_in);
}

static void
report_group(LoomScenery *s, guint part, const LoomLimit *limit, double draw)
{
  LoomFinding *f = loom_scenery_find(
      s, limit->acts ? LOOM_NOTE : LOOM_CARE, "group-load",
      limit->acts
          ? _("At the common limit all of these ports turn down or shut off together.")
          : _("Nothing stops the current at this limit: the controller gets hot and breaks."),
      _("Spread the loads over more groups, or see to it that they do not all pull at once."));
  const LoomPart *p = loom_wiring_part(s->wiring, part);
  loom_finding_place(f, p, LOOM_NONE);
  for (guint i = 0; i < limit->n_ends; i++)
    if (loom_wiring_n_joints_at(s->wiring, part, limit->ends[i]))
      loom_finding_place(f, p, limit->ends[i]);
  f->where = g_strdup_printf("%s (%s)", p->designation, limit->label);
  f->message =
      g_strdup_printf(_("With everything stalled, %s would carry %.3g A; the limit is %.3g A."),
                      f->where, draw, limit->limit_A);
}

static double
drawn_together(const LoomScenery *s, guint part, const LoomLimit *limit)
{
  double sum = 0;
  for (guint i = 0; i < limit->n_ends; i++) {
    const LoomBound *b = drawn_at(s, part, limit->ends[i]);
    double own = loom_wiring_part(s->wiring, part)->kind->ends[limit->ends[i]].limit_A;
    sum += !b ? 0 : isnan(own) ? b->draw_A : fmin(own, b->draw_A);
  }
  return sum;
}

static void
group_load_in(LoomScenery *s)
{
  for (guint p = 0; p < s->wiring->n_parts; p++) {
    const LoomKind *kind = loom_wiring_part(s->wiring, p)->kind;
    for (guint g = 0; g < kind->n_limits; g++) {
      double draw = drawn_together(s, p, &kind->limits[g]);
      if (draw > TOLERANCE * kind->limits[g].limit_A)
        report_group(s, p, &kind->limits[g], draw);
    }
  }
}

void
loom_rule_group_load(LoomDesk *desk)
{
  loom_desk_each_sound_scene(desk, group_load_in);
}

/* ---- volts ---- */

static double
volts_at(const LoomScenery *s, guint node)
{
  return s->plus_V[loom_supply_circuits(s->closed)->circuit[node]];
}

static void
report_volts(LoomScenery *s, guint part, guint end, double volts, double rated)
{
  LoomFinding *f =
      loom_scenery_find(s, LOOM_CARE, "rated-voltage",
                        _("Above its rated voltage a switch or fuse may not put out its arc, "
                          "and a connector may track."),
                        _("Use one that is made for this voltage."));
  loom_finding_place(f, loom_wiring_part(s->wiring, part), end);
  loom_finding_where(f, 1);
  f->message =
      g_strdup_printf(_("%s is made for %.3g V, and %.3g V are on it."), f->where, rated, volts);
}

static void
rated_voltage_in(LoomScenery *s)
{
  for (guint p = 0; p < s->wiring->n_parts; p++) {
    const LoomKind *kind = loom_wiring_part(s->wiring, p)->kind;
    guint first = s->wiring->part_node[p];
    for (guint i = 0; i < kind->n_elements; i++) {
      const LoomElement *e = &kind->elements[i];
      bool cuts = e->type == LOOM_ELEMENT_SWITCH || e->type == LOOM_ELEMENT_FUSE;
      double volts = cuts && !isnan(e->rated_V) ? volts_at(s, first + e->a) : 0;
      if (volts > 1.001 * e->rated_V)
        report_volts(s, p, LOOM_NONE, volts, e->rated_V);
    }
    for (guint e = 0; e < kind->n_ends; e++) {
      double volts = 0;
      for (guint c = 0; c < kind->ends[e].n_contacts; c++)
        volts = fmax(volts, volts_at(s, first + kind->ends[e].first_node + c));
      if (loom_wiring_n_joints_at(s->wiring, p, e) && volts > 1.001 * kind->ends[e].family->rated_V)
        report_volts(s, p, e, volts, kind->ends[e].family->rated_V);
    }
  }
}

void
loom_rule_rated_voltage(LoomDesk *desk)
{
  loom_desk_each_scene(desk, rated_voltage_in);
}
