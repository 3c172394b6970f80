#include "usage.h"

#include "circuit.h"

#include <math.h>

static double
number(const char *text, double otherwise)
{
  char *end = NULL;
  double value = text ? g_ascii_strtod(text, &end) : NAN;
  return text && end != text && *end == '\0' && isfinite(value) ? value : otherwise;
}

typedef struct {
  const LoomNetwork *network;
  const LoomState *state; /* or NULL */
} Settings;

static const char *
setting(const Settings *s, guint part, const char *key)
{
  return loom_state_value(s->state, loom_wiring_part(s->network->wiring, part)->designation, key);
}

/* Free running takes the no-load current, a torque T / k more, whatever the voltage. */
static double
motor_current_A(const Settings *s, const LoomBranch *b)
{
  const LoomElement *e = b->element;
  const char *load = setting(s, b->part, "load");
  double torque_Nm = number(setting(s, b->part, "torque_Nm"), NAN);
  if (load && g_str_equal(load, "stalled"))
    return INFINITY;
  if (load && g_str_equal(load, "loaded") && isnan(torque_Nm))
    torque_Nm = e->torque_Nm;
  double no_load_A = isnan(e->no_load_A) ? 0 : e->no_load_A;
  return no_load_A + (isnan(torque_Nm) ? 0 : fabs(torque_Nm) / e->volt_s_per_rad);
}

static double
servo_current_A(const Settings *s, const LoomBranch *b)
{
  const char *load = setting(s, b->part, "load");
  if (load && g_str_equal(load, "stalled"))
    return b->element->stall_A;
  if (load && (g_str_equal(load, "moving") || g_str_equal(load, "loaded")))
    return b->element->moving_A;
  return b->element->idle_A;
}

static bool
is_load(LoomElementType type)
{
  return type == LOOM_ELEMENT_RESISTOR || type == LOOM_ELEMENT_CURRENT ||
         type == LOOM_ELEMENT_POWER || type == LOOM_ELEMENT_MOTOR || type == LOOM_ELEMENT_SERVO;
}

/* Duty that is set on a load in each circuit, the greatest where several differ. */
static double *
duties_by_circuit(const Settings *s, const LoomCircuits *circuits)
{
  const LoomNetwork *n = s->network;
  double *duty = g_new0(double, circuits->n_circuits + 1);
  for (guint i = n->n_touches; i < n->n_branches; i++) {
    const LoomBranch *b = &n->branches[i];
    if (!is_load(b->element->type))
      continue;
    double set = CLAMP(number(setting(s, b->part, "duty"), 0), -1, 1);
    double *at[2] = {&duty[circuits->circuit[b->a]], &duty[circuits->circuit[b->b]]};
    for (guint k = 0; k < 2; k++)
      if (fabs(set) > fabs(*at[k]))
        *at[k] = set;
  }
  return duty;
}

static double
driver_duty(const Settings *s, const LoomBranch *b, const double *duty,
            const LoomCircuits *circuits)
{
  double own = number(setting(s, b->part, "duty"), NAN);
  if (!isnan(own))
    return CLAMP(own, -1, 1);
  double c = duty[circuits->circuit[b->c]], d = duty[circuits->circuit[b->d]];
  return fabs(c) >= fabs(d) ? c : d;
}

LoomUse *
loom_uses_new(const LoomNetwork *n, const LoomState *state)
{
  g_autoptr(LoomCircuits) circuits =
      loom_circuits_new(n->wiring, state, LOOM_THROUGH_SWITCHES | LOOM_THROUGH_FUSES);
  Settings s = {n, state};
  g_autofree double *duty = duties_by_circuit(&s, circuits);
  LoomUse *uses = g_new0(LoomUse, n->n_branches + 1);
  for (guint i = n->n_touches; i < n->n_branches; i++) {
    const LoomBranch *b = &n->branches[i];
    switch (b->element->type) {
    case LOOM_ELEMENT_SWITCH:
      uses[i].open = !loom_part_on(loom_wiring_part(n->wiring, b->part), state);
      break;
    case LOOM_ELEMENT_MOTOR:
      uses[i].current_A = motor_current_A(&s, b);
      break;
    case LOOM_ELEMENT_SERVO:
      uses[i].current_A = servo_current_A(&s, b);
      break;
    case LOOM_ELEMENT_CURRENT:
      uses[i].current_A = b->element->current_A;
      break;
    case LOOM_ELEMENT_DRIVER:
      uses[i].duty = driver_duty(&s, b, duty, circuits);
      uses[i].open = fabs(uses[i].duty) < 1e-9;
      break;
    default:
      break;
    }
  }
  return uses;
}
