/* What the pages of the diagram share. */
#pragma once

#include "book-private.h"
#include "figure.h"

G_BEGIN_DECLS

/* The parts of the scene that is built, on paper; area is left to the caller. */
LoomSheetView loom_book_diagram_view(const LoomMaking *m);

/* The diagram in pieces, each large enough to read. */
void loom_book_tiles(LoomMaking *m);

bool loom_book_rects_meet(LoomRect a, LoomRect b);
/* What the stretch from corner `i` to the next one covers. */
LoomRect loom_book_segment(const LoomLaidLead *lead, guint i);

G_END_DECLS
