#include "meter-private.h"

#include <glib/gi18n-lib.h>
#include <math.h>

/* ---- readings ---- */

static const char *
doing(const LoomReading *r)
{
  switch (r->check) {
  case LOOM_CHECK_VOLTS:
    return _("Volts DC");
  default:
    return _("Ohms");
  }
}

/* "12.2 V", "0.55 Ω", "2.1 kΩ", "nothing (open)". New. */
static char *
value_text(const LoomReading *r, double value)
{
  if (r->check == LOOM_CHECK_VOLTS)
    return g_strdup_printf("%.3g V", value);
  if (isinf(value))
    return g_strdup("open");
  if (value >= 999.5e3)
    return g_strdup_printf("%.3g MΩ", value / 1e6);
  return value >= 999.5 ? g_strdup_printf("%.3g kΩ", value / 1e3)
                        : g_strdup_printf("%.2g Ω", value);
}

static char *
sentence_of(const LoomReading *r)
{
  g_autofree char *low = value_text(r, r->low), *high = value_text(r, r->high);
  g_autofree char *expected = value_text(r, r->expected);
  g_autoptr(GString) text = g_string_new(NULL);
  g_string_printf(text, _("%s, red probe on %s, black probe on %s: "), doing(r), r->red_name,
                  r->black_name);
  if (isinf(r->expected))
    g_string_append_printf(text, _("open, or at least %s."), low);
  else if (r->check != LOOM_CHECK_VOLTS && r->low <= 0)
    g_string_append_printf(text, _("at most %s."), high);
  else
    g_string_append_printf(text, _("about %s, between %s and %s."), expected, low, high);
  return g_string_free(g_steal_pointer(&text), FALSE);
}

static const char *
off_of(const LoomReading *r)
{
  switch (r->check) {
  case LOOM_CHECK_VOLTS:
    return r->when == LOOM_METER_PACK
               ? _("Too low: charge it. A minus sign: the probes or the wires of the pack are "
                   "swapped. "
                   "Leave a pack that reads nothing unplugged.")
               : _("Switch off, pack off. A minus sign: plus and minus are swapped on the way. "
                   "Nothing: "
                   "a joint, the fuse or the switch. Too low: a bad contact or an empty pack.");
  case LOOM_CHECK_CONTINUITY:
    return _(
        "Open: find the joint that is not home, the blown fuse or the switch that is off. Some "
        "ohms: "
        "a bad contact. Halve the way until it is found.");
  case LOOM_CHECK_SHORT:
    return _("Plus and minus are joined. No pack before that is found: unplug one joint after the "
             "other "
             "until it reads open.");
  case LOOM_CHECK_SWITCH:
    return _("The switch does not part the way: it is bridged, broken, or on.");
  case LOOM_CHECK_INSULATION:
    return _("The frame is joined to a pole: find the bare or pinched wire before the pack comes.");
  case LOOM_CHECK_LOAD:
    return _("Open: broken. Much less: shorted inside. Do not plug it.");
  }
  return NULL;
}

void
loom_meter_words(const LoomMeterRoom *room, LoomReading *r)
{
  r->red_name = loom_wiring_node_name(room->w, loom_meter_node(room, &r->red));
  r->black_name = loom_wiring_node_name(room->w, loom_meter_node(room, &r->black));
  r->sentence = sentence_of(r);
  r->off = g_strdup(off_of(r));
}

const char *
loom_meter_when_label(LoomMeterWhen when)
{
  static const char *const labels[] = {
      N_("pack alone"), N_("before power, switches on"), N_("before power, switches off"),
      N_("stage B, the supply alone, switches on"), N_("powered, everything plugged")};
  return labels[when];
}

/* ---- slips ---- */

/* How near to a leaf of the robot a part is: what a roll-call speaks of. */
static guint
leafness(const LoomKind *kind)
{
  static const guint ranks[LOOM_N_GROUPS] = {
      [LOOM_GROUP_MOTOR] = 9,     [LOOM_GROUP_SERVO] = 9,    [LOOM_GROUP_SENSOR] = 9,
      [LOOM_GROUP_LAMP] = 8,      [LOOM_GROUP_COMPUTER] = 7, [LOOM_GROUP_CONVERTER] = 5,
      [LOOM_GROUP_CONTROLLER] = 4};
  return ranks[kind->group];
}

/* Leads and blocks only hand on; what lies behind them is concerned. */
static bool
hands_on(const LoomKind *kind)
{
  return kind->lead || kind->group == LOOM_GROUP_LEAD || kind->group == LOOM_GROUP_DISTRIBUTION ||
         kind->group == LOOM_GROUP_PROTECTION || kind->group == LOOM_GROUP_SWITCHING;
}

/* A part, and the end at which it is met. */
typedef struct {
  guint part, end;
} Met;

typedef struct {
  const LoomMeterRoom *room;
  bool *seen;    /* [n_parts] */
  GArray *queue; /* Met */
} Search;

static void
visit(Search *s, guint part, guint end)
{
  if (s->seen[part])
    return;
  s->seen[part] = true;
  Met met = {part, end};
  g_array_append_val(s->queue, met);
}

static void
visit_joint(Search *s, guint wired)
{
  const LoomWiredJoint *j = &s->room->w->joints[wired];
  visit(s, j->part_a, j->end_a);
  visit(s, j->part_b, j->end_b);
}

/* The part that would behave strangely: the nearest leaf on either side of the joint. */
static Met
concerned(const LoomMeterRoom *room, guint wired)
{
  const LoomWiring *w = room->w;
  Search s = {room, g_new0(bool, w->n_parts + 1), g_array_new(FALSE, FALSE, sizeof(Met))};
  visit_joint(&s, wired);
  Met best = g_array_index(s.queue, Met, 0);
  for (guint i = 0; i < s.queue->len; i++) {
    Met met = g_array_index(s.queue, Met, i);
    const LoomKind *kind = loom_wiring_part(w, met.part)->kind;
    if (leafness(kind) > leafness(loom_wiring_part(w, best.part)->kind))
      best = met;
    guint first = w->part_end[met.part], last = w->part_end[met.part + 1];
    for (guint e = w->end_first[first]; hands_on(kind) && e < w->end_first[last]; e++)
      visit_joint(&s, w->end_joints[e]);
  }
  g_free(s.seen);
  g_array_unref(s.queue);
  return best;
}

static char *
part_words(const LoomMeterRoom *room, guint part)
{
  const LoomPart *p = loom_wiring_part(room->w, part);
  return p->label ? g_strdup_printf("%s (%s)", p->designation, p->label) : g_strdup(p->designation);
}

static char *
contact_words(const LoomMeterRoom *room, const LoomSlip *slip, guint contact)
{
  return g_strdup(
      loom_wiring_part(room->w, slip->part)->kind->ends[slip->end].contacts[contact].name);
}

static char *
what_of_making(const LoomMeterRoom *room, const LoomSlip *slip)
{
  g_autofree char *end = loom_wiring_end_name(room->w, slip->part, slip->end);
  g_autofree char *a = contact_words(room, slip, slip->a), *b = contact_words(room, slip, slip->b);
  if (slip->type == LOOM_SLIP_SWAPPED)
    return g_strdup_printf(_("%s is made with %s and %s swapped."),
                           loom_wiring_part(room->w, slip->part)->designation, a, b);
  return g_strdup_printf(_("In the connector %s a strand joins %s and %s."), end, a, b);
}

static char *
what_of_joint(const LoomMeterRoom *room, const LoomSlip *slip, const LoomWiredJoint *j)
{
  g_autofree char *a = loom_wiring_end_name(room->w, j->part_a, j->end_a);
  g_autofree char *b = loom_wiring_end_name(room->w, j->part_b, j->end_b);
  if (slip->type == LOOM_SLIP_LEFT_OUT)
    return g_strdup_printf(_("%s and %s are not plugged together."), a, b);
  if (slip->type == LOOM_SLIP_TURNED)
    return g_strdup_printf(_("%s and %s are plugged the wrong way round."), a, b);
  return g_strdup_printf(_("%s and %s are plugged one pin off."), a, b);
}

static char *
what_of(const LoomMeterRoom *room, const LoomSlip *slip)
{
  if (slip->type == LOOM_SLIP_FUSE) {
    const LoomPart *part = loom_wiring_part(room->w, slip->part);
    return g_strdup_printf(_("The fuse in %s is one of %g A in place of %g A."), part->designation,
                           slip->rated_A, loom_part_fuse_A(part, slip->end));
  }
  if (slip->type == LOOM_SLIP_SWAPPED || slip->type == LOOM_SLIP_SHORT)
    return what_of_making(room, slip);
  if (slip->type == LOOM_SLIP_CROSSED) {
    g_autofree char *here = loom_wiring_end_name(room->w, slip->part, slip->end);
    g_autofree char *there = loom_wiring_end_name(room->w, slip->part, slip->other);
    return g_strdup_printf(_("%s and %s are mixed up."), here, there);
  }
  return what_of_joint(room, slip, &room->w->joints[room->wired[slip->joint]]);
}

static bool
has_signal(const LoomEnd *end, LoomSignal signal)
{
  for (guint c = 0; c < end->n_contacts; c++)
    if (end->contacts[c].signal == signal)
      return true;
  return false;
}

/* What a part does that is not joined as it should be at that end, when its turn comes. */
static const char *
silence_of(const LoomMeterRoom *room, Met met)
{
  const LoomKind *kind = loom_wiring_part(room->w, met.part)->kind;
  if (has_signal(&kind->ends[met.end], LOOM_SIGNAL_ENCODER_A))
    return _("moves, but its count does not change");
  switch (kind->group) {
  case LOOM_GROUP_MOTOR:
  case LOOM_GROUP_SERVO:
    return _("does not move");
  case LOOM_GROUP_SENSOR:
    return _("reads the same whatever is done to it");
  case LOOM_GROUP_CONTROLLER:
  case LOOM_GROUP_CONVERTER:
  case LOOM_GROUP_COMPUTER:
  case LOOM_GROUP_LAMP:
    return _("stays dark");
  default:
    return _("does nothing");
  }
}

/* The same where the wires are exchanged: a motor then runs backwards. */
static const char *
reversal_of(const LoomMeterRoom *room, Met met)
{
  const LoomEnd *end = &loom_wiring_part(room->w, met.part)->kind->ends[met.end];
  bool poles = end->n_contacts > 0 && end->contacts[0].role == LOOM_ROLE_POLE;
  return poles ? _("turns the other way") : silence_of(room, met);
}

static char *
shows_of(const LoomMeterRoom *room, const LoomSlip *slip)
{
  if (slip->type == LOOM_SLIP_FUSE)
    return g_strdup_printf(_("Look: the number on the fuse must be %g."),
                           loom_part_fuse_A(loom_wiring_part(room->w, slip->part), slip->end));
  Met met = concerned(room, room->wired[slip->joint]);
  g_autofree char *name = part_words(room, met.part);
  switch (slip->type) {
  case LOOM_SLIP_TURNED:
    return g_strdup_printf(_("Look: the marked wire lies at the marked pin. Roll-call: %s %s."),
                           name, reversal_of(room, met));
  case LOOM_SLIP_SHIFTED:
    return g_strdup_printf(_("Look: no pin stands free beside the plug. Roll-call: %s %s."), name,
                           silence_of(room, met));
  case LOOM_SLIP_SWAPPED:
    return g_strdup_printf(_("Look: the same colours at both halves. Roll-call: %s %s."), name,
                           reversal_of(room, met));
  case LOOM_SLIP_SHORT:
    return g_strdup_printf(_("Look: no strand stands out of the connector. Roll-call: %s %s."),
                           name, silence_of(room, met));
  case LOOM_SLIP_CROSSED:
    return loom_wiring_n_joints_at(room->w, slip->part, slip->other) > 0
               ? g_strdup_printf(_("Roll-call: another one answers in place of %s."), name)
               : g_strdup_printf(_("Roll-call: %s answers at another port, or not at all."), name);
  default:
    return g_strdup_printf(_("Look: no end hangs free. Roll-call: %s %s."), name,
                           silence_of(room, met));
  }
}

void
loom_meter_slip_words(const LoomMeterRoom *room, LoomSlip *slip)
{
  slip->what = what_of(room, slip);
  if (slip->seen_by == LOOM_NONE)
    slip->shows = shows_of(room, slip);
}
