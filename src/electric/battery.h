/* What a pack holds: its EMF by charge, and how fast charge goes. */
#pragma once

#include "catalogue/kind.h"

G_BEGIN_DECLS

/* EMF of a SOURCE at `charge` (0 ... 1, clamped): straight lines through the figures for 0, 50 and
 * 100 %. Figures that are missing are those for 50 %. */
double loom_emf_V(const LoomElement *source, double charge);

/* Charge lost per second at `current_A` out of the source, as a share of its capacity. Peukert: at
 * a current I the pack lasts C/I (I_n/I)^(k-1), where I_n is the current at which the capacity is
 * stated, taken as that of `rated_hours` (20 h for lead-acid, 5 h for NiMH and Li-ion, the usual
 * conventions of IEC 61056-1, 61951-2 and 61960). At or below I_n, and while charging, no
 * correction. 0 for a supply that does not run down. */
double loom_charge_rate_per_s(const LoomElement *source, double current_A, double rated_hours);

/* Hours that a discharge takes: H (C / (I H))^k. */
double loom_peukert_hours(double capacity_Ah, double rated_hours, double exponent,
                          double current_A);

/* Conventional hours of rating by chemistry name; 5 where it is not known. */
double loom_rated_hours(const char *chemistry);

G_END_DECLS
