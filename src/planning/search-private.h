/* The search for chains: which open ends can be reached from one end, and the best ways to another.
 *
 *   state   an open end of a class, with what each contact of the first end has come out on:
 *           a set of ways for each. State 0 is the first end itself.
 *   move    from a state through a step of the pieces to another state
 *
 *   1. loom_search_new spreads from the first end, layer by layer, up to LOOM_LINKUP_LONGEST
 * pieces; states in which plus and minus have met, or nothing is left, are not followed.
 *   2. loom_search_best finds, backwards and for each number of pieces left, the least cost from
 *      every state to the goal, then takes up paths in the order of cost so far plus that least
 *      cost: the first ones to arrive are the best (A* with an exact bound; only stock that runs
 * out within a chain makes a path dearer than its bound).
 *
 * A chain passes no state twice: a piece that ends where it began only makes it longer. */
#pragma once

#include "meaning.h"
#include "pieces-private.h"

G_BEGIN_DECLS

typedef struct {
  guint class; /* of the open end; LOOM_NONE: the first end, no piece has one like it */
  guint depth; /* least number of pieces */
  guint first_move, n_moves;
} LoomSearchState;

typedef struct {
  guint step, to; /* step of the pieces, state */
} LoomSearchMove;

typedef struct {
  const LoomPieces *pieces; /* borrowed */
  const LoomEnd *from;      /* borrowed */
  guint n;                  /* contacts of `from` */
  LoomMeaning means[LOOM_MOST_WAYS];
  GArray *states; /* LoomSearchState */
  GArray *moves;  /* LoomSearchMove */
  GArray *ways;   /* guint64 [n] for each state */
} LoomSearch;

/* `means` [n_contacts]. Borrows `pieces` and `from`. New. */
LoomSearch *loom_search_new(const LoomPieces *pieces, const LoomEnd *from,
                            const LoomMeaning *means);
void loom_search_free(LoomSearch *search);

const LoomSearchState *loom_search_state(const LoomSearch *search, guint state);
const guint64 *loom_search_ways(const LoomSearch *search, guint state);
/* The end that is open in the state. */
const LoomEnd *loom_search_open_end(const LoomSearch *search, guint state);
/* Whether `to`, whose contacts mean `means`, can be plugged there and everything meets its like. */
bool loom_search_is_goal(const LoomSearch *search, guint state, const LoomEnd *to,
                         const LoomMeaning *means);

/* What a chain costs, compared from the first field to the last. */
typedef struct {
  guint live_pins, joints, open_ends, to_buy;
  gint64 price;    /* in 1/10000 */
  gint64 nano_ohm; /* there and back */
} LoomChainCost;
int loom_chain_cost_compare(const LoomChainCost *a, const LoomChainCost *b);

typedef enum { LOOM_LIVE_NEITHER, LOOM_LIVE_FIRST, LOOM_LIVE_SECOND } LoomLiveSide;

typedef struct {
  const LoomEnd *to;
  const LoomMeaning *means;
  LoomLiveSide live;
  const LoomStock *stock; /* or NULL */
  GHashTable *used;       /* kind id -> count already in the design, or NULL */
  double need_A;          /* what carries less is weak; NAN: not known */
  double hot;             /* what is left of the pieces' ratings at the ambient temperature */
} LoomSearchGoal;

typedef struct {
  guint n_pieces;
  const LoomPiece *pieces[LOOM_LINKUP_LONGEST];
  bool in_stock[LOOM_LINKUP_LONGEST];
  LoomChainCost cost;
} LoomChain;

/* The best chains, at most `room`, none longer than one piece more than the best; best first, those
 * with a weak place after all others.
 * Returns how many there are. */
guint loom_search_best(const LoomSearch *search, const LoomSearchGoal *goal, LoomChain *chains,
                       guint room);

/* What a piece is to cost: the team's price, otherwise the kind's; NAN unknown. */
double loom_piece_price(const LoomStock *stock, const LoomKind *kind);
/* How many of the kind are in stock and not yet in the design. */
guint loom_piece_spare(const LoomStock *stock, GHashTable *used, const LoomKind *kind);
/* What two ends add that are plugged into each other, and whether the live one shows pins. */
double loom_link_joint_ohm(const LoomEnd *a, const LoomEnd *b);
bool loom_link_live_pins(const LoomEnd *first, const LoomEnd *second, LoomLiveSide live);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomSearch, loom_search_free)

G_END_DECLS
