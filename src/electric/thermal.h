/* How wires warm up: one heat store a wire, first order.
 *
 *     C dT/dt = I² r20 (1 + 0.00393 (T - 20)) - (T - ambient) / W         per metre
 *
 * W, the thermal resistance to the air, is what makes the wire's ampacity bring it from 30 °C to
 * its 70 °C: 40 K / (Iz² r(70)). C is that of the copper alone, 3.45e6 J/(m³ K) (IEC 60949,
 * volumetric heat capacity of copper): the insulation's is left out, so real wires warm more
 * slowly. Good for the hottest wire of an outing to some 5 K; not for shorts, where nothing leaves
 * the wire (see conductor.h). */
#pragma once

#include <glib.h>

G_BEGIN_DECLS

/* Temperature after `seconds` at a constant current. Exact for that equation; INFINITY where the
 * current is so high that it has no end and has run away. */
double loom_wire_warmed_C(double mm2, double from_C, double ambient_C, double current_A,
                          double seconds);
/* Where it ends; INFINITY where nothing ends it. */
double loom_wire_settled_C(double mm2, double ambient_C, double current_A);
/* Time constant without current, in s. */
double loom_wire_time_s(double mm2);

G_END_DECLS
