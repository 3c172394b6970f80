/* Plugging by scene: what a gesture on the bench means for the scenes that are not in sight.
 *
 * What is plugged or pulled in the first scene is so in every scene where that is possible; in any
 * other scene it concerns that scene alone. So a robot is drawn once, and charging or a bench test
 * is a small departure from it. */
#pragma once

#include "design/edit.h"

G_BEGIN_DECLS

/* Joints of the scene at the end; `first`, unless NULL, gets the index of the first. */
guint loom_scenes_joints_at(const LoomDesign *design, guint scene, guint part, guint end,
                            guint *first);

/* Places that the end has left in the scene. */
guint loom_scenes_places_left(const LoomDesign *design, guint scene, guint part, guint end);

/* Scenes that a new joint is made in, to be handed to loom_edit_plug and its like: NULL for every
 * scene, otherwise `room` filled with the one name and NULL. */
const char *const *loom_scenes_for(const LoomDesign *design, guint scene, const char *room[2]);

/* Both take end names, "G1:out". */
bool loom_scenes_plug(LoomEdit *edit, guint scene, const char *a, const char *b, GError **error);
bool loom_scenes_unplug(LoomEdit *edit, guint scene, const char *a, const char *b, GError **error);

G_END_DECLS
