#include "charge.h"

#include <glib/gi18n-lib.h>
#include <math.h>

/* charging notes: the end of charge shows as a small fall of the voltage, unreliable below about
 * 0.3 C; at 0.1 C an overcharge does no harm. */
#define NIMH_TOO_SLOW_TO_SEE 0.3
#define NIMH_HARMLESS 0.1

static const struct {
  const char *chemistry;
  LoomChargeFactor factor;
  const char *cautions[5]; /* NULL-terminated */
} chemistries[] = {
    {"NiMH",
     {1.1, 1.4, 1.6, 0, 0, 0, "battery distributor's charging page; IEC 61951-2 (from memory)"},
     /* maker manuals and charging notes, from memory; the last: common practice, no source */
     {N_("Warm at the end is normal. Hot to the hand is not: take it off and call the adult."),
      N_("A charger that stops by itself needs a pack that has cooled: a warm one stops it too "
         "early."),
      N_("Do not charge a full pack again to be sure: every overcharge ages it.")}},
    {"Li-ion",
     {1.0, 1.2, 1.5, 0, 0, 0, "from memory: 2.5 to 3 h at 0.5 C"},
     /* IEC 62133 and JEITA practice, from memory */
     {N_("Never charge it below 0 °C or above 45 °C."),
      N_("Plug in the balance lead too where pack and charger have one."),
      N_("A pack that has been run far too low is not charged again: show it to the adult.")}},
    {"LiFePO4",
     {1.0, 1.2, 1.5, 0, 0, 0, "as Li-ion, from memory"},
     {N_("Never charge it below 0 °C."),
      N_("Use the charger's LiFePO4 programme: that for other lithium packs overfills it.")}},
    {"lead-acid",
     {1.05, 1.1, 1.2, 1, 4, 5,
      "sealed lead-acid charging instructions; a lead-acid charging article"},
     /* common practice, no source; the gas: sealed lead-acid charging instructions */
     {N_("Charge it the same day: left empty it is ruined."),
      N_("Charge it where there is fresh air: it may give off hydrogen.")}},
};

LoomChargeFactor
loom_charge_factor(const char *chemistry)
{
  for (guint i = 0; chemistry && i < G_N_ELEMENTS(chemistries); i++)
    if (g_ascii_strcasecmp(chemistry, chemistries[i].chemistry) == 0)
      return chemistries[i].factor;
  return (LoomChargeFactor){NAN, NAN, NAN, NAN, NAN, NAN, NULL};
}

const char *const *
loom_charge_cautions(const char *chemistry)
{
  static const char *const none[] = {NULL};
  for (guint i = 0; chemistry && i < G_N_ELEMENTS(chemistries); i++)
    if (g_ascii_strcasecmp(chemistry, chemistries[i].chemistry) == 0)
      return chemistries[i].cautions;
  return none;
}

double
loom_charge_hours(double capacity_Ah, double current_A, double k)
{
  return k * capacity_Ah / current_A;
}

static double
capacity_of(const LoomKind *pack)
{
  for (guint i = 0; i < pack->n_elements; i++)
    if (pack->elements[i].type == LOOM_ELEMENT_SOURCE && !isnan(pack->elements[i].capacity_Ah))
      return pack->elements[i].capacity_Ah;
  return NAN;
}

/* A charger may name several, "NiMH, NiCd". */
static bool
same_chemistry(const char *of_charger, const char *of_pack)
{
  g_auto(GStrv) words = g_strsplit_set(of_charger, " ,", -1);
  for (char **w = words; *w; w++)
    if (g_ascii_strcasecmp(*w, of_pack) == 0)
      return true;
  return false;
}

static char *
cells_words(const LoomChemistry *charger)
{
  return charger->cells_min == charger->cells_max
             ? g_strdup_printf("%u", charger->cells_min)
             : g_strdup_printf(_("%u to %u"), charger->cells_min, charger->cells_max);
}

/* Why not, from what the two are; NULL where nothing speaks against it. New. */
static char *
mismatch(const LoomKind *pack, const LoomKind *charger)
{
  const LoomChemistry *p = &pack->chemistry, *c = &charger->chemistry;
  if (!p->chemistry || p->charger)
    return g_strdup_printf(_("%s is no pack that a charger of its own fills."), pack->name);
  if (!c->chemistry || !c->charger)
    return g_strdup_printf(_("%s is no charger."), charger->name);
  if (!same_chemistry(c->chemistry, p->chemistry))
    return g_strdup_printf(_("%s is made for %s and %s is %s: never put it on this charger."),
                           charger->name, c->chemistry, pack->name, p->chemistry);
  if (p->cells_max < c->cells_min || p->cells_max > c->cells_max) {
    g_autofree char *cells = cells_words(c);
    return g_strdup_printf(
        _("%s is made for %s cells and %s has %u: never put it on this charger."), charger->name,
        cells, pack->name, p->cells_max);
  }
  return NULL;
}

/* What the pack's data leave open; NULL where they are complete. New. */
static char *
gap(const LoomKind *pack, const LoomCharge *charge)
{
  if (isnan(charge->capacity_Ah))
    return g_strdup_printf(_("The data of %s do not say how much it holds."), pack->name);
  if (isnan(charge->highest_A))
    return g_strdup_printf(
        _("The data of %s do not say how fast it may be charged; its label does."), pack->name);
  if (isnan(loom_charge_factor(pack->chemistry.chemistry).typical))
    return g_strdup_printf(_("How long %s takes cannot be told: %s is not known here."), pack->name,
                           pack->chemistry.chemistry);
  return NULL;
}

static char *
setting_note(const LoomCharge *charge, const LoomChargeSetting *setting, const char *chemistry)
{
  if (!setting->allowed)
    return g_strdup_printf(_("%g A is more than this pack may be given (%g A)."),
                           setting->current_A, charge->highest_A);
  bool nimh = g_ascii_strcasecmp(chemistry, "NiMH") == 0;
  if (nimh && setting->rate_C < NIMH_TOO_SLOW_TO_SEE * (1 - 1e-9) &&
      setting->rate_C > NIMH_HARMLESS * (1 + 1e-9))
    return g_strdup_printf(_("So slow that the charger may not notice when it is full: take it off "
                             "after %.1f hours."),
                           setting->most_h);
  return NULL;
}

static void
add_setting(LoomCharge *charge, double current_A, const char *chemistry)
{
  LoomChargeFactor k = loom_charge_factor(chemistry);
  double capacity = charge->capacity_Ah;
  LoomChargeSetting *s = &charge->settings[charge->n_settings];
  s->current_A = current_A;
  s->rate_C = current_A / capacity;
  s->least_h = loom_charge_hours(capacity, current_A, k.least) + k.least_tail_h;
  s->hours = loom_charge_hours(capacity, current_A, k.typical) + k.tail_h;
  s->most_h = loom_charge_hours(capacity, current_A, k.most) + k.most_tail_h;
  s->tail_h = k.tail_h;
  s->allowed = current_A <= charge->highest_A;
  s->gentle = s->allowed && current_A <= charge->gentle_A;
  s->note = setting_note(charge, s, chemistry);
  if (s->allowed && charge->gentlest == LOOM_NONE)
    charge->gentlest = charge->n_settings;
  if (s->allowed)
    charge->fastest = charge->n_settings;
  charge->n_settings++;
}

static int
by_current(gconstpointer a, gconstpointer b)
{
  double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

static void
add_settings(LoomCharge *charge, const LoomChemistry *charger, const char *chemistry)
{
  double currents[LOOM_CHARGE_SETTINGS];
  guint n = 0;
  G_STATIC_ASSERT(G_N_ELEMENTS(charger->currents_A) == LOOM_CHARGE_SETTINGS);
  while (n < G_N_ELEMENTS(currents) && !isnan(charger->currents_A[n])) {
    currents[n] = charger->currents_A[n];
    n++;
  }
  qsort(currents, n, sizeof *currents, by_current);
  for (guint i = 0; i < n; i++)
    add_setting(charge, currents[i], chemistry);
}

LoomCharge *
loom_charge_new(const LoomKind *pack, const LoomKind *charger)
{
  LoomCharge *charge = g_new0(LoomCharge, 1);
  charge->capacity_Ah = capacity_of(pack);
  charge->highest_A = pack->chemistry.charge_max_A;
  charge->gentle_A = pack->chemistry.charge_slow_A;
  charge->gentlest = charge->fastest = LOOM_NONE;
  charge->wrong = mismatch(pack, charger);
  if (!charge->wrong)
    charge->wrong = gap(pack, charge);
  if (charge->wrong)
    return charge;
  add_settings(charge, &charger->chemistry, pack->chemistry.chemistry);
  if (charge->gentlest == LOOM_NONE)
    charge->wrong = g_strdup_printf(
        _("%s gives %g A at least, more than %s may be given (%g A)."), charger->name,
        charge->n_settings ? charge->settings[0].current_A : NAN, pack->name, charge->highest_A);
  return charge;
}

void
loom_charge_free(LoomCharge *charge)
{
  if (!charge)
    return;
  for (guint i = 0; i < charge->n_settings; i++)
    g_free(charge->settings[i].note);
  g_free(charge->wrong);
  g_free(charge);
}

double
loom_charge_setting_hours(const LoomCharge *charge, guint setting, double share)
{
  const LoomChargeSetting *s = &charge->settings[setting];
  return s->tail_h + CLAMP(share, 0, 1) * (s->hours - s->tail_h);
}

guint
loom_charge_setting_within(const LoomCharge *charge, double share, double hours)
{
  for (guint i = 0; i < charge->n_settings; i++)
    if (charge->settings[i].allowed && loom_charge_setting_hours(charge, i, share) <= hours)
      return i;
  return LOOM_NONE;
}
