#include "design-private.h"

#include <glib/gi18n-lib.h>
#include <math.h>
#include <string.h>

/* --- title --- */

static void
clear_title(gpointer data)
{
  LoomTitle *title = data;
  char *owned[] = {title->name,       title->revision, title->date,   title->drawn_by,
                   title->checked_by, title->note,     title->before, title->after};
  for (guint i = 0; i < G_N_ELEMENTS(owned); i++)
    g_free(owned[i]);
}

LoomTitle *
loom_title_new(const char *name)
{
  LoomTitle *title = g_atomic_rc_box_new0(LoomTitle);
  title->name = g_strdup(name);
  title->ambient_C = 25;
  return title;
}

LoomTitle *
loom_title_ref(const LoomTitle *title)
{
  return g_atomic_rc_box_acquire((LoomTitle *)title);
}

void
loom_title_unref(LoomTitle *title)
{
  if (title)
    g_atomic_rc_box_release_full(title, clear_title);
}

LoomTitle *
loom_title_copy(const LoomTitle *title)
{
  LoomTitle *copy = loom_title_new(title->name);
  copy->revision = g_strdup(title->revision);
  copy->date = g_strdup(title->date);
  copy->drawn_by = g_strdup(title->drawn_by);
  copy->checked_by = g_strdup(title->checked_by);
  copy->note = g_strdup(title->note);
  copy->before = g_strdup(title->before);
  copy->after = g_strdup(title->after);
  copy->ambient_C = title->ambient_C;
  return copy;
}

/* --- part --- */

static void
clear_part(gpointer data)
{
  LoomPart *part = data;
  loom_kind_unref(part->kind);
  char *owned[] = {part->designation, part->label, part->name,
                   part->note,        part->place, part->settings};
  for (guint i = 0; i < G_N_ELEMENTS(owned); i++)
    g_free(owned[i]);
}

LoomPart *
loom_part_new(const LoomKind *kind, const char *designation)
{
  LoomPart *part = g_atomic_rc_box_new0(LoomPart);
  part->kind = loom_kind_ref(kind);
  part->designation = g_strdup(designation);
  part->on = kind->on_at_first;
  part->length_mm = part->reach_mm = part->rated_A = NAN;
  part->address = -1;
  return part;
}

LoomPart *
loom_part_ref(const LoomPart *part)
{
  return g_atomic_rc_box_acquire((LoomPart *)part);
}

void
loom_part_unref(LoomPart *part)
{
  if (part)
    g_atomic_rc_box_release_full(part, clear_part);
}

LoomPart *
loom_part_copy(const LoomPart *part)
{
  LoomPart *copy = g_atomic_rc_box_dup(sizeof *part, (gpointer)part);
  copy->kind = loom_kind_ref(part->kind);
  copy->designation = g_strdup(part->designation);
  copy->label = g_strdup(part->label);
  copy->name = g_strdup(part->name);
  copy->note = g_strdup(part->note);
  copy->place = g_strdup(part->place);
  copy->settings = g_strdup(part->settings);
  return copy;
}

double
loom_part_length_mm(const LoomPart *part)
{
  return isnan(part->length_mm) ? part->kind->length_mm : part->length_mm;
}

int
loom_part_address(const LoomPart *part)
{
  return part->address >= 0 ? part->address : part->kind->address;
}

double
loom_part_fuse_A(const LoomPart *part, guint element)
{
  return isnan(part->rated_A) ? part->kind->elements[element].rated_A : part->rated_A;
}

bool
loom_part_on(const LoomPart *part, const LoomState *state)
{
  if (!part->kind->has_switch)
    return true;
  const char *set = loom_state_value(state, part->designation, "on");
  return set ? g_str_equal(set, "yes") : part->on;
}

/* --- joint --- */

static void
clear_joint(gpointer data)
{
  LoomJoint *joint = data;
  g_free(joint->a.part);
  g_free(joint->a.end);
  g_free(joint->b.part);
  g_free(joint->b.end);
  g_free(joint->note);
  g_free(joint->network);
  g_strfreev(joint->scenes);
}

LoomJoint *
loom_joint_new(const char *part_a, const char *end_a, const char *part_b, const char *end_b)
{
  LoomJoint *joint = g_atomic_rc_box_new0(LoomJoint);
  joint->a = (LoomEndName){g_strdup(part_a), g_strdup(end_a)};
  joint->b = (LoomEndName){g_strdup(part_b), g_strdup(end_b)};
  return joint;
}

LoomJoint *
loom_joint_ref(const LoomJoint *joint)
{
  return g_atomic_rc_box_acquire((LoomJoint *)joint);
}

void
loom_joint_unref(LoomJoint *joint)
{
  if (joint)
    g_atomic_rc_box_release_full(joint, clear_joint);
}

LoomJoint *
loom_joint_copy(const LoomJoint *joint)
{
  LoomJoint *copy = loom_joint_new(joint->a.part, joint->a.end, joint->b.part, joint->b.end);
  copy->fit = joint->fit;
  copy->tied = joint->tied;
  copy->note = g_strdup(joint->note);
  copy->network = g_strdup(joint->network);
  copy->scenes = g_strdupv(joint->scenes);
  return copy;
}

bool
loom_joint_in_scene(const LoomJoint *joint, const char *scene)
{
  return !scene || !joint->scenes || g_strv_contains((const char *const *)joint->scenes, scene);
}

/* --- scene --- */

void
loom_state_clear(LoomState *state)
{
  g_free(state->name);
  for (guint i = 0; i < state->n_settings; i++) {
    g_free(state->settings[i].part);
    g_free(state->settings[i].key);
    g_free(state->settings[i].value);
  }
  g_free(state->settings);
  g_free(state->slots);
}

void
loom_outing_clear(LoomOuting *outing)
{
  g_free(outing->name);
  for (guint i = 0; i < outing->n_legs; i++)
    g_free(outing->legs[i].state);
  g_free(outing->legs);
}

static void
clear_scene(gpointer data)
{
  LoomScene *scene = data;
  g_free(scene->name);
  g_free(scene->note);
  for (guint i = 0; i < scene->n_states; i++)
    loom_state_clear(&scene->states[i]);
  for (guint i = 0; i < scene->n_outings; i++)
    loom_outing_clear(&scene->outings[i]);
  g_free(scene->states);
  g_free(scene->outings);
}

LoomScene *
loom_scene_new(const char *name)
{
  LoomScene *scene = g_atomic_rc_box_new0(LoomScene);
  scene->name = g_strdup(name);
  return scene;
}

LoomScene *
loom_scene_ref(const LoomScene *scene)
{
  return g_atomic_rc_box_acquire((LoomScene *)scene);
}

void
loom_scene_unref(LoomScene *scene)
{
  if (scene)
    g_atomic_rc_box_release_full(scene, clear_scene);
}

LoomState *
loom_scene_append_state(LoomScene *scene, const char *name)
{
  scene->states = g_renew(LoomState, scene->states, scene->n_states + 1);
  LoomState *state = &scene->states[scene->n_states++];
  *state = (LoomState){.name = g_strdup(name)};
  return state;
}

LoomOuting *
loom_scene_append_outing(LoomScene *scene, const char *name)
{
  scene->outings = g_renew(LoomOuting, scene->outings, scene->n_outings + 1);
  LoomOuting *outing = &scene->outings[scene->n_outings++];
  *outing = (LoomOuting){.name = g_strdup(name)};
  return outing;
}

static void
put_all(LoomState *state, const LoomState *from)
{
  for (guint k = 0; k < from->n_settings; k++)
    loom_state_put(state, from->settings[k].part, from->settings[k].key, from->settings[k].value);
}

LoomState *
loom_state_copy(const LoomState *from)
{
  LoomState *state = g_new0(LoomState, 1);
  if (!from)
    return state;
  state->name = g_strdup(from->name);
  put_all(state, from);
  return state;
}

void
loom_state_free(LoomState *state)
{
  if (!state)
    return;
  loom_state_clear(state);
  g_free(state);
}

LoomScene *
loom_scene_copy(const LoomScene *scene)
{
  LoomScene *copy = loom_scene_new(scene->name);
  copy->note = g_strdup(scene->note);
  for (guint i = 0; i < scene->n_states; i++) {
    const LoomState *from = &scene->states[i];
    put_all(loom_scene_append_state(copy, from->name), from);
  }
  for (guint i = 0; i < scene->n_outings; i++) {
    const LoomOuting *from = &scene->outings[i];
    LoomOuting *outing = loom_scene_append_outing(copy, from->name);
    outing->n_legs = from->n_legs;
    outing->legs = g_new0(LoomLeg, from->n_legs);
    for (guint k = 0; k < from->n_legs; k++)
      outing->legs[k] = (LoomLeg){g_strdup(from->legs[k].state), from->legs[k].seconds};
  }
  return copy;
}

guint
loom_scene_find_state(const LoomScene *scene, const char *name)
{
  for (guint i = 0; i < scene->n_states; i++)
    if (g_str_equal(scene->states[i].name, name))
      return i;
  return LOOM_NONE;
}

guint
loom_scene_find_outing(const LoomScene *scene, const char *name)
{
  for (guint i = 0; i < scene->n_outings; i++)
    if (g_str_equal(scene->outings[i].name, name))
      return i;
  return LOOM_NONE;
}

/* Settings are found through a hash table, so that a large state is read, copied and solved in
 * linear time. A few are quicker looked through. */
enum { FEW_SETTINGS = 8 };

static bool
sets(const LoomSetting *setting, const char *part, const char *key)
{
  return g_str_equal(setting->part, part) && g_str_equal(setting->key, key);
}

/* The slot of the setting, or the empty one where it would be: open addressing, never more than
 * half full. */
static guint *
slot_of(const LoomState *state, const char *part, const char *key)
{
  guint at = (g_str_hash(part) * 31 + g_str_hash(key)) & (state->n_slots - 1);
  while (state->slots[at] && !sets(&state->settings[state->slots[at] - 1], part, key))
    at = (at + 1) & (state->n_slots - 1);
  return &state->slots[at];
}

void
loom_state_reindex(LoomState *state)
{
  g_clear_pointer(&state->slots, g_free);
  state->n_slots = 0;
  if (state->n_settings <= FEW_SETTINGS)
    return;
  for (state->n_slots = 1; state->n_slots < 4 * state->n_settings;)
    state->n_slots *= 2;
  state->slots = g_new0(guint, state->n_slots);
  for (guint i = 0; i < state->n_settings; i++)
    *slot_of(state, state->settings[i].part, state->settings[i].key) = i + 1;
}

static LoomSetting *
find_setting(const LoomState *state, const char *part, const char *key)
{
  if (state->n_slots > 0) {
    guint found = *slot_of(state, part, key);
    return found ? &state->settings[found - 1] : NULL;
  }
  for (guint i = 0; i < state->n_settings; i++)
    if (sets(&state->settings[i], part, key))
      return &state->settings[i];
  return NULL;
}

static void
append_setting(LoomState *state, const char *part, const char *key, const char *value)
{
  state->settings = g_renew(LoomSetting, state->settings, state->n_settings + 1);
  state->settings[state->n_settings++] =
      (LoomSetting){g_strdup(part), g_strdup(key), g_strdup(value)};
  if (2 * state->n_settings > state->n_slots)
    loom_state_reindex(state);
  else
    *slot_of(state, part, key) = state->n_settings;
}

const char *
loom_state_value(const LoomState *state, const char *part, const char *key)
{
  const LoomSetting *setting = state ? find_setting(state, part, key) : NULL;
  return setting ? setting->value : NULL;
}

void
loom_state_put(LoomState *state, const char *part, const char *key, const char *value)
{
  LoomSetting *setting = find_setting(state, part, key);
  if (value && *value && setting) {
    g_free(setting->value);
    setting->value = g_strdup(value);
  } else if (value && *value) {
    append_setting(state, part, key, value);
  } else if (setting) {
    g_free(setting->part);
    g_free(setting->key);
    g_free(setting->value);
    guint after = state->n_settings - 1 - (guint)(setting - state->settings);
    memmove(setting, setting + 1, after * sizeof *setting);
    state->n_settings--;
    loom_state_reindex(state);
  }
}

char *
loom_setting_wrong(const char *key, const char *value)
{
  static const char *const loads[] = {"idle", "free", "moving", "loaded", "stalled", NULL};
  double number;
  if (g_str_equal(key, "on"))
    return g_str_equal(value, "yes") || g_str_equal(value, "no") ? NULL
                                                                 : g_strdup(_("on is yes or no."));
  if (g_str_equal(key, "load"))
    return g_strv_contains(loads, value)
               ? NULL
               : g_strdup(_("load is idle, free, moving, loaded or stalled."));
  if (g_str_equal(key, "duty"))
    return loom_number_from_text(value, &number) && number >= -1 && number <= 1
               ? NULL
               : g_strdup(_("duty is a number from -1 to 1."));
  if (g_str_equal(key, "torque_Nm"))
    return loom_number_from_text(value, &number) && fabs(number) <= 10000
               ? NULL
               : g_strdup(_("torque_Nm is a number up to 10000."));
  return g_strdup_printf(_("A state can set on, duty, load and torque_Nm, not %s."), key);
}

LoomLeg *
loom_legs_from_text(const LoomScene *scene, const char *text, guint *n, GError **error)
{
  g_auto(GStrv) words = g_strsplit(text, ",", -1);
  GArray *legs = g_array_new(FALSE, TRUE, sizeof(LoomLeg));
  *n = 0;
  for (char **w = words; *w; w++) {
    char *word = g_strstrip(*w);
    char *blank = strrchr(word, ' ');
    LoomLeg leg = {0};
    if (blank && loom_number_from_text(blank + 1, &leg.seconds) && leg.seconds > 0 &&
        leg.seconds <= 1e6) {
      leg.state = g_strchomp(g_strndup(word, (gsize)(blank - word)));
      g_array_append_val(legs, leg);
    }
    if (!leg.state || loom_scene_find_state(scene, leg.state) == LOOM_NONE) {
      g_set_error(error, LOOM_ERROR, LOOM_ERROR_REFERENCE,
                  _("\"%s\" is not a state of scene %s and its seconds, like \"driving 60\"."),
                  word, scene->name);
      for (guint i = 0; i < legs->len; i++)
        g_free(g_array_index(legs, LoomLeg, i).state);
      g_array_free(legs, TRUE);
      return NULL;
    }
  }
  *n = legs->len;
  return (LoomLeg *)g_array_free(legs, FALSE);
}
