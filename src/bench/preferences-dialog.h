/* The window of preferences: text size, look, name, the team's own catalogues. */
#pragma once

#include "preferences.h"

#include <gtk/gtk.h>

G_BEGIN_DECLS

void loom_preferences_dialog_show(GtkWindow *parent, LoomPreferences *preferences);

G_END_DECLS
