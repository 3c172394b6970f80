#include "inked.h"

#include "look.h"
#include "sheet/inks.h"

#define PX_PER_MM (96.0 / 25.4)

double
loom_inked_scale(GtkWidget *widget)
{
  return PX_PER_MM * loom_look_text_factor(widget);
}

void
loom_inked_snapshot(GtkWidget *widget, GtkSnapshot *snapshot, LoomInkedDraw draw, gpointer data)
{
  float width = (float)gtk_widget_get_width(widget), height = (float)gtk_widget_get_height(widget);
  graphene_rect_t all = GRAPHENE_RECT_INIT(0, 0, width, height);
  LoomPalette palette = loom_look_palette(widget);
  GdkRGBA paper = loom_look_rgba(palette, LOOM_PAINT_PAPER, 1);
  double scale = loom_inked_scale(widget);
  gtk_snapshot_append_color(snapshot, &paper, &all);
  if (!draw)
    return;
  cairo_t *cr = gtk_snapshot_append_cairo(snapshot, &all);
  cairo_scale(cr, scale, scale);
  g_autoptr(LoomInk) ink = loom_ink_cairo_new(cr, palette);
  draw(ink, width / scale, height / scale, data);
  cairo_destroy(cr);
}

static void
on_press(GtkWidget *widget)
{
  gtk_widget_grab_focus(widget);
}

void
loom_inked_take_keys(GtkWidget *widget, GCallback key, GCallback focus)
{
  gtk_widget_set_focusable(widget, TRUE);
  GtkGesture *click = gtk_gesture_click_new();
  g_signal_connect_swapped(click, "pressed", G_CALLBACK(on_press), widget);
  gtk_widget_add_controller(widget, GTK_EVENT_CONTROLLER(click));
  GtkEventController *keys = gtk_event_controller_key_new();
  g_signal_connect(keys, "key-pressed", key, widget);
  gtk_widget_add_controller(widget, keys);
  GtkEventController *comes = gtk_event_controller_focus_new();
  g_signal_connect_swapped(comes, "enter", focus, widget);
  gtk_widget_add_controller(widget, comes);
}
