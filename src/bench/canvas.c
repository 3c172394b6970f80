#include "canvas-private.h"

#include "proxy.h"

#include <glib/gi18n-lib.h>

#define BUBBLE_DX_PX 18
#define BUBBLE_DY_PX 14
#define LEGIBLE_PERCENT 55.0
#define NEAR_PERCENT 80.0

G_DEFINE_FINAL_TYPE(LoomCanvas, loom_canvas, GTK_TYPE_WIDGET)

enum { HINT, TOLD, VIEW, MENU, FLAG, NAME, N_SIGNALS };
static guint signals[N_SIGNALS];

const LoomSheet *
loom_canvas_sheet(LoomCanvas *self)
{
  return self->drag.sheet ? self->drag.sheet : loom_document_sheet(self->document);
}

const LoomPart *
loom_canvas_part(LoomCanvas *self, guint part)
{
  return loom_design_part(loom_document_design(self->document), part);
}

char *
loom_canvas_end_name(LoomCanvas *self, guint part, guint end)
{
  const LoomPart *p = loom_canvas_part(self, part);
  return g_strdup_printf("%s:%s", p->designation, p->kind->ends[end].id);
}

void
loom_canvas_tell(LoomCanvas *self, const char *sentence)
{
  loom_events_say(loom_document_events(self->document), "told %s", sentence);
  g_signal_emit(self, signals[TOLD], 0, sentence);
}

void
loom_canvas_hint(LoomCanvas *self, const char *sentence)
{
  g_signal_emit(self, signals[HINT], 0, sentence);
}

void
loom_canvas_apply(LoomCanvas *self, LoomEdit *edit, char *sentence)
{
  g_autofree char *told = sentence;
  if (loom_document_apply(self->document, edit) && told)
    loom_canvas_tell(self, told);
}

/* Where the sheet is too small to be read, showing something means going nearer. */
static void
go_near(LoomCanvas *self)
{
  if (loom_canvas_zoom(self) < LEGIBLE_PERCENT)
    loom_canvas_set_zoom(self, NEAR_PERCENT, self->width / 2.0, self->height / 2.0);
}

static void
reveal_lit(LoomCanvas *self)
{
  const LoomFindings *findings = loom_document_findings(self->document);
  if (!findings || self->lit_finding >= findings->n_findings)
    return;
  const LoomFinding *finding = &findings->findings[self->lit_finding];
  if (finding->n_places)
    loom_canvas_reveal(self, finding->places[0].part, finding->places[0].end);
}

GtkWidget *
loom_canvas_offers(LoomCanvas *self)
{
  return GTK_WIDGET(self->popover);
}

void
loom_canvas_light_finding(LoomCanvas *self, guint finding)
{
  self->lit_finding = finding;
  if (finding != LOOM_NONE)
    go_near(self);
  reveal_lit(self);
  gtk_widget_queue_draw(GTK_WIDGET(self));
}

/* Following the document and the choice. */

static void
renew_all(LoomCanvas *self)
{
  loom_canvas_cancel(self);
  if (self->ghost)
    loom_canvas_show_ghost(self, NULL);
  self->hover = (LoomHit){LOOM_HIT_NOTHING, LOOM_NONE, LOOM_NONE, LOOM_NONE};
  loom_canvas_renew_proxies(self);
  gtk_widget_queue_allocate(GTK_WIDGET(self));
  gtk_widget_queue_draw(GTK_WIDGET(self));
}

static void
on_changed(LoomDocument *document, gpointer data)
{
  LoomCanvas *self = data;
  loom_choice_prune(self->choice, loom_document_design(document));
  renew_all(self);
}

static void
on_scene(LoomDocument *document, gpointer data)
{
  (void)document;
  LoomCanvas *self = data;
  self->n_told = 0; /* it may be another design, with records where older ones were */
  renew_all(self);
}

static void
on_findings(LoomDocument *document, gpointer data)
{
  LoomCanvas *self = data;
  const LoomFindings *findings = loom_document_findings(document);
  if (self->lit_finding >= findings->n_findings)
    self->lit_finding = LOOM_NONE;
  loom_canvas_drop_nodes(self);
  gtk_widget_queue_draw(GTK_WIDGET(self));
}

static void
on_choice(LoomChoice *choice, gpointer data)
{
  LoomCanvas *self = data;
  (void)choice;
  gtk_widget_queue_draw(GTK_WIDGET(self));
}

static void
on_taken(LoomOffersPopover *popover, guint key, gpointer data)
{
  (void)popover;
  loom_canvas_take(data, key);
}

static void
on_pointed(LoomOffersPopover *popover, guint key, gpointer data)
{
  (void)popover;
  loom_canvas_point_at(data, key);
}

void
loom_canvas_attach(LoomCanvas *self, LoomDocument *document, LoomChoice *choice)
{
  self->document = g_object_ref(document);
  self->choice = g_object_ref(choice);
  g_signal_connect_object(document, "changed", G_CALLBACK(on_changed), self, 0);
  g_signal_connect_object(document, "scene", G_CALLBACK(on_scene), self, 0);
  g_signal_connect_object(document, "findings", G_CALLBACK(on_findings), self, 0);
  g_signal_connect_object(choice, "changed", G_CALLBACK(on_choice), self, 0);
  renew_all(self);
}

/* The widget. */

static void
place_bubble(LoomCanvas *self, int width, int height)
{
  int w, h;
  gtk_widget_measure(self->bubble, GTK_ORIENTATION_HORIZONTAL, -1, NULL, &w, NULL, NULL);
  w = MIN(w, width);
  gtk_widget_measure(self->bubble, GTK_ORIENTATION_VERTICAL, w, NULL, &h, NULL, NULL);
  int x = (int)CLAMP(self->drag.now_px.x + BUBBLE_DX_PX, 0, MAX(0, width - w));
  int y = (int)self->drag.now_px.y + BUBBLE_DY_PX;
  if (y + h > height)
    y = (int)self->drag.now_px.y - BUBBLE_DY_PX - h;
  gtk_widget_size_allocate(self->bubble, &(GtkAllocation){x, y, w, h}, -1);
}

static void
present_popovers(GtkWidget *widget)
{
  GtkWidget *child = gtk_widget_get_first_child(widget);
  for (; child; child = gtk_widget_get_next_sibling(child))
    if (GTK_IS_POPOVER(child))
      gtk_popover_present(GTK_POPOVER(child));
}

static void
loom_canvas_size_allocate(GtkWidget *widget, int width, int height, int baseline)
{
  (void)baseline;
  LoomCanvas *self = LOOM_CANVAS(widget);
  if (!self->document)
    return;
  if (!self->placed && width > 1)
    loom_canvas_zoom_fit(self);
  if (width != self->width || height != self->height)
    reveal_lit(self);
  self->width = width;
  self->height = height;
  loom_canvas_place_proxies(self);
  if (gtk_widget_get_visible(self->bubble))
    place_bubble(self, width, height);
  present_popovers(widget);
}

static void
loom_canvas_measure(GtkWidget *widget, GtkOrientation orientation, int for_size, int *minimum,
                    int *natural, int *minimum_baseline, int *natural_baseline)
{
  (void)widget;
  (void)for_size;
  *minimum = 160;
  *natural = orientation == GTK_ORIENTATION_HORIZONTAL ? 700 : 500;
  *minimum_baseline = *natural_baseline = -1;
}

static void
loom_canvas_css_changed(GtkWidget *widget, GtkCssStyleChange *change)
{
  GTK_WIDGET_CLASS(loom_canvas_parent_class)->css_changed(widget, change);
  loom_canvas_drop_nodes(LOOM_CANVAS(widget));
  gtk_widget_queue_draw(widget);
}

static void
on_flow(LoomFlowState *flow, gpointer data)
{
  (void)flow;
  gtk_widget_queue_draw(GTK_WIDGET(data));
}

void
loom_canvas_set_flow(LoomCanvas *self, LoomFlowState *flow)
{
  g_set_object(&self->flow, flow);
  g_signal_connect_object(flow, "flow", G_CALLBACK(on_flow), self, 0);
  g_signal_connect_object(flow, "shown", G_CALLBACK(on_flow), self, 0);
}

static void
loom_canvas_dispose(GObject *object)
{
  LoomCanvas *self = LOOM_CANVAS(object);
  if (self->bubble)
    loom_canvas_end_drag(self);
  loom_canvas_drop_nodes(self);
  g_clear_handle_id(&self->zoom_timer, g_source_remove);
  g_clear_pointer(&self->offering, loom_offering_free);
  g_clear_pointer(&self->fault_marks, loom_fault_marks_free);
  self->popover = NULL;
  GtkWidget *child;
  while ((child = gtk_widget_get_first_child(GTK_WIDGET(self))))
    gtk_widget_unparent(child);
  g_ptr_array_set_size(self->proxies, 0);
  self->bubble = NULL;
  g_clear_object(&self->document);
  g_clear_object(&self->choice);
  g_clear_object(&self->flow);
  G_OBJECT_CLASS(loom_canvas_parent_class)->dispose(object);
}

static void
loom_canvas_finalize(GObject *object)
{
  g_free(LOOM_CANVAS(object)->told);
  g_ptr_array_unref(LOOM_CANVAS(object)->proxies);
  G_OBJECT_CLASS(loom_canvas_parent_class)->finalize(object);
}

static void
add_signals(void)
{
  signals[HINT] = g_signal_new("hint", LOOM_TYPE_CANVAS, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL,
                               G_TYPE_NONE, 1, G_TYPE_STRING);
  signals[TOLD] = g_signal_new("told", LOOM_TYPE_CANVAS, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL,
                               G_TYPE_NONE, 1, G_TYPE_STRING);
  signals[VIEW] = g_signal_new("view", LOOM_TYPE_CANVAS, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL,
                               G_TYPE_NONE, 0);
  signals[MENU] = g_signal_new("menu", LOOM_TYPE_CANVAS, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL,
                               G_TYPE_NONE, 2, G_TYPE_DOUBLE, G_TYPE_DOUBLE);
  signals[NAME] = g_signal_new("name", LOOM_TYPE_CANVAS, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL,
                               G_TYPE_NONE, 0);
  signals[FLAG] = g_signal_new("flag", LOOM_TYPE_CANVAS, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL,
                               G_TYPE_NONE, 1, G_TYPE_UINT);
}

static void
loom_canvas_class_init(LoomCanvasClass *class)
{
  GtkWidgetClass *widget_class = GTK_WIDGET_CLASS(class);
  G_OBJECT_CLASS(class)->dispose = loom_canvas_dispose;
  G_OBJECT_CLASS(class)->finalize = loom_canvas_finalize;
  widget_class->snapshot = loom_canvas_snapshot;
  widget_class->size_allocate = loom_canvas_size_allocate;
  widget_class->measure = loom_canvas_measure;
  widget_class->focus = loom_canvas_focus;
  widget_class->css_changed = loom_canvas_css_changed;
  gtk_widget_class_set_css_name(widget_class, "canvas");
  gtk_widget_class_set_accessible_role(widget_class, GTK_ACCESSIBLE_ROLE_LIST);
  add_signals();
}

static void
add_children(LoomCanvas *self)
{
  GtkWidget *widget = GTK_WIDGET(self);
  for (int i = 0; i < 2; i++) {
    self->end_proxies[i] = loom_proxy_new(GTK_ACCESSIBLE_ROLE_BUTTON);
    gtk_widget_set_visible(self->end_proxies[i], FALSE);
    gtk_widget_set_parent(self->end_proxies[i], widget);
  }
  self->bubble = gtk_label_new("");
  gtk_label_set_wrap(GTK_LABEL(self->bubble), TRUE);
  gtk_label_set_max_width_chars(GTK_LABEL(self->bubble), 44);
  gtk_widget_add_css_class(self->bubble, "bubble");
  gtk_widget_set_can_target(self->bubble, FALSE);
  gtk_widget_set_visible(self->bubble, FALSE);
  gtk_widget_set_parent(self->bubble, widget);
  self->popover = loom_offers_popover_new();
  gtk_widget_set_parent(GTK_WIDGET(self->popover), widget);
  g_signal_connect(self->popover, "taken", G_CALLBACK(on_taken), self);
  g_signal_connect(self->popover, "pointed", G_CALLBACK(on_pointed), self);
}

static void
loom_canvas_init(LoomCanvas *self)
{
  self->scale = LOOM_PX_PER_MM;
  self->lit_finding = self->hover_flag = LOOM_NONE;
  self->drag.over_part = self->drag.over_end = LOOM_NONE;
  self->proxies = g_ptr_array_new();
  self->hover = (LoomHit){LOOM_HIT_NOTHING, LOOM_NONE, LOOM_NONE, LOOM_NONE};
  gtk_widget_set_focusable(GTK_WIDGET(self), TRUE);
  gtk_widget_set_overflow(GTK_WIDGET(self), GTK_OVERFLOW_HIDDEN);
  gtk_widget_set_hexpand(GTK_WIDGET(self), TRUE);
  gtk_widget_set_vexpand(GTK_WIDGET(self), TRUE);
  gtk_accessible_update_property(GTK_ACCESSIBLE(self), GTK_ACCESSIBLE_PROPERTY_LABEL, _("Bench"),
                                 -1);
  add_children(self);
  loom_canvas_add_controllers(self);
  loom_canvas_add_clicks(self);
  loom_canvas_add_drop(self);
  loom_canvas_add_keys(self);
}
