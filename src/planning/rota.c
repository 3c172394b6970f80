#include "rota-private.h"

#include <math.h>

/* ---- the request ---- */

void
loom_rota_day_init(LoomRotaDay *day, const LoomKind *pack)
{
  *day =
      (LoomRotaDay){.pack = pack, .used = 1, .opens_min = 8 * 60, .cool_min = 30, .ready_min = 5};
}

void
loom_rota_day_clear(LoomRotaDay *day)
{
  for (guint i = 0; i < day->n_outings; i++)
    g_free(day->outings[i].name);
  g_clear_pointer(&day->outings, g_free);
  day->n_outings = 0;
}

void
loom_rota_day_add(LoomRotaDay *day, const char *name, guint start_min, guint minutes)
{
  day->outings = g_renew(LoomRotaOuting, day->outings, day->n_outings + 1);
  day->outings[day->n_outings++] = (LoomRotaOuting){g_strdup(name), start_min, minutes};
}

void
loom_rota_day_every(LoomRotaDay *day, guint first_min, guint interval_min, guint n, guint minutes)
{
  for (guint i = 0; i < n; i++)
    loom_rota_day_add(day, NULL, first_min + i * interval_min, minutes);
}

/* ---- what follows from it ---- */

static int
by_number(gconstpointer a, gconstpointer b)
{
  guint x = *(const guint *)a, y = *(const guint *)b;
  return (x > y) - (x < y);
}

static int
by_start(gconstpointer a, gconstpointer b, gpointer data)
{
  const LoomRotaDay *day = data;
  guint i = *(const guint *)a, k = *(const guint *)b;
  guint x = day->outings[i].start_min, y = day->outings[k].start_min;
  return x != y ? (x > y) - (x < y) : (i > k) - (i < k);
}

/* Outings by time; when their packs must be ready, and when they may be charged again. */
static void
set_times(LoomRotaDesk *desk)
{
  const LoomRotaDay *day = desk->day;
  guint n = day->n_outings, empty = desk->n_packs - desk->n_full;
  desk->order = g_new(guint, n + 1);
  desk->dues = g_new(guint, n + 1);
  desk->releases = g_new(guint, n + empty + 1);
  for (guint i = 0; i < n; i++)
    desk->order[i] = i;
  g_qsort_with_data(desk->order, (int)n, sizeof(guint), by_start, (gpointer)day);
  for (guint i = 0; i < empty; i++)
    desk->releases[i] = day->opens_min;
  for (guint i = 0; i < n; i++) {
    const LoomRotaOuting *outing = &day->outings[desk->order[i]];
    guint back = outing->start_min + MAX(outing->minutes, 1);
    desk->dues[i] = outing->start_min - MIN(day->ready_min, outing->start_min);
    desk->releases[empty + i] = MAX(back + day->cool_min, day->opens_min);
    desk->last_min = MAX(desk->last_min, back);
  }
  qsort(desk->releases, n + empty, sizeof(guint), by_number);
}

static void
add_option(LoomRotaType *type, guint setting, double used)
{
  const LoomChargeSetting *s = &type->charge->settings[setting];
  double hours = loom_charge_setting_hours(type->charge, setting, used);
  LoomRotaOption *option = &type->options[type->n_options++];
  *option = (LoomRotaOption){s->current_A, (guint)MAX(1, ceil(hours * 60 - 1e-6)), setting};
  type->fastest = option->minutes;
}

/* Takes `charge`. */
static LoomRotaType
new_type(LoomCharge *charge, double used)
{
  LoomRotaType type = {.charge = charge};
  for (guint i = 0; i < charge->n_settings; i++)
    if (charge->settings[i].allowed)
      add_option(&type, i, used);
  return type;
}

static bool
same_type(const LoomRotaType *a, const LoomRotaType *b)
{
  if (a->n_options != b->n_options)
    return false;
  for (guint i = 0; i < a->n_options; i++)
    if (a->options[i].current_A < b->options[i].current_A ||
        a->options[i].current_A > b->options[i].current_A)
      return false;
  return true;
}

static void
type_clear(gpointer data)
{
  LoomRotaType *type = data;
  loom_charge_free(type->charge);
  g_free(type->chargers);
}

static void
put_charger(LoomRotaType *type, guint charger)
{
  type->chargers = g_renew(guint, type->chargers, type->n_chargers + 1);
  type->chargers[type->n_chargers++] = charger;
}

/* Chargers that suit, those alike together. */
static void
set_types(LoomRotaDesk *desk)
{
  GArray *types = g_array_new(FALSE, FALSE, sizeof(LoomRotaType));
  for (guint i = 0; i < desk->day->n_chargers; i++) {
    LoomCharge *charge = loom_charge_new(desk->day->pack, desk->day->chargers[i]);
    if (charge->wrong) {
      loom_charge_free(charge);
      continue;
    }
    LoomRotaType type = new_type(charge, desk->used);
    guint at = 0;
    while (at < types->len && !same_type(&g_array_index(types, LoomRotaType, at), &type))
      at++;
    if (at == types->len)
      g_array_append_val(types, type);
    else
      type_clear(&type);
    put_charger(&g_array_index(types, LoomRotaType, at), i);
  }
  desk->n_types = types->len;
  desk->types = (LoomRotaType *)(gpointer)g_array_free(types, FALSE);
}

static void
desk_init(LoomRotaDesk *desk, const LoomRotaDay *day)
{
  *desk = (LoomRotaDesk){.day = day, .n_packs = day->n_packs, .effort = LOOM_ROTA_EFFORT};
  desk->n_full = MIN(day->n_full, day->n_packs);
  desk->used = isnan(day->used) ? 1 : CLAMP(day->used, 0, 1);
  set_times(desk);
  set_types(desk);
}

static void
desk_clear(LoomRotaDesk *desk)
{
  for (guint i = 0; i < desk->n_types; i++)
    type_clear(&desk->types[i]);
  g_free(desk->types);
  g_free(desk->order);
  g_free(desk->dues);
  g_free(desk->releases);
}

static LoomRotaProblem
problem_of(LoomRotaDesk *desk)
{
  return (LoomRotaProblem){.n_full = desk->n_full,
                           .n_types = desk->n_types,
                           .types = desk->types,
                           .more_of = LOOM_NONE,
                           .n_releases = desk->day->n_outings + desk->n_packs - desk->n_full,
                           .releases = desk->releases,
                           .n_dues = desk->day->n_outings,
                           .dues = desk->dues,
                           .effort = &desk->effort};
}

/* ---- how many are needed ---- */

/* Least value of a figure of the problem, `low` ... `high`, with which the whole day is possible;
 * it is with `high`. */
static guint
least(LoomRotaProblem *problem, guint *figure, guint low, guint high, bool *exact)
{
  while (low < high) {
    *figure = low + (high - low) / 2;
    if (loom_rota_possible(problem, exact))
      high = *figure;
    else
      low = *figure + 1;
  }
  return high;
}

/* If every pack were full in the morning. */
static guint
least_packs(LoomRotaDesk *desk, bool *exact)
{
  LoomRotaProblem p = problem_of(desk);
  guint empty = desk->n_packs - desk->n_full;
  g_autofree guint *releases = g_new(guint, p.n_dues + 1);
  for (guint i = 0, n = 0, skip = empty; i < p.n_releases; i++)
    if (skip > 0 && desk->releases[i] == desk->day->opens_min)
      skip--;
    else
      releases[n++] = desk->releases[i];
  p.releases = releases;
  p.n_releases = p.n_dues;
  return least(&p, &p.n_full, 0, p.n_dues, exact);
}

static guint
more_packs(LoomRotaDesk *desk, bool *exact)
{
  LoomRotaProblem p = problem_of(desk);
  return least(&p, &p.n_full, p.n_full, MAX(p.n_dues, p.n_full), exact) - desk->n_full;
}

static guint
more_chargers(LoomRotaDesk *desk, bool *exact)
{
  LoomRotaProblem p = problem_of(desk);
  if (desk->n_types == 0)
    return LOOM_NONE;
  p.more_of = 0;
  for (guint t = 1; t < desk->n_types; t++)
    if (desk->types[t].fastest < desk->types[p.more_of].fastest)
      p.more_of = t;
  p.n_more = p.n_releases; /* one for every charge */
  if (!loom_rota_possible(&p, exact))
    return LOOM_NONE;
  return least(&p, &p.n_more, 0, p.n_releases, exact);
}

/* ---- the rota ---- */

static char **
names_of(guint n, const char *const *names, const char *word)
{
  char **copy = g_new0(char *, n + 1);
  for (guint i = 0; i < n; i++)
    copy[i] = names ? g_strdup(names[i]) : g_strdup_printf("%s %u", word, i + 1);
  return copy;
}

LoomRota *
loom_rota_new(const LoomRotaDay *day)
{
  LoomRotaDesk desk;
  desk_init(&desk, day);
  LoomRota *rota = g_new0(LoomRota, 1);
  rota->proven = true;
  rota->n_packs = day->n_packs;
  rota->n_chargers = day->n_chargers;
  rota->packs = names_of(day->n_packs, day->names, "pack");
  rota->chargers = names_of(day->n_chargers, day->charger_names, "charger");
  LoomRotaProblem problem = problem_of(&desk);
  guint reach = loom_rota_reach(&problem, &rota->proven);
  bool possible = reach == problem.n_dues;
  rota->least_packs = least_packs(&desk, &rota->proven);
  rota->more_packs = possible ? 0 : more_packs(&desk, &rota->proven);
  rota->more_chargers = possible ? 0 : more_chargers(&desk, &rota->proven);
  problem.n_dues = reach;
  g_autoptr(GArray) planned = loom_rota_plan(&problem, possible, &rota->proven);
  loom_rota_live(&desk, planned, possible, rota);
  loom_rota_tell(&desk, rota);
  desk_clear(&desk);
  return rota;
}

void
loom_rota_free(LoomRota *rota)
{
  if (!rota)
    return;
  for (guint i = 0; i < rota->n_uses; i++)
    g_free(rota->uses[i].name);
  g_free(rota->uses);
  g_free(rota->charges);
  g_free(rota->spans);
  g_strfreev(rota->packs);
  g_strfreev(rota->chargers);
  g_strfreev(rota->conflicts);
  g_strfreev(rota->notes);
  g_free(rota);
}
