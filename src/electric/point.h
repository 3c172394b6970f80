/* An operating point: what flows in one state, once it has settled. */
#pragma once

#include "network.h"

G_BEGIN_DECLS

/* Why there is none. */
typedef enum {
  LOOM_TROUBLE_NONE,
  LOOM_TROUBLE_FIGURE,   /* `branch` has a figure that no such thing can have */
  LOOM_TROUBLE_SHORT,    /* `branch`, a source without inner resistance, is short-circuited */
  LOOM_TROUBLE_LOOP,     /* `branch` holds a voltage that others without resistance hold already */
  LOOM_TROUBLE_DEMAND,   /* `branch` asks for asks_W, and the supply can give gives_W at most */
  LOOM_TROUBLE_SINGULAR, /* the network has no single answer, or none was found: `branch` is there
                          */
} LoomTrouble;

/* Whether electronics with a low-voltage lock-out work. */
typedef enum {
  LOOM_AWAKE,
  LOOM_ASLEEP,  /* too little at its input */
  LOOM_CYCLING, /* too little when it works, enough when it does not: it starts again and again */
} LoomSleep;

/* Currents from the nodes into the branch; they add up to 0. */
typedef struct {
  double a_A, b_A, c_A, d_A;
} LoomCurrents;

/* Numbers of nodes are those of the wiring, of branches those of the network. Where `trouble` is
 * set there are no currents and potentials: all NAN. */
typedef struct {
  LoomTrouble trouble;
  guint branch;           /* of the trouble; LOOM_NONE */
  double asks_W, gives_W; /* DEMAND */
  guint n_nodes, n_branches;
  double *potential_V; /* [n_nodes] against its island's reference; NAN: floating */
  double *into_A;      /* [n_nodes] through its mated contacts into the part; 0 for inner nodes */
  LoomCurrents *flows; /* [n_branches] */
  LoomSleep *sleep;    /* [n_branches] */
  bool *at_limit;      /* [n_branches] an electronic limit holds the current */
  bool *held_back;     /* [n_branches] a common limit of its part holds the output lower still */
  double largest_A;
  double residual_A, bound_A; /* at the node where they are worst: sum of currents, and what it may
                                 be: the greater of 1e-9 largest_A and 16 eps sum |G||V| */
  double given_W, taken_W;    /* by branches that deliver, and by all others */
  guint iterations;
} LoomOperatingPoint;

void loom_point_free(LoomOperatingPoint *point);

/* V(a) - V(b); NAN where either floats. */
double loom_point_volts(const LoomOperatingPoint *point, guint a, guint b);
/* Power into the branch; negative where it delivers. 0 where it floats. */
double loom_point_power_W(const LoomOperatingPoint *point, const LoomNetwork *network,
                          guint branch);
/* One sentence that says why there is no operating point. New; NULL where there is one. */
char *loom_point_why(const LoomOperatingPoint *point, const LoomNetwork *network);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomOperatingPoint, loom_point_free)

G_END_DECLS
