/* What a contact stands for: its own role, or what it is joined to in the design.
 *
 *   G1:out:+  ──  W1:a:+ ~~ W1:b:+     W1:b:+ passes on what G1 gives: it means plus, and is live
 *
 * A contact that only passes on takes the meaning of its circuit: first through leads and joints,
 * then through switches and fuses too (open ones as well). Where nothing says anything, a name "+"
 * or "-" is believed; otherwise the contact means anything. */
#pragma once

#include "electric/supply.h"

G_BEGIN_DECLS

/* LOOM_MEANS_SIGNAL + LoomSignal for signals. */
typedef guint8 LoomMeaning;
enum {
  LOOM_MEANS_ANYTHING,
  LOOM_MEANS_PLUS,
  LOOM_MEANS_MINUS,
  LOOM_MEANS_POLE,
  LOOM_MEANS_SIGNAL,
};

/* The meanings of one scene. */
typedef struct LoomMeanings LoomMeanings;

LoomMeanings *loom_meanings_new(const LoomDesign *design, guint scene);
void loom_meanings_free(LoomMeanings *meanings);
const LoomWiring *loom_meanings_wiring(const LoomMeanings *meanings);

/* Of every contact of the end, into `of` [n_contacts]. */
void loom_meanings_of_end(const LoomMeanings *meanings, guint part, guint end, LoomMeaning *of);
/* Of every contact of an end of a kind that lies on the shelf. */
void loom_meanings_of_kind(const LoomKind *kind, guint end, LoomMeaning *of);

/* What feeds the end when every switch is closed. */
typedef struct {
  bool live;    /* a + pole that no electronics limit comes here */
  bool fed;     /* a + pole of any kind comes here */
  bool charger; /* only chargers' */
} LoomFed;
LoomFed loom_meanings_fed(const LoomMeanings *meanings, guint part, guint end);
/* Whether the end of the kind gives a supply out itself. */
LoomFed loom_meanings_kind_feeds(const LoomKind *kind, guint end);

/* How well two ends go together whose contacts are joined as `ways` says: contact i of the first
 * comes out on the ways in the bit set ways[i] (way w is bit w - 1) and meets what `b` has there.
 */
typedef enum {
  LOOM_FITS,
  LOOM_FITS_PARTLY, /* something that both have is not joined */
  LOOM_CLASHES,     /* plus onto minus, supply onto signal, signals crossed, or a short */
} LoomFitting;

LoomFitting loom_meanings_compare(const LoomMeaning *a, const guint64 *ways, guint n,
                                  const LoomEnd *b, const LoomMeaning *of_b);

/* Whether contacts of these meanings must never be joined. */
bool loom_meanings_clash(LoomMeaning a, LoomMeaning b);

#define LOOM_MOST_WAYS 64

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomMeanings, loom_meanings_free)

G_END_DECLS
