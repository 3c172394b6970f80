/* Fuse and wire together, without any state: does each wire's fuse suit it?
 *
 *   load <= 75 % of the fuse, fuse <= what the wire carries         (design current, rating,
 * ampacity) fuse open before the wire is too hot: I² t <= k² S²             at the prospective
 * short current
 *
 * The prospective current of a short at a place: full packs, cold wires, every switch closed, loads
 * off; the open-circuit voltage there over the resistance seen from there (Thevenin). */
#pragma once

#include "limit.h"
#include "network.h"

G_BEGIN_DECLS

/* Prospective short-circuit current at each end, between those two of its contacts that have most
 * volts between them; of an end with a single such contact against the further pole of the sources,
 * of several at one potential the one that gives most, without the way back. No more than what
 * electronics before it let through. One set of factors
 * serves all ends; each is worked out when it is first asked for. */
typedef struct LoomShorts LoomShorts;

/* Both must outlive it. New. */
LoomShorts *loom_shorts_new(const LoomNetwork *network, const LoomLimits *limits);
void loom_shorts_free(LoomShorts *shorts);

/* NAN where the end has no voltage of its own. */
double loom_shorts_end_A(LoomShorts *shorts, guint part, guint end);
/* Of a wire the lesser and the greater of its two ends, no more than what electronics before the
 * wire let through; NAN both where nothing is known. */
void loom_shorts_wire_A(LoomShorts *shorts, guint part, guint element, double *least_A,
                        double *greatest_A);
/* All ends [n_ends] in the wiring's numbering. New. */
double *loom_short_currents_A(const LoomNetwork *network, const LoomLimits *limits);

/* Whether the fuse opens before that current has heated the wire too far (loom_adiabatic_s), or the
 * wire carries it for good. true where the current is NAN. */
bool loom_wire_outlives(double mm2, double carries_A, double fuse_A, double short_A);

typedef struct {
  guint part, element;   /* a wire */
  guint fuse_part, fuse; /* that guards it: part and element; LOOM_NONE: none */
  double fuse_A;         /* its rating; NAN none */
  double held_A;         /* what electronics before it let through; INFINITY: none are there */
  bool parallel;     /* other ways lead around the wire: what it carries is for the solver to say */
  double load_A;     /* what loads beyond the wire can draw */
  double carries_A;  /* its ampacity where it lies, with all its circuits loaded */
  const char *table; /* of the ampacity */
  double short_A;    /* prospective, at the end of the wire where it is less; NAN unknown */
  double greatest_A; /* and at the other one */
  double opens_s;    /* by then the fuse has opened; INFINITY: not for certain; NAN no fuse */
  double lives_s;    /* so long the wire takes that current, at most 5 s are meant by it */
  bool fits;         /* fuse <= ampacity */
  bool allowed;      /* fuse <= 150 % of it, which 33 CFR 183.455 and ISO 13590 still allow */
  bool outlives;     /* loom_wire_outlives at both ends */
  double wanted_fuse_A; /* lowest rating whose 75 % carries the load; INFINITY: none made */
  double wanted_mm2;    /* least size offered that carries that fuse and outlives it; INFINITY */
} LoomProtection;

/* Every wire that loads can draw through, by part and element; [n]. New. */
LoomProtection *loom_protections_new(const LoomNetwork *network, const LoomLimits *limits,
                                     guint *n);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomShorts, loom_shorts_free)

G_END_DECLS
