/* The scenes above the bench: one button each, and one to add a scene. */
#pragma once

#include "document.h"

#include <gtk/gtk.h>

G_BEGIN_DECLS

#define LOOM_TYPE_SCENE_BAR (loom_scene_bar_get_type())
G_DECLARE_FINAL_TYPE(LoomSceneBar, loom_scene_bar, LOOM, SCENE_BAR, GtkBox)

void loom_scene_bar_attach(LoomSceneBar *bar, LoomDocument *document);
/* Asks for a name, with a proposal, and adds the scene. */
void loom_scene_bar_add(LoomSceneBar *bar);

G_END_DECLS
