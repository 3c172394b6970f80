#include "figure-file.h"

#include "catalogue/error.h"
#include "inks.h"

#include <cairo-pdf.h>
#include <glib/gi18n-lib.h>
#include <math.h>

#define POINTS_PER_MM (72 / 25.4)
#define PIXELS_PER_MM 8.0

static void
draw_on(cairo_t *cr, const LoomFigureFile *figure, double scale)
{
  cairo_set_source_rgb(cr, 1, 1, 1);
  cairo_paint(cr);
  cairo_scale(cr, scale, scale);
  g_autoptr(LoomInk) ink = loom_ink_cairo_new(cr, LOOM_PALETTE_PRINT);
  figure->draw(ink, figure->data);
}

static cairo_status_t
collect(void *closure, const unsigned char *data, unsigned length)
{
  g_byte_array_append(closure, data, length);
  return CAIRO_STATUS_SUCCESS;
}

static void
to_pdf(const LoomFigureFile *figure, GByteArray *bytes)
{
  cairo_surface_t *surface = cairo_pdf_surface_create_for_stream(
      collect, bytes, figure->width_mm * POINTS_PER_MM, figure->height_mm * POINTS_PER_MM);
  cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_TITLE, figure->title);
  cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATOR, "Loombook " LOOM_VERSION);
  cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATE_DATE, "1970-01-01T00:00:00Z");
  cairo_t *cr = cairo_create(surface);
  draw_on(cr, figure, POINTS_PER_MM);
  cairo_destroy(cr);
  cairo_surface_finish(surface);
  cairo_surface_destroy(surface);
}

static void
to_png(const LoomFigureFile *figure, GByteArray *bytes)
{
  cairo_surface_t *surface =
      cairo_image_surface_create(CAIRO_FORMAT_RGB24, (int)ceil(figure->width_mm * PIXELS_PER_MM),
                                 (int)ceil(figure->height_mm * PIXELS_PER_MM));
  cairo_t *cr = cairo_create(surface);
  draw_on(cr, figure, PIXELS_PER_MM);
  cairo_destroy(cr);
  cairo_surface_write_to_png_stream(surface, collect, bytes);
  cairo_surface_destroy(surface);
}

static void
to_svg(const LoomFigureFile *figure, GByteArray *bytes)
{
  LoomRect all = {0, 0, figure->width_mm, figure->height_mm};
  LoomInk *ink = loom_ink_svg_new(all, LOOM_PALETTE_PRINT, figure->title, figure->desc);
  g_autoptr(LoomPath) paper = loom_path_new();
  loom_path_rect(paper, all, 0);
  LoomStyle style = {.fill = LOOM_PAINT_PAPER, .opacity = 1};
  loom_ink_path(ink, paper, &style);
  figure->draw(ink, figure->data);
  g_autofree char *text = loom_ink_svg_free_to_text(ink);
  g_byte_array_append(bytes, (const guint8 *)text, (guint)strlen(text));
}

bool
loom_figure_file_write(const LoomFigureFile *figure, const char *path, GError **error)
{
  static const struct {
    const char *suffix;
    void (*make)(const LoomFigureFile *figure, GByteArray *bytes);
  } FORMATS[] = {{".svg", to_svg}, {".pdf", to_pdf}, {".png", to_png}};
  g_autofree char *lower = g_ascii_strdown(path, -1);
  for (guint i = 0; i < G_N_ELEMENTS(FORMATS); i++) {
    if (!g_str_has_suffix(lower, FORMATS[i].suffix))
      continue;
    g_autoptr(GByteArray) bytes = g_byte_array_new();
    g_autoptr(GError) reason = NULL;
    FORMATS[i].make(figure, bytes);
    if (g_file_set_contents(path, (const char *)bytes->data, bytes->len, &reason))
      return true;
    g_set_error(error, LOOM_ERROR, LOOM_ERROR_FILE, _("\"%s\" cannot be written: %s."), path,
                reason->message);
    return false;
  }
  g_set_error(error, LOOM_ERROR, LOOM_ERROR_FILE,
              _("\"%s\" must end in .svg, .pdf or .png for a drawing to be written to it."), path);
  return false;
}
