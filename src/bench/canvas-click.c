#include "canvas-private.h"

#include <glib/gi18n-lib.h>

static void
click_end(LoomCanvas *self, const LoomHit *hit)
{
  const LoomPart *part = loom_canvas_part(self, hit->part);
  const LoomPlacedEnd *end =
      loom_sheet_end(loom_document_sheet(self->document), hit->part, hit->end);
  const char *id = part->kind->ends[hit->end].id;
  loom_choice_set_part(self->choice, part->designation, id);
  if (!end->plugged && !self->fault_marks) /* there it is measured at */
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

/* Whether this click comes soon after another at the same place. */
static bool
is_second(LoomCanvas *self, LoomPoint at)
{
  int soon_ms = 400;
  gint64 now = g_get_monotonic_time();
  g_object_get(gtk_widget_get_settings(GTK_WIDGET(self)), "gtk-double-click-time", &soon_ms, NULL);
  bool second =
      now - self->clicked < soon_ms * G_GINT64_CONSTANT(1000) &&
      hypot(at.x - self->clicked_at.x, at.y - self->clicked_at.y) <= LOOM_SLACK_PX / self->scale;
  self->clicked = second ? 0 : now;
  self->clicked_at = at;
  return second;
}

void
loom_canvas_click(LoomCanvas *self, LoomPoint at, GdkModifierType state)
{
  LoomHit hit = loom_canvas_hit(self, at);
  bool more = state & (GDK_SHIFT_MASK | GDK_CONTROL_MASK);
  bool second = is_second(self, at);
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
  if (second && (hit.type == LOOM_HIT_PART || hit.type == LOOM_HIT_LEAD))
    g_signal_emit_by_name(self, "name");
}

static void
on_menu_press(GtkGestureClick *gesture, int n_press, double x, double y, gpointer data)
{
  (void)gesture;
  (void)n_press;
  LoomCanvas *self = data;
  LoomPoint at = loom_canvas_to_sheet(self, x, y);
  LoomHit hit = loom_canvas_hit(self, at);
  gtk_widget_grab_focus(GTK_WIDGET(self));
  if (hit.type == LOOM_HIT_JOINT)
    click_joint(self, hit.joint);
  else if (hit.type == LOOM_HIT_END)
    loom_choice_set_part(self->choice, loom_canvas_part(self, hit.part)->designation,
                         loom_canvas_part(self, hit.part)->kind->ends[hit.end].id);
  else if (hit.type != LOOM_HIT_NOTHING)
    loom_canvas_choose_for_move(self, hit.part);
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
  return g_strdup_printf(_("%s:%s has %s, %s. %s"), part->designation, end->id,
                         _(loom_gender_label(end->gender)), end->family->name,
                         plugged ? _("Drag to pull it out.")
                                 : _("Click to see what plugs in, or drag to another end."));
}

static char *
hint_for(LoomCanvas *self, const LoomHit *hit)
{
  if (hit->type == LOOM_HIT_END)
    return hint_for_end(self, hit);
  if (hit->type == LOOM_HIT_JOINT) {
    const LoomJoint *joint = loom_design_joint(loom_document_design(self->document), hit->joint);
    return g_strdup_printf(_("%s:%s is plugged into %s:%s. Drag to pull it out."), joint->a.part,
                           joint->a.end, joint->b.part, joint->b.end);
  }
  if (hit->type == LOOM_HIT_NOTHING)
    return NULL;
  const LoomPart *part = loom_canvas_part(self, hit->part);
  const LoomSheet *sheet = loom_document_sheet(self->document);
  g_autofree bool *here = loom_design_scene_parts(sheet->design, sheet->scene);
  const char *called = part->label ? part->label : part->kind->name;
  if (here[hit->part])
    return g_strdup_printf("%s: %s", part->designation, called);
  return g_strdup_printf(_("%s: %s. Plugged only in another scene, so it is faded here."),
                         part->designation, called);
}

static char *
hint_for_flag(LoomCanvas *self, guint flag)
{
  const LoomFinding *finding = &loom_document_findings(self->document)->findings[flag];
  return g_strdup_printf(_("%u: %s Click to see what to do."), flag + 1, finding->message);
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
  LoomPoint at = loom_canvas_to_sheet(self, x, y);
  LoomHit hit = loom_canvas_hit(self, at);
  guint flag = loom_canvas_flag_at(self, at);
  if (same_hit(&hit, &self->hover) && flag == self->hover_flag)
    return;
  self->hover = hit;
  self->hover_flag = flag;
  g_autofree char *hint = flag == LOOM_NONE ? hint_for(self, &hit) : hint_for_flag(self, flag);
  loom_canvas_hint(self, hint);
  bool grabs = flag != LOOM_NONE || hit.type == LOOM_HIT_END || hit.type == LOOM_HIT_JOINT;
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

void
loom_canvas_add_clicks(LoomCanvas *self)
{
  GtkGesture *menu = gtk_gesture_click_new();
  gtk_gesture_single_set_button(GTK_GESTURE_SINGLE(menu), GDK_BUTTON_SECONDARY);
  g_signal_connect(menu, "pressed", G_CALLBACK(on_menu_press), self);
  gtk_widget_add_controller(GTK_WIDGET(self), GTK_EVENT_CONTROLLER(menu));

  GtkEventController *motion = gtk_event_controller_motion_new();
  g_signal_connect(motion, "motion", G_CALLBACK(on_motion), self);
  g_signal_connect(motion, "enter", G_CALLBACK(on_motion), self);
  g_signal_connect(motion, "leave", G_CALLBACK(on_leave), self);
  gtk_widget_add_controller(GTK_WIDGET(self), motion);
}
