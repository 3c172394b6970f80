#include "rules.h"

#include <glib/gi18n-lib.h>
#include <string.h>

/* "set TARGET KEY=VALUE" */
static bool
mend_set(LoomEdit *edit, const char *target, const char *assignment, GError **error)
{
  const char *equals = strchr(assignment, '=');
  g_return_val_if_fail(equals, false);
  g_autofree char *key = g_strndup(assignment, (gsize)(equals - assignment));
  return loom_edit_set(edit, target, key, equals + 1, error);
}

/* What is needed to plug a joint again. */
typedef struct {
  char *other; /* "F1:out" */
  LoomFit fit;
  char **scenes;
  bool tied, first; /* first: the other end is the joint's first */
} Kept;

static void
kept_free(gpointer data)
{
  Kept *kept = data;
  g_free(kept->other);
  g_strfreev(kept->scenes);
  g_free(kept);
}

static GPtrArray *
joints_of(const LoomDesign *design, guint part, guint end)
{
  GPtrArray *kept = g_ptr_array_new_with_free_func(kept_free);
  guint n = loom_design_joints_at(design, part, end, NULL, 0);
  g_autofree guint *joints = g_new(guint, n + 1);
  loom_design_joints_at(design, part, end, joints, n);
  const char *name = loom_design_part(design, part)->designation;
  for (guint i = 0; i < n; i++) {
    const LoomJoint *j = loom_design_joint(design, joints[i]);
    Kept *k = g_new0(Kept, 1);
    k->first = !g_str_equal(j->a.part, name);
    const LoomEndName *other = k->first ? &j->a : &j->b;
    k->other = g_strdup_printf("%s:%s", other->part, other->end);
    k->fit = j->fit;
    k->tied = j->tied;
    k->scenes = g_strdupv(j->scenes);
    g_ptr_array_add(kept, k);
  }
  return kept;
}

static bool
plug_again(LoomEdit *edit, const char *end, const GPtrArray *kept, GError **error)
{
  for (guint i = 0; i < kept->len; i++) {
    const Kept *k = kept->pdata[i];
    if (!loom_edit_plug(edit, k->first ? k->other : end, k->first ? end : k->other, LOOM_FIT_NORMAL,
                        (const char *const *)k->scenes, error))
      return false;
    if (k->tied && !loom_edit_set(edit, k->other, "tied", "yes", error))
      return false;
  }
  return true;
}

/* "turn W4": what is plugged at its first end goes to its second, and the other way round. */
static bool
mend_turn(LoomEdit *edit, const char *designation, GError **error)
{
  const LoomDesign *design = loom_edit_design(edit);
  guint part = loom_design_find_part(design, designation);
  const LoomKind *kind = part == LOOM_NONE ? NULL : loom_design_part(design, part)->kind;
  if (!kind || kind->n_ends != 2) {
    g_set_error(error, LOOM_ERROR, LOOM_ERROR_EDIT, _("%s is no lead with two ends."), designation);
    return false;
  }
  g_autoptr(GPtrArray) at_first = joints_of(design, part, 0);
  g_autoptr(GPtrArray) at_second = joints_of(design, part, 1);
  g_autofree char *first = g_strdup_printf("%s:%s", designation, kind->ends[0].id);
  g_autofree char *second = g_strdup_printf("%s:%s", designation, kind->ends[1].id);
  return (!at_first->len || loom_edit_unplug(edit, first, NULL, error)) &&
         (!at_second->len || loom_edit_unplug(edit, second, NULL, error)) &&
         plug_again(edit, second, at_first, error) && plug_again(edit, first, at_second, error);
}

static bool
mend_line(LoomEdit *edit, const char *line, GError **error)
{
  g_auto(GStrv) words = g_strsplit(line, " ", 3);
  guint n = g_strv_length(words);
  if (n == 3 && g_str_equal(words[0], "set"))
    return mend_set(edit, words[1], words[2], error);
  if (n == 2 && g_str_equal(words[0], "turn"))
    return mend_turn(edit, words[1], error);
  if (n == 2 && g_str_equal(words[0], "unplug"))
    return loom_edit_unplug(edit, words[1], NULL, error);
  g_set_error(error, LOOM_ERROR, LOOM_ERROR_EDIT, _("The program cannot do \"%s\" by itself."),
              line);
  return false;
}

bool
loom_finding_mend(const LoomFinding *finding, LoomEdit *edit, GError **error)
{
  if (!finding->mend) {
    g_set_error(error, LOOM_ERROR, LOOM_ERROR_EDIT,
                _("%s: the program cannot mend this by itself."), finding->where);
    return false;
  }
  g_auto(GStrv) lines = g_strsplit(finding->mend, "\n", -1);
  for (char **line = lines; *line; line++)
    if (!mend_line(edit, *line, error))
      return false;
  return true;
}
