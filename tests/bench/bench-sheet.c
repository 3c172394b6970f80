/* How laying, tidying, asking and drawing grow with the number of parts.
 *
 *   bench-sheet [most parts]      200, 500, ... parts; milliseconds of processor time
 *
 * The bench is many tidy robots side by side, each a pack, a fuse, a switch, a controller, motors,
 * servos and sensors with their leads, and a lead from each robot to the next. */
#include "design/edit.h"
#include "sheet/inks.h"
#include "sheet/tidy.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

/* Time of the processor, not of the wall: others may be at work on this machine. */
static double
now_ms(void)
{
  struct timespec t;
  clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
  return t.tv_sec * 1e3 + t.tv_nsec / 1e6;
}

/* One robot: kinds, and which ends are joined; numbers are places in the list of kinds. */
static const char *const KINDS[] = {
    "pack-nimh-12v-3ah", "fuse-lead-15",        "switch-main-20", "extension-30-300",
    "controller-rover",  "motor-medium",        "motor-medium",   "motor-medium",
    "servo-standard",    "servo-extension-300", "servo-standard", "sensor-touch",
    "sensor-lead-300",   "sensor-distance",     "i2c-lead-400",   "sensor-colour",
    "i2c-lead-400",      "servo-micro",         "servo-micro",    "servo-y"};
static const struct {
  guint a;
  const char *end_a;
  guint b;
  const char *end_b;
} JOINTS[] = {{0, "out", 1, "in"},        {1, "out", 2, "in"},         {2, "out", 3, "a"},
              {3, "b", 4, "power"},       {4, "motor-1", 5, "poles"},  {4, "motor-2", 6, "poles"},
              {4, "motor-3", 7, "poles"}, {4, "servo-1", 8, "lead"},   {4, "servo-2", 9, "a"},
              {9, "b", 10, "lead"},       {4, "digital-1-2", 12, "a"}, {12, "b", 11, "port"},
              {4, "i2c-1", 14, "a"},      {14, "b", 13, "port"},       {4, "i2c-2", 16, "a"},
              {16, "b", 15, "port"},      {4, "servo-4", 19, "a"},     {19, "b", 17, "lead"},
              {19, "c", 18, "lead"}};

/* Adds a robot with its corner at x, y, arranged like `pattern` (NULL: anyhow). */
static void
add_robot(LoomEdit *edit, const LoomCatalogue *catalogue, const LoomDesign *pattern, double x,
          double y)
{
  char *all[G_N_ELEMENTS(KINDS)];
  for (guint k = 0; k < G_N_ELEMENTS(KINDS); k++) {
    g_autoptr(GError) error = NULL;
    const LoomKind *kind = loom_catalogue_kind(catalogue, KINDS[k]);
    const char *name = kind ? loom_edit_add(edit, kind, NULL, x, y, &error) : NULL;
    if (!name)
      g_error("%s: %s", KINDS[k], error ? error->message : "no such kind");
    all[k] = g_strdup(name);
    if (!pattern)
      continue;
    const LoomPart *like = loom_design_part(pattern, k);
    LoomPart *part = loom_part_copy(
        loom_design_part(loom_edit_design(edit), loom_design_n_parts(loom_edit_design(edit)) - 1));
    part->x_mm = x + like->x_mm;
    part->y_mm = y + like->y_mm;
    part->turn = like->turn;
    part->flip = like->flip;
    loom_edit_replace_part(edit, loom_design_n_parts(loom_edit_design(edit)) - 1, part);
  }
  for (guint j = 0; j < G_N_ELEMENTS(JOINTS); j++) {
    g_autofree char *a = g_strdup_printf("%s:%s", all[JOINTS[j].a], JOINTS[j].end_a);
    g_autofree char *b = g_strdup_printf("%s:%s", all[JOINTS[j].b], JOINTS[j].end_b);
    g_autoptr(GError) error = NULL;
    if (!loom_edit_plug(edit, a, b, LOOM_FIT_NORMAL, NULL, &error))
      g_error("%s", error->message);
  }
  for (guint k = 0; k < G_N_ELEMENTS(KINDS); k++)
    g_free(all[k]);
}

static LoomDesign *
fleet(const LoomCatalogue *catalogue, guint parts)
{
  LoomDesign *one = loom_design_new("one");
  LoomEdit *edit = loom_edit_new(one, "Build");
  add_robot(edit, catalogue, NULL, 0, 0);
  loom_tidy(edit, 0);
  loom_design_apply(one, edit);
  g_autoptr(LoomSheet) sheet = loom_sheet_new(one, 0, NULL);
  guint robots = MAX(parts / G_N_ELEMENTS(KINDS), 1), across = (guint)ceil(sqrt(robots));
  LoomDesign *all = loom_design_new("fleet");
  edit = loom_edit_new(all, "Build");
  for (guint r = 0; r < robots; r++)
    add_robot(edit, catalogue, one, r % across * (ceil(sheet->extents.width / 5) * 5 + 40),
              r / across * (ceil(sheet->extents.height / 5) * 5 + 40));
  loom_design_apply(all, edit);
  loom_design_free(one);
  return all;
}

static double
draw_ms(const LoomSheet *sheet, LoomRect clip, bool coarse)
{
  cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_RGB24, 1200, 800);
  cairo_t *cr = cairo_create(surface);
  double scale = fmin(1200 / clip.width, 800 / clip.height);
  cairo_scale(cr, scale, scale);
  cairo_translate(cr, -clip.x, -clip.y);
  LoomDrawOptions options;
  loom_draw_options_init(&options);
  options.clip = clip;
  options.coarse = coarse;
  double start = now_ms();
  LoomInk *ink = loom_ink_cairo_new(cr, LOOM_PALETTE_LIGHT);
  loom_draw_sheet(ink, sheet, &options);
  loom_ink_free(ink);
  double took = now_ms() - start;
  cairo_destroy(cr);
  cairo_surface_destroy(surface);
  return took;
}

static void
measure(const LoomCatalogue *catalogue, guint parts)
{
  LoomDesign *design = fleet(catalogue, parts);
  double t0 = now_ms();
  LoomSheet *sheet = loom_sheet_new(design, 0, NULL);
  double t1 = now_ms();
  LoomEdit *edit = loom_edit_new(design, "Move");
  const LoomPart *part = loom_design_part(design, 5);
  loom_edit_move(edit, part->designation, part->x_mm + 5, part->y_mm, NULL);
  loom_design_apply(design, edit);
  double t2 = now_ms();
  LoomSheet *after = loom_sheet_new(design, 0, sheet);
  double t3 = now_ms();
  for (guint i = 0; i < 10000; i++)
    loom_sheet_hit(sheet, i % 100 * sheet->extents.width / 100,
                   i / 100.0 * sheet->extents.height / 100, 2);
  double t4 = now_ms();
  edit = loom_edit_new(design, "Tidy");
  double t5 = now_ms();
  loom_tidy(edit, 0);
  double t6 = now_ms();
  loom_edit_free(edit);
  double near = draw_ms(sheet, (LoomRect){0, 0, 300, 200}, false),
         far = draw_ms(sheet, sheet->extents, true);
  printf("%6u %9.1f %9.1f %9.2f %9.1f %9.1f %9.1f %9u\n", loom_design_n_parts(design), t1 - t0,
         t3 - t2, (t4 - t3) / 10, t6 - t5, near, far, sheet->crossings);
  loom_sheet_free(sheet);
  loom_sheet_free(after);
  loom_design_free(design);
}

int
main(int argc, char **argv)
{
  static const guint SIZES[] = {200, 500, 1000, 2000, 5000, 10000, 20000};
  guint most = argc > 1 ? (guint)atoi(argv[1]) : 20000;
  g_autoptr(GError) error = NULL;
  g_autoptr(LoomCatalogue) catalogue = loom_catalogue_built_in(&error);
  if (!catalogue)
    g_error("%s", error->message);
  printf("parts   lay_ms  again_ms    hit_us   tidy_ms   draw_ms   far_ms  crossings\n");
  for (guint i = 0; i < G_N_ELEMENTS(SIZES) && SIZES[i] <= most; i++)
    measure(catalogue, SIZES[i]);
  return 0;
}
