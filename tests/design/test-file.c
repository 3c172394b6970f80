/* The design's file: round trip, hostile content, and saving that never loses what was there. */
#include "design/edit.h"
#include "design/file.h"

#include <glib/gstdio.h>
#include <math.h>
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>
#include <sys/resource.h>
#include <unistd.h>

#include <cmocka.h>

/* A design with one part and a joint to come; %s: what is put among the parts and joints. */
static char *
wrap(const char *body)
{
  return g_strdup_printf(
      "<design xmlns=\"urn:loombook:design:1\" version=\"1.0\"><title name=\"t\"/>"
      "<scene name=\"driving\"/><scene name=\"charging\"/>"
      "<part designation=\"G1\" kind=\"k\"/><part designation=\"G2\" kind=\"k\"/>\n%s\n"
      "<catalogue xmlns=\"urn:loombook:catalogue:1\" version=\"1.0\">"
      "<family id=\"f\" name=\"f\" ways=\"1\" shape=\"round\" source=\"s\"/>"
      "<kind id=\"k\" name=\"k\" letter=\"G\" group=\"supply\" source=\"s\">"
      "<end id=\"a\" family=\"f\" gender=\"pins\" side=\"left\"/>"
      "<end id=\"b\" family=\"f\" gender=\"sockets\" side=\"left\"/></kind></catalogue></design>",
      body);
}

static void
wrong_content_is_named_by_line(void **state G_GNUC_UNUSED)
{
  static const struct {
    const char *body, *says;
  } cases[] = {
      {"<part designation=\"G1\" kind=\"k\"/>", "two parts G1"},
      {"<part designation=\"G3\" kind=\"zzz\"/>", "kind zzz"},
      {"<part designation=\"3G\" kind=\"k\"/>", "no designation"},
      {"<part designation=\"G3\" kind=\"k\" x_mm=\"NaN\"/>", "not a number"},
      {"<part designation=\"G3\" kind=\"k\" x_mm=\"1e308\"/>", "not between"},
      {"<part designation=\"G3\" kind=\"k\" speed=\"1\"/>", "no attribute speed"},
      {"<part kind=\"k\"/>", "lacks designation"},
      {"<joint a=\"G1:a\" b=\"G9:b\"/>", "no part G9"},
      {"<joint a=\"G1:a\" b=\"G2:zz\"/>", "no end zz"},
      {"<joint a=\"G1:a\" b=\"G2\"/>", "is not an end"},
      {"<joint a=\"G1:a\" b=\"G1:a\"/>", "into itself"},
      {"<joint a=\"G1:a\" b=\"G2:b\"/><joint a=\"G1:a\" b=\"G1:b\"/>", "G1:a is already plugged"},
      {"<joint a=\"G1:a\" b=\"G2:b\"><in scene=\"none\"/></joint>", "no scene none"},
      {"<joint a=\"G1:a\" b=\"G2:b\" fit=\"loose\"/>", "none of"},
      {"<scene name=\"driving\"/>", "two scenes"},
      {"<scene name=\"x\"><state name=\"s\"><set part=\"G9\" key=\"load\" "
       "value=\"free\"/></state></scene>",
       "no part G9"},
      {"<scene name=\"x\"><state name=\"s\"><set part=\"G1\" key=\"duty\" "
       "value=\"7\"/></state></scene>",
       "from -1 to 1"},
      {"<scene name=\"x\"><outing name=\"o\"><leg state=\"none\" seconds=\"1\"/></outing></scene>",
       "no state none"},
      {"<toaster/>", "no <toaster>"},
  };
  for (guint i = 0; i < G_N_ELEMENTS(cases); i++) {
    g_autoptr(GError) error = NULL;
    g_autofree char *text = wrap(cases[i].body);
    LoomDesign *design = loom_design_parse(text, strlen(text), "d.loom", &error);
    assert_null(design);
    if (!strstr(error->message, cases[i].says) || !g_str_has_prefix(error->message, "d.loom:2: "))
      fail_msg("case %u: %s", i, error->message);
  }
}

static void
ends_may_be_shared_by_scenes(void **state G_GNUC_UNUSED)
{
  g_autoptr(GError) error = NULL;
  g_autofree char *text = wrap("<joint a=\"G1:a\" b=\"G2:b\"><in scene=\"driving\"/></joint>"
                               "<joint a=\"G1:a\" b=\"G1:b\"><in scene=\"charging\"/></joint>");
  g_autoptr(LoomDesign) design = loom_design_parse(text, strlen(text), "d.loom", &error);
  assert_null(error);
  assert_int_equal(loom_design_n_joints(design), 2);
}

/* Cut anywhere, a file is either refused with its name and a line, or (after its last byte) whole.
 */
static void
a_file_cut_anywhere_is_refused(void **state G_GNUC_UNUSED)
{
  g_autofree char *text = wrap("<joint a=\"G1:a\" b=\"G2:b\"/>");
  for (gsize length = 0; length < strlen(text); length++) {
    g_autoptr(GError) error = NULL;
    assert_null(loom_design_parse(text, length, "d.loom", &error));
    assert_true(g_str_has_prefix(error->message, "d.loom:"));
    assert_null(strchr(error->message, '\n'));
  }
}

static LoomDesign *
with_notes(void)
{
  g_autofree char *text = wrap("<joint a=\"G1:a\" b=\"G2:b\" note=\"x\"/>");
  LoomDesign *design = loom_design_parse(text, strlen(text), "d.loom", NULL);
  LoomEdit *edit = loom_edit_new(design, "Note");
  assert_true(loom_edit_set(edit, "design", "note", "first line\nsecond <line> & \"more\"", NULL));
  assert_true(loom_edit_set(edit, "G1", "label", "Größe ½ 12 V", NULL));
  assert_true(loom_design_apply(design, edit));
  return design;
}

static void
open_and_save_keeps_every_byte(void **state G_GNUC_UNUSED)
{
  g_autofree char *folder = g_dir_make_tmp("loom-XXXXXX", NULL);
  g_autofree char *path = g_build_filename(folder, "d.loom", NULL);
  g_autoptr(LoomDesign) design = with_notes();
  assert_true(loom_design_save(design, path, NULL));
  assert_false(loom_design_modified(design));
  g_autofree char *before = NULL, *after = NULL;
  assert_true(g_file_get_contents(path, &before, NULL, NULL));
  g_autoptr(LoomDesign) again = loom_design_open(path, NULL);
  assert_string_equal(loom_design_title(again)->note, "first line\nsecond <line> & \"more\"");
  assert_true(loom_design_save(again, path, NULL));
  assert_true(g_file_get_contents(path, &after, NULL, NULL));
  assert_string_equal(before, after);
  g_remove(path);
  g_rmdir(folder);
}

static guint
n_files(const char *folder)
{
  guint n = 0;
  g_autoptr(GDir) dir = g_dir_open(folder, 0, NULL);
  while (g_dir_read_name(dir))
    n++;
  return n;
}

/* A full disk, as the process sees it: no file may grow beyond 100 bytes. */
static void
a_full_disk_leaves_the_old_file(void **state G_GNUC_UNUSED)
{
  g_autofree char *folder = g_dir_make_tmp("loom-XXXXXX", NULL);
  g_autofree char *path = g_build_filename(folder, "d.loom", NULL);
  g_autoptr(LoomDesign) design = with_notes();
  assert_true(g_file_set_contents(path, "old", -1, NULL));
  struct rlimit old, tight;
  getrlimit(RLIMIT_FSIZE, &old);
  tight = old;
  tight.rlim_cur = 100;
  signal(SIGXFSZ, SIG_IGN);
  setrlimit(RLIMIT_FSIZE, &tight);
  g_autoptr(GError) error = NULL;
  bool saved = loom_design_save(design, path, &error);
  setrlimit(RLIMIT_FSIZE, &old);
  assert_false(saved);
  assert_true(loom_design_modified(design));
  assert_true(g_str_has_prefix(error->message, path));
  g_autofree char *there = NULL;
  assert_true(g_file_get_contents(path, &there, NULL, NULL));
  assert_string_equal(there, "old");
  assert_int_equal(n_files(folder), 1);
  g_remove(path);
  g_rmdir(folder);
}

static void
what_is_no_file_is_refused(void **state G_GNUC_UNUSED)
{
  static const char *const paths[] = {"/nonexistent/d.loom", "/tmp", "/dev/zero", ""};
  for (guint i = 0; i < G_N_ELEMENTS(paths); i++) {
    g_autoptr(GError) error = NULL;
    assert_null(loom_design_open(paths[i], &error));
    assert_non_null(error);
  }
  g_autoptr(LoomDesign) design = with_notes();
  g_autoptr(GError) error = NULL;
  assert_false(loom_design_save(design, "/nonexistent/folder/d.loom", &error));
  g_clear_error(&error);
  assert_false(loom_design_save(design, "/tmp", &error));
}

static void
saving_follows_a_link(void **state G_GNUC_UNUSED)
{
  g_autofree char *folder = g_dir_make_tmp("loom-XXXXXX", NULL);
  g_autofree char *path = g_build_filename(folder, "d.loom", NULL);
  g_autofree char *link = g_build_filename(folder, "l.loom", NULL);
  g_autoptr(LoomDesign) design = with_notes();
  assert_true(g_file_set_contents(path, "old", -1, NULL));
  assert_int_equal(symlink(path, link), 0);
  assert_true(loom_design_save(design, link, NULL));
  assert_true(g_file_test(link, G_FILE_TEST_IS_SYMLINK));
  g_autoptr(LoomDesign) again = loom_design_open(path, NULL);
  assert_non_null(again);
  g_remove(link);
  g_remove(path);
  g_rmdir(folder);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(wrong_content_is_named_by_line),
      cmocka_unit_test(ends_may_be_shared_by_scenes),
      cmocka_unit_test(a_file_cut_anywhere_is_refused),
      cmocka_unit_test(open_and_save_keeps_every_byte),
      cmocka_unit_test(a_full_disk_leaves_the_old_file),
      cmocka_unit_test(what_is_no_file_is_refused),
      cmocka_unit_test(saving_follows_a_link),
  };
  return cmocka_run_group_tests_name("file", tests, NULL, NULL);
}
