/* Runs: what is laid as one line. A run goes from one fixed thing to another over any number of
 * leads and pigtails that are plugged into each other. Never leaves this room.
 *
 *    G1           W1        W2           K1
 *   [  ]=>>------(W1)--->>--(W2)----->=[   ]    from: the face of G1:out, to: of K1:power
 *                     joint                     stretches: W1, W2; joints: 3
 *    F1                   W3
 *   [  ]------->>--------(W3)---->=[ M1 ]       a lead with a free end, with other than two ends,
 *   pigtail   joint        |                    or with an end that takes two joints is a fixed
 *                          +----->=[ M2 ]       thing itself: its tag                          */
#pragma once

#include "electric/wiring.h"
#include "lanes.h"

G_BEGIN_DECLS

typedef enum {
  LOOM_STOP_FACE, /* a connector that stays where it is: the joint is there */
  LOOM_STOP_ROOT, /* where a pigtail leaves the outline */
  LOOM_STOP_TAG,  /* the tag of a lead */
} LoomStopType;

typedef struct {
  LoomStopType type;
  guint part, end;
  guint place, n_places; /* FACE: which of the joints at this end */
  LoomPoint at;          /* where the wire begins */
  int dx, dy;            /* out of the part */
} LoomStop;

/* A lead or pigtail along the run. LOOM_NONE: its tag or root. */
typedef struct {
  guint part, end_a, end_b;
} LoomStretch;

typedef struct {
  guint wired;   /* index in the wiring's joints */
  bool reversed; /* end b comes first along the run */
} LoomRunJoint;

typedef struct {
  LoomStop from, to;
  GArray *stretches; /* of LoomStretch, in order; empty: two faces plugged directly */
  GArray *joints;  /* of LoomRunJoint, in order: the first at `from` if that is a face, and so on */
  GArray *corners; /* of LoomSpot; NULL where not laid over the lanes */
  GArray *points;  /* of LoomPoint: from the first stop to the last */
  struct LoomRunGate {
    LoomSpot at;
    int dx, dy;
    guint bit; /* of a tag's gates */
  } from_gate, to_gate;
  bool wide;
} LoomRun;

/* How the leads hang together. Arrays by part, or by end in the numbering of the wiring. */
typedef struct {
  const LoomWiring *wiring;
  GPtrArray *runs; /* of LoomRun */
  bool *tag;       /* [n_parts] leads that are fixed things themselves */
  bool *hung;      /* [n_ends] connectors that stay beside a lead's tag or on a stub of pigtail */
} LoomRuns;

LoomRuns *loom_runs_new(const LoomWiring *wiring);
void loom_runs_free(LoomRuns *runs);

const LoomEnd *loom_run_kind_end(const LoomWiring *wiring, guint part, guint end);
/* End of the joint that comes first (`second` false) or second along the run. */
void loom_run_joint_end(const LoomWiring *wiring, const LoomRunJoint *joint, bool second,
                        guint *part, guint *end);

G_END_DECLS
