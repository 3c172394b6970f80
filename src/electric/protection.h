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
 * without the way back. No more than what electronics before it let through. [n_ends] in the
 * wiring's numbering; NAN where an end has no voltage of its own. New. */
double *loom_short_currents_A(const LoomNetwork *network, const LoomLimits *limits);

typedef struct {
  guint part, element;   /* a wire */
  guint fuse_part, fuse; /* that guards it: part and element; LOOM_NONE: none */
  double fuse_A;         /* its rating; NAN none */
  double held_A;     /* what electronics before it let through; INFINITY: none are there */
  bool parallel;     /* other ways lead around the wire: what it carries is for the solver to say */
  double load_A;     /* what loads beyond the wire can draw */
  double carries_A;  /* its ampacity where it lies, with all its circuits loaded */
  const char *table; /* of the ampacity */
  double short_A;    /* prospective, at the end of the wire where it is less; NAN unknown */
  double opens_s;    /* by then the fuse has opened; INFINITY: not for certain; NAN no fuse */
  double lives_s;    /* so long the wire takes that current, at most 5 s are meant by it */
  bool fits;         /* fuse <= ampacity */
  bool allowed;      /* fuse <= 150 % of it, which 33 CFR 183.455 and ISO 13590 still allow */
  bool outlives;     /* the fuse opens in time, or the current is one that the wire carries */
  double wanted_fuse_A; /* lowest rating whose 75 % carries the load; INFINITY: none made */
  double wanted_mm2;    /* least size offered that carries that fuse and outlives it; INFINITY */
} LoomProtection;

/* Every wire that loads can draw through, by part and element; [n]. New. */
LoomProtection *loom_protections_new(const LoomNetwork *network, const LoomLimits *limits,
                                     guint *n);

G_END_DECLS
