#include "window-private.h"

#include "preview.h"

#include "handout/parts.h"
#include "handout/ports.h"
#include "sheet/export.h"

#include <glib/gi18n-lib.h>

/* What is written at once, or begun and written in a thread: one of the two is set. */
typedef struct {
  const char *title, *suffix;
  bool (*write)(LoomWindow *self, const char *path, GError **error);
  void (*begin)(LoomWindow *self, const char *path);
} Export;

static void
tell_written(LoomWindow *self, const char *path)
{
  g_autofree char *base = g_path_get_basename(path);
  g_autofree char *sentence = g_strdup_printf(_("Written: %s."), base);
  loom_events_say(loom_document_events(self->document), "exported %s", path);
  loom_window_tell(self, sentence);
}

static bool
write_diagram(LoomWindow *self, const char *path, GError **error)
{
  g_autoptr(GArray) parts = loom_design_list_scene_parts(loom_document_design(self->document),
                                                         loom_document_scene(self->document));
  LoomDrawOptions options;
  loom_draw_options_init(&options);
  options.palette = LOOM_PALETTE_PRINT;
  options.title_block = options.legend = true;
  options.findings = loom_document_findings(self->document);
  const LoomFlowing *flow = loom_flow_state_flow(self->flow);
  if (flow && loom_flow_state_shown(self->flow))
    loom_flowing_write(flow, &options);
  if (parts->len < loom_design_n_parts(loom_document_design(self->document))) {
    options.only_parts = (const guint *)parts->data;
    options.n_only = parts->len;
  }
  return loom_export_diagram(loom_document_sheet(self->document), &options, path, error);
}

static bool
write_parts(LoomWindow *self, const char *path, GError **error)
{
  g_autofree char *boxes = loom_stock_default_path();
  g_autoptr(LoomStock) stock =
      g_file_test(boxes, G_FILE_TEST_EXISTS) ? loom_stock_open(boxes, error) : NULL;
  if (error && *error)
    return false;
  g_autoptr(LoomPartsList) list = loom_parts_list_new(
      loom_document_design(self->document), loom_document_catalogue(self->document), stock);
  g_autofree char *text = loom_parts_list_csv(list);
  return g_file_set_contents(path, text, -1, error);
}

static bool
write_ports(LoomWindow *self, const char *path, GError **error)
{
  g_autoptr(LoomPortMap) map = loom_port_map_new(loom_document_design(self->document),
                                                 loom_document_scene(self->document), false);
  g_autofree char *text = loom_port_map_csv(map);
  return g_file_set_contents(path, text, -1, error);
}

/* Where an outing under way is to be written; outlives a window that is closed meanwhile. */
typedef struct {
  GWeakRef window;
  char *path;
} Writing;

static void
on_outing(GObject *source, GAsyncResult *result, gpointer data)
{
  (void)source;
  Writing *writing = data;
  g_autoptr(LoomWindow) self = g_weak_ref_get(&writing->window);
  g_autoptr(GError) error = NULL;
  bool done = loom_outing_page_export_finish(result, &error);
  bool open = self && self->document;
  if (open && done)
    tell_written(self, writing->path);
  else if (open && g_error_matches(error, G_IO_ERROR, G_IO_ERROR_CANCELLED))
    loom_window_tell(self, _("The export was cancelled."));
  else if (open)
    loom_window_show_error(self, _("It could not be exported"), error);
  g_weak_ref_clear(&writing->window);
  g_free(writing->path);
  g_free(writing);
}

static void
begin_outing(LoomWindow *self, const char *path)
{
  Writing *writing = g_new0(Writing, 1);
  g_weak_ref_init(&writing->window, self);
  writing->path = g_strdup(path);
  loom_outing_page_export(loom_flow_page_outing(self->flow_page), path, on_outing, writing);
}

static const Export export_diagram = {N_("Export Diagram"), ".svg", write_diagram, NULL};
static const Export export_parts = {N_("Export Parts List"), " parts.csv", write_parts, NULL};
static const Export export_ports = {N_("Export Port Map"), " ports.csv", write_ports, NULL};
static const Export export_outing = {N_("Export Outing"), " outing.svg", NULL, begin_outing};

static void
on_export(GtkNativeDialog *dialog, int response, gpointer data)
{
  const Export *export = data;
  LoomWindow *self = LOOM_WINDOW(gtk_native_dialog_get_transient_for(dialog));
  g_autofree char *path = loom_window_chosen_path(dialog, response);
  g_autoptr(GError) error = NULL;
  if (!path)
    return;
  if (export->begin)
    export->begin(self, path);
  else if (export->write(self, path, &error))
    tell_written(self, path);
  else
    loom_window_show_error(self, _("It could not be exported"), error);
}

static void
run_export(LoomWindow *self, const Export *export)
{
  GtkFileChooserNative *chooser =
      loom_window_chooser_new(self, _(export->title), GTK_FILE_CHOOSER_ACTION_SAVE, _("_Export"));
  g_autofree char *name = loom_window_name_for(self, export->suffix);
  gtk_file_chooser_set_current_name(GTK_FILE_CHOOSER(chooser), name);
  g_signal_connect(chooser, "response", G_CALLBACK(on_export), (gpointer) export);
  gtk_native_dialog_show(GTK_NATIVE_DIALOG(chooser));
}

void
loom_window_export_diagram(LoomWindow *self)
{
  run_export(self, &export_diagram);
}

void
loom_window_export_parts(LoomWindow *self)
{
  run_export(self, &export_parts);
}

void
loom_window_export_ports(LoomWindow *self)
{
  run_export(self, &export_ports);
}

void
loom_window_export_outing(LoomWindow *self)
{
  run_export(self, &export_outing);
}

void
loom_window_show_handout(LoomWindow *self)
{
  if (!self->preview)
    g_set_weak_pointer(
        &self->preview,
        loom_preview_new(gtk_window_get_application(GTK_WINDOW(self)), self->document));
  gtk_window_present(self->preview);
}
