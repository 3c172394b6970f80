#include "kind-view.h"

#include "look.h"
#include "sheet/inks.h"

#define MARGIN_PX 2.0
#define LARGEST_SCALE 4.0 /* pixels a millimetre: small parts do not fill the view */

struct _LoomKindView {
  GtkWidget parent;
  LoomKind *kind;
  int width, height; /* asked for */
  GskRenderNode *node;
  LoomPalette node_palette;
  int node_width, node_height;
};

G_DEFINE_FINAL_TYPE(LoomKindView, loom_kind_view, GTK_TYPE_WIDGET)

static void
draw_kind(cairo_t *cr, const LoomKind *kind, LoomPalette palette)
{
  g_autoptr(LoomInk) ink = loom_ink_cairo_new(cr, palette);
  loom_draw_kind(ink, kind);
}

static void
draw_fitted(LoomKindView *self, GtkSnapshot *snapshot, int width, int height)
{
  LoomRect r = loom_draw_kind_extents(self->kind);
  double scale =
      MIN((width - 2 * MARGIN_PX) / MAX(r.width, 1), (height - 2 * MARGIN_PX) / MAX(r.height, 1));
  scale = MIN(scale, LARGEST_SCALE);
  cairo_t *cr =
      gtk_snapshot_append_cairo(snapshot, &GRAPHENE_RECT_INIT(0, 0, (float)width, (float)height));
  cairo_translate(cr, (width - scale * r.width) / 2, (height - scale * r.height) / 2);
  cairo_scale(cr, scale, scale);
  cairo_translate(cr, -r.x, -r.y);
  draw_kind(cr, self->kind, self->node_palette);
  cairo_destroy(cr);
}

static void
renew_node(LoomKindView *self, int width, int height, LoomPalette palette)
{
  g_clear_pointer(&self->node, gsk_render_node_unref);
  self->node_palette = palette;
  self->node_width = width;
  self->node_height = height;
  GtkSnapshot *snapshot = gtk_snapshot_new();
  draw_fitted(self, snapshot, width, height);
  self->node = gtk_snapshot_free_to_node(snapshot);
}

static void
loom_kind_view_snapshot(GtkWidget *widget, GtkSnapshot *snapshot)
{
  LoomKindView *self = LOOM_KIND_VIEW(widget);
  int width = gtk_widget_get_width(widget);
  int height = gtk_widget_get_height(widget);
  LoomPalette palette = loom_look_palette(widget);
  if (!self->kind || width <= 0 || height <= 0)
    return;
  if (!self->node || self->node_width != width || self->node_height != height ||
      self->node_palette != palette)
    renew_node(self, width, height, palette);
  if (self->node)
    gtk_snapshot_append_node(snapshot, self->node);
}

static void
loom_kind_view_measure(GtkWidget *widget, GtkOrientation orientation, int for_size, int *minimum,
                       int *natural, int *minimum_baseline, int *natural_baseline)
{
  (void)for_size;
  LoomKindView *self = LOOM_KIND_VIEW(widget);
  double grown = (1 + loom_look_text_factor(widget)) / 2; /* half as much as the text beside it */
  int size = orientation == GTK_ORIENTATION_HORIZONTAL ? self->width : self->height;
  *minimum = *natural = (int)(size * grown);
  *minimum_baseline = *natural_baseline = -1;
}

static void
loom_kind_view_finalize(GObject *object)
{
  LoomKindView *self = LOOM_KIND_VIEW(object);
  g_clear_pointer(&self->node, gsk_render_node_unref);
  g_clear_pointer(&self->kind, loom_kind_unref);
  G_OBJECT_CLASS(loom_kind_view_parent_class)->finalize(object);
}

static void
loom_kind_view_class_init(LoomKindViewClass *class)
{
  GtkWidgetClass *widget_class = GTK_WIDGET_CLASS(class);
  G_OBJECT_CLASS(class)->finalize = loom_kind_view_finalize;
  widget_class->snapshot = loom_kind_view_snapshot;
  widget_class->measure = loom_kind_view_measure;
  gtk_widget_class_set_css_name(widget_class, "kindview");
  gtk_widget_class_set_accessible_role(widget_class, GTK_ACCESSIBLE_ROLE_PRESENTATION);
}

static void
loom_kind_view_init(LoomKindView *self)
{
  self->width = self->height = 48;
}

void
loom_kind_view_set_kind(LoomKindView *self, const LoomKind *kind)
{
  if (self->kind == kind)
    return;
  g_clear_pointer(&self->node, gsk_render_node_unref);
  g_clear_pointer(&self->kind, loom_kind_unref);
  self->kind = kind ? loom_kind_ref(kind) : NULL;
  gtk_widget_queue_draw(GTK_WIDGET(self));
}

GtkWidget *
loom_kind_view_new(const LoomKind *kind, int width, int height)
{
  LoomKindView *self = g_object_new(LOOM_TYPE_KIND_VIEW, NULL);
  self->width = width;
  self->height = height;
  loom_kind_view_set_kind(self, kind);
  return GTK_WIDGET(self);
}

GdkPaintable *
loom_kind_view_paintable(const LoomKind *kind, LoomPalette palette, double scale)
{
  LoomRect r = loom_draw_kind_extents(kind);
  graphene_size_t size = GRAPHENE_SIZE_INIT((float)(r.width * scale), (float)(r.height * scale));
  GtkSnapshot *snapshot = gtk_snapshot_new();
  cairo_t *cr =
      gtk_snapshot_append_cairo(snapshot, &GRAPHENE_RECT_INIT(0, 0, size.width, size.height));
  cairo_scale(cr, scale, scale);
  cairo_translate(cr, -r.x, -r.y);
  draw_kind(cr, kind, palette);
  cairo_destroy(cr);
  return gtk_snapshot_free_to_paintable(snapshot, &size);
}
