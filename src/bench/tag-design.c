#include "tag-private.h"

#include <glib/gi18n-lib.h>

char *
loom_tag_design_signature(LoomTag *self)
{
  const LoomDesign *design = loom_document_design(self->document);
  const LoomScene *scene = loom_design_scene(design, loom_document_scene(self->document));
  GString *text = g_string_new(NULL);
  g_string_append_printf(text, "design %s %u", scene->name, loom_design_n_scenes(design));
  for (guint i = 0; i < scene->n_states; i++)
    g_string_append_printf(text, " s:%s", scene->states[i].name);
  for (guint i = 0; i < scene->n_outings; i++)
    g_string_append_printf(text, " o:%s", scene->outings[i].name);
  return g_string_free(text, FALSE);
}

static void
add_title_block(LoomTag *self)
{
  static const struct {
    const char *key, *label, *unit, *hint;
  } fields[] = {{"name", N_("Name of the robot"), NULL, NULL},
                {"revision", N_("Revision"), NULL, "1"},
                {"date", N_("Date"), NULL, "2026-01-31"},
                {"drawn-by", N_("Drawn by"), NULL, NULL},
                {"checked-by", N_("Checked by"), NULL, N_("not yet checked")},
                {"ambient_C", N_("Temperature around the wires"), "°C", NULL}};
  for (guint i = 0; i < G_N_ELEMENTS(fields); i++)
    loom_tag_add(self,
                 loom_field_text_new(self->document, "design", fields[i].key, _(fields[i].label),
                                     fields[i].unit, fields[i].hint ? _(fields[i].hint) : NULL));
  loom_tag_add(self, loom_field_long_new(self->document, "design", "note", _("Note")));
  loom_tag_add(self, loom_field_long_new(self->document, "design", "before",
                                         _("Own steps before plugging, a line each")));
  loom_tag_add(self, loom_field_long_new(self->document, "design", "after",
                                         _("Own steps after the first power-up, a line each")));
}

/* Scenes, states and outings: one edit each. */

static void
change_target(LoomTag *self, const char *target, bool add)
{
  g_autofree char *label =
      g_strdup_printf(_("%s %s"), add ? _("Add") : _("Remove"), strchr(target, ':') + 1);
  g_autoptr(LoomEdit) edit = loom_document_edit(self->document, label);
  bool done =
      add ? loom_edit_add_target(edit, target, NULL) : loom_edit_remove_target(edit, target, NULL);
  if (done)
    loom_document_apply(self->document, g_steal_pointer(&edit));
}

static void
on_remove(GtkButton *button, gpointer data)
{
  g_autofree char *target = g_strdup(g_object_get_data(G_OBJECT(button), "target"));
  change_target(data, target, false);
}

static GtkWidget *
remove_button_new(LoomTag *self, const char *target, const char *tooltip)
{
  GtkWidget *button = gtk_button_new_from_icon_name("user-trash-symbolic");
  gtk_widget_add_css_class(button, "flat");
  gtk_widget_set_valign(button, GTK_ALIGN_END);
  gtk_widget_set_tooltip_text(button, tooltip);
  g_object_set_data_full(G_OBJECT(button), "target", g_strdup(target), g_free);
  g_signal_connect(button, "clicked", G_CALLBACK(on_remove), self);
  return button;
}

static void
add_removable(LoomTag *self, GtkWidget *field, const char *target, const char *tooltip)
{
  GtkWidget *line = gtk_box_new(GTK_ORIENTATION_HORIZONTAL, 4);
  gtk_widget_set_hexpand(field, TRUE);
  gtk_box_append(GTK_BOX(line), field);
  gtk_box_append(GTK_BOX(line), remove_button_new(self, target, tooltip));
  loom_tag_add(self, line);
}

static bool
name_taken(const LoomScene *scene, bool state, const char *name)
{
  if (state)
    return loom_scene_find_state(scene, name) != LOOM_NONE;
  for (guint i = 0; i < scene->n_outings; i++)
    if (g_str_equal(scene->outings[i].name, name))
      return true;
  return false;
}

/* The first name that is not taken; the last of the proposals gets a number. */
static char *
free_name(const LoomScene *scene, bool state)
{
  static const char *const states[] = {"resting", "driving", "pushing", "stalled", NULL};
  static const char *const outings[] = {"practice", "match", NULL};
  const char *const *names = state ? states : outings;
  for (guint i = 0; names[i]; i++)
    if (!name_taken(scene, state, names[i]))
      return g_strdup(names[i]);
  for (guint i = 2;; i++) {
    char *name = g_strdup_printf("%s %u", state ? "state" : "outing", i);
    if (!name_taken(scene, state, name))
      return name;
    g_free(name);
  }
}

static void
add_one(LoomTag *self, bool state)
{
  const LoomScene *scene =
      loom_design_scene(loom_document_design(self->document), loom_document_scene(self->document));
  g_autofree char *name = free_name(scene, state);
  g_autofree char *target =
      g_strdup_printf("%s:%s/%s", state ? "state" : "outing", scene->name, name);
  change_target(self, target, true);
}

static void
on_add_state(LoomTag *self)
{
  add_one(self, true);
}

static void
on_add_outing(LoomTag *self)
{
  add_one(self, false);
}

static void
add_button(LoomTag *self, const char *label, void (*act)(LoomTag *))
{
  GtkWidget *button = gtk_button_new_with_label(label);
  gtk_widget_set_halign(button, GTK_ALIGN_START);
  g_signal_connect_swapped(button, "clicked", G_CALLBACK(act), self);
  loom_tag_add(self, button);
}

static void
add_states(LoomTag *self, const LoomScene *scene)
{
  loom_tag_add_heading(self, _("States"));
  loom_tag_add_text(self,
                    _("How the robot is used in this scene. What a part does in a state stands "
                      "on the part's tag."),
                    "dim-label");
  for (guint i = 0; i < scene->n_states; i++) {
    g_autofree char *target = g_strdup_printf("state:%s/%s", scene->name, scene->states[i].name);
    add_removable(self, loom_field_text_new(self->document, target, "name", _("State"), NULL, NULL),
                  target, _("Remove this state"));
  }
  add_button(self, _("Add a State"), on_add_state);
}

static void
add_outings(LoomTag *self, const LoomScene *scene)
{
  loom_tag_add_heading(self, _("Outings"));
  loom_tag_add_text(self, _("States one after the other on one pack, each with its seconds."),
                    "dim-label");
  for (guint i = 0; i < scene->n_outings; i++) {
    g_autofree char *target = g_strdup_printf("outing:%s/%s", scene->name, scene->outings[i].name);
    add_removable(self,
                  loom_field_text_new(self->document, target, "name", _("Outing"), NULL, NULL),
                  target, _("Remove this outing"));
    loom_tag_add(self, loom_field_text_new(self->document, target, "legs", _("States and seconds"),
                                           NULL, _("driving 60, pushing 5")));
  }
  add_button(self, _("Add an Outing"), on_add_outing);
}

void
loom_tag_build_design(LoomTag *self)
{
  const LoomDesign *design = loom_document_design(self->document);
  const LoomScene *scene = loom_design_scene(design, loom_document_scene(self->document));
  g_autofree char *target = g_strdup_printf("scene:%s", scene->name);
  g_autofree char *heading = g_strdup_printf(_("Scene “%s”"), scene->name);
  loom_tag_add_title(self, _("This sheet"));
  add_title_block(self);
  loom_tag_add_heading(self, heading);
  GtkWidget *name = loom_field_text_new(self->document, target, "name", _("Name"), NULL, NULL);
  if (loom_design_n_scenes(design) > 1)
    add_removable(self, name, target, _("Remove this scene and the joints that only it has"));
  else
    loom_tag_add(self, name);
  loom_tag_add(self, loom_field_text_new(self->document, target, "note", _("Note"), NULL, NULL));
  add_states(self, scene);
  add_outings(self, scene);
}
