/* The demo files as they are shipped: Sandpiper is quiet, the teaching file says what it is meant
 * to say and nothing else above note. */
#include "design/file.h"
#include "robots.h"
#include "rules/rules.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

static LoomDesign *
open_demo(const char *name)
{
  g_autofree char *relative = g_strdup_printf("demo/%s.loom", name);
  g_autofree char *path = loom_data_path(relative);
  g_autoptr(GError) error = NULL;
  assert_non_null(path);
  LoomDesign *design = loom_design_open(path, &error);
  if (!design)
    fail_msg("%s", error->message);
  return design;
}

/* "severity,rule,where" a line, in the order of the findings: stop and care only. */
static char *
as_rows(const LoomFindings *found)
{
  GString *rows = g_string_new("severity,rule,where\r\n");
  for (guint i = 0; i < found->n_findings; i++) {
    const LoomFinding *f = &found->findings[i];
    const char *quote = strchr(f->where, ',') ? "\"" : "";
    if (f->severity < LOOM_NOTE)
      g_string_append_printf(rows, "%s,%s,%s%s%s\r\n", loom_severity_word(f->severity), f->rule,
                             quote, f->where, quote);
  }
  return g_string_free(rows, FALSE);
}

static void
test_sandpiper_is_quiet(void **state)
{
  (void)state;
  g_autoptr(LoomDesign) design = open_demo("sandpiper");
  g_autoptr(LoomFindings) found = loom_check(design);
  g_autofree char *rows = as_rows(found);
  assert_string_equal(rows, "severity,rule,where\r\n");
}

static void
test_the_teaching_file(void **state)
{
  (void)state;
  g_autofree char *expected = NULL;
  assert_true(g_file_get_contents(LOOM_TEST_FILES "/robots/find-the-mistakes.expected.csv",
                                  &expected, NULL, NULL));
  g_autoptr(LoomDesign) design = open_demo("find-the-mistakes");
  g_autoptr(LoomFindings) found = loom_check(design);
  g_autofree char *rows = as_rows(found);
  assert_string_equal(rows, expected);
  assert_true(found->n_stop + found->n_care >= 12);
}

/* Position aside, the files hold what the scripts make. */
static void
assert_same(const LoomDesign *a, const LoomDesign *b)
{
  assert_int_equal(loom_design_n_parts(a), loom_design_n_parts(b));
  assert_int_equal(loom_design_n_joints(a), loom_design_n_joints(b));
  assert_int_equal(loom_design_n_scenes(a), loom_design_n_scenes(b));
  for (guint i = 0; i < loom_design_n_parts(a); i++) {
    const LoomPart *x = loom_design_part(a, i), *y = loom_design_part(b, i);
    assert_string_equal(x->designation, y->designation);
    assert_string_equal(x->kind->id, y->kind->id);
    assert_int_equal(g_strcmp0(x->name, y->name), 0);
  }
  for (guint i = 0; i < loom_design_n_joints(a); i++) {
    const LoomJoint *x = loom_design_joint(a, i), *y = loom_design_joint(b, i);
    assert_string_equal(x->a.part, y->a.part);
    assert_string_equal(x->a.end, y->a.end);
    assert_string_equal(x->b.part, y->b.part);
    assert_string_equal(x->b.end, y->b.end);
    assert_int_equal(x->fit, y->fit);
    assert_int_equal(x->tied, y->tied);
  }
}

static void
test_scripts_make_the_files(void **state)
{
  (void)state;
  const char *const names[] = {"sandpiper", "find-the-mistakes"};
  for (guint i = 0; i < G_N_ELEMENTS(names); i++) {
    g_autoptr(LoomDesign) file = open_demo(names[i]);
    g_autoptr(LoomDesign) script = robots_load(names[i]);
    assert_same(file, script);
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(test_sandpiper_is_quiet),
      cmocka_unit_test(test_the_teaching_file),
      cmocka_unit_test(test_scripts_make_the_files),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
