/* What elements do between their nodes, and how that changes: the device models. Inside electric/
 * only.
 *
 * A device has up to four nodes and, where it holds a voltage, the current that it delivers as one
 * more unknown. Evaluated at a point it gives, for each of its unknowns in order, the current that
 * leaves the node into the device (or what is left of its own equation), and the derivatives of all
 * by all.
 *
 *   HOLD       p, m, I          V = volt - ohm I,  0 or -limit... I ... limit          source
 *   LEG        out, a, b, I     V(out) = V(b) + share V(ab) - ohm I                    half of a
 * driver CONVERTER  c, d, a, b, I    V(cd) = volt - ohm I; takes V(cd) I / (efficiency V(ab)) at
 * its input CLAMP      a, b             I = V / ohm, but no more than `amp` either way motor, servo
 *   POWER      a, b             I = watt / V down to knee_V, below along a straight line to 0
 *   CURRENT    a, b             I = amp whatever the voltage
 *
 * A DC motor with V = I R + k w and T = k (I - I0) (standard permanent-magnet equations) is a
 * clamp: at torque T it takes I0 + T / k once V is enough to turn it, V / R before that and when
 * stalled. A driver is two legs: the pole with the duty is joined to the supply for that share of
 * the time and to its negative side for the rest; power in equals power out plus ohm I² (averaged
 * over a period, valid while the motor current flows all the time). */
#pragma once

#include <glib.h>
#include <stdbool.h>

G_BEGIN_DECLS

typedef enum {
  LOOM_MODEL_HOLD,
  LOOM_MODEL_LEG,
  LOOM_MODEL_CONVERTER,
  LOOM_MODEL_CLAMP,
  LOOM_MODEL_POWER,
  LOOM_MODEL_CURRENT,
} LoomModelType;

enum { LOOM_MODEL_MOST = 5 };

typedef struct {
  LoomModelType type;
  guint branch; /* in the network */
  guint n;      /* unknowns below */
  guint at[LOOM_MODEL_MOST];
  guint8 pins[4]; /* which of the branch's nodes (0 a ... 3 d) each node is */
  guint slots[LOOM_MODEL_MOST * LOOM_MODEL_MOST]; /* of the derivatives in the matrix, by row */
  double volt, ohm;
  double limit_A;     /* of the current delivered; INFINITY none */
  double own_limit_A; /* before a common limit takes some of it */
  double scale_V;     /* of the voltage that it holds; LEG: of its supply */
  bool one_way;       /* delivers, but takes nothing back */
  bool at_limit;      /* as last evaluated */
  bool unfed;         /* nothing supplies what asks for power here */
  double share;       /* LEG: 0 ... 1 */
  double amp, watt;   /* what it asks for */
  double knee_V;
  double efficiency;
} LoomModel;

/* What asks for power is scaled by `load` (1: all of it). `secant`: derivatives of clamps and
 * powers are those of the line through the origin, which are never 0 or negative. */
typedef struct {
  double load;
  bool secant;
} LoomModelView;

/* `x` all unknowns with 0 for the reference at the end; `f` [n], `j` [n][n] filled. */
void loom_model_evaluate(LoomModel *model, LoomModelView view, const double *x, double *f,
                         double *j);

G_END_DECLS
