#include "rules-private.h"

#include <glib/gi18n-lib.h>
#include <math.h>

void
loom_rule_short_lead(LoomDesk *desk)
{
  for (guint p = 0; p < desk->n_parts; p++) {
    const LoomPart *part = loom_design_part(desk->design, p);
    double length = loom_part_length_mm(part);
    if (isnan(part->reach_mm) || isnan(length) || length >= part->reach_mm)
      continue;
    LoomFinding *f =
        loom_desk_find(desk, LOOM_CARE, "short-lead",
                       _("A lead under tension pulls its plugs out and breaks at its ends."),
                       _("Use a longer lead, or add an extension."));
    loom_finding_place(f, part, LOOM_NONE);
    loom_finding_where(f, 1);
    f->message = g_strdup_printf(_("%s is %.0f mm long and has to reach %.0f mm."),
                                 part->designation, length, part->reach_mm);
  }
}

/* The end of a motor that is plugged in no scene, though its part is (the encoder, say). */
static guint
idle_motor_end(const LoomDesk *desk, guint p)
{
  const LoomKind *kind = loom_design_part(desk->design, p)->kind;
  const LoomScenery *s = desk->scenes[0];
  for (guint i = 0; i < kind->n_elements; i++) {
    guint at =
        kind->elements[i].type != LOOM_ELEMENT_MOTOR
            ? LOOM_NONE
            : loom_scenery_shown(s, s->wiring->part_node[p] + kind->elements[i].a, LOOM_ROLE_POLE);
    if (at != LOOM_NONE && !loom_design_joints_at(desk->design, p, s->node_end[at], NULL, 0))
      return s->node_end[at];
  }
  return LOOM_NONE;
}

void
loom_rule_unplugged(LoomDesk *desk)
{
  LoomFinding *f = NULL;
  if (!loom_design_n_joints(desk->design))
    return;
  for (guint p = 0; p < desk->n_parts; p++) {
    const LoomPart *part = loom_design_part(desk->design, p);
    guint idle = desk->plugged[p] ? idle_motor_end(desk, p) : LOOM_NONE;
    if (!part->kind->n_ends || (desk->plugged[p] && idle == LOOM_NONE))
      continue;
    if (!f)
      f = loom_desk_find(desk, LOOM_NOTE, "unplugged", _("What is not plugged does nothing."),
                         _("Plug it, or take it off the sheet."));
    loom_finding_add_place(f, part, idle);
  }
  if (!f)
    return;
  loom_finding_where(f, f->n_places);
  f->message = g_strdup_printf(_("Not plugged anywhere: %s."), f->where);
}

/* Leads, fuse leads, switches: current goes in at one end and out at another. */
static bool
passes_on(const LoomKind *kind)
{
  for (guint i = 0; i < kind->n_elements; i++)
    if (kind->elements[i].type >= LOOM_ELEMENT_SOURCE)
      return false;
  return kind->lead || (!kind->n_devices && kind->n_ends > 1 && kind->n_ends <= 3);
}

/* An end that is plugged in no scene; LOOM_NONE where all are in use. */
static guint
unused_end(const LoomDesk *desk, guint p)
{
  const LoomKind *kind = loom_design_part(desk->design, p)->kind;
  for (guint e = 0; e < kind->n_ends; e++)
    if (!loom_design_joints_at(desk->design, p, e, NULL, 0))
      return e;
  return LOOM_NONE;
}

void
loom_rule_open_lead(LoomDesk *desk)
{
  LoomFinding *f = NULL;
  for (guint p = 0; p < desk->n_parts; p++) {
    const LoomPart *part = loom_design_part(desk->design, p);
    guint end = passes_on(part->kind) && desk->plugged[p] ? unused_end(desk, p) : LOOM_NONE;
    if (end == LOOM_NONE)
      continue;
    if (!f)
      f = loom_desk_find(desk, LOOM_NOTE, "open-lead",
                         _("An end that hangs free catches on things."),
                         _("Plug it, cap it, or take the lead out."));
    loom_finding_add_place(f, part, end);
  }
  if (!f)
    return;
  loom_finding_where(f, f->n_places);
  f->message = g_strdup_printf(_("Plugged at one end only: %s."), f->where);
}

void
loom_rule_nothing_plugged(LoomDesk *desk)
{
  if (!desk->n_parts || loom_design_n_joints(desk->design))
    return;
  LoomFinding *f = loom_desk_find(desk, LOOM_NOTE, "nothing-plugged",
                                  _("Without joints there is nothing to check."),
                                  _("Drag from an end of one part to an end of another."));
  loom_finding_place(f, loom_design_part(desk->design, 0), LOOM_NONE);
  f->where = g_strdup("");
  f->message = g_strdup_printf(ngettext("%u part, and nothing is plugged yet.",
                                        "%u parts, and nothing is plugged yet.", desk->n_parts),
                               desk->n_parts);
}

static bool
has_source(const LoomPart *part)
{
  for (guint i = 0; i < part->kind->n_elements; i++)
    if (part->kind->elements[i].type == LOOM_ELEMENT_SOURCE && !part->kind->chemistry.charger)
      return true;
  return false;
}

void
loom_rule_no_source(LoomDesk *desk)
{
  if (!loom_design_n_joints(desk->design))
    return;
  for (guint p = 0; p < desk->n_parts; p++)
    if (has_source(loom_design_part(desk->design, p)))
      return;
  LoomFinding *f = loom_desk_find(
      desk, LOOM_NOTE, "no-source",
      _("Voltages and currents can only be checked with a pack on the sheet."), _("Add the pack."));
  loom_finding_place(f, loom_design_part(desk->design, 0), LOOM_NONE);
  f->where = g_strdup("");
  f->message = g_strdup(_("There is no pack and no other supply."));
}

void
loom_rule_no_network(LoomDesk *desk)
{
  for (guint i = 0; i < loom_design_n_joints(desk->design); i++) {
    const LoomJoint *j = loom_design_joint(desk->design, i);
    guint a = loom_design_find_part(desk->design, j->a.part),
          b = loom_design_find_part(desk->design, j->b.part);
    if (a == LOOM_NONE || b == LOOM_NONE || (j->network && *j->network))
      continue;
    const LoomPart *pa = loom_design_part(desk->design, a), *pb = loom_design_part(desk->design, b);
    guint ea = loom_kind_find_end(pa->kind, j->a.end), eb = loom_kind_find_end(pb->kind, j->b.end);
    if (ea == LOOM_NONE || eb == LOOM_NONE || pa->kind->ends[ea].family->ways > 0)
      continue;
    LoomFinding *f =
        loom_desk_find(desk, LOOM_NOTE, "no-network",
                       _("On the build day somebody has to know which network belongs to this "
                         "robot."),
                       _("Write the network's name into the link; never its password."));
    loom_finding_place(f, pa, ea);
    loom_finding_place(f, pb, eb);
    loom_finding_where(f, 2);
    f->message = g_strdup_printf(_("The radio link between %s has no network name."), f->where);
  }
}
