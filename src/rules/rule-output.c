#include "rules-private.h"

#include <glib/gi18n-lib.h>
#include <math.h>
#include <string.h>

/* Output and pole at the node's circuit, 2 * output + pole; LOOM_NONE where there is none. */
static guint
output_at(const LoomScenery *s, guint node)
{
  return s->output_at[loom_supply_circuits(s->closed)->circuit[node]];
}

static guint
shown_pole(const LoomScenery *s, guint node)
{
  guint at = loom_scenery_shown(s, node, LOOM_ROLE_POLE);
  return at == LOOM_NONE ? node : at;
}

/* The places on the way between two nodes, crossed joints first; the first end if there is no way.
 */
static void
place_way(LoomScenery *s, LoomFinding *f, guint from, guint to)
{
  GArray *way = loom_trace_way(s, from, to);
  guint crossed = way ? loom_trace_blame(s, f, from, way) : 0;
  if (way)
    g_array_free(way, TRUE);
  loom_scenery_place(s, f, from);
  loom_finding_where(f, crossed ? MIN(crossed, 2u) : 1);
}

static void
output_short_in(LoomScenery *s)
{
  const guint *circuit = loom_supply_circuits(s->closed)->circuit;
  for (guint i = 0; i < s->desk->n_outputs; i++) {
    const LoomOutput *o = &s->outputs[i];
    if (circuit[o->pole[0]] != circuit[o->pole[1]])
      continue;
    LoomFinding *f = loom_scenery_find(
        s, isnan(o->e->limit_A) ? LOOM_STOP : LOOM_CARE, "output-short",
        _("A motor output into a short circuit shuts off at best, and breaks at worst."),
        _("Look for the lead or plug that joins the two contacts."));
    place_way(s, f, shown_pole(s, o->pole[0]), shown_pole(s, o->pole[1]));
    g_autofree char *name = loom_scenery_name(s, shown_pole(s, o->pole[0]));
    f->message = g_strdup_printf(_("The two contacts of the motor output %s are joined."), name);
  }
}

void
loom_rule_output_short(LoomDesk *desk)
{
  loom_desk_each_scene(desk, output_short_in);
}

static bool
is_supply_contact(const LoomScenery *s, guint node, gpointer data)
{
  const LoomContact *c = loom_scenery_contact(s, node);
  (void)data;
  return c && (c->role == LOOM_ROLE_PLUS || c->role == LOOM_ROLE_MINUS);
}

static void
output_supply_in(LoomScenery *s)
{
  for (guint i = 0; i < s->desk->n_outputs; i++)
    for (guint k = 0; k < 2; k++) {
      guint pole = shown_pole(s, s->outputs[i].pole[k]);
      if (!loom_supply_n_reach(s->closed, pole))
        continue;
      LoomFinding *f = loom_scenery_find(
          s, LOOM_STOP, "output-supply",
          _("As soon as the output switches to the other side it is a short circuit."),
          _("Keep the supply off motor outputs: only motors, and other parts without polarity, "
            "belong "
            "there."));
      guint met = loom_trace_nearest(s, pole, is_supply_contact, NULL, NULL);
      place_way(s, f, pole, met == LOOM_NONE ? pole : met);
      g_autofree char *name = loom_scenery_name(s, pole);
      f->message = g_strdup_printf(_("The motor output %s is joined to the supply."), name);
    }
}

void
loom_rule_output_supply(LoomDesk *desk)
{
  loom_desk_each_scene(desk, output_supply_in);
}

static void
two_outputs_in(LoomScenery *s)
{
  for (guint i = 0; i < s->desk->n_outputs; i++)
    for (guint k = 0; k < 2; k++) {
      guint pole = shown_pole(s, s->outputs[i].pole[k]), first = output_at(s, pole);
      if (first == LOOM_NONE || first / 2 == i)
        continue;
      guint other = shown_pole(s, s->outputs[first / 2].pole[first % 2]);
      LoomFinding *f = loom_scenery_find(
          s, LOOM_STOP, "two-outputs",
          _("When one output pushes and the other pulls, they short-circuit each other."),
          _("Give each motor one output of its own."));
      loom_scenery_place(s, f, other);
      loom_scenery_place(s, f, pole);
      loom_finding_where(f, 2);
      place_way(s, f, other, pole);
      loom_finding_where(f, 2);
      f->message = g_strdup_printf(_("The motor outputs of %s are joined."), f->where);
    }
}

void
loom_rule_two_outputs(LoomDesk *desk)
{
  loom_desk_each_scene(desk, two_outputs_in);
}

/* ---- what hangs on an output ---- */

static LoomRole
role_at(const LoomScenery *s, guint node, LoomRole wanted)
{
  guint at = loom_scenery_shown(s, node, wanted);
  return at == LOOM_NONE ? LOOM_ROLE_NONE : loom_scenery_contact(s, at)->role;
}

static bool
has_polarity(const LoomScenery *s, const LoomLoad *load)
{
  return role_at(s, load->a, LOOM_ROLE_PLUS) == LOOM_ROLE_PLUS &&
         role_at(s, load->b, LOOM_ROLE_MINUS) == LOOM_ROLE_MINUS;
}

static void
output_load_in(LoomScenery *s)
{
  for (guint i = 0; i < s->desk->n_loads; i++) {
    const LoomLoad *load = &s->loads[i];
    guint at = output_at(s, load->a) != LOOM_NONE ? output_at(s, load->a) : output_at(s, load->b);
    if (at == LOOM_NONE || !has_polarity(s, load) ||
        (load->e->type == LOOM_ELEMENT_RESISTOR && load->e->reverse_survives))
      continue;
    LoomFinding *f =
        loom_scenery_find(s, load->e->reverse_survives ? LOOM_CARE : LOOM_STOP, "output-load",
                          _("A motor output has no fixed polarity: in reverse it feeds the part "
                            "the wrong way round."),
                          _("Take the part to a port or a supply with + and -."));
    loom_scenery_place(s, f, loom_scenery_shown(s, load->a, LOOM_ROLE_PLUS));
    loom_scenery_place(s, f, shown_pole(s, s->outputs[at / 2].pole[at % 2]));
    loom_finding_where(f, 2);
    f->message =
        g_strdup_printf(_("%s needs + and -, and hangs on a motor output."), f->places[0].part);
  }
}

void
loom_rule_output_load(LoomDesk *desk)
{
  loom_desk_each_scene(desk, output_load_in);
}

/* The pole that is not where it should be is only behind a joint that does not mate. */
static bool
seems_joined(const LoomScenery *s, guint a, guint b)
{
  const guint *circuit = loom_supply_circuits(s->closed)->circuit;
  return s->seemingly[circuit[a]] == s->seemingly[circuit[b]];
}

/* What keeps a motor that has a pole on an output from running. */
typedef enum { POLES_FINE, POLES_JOINED, POLES_APART, POLE_ON_SUPPLY, POLE_OPEN } PoleFault;

static PoleFault
pole_fault(const LoomScenery *s, const LoomLoad *load, guint a, guint b)
{
  if (a == b)
    return POLES_JOINED;
  if (a != LOOM_NONE && b != LOOM_NONE)
    return a / 2 == b / 2 ? POLES_FINE : POLES_APART;
  guint at = a == LOOM_NONE ? b : a, open = a == LOOM_NONE ? load->a : load->b;
  if (loom_supply_n_reach(s->closed, open))
    return POLE_ON_SUPPLY;
  return seems_joined(s, open, s->outputs[at / 2].pole[1 - at % 2]) ? POLES_FINE : POLE_OPEN;
}

static char *
pole_sentence(PoleFault fault, const char *motor)
{
  switch (fault) {
  case POLES_JOINED:
    return g_strdup_printf(_("%s has both contacts on the same contact of a motor output."), motor);
  case POLES_APART:
    return g_strdup_printf(_("%s hangs between two different motor outputs."), motor);
  case POLE_ON_SUPPLY:
    return g_strdup_printf(_("%s hangs between a motor output and the supply."), motor);
  default:
    return g_strdup_printf(_("%s reaches the motor output with one contact only."), motor);
  }
}

static void
place_open_pole(const LoomScenery *s, LoomFinding *f, guint open)
{
  GArray *loose = loom_trace_loose_ends(s, open);
  for (guint i = 0; i < MIN(loose->len, 8u); i++)
    loom_scenery_place(s, f, g_array_index(loose, guint, i));
  g_array_free(loose, TRUE);
}

static void
motor_pole_in(LoomScenery *s)
{
  for (guint i = 0; i < s->desk->n_loads; i++) {
    const LoomLoad *load = &s->loads[i];
    guint a = output_at(s, load->a), b = output_at(s, load->b);
    if (load->e->type != LOOM_ELEMENT_MOTOR || (a == LOOM_NONE && b == LOOM_NONE))
      continue;
    PoleFault fault = pole_fault(s, load, a, b);
    if (fault == POLES_FINE)
      continue;
    LoomFinding *f = loom_scenery_find(
        s, LOOM_CARE, "motor-pole",
        _("A motor turns only with both of its contacts on the two contacts of one output."),
        _("Follow both wires from the motor to one port."));
    guint shown = shown_pole(s, load->a);
    loom_scenery_place(s, f, shown);
    loom_finding_where(f, 1);
    place_open_pole(s, f, a == LOOM_NONE ? load->a : load->b);
    for (guint k = 0; k < 2; k++)
      if ((k ? b : a) != LOOM_NONE)
        loom_scenery_place(s, f, shown_pole(s, s->outputs[(k ? b : a) / 2].pole[(k ? b : a) % 2]));
    f->message = pole_sentence(fault, f->where);
  }
}

void
loom_rule_motor_pole(LoomDesk *desk)
{
  loom_desk_each_scene(desk, motor_pole_in);
}

static bool
reversed_in_set_up(const LoomPart *part)
{
  g_autofree char *low = part->settings ? g_utf8_strdown(part->settings, -1) : NULL;
  return low && strstr(low, "revers");
}

static void
motor_reversed_in(LoomScenery *s)
{
  for (guint i = 0; i < s->desk->n_loads; i++) {
    const LoomLoad *load = &s->loads[i];
    guint a = output_at(s, load->a), b = output_at(s, load->b);
    const LoomPart *part = loom_wiring_part(s->wiring, load->part);
    if (load->e->type != LOOM_ELEMENT_MOTOR || a == LOOM_NONE || b == LOOM_NONE || a / 2 != b / 2 ||
        a % 2 != 1 || a == b || reversed_in_set_up(part))
      continue;
    LoomFinding *f = loom_scenery_find(
        s, LOOM_NOTE, "motor-reversed", _("It turns the other way than the program means."),
        _("Turn the plug or lead round, or set the motor to reversed in the controller's set-up."));
    loom_scenery_place(s, f, shown_pole(s, load->a));
    loom_finding_where(f, 1);
    g_autofree char *where = g_strdup(f->where);
    place_way(s, f, shown_pole(s, s->outputs[a / 2].pole[1]), shown_pole(s, load->a));
    g_free(f->where);
    f->where = g_steal_pointer(&where);
    f->message =
        g_strdup_printf(_("%s turns the other way: its two wires are swapped."), part->designation);
    if (!part->settings)
      loom_finding_mend_with(f, "set %s settings=reversed", part->designation);
  }
}

void
loom_rule_motor_reversed(LoomDesk *desk)
{
  loom_desk_each_scene(desk, motor_reversed_in);
}
