#include "bars-view.h"

#include "inked.h"

#include <math.h>

struct _LoomBarsView {
  GtkWidget parent;
  LoomBars *bars;
  guint cursor; /* lit bar, or LOOM_NONE */
};

G_DEFINE_FINAL_TYPE(LoomBarsView, loom_bars_view, GTK_TYPE_WIDGET)

static guint chosen_signal;

const LoomBars *
loom_bars_view_bars(LoomBarsView *self)
{
  return self->bars;
}

/* What a screen reader says: the lit bar, otherwise the heading. */
static void
say(LoomBarsView *self)
{
  g_autofree char *text = NULL;
  if (!self->bars)
    return;
  if (self->cursor < self->bars->n_bars)
    text = loom_bar_text(&self->bars->bars[self->cursor]);
  gtk_accessible_update_property(GTK_ACCESSIBLE(self), GTK_ACCESSIBLE_PROPERTY_LABEL,
                                 text ? text : self->bars->heading, -1);
}

void
loom_bars_view_set(LoomBarsView *self, LoomBars *bars)
{
  bool other = !self->bars || !bars || self->bars->n_bars != bars->n_bars;
  g_clear_pointer(&self->bars, loom_bars_free);
  self->bars = bars;
  if (!bars || self->cursor >= bars->n_bars)
    self->cursor = LOOM_NONE;
  say(self);
  if (other)
    gtk_widget_queue_resize(GTK_WIDGET(self));
  gtk_widget_queue_draw(GTK_WIDGET(self));
}

static void
show_cursor(LoomBarsView *self)
{
  GtkWidget *scroller = gtk_widget_get_ancestor(GTK_WIDGET(self), GTK_TYPE_SCROLLED_WINDOW);
  double top = loom_bars_top_mm(self->cursor) * loom_inked_scale(GTK_WIDGET(self));
  if (scroller)
    gtk_adjustment_clamp_page(gtk_scrolled_window_get_vadjustment(GTK_SCROLLED_WINDOW(scroller)),
                              self->cursor ? top : 0,
                              top + LOOM_BAR_ROW_MM * loom_inked_scale(GTK_WIDGET(self)));
  say(self);
  gtk_widget_queue_draw(GTK_WIDGET(self));
}

static void
choose(LoomBarsView *self, guint bar)
{
  if (!self->bars || bar >= self->bars->n_bars)
    return;
  self->cursor = bar;
  show_cursor(self);
  g_signal_emit(self, chosen_signal, 0, bar);
}

static void
on_click(GtkGestureClick *gesture, int n, double x, double y, gpointer data)
{
  (void)gesture;
  (void)n;
  (void)x;
  LoomBarsView *self = data;
  if (self->bars)
    choose(self, loom_bars_at(self->bars, y / loom_inked_scale(GTK_WIDGET(self))));
}

static gboolean
on_key(GtkEventControllerKey *controller, guint key, guint code, GdkModifierType state,
       gpointer data)
{
  (void)controller;
  (void)code;
  LoomBarsView *self = data;
  if (!self->bars || !self->bars->n_bars || state & (GDK_CONTROL_MASK | GDK_ALT_MASK))
    return FALSE;
  guint last = self->bars->n_bars - 1, at = self->cursor;
  if (key == GDK_KEY_Down)
    at = at == LOOM_NONE ? 0 : MIN(at + 1, last);
  else if (key == GDK_KEY_Up)
    at = at == LOOM_NONE || at == 0 ? 0 : at - 1;
  else if (key == GDK_KEY_Home)
    at = 0;
  else if (key == GDK_KEY_End)
    at = last;
  else if (key == GDK_KEY_Return || key == GDK_KEY_space)
    at = at == LOOM_NONE ? 0 : at;
  else
    return FALSE;
  choose(self, at);
  return TRUE;
}

static void
loom_bars_view_measure(GtkWidget *widget, GtkOrientation orientation, int for_size, int *minimum,
                       int *natural, int *minimum_baseline, int *natural_baseline)
{
  (void)for_size;
  LoomBarsView *self = LOOM_BARS_VIEW(widget);
  *minimum = *natural = 60;
  if (orientation == GTK_ORIENTATION_VERTICAL && self->bars)
    *minimum = *natural =
        (int)ceil(loom_bars_height_mm(self->bars) * loom_inked_scale(GTK_WIDGET(self)));
  *minimum_baseline = *natural_baseline = -1;
}

static void
draw(LoomInk *ink, double width_mm, double height_mm, gpointer data)
{
  (void)height_mm;
  LoomBarsView *self = data;
  loom_bars_draw(ink, self->bars, width_mm, self->cursor);
}

static void
loom_bars_view_snapshot(GtkWidget *widget, GtkSnapshot *snapshot)
{
  loom_inked_snapshot(widget, snapshot, LOOM_BARS_VIEW(widget)->bars ? draw : NULL, widget);
}

static void
on_focus(LoomBarsView *self)
{
  if (self->cursor == LOOM_NONE && self->bars && self->bars->n_bars)
    self->cursor = 0;
  show_cursor(self);
}

static void
loom_bars_view_finalize(GObject *object)
{
  g_clear_pointer(&LOOM_BARS_VIEW(object)->bars, loom_bars_free);
  G_OBJECT_CLASS(loom_bars_view_parent_class)->finalize(object);
}

static void
loom_bars_view_class_init(LoomBarsViewClass *class)
{
  GtkWidgetClass *widget_class = GTK_WIDGET_CLASS(class);
  G_OBJECT_CLASS(class)->finalize = loom_bars_view_finalize;
  widget_class->measure = loom_bars_view_measure;
  widget_class->snapshot = loom_bars_view_snapshot;
  gtk_widget_class_set_css_name(widget_class, "bars");
  gtk_widget_class_set_accessible_role(widget_class, GTK_ACCESSIBLE_ROLE_IMG);
  chosen_signal = g_signal_new("chosen", LOOM_TYPE_BARS_VIEW, G_SIGNAL_RUN_LAST, 0, NULL, NULL,
                               NULL, G_TYPE_NONE, 1, G_TYPE_UINT);
}

static void
loom_bars_view_init(LoomBarsView *self)
{
  self->cursor = LOOM_NONE;
  GtkGesture *click = gtk_gesture_click_new();
  g_signal_connect(click, "pressed", G_CALLBACK(on_click), self);
  gtk_widget_add_controller(GTK_WIDGET(self), GTK_EVENT_CONTROLLER(click));
  loom_inked_take_keys(GTK_WIDGET(self), G_CALLBACK(on_key), G_CALLBACK(on_focus));
}
