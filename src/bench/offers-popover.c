#include "offers-popover.h"

#include "kind-view.h"

#include <math.h>

#define FEW_ROWS 7 /* so many can be looked over without a search */
#define PICTURE_WIDTH 56
#define PICTURE_HEIGHT 38

struct _LoomOffersPopover {
  GtkPopover parent;
  GtkLabel *title, *sentence;
  GtkEditable *search;
  GtkListBox *list;
  GtkScrolledWindow *scroller;
  guint n_rows;
  guint pointed;               /* key that was told last, G_MAXUINT none */
  double pointer_x, pointer_y; /* over the list; -1: not yet */
};

G_DEFINE_FINAL_TYPE(LoomOffersPopover, loom_offers_popover, GTK_TYPE_POPOVER)

static guint signal_taken, signal_pointed;

static guint
key_of(GtkListBoxRow *row)
{
  return GPOINTER_TO_UINT(g_object_get_data(G_OBJECT(row), "key"));
}

static void
point(LoomOffersPopover *self, guint key)
{
  if (key == self->pointed)
    return;
  self->pointed = key;
  g_signal_emit(self, signal_pointed, 0, key);
}

static void
on_selected(LoomOffersPopover *self, GtkListBoxRow *row)
{
  if (row && gtk_widget_get_mapped(GTK_WIDGET(self)))
    point(self, key_of(row));
}

static void
on_closed(LoomOffersPopover *self)
{
  point(self, G_MAXUINT);
}

/* The list comes up under a pointer that does not move: that chooses nothing. */
static void
on_motion(GtkEventControllerMotion *controller, double x, double y, gpointer data)
{
  LoomOffersPopover *self = data;
  (void)controller;
  GtkListBoxRow *row = gtk_list_box_get_row_at_y(self->list, (int)y);
  bool moved = fabs(self->pointer_x - x) + fabs(self->pointer_y - y) > 0;
  bool first = self->pointer_x < 0;
  self->pointer_x = x;
  self->pointer_y = y;
  if (row && moved && !first && row != gtk_list_box_get_selected_row(self->list))
    gtk_list_box_select_row(self->list, row);
}

static void
take(LoomOffersPopover *self, GtkListBoxRow *row)
{
  guint key = key_of(row);
  gtk_popover_popdown(GTK_POPOVER(self));
  g_signal_emit(self, signal_taken, 0, key);
}

static void
on_row(LoomOffersPopover *self, GtkListBoxRow *row)
{
  take(self, row);
}

static void
on_activate(LoomOffersPopover *self)
{
  GtkListBoxRow *row = gtk_list_box_get_selected_row(self->list);
  if (row && gtk_widget_get_child_visible(GTK_WIDGET(row)))
    take(self, row);
}

/* The next row, from the one after `row` (or the first) on, that the search shows. */
static GtkListBoxRow *
next_shown(LoomOffersPopover *self, int index, int by)
{
  for (;; index += by) {
    GtkListBoxRow *row = gtk_list_box_get_row_at_index(self->list, index);
    if (!row || gtk_widget_get_child_visible(GTK_WIDGET(row)))
      return row;
  }
}

static void
select_first(LoomOffersPopover *self)
{
  gtk_list_box_select_row(self->list, next_shown(self, 0, 1));
}

static void
scroll_to(LoomOffersPopover *self, GtkWidget *row)
{
  graphene_rect_t r;
  GtkAdjustment *adjustment = gtk_scrolled_window_get_vadjustment(self->scroller);
  if (gtk_widget_compute_bounds(row, GTK_WIDGET(self->list), &r))
    gtk_adjustment_clamp_page(adjustment, r.origin.y, r.origin.y + r.size.height);
}

static void
on_search(LoomOffersPopover *self)
{
  gtk_list_box_invalidate_filter(self->list);
  select_first(self);
}

static gboolean
on_key(GtkEventControllerKey *controller, guint key, guint code, GdkModifierType state,
       gpointer data)
{
  (void)controller;
  (void)code;
  (void)state;
  LoomOffersPopover *self = data;
  if (key != GDK_KEY_Down && key != GDK_KEY_Up)
    return GDK_EVENT_PROPAGATE;
  int by = key == GDK_KEY_Down ? 1 : -1;
  GtkListBoxRow *row = gtk_list_box_get_selected_row(self->list);
  GtkListBoxRow *next = row ? next_shown(self, gtk_list_box_row_get_index(row) + by, by) : NULL;
  if (next) {
    gtk_list_box_select_row(self->list, next);
    scroll_to(self, GTK_WIDGET(next));
  }
  return GDK_EVENT_STOP;
}

static gboolean
is_shown(GtkListBoxRow *row, gpointer data)
{
  LoomOffersPopover *self = data;
  const char *text = gtk_editable_get_text(self->search);
  const LoomKind *kind = g_object_get_data(G_OBJECT(row), "kind");
  g_autofree char *label = g_utf8_casefold(g_object_get_data(G_OBJECT(row), "label"), -1);
  g_autofree char *wanted = g_utf8_casefold(text, -1);
  return strstr(label, wanted) || (kind && loom_kind_matches(kind, text));
}

static void
put_heading(GtkListBoxRow *row, GtkListBoxRow *before, gpointer data)
{
  (void)data;
  const char *heading = g_object_get_data(G_OBJECT(row), "heading");
  const char *previous = before ? g_object_get_data(G_OBJECT(before), "heading") : NULL;
  if (!heading || g_strcmp0(heading, previous) == 0) {
    gtk_list_box_row_set_header(row, NULL);
    return;
  }
  GtkWidget *label = gtk_label_new(heading);
  gtk_label_set_xalign(GTK_LABEL(label), 0);
  gtk_widget_add_css_class(label, "group-heading");
  gtk_list_box_row_set_header(row, label);
}

static void
loom_offers_popover_dispose(GObject *object)
{
  gtk_widget_dispose_template(GTK_WIDGET(object), LOOM_TYPE_OFFERS_POPOVER);
  G_OBJECT_CLASS(loom_offers_popover_parent_class)->dispose(object);
}

static void
loom_offers_popover_class_init(LoomOffersPopoverClass *class)
{
  GtkWidgetClass *widget_class = GTK_WIDGET_CLASS(class);
  G_OBJECT_CLASS(class)->dispose = loom_offers_popover_dispose;
  signal_taken = g_signal_new("taken", LOOM_TYPE_OFFERS_POPOVER, G_SIGNAL_RUN_LAST, 0, NULL, NULL,
                              NULL, G_TYPE_NONE, 1, G_TYPE_UINT);
  signal_pointed = g_signal_new("pointed", LOOM_TYPE_OFFERS_POPOVER, G_SIGNAL_RUN_LAST, 0, NULL,
                                NULL, NULL, G_TYPE_NONE, 1, G_TYPE_UINT);
  gtk_widget_class_set_template_from_resource(widget_class, "/org/loombook/ui/offers-popover.ui");
  gtk_widget_class_bind_template_child(widget_class, LoomOffersPopover, title);
  gtk_widget_class_bind_template_child(widget_class, LoomOffersPopover, sentence);
  gtk_widget_class_bind_template_child(widget_class, LoomOffersPopover, search);
  gtk_widget_class_bind_template_child(widget_class, LoomOffersPopover, list);
  gtk_widget_class_bind_template_child(widget_class, LoomOffersPopover, scroller);
  gtk_widget_class_bind_template_callback(widget_class, on_search);
  gtk_widget_class_bind_template_callback(widget_class, on_activate);
  gtk_widget_class_bind_template_callback(widget_class, on_row);
  gtk_widget_class_bind_template_callback(widget_class, on_selected);
  gtk_widget_class_bind_template_callback(widget_class, on_closed);
}

static void
loom_offers_popover_init(LoomOffersPopover *self)
{
  gtk_widget_init_template(GTK_WIDGET(self));
  gtk_list_box_set_filter_func(self->list, is_shown, self, NULL);
  gtk_list_box_set_header_func(self->list, put_heading, NULL, NULL);
  GtkEventController *keys = gtk_event_controller_key_new();
  gtk_event_controller_set_propagation_phase(keys, GTK_PHASE_CAPTURE);
  g_signal_connect(keys, "key-pressed", G_CALLBACK(on_key), self);
  gtk_widget_add_controller(GTK_WIDGET(self), keys);
  self->pointed = G_MAXUINT;
  GtkEventController *motion = gtk_event_controller_motion_new();
  g_signal_connect(motion, "motion", G_CALLBACK(on_motion), self);
  gtk_widget_add_controller(GTK_WIDGET(self->list), motion);
}

LoomOffersPopover *
loom_offers_popover_new(void)
{
  return g_object_new(LOOM_TYPE_OFFERS_POPOVER, NULL);
}

void
loom_offers_popover_begin(LoomOffersPopover *self, const char *title, const char *sentence)
{
  GtkWidget *row;
  while ((row = gtk_widget_get_first_child(GTK_WIDGET(self->list))))
    gtk_list_box_remove(self->list, row);
  self->n_rows = 0;
  gtk_label_set_text(self->title, title);
  gtk_label_set_text(self->sentence, sentence ? sentence : "");
  gtk_widget_set_visible(GTK_WIDGET(self->sentence), sentence != NULL);
  gtk_editable_set_text(self->search, "");
}

static GtkWidget *
text_of_row(const char *label, const char *detail)
{
  GtkWidget *box = gtk_box_new(GTK_ORIENTATION_VERTICAL, 0);
  GtkWidget *first = gtk_label_new(label);
  gtk_label_set_xalign(GTK_LABEL(first), 0);
  gtk_label_set_wrap(GTK_LABEL(first), TRUE);
  gtk_box_append(GTK_BOX(box), first);
  gtk_widget_set_hexpand(box, TRUE);
  gtk_widget_set_valign(box, GTK_ALIGN_CENTER);
  if (!detail)
    return box;
  GtkWidget *second = gtk_label_new(detail);
  gtk_label_set_xalign(GTK_LABEL(second), 0);
  gtk_label_set_wrap(GTK_LABEL(second), TRUE);
  gtk_label_set_max_width_chars(GTK_LABEL(second), 36);
  gtk_widget_add_css_class(second, "dim-label");
  gtk_widget_add_css_class(second, "caption");
  gtk_box_append(GTK_BOX(box), second);
  return box;
}

void
loom_offers_popover_add(LoomOffersPopover *self, guint key, const char *heading,
                        const LoomKind *kind, const char *label, const char *detail)
{
  GtkWidget *row = gtk_list_box_row_new();
  GtkWidget *box = gtk_box_new(GTK_ORIENTATION_HORIZONTAL, 10);
  if (kind) {
    gtk_box_append(GTK_BOX(box), loom_kind_view_new(kind, PICTURE_WIDTH, PICTURE_HEIGHT));
    g_object_set_data_full(G_OBJECT(row), "kind", loom_kind_ref(kind),
                           (GDestroyNotify)loom_kind_unref);
  }
  gtk_box_append(GTK_BOX(box), text_of_row(label, detail));
  gtk_list_box_row_set_child(GTK_LIST_BOX_ROW(row), box);
  g_object_set_data(G_OBJECT(row), "key", GUINT_TO_POINTER(key));
  g_object_set_data_full(G_OBJECT(row), "label", g_strdup(label), g_free);
  g_object_set_data_full(G_OBJECT(row), "heading", g_strdup(heading), g_free);
  gtk_accessible_update_property(GTK_ACCESSIBLE(row), GTK_ACCESSIBLE_PROPERTY_LABEL, label,
                                 GTK_ACCESSIBLE_PROPERTY_DESCRIPTION, detail ? detail : "", -1);
  gtk_list_box_append(self->list, row);
  self->n_rows++;
}

guint
loom_offers_popover_n_rows(LoomOffersPopover *self)
{
  return self->n_rows;
}

bool
loom_offers_popover_row_bounds(LoomOffersPopover *self, const char *kind, graphene_rect_t *bounds)
{
  GtkListBoxRow *row;
  for (int i = 0; (row = gtk_list_box_get_row_at_index(self->list, i)); i++) {
    const LoomKind *own = g_object_get_data(G_OBJECT(row), "kind");
    if (!own || !g_str_equal(own->id, kind))
      continue;
    scroll_to(self, GTK_WIDGET(row));
    return gtk_widget_compute_bounds(GTK_WIDGET(row), GTK_WIDGET(self), bounds);
  }
  return false;
}

void
loom_offers_popover_open(LoomOffersPopover *self, const GdkRectangle *at)
{
  bool searches = self->n_rows > FEW_ROWS;
  gtk_widget_set_visible(GTK_WIDGET(self->search), searches);
  gtk_widget_set_visible(GTK_WIDGET(self->scroller), self->n_rows > 0);
  gtk_popover_set_pointing_to(GTK_POPOVER(self), at);
  self->pointer_x = self->pointer_y = -1;
  gtk_popover_popup(GTK_POPOVER(self));
  select_first(self);
  GtkListBoxRow *row = gtk_list_box_get_selected_row(self->list);
  if (searches)
    gtk_widget_grab_focus(GTK_WIDGET(self->search));
  else if (row)
    gtk_widget_grab_focus(GTK_WIDGET(row));
}
