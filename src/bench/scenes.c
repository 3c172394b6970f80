#include "scenes.h"

#define MOST_JOINTS 32

guint
loom_scenes_joints_at(const LoomDesign *design, guint scene, guint part, guint end, guint *first)
{
  const char *name = loom_design_scene(design, scene)->name;
  guint joints[MOST_JOINTS];
  guint n = MIN(loom_design_joints_at(design, part, end, joints, MOST_JOINTS), MOST_JOINTS);
  guint found = 0;
  for (guint i = 0; i < n; i++) {
    if (!loom_joint_in_scene(loom_design_joint(design, joints[i]), name))
      continue;
    if (!found++ && first)
      *first = joints[i];
  }
  return found;
}

guint
loom_scenes_places_left(const LoomDesign *design, guint scene, guint part, guint end)
{
  guint places = loom_design_part(design, part)->kind->ends[end].family->places;
  guint taken = loom_scenes_joints_at(design, scene, part, end, NULL);
  return places > taken ? places - taken : 0;
}

const char *const *
loom_scenes_for(const LoomDesign *design, guint scene, const char *room[2])
{
  if (scene == 0)
    return NULL;
  room[0] = loom_design_scene(design, scene)->name;
  room[1] = NULL;
  return room;
}

bool
loom_scenes_plug(LoomEdit *edit, guint scene, const char *a, const char *b, GError **error)
{
  const char *room[2];
  const char *const *scenes = loom_scenes_for(loom_edit_design(edit), scene, room);
  return loom_edit_plug(edit, a, b, LOOM_FIT_NORMAL, scenes, error);
}

static bool
joins(const LoomJoint *joint, const char *a, const char *b)
{
  g_autofree char *x = g_strdup_printf("%s:%s", joint->a.part, joint->a.end);
  g_autofree char *y = g_strdup_printf("%s:%s", joint->b.part, joint->b.end);
  return (g_str_equal(x, a) && g_str_equal(y, b)) || (g_str_equal(x, b) && g_str_equal(y, a));
}

/* The joint in that scene alone: it loses the scene's name, and goes with its last one. */
static bool
unplug_in_scene(LoomEdit *edit, guint joint, guint scene, const char *end, GError **error)
{
  const LoomDesign *design = loom_edit_design(edit);
  if (scene == 0 || loom_design_n_scenes(design) == 1)
    return loom_edit_unplug_joint(edit, joint, error);
  return loom_edit_unplug(edit, end, loom_design_scene(design, scene)->name, error);
}

bool
loom_scenes_unplug(LoomEdit *edit, guint scene, const char *a, const char *b, GError **error)
{
  const LoomDesign *design = loom_edit_design(edit);
  const char *name = loom_design_scene(design, scene)->name;
  guint part, end, joints[MOST_JOINTS];
  if (!loom_design_find_end(design, a, &part, &end, error))
    return false;
  guint n = MIN(loom_design_joints_at(design, part, end, joints, MOST_JOINTS), MOST_JOINTS);
  for (guint i = 0; i < n; i++) {
    const LoomJoint *joint = loom_design_joint(design, joints[i]);
    if (joins(joint, a, b) && loom_joint_in_scene(joint, name))
      return unplug_in_scene(edit, joints[i], scene, a, error);
  }
  return true;
}
