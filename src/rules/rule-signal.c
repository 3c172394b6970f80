#include "rules-private.h"

#include <glib/gi18n-lib.h>
#include <math.h>

/* Input thresholds: a high level is understood from 2.0 V by TTL inputs of 5 V and 3.3 V (JESD8C),
 * and from 0.7 of the supply by CMOS inputs (JEITA ED-5007). */
#define HIGH_TTL_V 2.0
#define HIGH_CMOS 0.7

static bool
is_signal(const LoomContact *c)
{
  return c && c->role == LOOM_ROLE_SIGNAL;
}

/* ---- signals on a supply ---- */

typedef struct {
  guint signal; /* node */
} Conflict;

/* A contact of a supply or of a motor in the circuit of a signal, that its own part did not put
 * there. */
static bool
conflicts(const LoomScenery *s, guint node, gpointer data)
{
  const Conflict *conflict = data;
  const LoomContact *c = loom_scenery_contact(s, node);
  return c &&
         (c->role == LOOM_ROLE_PLUS || c->role == LOOM_ROLE_MINUS || c->role == LOOM_ROLE_POLE) &&
         s->wired->circuit[node] == s->wired->circuit[conflict->signal] &&
         s->inside->circuit[node] != s->inside->circuit[conflict->signal];
}

/* A contact of that role on the node's own end, else anywhere on its part; LOOM_NONE. */
static guint
own_minus(const LoomScenery *s, guint node)
{
  guint part = s->wiring->node_part[node], found = LOOM_NONE;
  const LoomKind *kind = loom_wiring_part(s->wiring, part)->kind;
  for (guint e = 0; e < kind->n_ends; e++)
    for (guint c = 0; c < kind->ends[e].n_contacts; c++) {
      guint at = loom_wiring_node(s->wiring, part, e, c);
      if (kind->ends[e].contacts[c].role != LOOM_ROLE_MINUS)
        continue;
      if (e == s->node_end[node])
        return at;
      found = found == LOOM_NONE ? at : found;
    }
  return found;
}

/* Volts that a signal contact gets from what it touches; NAN unknown. */
static double
volts_on(const LoomScenery *s, guint signal, guint supply)
{
  guint at = s->output_at[loom_supply_circuits(s->closed)->circuit[supply]];
  double volts;
  if (at != LOOM_NONE) {
    const LoomOutput *o = &s->outputs[at / 2];
    return loom_supply_volts(s->closed, o->a, o->b, NULL, NULL, &volts) ? volts : NAN;
  }
  guint minus = own_minus(s, signal);
  if (minus == LOOM_NONE)
    return NAN;
  return loom_supply_volts(s->closed, supply, minus, NULL, NULL, &volts) ? volts : NAN;
}

static bool
kills(const LoomContact *c, double volts)
{
  double bears = isnan(c->tolerates_V) ? c->level_V + 0.5 : c->tolerates_V;
  return volts > 1.001 * bears;
}

static void
report_on_supply(LoomScenery *s, guint signal, guint supply, const GArray *way)
{
  const LoomContact *c = loom_scenery_contact(s, signal), *other = loom_scenery_contact(s, supply);
  double volts = volts_on(s, signal, supply);
  LoomFinding *f = loom_scenery_find(
      s, kills(c, volts) ? LOOM_STOP : LOOM_CARE, "signal-on-supply",
      _("A signal contact on a supply does not work, and more volts than it bears destroy it."),
      _("Look at the plug: it sits turned or one contact off, or the lead crosses its wires."));
  guint crossed = loom_trace_blame(s, f, signal, way);
  bool swap = s->wiring->node_part[signal] > s->wiring->node_part[supply];
  loom_scenery_place(s, f, swap ? supply : signal);
  loom_scenery_place(s, f, swap ? signal : supply);
  if (crossed)
    loom_finding_where(f, MIN(crossed, 2u));
  g_autofree char *a = loom_wiring_node_name(s->wiring, signal);
  g_autofree char *b = loom_wiring_node_name(s->wiring, supply);
  if (!f->where) {
    g_autofree char *x = loom_scenery_name(s, swap ? supply : signal);
    g_autofree char *y = loom_scenery_name(s, swap ? signal : supply);
    f->where = g_strdup_printf(_("%s and %s"), x, y);
  }
  f->message = volts > 0.1
                   ? g_strdup_printf(_("The signal contact %s gets %.3g V from %s."), a, volts, b)
                   : g_strdup_printf(_("The signal contact %s is joined to %s (%s)."), a, b,
                                     _(loom_role_word(other->role)));
}

/* Which of signal, supply and motor contacts a circuit has: 1, 2. */
static guint
sorts_in(const LoomScenery *s, guint circuit)
{
  guint sorts = 0;
  for (guint i = s->wired->first[circuit]; i < s->wired->first[circuit + 1]; i++) {
    const LoomContact *c = loom_scenery_contact(s, s->wired->nodes[i]);
    if (c && c->role == LOOM_ROLE_SIGNAL)
      sorts |= 1;
    else if (c && c->role != LOOM_ROLE_NONE && c->role != LOOM_ROLE_PASS)
      sorts |= 2;
  }
  return sorts;
}

/* Of a controller one port suffers, of a device everything. */
static void
mark_crossed(LoomScenery *s, guint part)
{
  if (!loom_wiring_part(s->wiring, part)->kind->n_channels)
    s->crossed[part] = true;
}

/* The signal contact in the circuit that is nearest to a contact of a supply. */
static void
conflict_in_circuit(LoomScenery *s, guint circuit)
{
  guint best = LOOM_NONE, best_supply = LOOM_NONE;
  GArray *best_way = NULL;
  for (guint i = s->wired->first[circuit]; i < s->wired->first[circuit + 1]; i++) {
    Conflict conflict = {s->wired->nodes[i]};
    GArray *way = NULL;
    if (!is_signal(loom_scenery_contact(s, conflict.signal)))
      continue;
    guint supply = loom_trace_nearest(s, conflict.signal, conflicts, &conflict, &way);
    bool nearer = way && (!best_way || way->len < best_way->len);
    if (nearer) {
      best = conflict.signal;
      best_supply = supply;
    }
    GArray *loser = nearer ? best_way : way;
    best_way = nearer ? way : best_way;
    if (loser)
      g_array_free(loser, TRUE);
  }
  if (!best_way)
    return;
  report_on_supply(s, best, best_supply, best_way);
  mark_crossed(s, s->wiring->node_part[best]);
  mark_crossed(s, s->wiring->node_part[best_supply]);
  g_array_free(best_way, TRUE);
}

static void
signal_on_supply_in(LoomScenery *s)
{
  for (guint k = 0; k < s->wired->n_circuits; k++)
    if (s->signals[k] && sorts_in(s, k) == 3)
      conflict_in_circuit(s, k);
}

void
loom_rule_signal_on_supply(LoomDesk *desk)
{
  loom_desk_each_scene(desk, signal_on_supply_in);
}

/* ---- levels ---- */

static bool
speaks(const LoomContact *c)
{
  return (c->flow == LOOM_FLOW_OUT || c->flow == LOOM_FLOW_BOTH) && !isnan(c->level_V);
}

/* The node of another part that speaks with the highest level in the circuit; LOOM_NONE. */
static guint
loudest(const LoomScenery *s, guint circuit, guint part)
{
  guint best = LOOM_NONE;
  for (guint i = s->wired->first[circuit]; i < s->wired->first[circuit + 1]; i++) {
    guint node = s->wired->nodes[i];
    const LoomContact *c = loom_scenery_contact(s, node);
    if (is_signal(c) && speaks(c) && s->wiring->node_part[node] != part &&
        (best == LOOM_NONE || c->level_V > loom_scenery_contact(s, best)->level_V))
      best = node;
  }
  return best;
}

/* New. */
static char *
level_sentence(LoomSeverity severity, const char *speaker, double level_V, const char *listener,
               double bound_V)
{
  switch (severity) {
  case LOOM_STOP:
    return g_strdup_printf(_("%s speaks with %.3g V, and %s bears %.3g V."), speaker, level_V,
                           listener, bound_V);
  case LOOM_CARE:
    return g_strdup_printf(_("%s speaks with %.3g V, and %s needs at least %.3g V."), speaker,
                           level_V, listener, bound_V);
  default:
    return g_strdup_printf(_("%s speaks with %.3g V, and %s may need %.3g V."), speaker, level_V,
                           listener, bound_V);
  }
}

static void
report_level(LoomScenery *s, LoomSeverity severity, guint listener, guint speaker, double bound)
{
  bool high = severity == LOOM_STOP;
  LoomFinding *f = loom_scenery_find(
      s, severity, "level",
      high ? _("An input that gets more volts than it bears is destroyed, sometimes not at once.")
           : _("An input may take a high level that is too low for a low one, now and then."),
      high ? _("Put a level shifter between them, or choose a part with the same level.")
           : _("Put a level shifter between them if readings jump."));
  loom_scenery_place(s, f, listener);
  loom_scenery_place(s, f, speaker);
  loom_finding_where(f, 2);
  g_autofree char *a = loom_wiring_node_name(s->wiring, speaker);
  g_autofree char *b = loom_wiring_node_name(s->wiring, listener);
  f->message = level_sentence(severity, a, loom_scenery_contact(s, speaker)->level_V, b, bound);
}

static void
level_of(LoomScenery *s, guint node, const LoomContact *c)
{
  guint speaker = loudest(s, s->wired->circuit[node], s->wiring->node_part[node]);
  if (speaker == LOOM_NONE)
    return;
  double level = loom_scenery_contact(s, speaker)->level_V, needs = HIGH_CMOS * c->level_V;
  if (!isnan(c->tolerates_V) && level > 1.001 * c->tolerates_V)
    report_level(s, LOOM_STOP, node, speaker, c->tolerates_V);
  else if (c->signal != LOOM_SIGNAL_ANALOGUE && level < 0.999 * fmin(HIGH_TTL_V, needs))
    report_level(s, LOOM_CARE, node, speaker, fmin(HIGH_TTL_V, needs));
  else if (c->signal != LOOM_SIGNAL_ANALOGUE && level < 0.999 * needs)
    report_level(s, LOOM_NOTE, node, speaker, needs);
}

static void
level_in(LoomScenery *s)
{
  for (guint node = 0; node < s->wiring->n_nodes; node++) {
    const LoomContact *c = loom_scenery_contact(s, node);
    if (is_signal(c) && (c->flow == LOOM_FLOW_IN || c->flow == LOOM_FLOW_BOTH))
      level_of(s, node, c);
  }
}

void
loom_rule_level(LoomDesk *desk)
{
  loom_desk_each_scene(desk, level_in);
}

/* ---- two that speak ---- */

/* Channels in the circuit, each counted once a part and number. */
static guint
n_channels(const LoomScenery *s, guint circuit)
{
  guint n = 0;
  for (guint i = s->channel_first[circuit]; i < s->channel_first[circuit + 1]; i++)
    n += i == s->channel_first[circuit] || s->channels[i].part != s->channels[i - 1].part ||
         s->channels[i].channel != s->channels[i - 1].channel;
  return n;
}

static void
two_speakers_of(LoomScenery *s, guint circuit)
{
  guint first = LOOM_NONE;
  for (guint i = s->wired->first[circuit]; i < s->wired->first[circuit + 1]; i++) {
    guint node = s->wired->nodes[i];
    const LoomContact *c = loom_scenery_contact(s, node);
    if (!is_signal(c) || c->flow != LOOM_FLOW_OUT)
      continue;
    if (first == LOOM_NONE || s->inside->circuit[first] == s->inside->circuit[node]) {
      first = node;
      continue;
    }
    LoomFinding *f = loom_scenery_find(
        s, LOOM_CARE, "two-speakers",
        _("Two outputs on one wire fight: what arrives is neither, and both get warm."),
        _("Give each its own wire to a channel of its own."));
    loom_scenery_place(s, f, first);
    loom_scenery_place(s, f, node);
    loom_finding_where(f, 2);
    f->message = g_strdup_printf(_("The outputs of %s are joined."), f->where);
    return;
  }
}

/* Where one channel is on the wire, it is the channel that is shared: another rule's affair. */
static void
two_speakers_in(LoomScenery *s)
{
  for (guint k = 0; k < s->wired->n_circuits; k++)
    if (n_channels(s, k) != 1)
      two_speakers_of(s, k);
}

void
loom_rule_two_speakers(LoomDesk *desk)
{
  loom_desk_each_scene(desk, two_speakers_in);
}

/* ---- a common return ---- */

static void
report_no_common(LoomScenery *s, guint a, guint b)
{
  LoomFinding *f = loom_scenery_find(s, LOOM_CARE, "common-return",
                                     _("A signal is a voltage against -. Between two parts that do "
                                       "not share their - it means nothing, "
                                       "and the current looks for other ways."),
                                     _("Join the - of the two supplies."));
  loom_scenery_place(s, f, a);
  loom_scenery_place(s, f, b);
  loom_finding_where(f, 2);
  f->message =
      g_strdup_printf(_("A signal runs between %s, and their - are not joined."), f->where);
}

/* The first two parts in the circuit whose minus is fed, but not from one and the same circuit. */
static void
common_return_of(LoomScenery *s, guint circuit)
{
  const guint *closed = loom_supply_circuits(s->closed)->circuit;
  guint first = LOOM_NONE, first_minus = LOOM_NONE;
  for (guint i = s->wired->first[circuit]; i < s->wired->first[circuit + 1]; i++) {
    guint node = s->wired->nodes[i];
    const LoomContact *c = loom_scenery_contact(s, node);
    if (!is_signal(c) || c->signal == LOOM_SIGNAL_NETWORK)
      continue;
    guint minus = own_minus(s, node);
    if (minus == LOOM_NONE || !loom_supply_n_reach(s->closed, minus))
      continue;
    if (first == LOOM_NONE) {
      first = node;
      first_minus = minus;
    } else if (s->seemingly[closed[minus]] != s->seemingly[closed[first_minus]]) {
      report_no_common(s, first, node);
      return;
    }
  }
}

static void
common_return_in(LoomScenery *s)
{
  for (guint k = 0; k < s->wired->n_circuits; k++)
    if (sorts_in(s, k) == 1)
      common_return_of(s, k);
}

void
loom_rule_common_return(LoomDesk *desk)
{
  loom_desk_each_sound_scene(desk, common_return_in);
}
