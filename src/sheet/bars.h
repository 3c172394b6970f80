/* Bars: a list of lines, each with a name, what it is, a bar and a number; for screen and paper.
 *
 *   F1   fuse                ...........[##]..................   0.31 V   2.4 %
 *
 * Made of a waterfall (where the volts go) or of margins (what is nearest to its limit). Lengths
 * are millimetres; the drawing fills the width it is given and adapts what it says to it. */
#pragma once

#include "electric/margins.h"
#include "electric/waterfall.h"
#include "ink.h"

G_BEGIN_DECLS

typedef struct {
  guint part;           /* that it is about; LOOM_NONE none */
  char *where;          /* "F1", "G1:out in F1:in" */
  char *what;           /* "fuse" */
  char *number, *share; /* "0.31 V", "2.4 %" */
  double from, to;      /* of the bar, 0 ... 1 of the room for it; beyond is cut off */
  double stress;        /* see LoomSheetReading; 0 where it has no limit */
  bool strong;          /* worth a look: the greatest of all, or beyond its limit */
} LoomBar;

typedef struct {
  char *heading; /* a sentence; not drawn, it goes above */
  guint n_bars;
  LoomBar *bars; /* [n_bars] */
} LoomBars;

/* On the way there and back one piece counts as one: both wires of a lead, all contacts of a
 * joint. `waterfall` NULL: the heading says that nothing flows to `load` (NULL: to anything). New.
 */
LoomBars *loom_bars_of_waterfall(const LoomNetwork *network, const LoomWaterfall *waterfall,
                                 const char *load);
/* At most `most`: what is near its limit, then currents, then voltages, each worst first. New. */
LoomBars *loom_bars_of_margins(const LoomNetwork *network, const LoomMargins *margins, guint most);
void loom_bars_free(LoomBars *bars);

double loom_bars_height_mm(const LoomBars *bars);
/* `chosen`: a bar to be lit, or LOOM_NONE. */
void loom_bars_draw(LoomInk *ink, const LoomBars *bars, double width_mm, guint chosen);
/* Top of a bar's line; the bar at that height, or LOOM_NONE. */
double loom_bars_top_mm(guint bar);
guint loom_bars_at(const LoomBars *bars, double y_mm);
/* "F1, fuse: 0.31 V, 2.4 %". New. */
char *loom_bar_text(const LoomBar *bar);

#define LOOM_BAR_ROW_MM 5.6

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomBars, loom_bars_free)

G_END_DECLS
