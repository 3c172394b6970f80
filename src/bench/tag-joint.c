#include "tag-private.h"

#include <glib/gi18n-lib.h>

static const LoomEnd *
end_of(const LoomDesign *design, const LoomEndName *name)
{
  guint part = loom_design_find_part(design, name->part);
  const LoomKind *kind = loom_design_part(design, part)->kind;
  return &kind->ends[loom_kind_find_end(kind, name->end)];
}

char *
loom_tag_joint_signature(LoomTag *self, guint index)
{
  const LoomDesign *design = loom_document_design(self->document);
  const LoomJoint *joint = loom_design_joint(design, index);
  GString *text = g_string_new(NULL);
  const LoomFindings *findings = loom_document_findings(self->document);
  g_autofree char *scenes = joint->scenes ? g_strjoinv(",", joint->scenes) : g_strdup("");
  g_string_append_printf(text, "joint %s:%s %s:%s %s %u", joint->a.part, joint->a.end,
                         joint->b.part, joint->b.end, scenes, findings ? findings->n_findings : 0);
  for (guint i = 0; i < loom_design_n_scenes(design); i++)
    g_string_append_printf(text, " %s", loom_design_scene(design, i)->name);
  return g_string_free(text, FALSE);
}

/* A joint is set through one of its ends: the one that no other joint shares. */
static char *
target_of(const LoomDesign *design, const LoomJoint *joint)
{
  guint part, end;
  char *a = g_strdup_printf("%s:%s", joint->a.part, joint->a.end);
  if (loom_design_find_end(design, a, &part, &end, NULL) &&
      loom_design_joints_at(design, part, end, NULL, 0) == 1)
    return a;
  g_free(a);
  return g_strdup_printf("%s:%s", joint->b.part, joint->b.end);
}

static void
add_mating(LoomTag *self, const LoomEnd *a, const LoomEnd *b)
{
  g_autofree char *why = loom_mate_why(loom_mate(a, b), a, b);
  if (why) {
    loom_tag_add_text(self, why, "tag-finding");
    return;
  }
  double rated_A = loom_joint_rated_A(a, b);
  loom_tag_add_text(self, a->family->name, "dim-label");
  if (a->family->latches)
    loom_tag_add_text(self, _("It latches."), "dim-label");
  if (isnan(rated_A) || a->family->ways == 0)
    return;
  g_autofree char *text = g_strdup_printf(_("Each contact stands %g A."), rated_A);
  loom_tag_add_text(self, text, "dim-label");
}

static void
add_fit(LoomTag *self, const char *target, const LoomEnd *a, const LoomEnd *b)
{
  const char *values[4] = {"normal"}, *labels[4] = {N_("normal")};
  guint n = 1;
  if (loom_fit_possible(a, b, LOOM_FIT_TURNED)) {
    values[n] = "turned";
    labels[n++] = N_("turned round");
  }
  if (loom_fit_possible(a, b, LOOM_FIT_SHIFTED)) {
    values[n] = "shifted";
    labels[n++] = N_("one way off");
  }
  if (n > 1)
    loom_tag_add(self,
                 loom_field_words_new(self->document, target, "fit", _("Plugged"), values, labels));
}

/* A check for each scene; all checked is the same as none named. */

static void
on_scene_toggled(GtkCheckButton *check, gpointer data)
{
  LoomTag *self = data;
  g_autoptr(GString) text = g_string_new(NULL);
  guint n = 0, all = 0;
  GtkWidget *box = gtk_widget_get_parent(GTK_WIDGET(check));
  GtkWidget *child = gtk_widget_get_first_child(box);
  for (; child; child = gtk_widget_get_next_sibling(child), all++)
    if (gtk_check_button_get_active(GTK_CHECK_BUTTON(child)))
      g_string_append_printf(text, "%s%s", n++ ? ", " : "",
                             gtk_check_button_get_label(GTK_CHECK_BUTTON(child)));
  g_autofree char *target = g_strdup(g_object_get_data(G_OBJECT(box), "target"));
  if (n == 0) {
    gtk_check_button_set_active(check, TRUE);
    return;
  }
  g_autoptr(GError) error = NULL;
  if (!loom_document_set(self->document, target, "scenes", n == all ? "" : text->str, &error)) {
    gtk_widget_set_tooltip_text(GTK_WIDGET(check), error->message);
    gtk_widget_add_css_class(GTK_WIDGET(check), "error");
  }
}

static void
add_scenes(LoomTag *self, const char *target, const LoomJoint *joint)
{
  const LoomDesign *design = loom_document_design(self->document);
  if (loom_design_n_scenes(design) < 2)
    return;
  loom_tag_add_heading(self, _("Plugged in the scenes"));
  GtkWidget *box = gtk_box_new(GTK_ORIENTATION_VERTICAL, 2);
  g_object_set_data_full(G_OBJECT(box), "target", g_strdup(target), g_free);
  for (guint i = 0; i < loom_design_n_scenes(design); i++) {
    const char *name = loom_design_scene(design, i)->name;
    GtkWidget *check = gtk_check_button_new_with_label(name);
    gtk_check_button_set_active(GTK_CHECK_BUTTON(check), loom_joint_in_scene(joint, name));
    g_signal_connect(check, "toggled", G_CALLBACK(on_scene_toggled), self);
    gtk_box_append(GTK_BOX(box), check);
  }
  loom_tag_add(self, box);
}

static void
on_go_to_part(GtkButton *button, gpointer data)
{
  LoomTag *self = data;
  g_autofree char *part = g_strdup(g_object_get_data(G_OBJECT(button), "part"));
  loom_choice_set_part(self->choice, part, NULL);
}

static void
add_part_button(LoomTag *self, const LoomEndName *name)
{
  const LoomDesign *design = loom_document_design(self->document);
  const LoomPart *part = loom_design_part(design, loom_design_find_part(design, name->part));
  const LoomEnd *end = end_of(design, name);
  g_autofree char *text =
      g_strdup_printf("%s  %s, %s", part->designation, part->label ? part->label : part->kind->name,
                      _(loom_gender_label(end->gender)));
  GtkWidget *button = gtk_button_new_with_label(text);
  GtkWidget *label = gtk_button_get_child(GTK_BUTTON(button));
  gtk_label_set_xalign(GTK_LABEL(label), 0);
  gtk_label_set_wrap(GTK_LABEL(label), TRUE);
  gtk_label_set_max_width_chars(GTK_LABEL(label), 1);
  gtk_widget_add_css_class(button, "flat");
  g_object_set_data_full(G_OBJECT(button), "part", g_strdup(part->designation), g_free);
  g_signal_connect(button, "clicked", G_CALLBACK(on_go_to_part), self);
  loom_tag_add(self, button);
}

void
loom_tag_build_joint(LoomTag *self, guint index)
{
  const LoomDesign *design = loom_document_design(self->document);
  const LoomJoint *joint = loom_design_joint(design, index);
  const LoomEnd *a = end_of(design, &joint->a), *b = end_of(design, &joint->b);
  g_autofree char *title =
      g_strdup_printf("%s:%s — %s:%s", joint->a.part, joint->a.end, joint->b.part, joint->b.end);
  g_autofree char *target = target_of(design, joint);
  loom_tag_add_title(self, title);
  add_mating(self, a, b);
  loom_tag_add_findings(self, joint->a.part, joint->a.end);
  loom_tag_add_findings(self, joint->b.part, joint->b.end);
  add_part_button(self, &joint->a);
  add_part_button(self, &joint->b);
  add_fit(self, target, a, b);
  if (a->family->shape == LOOM_SHAPE_RADIO)
    loom_tag_add(self, loom_field_text_new(self->document, target, "network",
                                           _("Name of the network"), NULL, NULL));
  else
    loom_tag_add(self, loom_field_switch_new(self->document, target, "tied", _("Tied or taped")));
  add_scenes(self, target, joint);
  loom_tag_add(self, loom_field_long_new(self->document, target, "note", _("Note")));
  loom_tag_add(self, loom_tag_action_button(_("Unplug"), "win.unplug"));
}
