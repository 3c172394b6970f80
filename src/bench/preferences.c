#include "preferences.h"

#include <glib/gstdio.h>

#define GROUP_LOOK "look"
#define GROUP_WINDOW "window"
#define GROUP_WORK "work"

struct _LoomPreferences {
  GObject parent;
  GKeyFile *file;
  char *path;
};

G_DEFINE_FINAL_TYPE(LoomPreferences, loom_preferences, G_TYPE_OBJECT)

static guint signal_changed;

static void
loom_preferences_finalize(GObject *object)
{
  LoomPreferences *self = LOOM_PREFERENCES(object);
  g_key_file_unref(self->file);
  g_free(self->path);
  G_OBJECT_CLASS(loom_preferences_parent_class)->finalize(object);
}

static void
loom_preferences_class_init(LoomPreferencesClass *class)
{
  G_OBJECT_CLASS(class)->finalize = loom_preferences_finalize;
  signal_changed = g_signal_new("changed", LOOM_TYPE_PREFERENCES, G_SIGNAL_RUN_LAST, 0, NULL, NULL,
                                NULL, G_TYPE_NONE, 0);
}

static void
loom_preferences_init(LoomPreferences *self)
{
  self->file = g_key_file_new();
  self->path = g_build_filename(g_get_user_config_dir(), "loombook", "preferences.ini", NULL);
  g_key_file_load_from_file(self->file, self->path, G_KEY_FILE_KEEP_COMMENTS, NULL);
}

LoomPreferences *
loom_preferences_new(void)
{
  return g_object_new(LOOM_TYPE_PREFERENCES, NULL);
}

static void
write_file(LoomPreferences *self)
{
  g_autofree char *folder = g_path_get_dirname(self->path);
  g_mkdir_with_parents(folder, 0700);
  g_key_file_save_to_file(self->file, self->path, NULL);
  g_signal_emit(self, signal_changed, 0);
}

static void
put_integer(LoomPreferences *self, const char *group, const char *key, int value)
{
  if (g_key_file_has_key(self->file, group, key, NULL) &&
      g_key_file_get_integer(self->file, group, key, NULL) == value)
    return;
  g_key_file_set_integer(self->file, group, key, value);
  write_file(self);
}

guint
loom_preferences_text_size(LoomPreferences *self)
{
  int percent = g_key_file_get_integer(self->file, GROUP_LOOK, "text-size", NULL);
  return percent ? (guint)CLAMP(percent, 100, 200) : 100;
}

void
loom_preferences_set_text_size(LoomPreferences *self, guint percent)
{
  put_integer(self, GROUP_LOOK, "text-size", (int)CLAMP(percent, 100, 200));
}

static const char *const look_words[] = {"system", "light", "dark", "contrast", NULL};

const char *
loom_look_word(LoomLook look)
{
  return look_words[look];
}

LoomLook
loom_look_from_word(const char *word)
{
  for (guint i = 0; look_words[i]; i++)
    if (g_strcmp0(word, look_words[i]) == 0)
      return i;
  return LOOM_LOOK_SYSTEM;
}

LoomLook
loom_preferences_look(LoomPreferences *self)
{
  g_autofree char *word = g_key_file_get_string(self->file, GROUP_LOOK, "look", NULL);
  return loom_look_from_word(word);
}

void
loom_preferences_set_look(LoomPreferences *self, LoomLook look)
{
  if (loom_preferences_look(self) == look)
    return;
  g_key_file_set_string(self->file, GROUP_LOOK, "look", loom_look_word(look));
  write_file(self);
}

bool
loom_preferences_shows(LoomPreferences *self, const char *panel)
{
  if (!g_key_file_has_key(self->file, GROUP_WINDOW, panel, NULL))
    return true;
  return g_key_file_get_integer(self->file, GROUP_WINDOW, panel, NULL) != 0;
}

void
loom_preferences_set_shows(LoomPreferences *self, const char *panel, bool shown)
{
  put_integer(self, GROUP_WINDOW, panel, shown);
}

void
loom_preferences_window_size(LoomPreferences *self, int *width, int *height)
{
  *width = CLAMP(g_key_file_get_integer(self->file, GROUP_WINDOW, "width", NULL), 0, 10000);
  *height = CLAMP(g_key_file_get_integer(self->file, GROUP_WINDOW, "height", NULL), 0, 10000);
}

void
loom_preferences_set_window_size(LoomPreferences *self, int width, int height)
{
  put_integer(self, GROUP_WINDOW, "width", width);
  put_integer(self, GROUP_WINDOW, "height", height);
}

char **
loom_preferences_catalogues(LoomPreferences *self)
{
  char **paths = g_key_file_get_string_list(self->file, GROUP_WORK, "catalogues", NULL, NULL);
  return paths ? paths : g_new0(char *, 1);
}

void
loom_preferences_set_catalogues(LoomPreferences *self, const char *const *paths)
{
  g_key_file_set_string_list(self->file, GROUP_WORK, "catalogues", paths,
                             g_strv_length((char **)paths));
  write_file(self);
}

char *
loom_preferences_drawn_by(LoomPreferences *self)
{
  return g_key_file_get_string(self->file, GROUP_WORK, "drawn-by", NULL);
}

void
loom_preferences_set_drawn_by(LoomPreferences *self, const char *name)
{
  g_autofree char *old = loom_preferences_drawn_by(self);
  if (g_strcmp0(old, name) == 0)
    return;
  g_key_file_set_string(self->file, GROUP_WORK, "drawn-by", name);
  write_file(self);
}
