/* Writing PDF: pages drawn by cairo, a title, and no time of the day, so that equal pages give
 * equal bytes. */
#pragma once

#include <cairo-pdf.h>
#include <gio/gio.h>
#include <stdbool.h>

G_BEGIN_DECLS

/* Called now and then: `share` 0 ... 1 of the work is done. */
typedef void (*LoomProgress)(double share, gpointer data);

/* All borrowed for the call. */
typedef struct {
  const char *title;
  const char *author;  /* or NULL */
  const char *created; /* ISO 8601 date; anything else or NULL: 2000-01-01 */
  guint n_pages;
  gpointer data; /* of the two below */
  void (*size)(gpointer data, guint page, double *width_pt, double *height_pt);
  void (*draw)(gpointer data, cairo_t *cr, guint page); /* onto a PDF surface, a unit a point */
} LoomPdf;

/* Writes beside `path` and renames. false with `error` on a file that cannot be written, or with
 * G_IO_ERROR_CANCELLED; then `path` holds what it held. `cancellable` and `progress` may be NULL.
 */
bool loom_pdf_write(const LoomPdf *pdf, const char *path, GCancellable *cancellable,
                    LoomProgress progress, gpointer data, GError **error);

G_END_DECLS
