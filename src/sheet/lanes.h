/* Lanes: the paper as a grid of places 2.5 mm apart that leads may run through, and what is there.
 * Sparse: only the tiles that something touches exist. Never leaves this room.
 *
 *        i=0   1   2   3            a place holds at most one lead that runs across (row),
 *   j=0   .   .   #   .             one that runs down (column); where both are different
 *   j=1   =====+===#===             leads they cross; # is blocked by an outline            */
#pragma once

#include "sheet.h"

G_BEGIN_DECLS

#define LOOM_LANE_MM 2.5

typedef struct {
  int i, j; /* x = i, y = j lanes */
} LoomSpot;

typedef struct {
  guint8 block;     /* LoomBlock: 0 open */
  guint8 near;      /* extra cost of a step here */
  guint8 beside[2]; /* leads that run alongside in the next lane: across, down */
  guint32 owner[2]; /* who runs across, who runs down: number + 1, 0 nobody */
} LoomLane;

typedef enum { LOOM_BLOCK_OPEN, LOOM_BLOCK_WORDS, LOOM_BLOCK_END, LOOM_BLOCK_OUTLINE } LoomBlock;

typedef struct LoomLanes LoomLanes;

LoomLanes *loom_lanes_new(void);
void loom_lanes_free(LoomLanes *lanes);

/* The place, never NULL; one that nothing has touched reads as open. */
const LoomLane *loom_lanes_at(LoomLanes *lanes, int i, int j);
LoomLane *loom_lanes_touch(LoomLanes *lanes, int i, int j);

/* Blocks the places strictly inside `rect`; adds `near` to those within `rect` otherwise. */
void loom_lanes_block(LoomLanes *lanes, LoomRect rect, LoomBlock block);
void loom_lanes_near(LoomLanes *lanes, LoomRect rect, guint8 cost);

/* Puts a lead's way, corners [n] joined along the axes, in or (`put` false) out. */
void loom_lanes_run(LoomLanes *lanes, const LoomSpot *corners, guint n, guint32 owner, bool put);
/* Places where the way crosses another one. */
guint loom_lanes_crossings(LoomLanes *lanes, const LoomSpot *corners, guint n);
/* Whether the way meets something that blocks at least as much as `block`. */
bool loom_lanes_blocked(LoomLanes *lanes, const LoomSpot *corners, guint n, LoomBlock block);

G_END_DECLS
