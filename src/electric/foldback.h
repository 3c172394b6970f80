/* Common limits that act: a controller that turns its outputs down together when they ask for too
 * much. Inside electric/ only.
 *
 * Which output gives way how far is the electronics' secret; here all of the group give way alike,
 * until the sum is the limit. */
#pragma once

#include "circuit.h"
#include "topology.h"

G_BEGIN_DECLS

/* Where ends of a group that acts carry more than its limit, lowers the limits of the outputs
 * behind it. Returns whether there is anything to solve anew. `inside`: circuits within parts;
 * `held` [n_branches] gets the outputs that were lowered. */
bool loom_fold_back(LoomTopology *topology, const LoomOperatingPoint *point, const LoomCircuits *inside,
                    bool *held);

G_END_DECLS
