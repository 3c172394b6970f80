/* Files: SVG valid by the DTD of SVG 1.1 (Debian's w3c-sgml-lib, through the XML catalogue), PDF
 * read by poppler's pdftotext, PNG by its signature; the same bytes every time; failures leave
 * nothing behind. */
#include "design/edit.h"
#include "sheet/export.h"
#include "sheet/tidy.h"

#include "robots.h"

#include <cairo.h>
#include <glib/gstdio.h>
#include <libxml/catalog.h>
#include <libxml/parser.h>
#include <libxml/valid.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>

#include <cmocka.h>

#include "near.h"

#define SVG_PUBLIC "-//W3C//DTD SVG 1.1//EN"
#define SVG_SYSTEM "http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd"

static char *folder;

static int
make_folder(void **state G_GNUC_UNUSED)
{
  folder = g_dir_make_tmp("loombook-export-XXXXXX", NULL);
  return folder ? 0 : -1;
}

static int
remove_folder(void **state G_GNUC_UNUSED)
{
  GDir *dir = g_dir_open(folder, 0, NULL);
  for (const char *name = g_dir_read_name(dir); name; name = g_dir_read_name(dir)) {
    g_autofree char *path = g_build_filename(folder, name, NULL);
    g_unlink(path);
  }
  g_dir_close(dir);
  g_rmdir(folder);
  g_clear_pointer(&folder, g_free);
  return 0;
}

static LoomSheet *
tidy_sheet(const char *name, guint scene)
{
  g_autoptr(LoomDesign) design = robots_load(name);
  LoomEdit *edit = loom_edit_new(design, "Tidy");
  loom_tidy(edit, 0);
  loom_design_apply(design, edit);
  return loom_sheet_new(design, scene, NULL);
}

static char *
write_file(const LoomSheet *sheet, const char *name)
{
  char *path = g_build_filename(folder, name, NULL);
  g_autoptr(GError) error = NULL;
  if (!loom_export_diagram(sheet, NULL, path, &error))
    fail_msg("%s", error->message);
  return path;
}

static char *
run(const char *const *arguments)
{
  char *output = NULL;
  int status = -1;
  g_autoptr(GError) error = NULL;
  if (!g_spawn_sync(NULL, (char **)arguments, NULL, G_SPAWN_SEARCH_PATH, NULL, NULL, &output, NULL,
                    &status, &error))
    fail_msg("%s: %s", arguments[0], error->message);
  assert_true(g_spawn_check_wait_status(status, NULL));
  return output;
}

static void
collect_error(void *text, const char *format, ...)
{
  va_list arguments;
  va_start(arguments, format);
  g_string_append_vprintf(text, format, arguments);
  va_end(arguments);
}

/* Never from the network: only what an XML catalogue of this machine leads to. */
static xmlDtd *
svg_dtd(void)
{
  xmlInitializeCatalog();
  g_autofree char *local = (char *)xmlCatalogResolve(BAD_CAST SVG_PUBLIC, BAD_CAST SVG_SYSTEM);
  if (!local || !g_str_has_prefix(local, "file:"))
    fail_msg("the DTD of SVG 1.1 is not installed (Debian: w3c-sgml-lib)");
  xmlDtd *dtd = xmlParseDTD(BAD_CAST SVG_PUBLIC, BAD_CAST local);
  assert_non_null(dtd);
  return dtd;
}

static void
svg_is_valid(void **state G_GNUC_UNUSED)
{
  xmlDtd *dtd = svg_dtd();
  for (const char *const *name = robots_ordinary(); *name; name++) {
    g_autoptr(LoomSheet) sheet = tidy_sheet(*name, 0);
    g_autofree char *path = write_file(sheet, "valid.svg");
    xmlDoc *doc = xmlReadFile(path, NULL, XML_PARSE_NONET);
    assert_non_null(doc);
    assert_string_equal((const char *)doc->intSubset->ExternalID, SVG_PUBLIC);
    g_autoptr(GString) errors = g_string_new(NULL);
    xmlValidCtxt *context = xmlNewValidCtxt();
    context->userData = errors;
    context->error = context->warning = (xmlValidityErrorFunc)collect_error;
    if (!xmlValidateDtd(context, doc, dtd))
      fail_msg("%s: %s", *name, errors->str);
    xmlFreeValidCtxt(context);
    xmlFreeDoc(doc);
  }
  xmlFreeDtd(dtd);
}

/* Every part has a group with its designation in the title, and every word is real text. */
static void
svg_says_what_is_what(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomSheet) sheet = tidy_sheet("sandpiper", 0);
  g_autofree char *path = write_file(sheet, "words.svg");
  g_autofree char *svg = NULL;
  assert_true(g_file_get_contents(path, &svg, NULL, NULL));
  for (guint p = 0; p < sheet->n_parts; p++) {
    const LoomPart *part = loom_design_part(sheet->design, p);
    g_autofree char *id =
        g_strdup_printf("id=\"%s-%s\"", part->kind->lead ? "lead" : "part", part->designation);
    g_autofree char *title = g_strdup_printf("<title>%s ", part->designation);
    g_autofree char *text = g_strdup_printf(">%s</text>", part->designation);
    if (!strstr(svg, id) || !strstr(svg, title) || !strstr(svg, text))
      fail_msg("%s is missing", part->designation);
  }
  g_autofree char *name = g_markup_escape_text(loom_design_title(sheet->design)->name, -1);
  assert_non_null(strstr(svg, name));
  static const char *const WORDS[] = {"Main switch",     "Drive left", "sockets (female)",
                                      "Electrics group", "Mentor",     "2025-03-14",
                                      "driving",         "red"};
  for (guint i = 0; i < G_N_ELEMENTS(WORDS); i++)
    if (!strstr(svg, WORDS[i]))
      fail_msg("\"%s\" is missing", WORDS[i]);
  assert_null(strstr(svg, "<use"));
  assert_null(strstr(svg, "nan"));
  assert_null(strstr(svg, "inf"));
}

static void
pdf_can_be_searched(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomSheet) sheet = tidy_sheet("sandpiper", 0);
  g_autofree char *path = write_file(sheet, "words.pdf");
  g_autofree char *text = run((const char *const[]){"pdftotext", "-layout", path, "-", NULL});
  for (guint p = 0; p < sheet->n_parts; p++)
    if (!strstr(text, loom_design_part(sheet->design, p)->designation))
      fail_msg("%s is not in the text", loom_design_part(sheet->design, p)->designation);
  assert_non_null(strstr(text, "Unplug the pack first"));
  assert_non_null(strstr(text, "I²C 1"));
  g_autofree char *info = run((const char *const[]){"pdfinfo", path, NULL});
  g_autofree char *title =
      g_strdup_printf("%s, wiring, driving", loom_design_title(sheet->design)->name);
  assert_non_null(strstr(info, title));
  assert_non_null(strstr(info, "Pages:           1"));
}

/* A drawing that goes onto A4 at a size that can be read gets A4, a larger one larger ISO paper. */
static void
paper_is_as_large_as_it_must_be(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomSheet) small = tidy_sheet("two-pole", 0);
  g_autofree char *a4 = write_file(small, "small.pdf");
  g_autofree char *info = run((const char *const[]){"pdfinfo", a4, NULL});
  assert_non_null(strstr(info, "841.89 x 595.276 pts (A4)"));
  g_autoptr(LoomSheet) large = tidy_sheet("sandpiper", 0);
  g_autofree char *a3 = write_file(large, "large.pdf");
  g_autofree char *more = run((const char *const[]){"pdfinfo", a3, NULL});
  assert_non_null(strstr(more, "(A3)"));
}

static void
png_is_a_picture(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomSheet) sheet = tidy_sheet("power-bank", 0);
  g_autofree char *path = write_file(sheet, "picture.png");
  cairo_surface_t *surface = cairo_image_surface_create_from_png(path);
  assert_int_equal(cairo_surface_status(surface), CAIRO_STATUS_SUCCESS);
  assert_true(cairo_image_surface_get_width(surface) > 800);
  cairo_surface_destroy(surface);
}

static void
the_same_bytes_every_time(void **state G_GNUC_UNUSED)
{
  static const char *const NAMES[] = {"a.svg", "a.pdf", "a.png"};
  for (guint i = 0; i < G_N_ELEMENTS(NAMES); i++) {
    g_autofree char *bytes[2] = {NULL, NULL};
    gsize length[2];
    for (guint k = 0; k < 2; k++) {
      g_autoptr(LoomSheet) sheet = tidy_sheet("genderless", 0);
      g_autofree char *path = write_file(sheet, NAMES[i]);
      assert_true(g_file_get_contents(path, k ? &bytes[1] : &bytes[0], &length[k], NULL));
      g_usleep(k ? 0 : 1100000); /* a clock would show */
    }
    assert_int_equal(length[0], length[1]);
    assert_memory_equal(bytes[0], bytes[1], length[0]);
    g_free(bytes[1]);
    bytes[1] = NULL;
  }
}

static void
failures_are_one_sentence(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomSheet) sheet = tidy_sheet("power-bank", 0);
  static const char *const PATHS[] = {"x.gif",      "x",          "none/x.svg",
                                      "none/x.pdf", "none/x.png", ".svg.bak"};
  for (guint i = 0; i < G_N_ELEMENTS(PATHS); i++) {
    g_autofree char *path = g_build_filename(folder, PATHS[i], NULL);
    g_autoptr(GError) error = NULL;
    assert_false(loom_export_diagram(sheet, NULL, path, &error));
    assert_int_equal(error->domain, LOOM_ERROR);
    assert_true(g_str_has_suffix(error->message, "."));
    assert_null(strchr(error->message, '\n'));
    assert_false(g_file_test(path, G_FILE_TEST_EXISTS));
  }
}

/* A cut-out shows the chosen parts and nothing else. */
static void
cut_outs_show_what_was_chosen(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomSheet) sheet = tidy_sheet("sandpiper", 0);
  guint only[] = {loom_design_find_part(sheet->design, "F1"),
                  loom_design_find_part(sheet->design, "G1")};
  LoomDrawOptions options;
  loom_draw_options_init(&options);
  options.only_parts = only;
  options.n_only = 2;
  options.mark_joint = 0;
  g_autofree char *path = g_build_filename(folder, "cut.svg", NULL);
  assert_true(loom_export_diagram(sheet, &options, path, NULL));
  g_autofree char *svg = NULL;
  assert_true(g_file_get_contents(path, &svg, NULL, NULL));
  assert_non_null(strstr(svg, "id=\"part-G1\""));
  assert_non_null(strstr(svg, "id=\"part-F1\""));
  assert_null(strstr(svg, "part-K1"));
  assert_null(strstr(svg, "title-block"));
  LoomRect extents = loom_draw_extents(sheet, &options);
  assert_true(extents.width < sheet->extents.width / 2);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(svg_is_valid),
      cmocka_unit_test(svg_says_what_is_what),
      cmocka_unit_test(pdf_can_be_searched),
      cmocka_unit_test(paper_is_as_large_as_it_must_be),
      cmocka_unit_test(png_is_a_picture),
      cmocka_unit_test(the_same_bytes_every_time),
      cmocka_unit_test(failures_are_one_sentence),
      cmocka_unit_test(cut_outs_show_what_was_chosen),
  };
  return cmocka_run_group_tests_name("export", tests, make_folder, remove_folder);
}
