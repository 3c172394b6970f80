#include "meter-private.h"

#include "electric/forest.h"

/* Numbers robots, and the parts and joints of each, in the order of the whole. */
static void
number_robots(LoomMeterRobots *r, const LoomWiring *w)
{
  g_autoptr(LoomForest) forest = loom_forest_new(w->n_parts + 1);
  for (guint j = 0; j < w->n_joints; j++)
    loom_forest_join(forest, w->joints[j].part_a, w->joints[j].part_b);
  g_autofree guint *number = g_new(guint, w->n_parts + 1); /* of each root */
  g_autofree guint *n_parts = g_new0(guint, w->n_parts + 1);
  g_autofree guint *n_joints = g_new0(guint, w->n_parts + 1);
  for (guint p = 0; p < w->n_parts; p++)
    number[p] = LOOM_NONE;
  for (guint p = 0; p < w->n_parts; p++) {
    guint root = loom_forest_root(forest, p);
    if (number[root] == LOOM_NONE)
      number[root] = r->n++;
    r->of[p] = number[root];
    r->part[p] = n_parts[number[root]]++;
  }
  for (guint j = 0; j < w->n_joints; j++)
    r->joint[j] = n_joints[r->of[w->joints[j].part_a]]++;
}

static LoomWiring *
wiring_of(const LoomMeterRoom *room, guint robot)
{
  g_autofree bool *parts = g_new0(bool, room->w->n_parts + 1);
  for (guint p = 0; p < room->w->n_parts; p++)
    parts[p] = room->robots.of[p] == robot;
  g_autoptr(LoomDesign) own = loom_design_cut_out(room->w->design, parts);
  return loom_wiring_new(own, room->w->scene);
}

/* Settings by the robot of their part; a setting of no part is nobody's. */
static void
share_settings(LoomMeterRoom *room)
{
  LoomMeterRobots *r = &room->robots;
  r->on = g_new(LoomState *, r->n + 1);
  for (guint i = 0; i < r->n; i++)
    r->on[i] = loom_state_copy(NULL);
  for (guint i = 0; i < room->on->n_settings; i++) {
    const LoomSetting *set = &room->on->settings[i];
    guint part = loom_design_find_part(room->w->design, set->part);
    if (part != LOOM_NONE)
      loom_state_put(r->on[r->of[part]], set->part, set->key, set->value);
  }
}

guint
loom_meter_robot_of_slip(const LoomMeterRoom *room, const LoomSlip *slip)
{
  guint part =
      slip->joint == LOOM_NONE ? slip->part : room->w->joints[room->wired[slip->joint]].part_a;
  return room->robots.of[part];
}

void
loom_meter_robots_init(LoomMeterRoom *room)
{
  LoomMeterRobots *r = &room->robots;
  r->of = g_new(guint, room->w->n_parts + 1);
  r->part = g_new(guint, room->w->n_parts + 1);
  r->joint = g_new(guint, room->w->n_joints + 1);
  number_robots(r, room->w);
  share_settings(room);
  r->wirings = g_new0(LoomWiring *, r->n + 1);
  for (guint i = 0; i < room->slips->len; i++) {
    guint robot = loom_meter_robot_of_slip(room, &g_array_index(room->slips, LoomSlip, i));
    if (!r->wirings[robot])
      r->wirings[robot] = wiring_of(room, robot);
  }
}

void
loom_meter_robots_clear(LoomMeterRobots *r)
{
  for (guint i = 0; i < r->n; i++) {
    loom_wiring_free(r->wirings[i]);
    loom_state_free(r->on[i]);
  }
  g_free(r->on);
  g_free(r->wirings);
  g_free(r->of);
  g_free(r->part);
  g_free(r->joint);
}
