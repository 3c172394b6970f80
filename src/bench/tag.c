#include "tag-private.h"

#include "sentence.h"

#include <glib/gi18n-lib.h>

G_DEFINE_FINAL_TYPE(LoomTag, loom_tag, GTK_TYPE_WIDGET)

void
loom_tag_add(LoomTag *self, GtkWidget *widget)
{
  gtk_box_append(self->page, widget);
}

GtkWidget *
loom_tag_add_text(LoomTag *self, const char *text, const char *css_class)
{
  GtkWidget *label = loom_sentence_new(text, css_class);
  gtk_label_set_max_width_chars(GTK_LABEL(label), 1);
  loom_tag_add(self, label);
  return label;
}

void
loom_tag_add_title(LoomTag *self, const char *text)
{
  loom_tag_add_text(self, text, "tag-title");
}

void
loom_tag_add_heading(LoomTag *self, const char *text)
{
  loom_tag_add_text(self, text, "tag-heading");
}

GtkWidget *
loom_tag_action_button(const char *label, const char *action)
{
  GtkWidget *button = gtk_button_new_with_label(label);
  gtk_actionable_set_action_name(GTK_ACTIONABLE(button), action);
  return button;
}

static bool
concerns(const LoomFinding *finding, const char *part, const char *end)
{
  for (guint i = 0; i < finding->n_places; i++)
    if (g_str_equal(finding->places[i].part, part) &&
        (!end || g_strcmp0(finding->places[i].end, end) == 0))
      return true;
  return false;
}

void
loom_tag_add_findings(LoomTag *self, const char *part, const char *end)
{
  static const char *const classes[] = {"stop", "care", "note"};
  const LoomFindings *findings = loom_document_findings(self->document);
  for (guint i = 0; findings && i < findings->n_findings; i++) {
    const LoomFinding *finding = &findings->findings[i];
    if (!concerns(finding, part, end))
      continue;
    g_autofree char *text = g_strdup_printf("%u  %s", i + 1, finding->message);
    GtkWidget *label = loom_tag_add_text(self, text, "tag-finding");
    gtk_widget_add_css_class(label, classes[finding->severity]);
  }
}

/* Several parts. */

char *
loom_tag_parts_signature(LoomTag *self)
{
  return g_strdup_printf("parts %u", loom_choice_n_parts(self->choice));
}

void
loom_tag_build_parts(LoomTag *self)
{
  g_autofree char *title =
      g_strdup_printf(ngettext("%u part", "%u parts", loom_choice_n_parts(self->choice)),
                      loom_choice_n_parts(self->choice));
  loom_tag_add_title(self, title);
  loom_tag_add_text(self, _("Drag one to move them all."), "dim-label");
  loom_tag_add(self, loom_tag_action_button(_("Turn"), "win.turn"));
  loom_tag_add(self, loom_tag_action_button(_("Duplicate"), "win.duplicate"));
  loom_tag_add(self, loom_tag_action_button(_("Delete"), "win.delete"));
}

/* Choosing a page. */

typedef enum { PAGE_DESIGN, PAGE_PART, PAGE_PARTS, PAGE_JOINT } Page;

static Page
page_of(LoomTag *self, guint *index)
{
  const LoomDesign *design = loom_document_design(self->document);
  *index = loom_choice_joint(self->choice, design);
  if (*index != LOOM_NONE)
    return PAGE_JOINT;
  if (loom_choice_n_parts(self->choice) > 1)
    return PAGE_PARTS;
  const char *designation = loom_choice_cursor(self->choice);
  *index = designation ? loom_design_find_part(design, designation) : LOOM_NONE;
  return *index == LOOM_NONE ? PAGE_DESIGN : PAGE_PART;
}

static char *
signature_of(LoomTag *self, Page page, guint index)
{
  switch (page) {
  case PAGE_PART:
    return loom_tag_part_signature(self, index);
  case PAGE_PARTS:
    return loom_tag_parts_signature(self);
  case PAGE_JOINT:
    return loom_tag_joint_signature(self, index);
  case PAGE_DESIGN:
  default:
    return loom_tag_design_signature(self);
  }
}

static bool
has_focus(LoomTag *self)
{
  GtkRoot *root = gtk_widget_get_root(GTK_WIDGET(self));
  GtkWidget *focus = root ? gtk_root_get_focus(root) : NULL;
  return focus && gtk_widget_is_ancestor(focus, GTK_WIDGET(self));
}

/* The focus stays on the tag, though what had it goes. */
static void
build(LoomTag *self, Page page, guint index)
{
  GtkWidget *child;
  bool focused = has_focus(self);
  while ((child = gtk_widget_get_first_child(GTK_WIDGET(self->page))))
    gtk_box_remove(self->page, child);
  switch (page) {
  case PAGE_PART:
    loom_tag_build_part(self, index);
    break;
  case PAGE_PARTS:
    loom_tag_build_parts(self);
    break;
  case PAGE_JOINT:
    loom_tag_build_joint(self, index);
    break;
  case PAGE_DESIGN:
  default:
    loom_tag_build_design(self);
  }
  if (focused)
    gtk_widget_child_focus(GTK_WIDGET(self->page), GTK_DIR_TAB_FORWARD);
}

static void
follow_fields(GtkWidget *widget)
{
  if (LOOM_IS_FIELD(widget)) {
    loom_field_follow(LOOM_FIELD(widget));
    return;
  }
  GtkWidget *child = gtk_widget_get_first_child(widget);
  for (; child; child = gtk_widget_get_next_sibling(child))
    follow_fields(child);
}

static void
follow(LoomTag *self)
{
  guint index;
  if (!self->document)
    return;
  Page page = page_of(self, &index);
  g_autofree char *signature = signature_of(self, page, index);
  if (g_strcmp0(signature, self->signature) == 0) {
    follow_fields(GTK_WIDGET(self->page));
    return;
  }
  g_free(self->signature);
  self->signature = g_steal_pointer(&signature);
  build(self, page, index);
}

void
loom_tag_attach(LoomTag *self, LoomDocument *document, LoomChoice *choice)
{
  self->document = g_object_ref(document);
  self->choice = g_object_ref(choice);
  for (const char *const *s = (const char *const[]){"changed", "scene", "findings", NULL}; *s; s++)
    g_signal_connect_object(document, *s, G_CALLBACK(follow), self, G_CONNECT_SWAPPED);
  g_signal_connect_object(choice, "changed", G_CALLBACK(follow), self, G_CONNECT_SWAPPED);
  follow(self);
}

static GtkWidget *
find_named(GtkWidget *widget, const char *name)
{
  if (g_strcmp0(gtk_widget_get_name(widget), name) == 0)
    return widget;
  GtkWidget *child = gtk_widget_get_first_child(widget);
  for (; child; child = gtk_widget_get_next_sibling(child)) {
    GtkWidget *found = find_named(child, name);
    if (found)
      return found;
  }
  return NULL;
}

void
loom_tag_name_part(LoomTag *self)
{
  GtkWidget *label = find_named(GTK_WIDGET(self->page), "label");
  if (label)
    gtk_widget_grab_focus(label);
}

static void
loom_tag_dispose(GObject *object)
{
  LoomTag *self = LOOM_TAG(object);
  g_clear_object(&self->document);
  g_clear_object(&self->choice);
  gtk_widget_dispose_template(GTK_WIDGET(object), LOOM_TYPE_TAG);
  GtkWidget *child = gtk_widget_get_first_child(GTK_WIDGET(object));
  g_clear_pointer(&child, gtk_widget_unparent);
  G_OBJECT_CLASS(loom_tag_parent_class)->dispose(object);
}

static void
loom_tag_finalize(GObject *object)
{
  g_free(LOOM_TAG(object)->signature);
  G_OBJECT_CLASS(loom_tag_parent_class)->finalize(object);
}

static void
loom_tag_class_init(LoomTagClass *class)
{
  GtkWidgetClass *widget_class = GTK_WIDGET_CLASS(class);
  G_OBJECT_CLASS(class)->dispose = loom_tag_dispose;
  G_OBJECT_CLASS(class)->finalize = loom_tag_finalize;
  g_signal_new("offer", LOOM_TYPE_TAG, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 2,
               G_TYPE_STRING, G_TYPE_STRING);
  g_signal_new("swap", LOOM_TYPE_TAG, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 1,
               G_TYPE_STRING);
  gtk_widget_class_set_template_from_resource(widget_class, "/org/loombook/ui/tag.ui");
  gtk_widget_class_bind_template_child(widget_class, LoomTag, scroller);
  gtk_widget_class_bind_template_child(widget_class, LoomTag, page);
}

static void
loom_tag_init(LoomTag *self)
{
  gtk_widget_init_template(GTK_WIDGET(self));
}
