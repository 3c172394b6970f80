#include "window-private.h"

#include "application.h"
#include "starting-point.h"

#include <glib/gi18n-lib.h>

#define FILE_TYPE "application/x.loombook-design+xml"

/* Saying what went wrong. */

static GtkWidget *
message_new(LoomWindow *self, const char *heading, const char *sentence, GtkButtonsType buttons)
{
  GtkWidget *dialog =
      gtk_message_dialog_new(GTK_WINDOW(self), GTK_DIALOG_MODAL | GTK_DIALOG_DESTROY_WITH_PARENT,
                             GTK_MESSAGE_OTHER, buttons, "%s", heading);
  gtk_message_dialog_format_secondary_text(GTK_MESSAGE_DIALOG(dialog), "%s", sentence);
  return dialog;
}

void
loom_window_show_error(LoomWindow *self, const char *heading, const GError *error)
{
  GtkWidget *dialog = message_new(self, heading, error->message, GTK_BUTTONS_CLOSE);
  g_signal_connect(dialog, "response", G_CALLBACK(gtk_window_destroy), NULL);
  gtk_window_present(GTK_WINDOW(dialog));
  loom_events_say(loom_document_events(self->document), "error %s", error->message);
}

static void
add_recent(const char *path)
{
  g_autoptr(GFile) file = g_file_new_for_path(path);
  g_autofree char *uri = g_file_get_uri(file);
  GtkRecentData data = {.mime_type = (char *)FILE_TYPE,
                        .app_name = (char *)"Loombook",
                        .app_exec = (char *)"loombook %f"};
  gtk_recent_manager_add_full(gtk_recent_manager_get_default(), uri, &data);
}

/* New and open. */

static LoomWindow *
window_to_use(LoomWindow *self)
{
  if (loom_document_untouched(self->document) && !loom_window_has_parts(self))
    return self;
  LoomApplication *application = LOOM_APPLICATION(gtk_window_get_application(GTK_WINDOW(self)));
  return loom_application_new_window(application);
}

/* The window that has this file open, or NULL. */
static LoomWindow *
window_with(LoomWindow *self, const char *path)
{
  GtkApplication *application = gtk_window_get_application(GTK_WINDOW(self));
  for (GList *l = gtk_application_get_windows(application); l; l = l->next)
    if (LOOM_IS_WINDOW(l->data) &&
        g_strcmp0(loom_document_path(LOOM_WINDOW(l->data)->document), path) == 0)
      return l->data;
  return NULL;
}

void
loom_window_new_sheet(LoomWindow *self)
{
  LoomApplication *application = LOOM_APPLICATION(gtk_window_get_application(GTK_WINDOW(self)));
  gtk_window_present(GTK_WINDOW(loom_application_new_window(application)));
}

void
loom_window_start(LoomWindow *self)
{
  g_autoptr(GError) error = NULL;
  LoomDesign *design = loom_starting_point_new(loom_document_catalogue(self->document), &error);
  if (!design) {
    loom_window_show_error(self, _("The supply chain could not be made"), error);
    return;
  }
  LoomWindow *window = window_to_use(self);
  loom_document_start_from(window->document, design);
  loom_canvas_zoom_fit(window->canvas);
  gtk_window_present(GTK_WINDOW(window));
  gtk_widget_grab_focus(GTK_WIDGET(window->canvas));
}

void
loom_window_open_path(LoomWindow *self, const char *path)
{
  LoomWindow *there = window_with(self, path);
  if (there) {
    gtk_window_present(GTK_WINDOW(there));
    return;
  }
  LoomWindow *window = window_to_use(self);
  g_autoptr(GError) error = NULL;
  if (!loom_document_open(window->document, path, &error)) {
    loom_window_show_error(self, _("This file could not be opened"), error);
    if (window != self)
      gtk_window_destroy(GTK_WINDOW(window));
    return;
  }
  add_recent(path);
  loom_canvas_zoom_fit(window->canvas);
  gtk_window_present(GTK_WINDOW(window));
  gtk_widget_grab_focus(GTK_WIDGET(window->canvas));
}

static GtkFileFilter *
filter_new(const char *name, const char *pattern)
{
  GtkFileFilter *filter = gtk_file_filter_new();
  gtk_file_filter_set_name(filter, name);
  gtk_file_filter_add_pattern(filter, pattern);
  return filter;
}

GtkFileChooserNative *
loom_window_chooser_new(LoomWindow *self, const char *title, GtkFileChooserAction action,
                        const char *accept)
{
  GtkFileChooserNative *chooser =
      gtk_file_chooser_native_new(title, GTK_WINDOW(self), action, accept, _("_Cancel"));
  gtk_native_dialog_set_modal(GTK_NATIVE_DIALOG(chooser), TRUE);
  return chooser;
}

/* Path chosen, new; NULL where the dialog was cancelled. Ends the dialog. */
char *
loom_window_chosen_path(GtkNativeDialog *dialog, int response)
{
  g_autoptr(GFile) file =
      response == GTK_RESPONSE_ACCEPT ? gtk_file_chooser_get_file(GTK_FILE_CHOOSER(dialog)) : NULL;
  g_object_unref(dialog);
  return file ? g_file_get_path(file) : NULL;
}

static void
on_open(GtkNativeDialog *dialog, int response, gpointer data)
{
  g_autofree char *path = loom_window_chosen_path(dialog, response);
  if (path)
    loom_window_open_path(data, path);
}

void
loom_window_add_design_filters(GtkFileChooserNative *chooser)
{
  g_autoptr(GtkFileFilter) ours = filter_new(_("Loombook sheets"), "*.loom");
  g_autoptr(GtkFileFilter) all = filter_new(_("All files"), "*");
  gtk_file_chooser_add_filter(GTK_FILE_CHOOSER(chooser), ours);
  gtk_file_chooser_add_filter(GTK_FILE_CHOOSER(chooser), all);
}

void
loom_window_open(LoomWindow *self)
{
  GtkFileChooserNative *chooser =
      loom_window_chooser_new(self, _("Open"), GTK_FILE_CHOOSER_ACTION_OPEN, _("_Open"));
  loom_window_add_design_filters(chooser);
  g_signal_connect(chooser, "response", G_CALLBACK(on_open), self);
  gtk_native_dialog_show(GTK_NATIVE_DIALOG(chooser));
}

void
loom_window_open_demo(LoomWindow *self)
{
  g_autofree char *path = loom_data_path("demo/sandpiper.loom");
  if (path)
    loom_window_open_path(self, path);
  else
    loom_window_tell(self, _("The demo robot is not installed."));
}

/* Save. */

static bool
save_to(LoomWindow *self, const char *path)
{
  g_autoptr(GError) error = NULL;
  if (!loom_document_save(self->document, path, &error)) {
    loom_window_show_error(self, _("The sheet could not be saved"), error);
    return false;
  }
  add_recent(path);
  gtk_widget_set_visible(GTK_WIDGET(self->recovered), FALSE);
  loom_window_tell(self, _("Saved."));
  return true;
}

static void
close_if_asked(LoomWindow *self)
{
  if (self->closing)
    gtk_window_destroy(GTK_WINDOW(self));
}

static char *
with_suffix(const char *path, const char *suffix)
{
  return g_str_has_suffix(path, suffix) ? g_strdup(path) : g_strconcat(path, suffix, NULL);
}

static void
on_save(GtkNativeDialog *dialog, int response, gpointer data)
{
  LoomWindow *self = data;
  g_autofree char *path = loom_window_chosen_path(dialog, response);
  g_autofree char *full = path ? with_suffix(path, ".loom") : NULL;
  if (full && save_to(self, full))
    close_if_asked(self);
  else
    self->closing = false;
}

/* A file name from the design's name: blanks stay, separators do not. New. */
char *
loom_window_name_for(LoomWindow *self, const char *suffix)
{
  char *name =
      g_strconcat(loom_design_title(loom_document_design(self->document))->name, suffix, NULL);
  return g_strdelimit(name, "/\\:", '-');
}

void
loom_window_save_as(LoomWindow *self)
{
  GtkFileChooserNative *chooser =
      loom_window_chooser_new(self, _("Save As"), GTK_FILE_CHOOSER_ACTION_SAVE, _("_Save"));
  const char *path = loom_document_path(self->document);
  g_autoptr(GFile) file = path ? g_file_new_for_path(path) : NULL;
  g_autofree char *name = loom_window_name_for(self, ".loom");
  if (file)
    gtk_file_chooser_set_file(GTK_FILE_CHOOSER(chooser), file, NULL);
  else
    gtk_file_chooser_set_current_name(GTK_FILE_CHOOSER(chooser), name);
  g_signal_connect(chooser, "response", G_CALLBACK(on_save), self);
  gtk_native_dialog_show(GTK_NATIVE_DIALOG(chooser));
}

/* What is still being typed into a field is taken. */
static void
settle(LoomWindow *self)
{
  GtkWidget *focus = gtk_window_get_focus(GTK_WINDOW(self));
  gtk_window_set_focus(GTK_WINDOW(self), NULL);
  gtk_window_set_focus(GTK_WINDOW(self), focus);
}

void
loom_window_save(LoomWindow *self)
{
  settle(self);
  g_autofree char *path = g_strdup(loom_document_path(self->document));
  if (!path)
    loom_window_save_as(self);
  else if (save_to(self, path))
    close_if_asked(self);
  else
    self->closing = false;
}

/* Closing. */

enum { RESPONSE_DISCARD = 1, RESPONSE_SAVE };

static void
on_close_answer(GtkDialog *dialog, int response, gpointer data)
{
  LoomWindow *self = data;
  gtk_window_set_transient_for(GTK_WINDOW(dialog), NULL); /* it lives until this call returns */
  gtk_window_destroy(GTK_WINDOW(dialog));
  if (response == RESPONSE_DISCARD) {
    loom_document_discard_draft(self->document);
    gtk_window_destroy(GTK_WINDOW(self));
  } else if (response == RESPONSE_SAVE) {
    self->closing = true;
    loom_window_save(self);
  }
}

gboolean
loom_window_close_request(GtkWindow *window)
{
  LoomWindow *self = LOOM_WINDOW(window);
  settle(self);
  if (!loom_document_modified(self->document)) {
    loom_document_discard_draft(self->document);
    return GDK_EVENT_PROPAGATE;
  }
  g_autofree char *name = loom_document_name(self->document);
  g_autofree char *heading = g_strdup_printf(_("Save changes to “%s” before closing?"), name);
  GtkWidget *dialog = message_new(self, heading, _("Changes that are not saved are lost for good."),
                                  GTK_BUTTONS_NONE);
  gtk_dialog_add_button(GTK_DIALOG(dialog), _("Close _without Saving"), RESPONSE_DISCARD);
  gtk_dialog_add_button(GTK_DIALOG(dialog), _("_Cancel"), GTK_RESPONSE_CANCEL);
  gtk_dialog_add_button(GTK_DIALOG(dialog), _("_Save"), RESPONSE_SAVE);
  gtk_dialog_set_default_response(GTK_DIALOG(dialog), RESPONSE_SAVE);
  GtkWidget *discard = gtk_dialog_get_widget_for_response(GTK_DIALOG(dialog), RESPONSE_DISCARD);
  gtk_widget_add_css_class(discard, "destructive-action");
  g_signal_connect(dialog, "response", G_CALLBACK(on_close_answer), self);
  gtk_window_present(GTK_WINDOW(dialog));
  loom_events_say(loom_document_events(self->document), "asked to save");
  return GDK_EVENT_STOP;
}

/* Files dropped onto the window. */

static gboolean
on_files(GtkDropTarget *target, const GValue *value, double x, double y, gpointer data)
{
  (void)target;
  (void)x;
  (void)y;
  GSList *files = g_value_get_boxed(value);
  for (GSList *l = files; l; l = l->next) {
    g_autofree char *path = g_file_get_path(l->data);
    if (path)
      loom_window_open_path(data, path);
  }
  return files != NULL;
}

void
loom_window_take_files(LoomWindow *self)
{
  GtkDropTarget *target = gtk_drop_target_new(GDK_TYPE_FILE_LIST, GDK_ACTION_COPY);
  g_signal_connect(target, "drop", G_CALLBACK(on_files), self);
  gtk_widget_add_controller(GTK_WIDGET(self), GTK_EVENT_CONTROLLER(target));
}
