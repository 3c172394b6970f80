/* Writes a sheet with many parts: copies of one ordinary robot, side by side.
 *
 *   many PARTS FILE
 *
 * The robot is pack, fuse, switch, extension, controller, and on each motor, servo and I2C port a
 * lead with what belongs there: 31 parts, tidied. */
#include "design/edit.h"
#include "design/file.h"
#include "sheet/tidy.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#define GAP_MM 60.0
#define ROBOTS_A_ROW 8

static const char *
add(LoomEdit *edit, LoomCatalogue *catalogue, const char *kind)
{
  const LoomKind *k = loom_catalogue_kind(catalogue, kind);
  const char *given = k ? loom_edit_add(edit, k, NULL, NAN, NAN, NULL) : NULL;
  if (!given)
    g_error("%s cannot be added", kind);
  return given;
}

static void
plug(LoomEdit *edit, const char *part_a, const char *end_a, const char *part_b, const char *end_b)
{
  g_autofree char *a = g_strdup_printf("%s:%s", part_a, end_a);
  g_autofree char *b = g_strdup_printf("%s:%s", part_b, end_b);
  g_autoptr(GError) error = NULL;
  if (!loom_edit_plug(edit, a, b, LOOM_FIT_NORMAL, NULL, &error))
    g_error("%s", error->message);
}

static void
add_load(LoomEdit *edit, LoomCatalogue *catalogue, const char *port, const char *lead,
         const char *load, const char *end)
{
  g_autofree char *w = g_strdup(add(edit, catalogue, lead));
  g_autofree char *m = g_strdup(add(edit, catalogue, load));
  plug(edit, "K1", port, w, "a");
  plug(edit, w, "b", m, end);
}

static char *
robot_text(LoomCatalogue *catalogue, LoomRect *extents)
{
  g_autoptr(LoomDesign) design = loom_design_new("Many");
  LoomEdit *edit = loom_edit_new(design, "Robot");
  const char *const chain[] = {"pack-nimh-12v-3ah", "fuse-lead-15", "switch-main-20",
                               "extension-30-300", "controller-rover"};
  for (guint i = 0; i < G_N_ELEMENTS(chain); i++)
    add(edit, catalogue, chain[i]);
  plug(edit, "G1", "out", "F1", "in");
  plug(edit, "F1", "out", "Q1", "in");
  plug(edit, "Q1", "out", "W1", "a");
  plug(edit, "W1", "b", "K1", "power");
  for (int i = 1; i <= 5; i++) {
    g_autofree char *motor = g_strdup_printf("motor-%d", i);
    g_autofree char *servo = g_strdup_printf("servo-%d", i);
    add_load(edit, catalogue, motor, "motor-extension-300", "motor-medium", "poles");
    add_load(edit, catalogue, servo, "servo-extension-300", "servo-standard", "lead");
  }
  for (int i = 1; i <= 3; i++) {
    g_autofree char *bus = g_strdup_printf("i2c-%d", i);
    add_load(edit, catalogue, bus, "i2c-lead-200", "sensor-distance", "port");
  }
  loom_tidy(edit, 0);
  loom_design_apply(design, edit);
  g_autoptr(LoomSheet) sheet = loom_sheet_new(design, 0, NULL);
  *extents = sheet->extents;
  guint n = loom_design_n_parts(design);
  g_autofree const char **names = g_new0(const char *, n + 1);
  for (guint i = 0; i < n; i++)
    names[i] = loom_design_part(design, i)->designation;
  return loom_design_extract(design, names, n);
}

int
main(int argc, char **argv)
{
  g_autoptr(GError) error = NULL;
  g_autoptr(LoomCatalogue) catalogue = loom_catalogue_built_in(&error);
  if (argc != 3 || !catalogue) {
    fprintf(stderr, "many PARTS FILE%s%s\n", error ? ": " : "", error ? error->message : "");
    return 64;
  }
  LoomRect extents;
  guint wanted = (guint)atoi(argv[1]);
  g_autofree char *robot = robot_text(catalogue, &extents);
  g_autoptr(LoomDesign) design = loom_design_new("Many");
  LoomEdit *edit = loom_edit_new(design, "Many");
  for (guint i = 0; loom_design_n_parts(loom_edit_design(edit)) < wanted; i++)
    if (!loom_edit_paste(edit, robot, (i % ROBOTS_A_ROW) * (extents.width + GAP_MM),
                         (i / ROBOTS_A_ROW) * (extents.height + GAP_MM), NULL, &error))
      g_error("%s", error->message);
  loom_design_apply(design, edit);
  if (!loom_design_write(design, argv[2], &error))
    g_error("%s", error->message);
  return 0;
}
