#include "tell-widget.h"

static bool
is_called(GtkWidget *widget, const char *name)
{
  if (g_strcmp0(gtk_widget_get_name(widget), name) == 0 ||
      g_strcmp0(gtk_buildable_get_buildable_id(GTK_BUILDABLE(widget)), name) == 0)
    return true;
  return GTK_IS_LABEL(widget) && g_strcmp0(gtk_label_get_text(GTK_LABEL(widget)), name) == 0;
}

GtkWidget *
loom_find_widget(GtkWidget *root, const char *name)
{
  if (gtk_widget_get_mapped(root) && is_called(root, name))
    return root;
  GtkWidget *child = gtk_widget_get_first_child(root);
  for (; child; child = gtk_widget_get_next_sibling(child)) {
    GtkWidget *found = loom_find_widget(child, name);
    if (found)
      return found;
  }
  return NULL;
}

void
loom_say_at(LoomEvents *events, const char *question, GtkWidget *widget, double x, double y)
{
  GtkNative *window = GTK_NATIVE(gtk_widget_get_root(widget));
  graphene_point_t at;
  double surface_x, surface_y;
  gtk_native_get_surface_transform(window, &surface_x, &surface_y);
  if (gtk_widget_compute_point(widget, GTK_WIDGET(window), &GRAPHENE_POINT_INIT((float)x, (float)y),
                               &at))
    loom_events_say(events, "screen %s %.0f %.0f", question, at.x + surface_x, at.y + surface_y);
}
