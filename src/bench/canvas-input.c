#include "canvas-private.h"

#include "kind-view.h"
#include "shelf.h"

#define CLICK_PX 4.0
#define BARELY 0.02
#define ZOOM_PER_NOTCH 1.15
#define PAN_PX_PER_NOTCH 48.0

static double
slack_mm(LoomCanvas *self)
{
  return LOOM_SLACK_PX / self->scale;
}

static LoomHit
hit_at(LoomCanvas *self, LoomPoint at)
{
  return loom_sheet_hit(loom_document_sheet(self->document), at.x, at.y, slack_mm(self));
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

void
loom_canvas_end_drag(LoomCanvas *self)
{
  LoomDrag *drag = &self->drag;
  loom_canvas_edge_pan(self, false);
  gtk_widget_set_visible(self->bubble, FALSE);
  guint serial = drag->hidden_serial + (drag->preview != NULL);
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

static void
choose_for_move(LoomCanvas *self, guint part)
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
    loom_canvas_tell(self, "A plugged lead is laid by itself: move the parts that it joins.");
  } else {
    choose_for_move(self, hit->part);
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
  LoomHit hit = hit_at(self, self->drag.start);
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

/* Clicks. */

static void
click_end(LoomCanvas *self, const LoomHit *hit)
{
  const LoomPart *part = loom_canvas_part(self, hit->part);
  const LoomPlacedEnd *end =
      loom_sheet_end(loom_document_sheet(self->document), hit->part, hit->end);
  const char *id = part->kind->ends[hit->end].id;
  loom_choice_set_part(self->choice, part->designation, id);
  if (!end->plugged)
    loom_canvas_offer(self, part->designation, id);
}

static void
click_joint(LoomCanvas *self, guint index)
{
  const LoomJoint *joint = loom_design_joint(loom_document_design(self->document), index);
  g_autofree char *a = g_strdup_printf("%s:%s", joint->a.part, joint->a.end);
  g_autofree char *b = g_strdup_printf("%s:%s", joint->b.part, joint->b.end);
  loom_choice_set_joint(self->choice, a, b);
}

static bool
click_flag(LoomCanvas *self, LoomPoint at)
{
  guint finding = loom_canvas_flag_at(self, at);
  if (finding == LOOM_NONE)
    return false;
  g_signal_emit_by_name(self, "flag", finding);
  return true;
}

static void
click_at(LoomCanvas *self, LoomPoint at, GdkModifierType state)
{
  LoomHit hit = hit_at(self, at);
  bool more = state & (GDK_SHIFT_MASK | GDK_CONTROL_MASK);
  gtk_widget_grab_focus(GTK_WIDGET(self));
  if (click_flag(self, at))
    return;
  if (hit.type == LOOM_HIT_NOTHING && !more)
    loom_choice_clear(self->choice);
  else if (hit.type == LOOM_HIT_JOINT)
    click_joint(self, hit.joint);
  else if (hit.type == LOOM_HIT_END && !more)
    click_end(self, &hit);
  else if (hit.type != LOOM_HIT_NOTHING && more)
    loom_choice_toggle(self->choice, loom_canvas_part(self, hit.part)->designation);
  else if (hit.type != LOOM_HIT_NOTHING)
    loom_choice_set_part(self->choice, loom_canvas_part(self, hit.part)->designation, NULL);
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
    click_at(self, loom_canvas_to_sheet(self, x, y), modifiers(self));
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

static void
on_menu_press(GtkGestureClick *gesture, int n_press, double x, double y, gpointer data)
{
  (void)gesture;
  (void)n_press;
  LoomCanvas *self = data;
  LoomPoint at = loom_canvas_to_sheet(self, x, y);
  LoomHit hit = hit_at(self, at);
  gtk_widget_grab_focus(GTK_WIDGET(self));
  if (hit.type == LOOM_HIT_JOINT)
    click_joint(self, hit.joint);
  else if (hit.type == LOOM_HIT_END)
    loom_choice_set_part(self->choice, loom_canvas_part(self, hit.part)->designation,
                         loom_canvas_part(self, hit.part)->kind->ends[hit.end].id);
  else if (hit.type != LOOM_HIT_NOTHING)
    choose_for_move(self, hit.part);
  else
    loom_choice_clear(self->choice);
  g_signal_emit_by_name(self, "menu", x, y);
}

/* Hover: the status line says what lies under the pointer. */

static char *
hint_for_end(LoomCanvas *self, const LoomHit *hit)
{
  const LoomPart *part = loom_canvas_part(self, hit->part);
  const LoomEnd *end = &part->kind->ends[hit->end];
  bool plugged = loom_sheet_end(loom_document_sheet(self->document), hit->part, hit->end)->plugged;
  return g_strdup_printf("%s:%s has %s, %s. %s", part->designation, end->id,
                         loom_gender_label(end->gender), end->family->name,
                         plugged ? "Drag to pull it out."
                                 : "Click to see what plugs in, or drag to another end.");
}

static char *
hint_for(LoomCanvas *self, const LoomHit *hit)
{
  if (hit->type == LOOM_HIT_END)
    return hint_for_end(self, hit);
  if (hit->type == LOOM_HIT_JOINT) {
    const LoomJoint *joint = loom_design_joint(loom_document_design(self->document), hit->joint);
    return g_strdup_printf("%s:%s is plugged into %s:%s. Drag to pull it out.", joint->a.part,
                           joint->a.end, joint->b.part, joint->b.end);
  }
  if (hit->type == LOOM_HIT_NOTHING)
    return NULL;
  const LoomPart *part = loom_canvas_part(self, hit->part);
  return g_strdup_printf("%s: %s", part->designation, part->label ? part->label : part->kind->name);
}

static bool
same_hit(const LoomHit *a, const LoomHit *b)
{
  return a->type == b->type && a->part == b->part && a->end == b->end && a->joint == b->joint;
}

static void
on_motion(GtkEventControllerMotion *controller, double x, double y, gpointer data)
{
  (void)controller;
  LoomCanvas *self = data;
  self->pointer_px = (LoomPoint){x, y};
  self->pointer_inside = true;
  if (self->drag.mode != LOOM_DRAG_NONE)
    return;
  LoomHit hit = hit_at(self, loom_canvas_to_sheet(self, x, y));
  if (same_hit(&hit, &self->hover))
    return;
  self->hover = hit;
  g_autofree char *hint = hint_for(self, &hit);
  loom_canvas_hint(self, hint);
  bool grabs = hit.type == LOOM_HIT_END || hit.type == LOOM_HIT_JOINT;
  gtk_widget_set_cursor_from_name(GTK_WIDGET(self), grabs ? "pointer" : NULL);
  gtk_widget_queue_draw(GTK_WIDGET(self));
}

static void
on_leave(GtkEventControllerMotion *controller, gpointer data)
{
  (void)controller;
  LoomCanvas *self = data;
  self->pointer_inside = false;
  self->hover = (LoomHit){LOOM_HIT_NOTHING, LOOM_NONE, LOOM_NONE, LOOM_NONE};
  loom_canvas_hint(self, NULL);
  gtk_widget_queue_draw(GTK_WIDGET(self));
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

/* From the shelf. */

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

static void
add_press(LoomCanvas *self)
{
  self->press = gtk_gesture_drag_new();
  gtk_gesture_single_set_button(GTK_GESTURE_SINGLE(self->press), 0);
  g_signal_connect(self->press, "drag-update", G_CALLBACK(on_press_update), self);
  g_signal_connect(self->press, "drag-end", G_CALLBACK(on_press_end), self);
  g_signal_connect(self->press, "cancel", G_CALLBACK(on_press_cancel), self);
  gtk_widget_add_controller(GTK_WIDGET(self), GTK_EVENT_CONTROLLER(self->press));

  GtkGesture *menu = gtk_gesture_click_new();
  gtk_gesture_single_set_button(GTK_GESTURE_SINGLE(menu), GDK_BUTTON_SECONDARY);
  g_signal_connect(menu, "pressed", G_CALLBACK(on_menu_press), self);
  gtk_widget_add_controller(GTK_WIDGET(self), GTK_EVENT_CONTROLLER(menu));
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

  GtkEventController *motion = gtk_event_controller_motion_new();
  g_signal_connect(motion, "motion", G_CALLBACK(on_motion), self);
  g_signal_connect(motion, "enter", G_CALLBACK(on_motion), self);
  g_signal_connect(motion, "leave", G_CALLBACK(on_leave), self);
  gtk_widget_add_controller(GTK_WIDGET(self), motion);

  GtkDropTarget *drop = gtk_drop_target_new(LOOM_TYPE_KIND, GDK_ACTION_COPY);
  gtk_drop_target_set_preload(drop, TRUE);
  g_signal_connect(drop, "enter", G_CALLBACK(on_drop_motion), self);
  g_signal_connect(drop, "motion", G_CALLBACK(on_drop_motion), self);
  g_signal_connect(drop, "leave", G_CALLBACK(on_drop_leave), self);
  g_signal_connect(drop, "drop", G_CALLBACK(on_drop), self);
  gtk_widget_add_controller(GTK_WIDGET(self), GTK_EVENT_CONTROLLER(drop));
}
