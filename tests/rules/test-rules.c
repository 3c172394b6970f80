/* Each rule by itself: tests/files/rules/cases/SLUG.txt.
 *
 * A case begins with a robot of which the rule says nothing. Then come blocks, each on a fresh copy
 * of it: "! care K1:power" and the lines that make the mistake, after which the rule must say so,
 * with that severity and that `where`; "? why" and lines after which it must still say nothing.
 * "@chain" stands for tests/files/rules/chain.txt. */
#include "design/file.h"
#include "robots.h"
#include "rules/rules.h"
#include "vary.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

static char *
read_file(const char *folder, const char *name)
{
  g_autofree char *path = g_strdup_printf("%s/rules/%s%s.txt", LOOM_TEST_FILES, folder, name);
  g_autoptr(GError) error = NULL;
  char *text;
  if (!g_file_get_contents(path, &text, NULL, &error))
    fail_msg("%s", error->message);
  return text;
}

static const LoomFinding *
find_rule(const LoomFindings *found, const char *rule, const char *where)
{
  for (guint i = 0; i < found->n_findings; i++)
    if (g_str_equal(found->findings[i].rule, rule) &&
        (!where || g_str_equal(found->findings[i].where, where)))
      return &found->findings[i];
  return NULL;
}

/* What a finding owes its reader. */
static void
assert_complete(const LoomFinding *f)
{
  assert_true(f->message && strlen(f->message) > 10 && g_str_has_suffix(f->message, "."));
  assert_true(f->why && g_str_has_suffix(f->why, "."));
  assert_true(f->remedy && g_str_has_suffix(f->remedy, "."));
  assert_null(strchr(f->message, '!'));
  assert_true(f->n_places > 0 || !*f->where);
}

static void
assert_fires(const LoomDesign *design, const char *rule, const char *severity, const char *where)
{
  g_autoptr(LoomFindings) found = loom_check(design);
  const LoomFinding *f = find_rule(found, rule, where);
  if (!f) {
    const LoomFinding *other = find_rule(found, rule, NULL);
    fail_msg("%s does not speak of \"%s\", but of \"%s\" (%s)", rule, where,
             other ? other->where : "nothing", other ? other->message : "");
  }
  assert_string_equal(loom_severity_word(f->severity), severity);
  assert_complete(f);
}

static void
assert_silent(const LoomDesign *design, const char *rule, const char *when)
{
  g_autoptr(LoomFindings) found = loom_check(design);
  const LoomFinding *f = find_rule(found, rule, NULL);
  if (f)
    fail_msg("%s speaks, though %s: [%s] %s", rule, when, f->where, f->message);
}

/* Lines up to the next block, applied; returns where it begins. */
static char **
apply(char **line, LoomDesign *design, const char *chain)
{
  for (; *line && **line != '!' && **line != '?'; line++) {
    bool is_chain = g_str_equal(*line, "@chain");
    g_auto(GStrv) lines = g_strsplit(is_chain ? chain : *line, "\n", -1);
    for (char **each = lines; *each; each++)
      robots_do(design, *each);
  }
  return line;
}

typedef struct {
  guint fires, silent;
} Blocks;

static void
run_block(const char *rule, const char *head, const LoomDesign *design, Blocks *blocks)
{
  g_auto(GStrv) words = g_strsplit(head, " ", 3);
  if (*head == '?') {
    assert_silent(design, rule, head + 2);
    blocks->silent++;
    return;
  }
  assert_fires(design, rule, words[1], words[2] ? words[2] : "");
  blocks->fires++;
}

static void
test_rule(void **state)
{
  const LoomRuleInfo *info = *state;
  g_autofree char *chain = read_file("", "chain");
  g_autofree char *text = read_file("cases/", info->slug);
  g_auto(GStrv) lines = g_strsplit(text, "\n", -1);
  g_autoptr(LoomDesign) base = loom_design_new(info->slug);
  Blocks blocks = {0, 0};
  char **line = apply(lines, base, chain);
  assert_silent(base, info->slug, "nothing is wrong yet");
  while (*line) {
    const char *head = *line;
    g_autoptr(LoomDesign) copy = loom_design_snapshot(base);
    line = apply(line + 1, copy, chain);
    run_block(info->slug, head, copy, &blocks);
  }
  assert_true(blocks.fires > 0 && blocks.silent > 0);
  assert_true(strlen(info->about) > 10 && g_str_has_suffix(info->about, "."));
}

/* An end that takes fewer joints than it has: only another entry of the part can bring that about.
 */
static bool
narrow_stud(xmlNode *kind, const void *data)
{
  (void)data;
  vary_set(vary_end(kind, "s1"), "family", "screw-6");
  return true;
}

static void
test_places(void **state)
{
  (void)state;
  g_autoptr(LoomDesign) wide = robots_parse("add busbar-m6-4 X1\nadd wire-ring-m6-red W1\n"
                                            "add wire-ring-m6-red W2\nplug X1:s1 W1:a\n"
                                            "plug X1:s1 W2:a",
                                            "places");
  assert_silent(wide, "places", "a stud takes two");
  g_autoptr(LoomDesign) narrow =
      vary_part(wide, loom_design_find_part(wide, "X1"), narrow_stud, NULL);
  assert_fires(narrow, "places", "care", "X1:s1");
}

/* ---- mending ---- */

/* Carries out the first mend of the rule; afterwards it no longer speaks of that place. */
static void
assert_mends(const char *script, const char *rule)
{
  g_autoptr(LoomDesign) design = robots_parse(script, rule);
  g_autoptr(LoomFindings) before = loom_check(design);
  const LoomFinding *f = find_rule(before, rule, NULL);
  g_autoptr(GError) error = NULL;
  assert_non_null(f);
  assert_non_null(f->mend);
  LoomEdit *edit = loom_edit_new(design, "Mend");
  if (!loom_finding_mend(f, edit, &error))
    fail_msg("%s", error->message);
  assert_true(loom_design_apply(design, edit));
  g_autoptr(LoomFindings) after = loom_check(design);
  assert_null(find_rule(after, rule, f->where));
  assert_true(loom_design_undo(design));
}

static void
test_mend(void **state)
{
  (void)state;
  assert_mends(
      "add pack-nimh-12v-3ah G1\nadd fuse-lead-15 F1\nadd switch-main-20 Q1\n"
      "add controller-rover K1\nplug G1:out F1:in\nplug F1:out Q1:in\nplug Q1:out K1:power",
      "loose");
  assert_mends("add motor-medium M1\nadd motor-extension-300 W1\nadd controller-rover K1\n"
               "plug K1:motor-1 W1:b\nplug M1:poles W1:a",
               "gender");
  assert_mends("add servo-micro M1\nadd servo-board-6 X1\nplug M1:lead X1:in-1 --fit shifted",
               "fit");
  assert_mends("add motor-medium M1\nset M1 'name=drive left'", "name-unusable");
  assert_mends("add controller-rover K1\nadd motor-medium M1\nset M1 'label=Drive left'\n"
               "plug K1:motor-1 M1:poles",
               "name-missing");
  assert_mends("add sensor-reserved B1", "address");
}

/* ISO 10133 table A.1: 1.5 mm² carries 18 A at 30 °C and 19.1 A at 25 °C, 4 mm² 35 and 37.1 A, 6
 * mm² 45 and 47.7 A (from memory). So a fuse of 40 A before 1.5 mm² is to be 15 A, or the wire 6
 * mm²; 20 A needs 2.5 mm². */
static void
test_fuse_and_wire_that_fit(void **state)
{
  (void)state;
  static const struct {
    const char *set, *fuse, *wire;
  } cases[] = {{"set F1 rated_A=40", "a fuse of 15 A", "wire of 6 mm²"},
               {"set F1 rated_A=20", "a fuse of 15 A", "wire of 2.5 mm²"}};
  for (guint i = 0; i < G_N_ELEMENTS(cases); i++) {
    g_autoptr(LoomDesign) design = robots_load("terminal-block");
    robots_do(design, cases[i].set);
    g_autoptr(LoomFindings) all = loom_check(design);
    const LoomFinding *found = find_rule(all, "fuse-and-wire", NULL);
    assert_non_null(found);
    assert_non_null(strstr(found->remedy, cases[i].fuse));
    assert_non_null(strstr(found->remedy, cases[i].wire));
  }
}

static void
test_mend_all_of_the_teaching_file(void **state)
{
  (void)state;
  g_autoptr(LoomDesign) design = robots_load("find-the-mistakes");
  g_autoptr(LoomFindings) found = loom_check(design);
  guint mended = 0;
  for (guint i = 0; i < found->n_findings; i++) {
    const LoomFinding *f = &found->findings[i];
    g_autoptr(GError) error = NULL;
    LoomEdit *edit = loom_edit_new(design, "Mend");
    bool done = loom_finding_mend(f, edit, &error);
    assert_int_equal(done, f->mend != NULL);
    assert_int_equal(error != NULL, f->mend == NULL);
    if (!done) {
      loom_edit_free(edit);
      continue;
    }
    loom_design_apply(design, edit);
    g_autoptr(LoomFindings) after = loom_check(design);
    assert_null(find_rule(after, f->rule, f->where));
    mended++;
  }
  assert_true(mended >= 5);
}

static void
test_a_mend_that_is_nonsense(void **state)
{
  (void)state;
  g_autoptr(LoomDesign) design = robots_parse("add motor-medium M1", "nonsense");
  const char *const lines[] = {"dance", "turn M1", "turn M9", "unplug M1:nowhere",
                               "set M1 colour=red"};
  for (guint i = 0; i < G_N_ELEMENTS(lines); i++) {
    LoomFinding f = {.mend = (char *)lines[i], .where = (char *)"M1"};
    g_autoptr(LoomEdit) edit = loom_edit_new(design, "Mend");
    g_autoptr(GError) error = NULL;
    assert_false(loom_finding_mend(&f, edit, &error));
    assert_non_null(error);
    assert_true(loom_edit_is_empty(edit));
  }
}

/* ---- the list as a whole ---- */

static void
test_verdict(void **state)
{
  (void)state;
  g_autofree char *demo = g_build_filename(LOOM_SOURCE_DATA_DIR, "demo", "sandpiper.loom", NULL);
  g_autoptr(LoomDesign) design = loom_design_open(demo, NULL);
  g_autoptr(LoomDesign) empty = loom_design_new("Empty");
  LoomFindings f = {0};
  g_autofree char *nothing = loom_findings_verdict(&f, empty);
  assert_string_equal(nothing, "Nothing is drawn yet.");
  g_autofree char *quiet = loom_findings_verdict(&f, design);
  assert_non_null(strstr(quiet, "Nothing speaks against powering this."));
  f.n_note = 2;
  g_autofree char *notes = loom_findings_verdict(&f, design);
  assert_non_null(strstr(notes, "2 notes"));
  f.n_care = 1;
  g_autofree char *care = loom_findings_verdict(&f, design);
  assert_non_null(strstr(care, "1 care, 2 notes"));
  f.n_stop = 1;
  g_autofree char *stop = loom_findings_verdict(&f, design);
  assert_string_equal(stop, "Do not power this: 1 stop, 1 care, 2 notes.");
}

static void
test_sorted_and_counted(void **state)
{
  (void)state;
  g_autoptr(LoomDesign) design = robots_load("find-the-mistakes");
  g_autoptr(LoomFindings) found = loom_check(design);
  guint counts[3] = {0, 0, 0};
  for (guint i = 0; i < found->n_findings; i++) {
    const LoomFinding *f = &found->findings[i], *last = i ? f - 1 : NULL;
    counts[f->severity]++;
    assert_complete(f);
    assert_true(!last || last->severity < f->severity ||
                (last->severity == f->severity && strcmp(last->rule, f->rule) <= 0));
    assert_true(!last || !g_str_equal(last->rule, f->rule) || !g_str_equal(last->where, f->where));
    for (guint k = 0; k < f->n_places; k++)
      assert_int_not_equal(loom_design_find_part(design, f->places[k].part), LOOM_NONE);
  }
  assert_int_equal(found->n_stop, counts[LOOM_STOP]);
  assert_int_equal(found->n_care, counts[LOOM_CARE]);
  assert_int_equal(found->n_note, counts[LOOM_NOTE]);
}

/* Names of parts say nothing to a rule: with others the findings are the same. */
static void
test_no_rule_looks_at_names(void **state)
{
  (void)state;
  for (const char *const *name = robots_ordinary(); *name; name++) {
    g_autoptr(LoomDesign) design = robots_load(*name);
    g_autoptr(LoomFindings) before = loom_check(design);
    for (guint p = 0; p < loom_design_n_parts(design); p++) {
      const char *old = loom_design_part(design, p)->designation;
      g_autofree char *words = g_strdup_printf("set %s label=thing note=thing", old);
      g_autofree char *line = g_strdup_printf("set %s designation=N%u", old, p + 100);
      robots_do(design, words);
      robots_do(design, line);
    }
    g_autoptr(LoomFindings) after = loom_check(design);
    assert_int_equal(before->n_stop, after->n_stop);
    assert_int_equal(before->n_care, after->n_care);
    assert_int_equal(before->n_note, after->n_note);
  }
}

/* The script with its parts added in the opposite order. New. */
static char *
turned_round(const char *script)
{
  g_auto(GStrv) lines = g_strsplit(script, "\n", -1);
  g_autoptr(GString) parts = g_string_new(NULL);
  g_autoptr(GString) rest = g_string_new(NULL);
  for (char **line = lines; *line; line++) {
    bool scene = g_str_has_prefix(*line, "add ") && strchr(*line, ':');
    if (g_str_has_prefix(*line, "add ") && !scene) {
      g_string_prepend(parts, "\n");
      g_string_prepend(parts, *line);
    } else if (scene && strstr(*line, "scene:")) {
      g_string_prepend(rest, "\n");
      g_string_prepend(rest, *line);
    } else {
      g_string_append_printf(rest, "%s\n", *line);
    }
  }
  return g_strconcat(parts->str, rest->str, NULL);
}

/* How often each rule speaks with each severity, as text. New. */
static char *
tally(const char *script)
{
  g_autoptr(LoomDesign) design = robots_parse(script, "tally");
  g_autoptr(LoomFindings) found = loom_check(design);
  GString *all = g_string_new(NULL);
  for (guint i = 0; i < found->n_findings; i++)
    g_string_append_printf(all, "%s %s\n", loom_severity_word(found->findings[i].severity),
                           found->findings[i].rule);
  return g_string_free(all, FALSE);
}

static void
test_the_order_of_parts_says_nothing(void **state)
{
  (void)state;
  g_autoptr(GPtrArray) names = g_ptr_array_new();
  for (const char *const *name = robots_ordinary(); *name; name++)
    g_ptr_array_add(names, (gpointer)*name);
  g_ptr_array_add(names, (gpointer) "find-the-mistakes");
  for (guint i = 0; i < names->len; i++) {
    g_autofree char *path =
        g_strdup_printf("%s/robots/%s.txt", LOOM_TEST_FILES, (char *)names->pdata[i]);
    g_autofree char *script = NULL;
    assert_true(g_file_get_contents(path, &script, NULL, NULL));
    if (strstr(script, "\nremove "))
      continue;
    g_autofree char *turned = turned_round(script);
    g_autofree char *before = tally(script), *after = tally(turned);
    assert_string_equal(before, after);
  }
}

static void
test_empty(void **state)
{
  (void)state;
  g_autoptr(LoomDesign) design = loom_design_new("empty");
  g_autoptr(LoomFindings) found = loom_check(design);
  assert_int_equal(found->n_findings, 0);
}

/* Every rule stands in the page that explains them. */
static void
test_documented(void **state)
{
  (void)state;
  g_autofree char *page = NULL;
  g_autoptr(GError) error = NULL;
  if (!g_file_get_contents(LOOM_TEST_FILES "/../../docs/rules.md", &page, NULL, &error))
    fail_msg("%s", error->message);
  for (const LoomRuleInfo *rule = loom_rule_list(); rule->slug; rule++) {
    g_autofree char *heading = g_strdup_printf("\n### `%s`\n", rule->slug);
    if (!strstr(page, heading))
      fail_msg("docs/rules.md has no heading for %s", rule->slug);
  }
}

int
main(void)
{
  const struct CMUnitTest others[] = {
      cmocka_unit_test(test_places),
      cmocka_unit_test(test_mend),
      cmocka_unit_test(test_fuse_and_wire_that_fit),
      cmocka_unit_test(test_mend_all_of_the_teaching_file),
      cmocka_unit_test(test_a_mend_that_is_nonsense),
      cmocka_unit_test(test_verdict),
      cmocka_unit_test(test_sorted_and_counted),
      cmocka_unit_test(test_no_rule_looks_at_names),
      cmocka_unit_test(test_the_order_of_parts_says_nothing),
      cmocka_unit_test(test_empty),
      cmocka_unit_test(test_documented),
  };
  GArray *tests = g_array_new(FALSE, FALSE, sizeof(struct CMUnitTest));
  for (const LoomRuleInfo *rule = loom_rule_list(); rule->slug; rule++) {
    struct CMUnitTest test = {rule->slug, test_rule, NULL, NULL, (void *)rule};
    if (!g_str_equal(rule->slug, "places"))
      g_array_append_val(tests, test);
  }
  g_array_append_vals(tests, others, G_N_ELEMENTS(others));
  int failed = _cmocka_run_group_tests("rules", (const struct CMUnitTest *)tests->data, tests->len,
                                       NULL, NULL);
  g_array_free(tests, TRUE);
  return failed;
}
