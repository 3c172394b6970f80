#include "describe.h"

#include <glib/gi18n-lib.h>

#define MOST_JOINTS 32

char *
loom_describe_part(const LoomDesign *design, guint index)
{
  const LoomPart *part = loom_design_part(design, index);
  if (part->label)
    return g_strdup_printf("%s, %s, %s", part->designation, part->label, part->kind->name);
  return g_strdup_printf("%s, %s", part->designation, part->kind->name);
}

char *
loom_describe_other_end(const LoomJoint *joint, const char *part, const char *end)
{
  bool is_a = g_str_equal(joint->a.part, part) && g_str_equal(joint->a.end, end);
  const LoomEndName *other = is_a ? &joint->b : &joint->a;
  return g_strdup_printf("%s:%s", other->part, other->end);
}

char *
loom_describe_end_state(const LoomDesign *design, guint scene, guint part, guint end)
{
  const char *name = loom_design_scene(design, scene)->name;
  const LoomPart *p = loom_design_part(design, part);
  guint joints[MOST_JOINTS];
  guint n = MIN(loom_design_joints_at(design, part, end, joints, MOST_JOINTS), MOST_JOINTS);
  g_autoptr(GString) text = g_string_new(NULL);
  for (guint i = 0; i < n; i++) {
    const LoomJoint *joint = loom_design_joint(design, joints[i]);
    if (!loom_joint_in_scene(joint, name))
      continue;
    g_autofree char *other = loom_describe_other_end(joint, p->designation, p->kind->ends[end].id);
    g_string_append_printf(text, "%s%s", text->len ? _(" and ") : _("plugged into "), other);
  }
  return text->len ? g_strdup(text->str) : g_strdup(_("free"));
}

char *
loom_describe_joints(const LoomDesign *design, guint scene, guint part)
{
  const LoomKind *kind = loom_design_part(design, part)->kind;
  g_autoptr(GString) text = g_string_new(NULL);
  for (guint i = 0; i < kind->n_ends; i++) {
    g_autofree char *state = loom_describe_end_state(design, scene, part, i);
    const char *label = kind->ends[i].label ? kind->ends[i].label : kind->ends[i].id;
    g_string_append_printf(text, _("%s%s is %s"), i ? "; " : "", label, state);
  }
  g_string_append(text, ".");
  return g_strdup(text->str);
}

char *
loom_describe_end(const LoomDesign *design, guint part, guint end)
{
  const LoomPart *p = loom_design_part(design, part);
  const LoomEnd *e = &p->kind->ends[end];
  return g_strdup_printf("%s:%s, %s", p->designation, e->id, _(loom_gender_label(e->gender)));
}
