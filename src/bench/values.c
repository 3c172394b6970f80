#include "values.h"

#include <math.h>
#include <string.h>

static char *
text_or_empty(const char *text)
{
  return g_strdup(text ? text : "");
}

static char *
number_or_empty(double number)
{
  return isnan(number) ? g_strdup("") : loom_number_to_text(number);
}

static char *
yes_or_no(bool yes)
{
  return g_strdup(yes ? "yes" : "no");
}

/* A named string within a record. */
typedef struct {
  const char *key;
  gsize offset;
} TextKey;

static char *
find_text(const TextKey *keys, gsize n, gconstpointer record, const char *key)
{
  for (gsize i = 0; i < n; i++)
    if (g_str_equal(keys[i].key, key))
      return text_or_empty(G_STRUCT_MEMBER(const char *, record, keys[i].offset));
  return NULL;
}

static char *
design_value(const LoomTitle *title, const char *key)
{
  static const TextKey keys[] = {{"name", offsetof(LoomTitle, name)},
                                 {"revision", offsetof(LoomTitle, revision)},
                                 {"date", offsetof(LoomTitle, date)},
                                 {"drawn-by", offsetof(LoomTitle, drawn_by)},
                                 {"checked-by", offsetof(LoomTitle, checked_by)},
                                 {"note", offsetof(LoomTitle, note)},
                                 {"before", offsetof(LoomTitle, before)},
                                 {"after", offsetof(LoomTitle, after)}};
  if (g_str_equal(key, "ambient_C"))
    return number_or_empty(title->ambient_C);
  char *text = find_text(keys, G_N_ELEMENTS(keys), title, key);
  return text ? text : g_strdup("");
}

static char *
part_number(const LoomPart *part, const char *key)
{
  static const TextKey keys[] = {{"x_mm", offsetof(LoomPart, x_mm)},
                                 {"y_mm", offsetof(LoomPart, y_mm)},
                                 {"length_mm", offsetof(LoomPart, length_mm)},
                                 {"reach_mm", offsetof(LoomPart, reach_mm)},
                                 {"rated_A", offsetof(LoomPart, rated_A)}};
  for (gsize i = 0; i < G_N_ELEMENTS(keys); i++)
    if (g_str_equal(keys[i].key, key))
      return number_or_empty(G_STRUCT_MEMBER(double, part, keys[i].offset));
  return g_strdup("");
}

static char *
part_value(const LoomPart *part, const char *key)
{
  static const TextKey keys[] = {{"designation", offsetof(LoomPart, designation)},
                                 {"label", offsetof(LoomPart, label)},
                                 {"name", offsetof(LoomPart, name)},
                                 {"note", offsetof(LoomPart, note)},
                                 {"place", offsetof(LoomPart, place)},
                                 {"settings", offsetof(LoomPart, settings)}};
  char *text = find_text(keys, G_N_ELEMENTS(keys), part, key);
  if (text)
    return text;
  if (g_str_equal(key, "turn"))
    return g_strdup_printf("%d", part->turn * 90);
  if (g_str_equal(key, "flip"))
    return yes_or_no(part->flip);
  if (g_str_equal(key, "on"))
    return yes_or_no(part->on);
  if (g_str_equal(key, "kind"))
    return g_strdup(part->kind->id);
  if (g_str_equal(key, "address"))
    return part->address < 0 ? g_strdup("") : g_strdup_printf("0x%02X", (guint)part->address);
  return part_number(part, key);
}

static char *
joint_value(const LoomJoint *joint, const char *key)
{
  if (g_str_equal(key, "tied"))
    return yes_or_no(joint->tied);
  if (g_str_equal(key, "fit"))
    return g_strdup(loom_fit_word(joint->fit));
  if (g_str_equal(key, "note"))
    return text_or_empty(joint->note);
  if (g_str_equal(key, "network"))
    return text_or_empty(joint->network);
  if (g_str_equal(key, "scenes") && joint->scenes)
    return g_strjoinv(", ", joint->scenes);
  return g_strdup("");
}

static char *
legs_text(const LoomOuting *outing)
{
  g_autoptr(GString) text = g_string_new(NULL);
  for (guint i = 0; i < outing->n_legs; i++) {
    g_autofree char *seconds = loom_number_to_text(outing->legs[i].seconds);
    g_string_append_printf(text, "%s%s %s", i ? ", " : "", outing->legs[i].state, seconds);
  }
  return g_strdup(text->str);
}

static const LoomScene *
scene_called(const LoomDesign *design, const char *name, gsize length)
{
  g_autofree char *copy = g_strndup(name, length);
  guint index = loom_design_find_scene(design, copy);
  return index == LOOM_NONE ? NULL : loom_design_scene(design, index);
}

static char *
state_value(const LoomScene *scene, const char *name, const char *key)
{
  guint index = loom_scene_find_state(scene, name);
  const char *dot = strrchr(key, '.');
  if (!dot || index == LOOM_NONE)
    return g_strdup(name);
  g_autofree char *part = g_strndup(key, (gsize)(dot - key));
  return text_or_empty(loom_state_value(&scene->states[index], part, dot + 1));
}

static char *
outing_value(const LoomScene *scene, const char *name, const char *key)
{
  for (guint i = 0; i < scene->n_outings; i++)
    if (g_str_equal(scene->outings[i].name, name))
      return g_str_equal(key, "legs") ? legs_text(&scene->outings[i]) : g_strdup(name);
  return g_strdup("");
}

/* "state:driving/pushing", "outing:driving/match", "scene:driving". */
static char *
scene_value(const LoomDesign *design, const char *target, const char *key)
{
  const char *name = strchr(target, ':') + 1;
  const char *slash = strchr(name, '/');
  const LoomScene *scene = scene_called(design, name, slash ? (gsize)(slash - name) : strlen(name));
  if (!scene)
    return g_strdup("");
  if (g_str_has_prefix(target, "scene:"))
    return text_or_empty(g_str_equal(key, "note") ? scene->note : scene->name);
  if (!slash)
    return g_strdup("");
  return g_str_has_prefix(target, "state:") ? state_value(scene, slash + 1, key)
                                            : outing_value(scene, slash + 1, key);
}

char *
loom_value_text(const LoomDesign *design, const char *target, const char *key)
{
  guint part, end, joint;
  if (g_str_equal(target, "design"))
    return design_value(loom_design_title(design), key);
  if (g_str_has_prefix(target, "scene:") || g_str_has_prefix(target, "state:") ||
      g_str_has_prefix(target, "outing:"))
    return scene_value(design, target, key);
  if (!strchr(target, ':')) {
    part = loom_design_find_part(design, target);
    return part == LOOM_NONE ? g_strdup("") : part_value(loom_design_part(design, part), key);
  }
  if (!loom_design_find_end(design, target, &part, &end, NULL) ||
      !loom_design_joints_at(design, part, end, &joint, 1))
    return g_strdup("");
  return joint_value(loom_design_joint(design, joint), key);
}
