/* Finding a lead's way over the lanes. Never leaves this room. */
#pragma once

#include "lanes.h"

G_BEGIN_DECLS

/* Where a way may begin or end: a place, and the unit step that leads away from the part. */
typedef struct {
  LoomSpot at;
  int dx, dy;
} LoomGate;

/* Search with its scratch memory, for many ways in turn. */
typedef struct LoomRouter LoomRouter;

LoomRouter *loom_router_new(LoomLanes *lanes);
void loom_router_free(LoomRouter *router);

/* The cheapest way from one of the gates `from` to one of the gates `to`: corners, gates included,
 * as new array of LoomSpot. It leaves along the gate's step and comes in against the other's.
 * Passes outlines only where there is no other way (overlapping parts); `*from_gate`, `*to_gate`
 * say which gates it took. `wide`: keeps more distance from its neighbours. */
GArray *loom_router_find(LoomRouter *router, const LoomGate *from, guint n_from, const LoomGate *to,
                         guint n_to, bool wide, guint *from_gate, guint *to_gate);

/* The same from one gate to one gate, never by force; NULL where there is no such way. */
GArray *loom_router_find_open(LoomRouter *router, const LoomGate *from, const LoomGate *to,
                              bool wide);

G_END_DECLS
