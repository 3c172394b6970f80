#include "rules-private.h"

#include <math.h>

/* Where people meet the load: the end that shows its positive contact. */
static guint
shown_at(const LoomScenery *s, const LoomLoad *load)
{
  guint at = loom_scenery_shown(s, load->a, LOOM_ROLE_PLUS);
  return at == LOOM_NONE ? load->a : at;
}

/* Whether it matters which way round the load is fed: contacts of the supply lead to it. */
static bool
has_polarity(const LoomScenery *s, const LoomLoad *load)
{
  guint a = loom_scenery_shown(s, load->a, LOOM_ROLE_PLUS);
  guint b = loom_scenery_shown(s, load->b, LOOM_ROLE_MINUS);
  return (a != LOOM_NONE && loom_scenery_contact(s, a)->role == LOOM_ROLE_PLUS) ||
         (b != LOOM_NONE && loom_scenery_contact(s, b)->role == LOOM_ROLE_MINUS);
}

/* The way from the load's positive contact to the negative pole that comes there. */
static void
blame_swap(LoomScenery *s, LoomFinding *f, const LoomLoad *load)
{
  guint n;
  const LoomFeed *feeds = loom_supply_feeds(s->closed, &n);
  for (guint i = 0; i < loom_supply_n_reach(s->closed, load->a); i++) {
    LoomReach r = loom_supply_reach(s->closed, load->a, i);
    if (r.plus)
      continue;
    GArray *way = loom_trace_way(s, load->a, feeds[r.feed].minus);
    guint crossed = way ? loom_trace_blame(s, f, load->a, way) : 0;
    if (way)
      g_array_free(way, TRUE);
    if (crossed)
      loom_finding_where(f, MIN(crossed, 2));
    return;
  }
}

static void
report_swap(LoomScenery *s, const LoomLoad *load, double volts)
{
  bool harms = !load->e->reverse_survives;
  guint at = shown_at(s, load);
  g_autofree char *name = loom_scenery_name(s, at);
  LoomFinding *f = loom_scenery_find(
      s, harms ? LOOM_STOP : LOOM_CARE, "polarity",
      harms ? "Electronics that are fed the wrong way round are destroyed within a second, and can "
              "smoke."
            : "It is protected against this, but it does not work so.",
      "Find where + and - change places on the way from the supply, and turn that plug or lead "
      "round.");
  blame_swap(s, f, load);
  if (!f->where) {
    loom_scenery_place(s, f, at);
    loom_finding_where(f, 1);
  }
  loom_scenery_place(s, f, at);
  f->message = g_strdup_printf("%s gets %.3g V the wrong way round: its + is on the - side.", name,
                               fabs(volts));
}

static bool
is_motor(const LoomLoad *load)
{
  return load->e->type == LOOM_ELEMENT_MOTOR;
}

static void
polarity_in(LoomScenery *s)
{
  guint n;
  g_autofree LoomSupply **supplies = loom_scenery_supplies(s, &n);
  for (guint i = 0; i < s->desk->n_loads; i++) {
    const LoomLoad *load = &s->loads[i];
    double volts;
    for (guint k = 0; k < n; k++)
      if (loom_supply_volts(supplies[k], load->a, load->b, &volts, NULL, NULL) && volts < -0.1 &&
          (!load->e->reverse_survives || (!is_motor(load) && has_polarity(s, load)))) {
        report_swap(s, load, volts);
        break;
      }
  }
}

void
loom_rule_polarity(LoomDesk *desk)
{
  loom_desk_each_scene(desk, polarity_in);
}

/* The pack, if there is one, whose two poles come to the two nodes: it rules the voltage even where
 * a charger is on it. */
static const LoomFeed *
pack_over(const LoomSupply *supply, guint a, guint b)
{
  guint n;
  const LoomFeed *feeds = loom_supply_feeds(supply, &n);
  for (guint i = 0; i < loom_supply_n_reach(supply, a); i++) {
    LoomReach x = loom_supply_reach(supply, a, i);
    for (guint k = 0; feeds[x.feed].pack && k < loom_supply_n_reach(supply, b); k++) {
      LoomReach y = loom_supply_reach(supply, b, k);
      if (x.feed == y.feed && x.plus != y.plus)
        return &feeds[x.feed];
    }
  }
  return NULL;
}

/* Greatest voltage over the load, whichever way round; at a driver's output that of its supply. */
static double
most_V(const LoomScenery *s, const LoomSupply *supply, const LoomLoad *load, double *nominal_V)
{
  const guint *circuit = loom_supply_circuits(s->closed)->circuit;
  guint at = s->output_at[circuit[load->a]];
  guint a = at == LOOM_NONE ? load->a : s->outputs[at / 2].a;
  guint b = at == LOOM_NONE ? load->b : s->outputs[at / 2].b;
  const LoomFeed *pack = pack_over(supply, a, b);
  if (pack) {
    *nominal_V = pack->nominal_V;
    return pack->high_V;
  }
  double nominal, low, high;
  if (!loom_supply_volts(supply, a, b, &nominal, &low, &high))
    return *nominal_V = 0;
  *nominal_V = fabs(nominal);
  return fmax(fabs(low), fabs(high));
}

/* Motors stand more than they are made for, for a while; electronics do not. */
static bool
above(const LoomLoad *load, double most, double nominal)
{
  return is_motor(load) ? nominal > 1.001 * load->e->max_V : most > 1.001 * load->e->max_V;
}

static void
report_over(LoomScenery *s, const LoomLoad *load, double most, double nominal)
{
  bool only_warm = is_motor(load) && nominal <= 2 * load->e->max_V;
  LoomFinding *f = loom_scenery_find(
      s, only_warm ? LOOM_CARE : LOOM_STOP, "over-voltage",
      only_warm ? "A motor with too high a voltage runs too fast, gets hot and wears out."
                : "Too high a voltage destroys the part, and can make it smoke.",
      "Feed it from a supply or a step-down converter with the voltage that it is made for.");
  loom_scenery_place(s, f, shown_at(s, load));
  loom_finding_where(f, 1);
  f->message = g_strdup_printf("%s gets up to %.3g V, and it stands %.3g V.", f->where, most,
                               load->e->max_V);
}

static void
over_in(LoomScenery *s)
{
  guint n;
  g_autofree LoomSupply **supplies = loom_scenery_supplies(s, &n);
  for (guint i = 0; i < s->desk->n_loads; i++) {
    const LoomLoad *load = &s->loads[i];
    double nominal;
    for (guint k = 0; k < n; k++) {
      double most = most_V(s, supplies[k], load, &nominal);
      if (!above(load, most, nominal))
        continue;
      report_over(s, load, most, nominal);
      break;
    }
  }
}

void
loom_rule_over_voltage(LoomDesk *desk)
{
  loom_desk_each_scene(desk, over_in);
}

static double
needed_V(const LoomElement *e)
{
  double least = isnan(e->min_V) ? 0 : e->min_V;
  return isnan(e->lockout_V) ? least : fmax(least, e->lockout_V);
}

static void
report_under(LoomScenery *s, const LoomLoad *load, double volts)
{
  LoomFinding *f = loom_scenery_find(
      s, LOOM_CARE, "under-voltage",
      "Below its lowest voltage a part does not wake, or resets at the first load.",
      "Feed it from a supply with the voltage that it is made for.");
  loom_scenery_place(s, f, shown_at(s, load));
  loom_finding_where(f, 1);
  f->message =
      g_strdup_printf("%s gets %.3g V, and it needs %.3g V.", f->where, volts, needed_V(load->e));
}

static void
under_in(LoomScenery *s)
{
  for (guint i = 0; i < s->desk->n_loads; i++) {
    const LoomLoad *load = &s->loads[i];
    double volts;
    if (is_motor(load) || !loom_supply_volts(s->closed, load->a, load->b, &volts, NULL, NULL))
      continue;
    if (fabs(volts) > 0.1 && fabs(volts) < 0.999 * needed_V(load->e))
      report_under(s, load, fabs(volts));
  }
}

void
loom_rule_under_voltage(LoomDesk *desk)
{
  loom_desk_each_scene(desk, under_in);
}
