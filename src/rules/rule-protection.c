#include "rules-private.h"

#include "electric/conductor.h"
#include "electric/fuse.h"
#include "electric/protection.h"

#include <glib/gi18n-lib.h>
#include <math.h>

/* Wire before the first fuse. ISO 10133 clause 8 allows 200 mm (from memory; ABYC E-11: 178 mm),
 * and ABYC E-11 1016 mm where the wire has a sheath of its own. */
#define FUSE_NEAR_MM 200.0
#define FUSE_FAR_MM 1016.0

/* Loads too small to need a switch: cell monitors, lamps. */
#define TRIFLE_A 0.1

/* A share of the fuse's whole draw above which a wire is the one that the fuse is there for. */
#define TRUNK_SHARE 0.8

/* How a pack comes to a load: its + and its -, which of packs in a row are those of two packs. */
typedef struct {
  guint feed, minus_feed;
  bool plus_switched, minus_switched; /* always through a switch */
  bool plus_guarded, minus_fused;
} Poles;

/* Several packs may share a return: the pack's own - counts before that of another. */
static bool
poles_at(const LoomScenery *s, const LoomLoad *load, Poles *p)
{
  const guint *circuit = loom_supply_circuits(s->closed)->circuit;
  guint a = s->pack_at[circuit[load->a]], b = s->pack_at[circuit[load->b]];
  LoomReach plus, minus;
  if (a == LOOM_NONE || b == LOOM_NONE || a % 2 == 0 ||
      loom_supply_island(s->closed, load->a) != loom_supply_island(s->closed, load->b) ||
      !loom_scenery_pole(s, load->a, a / 2, true, &plus))
    return false;
  bool own = loom_scenery_pole(s, load->b, a / 2, false, &minus);
  if (!own && (b % 2 || !loom_scenery_pole(s, load->b, b / 2, false, &minus)))
    return false;
  *p = (Poles){a / 2, minus.feed, plus.switched, minus.switched, plus.guarded, minus.fused};
  return true;
}

static double
draw_of(const LoomScenery *s, const LoomLoad *load)
{
  double draw = 0;
  for (guint lo = 0, hi = s->limits->n_draws; lo < hi;) {
    guint mid = lo + (hi - lo) / 2;
    const LoomDraw *d = &s->limits->draws[mid];
    if (d->part == load->part && d->element == load->element)
      return d->draw_A;
    bool before = d->part < load->part || (d->part == load->part && d->element < load->element);
    *(before ? &lo : &hi) = before ? mid + 1 : mid;
  }
  return draw;
}

/* Packs whose poles come out of their part: what has its battery inside looks after itself. */
static bool
rules_apply(const LoomScenery *s, const LoomFeed *feed)
{
  return feed->pack && loom_scenery_shown(s, feed->plus, LOOM_ROLE_PLUS) != LOOM_NONE;
}

static guint
shown_pole(const LoomScenery *s, guint pole, LoomRole role)
{
  guint at = loom_scenery_shown(s, pole, role);
  return at == LOOM_NONE ? pole : at;
}

static void
place_loads(const LoomScenery *s, LoomFinding *f, const GArray *loads)
{
  for (guint i = 0; i < MIN(loads->len, 8u); i++) {
    const LoomLoad *load = &s->loads[g_array_index(loads, guint, i)];
    loom_scenery_place(s, f, shown_pole(s, load->a, LOOM_ROLE_PLUS));
  }
}

typedef bool (*Wanted)(const LoomScenery *s, const LoomLoad *load, const Poles *poles);

typedef void (*FeedRule)(LoomScenery *s, const LoomFeed *feed, const GArray *loads);

/* Indices of the loads that are wanted, by the pack whose + they have: [n] arrays, NULL for none.
 * New. */
static GArray **
loads_by_pack(const LoomScenery *s, guint n, Wanted wanted)
{
  GArray **loads = g_new0(GArray *, n + 1);
  for (guint i = 0; i < s->desk->n_loads; i++) {
    Poles p;
    if (!poles_at(s, &s->loads[i], &p) || !wanted(s, &s->loads[i], &p))
      continue;
    if (!loads[p.feed])
      loads[p.feed] = g_array_new(FALSE, FALSE, sizeof(guint));
    g_array_append_val(loads[p.feed], i);
  }
  return loads;
}

/* Calls `report` for each pack that has loads of that sort. */
static void
each_pack(LoomScenery *s, Wanted wanted, FeedRule report)
{
  guint n;
  const LoomFeed *feeds = loom_supply_feeds(s->closed, &n);
  g_autofree GArray **loads = loads_by_pack(s, n, wanted);
  for (guint i = 0; i < n; i++) {
    if (!loads[i])
      continue;
    if (rules_apply(s, &feeds[i]))
      report(s, &feeds[i], loads[i]);
    g_array_free(loads[i], TRUE);
  }
}

/* ---- switches ---- */

static bool
unswitched(const LoomScenery *s, const LoomLoad *load, const Poles *p)
{
  return !p->plus_switched && !p->minus_switched && draw_of(s, load) > TRIFLE_A;
}

static void
report_no_switch(LoomScenery *s, const LoomFeed *feed, const GArray *loads)
{
  bool limited = !isnan(feed->limit_A);
  LoomFinding *f =
      loom_scenery_find(s, limited ? LOOM_NOTE : LOOM_CARE, "no-switch",
                        _("Without a switch the only way to stop it is to pull a live plug, and "
                          "nobody finds that quickly."),
                        _("Put a main switch into the + lead, where everybody can reach it."));
  loom_scenery_place(s, f, shown_pole(s, feed->plus, LOOM_ROLE_PLUS));
  loom_finding_where(f, 1);
  place_loads(s, f, loads);
  f->message = g_strdup_printf(
      ngettext("Nothing switches %s off: %u load hangs on it all the time.",
               "Nothing switches %s off: %u loads hang on it all the time.", loads->len),
      f->where, loads->len);
}

static void
no_switch_in(LoomScenery *s)
{
  each_pack(s, unswitched, report_no_switch);
}

void
loom_rule_no_switch(LoomDesk *desk)
{
  loom_desk_each_scene(desk, no_switch_in);
}

/* Seen from the contacts of its part: a switch of the load's own is its own affair. */
static bool
only_minus_switched(const LoomScenery *s, const LoomLoad *load, const Poles *p)
{
  guint b = loom_scenery_shown(s, load->b, LOOM_ROLE_MINUS);
  if (p->plus_switched || !p->minus_switched || b == LOOM_NONE)
    return false;
  LoomReach r;
  return !loom_scenery_pole(s, b, p->minus_feed, false, &r) || r.switched;
}

/* The part with the switch or fuse that lies in the way back from the load to the feed. */
static guint
culprit_part(const LoomScenery *s, const LoomLoad *load, guint minus, LoomElementType type)
{
  GArray *way = loom_trace_way(s, load->b, minus);
  guint part = load->part;
  for (guint i = way ? way->len : 0; i-- > 0;) {
    guint edge = g_array_index(way, guint, i);
    const LoomElement *e = loom_graph_element(s->graph, s->wiring, edge);
    if (e && e->type == type)
      part = s->graph->edges[edge].part;
  }
  if (way)
    g_array_free(way, TRUE);
  return part;
}

static void
report_in_return(LoomScenery *s, const LoomFeed *feed, const GArray *loads, LoomElementType type,
                 const char *rule, const char *why, const char *remedy)
{
  guint part = culprit_part(s, &s->loads[g_array_index(loads, guint, 0)], feed->minus, type);
  LoomFinding *f = loom_scenery_find(s, LOOM_CARE, rule, why, remedy);
  loom_finding_place(f, loom_wiring_part(s->wiring, part), LOOM_NONE);
  loom_finding_where(f, 1);
  place_loads(s, f, loads);
  f->message =
      g_strdup_printf(type == LOOM_ELEMENT_SWITCH ? _("The switch %s lies in the - lead only.")
                                                  : _("The fuse %s lies in the - lead only."),
                      f->where);
}

static void
report_switch_in_return(LoomScenery *s, const LoomFeed *feed, const GArray *loads)
{
  report_in_return(
      s, feed, loads, LOOM_ELEMENT_SWITCH, "switch-in-return",
      _("Switched off, everything still hangs on +: a tool that touches the frame and a "
        "contact makes it run, or makes sparks."),
      _("Put the switch into the + lead; one with two poles may switch both."));
}

static void
switch_in_return_in(LoomScenery *s)
{
  each_pack(s, only_minus_switched, report_switch_in_return);
}

void
loom_rule_switch_in_return(LoomDesk *desk)
{
  loom_desk_each_scene(desk, switch_in_return_in);
}

/* ---- fuses ---- */

static bool
unfused(const LoomScenery *s, const LoomLoad *load, const Poles *p)
{
  return !p->plus_guarded && !p->minus_fused && draw_of(s, load) > TRIFLE_A;
}

/* The thinnest wire, in A, that the positive pole comes to past neither fuse nor limit. */
static double
weakest_A(const LoomScenery *s)
{
  double least = INFINITY;
  for (guint p = 0; p < s->wiring->n_parts; p++) {
    const LoomKind *kind = loom_wiring_part(s->wiring, p)->kind;
    for (guint i = 0; i < kind->n_elements; i++) {
      const LoomElement *e = &kind->elements[i];
      if (e->type == LOOM_ELEMENT_WIRE &&
          loom_supply_live_unguarded(s->closed, s->wiring->part_node[p] + e->a))
        least = fmin(least, loom_scenery_ampacity_A(s, e->mm2));
    }
  }
  return least;
}

static void
report_no_fuse(LoomScenery *s, const LoomFeed *feed, const GArray *loads)
{
  double wire = weakest_A(s);
  bool burns = feed->short_A > LOOM_OUTLIVES * wire;
  LoomFinding *f =
      loom_scenery_find(s, burns ? LOOM_STOP : LOOM_CARE, "no-fuse",
                        _("After a short circuit nothing stops the current but the melting wire."),
                        _("Put a fuse into the + lead, as close to the pack as it goes."));
  loom_scenery_place(s, f, shown_pole(s, feed->plus, LOOM_ROLE_PLUS));
  loom_finding_where(f, 1);
  place_loads(s, f, loads);
  if (isfinite(feed->short_A) && isfinite(wire))
    f->message =
        g_strdup_printf(_("No fuse guards %s: it can push %.0f A into a short, and the weakest "
                          "wire carries %.0f A."),
                        f->where, feed->short_A, wire);
  else
    f->message = g_strdup_printf(_("No fuse guards %s."), f->where);
}

static void
no_fuse_in(LoomScenery *s)
{
  each_pack(s, unfused, report_no_fuse);
}

void
loom_rule_no_fuse(LoomDesk *desk)
{
  loom_desk_each_scene(desk, no_fuse_in);
}

static bool
only_minus_fused(const LoomScenery *s, const LoomLoad *load, const Poles *p)
{
  (void)s;
  (void)load;
  return !p->plus_guarded && p->minus_fused;
}

static void
report_fuse_in_return(LoomScenery *s, const LoomFeed *feed, const GArray *loads)
{
  report_in_return(
      s, feed, loads, LOOM_ELEMENT_FUSE, "fuse-in-return",
      _("A bare + that touches another way back, the frame for one, goes past this fuse."),
      _("Put the fuse into the + lead, as close to the pack as it goes."));
}

static void
fuse_in_return_in(LoomScenery *s)
{
  each_pack(s, only_minus_fused, report_fuse_in_return);
}

void
loom_rule_fuse_in_return(LoomDesk *desk)
{
  loom_desk_each_scene(desk, fuse_in_return_in);
}

static void
fuse_far_in(LoomScenery *s)
{
  guint n;
  const LoomFeed *feeds = loom_supply_feeds(s->closed, &n);
  for (guint i = 0; i < n; i++) {
    const LoomFeed *feed = &feeds[i];
    if (!rules_apply(s, feed) || feed->unguarded || !isnan(feed->limit_A) ||
        !(feed->fuse_mm > FUSE_NEAR_MM))
      continue;
    LoomFinding *f = loom_scenery_find(
        s, feed->fuse_mm > FUSE_FAR_MM ? LOOM_CARE : LOOM_NOTE, "fuse-far",
        _("The wire before the fuse is guarded by nothing."),
        _("Move the fuse closer to the pack, or protect the wire before it with a sleeve."));
    loom_scenery_place(s, f, shown_pole(s, feed->plus, LOOM_ROLE_PLUS));
    loom_finding_where(f, 1);
    f->message =
        g_strdup_printf(_("%.0f mm of wire lie between %s and its fuse; %.0f mm is the usual "
                          "limit."),
                        feed->fuse_mm, f->where, FUSE_NEAR_MM);
  }
}

void
loom_rule_fuse_far(LoomDesk *desk)
{
  loom_desk_each_scene(desk, fuse_far_in);
}

/* ---- fuse and wire ---- */

/* A short at either end of the wire: the greater current heats more, the smaller opens the fuse
 * later. */
static bool
outlives_as(const LoomScenery *s, LoomShorts *shorts, double fuse_A, guint part, guint element,
            double mm2)
{
  double least_A, greatest_A, carries_A = loom_scenery_ampacity_A(s, mm2);
  loom_shorts_wire_A(shorts, part, element, &least_A, &greatest_A);
  return loom_wire_outlives(mm2, carries_A, fuse_A, least_A) &&
         loom_wire_outlives(mm2, carries_A, fuse_A, greatest_A);
}

static bool
outlives_short(const LoomScenery *s, LoomShorts *shorts, double fuse_A, guint part, guint element)
{
  const LoomElement *e = &loom_wiring_part(s->wiring, part)->kind->elements[element];
  return outlives_as(s, shorts, fuse_A, part, element, e->mm2);
}

/* Largest rating on sale that the wire bears; 0 where there is none. */
static double
fitting_fuse_A(double ampacity)
{
  guint n;
  const double *ratings = loom_fuse_ratings_A(&n);
  double best = 0;
  for (guint i = 0; i < n && ratings[i] <= ampacity; i++)
    best = ratings[i];
  return best;
}

typedef struct {
  guint part, element; /* the wire */
  double ampacity;
  bool trunk; /* all that the fuse carries goes through it; otherwise a branch */
} GuardedWire;

/* The wire that the fuse is there for comes before its branches, and then the weakest. */
static bool
worse(const GuardedWire *a, const GuardedWire *b)
{
  return a->trunk != b->trunk ? a->trunk : a->ampacity < b->ampacity;
}

/* Whether the + of a pack runs in the wire: the - of a sensor's lead carries it only if two things
 * go wrong at once. */
static bool
carries_plus(const LoomScenery *s, guint node)
{
  guint at = s->pack_at[loom_supply_circuits(s->closed)->circuit[node]];
  return at != LOOM_NONE && at % 2;
}

/* What carries all of the fuse's current must carry its rating (IEC 60364-4-43 433.1). A branch
 * whose loads draw less may be thinner (433.3) as long as it outlives a short circuit. */
static bool protected(const LoomScenery *s, LoomShorts *shorts, const GuardedWire *wire,
                      double fuse_A)
{
  const LoomElement *e = &loom_wiring_part(s->wiring, wire->part)->kind->elements[wire->element];
  if (wire->trunk)
    return fuse_A <= wire->ampacity;
  return !carries_plus(s, s->wiring->part_node[wire->part] + e->a) ||
         outlives_short(s, shorts, fuse_A, wire->part, wire->element);
}

/* For each fuse (by its number among all elements, plus one) the worst wire that it does not
 * protect. */
static void
weigh_wire(const LoomScenery *s, LoomShorts *shorts, GHashTable *worst, guint p, guint i)
{
  const LoomElement *e = &loom_wiring_part(s->wiring, p)->kind->elements[i];
  const LoomBound *b = loom_limits_element(s->limits, p, i);
  if (e->type != LOOM_ELEMENT_WIRE || b->guard.type != LOOM_CAUSE_FUSE || b->parallel)
    return;
  double fuse = loom_part_fuse_A(loom_wiring_part(s->wiring, b->guard.part), b->guard.index);
  const LoomBound *whole = loom_limits_element(s->limits, b->guard.part, b->guard.index);
  bool trunk = b->draw_A >= TRUNK_SHARE * whole->draw_A && whole->draw_A > 0;
  GuardedWire wire = {p, i, loom_scenery_ampacity_A(s, e->mm2), trunk};
  if (protected(s, shorts, &wire, fuse))
    return;
  gpointer key = GUINT_TO_POINTER(s->limits->part_element[b->guard.part] + b->guard.index + 1);
  const GuardedWire *known = g_hash_table_lookup(worst, key);
  if (!known || worse(&wire, known))
    g_hash_table_insert(worst, key, g_memdup2(&wire, sizeof wire));
}

/* Least size on sale that the fuse protects; 0 where there is none. A thicker wire lets a little
 * more short current through; that is left out. */
static double
fitting_size_mm2(const LoomScenery *s, LoomShorts *shorts, const GuardedWire *wire, double fuse_A)
{
  guint n;
  const double *sizes = loom_wire_sizes_mm2(&n);
  for (guint i = 0; i < n; i++) {
    bool carries = !wire->trunk || fuse_A <= loom_scenery_ampacity_A(s, sizes[i]);
    if (carries && outlives_as(s, shorts, fuse_A, wire->part, wire->element, sizes[i]))
      return sizes[i];
  }
  return 0;
}

/* Not only too warm for good. */
static bool
melts(const LoomScenery *s, LoomShorts *shorts, double fuse_A, const GuardedWire *wire)
{
  double least_A, greatest_A;
  loom_shorts_wire_A(shorts, wire->part, wire->element, &least_A, &greatest_A);
  return !outlives_short(s, shorts, fuse_A, wire->part, wire->element) &&
         greatest_A > LOOM_OUTLIVES * wire->ampacity;
}

/* The rating and the size that would satisfy it; NULL where there is neither. */
static char *
fuse_or_wire(const GuardedWire *wire, double fits_A, double size_mm2)
{
  if (!(size_mm2 > 0))
    return fits_A > 0 ? g_strdup_printf(_("Fit a fuse of %g A at most."), fits_A) : NULL;
  g_autofree char *size = loom_wire_size_words(size_mm2);
  if (!(fits_A > 0))
    return g_strdup_printf(_("Use wire of %s or thicker."), size);
  return wire->trunk ? g_strdup_printf(_("Fit a fuse of %g A at most, or use wire of %s or "
                                         "thicker."),
                                       fits_A, size)
                     : g_strdup_printf(_("Use wire of %s or thicker, or give this branch a fuse "
                                         "of its own, of %g A at most."),
                                       size, fits_A);
}

static void
report_fuse_and_wire(LoomScenery *s, LoomShorts *shorts, guint part, guint element,
                     const GuardedWire *wire)
{
  const LoomPart *fuse = loom_wiring_part(s->wiring, part);
  const LoomPart *with_wire = loom_wiring_part(s->wiring, wire->part);
  const LoomElement *e = &with_wire->kind->elements[wire->element];
  double rated = loom_part_fuse_A(fuse, element), fits = fitting_fuse_A(wire->ampacity);
  LoomFinding *f = loom_scenery_find(
      s, melts(s, shorts, rated, wire) ? LOOM_STOP : LOOM_CARE, "fuse-and-wire",
      _("A fuse protects only wire that carries at least the fuse's rating. Otherwise the wire is "
        "the "
        "fuse."),
      wire->trunk ? _("Fit a smaller fuse, or use a thicker wire.")
                  : _("Use a thicker wire, or give this branch a smaller fuse of its own."));
  loom_finding_place(f, wire->trunk ? fuse : with_wire, LOOM_NONE);
  loom_finding_where(f, 1);
  loom_finding_place(f, wire->trunk ? with_wire : fuse, LOOM_NONE);
  g_autofree char *size = loom_wire_size_words(e->mm2);
  f->message =
      g_strdup_printf(_("The fuse %s is %.3g A, and the wire of %s, %s, carries %.0f A."),
                      fuse->designation, rated, with_wire->designation, size, wire->ampacity);
  char *remedy = fuse_or_wire(wire, fits, fitting_size_mm2(s, shorts, wire, rated));
  if (remedy) {
    g_free(f->remedy);
    f->remedy = remedy;
  }
  g_autofree char *rating = loom_number_to_text(fits);
  if (wire->trunk && fits > 0)
    loom_finding_mend_with(f, "set %s rated_A=%s", fuse->designation, rating);
}

static void
fuse_and_wire_in(LoomScenery *s)
{
  g_autoptr(LoomShorts) shorts = loom_shorts_new(s->network, s->limits);
  g_autoptr(GHashTable) worst = g_hash_table_new_full(g_direct_hash, g_direct_equal, NULL, g_free);
  for (guint p = 0; p < s->wiring->n_parts; p++)
    for (guint i = 0; i < loom_wiring_part(s->wiring, p)->kind->n_elements; i++)
      weigh_wire(s, shorts, worst, p, i);
  for (guint p = 0; g_hash_table_size(worst) && p < s->wiring->n_parts; p++)
    for (guint i = 0; i < loom_wiring_part(s->wiring, p)->kind->n_elements; i++) {
      gpointer key = GUINT_TO_POINTER(s->limits->part_element[p] + i + 1);
      const GuardedWire *wire = g_hash_table_lookup(worst, key);
      if (wire)
        report_fuse_and_wire(s, shorts, p, i, wire);
    }
}

void
loom_rule_fuse_and_wire(LoomDesk *desk)
{
  loom_desk_each_sound_scene(desk, fuse_and_wire_in);
}
