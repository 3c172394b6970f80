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
  GArray *settings = g_array_new(FALSE, TRUE, sizeof(LoomSetting));
  for (guint i = 0; first && i < first->n_settings; i++) {
    LoomSetting copy = {g_strdup(first->settings[i].part), g_strdup(first->settings[i].key),
                        g_strdup(first->settings[i].value)};
    g_array_append_val(settings, copy);
  }
  for (guint p = 0; p < room->w->n_parts; p++) {
    LoomSetting on = {g_strdup(loom_wiring_part(room->w, p)->designation), g_strdup("on"),
                      g_strdup("yes")};
    if (room->stages->switches[p]) {
      g_array_append_val(settings, on);
      continue;
    }
    g_free(on.part);
    g_free(on.key);
    g_free(on.value);
  }
  LoomState *state = g_new0(LoomState, 1);
  state->n_settings = settings->len;
  state->settings = (LoomSetting *)g_array_free(settings, FALSE);
  return state;
}

void
loom_meter_state_free(LoomState *state)
{
  for (guint i = 0; i < state->n_settings; i++) {
    g_free(state->settings[i].part);
    g_free(state->settings[i].key);
    g_free(state->settings[i].value);
  }
  g_free(state->settings);
  g_free(state);
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
  loom_meter_state_free(room->on);
  g_free(room->open);
  g_free(room->wired);
  g_free(room->first_touch);
  loom_stages_free(room->stages);
}
