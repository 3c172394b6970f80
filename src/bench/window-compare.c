#include "window-private.h"

#include "compare-window.h"
#include "design/file.h"

#include <glib/gi18n-lib.h>

static void
compare_with(LoomWindow *self, const char *path, const char *name)
{
  g_autoptr(GError) error = NULL;
  LoomDesign *old = loom_design_open(path, &error);
  if (old)
    loom_compare_window_show(GTK_WINDOW(self), self->document, old, name);
  else
    loom_window_show_error(self, _("This file could not be compared"), error);
}

bool
loom_window_has_file(LoomWindow *self)
{
  return loom_document_path(self->document) != NULL;
}

void
loom_window_compare_saved(LoomWindow *self)
{
  g_autofree char *name = loom_document_name(self->document);
  g_autofree char *saved = g_strdup_printf(_("%s as it was saved"), name);
  compare_with(self, loom_document_path(self->document), saved);
}

static void
on_compare(GtkNativeDialog *dialog, int response, gpointer data)
{
  g_autofree char *path = loom_window_chosen_path(dialog, response);
  g_autofree char *name = path ? g_path_get_basename(path) : NULL;
  if (path)
    compare_with(data, path, name);
}

void
loom_window_compare_file(LoomWindow *self)
{
  GtkFileChooserNative *chooser =
      loom_window_chooser_new(self, _("Compare With"), GTK_FILE_CHOOSER_ACTION_OPEN, _("_Compare"));
  loom_window_add_design_filters(chooser);
  g_signal_connect(chooser, "response", G_CALLBACK(on_compare), self);
  gtk_native_dialog_show(GTK_NATIVE_DIALOG(chooser));
}
