#include "design-private.h"

#include <glib/gi18n-lib.h>
#include <math.h>
#include <string.h>

static bool
refuse(GError **error, const char *key, const char *sentence)
{
  g_set_error(error, LOOM_ERROR, LOOM_ERROR_EDIT, "%s: %s", key, sentence);
  return false;
}

static bool
unknown_key(GError **error, const char *target, const char *key)
{
  g_set_error(error, LOOM_ERROR, LOOM_ERROR_EDIT, _("%s has no property %s."), target, key);
  return false;
}

/* Text properties: "" clears. */
typedef struct {
  const char *key;
  gsize offset;
} TextKey;

static bool
set_text(const TextKey *keys, guint n, gpointer record, const char *key, const char *value)
{
  for (guint i = 0; i < n; i++) {
    if (!g_str_equal(keys[i].key, key))
      continue;
    char **field = (char **)((char *)record + keys[i].offset);
    g_free(*field);
    *field = *value ? g_strdup(value) : NULL;
    return true;
  }
  return false;
}

static bool
number_in(const char *key, const char *value, double low, double high, double *out, GError **error)
{
  double number;
  if (!loom_number_from_text(value, &number))
    return refuse(error, key, _("this is not a number."));
  if (number < low || number > high) {
    g_set_error(error, LOOM_ERROR, LOOM_ERROR_EDIT, _("%s: %s is not between %g and %g."), key,
                value, low, high);
    return false;
  }
  *out = number;
  return true;
}

static bool
yes_or_no(const char *key, const char *value, bool *out, GError **error)
{
  if (!g_str_equal(value, "yes") && !g_str_equal(value, "no"))
    return refuse(error, key, _("this is yes or no."));
  *out = g_str_equal(value, "yes");
  return true;
}

/* --- design --- */

static bool
set_title(LoomEdit *edit, const char *key, const char *value, GError **error)
{
  static const TextKey keys[] = {{"name", offsetof(LoomTitle, name)},
                                 {"revision", offsetof(LoomTitle, revision)},
                                 {"date", offsetof(LoomTitle, date)},
                                 {"drawn-by", offsetof(LoomTitle, drawn_by)},
                                 {"checked-by", offsetof(LoomTitle, checked_by)},
                                 {"note", offsetof(LoomTitle, note)},
                                 {"before", offsetof(LoomTitle, before)},
                                 {"after", offsetof(LoomTitle, after)}};
  g_autoptr(LoomTitle) title = loom_title_copy(loom_design_title(edit->design));
  if (g_str_equal(key, "name") && !*value)
    return refuse(error, key, _("a design has a name."));
  bool known = set_text(keys, G_N_ELEMENTS(keys), title, key, value);
  if (!known && !g_str_equal(key, "ambient_C"))
    return unknown_key(error, "design", key);
  if (!known && !number_in(key, value, -40, 100, &title->ambient_C, error))
    return false;
  loom_edit_change(edit, LOOM_TABLE_TITLE, 0, g_steal_pointer(&title));
  return true;
}

/* --- parts --- */

static bool
set_address(LoomPart *part, const char *value, GError **error)
{
  const LoomKind *kind = part->kind;
  if (kind->address < 0)
    return refuse(error, "address", _("this part has no I²C address."));
  if (!*value) {
    part->address = -1;
    return true;
  }
  char *rest;
  gint64 address = g_ascii_strtoll(value, &rest, 0);
  if (rest == value || *rest || address < kind->address_min || address > kind->address_max) {
    g_set_error(error, LOOM_ERROR, LOOM_ERROR_EDIT,
                _("address: %s can be set from 0x%02X to 0x%02X."), part->designation,
                (guint)kind->address_min, (guint)kind->address_max);
    return false;
  }
  part->address = (int)address;
  return true;
}

static bool
set_turn(LoomPart *part, const char *value, GError **error)
{
  static const char *const turns[] = {"0", "90", "180", "270"};
  for (guint i = 0; i < G_N_ELEMENTS(turns); i++)
    if (g_str_equal(turns[i], value)) {
      part->turn = (LoomTurn)i;
      return true;
    }
  return refuse(error, "turn", _("this is 0, 90, 180 or 270."));
}

static bool
has_fuse(const LoomKind *kind)
{
  for (guint i = 0; i < kind->n_elements; i++)
    if (kind->elements[i].type == LOOM_ELEMENT_FUSE)
      return true;
  return false;
}

/* Numbers that may be absent: "" clears. */
static bool
set_part_number(LoomPart *part, const char *key, const char *value, bool *known, GError **error)
{
  static const struct {
    const char *key;
    gsize offset;
    double low, high;
    bool clears;
  } keys[] = {{"x_mm", offsetof(LoomPart, x_mm), -1e5, 1e5, false},
              {"y_mm", offsetof(LoomPart, y_mm), -1e5, 1e5, false},
              {"length_mm", offsetof(LoomPart, length_mm), 1, 1e5, true},
              {"reach_mm", offsetof(LoomPart, reach_mm), 1, 1e5, true},
              {"rated_A", offsetof(LoomPart, rated_A), 0.05, 1000, true}};
  *known = false;
  for (guint i = 0; i < G_N_ELEMENTS(keys); i++) {
    if (!g_str_equal(keys[i].key, key))
      continue;
    *known = true;
    double *field = (double *)((char *)part + keys[i].offset);
    if ((g_str_equal(key, "length_mm") || g_str_equal(key, "reach_mm")) && !part->kind->lead)
      return refuse(error, key, _("only leads have this."));
    if (g_str_equal(key, "rated_A") && !has_fuse(part->kind))
      return refuse(error, key, _("there is no fuse in this part."));
    if (!*value && keys[i].clears) {
      *field = NAN;
      return true;
    }
    return number_in(key, value, keys[i].low, keys[i].high, field, error);
  }
  return true;
}

static bool
set_part_field(LoomPart *part, const char *key, const char *value, GError **error)
{
  static const TextKey keys[] = {{"label", offsetof(LoomPart, label)},
                                 {"name", offsetof(LoomPart, name)},
                                 {"note", offsetof(LoomPart, note)},
                                 {"place", offsetof(LoomPart, place)},
                                 {"settings", offsetof(LoomPart, settings)}};
  bool known;
  if (set_text(keys, G_N_ELEMENTS(keys), part, key, value))
    return true;
  if (!set_part_number(part, key, value, &known, error))
    return false;
  if (known)
    return true;
  if (g_str_equal(key, "turn"))
    return set_turn(part, value, error);
  if (g_str_equal(key, "flip"))
    return yes_or_no(key, value, &part->flip, error);
  if (g_str_equal(key, "address"))
    return set_address(part, value, error);
  if (g_str_equal(key, "on") && part->kind->has_switch)
    return yes_or_no(key, value, &part->on, error);
  return unknown_key(error, part->designation, key);
}

static bool
set_part(LoomEdit *edit, guint index, const char *key, const char *value, GError **error)
{
  if (g_str_equal(key, "designation"))
    return loom_edit_rename_part(edit, index, value, error);
  const LoomPart *now = loom_design_part(edit->design, index);
  if (g_str_equal(key, "kind")) {
    const LoomKind *kind = loom_design_kind(edit->design, value);
    g_autofree char *designation = g_strdup(now->designation);
    return kind ? loom_edit_set_kind(edit, designation, kind, error)
                : refuse(error, key, _("the design embeds no kind of that id."));
  }
  g_autoptr(LoomPart) part = loom_part_copy(now);
  if (!set_part_field(part, key, value, error))
    return false;
  loom_edit_replace_part(edit, index, g_steal_pointer(&part));
  return true;
}

/* --- joints --- */

/* "driving, charging" -> list; "" -> NULL, every scene. */
static char **
scene_list(const char *value)
{
  if (!*value)
    return NULL;
  char **list = g_strsplit(value, ",", -1);
  for (char **s = list; *s; s++)
    g_strstrip(*s);
  return list;
}

static bool
set_joint(LoomEdit *edit, guint index, const char *key, const char *value, GError **error)
{
  static const TextKey keys[] = {{"note", offsetof(LoomJoint, note)},
                                 {"network", offsetof(LoomJoint, network)}};
  static const char *const fits[] = {"normal", "turned", "shifted"};
  if (g_str_equal(key, "scenes"))
    return loom_edit_set_joint_scenes(edit, index, scene_list(value), error);
  g_autoptr(LoomJoint) joint = loom_joint_copy(loom_design_joint(edit->design, index));
  bool known = set_text(keys, G_N_ELEMENTS(keys), joint, key, value);
  if (g_str_equal(key, "tied")) {
    if (!yes_or_no(key, value, &joint->tied, error))
      return false;
    known = true;
  }
  for (guint i = 0; g_str_equal(key, "fit") && i < G_N_ELEMENTS(fits); i++)
    if (g_str_equal(fits[i], value)) {
      joint->fit = (LoomFit)i;
      known = true;
    }
  if (!known)
    return g_str_equal(key, "fit") ? refuse(error, key, _("this is normal, turned or shifted."))
                                   : unknown_key(error, _("A joint"), key);
  loom_edit_change(edit, LOOM_TABLE_JOINTS, index, g_steal_pointer(&joint));
  return true;
}

/* Every joint at the end, which is one but for studs and for ends plugged differently by scene. */
static bool
set_end(LoomEdit *edit, const char *target, const char *key, const char *value, GError **error)
{
  guint part, end, joints[64];
  if (!loom_design_find_end(edit->design, target, &part, &end, error))
    return false;
  guint n = MIN(loom_design_joints_at(edit->design, part, end, joints, 64), 64);
  if (n == 0) {
    g_set_error(error, LOOM_ERROR, LOOM_ERROR_EDIT, _("Nothing is plugged at %s."), target);
    return false;
  }
  for (guint i = 0; i < n; i++)
    if (!set_joint(edit, joints[i], key, value, error))
      return false;
  return true;
}

/* --- scenes, states, outings --- */

static bool
set_scene(LoomEdit *edit, const char *name, const char *key, const char *value, GError **error)
{
  guint index = loom_design_find_scene(edit->design, name);
  if (index == LOOM_NONE) {
    g_set_error(error, LOOM_ERROR, LOOM_ERROR_REFERENCE, _("There is no scene %s."), name);
    return false;
  }
  if (g_str_equal(key, "name"))
    return *value && !strpbrk(value, "/,:\n")
               ? loom_edit_rename_scene(edit, index, value, error)
               : refuse(error, key, _("this is no name for a scene."));
  if (!g_str_equal(key, "note"))
    return unknown_key(error, name, key);
  LoomScene *scene = loom_scene_copy(loom_design_scene(edit->design, index));
  g_free(scene->note);
  scene->note = *value ? g_strdup(value) : NULL;
  loom_edit_change(edit, LOOM_TABLE_SCENES, index, scene);
  return true;
}

static void
rename_leg_states(LoomScene *scene, const char *from, const char *to)
{
  for (guint i = 0; i < scene->n_outings; i++)
    for (guint k = 0; k < scene->outings[i].n_legs; k++)
      if (g_str_equal(scene->outings[i].legs[k].state, from)) {
        g_free(scene->outings[i].legs[k].state);
        scene->outings[i].legs[k].state = g_strdup(to);
      }
}

static bool
rename_state(LoomScene *scene, LoomState *state, const char *name, GError **error)
{
  if (!*name || strpbrk(name, "/,:\n") || loom_scene_find_state(scene, name) != LOOM_NONE)
    return refuse(error, "name", _("this is no name for a state, or one that is taken."));
  rename_leg_states(scene, state->name, name);
  g_free(state->name);
  state->name = g_strdup(name);
  return true;
}

/* key is "Q1.on". */
static bool
set_setting(const LoomDesign *design, LoomState *state, const char *key, const char *value,
            GError **error)
{
  const char *dot = strchr(key, '.');
  if (!dot)
    return refuse(error, key, _("a state sets PART.KEY, like Q1.on."));
  g_autofree char *designation = g_strndup(key, (gsize)(dot - key));
  guint index = loom_design_find_part(design, designation);
  if (index == LOOM_NONE) {
    g_set_error(error, LOOM_ERROR, LOOM_ERROR_REFERENCE, _("There is no part %s."), designation);
    return false;
  }
  if (g_str_equal(dot + 1, "on") && !loom_design_part(design, index)->kind->has_switch)
    return refuse(error, key, _("this part has no switch."));
  g_autofree char *wrong = *value ? loom_setting_wrong(dot + 1, value) : NULL;
  if (wrong)
    return refuse(error, key, wrong);
  loom_state_put(state, designation, dot + 1, value);
  return true;
}

static bool
set_outing(LoomScene *scene, LoomOuting *outing, const char *key, const char *value, GError **error)
{
  if (g_str_equal(key, "legs")) {
    guint n;
    g_autoptr(GError) cause = NULL;
    LoomLeg *legs = loom_legs_from_text(scene, value, &n, &cause);
    if (cause) {
      g_propagate_error(error, g_steal_pointer(&cause));
      return false;
    }
    for (guint i = 0; i < outing->n_legs; i++)
      g_free(outing->legs[i].state);
    g_free(outing->legs);
    outing->legs = legs;
    outing->n_legs = n;
    return true;
  }
  if (!g_str_equal(key, "name"))
    return unknown_key(error, outing->name, key);
  if (!*value || loom_scene_find_outing(scene, value) != LOOM_NONE)
    return refuse(error, key, _("this is no name for an outing, or one that is taken."));
  g_free(outing->name);
  outing->name = g_strdup(value);
  return true;
}

static bool
set_in_scene(LoomEdit *edit, const char *target, const char *key, const char *value, GError **error)
{
  bool is_state = g_str_has_prefix(target, "state:");
  const char *text = strchr(target, ':') + 1;
  const char *slash = strchr(text, '/');
  g_autofree char *scene_name = slash ? g_strndup(text, (gsize)(slash - text)) : g_strdup(text);
  guint index = loom_design_find_scene(edit->design, scene_name);
  g_autoptr(LoomScene) scene =
      index == LOOM_NONE ? NULL : loom_scene_copy(loom_design_scene(edit->design, index));
  guint at = LOOM_NONE;
  if (scene && slash)
    at = is_state ? loom_scene_find_state(scene, slash + 1)
                  : loom_scene_find_outing(scene, slash + 1);
  if (at == LOOM_NONE) {
    g_set_error(error, LOOM_ERROR, LOOM_ERROR_REFERENCE, _("There is no %s."), target);
    return false;
  }
  bool done;
  if (!is_state)
    done = set_outing(scene, &scene->outings[at], key, value, error);
  else if (g_str_equal(key, "name"))
    done = rename_state(scene, &scene->states[at], value, error);
  else
    done = set_setting(edit->design, &scene->states[at], key, value, error);
  if (done)
    loom_edit_change(edit, LOOM_TABLE_SCENES, index, g_steal_pointer(&scene));
  return done;
}

bool
loom_edit_set(LoomEdit *edit, const char *target, const char *key, const char *value,
              GError **error)
{
  if (!g_utf8_validate(value, -1, NULL) || strlen(value) > 20000)
    return refuse(error, key, _("this is not text, or too long."));
  if (g_str_equal(target, "design"))
    return set_title(edit, key, value, error);
  if (g_str_has_prefix(target, "scene:"))
    return set_scene(edit, target + 6, key, value, error);
  if (g_str_has_prefix(target, "state:") || g_str_has_prefix(target, "outing:"))
    return set_in_scene(edit, target, key, value, error);
  if (strchr(target, ':'))
    return set_end(edit, target, key, value, error);
  guint index = loom_design_find_part(edit->design, target);
  if (index == LOOM_NONE) {
    g_set_error(error, LOOM_ERROR, LOOM_ERROR_REFERENCE, _("There is no part %s."), target);
    return false;
  }
  return set_part(edit, index, key, value, error);
}
