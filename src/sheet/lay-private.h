/* The steps of laying. Never leaves this room. */
#pragma once

#include "sheet-private.h"

G_BEGIN_DECLS

void loom_block_all(LoomSheet *sheet);                      /* block.c */
void loom_keep_old(LoomSheet *sheet, const LoomSheet *old); /* keep.c */
void loom_way_points(const LoomSheet *sheet, LoomRun *run); /* way.c */
guint loom_way_crossings(const LoomSheet *sheet, const LoomRun *run);
void loom_make_room(LoomSheet *sheet, LoomRouter *router); /* detour.c */

G_END_DECLS
