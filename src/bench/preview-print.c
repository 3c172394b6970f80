#include "preview-private.h"

#include <glib/gi18n-lib.h>

static char *
file_name(LoomPreview *self, const char *suffix)
{
  bool book = self->terms.type == LOOM_PROOF_BOOK;
  const char *robot = loom_design_title(loom_document_design(self->document))->name;
  char *name = g_strdup_printf(book ? _("%s handout%s") : _("%s labels%s"), robot, suffix);
  return g_strdelimit(name, "/\\:", '-');
}

/* --- PDF --- */

static void
on_path(GtkNativeDialog *dialog, int response, gpointer data)
{
  g_autoptr(GFile) file =
      response == GTK_RESPONSE_ACCEPT ? gtk_file_chooser_get_file(GTK_FILE_CHOOSER(dialog)) : NULL;
  g_autofree char *path = file ? g_file_get_path(file) : NULL;
  g_object_unref(dialog);
  if (path)
    loom_preview_make(data, path);
}

void
loom_preview_save(LoomPreview *self)
{
  GtkFileChooserNative *chooser = gtk_file_chooser_native_new(
      _("Save as PDF"), GTK_WINDOW(self), GTK_FILE_CHOOSER_ACTION_SAVE, _("_Save"), _("_Cancel"));
  g_autofree char *name = file_name(self, ".pdf");
  gtk_native_dialog_set_modal(GTK_NATIVE_DIALOG(chooser), TRUE);
  gtk_file_chooser_set_current_name(GTK_FILE_CHOOSER(chooser), name);
  g_signal_connect_object(chooser, "response", G_CALLBACK(on_path), self, 0);
  gtk_native_dialog_show(GTK_NATIVE_DIALOG(chooser));
}

/* --- paper --- */

/* What a print job needs; the proof stays as it is whatever happens in the window. */
static LoomProof *
proof_of(GtkPrintOperation *operation)
{
  return g_object_get_data(G_OBJECT(operation), "proof");
}

static void
on_page_setup(GtkPrintOperation *operation, GtkPrintContext *context, int page, GtkPageSetup *setup,
              gpointer data)
{
  (void)context;
  (void)data;
  double width, height;
  loom_proof_size_pt(proof_of(operation), (guint)page, &width, &height);
  gtk_page_setup_set_orientation(setup, width > height ? GTK_PAGE_ORIENTATION_LANDSCAPE
                                                       : GTK_PAGE_ORIENTATION_PORTRAIT);
}

static void
on_draw_page(GtkPrintOperation *operation, GtkPrintContext *context, int page, gpointer data)
{
  (void)data;
  LoomProof *proof = proof_of(operation);
  cairo_t *cr = gtk_print_context_get_cairo_context(context);
  double width, height;
  loom_proof_size_pt(proof, (guint)page, &width, &height);
  /* Another paper than the proof's, chosen in the printer's dialogue: the page is made to fit. */
  double scale = MIN(gtk_print_context_get_width(context) / width,
                     gtk_print_context_get_height(context) / height);
  if (scale < 0.999)
    cairo_scale(cr, scale, scale);
  loom_proof_draw(proof, cr, (guint)page);
}

static void
on_printed(GtkPrintOperation *operation, GtkPrintOperationResult result, gpointer data)
{
  LoomPreview *self = data;
  g_autoptr(GError) error = NULL;
  if (result == GTK_PRINT_OPERATION_RESULT_ERROR) {
    gtk_print_operation_get_error(operation, &error);
    g_autofree char *sentence = g_strdup_printf(_("It could not be printed: %s"), error->message);
    loom_preview_tell(self, sentence, true);
  } else if (result == GTK_PRINT_OPERATION_RESULT_APPLY) {
    g_set_object(&self->settings, gtk_print_operation_get_print_settings(operation));
    loom_preview_tell(self, _("It is on its way to the printer."), false);
    loom_events_say(loom_document_events(self->document), "preview printed");
  }
}

static GtkPageSetup *
page_setup_new(const LoomProof *proof)
{
  GtkPageSetup *setup = gtk_page_setup_new();
  GtkPaperSize *size = gtk_paper_size_new(
      loom_proof_paper(proof) == LOOM_PAPER_LETTER ? GTK_PAPER_NAME_LETTER : GTK_PAPER_NAME_A4);
  gtk_page_setup_set_paper_size(setup, size);
  gtk_paper_size_free(size);
  return setup;
}

static GtkPrintOperation *
operation_new(LoomPreview *self)
{
  GtkPrintOperation *operation = gtk_print_operation_new();
  g_autoptr(GtkPageSetup) setup = page_setup_new(self->proof);
  g_autofree char *name = file_name(self, "");
  const char *sheet = loom_document_path(self->document);
  g_autofree char *folder = sheet ? g_path_get_dirname(sheet) : g_strdup(g_get_home_dir());
  gtk_print_settings_set(self->settings, GTK_PRINT_SETTINGS_OUTPUT_DIR, folder);
  gtk_print_settings_set(self->settings, GTK_PRINT_SETTINGS_OUTPUT_BASENAME, name);
  gtk_print_settings_set_use_color(self->settings, !self->terms.book.grey);
  gtk_print_operation_set_print_settings(operation, self->settings);
  gtk_print_operation_set_default_page_setup(operation, setup);
  gtk_print_operation_set_job_name(operation, name);
  gtk_print_operation_set_n_pages(operation, (int)loom_proof_n_pages(self->proof));
  gtk_print_operation_set_current_page(operation, (int)loom_paper_view_page(self->view));
  gtk_print_operation_set_use_full_page(operation, TRUE);
  gtk_print_operation_set_unit(operation, GTK_UNIT_POINTS);
  gtk_print_operation_set_show_progress(operation, TRUE);
  gtk_print_operation_set_allow_async(operation, TRUE);
  g_object_set_data_full(G_OBJECT(operation), "proof", loom_proof_ref(self->proof),
                         (GDestroyNotify)loom_proof_unref);
  return operation;
}

void
loom_preview_print(LoomPreview *self)
{
  if (!self->proof)
    return;
  g_autoptr(GtkPrintOperation) operation = operation_new(self);
  g_autoptr(GError) error = NULL;
  g_signal_connect(operation, "request-page-setup", G_CALLBACK(on_page_setup), NULL);
  g_signal_connect(operation, "draw-page", G_CALLBACK(on_draw_page), NULL);
  g_signal_connect_object(operation, "done", G_CALLBACK(on_printed), self, 0);
  gtk_print_operation_run(operation, GTK_PRINT_OPERATION_ACTION_PRINT_DIALOG, GTK_WINDOW(self),
                          &error);
}
