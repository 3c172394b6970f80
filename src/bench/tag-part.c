#include "tag-private.h"

#include "describe.h"
#include "kind-view.h"
#include "scenes.h"
#include "sentence.h"

#include <glib/gi18n-lib.h>

#define PICTURE_WIDTH 220
#define PICTURE_HEIGHT 90

static void
append_states(GString *text, const LoomScene *scene)
{
  for (guint i = 0; i < scene->n_states; i++)
    g_string_append_printf(text, " %s", scene->states[i].name);
}

static void
append_findings(LoomTag *self, GString *text, const char *part)
{
  const LoomFindings *findings = loom_document_findings(self->document);
  for (guint i = 0; findings && i < findings->n_findings; i++)
    for (guint j = 0; j < findings->findings[i].n_places; j++)
      if (g_str_equal(findings->findings[i].places[j].part, part))
        g_string_append_printf(text, " %u%s", i, findings->findings[i].message);
}

char *
loom_tag_part_signature(LoomTag *self, guint index)
{
  const LoomDesign *design = loom_document_design(self->document);
  const LoomPart *part = loom_design_part(design, index);
  guint scene = loom_document_scene(self->document);
  g_autofree char *joints = loom_describe_joints(design, scene, index);
  GString *text = g_string_new(NULL);
  g_string_append_printf(text, "part %s %s %u %s %s", part->designation, part->kind->id, scene,
                         loom_choice_end(self->choice) ? loom_choice_end(self->choice) : "",
                         joints);
  append_states(text, loom_design_scene(design, scene));
  append_findings(self, text, part->designation);
  return g_string_free(text, FALSE);
}

/* Who it is. */

static void
add_head(LoomTag *self, const LoomPart *part)
{
  g_autofree char *title = g_strdup_printf("%s  %s", part->designation, part->kind->name);
  loom_tag_add_title(self, title);
  loom_tag_add(self, loom_kind_view_new(part->kind, PICTURE_WIDTH, PICTURE_HEIGHT));
  if (part->kind->about)
    loom_tag_add_text(self, part->kind->about, "dim-label");
}

static GtkWidget *
text_field(LoomTag *self, const LoomPart *part, const char *key, const char *label,
           const char *unit, const char *hint)
{
  return loom_field_text_new(self->document, part->designation, key, label, unit, hint);
}

static bool
has_fuse(const LoomKind *kind)
{
  for (guint i = 0; i < kind->n_elements; i++)
    if (kind->elements[i].type == LOOM_ELEMENT_FUSE)
      return true;
  return false;
}

static double
fuse_rating(const LoomKind *kind)
{
  for (guint i = 0; i < kind->n_elements; i++)
    if (kind->elements[i].type == LOOM_ELEMENT_FUSE)
      return kind->elements[i].rated_A;
  return NAN;
}

static char *
hint_for_number(double number)
{
  return isnan(number) ? NULL : loom_number_to_words(number);
}

static void
add_values(LoomTag *self, const LoomPart *part)
{
  const LoomKind *kind = part->kind;
  if (kind->has_switch)
    loom_tag_add(self,
                 loom_field_switch_new(self->document, part->designation, "on", _("Switched on")));
  if (kind->lead) {
    g_autofree char *length = hint_for_number(kind->length_mm);
    loom_tag_add(self, text_field(self, part, "length_mm", _("Length"), "mm", length));
    loom_tag_add(self, text_field(self, part, "reach_mm", _("Way it has to go on the robot"), "mm",
                                  _("not measured")));
  }
  if (has_fuse(kind)) {
    g_autofree char *rating = hint_for_number(fuse_rating(kind));
    loom_tag_add(self, text_field(self, part, "rated_A", _("Fuse in it"), "A", rating));
  }
  if (kind->address >= 0) {
    g_autofree char *address = g_strdup_printf("0x%02X", (guint)kind->address);
    loom_tag_add(self, text_field(self, part, "address", "I²C address", NULL, address));
  }
}

static void
add_words(LoomTag *self, const LoomPart *part)
{
  loom_tag_add(self,
               text_field(self, part, "label", _("What it is called"), NULL, _("Drive left")));
  if (part->kind->n_devices)
    loom_tag_add(self,
                 text_field(self, part, "name", _("Name in the program"), NULL, "drive_left"));
  loom_tag_add(self, text_field(self, part, "place", _("Where on the robot"), NULL, "arm"));
  if (part->kind->n_devices)
    loom_tag_add(self, text_field(self, part, "settings", _("To be set in the controller"), NULL,
                                  "reversed"));
  loom_tag_add(self, text_field(self, part, "designation", _("Designation"), NULL, NULL));
  loom_tag_add(self, loom_field_long_new(self->document, part->designation, "note", _("Note")));
}

/* Ends. */

static void
on_end_clicked(GtkButton *button, gpointer data)
{
  LoomTag *self = data;
  const char *part = g_object_get_data(G_OBJECT(button), "part");
  const char *end = g_object_get_data(G_OBJECT(button), "end");
  const LoomDesign *design = loom_document_design(self->document);
  guint index = loom_design_find_part(design, part);
  guint end_index = loom_kind_find_end(loom_design_part(design, index)->kind, end);
  guint joint;
  if (!loom_scenes_joints_at(design, loom_document_scene(self->document), index, end_index,
                             &joint)) {
    g_signal_emit_by_name(self, "offer", part, end);
    return;
  }
  const LoomJoint *j = loom_design_joint(design, joint);
  g_autofree char *a = g_strdup_printf("%s:%s", j->a.part, j->a.end);
  g_autofree char *b = g_strdup_printf("%s:%s", j->b.part, j->b.end);
  loom_choice_set_joint(self->choice, a, b);
}

static GtkWidget *
line_new(const char *text, const char *css_class)
{
  GtkWidget *label = loom_sentence_new(text, css_class);
  gtk_label_set_max_width_chars(GTK_LABEL(label), 1);
  return label;
}

static void
add_end(LoomTag *self, const LoomPart *part, guint part_index, guint index)
{
  const LoomEnd *end = &part->kind->ends[index];
  g_autofree char *state = loom_describe_end_state(
      loom_document_design(self->document), loom_document_scene(self->document), part_index, index);
  bool is_free = g_str_equal(state, _("free"));
  g_autofree char *what =
      g_strdup_printf("%s, %s", _(loom_gender_label(end->gender)), end->family->name);
  GtkWidget *box = gtk_box_new(GTK_ORIENTATION_VERTICAL, 1);
  GtkWidget *button = gtk_button_new();
  gtk_box_append(GTK_BOX(box), line_new(end->label ? end->label : end->id, "end-name"));
  gtk_box_append(GTK_BOX(box), line_new(what, "caption"));
  gtk_box_append(GTK_BOX(box), line_new(is_free ? _("free: what plugs in?") : state,
                                        is_free ? "end-free" : "end-taken"));
  gtk_button_set_child(GTK_BUTTON(button), box);
  gtk_widget_add_css_class(button, "flat");
  gtk_widget_add_css_class(button, "end-button");
  if (g_strcmp0(loom_choice_end(self->choice), end->id) == 0)
    gtk_widget_add_css_class(button, "cursor");
  g_object_set_data_full(G_OBJECT(button), "part", g_strdup(part->designation), g_free);
  g_object_set_data_full(G_OBJECT(button), "end", g_strdup(end->id), g_free);
  g_signal_connect(button, "clicked", G_CALLBACK(on_end_clicked), self);
  loom_tag_add(self, button);
}

/* What the states of the scene in sight say of this part. */

static bool
has_element(const LoomKind *kind, LoomElementType type)
{
  for (guint i = 0; i < kind->n_elements; i++)
    if (kind->elements[i].type == type)
      return true;
  return false;
}

static void
add_state(LoomTag *self, const LoomPart *part, const char *target, const char *state)
{
  static const char *const on_values[] = {"", "yes", "no", NULL};
  static const char *const on_labels[] = {N_("as drawn"), N_("on"), N_("off"), NULL};
  static const char *const motor_values[] = {"", "idle", "free", "loaded", "stalled", NULL};
  static const char *const motor_labels[] = {N_("not set"), N_("idle"),    N_("free"),
                                             N_("loaded"),  N_("stalled"), NULL};
  static const char *const servo_values[] = {"", "idle", "moving", "stalled", NULL};
  static const char *const servo_labels[] = {N_("not set"), N_("idle"), N_("moving"), N_("stalled"),
                                             NULL};
  g_autofree char *on = g_strdup_printf("%s.on", part->designation);
  g_autofree char *load = g_strdup_printf("%s.load", part->designation);
  g_autofree char *duty = g_strdup_printf("%s.duty", part->designation);
  if (part->kind->has_switch)
    loom_tag_add(self,
                 loom_field_words_new(self->document, target, on, state, on_values, on_labels));
  if (has_element(part->kind, LOOM_ELEMENT_SERVO))
    loom_tag_add(self, loom_field_words_new(self->document, target, load, state, servo_values,
                                            servo_labels));
  if (!has_element(part->kind, LOOM_ELEMENT_MOTOR))
    return;
  loom_tag_add(
      self, loom_field_words_new(self->document, target, load, state, motor_values, motor_labels));
  g_autofree char *label = g_strdup_printf(_("Duty while %s, −1 to 1"), state);
  loom_tag_add(self, loom_field_text_new(self->document, target, duty, label, NULL, _("not set")));
}

static void
add_states(LoomTag *self, const LoomPart *part)
{
  const LoomScene *scene =
      loom_design_scene(loom_document_design(self->document), loom_document_scene(self->document));
  const LoomKind *kind = part->kind;
  if (!scene->n_states || !(kind->has_switch || has_element(kind, LOOM_ELEMENT_SERVO) ||
                            has_element(kind, LOOM_ELEMENT_MOTOR)))
    return;
  g_autofree char *heading = g_strdup_printf(_("In the states of “%s”"), scene->name);
  loom_tag_add_heading(self, heading);
  for (guint i = 0; i < scene->n_states; i++) {
    g_autofree char *target = g_strdup_printf("state:%s/%s", scene->name, scene->states[i].name);
    add_state(self, part, target, scene->states[i].name);
  }
}

static void
add_advice(LoomTag *self, const LoomKind *kind)
{
  if (kind->n_advice)
    loom_tag_add_heading(self, _("Good to know"));
  for (guint i = 0; i < kind->n_advice; i++)
    loom_tag_add_text(self, kind->advice[i].text, NULL);
  if (kind->source) {
    g_autofree char *source = g_strdup_printf(_("Figures: %s"), kind->source);
    loom_tag_add_text(self, source, "caption");
  }
}

static void
on_swap(GtkButton *button, gpointer data)
{
  g_signal_emit_by_name(data, "swap", g_object_get_data(G_OBJECT(button), "part"));
}

static GtkWidget *
swap_button_new(LoomTag *self, const LoomPart *part)
{
  GtkWidget *swap = gtk_button_new_with_label(_("Swap…"));
  gtk_widget_set_tooltip_text(swap, _("Put another kind in its place"));
  g_object_set_data_full(G_OBJECT(swap), "part", g_strdup(part->designation), g_free);
  g_signal_connect(swap, "clicked", G_CALLBACK(on_swap), self);
  return swap;
}

static void
add_buttons(LoomTag *self, const LoomPart *part)
{
  GtkWidget *grid = gtk_grid_new();
  gtk_grid_set_column_homogeneous(GTK_GRID(grid), TRUE);
  gtk_grid_set_column_spacing(GTK_GRID(grid), 6);
  gtk_grid_set_row_spacing(GTK_GRID(grid), 6);
  gtk_grid_attach(GTK_GRID(grid), swap_button_new(self, part), 0, 0, 1, 1);
  gtk_grid_attach(GTK_GRID(grid), loom_tag_action_button(_("Delete"), "win.delete"), 1, 0, 1, 1);
  if (!part->kind->lead) {
    gtk_grid_attach(GTK_GRID(grid), loom_tag_action_button(_("Turn"), "win.turn"), 0, 1, 1, 1);
    gtk_grid_attach(GTK_GRID(grid), loom_tag_action_button(_("Flip"), "win.flip"), 1, 1, 1, 1);
  }
  loom_tag_add(self, grid);
}

void
loom_tag_build_part(LoomTag *self, guint index)
{
  const LoomPart *part = loom_design_part(loom_document_design(self->document), index);
  add_head(self, part);
  loom_tag_add_findings(self, part->designation, NULL);
  add_values(self, part);
  loom_tag_add_heading(self, part->kind->n_ends == 1 ? _("End") : _("Ends"));
  for (guint i = 0; i < part->kind->n_ends; i++)
    add_end(self, part, index, i);
  loom_tag_add_heading(self, _("Words"));
  add_words(self, part);
  add_states(self, part);
  add_advice(self, part->kind);
  add_buttons(self, part);
}
