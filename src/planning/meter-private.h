/* The inside of the meter plan: situations, readings and slips on one wiring. */
#pragma once

#include "electric/solve.h"
#include "meter.h"
#include "ohms-private.h"
#include "stages-private.h"

G_BEGIN_DECLS

#define LOOM_N_METER_WHEN 5

/* Parts that are plugged together, one through another, are one robot: a slip is nothing to the
 * next. So each slip is put into a wiring of its own robot, however many others there are. */
typedef struct {
  guint *of;           /* [n_parts] number of the robot */
  guint *part, *joint; /* [n_parts], [n_joints] numbers in the robot's own wiring */
  guint n;
  LoomWiring **wirings; /* [n] of those that have a slip; NULL: none */
  LoomState **on;       /* [n] the room's state, with the robot's settings only; strings borrowed */
} LoomMeterRobots;

/* Which slips change nothing while powered: see loom_meter_idle. */
typedef struct {
  guint *parent, *witness; /* [n_nodes] floating pieces as drawn */
  bool *matters;           /* [n_parts] feeds something, or is measured */
  GHashTable *drawn;       /* pairs of nodes that touch -> number of the touch + 1 */
} LoomMeterCalm;

typedef struct {
  const LoomDesign *design;
  LoomStages *stages;
  const LoomWiring *w;
  LoomMeter meter;
  LoomState *on; /* the scene's first state, with every supply switch on */
  bool *open;    /* [n_parts] the supply switches, for OFF */
  LoomOhms
      *ohms[LOOM_N_METER_WHEN]; /* as drawn, each situation; ohms are read in ON and OFF only */
  LoomOperatingPoint *powered;  /* POWERED as drawn at 50 % of charge; NULL: nothing is read then */
  double highest_V;             /* of its potentials */
  LoomMeterRobots robots;       /* while slips are looked for */
  LoomMeterCalm calm;           /* the same, where `powered` has an answer */
  GArray *readings;             /* LoomReading */
  GArray *slips;                /* LoomSlip */
  guint *wired;                 /* [joints of the design] index in the wiring, or LOOM_NONE */
  guint *first_touch;           /* [n_joints + 1] of each joint in the wiring's touches */
} LoomMeterRoom;

/* `readings` and `slips` are empty afterwards; clearing leaves them to the caller. */
void loom_meter_room_init(LoomMeterRoom *room, const LoomDesign *design, guint scene,
                          const LoomMeter *meter);
void loom_meter_room_clear(LoomMeterRoom *room);

/* The state (NULL: none) with every switch of the supply on. New. */
LoomState *loom_meter_state_on(const LoomMeterRoom *room, const LoomState *state);

/* Touches of the situation; with the slip (NULL: as drawn). Array of LoomTouch, new. */
GArray *loom_meter_touches(const LoomMeterRoom *room, LoomMeterWhen when, const LoomSlip *slip);
/* Appends the touches that the slip puts in place of those of its own joints. */
void loom_meter_slip_touches(const LoomMeterRoom *room, LoomMeterWhen when, const LoomSlip *slip,
                             GArray *touches);
/* Joints of the wiring whose touches the slip may take away. Array of guint, new. */
GArray *loom_meter_slip_joints(const LoomMeterRoom *room, const LoomSlip *slip);
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

bool loom_meter_has(const LoomMeterRoom *room, LoomMeterWhen when);

/* Splits the room's slips and parts up into robots. */
void loom_meter_robots_init(LoomMeterRoom *room);
void loom_meter_robots_clear(LoomMeterRobots *robots);
/* Number of the robot that the slip is on. */
guint loom_meter_robot_of_slip(const LoomMeterRoom *room, const LoomSlip *slip);

/* The solver on the network of a situation. */
typedef struct {
  guint robot;           /* whose network it is; LOOM_NONE: that of all */
  LoomWiring wiring;     /* the robot's or the room's, with touches of its own */
  LoomElement voltmeter; /* where the meter is put in */
  GArray *touches;
  LoomNetwork *network;
  LoomSolver *solver;
  LoomOperatingPoint *point; /* of the last run; NULL: none */
} LoomMeterBench;

/* With a slip, its robot only; NULL: everything, as drawn. */
void loom_meter_bench_init(LoomMeterBench *bench, const LoomMeterRoom *room, LoomMeterWhen when,
                           const LoomSlip *slip);
/* Number in the bench's wiring of the contact that the probe is on. */
guint loom_meter_bench_node(const LoomMeterBench *bench, const LoomMeterRoom *room,
                            const LoomProbe *probe);
/* Puts the meter between the probes, as the resistor that it is. */
void loom_meter_bench_put(LoomMeterBench *bench, const LoomMeterRoom *room,
                          const LoomReading *reading);
void loom_meter_bench_run(LoomMeterBench *bench, double charge);
void loom_meter_bench_clear(LoomMeterBench *bench);

/* What the display shows of a resistance, the probes counted; INFINITY beyond its ranges. */
double loom_meter_shown_ohms(const LoomMeter *meter, double ohm);
/* Fills in what is expected, and drops readings that have no expectation. */
void loom_meter_expect(LoomMeterRoom *room);
/* Finds for every slip the first reading that shows it. */
void loom_meter_find_slips(LoomMeterRoom *room);

/* Whether the slip certainly changes no potential of the powered robot: what it parts carries no
 * current, and what it joins is at one potential, or floating. Saves solving the whole network
 * again. */
void loom_meter_calm_init(LoomMeterRoom *room);
void loom_meter_calm_clear(LoomMeterCalm *calm);
bool loom_meter_idle(const LoomMeterRoom *room, const LoomSlip *slip);

guint loom_meter_node(const LoomMeterRoom *room, const LoomProbe *probe);
void loom_meter_words(const LoomMeterRoom *room, LoomReading *reading);
void loom_meter_slip_words(const LoomMeterRoom *room, LoomSlip *slip);

static inline LoomReading *
loom_meter_reading(const LoomMeterRoom *room, guint index)
{
  return &g_array_index(room->readings, LoomReading, index);
}

static inline bool
loom_meter_is_ohms(const LoomReading *reading)
{
  return reading->check != LOOM_CHECK_VOLTS;
}

G_END_DECLS
