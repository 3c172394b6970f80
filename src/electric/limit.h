/* What can flow where, without solving: each contact, wire, switch and fuse against what guards it
 * and what is drawn beyond it.
 *
 *                 20 A                 M1 12 A
 *     pack ──── fuse ────── lead ───┬── driver          lead: guard 20 A (the fuse), draw 24 A,
 *                                   └── driver                so at most 20 A, set by the fuse
 *                                      M2 12 A
 *
 * Every switch counts as closed, every motor as stalled, every servo as stalled, every constant
 * power as drawn at the lowest voltage at which its load still works. On a bridge of the graph of
 * contacts the current is at most what the sources on one side can push through the fuses and
 * limits there, and at most what the loads on the other side can take; tree sums in both directions
 * give that for all edges in linear time. Where ways run in parallel, each is held against the
 * whole: one may be off. */
#pragma once

#include "supply.h"

G_BEGIN_DECLS

typedef enum {
  LOOM_CAUSE_NONE,   /* nothing flows here, or nothing bounds it */
  LOOM_CAUSE_FUSE,   /* part, element */
  LOOM_CAUSE_END,    /* part, index of the end: its own electronics */
  LOOM_CAUSE_GROUP,  /* part, index of the limit: a group that acts */
  LOOM_CAUSE_SOURCE, /* part, element: what the source itself can give */
  LOOM_CAUSE_LOAD,   /* part, element: of several loads, the greatest */
  LOOM_CAUSE_OUTPUT, /* part, element: limit of a driver or converter */
} LoomCauseType;

typedef struct {
  LoomCauseType type;
  guint part, index;
  bool electronic; /* electronics hold all of it; a fuse or a pack bounds no part of the sum */
} LoomCause;

/* Bounds on one current. 0 where nothing can flow; INFINITY where nothing bounds it. */
typedef struct {
  double guard_A; /* what sources push here past fuses and limits: also into a short beyond */
  double draw_A;  /* what loads beyond can take */
  double most_A;  /* the lesser; what it is held against */
  LoomCause guard, draw;
  bool parallel; /* other ways lead around it: its share of the whole is for the solver to say */
} LoomBound;

/* One load as it stands in this scene. */
typedef struct {
  guint part, element;
  double draw_A; /* at most, at its own contacts */
} LoomDraw;

typedef struct {
  guint n_touches, n_elements, n_draws, n_groups;
  LoomBound *touches;  /* [n_touches] mated contacts, by the wiring's numbering */
  guint *joint_touch;  /* [n_joints + 1] first touch of each wired joint */
  guint *part_element; /* [n_parts + 1] first element of each part, all elements numbered through */
  LoomBound *elements; /* [n_elements] wires, switches, fuses, inner joints; zero for all else */
  LoomDraw *draws;     /* [n_draws] loads, drivers, converters by part and element */
  guint *part_group;   /* [n_parts + 1] first group of each part */
  double *groups_A;    /* [n_groups] what the ends of each LoomLimit of a kind can carry together */
} LoomLimits;

/* New. */
LoomLimits *loom_limits_new(const LoomWiring *wiring);
void loom_limits_free(LoomLimits *limits);

/* Element bound of element `element` of the part. */
const LoomBound *loom_limits_element(const LoomLimits *limits, guint part, guint element);
/* Worst bound over the contacts plugged at the end; NULL where none is plugged. */
const LoomBound *loom_limits_end(const LoomLimits *limits, const LoomWiring *wiring, guint part,
                                 guint end);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomLimits, loom_limits_free)

G_END_DECLS
