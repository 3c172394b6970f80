/* What the rules look at: every scene of the design with its circuits, supplies and limits, worked
 * out once.
 *
 *   desk ── scene 0 ── wiring, circuits, supplies of the states, limits
 *        ├─ scene 1 ── ...
 *        └─ report
 *
 * Nodes, circuits and joints are numbered by the scene's wiring; loads and outputs have one
 * numbering in all scenes. Inside rules/ only. */
#pragma once

#include "electric/graph.h"
#include "electric/limit.h"
#include "electric/operation.h"
#include "electric/supply.h"
#include "report-private.h"

G_BEGIN_DECLS

/* Something that draws current between two nodes: loads, and the inputs of drivers and converters.
 */
typedef struct {
  guint part, element;
  const LoomElement *e;
  guint a, b; /* nodes */
} LoomLoad;

/* The two driven nodes of a driver. */
typedef struct {
  guint part, element;
  const LoomElement *e;
  guint a, b;    /* its supply */
  guint pole[2]; /* its output */
} LoomOutput;

/* One node of a channel of some part. */
typedef struct {
  guint part, channel, index; /* index in the channel's nodes */
  guint node;
} LoomChannelNode;

typedef struct LoomDesk LoomDesk;

typedef struct {
  LoomDesk *desk; /* borrowed */
  guint scene;
  LoomWiring *wiring;
  LoomGraph *graph;
  LoomNetwork *network;
  const LoomOperation *full; /* what flows with full packs; NULL where nothing has been solved */
  LoomOperation *own_full, *low; /* the same if it is not borrowed; with packs nearly empty */

  guint n_states;      /* supplies of the states that differ in their switches, at least one */
  LoomSupply **states; /* [n_states] */
  guint *state_of;     /* [n_states] index of the first such state, LOOM_NONE: as placed */
  LoomSupply *closed;  /* with every switch closed; owned unless it is one of the states */
  bool closed_is_state;
  LoomCircuits *wired;  /* through joints, wires and whole fuses; no switch conducts */
  bool *signals;        /* [circuits of wired] a signal contact is in it */
  LoomCircuits *inside; /* inside the parts, every switch closed */
  LoomLimits *limits;
  bool unsound;     /* a supply is shorted or works against another: what flows then says nothing */
  bool *crossed;    /* [n_parts] a signal of it meets a supply, or its supply a signal: what else it
                       lacks follows from that. Set by the rule that says so. */
  guint *node_end;  /* [n_nodes] index of the end in its kind, LOOM_NONE for inner nodes */
  guint *seemingly; /* [circuits of closed] as if joints that do not mate conducted, way by way */
  bool *seemingly_fed; /* [circuits of closed] by those numbers: a pole of a feed, dead or alive */
  bool *patched; /* [circuits of closed] by those numbers: a joint that does not mate is in it */
  guint *pole_index; /* [2 * feeds of closed] place of the pole, 2 * feed + plus, in its circuit */
  guint *pack_at;    /* [circuits of closed] 2 * feed + plus of a pack, its + first; LOOM_NONE */
  bool *charged;     /* [circuits of closed] a pole of a charger is in it */
  bool *converted;   /* [circuits of closed] the + of a living converter is in it */
  double *plus_V;    /* [circuits of closed] highest voltage of a feed whose + is in it, 0 none */
  bool *waits;       /* [circuits of closed] the + pole of a converter that has no input */
  guint *output_at;  /* [circuits of closed] 2 * output + pole, LOOM_NONE where there is none */
  LoomLoad *loads;   /* [desk->n_loads] */
  LoomOutput *outputs;  /* [desk->n_outputs] */
  guint *channel_first; /* [circuits of wired + 1] into channels */
  LoomChannelNode *channels;
} LoomScenery;

struct LoomDesk {
  const LoomDesign *design; /* borrowed */
  LoomReport *report;       /* borrowed */
  guint n_scenes, n_parts, n_loads, n_outputs;
  LoomScenery **scenes;
  bool *fed;     /* [n_loads] in some scene */
  bool *half;    /* [n_loads] reached on one side only, in some scene */
  bool *plugged; /* [n_parts] at some end in some scene */
};

LoomDesk *loom_desk_new(const LoomDesign *design, LoomReport *report);

/* Charge at which a pack counts as nearly empty: what a robot still has to do towards the end. */
#define LOOM_LOW_CHARGE 0.2

/* Works out what flows in each sound scene. `full` [n_scenes], borrowed, of this design at full
 * charge; NULL: it is solved here. */
void loom_desk_solve(LoomDesk *desk, LoomOperation *const *full);
void loom_desk_free(LoomDesk *desk);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomDesk, loom_desk_free)

/* Looking things up. */
const LoomPart *loom_scenery_part(const LoomScenery *s, guint node);
/* NULL for inner nodes. */
const LoomEnd *loom_scenery_end(const LoomScenery *s, guint node);
const LoomContact *loom_scenery_contact(const LoomScenery *s, guint node);
/* false for inner nodes and LOOM_NONE. */
bool loom_scenery_plugged(const LoomScenery *s, guint node);
/* The contact through which the part shows `node`, of that role if there is one: LOOM_NONE where no
 * contact hangs together with it inside the part. Plugged ones go before open ones. */
guint loom_scenery_shown(const LoomScenery *s, guint node, LoomRole role);
/* "K1:power", or "K1" for what no end shows. New. */
char *loom_scenery_name(const LoomScenery *s, guint node);
/* Whether that pole of the feed comes to the node, every switch closed, and how; constant time.
 * `reach` may be NULL. */
bool loom_scenery_pole(const LoomScenery *s, guint node, guint feed, bool plus, LoomReach *reach);
/* Whether the + pole of a converter without input is in the node's circuit. */
bool loom_scenery_waits(const LoomScenery *s, guint node);

/* Whether feeds that tie the same nodes together twice belong together: a charger and its pack,
 * rails of one part; and whether they work against each other instead of side by side. */
bool loom_loop_belongs(const LoomFeed *feeds, const LoomLoop *loop);
bool loom_loop_opposed(const LoomFeed *feeds, const LoomLoop *loop);

/* No-load volts from b to a, nominal and (may be NULL) the greatest. Where a pack lies between the
 * two nodes it rules, even with a charger on it. false where the nodes are in no common island. */
bool loom_supply_ruling_volts(const LoomSupply *supply, guint a, guint b, double *nominal_V,
                              double *high_V);

/* How a load stands between the feeds, every switch closed. */
typedef enum {
  LOOM_STANDS_FED,    /* between two nodes of one island */
  LOOM_STANDS_DRIVEN, /* at a driver's output */
  LOOM_STANDS_DEAD,   /* neither side is reached */
  LOOM_STANDS_WAITS,  /* behind a converter that has no input itself */
  LOOM_STANDS_ON_A,   /* only the positive contact is reached */
  LOOM_STANDS_ON_B,   /* only the negative contact is reached */
  LOOM_STANDS_APART,  /* between two supplies that nothing joins */
} LoomStand;

LoomStand loom_scenery_stand(const LoomScenery *s, const LoomLoad *load);
/* The supplies whose voltages count, [n]; borrowed, the array to be freed. */
LoomSupply **loom_scenery_supplies(const LoomScenery *s, guint *n);

G_END_DECLS
