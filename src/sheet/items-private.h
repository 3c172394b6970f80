/* Tags along a run, and those that stand by themselves. Never leaves this room. */
#pragma once

#include "sheet-private.h"

G_BEGIN_DECLS

#define LOOM_TAG_WORDS_MM 2.6
#define LOOM_MOST_TAG_LINES 4

/* tag-lines.c: lines to stand beside a tag, borrowed from the sheet, with the colours at `end`
 * (LOOM_NONE: without). Narrow ones have length and size below each other. Returns how many. */
guint loom_tag_lines_get(const LoomSheet *sheet, guint part, guint end, bool narrow,
                         const char *lines[LOOM_MOST_TAG_LINES]);

/* Ways to write beside a tag, best first; one more: nothing beside it. */
#define LOOM_TAG_VARIANTS 4

/* A tag at `at` on a wire that runs across (0) or down (1), with its words arranged as `variant`.
 */
LoomTag loom_tag_try(const LoomSheet *sheet, guint part, guint end, LoomPoint at, int down,
                     guint variant);
void loom_tag_clear(LoomTag *tag);
/* Whether it covers nothing but the wires of the run `run`. */
bool loom_tag_is_free(const LoomSheet *sheet, const LoomTag *tag, guint run);
/* Makes it the part's tag; taken. */
void loom_tag_set(LoomSheet *sheet, guint part, LoomTag *tag);

/* Words of tags that are fixed things themselves; the wires to connectors that hang go to `leads`.
 */
void loom_tags_place_fixed(LoomSheet *sheet, GArray *leads);

G_END_DECLS
