/* Two revisions on one sheet.
 *
 *   g_autoptr(LoomMerged) merged = loom_compare_merged(compare, old, now);
 *   g_autoptr(LoomSheet) sheet = loom_changes_sheet_new(merged, 0);
 *   options.merged = merged;
 *   loom_draw_sheet(ink, sheet, &options);
 *
 * What is the same is drawn pale. What differs is told apart three ways, so that it can be told on
 * a black-and-white print: by the line around it, by a sign, by colour.
 *
 *   new        one thick line        a plus in a filled square
 *   gone       dashed and hatched    a cross in a hollow square
 *   changed    two thin lines        "not equal" in a filled diamond                            */
#pragma once

#include "draw.h"

G_BEGIN_DECLS

/* The merged design laid out; a part that is gone and would lie on another one is moved aside.
 * `scene` is an index in the merged design. New. */
LoomSheet *loom_changes_sheet_new(const LoomMerged *merged, guint scene);

/* What the sheet shows of the places of a difference: outlines of parts, boxes of ends. Array of
 * LoomRect, new; empty where the difference has no place on the sheet. */
GArray *loom_changes_places(const LoomSheet *sheet, const LoomMerged *merged,
                            const LoomDifference *difference);
/* A scene of the merged design that shows these places: `scene` itself if it can, otherwise the
 * first that does; `scene` where none does. */
guint loom_changes_scene(const LoomMerged *merged, const LoomDifference *difference, guint scene);

/* The sign of a status by itself: for lists that go with the drawing. */
#define LOOM_CHANGE_SIGN_MM 7.2 /* room that it takes, both ways */
void loom_draw_change_sign(LoomInk *ink, LoomStatus status, LoomPoint middle);

G_END_DECLS
