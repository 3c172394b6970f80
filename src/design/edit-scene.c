#include "design-private.h"

#include <glib/gi18n-lib.h>
#include <string.h>

bool
loom_edit_rename_scene(LoomEdit *edit, guint index, const char *name, GError **error)
{
  g_autofree char *from = g_strdup(loom_design_scene(edit->design, index)->name);
  guint there = loom_design_find_scene(edit->design, name);
  if (there != LOOM_NONE && there != index)
    return loom_edit_refuse(error, _("There already is a scene %s."), name);
  LoomScene *scene = loom_scene_copy(loom_design_scene(edit->design, index));
  scene->name = loom_edit_renamed(scene->name, from, name);
  loom_edit_change(edit, LOOM_TABLE_SCENES, index, scene);
  for (guint j = 0; j < edit->design->joints->len; j++) {
    const LoomJoint *joint = loom_design_joint(edit->design, j);
    if (!joint->scenes || !loom_joint_in_scene(joint, from))
      continue;
    LoomJoint *copy = loom_joint_copy(joint);
    for (char **s = copy->scenes; *s; s++)
      *s = loom_edit_renamed(*s, from, name);
    loom_edit_change(edit, LOOM_TABLE_JOINTS, j, copy);
  }
  return true;
}

/* "state:driving/pushing" -> prefix, scene index, "pushing". */
static bool
split_target(const LoomDesign *design, const char *target, const char *prefix, guint *scene,
             char **name, GError **error)
{
  const char *text = target + strlen(prefix);
  const char *slash = strchr(text, '/');
  if (!slash || !slash[1]) {
    loom_edit_refuse(error, _("\"%s\" lacks its name; it is written %sSCENE/NAME."), target,
                     prefix);
    return false;
  }
  g_autofree char *scene_name = g_strndup(text, (gsize)(slash - text));
  *scene = loom_design_find_scene(design, scene_name);
  if (*scene == LOOM_NONE) {
    g_set_error(error, LOOM_ERROR, LOOM_ERROR_REFERENCE, _("There is no scene %s."), scene_name);
    return false;
  }
  *name = g_strdup(slash + 1);
  return true;
}

static bool
name_fits(const char *name, GError **error)
{
  if (*name && !strpbrk(name, "/,:\n"))
    return true;
  return loom_edit_refuse(
      error, _("\"%s\" is no name; one has no slash, comma, colon or line break."), name);
}

bool
loom_edit_add_target(LoomEdit *edit, const char *target, GError **error)
{
  guint index;
  g_autofree char *name = NULL;
  if (g_str_has_prefix(target, "scene:")) {
    if (!name_fits(target + 6, error))
      return false;
    if (loom_design_find_scene(edit->design, target + 6) != LOOM_NONE)
      return loom_edit_refuse(error, _("There already is a scene %s."), target + 6);
    loom_edit_insert(edit, LOOM_TABLE_SCENES, edit->design->scenes->len,
                     loom_scene_new(target + 6));
    return true;
  }
  bool state = g_str_has_prefix(target, "state:"), outing = g_str_has_prefix(target, "outing:");
  if (!state && !outing)
    return loom_edit_refuse(error, _("\"%s\" is neither scene:, state: nor outing:."), target);
  if (!split_target(edit->design, target, state ? "state:" : "outing:", &index, &name, error) ||
      !name_fits(name, error))
    return false;
  const LoomScene *scene = loom_design_scene(edit->design, index);
  guint there = state ? loom_scene_find_state(scene, name) : loom_scene_find_outing(scene, name);
  if (there != LOOM_NONE)
    return loom_edit_refuse(error, _("Scene %s already has %s."), scene->name, name);
  LoomScene *copy = loom_scene_copy(scene);
  if (state)
    loom_scene_append_state(copy, name);
  else
    loom_scene_append_outing(copy, name);
  loom_edit_change(edit, LOOM_TABLE_SCENES, index, copy);
  return true;
}

static bool
remove_scene(LoomEdit *edit, const char *name, GError **error)
{
  guint index = loom_design_find_scene(edit->design, name);
  if (index == LOOM_NONE) {
    g_set_error(error, LOOM_ERROR, LOOM_ERROR_REFERENCE, _("There is no scene %s."), name);
    return false;
  }
  if (edit->design->scenes->len == 1)
    return loom_edit_refuse(error, _("%s is the only scene; a design keeps one."), name);
  for (guint j = edit->design->joints->len; j-- > 0;) {
    const LoomJoint *joint = loom_design_joint(edit->design, j);
    if (joint->scenes && loom_joint_in_scene(joint, name))
      loom_edit_leave_scene(edit, j, name);
  }
  loom_edit_delete(edit, LOOM_TABLE_SCENES, index);
  return true;
}

static bool
state_in_outing(const LoomScene *scene, const char *state)
{
  for (guint i = 0; i < scene->n_outings; i++)
    for (guint k = 0; k < scene->outings[i].n_legs; k++)
      if (g_str_equal(scene->outings[i].legs[k].state, state))
        return true;
  return false;
}

static bool
remove_from_scene(LoomEdit *edit, guint index, const char *name, bool state, GError **error)
{
  const LoomScene *scene = loom_design_scene(edit->design, index);
  guint at = state ? loom_scene_find_state(scene, name) : loom_scene_find_outing(scene, name);
  if (at == LOOM_NONE) {
    g_set_error(error, LOOM_ERROR, LOOM_ERROR_REFERENCE, _("Scene %s has no %s."), scene->name,
                name);
    return false;
  }
  if (state && state_in_outing(scene, name))
    return loom_edit_refuse(error, _("%s is part of an outing; change that first."), name);
  LoomScene *copy = loom_scene_copy(scene);
  if (state) {
    loom_state_clear(&copy->states[at]);
    memmove(&copy->states[at], &copy->states[at + 1], (--copy->n_states - at) * sizeof(LoomState));
  } else {
    loom_outing_clear(&copy->outings[at]);
    memmove(&copy->outings[at], &copy->outings[at + 1],
            (--copy->n_outings - at) * sizeof(LoomOuting));
  }
  loom_edit_change(edit, LOOM_TABLE_SCENES, index, copy);
  return true;
}

bool
loom_edit_remove_target(LoomEdit *edit, const char *target, GError **error)
{
  guint index;
  g_autofree char *name = NULL;
  if (g_str_has_prefix(target, "scene:"))
    return remove_scene(edit, target + 6, error);
  bool state = g_str_has_prefix(target, "state:"), outing = g_str_has_prefix(target, "outing:");
  if (!state && !outing)
    return loom_edit_refuse(error, _("\"%s\" is neither scene:, state: nor outing:."), target);
  return split_target(edit->design, target, state ? "state:" : "outing:", &index, &name, error) &&
         remove_from_scene(edit, index, name, state, error);
}
