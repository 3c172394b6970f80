#include "rules-private.h"

#include <glib/gi18n-lib.h>
#include <math.h>

/* The part has a source of its own that comes to this node by nothing but its inner wires. */
static bool
on_the_source(const LoomScenery *s, guint node)
{
  guint n;
  const LoomFeed *feeds = loom_supply_feeds(s->closed, &n);
  for (guint i = 0; i < n; i++)
    if (!feeds[i].converter && feeds[i].part == s->wiring->node_part[node] &&
        s->inside->circuit[feeds[i].plus] == s->inside->circuit[node])
      return true;
  return false;
}

/* Whether the end's own electronics, or a group of ends that shuts off by itself, limit it. */
static bool
limited_end(const LoomKind *kind, guint end)
{
  if (!isnan(kind->ends[end].limit_A))
    return true;
  for (guint i = 0; i < kind->n_limits; i++)
    for (guint k = 0; kind->limits[i].acts && k < kind->limits[i].n_ends; k++)
      if (kind->limits[i].ends[k] == end)
        return true;
  return false;
}

/* A contact of the end that is live with neither fuse nor limit before it; LOOM_NONE where none is.
 */
static guint
live_contact(const LoomScenery *s, guint part, guint end)
{
  const LoomKind *kind = loom_wiring_part(s->wiring, part)->kind;
  if (limited_end(kind, end))
    return LOOM_NONE;
  for (guint c = 0; c < kind->ends[end].n_contacts; c++) {
    guint node = loom_wiring_node(s->wiring, part, end, c);
    if (loom_supply_live_unguarded(s->closed, node))
      return node;
  }
  return LOOM_NONE;
}

/* Ends of a pack that are made to lie open: genderless, for the charger, or fixed to its case. */
static bool
made_open(const LoomScenery *s, guint node)
{
  const LoomEnd *end = loom_scenery_end(s, node);
  bool fixed = !(end->pigtail_mm > 0);
  return on_the_source(s, node) && (end->gender == LOOM_GENDER_GENDERLESS || end->charge || fixed);
}

static void
report_live(LoomScenery *s, guint node)
{
  guint part = s->wiring->node_part[node];
  bool open = made_open(s, node);
  LoomFinding *f =
      open ? loom_scenery_find(
                 s, LOOM_NOTE, "open-pack-end",
                 _("A washer or a tool across an open end of a pack makes a short circuit."),
                 _("Put a cap on it."))
           : loom_scenery_find(
                 s, LOOM_STOP, "live-pins",
                 _("Bare live contacts that swing about touch something sooner or later: "
                   "sparks, burns, melted wire."),
                 _("Plug it, or unplug at the other end of the lead; put the fuse before "
                   "it."));
  loom_finding_place(f, loom_wiring_part(s->wiring, part), s->node_end[node]);
  loom_finding_where(f, 1);
  f->message =
      g_strdup_printf(open ? _("%s is open and always live.")
                           : _("%s is unplugged, its contacts can be touched, and they are live "
                               "with no fuse before them."),
                      f->where);
}

typedef void (*NodeReport)(LoomScenery *s, guint node);

static void
each_open_live_end(LoomScenery *s, bool made_so, NodeReport report)
{
  for (guint p = 0; p < s->wiring->n_parts; p++) {
    const LoomKind *kind = loom_wiring_part(s->wiring, p)->kind;
    for (guint e = 0; e < kind->n_ends; e++) {
      if (loom_wiring_n_joints_at(s->wiring, p, e) || !loom_end_touchable(&kind->ends[e]))
        continue;
      guint node = live_contact(s, p, e);
      if (node != LOOM_NONE && made_open(s, node) == made_so)
        report(s, node);
    }
  }
}

static void
live_pins_in(LoomScenery *s)
{
  each_open_live_end(s, false, report_live);
}

void
loom_rule_live_pins(LoomDesk *desk)
{
  loom_desk_each_scene(desk, live_pins_in);
}

static void
open_pack_end_in(LoomScenery *s)
{
  each_open_live_end(s, true, report_live);
}

void
loom_rule_open_pack_end(LoomDesk *desk)
{
  loom_desk_each_scene(desk, open_pack_end_in);
}

/* ---- joints that are live on the side of the pins ---- */

/* Node of the touch on the side of the supply; LOOM_NONE where it cannot be said. */
static guint
supply_side(const LoomScenery *s, const guint *from_plus, guint touch)
{
  const LoomTouch *t = &s->wiring->touches[touch];
  if (from_plus[t->b] == touch)
    return t->a;
  return from_plus[t->a] == touch ? t->b : LOOM_NONE;
}

/* All ends of the lead have pins that can be touched. */
static bool
male_throughout(const LoomKind *kind)
{
  for (guint e = 0; e < kind->n_ends; e++)
    if (kind->ends[e].gender != LOOM_GENDER_PINS || !kind->ends[e].family->pins_touchable)
      return false;
  return kind->lead && kind->n_ends > 1;
}

static bool
limited_there(const LoomScenery *s, guint node)
{
  for (guint i = 0; i < loom_supply_n_reach(s->closed, node); i++) {
    LoomReach r = loom_supply_reach(s->closed, node, i);
    if (r.plus && !r.limited)
      return false;
  }
  return true;
}

/* Pins that stay live when the joint is opened: touchable, on the supply side, not limited. */
static bool
live_prong(const LoomScenery *s, guint node)
{
  const LoomEnd *end = loom_scenery_end(s, node);
  return end->gender == LOOM_GENDER_PINS && end->family->pins_touchable &&
         !limited_end(loom_scenery_part(s, node)->kind, s->node_end[node]) &&
         !limited_there(s, node);
}

static void
place_touch(const LoomScenery *s, LoomFinding *f, guint touch, guint first)
{
  const LoomTouch *t = &s->wiring->touches[touch];
  loom_scenery_place(s, f, first);
  loom_scenery_place(s, f, first == t->a ? t->b : t->a);
  loom_finding_where(f, 1);
}

static void
report_live_plug(LoomScenery *s, guint touch, guint node)
{
  LoomFinding *f = loom_scenery_find(
      s, LOOM_CARE, "live-plug",
      _("The half that stays live when a joint opens should have sockets: bare live pins "
        "short-circuit "
        "on the first thing they touch."),
      _("Always unplug at the pack first; better, use a lead with sockets on the side of the "
        "pack."));
  place_touch(s, f, touch, node);
  f->message =
      g_strdup_printf(_("%s has the pins on the side of the pack: unplugged here, they are bare "
                        "and live."),
                      f->where);
}

static void
report_double_male(LoomScenery *s, guint touch, guint node)
{
  LoomFinding *f = loom_scenery_find(
      s, LOOM_CARE, "double-male",
      _("With one end plugged, the pins of the other end are bare and live. Such leads are mostly "
        "home-made, and nothing about them warns."),
      _("Replace it by an adaptor with sockets on the side of the pack."));
  loom_finding_place(f, loom_scenery_part(s, node), LOOM_NONE);
  loom_scenery_place(s, f, node);
  loom_finding_where(f, 1);
  f->message =
      g_strdup_printf(_("The lead %s has pins at both ends and carries the supply."), f->where);
  (void)touch;
}

static void
prongs_in(LoomScenery *s, bool double_male)
{
  g_autofree guint *from_plus = loom_trace_from_plus(s);
  for (guint i = 0; i < s->wiring->n_touches; i++) {
    guint node = supply_side(s, from_plus, i);
    if (node == LOOM_NONE || !live_prong(s, node))
      continue;
    bool male = male_throughout(loom_scenery_part(s, node)->kind);
    if (male && double_male)
      report_double_male(s, i, node);
    if (!male && !double_male && loom_supply_live_unguarded(s->closed, node) && !made_open(s, node))
      report_live_plug(s, i, node);
  }
}

static void
live_plug_in(LoomScenery *s)
{
  prongs_in(s, false);
}

void
loom_rule_live_plug(LoomDesk *desk)
{
  loom_desk_each_scene(desk, live_plug_in);
}

static void
double_male_in(LoomScenery *s)
{
  prongs_in(s, true);
}

void
loom_rule_double_male(LoomDesk *desk)
{
  loom_desk_each_scene(desk, double_male_in);
}

/* ---- joints that come apart ---- */

/* Whether the positive pole (`either`: or the other) of a supply in use comes here: of a pack past
 * no port of its own limit, or of a converter. Nothing counts while a charger is on it. */
static bool
supply_pole(const LoomScenery *s, guint node, bool either)
{
  guint circuit = loom_supply_circuits(s->closed)->circuit[node], at = s->pack_at[circuit], n;
  if (s->charged[circuit] || at == LOOM_NONE)
    return !s->charged[circuit] && s->converted[circuit];
  LoomReach r;
  bool unlimited = loom_scenery_pole(s, node, at / 2, at % 2, &r) && !r.limited;
  bool own = unlimited || !isnan(loom_supply_feeds(s->closed, &n)[at / 2].limit_A);
  return (own && (at % 2 || either)) || s->converted[circuit];
}

/* Ends with one element between two contacts: a fuse in its holder sits by itself. */
static bool
is_insert(const LoomKind *kind)
{
  return kind->n_ends == 1 && kind->n_elements == 1 && kind->elements[0].type == LOOM_ELEMENT_FUSE;
}

static bool
comes_apart(const LoomScenery *s, const LoomWiredJoint *j)
{
  const LoomKind *a = loom_wiring_part(s->wiring, j->part_a)->kind;
  const LoomKind *b = loom_wiring_part(s->wiring, j->part_b)->kind;
  return !loom_design_joint(s->wiring->design, j->joint)->tied && j->mate == LOOM_MATE_YES &&
         !a->ends[j->end_a].family->latches && !b->ends[j->end_b].family->latches &&
         !is_insert(a) && !is_insert(b);
}

/* A pole of a supply goes over the joint: its +, or, of a single contact, either. What runs along
 * with a channel's signal feeds one sensor or servo and is no supply of the robot. */
static bool
carries_supply(const LoomScenery *s, guint wired)
{
  guint first = s->limits->joint_touch[wired], beyond = s->limits->joint_touch[wired + 1];
  bool supply = false, channel = false;
  for (guint t = first; t < beyond; t++) {
    guint node = s->wiring->touches[t].a;
    guint circuit = s->wired->circuit[node];
    channel |= s->channel_first[circuit + 1] > s->channel_first[circuit];
    supply |= s->limits->touches[t].draw_A > 0 && supply_pole(s, node, beyond - first == 1);
  }
  return supply && !channel;
}

static void
loose_in(LoomScenery *s)
{
  LoomFinding *f = NULL;
  guint n = 0;
  for (guint i = 0; i < s->wiring->n_joints; i++) {
    const LoomWiredJoint *j = &s->wiring->joints[i];
    if (!comes_apart(s, j) || !carries_supply(s, i))
      continue;
    if (!f)
      f = loom_scenery_find(
          s, LOOM_CARE, "loose",
          _("A robot shakes. Where a supply joint opens for a moment everything resets."),
          _("Tie or tape them, or use connectors that latch."));
    loom_finding_add_place(f, loom_wiring_part(s->wiring, j->part_a), j->end_a);
    g_autofree char *name = loom_wiring_end_name(s->wiring, j->part_a, j->end_a);
    loom_finding_mend_with(f, "set %s tied=yes", name);
    n++;
  }
  if (!f)
    return;
  loom_finding_where(f, n);
  f->message =
      g_strdup_printf(ngettext("%u joint of the supply neither latches nor is tied: %s.",
                               "%u joints of the supply neither latch nor are tied: %s.", n),
                      n, f->where);
}

void
loom_rule_loose(LoomDesk *desk)
{
  loom_desk_each_sound_scene(desk, loose_in);
}

/* ---- the frame ---- */

static void
report_frame(LoomScenery *s, guint part, guint node, bool plus)
{
  LoomFinding *f = loom_scenery_find(
      s, plus ? LOOM_CARE : LOOM_NOTE, "frame",
      plus
          ? _("With + on the frame every - that touches it is a short circuit.")
          : _("With - on the frame one + that touches it is a short circuit; many events ask for a "
              "frame that hangs on neither pole."),
      _("Insulate what is bolted to the frame, or find the wire that is pinched."));
  loom_finding_place(f, loom_wiring_part(s->wiring, part), LOOM_NONE);
  loom_scenery_place(s, f, node);
  loom_finding_where(f, 1);
  f->message =
      g_strdup_printf(_("The frame %s is joined to %s of the supply."), f->where, plus ? "+" : "-");
}

static void
frame_of(LoomScenery *s, guint part)
{
  bool told[2] = {false, false};
  for (guint node = s->wiring->part_node[part]; node < s->wiring->part_node[part + 1]; node++)
    for (guint i = 0; i < loom_supply_n_reach(s->closed, node); i++) {
      bool plus = loom_supply_reach(s->closed, node, i).plus;
      if (!told[plus])
        report_frame(s, part, node, plus);
      told[plus] = true;
    }
}

static void
frame_in(LoomScenery *s)
{
  for (guint p = 0; p < s->wiring->n_parts; p++)
    if (loom_wiring_part(s->wiring, p)->kind->metal)
      frame_of(s, p);
}

void
loom_rule_frame(LoomDesk *desk)
{
  loom_desk_each_scene(desk, frame_in);
}
