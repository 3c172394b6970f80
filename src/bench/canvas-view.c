#include "canvas-private.h"

#define SMALLEST_ZOOM 0.04
#define LARGEST_ZOOM 8.0
#define ZOOM_STEP 1.2
#define FIT_MARGIN_MM 15.0
#define ROOM_TO_GO_ON_MM 30.0
#define SMALLEST_READABLE 0.45 /* of natural size */
#define KEEP_IN_VIEW_PX 60.0
#define EDGE_PX 28.0
#define SETTLE_MS 140 /* after the last step of zooming */
#define EDGE_PX_PER_FRAME 9.0

double
loom_canvas_natural_scale(LoomCanvas *self)
{
  return LOOM_PX_PER_MM * loom_look_text_factor(GTK_WIDGET(self));
}

double
loom_canvas_zoom(LoomCanvas *self)
{
  return 100 * self->scale / loom_canvas_natural_scale(self);
}

LoomPoint
loom_canvas_to_sheet(LoomCanvas *self, double x, double y)
{
  return (LoomPoint){self->origin.x + x / self->scale, self->origin.y + y / self->scale};
}

LoomPoint
loom_canvas_from_sheet(LoomCanvas *self, LoomPoint at)
{
  return (LoomPoint){(at.x - self->origin.x) * self->scale, (at.y - self->origin.y) * self->scale};
}

LoomRect
loom_canvas_view_mm(LoomCanvas *self)
{
  return (LoomRect){self->origin.x, self->origin.y,
                    gtk_widget_get_width(GTK_WIDGET(self)) / self->scale,
                    gtk_widget_get_height(GTK_WIDGET(self)) / self->scale};
}

LoomPoint
loom_canvas_middle(LoomCanvas *self)
{
  LoomRect view = loom_canvas_view_mm(self);
  return (LoomPoint){view.x + view.width / 2, view.y + view.height / 2};
}

bool
loom_canvas_pointer(LoomCanvas *self, LoomPoint *at)
{
  *at = loom_canvas_to_sheet(self, self->pointer_px.x, self->pointer_px.y);
  return self->pointer_inside;
}

static void
view_changed(LoomCanvas *self)
{
  gtk_widget_queue_allocate(GTK_WIDGET(self));
  gtk_widget_queue_draw(GTK_WIDGET(self));
  g_signal_emit_by_name(self, "view");
}

/* Some of the sheet stays in the view, however far one pans. */
static void
keep_in_view(LoomCanvas *self)
{
  LoomRect view = loom_canvas_view_mm(self);
  LoomRect r = loom_document_sheet(self->document)->extents;
  double keep = KEEP_IN_VIEW_PX / self->scale;
  if (r.width <= 0 || view.width <= 2 * keep || view.height <= 2 * keep)
    return;
  self->origin.x = CLAMP(self->origin.x, r.x + keep - view.width, r.x + r.width - keep);
  self->origin.y = CLAMP(self->origin.y, r.y + keep - view.height, r.y + r.height - keep);
}

void
loom_canvas_set_origin(LoomCanvas *self, LoomPoint origin)
{
  self->origin = origin;
  keep_in_view(self);
  view_changed(self);
}

void
loom_canvas_pan_px(LoomCanvas *self, double dx, double dy)
{
  loom_canvas_set_origin(
      self, (LoomPoint){self->origin.x + dx / self->scale, self->origin.y + dy / self->scale});
}

static gboolean
zoom_settled(gpointer canvas)
{
  LOOM_CANVAS(canvas)->zoom_timer = 0;
  gtk_widget_queue_draw(canvas);
  return G_SOURCE_REMOVE;
}

void
loom_canvas_set_zoom(LoomCanvas *self, double percent, double x, double y)
{
  LoomPoint at = loom_canvas_to_sheet(self, x, y);
  self->scale = loom_canvas_natural_scale(self) * CLAMP(percent / 100, SMALLEST_ZOOM, LARGEST_ZOOM);
  g_clear_handle_id(&self->zoom_timer, g_source_remove);
  self->zoom_timer = g_timeout_add(SETTLE_MS, zoom_settled, self);
  loom_canvas_set_origin(self, (LoomPoint){at.x - x / self->scale, at.y - y / self->scale});
}

void
loom_canvas_zoom_step(LoomCanvas *self, int steps)
{
  loom_canvas_set_zoom(self, loom_canvas_zoom(self) * pow(ZOOM_STEP, steps),
                       gtk_widget_get_width(GTK_WIDGET(self)) / 2.0,
                       gtk_widget_get_height(GTK_WIDGET(self)) / 2.0);
}

static double
fit_scale(LoomCanvas *self, LoomRect r, double room_mm)
{
  double width = gtk_widget_get_width(GTK_WIDGET(self));
  double height = gtk_widget_get_height(GTK_WIDGET(self));
  return MIN(width / (r.width + 2 * FIT_MARGIN_MM + room_mm),
             height / (r.height + 2 * FIT_MARGIN_MM));
}

static void
centre_on(LoomCanvas *self, LoomRect r)
{
  self->origin.x = r.x + r.width / 2 - gtk_widget_get_width(GTK_WIDGET(self)) / 2.0 / self->scale;
  self->origin.y = r.y + r.height / 2 - gtk_widget_get_height(GTK_WIDGET(self)) / 2.0 / self->scale;
  view_changed(self);
}

/* The whole sheet, but no larger than natural size; an empty one has its corner at the upper left.
 */
void
loom_canvas_zoom_fit(LoomCanvas *self)
{
  LoomRect r = loom_document_sheet(self->document)->extents;
  double natural = loom_canvas_natural_scale(self);
  if (gtk_widget_get_width(GTK_WIDGET(self)) <= 0)
    return;
  self->placed = true;
  if (r.width <= 0) {
    self->scale = natural;
    self->origin = (LoomPoint){0, 0};
    view_changed(self);
    return;
  }
  self->scale = CLAMP(fit_scale(self, r, 0), natural * SMALLEST_ZOOM, natural);
  centre_on(self, r);
}

static double
shift_to_show(double low, double high, double view_low, double view_high)
{
  if (high - low > view_high - view_low || low < view_low)
    return low - view_low;
  return high > view_high ? high - view_high : 0;
}

void
loom_canvas_reveal(LoomCanvas *self, const char *designation, const char *end)
{
  const LoomSheet *sheet = loom_document_sheet(self->document);
  guint part = loom_design_find_part(sheet->design, designation);
  if (part == LOOM_NONE || gtk_widget_get_width(GTK_WIDGET(self)) <= 0)
    return;
  LoomRect r = sheet->parts[part].outline;
  guint index =
      end ? loom_kind_find_end(loom_design_part(sheet->design, part)->kind, end) : LOOM_NONE;
  if (index != LOOM_NONE)
    r = loom_sheet_end(sheet, part, index)->box;
  LoomRect view = loom_canvas_view_mm(self);
  double margin = MIN(FIT_MARGIN_MM, MIN(view.width, view.height) / 8);
  double dx = shift_to_show(r.x - margin, r.x + r.width + margin, view.x, view.x + view.width);
  double dy = shift_to_show(r.y - margin, r.y + r.height + margin, view.y, view.y + view.height);
  if (fabs(dx) + fabs(dy) > 0)
    loom_canvas_set_origin(self, (LoomPoint){self->origin.x + dx, self->origin.y + dy});
}

static LoomRect
reach_of(const LoomSheet *sheet, guint part)
{
  const LoomPlacedPart *placed = &sheet->parts[part];
  double left = placed->outline.x, right = left + placed->outline.width;
  double top = placed->outline.y, bottom = top + placed->outline.height;
  for (guint i = placed->first_end; i < placed->first_end + placed->n_ends; i++) {
    left = MIN(left, sheet->ends[i].box.x);
    right = MAX(right, sheet->ends[i].box.x + sheet->ends[i].box.width);
    top = MIN(top, sheet->ends[i].box.y);
    bottom = MAX(bottom, sheet->ends[i].box.y + sheet->ends[i].box.height);
  }
  return (LoomRect){left, top, right - left, bottom - top};
}

void
loom_canvas_show_new(LoomCanvas *self, const char *designation)
{
  const LoomSheet *sheet = loom_document_sheet(self->document);
  guint part = loom_design_find_part(sheet->design, designation);
  LoomRect view = loom_canvas_view_mm(self);
  if (part == LOOM_NONE || view.width <= 0)
    return;
  LoomRect r = reach_of(sheet, part);
  double room = MIN(ROOM_TO_GO_ON_MM, view.width / 6);
  if (r.x >= view.x && r.y >= view.y && r.x + r.width + room <= view.x + view.width &&
      r.y + r.height <= view.y + view.height)
    return;
  double fit = fit_scale(self, sheet->extents, room);
  if (fit < SMALLEST_READABLE * loom_canvas_natural_scale(self)) {
    loom_canvas_reveal(self, designation, NULL);
    return;
  }
  self->scale = MIN(self->scale, fit);
  centre_on(self, (LoomRect){sheet->extents.x, sheet->extents.y, sheet->extents.width + room,
                             sheet->extents.height});
}

/* While something is dragged near an edge, the view follows. */

static double
edge_pull(double at, double size)
{
  if (at < EDGE_PX)
    return -EDGE_PX_PER_FRAME * MIN(1, (EDGE_PX - at) / EDGE_PX);
  if (at > size - EDGE_PX)
    return EDGE_PX_PER_FRAME * MIN(1, (at - size + EDGE_PX) / EDGE_PX);
  return 0;
}

static gboolean
on_edge_tick(GtkWidget *widget, GdkFrameClock *clock, gpointer data)
{
  (void)clock;
  (void)data;
  LoomCanvas *self = LOOM_CANVAS(widget);
  double dx = edge_pull(self->drag.now_px.x, gtk_widget_get_width(widget));
  double dy = edge_pull(self->drag.now_px.y, gtk_widget_get_height(widget));
  bool near_edge = fabs(dx) + fabs(dy) > 0;
  self->drag.was_inside = self->drag.was_inside || !near_edge;
  if (near_edge && self->drag.was_inside) {
    loom_canvas_pan_px(self, dx, dy);
    loom_canvas_follow_drag(self, self->drag.now_px.x, self->drag.now_px.y);
  }
  return G_SOURCE_CONTINUE;
}

void
loom_canvas_edge_pan(LoomCanvas *self, bool on)
{
  if (on && !self->edge_tick)
    self->edge_tick = gtk_widget_add_tick_callback(GTK_WIDGET(self), on_edge_tick, NULL, NULL);
  if (!on && self->edge_tick) {
    gtk_widget_remove_tick_callback(GTK_WIDGET(self), self->edge_tick);
    self->edge_tick = 0;
  }
}
