#include "battery.h"

#include <math.h>

static double
known(double value, double otherwise)
{
  return isnan(value) ? otherwise : value;
}

double
loom_emf_V(const LoomElement *source, double charge)
{
  double c = CLAMP(charge, 0, 1), half = source->emf_V;
  double full = known(source->emf_full_V, half), empty = known(source->emf_empty_V, half);
  return c < 0.5 ? empty + (half - empty) * 2 * c : half + (full - half) * (2 * c - 1);
}

double
loom_peukert_hours(double capacity_Ah, double rated_hours, double exponent, double current_A)
{
  return rated_hours * pow(capacity_Ah / (current_A * rated_hours), exponent);
}

double
loom_charge_rate_per_s(const LoomElement *source, double current_A, double rated_hours)
{
  double capacity_Ah = source->capacity_Ah;
  if (!(capacity_Ah > 0))
    return 0;
  double linear = current_A / capacity_Ah / 3600;
  double exponent = known(source->peukert, 1);
  if (current_A <= capacity_Ah / rated_hours || exponent <= 1)
    return linear;
  return 1 / (3600 * loom_peukert_hours(capacity_Ah, rated_hours, exponent, current_A));
}

double
loom_rated_hours(const char *chemistry)
{
  return chemistry && g_str_equal(chemistry, "lead-acid") ? 20 : 5;
}
