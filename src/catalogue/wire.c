#include "wire.h"

#include "xml.h"

#include <limits.h>
#include <math.h>

double
loom_awg_diameter_mm(int awg)
{
  return 0.127 * pow(92.0, (36.0 - awg) / 39.0);
}

double
loom_awg_area_mm2(int awg)
{
  double diameter_mm = loom_awg_diameter_mm(awg);
  return G_PI / 4.0 * diameter_mm * diameter_mm;
}

int
loom_awg_nearest(double area_mm2)
{
  int best = INT_MIN;
  double least = log(1.12);
  for (int awg = -3; awg <= 36; awg++) {
    double off = fabs(log(area_mm2 / loom_awg_area_mm2(awg)));
    if (off < least) {
      least = off;
      best = awg;
    }
  }
  return best;
}

static char *
size_with(const char *number, double area_mm2)
{
  int awg = loom_awg_nearest(area_mm2);
  if (awg == INT_MIN)
    return g_strdup_printf("%s mm²", number);
  if (awg <= 0)
    return g_strdup_printf("%s mm² (AWG %d/0)", number, 1 - awg);
  return g_strdup_printf("%s mm² (AWG %d)", number, awg);
}

char *
loom_wire_size_text(double area_mm2)
{
  g_autofree char *number = loom_number_to_text(round(area_mm2 * 100) / 100);
  return size_with(number, area_mm2);
}

char *
loom_wire_size_words(double area_mm2)
{
  g_autofree char *number = loom_number_to_words(round(area_mm2 * 100) / 100);
  return size_with(number, area_mm2);
}

const double *
loom_wire_sizes_mm2(guint *n)
{
  /* IEC 60228 from 0.5 mm²; smaller ones as sold for signal leads (common practice, no source). */
  static const double sizes[] = {0.08, 0.14, 0.22, 0.25, 0.34, 0.5,  0.75,
                                 1.0,  1.5,  2.5,  4.0,  6.0,  10.0, 16.0};
  *n = G_N_ELEMENTS(sizes);
  return sizes;
}
