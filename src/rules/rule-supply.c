#include "rules-private.h"

#include <glib/gi18n-lib.h>
#include <math.h>

/* A load that gets the wrong volts. Loads between the same two circuits make one finding. */
typedef struct {
  const LoomLoad *load;
  guint a, b;          /* circuits that feed it */
  double volts, bound; /* what it gets, what it bears or needs */
  bool mild;           /* does it no harm */
} Trouble;

/* Where people meet the load: the end that shows its positive contact. */
static guint
shown_at(const LoomScenery *s, const LoomLoad *load)
{
  guint at = loom_scenery_shown(s, load->a, LOOM_ROLE_PLUS);
  return at == LOOM_NONE ? load->a : at;
}

static bool
is_motor(const LoomLoad *load)
{
  return load->e->type == LOOM_ELEMENT_MOTOR;
}

/* The nodes whose voltage counts: its own, or those of the driver that it hangs on. */
static void
fed_between(const LoomScenery *s, const LoomLoad *load, guint *a, guint *b)
{
  guint at = s->output_at[loom_supply_circuits(s->closed)->circuit[load->a]];
  *a = at == LOOM_NONE ? load->a : s->outputs[at / 2].a;
  *b = at == LOOM_NONE ? load->b : s->outputs[at / 2].b;
}

static int
by_circuits(gconstpointer x, gconstpointer y)
{
  const Trouble *t = x, *u = y;
  if (t->a != u->a)
    return t->a < u->a ? -1 : 1;
  if (t->b != u->b)
    return t->b < u->b ? -1 : 1;
  return t->load < u->load ? -1 : t->load > u->load;
}

typedef void (*GroupReport)(LoomScenery *s, const Trouble *group, guint n);

/* Takes the array. */
static void
report_groups(LoomScenery *s, GArray *all, GroupReport report)
{
  g_array_sort(all, by_circuits);
  const Trouble *t = (const Trouble *)all->data;
  for (guint i = 0, n; i < all->len; i += n) {
    for (n = 1; i + n < all->len && t[i + n].a == t[i].a && t[i + n].b == t[i].b;)
      n++;
    report(s, &t[i], n);
  }
  g_array_free(all, TRUE);
}

/* The ends of the group, each once; returns how many. */
static guint
place_group(const LoomScenery *s, LoomFinding *f, const Trouble *group, guint n)
{
  guint before = f->n_places;
  for (guint i = 0; i < n && f->n_places < before + 24; i++)
    loom_scenery_place(s, f, shown_at(s, group[i].load));
  return f->n_places - before;
}

static bool
all_mild(const Trouble *group, guint n)
{
  for (guint i = 0; i < n; i++)
    if (!group[i].mild)
      return false;
  return true;
}

static void
add_trouble(const LoomScenery *s, GArray *all, const LoomLoad *load, double volts, double bound,
            bool mild)
{
  const guint *circuit = loom_supply_circuits(s->closed)->circuit;
  guint a, b;
  fed_between(s, load, &a, &b);
  Trouble t = {load, circuit[a], circuit[b], volts, bound, mild};
  g_array_append_val(all, t);
}

/* ---- the wrong way round ---- */

/* Whether it matters which way round the load is fed: contacts of the supply lead to it. */
static bool
has_polarity(const LoomScenery *s, const LoomLoad *load)
{
  const guint nodes[2] = {load->a, load->b};
  for (guint i = 0; i < 2; i++) {
    guint at = loom_scenery_shown(s, nodes[i], i ? LOOM_ROLE_MINUS : LOOM_ROLE_PLUS);
    LoomRole role = at == LOOM_NONE ? LOOM_ROLE_NONE : loom_scenery_contact(s, at)->role;
    if (role == LOOM_ROLE_PLUS || role == LOOM_ROLE_MINUS)
      return true;
  }
  return false;
}

/* The way from the load's positive contact to the negative pole that comes there. Returns how many
 * places on it cross the poles. */
static guint
blame_swap(LoomScenery *s, LoomFinding *f, const LoomLoad *load)
{
  guint n, crossed = 0;
  const LoomFeed *feeds = loom_supply_feeds(s->closed, &n);
  for (guint i = 0; i < loom_supply_n_reach(s->closed, load->a); i++) {
    LoomReach r = loom_supply_reach(s->closed, load->a, i);
    if (r.plus)
      continue;
    GArray *way = loom_trace_way(s, load->a, feeds[r.feed].minus);
    if (way) {
      crossed = loom_trace_blame(s, f, load->a, way);
      g_array_free(way, TRUE);
    }
    return crossed;
  }
  return 0;
}

static void
report_swap(LoomScenery *s, const Trouble *group, guint n)
{
  bool mild = all_mild(group, n);
  LoomFinding *f = loom_scenery_find(
      s, mild ? LOOM_CARE : LOOM_STOP, "polarity",
      mild
          ? _("It is protected against this, but it does not work so.")
          : _("Electronics that are fed the wrong way round are destroyed within a second, and can "
              "smoke."),
      _("Find where + and - change places on the way from the supply, and turn that plug or lead "
        "round."));
  LoomFinding names = {0};
  guint ends = place_group(s, &names, group, n);
  loom_finding_where(&names, ends);
  f->message =
      g_strdup_printf(ngettext("%s gets %.3g V the wrong way round: + is on the - side.",
                               "%s get %.3g V the wrong way round: + is on the - side.", ends),
                      names.where, fabs(group->volts));
  guint crossed = blame_swap(s, f, group->load);
  f->where = crossed ? NULL : g_strdup(names.where);
  if (crossed)
    loom_finding_where(f, MIN(crossed, 2u));
  place_group(s, f, group, n);
  loom_finding_clear(&names);
}

static void
polarity_in(LoomScenery *s)
{
  guint n;
  g_autofree LoomSupply **supplies = loom_scenery_supplies(s, &n);
  GArray *all = g_array_new(FALSE, FALSE, sizeof(Trouble));
  for (guint i = 0; i < s->desk->n_loads; i++) {
    const LoomLoad *load = &s->loads[i];
    bool survives = load->e->reverse_survives;
    double volts = 0;
    for (guint k = 0; k < n && !(volts < -0.1); k++)
      loom_supply_volts(supplies[k], load->a, load->b, &volts, NULL, NULL);
    if (volts < -0.1 && (!survives || (!is_motor(load) && has_polarity(s, load))))
      add_trouble(s, all, load, volts, 0, survives);
  }
  report_groups(s, all, report_swap);
}

void
loom_rule_polarity(LoomDesk *desk)
{
  loom_desk_each_scene(desk, polarity_in);
}

/* ---- too many volts ---- */

/* Greatest voltage over the load, whichever way round. */
static double
most_V(const LoomScenery *s, const LoomSupply *supply, const LoomLoad *load, double *nominal_V)
{
  guint a, b;
  double nominal, high;
  fed_between(s, load, &a, &b);
  *nominal_V = 0;
  if (!loom_supply_ruling_volts(supply, a, b, &nominal, &high))
    return 0;
  *nominal_V = fabs(nominal);
  return fabs(high);
}

/* Motors stand more than they are made for, for a while; electronics do not. */
static bool
above(const LoomLoad *load, double most, double nominal)
{
  return is_motor(load) ? nominal > 1.001 * load->e->max_V : most > 1.001 * load->e->max_V;
}

static void
report_over(LoomScenery *s, const Trouble *group, guint n)
{
  bool mild = all_mild(group, n);
  LoomFinding *f = loom_scenery_find(
      s, mild ? LOOM_CARE : LOOM_STOP, "over-voltage",
      mild ? _("A motor with too high a voltage runs too fast, gets hot and wears out.")
           : _("Too high a voltage destroys the part, and can make it smoke."),
      _("Feed it from a supply or a step-down converter with the voltage that it is made for."));
  double most = 0, bears = INFINITY;
  for (guint i = 0; i < n; i++) {
    most = fmax(most, group[i].volts);
    bears = fmin(bears, group[i].bound);
  }
  guint ends = place_group(s, f, group, n);
  loom_finding_where(f, ends);
  f->message =
      ends == 1 ? g_strdup_printf(_("%s gets up to %.3g V, and stands %.3g V at most."), f->where,
                                  most, bears)
                : g_strdup_printf(_("%s get up to %.3g V, and the weakest stands %.3g V at most."),
                                  f->where, most, bears);
}

static void
over_in(LoomScenery *s)
{
  guint n;
  g_autofree LoomSupply **supplies = loom_scenery_supplies(s, &n);
  GArray *all = g_array_new(FALSE, FALSE, sizeof(Trouble));
  for (guint i = 0; i < s->desk->n_loads; i++) {
    const LoomLoad *load = &s->loads[i];
    for (guint k = 0; k < n; k++) {
      double nominal, most = most_V(s, supplies[k], load, &nominal);
      if (!above(load, most, nominal))
        continue;
      add_trouble(s, all, load, most, load->e->max_V,
                  is_motor(load) && nominal <= 2 * load->e->max_V);
      break;
    }
  }
  report_groups(s, all, report_over);
}

void
loom_rule_over_voltage(LoomDesk *desk)
{
  loom_desk_each_sound_scene(desk, over_in);
}

/* ---- too few volts ---- */

static double
needed_V(const LoomElement *e)
{
  double least = isnan(e->min_V) ? 0 : e->min_V;
  return isnan(e->lockout_V) ? least : fmax(least, e->lockout_V);
}

static void
report_under(LoomScenery *s, const Trouble *group, guint n)
{
  LoomFinding *f = loom_scenery_find(
      s, LOOM_CARE, "under-voltage",
      _("Below its lowest voltage a part does not wake, or resets at the first load."),
      _("Feed it from a supply with the voltage that it is made for."));
  double needs = 0;
  for (guint i = 0; i < n; i++)
    needs = fmax(needs, group[i].bound);
  guint ends = place_group(s, f, group, n);
  loom_finding_where(f, ends);
  f->message = ends == 1 ? g_strdup_printf(_("%s gets %.3g V, and it needs %.3g V."), f->where,
                                           group->volts, needs)
                         : g_strdup_printf(_("%s get %.3g V, and need up to %.3g V."), f->where,
                                           group->volts, needs);
}

static void
under_in(LoomScenery *s)
{
  GArray *all = g_array_new(FALSE, FALSE, sizeof(Trouble));
  for (guint i = 0; i < s->desk->n_loads; i++) {
    const LoomLoad *load = &s->loads[i];
    double volts;
    if (is_motor(load) || !loom_supply_ruling_volts(s->closed, load->a, load->b, &volts, NULL))
      continue;
    double needs = needed_V(load->e);
    if (fabs(volts) > 0.1 && fabs(volts) < 0.999 * needs)
      add_trouble(s, all, load, fabs(volts), needs, false);
  }
  report_groups(s, all, report_under);
}

void
loom_rule_under_voltage(LoomDesk *desk)
{
  loom_desk_each_sound_scene(desk, under_in);
}
