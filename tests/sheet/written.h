/* What a drawing says and where, read from its SVG. Widths are Pango's, of the font of the
 * drawings; not of our own tables. */
#pragma once

#include "sheet/ink.h"

typedef struct {
  LoomRect rect; /* of the letters: cap height 0.73 and descent 0.2 of the size (DejaVu Sans) */
  char *text;
  bool reading; /* within a group whose id begins with "reading-" */
} Written;

/* Every level line of text. Array of Written, new. */
GArray *written_read(const char *svg);
bool written_meet(LoomRect a, LoomRect b);
