/* How the time of checking grows with the parts: it must stay near proportional.
 *
 * Two shapes: many robots side by side on one sheet, and one pack that feeds many controllers over
 * a tree of Y-leads, so that everything shares one return. The second is checked without solving:
 * no pack feeds hundreds of controllers, and the solver would put them to sleep one by one. The
 * last line is the worst growth of time over growth of parts; more than 3 fails. */
#include "robots.h"
#include "rules/rules.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <time.h>

typedef void (*Shape)(LoomEdit *edit, guint n_parts);
typedef LoomFindings *(*Check)(const LoomDesign *design);

static void
add(LoomEdit *edit, const char *kind, const char *designation)
{
  g_autoptr(GError) error = NULL;
  if (!loom_edit_add(edit, loom_catalogue_kind(robots_catalogue(), kind), designation, 0, 0,
                     &error))
    g_error("%s", error->message);
}

static void G_GNUC_PRINTF(2, 3) do_plug(LoomEdit *edit, const char *format, ...)
{
  va_list arguments;
  va_start(arguments, format);
  g_autofree char *both = g_strdup_vprintf(format, arguments);
  va_end(arguments);
  g_auto(GStrv) ends = g_strsplit(both, " ", 2);
  g_autoptr(GError) error = NULL;
  if (!loom_edit_plug(edit, ends[0], ends[1], LOOM_FIT_NORMAL, NULL, &error))
    g_error("%s", error->message);
}

/* A controller with two motors, two servos, two sensors: 10 parts, numbered from 10 i. */
static void
add_controller(LoomEdit *edit, guint i)
{
  static const char *const kinds[][2] = {{"K", "controller-rover"}, {"M", "motor-medium"},
                                         {"M", "motor-medium"},     {"M", "servo-micro"},
                                         {"M", "servo-micro"},      {"B", "sensor-touch"},
                                         {"B", "sensor-distance"},  {"W", "sensor-lead-300"},
                                         {"W", "i2c-lead-200"},     {"W", "extension-30-300"}};
  for (guint k = 0; k < G_N_ELEMENTS(kinds); k++) {
    g_autofree char *designation = g_strdup_printf("%s%u", kinds[k][0], 10 * i + k);
    add(edit, kinds[k][1], designation);
  }
  guint n = 10 * i;
  do_plug(edit, "K%u:motor-1 M%u:poles", n, n + 1);
  do_plug(edit, "K%u:motor-2 M%u:poles", n, n + 2);
  do_plug(edit, "K%u:servo-1 M%u:lead", n, n + 3);
  do_plug(edit, "K%u:servo-2 M%u:lead", n, n + 4);
  do_plug(edit, "K%u:digital-1-2 W%u:a", n, n + 7);
  do_plug(edit, "W%u:b B%u:port", n + 7, n + 5);
  do_plug(edit, "K%u:i2c-1 W%u:a", n, n + 8);
  do_plug(edit, "W%u:b B%u:port", n + 8, n + 6);
  do_plug(edit, "W%u:b K%u:power", n + 9, n);
}

static void
side_by_side(LoomEdit *edit, guint n_parts)
{
  for (guint i = 1; 13 * i <= n_parts; i++) {
    g_autofree char *g = g_strdup_printf("G%u", i), *f = g_strdup_printf("F%u", i);
    g_autofree char *q = g_strdup_printf("Q%u", i);
    add(edit, "pack-nimh-12v-3ah", g);
    add(edit, "fuse-lead-15", f);
    add(edit, "switch-main-20", q);
    add_controller(edit, i);
    do_plug(edit, "G%u:out F%u:in", i, i);
    do_plug(edit, "F%u:out Q%u:in", i, i);
    do_plug(edit, "Q%u:out W%u:a", i, 10 * i + 9);
  }
}

/* Y-lead i feeds Y-leads 2 i and 2 i + 1, the last ones controllers. */
static void
on_one_pack(LoomEdit *edit, guint n_parts)
{
  guint leaves = n_parts / 11;
  add(edit, "pack-nimh-12v-3ah", "G1");
  add(edit, "fuse-lead-15", "F1");
  add(edit, "switch-main-20", "Q1");
  do_plug(edit, "G1:out F1:in");
  do_plug(edit, "F1:out Q1:in");
  for (guint i = 1; i < leaves; i++) {
    g_autofree char *y = g_strdup_printf("W%u", 100000 + i);
    add(edit, "y-30", y);
  }
  do_plug(edit, "Q1:out W100001:a");
  for (guint i = 1; i < 2 * leaves; i++) {
    if (i >= leaves)
      add_controller(edit, i - leaves + 1);
    if (i > 1)
      do_plug(edit, "W%u:%s W%u:a", 100000 + i / 2, i % 2 ? "c" : "b",
              i < leaves ? 100000 + i : 10 * (i - leaves + 1) + 9);
  }
}

static double
best_ms(Shape shape, Check check, guint n_parts, guint *parts)
{
  g_autoptr(LoomDesign) design = loom_design_new("bench");
  LoomEdit *edit = loom_edit_new(design, "Build");
  shape(edit, n_parts);
  loom_design_apply(design, edit);
  *parts = loom_design_n_parts(design);
  double best = INFINITY;
  for (guint i = 0; i < 5; i++) {
    clock_t start = clock();
    g_autoptr(LoomFindings) found = check(design);
    best = MIN(best, 1000.0 * (double)(clock() - start) / CLOCKS_PER_SEC);
  }
  return best;
}

int
main(void)
{
  static const struct {
    const char *name;
    Shape shape;
    Check check;
  } runs[] = {{"side by side, wiring", side_by_side, loom_check_wiring},
              {"side by side, solved", side_by_side, loom_check},
              {"on one pack, wiring", on_one_pack, loom_check_wiring}};
  double worst = 0;
  for (guint s = 0; s < G_N_ELEMENTS(runs); s++) {
    double last_ms = 0;
    guint last_parts = 0;
    for (guint n = 500; n <= 8000; n *= 2) {
      guint parts;
      double ms = best_ms(runs[s].shape, runs[s].check, n, &parts);
      printf("%-22s %5u parts %8.1f ms\n", runs[s].name, parts, ms);
      if (n > 1000)
        worst = MAX(worst, ms / last_ms * last_parts / parts);
      last_ms = ms;
      last_parts = parts;
    }
  }
  printf("worst growth %.2f\n", worst);
  return worst > 3;
}
