#include "sheet-view.h"

#include "look.h"
#include "sheet/inks.h"

#include <math.h>

#define PX_PER_MM (96.0 / 25.4) /* at 100 % and ordinary text */
#define SMALLEST_ZOOM 0.04
#define LARGEST_ZOOM 8.0
#define ZOOM_STEP 1.2
#define FIT_MARGIN_MM 10.0
#define LIT_MARGIN_PX 40.0
#define COARSE_SCALE 0.9 /* pixels a millimetre below which no text can be read */
#define ARROW_PX 60.0
#define WHEEL_PX 60.0

/* What the node was drawn for. */
typedef struct {
  double scale;
  LoomPoint origin;
  int width, height;
  LoomPalette palette;
} Drawn;

struct _LoomSheetView {
  GtkWidget parent;
  const LoomSheet *sheet;
  LoomDrawOptions options;
  double scale;     /* pixels a millimetre */
  LoomPoint origin; /* mm at the widget's upper left corner */
  bool placed;      /* the view has been set once */
  GArray *lit;      /* LoomRect */
  GskRenderNode *node;
  Drawn drawn;
  LoomPoint grabbed; /* origin when the drag began */
  LoomPoint pointer; /* in the widget */
  double pinch_scale;
};

G_DEFINE_FINAL_TYPE(LoomSheetView, loom_sheet_view, GTK_TYPE_WIDGET)

static double
natural_scale(LoomSheetView *self)
{
  return PX_PER_MM * loom_look_text_factor(GTK_WIDGET(self));
}

LoomPoint
loom_sheet_view_from_sheet(LoomSheetView *self, LoomPoint at)
{
  return (LoomPoint){(at.x - self->origin.x) * self->scale, (at.y - self->origin.y) * self->scale};
}

static void
set_scale(LoomSheetView *self, double scale, double x, double y)
{
  double natural = natural_scale(self);
  LoomPoint at = {self->origin.x + x / self->scale, self->origin.y + y / self->scale};
  self->scale = CLAMP(scale, natural * SMALLEST_ZOOM, natural * LARGEST_ZOOM);
  self->origin = (LoomPoint){at.x - x / self->scale, at.y - y / self->scale};
  gtk_widget_queue_draw(GTK_WIDGET(self));
}

static void
pan(LoomSheetView *self, double dx_px, double dy_px)
{
  self->origin.x += dx_px / self->scale;
  self->origin.y += dy_px / self->scale;
  gtk_widget_queue_draw(GTK_WIDGET(self));
}

void
loom_sheet_view_zoom_step(LoomSheetView *self, int steps)
{
  set_scale(self, self->scale * pow(ZOOM_STEP, steps), gtk_widget_get_width(GTK_WIDGET(self)) / 2.0,
            gtk_widget_get_height(GTK_WIDGET(self)) / 2.0);
}

void
loom_sheet_view_zoom_fit(LoomSheetView *self)
{
  double width = gtk_widget_get_width(GTK_WIDGET(self));
  double height = gtk_widget_get_height(GTK_WIDGET(self));
  if (!self->sheet || width <= 0)
    return;
  LoomRect r = loom_draw_extents(self->sheet, &self->options);
  double natural = natural_scale(self);
  double fit = fmin(width / (r.width + 2 * FIT_MARGIN_MM), height / (r.height + 2 * FIT_MARGIN_MM));
  self->scale = CLAMP(fit, natural * SMALLEST_ZOOM, natural);
  self->origin.x = r.x + r.width / 2 - width / 2 / self->scale;
  self->origin.y = r.y + r.height / 2 - height / 2 / self->scale;
  self->placed = true;
  gtk_widget_queue_draw(GTK_WIDGET(self));
}

void
loom_sheet_view_show(LoomSheetView *self, const LoomSheet *sheet, const LoomDrawOptions *options)
{
  self->sheet = sheet;
  self->options = *options;
  g_clear_pointer(&self->node, gsk_render_node_unref);
  g_array_set_size(self->lit, 0);
  if (!self->placed)
    loom_sheet_view_zoom_fit(self);
  gtk_widget_queue_draw(GTK_WIDGET(self));
}

/* How far to move so that low ... high lies within the view; too large a thing shows its start. */
static double
shift_to_show(double low, double high, double size)
{
  if (high - low > size - 2 * LIT_MARGIN_PX || low < LIT_MARGIN_PX)
    return low - LIT_MARGIN_PX;
  return high > size - LIT_MARGIN_PX ? high - size + LIT_MARGIN_PX : 0;
}

void
loom_sheet_view_light(LoomSheetView *self, const LoomRect *boxes, guint n)
{
  g_array_set_size(self->lit, 0);
  if (n)
    g_array_append_vals(self->lit, boxes, n);
  LoomPoint low = {INFINITY, INFINITY}, high = {-INFINITY, -INFINITY};
  for (guint i = 0; i < n; i++) {
    LoomPoint a = loom_sheet_view_from_sheet(self, (LoomPoint){boxes[i].x, boxes[i].y});
    low = (LoomPoint){fmin(low.x, a.x), fmin(low.y, a.y)};
    high = (LoomPoint){fmax(high.x, a.x + boxes[i].width * self->scale),
                       fmax(high.y, a.y + boxes[i].height * self->scale)};
  }
  if (n)
    pan(self, shift_to_show(low.x, high.x, gtk_widget_get_width(GTK_WIDGET(self))),
        shift_to_show(low.y, high.y, gtk_widget_get_height(GTK_WIDGET(self))));
  gtk_widget_queue_draw(GTK_WIDGET(self));
}

/* Drawing. */

static void
renew_node(LoomSheetView *self, const Drawn *wanted)
{
  LoomDrawOptions options = self->options;
  options.palette = wanted->palette;
  options.coarse = self->scale < COARSE_SCALE;
  options.clip = (LoomRect){self->origin.x, self->origin.y, wanted->width / self->scale,
                            wanted->height / self->scale};
  GtkSnapshot *snapshot = gtk_snapshot_new();
  cairo_t *cr = gtk_snapshot_append_cairo(
      snapshot, &GRAPHENE_RECT_INIT(0, 0, (float)wanted->width, (float)wanted->height));
  cairo_scale(cr, self->scale, self->scale);
  cairo_translate(cr, -self->origin.x, -self->origin.y);
  g_autoptr(LoomInk) ink = loom_ink_cairo_new(cr, options.palette);
  loom_draw_sheet(ink, self->sheet, &options);
  cairo_destroy(cr);
  g_clear_pointer(&self->node, gsk_render_node_unref);
  self->node = gtk_snapshot_free_to_node(snapshot);
  self->drawn = *wanted;
}

static void
draw_lit(LoomSheetView *self, GtkSnapshot *snapshot, LoomPalette palette)
{
  GdkRGBA c = loom_look_rgba(palette, LOOM_PAINT_CHOSEN, 1);
  for (guint i = 0; i < self->lit->len; i++) {
    LoomRect r = g_array_index(self->lit, LoomRect, i);
    LoomPoint a = loom_sheet_view_from_sheet(self, (LoomPoint){r.x, r.y});
    graphene_rect_t box =
        GRAPHENE_RECT_INIT((float)a.x - 9, (float)a.y - 9, (float)(r.width * self->scale) + 18,
                           (float)(r.height * self->scale) + 18);
    GskRoundedRect outline;
    gsk_rounded_rect_init_from_rect(&outline, &box, 8);
    gtk_snapshot_append_border(snapshot, &outline, (float[4]){3, 3, 3, 3},
                               (GdkRGBA[4]){c, c, c, c});
  }
}

static bool
is_drawn(const Drawn *a, const Drawn *b)
{
  return a->width == b->width && a->height == b->height && a->palette == b->palette &&
         fabs(a->scale - b->scale) <= 0 && fabs(a->origin.x - b->origin.x) <= 0 &&
         fabs(a->origin.y - b->origin.y) <= 0;
}

static void
loom_sheet_view_snapshot(GtkWidget *widget, GtkSnapshot *snapshot)
{
  LoomSheetView *self = LOOM_SHEET_VIEW(widget);
  LoomPalette palette = loom_look_palette(widget);
  Drawn wanted = {self->scale, self->origin, gtk_widget_get_width(widget),
                  gtk_widget_get_height(widget), palette};
  graphene_rect_t all = GRAPHENE_RECT_INIT(0, 0, (float)wanted.width, (float)wanted.height);
  GdkRGBA paper = loom_look_rgba(palette, LOOM_PAINT_PAPER, 1);
  gtk_snapshot_push_clip(snapshot, &all);
  gtk_snapshot_append_color(snapshot, &paper, &all);
  if (self->sheet && (!self->node || !is_drawn(&self->drawn, &wanted)))
    renew_node(self, &wanted);
  if (self->sheet && self->node)
    gtk_snapshot_append_node(snapshot, self->node);
  draw_lit(self, snapshot, palette);
  if (gtk_widget_has_visible_focus(widget))
    gtk_snapshot_render_focus(snapshot, gtk_widget_get_style_context(widget), 2, 2,
                              wanted.width - 4, wanted.height - 4);
  gtk_snapshot_pop(snapshot);
}

static void
loom_sheet_view_size_allocate(GtkWidget *widget, int width, int height, int baseline)
{
  LoomSheetView *self = LOOM_SHEET_VIEW(widget);
  GTK_WIDGET_CLASS(loom_sheet_view_parent_class)->size_allocate(widget, width, height, baseline);
  if (!self->placed)
    loom_sheet_view_zoom_fit(self);
}

/* Pointer and keys. */

static void
on_drag_begin(GtkGestureDrag *gesture, double x, double y, gpointer data)
{
  (void)gesture;
  (void)x;
  (void)y;
  LoomSheetView *self = data;
  self->grabbed = self->origin;
  gtk_widget_grab_focus(GTK_WIDGET(self));
  gtk_widget_set_cursor_from_name(GTK_WIDGET(self), "grabbing");
}

static void
on_drag(GtkGestureDrag *gesture, double dx, double dy, gpointer data)
{
  (void)gesture;
  LoomSheetView *self = data;
  self->origin =
      (LoomPoint){self->grabbed.x - dx / self->scale, self->grabbed.y - dy / self->scale};
  gtk_widget_queue_draw(GTK_WIDGET(self));
}

static void
on_drag_end(GtkGestureDrag *gesture, double dx, double dy, gpointer data)
{
  (void)gesture;
  (void)dx;
  (void)dy;
  gtk_widget_set_cursor(data, NULL);
}

static void
on_motion(GtkEventControllerMotion *controller, double x, double y, gpointer data)
{
  (void)controller;
  LOOM_SHEET_VIEW(data)->pointer = (LoomPoint){x, y};
}

static gboolean
on_scroll(GtkEventControllerScroll *controller, double dx, double dy, gpointer data)
{
  LoomSheetView *self = data;
  GdkModifierType state =
      gtk_event_controller_get_current_event_state(GTK_EVENT_CONTROLLER(controller));
  if (state & GDK_CONTROL_MASK)
    set_scale(self, self->scale * pow(ZOOM_STEP, -dy), self->pointer.x, self->pointer.y);
  else if (state & GDK_SHIFT_MASK)
    pan(self, dy * WHEEL_PX, dx * WHEEL_PX);
  else
    pan(self, dx * WHEEL_PX, dy * WHEEL_PX);
  return GDK_EVENT_STOP;
}

static void
on_pinch_begin(GtkGesture *gesture, GdkEventSequence *sequence, gpointer data)
{
  (void)gesture;
  (void)sequence;
  LOOM_SHEET_VIEW(data)->pinch_scale = LOOM_SHEET_VIEW(data)->scale;
}

static void
on_pinch(GtkGestureZoom *gesture, double factor, gpointer data)
{
  LoomSheetView *self = data;
  double x, y;
  if (gtk_gesture_get_bounding_box_center(GTK_GESTURE(gesture), &x, &y))
    set_scale(self, self->pinch_scale * factor, x, y);
}

static gboolean
on_key(GtkEventControllerKey *controller, guint key, guint code, GdkModifierType state,
       gpointer data)
{
  (void)controller;
  (void)code;
  (void)state;
  LoomSheetView *self = data;
  static const struct {
    guint key;
    int dx, dy;
  } ARROWS[] = {
      {GDK_KEY_Left, -1, 0}, {GDK_KEY_Right, 1, 0}, {GDK_KEY_Up, 0, -1}, {GDK_KEY_Down, 0, 1}};
  for (guint i = 0; i < G_N_ELEMENTS(ARROWS); i++)
    if (ARROWS[i].key == key) {
      pan(self, ARROWS[i].dx * ARROW_PX, ARROWS[i].dy * ARROW_PX);
      return GDK_EVENT_STOP;
    }
  return GDK_EVENT_PROPAGATE;
}

static void
add_controllers(LoomSheetView *self)
{
  GtkGesture *drag = gtk_gesture_drag_new();
  gtk_gesture_single_set_button(GTK_GESTURE_SINGLE(drag), 0);
  g_signal_connect(drag, "drag-begin", G_CALLBACK(on_drag_begin), self);
  g_signal_connect(drag, "drag-update", G_CALLBACK(on_drag), self);
  g_signal_connect(drag, "drag-end", G_CALLBACK(on_drag_end), self);
  GtkEventController *motion = gtk_event_controller_motion_new();
  g_signal_connect(motion, "motion", G_CALLBACK(on_motion), self);
  GtkEventController *scroll =
      gtk_event_controller_scroll_new(GTK_EVENT_CONTROLLER_SCROLL_BOTH_AXES);
  g_signal_connect(scroll, "scroll", G_CALLBACK(on_scroll), self);
  GtkGesture *pinch = gtk_gesture_zoom_new();
  g_signal_connect(pinch, "begin", G_CALLBACK(on_pinch_begin), self);
  g_signal_connect(pinch, "scale-changed", G_CALLBACK(on_pinch), self);
  GtkEventController *keys = gtk_event_controller_key_new();
  g_signal_connect(keys, "key-pressed", G_CALLBACK(on_key), self);
  GtkEventController *all[] = {GTK_EVENT_CONTROLLER(drag), motion, scroll,
                               GTK_EVENT_CONTROLLER(pinch), keys};
  for (guint i = 0; i < G_N_ELEMENTS(all); i++)
    gtk_widget_add_controller(GTK_WIDGET(self), all[i]);
}

static void
loom_sheet_view_finalize(GObject *object)
{
  LoomSheetView *self = LOOM_SHEET_VIEW(object);
  g_clear_pointer(&self->node, gsk_render_node_unref);
  g_array_unref(self->lit);
  G_OBJECT_CLASS(loom_sheet_view_parent_class)->finalize(object);
}

static void
loom_sheet_view_class_init(LoomSheetViewClass *class)
{
  GtkWidgetClass *widget_class = GTK_WIDGET_CLASS(class);
  G_OBJECT_CLASS(class)->finalize = loom_sheet_view_finalize;
  widget_class->snapshot = loom_sheet_view_snapshot;
  widget_class->size_allocate = loom_sheet_view_size_allocate;
  gtk_widget_class_set_css_name(widget_class, "sheetview");
  gtk_widget_class_set_accessible_role(widget_class, GTK_ACCESSIBLE_ROLE_IMG);
}

static void
loom_sheet_view_init(LoomSheetView *self)
{
  self->scale = PX_PER_MM;
  self->lit = g_array_new(FALSE, FALSE, sizeof(LoomRect));
  gtk_widget_set_focusable(GTK_WIDGET(self), TRUE);
  gtk_widget_set_hexpand(GTK_WIDGET(self), TRUE);
  gtk_widget_set_vexpand(GTK_WIDGET(self), TRUE);
  gtk_widget_set_overflow(GTK_WIDGET(self), GTK_OVERFLOW_HIDDEN);
  add_controllers(self);
}
