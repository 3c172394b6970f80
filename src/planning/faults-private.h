/* The inside of fault finding: the sound robot, faults put into its network, what is then seen. */
#pragma once

#include "electric/circuit.h"
#include "electric/solve.h"
#include "faults.h"
#include "meter-private.h"

G_BEGIN_DECLS

#define LOOM_FAULT_CHARGE 0.5 /* of packs that are not in question */

/* A device and the channel that it is on when all is well. */
typedef struct {
  guint part, device;
  guint controller, channel; /* part, and index in its kind's channels */
} LoomAnswerer;

typedef struct {
  const LoomDesign *design;
  LoomMeterRoom meter; /* stages, wiring and touches of slips; it has no readings */
  const LoomWiring *w;
  LoomNetwork *network;
  const LoomState *heavy;   /* the scene's state in which controllers get least; NULL: none */
  LoomState *work;          /* `heavy` with the supply's switches on */
  LoomOperatingPoint *rest; /* of the sound robot, packs half full */
  guint8 *sides;            /* [n_nodes] LOOM_SIGN of the sound robot's circuits */
  LoomCircuits *inside;     /* within parts, switches as placed */
  bool *calm;   /* [n_joints] what hangs there on a controller moves its rails by next to nothing;
                   NULL: solve everything in full */
  double *stir; /* [n_branches] share of the volts there that move at most where it is opened; NULL:
                   solve everything in full */
  bool *idle;   /* [n_branches] a driver that carries next to nothing at rest; NULL as above */
  GArray *answerers;     /* LoomAnswerer */
  LoomElement cut, link; /* stand in the place of what is broken or joined */
} LoomFaultRoom;

/* What supply a circuit belongs to. */
enum { LOOM_SIGN_NONE, LOOM_SIGN_PLUS, LOOM_SIGN_MINUS, LOOM_SIGN_BOTH };

void loom_fault_room_init(LoomFaultRoom *room, const LoomDesign *design, guint scene);
/* The same with the sound robot solved and all short cuts found; its tests, without words. New. */
GArray *loom_fault_room_prepare(LoomFaultRoom *room, const LoomDesign *design, guint scene);
void loom_fault_room_clear(LoomFaultRoom *room);

/* The network with a fault in it. */
typedef struct {
  LoomNetwork network;                 /* the room's, with branches of its own */
  double *charges;                     /* [n_branches] */
  bool *dead;                          /* [n_parts] */
  guint clash_a, clash_b;              /* parts of one address; LOOM_NONE */
  guint backwards;                     /* a motor that runs backwards; LOOM_NONE */
  guint dead_controller, dead_channel; /* a dead port; LOOM_NONE */
  guint *circuit;                      /* [n_nodes] root of the node's circuit */
  guint8 *sides;                       /* [n_nodes] LOOM_SIGN by root */
  LoomOperatingPoint *rest;            /* solved at rest */
  bool restarts;
  bool *awake; /* [n_parts] has what it needs to work */
} LoomFaulty;

/* `fault` NULL: the sound robot. */
void loom_faulty_init(LoomFaulty *faulty, const LoomFaultRoom *room, const LoomFault *fault);
void loom_faulty_clear(LoomFaulty *faulty);
/* Before it is solved. */
void loom_faulty_put_in(LoomFaulty *faulty, const LoomFaultRoom *room, const LoomFault *fault);
/* `move` is of type PORT. What is wrong at the plug itself goes along, if it is `carried`. */
void loom_faulty_move_plug(LoomFaulty *faulty, const LoomFaultRoom *room, const LoomFault *move,
                           const LoomFault *carried);
/* With a plug moved into another port as well (`move`, of type PORT), at rest only. `fault` NULL:
 * nothing else is wrong. */
void loom_faulty_init_moved(LoomFaulty *faulty, const LoomFaultRoom *room, const LoomFault *fault,
                            const LoomFault *move);
/* Whether the fault lies on the supply side (see stages.h). */
bool loom_fault_in_supply(const LoomFaultRoom *room, const LoomFault *fault);

bool loom_fault_part_in_supply(const LoomFaultRoom *room, guint part);

/* Finds the calm joints with the solver of the sound robot, once it has run. */
void loom_fault_find_calm(LoomFaultRoom *room, LoomSolver *solver);
/* Potentials and sleep of the whole robot, where nothing changes but what hangs on calm joints of
 * a controller, and that draws no more than before: it is solved by itself, on rails that stay
 * where they are. One of `fault` and `move` may be NULL. NULL where that does not hold. New. */
LoomOperatingPoint *loom_fault_solve_local(const LoomFaultRoom *room, LoomFaulty *faulty,
                                           const LoomFault *fault, const LoomFault *move);
/* What opening does, by the graph and the factors of the sound robot; see fault-cut.c. */
void loom_fault_find_stir(LoomFaultRoom *room, LoomSolver *solver);
bool loom_fault_only_opens(LoomFaultType type);
/* Potentials and sleep of the whole robot, where one source feeds it: what is still fed then has no
 * less than before. NULL where that does not hold. New. */
LoomOperatingPoint *loom_fault_solve_cut(const LoomFaultRoom *room, const LoomFaulty *faulty,
                                         const LoomFault *fault);
/* Volts of a test whose joints are apart in the network; false where that does not hold. */
bool loom_fault_volts_cut(const LoomFaultRoom *room, const LoomTest *test, const LoomFault *fault,
                          const LoomNetwork *apart, double *volts);
/* The model; `local`: with the short cuts above. */
LoomFaultModel *loom_fault_model_solved(const LoomDesign *design, guint scene, bool local);

/* Outcome of a device's roll-call: 0 as it should, 1 the other way, 2 nothing, 3 + index of the
 * answerer that answers in its place. */
guint loom_faulty_answer(const LoomFaulty *faulty, const LoomFaultRoom *room, guint answerer);
/* Whether it answers, asked on that channel: 0 as it should, 1 the other way, 2 not. */
guint loom_faulty_answer_on(const LoomFaulty *faulty, const LoomFaultRoom *room, guint answerer,
                            guint channel);
/* Answerers that could answer in the place of that one, as its outcomes 3, 4, ... have them: array
 * of guint. New. */
GArray *loom_fault_rivals(const LoomFaultRoom *room, guint answerer);
/* Answerer of a device; LOOM_NONE. */
guint loom_fault_find_answerer(const LoomFaultRoom *room, guint part, guint device);
/* The sound robot's answerers. */
void loom_fault_list_answerers(LoomFaultRoom *room, const LoomFaulty *sound);
/* Fills `awake`, circuits and sides; needs `rest`. */
void loom_faulty_behave(LoomFaulty *faulty, const LoomFaultRoom *room);

/* All faults of the room: array of LoomFault, without words; priors add up to 1. New. */
GArray *loom_fault_list(const LoomFaultRoom *room);
void loom_fault_words(const LoomFaultRoom *room, LoomFault *fault);

/* Another channel of the answerer's controller, on another end that its plug fits as well as its
 * own: a free end rather than one in use. Returns the channel; LOOM_NONE. */
guint loom_fault_other_port(const LoomFaultRoom *room, const LoomAnswerer *a);
/* The wired joint at the end of a port; LOOM_NONE. */
guint loom_fault_joint_at(const LoomFaultRoom *room, guint part, guint end);
/* PORT: 0 no change, 1 it works there. */
guint loom_fault_port_outcome(const LoomFaultRoom *room, const LoomTest *test,
                              const LoomFault *fault, const LoomFaulty *faulty);

/* All tests: array of LoomTest, without words. New. */
GArray *loom_fault_tests(const LoomFaultRoom *room, const LoomFaulty *sound);
/* Volts between the test's contacts at a point; and with the joints apart that are apart for the
 * test. */
double loom_fault_volts(const LoomFaultRoom *room, const LoomTest *test,
                        const LoomOperatingPoint *point);
/* The sound robot with the joints apart; NULL where it has no operating point. New. */
LoomOperatingPoint *loom_fault_point_apart(const LoomFaultRoom *room, const LoomTest *test,
                                           const LoomFaulty *sound);
double loom_fault_volts_apart(const LoomFaultRoom *room, const LoomTest *test,
                              const LoomFault *fault, const LoomFaulty *faulty);
/* A network without dead ends. */
typedef struct {
  LoomNetwork network;
  const LoomNetwork *whole; /* borrowed */
  double *charges;          /* [network.n_branches] */
  guint *from;              /* [network.n_branches] number in the whole */
  guint n_ends;
  guint *far, *near; /* [n_ends] nodes at one potential, in the order they were taken off */
} LoomPruned;

/* Of the branches that `keep` [n_branches] says, which is changed; the probes' nodes (LOOM_NONE:
 * none) stay. `charges` [n_branches]. */
void loom_fault_prune(LoomPruned *pruned, const LoomNetwork *network, const double *charges,
                      bool *keep, guint probe_a, guint probe_b);
void loom_fault_pruned_clear(LoomPruned *pruned);
/* Potentials and sleep of the whole network; currents are those of the pruned one. New. */
LoomOperatingPoint *loom_fault_solve_pruned(const LoomPruned *pruned, const LoomState *state);

/* What the test shows. `faulty` has the fault in it (or none). */
guint loom_fault_outcome(const LoomFaultRoom *room, const LoomTest *test, const LoomFault *fault,
                         const LoomFaulty *faulty);
/* Names, keys and sentences of all tests. */
void loom_fault_all_test_words(const LoomFaultRoom *room, LoomTest *tests, guint n);

/* Words for both. "M1 (Drive left)", "W1:a and Q1:in", the same with labels. New. */
char *loom_fault_part_words(const LoomFaultRoom *room, guint part);
char *loom_fault_joint_words(const LoomFaultRoom *room, guint joint, bool labels);

G_END_DECLS
