/* The inside of the meter plan: situations, readings and slips on one wiring. */
#pragma once

#include "electric/solve.h"
#include "meter.h"
#include "ohms-private.h"
#include "stages-private.h"

G_BEGIN_DECLS

#define LOOM_N_METER_WHEN 5

typedef struct {
  const LoomDesign *design;
  LoomStages *stages;
  const LoomWiring *w;
  LoomMeter meter;
  LoomState *on; /* the scene's first state, with every supply switch on */
  bool *open;    /* [n_parts] the supply switches, for OFF */
  LoomOhms
      *ohms[LOOM_N_METER_WHEN]; /* as drawn, each situation; ohms are read in ON and OFF only */
  LoomPoint *powered;           /* POWERED as drawn at 50 % of charge; NULL: nothing is read then */
  double highest_V;             /* of its potentials */
  GArray *readings;             /* LoomReading */
  GArray *slips;                /* LoomSlip */
  guint *wired;                 /* [joints of the design] index in the wiring, or LOOM_NONE */
} LoomMeterRoom;

/* Touches of the situation; with the slip (NULL: as drawn). Array of LoomTouch, new. */
GArray *loom_meter_touches(const LoomMeterRoom *room, LoomMeterWhen when, const LoomSlip *slip);
/* Network of the situation with the slip; what it was made from must be freed after it. */
LoomOhms *loom_meter_ohms(const LoomMeterRoom *room, LoomMeterWhen when, const GArray *touches,
                          const LoomSlip *slip);

/* What the slip changes inside a part; `part` LOOM_NONE: nothing. */
LoomOhmsChange loom_meter_change(const LoomMeterRoom *room, const LoomSlip *slip);

/* Fills room->readings: probes, situation and check; then values; then words. */
void loom_meter_list_readings(LoomMeterRoom *room);
/* Fills room->slips, as yet unseen. */
void loom_meter_list_slips(LoomMeterRoom *room);
/* Appends every node whose contacts the slip changes. */
void loom_meter_slip_nodes(const LoomMeterRoom *room, const LoomSlip *slip, GArray *nodes);

/* Whether the slip certainly changes no potential of the powered robot: what it parts carries no
 * current, and what it joins is at one potential, or floating. Saves solving the whole network
 * again. */
bool loom_meter_idle(const LoomMeterRoom *room, const LoomSlip *slip);

guint loom_meter_node(const LoomMeterRoom *room, const LoomProbe *probe);
void loom_meter_words(const LoomMeterRoom *room, LoomReading *reading);
void loom_meter_slip_words(const LoomMeterRoom *room, LoomSlip *slip);

G_END_DECLS
