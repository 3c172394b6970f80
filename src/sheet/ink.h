/* Ink: the few strokes that every drawing is made of, whoever takes them down.
 *
 * The same calls go to the screen, PDF and PNG (cairo) and to SVG (libxml2 text writer). Lengths
 * are millimetres, y down. Status is sticky: after a failure calls do nothing, and the ink's own
 * `finish` reports it once. */
#pragma once

#include <glib.h>
#include <stdbool.h>

G_BEGIN_DECLS

typedef struct {
  double x, y;
} LoomPoint;

typedef struct {
  double x, y, width, height;
} LoomRect;

/* What a stroke is for; a palette says how that looks on screen, in the dark, on paper. */
typedef enum {
  LOOM_PAINT_NONE,
  LOOM_PAINT_PAPER,
  LOOM_PAINT_INK,   /* outlines, text */
  LOOM_PAINT_FAINT, /* second-rank text, hairlines */
  LOOM_PAINT_WELL,  /* inside of a socket */
  LOOM_PAINT_METAL, /* contacts */
  LOOM_PAINT_SHELL, /* connector housings */
  LOOM_PAINT_SHADE, /* darker parts of a picture */
  LOOM_PAINT_TINT,  /* lighter parts of a picture */
  LOOM_PAINT_LAMP,
  LOOM_PAINT_STOP, /* findings */
  LOOM_PAINT_CARE,
  LOOM_PAINT_NOTE,
  LOOM_PAINT_READING, /* volts and amps */
  LOOM_PAINT_CHOSEN,  /* selection */
  LOOM_PAINT_NEW,     /* between two revisions */
  LOOM_PAINT_GONE,
  LOOM_PAINT_CHANGED,
  LOOM_PAINT_GROUP, /* + LoomGroup: the quiet fill of a part by what it is for */
  LOOM_PAINT_WIRE = LOOM_PAINT_GROUP + 32, /* + index in loom_colours() */
  LOOM_N_PAINTS = LOOM_PAINT_WIRE + 32
} LoomPaint;

typedef enum { LOOM_ANCHOR_START, LOOM_ANCHOR_MIDDLE, LOOM_ANCHOR_END } LoomAnchor;

typedef struct {
  LoomPaint fill, stroke; /* LOOM_PAINT_NONE: not */
  double line_mm;
  double dash_mm; /* 0 solid */
  double opacity; /* 1 opaque */
} LoomStyle;

typedef struct LoomInk LoomInk;
typedef struct LoomPath LoomPath; /* absolute M, L, C, Z */

LoomPath *loom_path_new(void);
void loom_path_free(LoomPath *path);
void loom_path_move(LoomPath *path, double x, double y);
void loom_path_line(LoomPath *path, double x, double y);
void loom_path_curve(LoomPath *path, double x1, double y1, double x2, double y2, double x,
                     double y);
void loom_path_close(LoomPath *path);
void loom_path_rect(LoomPath *path, LoomRect rect, double radius_mm);
void loom_path_circle(LoomPath *path, double x, double y, double radius_mm);
/* Appends SVG path data (absolute M L C Z, numbers by blanks or commas); false if malformed. */
bool loom_path_data(LoomPath *path, const char *data);

/* A group of strokes that is one thing: `id` stable and unique in the drawing ("part-G1"), `title`
 * its short name, `desc` a sentence; any may be NULL. Groups nest. */
void loom_ink_begin(LoomInk *ink, const char *id, const char *title, const char *desc);
void loom_ink_end(LoomInk *ink);
/* Everything until the matching end is transformed: first mirrored about x = 0, then turned by
 * quarter turns clockwise, then moved. */
void loom_ink_begin_placed(LoomInk *ink, double x, double y, int quarters, bool mirrored);
void loom_ink_path(LoomInk *ink, const LoomPath *path, const LoomStyle *style);
/* One line of text on base line y, `size_mm` high (ascender to descender is about 1.2 times that);
 * stays upright inside a placed group. */
void loom_ink_text(LoomInk *ink, double x, double y, double size_mm, LoomAnchor anchor, bool bold,
                   LoomPaint paint, const char *text);
void loom_ink_free(LoomInk *ink);

#define LOOM_STAMP_FIGURES 10

/* A picture that comes many times: what `draw` draws about the origin, all of it within `box`. It
 * depends on `draw`, `thing`, the figures and the palette, and on nothing else. */
typedef struct {
  void (*draw)(LoomInk *ink, gconstpointer data);
  gconstpointer data;  /* for draw */
  gconstpointer thing; /* told apart by its address; NULL where the figures say all */
  double figures[LOOM_STAMP_FIGURES];
  LoomRect box;
} LoomStamp;

/* Draws it where the ink stands; an ink that keeps stamps (inks.h) has each drawn once. */
void loom_ink_stamp(LoomInk *ink, const LoomStamp *stamp);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomPath, loom_path_free)
G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomInk, loom_ink_free)

G_END_DECLS
