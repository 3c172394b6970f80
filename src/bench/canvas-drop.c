#include "canvas-private.h"

#include "shelf.h"

#define BARELY 0.02

static const LoomKind *
dropped_kind(GtkDropTarget *target)
{
  const GValue *value = gtk_drop_target_get_value(target);
  return value && G_VALUE_HOLDS(value, LOOM_TYPE_KIND) ? g_value_get_boxed(value) : NULL;
}

/* Over the canvas the preview stands for the picture at the pointer. */
static void
show_drag_icon(GtkDropTarget *target, bool shown)
{
  GdkDrop *drop = gtk_drop_target_get_current_drop(target);
  GdkDrag *drag = drop ? gdk_drop_get_drag(drop) : NULL;
  GtkWidget *icon =
      drag ? gtk_drag_icon_get_child(GTK_DRAG_ICON(gtk_drag_icon_get_for_drag(drag))) : NULL;
  if (icon)
    gtk_widget_set_opacity(icon, shown ? 1 : BARELY); /* nothing at all would not be painted */
}

static GdkDragAction
on_drop_motion(GtkDropTarget *target, double x, double y, gpointer data)
{
  LoomCanvas *self = data;
  const LoomKind *kind = dropped_kind(target);
  if (kind && self->drag.mode == LOOM_DRAG_NONE) {
    loom_canvas_begin_place(self, kind);
    show_drag_icon(target, false);
  }
  if (self->drag.mode == LOOM_DRAG_PLACE)
    loom_canvas_follow_drag(self, x, y);
  return GDK_ACTION_COPY;
}

static void
on_drop_leave(GtkDropTarget *target, gpointer data)
{
  LoomCanvas *self = data;
  show_drag_icon(target, true);
  if (self->drag.mode == LOOM_DRAG_PLACE)
    loom_canvas_end_drag(self);
}

static gboolean
on_drop(GtkDropTarget *target, const GValue *value, double x, double y, gpointer data)
{
  (void)target;
  LoomCanvas *self = data;
  if (!G_VALUE_HOLDS(value, LOOM_TYPE_KIND))
    return FALSE;
  if (self->drag.mode != LOOM_DRAG_PLACE)
    loom_canvas_begin_place(self, g_value_get_boxed(value));
  loom_canvas_follow_drag(self, x, y);
  loom_canvas_drop_place(self);
  return TRUE;
}

void
loom_canvas_add_drop(LoomCanvas *self)
{
  GtkDropTarget *drop = gtk_drop_target_new(LOOM_TYPE_KIND, GDK_ACTION_COPY);
  gtk_drop_target_set_preload(drop, TRUE);
  g_signal_connect(drop, "enter", G_CALLBACK(on_drop_motion), self);
  g_signal_connect(drop, "motion", G_CALLBACK(on_drop_motion), self);
  g_signal_connect(drop, "leave", G_CALLBACK(on_drop_leave), self);
  g_signal_connect(drop, "drop", G_CALLBACK(on_drop), self);
  gtk_widget_add_controller(GTK_WIDGET(self), GTK_EVENT_CONTROLLER(drop));
}
