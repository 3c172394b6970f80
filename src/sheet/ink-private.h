/* What an ink must do, and what all inks share: nesting and placing. Never leaves this room. */
#pragma once

#include "inks.h"

/* x' = xx x + xy y + x0, y' = yx x + yy y + y0; quarter turns and mirrors only. */
typedef struct {
  double xx, xy, x0, yx, yy, y0;
} LoomPlace;

typedef enum { LOOM_PIECE_MOVE, LOOM_PIECE_LINE, LOOM_PIECE_CURVE, LOOM_PIECE_CLOSE } LoomPieceType;

typedef struct {
  LoomPieceType type;
  LoomPoint points[3]; /* MOVE and LINE: the first; CURVE: two handles and the end */
} LoomPiece;

struct LoomPath {
  GArray *pieces; /* of LoomPiece */
};

/* All coordinates that reach an ink are those of the page. `text` gets valid UTF-8 without control
 * characters, never empty; `upward`: turned by a quarter
 * about `at`, to be read from below. */
typedef struct {
  void (*begin)(LoomInk *ink, const char *id, const char *title, const char *desc);
  void (*end)(LoomInk *ink);
  void (*path)(LoomInk *ink, const LoomPath *path, const LoomStyle *style);
  void (*text)(LoomInk *ink, LoomPoint at, double size_mm, LoomAnchor anchor, bool bold,
               LoomPaint paint, bool upward, const char *text);
  void (*stamp)(LoomInk *ink, const LoomStamp *stamp); /* NULL: drawn each time */
  void (*free)(LoomInk *ink);
} LoomInkOps;

/* First member of every ink. */
struct LoomInk {
  const LoomInkOps *ops;
  LoomPalette palette;
  LoomPlace place;
  double scale;  /* of place */
  GArray *outer; /* of LoomNest: what to return to at each end */
};

/* What tells one stamp from another; unused bytes are 0. */
typedef struct {
  void (*draw)(LoomInk *ink, gconstpointer data);
  gconstpointer thing;
  double figures[LOOM_STAMP_FIGURES];
  double xx, xy, yx, yy; /* how it lies */
  guint palette;
} LoomStampKey;

void loom_ink_init(LoomInk *ink, const LoomInkOps *ops, LoomPalette palette);
void loom_ink_clear(LoomInk *ink);

/* Words that belong to a picture: middle of their base line at x, y. In a group that lies on its
 * side they lie too, to be read upwards; they are never upside down. */
void loom_ink_text_along(LoomInk *ink, double x, double y, double size_mm, LoomPaint paint,
                         const char *text);

/* What was kept for the key; NULL: nothing yet. Borrowed. */
cairo_surface_t *loom_stamps_find(LoomStamps *stamps, const LoomStampKey *key);
/* Takes the surface. */
void loom_stamps_keep(LoomStamps *stamps, const LoomStampKey *key, cairo_surface_t *surface);

/* Valid UTF-8 without control characters. New. */
char *loom_ink_printable(const char *text);

/* Everything until the matching end is drawn `scale` times as large, its origin at x, y. */
void loom_ink_begin_scaled(LoomInk *ink, double x, double y, double scale);

/* Font of all drawings; others stand in where it is not installed. */
#define LOOM_FONT "DejaVu Sans"
