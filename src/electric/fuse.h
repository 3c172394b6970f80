/* Fuses: how long they hold, and when they have opened for certain.
 *
 * Ratings to 40 A follow the limits of ISO 8820-3 for standard blade fuses (type C; type F alike;
 * from memory but for the 135 % band), larger ones those of large blade fuses (type E, DIN
 * 72581-3). The limits are joined by straight lines in log time over log current; beyond the last
 * one I²t stays constant. A good fuse may open anywhere between the two. */
#pragma once

#include <glib.h>
#include <stdbool.h>

G_BEGIN_DECLS

/* Share of its rating that a fuse should carry for ever (practice of fuse makers after UL, from
 * memory; 125 % sizing of NEC 210.20 comes to 80 %). */
#define LOOM_FUSE_CONTINUOUS 0.75

/* Ratings that blade fuses are made in, ascending; [n] in A. */
const double *loom_fuse_ratings_A(guint *n);
/* The lowest rating that carries `load_A` in continuous use; INFINITY where none does. */
double loom_fuse_for_load_A(double load_A);

/* Time that the fuse holds at least, and within which it has opened. INFINITY: up to 110 % it holds
 * for good (100 h at least), up to 135 % it need not open. NAN where a number is not positive. */
double loom_fuse_holds_s(double rated_A, double current_A);
double loom_fuse_opens_s(double rated_A, double current_A);

/* Cold resistance of a blade fuse by typical makers' sheets, from memory; between ratings by the
 * power law of the neighbours. NAN unless positive. */
double loom_fuse_ohm(double rated_A);

G_END_DECLS
