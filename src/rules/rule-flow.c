#include "rules-private.h"

#include "electric/fuse.h"

#include <glib/gi18n-lib.h>
#include <math.h>

/* Share of the EMF that wires and contacts may take (ISO 10133 clause 4 and ABYC E-11: 10 %, and 3
 * % for what is critical). */
#define DROP_PCT 10.0
/* Loads for which a drop matters. */
#define DROP_LEAST_A 0.5

/* The worst that some state does to one thing. */
typedef struct {
  guint part, index;
  guint state;
  bool low; /* with packs nearly empty */
  double load, limit;
  double badness; /* greater is worse */
  bool stalled;   /* only states with something stalled do it */
  bool mild;      /* below its rating, but not so far that it shuts off */
} Worst;

/* Somebody holds something fast: such a state is a trial, not what the robot is meant to do. */
static bool
is_stalled(const LoomScenery *s, guint state)
{
  const LoomState *st = &loom_design_scene(s->wiring->design, s->scene)->states[state];
  for (guint i = 0; i < st->n_settings; i++)
    if (g_str_equal(st->settings[i].key, "load") && g_str_equal(st->settings[i].value, "stalled"))
      return true;
  return false;
}

/* "in the state pushing, with the pack at 20 % of its charge". New. */
static char *
when(const LoomScenery *s, guint state, bool low)
{
  const char *name = loom_design_scene(s->wiring->design, s->scene)->states[state].name;
  return low ? g_strdup_printf(_("In the state %s, with packs at %.0f %% of their charge,"), name,
                               100 * LOOM_LOW_CHARGE)
             : g_strdup_printf(_("In the state %s, with full packs,"), name);
}

typedef void (*PointRule)(LoomScenery *s, const LoomOperation *op, guint state, bool low,
                          gpointer data);

/* Every state with full packs, then with packs nearly empty. */
static void
each_point(LoomScenery *s, PointRule rule, gpointer data)
{
  for (guint k = 0; k < 2; k++) {
    const LoomOperation *op = k ? s->low : s->full;
    for (guint i = 0; op && i < op->n_states; i++)
      rule(s, op, i, k == 1, data);
  }
}

/* Keeps the worse of two for one part and index; a state in which nothing is stalled comes first.
 */
static void
keep_worst(GHashTable *all, const Worst *w)
{
  gint64 key = ((gint64)w->part << 32) | w->index;
  const Worst *known = g_hash_table_lookup(all, &key);
  if (known && (known->stalled != w->stalled ? w->stalled : known->badness >= w->badness))
    return;
  g_hash_table_insert(all, g_memdup2(&key, sizeof key), g_memdup2(w, sizeof *w));
}

static GHashTable *
worst_table(void)
{
  return g_hash_table_new_full(g_int64_hash, g_int64_equal, g_free, g_free);
}

static LoomSeverity
severity_of(const Worst *w)
{
  return w->stalled || w->mild ? LOOM_NOTE : LOOM_CARE;
}

typedef struct {
  GHashTable *worst;
  LoomRating what;
} Wanted;

/* Margins of one sort that are below zero. */
static void
collect_margins(LoomScenery *s, const LoomOperation *op, guint state, bool low, gpointer data)
{
  const Wanted *wanted = data;
  g_autoptr(LoomMargins) margins = loom_margins_new(op->network, op->points[state]);
  for (guint i = 0; i < margins->n_margins; i++) {
    const LoomMargin *m = &margins->margins[i];
    if (m->what != wanted->what || !(m->margin_pct < -0.5))
      continue;
    Worst w = {m->part, m->index, state,          low,
               m->load, m->limit, -m->margin_pct, is_stalled(s, state),
               false};
    keep_worst(wanted->worst, &w);
  }
}

typedef void (*WorstReport)(LoomScenery *s, const Worst *worst);

static void
report_margins(LoomScenery *s, LoomRating what, WorstReport report)
{
  g_autoptr(GHashTable) worst = worst_table();
  Wanted wanted = {worst, what};
  GHashTableIter iter;
  gpointer value;
  each_point(s, collect_margins, &wanted);
  g_hash_table_iter_init(&iter, worst);
  while (g_hash_table_iter_next(&iter, NULL, &value))
    report(s, value);
}

/* ---- no operating point ---- */

static void
trouble_at(LoomScenery *s, const LoomOperation *op, guint state, bool low, gpointer data)
{
  const LoomOperatingPoint *p = op->points[state];
  (void)data;
  if (p->trouble == LOOM_TROUBLE_NONE)
    return;
  LoomFinding *f = loom_scenery_find(
      s, is_stalled(s, state) ? LOOM_NOTE : LOOM_CARE, "no-operating-point",
      _("The voltage breaks down, the load shuts off, the voltage recovers, and it begins again."),
      _("Use a stronger pack, shorter or thicker leads, or ask for less at once."));
  const LoomBranch *b = p->branch == LOOM_NONE ? NULL : &op->network->branches[p->branch];
  if (b && b->part != LOOM_NONE) {
    guint at = loom_scenery_shown(s, b->a, LOOM_ROLE_PLUS);
    loom_scenery_place(s, f, at == LOOM_NONE ? b->a : at);
  }
  loom_finding_where(f, f->n_places);
  g_autofree char *time = when(s, state, low);
  g_autofree char *why = loom_point_why(p, op->network);
  f->message = g_strdup_printf(_("%s there is no operating point. %s"), time, why);
}

static void
no_operating_point_in(LoomScenery *s)
{
  each_point(s, trouble_at, NULL);
}

void
loom_rule_no_operating_point(LoomDesk *desk)
{
  loom_desk_each_sound_scene(desk, no_operating_point_in);
}

/* ---- brown-out ---- */

/* Worse than any lack of volts. */
#define ASLEEP 1e6

/* What does not get enough even without load is told by another rule. */
static bool
enough_unloaded(const LoomScenery *s, const LoomBranch *b)
{
  double volts;
  return loom_supply_ruling_volts(s->closed, b->a, b->b, &volts, NULL) &&
         volts >= 0.999 * loom_lowest_V(b->element);
}

/* Electronics that cannot stay awake, and all else that gets less than its lowest voltage. */
static void
brown_at(LoomScenery *s, const LoomOperation *op, guint state, bool low, gpointer data)
{
  const LoomOperatingPoint *p = op->points[state];
  for (guint i = op->network->n_touches; p->trouble == LOOM_TROUBLE_NONE && i < p->n_branches;
       i++) {
    const LoomBranch *b = &op->network->branches[i];
    double least = loom_lowest_V(b->element), volts = fabs(loom_point_volts(p, b->a, b->b));
    bool asleep = p->sleep[i] != LOOM_AWAKE;
    if (isnan(least) || !(volts > LOOM_UNSUPPLIED * least) || !(asleep || volts < 0.995 * least) ||
        !enough_unloaded(s, b))
      continue;
    bool mild = !asleep && volts >= b->element->lockout_V;
    Worst w = {
        b->part, 0, state, low, volts, least, asleep ? ASLEEP : least - volts, is_stalled(s, state),
        mild};
    keep_worst(data, &w);
  }
}

static void
report_brown(LoomScenery *s, const Worst *w)
{
  LoomFinding *f = loom_scenery_find(
      s, severity_of(w), "brown-out",
      w->mild ? _("It goes on, but nobody promises how well.")
              : _("It resets in the middle of what it does, and starts as if switched on anew."),
      _("Use a stronger pack, shorter or thicker leads, or let less run at once."));
  const LoomPart *part = loom_wiring_part(s->wiring, w->part);
  loom_finding_place(f, part, LOOM_NONE);
  loom_finding_where(f, 1);
  g_autofree char *time = when(s, w->state, w->low);
  f->message =
      w->badness >= ASLEEP
          ? g_strdup_printf(_("%s %s shuts off: under load it does not keep the %.3g V that it "
                              "needs."),
                            time, part->designation, w->limit)
          : g_strdup_printf(_("%s %s gets %.3g V and needs %.3g V."), time, part->designation,
                            w->load, w->limit);
}

static void
brown_out_in(LoomScenery *s)
{
  g_autoptr(GHashTable) worst = worst_table();
  GHashTableIter iter;
  gpointer value;
  each_point(s, brown_at, worst);
  g_hash_table_iter_init(&iter, worst);
  while (g_hash_table_iter_next(&iter, NULL, &value))
    report_brown(s, value);
}

void
loom_rule_brown_out(LoomDesk *desk)
{
  loom_desk_each_sound_scene(desk, brown_out_in);
}

/* ---- fuses ---- */

/* "after 4 s at the earliest and 100 s at the latest", "sooner or later". New. */
static char *
opening(double rated_A, double current_A)
{
  double holds = loom_fuse_holds_s(rated_A, current_A),
         opens = loom_fuse_opens_s(rated_A, current_A);
  if (isinf(holds))
    return g_strdup(_("not for hours"));
  return isinf(opens) ? g_strdup_printf(_("after %.2g s at the earliest"), holds)
                      : g_strdup_printf(_("after %.2g s to %.2g s"), holds, opens);
}

static void
report_fuse(LoomScenery *s, const Worst *w)
{
  LoomFinding *f = loom_scenery_find(
      s, severity_of(w), "fuse-opens",
      _("A fuse that opens in use leaves the robot dead; whoever fits a larger one "
        "gives away the wire."),
      _("Ask for less at once, or use thicker wire and then a larger fuse."));
  const LoomPart *part = loom_wiring_part(s->wiring, w->part);
  loom_finding_place(f, part, LOOM_NONE);
  loom_finding_where(f, 1);
  g_autofree char *time = when(s, w->state, w->low);
  g_autofree char *opens = opening(w->limit, w->load);
  f->message = g_strdup_printf(_("%s the fuse %s (%.3g A) carries %.3g A, and opens %s."), time,
                               part->designation, w->limit, w->load, opens);
}

static void
report_warm_fuse(LoomScenery *s, const Worst *w)
{
  if (w->stalled)
    return;
  LoomFinding *f = loom_scenery_find(s, LOOM_NOTE, "fuse-opens",
                                     _("For long a fuse carries three quarters of its rating; "
                                       "above that it ages and opens one day."),
                                     _("Keep such states short, or ask for less at once."));
  const LoomPart *part = loom_wiring_part(s->wiring, w->part);
  loom_finding_place(f, part, LOOM_NONE);
  loom_finding_where(f, 1);
  g_autofree char *time = when(s, w->state, w->low);
  f->message = g_strdup_printf(_("%s the fuse %s carries %.3g A, more than the %.3g A for long."),
                               time, part->designation, w->load, w->limit);
}

static void
fuse_opens_in(LoomScenery *s)
{
  report_margins(s, LOOM_RATING_FUSE, report_fuse);
  report_margins(s, LOOM_RATING_FUSE_STEADY, report_warm_fuse);
}

void
loom_rule_fuse_opens(LoomDesk *desk)
{
  loom_desk_each_sound_scene(desk, fuse_opens_in);
}

/* ---- packs ---- */

static void
report_pack(LoomScenery *s, const Worst *w)
{
  LoomFinding *f = loom_scenery_find(
      s, severity_of(w), "pack-load",
      _("A pack that gives more than it is made for gets hot and ages; some kinds burn."),
      _("Use a pack that may give more, or ask for less at once."));
  const LoomPart *part = loom_wiring_part(s->wiring, w->part);
  loom_finding_place(f, part, LOOM_NONE);
  loom_finding_where(f, 1);
  g_autofree char *time = when(s, w->state, w->low);
  f->message = g_strdup_printf(_("%s %s gives %.3g A, and may give %.3g A for long."), time,
                               part->designation, w->load, w->limit);
}

static void
pack_load_in(LoomScenery *s)
{
  report_margins(s, LOOM_RATING_PACK, report_pack);
}

void
loom_rule_pack_load(LoomDesk *desk)
{
  loom_desk_each_sound_scene(desk, pack_load_in);
}

/* ---- where ways run in parallel ---- */

static bool
several_ways(const LoomScenery *s, LoomRating what, const Worst *w)
{
  const LoomBound *b = what == LOOM_RATING_CONTACT
                           ? &s->limits->touches[w->index]
                           : loom_limits_element(s->limits, w->part, w->index);
  return b->parallel || isinf(b->most_A);
}

static void
report_flow(LoomScenery *s, LoomRating what, const Worst *w)
{
  LoomFinding *f = loom_scenery_find(
      s, w->load > LOOM_OUTLIVES * w->limit ? LOOM_STOP : LOOM_CARE, "flow-load",
      _("Where several ways lead back, the thin one takes its share too, and gets hot."),
      _("Give the strong current one good way, and cut the thin one where it is not needed."));
  if (what == LOOM_RATING_CONTACT) {
    const LoomTouch *t = &s->wiring->touches[w->index];
    loom_scenery_place(s, f, t->a);
    loom_scenery_place(s, f, t->b);
  } else {
    loom_finding_place(f, loom_wiring_part(s->wiring, w->part), LOOM_NONE);
  }
  loom_finding_where(f, 2);
  g_autofree char *time = when(s, w->state, w->low);
  f->message = g_strdup_printf(_("%s %.3g A flow over %s, made for %.3g A."), time, w->load,
                               f->where, w->limit);
}

static void
flow_load_in(LoomScenery *s)
{
  static const LoomRating sorts[] = {LOOM_RATING_CONTACT, LOOM_RATING_WIRE, LOOM_RATING_SWITCH,
                                     LOOM_RATING_INNER};
  for (guint k = 0; k < G_N_ELEMENTS(sorts); k++) {
    g_autoptr(GHashTable) worst = worst_table();
    Wanted wanted = {worst, sorts[k]};
    GHashTableIter iter;
    gpointer value;
    each_point(s, collect_margins, &wanted);
    g_hash_table_iter_init(&iter, worst);
    while (g_hash_table_iter_next(&iter, NULL, &value))
      if (sorts[k] == LOOM_RATING_INNER || several_ways(s, sorts[k], value))
        report_flow(s, sorts[k], value);
  }
}

void
loom_rule_flow_load(LoomDesk *desk)
{
  loom_desk_each_sound_scene(desk, flow_load_in);
}

/* ---- voltage drop ---- */

/* Drops in wires and contacts, not inside packs, drivers and the like. */
static bool
is_wiring(const LoomBranch *b)
{
  return !b->element || b->element->type == LOOM_ELEMENT_WIRE;
}

typedef struct {
  double pct, volts;
  guint state, load, worst; /* branches: of the load, and of the piece that takes most */
} Drop;

static void
weigh_drops(const LoomOperation *op, guint state, guint branch, Drop *most)
{
  g_autoptr(LoomWaterfall) fall = loom_waterfall_new(op->network, op->points[state], branch);
  Drop drop = {.state = state, .load = branch, .worst = LOOM_NONE};
  double greatest = 0;
  for (guint i = 0; fall && i < fall->n_drops; i++) {
    const LoomDrop *d = &fall->drops[i];
    if (!is_wiring(&op->network->branches[d->branch]))
      continue;
    drop.pct += d->share_pct;
    drop.volts += d->drop_V;
    if (d->drop_V > greatest) {
      greatest = d->drop_V;
      drop.worst = d->branch;
    }
  }
  if (drop.pct > most->pct)
    *most = drop;
}

static bool
drop_matters(const LoomOperation *op, guint state, guint branch)
{
  const LoomBranch *b = &op->network->branches[branch];
  if (!b->element || b->element->type < LOOM_ELEMENT_RESISTOR ||
      b->element->type == LOOM_ELEMENT_DRIVER)
    return false;
  return fabs(op->points[state]->flows[branch].a_A) > DROP_LEAST_A;
}

static void
report_drop(LoomScenery *s, const Drop *drop)
{
  LoomFinding *f = loom_scenery_find(
      s, LOOM_NOTE, "voltage-drop",
      _("What the leads take is missing at the load: motors are weaker."),
      _("Use shorter or thicker leads, above all for the piece that takes most."));
  const LoomBranch *load = &s->full->network->branches[drop->load];
  guint at = loom_scenery_shown(s, load->a, LOOM_ROLE_PLUS);
  loom_scenery_place(s, f, at == LOOM_NONE ? load->a : at);
  loom_finding_where(f, 1);
  g_autofree char *time = when(s, drop->state, false);
  g_autofree char *piece = loom_branch_name(s->full->network, drop->worst);
  f->message =
      g_strdup_printf(_("%s wires and contacts on the way to %s take %.2g V (%.0f %%), most of it "
                        "%s."),
                      time, f->where, drop->volts, drop->pct, piece);
}

/* The load that suffers most, in states in which nothing is held fast. */
static void
voltage_drop_in(LoomScenery *s)
{
  Drop most = {.pct = DROP_PCT};
  for (guint i = 0; s->full && i < s->full->n_states; i++) {
    if (s->full->points[i]->trouble != LOOM_TROUBLE_NONE || is_stalled(s, i))
      continue;
    for (guint b = s->full->network->n_touches; b < s->full->network->n_branches; b++)
      if (drop_matters(s->full, i, b))
        weigh_drops(s->full, i, b, &most);
  }
  if (most.pct > DROP_PCT && most.worst != LOOM_NONE)
    report_drop(s, &most);
}

void
loom_rule_voltage_drop(LoomDesk *desk)
{
  loom_desk_each_sound_scene(desk, voltage_drop_in);
}
