/* The design's file: XML, schema data/schema/design.rng, explained in docs/file-format.md.
 *
 * The file embeds every family and kind that its parts use, word for word, so that it opens
 * anywhere. Writing what was read gives the same bytes. */
#pragma once

#include "design.h"

G_BEGIN_DECLS

/* Reads a design; nothing is opened where a line of it is wrong. New, or NULL with one sentence in
 * `error` that begins with file and line. */
LoomDesign *loom_design_open(const char *path, GError **error);
/* The same for a file that somebody wrote by hand: kinds that it does not embed are taken from
 * `others` (borrowed; NULL none), and written along with it from then on. */
LoomDesign *loom_design_open_with(const char *path, const LoomCatalogue *others, GError **error);
LoomDesign *loom_design_parse(const char *bytes, gsize length, const char *name, GError **error);

/* The file's text. New. */
char *loom_design_to_text(const LoomDesign *design);

/* Writes beside `path` and renames: after any failure the old file is there, whole. Marks saved. */
bool loom_design_save(LoomDesign *design, const char *path, GError **error);
/* The same without marking: copies, drafts. */
bool loom_design_write(const LoomDesign *design, const char *path, GError **error);

/* Any bytes, written so: beside `path`, synced, renamed over it. Whatever fails, `path` holds what
 * it held. Used for everything that the program writes. */
bool loom_write_atomically(const char *path, const void *bytes, gsize length, GError **error);

/* Chosen parts and the joints among them, as a design of their own in text, for the clipboard.
 * `designations` [n]. New. */
char *loom_design_extract(const LoomDesign *design, const char *const *designations, guint n);

G_END_DECLS
