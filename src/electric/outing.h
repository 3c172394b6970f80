/* An outing: a timeline of states on the packs of a scene, solved through time.
 *
 *   g_autoptr(LoomTrace) trace = loom_outing_run(wiring, &scene->outings[0], NULL);
 *   for (guint i = 0; i < trace->n_samples; i++) ... trace->samples[i].pack_V ...
 *
 * Charge is counted, with Peukert's correction where a pack has an exponent; the EMF falls with it;
 * wires warm up by thermal.h and their resistance follows. Steps: from the point at the beginning
 * of a step the end is foretold, solved, and corrected with the mean of both (Heun's method); the
 * difference between foretold and corrected sets the length of the next step, and a step that is
 * too long is halved. What was locked out stays so until its release voltage. */
#pragma once

#include "solve.h"

#include <gio/gio.h>

G_BEGIN_DECLS

typedef struct {
  double charge;             /* 0 ... 1 of every pack at the start */
  double tolerance;          /* of a step: share of a pack's charge, and of 100 K at a wire; 1e-5 */
  double longest_s;          /* step at most; also how far samples lie apart at most */
  GCancellable *cancellable; /* asked before each step, from whatever thread it is cancelled in;
                                borrowed, or NULL */
} LoomOutingTerms;
LoomOutingTerms loom_outing_terms(void); /* a full pack, 1e-5, 5 s */

typedef struct {
  double time_s;
  guint state;       /* index in the scene */
  double pack_V;     /* at the poles of the main pack: the one that holds most energy */
  double pack_A;     /* out of it */
  double charge_pct; /* of it */
  guint lowest_part; /* the part nearest to its lowest voltage, or furthest below; LOOM_NONE none */
  double lowest_V;   /* what it gets */
  double hottest_C;  /* wire */
} LoomSample;

typedef enum {
  LOOM_OUTING_DONE,
  LOOM_OUTING_EMPTY,     /* a pack ran out */
  LOOM_OUTING_TROUBLE,   /* a state has no operating point */
  LOOM_OUTING_NO_STATE,  /* a leg names a state that the scene does not have */
  LOOM_OUTING_CANCELLED, /* by the terms: what was run until then is there */
} LoomOutingEnd;

typedef struct {
  guint n_samples;
  LoomSample *samples; /* [n_samples] by time; two at the same time where the state changes */
  LoomOutingEnd end;
  guint leg;                   /* where it ended early */
  char *why;                   /* a sentence; NULL for LOOM_OUTING_DONE */
  double seconds;              /* how far it came */
  double lowest_V, lowest_V_s; /* of the main pack's poles, and when */
  double used_Ah;              /* out of the main pack */
  double used_pct;             /* charge of the pack that lost most */
  double per_charge; /* outings like this from full to empty; INFINITY where nothing is used */
  guint brown_part;  /* first to fall below its lowest voltage; LOOM_NONE */
  double brown_s;
  bool brown_slept;                    /* it was locked out, not merely below its rating */
  guint hottest_part, hottest_element; /* LOOM_NONE where there are no wires */
  double hottest_C, hottest_s;
  double emf_J, inner_J, taken_J; /* from EMFs; lost inside packs; in all else */
  guint steps, solutions;
} LoomTrace;

/* `terms` NULL: the usual. The wiring must outlive the call only. New. */
LoomTrace *loom_outing_run(const LoomWiring *wiring, const LoomOuting *outing,
                           const LoomOutingTerms *terms);
void loom_trace_free(LoomTrace *trace);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomTrace, loom_trace_free)

G_END_DECLS
