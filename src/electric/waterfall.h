/* Where the volts go: from a source's EMF, piece by piece, to one load and back.
 *
 *     14.00 V  EMF of G1
 *     -0.94 V  G1, inner resistance        6.7 %
 *     -0.02 V  G1:out:+ and F1:in:+        0.1 %
 *     ...
 *     12.61 V  at M1
 *
 * At each node the way follows the greatest current, so where leads run in parallel it takes one of
 * them; the drops along any way are the same in sum. A driver or converter on the way counts with
 * what it takes away, duty included. EMFs less all drops is what the load has. */
#pragma once

#include "point.h"

G_BEGIN_DECLS

typedef struct {
  guint branch;     /* of the network; the source stands for its inner resistance */
  double current_A; /* along the way */
  double drop_V;
  double share_pct; /* of the EMF */
  bool back;        /* on the way back from the load */
} LoomDrop;

typedef struct {
  guint load, source; /* branches */
  double emf_V;       /* of all sources on the way */
  double load_V;
  guint n_drops;
  LoomDrop *drops; /* [n_drops] from the source to the load, then from the load back */
} LoomWaterfall;

/* For the load `branch`; NULL where it has no current, or no source is on its way. New. */
LoomWaterfall *loom_waterfall_new(const LoomNetwork *network, const LoomOperatingPoint *point, guint branch);
void loom_waterfall_free(LoomWaterfall *waterfall);

/* "inner resistance", "contact", "wire 1.5 mm² (AWG 15), 300 mm", ...: what the piece is. New. */
char *loom_drop_what(const LoomDrop *drop, const LoomNetwork *network);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomWaterfall, loom_waterfall_free)

G_END_DECLS
