/* The supply of a scene without solving: what feeds which contact, how, and at what nominal volts.
 *
 *   g_autoptr(LoomSupply) s = loom_supply_new(wiring, state, false);
 *   for (guint i = 0; i < loom_supply_n_reach(s, node); i++) {
 *     LoomReach r = loom_supply_reach(s, node, i);
 *     if (r.plus && !r.guarded) ...                    // live with neither fuse nor electronic
 * limit before it
 *   }
 *
 * A *feed* is an element that holds a voltage between two nodes: a source, or the output of a
 * converter whose input is alive. Drivers are no feeds: their outputs have no fixed polarity and
 * are limited. Two nodes are in one *island* where feeds tie their potentials together; across
 * islands there is no voltage to speak of, and a load whose two contacts lie in different islands
 * lacks feed or return.
 *
 * All indices are those of the wiring and of one state; nothing here points into the wiring. */
#pragma once

#include "circuit.h"

G_BEGIN_DECLS

typedef struct {
  guint part, element; /* LOOM_ELEMENT_SOURCE or LOOM_ELEMENT_CONVERTER of that part's kind */
  guint plus, minus;   /* nodes */
  double nominal_V, low_V, high_V; /* without load: at 50 %, 0 and 100 % of charge */
  double limit_A;                  /* electronic limit of its output; NAN none */
  double
      short_A;  /* what it can push into a dead short, high_V / ohm or limit_A; INFINITY unknown */
  bool pack;    /* a source that runs down */
  bool charger; /* of a charger's kind */
  bool converter;
  bool alive;     /* false: a converter whose input has no voltage or less than its lock-out */
  bool shorted;   /* both poles in one circuit (closed switches, whole fuses) */
  bool unguarded; /* a load, driver or converter draws from its + pole past no fuse and no limit */
  double fuse_mm; /* wire from its + pole to the farthest first fuse or limit; NAN: none is met */
} LoomFeed;

/* How one pole of a feed comes to a node. "Always": there is no way around. */
typedef struct {
  guint feed;
  bool plus;     /* the positive pole; otherwise the negative one */
  bool fused;    /* always through a fuse */
  bool limited;  /* always through an electronic limit: of the feed, of an end, of a group that acts
                  */
  bool guarded;  /* always through a fuse or an electronic limit */
  bool switched; /* always through a switch */
} LoomReach;

/* Feeds that tie the same nodes together twice: paralleled sources, where mismatch_V is about 0;
 * otherwise sources that work against each other. `feeds` starts with the one that closed the loop.
 * Whether it matters is for rules: a pack on its charger is such a loop too. */
typedef struct {
  guint n_feeds;
  guint *feeds;      /* [n_feeds] */
  double mismatch_V; /* nominal, around the loop */
} LoomLoop;

typedef struct LoomSupply LoomSupply;

/* `state` NULL: as placed. `closed`: every switch counts as closed, whatever the state says. New.
 */
LoomSupply *loom_supply_new(const LoomWiring *wiring, const LoomState *state, bool closed);
void loom_supply_free(LoomSupply *supply);

/* Feeds by part and element, dead ones included; [n], borrowed. */
const LoomFeed *loom_supply_feeds(const LoomSupply *supply, guint *n);
/* Loops, shorted feeds not among them; [n], borrowed. */
const LoomLoop *loom_supply_loops(const LoomSupply *supply, guint *n);

/* Poles of living feeds in the node's circuit (through closed switches and whole fuses). */
guint loom_supply_n_reach(const LoomSupply *supply, guint node);
LoomReach loom_supply_reach(const LoomSupply *supply, guint node, guint index);

/* Whether a + pole (of a feed that has no electronic limit) comes here past neither fuse nor limit.
 */
bool loom_supply_live_unguarded(const LoomSupply *supply, guint node);

/* Island of the node, or LOOM_NONE where no feed reaches it. */
guint loom_supply_island(const LoomSupply *supply, guint node);

/* No-load volts from b to a (positive where a is above b): nominal, and with every feed empty and
 * full. false, and all NAN, where a and b are not in one island. Any pointer may be NULL. */
bool loom_supply_volts(const LoomSupply *supply, guint a, guint b, double *nominal_V, double *low_V,
                       double *high_V);

/* The circuits that it stands on: through closed switches and whole fuses. Borrowed. */
const LoomCircuits *loom_supply_circuits(const LoomSupply *supply);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomSupply, loom_supply_free)

G_END_DECLS
