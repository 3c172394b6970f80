#include "stages-private.h"

#include <glib/gi18n-lib.h>
#include <math.h>

static const LoomEnd *
end_at(const LoomWiring *w, guint part, guint end)
{
  return &loom_wiring_part(w, part)->kind->ends[end];
}

/* "M1 (Drive left)". New. */
static char *
part_words(const LoomWiring *w, guint part)
{
  const LoomPart *p = loom_wiring_part(w, part);
  return p->label ? g_strdup_printf("%s (%s)", p->designation, p->label) : g_strdup(p->designation);
}

/* "W1:a, pins (male)," or "K1:motor-1 (motor 1), sockets (female)". New. */
static char *
end_words(const LoomWiring *w, guint part, guint end)
{
  const LoomEnd *e = end_at(w, part, end);
  g_autofree char *name = loom_wiring_end_name(w, part, end);
  const LoomPart *p = loom_wiring_part(w, part);
  g_autoptr(GString) text = g_string_new(name);
  if (e->label && !g_str_equal(e->label, e->id))
    g_string_append_printf(text, " (%s)", e->label);
  if (p->label)
    g_string_append_printf(text, _(" of “%s”"), p->label);
  if (e->gender == LOOM_GENDER_TERMINAL)
    g_string_append_printf(text, ", %s", e->family->name);
  else
    g_string_append_printf(text, ", %s", _(loom_gender_label(e->gender)));
  return g_string_free(g_steal_pointer(&text), FALSE);
}

static const char *
colour_word(const char *code)
{
  const LoomColour *colour = code ? loom_colour(code) : NULL;
  return colour ? _(colour->name) : code;
}

/* Which contact meets which, for ends that could go in wrong: "- (black) on -, + (red) on +". New.
 */
static char *
contacts_words(const LoomEnd *from, const LoomEnd *to, LoomFit fit)
{
  g_autoptr(GString) text = g_string_new(NULL);
  for (guint c = 0; c < from->n_contacts; c++) {
    guint met = loom_fit_meets(from, c, to, fit);
    if (met == LOOM_NONE)
      continue;
    const LoomContact *contact = &from->contacts[c];
    g_string_append_printf(text, "%s%s", text->len ? ", " : "", contact->name);
    if (contact->colour)
      g_string_append_printf(text, " (%s)", colour_word(contact->colour));
    g_string_append_printf(text, _(" on %s"), to->contacts[met].name);
  }
  return g_string_free(g_steal_pointer(&text), FALSE);
}

/* How the end goes in. */
static const char *
verb(const LoomEnd *from, const LoomEnd *to)
{
  if (from->gender == LOOM_GENDER_TERMINAL || to->gender == LOOM_GENDER_TERMINAL)
    return to->family->shape == LOOM_SHAPE_RING ? C_("step", "Put on") : C_("step", "Put in");
  return C_("step", "Plug");
}

static const char *
preposition(const LoomEnd *from, const LoomEnd *to)
{
  if (from->gender == LOOM_GENDER_TERMINAL || to->gender == LOOM_GENDER_TERMINAL)
    return to->family->shape == LOOM_SHAPE_RING ? C_("step", "onto") : C_("step", "into");
  if (from->gender == LOOM_GENDER_SOCKETS)
    return C_("step", "onto");
  return from->gender == LOOM_GENDER_GENDERLESS ? C_("step", "to") : C_("step", "into");
}

static const char *
way_round(const LoomEnd *from, const LoomEnd *to)
{
  bool terminal = from->gender == LOOM_GENDER_TERMINAL || to->gender == LOOM_GENDER_TERMINAL;
  return from->family->keyed && !from->family->turnable && !terminal ? _("It goes in one way only.")
                                                                     : NULL;
}

static char *
plug_sentence(const LoomWiring *w, const LoomStep *step)
{
  const LoomJoint *joint = loom_design_joint(w->design, step->joint);
  const LoomEnd *from = end_at(w, step->part, step->end),
                *to = end_at(w, step->to_part, step->to_end);
  g_autofree char *a = end_words(w, step->part, step->end);
  g_autofree char *b = end_words(w, step->to_part, step->to_end);
  g_autofree char *contacts = contacts_words(from, to, LOOM_FIT_NORMAL);
  g_autoptr(GString) text = g_string_new(NULL);
  g_string_printf(text, _("%s %s, %s %s."), verb(from, to), a, preposition(from, to), b);
  const char *one_way = way_round(from, to);
  if (one_way)
    g_string_append_printf(text, " %s", one_way);
  else if (*contacts)
    g_string_append_printf(text, _(" Mind the way round: %s."), contacts);
  if (joint->fit != LOOM_FIT_NORMAL)
    g_string_append_printf(text, _(" In the drawing it is %s: settle that first."),
                           _(loom_fit_word(joint->fit)));
  return g_string_free(g_steal_pointer(&text), FALSE);
}

/* How one feels, hears or sees that the joint is home. */
static const char *
home_of(const LoomEnd *from, const LoomEnd *to)
{
  if (from->gender == LOOM_GENDER_TERMINAL || to->gender == LOOM_GENDER_TERMINAL)
    return to->family->shape == LOOM_SHAPE_RING
               ? _("Tighten the nut: the ring does not turn by hand.")
               : _("Tighten it and pull gently: it holds, and no bare strand stands out.");
  if (from->family->shape == LOOM_SHAPE_CIRCULAR)
    return _("Screw the ring up by hand until it stops.");
  if (from->family->latches)
    return _("It clicks; pull gently: it holds.");
  if (from->family->shape == LOOM_SHAPE_POST)
    return _("It sits flat, and no pin stands free beside it.");
  return _("The shells touch, and no metal shows.");
}

static char *
plug_home(const LoomWiring *w, const LoomStep *step)
{
  const LoomJoint *joint = loom_design_joint(w->design, step->joint);
  const char *home =
      home_of(end_at(w, step->part, step->end), end_at(w, step->to_part, step->to_end));
  return joint->tied ? g_strdup_printf(_("%s Then tie it."), home) : g_strdup(home);
}

static char *
probe_words(const LoomWiring *w, guint part, guint end, guint contact)
{
  return loom_wiring_node_name(w, loom_wiring_node(w, part, end, contact));
}

static char *
measure_sentence(const LoomWiring *w, const LoomStep *step)
{
  g_autofree char *red = probe_words(w, step->part, step->end, step->plus);
  g_autofree char *black = probe_words(w, step->black_part, step->black_end, step->minus);
  g_autoptr(GString) text = g_string_new(NULL);
  g_string_printf(text,
                  _("Meter on volts DC, red probe on %s, black probe on %s: it reads about %.3g V"),
                  red, black, step->nominal_V);
  if (step->high_V - step->low_V > 0.01 * step->nominal_V)
    g_string_append_printf(text, _(" (%.3g V with an empty pack, %.3g V with a full one)"),
                           step->low_V, step->high_V);
  g_string_append_c(text, '.');
  return g_string_free(g_steal_pointer(&text), FALSE);
}

void
loom_step_words(const LoomWiring *w, LoomStep *step)
{
  g_autofree char *part = part_words(w, step->part);
  if (step->end != LOOM_NONE)
    step->from = loom_wiring_end_name(w, step->part, step->end);
  else
    step->from = g_strdup(loom_wiring_part(w, step->part)->designation);
  if (step->to_part != LOOM_NONE)
    step->to = loom_wiring_end_name(w, step->to_part, step->to_end);
  switch (step->act) {
  case LOOM_STEP_PLUG:
    step->sentence = plug_sentence(w, step);
    step->home = plug_home(w, step);
    break;
  case LOOM_STEP_UNPLUG:
    step->sentence = g_strdup_printf(_("Unplug %s from %s again."), step->from, step->to);
    break;
  case LOOM_STEP_SWITCH_OFF:
    step->sentence = g_strdup_printf(_("Switch %s off."), part);
    break;
  case LOOM_STEP_SWITCH_ON:
    step->sentence = g_strdup_printf(_("Switch %s on."), part);
    break;
  case LOOM_STEP_MEASURE:
    step->sentence = measure_sentence(w, step);
    step->home =
        g_strdup(_("A minus sign before the number: plus and minus are swapped, stop and find "
                   "out where. Nothing: a joint or the fuse, or the switch is off."));
    break;
  }
}
