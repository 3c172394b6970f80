#include "thermal.h"

#include "conductor.h"

#include <math.h>

static const double copper_J_per_m3K = 3.45e6; /* IEC 60949 */

/* Heat in per metre is p0 + p1 T, out (T - ambient) / W. */
typedef struct {
  double store_J, loss_W_per_K; /* per metre and kelvin */
  double p0, p1;
} Warmth;

static Warmth
warmth_of(double mm2, double current_A)
{
  double ohm20 = loom_conductor_ohm_per_m(mm2), rated_A = loom_ampacity_A(mm2, NULL);
  double squared = current_A * current_A * ohm20;
  return (Warmth){.store_J = copper_J_per_m3K * mm2 * 1e-6,
                  .loss_W_per_K = rated_A * rated_A * ohm20 * loom_copper_factor(70) / 40,
                  .p0 = squared * (1 - 0.00393 * 20),
                  .p1 = squared * 0.00393};
}

double
loom_wire_settled_C(double mm2, double ambient_C, double current_A)
{
  Warmth w = warmth_of(mm2, current_A);
  double net = w.loss_W_per_K - w.p1;
  return net > 0 ? (w.p0 + w.loss_W_per_K * ambient_C) / net : INFINITY;
}

double
loom_wire_warmed_C(double mm2, double from_C, double ambient_C, double current_A, double seconds)
{
  Warmth w = warmth_of(mm2, current_A);
  double rate = (w.p1 - w.loss_W_per_K) / w.store_J;
  double slope = (w.p0 + w.p1 * from_C - w.loss_W_per_K * (from_C - ambient_C)) / w.store_J;
  /* T = from + slope (e^(rate t) - 1) / rate */
  return from_C +
         (fabs(rate * seconds) < 1e-9 ? slope * seconds : slope * expm1(rate * seconds) / rate);
}

double
loom_wire_time_s(double mm2)
{
  Warmth w = warmth_of(mm2, 0);
  return w.store_J / w.loss_W_per_K;
}
