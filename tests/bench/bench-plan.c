/* How the build order and the meter plan grow with the robot: several controllers behind one pack,
 * each with motors on extensions, servos and sensors on leads. The program fails where the meter
 * plan of a 200-part robot takes more than a second. */
#include "planning/meter.h"
#include "planning/steps.h"

#include "planning/fixture.h"

#include <stdio.h>

#define MOST_MS 1000.0

static char *
add(LoomDesign *design, const LoomCatalogue *catalogue, const char *kind)
{
  fixture_add(design, catalogue, kind);
  return loom_design_part(design, loom_design_n_parts(design) - 1)->designation;
}

static void
plug(LoomDesign *design, const char *part_a, const char *end_a, const char *part_b,
     const char *end_b)
{
  g_autofree char *a = g_strconcat(part_a, ":", end_a, NULL);
  g_autofree char *b = g_strconcat(part_b, ":", end_b, NULL);
  fixture_plug(design, a, b);
}

/* 21 parts: a controller, five motors and five sensors, each on a lead. */
static void
add_controller(LoomDesign *design, const LoomCatalogue *catalogue, const char *from,
               const char *out)
{
  static const char *const ports[] = {"digital-1-2", "digital-3-4", "digital-5-6", "analogue-1-2",
                                      "analogue-3-4"};
  const char *k = add(design, catalogue, "controller-rover");
  plug(design, from, out, k, "power");
  for (guint i = 0; i < 5; i++) {
    g_autofree char *port = g_strdup_printf("motor-%u", i + 1);
    const char *w = add(design, catalogue, "motor-extension-300");
    const char *m = add(design, catalogue, "motor-medium");
    plug(design, k, port, w, "a");
    plug(design, w, "b", m, "poles");
    const char *s = add(design, catalogue, "sensor-lead-300");
    const char *b = add(design, catalogue, "sensor-touch");
    plug(design, k, ports[i], s, "a");
    plug(design, s, "b", b, "port");
  }
}

static LoomDesign *
robot(const LoomCatalogue *catalogue, guint controllers)
{
  LoomDesign *design = loom_design_new("bench");
  const char *pack = add(design, catalogue, "pack-nimh-12v-3ah");
  const char *fuse = add(design, catalogue, "fuse-lead-20");
  const char *q = add(design, catalogue, "switch-main-20");
  plug(design, pack, "out", fuse, "in");
  plug(design, fuse, "out", q, "in");
  const char *from = q, *out = "out";
  for (guint i = 0; i < controllers; i++) {
    const char *y = add(design, catalogue, "y-30");
    plug(design, from, out, y, "a");
    add_controller(design, catalogue, y, "b");
    from = y;
    out = "c";
  }
  return design;
}

static double
since_ms(gint64 start)
{
  return (double)(g_get_monotonic_time() - start) / 1000;
}

static double
measure(const LoomCatalogue *catalogue, guint controllers, guint *parts)
{
  g_autoptr(LoomDesign) design = robot(catalogue, controllers);
  *parts = loom_design_n_parts(design);
  gint64 start = g_get_monotonic_time();
  g_autoptr(LoomSteps) steps = loom_steps_new(design, 0);
  double steps_ms = since_ms(start);
  start = g_get_monotonic_time();
  g_autoptr(LoomMeterPlan) plan = loom_meter_new(design, 0, NULL);
  double meter_ms = since_ms(start);
  printf("%4u parts  steps %7.2f ms (%u)  meter %8.2f ms (%u readings, %u slips, %u unseen)\n",
         *parts, steps_ms, steps->n_steps, meter_ms, plan->n_readings, plan->n_slips,
         plan->n_unseen);
  return meter_ms;
}

int
main(void)
{
  g_autoptr(LoomCatalogue) catalogue = fixture_built_in();
  bool quick = true;
  for (guint controllers = 1; controllers <= 18; controllers = controllers * 3 / 2 + 1) {
    guint parts;
    double ms = measure(catalogue, controllers, &parts);
    quick &= parts > 220 || ms <= MOST_MS;
  }
  return quick ? 0 : 1;
}
