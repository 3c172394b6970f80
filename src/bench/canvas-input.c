#include "canvas-private.h"

#include <glib/gi18n-lib.h>

#define CLICK_PX 4.0
#define ZOOM_PER_NOTCH 1.15
#define PAN_PX_PER_NOTCH 48.0

LoomHit
loom_canvas_hit(LoomCanvas *self, LoomPoint at)
{
  return loom_sheet_hit(loom_document_sheet(self->document), at.x, at.y,
                        LOOM_SLACK_PX / self->scale);
}

bool
loom_canvas_nearest_end(LoomCanvas *self, LoomPoint at, LoomEndWanted wanted, guint *part,
                        guint *end)
{
  const LoomSheet *sheet = loom_document_sheet(self->document);
  double best = LOOM_MAGNET_PX / self->scale;
  const LoomPlacedEnd *found = NULL;
  for (guint i = 0; i < sheet->n_ends; i++) {
    const LoomPlacedEnd *e = &sheet->ends[i];
    double distance = hypot(e->at.x - at.x, e->at.y - at.y);
    if (distance < best && wanted(self, e)) {
      best = distance;
      found = e;
    }
  }
  if (!found)
    return false;
  *part = found->part;
  *end = found->end;
  return true;
}

/* Drags. */

static void
clear_drag(LoomDrag *drag)
{
  g_clear_pointer(&drag->edit, loom_edit_free);
  g_clear_pointer(&drag->sheet, loom_sheet_free);
  g_clear_pointer(&drag->moving, g_array_unref);
  g_clear_pointer(&drag->preview, loom_preview_free);
  g_clear_pointer(&drag->parts, g_ptr_array_unref);
  g_clear_pointer(&drag->from, g_array_unref);
  g_clear_pointer(&drag->end_name, g_free);
  g_clear_pointer(&drag->pulled, g_free);
  g_clear_pointer(&drag->rings, loom_rings_free);
  g_clear_pointer(&drag->kind, loom_kind_unref);
}

void
loom_canvas_end_drag(LoomCanvas *self)
{
  LoomDrag *drag = &self->drag;
  loom_canvas_edge_pan(self, false);
  gtk_widget_set_visible(self->bubble, FALSE);
  guint serial = drag->hidden_serial + (drag->preview != NULL);
  clear_drag(drag);
  *drag = (LoomDrag){.mode = LOOM_DRAG_NONE,
                     .hidden_serial = serial,
                     .over_part = LOOM_NONE,
                     .over_end = LOOM_NONE};
  g_clear_pointer(&self->moving, gsk_render_node_unref);
  gtk_widget_queue_draw(GTK_WIDGET(self));
}

bool
loom_canvas_cancel(LoomCanvas *self)
{
  if (self->drag.mode == LOOM_DRAG_NONE)
    return false;
  gtk_event_controller_reset(GTK_EVENT_CONTROLLER(self->press));
  loom_canvas_end_drag(self);
  return true;
}

static void
follow_band(LoomCanvas *self)
{
  gtk_widget_queue_draw(GTK_WIDGET(self));
}

static void
follow_pan(LoomCanvas *self)
{
  LoomDrag *drag = &self->drag;
  loom_canvas_set_origin(
      self, (LoomPoint){drag->origin.x - (drag->now_px.x - drag->start_px.x) / self->scale,
                        drag->origin.y - (drag->now_px.y - drag->start_px.y) / self->scale});
}

static void
follow_none(LoomCanvas *self)
{
  (void)self;
}

void
loom_canvas_follow_drag(LoomCanvas *self, double x, double y)
{
  static void (*const follow[])(LoomCanvas *) = {
      [LOOM_DRAG_NONE] = follow_none,
      [LOOM_DRAG_PAN] = follow_pan,
      [LOOM_DRAG_BAND] = follow_band,
      [LOOM_DRAG_MOVE] = loom_canvas_follow_move,
      [LOOM_DRAG_JOIN] = loom_canvas_follow_join,
      [LOOM_DRAG_PLACE] = loom_canvas_follow_place,
  };
  self->drag.now_px = (LoomPoint){x, y};
  self->drag.now = loom_canvas_to_sheet(self, x, y);
  follow[self->drag.mode](self);
  if (gtk_widget_get_visible(self->bubble))
    gtk_widget_queue_allocate(GTK_WIDGET(self));
  gtk_widget_queue_draw(GTK_WIDGET(self));
}

static GdkModifierType
modifiers(LoomCanvas *self)
{
  return gtk_event_controller_get_current_event_state(GTK_EVENT_CONTROLLER(self->press));
}

void
loom_canvas_choose_for_move(LoomCanvas *self, guint part)
{
  const char *designation = loom_canvas_part(self, part)->designation;
  if (!loom_choice_has(self->choice, designation))
    loom_choice_set_part(self->choice, designation, NULL);
}

static bool
lead_is_laid(LoomCanvas *self, guint part)
{
  const LoomSheet *sheet = loom_document_sheet(self->document);
  if (!loom_canvas_part(self, part)->kind->lead)
    return false;
  for (guint i = 0; i < sheet->parts[part].n_ends; i++)
    if (!sheet->ends[sheet->parts[part].first_end + i].plugged)
      return false;
  return true;
}

/* The joint is pulled at the end of the lead, or at its second end. */
static void
begin_pull(LoomCanvas *self, guint joint_index)
{
  const LoomJoint *joint = loom_design_joint(loom_document_design(self->document), joint_index);
  g_autofree char *name = g_strdup_printf("%s:%s", joint->b.part, joint->b.end);
  guint part, end;
  if (loom_design_find_end(loom_document_design(self->document), name, &part, &end, NULL))
    loom_canvas_begin_join(self, part, end);
}

static void
begin_on(LoomCanvas *self, const LoomHit *hit)
{
  if (hit->type == LOOM_HIT_END) {
    loom_canvas_begin_join(self, hit->part, hit->end);
  } else if (hit->type == LOOM_HIT_JOINT) {
    begin_pull(self, hit->joint);
  } else if (hit->type == LOOM_HIT_NOTHING) {
    self->drag.mode = LOOM_DRAG_BAND;
  } else if (lead_is_laid(self, hit->part)) {
    loom_canvas_tell(self, _("A plugged lead is laid by itself: move the parts that it joins."));
  } else {
    loom_canvas_choose_for_move(self, hit->part);
    loom_canvas_begin_move(self);
  }
}

static void
begin_drag(LoomCanvas *self, double x, double y)
{
  guint button = gtk_gesture_single_get_current_button(GTK_GESTURE_SINGLE(self->press));
  self->drag.start_px = (LoomPoint){x, y};
  self->drag.start = loom_canvas_to_sheet(self, x, y);
  self->drag.origin = self->origin;
  if (button == GDK_BUTTON_MIDDLE || self->space) {
    self->drag.mode = LOOM_DRAG_PAN;
    return;
  }
  LoomHit hit = loom_canvas_hit(self, self->drag.start);
  gtk_widget_grab_focus(GTK_WIDGET(self)); /* so that Escape comes here */
  begin_on(self, &hit);
  loom_canvas_hint(self, NULL);
  loom_canvas_edge_pan(self,
                       self->drag.mode == LOOM_DRAG_MOVE || self->drag.mode == LOOM_DRAG_JOIN);
}

static void
on_press_update(GtkGestureDrag *gesture, double dx, double dy, gpointer data)
{
  LoomCanvas *self = data;
  double x, y;
  gtk_gesture_drag_get_start_point(gesture, &x, &y);
  if (self->drag.mode == LOOM_DRAG_NONE) {
    if (hypot(dx, dy) < CLICK_PX)
      return;
    gtk_gesture_set_state(GTK_GESTURE(gesture), GTK_EVENT_SEQUENCE_CLAIMED);
    begin_drag(self, x, y);
  }
  loom_canvas_follow_drag(self, x + dx, y + dy);
}

/* What the rubber band took in. */
static void
drop_band(LoomCanvas *self)
{
  LoomPoint a = self->drag.start, b = self->drag.now;
  const LoomSheet *sheet = loom_document_sheet(self->document);
  LoomRect rect = {MIN(a.x, b.x), MIN(a.y, b.y), fabs(a.x - b.x), fabs(a.y - b.y)};
  g_autoptr(GArray) found = loom_sheet_parts_in(sheet, rect);
  g_autoptr(GPtrArray) names = g_ptr_array_new();
  bool add = modifiers(self) & (GDK_SHIFT_MASK | GDK_CONTROL_MASK);
  g_autoptr(GPtrArray) kept = g_ptr_array_new_with_free_func(g_free);
  for (guint i = 0; add && i < loom_choice_n_parts(self->choice); i++)
    g_ptr_array_add(kept, g_strdup(loom_choice_part(self->choice, i)));
  for (guint i = 0; i < kept->len; i++)
    g_ptr_array_add(names, g_ptr_array_index(kept, i));
  for (guint i = 0; i < found->len; i++)
    g_ptr_array_add(names,
                    loom_design_part(sheet->design, g_array_index(found, guint, i))->designation);
  loom_canvas_end_drag(self);
  loom_choice_set_parts(self->choice, (const char *const *)names->pdata, names->len);
}

static void
on_press_end(GtkGestureDrag *gesture, double dx, double dy, gpointer data)
{
  LoomCanvas *self = data;
  double x, y;
  gtk_gesture_drag_get_start_point(gesture, &x, &y);
  LoomDragMode mode = self->drag.mode;
  if (mode != LOOM_DRAG_NONE)
    loom_canvas_follow_drag(self, x + dx, y + dy);
  if (mode == LOOM_DRAG_BAND)
    drop_band(self);
  else if (mode == LOOM_DRAG_MOVE)
    loom_canvas_drop_move(self);
  else if (mode == LOOM_DRAG_JOIN)
    loom_canvas_drop_join(self);
  else if (mode == LOOM_DRAG_PAN)
    loom_canvas_end_drag(self);
  else if (gtk_gesture_single_get_current_button(GTK_GESTURE_SINGLE(gesture)) ==
               GDK_BUTTON_PRIMARY &&
           hypot(dx, dy) < CLICK_PX)
    loom_canvas_click(self, loom_canvas_to_sheet(self, x, y), modifiers(self));
}

static void
on_press_cancel(GtkGesture *gesture, GdkEventSequence *sequence, gpointer data)
{
  (void)gesture;
  (void)sequence;
  LoomCanvas *self = data;
  if (self->drag.mode != LOOM_DRAG_NONE && self->drag.mode != LOOM_DRAG_PLACE)
    loom_canvas_end_drag(self);
}

static gboolean
on_scroll(GtkEventControllerScroll *controller, double dx, double dy, gpointer data)
{
  LoomCanvas *self = data;
  GdkModifierType state =
      gtk_event_controller_get_current_event_state(GTK_EVENT_CONTROLLER(controller));
  if (state & GDK_CONTROL_MASK)
    loom_canvas_set_zoom(self, loom_canvas_zoom(self) * pow(ZOOM_PER_NOTCH, -dy),
                         self->pointer_px.x, self->pointer_px.y);
  else if (state & GDK_SHIFT_MASK)
    loom_canvas_pan_px(self, dy * PAN_PX_PER_NOTCH, dx * PAN_PX_PER_NOTCH);
  else
    loom_canvas_pan_px(self, dx * PAN_PX_PER_NOTCH, dy * PAN_PX_PER_NOTCH);
  return GDK_EVENT_STOP;
}

static void
on_pinch_begin(GtkGesture *gesture, GdkEventSequence *sequence, gpointer data)
{
  (void)sequence;
  g_object_set_data(G_OBJECT(gesture), "zoom",
                    GINT_TO_POINTER((int)(100 * loom_canvas_zoom(data))));
}

static void
on_pinch(GtkGestureZoom *gesture, double factor, gpointer data)
{
  double x, y;
  int start = GPOINTER_TO_INT(g_object_get_data(G_OBJECT(gesture), "zoom"));
  if (gtk_gesture_get_bounding_box_center(GTK_GESTURE(gesture), &x, &y))
    loom_canvas_set_zoom(data, start / 100.0 * factor, x, y);
}

static void
add_press(LoomCanvas *self)
{
  self->press = gtk_gesture_drag_new();
  gtk_gesture_single_set_button(GTK_GESTURE_SINGLE(self->press), 0);
  g_signal_connect(self->press, "drag-update", G_CALLBACK(on_press_update), self);
  g_signal_connect(self->press, "drag-end", G_CALLBACK(on_press_end), self);
  g_signal_connect(self->press, "cancel", G_CALLBACK(on_press_cancel), self);
  gtk_widget_add_controller(GTK_WIDGET(self), GTK_EVENT_CONTROLLER(self->press));
}

static void
add_view_gestures(LoomCanvas *self)
{
  GtkEventController *scroll =
      gtk_event_controller_scroll_new(GTK_EVENT_CONTROLLER_SCROLL_BOTH_AXES);
  g_signal_connect(scroll, "scroll", G_CALLBACK(on_scroll), self);
  gtk_widget_add_controller(GTK_WIDGET(self), scroll);

  GtkGesture *pinch = gtk_gesture_zoom_new();
  g_signal_connect(pinch, "begin", G_CALLBACK(on_pinch_begin), self);
  g_signal_connect(pinch, "scale-changed", G_CALLBACK(on_pinch), self);
  gtk_widget_add_controller(GTK_WIDGET(self), GTK_EVENT_CONTROLLER(pinch));
}

void
loom_canvas_add_controllers(LoomCanvas *self)
{
  add_press(self);
  add_view_gestures(self);
}
