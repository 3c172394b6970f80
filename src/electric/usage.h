/* How a state uses each branch of a network: switches, duties, loads. Inside electric/ only.
 *
 * Settings of a state, by part and key: "on" of a switch; "load" of a motor ("free", "loaded",
 * "stalled"; free) or servo ("idle", "moving", "stalled"; idle); "torque_Nm" of a motor, which
 * means loaded with that; "duty" (-1 ... 1) of what hangs on a driver, or of the driver's own part.
 * Without a duty a driver's outputs are open. */
#pragma once

#include "network.h"

G_BEGIN_DECLS

typedef struct {
  bool open;        /* a switch that is off; an output that is not driven */
  double duty;      /* DRIVER */
  double current_A; /* MOTOR: at its torque, INFINITY stalled; SERVO, CURRENT: what it draws */
} LoomUse;

/* [n_branches]. `state` NULL: as placed, nothing driven. New. */
LoomUse *loom_uses_new(const LoomNetwork *network, const LoomState *state);

G_END_DECLS
