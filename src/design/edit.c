#include "design-private.h"

#include <glib/gi18n-lib.h>
#include <math.h>
#include <stdarg.h>
#include <string.h>

/* --- an edit and its changes --- */

LoomEdit *
loom_edit_new(const LoomDesign *design, const char *label)
{
  LoomEdit *edit = g_new0(LoomEdit, 1);
  edit->label = g_strdup(label);
  edit->design = loom_design_snapshot(design);
  edit->base = design->revision;
  edit->changes = g_array_new(FALSE, TRUE, sizeof(LoomChange));
  return edit;
}

static void
unref_record(LoomTable table, gpointer record)
{
  static const GDestroyNotify unrefs[] = {
      (GDestroyNotify)loom_title_unref, (GDestroyNotify)loom_part_unref,
      (GDestroyNotify)loom_joint_unref, (GDestroyNotify)loom_scene_unref};
  if (record)
    unrefs[table](record);
}

static gpointer
ref_record(LoomTable table, gpointer record)
{
  switch (table) {
  case LOOM_TABLE_TITLE:
    return loom_title_ref(record);
  case LOOM_TABLE_PARTS:
    return loom_part_ref(record);
  case LOOM_TABLE_JOINTS:
    return loom_joint_ref(record);
  case LOOM_TABLE_SCENES:
    return loom_scene_ref(record);
  }
  return NULL;
}

void
loom_edit_free(LoomEdit *edit)
{
  if (!edit)
    return;
  for (guint i = 0; i < edit->changes->len; i++) {
    LoomChange *change = &g_array_index(edit->changes, LoomChange, i);
    unref_record(change->table, change->before);
    unref_record(change->table, change->after);
  }
  g_array_free(edit->changes, TRUE);
  loom_design_free(edit->design);
  g_free(edit->label);
  g_free(edit);
}

void
loom_edit_set_label(LoomEdit *edit, const char *label)
{
  g_free(edit->label);
  edit->label = g_strdup(label);
}

const LoomDesign *
loom_edit_design(const LoomEdit *edit)
{
  return edit->design;
}

bool
loom_edit_is_empty(const LoomEdit *edit)
{
  return edit->changes->len == 0;
}

static gpointer
record_at(LoomDesign *design, LoomTable table, guint index)
{
  switch (table) {
  case LOOM_TABLE_TITLE:
    return design->title;
  case LOOM_TABLE_PARTS:
    return design->parts->pdata[index];
  case LOOM_TABLE_JOINTS:
    return design->joints->pdata[index];
  case LOOM_TABLE_SCENES:
    return design->scenes->pdata[index];
  }
  return NULL;
}

/* Takes `after`; `before` is what stands there, or NULL to insert. */
static void
record_change(LoomEdit *edit, LoomTable table, guint index, gpointer before, gpointer after)
{
  LoomChange change = {table, index, before ? ref_record(table, before) : NULL, after};
  loom_design_put(edit->design, &change);
  g_array_append_val(edit->changes, change);
}

void
loom_edit_change(LoomEdit *edit, LoomTable table, guint index, gpointer after)
{
  record_change(edit, table, index, record_at(edit->design, table, index), after);
}

void
loom_edit_insert(LoomEdit *edit, LoomTable table, guint index, gpointer after)
{
  record_change(edit, table, index, NULL, after);
}

void
loom_edit_delete(LoomEdit *edit, LoomTable table, guint index)
{
  record_change(edit, table, index, record_at(edit->design, table, index), NULL);
}

void
loom_edit_replace_part(LoomEdit *edit, guint index, LoomPart *part)
{
  loom_edit_change(edit, LOOM_TABLE_PARTS, index, part);
}

bool
loom_edit_refuse(GError **error, const char *format, ...)
{
  va_list arguments;
  va_start(arguments, format);
  g_autofree char *sentence = g_strdup_vprintf(format, arguments);
  va_end(arguments);
  g_set_error_literal(error, LOOM_ERROR, LOOM_ERROR_EDIT, sentence);
  return false;
}

static guint
part_or_error(const LoomEdit *edit, const char *designation, GError **error)
{
  guint index = loom_design_find_part(edit->design, designation);
  if (index == LOOM_NONE)
    g_set_error(error, LOOM_ERROR, LOOM_ERROR_REFERENCE, _("There is no part %s."), designation);
  return index;
}

/* --- parts --- */

/* To the right of everything, in the first row. */
static void
free_place(const LoomDesign *design, double *x_mm, double *y_mm)
{
  double right = 0, top = design->parts->len ? 1e9 : 20;
  for (guint i = 0; i < design->parts->len; i++) {
    const LoomPart *part = loom_design_part(design, i);
    right = MAX(right, part->x_mm + MAX(part->kind->width_mm, part->kind->height_mm));
    top = MIN(top, part->y_mm);
  }
  *x_mm = isnan(*x_mm) ? ceil((right + 20) / 5) * 5 : *x_mm;
  *y_mm = isnan(*y_mm) ? top : *y_mm;
}

const char *
loom_edit_add(LoomEdit *edit, const LoomKind *kind, const char *designation, double x_mm,
              double y_mm, GError **error)
{
  const LoomKind *own = loom_design_kind(edit->design, kind->id);
  g_autofree char *given = designation ? g_strdup(designation)
                                       : loom_design_free_designation(edit->design, kind->letter);
  if (!loom_designation_valid(given)) {
    loom_edit_refuse(error, _("\"%s\" is no designation; one is a letter and a number, like M1."),
                     given);
    return NULL;
  }
  if (loom_design_find_part(edit->design, given) != LOOM_NONE) {
    loom_edit_refuse(error, _("There already is a part %s."), given);
    return NULL;
  }
  if (isnan(x_mm) || isnan(y_mm))
    free_place(edit->design, &x_mm, &y_mm);
  if (fabs(x_mm) > 1e5 || fabs(y_mm) > 1e5) {
    loom_edit_refuse(error, _("The place %g, %g is off every sheet."), x_mm, y_mm);
    return NULL;
  }
  LoomPart *part = loom_part_new(own ? own : kind, given);
  part->x_mm = x_mm;
  part->y_mm = y_mm;
  loom_edit_insert(edit, LOOM_TABLE_PARTS, edit->design->parts->len, part);
  return part->designation;
}

static void
forget_settings(LoomEdit *edit, const char *designation)
{
  for (guint s = 0; s < edit->design->scenes->len; s++) {
    const LoomScene *scene = loom_design_scene(edit->design, s);
    bool named = false;
    for (guint i = 0; i < scene->n_states; i++)
      for (guint k = 0; k < scene->states[i].n_settings; k++)
        named |= g_str_equal(scene->states[i].settings[k].part, designation);
    if (!named)
      continue;
    LoomScene *copy = loom_scene_copy(scene);
    for (guint i = 0; i < copy->n_states; i++)
      for (guint k = copy->states[i].n_settings; k-- > 0;)
        if (g_str_equal(copy->states[i].settings[k].part, designation)) {
          g_autofree char *key = g_strdup(copy->states[i].settings[k].key);
          loom_state_put(&copy->states[i], designation, key, NULL);
        }
    loom_edit_change(edit, LOOM_TABLE_SCENES, s, copy);
  }
}

/* Indices of the joints of a part, descending, so that they can be deleted one after the other. */
static GArray *
joints_of(LoomDesign *design, const char *designation)
{
  loom_design_reindex(design);
  GArray *joints = g_array_new(FALSE, FALSE, sizeof(guint));
  const GArray *list = g_hash_table_lookup(design->part_joints, designation);
  for (guint i = list ? list->len : 0; i-- > 0;)
    g_array_append_val(joints, g_array_index(list, guint, i));
  return joints;
}

bool
loom_edit_remove(LoomEdit *edit, const char *designation, GError **error)
{
  guint index = part_or_error(edit, designation, error);
  if (index == LOOM_NONE)
    return false;
  g_autofree char *name = g_strdup(designation);
  g_autoptr(GArray) joints = joints_of(edit->design, name);
  for (guint i = 0; i < joints->len; i++)
    loom_edit_delete(edit, LOOM_TABLE_JOINTS, g_array_index(joints, guint, i));
  forget_settings(edit, name);
  loom_edit_delete(edit, LOOM_TABLE_PARTS, index);
  return true;
}

static LoomPart *
part_to_change(const LoomEdit *edit, const char *designation, guint *index, GError **error)
{
  *index = part_or_error(edit, designation, error);
  return *index == LOOM_NONE ? NULL : loom_part_copy(loom_design_part(edit->design, *index));
}

bool
loom_edit_move(LoomEdit *edit, const char *designation, double x_mm, double y_mm, GError **error)
{
  guint index;
  if (!(fabs(x_mm) <= 1e5 && fabs(y_mm) <= 1e5))
    return loom_edit_refuse(error, _("The place %g, %g is off every sheet."), x_mm, y_mm);
  LoomPart *part = part_to_change(edit, designation, &index, error);
  if (!part)
    return false;
  part->x_mm = x_mm;
  part->y_mm = y_mm;
  loom_edit_replace_part(edit, index, part);
  return true;
}

bool
loom_edit_turn(LoomEdit *edit, const char *designation, int quarters, GError **error)
{
  guint index;
  LoomPart *part = part_to_change(edit, designation, &index, error);
  if (!part)
    return false;
  part->turn = (LoomTurn)((((int)part->turn + quarters) % 4 + 4) % 4);
  loom_edit_replace_part(edit, index, part);
  return true;
}

bool
loom_edit_flip(LoomEdit *edit, const char *designation, GError **error)
{
  guint index;
  LoomPart *part = part_to_change(edit, designation, &index, error);
  if (!part)
    return false;
  part->flip = !part->flip;
  loom_edit_replace_part(edit, index, part);
  return true;
}

bool
loom_edit_set_kind(LoomEdit *edit, const char *designation, const LoomKind *kind, GError **error)
{
  guint index;
  LoomPart *part = part_to_change(edit, designation, &index, error);
  if (!part)
    return false;
  const LoomKind *own = loom_design_kind(edit->design, kind->id);
  const LoomKind *now = own ? own : kind;
  g_autoptr(GArray) joints = joints_of(edit->design, part->designation);
  for (guint i = 0; i < joints->len; i++) {
    guint j = g_array_index(joints, guint, i);
    const LoomJoint *joint = loom_design_joint(edit->design, j);
    bool lost_a = g_str_equal(joint->a.part, part->designation) &&
                  loom_kind_find_end(now, joint->a.end) == LOOM_NONE;
    bool lost_b = g_str_equal(joint->b.part, part->designation) &&
                  loom_kind_find_end(now, joint->b.end) == LOOM_NONE;
    if (lost_a || lost_b)
      loom_edit_delete(edit, LOOM_TABLE_JOINTS, j);
  }
  loom_kind_unref(part->kind);
  part->kind = loom_kind_ref(now);
  loom_edit_replace_part(edit, index, part);
  return true;
}

char *
loom_edit_renamed(char *old, const char *from, const char *to)
{
  if (!g_str_equal(old, from))
    return old;
  g_free(old);
  return g_strdup(to);
}

static void
rename_in_scenes(LoomEdit *edit, const char *from, const char *to)
{
  for (guint s = 0; s < edit->design->scenes->len; s++) {
    LoomScene *copy = loom_scene_copy(loom_design_scene(edit->design, s));
    bool named = false;
    for (guint i = 0; i < copy->n_states; i++) {
      for (guint k = 0; k < copy->states[i].n_settings; k++) {
        LoomSetting *setting = &copy->states[i].settings[k];
        named |= g_str_equal(setting->part, from);
        setting->part = loom_edit_renamed(setting->part, from, to);
      }
      loom_state_reindex(&copy->states[i]);
    }
    if (named)
      loom_edit_change(edit, LOOM_TABLE_SCENES, s, copy);
    else
      loom_scene_unref(copy);
  }
}

bool
loom_edit_rename_part(LoomEdit *edit, guint index, const char *designation, GError **error)
{
  const LoomPart *part = loom_design_part(edit->design, index);
  if (g_str_equal(part->designation, designation))
    return true;
  if (!loom_designation_valid(designation))
    return loom_edit_refuse(
        error, _("\"%s\" is no designation; one is a letter and a number, like M1."), designation);
  if (loom_design_find_part(edit->design, designation) != LOOM_NONE)
    return loom_edit_refuse(error, _("There already is a part %s."), designation);
  g_autofree char *from = g_strdup(part->designation);
  g_autoptr(GArray) joints = joints_of(edit->design, from);
  LoomPart *copy = loom_part_copy(part);
  copy->designation = loom_edit_renamed(copy->designation, from, designation);
  loom_edit_replace_part(edit, index, copy);
  for (guint i = 0; i < joints->len; i++) {
    guint j = g_array_index(joints, guint, i);
    LoomJoint *joint = loom_joint_copy(loom_design_joint(edit->design, j));
    joint->a.part = loom_edit_renamed(joint->a.part, from, designation);
    joint->b.part = loom_edit_renamed(joint->b.part, from, designation);
    loom_edit_change(edit, LOOM_TABLE_JOINTS, j, joint);
  }
  rename_in_scenes(edit, from, designation);
  return true;
}
