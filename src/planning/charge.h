/* Charging one pack on one charger: which settings are allowed, and how long each takes.
 *
 *   g_autoptr(LoomCharge) c = loom_charge_new(pack_kind, charger_kind);
 *   if (c->wrong)
 *     puts(c->wrong);                                  // "This charger is made for ..."
 *   else
 *     printf("%g A: about %.1f h\n", c->settings[c->gentlest].current_A, ...hours);
 *
 * Time is by the rule of the trade, hours = k C / I: the capacity C, the current I of the setting,
 * and a factor k >= 1 for what does not stay in the pack. k depends on the chemistry:
 *
 *   chemistry   k least  typical  most   source
 *   NiMH           1.1      1.4    1.6   battery distributor's charging page: hours = 1.4 C / I, up
 *                                        to 15 % less for a fast charge; 1.6: 0.1 C for 16 h, IEC
 *                                        61951-2 (from memory)
 *   Li-ion         1.0      1.2    1.5   from memory: the tail at constant voltage makes 2.5 to 3 h
 *                                        of the 2 h at 0.5 C
 *   LiFePO4        1.0      1.2    1.5   as Li-ion, from memory
 *   lead-acid     1.05      1.1    1.2   sealed lead-acid charging instructions: about 110 % of
 * what was taken out; and a tail at constant voltage of 1, 4, 5 h that no current shortens: with it
 * 0.1 C comes to the 12 to 16 h and 0.25 C to the 8 to 10 h of a charging article
 *
 * Hours are for an empty pack; the charger's own end of charge has the last word. */
#pragma once

#include "catalogue/kind.h"

G_BEGIN_DECLS

#define LOOM_CHARGE_SETTINGS 4

/* Hours = k C / I + tail; all NAN for a chemistry that is not known. */
typedef struct {
  double least, typical, most;              /* k */
  double least_tail_h, tail_h, most_tail_h; /* 0 but for lead-acid */
  const char *source;                       /* static */
} LoomChargeFactor;

LoomChargeFactor loom_charge_factor(const char *chemistry);

/* k C / I. */
double loom_charge_hours(double capacity_Ah, double current_A, double k);

/* One position of the charger's knob, or its only one. */
typedef struct {
  double current_A;
  double rate_C;                 /* current over capacity, 1/h */
  double hours, least_h, most_h; /* from empty to full: typical, and between which limits */
  double tail_h;                 /* part of `hours` that a fuller pack needs too */
  bool allowed;                  /* not above the pack's stated rate */
  bool gentle;                   /* allowed, and not above the pack's gentle rate */
  char *note; /* a sentence on this setting ("takes more than the pack may be given"), or NULL */
} LoomChargeSetting;

/* Strings are owned sentences. */
typedef struct {
  char *wrong; /* why this charger must not charge this pack, or why that cannot be told; or NULL */
  double capacity_Ah, highest_A, gentle_A; /* of the pack; NAN unknown */
  guint n_settings;
  LoomChargeSetting settings[LOOM_CHARGE_SETTINGS]; /* by current, lowest first */
  guint gentlest; /* lowest allowed setting: to be preferred; LOOM_NONE where `wrong` */
  guint fastest;  /* highest allowed setting */
} LoomCharge;

/* New; stands on its own. Where `wrong` is set no setting is allowed: the kinds are no pack and
 * charger, chemistry or number of cells differ, every setting is above the pack's stated rate, or a
 * figure is missing. */
LoomCharge *loom_charge_new(const LoomKind *pack, const LoomKind *charger);
void loom_charge_free(LoomCharge *charge);

/* Lowest allowed setting that refills `share` (0 ... 1) of the pack within `hours`; LOOM_NONE where
 * even the fastest takes longer. */
guint loom_charge_setting_within(const LoomCharge *charge, double share, double hours);
/* Typical hours that the setting needs to refill `share` of the pack; a tail is not shortened. */
double loom_charge_setting_hours(const LoomCharge *charge, guint setting, double share);

/* What this chemistry asks for when it is charged, NULL-terminated sentences; static, empty where
 * the chemistry is not known. What the kinds themselves say stands in LoomKind.advice. */
const char *const *loom_charge_cautions(const char *chemistry);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomCharge, loom_charge_free)

G_END_DECLS
