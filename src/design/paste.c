#include "design-private.h"
#include "file.h"

#include <string.h>

/* old designation -> new one, for each part of the fragment. */
static GHashTable *
paste_parts(LoomEdit *edit, const LoomDesign *fragment, double dx_mm, double dy_mm,
            GPtrArray *given)
{
  GHashTable *names = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, g_free);
  for (guint i = 0; i < loom_design_n_parts(fragment); i++) {
    const LoomPart *from = loom_design_part(fragment, i);
    const LoomKind *own = loom_design_kind(edit->design, from->kind->id);
    LoomPart *part = loom_part_copy(from);
    if (loom_design_find_part(edit->design, part->designation) != LOOM_NONE) {
      g_free(part->designation);
      part->designation = loom_design_free_designation(edit->design, from->kind->letter);
    }
    if (own) {
      loom_kind_unref(part->kind);
      part->kind = loom_kind_ref(own);
    }
    part->x_mm += dx_mm;
    part->y_mm += dy_mm;
    g_hash_table_insert(names, g_strdup(from->designation), g_strdup(part->designation));
    if (given)
      g_ptr_array_add(given, g_strdup(part->designation));
    loom_edit_insert(edit, LOOM_TABLE_PARTS, edit->design->parts->len, part);
  }
  return names;
}

/* A joint comes along for the scenes that this design has too; for all if it names none of them. */
static char **
known_scenes(const LoomDesign *design, char **scenes)
{
  GPtrArray *known = g_ptr_array_new();
  for (char **s = scenes; s && *s; s++)
    if (loom_design_find_scene(design, *s) != LOOM_NONE)
      g_ptr_array_add(known, g_strdup(*s));
  if (known->len)
    g_ptr_array_add(known, NULL);
  return (char **)g_ptr_array_free(known, FALSE);
}

static bool
end_known(const LoomDesign *design, const LoomEndName *name)
{
  const LoomPart *part = loom_design_part(design, loom_design_find_part(design, name->part));
  return loom_kind_find_end(part->kind, name->end) != LOOM_NONE;
}

bool
loom_edit_paste(LoomEdit *edit, const char *text, double dx_mm, double dy_mm, GPtrArray *given,
                GError **error)
{
  g_autoptr(LoomDesign) fragment = loom_design_parse(text, strlen(text), "clipboard", error);
  if (!fragment)
    return false;
  g_autoptr(GHashTable) names = paste_parts(edit, fragment, dx_mm, dy_mm, given);
  for (guint i = 0; i < loom_design_n_joints(fragment); i++) {
    const LoomJoint *from = loom_design_joint(fragment, i);
    g_autoptr(LoomJoint) joint =
        loom_joint_new(g_hash_table_lookup(names, from->a.part), from->a.end,
                       g_hash_table_lookup(names, from->b.part), from->b.end);
    joint->fit = from->fit;
    joint->tied = from->tied;
    joint->note = g_strdup(from->note);
    joint->network = g_strdup(from->network);
    joint->scenes = known_scenes(edit->design, from->scenes);
    if (end_known(edit->design, &joint->a) && end_known(edit->design, &joint->b))
      loom_edit_insert(edit, LOOM_TABLE_JOINTS, edit->design->joints->len, g_steal_pointer(&joint));
  }
  return true;
}
