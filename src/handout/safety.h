/* What every helper must know, in plain words: stands in the handout and wherever the program says
 * that something may be powered. Common practice, no source. */
#pragma once

#include <glib.h>

G_BEGIN_DECLS

typedef enum { LOOM_SAFETY_WORKING, LOOM_SAFETY_CHARGING } LoomSafety;

/* Sentence `i`, counted from 0, in the user's language; borrowed. NULL after the last one. */
const char *loom_safety_sentence(LoomSafety about, guint i);

G_END_DECLS
