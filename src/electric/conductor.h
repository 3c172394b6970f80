/* Copper conductors: resistance, what they carry, how they heat, what short current they outlive.
 */
#pragma once

#include <glib.h>
#include <stdbool.h>

G_BEGIN_DECLS

/* Greatest resistance of a flexible plain copper conductor (IEC 60228 class 5) of that size, at 20
 * °C. A size of the standard gives its table value (tolerance 1 % in size); an AWG size that is no
 * metric one, and sizes above the table, 1/58 ohm mm2/m plus 2 % for the lay of the strands (as NEC
 * chapter 9 table 8 has it); below 0.5 mm2 hook-up wire to DIN VDE 0812 where it lists the size
 * (from memory). NAN unless positive. */
double loom_conductor_ohm_per_m(double mm2);

/* R at `celsius` over R at 20 °C: 1 + 0.00393 (t - 20), IEC 60028. Good to 0.02 % up to 100 °C. */
double loom_copper_factor(double celsius);

/* Resistance of one conductor. A length of 0 is 0 ohm; NAN for negative, absurd or unknown numbers.
 */
double loom_conductor_ohm(double mm2, double length_mm, double celsius);

/* Continuous current of one insulated conductor in air at 30 °C with 70 °C (PVC) insulation, and
 * the name of the table it is from ("IEC 60364-5-52 ...") in `table`, borrowed, may be NULL. Sizes
 * between those of the table: by the power law between neighbours. */
double loom_ampacity_A(double mm2, const char **table);

/* Factors on it. Ambient: sqrt((70 - t) / (70 - 30)), 0 from 70 °C on. Bundle: loaded circuits
 * (pairs) side by side, IEC 60364-5-52 table B.52.17 row 1; 1 for 0 and 1. */
double loom_ambient_factor(double celsius);
double loom_bundle_factor(guint circuits);

/* k of I2t <= k2 S2 (IEC 60364-5-54 annex A) for copper from one temperature to another, A
 * s^1/2/mm2; 115 for PVC (70 to 160 °C). Valid up to 5 s. */
double loom_adiabatic_k(double from_C, double to_C);
#define LOOM_K_PVC 115.0
/* Longest time that the conductor takes `current_A`, from k. */
double loom_adiabatic_s(double mm2, double current_A);

G_END_DECLS
