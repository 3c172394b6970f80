#include "faults-private.h"

#include <glib/gi18n-lib.h>
#include <math.h>

static const LoomPart *
part_at(const LoomFaultRoom *room, guint part)
{
  return loom_wiring_part(room->w, part);
}

char *
loom_fault_part_words(const LoomFaultRoom *room, guint part)
{
  const LoomPart *p = part_at(room, part);
  return p->label ? g_strdup_printf("%s (%s)", p->designation, p->label) : g_strdup(p->designation);
}

static char *
end_words(const LoomFaultRoom *room, guint part, guint end, bool labels)
{
  const char *label = labels ? part_at(room, part)->label : NULL;
  g_autofree char *name = loom_wiring_end_name(room->w, part, end);
  return label ? g_strdup_printf("%s (%s)", name, label) : g_steal_pointer(&name);
}

char *
loom_fault_joint_words(const LoomFaultRoom *room, guint joint, bool labels)
{
  const LoomWiredJoint *j = &room->w->joints[room->meter.wired[joint]];
  g_autofree char *a = end_words(room, j->part_a, j->end_a, labels);
  g_autofree char *b = end_words(room, j->part_b, j->end_b, labels);
  return g_strdup_printf(_("%s and %s"), a, b);
}

static const char *
contact_name(const LoomFaultRoom *room, const LoomFault *fault, guint contact)
{
  return part_at(room, fault->part)->kind->ends[fault->end].contacts[contact].name;
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
  const LoomEnd *at = end == LOOM_NONE ? NULL : &kind->ends[end];
  const char *name = at ? at->contacts[node - at->first_node].name : _("inner");
  if (!colour)
    return g_strdup(name);
  return g_strdup_printf("%s (%s)", name, colour->name);
}

static char *
port_sentence(const LoomFaultRoom *room, const LoomFault *fault)
{
  g_autofree char *port = loom_wiring_end_name(room->w, fault->part, fault->end);
  g_autofree char *other = loom_wiring_end_name(room->w, fault->part, fault->a);
  bool both = loom_wiring_n_joints_at(room->w, fault->part, fault->a) > 0;
  return both ? g_strdup_printf(_("The plugs at %s and %s have changed places."), port, other)
              : g_strdup_printf(_("The plug that belongs in %s is in %s."), port, other);
}

static guint
channels_at(const LoomKind *kind, guint end)
{
  guint n = 0;
  for (guint c = 0; c < kind->n_channels; c++)
    n += kind->channels[c].end == end;
  return n;
}

static bool
has_another(const LoomFaultRoom *room, const LoomFault *fault)
{
  const LoomAnswerer at = {.controller = fault->part, .channel = fault->a};
  return loom_fault_other_port(room, &at) != LOOM_NONE;
}

static char *
dead_port_sentence(const LoomFaultRoom *room, const LoomFault *fault)
{
  const LoomPart *part = part_at(room, fault->part);
  g_autofree char *dead = NULL, *then = NULL;
  if (fault->b != LOOM_NONE)
    dead = g_strdup_printf(_("The port %s is dead: its driver is burnt out, the rest of %s lives."),
                           fault->where, part->designation);
  else if (channels_at(part->kind, fault->end) > 1)
    dead = g_strdup_printf(_("Channel %u of the port %s is dead, the rest of %s lives."),
                           part->kind->channels[fault->a].number, fault->where, part->designation);
  else
    dead = g_strdup_printf(_("The port %s is dead, the rest of %s lives."), fault->where,
                           part->designation);
  if (has_another(room, fault))
    then = g_strdup(_("Use another port like it, and name that one in the program."));
  else
    then = g_strdup_printf(_("%s has no other port like it."), part->designation);
  return g_strdup_printf("%s %s", dead, then);
}

static char *
joint_sentence(const LoomFaultRoom *room, const LoomFault *fault)
{
  const char *s = fault->where;
  switch (fault->type) {
  case LOOM_FAULT_OUT:
    return g_strdup_printf(_("%s are not pushed fully together."), s);
  case LOOM_FAULT_CONTACT:
    return g_strdup_printf(_("Between %s the contact %s does not touch."), s, fault->which);
  case LOOM_FAULT_LOOSE:
    return g_strdup_printf(_("%s touch badly: worn, dirty or bent."), s);
  case LOOM_FAULT_TURNED:
    return g_strdup_printf(_("%s are plugged the wrong way round."), s);
  case LOOM_FAULT_SHIFTED:
    return g_strdup_printf(_("%s are plugged one pin to the side."), s);
  default:
    return port_sentence(room, fault);
  }
}

static char *
lead_sentence(const LoomFaultRoom *room, const LoomFault *fault)
{
  if (fault->type == LOOM_FAULT_WIRE)
    return g_strdup_printf(_("Inside %s the wire %s is broken."), fault->where, fault->which);
  return g_strdup_printf(
      fault->type == LOOM_FAULT_SHORT ? _("Inside %s the wires %s and %s touch each other.")
                                      : _("%s was made with %s and %s swapped."),
      fault->where, contact_name(room, fault, fault->a), contact_name(room, fault, fault->b));
}

/* Sentences that need no more than the part's name. */
static const char *
part_format(LoomFaultType type)
{
  switch (type) {
  case LOOM_FAULT_BLOWN:
    return _("The fuse in %s is blown.");
  case LOOM_FAULT_OFF:
    return _("%s is off.");
  case LOOM_FAULT_SWITCH:
    return _("%s is switched on, but it is broken inside and lets nothing through.");
  case LOOM_FAULT_FLAT:
    return _("%s is nearly empty: it wants charging.");
  case LOOM_FAULT_PACK:
    return _("%s gives nothing: it is completely flat, or broken inside.");
  case LOOM_FAULT_BACKWARDS:
    return _("%s runs backwards: the two wires in its own plug are swapped, or the program has its "
             "direction the wrong way round.");
  default:
    return _("%s itself is broken.");
  }
}

static char *
part_sentence(const LoomFaultRoom *room, const LoomFault *fault)
{
  switch (fault->type) {
  case LOOM_FAULT_WIRE:
  case LOOM_FAULT_SHORT:
  case LOOM_FAULT_REVERSED:
    return lead_sentence(room, fault);
  case LOOM_FAULT_DEAD_PORT:
    return dead_port_sentence(room, fault);
  case LOOM_FAULT_ADDRESS: {
    g_autofree char *other = loom_fault_part_words(room, fault->a);
    return g_strdup_printf(
        _("%s and %s are set to the same address, so that the controller hears neither."),
        fault->where, other);
  }
  default: {
    g_autoptr(GString) text = g_string_new(part_format(fault->type));
    g_string_replace(text, "%s", fault->where, 1);
    return g_string_free(g_steal_pointer(&text), FALSE);
  }
  }
}

void
loom_fault_words(const LoomFaultRoom *room, LoomFault *fault)
{
  bool joint = fault->joint != LOOM_NONE, port = fault->type == LOOM_FAULT_DEAD_PORT;
  fault->suspect = joint  ? loom_fault_joint_words(room, fault->joint, false)
                   : port ? end_words(room, fault->part, fault->end, false)
                          : g_strdup(part_at(room, fault->part)->designation);
  fault->where = joint  ? loom_fault_joint_words(room, fault->joint, true)
                 : port ? end_words(room, fault->part, fault->end, true)
                        : loom_fault_part_words(room, fault->part);
  if (fault->type == LOOM_FAULT_CONTACT)
    fault->which = g_strdup(contact_name(room, fault, fault->a));
  if (fault->type == LOOM_FAULT_WIRE)
    fault->which = wire_words(room, fault);
  fault->sentence = joint ? joint_sentence(room, fault) : part_sentence(room, fault);
}

/* ---- several that nothing tells apart ---- */

static bool
of_one_place(const LoomFault *a, const LoomFault *b)
{
  return a->type == b->type && a->which && a->joint == b->joint &&
         (a->joint != LOOM_NONE || a->part == b->part);
}

/* All contacts or wires among the suspects that are in one place with the first of them. */
static char *
shared_sentence(const LoomFaultModel *m, const LoomSuspects *s, const LoomFault *first)
{
  g_autoptr(GString) which = g_string_new(NULL);
  guint n = 0;
  for (guint i = 0; i < s->n_faults; i++) {
    const LoomFault *f = &m->faults[s->faults[i]];
    if (of_one_place(first, f))
      g_string_append_printf(which, "%s%s", n++ ? ", " : "", f->which);
  }
  if (n <= 1)
    return g_strdup(first->sentence);
  return g_strdup_printf(first->type == LOOM_FAULT_WIRE
                             ? _("Inside %s one of the wires is broken: %s.")
                             : _("Between %s one of the contacts does not touch: %s."),
                         first->where, which->str);
}

char **
loom_suspects_sentences(const LoomFaultModel *m, const LoomSuspects *s)
{
  GPtrArray *sentences = g_ptr_array_new();
  for (guint i = 0; i < s->n_faults; i++) {
    const LoomFault *f = &m->faults[s->faults[i]];
    bool said = false;
    for (guint k = 0; k < i && !said; k++)
      said = of_one_place(&m->faults[s->faults[k]], f);
    if (!said)
      g_ptr_array_add(sentences, shared_sentence(m, s, f));
  }
  g_ptr_array_add(sentences, NULL);
  return (char **)g_ptr_array_free(sentences, FALSE);
}

const char *
loom_likelihood_words(double likelihood)
{
  return likelihood >= 0.9    ? _("almost certain")
         : likelihood >= 0.5  ? _("likely")
         : likelihood >= 0.2  ? _("quite possible")
         : likelihood >= 0.05 ? _("possible")
                              : _("unlikely");
}

char *
loom_likelihood_percent(double likelihood)
{
  return likelihood < 0.005 ? g_strdup("< 1 %") : g_strdup_printf("%.0f %%", 100 * likelihood);
}
