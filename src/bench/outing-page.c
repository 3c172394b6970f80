#include "outing-page.h"

#include "look.h"
#include "outing-view.h"
#include "planning/outing-words.h"
#include "sheet/figure-file.h"

#include <glib/gi18n-lib.h>
#include <math.h>

#define LEAST_VIEW_PX 110
#define MOST_VIEW_PX 250
#define LARGE_TEXT 1.4 /* from here on the words stand below the curve */
#define FILE_WIDTH_MM 240.0
#define FILE_HEIGHT_MM 120.0

struct _LoomOutingPage {
  GtkWidget parent;
  LoomFlowState *flow;
  GtkBox *content;
  GtkDropDown *outings;
  GtkLabel *summary;
  GtkWidget *export, *side;
  LoomOutingView *view;
  LoomFlowModel *model; /* what the trace was made of; held */
  LoomTrace *trace;
  guint outing;
  double charge;
  bool busy; /* a thread is at it */
};

G_DEFINE_FINAL_TYPE(LoomOutingPage, loom_outing_page, GTK_TYPE_WIDGET)

/* --- running --- */

typedef struct {
  LoomFlowModel *model;
  guint outing;
  double charge;
  LoomTrace *trace;
} Run;

static void
run_free(Run *run)
{
  loom_flow_model_unref(run->model);
  loom_trace_free(run->trace);
  g_free(run);
}

static void
run_in_thread(GTask *task, gpointer source, gpointer data, GCancellable *cancellable)
{
  (void)source;
  (void)cancellable;
  Run *run = data;
  run->trace = loom_flow_model_outing(run->model, run->outing, run->charge);
  g_task_return_boolean(task, TRUE);
}

static void
show_trace(LoomOutingPage *self)
{
  const LoomDesign *design = loom_flow_model_design(self->model);
  const LoomScene *scene = loom_flow_model_scene(self->model);
  g_autofree char *text = loom_outing_summary(design, &scene->outings[self->outing], self->trace);
  gtk_label_set_text(self->summary, g_strchomp(text));
  loom_outing_view_set(
      self->view, self->trace->n_samples ? loom_outing_plot_new(design, scene, self->trace) : NULL);
  loom_events_say(loom_document_events(loom_flow_state_document(self->flow)), "outing %s %u",
                  scene->outings[self->outing].name, self->trace->n_samples);
}

static void want_trace(LoomOutingPage *self);

static void
on_run(GObject *source, GAsyncResult *result, gpointer data)
{
  (void)data;
  LoomOutingPage *self = LOOM_OUTING_PAGE(source);
  Run *run = g_task_get_task_data(G_TASK(result));
  self->busy = false;
  if (!g_task_propagate_boolean(G_TASK(result), NULL) || !self->flow)
    return;
  g_clear_pointer(&self->model, loom_flow_model_unref);
  g_clear_pointer(&self->trace, loom_trace_free);
  self->model = loom_flow_model_ref(run->model);
  self->trace = g_steal_pointer(&run->trace);
  self->outing = run->outing;
  self->charge = run->charge;
  show_trace(self);
  want_trace(self);
}

static void
clear_trace(LoomOutingPage *self)
{
  g_clear_pointer(&self->trace, loom_trace_free);
  g_clear_pointer(&self->model, loom_flow_model_unref);
  loom_outing_view_set(self->view, NULL);
  gtk_label_set_text(self->summary,
                     _("This scene has no outing yet: a list of states, and how long "
                       "each of them lasts. The tag of the sheet adds one."));
}

static void
want_trace(LoomOutingPage *self)
{
  if (!self->flow)
    return;
  const LoomFlowing *flow = loom_flow_state_flow(self->flow);
  if (!flow || self->busy || !gtk_widget_get_mapped(GTK_WIDGET(self)))
    return;
  guint outing = gtk_drop_down_get_selected(self->outings);
  if (outing >= loom_flow_model_scene(flow->model)->n_outings) {
    clear_trace(self);
    return;
  }
  if (self->trace && self->model == flow->model && self->outing == outing &&
      fabs(self->charge - flow->charge) < 1e-9)
    return;
  Run *run = g_new0(Run, 1);
  run->model = loom_flow_model_ref(flow->model);
  run->outing = outing;
  run->charge = flow->charge;
  self->busy = true;
  g_autoptr(GTask) task = g_task_new(self, NULL, on_run, NULL);
  g_task_set_task_data(task, run, (GDestroyNotify)run_free);
  g_task_run_in_thread(task, run_in_thread);
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
draw_file(LoomInk *ink, gconstpointer data)
{
  loom_outing_plot_draw(ink, data, FILE_WIDTH_MM, FILE_HEIGHT_MM, NAN);
}

/* From a menu the page need not have been seen: the outing is run then and there. */
static LoomTrace *
fresh_trace(LoomOutingPage *self, LoomFlowModel **model)
{
  LoomDocument *document = loom_flow_state_document(self->flow);
  guint outing = gtk_drop_down_get_selected(self->outings);
  *model = loom_flow_model_new(loom_document_design(document), loom_document_scene(document),
                               loom_document_design_number(document));
  if (outing >= loom_flow_model_scene(*model)->n_outings)
    outing = 0;
  return loom_flow_model_outing(*model, outing, loom_flow_state_charge(self->flow));
}

bool
loom_outing_page_write(LoomOutingPage *self, const char *path, GError **error)
{
  g_autoptr(LoomFlowModel) model = NULL;
  g_autoptr(LoomTrace) trace = fresh_trace(self, &model);
  const LoomDesign *design = loom_flow_model_design(model);
  const LoomScene *scene = loom_flow_model_scene(model);
  guint index = gtk_drop_down_get_selected(self->outings);
  const LoomOuting *outing = &scene->outings[index < scene->n_outings ? index : 0];
  if (g_str_has_suffix(path, ".csv")) {
    g_autofree char *text = loom_outing_csv(design, scene, trace);
    return g_file_set_contents(path, text, -1, error);
  }
  g_autofree char *summary = loom_outing_summary(design, outing, trace);
  g_autofree char *title = g_strdup_printf("%s, %s", loom_design_title(design)->name, outing->name);
  g_autoptr(LoomOutingPlot) plot = loom_outing_plot_new(design, scene, trace);
  LoomFigureFile figure = {FILE_WIDTH_MM, FILE_HEIGHT_MM, title, summary, draw_file, plot};
  return loom_figure_file_write(&figure, path, error);
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
  g_clear_pointer(&child, gtk_widget_unparent);
  g_clear_object(&self->flow);
  g_clear_pointer(&self->model, loom_flow_model_unref);
  g_clear_pointer(&self->trace, loom_trace_free);
  G_OBJECT_CLASS(loom_outing_page_parent_class)->dispose(object);
}

static void
loom_outing_page_class_init(LoomOutingPageClass *class)
{
  GtkWidgetClass *widget_class = GTK_WIDGET_CLASS(class);
  G_OBJECT_CLASS(class)->dispose = loom_outing_page_dispose;
  widget_class->map = loom_outing_page_map;
  widget_class->css_changed = loom_outing_page_css_changed;
  gtk_widget_class_set_layout_manager_type(widget_class, GTK_TYPE_BIN_LAYOUT);
}

static GtkWidget *
side_new(LoomOutingPage *self)
{
  GtkWidget *side = gtk_box_new(GTK_ORIENTATION_VERTICAL, 8);
  self->outings = GTK_DROP_DOWN(gtk_drop_down_new(NULL, NULL));
  self->summary = GTK_LABEL(gtk_label_new(NULL));
  self->export = gtk_button_new_with_label(_("Export…"));
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
