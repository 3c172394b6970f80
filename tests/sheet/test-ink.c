/* Ink: path data as SVG 1.1 (8.3) has it, placing against cairo's own matrices, the same strokes by
 * cairo and by librsvg from our SVG, names that stay unique, palettes that can be read (WCAG 2.1).
 */
#include "design/edit.h"
#include "sheet/export.h"
#include "sheet/inks.h"
#include "sheet/tidy.h"

#include "robots.h"

#include <cairo-pdf.h>
#include <librsvg/rsvg.h>
#include <libxml/parser.h>
#include <libxml/xpath.h>
#include <libxml/xpathInternals.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>

#include <cmocka.h>

#include "near.h"

static const LoomRect PAGE = {0, 0, 100, 60};

static void
path_data_is_read_as_svg_has_it(void **state G_GNUC_UNUSED)
{
  static const struct {
    const char *data;
    bool good;
  } CASES[] = {{"M 1 2 L 3 4 Z", true},
               {"M1,2L3,4Z", true},
               {"M1 2 3 4 5 6", true},
               {"M0 0C1 1 2 2 3 3 4 4 5 5 6 6Z", true},
               {"M-1.5-2e1L.5 1", true},
               {"", true},
               {"L 1 2", false},
               {"M 1", false},
               {"M 1 2 Q 3 4 5 6", false},
               {"M 1 2 l 3 4", false},
               {"M 1 2 L nan 4", false},
               {"M 1 2 L 3 inf", false},
               {"Z", false},
               {"M 1 2 Z 3", false},
               {"M 1 2 L 3 4 x", false}};
  for (guint i = 0; i < G_N_ELEMENTS(CASES); i++) {
    g_autoptr(LoomPath) path = loom_path_new();
    if (loom_path_data(path, CASES[i].data) != CASES[i].good)
      fail_msg("\"%s\"", CASES[i].data);
  }
}

static char *
svg_of_path(const LoomPath *path, double x, double y, int quarters, bool mirrored)
{
  LoomInk *ink = loom_ink_svg_new(PAGE, LOOM_PALETTE_PRINT, "t", "d");
  LoomStyle style = {.fill = LOOM_PAINT_INK, .opacity = 1};
  loom_ink_begin_placed(ink, x, y, quarters, mirrored);
  loom_ink_path(ink, path, &style);
  loom_ink_end(ink);
  return loom_ink_svg_free_to_text(ink);
}

/* First mirrored about x = 0, then turned clockwise (y being down), then moved. */
static void
placed_groups_follow_cairos_matrices(void **state G_GNUC_UNUSED)
{
  for (int quarters = 0; quarters < 4; quarters++)
    for (int mirrored = 0; mirrored < 2; mirrored++) {
      cairo_matrix_t m;
      cairo_matrix_init_identity(&m);
      cairo_matrix_translate(&m, 30, 20);
      cairo_matrix_rotate(&m, quarters * G_PI / 2);
      cairo_matrix_scale(&m, mirrored ? -1 : 1, 1);
      double x = 7, y = 3;
      cairo_matrix_transform_point(&m, &x, &y);
      g_autoptr(LoomPath) path = loom_path_new();
      loom_path_move(path, 7, 3);
      loom_path_line(path, 0, 0);
      g_autofree char *svg = svg_of_path(path, 30, 20, quarters, mirrored);
      g_autofree char *expected =
          g_strdup_printf("d=\"M%g %gL30 20\"", round(x * 1000) / 1000, round(y * 1000) / 1000);
      if (!strstr(svg, expected))
        fail_msg("%d quarters, mirrored %d: %s not in %s", quarters, mirrored, expected, svg);
    }
}

static xmlDoc *
parse(const char *svg)
{
  xmlDoc *doc = xmlReadMemory(svg, (int)strlen(svg), "drawing.svg", NULL, XML_PARSE_NONET);
  assert_non_null(doc);
  return doc;
}

static guint
count(xmlDoc *doc, const char *path)
{
  xmlXPathContext *context = xmlXPathNewContext(doc);
  xmlXPathRegisterNs(context, BAD_CAST "s", BAD_CAST "http://www.w3.org/2000/svg");
  xmlXPathObject *found = xmlXPathEvalExpression(BAD_CAST path, context);
  assert_non_null(found);
  guint n = found->nodesetval ? (guint)found->nodesetval->nodeNr : 0;
  xmlXPathFreeObject(found);
  xmlXPathFreeContext(context);
  return n;
}

/* Words that XML takes for something else, and bytes that it does not take at all. */
static void
svg_keeps_any_words(void **state G_GNUC_UNUSED)
{
  LoomInk *ink = loom_ink_svg_new(PAGE, LOOM_PALETTE_LIGHT, "a < b & c", "\"q\" ]]> \x01\xff");
  loom_ink_begin(ink, "part-A 1/ä", "<b>", NULL);
  loom_ink_text(ink, 1, 2, 3, LOOM_ANCHOR_END, true, LOOM_PAINT_INK,
                "5 < 6 & \"seven\" ]]> \x02 \xc3\x28 Ω");
  loom_ink_end(ink);
  loom_ink_begin(ink, "part-A 1/ä", NULL, NULL);
  loom_ink_end(ink);
  loom_ink_begin(ink, "9", NULL, NULL);
  loom_ink_end(ink);
  g_autofree char *svg = loom_ink_svg_free_to_text(ink);
  xmlDoc *doc = parse(svg);
  assert_int_equal(count(doc, "//s:text"), 1);
  assert_int_equal(count(doc, "//s:g[s:title='<b>']"), 1);
  assert_int_equal(count(doc, "//s:g[@id]"), 3);
  assert_int_equal(count(doc, "//s:g[@id=preceding::s:g/@id]"), 0);
  xmlFreeDoc(doc);
}

static LoomSheet *
tidy_robot(const char *name)
{
  g_autoptr(LoomDesign) design = robots_load(name);
  LoomEdit *edit = loom_edit_new(design, "Tidy");
  loom_tidy(edit, 0);
  loom_design_apply(design, edit);
  return loom_sheet_new(design, 0, NULL);
}

static cairo_surface_t *
blank(LoomRect extents, double scale, cairo_t **cr)
{
  cairo_surface_t *surface = cairo_image_surface_create(
      CAIRO_FORMAT_RGB24, (int)ceil(extents.width * scale), (int)ceil(extents.height * scale));
  *cr = cairo_create(surface);
  cairo_set_source_rgb(*cr, 1, 1, 1);
  cairo_paint(*cr);
  return surface;
}

/* Mean difference of the two pictures in steps of 255, and share of dots that differ by more than
 * half. */
static double
difference(cairo_surface_t *a, cairo_surface_t *b, double *far)
{
  cairo_surface_flush(a);
  cairo_surface_flush(b);
  int width = cairo_image_surface_get_width(a), height = cairo_image_surface_get_height(a);
  int stride = cairo_image_surface_get_stride(a);
  const guint8 *pa = cairo_image_surface_get_data(a), *pb = cairo_image_surface_get_data(b);
  double sum = 0, large = 0;
  for (int y = 0; y < height; y++)
    for (int x = 0; x < width; x++)
      for (int c = 0; c < 3; c++) {
        int d = abs(pa[y * stride + 4 * x + c] - pb[y * stride + 4 * x + c]);
        sum += d;
        large += d > 127;
      }
  *far = large / (3.0 * width * height);
  return sum / (3.0 * width * height);
}

/* `stamps` NULL: by the plain ink. */
static cairo_surface_t *
drawn_by_cairo(const LoomSheet *sheet, const LoomDrawOptions *options, LoomRect extents,
               double scale, LoomStamps *stamps)
{
  cairo_t *cr;
  cairo_surface_t *surface = blank(extents, scale, &cr);
  cairo_scale(cr, scale, scale);
  cairo_translate(cr, -extents.x, -extents.y);
  LoomInk *ink = stamps ? loom_ink_cairo_stamped_new(cr, options->palette, stamps)
                        : loom_ink_cairo_new(cr, options->palette);
  loom_draw_sheet(ink, sheet, options);
  loom_ink_free(ink);
  cairo_destroy(cr);
  return surface;
}

/* The SVG rendered by librsvg is the picture that the cairo inks draw. */
static void
svg_and_cairo_show_the_same(void **state G_GNUC_UNUSED)
{
  static const char *const ROBOTS[] = {"sandpiper", "genderless", "studs"};
  for (guint i = 0; i < G_N_ELEMENTS(ROBOTS); i++) {
    g_autoptr(LoomSheet) sheet = tidy_robot(ROBOTS[i]);
    LoomDrawOptions options;
    loom_draw_options_init(&options);
    options.palette = LOOM_PALETTE_PRINT;
    options.title_block = options.legend = true;
    LoomRect extents = loom_draw_extents(sheet, &options);
    double scale = 4, far;
    cairo_t *cr;
    LoomStamps *stamps = loom_stamps_new();
    cairo_surface_t *ours[] = {drawn_by_cairo(sheet, &options, extents, scale, NULL),
                               drawn_by_cairo(sheet, &options, extents, scale, stamps)};
    loom_stamps_free(stamps);

    LoomInk *ink = loom_ink_svg_new(extents, options.palette, "t", "d");
    loom_draw_sheet(ink, sheet, &options);
    g_autofree char *svg = loom_ink_svg_free_to_text(ink);
    g_autoptr(GError) error = NULL;
    RsvgHandle *handle = rsvg_handle_new_from_data((const guint8 *)svg, strlen(svg), &error);
    assert_null(error);
    cairo_surface_t *theirs = blank(extents, scale, &cr);
    RsvgRectangle view = {0, 0, extents.width * scale, extents.height * scale};
    assert_true(rsvg_handle_render_document(handle, cr, &view, &error));
    cairo_destroy(cr);

    for (guint k = 0; k < 2; k++) {
      double mean = difference(ours[k], theirs, &far);
      print_message("%s%s: mean difference %.3f of 255, %.4f %% far off\n", ROBOTS[i],
                    k ? " stamped" : "", mean, 100 * far);
      assert_true(mean < 1.0);
      assert_true(far < 0.002);
      cairo_surface_destroy(ours[k]);
    }
    g_object_unref(handle);
    cairo_surface_destroy(theirs);
  }
}

static cairo_status_t
collect(void *bytes, const unsigned char *more, unsigned int length)
{
  g_byte_array_append(bytes, more, length);
  return CAIRO_STATUS_SUCCESS;
}

static guint
occurrences(const GByteArray *bytes, const char *word)
{
  guint n = 0;
  gsize length = strlen(word);
  for (gsize i = 0; i + length <= bytes->len; i++)
    n += memcmp(bytes->data + i, word, length) == 0;
  return n;
}

/* What is stamped stands in the PDF once as a form XObject (ISO 32000-1, 8.10) for each way it
 * lies, over all pages. */
static void
stamps_stand_in_the_file_once(void **state G_GNUC_UNUSED)
{
  const LoomKind *kind = loom_catalogue_kind(robots_catalogue(), "switch-main-20");
  g_autoptr(GByteArray) bytes = g_byte_array_new();
  cairo_surface_t *pdf = cairo_pdf_surface_create_for_stream(collect, bytes, 300, 300);
  cairo_t *cr = cairo_create(pdf);
  g_autoptr(LoomStamps) stamps = loom_stamps_new();
  for (guint page = 0; page < 3; page++) {
    LoomInk *ink = loom_ink_cairo_stamped_new(cr, LOOM_PALETTE_PRINT, stamps);
    for (guint i = 0; i < 8; i++) {
      loom_ink_begin_placed(ink, 30 + 20 * i, 50 + 30 * page, (int)i % 2, false);
      loom_draw_end(ink, &kind->ends[0], false);
      loom_ink_end(ink);
    }
    loom_ink_free(ink);
    cairo_show_page(cr);
  }
  cairo_destroy(cr);
  cairo_surface_finish(pdf);
  cairo_surface_destroy(pdf);
  assert_int_equal(occurrences(bytes, "/Subtype /Form"), 2);
}

static double
luminance(guint32 rgb)
{
  double sum = 0, share[] = {0.2126, 0.7152, 0.0722};
  for (int i = 0; i < 3; i++) {
    double c = (rgb >> (16 - 8 * i) & 0xff) / 255.0;
    sum += share[i] * (c <= 0.03928 ? c / 12.92 : pow((c + 0.055) / 1.055, 2.4));
  }
  return sum;
}

static double
contrast(LoomPalette palette, LoomPaint a, LoomPaint b)
{
  double x = luminance(loom_palette_rgb(palette, a)), y = luminance(loom_palette_rgb(palette, b));
  return (fmax(x, y) + 0.05) / (fmin(x, y) + 0.05);
}

/* WCAG 2.1: 1.4.3 asks 4.5 of text, 1.4.6 asks 7, 1.4.11 asks 3 of marks that carry a meaning. */
static void
palettes_can_be_read(void **state G_GNUC_UNUSED)
{
  for (int p = LOOM_PALETTE_LIGHT; p <= LOOM_PALETTE_PRINT; p++) {
    LoomPalette palette = (LoomPalette)p;
    assert_true(contrast(palette, LOOM_PAINT_INK, LOOM_PAINT_PAPER) >= 7);
    assert_true(contrast(palette, LOOM_PAINT_FAINT, LOOM_PAINT_PAPER) >= 4.5);
    assert_true(contrast(palette, LOOM_PAINT_READING, LOOM_PAINT_PAPER) >= 4.5);
    assert_true(contrast(palette, LOOM_PAINT_INK, LOOM_PAINT_WELL) >= 7);
    for (guint flag = LOOM_PAINT_STOP; flag <= LOOM_PAINT_NOTE; flag++)
      assert_true(contrast(palette, (LoomPaint)flag, LOOM_PAINT_PAPER) >= 4.5);
    for (guint g = 0; g < LOOM_N_GROUPS; g++)
      assert_true(contrast(palette, LOOM_PAINT_INK, (LoomPaint)(LOOM_PAINT_GROUP + g)) >= 7);
    assert_true(contrast(palette, LOOM_PAINT_CHOSEN, LOOM_PAINT_PAPER) >= 3);
    for (guint paint = LOOM_PAINT_NEW; paint <= LOOM_PAINT_CHANGED; paint++)
      assert_true(contrast(palette, paint, LOOM_PAINT_PAPER) >= 4.5);
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(path_data_is_read_as_svg_has_it),
      cmocka_unit_test(placed_groups_follow_cairos_matrices),
      cmocka_unit_test(svg_keeps_any_words),
      cmocka_unit_test(svg_and_cairo_show_the_same),
      cmocka_unit_test(stamps_stand_in_the_file_once),
      cmocka_unit_test(palettes_can_be_read),
  };
  return cmocka_run_group_tests_name("ink", tests, NULL, NULL);
}
