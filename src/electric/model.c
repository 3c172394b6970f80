#include "model.h"

#include <math.h>

#define LIMIT_SLOPE 1e-11
#define UNFED_KNEE 1e3

/* Derivative of row r by column c. */
#define J(r, c) j[(r)*model->n + (c)]

/* The equation of a current that is delivered at a voltage held, in row `row`. `excess_V` is how
 * far the voltage held lies above what there is, so 0 while it is held; `by` are its derivatives by
 * all unknowns. Held: excess = 0. At the limit: I = limit and excess >= 0. Blocked: I = 0 and
 * excess <= 0. Which one is told by I + excess against the bounds (projection, as in primal-dual
 * active sets); without current and voltage it counts as held. A limit gives way by a
 * hundred-thousand-millionth of it where all of the voltage is in excess, so that two equal ones in
 * one ring share what is in excess. */
static void
delivered(LoomModel *model, guint row, double current_A, double excess_V, const double *by,
          double *f, double *j)
{
  double pull = isinf(model->limit_A) ? 1 : model->limit_A / model->scale_V;
  double trial = current_A + pull * excess_V;
  double least = model->one_way ? 0 : -model->limit_A;
  double slack = 1e-9 * fmin(model->limit_A, 1); /* an output without load is held, not blocked */
  model->at_limit = trial > model->limit_A + slack || trial < least - slack;
  if (model->at_limit) {
    double bound = trial < least ? least : model->limit_A;
    double give = fabs(bound) > 0 ? LIMIT_SLOPE * pull : 0;
    f[row] = current_A - bound - give * excess_V;
    for (guint c = 0; c < model->n; c++)
      J(row, c) = -give * by[c];
    J(row, row) += 1;
    return;
  }
  f[row] = -excess_V;
  for (guint c = 0; c < model->n; c++)
    J(row, c) = -by[c];
}

static void
evaluate_hold(LoomModel *model, const double *v, double *f, double *j)
{
  double I = v[2];
  const double by[3] = {-1, 1, -model->ohm};
  f[0] = -I;
  f[1] = I;
  J(0, 2) = -1;
  J(1, 2) = 1;
  delivered(model, 2, I, model->volt - (v[0] - v[1]) - model->ohm * I, by, f, j);
}

/* Unknowns: out, a, b, I. What leaves at `out` is taken from a for the share of time, from b for
 * the rest. At the limit the share is what the voltages say. */
static void
evaluate_leg(LoomModel *model, const double *v, double *f, double *j)
{
  double supply_V = v[1] - v[2], I = v[3];
  const double by[4] = {-1, model->share, 1 - model->share, -model->ohm};
  model->scale_V = fmax(fabs(supply_V), 1);
  delivered(model, 3, I, v[2] + model->share * supply_V - v[0] - model->ohm * I, by, f, j);
  double share = model->share;
  if (model->at_limit && supply_V > 1e-3) {
    share = CLAMP((v[0] - v[2] + model->ohm * I) / supply_V, 0, 1);
    bool inside = share > 0 && share < 1;
    const double share_by[4] = {1 / supply_V, -share / supply_V, (share - 1) / supply_V,
                                model->ohm / supply_V};
    for (guint c = 0; inside && c < 4; c++) {
      J(1, c) += I * share_by[c];
      J(2, c) -= I * share_by[c];
    }
  }
  f[0] = -I;
  f[1] = share * I;
  f[2] = (1 - share) * I;
  J(0, 3) += -1;
  J(1, 3) += share;
  J(2, 3) += 1 - share;
}

/* Current of a constant power, and its derivative: below the knee a resistor that meets it there.
 */
static double
power_A(double watt, double V, double knee_V, double *slope)
{
  if (V >= knee_V) {
    *slope = -watt / (V * V);
    return watt / V;
  }
  *slope = watt / (knee_V * knee_V);
  return *slope * V;
}

/* What nothing supplies is a resistor, so large that it only says where its poles are. */
static double
knee_of(const LoomModel *model)
{
  return model->unfed ? UNFED_KNEE * model->knee_V : model->knee_V;
}

/* Unknowns: c, d, a, b, I. */
static void
evaluate_converter(LoomModel *model, LoomModelView view, const double *v, double *f, double *j)
{
  double out_V = v[0] - v[1], in_V = v[2] - v[3], I = v[4], slope, unit_slope;
  const double by[5] = {-1, 1, 0, 0, -model->ohm};
  delivered(model, 4, I, model->volt - out_V - model->ohm * I, by, f, j);
  double gain = view.load / model->efficiency;
  double in_A = power_A(gain * out_V * I, in_V, knee_of(model), &slope);
  double per_watt = power_A(gain, in_V, knee_of(model), &unit_slope);
  if (view.secant)
    slope = fabs(slope);
  f[0] = -I;
  f[1] = I;
  f[2] = in_A;
  f[3] = -in_A;
  J(0, 4) += -1;
  J(1, 4) += 1;
  const double in_by[5] = {per_watt * I, -per_watt * I, slope, -slope, per_watt * out_V};
  for (guint c = 0; c < 5; c++) {
    J(2, c) += in_by[c];
    J(3, c) -= in_by[c];
  }
}

static void
two_poles(LoomModel *model, double I, double slope, double *f, double *j)
{
  f[0] = I;
  f[1] = -I;
  J(0, 0) = J(1, 1) = slope;
  J(0, 1) = J(1, 0) = -slope;
}

static void
evaluate_clamp(LoomModel *model, LoomModelView view, const double *v, double *f, double *j)
{
  double V = v[0] - v[1], I = V / model->ohm, most = model->amp;
  model->at_limit = fabs(I) > most;
  if (!model->at_limit) {
    two_poles(model, I, 1 / model->ohm, f, j);
    return;
  }
  I = V > 0 ? most : -most;
  two_poles(model, I, view.secant ? I / V : 0, f, j);
}

static void
evaluate_power(LoomModel *model, LoomModelView view, const double *v, double *f, double *j)
{
  double slope, V = v[0] - v[1];
  double I = power_A(view.load * model->watt, V, knee_of(model), &slope);
  two_poles(model, I, view.secant ? fabs(slope) : slope, f, j);
}

void
loom_model_evaluate(LoomModel *model, LoomModelView view, const double *x, double *f, double *j)
{
  double v[LOOM_MODEL_MOST];
  for (guint i = 0; i < model->n; i++)
    v[i] = x[model->at[i]];
  for (guint i = 0; model->type <= LOOM_MODEL_CONVERTER && i < model->n * model->n; i++)
    j[i] = 0;
  switch (model->type) {
  case LOOM_MODEL_HOLD:
    evaluate_hold(model, v, f, j);
    break;
  case LOOM_MODEL_LEG:
    evaluate_leg(model, v, f, j);
    break;
  case LOOM_MODEL_CONVERTER:
    evaluate_converter(model, view, v, f, j);
    break;
  case LOOM_MODEL_CLAMP:
    evaluate_clamp(model, view, v, f, j);
    break;
  case LOOM_MODEL_POWER:
    evaluate_power(model, view, v, f, j);
    break;
  case LOOM_MODEL_CURRENT:
    two_poles(model, model->amp, 0, f, j);
    break;
  }
}
