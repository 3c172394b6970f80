/* Following the wiring from contact to contact: which way a fault goes, where a circuit ends.
 *
 * Every switch counts as closed and every fuse as whole. Inside rules/ only. */
#pragma once

#include "context-private.h"

G_BEGIN_DECLS

/* Edges (of the scene's graph) of a shortest way, in order from `from`; NULL where there is none.
 * New. */
GArray *loom_trace_way(const LoomScenery *s, guint from, guint to);

/* The nearest node, `from` included, that `wanted` takes; LOOM_NONE where there is none. `edges`
 * (may be NULL) gets the way to it, new. No step is taken beyond a node that is wanted. */
typedef bool (*LoomTraceWanted)(const LoomScenery *s, guint node, gpointer data);
guint loom_trace_nearest(const LoomScenery *s, guint from, LoomTraceWanted wanted, gpointer data,
                         GArray **edges);

/* Puts the joints on the way into the finding's places, those first at which poles cross: a plug
 * that sits turned or shifted, a lead that swaps + and -, unlike contacts that touch. Returns how
 * many such places there are. */
guint loom_trace_blame(const LoomScenery *s, LoomFinding *finding, guint from, const GArray *edges);

/* Where the circuit around `from` ends in the air: at ends that are not plugged, contacts that
 * touch nothing in their joint, wires that lead nowhere inside their part. Farthest first. New
 * array of nodes. */
GArray *loom_trace_loose_ends(const LoomScenery *s, guint from);

/* For every node the edge by which current from the given feeds' positive poles first comes to it;
 * LOOM_NONE at the poles and where nothing comes. New. */
guint *loom_trace_from_plus(const LoomScenery *s);

G_END_DECLS
