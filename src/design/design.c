#include "design-private.h"

#include <glib/gi18n-lib.h>
#include <string.h>

static void
free_joint_list(gpointer list)
{
  g_array_free(list, TRUE);
}

/* Tables without content. */
static LoomDesign *
empty(void)
{
  LoomDesign *design = g_new0(LoomDesign, 1);
  design->own = loom_catalogue_new();
  design->part_index = g_hash_table_new(g_str_hash, g_str_equal);
  design->part_joints = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, free_joint_list);
  design->undo = g_ptr_array_new_with_free_func((GDestroyNotify)loom_edit_free);
  design->redo = g_ptr_array_new_with_free_func((GDestroyNotify)loom_edit_free);
  return design;
}

LoomDesign *
loom_design_new(const char *name)
{
  LoomDesign *design = empty();
  design->title = loom_title_new(name);
  design->parts = g_ptr_array_new_with_free_func((GDestroyNotify)loom_part_unref);
  design->joints = g_ptr_array_new_with_free_func((GDestroyNotify)loom_joint_unref);
  design->scenes = g_ptr_array_new_with_free_func((GDestroyNotify)loom_scene_unref);
  LoomScene *scene = loom_scene_new("driving");
  loom_scene_append_state(scene, "resting");
  g_ptr_array_add(design->scenes, scene);
  return design;
}

void
loom_design_free(LoomDesign *design)
{
  if (!design)
    return;
  loom_title_unref(design->title);
  g_ptr_array_unref(design->parts);
  g_ptr_array_unref(design->joints);
  g_ptr_array_unref(design->scenes);
  loom_catalogue_unref(design->own);
  g_hash_table_unref(design->part_index);
  g_hash_table_unref(design->part_joints);
  g_ptr_array_unref(design->undo);
  g_ptr_array_unref(design->redo);
  g_free(design);
}

static gpointer
ref_part(gconstpointer part, gpointer unused G_GNUC_UNUSED)
{
  return loom_part_ref(part);
}

static gpointer
ref_joint(gconstpointer joint, gpointer unused G_GNUC_UNUSED)
{
  return loom_joint_ref(joint);
}

static gpointer
ref_scene(gconstpointer scene, gpointer unused G_GNUC_UNUSED)
{
  return loom_scene_ref(scene);
}

LoomDesign *
loom_design_snapshot(const LoomDesign *design)
{
  LoomDesign *copy = empty();
  copy->title = loom_title_ref(design->title);
  copy->parts = g_ptr_array_copy(design->parts, ref_part, NULL);
  copy->joints = g_ptr_array_copy(design->joints, ref_joint, NULL);
  copy->scenes = g_ptr_array_copy(design->scenes, ref_scene, NULL);
  copy->revision = design->revision;
  guint n;
  const LoomFamily *const *families = loom_catalogue_families(design->own, &n);
  for (guint i = 0; i < n; i++)
    loom_catalogue_add_family(copy->own, families[i]);
  const LoomKind *const *kinds = loom_catalogue_kinds(design->own, &n);
  for (guint i = 0; i < n; i++)
    loom_catalogue_add_kind(copy->own, kinds[i]);
  copy->stale = true;
  loom_design_reindex(copy);
  return copy;
}

void
loom_design_adopt(LoomDesign *design, const LoomKind *kind)
{
  if (loom_catalogue_kind(design->own, kind->id))
    return;
  loom_catalogue_add_kind(design->own, kind);
  for (guint i = 0; i < kind->n_ends; i++)
    if (!loom_catalogue_family(design->own, kind->ends[i].family->id))
      loom_catalogue_add_family(design->own, kind->ends[i].family);
}

/* --- where things are --- */

static void
index_part(LoomDesign *design, guint index)
{
  const LoomPart *part = design->parts->pdata[index];
  g_hash_table_insert(design->part_index, part->designation, GUINT_TO_POINTER(index + 1));
}

static void
index_joint_at(LoomDesign *design, const char *designation, guint index)
{
  GArray *list = g_hash_table_lookup(design->part_joints, designation);
  if (!list) {
    list = g_array_new(FALSE, FALSE, sizeof(guint));
    g_hash_table_insert(design->part_joints, g_strdup(designation), list);
  }
  if (list->len == 0 || g_array_index(list, guint, list->len - 1) != index)
    g_array_append_val(list, index);
}

static void
index_joint(LoomDesign *design, guint index)
{
  const LoomJoint *joint = design->joints->pdata[index];
  index_joint_at(design, joint->a.part, index);
  index_joint_at(design, joint->b.part, index);
}

void
loom_design_reindex(LoomDesign *design)
{
  if (!design->stale)
    return;
  g_hash_table_remove_all(design->part_index);
  g_hash_table_remove_all(design->part_joints);
  memset(design->lowest, 0, sizeof design->lowest);
  for (guint i = 0; i < design->parts->len; i++)
    index_part(design, i);
  for (guint i = 0; i < design->joints->len; i++)
    index_joint(design, i);
  design->stale = false;
}

/* The index is derived from the tables: bringing it up to date changes nothing that is seen. */
static LoomDesign *
indexed(const LoomDesign *design)
{
  loom_design_reindex((LoomDesign *)design);
  return (LoomDesign *)design;
}

static void
put_record(GPtrArray *table, guint index, gpointer before, gpointer after, GDestroyNotify unref)
{
  if (!before) {
    g_ptr_array_insert(table, (int)index, after);
  } else if (!after) {
    g_ptr_array_remove_index(table, index);
  } else {
    unref(table->pdata[index]);
    table->pdata[index] = after;
  }
}

static void
put_part(LoomDesign *design, const LoomChange *change)
{
  const LoomPart *before = change->before, *after = change->after;
  bool append = !before && change->index == design->parts->len;
  put_record(design->parts, change->index, change->before,
             change->after ? loom_part_ref(change->after) : NULL, (GDestroyNotify)loom_part_unref);
  if (after)
    loom_design_adopt(design, after->kind);
  bool same_name = before && after && g_str_equal(before->designation, after->designation);
  if (design->stale || (!append && !same_name))
    design->stale = true;
  else if (same_name) /* the key belongs to the record */
    g_hash_table_replace(design->part_index, after->designation,
                         GUINT_TO_POINTER(change->index + 1));
  else
    index_part(design, change->index);
}

static void
put_joint(LoomDesign *design, const LoomChange *change)
{
  bool append = !change->before && change->index == design->joints->len;
  put_record(design->joints, change->index, change->before,
             change->after ? loom_joint_ref(change->after) : NULL,
             (GDestroyNotify)loom_joint_unref);
  if (design->stale || !append)
    design->stale = true;
  else
    index_joint(design, change->index);
}

void
loom_design_put(LoomDesign *design, const LoomChange *change)
{
  switch (change->table) {
  case LOOM_TABLE_TITLE:
    loom_title_unref(design->title);
    design->title = loom_title_ref(change->after);
    break;
  case LOOM_TABLE_PARTS:
    put_part(design, change);
    break;
  case LOOM_TABLE_JOINTS:
    put_joint(design, change);
    break;
  case LOOM_TABLE_SCENES:
    put_record(design->scenes, change->index, change->before,
               change->after ? loom_scene_ref(change->after) : NULL,
               (GDestroyNotify)loom_scene_unref);
    break;
  }
}

/* --- reading the tables --- */

const LoomTitle *
loom_design_title(const LoomDesign *design)
{
  return design->title;
}

guint
loom_design_n_parts(const LoomDesign *design)
{
  return design->parts->len;
}

const LoomPart *
loom_design_part(const LoomDesign *design, guint index)
{
  return design->parts->pdata[index];
}

guint
loom_design_n_joints(const LoomDesign *design)
{
  return design->joints->len;
}

const LoomJoint *
loom_design_joint(const LoomDesign *design, guint index)
{
  return design->joints->pdata[index];
}

guint
loom_design_n_scenes(const LoomDesign *design)
{
  return design->scenes->len;
}

const LoomScene *
loom_design_scene(const LoomDesign *design, guint index)
{
  return design->scenes->pdata[index];
}

guint64
loom_design_revision(const LoomDesign *design)
{
  return design->revision;
}

const LoomKind *
loom_design_kind(const LoomDesign *design, const char *id)
{
  return loom_catalogue_kind(design->own, id);
}

const LoomFamily *
loom_design_family(const LoomDesign *design, const char *id)
{
  return loom_catalogue_family(design->own, id);
}

guint
loom_design_find_part(const LoomDesign *design, const char *designation)
{
  return GPOINTER_TO_UINT(g_hash_table_lookup(indexed(design)->part_index, designation)) - 1;
}

guint
loom_design_find_scene(const LoomDesign *design, const char *name)
{
  for (guint i = 0; i < design->scenes->len; i++)
    if (g_str_equal(loom_design_scene(design, i)->name, name))
      return i;
  return LOOM_NONE;
}

bool
loom_design_find_end(const LoomDesign *design, const char *text, guint *part, guint *end,
                     GError **error)
{
  const char *colon = strchr(text, ':');
  if (!colon || colon == text || !colon[1]) {
    g_set_error(error, LOOM_ERROR, LOOM_ERROR_REFERENCE,
                _("\"%s\" is not an end; an end is written like G1:out."), text);
    return false;
  }
  g_autofree char *designation = g_strndup(text, (gsize)(colon - text));
  *part = loom_design_find_part(design, designation);
  if (*part == LOOM_NONE) {
    g_set_error(error, LOOM_ERROR, LOOM_ERROR_REFERENCE, _("There is no part %s."), designation);
    return false;
  }
  const LoomKind *kind = loom_design_part(design, *part)->kind;
  *end = loom_kind_find_end(kind, colon + 1);
  if (*end != LOOM_NONE)
    return true;
  GString *ends = g_string_new(NULL);
  for (guint i = 0; i < kind->n_ends && i < 12; i++)
    g_string_append_printf(ends, "%s%s", i ? ", " : "", kind->ends[i].id);
  g_set_error(error, LOOM_ERROR, LOOM_ERROR_REFERENCE, _("%s has no end %s; it has: %s%s."),
              designation, colon + 1, ends->len ? ends->str : "–",
              kind->n_ends > 12 ? ", ..." : "");
  g_string_free(ends, TRUE);
  return false;
}

guint
loom_design_joints_at(const LoomDesign *design, guint part, guint end, guint *joints, guint room)
{
  const LoomPart *record = loom_design_part(design, part);
  const char *id = record->kind->ends[end].id;
  const GArray *list = g_hash_table_lookup(indexed(design)->part_joints, record->designation);
  guint n = 0;
  for (guint i = 0; list && i < list->len; i++) {
    guint index = g_array_index(list, guint, i);
    const LoomJoint *joint = loom_design_joint(design, index);
    bool here =
        (g_str_equal(joint->a.part, record->designation) && g_str_equal(joint->a.end, id)) ||
        (g_str_equal(joint->b.part, record->designation) && g_str_equal(joint->b.end, id));
    if (here && n++ < room)
      joints[n - 1] = index;
  }
  return n;
}

bool *
loom_design_scene_parts(const LoomDesign *design, guint scene)
{
  const char *name = loom_design_scene(design, scene)->name;
  bool *here = g_new0(bool, design->parts->len + 1);
  g_autofree bool *plugged = g_new0(bool, design->parts->len + 1);
  for (guint i = 0; i < design->joints->len; i++) {
    const LoomJoint *joint = loom_design_joint(design, i);
    bool in_scene = loom_joint_in_scene(joint, name);
    const char *ends[] = {joint->a.part, joint->b.part};
    for (guint k = 0; k < 2; k++) {
      guint part = loom_design_find_part(design, ends[k]);
      plugged[part] = true;
      here[part] |= in_scene;
    }
  }
  for (guint p = 0; p < design->parts->len; p++)
    here[p] |= !plugged[p];
  return here;
}

GArray *
loom_design_list_scene_parts(const LoomDesign *design, guint scene)
{
  g_autofree bool *here = loom_design_scene_parts(design, scene);
  GArray *parts = g_array_new(FALSE, FALSE, sizeof(guint));
  for (guint p = 0; p < design->parts->len; p++)
    if (here[p])
      g_array_append_val(parts, p);
  return parts;
}

LoomDesign *
loom_design_cut_out(const LoomDesign *design, const bool *parts)
{
  LoomDesign *cut = empty();
  cut->title = loom_title_ref(design->title);
  cut->parts = g_ptr_array_new_with_free_func((GDestroyNotify)loom_part_unref);
  cut->joints = g_ptr_array_new_with_free_func((GDestroyNotify)loom_joint_unref);
  cut->scenes = g_ptr_array_copy(design->scenes, ref_scene, NULL);
  cut->revision = design->revision;
  for (guint p = 0; p < design->parts->len; p++) {
    const LoomPart *part = design->parts->pdata[p];
    if (!parts[p])
      continue;
    g_ptr_array_add(cut->parts, loom_part_ref(part));
    loom_design_adopt(cut, part->kind);
  }
  for (guint j = 0; j < design->joints->len; j++) {
    const LoomJoint *joint = design->joints->pdata[j];
    if (parts[loom_design_find_part(design, joint->a.part)] &&
        parts[loom_design_find_part(design, joint->b.part)])
      g_ptr_array_add(cut->joints, loom_joint_ref(joint));
  }
  cut->stale = true;
  loom_design_reindex(cut);
  return cut;
}
