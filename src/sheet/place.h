/* Geometry of one part: where its outline, ends, words and picture lie. Never leaves this room.
 *
 *      kind, as in the catalogue          part on the sheet (flip, then turn)
 *        u --->                             x, y = upper left corner after turning
 *      v +--------+                        +------+
 *      | |        |=[out                   |      |
 *      v +--------+                        +--||--+  turn 90: out faces down
 *                                             \/                                       */
#pragma once

#include "sheet.h"

G_BEGIN_DECLS

#define LOOM_STUB_MM 9.0 /* drawn length of a pigtail whose connector is not plugged */

/* Size of a connector as drawn. */
typedef struct {
  double depth_mm; /* from its wires to its mating face */
  double width_mm; /* across */
  double prong_mm; /* how far pins stand out of the face */
  double pitch_mm; /* between its contacts */
} LoomEndSize;

LoomEndSize loom_end_size(const LoomEnd *end);

/* One line of text and the room that it takes. */
typedef struct {
  LoomPoint at;
  LoomAnchor anchor;
  double size_mm;
  bool bold;
  LoomPaint paint;
  char *text;
  LoomRect box;
} LoomWords;

LoomWords loom_words_new(double x, double y, LoomAnchor anchor, double size_mm, bool bold,
                         LoomPaint paint, const char *text);
/* Array of LoomWords that frees its texts. New. */
GArray *loom_words_array_new(void);
void loom_words_draw(LoomInk *ink, const LoomWords *words);

/* A kind's strokes, read once. */
typedef struct {
  gatomicrefcount references;
  guint n;
  LoomPath **paths;  /* [n]; NULL for words */
  LoomStyle *styles; /* [n] */
  LoomRect *boxes;   /* [n] in millimetres of the kind */
} LoomPicture;

LoomPicture *loom_picture_new(const LoomKind *kind);
LoomPicture *loom_picture_ref(LoomPicture *picture);
void loom_picture_unref(LoomPicture *picture);
/* Pictures by kind (both held). `loom_pictures_get` reads a kind's picture unless it is there or in
 * `older` (NULL none); borrowed. */
GHashTable *loom_pictures_new(void);
const LoomPicture *loom_pictures_get(GHashTable *pictures, LoomKind *kind, GHashTable *older);
void loom_picture_draw(LoomInk *ink, const LoomKind *kind, const LoomPicture *picture);

/* Point of the kind's millimetres on the sheet. */
LoomPoint loom_place_point(const LoomPart *part, double u, double v);
LoomRect loom_place_rect(const LoomPart *part, LoomRect rect);
void loom_place_begin(LoomInk *ink, const LoomPart *part);
/* Where the end's wires leave the outline, and which way; leads: their tag. */
LoomPoint loom_place_root(const LoomPart *part, guint end, int *dx, int *dy);
/* Mating face of an end that hangs beside its lead's tag. `hung` [n_ends] says which ends hang,
 * NULL all; `side` 1 to the right, -1 to the left, 0 half of them to either. */
LoomPoint loom_place_hung(const LoomPart *part, LoomPoint tag, const bool *hung, guint end,
                          int side, int *dx);
/* Box of a connector whose mating face is at `at` and looks to dx, dy, with `prong` for its pins.
 */
LoomRect loom_end_box(const LoomEndSize *size, LoomPoint at, int dx, int dy);

/* Designation, label and the names of the ends, where they fit: into `words`. Returns the box of
 * designation and label. */
LoomRect loom_place_words(const LoomPart *part, const LoomPicture *picture, GArray *words);
/* Box of a lead's tag, and its text beside: "300 mm · 1.5 mm²" and "RD BK". New or NULL. */
LoomRect loom_tag_box(const LoomPart *part, LoomPoint middle);
char *loom_tag_size_text(const LoomPart *part);
char *loom_tag_colour_text(const LoomPart *part, guint end);

/* Rectangles. */
bool loom_rect_meets(LoomRect a, LoomRect b);
LoomRect loom_rect_grown(LoomRect r, double by);
LoomRect loom_rect_union(LoomRect a, LoomRect b); /* of width 0: empty */
LoomRect loom_rect_around(LoomPoint a, LoomPoint b);

G_END_DECLS
