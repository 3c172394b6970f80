#include "scene-bar.h"

#include <glib/gi18n-lib.h>

struct _LoomSceneBar {
  GtkBox parent;
  LoomDocument *document;
  GtkWidget *buttons;  /* one toggle a scene */
  GtkMenuButton *more; /* "+", with a popover that asks for the name */
  GtkEditable *name;
  bool filling;
};

G_DEFINE_FINAL_TYPE(LoomSceneBar, loom_scene_bar, GTK_TYPE_BOX)

/* Purposes that robots commonly have, offered in this order. */
static const char *const proposals[] = {"charging", "bench test", "driving", NULL};

static void
on_toggled(GtkToggleButton *button, gpointer data)
{
  LoomSceneBar *self = data;
  guint scene = GPOINTER_TO_UINT(g_object_get_data(G_OBJECT(button), "scene"));
  if (!self->filling && gtk_toggle_button_get_active(button))
    loom_document_set_scene(self->document, scene);
}

static GtkWidget *
button_new(LoomSceneBar *self, const LoomScene *scene, guint index, GtkWidget *first)
{
  GtkWidget *button = gtk_toggle_button_new_with_label(scene->name);
  gtk_widget_add_css_class(button, "flat");
  gtk_widget_add_css_class(button, "scene");
  g_object_set_data(G_OBJECT(button), "scene", GUINT_TO_POINTER(index));
  gtk_widget_set_tooltip_text(button,
                              scene->note ? scene->note : _("What is plugged for this purpose"));
  if (first)
    gtk_toggle_button_set_group(GTK_TOGGLE_BUTTON(button), GTK_TOGGLE_BUTTON(first));
  gtk_toggle_button_set_active(GTK_TOGGLE_BUTTON(button),
                               index == loom_document_scene(self->document));
  g_signal_connect(button, "toggled", G_CALLBACK(on_toggled), self);
  return button;
}

static bool
names_differ(LoomSceneBar *self, const LoomDesign *design)
{
  GtkWidget *child = gtk_widget_get_first_child(self->buttons);
  guint i = 0;
  for (; child && i < loom_design_n_scenes(design); i++, child = gtk_widget_get_next_sibling(child))
    if (g_strcmp0(gtk_button_get_label(GTK_BUTTON(child)), loom_design_scene(design, i)->name) != 0)
      return true;
  return child || i < loom_design_n_scenes(design);
}

static void
refill(LoomSceneBar *self, const LoomDesign *design)
{
  GtkWidget *child;
  while ((child = gtk_widget_get_first_child(self->buttons)))
    gtk_box_remove(GTK_BOX(self->buttons), child);
  GtkWidget *first = NULL;
  for (guint i = 0; i < loom_design_n_scenes(design); i++) {
    GtkWidget *button = button_new(self, loom_design_scene(design, i), i, first);
    first = first ? first : button;
    gtk_box_append(GTK_BOX(self->buttons), button);
  }
}

static void
follow(LoomDocument *document, gpointer data)
{
  LoomSceneBar *self = data;
  const LoomDesign *design = loom_document_design(document);
  self->filling = true;
  if (names_differ(self, design))
    refill(self, design);
  GtkWidget *child = gtk_widget_get_first_child(self->buttons);
  for (guint i = 0; child; i++, child = gtk_widget_get_next_sibling(child))
    gtk_toggle_button_set_active(GTK_TOGGLE_BUTTON(child), i == loom_document_scene(document));
  self->filling = false;
}

void
loom_scene_bar_attach(LoomSceneBar *self, LoomDocument *document)
{
  self->document = g_object_ref(document);
  g_signal_connect_object(document, "changed", G_CALLBACK(follow), self, 0);
  g_signal_connect_object(document, "scene", G_CALLBACK(follow), self, 0);
  follow(document, self);
}

static void
on_name(LoomSceneBar *self)
{
  const char *name = gtk_editable_get_text(self->name);
  g_autofree char *target = g_strconcat("scene:", name, NULL);
  g_autofree char *label = g_strdup_printf(_("Add scene %s"), name);
  g_autoptr(LoomEdit) edit = loom_document_edit(self->document, label);
  g_autoptr(GError) error = NULL;
  if (!loom_edit_add_target(edit, target, &error)) {
    gtk_widget_add_css_class(GTK_WIDGET(self->name), "error");
    gtk_widget_set_tooltip_text(GTK_WIDGET(self->name), error->message);
    return;
  }
  loom_document_apply(self->document, g_steal_pointer(&edit));
  gtk_menu_button_popdown(self->more);
  loom_document_set_scene(self->document,
                          loom_design_n_scenes(loom_document_design(self->document)) - 1);
}

static void
on_popover_shown(GtkWidget *popover, gpointer data)
{
  (void)popover;
  LoomSceneBar *self = data;
  const LoomDesign *design = loom_document_design(self->document);
  guint i = 0;
  while (proposals[i] && loom_design_find_scene(design, proposals[i]) != LOOM_NONE)
    i++;
  gtk_widget_remove_css_class(GTK_WIDGET(self->name), "error");
  gtk_widget_set_tooltip_text(GTK_WIDGET(self->name), NULL);
  gtk_editable_set_text(self->name, proposals[i] ? proposals[i] : "");
  gtk_widget_grab_focus(GTK_WIDGET(self->name));
}

void
loom_scene_bar_add(LoomSceneBar *self)
{
  gtk_menu_button_popup(self->more);
}

static GtkWidget *
popover_new(LoomSceneBar *self)
{
  GtkWidget *popover = gtk_popover_new();
  GtkWidget *box = gtk_box_new(GTK_ORIENTATION_VERTICAL, 6);
  GtkWidget *text =
      gtk_label_new(_("A scene is what is plugged for one purpose.\nThe parts stay the same."));
  GtkWidget *button = gtk_button_new_with_label(_("Add Scene"));
  self->name = GTK_EDITABLE(gtk_entry_new());
  gtk_label_set_xalign(GTK_LABEL(text), 0);
  gtk_widget_add_css_class(button, "suggested-action");
  gtk_accessible_update_property(GTK_ACCESSIBLE(self->name), GTK_ACCESSIBLE_PROPERTY_LABEL,
                                 _("Name of the scene"), -1);
  gtk_box_append(GTK_BOX(box), text);
  gtk_box_append(GTK_BOX(box), GTK_WIDGET(self->name));
  gtk_box_append(GTK_BOX(box), button);
  gtk_popover_set_child(GTK_POPOVER(popover), box);
  g_signal_connect_swapped(self->name, "activate", G_CALLBACK(on_name), self);
  g_signal_connect_swapped(button, "clicked", G_CALLBACK(on_name), self);
  g_signal_connect(popover, "show", G_CALLBACK(on_popover_shown), self);
  return popover;
}

static void
loom_scene_bar_dispose(GObject *object)
{
  g_clear_object(&LOOM_SCENE_BAR(object)->document);
  G_OBJECT_CLASS(loom_scene_bar_parent_class)->dispose(object);
}

static void
loom_scene_bar_class_init(LoomSceneBarClass *class)
{
  G_OBJECT_CLASS(class)->dispose = loom_scene_bar_dispose;
}

static void
loom_scene_bar_init(LoomSceneBar *self)
{
  GtkWidget *label = gtk_label_new(_("Scene"));
  gtk_widget_add_css_class(label, "dim-label");
  gtk_box_append(GTK_BOX(self), label);
  self->buttons = gtk_box_new(GTK_ORIENTATION_HORIZONTAL, 2);
  gtk_box_append(GTK_BOX(self), self->buttons);
  self->more = GTK_MENU_BUTTON(gtk_menu_button_new());
  gtk_menu_button_set_icon_name(self->more, "list-add-symbolic");
  gtk_widget_add_css_class(GTK_WIDGET(self->more), "flat");
  gtk_widget_set_tooltip_text(GTK_WIDGET(self->more), _("Add a scene"));
  gtk_menu_button_set_popover(self->more, popover_new(self));
  gtk_box_append(GTK_BOX(self), GTK_WIDGET(self->more));
  gtk_box_set_spacing(GTK_BOX(self), 6);
  gtk_widget_add_css_class(GTK_WIDGET(self), "scene-bar");
}
