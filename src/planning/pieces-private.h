/* Pieces: the kinds that only conduct, indexed by what their ends mate with.
 *
 *   class   ends that look alike to whatever is plugged into them: family, gender and, where a
 *           terminal may take them, the size of their wire
 *   step    from an end of one class through a piece to an end of another, with what becomes of
 * each way; all pieces that do the same lie in one step, the best ones first
 *
 * Immutable once made; indices are stable. Wires count at 20 °C. */
#pragma once

#include "linkup.h"

G_BEGIN_DECLS

typedef struct {
  const LoomKind *kind; /* held by the pieces */
  guint in, out;        /* ends */
  guint open_ends;      /* other ends, which stay free */
  double ohm;           /* of its worst conductor between the two ends */
  double rating_A;      /* of its weakest wire or inner joint at 30 °C; NAN unknown */
} LoomPiece;

typedef struct {
  guint in_class, out_class;
  guint64 *map;   /* [ways of the in family] bit w - 1: comes out on way w */
  GArray *pieces; /* LoomPiece, by open ends, then id of the kind */
} LoomPieceStep;

typedef struct {
  const LoomEnd *like; /* one of its ends */
  GArray *into;        /* guint: steps whose first end is of this class */
  GArray *from;        /* guint: steps that an open end of this class can take */
} LoomPieceClass;

struct LoomPieces {
  GPtrArray *kinds;      /* LoomKind, held: all of them, for their families */
  GArray *classes;       /* LoomPieceClass */
  GArray *steps;         /* LoomPieceStep */
  GHashTable *by_key;    /* text of class -> index + 1 */
  GHashTable *families;  /* id -> LoomFamily, held; those of the catalogue and of all kinds */
  GHashTable *by_family; /* id -> GArray of guint: classes */
  GHashTable *takers;    /* id -> GPtrArray of family ids whose terminals take it */
  guint n_pieces;
};

const LoomPieceClass *loom_pieces_class(const LoomPieces *pieces, guint index);
const LoomPieceStep *loom_pieces_step(const LoomPieces *pieces, guint index);

/* Class of an end, or LOOM_NONE where no piece has one like it. */
guint loom_pieces_find_class(const LoomPieces *pieces, const LoomEnd *end);
/* Steps that can be taken from an open end: array of guint, new. */
GArray *loom_pieces_steps_from(const LoomPieces *pieces, const LoomEnd *end);

/* What becomes of each way from one end of a piece to another: bit sets, [LOOM_MOST_WAYS]. false
 * where nothing leads through. */
bool loom_piece_map(const LoomKind *kind, guint from, guint to, guint64 *map);

/* Whether the kind only conducts, and its ends are small enough to be followed. */
bool loom_is_piece(const LoomKind *kind);

G_END_DECLS
