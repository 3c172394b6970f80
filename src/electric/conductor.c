#include "conductor.h"

#include <glib/gi18n-lib.h>
#include <math.h>

typedef struct {
  double mm2, value;
} Row;

/* IEC 60228 class 5, plain copper, ohm/km at 20 °C; 35 mm² and less. */
static const Row class_5[] = {{0.5, 39.0}, {0.75, 26.0}, {1, 19.5},  {1.5, 13.3},
                              {2.5, 7.98}, {4, 4.95},    {6, 3.30},  {10, 1.91},
                              {16, 1.21},  {25, 0.780},  {35, 0.554}};

/* DIN VDE 0812, ohm/km at 20 °C; from memory. */
static const Row hook_up[] = {{0.05, 371}, {0.08, 235}, {0.14, 138}, {0.25, 79}, {0.34, 57}};

/* A in free air at 30 °C: AWG 30, 28, 26, 24, 22 of the chassis rule, then ISO 10133 A.1 at 70 °C.
 */
static const Row ampacity[] = {{0.05093, 0.86}, {0.08098, 1.4}, {0.12876, 2.2}, {0.20474, 3.5},
                               {0.32555, 7},    {0.75, 10},     {1, 14},        {1.5, 18},
                               {2.5, 25},       {4, 35},        {6, 45},        {10, 65},
                               {16, 90},        {25, 120},      {35, 160},      {50, 210}};

static const double resistivity_ohm_mm2_per_m = 1.0 / 58.0; /* IEC 60028 */
static const double lay = 1.02;

static double
listed(const Row *rows, guint n, double mm2)
{
  for (guint i = 0; i < n; i++)
    if (fabs(mm2 - rows[i].mm2) <= 0.01 * rows[i].mm2)
      return rows[i].value;
  return NAN;
}

double
loom_conductor_ohm_per_m(double mm2)
{
  if (!(mm2 > 0) || isinf(mm2))
    return NAN;
  double per_km = listed(class_5, G_N_ELEMENTS(class_5), mm2);
  if (isnan(per_km))
    per_km = listed(hook_up, G_N_ELEMENTS(hook_up), mm2);
  return isnan(per_km) ? lay * resistivity_ohm_mm2_per_m / mm2 : per_km / 1000;
}

double
loom_copper_factor(double celsius)
{
  return 1 + 0.00393 * (celsius - 20);
}

double
loom_conductor_ohm(double mm2, double length_mm, double celsius)
{
  if (!(length_mm >= 0) || isinf(length_mm))
    return NAN;
  return loom_conductor_ohm_per_m(mm2) * length_mm / 1000 * loom_copper_factor(celsius);
}

double
loom_ampacity_A(double mm2, const char **table)
{
  if (table)
    *table = mm2 < 0.32 ? N_("chassis-wiring rule") : N_("ISO 10133 table A.1, 70 °C");
  if (!(mm2 > 0) || isinf(mm2))
    return NAN;
  guint i = 1;
  while (i + 1 < G_N_ELEMENTS(ampacity) && ampacity[i].mm2 < mm2)
    i++;
  const Row *low = &ampacity[i - 1], *high = &ampacity[i];
  double power = log(high->value / low->value) / log(high->mm2 / low->mm2);
  return low->value * pow(mm2 / low->mm2, power);
}

double
loom_ambient_factor(double celsius)
{
  if (isnan(celsius))
    return NAN;
  return celsius >= 70 ? 0 : sqrt((70 - fmax(celsius, 10)) / 40);
}

double
loom_bundle_factor(guint circuits)
{
  static const struct {
    guint circuits;
    double factor;
  } rows[] = {{1, 1},    {2, 0.80}, {3, 0.70}, {4, 0.65},  {5, 0.60},  {6, 0.57},
              {7, 0.54}, {8, 0.52}, {9, 0.50}, {12, 0.45}, {16, 0.41}, {G_MAXUINT, 0.38}};
  guint i = 0;
  while (rows[i].circuits < circuits)
    i++;
  return rows[i].factor;
}

double
loom_adiabatic_k(double from_C, double to_C)
{
  return 226 * sqrt(log(1 + (to_C - from_C) / (234.5 + from_C)));
}

double
loom_adiabatic_s(double mm2, double current_A)
{
  if (!(mm2 > 0) || isnan(current_A))
    return NAN;
  double root = LOOM_K_PVC * mm2 / current_A;
  return root * root;
}
