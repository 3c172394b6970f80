/* How hard one must be able to pull at a crimp without the wire coming out. */
#pragma once

#include <glib.h>

G_BEGIN_DECLS

/* Least pull in newtons for a copper wire of that size; between listed sizes on the straight line,
 * NAN outside the table. Typical; the terminal maker's figure counts. */

/* Pull-out table of IEC 60352-2; values from memory; 0.05 ... 10 mm². */
double loom_crimp_pull_iec_N(double mm2);
/* UL 486A pull-out values as printed by two terminal makers (direct pull, 25.4 mm/min or held for a
 * minute); AWG 28 ... 2. */
double loom_crimp_pull_ul_N(double mm2);

G_END_DECLS
