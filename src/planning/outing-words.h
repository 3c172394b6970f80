/* An outing told: as a paragraph, and as a table for other programs. */
#pragma once

#include "electric/outing.h"

G_BEGIN_DECLS

/* What a driver wants to know: length, charge used, lowest voltage, first brown-out, hottest wire,
 * outings per charge, and why it ended early. Sentences, a line each. New. */
char *loom_outing_summary(const LoomDesign *design, const LoomOuting *outing,
                          const LoomTrace *trace);
/* RFC 4180, a row a sample: time_s, state, pack_V, pack_A, charge_pct, lowest_part, lowest_V. New.
 */
char *loom_outing_csv(const LoomDesign *design, const LoomScene *scene, const LoomTrace *trace);

G_END_DECLS
