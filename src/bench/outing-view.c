#include "outing-view.h"

#include "inked.h"

#include <glib/gi18n-lib.h>
#include <math.h>

#define HEIGHT_MM 60.0 /* at ordinary text; larger text gets no more */
#define ORDINARY_PX_PER_MM (96.0 / 25.4)
#define LEAST_HEIGHT_MM 42.0

struct _LoomOutingView {
  GtkWidget parent;
  LoomOutingPlot *plot;
  double cursor_s;
};

G_DEFINE_FINAL_TYPE(LoomOutingView, loom_outing_view, GTK_TYPE_WIDGET)

static guint moved_signal;

const LoomOutingPlot *
loom_outing_view_plot(LoomOutingView *self)
{
  return self->plot;
}

double
loom_outing_view_cursor(LoomOutingView *self)
{
  return self->cursor_s;
}

static void
put_cursor(LoomOutingView *self, double time_s)
{
  if (!self->plot)
    return;
  self->cursor_s = time_s;
  g_autofree char *text = isnan(time_s) ? g_strdup(_("Curve of the outing"))
                                        : loom_outing_plot_text(self->plot, time_s);
  gtk_accessible_update_property(GTK_ACCESSIBLE(self), GTK_ACCESSIBLE_PROPERTY_LABEL, text, -1);
  gtk_widget_queue_draw(GTK_WIDGET(self));
  g_signal_emit(self, moved_signal, 0);
}

void
loom_outing_view_set(LoomOutingView *self, LoomOutingPlot *plot)
{
  g_clear_pointer(&self->plot, loom_outing_plot_free);
  self->plot = plot;
  double last = plot ? loom_outing_plot_seconds(plot) : 0;
  put_cursor(self, fmin(self->cursor_s, last));
  gtk_widget_queue_draw(GTK_WIDGET(self));
}

static void
on_motion(GtkEventControllerMotion *controller, double x, double y, gpointer data)
{
  (void)controller;
  (void)y;
  LoomOutingView *self = data;
  if (self->plot)
    put_cursor(
        self, loom_outing_plot_time(self->plot,
                                    gtk_widget_get_width(data) / loom_inked_scale(GTK_WIDGET(self)),
                                    x / loom_inked_scale(GTK_WIDGET(self))));
}

static gboolean
on_key(GtkEventControllerKey *controller, guint key, guint code, GdkModifierType state,
       gpointer data)
{
  (void)controller;
  (void)code;
  LoomOutingView *self = data;
  if (!self->plot || state & (GDK_CONTROL_MASK | GDK_ALT_MASK))
    return FALSE;
  double at = isnan(self->cursor_s) ? 0 : self->cursor_s,
         end = loom_outing_plot_seconds(self->plot);
  if (key == GDK_KEY_Right)
    at = loom_outing_plot_step(self->plot, at, 1);
  else if (key == GDK_KEY_Left)
    at = loom_outing_plot_step(self->plot, at, -1);
  else if (key == GDK_KEY_Page_Down)
    at = fmin(at + end / 10, end);
  else if (key == GDK_KEY_Page_Up)
    at = fmax(at - end / 10, 0);
  else if (key == GDK_KEY_Home)
    at = 0;
  else if (key == GDK_KEY_End)
    at = end;
  else
    return FALSE;
  put_cursor(self, at);
  return TRUE;
}

static void
on_focus(LoomOutingView *self)
{
  put_cursor(self, isnan(self->cursor_s) ? 0 : self->cursor_s);
}

static void
loom_outing_view_measure(GtkWidget *widget, GtkOrientation orientation, int for_size, int *minimum,
                         int *natural, int *minimum_baseline, int *natural_baseline)
{
  (void)for_size;
  bool across = orientation == GTK_ORIENTATION_HORIZONTAL;
  *minimum = across ? 200 : (int)(LEAST_HEIGHT_MM * loom_inked_scale(widget));
  *natural = across ? 400 : MAX(*minimum, (int)(HEIGHT_MM * ORDINARY_PX_PER_MM));
  *minimum_baseline = *natural_baseline = -1;
}

static void
draw(LoomInk *ink, double width_mm, double height_mm, gpointer data)
{
  LoomOutingView *self = data;
  loom_outing_plot_draw(ink, self->plot, width_mm, height_mm, self->cursor_s);
}

static void
loom_outing_view_snapshot(GtkWidget *widget, GtkSnapshot *snapshot)
{
  loom_inked_snapshot(widget, snapshot, LOOM_OUTING_VIEW(widget)->plot ? draw : NULL, widget);
}

static void
loom_outing_view_finalize(GObject *object)
{
  g_clear_pointer(&LOOM_OUTING_VIEW(object)->plot, loom_outing_plot_free);
  G_OBJECT_CLASS(loom_outing_view_parent_class)->finalize(object);
}

static void
loom_outing_view_class_init(LoomOutingViewClass *class)
{
  GtkWidgetClass *widget_class = GTK_WIDGET_CLASS(class);
  G_OBJECT_CLASS(class)->finalize = loom_outing_view_finalize;
  widget_class->measure = loom_outing_view_measure;
  widget_class->snapshot = loom_outing_view_snapshot;
  gtk_widget_class_set_css_name(widget_class, "curve");
  gtk_widget_class_set_accessible_role(widget_class, GTK_ACCESSIBLE_ROLE_IMG);
  moved_signal = g_signal_new("moved", LOOM_TYPE_OUTING_VIEW, G_SIGNAL_RUN_LAST, 0, NULL, NULL,
                              NULL, G_TYPE_NONE, 0);
}

static void
loom_outing_view_init(LoomOutingView *self)
{
  GtkWidget *widget = GTK_WIDGET(self);
  self->cursor_s = NAN;
  gtk_widget_set_hexpand(widget, TRUE);
  gtk_widget_set_vexpand(widget, TRUE);
  GtkEventController *motion = gtk_event_controller_motion_new();
  g_signal_connect(motion, "motion", G_CALLBACK(on_motion), self);
  gtk_widget_add_controller(widget, motion);
  loom_inked_take_keys(widget, G_CALLBACK(on_key), G_CALLBACK(on_focus));
}
