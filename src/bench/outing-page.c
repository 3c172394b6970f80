#include "outing-page.h"

#include "look.h"
#include "outing-job.h"
#include "outing-view.h"
#include "planning/outing-words.h"

#include <glib/gi18n-lib.h>
#include <math.h>

#define LEAST_VIEW_PX 110
#define MOST_VIEW_PX 250
#define LARGE_TEXT 1.4 /* from here on the words stand below the curve */
#define LONG_MS 300    /* what takes longer can be cancelled */

struct _LoomOutingPage {
  GtkWidget parent;
  LoomFlowState *flow;
  GtkBox *content;
  GtkDropDown *outings;
  GtkLabel *summary;
  GtkWidget *export, *cancel, *again, *side;
  LoomOutingView *view;
  LoomOutingWish shown, running, given_up; /* of the trace, of the thread, cancelled by hand */
  LoomTrace *trace;
  GCancellable *run, *write; /* what is under way; NULL: nothing */
  guint long_source;
};

G_DEFINE_FINAL_TYPE(LoomOutingPage, loom_outing_page, GTK_TYPE_WIDGET)

static void
say(LoomOutingPage *self, const char *word)
{
  loom_events_say(loom_document_events(loom_flow_state_document(self->flow)), "outing %s", word);
}

/* --- what takes long --- */

static gboolean
on_long(gpointer data)
{
  LoomOutingPage *self = data;
  self->long_source = 0;
  gtk_widget_set_visible(self->cancel, TRUE);
  if (self->run)
    gtk_label_set_text(self->summary, _("The outing is being run…"));
  if (self->flow)
    say(self, "runs");
  return G_SOURCE_REMOVE;
}

/* To be called whenever something begins or ends. */
static void
watch_work(LoomOutingPage *self)
{
  bool busy = self->run || self->write;
  if (busy && !self->long_source && !gtk_widget_get_visible(self->cancel))
    self->long_source = g_timeout_add(LONG_MS, on_long, self);
  if (busy)
    return;
  g_clear_handle_id(&self->long_source, g_source_remove);
  gtk_widget_set_visible(self->cancel, FALSE);
}

static void
end(LoomOutingPage *self, GCancellable **work)
{
  if (*work)
    g_cancellable_cancel(*work);
  g_clear_object(work);
  watch_work(self);
}

static void
end_run(LoomOutingPage *self)
{
  end(self, &self->run);
  loom_outing_wish_clear(&self->running);
}

/* --- running --- */

static void
show_trace(LoomOutingPage *self)
{
  const LoomDesign *design = loom_flow_model_design(self->shown.model);
  const LoomScene *scene = loom_flow_model_scene(self->shown.model);
  const LoomOuting *outing = &scene->outings[self->shown.outing];
  g_autofree char *text = loom_outing_summary(design, outing, self->trace);
  gtk_label_set_text(self->summary, g_strchomp(text));
  loom_outing_view_set(
      self->view, self->trace->n_samples ? loom_outing_plot_new(design, scene, self->trace) : NULL);
  loom_events_say(loom_document_events(loom_flow_state_document(self->flow)), "outing %s %u",
                  outing->name, self->trace->n_samples);
}

static void
on_run(GObject *source, GAsyncResult *result, gpointer data)
{
  (void)data;
  LoomOutingPage *self = LOOM_OUTING_PAGE(source);
  g_autoptr(LoomTrace) trace = loom_outing_job_finish(result, NULL);
  if (!trace || g_task_get_cancellable(G_TASK(result)) != self->run)
    return; /* cancelled: something else is under way or nothing wanted */
  g_clear_pointer(&self->trace, loom_trace_free);
  self->trace = g_steal_pointer(&trace);
  loom_outing_wish_set(&self->shown, loom_outing_job_wish(result));
  g_clear_object(&self->run);
  loom_outing_wish_clear(&self->running);
  watch_work(self);
  show_trace(self);
}

static void
clear_trace(LoomOutingPage *self, const char *words)
{
  g_clear_pointer(&self->trace, loom_trace_free);
  loom_outing_wish_clear(&self->shown);
  loom_outing_view_set(self->view, NULL);
  gtk_label_set_text(self->summary, words);
}

static void
start_run(LoomOutingPage *self, const LoomOutingWish *wish)
{
  end_run(self);
  loom_outing_wish_set(&self->running, wish);
  self->run = g_cancellable_new();
  gtk_widget_set_visible(self->again, FALSE);
  loom_outing_wish_clear(&self->given_up);
  loom_outing_job_start(G_OBJECT(self), wish, NULL, self->run, on_run, NULL);
  watch_work(self);
}

static void
want_trace(LoomOutingPage *self)
{
  const LoomFlowing *flow = self->flow ? loom_flow_state_flow(self->flow) : NULL;
  if (!flow || !gtk_widget_get_mapped(GTK_WIDGET(self)))
    return;
  const LoomOutingWish wish = {flow->model, gtk_drop_down_get_selected(self->outings),
                               flow->charge};
  if (wish.outing >= loom_flow_model_scene(flow->model)->n_outings) {
    end_run(self);
    gtk_widget_set_visible(self->again, FALSE);
    clear_trace(self, _("This scene has no outing yet: a list of states, and how long "
                        "each of them lasts. The tag of the sheet adds one."));
    return;
  }
  if (loom_outing_wish_same(&wish, &self->running) || loom_outing_wish_same(&wish, &self->given_up))
    return;
  if (self->trace && loom_outing_wish_same(&wish, &self->shown))
    end_run(self);
  else
    start_run(self, &wish);
}

static void
on_cancel(LoomOutingPage *self)
{
  bool ran = self->run != NULL;
  if (ran)
    loom_outing_wish_set(&self->given_up, &self->running);
  end(self, &self->write);
  end_run(self);
  if (ran) {
    clear_trace(self, _("The outing was cancelled."));
    gtk_widget_set_visible(self->again, TRUE);
    gtk_widget_grab_focus(self->again);
  }
  if (self->flow)
    say(self, "cancelled");
}

static void
on_again(LoomOutingPage *self)
{
  gtk_widget_set_visible(self->again, FALSE);
  loom_outing_wish_clear(&self->given_up);
  want_trace(self);
}

/* --- which outing --- */

static bool
names_differ(LoomOutingPage *self, const LoomScene *scene)
{
  GListModel *model = gtk_drop_down_get_model(self->outings);
  if (!model || g_list_model_get_n_items(model) != scene->n_outings)
    return true;
  for (guint i = 0; i < scene->n_outings; i++)
    if (g_strcmp0(gtk_string_list_get_string(GTK_STRING_LIST(model), i), scene->outings[i].name))
      return true;
  return false;
}

static void
on_use(LoomFlowState *flow, gpointer data)
{
  LoomOutingPage *self = data;
  LoomDocument *document = loom_flow_state_document(flow);
  const LoomScene *scene =
      loom_design_scene(loom_document_design(document), loom_document_scene(document));
  if (self->run && !loom_flow_state_flow(flow))
    end_run(self); /* of a design or scene that is no longer there */
  gtk_widget_set_sensitive(self->export, scene->n_outings > 0);
  gtk_widget_set_visible(GTK_WIDGET(self->outings), scene->n_outings > 0);
  if (!names_differ(self, scene))
    return;
  g_autoptr(GtkStringList) names = gtk_string_list_new(NULL);
  for (guint i = 0; i < scene->n_outings; i++)
    gtk_string_list_append(names, scene->outings[i].name);
  gtk_drop_down_set_model(self->outings, G_LIST_MODEL(names));
}

static void
on_flow(LoomFlowState *flow, gpointer data)
{
  (void)flow;
  want_trace(data);
}

/* --- export --- */

bool
loom_outing_page_has_outing(LoomOutingPage *self)
{
  LoomDocument *document = loom_flow_state_document(self->flow);
  return loom_design_scene(loom_document_design(document), loom_document_scene(document))
             ->n_outings > 0;
}

static void
on_written(GObject *source, GAsyncResult *result, gpointer data)
{
  LoomOutingPage *self = LOOM_OUTING_PAGE(source);
  g_autoptr(GTask) caller = data;
  GError *error = NULL;
  g_autoptr(LoomTrace) trace = loom_outing_job_finish(result, &error);
  if (g_task_get_cancellable(G_TASK(result)) == self->write) {
    g_clear_object(&self->write);
    watch_work(self);
  }
  if (trace)
    g_task_return_boolean(caller, TRUE);
  else
    g_task_return_error(caller, error);
}

/* From a menu the page need not have been seen: the model is made anew. */
void
loom_outing_page_export(LoomOutingPage *self, const char *path, GAsyncReadyCallback done,
                        gpointer data)
{
  LoomDocument *document = loom_flow_state_document(self->flow);
  g_autoptr(LoomFlowModel) model =
      loom_flow_model_new(loom_document_design(document), loom_document_scene(document),
                          loom_document_design_number(document));
  guint outing = gtk_drop_down_get_selected(self->outings);
  const LoomOutingWish wish = {model, outing < loom_flow_model_scene(model)->n_outings ? outing : 0,
                               loom_flow_state_charge(self->flow)};
  end(self, &self->write);
  self->write = g_cancellable_new();
  loom_outing_job_start(G_OBJECT(self), &wish, path, self->write, on_written,
                        g_task_new(self, NULL, done, data));
  watch_work(self);
}

bool
loom_outing_page_export_finish(GAsyncResult *result, GError **error)
{
  return g_task_propagate_boolean(G_TASK(result), error);
}

/* --- life --- */

void
loom_outing_page_attach(LoomOutingPage *self, LoomFlowState *flow)
{
  self->flow = g_object_ref(flow);
  g_signal_connect_object(flow, "use", G_CALLBACK(on_use), self, 0);
  g_signal_connect_object(flow, "flow", G_CALLBACK(on_flow), self, 0);
  on_use(flow, self);
}

static void
on_moved(LoomOutingPage *self)
{
  double at = loom_outing_view_cursor(self->view);
  const LoomOutingPlot *plot = loom_outing_view_plot(self->view);
  if (!self->flow || !plot || isnan(at))
    return;
  g_autofree char *text = loom_outing_plot_text(plot, at);
  loom_events_say(loom_document_events(loom_flow_state_document(self->flow)), "read %s", text);
}

static void
loom_outing_page_map(GtkWidget *widget)
{
  GTK_WIDGET_CLASS(loom_outing_page_parent_class)->map(widget);
  want_trace(LOOM_OUTING_PAGE(widget));
}

static void
loom_outing_page_unmap(GtkWidget *widget)
{
  end_run(LOOM_OUTING_PAGE(widget));
  GTK_WIDGET_CLASS(loom_outing_page_parent_class)->unmap(widget);
}

/* With the window an export goes too. */
static void
loom_outing_page_unroot(GtkWidget *widget)
{
  end(LOOM_OUTING_PAGE(widget), &LOOM_OUTING_PAGE(widget)->write);
  GTK_WIDGET_CLASS(loom_outing_page_parent_class)->unroot(widget);
}

static void
loom_outing_page_css_changed(GtkWidget *widget, GtkCssStyleChange *change)
{
  LoomOutingPage *self = LOOM_OUTING_PAGE(widget);
  GTK_WIDGET_CLASS(loom_outing_page_parent_class)->css_changed(widget, change);
  double factor = loom_look_text_factor(widget);
  gtk_orientable_set_orientation(GTK_ORIENTABLE(self->content), factor > LARGE_TEXT
                                                                    ? GTK_ORIENTATION_VERTICAL
                                                                    : GTK_ORIENTATION_HORIZONTAL);
  gtk_widget_set_size_request(self->side, factor > LARGE_TEXT ? -1 : (int)(230 * factor), -1);
}

static void
loom_outing_page_dispose(GObject *object)
{
  LoomOutingPage *self = LOOM_OUTING_PAGE(object);
  GtkWidget *child = gtk_widget_get_first_child(GTK_WIDGET(object));
  GCancellable **work[] = {&self->run, &self->write};
  for (guint i = 0; i < G_N_ELEMENTS(work); i++) {
    if (*work[i])
      g_cancellable_cancel(*work[i]);
    g_clear_object(work[i]);
  }
  g_clear_handle_id(&self->long_source, g_source_remove);
  g_clear_pointer(&child, gtk_widget_unparent);
  g_clear_object(&self->flow);
  loom_outing_wish_clear(&self->shown);
  loom_outing_wish_clear(&self->running);
  loom_outing_wish_clear(&self->given_up);
  g_clear_pointer(&self->trace, loom_trace_free);
  G_OBJECT_CLASS(loom_outing_page_parent_class)->dispose(object);
}

static void
loom_outing_page_class_init(LoomOutingPageClass *class)
{
  GtkWidgetClass *widget_class = GTK_WIDGET_CLASS(class);
  G_OBJECT_CLASS(class)->dispose = loom_outing_page_dispose;
  widget_class->map = loom_outing_page_map;
  widget_class->unmap = loom_outing_page_unmap;
  widget_class->unroot = loom_outing_page_unroot;
  widget_class->css_changed = loom_outing_page_css_changed;
  gtk_widget_class_set_layout_manager_type(widget_class, GTK_TYPE_BIN_LAYOUT);
}

static GtkWidget *
button_new(LoomOutingPage *self, const char *label, const char *name, GCallback clicked)
{
  GtkWidget *button = gtk_button_new_with_label(label);
  gtk_widget_set_name(button, name);
  gtk_widget_set_halign(button, GTK_ALIGN_START);
  gtk_widget_set_visible(button, FALSE);
  g_signal_connect_swapped(button, "clicked", clicked, self);
  return button;
}

static GtkWidget *
side_new(LoomOutingPage *self)
{
  GtkWidget *side = gtk_box_new(GTK_ORIENTATION_VERTICAL, 8);
  self->outings = GTK_DROP_DOWN(gtk_drop_down_new(NULL, NULL));
  self->summary = GTK_LABEL(gtk_label_new(NULL));
  self->export = gtk_button_new_with_label(_("Export…"));
  self->cancel = button_new(self, _("Cancel"), "outing-cancel", G_CALLBACK(on_cancel));
  self->again = button_new(self, _("Run"), "outing-again", G_CALLBACK(on_again));
  gtk_widget_set_name(GTK_WIDGET(self->outings), "outings");
  gtk_widget_set_name(GTK_WIDGET(self->summary), "outing-summary");
  gtk_accessible_update_property(GTK_ACCESSIBLE(self->outings), GTK_ACCESSIBLE_PROPERTY_LABEL,
                                 _("Outing"), -1);
  gtk_label_set_wrap(self->summary, TRUE);
  gtk_label_set_xalign(self->summary, 0);
  gtk_label_set_selectable(self->summary, TRUE);
  gtk_widget_set_halign(self->export, GTK_ALIGN_START);
  gtk_widget_set_tooltip_text(self->export,
                              _("The curve as SVG, PDF or PNG, or its values as CSV"));
  gtk_actionable_set_action_name(GTK_ACTIONABLE(self->export), "win.export-outing");
  gtk_box_append(GTK_BOX(side), GTK_WIDGET(self->outings));
  gtk_box_append(GTK_BOX(side), GTK_WIDGET(self->summary));
  gtk_box_append(GTK_BOX(side), self->cancel);
  gtk_box_append(GTK_BOX(side), self->again);
  gtk_box_append(GTK_BOX(side), self->export);
  return side;
}

static void
loom_outing_page_init(LoomOutingPage *self)
{
  GtkWidget *scroller = gtk_scrolled_window_new();
  self->content = GTK_BOX(gtk_box_new(GTK_ORIENTATION_HORIZONTAL, 12));
  self->view = g_object_new(LOOM_TYPE_OUTING_VIEW, "name", "outing-curve", NULL);
  self->side = side_new(self);
  gtk_box_append(self->content, GTK_WIDGET(self->view));
  gtk_box_append(self->content, self->side);
  gtk_scrolled_window_set_policy(GTK_SCROLLED_WINDOW(scroller), GTK_POLICY_NEVER,
                                 GTK_POLICY_AUTOMATIC);
  gtk_scrolled_window_set_min_content_height(GTK_SCROLLED_WINDOW(scroller), LEAST_VIEW_PX);
  gtk_scrolled_window_set_max_content_height(GTK_SCROLLED_WINDOW(scroller), MOST_VIEW_PX);
  gtk_scrolled_window_set_propagate_natural_height(GTK_SCROLLED_WINDOW(scroller), TRUE);
  gtk_scrolled_window_set_child(GTK_SCROLLED_WINDOW(scroller), GTK_WIDGET(self->content));
  gtk_widget_set_parent(scroller, GTK_WIDGET(self));
  g_signal_connect_swapped(self->outings, "notify::selected", G_CALLBACK(want_trace), self);
  g_signal_connect_swapped(self->view, "moved", G_CALLBACK(on_moved), self);
}
