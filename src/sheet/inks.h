/* The inks there are. */
#pragma once

#include "draw.h"

#include <cairo.h>

G_BEGIN_DECLS

/* Draws on `cr`, whose unit must be the millimetre; borrowed for the ink's life. New. */
LoomInk *loom_ink_cairo_new(cairo_t *cr, LoomPalette palette);

/* What was stamped before, to be used again on the same paper and its later pages. */
typedef struct LoomStamps LoomStamps;
LoomStamps *loom_stamps_new(void);
void loom_stamps_free(LoomStamps *stamps);

/* The same for files of lines, such as PDF: what is stamped (ink.h) stands in the file once,
 * however often it is seen. `stamps` is borrowed for the ink's life; things they are told apart by
 * must live as long as they. New. */
LoomInk *loom_ink_cairo_stamped_new(cairo_t *cr, LoomPalette palette, LoomStamps *stamps);

/* Writes SVG 1.1 with real text, titles and stable ids; the picture shows `extents`. New. */
LoomInk *loom_ink_svg_new(LoomRect extents, LoomPalette palette, const char *title,
                          const char *desc);
/* Ends the picture and the ink. The SVG text, new. */
char *loom_ink_svg_free_to_text(LoomInk *ink);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomStamps, loom_stamps_free)

G_END_DECLS
