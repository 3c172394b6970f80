#include "design-private.h"
#include "file.h"

#include <glib/gi18n-lib.h>
#include <math.h>
#include <string.h>

/* Reading in one pass over the tree:
 *   1. the embedded catalogue, 2. title and scenes, 3. parts, 4. joints,
 *   5. what states say of parts, and that no end is taken twice in a scene.
 * Each step may rely on those before it. */

static void
read_title(LoomXml *xml, LoomXmlNode *node, LoomDesign *design)
{
  static const char *const known[] = {"name",      "revision", "date",   "drawn-by", "checked-by",
                                      "ambient_C", "note",     "before", "after",    NULL};
  loom_xml_only(xml, node, known);
  g_autofree char *name = loom_xml_required(xml, node, "name");
  LoomTitle *title = loom_title_new(name);
  title->revision = loom_xml_text(xml, node, "revision");
  title->date = loom_xml_text(xml, node, "date");
  title->drawn_by = loom_xml_text(xml, node, "drawn-by");
  title->checked_by = loom_xml_text(xml, node, "checked-by");
  title->ambient_C = loom_xml_number(xml, node, "ambient_C", -40, 100, 25);
  title->note = loom_xml_text(xml, node, "note");
  title->before = loom_xml_text(xml, node, "before");
  title->after = loom_xml_text(xml, node, "after");
  loom_title_unref(design->title);
  design->title = title;
}

/* --- scenes --- */

static void
check_name(LoomXml *xml, const LoomXmlNode *node, const char *name)
{
  if (strpbrk(name, "/,:\n"))
    loom_xml_fail(xml, node, LOOM_ERROR_CONTENT,
                  _("\"%s\" is no name; one has no slash, comma or colon."), name);
}

static void
read_state(LoomXml *xml, LoomXmlNode *node, LoomScene *scene)
{
  static const char *const known[] = {"name", NULL}, *const known_set[] = {"part", "key", "value",
                                                                           NULL};
  loom_xml_only(xml, node, known);
  g_autofree char *name = loom_xml_required(xml, node, "name");
  check_name(xml, node, name);
  if (loom_scene_find_state(scene, name) != LOOM_NONE)
    loom_xml_fail(xml, node, LOOM_ERROR_CONTENT, _("Scene %s has two states %s."), scene->name,
                  name);
  LoomState *state = loom_scene_append_state(scene, name);
  for (LoomXmlNode *n = loom_xml_child(node, "set"); n; n = loom_xml_next(n, "set")) {
    loom_xml_only(xml, n, known_set);
    g_autofree char *part = loom_xml_required(xml, n, "part");
    g_autofree char *key = loom_xml_required(xml, n, "key");
    g_autofree char *value = loom_xml_required(xml, n, "value");
    g_autofree char *wrong = loom_setting_wrong(key, value);
    if (wrong)
      loom_xml_fail(xml, n, LOOM_ERROR_CONTENT, "%s", wrong);
    if (loom_state_value(state, part, key))
      loom_xml_fail(xml, n, LOOM_ERROR_CONTENT, _("State %s sets %s of %s twice."), name, key,
                    part);
    loom_state_put(state, part, key, value);
  }
}

static void
read_outing(LoomXml *xml, LoomXmlNode *node, LoomScene *scene)
{
  static const char *const known[] = {"name", NULL}, *const known_leg[] = {"state", "seconds",
                                                                           NULL};
  loom_xml_only(xml, node, known);
  g_autofree char *name = loom_xml_required(xml, node, "name");
  check_name(xml, node, name);
  if (loom_scene_find_outing(scene, name) != LOOM_NONE)
    loom_xml_fail(xml, node, LOOM_ERROR_CONTENT, _("Scene %s has two outings %s."), scene->name,
                  name);
  LoomOuting *outing = loom_scene_append_outing(scene, name);
  for (LoomXmlNode *n = loom_xml_child(node, "leg"); n; n = loom_xml_next(n, "leg")) {
    loom_xml_only(xml, n, known_leg);
    LoomLeg leg = {loom_xml_required(xml, n, "state"),
                   loom_xml_number(xml, n, "seconds", 0.001, 1e6, NAN)};
    if (isnan(leg.seconds))
      loom_xml_fail(xml, n, LOOM_ERROR_CONTENT, _("<leg> lacks seconds."));
    if (loom_scene_find_state(scene, leg.state) == LOOM_NONE)
      loom_xml_fail(xml, n, LOOM_ERROR_REFERENCE, _("Scene %s has no state %s."), scene->name,
                    leg.state);
    outing->legs = g_renew(LoomLeg, outing->legs, outing->n_legs + 1);
    outing->legs[outing->n_legs++] = leg;
  }
}

static void
read_scenes(LoomXml *xml, LoomXmlNode *root, LoomDesign *design)
{
  static const char *const known[] = {"name", "note", NULL};
  g_ptr_array_set_size(design->scenes, 0);
  for (LoomXmlNode *n = loom_xml_child(root, "scene"); n; n = loom_xml_next(n, "scene")) {
    loom_xml_only(xml, n, known);
    g_autofree char *name = loom_xml_required(xml, n, "name");
    check_name(xml, n, name);
    if (loom_design_find_scene(design, name) != LOOM_NONE)
      loom_xml_fail(xml, n, LOOM_ERROR_CONTENT, _("There are two scenes %s."), name);
    LoomScene *scene = loom_scene_new(name);
    g_ptr_array_add(design->scenes, scene);
    scene->note = loom_xml_text(xml, n, "note");
    for (LoomXmlNode *s = loom_xml_child(n, "state"); s; s = loom_xml_next(s, "state"))
      read_state(xml, s, scene);
    for (LoomXmlNode *o = loom_xml_child(n, "outing"); o; o = loom_xml_next(o, "outing"))
      read_outing(xml, o, scene);
  }
  if (design->scenes->len == 0)
    loom_xml_fail(xml, root, LOOM_ERROR_CONTENT, _("The design has no scene."));
}

/* --- parts --- */

static void
read_place(LoomXml *xml, LoomXmlNode *node, LoomPart *part)
{
  static const char *const turns[] = {"0", "90", "180", "270", NULL};
  part->x_mm = loom_xml_number(xml, node, "x_mm", -1e5, 1e5, 0);
  part->y_mm = loom_xml_number(xml, node, "y_mm", -1e5, 1e5, 0);
  part->turn = (LoomTurn)loom_xml_word(xml, node, "turn", turns, 0);
  part->flip = loom_xml_yes(xml, node, "flip", false);
}

static void
read_values(LoomXml *xml, LoomXmlNode *node, LoomPart *part)
{
  part->on = loom_xml_yes(xml, node, "on", part->on);
  part->length_mm = loom_xml_number(xml, node, "length_mm", 1, 1e5, NAN);
  part->reach_mm = loom_xml_number(xml, node, "reach_mm", 1, 1e5, NAN);
  part->rated_A = loom_xml_number(xml, node, "rated_A", 0.05, 1000, NAN);
  part->address = loom_xml_integer(xml, node, "address", 0, 127, -1);
  part->label = loom_xml_text(xml, node, "label");
  part->name = loom_xml_text(xml, node, "name");
  part->place = loom_xml_text(xml, node, "place");
  part->settings = loom_xml_text(xml, node, "settings");
  part->note = loom_xml_text(xml, node, "note");
}

/* What the file embeds goes before what the catalogue says today. */
static const LoomKind *
find_kind(const LoomDesign *design, const LoomCatalogue *others, const char *id)
{
  const LoomKind *own = loom_catalogue_kind(design->own, id);
  return own || !others ? own : loom_catalogue_kind(others, id);
}

static void
read_part(LoomXml *xml, LoomXmlNode *node, LoomDesign *design, const LoomCatalogue *others)
{
  static const char *const known[] = {"designation", "kind",  "x_mm",      "y_mm",     "turn",
                                      "flip",        "on",    "length_mm", "reach_mm", "rated_A",
                                      "address",     "label", "name",      "place",    "settings",
                                      "note",        NULL};
  loom_xml_only(xml, node, known);
  g_autofree char *designation = loom_xml_required(xml, node, "designation");
  g_autofree char *id = loom_xml_required(xml, node, "kind");
  if (loom_xml_failed(xml))
    return;
  const LoomKind *kind = find_kind(design, others, id);
  if (!loom_designation_valid(designation))
    loom_xml_fail(xml, node, LOOM_ERROR_CONTENT, _("\"%s\" is no designation like M1."),
                  designation);
  else if (loom_design_find_part(design, designation) != LOOM_NONE)
    loom_xml_fail(xml, node, LOOM_ERROR_CONTENT, _("There are two parts %s."), designation);
  else if (!kind)
    loom_xml_fail(xml, node, LOOM_ERROR_REFERENCE,
                  others ? _("%s is of kind %s, which neither the file nor the catalogue holds.")
                         : _("%s is of kind %s, which the file does not hold."),
                  designation, id);
  if (loom_xml_failed(xml))
    return;
  LoomPart *part = loom_part_new(kind, designation);
  read_place(xml, node, part);
  read_values(xml, node, part);
  LoomChange change = {LOOM_TABLE_PARTS, design->parts->len, NULL, part};
  loom_design_put(design, &change);
  loom_part_unref(part);
}

/* --- joints --- */

/* Which ends are taken how often, by "scene\nG1:out". */
static void
count_end(LoomXml *xml, LoomXmlNode *node, const LoomDesign *design, GHashTable *taken,
          const LoomJoint *joint, const char *text, guint places)
{
  for (guint s = 0; s < design->scenes->len; s++) {
    const char *scene = loom_design_scene(design, s)->name;
    if (!loom_joint_in_scene(joint, scene))
      continue;
    char *key = g_strdup_printf("%s\n%s", scene, text);
    guint n = GPOINTER_TO_UINT(g_hash_table_lookup(taken, key)) + 1;
    g_hash_table_replace(taken, key, GUINT_TO_POINTER(n));
    if (n > places)
      loom_xml_fail(xml, node, LOOM_ERROR_CONTENT, _("%s is already plugged in scene %s."), text,
                    scene);
  }
}

static bool
read_end_name(LoomXml *xml, LoomXmlNode *node, const LoomDesign *design, const char *text,
              LoomEndName *name, guint *places)
{
  guint part, end;
  g_autoptr(GError) cause = NULL;
  if (loom_xml_failed(xml))
    return false;
  if (!loom_design_find_end(design, text, &part, &end, &cause)) {
    loom_xml_fail(xml, node, LOOM_ERROR_REFERENCE, "%s", cause->message);
    return false;
  }
  const LoomPart *record = loom_design_part(design, part);
  *places = record->kind->ends[end].family->places;
  *name = (LoomEndName){g_strdup(record->designation), g_strdup(record->kind->ends[end].id)};
  return true;
}

static char **
read_joint_scenes(LoomXml *xml, LoomXmlNode *node, const LoomDesign *design)
{
  static const char *const known[] = {"scene", NULL};
  GPtrArray *scenes = g_ptr_array_new();
  for (LoomXmlNode *n = loom_xml_child(node, "in"); n; n = loom_xml_next(n, "in")) {
    loom_xml_only(xml, n, known);
    char *scene = loom_xml_required(xml, n, "scene");
    if (loom_design_find_scene(design, scene) == LOOM_NONE)
      loom_xml_fail(xml, n, LOOM_ERROR_REFERENCE, _("There is no scene %s."), scene);
    g_ptr_array_add(scenes, scene);
  }
  if (scenes->len)
    g_ptr_array_add(scenes, NULL);
  return (char **)g_ptr_array_free(scenes, FALSE);
}

static void
read_joint(LoomXml *xml, LoomXmlNode *node, LoomDesign *design, GHashTable *taken)
{
  static const char *const known[] = {"a", "b", "fit", "tied", "network", "note", NULL};
  static const char *const fits[] = {"normal", "turned", "shifted", NULL};
  loom_xml_only(xml, node, known);
  g_autofree char *a = loom_xml_required(xml, node, "a");
  g_autofree char *b = loom_xml_required(xml, node, "b");
  guint places_a = 1, places_b = 1;
  g_autoptr(LoomJoint) joint = loom_joint_new(NULL, NULL, NULL, NULL);
  if (!read_end_name(xml, node, design, a, &joint->a, &places_a) ||
      !read_end_name(xml, node, design, b, &joint->b, &places_b))
    return;
  if (g_str_equal(a, b))
    loom_xml_fail(xml, node, LOOM_ERROR_CONTENT, _("%s is plugged into itself."), a);
  joint->fit = (LoomFit)loom_xml_word(xml, node, "fit", fits, 0);
  joint->tied = loom_xml_yes(xml, node, "tied", false);
  joint->network = loom_xml_text(xml, node, "network");
  joint->note = loom_xml_text(xml, node, "note");
  joint->scenes = read_joint_scenes(xml, node, design);
  count_end(xml, node, design, taken, joint, a, places_a);
  count_end(xml, node, design, taken, joint, b, places_b);
  LoomChange change = {LOOM_TABLE_JOINTS, design->joints->len, NULL, joint};
  loom_design_put(design, &change);
}

/* --- all --- */

/* States name parts, which stand after the scenes. */
static void
check_settings(LoomXml *xml, LoomXmlNode *root, const LoomDesign *design)
{
  for (LoomXmlNode *scene = loom_xml_child(root, "scene"); scene;
       scene = loom_xml_next(scene, "scene"))
    for (LoomXmlNode *state = loom_xml_child(scene, "state"); state;
         state = loom_xml_next(state, "state"))
      for (LoomXmlNode *set = loom_xml_child(state, "set"); set; set = loom_xml_next(set, "set")) {
        g_autofree char *part = loom_xml_required(xml, set, "part");
        if (loom_design_find_part(design, part) == LOOM_NONE)
          loom_xml_fail(xml, set, LOOM_ERROR_REFERENCE, _("There is no part %s."), part);
      }
}

static void
check_elements(LoomXml *xml, LoomXmlNode *root)
{
  static const char *const known_attributes[] = {"version", NULL};
  static const char *const known[] = {"title", "scene", "part", "joint", "catalogue", NULL};
  loom_xml_only(xml, root, known_attributes);
  for (LoomXmlNode *n = loom_xml_child(root, NULL); n; n = loom_xml_next(n, NULL))
    if (!g_strv_contains(known, loom_xml_element(n)))
      loom_xml_fail(xml, n, LOOM_ERROR_CONTENT, _("A design has no <%s>."), loom_xml_element(n));
}

static void
read_catalogue(LoomXml *xml, LoomXmlNode *root, LoomDesign *design)
{
  LoomXmlNode *node = loom_xml_child(root, "catalogue");
  if (!node)
    return;
  if (!loom_xml_in_space(node, LOOM_CATALOGUE_NS))
    loom_xml_fail(xml, node, LOOM_ERROR_CONTENT, _("<catalogue> lacks xmlns=\"%s\"."),
                  LOOM_CATALOGUE_NS);
  loom_catalogue_layer_node(design->own, xml, node);
}

static LoomDesign *
read_design(LoomXml *xml, const LoomCatalogue *others, GError **error)
{
  LoomXmlNode *root = loom_xml_root(xml);
  g_autoptr(LoomDesign) design = loom_design_new("");
  g_autoptr(GHashTable) taken = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
  check_elements(xml, root);
  read_catalogue(xml, root, design);
  LoomXmlNode *title = loom_xml_child(root, "title");
  if (title)
    read_title(xml, title, design);
  else
    loom_xml_fail(xml, root, LOOM_ERROR_CONTENT, _("The design has no title."));
  read_scenes(xml, root, design);
  for (LoomXmlNode *n = loom_xml_child(root, "part"); n && !loom_xml_failed(xml);
       n = loom_xml_next(n, "part"))
    read_part(xml, n, design, others);
  for (LoomXmlNode *n = loom_xml_child(root, "joint"); n && !loom_xml_failed(xml);
       n = loom_xml_next(n, "joint"))
    read_joint(xml, n, design, taken);
  check_settings(xml, root, design);
  return loom_xml_finish(xml, error) ? g_steal_pointer(&design) : NULL;
}

LoomDesign *
loom_design_open_with(const char *path, const LoomCatalogue *others, GError **error)
{
  g_autoptr(LoomXml) xml = loom_xml_read(path, "design", LOOM_DESIGN_NS, error);
  return xml ? read_design(xml, others, error) : NULL;
}

LoomDesign *
loom_design_open(const char *path, GError **error)
{
  return loom_design_open_with(path, NULL, error);
}

LoomDesign *
loom_design_parse(const char *bytes, gsize length, const char *name, GError **error)
{
  g_autoptr(LoomXml) xml = loom_xml_parse(bytes, length, name, "design", LOOM_DESIGN_NS, error);
  return xml ? read_design(xml, NULL, error) : NULL;
}
