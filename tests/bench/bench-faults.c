/* How fault finding grows with the robot: the whole model, and what opening one thing after the
 * other costs beside a whole analysis each. The program fails where openings of the largest robot
 * are not three times as quick, or Sandpiper takes more than half a second of processor time. */
#include "planning/faults-private.h"

#include "design/file.h"
#include "planning/fixture.h"

#include <math.h>
#include <stdio.h>
#include <time.h>

#define MOST_SANDPIPER_S 0.5
#define LEAST_RATIO 3.0

static double
cpu_s(void)
{
  return (double)clock() / CLOCKS_PER_SEC;
}

static char *
add(LoomDesign *design, const LoomCatalogue *catalogue, const char *kind)
{
  fixture_add(design, catalogue, kind);
  return loom_design_part(design, loom_design_n_parts(design) - 1)->designation;
}

static void
plug(LoomDesign *design, const char *a, const char *end_a, const char *b, const char *end_b)
{
  g_autofree char *x = g_strconcat(a, ":", end_a, NULL), *y = g_strconcat(b, ":", end_b, NULL);
  fixture_plug(design, x, y);
}

/* Controllers in a row behind one pack, each on a Y-lead, with five motors on extensions. */
static LoomDesign *
robot(const LoomCatalogue *catalogue, guint controllers)
{
  LoomDesign *design = loom_design_new("bench");
  const char *pack = add(design, catalogue, "pack-nimh-12v-3ah");
  const char *fuse = add(design, catalogue, "fuse-lead-20");
  const char *from = add(design, catalogue, "switch-main-20"), *out = "out";
  plug(design, pack, "out", fuse, "in");
  plug(design, fuse, "out", from, "in");
  for (guint i = 0; i < controllers; i++) {
    const char *y = add(design, catalogue, "y-30");
    const char *k = add(design, catalogue, "controller-rover");
    plug(design, from, out, y, "a");
    plug(design, y, "b", k, "power");
    for (guint m = 1; m <= 5; m++) {
      g_autofree char *port = g_strdup_printf("motor-%u", m);
      const char *w = add(design, catalogue, "motor-extension-300");
      const char *motor = add(design, catalogue, "motor-medium");
      plug(design, k, port, w, "a");
      plug(design, w, "b", motor, "poles");
    }
    from = y;
    out = "c";
  }
  return design;
}

/* Opens everything in the supply that can be opened, one after the other, at rest and at every
 * joint that is parted to be measured; `quick`: by graph and factors, otherwise by an analysis
 * each. */
static guint
open_all(const LoomFaultRoom *room, GArray *faults, GArray *tests, bool quick, guint *left)
{
  guint n = 0;
  for (guint i = 0; i < faults->len; i++) {
    const LoomFault *fault = &g_array_index(faults, LoomFault, i);
    if (!loom_fault_only_opens(fault->type) || !loom_fault_in_supply(room, fault))
      continue;
    LoomFaulty faulty;
    loom_faulty_init(&faulty, room, fault);
    n++;
    for (guint t = 0; t < tests->len; t++) {
      const LoomTest *test = &g_array_index(tests, LoomTest, t);
      if (test->type != LOOM_TEST_OPENED)
        continue;
      loom_fault_volts_apart(room, test, fault, &faulty);
      n++;
    }
    if (quick) {
      LoomOperatingPoint *point = loom_fault_solve_cut(room, &faulty, fault);
      *left += point == NULL;
      loom_point_free(point);
    }
    loom_faulty_clear(&faulty);
  }
  return n;
}

static double
measure(const char *name, const LoomDesign *design, double *model_s)
{
  double start = cpu_s();
  g_autoptr(LoomFaultModel) model = loom_fault_model_new(design, 0);
  *model_s = cpu_s() - start;
  LoomFaultRoom room;
  GArray *tests = loom_fault_room_prepare(&room, design, 0), *faults = loom_fault_list(&room);
  guint left = 0;
  start = cpu_s();
  guint n = open_all(&room, faults, tests, true, &left);
  double quick_s = cpu_s() - start;
  g_clear_pointer(&room.stir, g_free);
  g_clear_pointer(&room.calm, g_free);
  g_clear_pointer(&room.idle, g_free);
  start = cpu_s();
  open_all(&room, faults, tests, false, &left);
  double whole_s = cpu_s() - start;
  printf(
      "%-10s %3u parts %4u faults %3u tests: model %7.1f ms; %5u openings %8.2f ms, %u solved in "
      "full; by an analysis each %8.1f ms, %.1f times\n",
      name, loom_design_n_parts(design), model->n_faults, model->n_tests, 1e3 * *model_s, n,
      1e3 * quick_s, left, 1e3 * whole_s, whole_s / quick_s);
  g_array_unref(tests);
  g_array_unref(faults);
  loom_fault_room_clear(&room);
  return whole_s / quick_s;
}

int
main(void)
{
  g_autoptr(LoomCatalogue) catalogue = fixture_built_in();
  g_autofree char *path = loom_data_path("demo/sandpiper.loom");
  g_autoptr(LoomDesign) sandpiper = loom_design_open(path, NULL);
  double model_s, sandpiper_s, ratio = 0;
  measure("sandpiper", sandpiper, &sandpiper_s);
  for (guint controllers = 1; controllers <= 8; controllers *= 2) {
    g_autoptr(LoomDesign) design = robot(catalogue, controllers);
    ratio = measure("row", design, &model_s);
  }
  return sandpiper_s > MOST_SANDPIPER_S || ratio < LEAST_RATIO;
}
