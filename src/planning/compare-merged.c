#include "compare-private.h"

#include "design/edit.h"

/* The merged design while it is made. */
typedef struct {
  const LoomDesign *old;
  LoomEdit *edit;
  char **designation; /* [old parts] in the merged design, owned */
  char **scene;       /* [old scenes] in the merged design, owned */
  GArray *lines;      /* LoomMergedLine */
} Merge;

/* A part that is gone, where it lay. */
static void
add_part(Merge *merge, guint index)
{
  const LoomPart *part = loom_design_part(merge->old, index);
  bool taken = loom_design_find_part(loom_edit_design(merge->edit), part->designation) != LOOM_NONE;
  const char *given = loom_edit_add(merge->edit, part->kind, taken ? NULL : part->designation,
                                    part->x_mm, part->y_mm, NULL);
  LoomPart *copy = loom_part_copy(part);
  g_free(copy->designation);
  copy->designation = g_strdup(given);
  if (taken) {
    g_free(copy->label);
    copy->label = g_strdup_printf("%s, gone", part->designation);
  }
  guint there = loom_design_find_part(loom_edit_design(merge->edit), given);
  const LoomPart *added = loom_design_part(loom_edit_design(merge->edit), there);
  loom_kind_unref(copy->kind); /* as the merged design has it */
  copy->kind = loom_kind_ref(added->kind);
  merge->designation[index] = g_strdup(copy->designation);
  loom_edit_replace_part(merge->edit, there, copy);
}

static void
add_scene(Merge *merge, guint index)
{
  const char *name = loom_design_scene(merge->old, index)->name;
  g_autofree char *target = g_strdup_printf("scene:%s", name);
  loom_edit_add_target(merge->edit, target, NULL);
  merge->scene[index] = g_strdup(name);
}

/* Names of the joint's scenes in the merged design; NULL: every scene. New, borrowed names. */
static GPtrArray *
scenes_of(const Merge *merge, const LoomJoint *joint)
{
  if (!joint->scenes)
    return NULL;
  GPtrArray *names = g_ptr_array_new();
  for (char **s = joint->scenes; *s; s++) {
    guint scene = loom_design_find_scene(merge->old, *s);
    if (scene != LOOM_NONE)
      g_ptr_array_add(names, merge->scene[scene]);
  }
  g_ptr_array_add(names, NULL);
  return names;
}

static bool
find_end(const Merge *merge, const LoomEndName *end, guint *part, guint *index)
{
  guint old = loom_design_find_part(merge->old, end->part);
  *part = loom_design_find_part(loom_edit_design(merge->edit), merge->designation[old]);
  *index =
      loom_kind_find_end(loom_design_part(loom_edit_design(merge->edit), *part)->kind, end->end);
  return *index != LOOM_NONE;
}

/* A joint that is gone: plugged where both ends are free, otherwise a line. */
static void
add_joint(Merge *merge, const LoomJoint *joint)
{
  LoomMergedLine line;
  if (!find_end(merge, &joint->a, &line.part_a, &line.end_a) ||
      !find_end(merge, &joint->b, &line.part_b, &line.end_b))
    return;
  const LoomDesign *design = loom_edit_design(merge->edit);
  g_autofree char *a =
      g_strdup_printf("%s:%s", loom_design_part(design, line.part_a)->designation, joint->a.end);
  g_autofree char *b =
      g_strdup_printf("%s:%s", loom_design_part(design, line.part_b)->designation, joint->b.end);
  g_autoptr(GPtrArray) scenes = scenes_of(merge, joint);
  if (!loom_edit_plug(merge->edit, a, b, joint->fit,
                      scenes ? (const char *const *)scenes->pdata : NULL, NULL))
    g_array_append_val(merge->lines, line);
}

/* [old parts] their names in the new design; NULL for those that are gone. */
static char **
names_now(const LoomCompare *c, const LoomDesign *now)
{
  char **names = g_new0(char *, c->n_old_parts + 1);
  for (guint i = 0; i < c->n_old_parts; i++)
    if (c->old_part_to[i] != LOOM_NONE)
      names[i] = g_strdup(loom_design_part(now, c->old_part_to[i])->designation);
  return names;
}

static void
free_names(char **names, guint n)
{
  for (guint i = 0; i < n; i++)
    g_free(names[i]);
  g_free(names);
}

/* Statuses of the new one's records, then GONE for what was added. */
static LoomStatus *
statuses(const LoomStatus *now, guint n_now, guint n)
{
  LoomStatus *all = g_new(LoomStatus, n + 1);
  for (guint i = 0; i < n; i++)
    all[i] = i < n_now ? now[i] : LOOM_STATUS_GONE;
  return all;
}

static void
add_scenes(Merge *merge, const LoomCompare *c, const LoomDesign *now)
{
  guint n = loom_design_n_scenes(merge->old);
  merge->scene = g_new0(char *, n + 1);
  for (guint i = 0; i < n; i++) {
    guint there = c->old_scene_to[i];
    if (there != LOOM_NONE)
      merge->scene[i] = g_strdup(loom_design_scene(now, there)->name);
    else
      add_scene(merge, i);
  }
}

LoomMerged *
loom_compare_merged(const LoomCompare *c, const LoomDesign *old, const LoomDesign *now)
{
  LoomMerged *merged = g_new0(LoomMerged, 1);
  merged->design = loom_design_snapshot(now);
  Merge merge = {.old = old, .edit = loom_edit_new(merged->design, "Both")};
  merge.lines = g_array_new(FALSE, FALSE, sizeof(LoomMergedLine));
  merge.designation = names_now(c, now);
  add_scenes(&merge, c, now);
  for (guint i = 0; i < c->n_old_parts; i++)
    if (c->old_part_to[i] == LOOM_NONE)
      add_part(&merge, i);
  for (guint i = 0; i < c->n_old_joints; i++)
    if (c->old_joint_to[i] == LOOM_NONE)
      add_joint(&merge, loom_design_joint(old, i));
  loom_design_apply(merged->design, merge.edit);
  free_names(merge.designation, c->n_old_parts);
  free_names(merge.scene, loom_design_n_scenes(old));
  merged->n_parts = loom_design_n_parts(merged->design);
  merged->n_joints = loom_design_n_joints(merged->design);
  merged->n_lines = merge.lines->len;
  merged->parts = statuses(c->new_parts, c->n_new_parts, merged->n_parts);
  merged->joints = statuses(c->new_joints, c->n_new_joints, merged->n_joints);
  merged->lines = (LoomMergedLine *)(gpointer)g_array_free(merge.lines, FALSE);
  return merged;
}

void
loom_merged_free(LoomMerged *merged)
{
  if (!merged)
    return;
  loom_design_free(merged->design);
  g_free(merged->parts);
  g_free(merged->joints);
  g_free(merged->lines);
  g_free(merged);
}
