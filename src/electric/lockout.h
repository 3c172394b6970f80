/* Low-voltage lock-outs: who goes to sleep for want of voltage, and who wakes. Inside electric/
 * only.
 *
 * The part that gets least of the voltage that it needs sleeps first, parts that are equally needy
 * together, until what is awake has enough. Where many starve at one supply that is sought by
 * halving: a crowd is put to sleep, neediest first, and if that was too many half of it is. */
#pragma once

#include "topology.h"

G_BEGIN_DECLS

typedef struct LoomLockout LoomLockout;

/* `asleep` [n_branches] is borrowed and changed by loom_lockout_next; what is asleep in it at first
 * may wake once. New. */
LoomLockout *loom_lockout_new(const LoomNetwork *network, bool *asleep);
void loom_lockout_free(LoomLockout *lockout);

/* From the answer of the topology with those asleep: whether others are now, so that it is to be
 * solved anew. */
bool loom_lockout_next(LoomLockout *lockout, const LoomTopology *answer);

/* What the input of a sleeper gets: enough to wake it up again? */
LoomSleep loom_lockout_sleep(const LoomTopology *answer, guint branch);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomLockout, loom_lockout_free)

G_END_DECLS
