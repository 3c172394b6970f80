/* Readings: what flows in one state, as it is written on the sheet.
 *
 *   g_autoptr(LoomMargins) m = loom_margins_new(network, point);
 *   g_autoptr(LoomReadings) r = loom_readings_new(network, point, m, "pushing", 0.8);
 *   options.readings = r->readings;
 *   options.n_readings = r->n_readings;
 *   options.readings_caption = r->caption;
 *
 * Volts between + and - (of motors: between the poles) stand once at each joint and at each live
 * open end; amps stand on leads, and beside the volts where two parts are joined without a lead.
 * What comes near its rating says so in words: "18.2 A of 20 A", "7.1 V, needs 7 V". What floats
 * reads "off"; of a state that has no operating point there is nothing but the caption, which says
 * why. */
#pragma once

#include "draw.h"
#include "electric/margins.h"

G_BEGIN_DECLS

typedef struct {
  guint n_readings;
  LoomSheetReading *readings; /* [n_readings] for a sheet of the same revision and scene */
  bool solved;                /* false: the state has no operating point */
  char *caption;              /* "State pushing, packs 80 % charged." or why there is nothing */
} LoomReadings;

/* `margins` of the point; `state` NULL: as placed; `charge` 0 ... 1. New. */
LoomReadings *loom_readings_new(const LoomNetwork *network, const LoomOperatingPoint *point,
                                const LoomMargins *margins, const char *state, double charge);
void loom_readings_free(LoomReadings *readings);

/* "13.42 V"; "off" for NAN. New. */
char *loom_volts_text(double volt);
/* "12.3 A", "4.82 A", "82 mA"; NULL where nothing to speak of flows. New. */
char *loom_amps_text(double ampere);
/* Width of a wire's strokes for its current: 1 at about 1 A, 1.7 at 20 A and above. */
double loom_current_width(double ampere);
/* How near to the rating: load over limit. Of a lowest or highest voltage 1 at it and 0.8 where 3 %
 * are left: what is regulated stands near it for good. */
double loom_margin_stress(const LoomMargin *margin);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomReadings, loom_readings_free)

G_END_DECLS
