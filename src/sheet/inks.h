/* The inks there are. */
#pragma once

#include "draw.h"

#include <cairo.h>

G_BEGIN_DECLS

/* Draws on `cr`, whose unit must be the millimetre; borrowed for the ink's life. New. */
LoomInk *loom_ink_cairo_new(cairo_t *cr, LoomPalette palette);

/* Writes SVG 1.1 with real text, titles and stable ids; the picture shows `extents`. New. */
LoomInk *loom_ink_svg_new(LoomRect extents, LoomPalette palette, const char *title,
                          const char *desc);
/* Ends the picture and the ink. The SVG text, new. */
char *loom_ink_svg_free_to_text(LoomInk *ink);

G_END_DECLS
