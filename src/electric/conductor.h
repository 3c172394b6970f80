/* Copper conductors: resistance, what they carry, what short current they outlive.
 *
 * Sizes are mm², lengths mm, temperatures °C. Every function gives NAN for a size or length that is
 * negative, zero where that means nothing, or no number. */
#pragma once

#include <glib.h>
#include <stdbool.h>

G_BEGIN_DECLS

/* Greatest resistance at 20 °C of a flexible plain copper conductor of that size. A size that
 * IEC 60228 lists (within 1 %) has its class 5 value. Hook-up wire below 0.5 mm² has that of
 * DIN VDE 0812 (from memory) where that lists the size within 1 %. Any other size, AWG above all,
 * is taken as strands: 1/58 ohm mm²/m (IEC 60028) plus 2 % for their lay, as NEC chapter 9 table 8
 * has it. */
double loom_conductor_ohm_per_m(double mm2);

/* Resistance at `celsius` over that at 20 °C: 1 + 0.00393 (t - 20), IEC 60028. Within 0.2 % of the
 * rounded factors of IEC 60228 annex B below 40 °C, within 1.5 % up to 100 °C. */
double loom_copper_factor(double celsius);

/* Resistance of one conductor; a length of 0 gives 0. */
double loom_conductor_ohm(double mm2, double length_mm, double celsius);

/* What one insulated conductor (70 °C, PVC) carries for ever in air at 30 °C. From 0.75 mm² on
 * ISO 10133 table A.1 (from memory; the same figures within 15 % as 33 CFR 183.425 at 75 °C, which
 * was seen), up to AWG 22 the chassis rule of the Handbook of Electronic Tables and Formulas;
 * between and beyond listed sizes the power law of the neighbours. `table` (may be NULL) gets the
 * name of the table, borrowed. */
double loom_ampacity_A(double mm2, const char **table);

/* What is left of it at another ambient: sqrt((70 - t) / 40), which is what the tables of
 * IEC 60364-5-52 (B.52.14) and the NEC follow; 0 from 70 °C on, never above 1.225 (10 °C). */
double loom_ambient_factor(double celsius);
/* And with that many loaded circuits (pairs) in one bundle: IEC 60364-5-52 table B.52.17 row 1, the
 * next longer row where a count is not listed. */
double loom_bundle_factor(guint circuits);

/* k in I²t <= k² S² for copper heated from one temperature to another, in A s^½/mm²
 * (IEC 60364-5-54 annex A: 226 sqrt(ln(1 + (to - from) / (234.5 + from)))). No heat leaves: valid
 * to about 5 s, on the safe side beyond. */
double loom_adiabatic_k(double from_C, double to_C);
#define LOOM_K_PVC 115.0 /* 70 to 160 °C, IEC 60364-4-43 table 43A */
/* Longest time for which a PVC-insulated conductor takes the current. INFINITY for 0 A. */
double loom_adiabatic_s(double mm2, double current_A);

G_END_DECLS
