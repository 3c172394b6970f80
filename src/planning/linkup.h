/* Link-ups: the leads and adaptors that join two ends which do not mate by themselves.
 *
 *   g_autoptr(LoomPieces) pieces = loom_pieces_new(catalogue, design);    // once a catalogue
 *   LoomLinkupQuestion q = { .scene = 0, .part_a = g1, .end_a = out, .part_b = k1, .end_b = power,
 *                            .current_A = NAN };
 *   g_autoptr(LoomLinkup) l = loom_linkup_new(pieces, design, stock, &q);
 *   puts(l->why);                                  // why the two do not mate
 *   LoomEdit *e = loom_edit_new(design, "Link up G1:out and K1:power");
 *   if (loom_linkup_place(e, l, 0, NULL, NULL, &error)) loom_design_apply(design, e);
 *
 *        a [s]==[p  piece 0  s]==[p  piece 1  s]==[p] b        n pieces, n + 1 joints
 *            `in'          `out'
 *
 * A piece is a kind that only conducts (wires and inner joints) with two ends or more. A chain is
 * offered only if every contact reaches, through all pieces, one of the same meaning: plus to plus,
 * minus to minus, signal to its own signal; and no two of different meaning are joined. What a
 * contact means is followed through the leads and joints of the design as it is drawn.
 *
 * At every joint the side that stays live should have sockets (the principle of IEC 60309-1 and of
 * mains plugs). Chains that keep to it come first; one that cannot (the far end has sockets itself)
 * counts its `live_pins` and says so.
 *
 * Order: what carries the current before what does not, then fewest live pins, joints, ends left
 * open, pieces to buy, price, resistance; then by kind.
 */
#pragma once

#include "offers.h"
#include "stock.h"

G_BEGIN_DECLS

#define LOOM_LINKUP_BEST 5    /* chains of catalogue pieces that are offered */
#define LOOM_LINKUP_LONGEST 6 /* pieces in a chain */

/* The kinds that can serve as pieces, indexed by what their ends mate with. Immutable. */
typedef struct LoomPieces LoomPieces;

/* Of the catalogue and, where an id is not in it, of the design; either may be NULL. New. */
LoomPieces *loom_pieces_new(const LoomCatalogue *catalogue, const LoomDesign *design);
void loom_pieces_free(LoomPieces *pieces);
guint loom_pieces_count(const LoomPieces *pieces);

typedef struct {
  guint scene;
  guint part_a, end_a, part_b, end_b;
  double current_A; /* that will flow; NAN: not known */
} LoomLinkupQuestion;

typedef enum {
  LOOM_ANSWER_PLUG,  /* they mate: no piece */
  LOOM_ANSWER_TURN,  /* a lead that is there already has to be turned round */
  LOOM_ANSWER_CHAIN, /* pieces of the catalogue */
  LOOM_ANSWER_MAKE,  /* one lead, made up to measure */
} LoomAnswer;

typedef struct {
  LoomKind *kind;        /* owned reference */
  guint in, out;         /* ends: `in` lies towards a */
  bool turned;           /* runs from a later end of the kind to an earlier one */
  bool in_stock;         /* this piece is there, others of the same kind in the chain counted */
  double rating_A;       /* of its joint towards a, its wire and inner joints; NAN unknown */
  double resistance_ohm; /* there and back: twice its worst conductor, with the joint towards a */
  double price;          /* the team's, otherwise the kind's; NAN unknown */
} LoomLinkupPiece;

typedef struct {
  LoomAnswer type;
  guint n_pieces;
  LoomLinkupPiece *pieces; /* [n_pieces] from a to b */
  char *lead;              /* TURN: designation of the lead */
  guint asked, other; /* TURN: its end that was asked for, and the one that goes there instead */
  guint n_joints;
  guint live_pins;       /* joints that have pins on the live side */
  guint open_ends;       /* ends of pieces that stay free */
  guint to_buy;          /* pieces that are not in stock */
  double rating_A;       /* of the weakest place; INFINITY where none is known */
  double resistance_ohm; /* there and back, all joints counted */
  double price;          /* of what is to buy; unknown prices count 0 */
  bool enough;           /* rating_A covers current_A; true where that is not known */
  char *sentence;        /* what to do, with designations */
  char *caution;         /* live pins, open ends, too thin; or NULL */
  guint n_crimps;        /* MAKE: */
  double current_A;      /* that it was rated for; NAN not known */
  char **crimps;         /* what to crimp, a sentence each, NULL-terminated; NULL for others */
} LoomLinkupAnswer;

typedef struct {
  char *end_a, *end_b; /* "G1:out" */
  char *why;           /* one sentence: why the two do not mate; NULL where they do */
  char *nothing;       /* what would have to exist, where no chain does; otherwise NULL */
  guint n_answers;
  LoomLinkupAnswer *answers; /* [n_answers]: PLUG, TURN, up to LOOM_LINKUP_BEST CHAINs, MAKE; then
                                in the same order those that are too weak */
} LoomLinkup;

/* `stock` may be NULL. New; stands on its own. */
LoomLinkup *loom_linkup_new(const LoomPieces *pieces, const LoomDesign *design,
                            const LoomStock *stock, const LoomLinkupQuestion *question);
void loom_linkup_free(LoomLinkup *linkup);

/* What will flow: the design is solved with the first answer in place, and the greatest current at
 * end a over all states of the scene counts, packs full. NAN where nothing flows yet, or no answer
 * can be placed. */
double loom_linkup_current_A(const LoomLinkup *linkup, const LoomDesign *design,
                             const LoomLinkupQuestion *question);
/* The answers rated for that current. New. */
LoomLinkup *loom_linkup_solved_new(const LoomPieces *pieces, const LoomDesign *design,
                                   const LoomStock *stock, const LoomLinkupQuestion *question);

/* Carries out answer `index`: places its pieces (`at` [n_pieces], NULL: free places) and plugs
 * every joint, in the `scenes` (NULL: wherever both are free). false with `error`, the edit as it
 * was. */
bool loom_linkup_place(LoomEdit *edit, const LoomLinkup *linkup, guint index, const LoomPlacing *at,
                       const char *const *scenes, GError **error);

/* Why two ends of the design do not go together, in one sentence with designations ("W3:b and W4:a
 * do not mate: both have pins ..."). Also for ends that are taken in the scene. New; NULL: they do.
 */
char *loom_linkup_why(const LoomDesign *design, guint scene, guint part_a, guint end_a,
                      guint part_b, guint end_b);

/* What every other end of the design answers to one that is dragged. */
typedef enum {
  LOOM_RING_SELF,  /* the end itself */
  LOOM_RING_TAKEN, /* no place left in the scene */
  LOOM_RING_MATES,
  LOOM_RING_PIECES, /* with `pieces` between */
  LOOM_RING_CANNOT,
  LOOM_RING_TURN, /* the other end of the lead mates: turn it round */
} LoomRingAnswer;

typedef struct {
  LoomRingAnswer answer;
  guint pieces; /* least number; 0 but for LOOM_RING_PIECES */
} LoomRing;

typedef struct {
  guint n_parts, n_ends;
  guint *part_end; /* [n_parts + 1] first end of each part */
  LoomRing *ends;  /* [n_ends] */
} LoomRings;

/* One pass over the pieces for all ends together. New. */
LoomRings *loom_linkup_rings(const LoomPieces *pieces, const LoomDesign *design, guint scene,
                             guint part, guint end);
void loom_rings_free(LoomRings *rings);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomPieces, loom_pieces_free)
G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomLinkup, loom_linkup_free)
G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomRings, loom_rings_free)

G_END_DECLS
