/* The event log: one line for each thing that was done, for whoever drives the window from outside.
 *
 * Written where the environment variable LOOMBOOK_EVENTS names a file; otherwise every call does
 * nothing. Lines: "ready", "placed G1 120 80", "removed G1", "moved G1 125 80", "turned G1",
 * "plugged G1:out W1:a", "unplugged G1:out W1:a", "changed G1", "undo", "redo", "saved PATH",
 * "opened PATH", "chosen G1 W1", "explained SENTENCE", ... */
#pragma once

#include "design/design.h"

G_BEGIN_DECLS

typedef struct LoomEvents LoomEvents;

/* Opens the log that the environment asks for; NULL where it asks for none. New. */
LoomEvents *loom_events_new(void);
void loom_events_free(LoomEvents *events);

/* One line, printf format; written at once. `events` may be NULL, as everywhere below. */
void loom_events_say(LoomEvents *events, const char *format, ...) G_GNUC_PRINTF(2, 3);

/* Lines for everything that differs between two designs. */
void loom_events_difference(LoomEvents *events, const LoomDesign *before, const LoomDesign *after);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomEvents, loom_events_free)

G_END_DECLS
