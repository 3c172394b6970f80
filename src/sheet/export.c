/* The diagram as a file. A page is filled like this: the drawing at full size if it goes onto A4,
 * else smaller, but never so small that it cannot be read: then the paper is larger. */
#include "export.h"

#include "ink-private.h"
#include "inks.h"

#include <cairo-pdf.h>
#include <errno.h>
#include <glib/gi18n-lib.h>
#include <glib/gstdio.h>
#include <math.h>

#define MARGIN_MM 9.0
#define LEAST_SCALE 0.62 /* words of 2.3 mm come out at 1.4 mm, 4 points */
#define POINTS_PER_MM (72 / 25.4)
#define PNG_PIXELS_PER_MM 6.0
#define MOST_PIXELS 16000.0

typedef struct {
  double width, height; /* of the paper, mm */
  double scale;
  LoomRect extents;
  LoomDrawOptions options;
} Page;

/* ISO 216, landscape. */
static const double PAPERS[][2] = {{297, 210}, {420, 297}, {594, 420}, {841, 594}, {1189, 841}};

/* The largest scale at which sheet and blocks go onto the paper: the blocks keep their size. */
static double
scale_on(const LoomSheet *sheet, Page *page, double width, double height)
{
  double scale = 1;
  for (guint round = 0; round < 20; round++) {
    page->options.block_scale = 1 / scale;
    page->extents = loom_draw_extents(sheet, &page->options);
    double fit = fmin((width - 2 * MARGIN_MM) / page->extents.width,
                      (height - 2 * MARGIN_MM) / page->extents.height);
    if (fit >= scale * 0.9999)
      break;
    scale = fmin(fit, scale * 0.995);
  }
  return scale;
}

static Page
page_for(const LoomSheet *sheet, const LoomDrawOptions *options)
{
  Page page = {.options = *options};
  for (guint i = 0; i < G_N_ELEMENTS(PAPERS); i++) {
    page.width = PAPERS[i][0];
    page.height = PAPERS[i][1];
    page.scale = scale_on(sheet, &page, page.width, page.height);
    if (page.scale >= LEAST_SCALE)
      return page;
  }
  page.scale = LEAST_SCALE;
  page.options.block_scale = 1 / LEAST_SCALE;
  page.extents = loom_draw_extents(sheet, &page.options);
  page.width = page.extents.width * page.scale + 2 * MARGIN_MM;
  page.height = page.extents.height * page.scale + 2 * MARGIN_MM;
  return page;
}

static void
draw_page(cairo_t *cr, const LoomSheet *sheet, const Page *page)
{
  cairo_translate(cr, (page->width - page->extents.width * page->scale) / 2,
                  (page->height - page->extents.height * page->scale) / 2);
  cairo_scale(cr, page->scale, page->scale);
  cairo_translate(cr, -page->extents.x, -page->extents.y);
  g_autoptr(LoomInk) ink = loom_ink_cairo_new(cr, page->options.palette);
  loom_draw_sheet(ink, sheet, &page->options);
}

static char *
title_of(const LoomSheet *sheet)
{
  const char *scene = loom_design_scene(sheet->design, sheet->scene)->name;
  return g_strdup_printf(_("%s, wiring, %s"), loom_design_title(sheet->design)->name, scene);
}

/* When the page was made, as far as the same design must give the same bytes: $SOURCE_DATE_EPOCH,
 * else the date in the title block, else the beginning of time. New. */
static char *
date_of(const LoomSheet *sheet)
{
  const char *epoch = g_getenv("SOURCE_DATE_EPOCH"), *date = loom_design_title(sheet->design)->date;
  gint64 seconds = 0;
  if (epoch && g_ascii_string_to_signed(epoch, 10, 0, G_MAXINT32, &seconds, NULL)) {
    g_autoptr(GDateTime) at = g_date_time_new_from_unix_utc(seconds);
    return g_date_time_format(at, "%Y-%m-%dT%H:%M:%SZ");
  }
  if (date && g_regex_match_simple("^[0-9]{4}-[01][0-9]-[0-3][0-9]$", date, 0, 0))
    return g_strconcat(date, "T00:00:00Z", NULL);
  return g_strdup("1970-01-01T00:00:00Z");
}

static cairo_status_t
collect(void *closure, const unsigned char *data, unsigned length)
{
  g_byte_array_append(closure, data, length);
  return CAIRO_STATUS_SUCCESS;
}

/* Files as bytes; NULL where cairo has failed. New. */
static GByteArray *
finish(cairo_surface_t *surface, cairo_t *cr, GByteArray *bytes)
{
  cairo_status_t status = cairo_status(cr);
  cairo_destroy(cr);
  cairo_surface_finish(surface);
  if (status == CAIRO_STATUS_SUCCESS)
    status = cairo_surface_status(surface);
  cairo_surface_destroy(surface);
  if (status == CAIRO_STATUS_SUCCESS)
    return bytes;
  g_byte_array_unref(bytes);
  return NULL;
}

static GByteArray *
to_pdf(const LoomSheet *sheet, const LoomDrawOptions *options)
{
  Page page = page_for(sheet, options);
  GByteArray *bytes = g_byte_array_new();
  cairo_surface_t *surface = cairo_pdf_surface_create_for_stream(
      collect, bytes, page.width * POINTS_PER_MM, page.height * POINTS_PER_MM);
  g_autofree char *title = title_of(sheet);
  g_autofree char *date = date_of(sheet);
  const char *author = loom_design_title(sheet->design)->drawn_by;
  cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_TITLE, title);
  cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATOR, "Loombook " LOOM_VERSION);
  cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATE_DATE, date);
  if (author)
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_AUTHOR, author);
  cairo_t *cr = cairo_create(surface);
  cairo_scale(cr, POINTS_PER_MM, POINTS_PER_MM);
  draw_page(cr, sheet, &page);
  return finish(surface, cr, bytes);
}

static GByteArray *
to_png(const LoomSheet *sheet, const LoomDrawOptions *options)
{
  Page page = {.options = *options, .scale = 1};
  page.extents = loom_draw_extents(sheet, options);
  page.width = page.extents.width + 2;
  page.height = page.extents.height + 2;
  double dots = fmin(PNG_PIXELS_PER_MM, MOST_PIXELS / fmax(page.width, page.height));
  cairo_surface_t *surface = cairo_image_surface_create(
      CAIRO_FORMAT_RGB24, (int)ceil(page.width * dots), (int)ceil(page.height * dots));
  cairo_t *cr = cairo_create(surface);
  guint32 paper = loom_palette_rgb(options->palette, LOOM_PAINT_PAPER);
  cairo_set_source_rgb(cr, (paper >> 16) / 255.0, (paper >> 8 & 0xff) / 255.0,
                       (paper & 0xff) / 255.0);
  cairo_paint(cr);
  cairo_scale(cr, dots, dots);
  draw_page(cr, sheet, &page);
  GByteArray *bytes = g_byte_array_new();
  if (cairo_surface_write_to_png_stream(surface, collect, bytes) != CAIRO_STATUS_SUCCESS)
    cairo_surface_set_device_offset(surface, 0, 0);
  return finish(surface, cr, bytes);
}

static GByteArray *
to_svg(const LoomSheet *sheet, const LoomDrawOptions *options)
{
  LoomRect extents = loom_draw_extents(sheet, options);
  g_autofree char *title = title_of(sheet);
  /* Translators: numbers of parts and of joints. */
  g_autofree char *desc =
      g_strdup_printf(_("Wiring diagram. Parts: %u. Joints: %u."), sheet->n_parts, sheet->n_joints);
  LoomInk *ink = loom_ink_svg_new(extents, options->palette, title, desc);
  g_autoptr(LoomPath) paper = loom_path_new();
  loom_path_rect(paper, extents, 0);
  LoomStyle style = {.fill = LOOM_PAINT_PAPER, .opacity = 1};
  loom_ink_path(ink, paper, &style);
  loom_draw_sheet(ink, sheet, options);
  g_autofree char *text = loom_ink_svg_free_to_text(ink);
  GByteArray *bytes = g_byte_array_new();
  return g_byte_array_append(bytes, (const guint8 *)text, strlen(text));
}

bool
loom_export_diagram(const LoomSheet *sheet, const LoomDrawOptions *options, const char *path,
                    GError **error)
{
  static const struct {
    const char *suffix;
    GByteArray *(*make)(const LoomSheet *sheet, const LoomDrawOptions *options);
  } FORMATS[] = {{".svg", to_svg}, {".pdf", to_pdf}, {".png", to_png}};
  LoomDrawOptions usual;
  loom_draw_options_init(&usual);
  usual.palette = LOOM_PALETTE_PRINT;
  usual.title_block = usual.legend = true;
  g_autofree char *lower = g_ascii_strdown(path, -1);
  for (guint i = 0; i < G_N_ELEMENTS(FORMATS); i++) {
    if (!g_str_has_suffix(lower, FORMATS[i].suffix))
      continue;
    g_autoptr(GByteArray) bytes = FORMATS[i].make(sheet, options ? options : &usual);
    g_autoptr(GError) reason = NULL;
    if (bytes && g_file_set_contents(path, (const char *)bytes->data, bytes->len, &reason))
      return true;
    g_set_error(error, LOOM_ERROR, LOOM_ERROR_FILE,
                _("The drawing cannot be written to \"%s\": %s."), path,
                reason ? reason->message : _("it is too large"));
    return false;
  }
  g_set_error(error, LOOM_ERROR, LOOM_ERROR_FILE,
              _("\"%s\" must end in .svg, .pdf or .png for a drawing to be written to it."), path);
  return false;
}
