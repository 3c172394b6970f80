#include "offers-popover.h"
#include "tell-widget.h"
#include "window-private.h"

/* Answers to whoever drives the window from outside, in the event log: where things lie on the
 * screen. The action "tell" is there only while the log is. Questions and answers:
 *
 *   end G1:out       screen end G1:out X Y        middle of the end's face
 *   part G1          screen part G1 X Y           middle of the outline, or of the lead's tag
 *   joint G1:out     screen joint G1:out X Y
 *   sheet X_MM Y_MM  screen sheet X_MM Y_MM X Y
 *   shelf KIND       screen shelf KIND X Y        scrolled into view
 *   offer KIND       screen offer KIND X Y        row of the open list of offers
 *   widget NAME      screen widget NAME X Y       by its name, id or label
 *   beside NAME      screen beside NAME X Y       the same in another window of ours: of its surface
 *   says NAME        says NAME TEXT               of the first label in it, in another window
 *   corner NAME      screen corner NAME X Y       its upper left corner
 *   size NAME        size NAME WIDTH HEIGHT
 *   label NAME       label NAME TEXT              of the first label in it
 *   flag 1           screen flag 1 X Y
 *   view             view ZOOM ORIGIN_X ORIGIN_Y
 *   focus            focus TYPE NAME
 *   frames           from now on, for each frame: frame MS (from before-paint to after-paint)
 *
 * X and Y are pixels of the window's surface, frame and shadow included. */

static void
say_at(LoomWindow *self, const char *question, GtkWidget *widget, double x, double y)
{
  loom_say_at(loom_document_events(self->document), question, widget, x, y);
}

static void
say_sheet_point(LoomWindow *self, const char *question, LoomPoint at_mm)
{
  LoomPoint at = loom_canvas_from_sheet(self->canvas, at_mm);
  say_at(self, question, GTK_WIDGET(self->canvas), at.x, at.y);
}

static void
tell_end(LoomWindow *self, const char *question, const char *name)
{
  const LoomSheet *sheet = loom_document_sheet(self->document);
  guint part, end;
  if (!loom_design_find_end(sheet->design, name, &part, &end, NULL))
    return;
  LoomRect box = loom_sheet_end(sheet, part, end)->box;
  say_sheet_point(self, question, (LoomPoint){box.x + box.width / 2, box.y + box.height / 2});
}

static void
tell_part(LoomWindow *self, const char *question, const char *name)
{
  const LoomSheet *sheet = loom_document_sheet(self->document);
  guint part = loom_design_find_part(sheet->design, name);
  if (part == LOOM_NONE)
    return;
  LoomRect r = sheet->parts[part].outline;
  say_sheet_point(self, question, (LoomPoint){r.x + r.width / 2, r.y + r.height / 2});
}

static void
tell_joint(LoomWindow *self, const char *question, const char *name)
{
  const LoomSheet *sheet = loom_document_sheet(self->document);
  guint part, end, joint;
  if (!loom_design_find_end(sheet->design, name, &part, &end, NULL) ||
      !loom_design_joints_at(sheet->design, part, end, &joint, 1))
    return;
  for (guint i = 0; i < sheet->n_joints; i++)
    if (sheet->joints[i].joint == joint)
      say_sheet_point(self, question, sheet->joints[i].at);
}

static void
tell_sheet(LoomWindow *self, const char *question, const char *numbers)
{
  LoomPoint at = {0, 0};
  char *rest;
  at.x = g_ascii_strtod(numbers, &rest);
  at.y = g_ascii_strtod(rest, NULL);
  say_sheet_point(self, question, at);
}

static void
tell_shelf(LoomWindow *self, const char *question, const char *kind)
{
  graphene_rect_t r;
  if (loom_shelf_row_bounds(self->shelf, kind, GTK_WIDGET(self), &r))
    say_at(self, question, GTK_WIDGET(self), r.origin.x + r.size.width / 2,
           r.origin.y + r.size.height / 2);
}

/* The list is a surface of its own: its place is counted from the window's by way of the canvas. */
static void
tell_offer(LoomWindow *self, const char *question, const char *kind)
{
  graphene_rect_t r;
  GtkWidget *popover = loom_canvas_offers(self->canvas);
  GdkSurface *surface = gtk_native_get_surface(GTK_NATIVE(popover));
  if (!surface || !loom_offers_popover_row_bounds(LOOM_OFFERS_POPOVER(popover), kind, &r))
    return;
  double dx, dy;
  gtk_native_get_surface_transform(GTK_NATIVE(popover), &dx, &dy);
  loom_events_say(loom_document_events(self->document), "screen %s %.0f %.0f", question,
                  gdk_popup_get_position_x(GDK_POPUP(surface)) + dx + r.origin.x + r.size.width / 2,
                  gdk_popup_get_position_y(GDK_POPUP(surface)) + dy + r.origin.y +
                      r.size.height / 2);
}

static void
tell_widget(LoomWindow *self, const char *question, const char *name)
{
  GtkWidget *widget = loom_find_widget(GTK_WIDGET(self), name);
  if (widget)
    say_at(self, question, widget, gtk_widget_get_width(widget) / 2.0,
           gtk_widget_get_height(widget) / 2.0);
}

static void
tell_corner(LoomWindow *self, const char *question, const char *name)
{
  GtkWidget *widget = loom_find_widget(GTK_WIDGET(self), name);
  if (widget)
    say_at(self, question, widget, 0, 0);
}

static GtkWidget *
first_label(GtkWidget *widget)
{
  if (GTK_IS_LABEL(widget))
    return widget;
  GtkWidget *child = gtk_widget_get_first_child(widget);
  for (; child; child = gtk_widget_get_next_sibling(child)) {
    GtkWidget *found = first_label(child);
    if (found)
      return found;
  }
  return NULL;
}

static void
tell_label(LoomWindow *self, const char *question, const char *name)
{
  GtkWidget *widget = loom_find_widget(GTK_WIDGET(self), name);
  GtkWidget *label = widget ? first_label(widget) : NULL;
  if (label)
    loom_events_say(loom_document_events(self->document), "%s %s", question,
                    gtk_label_get_text(GTK_LABEL(label)));
}

/* In any of our windows but this one; NULL where there is none. */
static GtkWidget *
find_beside(LoomWindow *self, const char *name)
{
  GListModel *windows = gtk_window_get_toplevels();
  for (guint i = 0; i < g_list_model_get_n_items(windows); i++) {
    g_autoptr(GtkWidget) window = g_list_model_get_item(windows, i);
    GtkWidget *found = window == GTK_WIDGET(self) ? NULL : loom_find_widget(window, name);
    if (found)
      return found;
  }
  return NULL;
}

static void
tell_beside(LoomWindow *self, const char *question, const char *name)
{
  GtkWidget *widget = find_beside(self, name);
  GtkNative *native = widget ? gtk_widget_get_native(widget) : NULL;
  double dx, dy, x, y;
  if (!native ||
      !gtk_widget_translate_coordinates(widget, GTK_WIDGET(native),
                                        gtk_widget_get_width(widget) / 2.0,
                                        gtk_widget_get_height(widget) / 2.0, &x, &y))
    return;
  gtk_native_get_surface_transform(native, &dx, &dy);
  loom_events_say(loom_document_events(self->document), "screen %s %.0f %.0f", question, x + dx,
                  y + dy);
}

static void
tell_says(LoomWindow *self, const char *question, const char *name)
{
  GtkWidget *widget = find_beside(self, name);
  GtkWidget *label = widget ? first_label(widget) : NULL;
  if (label)
    loom_events_say(loom_document_events(self->document), "%s %s", question,
                    gtk_label_get_text(GTK_LABEL(label)));
}

static void
tell_flag(LoomWindow *self, const char *question, const char *number)
{
  guint wanted = (guint)g_ascii_strtoull(number, NULL, 10) - 1;
  LoomPoint at;
  if (loom_canvas_find_flag(self->canvas, wanted, &at))
    say_sheet_point(self, question, at);
}

static void
tell_size(LoomWindow *self, const char *question, const char *name)
{
  GtkWidget *widget = loom_find_widget(GTK_WIDGET(self), name);
  if (widget)
    loom_events_say(loom_document_events(self->document), "%s %d %d", question,
                    gtk_widget_get_width(widget), gtk_widget_get_height(widget));
}

static void
tell_view(LoomWindow *self, const char *question, const char *nothing)
{
  (void)question;
  (void)nothing;
  LoomPoint origin = loom_canvas_to_sheet(self->canvas, 0, 0);
  loom_events_say(loom_document_events(self->document), "view %.1f %.1f %.1f",
                  loom_canvas_zoom(self->canvas), origin.x, origin.y);
}

static void
tell_focus(LoomWindow *self, const char *question, const char *nothing)
{
  (void)question;
  (void)nothing;
  GtkWidget *focus = gtk_root_get_focus(GTK_ROOT(self));
  loom_events_say(loom_document_events(self->document), "focus %s %s",
                  focus ? G_OBJECT_TYPE_NAME(focus) : "none",
                  focus ? gtk_widget_get_name(focus) : "");
}

static void
on_before_paint(GdkFrameClock *clock, gpointer data)
{
  (void)data;
  gint64 *start = g_new(gint64, 1);
  *start = g_get_monotonic_time();
  g_object_set_data_full(G_OBJECT(clock), "loom-start", start, g_free);
}

static void
on_after_paint(GdkFrameClock *clock, gpointer data)
{
  LoomWindow *self = data;
  const gint64 *start = g_object_get_data(G_OBJECT(clock), "loom-start");
  if (start)
    loom_events_say(loom_document_events(self->document), "frame %.2f",
                    (g_get_monotonic_time() - *start) / 1000.0);
}

static void
tell_frames(LoomWindow *self, const char *question, const char *nothing)
{
  (void)question;
  (void)nothing;
  GdkFrameClock *clock = gtk_widget_get_frame_clock(GTK_WIDGET(self));
  g_signal_connect_object(clock, "before-paint", G_CALLBACK(on_before_paint), self, 0);
  g_signal_connect_object(clock, "after-paint", G_CALLBACK(on_after_paint), self, 0);
}

static const struct {
  const char *word;
  void (*tell)(LoomWindow *self, const char *question, const char *rest);
} questions[] = {{"end", tell_end},       {"part", tell_part},    {"joint", tell_joint},
                 {"sheet", tell_sheet},   {"shelf", tell_shelf},  {"offer", tell_offer},
                 {"widget", tell_widget}, {"size", tell_size},    {"corner", tell_corner},
                 {"label", tell_label},   {"flag", tell_flag},    {"view", tell_view},
                 {"focus", tell_focus},   {"frames", tell_frames},
                 {"beside", tell_beside}, {"says", tell_says}};

static void
on_tell(GSimpleAction *action, GVariant *parameter, gpointer data)
{
  (void)action;
  const char *question = g_variant_get_string(parameter, NULL);
  const char *blank = strchr(question, ' ');
  gsize n = blank ? (gsize)(blank - question) : strlen(question);
  for (guint i = 0; i < G_N_ELEMENTS(questions); i++)
    if (strlen(questions[i].word) == n && strncmp(question, questions[i].word, n) == 0)
      questions[i].tell(data, question, blank ? blank + 1 : "");
}

void
loom_window_add_tell(LoomWindow *self)
{
  if (!loom_document_events(self->document))
    return;
  g_autoptr(GSimpleAction) action = g_simple_action_new("tell", G_VARIANT_TYPE_STRING);
  g_signal_connect(action, "activate", G_CALLBACK(on_tell), self);
  g_action_map_add_action(G_ACTION_MAP(self), G_ACTION(action));
}
