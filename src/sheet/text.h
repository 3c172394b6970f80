/* How wide words are, without asking a font: so that a page comes out the same everywhere. Never
 * leaves this room and those below. */
#pragma once

#include <glib.h>
#include <stdbool.h>

G_BEGIN_DECLS

/* Width of one line as set in the font of the drawings, from its advance widths; exact for ASCII
 * and the signs we write, an upper bound for most other letters. */
double loom_text_width_mm(const char *text, double size_mm, bool bold);

/* The text, or its beginning and "…", no wider than `room_mm`. New. */
char *loom_text_fit(const char *text, double size_mm, bool bold, double room_mm);

G_END_DECLS
