#include "design-private.h"

#include <glib/gi18n-lib.h>

/* Whether the end has a place left in the scene; `except` is a joint that does not count. */
static bool
has_place(const LoomDesign *design, guint part, guint end, const char *scene, guint except)
{
  guint joints[64];
  guint n = MIN(loom_design_joints_at(design, part, end, joints, G_N_ELEMENTS(joints)),
                G_N_ELEMENTS(joints));
  guint taken = 0;
  for (guint i = 0; i < n; i++)
    taken +=
        joints[i] != except && loom_joint_in_scene(loom_design_joint(design, joints[i]), scene);
  return taken < loom_design_part(design, part)->kind->ends[end].family->places;
}

/* The scenes, of those wanted (NULL: all), in which both ends have a place; NULL-terminated, new.
 */
static char **
scenes_with_places(const LoomDesign *design, guint part_a, guint end_a, guint part_b, guint end_b,
                   const char *const *wanted)
{
  GPtrArray *scenes = g_ptr_array_new();
  for (guint i = 0; i < design->scenes->len; i++) {
    const char *name = loom_design_scene(design, i)->name;
    bool asked = !wanted || g_strv_contains(wanted, name);
    if (asked && has_place(design, part_a, end_a, name, LOOM_NONE) &&
        has_place(design, part_b, end_b, name, LOOM_NONE))
      g_ptr_array_add(scenes, g_strdup(name));
  }
  g_ptr_array_add(scenes, NULL);
  return (char **)g_ptr_array_free(scenes, FALSE);
}

static bool
scenes_exist(const LoomDesign *design, const char *const *scenes, GError **error)
{
  for (guint i = 0; scenes && scenes[i]; i++)
    if (loom_design_find_scene(design, scenes[i]) == LOOM_NONE) {
      g_set_error(error, LOOM_ERROR, LOOM_ERROR_REFERENCE, _("There is no scene %s."), scenes[i]);
      return false;
    }
  return true;
}

/* Which of the two ends is taken, for the sentence. */
static bool
refuse_taken(const LoomDesign *design, const char *a, guint part_a, guint end_a, const char *b,
             const char *const *wanted, GError **error)
{
  bool a_taken = false;
  const char *where = NULL;
  for (guint i = 0; i < design->scenes->len && !where; i++) {
    const char *name = loom_design_scene(design, i)->name;
    if (wanted && !g_strv_contains(wanted, name))
      continue;
    a_taken = !has_place(design, part_a, end_a, name, LOOM_NONE);
    where = name;
  }
  return loom_edit_refuse(error, _("%s is already plugged in scene %s."), a_taken ? a : b,
                          where ? where : "?");
}

bool
loom_edit_plug(LoomEdit *edit, const char *a, const char *b, LoomFit fit, const char *const *scenes,
               GError **error)
{
  LoomDesign *design = edit->design;
  guint part_a, end_a, part_b, end_b;
  if (!loom_design_find_end(design, a, &part_a, &end_a, error) ||
      !loom_design_find_end(design, b, &part_b, &end_b, error) ||
      !scenes_exist(design, scenes, error))
    return false;
  if (part_a == part_b && end_a == end_b)
    return loom_edit_refuse(error, _("%s cannot be plugged into itself."), a);
  g_auto(GStrv) open = scenes_with_places(design, part_a, end_a, part_b, end_b, scenes);
  guint n_wanted = scenes ? g_strv_length((char **)scenes) : 0;
  if (!open[0] || (scenes && g_strv_length(open) < n_wanted))
    return refuse_taken(design, a, part_a, end_a, b, scenes, error);
  const LoomPart *x = loom_design_part(design, part_a), *y = loom_design_part(design, part_b);
  LoomJoint *joint = loom_joint_new(x->designation, x->kind->ends[end_a].id, y->designation,
                                    y->kind->ends[end_b].id);
  joint->fit = fit;
  if (g_strv_length(open) < design->scenes->len)
    joint->scenes = g_steal_pointer(&open);
  loom_edit_insert(edit, LOOM_TABLE_JOINTS, design->joints->len, joint);
  return true;
}

/* The joint's scenes without `scene`; empty where nothing is left. New. */
static char **
scenes_without(const LoomDesign *design, const LoomJoint *joint, const char *scene)
{
  GPtrArray *rest = g_ptr_array_new();
  for (guint i = 0; i < design->scenes->len; i++) {
    const char *name = loom_design_scene(design, i)->name;
    if (!g_str_equal(name, scene) && loom_joint_in_scene(joint, name))
      g_ptr_array_add(rest, g_strdup(name));
  }
  g_ptr_array_add(rest, NULL);
  return (char **)g_ptr_array_free(rest, FALSE);
}

void
loom_edit_leave_scene(LoomEdit *edit, guint index, const char *scene)
{
  const LoomJoint *joint = loom_design_joint(edit->design, index);
  g_auto(GStrv) rest = scenes_without(edit->design, joint, scene);
  if (!rest[0]) {
    loom_edit_delete(edit, LOOM_TABLE_JOINTS, index);
    return;
  }
  LoomJoint *copy = loom_joint_copy(joint);
  g_strfreev(copy->scenes);
  copy->scenes = g_steal_pointer(&rest);
  loom_edit_change(edit, LOOM_TABLE_JOINTS, index, copy);
}

bool
loom_edit_unplug(LoomEdit *edit, const char *end, const char *scene, GError **error)
{
  guint part, e, joints[64];
  if (!loom_design_find_end(edit->design, end, &part, &e, error))
    return false;
  if (scene && loom_design_find_scene(edit->design, scene) == LOOM_NONE) {
    g_set_error(error, LOOM_ERROR, LOOM_ERROR_REFERENCE, _("There is no scene %s."), scene);
    return false;
  }
  guint n = MIN(loom_design_joints_at(edit->design, part, e, joints, 64), 64);
  bool any = false;
  for (guint i = n; i-- > 0;) {
    if (!loom_joint_in_scene(loom_design_joint(edit->design, joints[i]), scene))
      continue;
    any = true;
    if (scene)
      loom_edit_leave_scene(edit, joints[i], scene);
    else
      loom_edit_delete(edit, LOOM_TABLE_JOINTS, joints[i]);
  }
  return any ? true : loom_edit_refuse(error, _("Nothing is plugged at %s."), end);
}

bool
loom_edit_unplug_joint(LoomEdit *edit, guint joint, GError **error)
{
  if (joint >= edit->design->joints->len)
    return loom_edit_refuse(error, _("There is no such joint."));
  loom_edit_delete(edit, LOOM_TABLE_JOINTS, joint);
  return true;
}

bool
loom_edit_set_joint_scenes(LoomEdit *edit, guint joint, char **scenes, GError **error)
{
  const LoomDesign *design = edit->design;
  const LoomJoint *now = loom_design_joint(design, joint);
  g_auto(GStrv) wanted = scenes;
  if (!scenes_exist(design, (const char *const *)wanted, error))
    return false;
  const LoomEndName names[] = {now->a, now->b};
  for (guint s = 0; s < design->scenes->len; s++) {
    const char *scene = loom_design_scene(design, s)->name;
    if (wanted && !g_strv_contains((const char *const *)wanted, scene))
      continue;
    for (guint k = 0; k < 2; k++) {
      guint part = loom_design_find_part(design, names[k].part);
      guint end = loom_kind_find_end(loom_design_part(design, part)->kind, names[k].end);
      if (!has_place(design, part, end, scene, joint))
        return loom_edit_refuse(error, _("%s:%s is already plugged in scene %s."), names[k].part,
                                names[k].end, scene);
    }
  }
  LoomJoint *copy = loom_joint_copy(now);
  g_strfreev(copy->scenes);
  copy->scenes = g_steal_pointer(&wanted);
  loom_edit_change(edit, LOOM_TABLE_JOINTS, joint, copy);
  return true;
}
