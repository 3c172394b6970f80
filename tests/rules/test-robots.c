/* Ordinary, well-wired robots are quiet: nothing above note. */
#include "robots.h"
#include "rules/rules.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

/* Everything that is wrong, in one message. */
static void
assert_quiet(const char *name)
{
  g_autoptr(LoomDesign) design = robots_load(name);
  g_autoptr(LoomFindings) found = loom_check(design);
  g_autoptr(GString) all = g_string_new(NULL);
  for (guint i = 0; i < found->n_findings; i++) {
    const LoomFinding *f = &found->findings[i];
    if (g_getenv("LOOM_TEST_TELL") || f->severity < LOOM_NOTE)
      g_string_append_printf(all, "\n%s: %s %s [%s] %s", name, loom_severity_word(f->severity),
                             f->rule, f->where, f->message);
  }
  if (g_getenv("LOOM_TEST_TELL"))
    print_message("%s\n", all->str);
  else if (all->len)
    fail_msg("%s", all->str);
}

static void
test_quiet(void **state)
{
  assert_quiet(*state);
}

/* One test a robot, so that a new script is tested the moment that it is listed. */
int
main(void)
{
  const char *const *names = robots_ordinary();
  guint n = g_strv_length((char **)names);
  struct CMUnitTest *tests = g_new0(struct CMUnitTest, n);
  for (guint i = 0; i < n; i++)
    tests[i] = (struct CMUnitTest){names[i], test_quiet, NULL, NULL, (void *)names[i]};
  int failed = _cmocka_run_group_tests("ordinary robots", tests, n, NULL, NULL);
  g_free(tests);
  return failed;
}
