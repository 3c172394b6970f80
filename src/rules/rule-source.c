#include "rules-private.h"

#include <glib/gi18n-lib.h>
#include <math.h>
#include <string.h>

/* Joints and parts on the way between the two poles; the finding's own words are for the caller. */
static LoomFinding *
report_way(LoomScenery *s, const char *rule, guint from, guint to, const char *why,
           const char *remedy)
{
  LoomFinding *f = loom_scenery_find(s, LOOM_STOP, rule, why, remedy);
  GArray *way = loom_trace_way(s, from, to);
  guint crossed = way ? loom_trace_blame(s, f, from, way) : 0;
  if (way)
    g_array_free(way, TRUE);
  if (!f->n_places)
    loom_scenery_place(s, f, from);
  loom_finding_where(f, crossed ? MIN(crossed, 2) : 2);
  return f;
}

/* The feed's positive pole as people meet it: "G1:out". New. */
static char *
feed_name(const LoomScenery *s, const LoomFeed *feed)
{
  guint shown = loom_scenery_shown(s, feed->plus, LOOM_ROLE_PLUS);
  return loom_scenery_name(s, shown == LOOM_NONE ? feed->plus : shown);
}

/* As drawn, or as soon as every switch is on. New. */
static char *
short_sentence(const char *name, bool as_drawn, double short_A)
{
  if (!isfinite(short_A))
    return g_strdup_printf(as_drawn ? _("+ and - of %s are joined.")
                                    : _("+ and - of %s are joined as soon as every switch is on."),
                           name);
  return g_strdup_printf(
      as_drawn
          ? _("+ and - of %s are joined: up to %.0f A would flow.")
          : _("+ and - of %s are joined as soon as every switch is on: up to %.0f A would flow."),
      name, short_A);
}

static void
shorts_of(LoomScenery *s, const LoomSupply *supply, bool as_drawn)
{
  guint n;
  const LoomFeed *feeds = loom_supply_feeds(supply, &n);
  for (guint i = 0; i < n; i++) {
    const LoomFeed *feed = &feeds[i];
    if (!feed->shorted)
      continue;
    LoomFinding *f = report_way(
        s, "short", feed->plus, feed->minus,
        _("All that the supply can give flows through the wires at once: they glow, melt and "
          "burn."),
        _("Unplug what joins the two sides, and look at each joint on the way for crossed poles."));
    g_autofree char *name = feed_name(s, feed);
    f->message = short_sentence(name, as_drawn, feed->short_A);
  }
}

static void
short_in(LoomScenery *s)
{
  for (guint i = 0; i < s->n_states; i++)
    shorts_of(s, s->states[i], true);
  if (!s->closed_is_state)
    shorts_of(s, s->closed, false);
}

void
loom_rule_short(LoomDesk *desk)
{
  loom_desk_each_scene(desk, short_in);
}

static int
by_number(gconstpointer a, gconstpointer b)
{
  guint x = *(const guint *)a, y = *(const guint *)b;
  return x < y ? -1 : x > y;
}

static char *
feed_names(const LoomScenery *s, const LoomFeed *feeds, const guint *loop, guint n)
{
  g_autoptr(GPtrArray) names = g_ptr_array_new_with_free_func(g_free);
  for (guint i = 0; i < n; i++)
    g_ptr_array_add(names, feed_name(s, &feeds[loop[i]]));
  return loom_words_list(names, 6);
}

static void
report_loop(LoomScenery *s, const LoomFeed *feeds, const LoomLoop *loop)
{
  g_autofree guint *in_order = g_memdup2(loop->feeds, loop->n_feeds * sizeof(guint));
  qsort(in_order, loop->n_feeds, sizeof(guint), by_number);
  const LoomFeed *first = &feeds[in_order[0]], *second = &feeds[in_order[1]];
  bool opposed = loom_loop_opposed(feeds, loop);
  LoomFinding *f = loom_scenery_find(
      s, LOOM_STOP, "two-supplies",
      _("The stronger supply drives a current into the weaker one that nothing limits. Packs "
        "overheat "
        "and can catch fire, converters break."),
      _("Leave only one of them on this circuit; give each its own, or a switch that joins only "
        "one "
        "at a time."));
  guint poles[4] = {first->plus, second->plus, first->minus, second->minus};
  for (guint i = 0; i < 2; i++) {
    guint shown = loom_scenery_shown(s, poles[i], LOOM_ROLE_PLUS);
    loom_scenery_place(s, f, shown == LOOM_NONE ? poles[i] : shown);
  }
  loom_finding_where(f, 2);
  for (guint i = 0; i < 2; i++) {
    GArray *way = loom_trace_way(s, poles[2 * i], poles[2 * i + 1]);
    if (way) {
      loom_trace_blame(s, f, poles[2 * i], way);
      g_array_free(way, TRUE);
    }
  }
  g_autofree char *names = feed_names(s, feeds, in_order, loop->n_feeds);
  f->message = opposed
                   ? g_strdup_printf(_("%s are joined against each other: %.1f V act around the "
                                       "loop with nothing in the way."),
                                     names, fabs(loop->mismatch_V))
                   : g_strdup_printf(_("%s feed the same circuit."), names);
}

static void
two_supplies_in(LoomScenery *s)
{
  for (guint i = 0; i < s->n_states; i++) {
    guint n_feeds, n_loops;
    const LoomFeed *feeds = loom_supply_feeds(s->states[i], &n_feeds);
    const LoomLoop *loops = loom_supply_loops(s->states[i], &n_loops);
    for (guint k = 0; k < n_loops; k++)
      if (loops[k].n_feeds > 1 && !loom_loop_belongs(feeds, &loops[k]))
        report_loop(s, feeds, &loops[k]);
  }
}

void
loom_rule_two_supplies(LoomDesk *desk)
{
  loom_desk_each_scene(desk, two_supplies_in);
}

static const LoomChemistry *
chemistry_of(const LoomScenery *s, const LoomFeed *feed)
{
  return &loom_wiring_part(s->wiring, feed->part)->kind->chemistry;
}

/* Lowest and highest current that can be set; 0 where none is known. */
static double
setting_A(const LoomChemistry *charger, bool highest)
{
  double best = 0;
  for (guint i = 0; i < G_N_ELEMENTS(charger->currents_A) && !isnan(charger->currents_A[i]); i++)
    if (best == 0 || (charger->currents_A[i] > best) == highest)
      best = charger->currents_A[i];
  return best;
}

static LoomFinding *
report_charger(LoomScenery *s, LoomSeverity severity, const LoomFeed *charger, const LoomFeed *pack,
               const char *remedy)
{
  LoomFinding *f = loom_scenery_find(
      s, severity, "charger",
      _("A charger that is not made for the pack overfills it: cells swell, vent or burn."),
      remedy);
  guint shown = loom_scenery_shown(s, charger->plus, LOOM_ROLE_PLUS);
  loom_scenery_place(s, f, shown == LOOM_NONE ? charger->plus : shown);
  shown = loom_scenery_shown(s, pack->plus, LOOM_ROLE_PLUS);
  loom_scenery_place(s, f, shown == LOOM_NONE ? pack->plus : shown);
  return f;
}

static bool
same_chemistry(const LoomChemistry *charger, const LoomChemistry *pack)
{
  g_auto(GStrv) words = g_strsplit_set(charger->chemistry, " ,", -1);
  for (char **w = words; *w; w++)
    if (g_ascii_strcasecmp(*w, pack->chemistry) == 0)
      return true;
  return false;
}

static void
compare(LoomScenery *s, const LoomFeed *charger, const LoomFeed *pack, guint cells)
{
  const LoomChemistry *c = chemistry_of(s, charger), *p = chemistry_of(s, pack);
  if (!c->chemistry || !p->chemistry)
    return;
  g_autofree char *charges = feed_name(s, charger), *charged = feed_name(s, pack);
  const char *change = _("Use a charger for this chemistry and this number of cells.");
  if (!same_chemistry(c, p)) {
    LoomFinding *f = report_charger(s, LOOM_STOP, charger, pack, change);
    f->message = g_strdup_printf(_("%s charges %s, and %s is %s."), charges, c->chemistry, charged,
                                 p->chemistry);
  } else if (cells < c->cells_min || cells > c->cells_max) {
    LoomFinding *f = report_charger(s, LOOM_STOP, charger, pack, change);
    g_autofree char *made_for = c->cells_min == c->cells_max
                                    ? g_strdup_printf("%u", c->cells_max)
                                    : g_strdup_printf(_("%u to %u"), c->cells_min, c->cells_max);
    f->message = g_strdup_printf(ngettext("%s is made for %s cell, and %s has %u.",
                                          "%s is made for %s cells, and %s has %u.", c->cells_max),
                                 charges, made_for, charged, cells);
  } else if (setting_A(c, false) > p->charge_max_A) {
    LoomFinding *f =
        report_charger(s, LOOM_STOP, charger, pack, _("Use a charger with a lower current."));
    f->message = g_strdup_printf(_("%s charges with %.3g A at least, and %s takes %.3g A at most."),
                                 charges, setting_A(c, false), charged, p->charge_max_A);
  } else if (setting_A(c, true) > p->charge_max_A) {
    LoomFinding *f =
        report_charger(s, LOOM_NOTE, charger, pack,
                       _("Set the charger to a current that the pack takes; the lowest "
                         "is kindest."));
    f->message = g_strdup_printf(_("%s can be set to %.3g A, and %s takes %.3g A at most."),
                                 charges, setting_A(c, true), charged, p->charge_max_A);
  }
}

/* The charger in a loop against each pack in it; packs in a row are one pack of all their cells. */
static bool
in_a_loop(const LoomLoop *loops, guint n_loops, guint feed)
{
  for (guint k = 0; k < n_loops; k++)
    for (guint i = 0; i < loops[k].n_feeds; i++)
      if (loops[k].feeds[i] == feed)
        return true;
  return false;
}

static void
place_loose(const LoomScenery *s, LoomFinding *f, guint node)
{
  GArray *loose = loom_trace_loose_ends(s, node);
  for (guint i = 0; i < MIN(loose->len, 4u); i++)
    loom_scenery_place(s, f, g_array_index(loose, guint, i));
  g_array_free(loose, TRUE);
}

/* A charger that is plugged, but to no pack with both of its poles. */
static void
idle_charger(LoomScenery *s, const LoomFeed *charger)
{
  guint plus = loom_scenery_shown(s, charger->plus, LOOM_ROLE_PLUS);
  guint minus = loom_scenery_shown(s, charger->minus, LOOM_ROLE_MINUS);
  guint at = plus == LOOM_NONE ? minus : plus;
  if (at == LOOM_NONE || charger->shorted || !loom_scenery_plugged(s, at) ||
      s->patched[s->seemingly[loom_supply_circuits(s->closed)->circuit[at]]])
    return;
  LoomFinding *f =
      loom_scenery_find(s, LOOM_CARE, "charger", _("A charger that meets no pack charges none."),
                        _("Follow + and - from the charger to the pack."));
  loom_scenery_place(s, f, at);
  loom_finding_where(f, 1);
  place_loose(s, f, charger->plus);
  place_loose(s, f, charger->minus);
  f->message = g_strdup_printf(_("%s is plugged, and reaches no pack with both poles."), f->where);
}

static void
charger_in(LoomScenery *s)
{
  guint n_feeds, n_loops;
  const LoomFeed *feeds = loom_supply_feeds(s->closed, &n_feeds);
  const LoomLoop *loops = loom_supply_loops(s->closed, &n_loops);
  for (guint i = 0; i < n_feeds; i++)
    if (feeds[i].charger && !in_a_loop(loops, n_loops, i))
      idle_charger(s, &feeds[i]);
  for (guint k = 0; k < n_loops; k++) {
    const LoomFeed *charger = NULL;
    guint cells = 0;
    for (guint i = 0; i < loops[k].n_feeds; i++) {
      const LoomFeed *f = &feeds[loops[k].feeds[i]];
      charger = f->charger ? f : charger;
      cells += f->pack ? chemistry_of(s, f)->cells_max : 0;
    }
    for (guint i = 0; charger && i < loops[k].n_feeds; i++)
      if (feeds[loops[k].feeds[i]].pack)
        compare(s, charger, &feeds[loops[k].feeds[i]], cells);
  }
}

void
loom_rule_charger(LoomDesk *desk)
{
  loom_desk_each_scene(desk, charger_in);
}
