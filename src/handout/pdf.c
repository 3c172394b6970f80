#include "pdf.h"

#include "catalogue/error.h"
#include "design/file.h"

#include <glib/gi18n-lib.h>
#include <string.h>

#define NO_DATE "2000-01-01"

static bool
is_date(const char *text)
{
  if (!text || strlen(text) != 10 || text[4] != '-' || text[7] != '-')
    return false;
  g_autofree char *stamp = g_strdup_printf("%sT00:00:00Z", text);
  g_autoptr(GDateTime) date = g_date_time_new_from_iso8601(stamp, NULL);
  return date != NULL;
}

static void
set_metadata(cairo_surface_t *surface, const LoomPdf *pdf)
{
  g_autofree char *created =
      g_strdup_printf("%sT00:00:00Z", is_date(pdf->created) ? pdf->created : NO_DATE);
  cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_TITLE, pdf->title);
  if (pdf->author)
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_AUTHOR, pdf->author);
  cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATOR, "Loombook " LOOM_VERSION);
  cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATE_DATE, created);
  cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_MOD_DATE, created);
}

static cairo_status_t
collect(void *bytes, const unsigned char *more, unsigned int length)
{
  g_byte_array_append(bytes, more, length);
  return CAIRO_STATUS_SUCCESS;
}

static bool
draw_pages(cairo_surface_t *surface, const LoomPdf *pdf, GCancellable *cancellable,
           LoomProgress progress, gpointer data, GError **error)
{
  cairo_t *cr = cairo_create(surface);
  bool going = true;
  for (guint i = 0; i < pdf->n_pages && going; i++) {
    double width, height;
    pdf->size(pdf->data, i, &width, &height);
    cairo_pdf_surface_set_size(surface, width, height);
    pdf->draw(pdf->data, cr, i);
    cairo_show_page(cr);
    if (progress)
      progress((i + 1.0) / pdf->n_pages, data);
    going = !g_cancellable_set_error_if_cancelled(cancellable, error);
  }
  cairo_destroy(cr);
  return going;
}

bool
loom_pdf_write(const LoomPdf *pdf, const char *path, GCancellable *cancellable,
               LoomProgress progress, gpointer data, GError **error)
{
  g_autoptr(GByteArray) bytes = g_byte_array_new();
  cairo_surface_t *surface = cairo_pdf_surface_create_for_stream(collect, bytes, 72, 72);
  set_metadata(surface, pdf);
  bool whole = draw_pages(surface, pdf, cancellable, progress, data, error);
  cairo_surface_finish(surface);
  cairo_status_t status = cairo_surface_status(surface);
  cairo_surface_destroy(surface);
  if (!whole)
    return false;
  if (status != CAIRO_STATUS_SUCCESS) {
    g_set_error(error, LOOM_ERROR, LOOM_ERROR_FILE, _("%s:0: The pages could not be drawn: %s."),
                path, cairo_status_to_string(status));
    return false;
  }
  return loom_write_atomically(path, bytes->data, bytes->len, error);
}
