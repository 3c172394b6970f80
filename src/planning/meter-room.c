#include "meter-private.h"

bool
loom_meter_has(const LoomMeterRoom *room, LoomMeterWhen when)
{
  for (guint i = 0; i < room->readings->len; i++)
    if (loom_meter_reading(room, i)->when == when)
      return true;
  return false;
}

LoomState *
loom_meter_state_on(const LoomMeterRoom *room, const LoomState *first)
{
  LoomState *state = loom_state_copy(first);
  for (guint p = 0; p < room->w->n_parts; p++)
    if (room->stages->switches[p])
      loom_state_put(state, loom_wiring_part(room->w, p)->designation, "on", "yes");
  return state;
}

void
loom_meter_room_init(LoomMeterRoom *room, const LoomDesign *design, guint scene,
                     const LoomMeter *meter)
{
  *room = (LoomMeterRoom){.design = design, .meter = meter ? *meter : loom_meter_usual()};
  room->stages = loom_stages_new(design, scene);
  room->w = room->stages->wiring;
  const LoomScene *s = loom_design_scene(design, scene);
  room->on = loom_meter_state_on(room, s->n_states ? &s->states[0] : NULL);
  room->open = g_memdup2(room->stages->switches, (room->w->n_parts + 1) * sizeof(bool));
  room->readings = g_array_new(FALSE, FALSE, sizeof(LoomReading));
  room->slips = g_array_new(FALSE, FALSE, sizeof(LoomSlip));
  guint n_joints = loom_design_n_joints(design);
  room->wired = g_new(guint, n_joints + 1);
  for (guint i = 0; i < n_joints; i++)
    room->wired[i] = LOOM_NONE;
  for (guint i = 0; i < room->w->n_joints; i++)
    room->wired[room->w->joints[i].joint] = i;
  room->first_touch = g_new0(guint, room->w->n_joints + 2);
  for (guint t = 0; t < room->w->n_touches; t++)
    room->first_touch[room->w->touches[t].wired + 1]++;
  for (guint i = 0; i < room->w->n_joints; i++)
    room->first_touch[i + 1] += room->first_touch[i];
  for (guint when = 0; when < LOOM_N_METER_WHEN; when++) {
    g_autoptr(GArray) touches = loom_meter_touches(room, when, NULL);
    room->ohms[when] = loom_meter_ohms(room, when, touches, NULL);
  }
}

void
loom_meter_room_clear(LoomMeterRoom *room)
{
  for (guint when = 0; when < LOOM_N_METER_WHEN; when++)
    loom_ohms_free(room->ohms[when]);
  loom_point_free(room->powered);
  loom_state_free(room->on);
  g_free(room->open);
  g_free(room->wired);
  g_free(room->first_touch);
  loom_stages_free(room->stages);
}
