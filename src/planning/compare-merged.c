#include "compare-private.h"

#include "design/edit.h"

#include <glib/gi18n-lib.h>

/* The merged design while it is made. */
typedef struct {
  const LoomDesign *old;
  LoomEdit *edit;
  char **designation; /* [old parts] in the merged design, owned */
  char **scene;       /* [old scenes] in the merged design, owned */
  bool *blocked;      /* [old joints] will be a line */
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
    copy->label = g_strdup_printf(_("%s, gone"), part->designation);
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

/* Names of the joint's scenes in the merged design; NULL: every scene. New. */
static char **
scenes_of(const Merge *merge, const LoomJoint *joint)
{
  if (!joint->scenes)
    return NULL;
  GPtrArray *names = g_ptr_array_new();
  for (char **s = joint->scenes; *s; s++) {
    guint scene = loom_design_find_scene(merge->old, *s);
    if (scene != LOOM_NONE)
      g_ptr_array_add(names, g_strdup(merge->scene[scene]));
  }
  g_ptr_array_add(names, NULL);
  return (char **)g_ptr_array_free(names, FALSE);
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

static char *
end_now(const Merge *merge, const LoomEndName *end)
{
  guint old = loom_design_find_part(merge->old, end->part);
  return g_strdup_printf("%s:%s", merge->designation[old], end->end);
}

static bool
plug(Merge *merge, const LoomJoint *joint)
{
  g_autofree char *a = end_now(merge, &joint->a), *b = end_now(merge, &joint->b);
  g_auto(GStrv) scenes = scenes_of(merge, joint);
  return loom_edit_plug(merge->edit, a, b, joint->fit, (const char *const *)scenes, NULL);
}

static void
add_line(Merge *merge, const LoomJoint *joint)
{
  LoomMergedLine line;
  if (!find_end(merge, &joint->a, &line.part_a, &line.end_a) ||
      !find_end(merge, &joint->b, &line.part_b, &line.end_b))
    return; /* the part is of another kind now, without such an end */
  line.scenes = scenes_of(merge, joint);
  g_array_append_val(merge->lines, line);
}

/* Of a part that is gone all joints are lines if one is; so are those of the next one that is gone.
 */
static void
block_joints_of(Merge *merge, const LoomCompare *c, GQueue *parts, guint part)
{
  const LoomKind *kind = loom_design_part(merge->old, part)->kind;
  guint joints[64];
  for (guint e = 0; e < kind->n_ends; e++) {
    guint n = MIN(loom_design_joints_at(merge->old, part, e, joints, 64), 64);
    for (guint i = 0; i < n; i++) {
      const LoomJoint *joint = loom_design_joint(merge->old, joints[i]);
      const LoomEndName *ends[] = {&joint->a, &joint->b};
      if (merge->blocked[joints[i]])
        continue;
      merge->blocked[joints[i]] = true;
      for (guint k = 0; k < 2; k++) {
        guint other = loom_design_find_part(merge->old, ends[k]->part);
        if (c->old_part_to[other] == LOOM_NONE)
          g_queue_push_tail(parts, GUINT_TO_POINTER(other));
      }
    }
  }
}

/* Tries which joints that are gone find free ends. */
static void
find_blocked(Merge *merge, const LoomCompare *c, const LoomDesign *merged)
{
  g_autoptr(GQueue) parts = g_queue_new();
  merge->blocked = g_new0(bool, c->n_old_joints + 1);
  merge->edit = loom_edit_new(merged, "Try");
  for (guint i = 0; i < c->n_old_joints; i++) {
    const LoomJoint *joint = loom_design_joint(merge->old, i);
    const LoomEndName *ends[] = {&joint->a, &joint->b};
    if (c->old_joint_to[i] != LOOM_NONE || plug(merge, joint))
      continue;
    merge->blocked[i] = true;
    for (guint k = 0; k < 2; k++) {
      guint part = loom_design_find_part(merge->old, ends[k]->part);
      if (c->old_part_to[part] == LOOM_NONE)
        g_queue_push_tail(parts, GUINT_TO_POINTER(part));
    }
  }
  loom_edit_free(merge->edit);
  while (parts->length > 0)
    block_joints_of(merge, c, parts, GPOINTER_TO_UINT(g_queue_pop_head(parts)));
}

static void
add_joints(Merge *merge, const LoomCompare *c, LoomDesign *merged)
{
  find_blocked(merge, c, merged);
  merge->edit = loom_edit_new(merged, "Both");
  for (guint i = 0; i < c->n_old_joints; i++) {
    const LoomJoint *joint = loom_design_joint(merge->old, i);
    if (c->old_joint_to[i] != LOOM_NONE)
      continue;
    if (merge->blocked[i] || !plug(merge, joint))
      add_line(merge, joint);
  }
  loom_design_apply(merged, merge->edit);
  g_free(merge->blocked);
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

/* Takes the names. */
static GHashTable *
table_of_names(const LoomDesign *old, char **names)
{
  GHashTable *table = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, g_free);
  for (guint i = 0; i < loom_design_n_parts(old); i++)
    g_hash_table_insert(table, g_strdup(loom_design_part(old, i)->designation), names[i]);
  g_free(names);
  return table;
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

/* The title block names both revisions where they have different ones. */
static void
name_revisions(LoomEdit *edit, const LoomDesign *old, const LoomDesign *now)
{
  const char *before = loom_design_title(old)->revision, *after = loom_design_title(now)->revision;
  if (!before || !after || g_str_equal(before, after))
    return;
  g_autofree char *both = g_strdup_printf("%s → %s", before, after);
  loom_edit_set(edit, "design", "revision", both, NULL);
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
  name_revisions(merge.edit, old, now);
  for (guint i = 0; i < c->n_old_parts; i++)
    if (c->old_part_to[i] == LOOM_NONE)
      add_part(&merge, i);
  loom_design_apply(merged->design, merge.edit);
  add_joints(&merge, c, merged->design);
  merged->old_names = table_of_names(old, merge.designation);
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
  g_hash_table_unref(merged->old_names);
  for (guint i = 0; i < merged->n_lines; i++)
    g_strfreev(merged->lines[i].scenes);
  g_free(merged->parts);
  g_free(merged->joints);
  g_free(merged->lines);
  g_free(merged);
}
