#include "proxy.h"

struct _LoomProxy {
  GtkWidget parent;
  char *name, *description;
};

G_DEFINE_FINAL_TYPE(LoomProxy, loom_proxy, GTK_TYPE_WIDGET)

static void
loom_proxy_finalize(GObject *object)
{
  LoomProxy *self = LOOM_PROXY(object);
  g_free(self->name);
  g_free(self->description);
  G_OBJECT_CLASS(loom_proxy_parent_class)->finalize(object);
}

static void
loom_proxy_class_init(LoomProxyClass *class)
{
  G_OBJECT_CLASS(class)->finalize = loom_proxy_finalize;
  gtk_widget_class_set_css_name(GTK_WIDGET_CLASS(class), "proxy");
}

static void
loom_proxy_init(LoomProxy *self)
{
  gtk_widget_set_focusable(GTK_WIDGET(self), TRUE);
  gtk_widget_set_can_target(GTK_WIDGET(self), FALSE);
}

GtkWidget *
loom_proxy_new(GtkAccessibleRole role)
{
  return g_object_new(LOOM_TYPE_PROXY, "accessible-role", role, NULL);
}

void
loom_proxy_describe(LoomProxy *self, const char *name, const char *description)
{
  if (g_strcmp0(self->name, name) != 0) {
    g_free(self->name);
    self->name = g_strdup(name);
    gtk_accessible_update_property(GTK_ACCESSIBLE(self), GTK_ACCESSIBLE_PROPERTY_LABEL, name, -1);
  }
  if (g_strcmp0(self->description, description) != 0) {
    g_free(self->description);
    self->description = g_strdup(description);
    gtk_accessible_update_property(GTK_ACCESSIBLE(self), GTK_ACCESSIBLE_PROPERTY_DESCRIPTION,
                                   description ? description : "", -1);
  }
}
