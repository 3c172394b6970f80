/* Preferences: what a person sets once for the program, kept in a key file.
 *
 * Lies at loombook/preferences.ini below the user's configuration folder. Read once; every change
 * is written at once and told by the signal "changed". A file that cannot be read or written is as
 * good as none. */
#pragma once

#include <glib-object.h>
#include <stdbool.h>

G_BEGIN_DECLS

#define LOOM_TYPE_PREFERENCES (loom_preferences_get_type())
G_DECLARE_FINAL_TYPE(LoomPreferences, loom_preferences, LOOM, PREFERENCES, GObject)

typedef enum { LOOM_LOOK_SYSTEM, LOOM_LOOK_LIGHT, LOOM_LOOK_DARK, LOOM_LOOK_CONTRAST } LoomLook;

LoomPreferences *loom_preferences_new(void);

/* Size of text against the system's, in percent: 100 ... 200. */
guint loom_preferences_text_size(LoomPreferences *preferences);
void loom_preferences_set_text_size(LoomPreferences *preferences, guint percent);

LoomLook loom_preferences_look(LoomPreferences *preferences);
void loom_preferences_set_look(LoomPreferences *preferences, LoomLook look);

/* Words for the look, as the key file and the action have them: "system", "light", ... */
const char *loom_look_word(LoomLook look);
LoomLook loom_look_from_word(const char *word);

/* Whether a panel ("shelf", "tag") is shown. */
bool loom_preferences_shows(LoomPreferences *preferences, const char *panel);
void loom_preferences_set_shows(LoomPreferences *preferences, const char *panel, bool shown);

/* Size of the window when it was last closed; 0, 0 where none is known. */
void loom_preferences_window_size(LoomPreferences *preferences, int *width, int *height);
void loom_preferences_set_window_size(LoomPreferences *preferences, int width, int height);

/* The team's own catalogue files, layered over the built-in one. New, NULL-terminated. */
char **loom_preferences_catalogues(LoomPreferences *preferences);
void loom_preferences_set_catalogues(LoomPreferences *preferences, const char *const *paths);

/* Name that stands as "drawn by" on a new sheet. New, or NULL. */
char *loom_preferences_drawn_by(LoomPreferences *preferences);
void loom_preferences_set_drawn_by(LoomPreferences *preferences, const char *name);

G_END_DECLS
