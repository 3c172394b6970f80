/* Fuses: how long they hold and when they have opened, and the wire that must outlive them.
 *
 * Opening times are the limits of ISO 8820-3 for standard blade fuses (type C, and type F alike),
 * joined by straight lines in log time over log current. Between the two limits a good fuse may
 * open. */
#pragma once

#include <glib.h>
#include <stdbool.h>

G_BEGIN_DECLS

/* Continuous current that a fuse should carry, as a share of its rating (UL practice of fuse
 * makers, from memory; NEC 210.20 comes to 80 %). */
#define LOOM_FUSE_CONTINUOUS 0.75

/* Ratings that blade fuses are made in (ISO 8820-3), ascending; [n] in A. */
const double *loom_fuse_ratings_A(guint *n);

/* Shortest time that the fuse holds `current_A`, and longest until it has opened, in s. INFINITY
 * for holds for ever (below 110 %: at least 100 h) or never opens for certain (below 135 %). Above
 * 600 % the last limits are carried on at constant I2t. NAN where either number is not positive. */
double loom_fuse_holds_s(double rated_A, double current_A);
double loom_fuse_opens_s(double rated_A, double current_A);

/* Cold resistance of a blade fuse, typical maker's figures from memory, by log interpolation. */
double loom_fuse_ohm(double rated_A);

G_END_DECLS
