#include "rules-private.h"

#include <glib/gi18n-lib.h>

static const LoomEnd *
end_a(const LoomScenery *s, const LoomWiredJoint *j)
{
  return &loom_wiring_part(s->wiring, j->part_a)->kind->ends[j->end_a];
}

static const LoomEnd *
end_b(const LoomScenery *s, const LoomWiredJoint *j)
{
  return &loom_wiring_part(s->wiring, j->part_b)->kind->ends[j->end_b];
}

static void
place_joint(const LoomScenery *s, LoomFinding *f, const LoomWiredJoint *j)
{
  loom_finding_place(f, loom_wiring_part(s->wiring, j->part_a), j->end_a);
  loom_finding_place(f, loom_wiring_part(s->wiring, j->part_b), j->end_b);
}

/* The one joint at the other end of a two-ended lead; NULL where there is no such. */
static const LoomWiredJoint *
joint_beyond(const LoomScenery *s, guint part, guint end)
{
  const LoomKind *kind = loom_wiring_part(s->wiring, part)->kind;
  if (!kind->lead || kind->n_ends != 2 || loom_wiring_n_joints_at(s->wiring, part, 1 - end) != 1)
    return NULL;
  guint number = loom_wiring_end(s->wiring, part, 1 - end);
  return &s->wiring->joints[s->wiring->end_joints[s->wiring->end_first[number]]];
}

/* Whether the lead at one side of the joint, turned end for end, would mate on both sides. */
static bool
turning_helps(const LoomScenery *s, const LoomWiredJoint *j, guint part, guint end)
{
  const LoomWiredJoint *beyond = joint_beyond(s, part, end);
  if (!beyond)
    return false;
  bool here_a = j->part_a == part, there_a = beyond->part_a == part;
  const LoomEnd *here = here_a ? end_b(s, j) : end_a(s, j);
  const LoomEnd *there = there_a ? end_b(s, beyond) : end_a(s, beyond);
  const LoomKind *kind = loom_wiring_part(s->wiring, part)->kind;
  return loom_mate(here, &kind->ends[1 - end]) == LOOM_MATE_YES &&
         loom_mate(there, &kind->ends[end]) == LOOM_MATE_YES;
}

/* The lead that only has to be turned end for end; LOOM_NONE where that does not help. */
static guint
lead_to_turn(const LoomScenery *s, const LoomWiredJoint *j)
{
  const guint parts[2] = {j->part_a, j->part_b}, ends[2] = {j->end_a, j->end_b};
  for (guint k = 0; k < 2; k++)
    if (turning_helps(s, j, parts[k], ends[k]))
      return parts[k];
  return LOOM_NONE;
}

/* Said once for both ends of the lead: the findings of its two joints have the same place. */
static void
report_turned_lead(LoomScenery *s, const LoomWiredJoint *j, guint lead)
{
  LoomFinding *f = loom_scenery_find(
      s, LOOM_STOP, "gender",
      _("Two ends of the same gender cannot be plugged. Whoever forces them breaks them."),
      _("Turn it end for end: then both of its ends fit."));
  const LoomPart *part = loom_wiring_part(s->wiring, lead);
  loom_finding_place(f, part, LOOM_NONE);
  loom_finding_where(f, 1);
  place_joint(s, f, j);
  place_joint(s, f, joint_beyond(s, lead, lead == j->part_a ? j->end_a : j->end_b));
  f->message = g_strdup_printf(
      _("The lead %s is the wrong way round: at both ends it meets its own gender."),
      part->designation);
  loom_finding_mend_with(f, "turn %s", part->designation);
}

static void
report_joint(LoomScenery *s, const LoomWiredJoint *j, LoomSeverity severity, const char *rule,
             const char *why, const char *remedy)
{
  LoomFinding *f = loom_scenery_find(s, severity, rule, why, remedy);
  place_joint(s, f, j);
  g_autofree char *a = loom_wiring_end_name(s->wiring, j->part_a, j->end_a);
  g_autofree char *b = loom_wiring_end_name(s->wiring, j->part_b, j->end_b);
  g_autofree char *reason = loom_mate_why(j->mate, end_a(s, j), end_b(s, j));
  f->message = g_strdup_printf(_("%s and %s do not mate. %s"), a, b, reason);
}

static void
gender_in(LoomScenery *s)
{
  for (guint i = 0; i < s->wiring->n_joints; i++) {
    const LoomWiredJoint *j = &s->wiring->joints[i];
    if (j->mate != LOOM_MATE_BOTH_PINS && j->mate != LOOM_MATE_BOTH_SOCKETS)
      continue;
    guint lead = lead_to_turn(s, j);
    if (lead != LOOM_NONE)
      report_turned_lead(s, j, lead);
    else
      report_joint(
          s, j, LOOM_STOP, "gender",
          _("Two ends of the same gender cannot be plugged. Whoever forces them, or makes a "
            "lead that fits, leaves live pins bare."),
          _("Put a lead or an adaptor with the other gender between them; keep the sockets "
            "on the side of the pack."));
  }
}

void
loom_rule_gender(LoomDesk *desk)
{
  loom_desk_each_scene(desk, gender_in);
}

static void
family_in(LoomScenery *s)
{
  for (guint i = 0; i < s->wiring->n_joints; i++) {
    const LoomWiredJoint *j = &s->wiring->joints[i];
    if (j->mate == LOOM_MATE_FAMILY || j->mate == LOOM_MATE_TERMINALS ||
        j->mate == LOOM_MATE_SAME_END)
      report_joint(
          s, j, LOOM_STOP, "family",
          _("Connectors of different families do not fit, or fit badly and come apart."),
          _("Put an adaptor lead between them, or choose a part with the same connector."));
  }
}

void
loom_rule_family(LoomDesk *desk)
{
  loom_desk_each_scene(desk, family_in);
}

static void
wire_range_in(LoomScenery *s)
{
  for (guint i = 0; i < s->wiring->n_joints; i++) {
    const LoomWiredJoint *j = &s->wiring->joints[i];
    if (j->mate == LOOM_MATE_WIRE_THIN || j->mate == LOOM_MATE_WIRE_THICK)
      report_joint(
          s, j, LOOM_CARE, "wire-range",
          _("A wire that is too thin slips out of the terminal; one that is too thick does "
            "not go in whole, and strands are left outside."),
          _("Choose a wire within the range of the terminal, or another terminal."));
  }
}

void
loom_rule_wire_range(LoomDesk *desk)
{
  loom_desk_each_scene(desk, wire_range_in);
}

/* The joints at the end, as places behind its own. */
static void
place_partners(const LoomScenery *s, LoomFinding *f, guint part, guint end)
{
  guint number = loom_wiring_end(s->wiring, part, end);
  loom_finding_place(f, loom_wiring_part(s->wiring, part), end);
  for (guint i = s->wiring->end_first[number]; i < s->wiring->end_first[number + 1]; i++)
    place_joint(s, f, &s->wiring->joints[s->wiring->end_joints[i]]);
  loom_finding_where(f, 1);
}

static void
places_in(LoomScenery *s)
{
  for (guint p = 0; p < s->wiring->n_parts; p++) {
    const LoomPart *part = loom_wiring_part(s->wiring, p);
    for (guint e = 0; e < part->kind->n_ends; e++) {
      const LoomEnd *end = &part->kind->ends[e];
      guint n = loom_wiring_n_joints_at(s->wiring, p, e), room = MAX(end->family->places, 1);
      if (n <= room)
        continue;
      bool terminal = end->gender == LOOM_GENDER_TERMINAL;
      LoomFinding *f = loom_scenery_find(
          s, terminal ? LOOM_CARE : LOOM_STOP, "places",
          _("What is squeezed into a place that is taken sits loosely, gets warm and falls out."),
          _("Take one of them to another place, or put a Y-lead or a distribution block between."));
      place_partners(s, f, p, e);
      f->message = g_strdup_printf(ngettext("%s takes %u joint, and %u are drawn there.",
                                            "%s takes %u joints, and %u are drawn there.", room),
                                   f->where, room, n);
    }
  }
}

void
loom_rule_places(LoomDesk *desk)
{
  loom_desk_each_scene(desk, places_in);
}

static bool
has_polarity(const LoomScenery *s, guint node)
{
  guint circuit = s->wired->circuit[node];
  for (guint i = s->wired->first[circuit]; i < s->wired->first[circuit + 1]; i++) {
    const LoomContact *c = loom_scenery_contact(s, s->wired->nodes[i]);
    if (c &&
        (c->role == LOOM_ROLE_PLUS || c->role == LOOM_ROLE_MINUS || c->role == LOOM_ROLE_SIGNAL))
      return true;
  }
  return false;
}

/* Motors and other things without polarity only turn the other way. */
static bool
only_poles(const LoomScenery *s, guint wired)
{
  for (guint i = 0; i < s->wiring->n_touches; i++) {
    const LoomTouch *t = &s->wiring->touches[i];
    if (t->wired == wired && (has_polarity(s, t->a) || has_polarity(s, t->b)))
      return false;
  }
  return true;
}

static bool
only_passes(const LoomPart *part)
{
  if (part->kind->n_elements != 1)
    return false;
  LoomElementType type = part->kind->elements[0].type;
  return type == LOOM_ELEMENT_FUSE || type == LOOM_ELEMENT_SWITCH || type == LOOM_ELEMENT_THROUGH;
}

/* A blade fuse, or anything else that only joins two ways: either way round is right. */
static bool
symmetrical(const LoomScenery *s, const LoomWiredJoint *j)
{
  return (end_a(s, j)->n_contacts == 2 && only_passes(loom_wiring_part(s->wiring, j->part_a))) ||
         (end_b(s, j)->n_contacts == 2 && only_passes(loom_wiring_part(s->wiring, j->part_b)));
}

static void
fit_of(LoomScenery *s, guint wired)
{
  const LoomWiredJoint *j = &s->wiring->joints[wired];
  LoomFit fit = loom_design_joint(s->wiring->design, j->joint)->fit;
  if (fit == LOOM_FIT_NORMAL || j->mate != LOOM_MATE_YES ||
      (fit == LOOM_FIT_TURNED && symmetrical(s, j)))
    return;
  bool mild = fit == LOOM_FIT_TURNED && only_poles(s, wired);
  const LoomJoint *joint = loom_design_joint(s->wiring->design, j->joint);
  if (loom_report_speaks_of(s->desk->report, joint, mild ? LOOM_NOTE : LOOM_CARE, "fit"))
    return;
  LoomFinding *f = loom_scenery_find(
      s, mild || !j->possible ? LOOM_NOTE : LOOM_CARE, "fit",
      _("Nothing on this plug stops it from sitting so, and then its contacts meet the wrong "
        "ones."),
      _("Take the plug out and put it back the right way; mark which side is up."));
  place_joint(s, f, j);
  g_autofree char *a = loom_wiring_end_name(s->wiring, j->part_a, j->end_a);
  g_autofree char *b = loom_wiring_end_name(s->wiring, j->part_b, j->end_b);
  if (!j->possible)
    f->message = g_strdup_printf(
        fit == LOOM_FIT_TURNED
            ? _("%s is drawn turned round in %s, but these connectors cannot sit so.")
            : _("%s is drawn one contact off in %s, but these connectors cannot sit so."),
        a, b);
  else if (fit == LOOM_FIT_TURNED)
    f->message = g_strdup_printf(_("%s sits turned round in %s."), a, b);
  else
    f->message = g_strdup_printf(_("%s sits one contact off in %s."), a, b);
  loom_finding_mend_with(f, "set %s fit=normal", a);
}

static void
fit_in(LoomScenery *s)
{
  for (guint i = 0; i < s->wiring->n_joints; i++)
    fit_of(s, i);
}

void
loom_rule_fit(LoomDesk *desk)
{
  loom_desk_each_scene(desk, fit_in);
}
