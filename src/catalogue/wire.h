/* Wire sizes: AWG by ASTM B258 and cross-section. Resistance and ampacity are in electric/. */
#pragma once

#include <glib.h>
#include <stdbool.h>

G_BEGIN_DECLS

/* Diameter of AWG n, d = 0.127 mm * 92^((36 - n) / 39) (ASTM B258); 1/0 is 0, 2/0 is -1, ... */
double loom_awg_diameter_mm(int awg);
double loom_awg_area_mm2(int awg);
/* The AWG number nearest in area, -3 ... 36; INT_MIN where none is within 12 %. */
int loom_awg_nearest(double area_mm2);
/* "1.5 mm² (AWG 16)", or without AWG where none is near. New. */
char *loom_wire_size_text(double area_mm2);
/* The same for people: with the decimal mark of the locale. New. */
char *loom_wire_size_words(double area_mm2);
/* The standard sizes that are offered, ascending, [n] in mm². */
const double *loom_wire_sizes_mm2(guint *n);

G_END_DECLS
