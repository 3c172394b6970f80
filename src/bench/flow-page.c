#include "flow-page.h"

#include "bars-view.h"
#include "look.h"
#include "outing-page.h"

#include <glib/gi18n-lib.h>
#include <math.h>

#define MOST_LIMITS 40
#define LEAST_VIEW_PX 110
#define MOST_VIEW_PX 230
#define LARGE_TEXT 1.4 /* from here on the controls stand in lines of their own */

struct _LoomFlowPage {
  GtkWidget parent;
  LoomFlowState *flow;
  LoomChoice *choice;
  GtkBox *controls;
  GtkDropDown *states;
  GtkRange *charge;
  GtkLabel *charge_text;
  GtkCheckButton *shown;
  GtkToggleButton *to_drop, *to_limits, *to_outing;
  GtkStack *views;
  LoomBarsView *drop, *limits;
  GtkLabel *drop_heading, *limits_heading;
  LoomOutingPage *outing;
  char *load;    /* designation of the part that the drop is drawn for; NULL: the strongest */
  bool settling; /* the controls follow the use, not the other way round */
  bool choosing; /* the choice is being changed from here */
  bool seen;     /* opened once: that writes the readings on the sheet */
};

G_DEFINE_FINAL_TYPE(LoomFlowPage, loom_flow_page, GTK_TYPE_WIDGET)

static guint wanted_signal;

static const LoomDesign *
design_of(LoomFlowPage *self)
{
  return loom_document_design(loom_flow_state_document(self->flow));
}

/* --- the views follow the flow --- */

static void
set_bars(LoomBarsView *view, GtkLabel *heading, LoomBars *bars)
{
  gtk_label_set_text(heading, bars->heading);
  loom_bars_view_set(view, bars);
}

static guint
load_part(LoomFlowPage *self, const LoomFlowing *flow)
{
  const LoomDesign *design = flow->network->wiring->design;
  guint part = self->load ? loom_design_find_part(design, self->load) : LOOM_NONE;
  return part == LOOM_NONE ? loom_flowing_strongest(flow) : part;
}

static void
fill_drop(LoomFlowPage *self, const LoomFlowing *flow)
{
  guint part = load_part(self, flow);
  guint branch = part == LOOM_NONE ? LOOM_NONE : loom_flowing_load(flow, part);
  g_autoptr(LoomWaterfall) fall =
      branch == LOOM_NONE ? NULL : loom_waterfall_new(flow->network, flow->point, branch);
  const char *name =
      part == LOOM_NONE ? NULL : loom_wiring_part(flow->network->wiring, part)->designation;
  set_bars(self->drop, self->drop_heading, loom_bars_of_waterfall(flow->network, fall, name));
}

/* Without an operating point both views say why. */
static LoomBars *
why_bars(const LoomFlowing *flow)
{
  LoomBars *bars = g_new0(LoomBars, 1);
  bars->heading = g_strdup(flow->readings->caption);
  return bars;
}

static void
on_flow(LoomFlowState *state, gpointer data)
{
  LoomFlowPage *self = data;
  const LoomFlowing *flow = loom_flow_state_flow(state);
  if (!flow || !gtk_widget_get_mapped(GTK_WIDGET(self)))
    return;
  if (flow->point->trouble != LOOM_TROUBLE_NONE) {
    set_bars(self->drop, self->drop_heading, why_bars(flow));
    set_bars(self->limits, self->limits_heading, why_bars(flow));
    return;
  }
  fill_drop(self, flow);
  set_bars(self->limits, self->limits_heading,
           loom_bars_of_margins(flow->network, flow->margins, MOST_LIMITS));
}

/* Choosing a part that takes current shows the way to it; anything else leaves the view alone. */
static void
on_choice(LoomChoice *choice, gpointer data)
{
  LoomFlowPage *self = data;
  const char *designation = loom_choice_n_parts(choice) == 1 ? loom_choice_part(choice, 0) : NULL;
  guint part = designation ? loom_design_find_part(design_of(self), designation) : LOOM_NONE;
  if (self->choosing || part == LOOM_NONE ||
      !loom_flow_kind_is_load(loom_design_part(design_of(self), part)->kind))
    return;
  g_free(self->load);
  self->load = g_strdup(designation);
  on_flow(self->flow, self);
}

static void
on_bar(LoomBarsView *view, guint bar, gpointer data)
{
  LoomFlowPage *self = data;
  guint part = loom_bars_view_bars(view)->bars[bar].part;
  if (part >= loom_design_n_parts(design_of(self)))
    return;
  const char *designation = loom_design_part(design_of(self), part)->designation;
  self->choosing = true;
  loom_choice_set_part(self->choice, designation, NULL);
  self->choosing = false;
  g_signal_emit(self, wanted_signal, 0, designation);
}

/* --- the controls --- */

static bool
states_differ(LoomFlowPage *self, const LoomScene *scene)
{
  GListModel *model = gtk_drop_down_get_model(self->states);
  guint n = model ? g_list_model_get_n_items(model) : 0;
  if (n != MAX(scene->n_states, 1))
    return true;
  for (guint i = 0; i < scene->n_states; i++)
    if (g_strcmp0(gtk_string_list_get_string(GTK_STRING_LIST(model), i), scene->states[i].name))
      return true;
  return scene->n_states == 0;
}

static void
fill_states(LoomFlowPage *self, const LoomScene *scene)
{
  g_autoptr(GtkStringList) names = gtk_string_list_new(NULL);
  for (guint i = 0; i < scene->n_states; i++)
    gtk_string_list_append(names, scene->states[i].name);
  if (!scene->n_states)
    gtk_string_list_append(names, _("as placed"));
  gtk_drop_down_set_model(self->states, G_LIST_MODEL(names));
}

static void
on_use(LoomFlowState *flow, gpointer data)
{
  LoomFlowPage *self = data;
  LoomDocument *document = loom_flow_state_document(flow);
  const LoomScene *scene =
      loom_design_scene(loom_document_design(document), loom_document_scene(document));
  double percent = loom_flow_state_charge(flow) * 100;
  g_autofree char *text = g_strdup_printf("%.0f %%", percent);
  guint state = loom_flow_state_state(flow);
  self->settling = true;
  if (states_differ(self, scene))
    fill_states(self, scene);
  gtk_drop_down_set_selected(self->states, state == LOOM_NONE ? 0 : state);
  gtk_range_set_value(self->charge, percent);
  gtk_label_set_text(self->charge_text, text);
  self->settling = false;
}

static void
on_shown(LoomFlowState *flow, gpointer data)
{
  gtk_check_button_set_active(LOOM_FLOW_PAGE(data)->shown, loom_flow_state_shown(flow));
}

static void
on_state_chosen(LoomFlowPage *self)
{
  if (!self->settling && self->flow)
    loom_flow_state_set_state(self->flow, gtk_drop_down_get_selected(self->states));
}

static void
on_charge(LoomFlowPage *self)
{
  if (!self->settling && self->flow)
    loom_flow_state_set_charge(self->flow, round(gtk_range_get_value(self->charge)) / 100);
}

static void
on_show(LoomFlowPage *self)
{
  if (self->flow)
    loom_flow_state_show(self->flow, gtk_check_button_get_active(self->shown));
}

static void
on_view(LoomFlowPage *self)
{
  const char *name = gtk_toggle_button_get_active(self->to_drop)     ? "drop"
                     : gtk_toggle_button_get_active(self->to_limits) ? "limits"
                                                                     : "outing";
  gtk_stack_set_visible_child_name(self->views, name);
}

LoomOutingPage *
loom_flow_page_outing(LoomFlowPage *self)
{
  return self->outing;
}

/* --- life --- */

void
loom_flow_page_attach(LoomFlowPage *self, LoomFlowState *flow, LoomChoice *choice)
{
  self->flow = g_object_ref(flow);
  self->choice = g_object_ref(choice);
  g_signal_connect_object(flow, "flow", G_CALLBACK(on_flow), self, 0);
  g_signal_connect_object(flow, "use", G_CALLBACK(on_use), self, 0);
  g_signal_connect_object(flow, "shown", G_CALLBACK(on_shown), self, 0);
  g_signal_connect_object(choice, "changed", G_CALLBACK(on_choice), self, 0);
  loom_outing_page_attach(self->outing, flow);
  on_use(flow, self);
}

static void
loom_flow_page_map(GtkWidget *widget)
{
  LoomFlowPage *self = LOOM_FLOW_PAGE(widget);
  GTK_WIDGET_CLASS(loom_flow_page_parent_class)->map(widget);
  if (!self->seen)
    loom_flow_state_show(self->flow, true);
  self->seen = true;
  loom_flow_state_watch(self->flow, true);
  on_flow(self->flow, self);
}

static void
loom_flow_page_unmap(GtkWidget *widget)
{
  loom_flow_state_watch(LOOM_FLOW_PAGE(widget)->flow, false);
  GTK_WIDGET_CLASS(loom_flow_page_parent_class)->unmap(widget);
}

static void
loom_flow_page_css_changed(GtkWidget *widget, GtkCssStyleChange *change)
{
  LoomFlowPage *self = LOOM_FLOW_PAGE(widget);
  GTK_WIDGET_CLASS(loom_flow_page_parent_class)->css_changed(widget, change);
  bool large = loom_look_text_factor(widget) > LARGE_TEXT;
  gtk_orientable_set_orientation(GTK_ORIENTABLE(self->controls),
                                 large ? GTK_ORIENTATION_VERTICAL : GTK_ORIENTATION_HORIZONTAL);
  gtk_box_set_spacing(self->controls, large ? 2 : 10);
}

static void
loom_flow_page_dispose(GObject *object)
{
  LoomFlowPage *self = LOOM_FLOW_PAGE(object);
  gtk_widget_dispose_template(GTK_WIDGET(object), LOOM_TYPE_FLOW_PAGE);
  GtkWidget *child = gtk_widget_get_first_child(GTK_WIDGET(object));
  g_clear_pointer(&child, gtk_widget_unparent);
  g_clear_object(&self->flow);
  g_clear_object(&self->choice);
  g_clear_pointer(&self->load, g_free);
  G_OBJECT_CLASS(loom_flow_page_parent_class)->dispose(object);
}

static void
bind_children(GtkWidgetClass *class)
{
  gtk_widget_class_bind_template_child(class, LoomFlowPage, controls);
  gtk_widget_class_bind_template_child(class, LoomFlowPage, states);
  gtk_widget_class_bind_template_child(class, LoomFlowPage, charge);
  gtk_widget_class_bind_template_child(class, LoomFlowPage, charge_text);
  gtk_widget_class_bind_template_child(class, LoomFlowPage, shown);
  gtk_widget_class_bind_template_child(class, LoomFlowPage, to_drop);
  gtk_widget_class_bind_template_child(class, LoomFlowPage, to_limits);
  gtk_widget_class_bind_template_child(class, LoomFlowPage, to_outing);
  gtk_widget_class_bind_template_child(class, LoomFlowPage, views);
}

static void
loom_flow_page_class_init(LoomFlowPageClass *class)
{
  GtkWidgetClass *widget_class = GTK_WIDGET_CLASS(class);
  G_OBJECT_CLASS(class)->dispose = loom_flow_page_dispose;
  widget_class->map = loom_flow_page_map;
  widget_class->unmap = loom_flow_page_unmap;
  widget_class->css_changed = loom_flow_page_css_changed;
  wanted_signal = g_signal_new("wanted", LOOM_TYPE_FLOW_PAGE, G_SIGNAL_RUN_LAST, 0, NULL, NULL,
                               NULL, G_TYPE_NONE, 1, G_TYPE_STRING);
  gtk_widget_class_set_template_from_resource(widget_class, "/org/loombook/ui/flow-page.ui");
  bind_children(widget_class);
}

static LoomBarsView *
add_bars(LoomFlowPage *self, const char *name, GtkLabel **heading)
{
  GtkWidget *box = gtk_box_new(GTK_ORIENTATION_VERTICAL, 4);
  g_autofree char *heading_name = g_strconcat(name, "-heading", NULL);
  g_autofree char *bars_name = g_strconcat(name, "-bars", NULL);
  *heading = GTK_LABEL(gtk_label_new(NULL));
  gtk_widget_set_name(GTK_WIDGET(*heading), heading_name);
  gtk_label_set_wrap(*heading, TRUE);
  gtk_label_set_xalign(*heading, 0);
  GtkWidget *scroller = gtk_scrolled_window_new();
  LoomBarsView *view = g_object_new(LOOM_TYPE_BARS_VIEW, "name", bars_name, NULL);
  gtk_scrolled_window_set_policy(GTK_SCROLLED_WINDOW(scroller), GTK_POLICY_NEVER,
                                 GTK_POLICY_AUTOMATIC);
  gtk_scrolled_window_set_min_content_height(GTK_SCROLLED_WINDOW(scroller), LEAST_VIEW_PX);
  gtk_scrolled_window_set_max_content_height(GTK_SCROLLED_WINDOW(scroller), MOST_VIEW_PX);
  gtk_scrolled_window_set_propagate_natural_height(GTK_SCROLLED_WINDOW(scroller), TRUE);
  gtk_widget_set_vexpand(scroller, TRUE);
  gtk_scrolled_window_set_child(GTK_SCROLLED_WINDOW(scroller), GTK_WIDGET(view));
  gtk_box_append(GTK_BOX(box), GTK_WIDGET(*heading));
  gtk_box_append(GTK_BOX(box), scroller);
  gtk_stack_add_named(self->views, box, name);
  g_signal_connect(view, "chosen", G_CALLBACK(on_bar), self);
  return view;
}

static void
loom_flow_page_init(LoomFlowPage *self)
{
  gtk_widget_init_template(GTK_WIDGET(self));
  self->drop = add_bars(self, "drop", &self->drop_heading);
  self->limits = add_bars(self, "limits", &self->limits_heading);
  self->outing = g_object_new(LOOM_TYPE_OUTING_PAGE, NULL);
  gtk_stack_add_named(self->views, GTK_WIDGET(self->outing), "outing");
  g_signal_connect_swapped(self->states, "notify::selected", G_CALLBACK(on_state_chosen), self);
  g_signal_connect_swapped(self->charge, "value-changed", G_CALLBACK(on_charge), self);
  g_signal_connect_swapped(self->shown, "toggled", G_CALLBACK(on_show), self);
  g_signal_connect_swapped(self->to_drop, "toggled", G_CALLBACK(on_view), self);
  g_signal_connect_swapped(self->to_limits, "toggled", G_CALLBACK(on_view), self);
  g_signal_connect_swapped(self->to_outing, "toggled", G_CALLBACK(on_view), self);
}
