/* Wire labels: what they say, and where on the sheet they lie. */
#include "handout/labels.h"
#include "paper.h"
#include "robots.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>
#include <glib/gstdio.h>

#include "near.h"

static const LoomLabel *
label_of(const LoomLabels *labels, const char *end)
{
  for (guint i = 0; i < labels->n_labels; i++)
    if (g_str_equal(labels->labels[i].end, end))
      return &labels->labels[i];
  return NULL;
}

static void
labels_say_where_an_end_goes(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomDesign) design = robots_load("sandpiper");
  g_autoptr(LoomLabels) labels = loom_labels_new(design, 0);
  const LoomLabel *l = label_of(labels, "W3:b");
  assert_string_equal(l->to, "K1:power");
  assert_string_equal(l->other, "W2:b");
  assert_non_null(strstr(l->detail, "300 mm"));
  assert_non_null(strstr(l->detail, "RD BK"));
  const LoomLabel *pigtail = label_of(labels, "M1:poles");
  assert_string_equal(pigtail->to, "K1:motor-1");
  assert_null(pigtail->other);
  assert_null(label_of(labels, "K1:power")); /* sits fast on the controller */
  assert_null(label_of(labels, "S1:radio"));
  /* Only plugged while charging: that is where it goes. */
  assert_string_equal(label_of(labels, "W11:a")->to, "G1:out");
  assert_string_equal(label_of(labels, "G1:out")->to, "F1:in");
}

static void
a_y_lead_names_all_its_other_ends(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomDesign) design = robots_parse("add servo-y W1\nadd servo-standard M1\n"
                                              "add servo-standard M2\n"
                                              "plug W1:b M1:lead\nplug W1:c M2:lead\n",
                                              "y");
  g_autoptr(LoomLabels) labels = loom_labels_new(design, 0);
  assert_string_equal(label_of(labels, "W1:a")->other, "M1:lead, M2:lead");
  assert_null(label_of(labels, "W1:a")->to);
  assert_string_equal(label_of(labels, "W1:b")->other,
                      "W1:a, M2:lead"); /* a is open: its own name */
}

/* Every label lies on the paper, and no two overlap. */
static void
sheets_fit_their_paper(void **state G_GNUC_UNUSED)
{
  guint n;
  const LoomLabelSheet *sheets = loom_label_sheets(&n);
  assert_in_range(n, 6, 20);
  for (guint i = 0; i < n; i++) {
    const LoomLabelSheet *s = &sheets[i];
    double width, height;
    loom_paper_size_pt(s->paper, &width, &height);
    width /= LOOM_PT_PER_MM;
    height /= LOOM_PT_PER_MM;
    double right = s->left_mm + (s->across - 1) * s->step_x_mm + s->width_mm;
    double low = s->top_mm + (s->down - 1) * s->step_y_mm + s->height_mm;
    assert_true(right <= width + 0.01 && low <= height + 0.01);
    assert_double_equal(width - right, s->left_mm, 1.0); /* in the middle of the paper */
    assert_double_equal(height - low, s->top_mm, 1.0);
    assert_true(s->step_x_mm >= s->width_mm && s->step_y_mm >= s->height_mm);
    assert_ptr_equal(loom_label_sheet(s->id), s);
  }
  assert_null(loom_label_sheet("71x37"));
}

static Paper *
print(const LoomDesign *design, const char *sheet, bool flags, guint skip)
{
  g_autoptr(GError) error = NULL;
  g_autofree char *path = paper_temporary("labels.pdf");
  g_autoptr(LoomLabelPages) pages = loom_label_pages_new(
      loom_labels_new(design, 0), "Labels", loom_label_sheet(sheet), flags, skip);
  if (!loom_label_pages_write_pdf(pages, path, NULL, NULL, NULL, &error))
    fail_msg("%s", error->message);
  Paper *paper = paper_open(path);
  g_unlink(path);
  return paper;
}

/* Place of the label on its sheet, counted row by row from 0. */
static guint
place_of(const PaperLine *line, const LoomLabelSheet *s)
{
  double x = line->x0 / LOOM_PT_PER_MM - s->left_mm, y = line->y0 / LOOM_PT_PER_MM - s->top_mm;
  return (guint)(y / s->step_y_mm) * s->across + (guint)(x / s->step_x_mm);
}

static void
labels_lie_in_their_places(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomDesign) design = robots_load("sandpiper");
  g_autoptr(LoomLabels) labels = loom_labels_new(design, 0);
  guint n;
  const LoomLabelSheet *sheets = loom_label_sheets(&n);
  for (guint i = 0; i < n; i++) {
    const LoomLabelSheet *s = &sheets[i];
    g_autoptr(Paper) paper = print(design, s->id, false, 3);
    guint a_page = s->across * s->down, found = 0;
    assert_int_equal(paper->n_pages, (labels->n_labels + 3 + a_page - 1) / a_page);
    for (guint p = 0; p < paper->n_pages; p++)
      for (guint k = 0; k < paper->pages[p].n_lines; k++) {
        const PaperLine *line = &paper->pages[p].lines[k];
        guint number = p * a_page + place_of(line, s) - 3;
        assert_in_range(number, 0, labels->n_labels - 1);
        /* The line lies inside its label. */
        double right = s->left_mm + (place_of(line, s) % s->across) * s->step_x_mm + s->width_mm;
        if (line->x1 / LOOM_PT_PER_MM > right + 0.1)
          fail_msg("%s: \"%s\" is too wide", s->id, line->text);
        found += g_str_has_prefix(line->text, labels->labels[number].end);
      }
    assert_int_equal(found, labels->n_labels);
  }
}

static void
flags_say_it_twice(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomDesign) design = robots_parse("add extension-30-300 W1\nadd controller-rover K1\n"
                                              "plug W1:b K1:power\n",
                                              "flags");
  g_autoptr(Paper) paper = print(design, "plain-a4", true, 0);
  guint n = 0;
  for (const char *at = paper->pages[0].text; (at = strstr(at, "to K1:power")); at++)
    n++;
  assert_int_equal(n, 2);
}

static void
csv_has_a_row_an_end(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomDesign) design = robots_load("sandpiper");
  g_autoptr(LoomLabels) labels = loom_labels_new(design, 0);
  g_autofree char *csv = loom_labels_csv(labels);
  g_autoptr(LoomCsvTable) table = loom_csv_parse(csv, strlen(csv), "labels", NULL);
  assert_int_equal(table->n_rows, labels->n_labels + 1);
  assert_string_equal(loom_csv_field(table, 1, loom_csv_column(table, "end")),
                      labels->labels[0].end);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(labels_say_where_an_end_goes),
      cmocka_unit_test(a_y_lead_names_all_its_other_ends),
      cmocka_unit_test(sheets_fit_their_paper),
      cmocka_unit_test(labels_lie_in_their_places),
      cmocka_unit_test(flags_say_it_twice),
      cmocka_unit_test(csv_has_a_row_an_end),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
