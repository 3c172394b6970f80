#include "drawer.h"

#include <glib/gi18n-lib.h>

struct _LoomDrawer {
  GtkWidget parent;
  GtkRevealer *revealer;
  GtkStack *pages;
  GtkBox *buttons; /* one toggle a page, named like it */
  bool settling;   /* buttons follow the page, not the other way round */
  bool awaited;    /* the page is to have the keyboard as soon as it is there */
};

G_DEFINE_FINAL_TYPE(LoomDrawer, loom_drawer, GTK_TYPE_WIDGET)

enum { SHOWN, LEFT, N_SIGNALS };
static guint signals[N_SIGNALS];

static const char *
name_of(GtkWidget *button)
{
  return g_object_get_data(G_OBJECT(button), "page");
}

static void
settle_buttons(LoomDrawer *self, const char *name)
{
  GtkWidget *button = gtk_widget_get_first_child(GTK_WIDGET(self->buttons));
  self->settling = true;
  for (; button; button = gtk_widget_get_next_sibling(button))
    gtk_toggle_button_set_active(GTK_TOGGLE_BUTTON(button), g_strcmp0(name_of(button), name) == 0);
  self->settling = false;
}

const char *
loom_drawer_page(LoomDrawer *self)
{
  bool open = gtk_revealer_get_reveal_child(self->revealer);
  return open ? gtk_stack_get_visible_child_name(self->pages) : NULL;
}

bool
loom_drawer_shows(LoomDrawer *self, const char *name)
{
  return g_strcmp0(loom_drawer_page(self), name) == 0;
}

void
loom_drawer_show(LoomDrawer *self, const char *name)
{
  if (loom_drawer_shows(self, name))
    return;
  gtk_stack_set_visible_child_name(self->pages, name);
  gtk_revealer_set_reveal_child(self->revealer, TRUE);
  settle_buttons(self, name);
  g_signal_emit(self, signals[SHOWN], 0);
}

static bool
has_focus(LoomDrawer *self)
{
  GtkWidget *focus = gtk_root_get_focus(gtk_widget_get_root(GTK_WIDGET(self)));
  return focus && gtk_widget_is_ancestor(focus, GTK_WIDGET(self));
}

void
loom_drawer_close(LoomDrawer *self)
{
  if (!loom_drawer_page(self))
    return;
  bool left = has_focus(self);
  self->awaited = false;
  gtk_revealer_set_reveal_child(self->revealer, FALSE);
  g_signal_emit(self, signals[SHOWN], 0);
  if (left)
    g_signal_emit(self, signals[LEFT], 0);
}

static void
on_page(GtkWidget *page, gpointer data)
{
  LoomDrawer *self = data;
  if (self->awaited)
    gtk_widget_child_focus(page, GTK_DIR_TAB_FORWARD);
  self->awaited = false;
}

void
loom_drawer_toggle(LoomDrawer *self, const char *name)
{
  if (loom_drawer_shows(self, name)) {
    loom_drawer_close(self);
    return;
  }
  self->awaited = true;
  loom_drawer_show(self, name);
  GtkWidget *page = gtk_stack_get_visible_child(self->pages);
  if (gtk_widget_get_mapped(page))
    on_page(page, self);
}

static void
on_button(GtkToggleButton *button, gpointer data)
{
  LoomDrawer *self = data;
  if (!self->settling && gtk_toggle_button_get_active(button))
    loom_drawer_show(self, name_of(GTK_WIDGET(button)));
}

void
loom_drawer_add(LoomDrawer *self, const char *name, const char *title, GtkWidget *page)
{
  GtkWidget *first = gtk_widget_get_first_child(GTK_WIDGET(self->buttons));
  GtkWidget *button = gtk_toggle_button_new_with_label(title);
  g_autofree char *button_name = g_strconcat("page-", name, NULL);
  /* Where text is large and the bench narrow, the words give way, not the bench. */
  gtk_label_set_ellipsize(GTK_LABEL(gtk_button_get_child(GTK_BUTTON(button))), PANGO_ELLIPSIZE_END);
  gtk_widget_set_tooltip_text(button, title);
  gtk_widget_set_name(button, button_name);
  gtk_widget_set_name(page, name);
  gtk_widget_add_css_class(button, "flat");
  gtk_widget_add_css_class(button, "drawer-page");
  g_object_set_data_full(G_OBJECT(button), "page", g_strdup(name), g_free);
  if (first)
    gtk_toggle_button_set_group(GTK_TOGGLE_BUTTON(button), GTK_TOGGLE_BUTTON(first));
  g_signal_connect(button, "toggled", G_CALLBACK(on_button), self);
  gtk_box_append(self->buttons, button);
  gtk_accessible_update_property(GTK_ACCESSIBLE(page), GTK_ACCESSIBLE_PROPERTY_LABEL, title, -1);
  g_signal_connect(page, "map", G_CALLBACK(on_page), self);
  gtk_stack_add_named(self->pages, page, name);
}

static gboolean
on_escape(GtkWidget *widget, GVariant *arguments, gpointer data)
{
  (void)arguments;
  (void)data;
  LoomDrawer *self = LOOM_DRAWER(widget);
  if (!loom_drawer_page(self))
    return FALSE;
  loom_drawer_close(self);
  return TRUE;
}

static void
loom_drawer_dispose(GObject *object)
{
  gtk_widget_dispose_template(GTK_WIDGET(object), LOOM_TYPE_DRAWER);
  GtkWidget *child = gtk_widget_get_first_child(GTK_WIDGET(object));
  g_clear_pointer(&child, gtk_widget_unparent);
  G_OBJECT_CLASS(loom_drawer_parent_class)->dispose(object);
}

static void
loom_drawer_class_init(LoomDrawerClass *class)
{
  GtkWidgetClass *widget_class = GTK_WIDGET_CLASS(class);
  G_OBJECT_CLASS(class)->dispose = loom_drawer_dispose;
  signals[SHOWN] = g_signal_new("shown", LOOM_TYPE_DRAWER, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL,
                                G_TYPE_NONE, 0);
  signals[LEFT] = g_signal_new("left", LOOM_TYPE_DRAWER, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL,
                               G_TYPE_NONE, 0);
  gtk_widget_class_set_template_from_resource(widget_class, "/org/loombook/ui/drawer.ui");
  gtk_widget_class_bind_template_child(widget_class, LoomDrawer, revealer);
  gtk_widget_class_bind_template_child(widget_class, LoomDrawer, pages);
  gtk_widget_class_bind_template_child(widget_class, LoomDrawer, buttons);
  gtk_widget_class_bind_template_callback(widget_class, loom_drawer_close);
  gtk_widget_class_add_binding(widget_class, GDK_KEY_Escape, 0, on_escape, NULL);
}

static void
loom_drawer_init(LoomDrawer *self)
{
  gtk_widget_init_template(GTK_WIDGET(self));
}
