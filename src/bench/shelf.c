#include "shelf.h"

#include "kind-view.h"
#include "look.h"
#include "sentence.h"

#include <glib/gi18n-lib.h>

#define PICTURE_WIDTH 64
#define PICTURE_HEIGHT 44
/* What hangs at the pointer: pixels a millimetre, and at most so many pixels. */
#define DRAG_SCALE 2.6
#define DRAG_LARGEST 220.0

G_DEFINE_BOXED_TYPE(LoomKind, loom_kind, loom_kind_ref, loom_kind_unref)

struct _LoomShelf {
  GtkWidget parent;
  GtkEditable *search;
  GtkListBox *list;
  GtkScrolledWindow *scroller;
  LoomCatalogue *catalogue;
};

G_DEFINE_FINAL_TYPE(LoomShelf, loom_shelf, GTK_TYPE_WIDGET)

enum { WANTED, DRAGGING, LEFT, N_SIGNALS };
static guint signals[N_SIGNALS];

static const LoomKind *
kind_of(GtkListBoxRow *row)
{
  return g_object_get_data(G_OBJECT(row), "kind");
}

static void
on_row(LoomShelf *self, GtkListBoxRow *row)
{
  g_signal_emit(self, signals[WANTED], 0, kind_of(row));
}

/* The first row that the search shows. */
static GtkListBoxRow *
first_shown(LoomShelf *self)
{
  for (int i = 0;; i++) {
    GtkListBoxRow *row = gtk_list_box_get_row_at_index(self->list, i);
    if (!row || gtk_widget_get_child_visible(GTK_WIDGET(row)))
      return row;
  }
}

static void
on_activate(LoomShelf *self)
{
  GtkListBoxRow *row = first_shown(self);
  if (row && *gtk_editable_get_text(self->search))
    on_row(self, row);
}

static void
on_search(LoomShelf *self)
{
  gtk_list_box_invalidate_filter(self->list);
  gtk_adjustment_set_value(gtk_scrolled_window_get_vadjustment(self->scroller), 0);
}

static void
on_stop(LoomShelf *self)
{
  gtk_editable_set_text(self->search, "");
  g_signal_emit(self, signals[LEFT], 0);
}

static gboolean
on_search_key(GtkEventControllerKey *controller, guint key, guint code, GdkModifierType state,
              gpointer data)
{
  (void)controller;
  (void)code;
  (void)state;
  LoomShelf *self = data;
  GtkListBoxRow *row = key == GDK_KEY_Down ? first_shown(self) : NULL;
  if (!row)
    return GDK_EVENT_PROPAGATE;
  gtk_list_box_select_row(self->list, row);
  return gtk_widget_grab_focus(GTK_WIDGET(row));
}

static gboolean
is_shown(GtkListBoxRow *row, gpointer data)
{
  LoomShelf *self = data;
  return loom_kind_matches(kind_of(row), gtk_editable_get_text(self->search));
}

static void
put_heading(GtkListBoxRow *row, GtkListBoxRow *before, gpointer data)
{
  (void)data;
  LoomGroup group = kind_of(row)->group;
  if (before && kind_of(before)->group == group) {
    gtk_list_box_row_set_header(row, NULL);
    return;
  }
  GtkWidget *label = gtk_label_new(_(loom_group_label(group)));
  gtk_label_set_xalign(GTK_LABEL(label), 0);
  gtk_label_set_wrap(GTK_LABEL(label), TRUE);
  gtk_widget_add_css_class(label, "group-heading");
  gtk_list_box_row_set_header(row, label);
}

static GdkContentProvider *
on_drag_prepare(GtkDragSource *source, double x, double y, gpointer data)
{
  (void)x;
  (void)y;
  GtkWidget *row = gtk_event_controller_get_widget(GTK_EVENT_CONTROLLER(source));
  const LoomKind *kind = data;
  LoomRect extents = loom_draw_kind_extents(kind);
  double scale = MIN(DRAG_SCALE, DRAG_LARGEST / MAX(extents.width, extents.height));
  g_autoptr(GdkPaintable) picture = loom_kind_view_paintable(kind, loom_look_palette(row), scale);
  gtk_drag_source_set_icon(source, picture, gdk_paintable_get_intrinsic_width(picture) / 2,
                           gdk_paintable_get_intrinsic_height(picture) / 2);
  return gdk_content_provider_new_typed(LOOM_TYPE_KIND, kind);
}

static void
on_drag_begin(GtkDragSource *source, GdkDrag *drag, gpointer data)
{
  (void)source;
  (void)drag;
  g_signal_emit(data, signals[DRAGGING], 0, TRUE);
}

static void
on_drag_end(GtkDragSource *source, GdkDrag *drag, gboolean delete_data, gpointer data)
{
  (void)source;
  (void)drag;
  (void)delete_data;
  g_signal_emit(data, signals[DRAGGING], 0, FALSE);
}

static GtkWidget *
row_new(LoomShelf *self, const LoomKind *kind)
{
  GtkWidget *row = gtk_list_box_row_new();
  GtkWidget *box = gtk_box_new(GTK_ORIENTATION_HORIZONTAL, 10);
  GtkWidget *label = loom_sentence_new(kind->name, NULL);
  gtk_label_set_max_width_chars(GTK_LABEL(label), 1);
  gtk_widget_set_hexpand(label, TRUE);
  gtk_box_append(GTK_BOX(box), loom_kind_view_new(kind, PICTURE_WIDTH, PICTURE_HEIGHT));
  gtk_box_append(GTK_BOX(box), label);
  gtk_list_box_row_set_child(GTK_LIST_BOX_ROW(row), box);
  gtk_widget_set_tooltip_text(row, kind->about);
  gtk_accessible_update_property(GTK_ACCESSIBLE(row), GTK_ACCESSIBLE_PROPERTY_LABEL, kind->name,
                                 GTK_ACCESSIBLE_PROPERTY_DESCRIPTION,
                                 kind->about ? kind->about : "", -1);
  g_object_set_data_full(G_OBJECT(row), "kind", loom_kind_ref(kind),
                         (GDestroyNotify)loom_kind_unref);

  GtkDragSource *source = gtk_drag_source_new();
  g_signal_connect(source, "prepare", G_CALLBACK(on_drag_prepare), (gpointer)kind);
  g_signal_connect(source, "drag-begin", G_CALLBACK(on_drag_begin), self);
  g_signal_connect(source, "drag-end", G_CALLBACK(on_drag_end), self);
  gtk_widget_add_controller(row, GTK_EVENT_CONTROLLER(source));
  return row;
}

void
loom_shelf_set_catalogue(LoomShelf *self, LoomCatalogue *catalogue)
{
  GtkListBoxRow *row;
  guint n;
  while ((row = gtk_list_box_get_row_at_index(self->list, 0)))
    gtk_list_box_remove(self->list, GTK_WIDGET(row));
  g_clear_pointer(&self->catalogue, loom_catalogue_unref);
  self->catalogue = loom_catalogue_ref(catalogue);
  const LoomKind *const *kinds = loom_catalogue_kinds(catalogue, &n);
  for (guint i = 0; i < n; i++)
    gtk_list_box_append(self->list, row_new(self, kinds[i]));
}

void
loom_shelf_search(LoomShelf *self)
{
  gtk_widget_grab_focus(GTK_WIDGET(self->search));
}

bool
loom_shelf_row_bounds(LoomShelf *self, const char *kind, GtkWidget *root, graphene_rect_t *bounds)
{
  GtkListBoxRow *row;
  for (int i = 0; (row = gtk_list_box_get_row_at_index(self->list, i)); i++) {
    graphene_rect_t r;
    if (g_strcmp0(kind_of(row)->id, kind) != 0 ||
        !gtk_widget_compute_bounds(GTK_WIDGET(row), GTK_WIDGET(self->list), &r))
      continue;
    gtk_adjustment_clamp_page(gtk_scrolled_window_get_vadjustment(self->scroller), r.origin.y,
                              r.origin.y + r.size.height);
    return gtk_widget_compute_bounds(GTK_WIDGET(row), root, bounds);
  }
  return false;
}

static void
loom_shelf_dispose(GObject *object)
{
  LoomShelf *self = LOOM_SHELF(object);
  g_clear_pointer(&self->catalogue, loom_catalogue_unref);
  gtk_widget_dispose_template(GTK_WIDGET(object), LOOM_TYPE_SHELF);
  GtkWidget *child = gtk_widget_get_first_child(GTK_WIDGET(object));
  g_clear_pointer(&child, gtk_widget_unparent);
  G_OBJECT_CLASS(loom_shelf_parent_class)->dispose(object);
}

static void
loom_shelf_class_init(LoomShelfClass *class)
{
  GtkWidgetClass *widget_class = GTK_WIDGET_CLASS(class);
  G_OBJECT_CLASS(class)->dispose = loom_shelf_dispose;
  signals[DRAGGING] = g_signal_new("dragging", LOOM_TYPE_SHELF, G_SIGNAL_RUN_LAST, 0, NULL, NULL,
                                   NULL, G_TYPE_NONE, 1, G_TYPE_BOOLEAN);
  signals[LEFT] =
      g_signal_new("left", LOOM_TYPE_SHELF, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 0);
  signals[WANTED] = g_signal_new("wanted", LOOM_TYPE_SHELF, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL,
                                 G_TYPE_NONE, 1, LOOM_TYPE_KIND);
  gtk_widget_class_set_template_from_resource(widget_class, "/org/loombook/ui/shelf.ui");
  gtk_widget_class_bind_template_child(widget_class, LoomShelf, search);
  gtk_widget_class_bind_template_child(widget_class, LoomShelf, list);
  gtk_widget_class_bind_template_child(widget_class, LoomShelf, scroller);
  gtk_widget_class_bind_template_callback(widget_class, on_search);
  gtk_widget_class_bind_template_callback(widget_class, on_activate);
  gtk_widget_class_bind_template_callback(widget_class, on_row);
  gtk_widget_class_bind_template_callback(widget_class, on_stop);
}

static void
loom_shelf_init(LoomShelf *self)
{
  gtk_widget_init_template(GTK_WIDGET(self));
  gtk_list_box_set_filter_func(self->list, is_shown, self, NULL);
  gtk_list_box_set_header_func(self->list, put_heading, NULL, NULL);
  GtkEventController *keys = gtk_event_controller_key_new();
  gtk_event_controller_set_propagation_phase(keys, GTK_PHASE_CAPTURE);
  g_signal_connect(keys, "key-pressed", G_CALLBACK(on_search_key), self);
  gtk_widget_add_controller(GTK_WIDGET(self->search), keys);
}
