#include "application.h"

#include "look.h"
#include "loom-resources.h"

#include <glib/gi18n-lib.h>

#define STYLE "/org/loombook/ui/style.css"

struct _LoomApplication {
  GtkApplication parent;
  LoomPreferences *preferences;
  LoomCatalogue *catalogue;
  LoomDrafts *drafts;
  LoomEvents *events;
  char *layers;  /* the catalogues that were read, joined; for comparison */
  char *trouble; /* what was wrong with a catalogue; told in the first window */
  bool recovered;
};

G_DEFINE_FINAL_TYPE(LoomApplication, loom_application, GTK_TYPE_APPLICATION)

static void
note_trouble(LoomApplication *self, const GError *error)
{
  if (!self->trouble)
    self->trouble = g_strdup(error->message);
}

/* The built-in catalogue with the team's own layers over it. */
static void
read_catalogue(LoomApplication *self)
{
  g_autoptr(GError) error = NULL;
  g_auto(GStrv) layers = loom_preferences_catalogues(self->preferences);
  g_free(self->layers);
  self->layers = g_strjoinv("\n", layers);
  g_clear_pointer(&self->catalogue, loom_catalogue_unref);
  self->catalogue = loom_catalogue_built_in(&error);
  if (!self->catalogue) {
    note_trouble(self, error);
    self->catalogue = loom_catalogue_new();
  }
  for (char **p = layers; *p; p++) {
    g_autoptr(GError) wrong = NULL;
    if (!loom_catalogue_layer(self->catalogue, *p, &wrong))
      note_trouble(self, wrong);
  }
}

static void
on_preferences(LoomPreferences *preferences, gpointer data)
{
  LoomApplication *self = data;
  g_auto(GStrv) layers = loom_preferences_catalogues(preferences);
  g_autofree char *joined = g_strjoinv("\n", layers);
  if (g_str_equal(joined, self->layers))
    return;
  read_catalogue(self);
  for (GList *l = gtk_application_get_windows(GTK_APPLICATION(self)); l; l = l->next)
    if (LOOM_IS_WINDOW(l->data))
      loom_window_set_catalogue(l->data, self->catalogue);
}

static void
add_style(void)
{
  g_autoptr(GtkCssProvider) provider = gtk_css_provider_new();
  gtk_css_provider_load_from_resource(provider, STYLE);
  gtk_style_context_add_provider_for_display(gdk_display_get_default(),
                                             GTK_STYLE_PROVIDER(provider),
                                             GTK_STYLE_PROVIDER_PRIORITY_APPLICATION);
}

static void
on_quit(GSimpleAction *action, GVariant *parameter, gpointer data)
{
  (void)action;
  (void)parameter;
  g_autoptr(GList) windows = g_list_copy(gtk_application_get_windows(data));
  for (GList *l = windows; l; l = l->next)
    if (LOOM_IS_WINDOW(l->data))
      gtk_window_close(l->data);
}

static void
loom_application_startup(GApplication *application)
{
  LoomApplication *self = LOOM_APPLICATION(application);
  G_APPLICATION_CLASS(loom_application_parent_class)->startup(application);
  g_resources_register(loom_ui_get_resource());
  self->preferences = loom_preferences_new();
  self->drafts = loom_drafts_new();
  self->events = loom_events_new();
  loom_look_follow(self->preferences);
  add_style();
  read_catalogue(self);
  g_signal_connect(self->preferences, "changed", G_CALLBACK(on_preferences), self);
  g_autoptr(GSimpleAction) quit = g_simple_action_new("quit", NULL);
  g_signal_connect(quit, "activate", G_CALLBACK(on_quit), self);
  g_action_map_add_action(G_ACTION_MAP(self), G_ACTION(quit));
}

static void
put_name(LoomApplication *self, LoomDocument *document)
{
  g_autofree char *name = loom_preferences_drawn_by(self->preferences);
  if (!name || !*name)
    return;
  LoomDesign *design = loom_design_new(_("New robot"));
  g_autoptr(LoomEdit) edit = loom_edit_new(design, _("Name"));
  if (loom_edit_set(edit, "design", "drawn-by", name, NULL))
    loom_design_apply(design, g_steal_pointer(&edit));
  loom_document_start_from(document, design);
}

LoomWindow *
loom_application_new_window(LoomApplication *self)
{
  g_autoptr(LoomDocument) document = loom_document_new(self->catalogue, self->drafts, self->events);
  put_name(self, document);
  return loom_window_new(GTK_APPLICATION(self), document, self->preferences);
}

/* Work that an earlier run left behind comes back in windows of its own. */
static guint
recover(LoomApplication *self)
{
  g_autoptr(GPtrArray) left = self->recovered ? g_ptr_array_new() : loom_drafts_left(self->drafts);
  guint n = 0;
  self->recovered = true;
  for (guint i = 0; i < left->len; i++) {
    const LoomDraft *draft = g_ptr_array_index(left, i);
    LoomWindow *window = loom_application_new_window(self);
    if (!loom_document_recover(loom_window_document(window), draft, NULL)) {
      gtk_window_destroy(GTK_WINDOW(window));
      continue;
    }
    loom_window_show_recovered(window, draft->time);
    gtk_window_present(GTK_WINDOW(window));
    n++;
  }
  return n;
}

static gboolean
say_ready(gpointer data)
{
  LoomApplication *self = data;
  loom_events_say(self->events, "ready");
  return G_SOURCE_REMOVE;
}

static void
tell_trouble(LoomApplication *self, LoomWindow *window)
{
  if (!self->trouble)
    return;
  g_autoptr(GError) error = g_error_new_literal(LOOM_ERROR, LOOM_ERROR_FILE, self->trouble);
  loom_window_show_error(window, _("The catalogue could not be read whole"), error);
  g_clear_pointer(&self->trouble, g_free);
}

static void
show_first(LoomApplication *self, LoomWindow *window)
{
  gtk_window_present(GTK_WINDOW(window));
  tell_trouble(self, window);
  g_idle_add(say_ready, self);
}

static void
loom_application_activate(GApplication *application)
{
  LoomApplication *self = LOOM_APPLICATION(application);
  if (recover(self))
    g_idle_add(say_ready, self);
  else
    show_first(self, loom_application_new_window(self));
}

static void
loom_application_open(GApplication *application, GFile **files, int n_files, const char *hint)
{
  (void)hint;
  LoomApplication *self = LOOM_APPLICATION(application);
  recover(self);
  for (int i = 0; i < n_files; i++) {
    g_autofree char *path = g_file_get_path(files[i]);
    LoomWindow *window = loom_application_new_window(self);
    show_first(self, window);
    if (path)
      loom_window_open_path(window, path);
  }
}

static void
loom_application_finalize(GObject *object)
{
  LoomApplication *self = LOOM_APPLICATION(object);
  if (self->preferences)
    g_signal_handlers_disconnect_by_data(self->preferences, self);
  g_clear_object(&self->preferences);
  g_clear_pointer(&self->catalogue, loom_catalogue_unref);
  g_clear_pointer(&self->drafts, loom_drafts_free);
  g_clear_pointer(&self->events, loom_events_free);
  g_free(self->layers);
  g_free(self->trouble);
  G_OBJECT_CLASS(loom_application_parent_class)->finalize(object);
}

static void
loom_application_class_init(LoomApplicationClass *class)
{
  GApplicationClass *application_class = G_APPLICATION_CLASS(class);
  G_OBJECT_CLASS(class)->finalize = loom_application_finalize;
  application_class->startup = loom_application_startup;
  application_class->activate = loom_application_activate;
  application_class->open = loom_application_open;
}

static void
loom_application_init(LoomApplication *self)
{
  (void)self;
}

LoomApplication *
loom_application_new(void)
{
  return g_object_new(LOOM_TYPE_APPLICATION, "application-id", "org.loombook.Loombook", "flags",
                      G_APPLICATION_HANDLES_OPEN, NULL);
}
