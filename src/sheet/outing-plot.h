/* The curve of an outing, for screen and paper: volts of the pack and of the device that is nearest
 * to its lowest voltage, amps out of the pack, its charge, one below the other over the same time.
 *
 *        | resting |  driving        | pushing |
 *     14 |---------.______                        pack
 *   V 12 |- - - - - - - - '- - - -o . . . . .     K1     (o lowest)
 *      8 |            ________/''''
 *   A  0 |_________/
 *   %100 |------------.............______
 *        0         30 s       60 s
 *
 * A plot owns everything it draws. Lengths are millimetres from its upper left corner; it fills
 * the room that it is given, and leaves out the curve of the charge where that is low. */
#pragma once

#include "electric/outing.h"
#include "ink.h"

G_BEGIN_DECLS

typedef struct LoomOutingPlot LoomOutingPlot;

/* `design` and `scene` are those that `trace` was made of. New. */
LoomOutingPlot *loom_outing_plot_new(const LoomDesign *design, const LoomScene *scene,
                                     const LoomTrace *trace);
void loom_outing_plot_free(LoomOutingPlot *plot);

double loom_outing_plot_seconds(const LoomOutingPlot *plot);
/* `cursor_s` NAN: without a line to read values from. */
void loom_outing_plot_draw(LoomInk *ink, const LoomOutingPlot *plot, double width_mm,
                           double height_mm, double cursor_s);
/* Time at a place across, within the outing. */
double loom_outing_plot_time(const LoomOutingPlot *plot, double width_mm, double x_mm);
/* Next or (by < 0) previous sample's time. */
double loom_outing_plot_step(const LoomOutingPlot *plot, double time_s, int by);
/* Between two samples along the straight line, state and part of the one before. */
LoomSample loom_outing_plot_at(const LoomOutingPlot *plot, double time_s);
/* "62.0 s, pushing: 12.96 V, 4.31 A, charge 97.2 %, K1 gets 12.71 V". New. */
char *loom_outing_plot_text(const LoomOutingPlot *plot, double time_s);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomOutingPlot, loom_outing_plot_free)

G_END_DECLS
