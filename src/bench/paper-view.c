#include "paper-view.h"

#include <glib/gi18n-lib.h>
#include <math.h>

#define AROUND 18.0 /* pixels around a page, and between two */
#define PX_PER_PT (96.0 / 72.0)
#define LEAST_PERCENT 20.0
#define MOST_PERCENT 400.0
#define ENOUGH 0.92     /* of the size of one page, for two of them side by side */
#define MOST_PICTURES 6 /* kept */

struct _LoomPaperView {
  GtkWidget parent;
  LoomProof *proof;
  guint page, n_shown;
  double percent;       /* 0: to fit */
  double scale;         /* pixels a point, as laid out last */
  GHashTable *pictures; /* page to GdkTexture at this scale */
  double pictures_scale;
};

G_DEFINE_TYPE(LoomPaperView, loom_paper_view, GTK_TYPE_WIDGET)

static guint turned_signal;

static guint
n_pages(LoomPaperView *self)
{
  return self->proof ? loom_proof_n_pages(self->proof) : 0;
}

/* --- how large --- */

static double
fitting_scale(LoomPaperView *self, guint n, double width, double height)
{
  double across = 0, down = 0;
  for (guint i = 0; i < n; i++) {
    double w, h;
    loom_proof_size_pt(self->proof, self->page + i, &w, &h);
    across += w;
    down = fmax(down, h);
  }
  return fmax(fmin((width - (n + 1) * AROUND) / across, (height - 2 * AROUND) / down), 0.05);
}

/* Lays the pages out; whether something else is shown than before. */
static bool
lay_out(LoomPaperView *self, double width, double height)
{
  double scale = self->percent / 100 * PX_PER_PT;
  guint n = 1;
  if (!n_pages(self))
    return false;
  bool two = self->page + 1 < n_pages(self);
  if (self->percent > 0) {
    double w, h;
    loom_proof_size_pt(self->proof, self->page, &w, &h);
    n = two && 2 * w * scale + 3 * AROUND <= width ? 2 : 1;
  } else {
    scale = fitting_scale(self, 1, width, height);
    double both = two ? fitting_scale(self, 2, width, height) : 0;
    if (both >= ENOUGH * scale) {
      scale = both;
      n = 2;
    }
  }
  bool other = n != self->n_shown || fabs(scale - self->scale) > 1e-6;
  self->n_shown = n;
  self->scale = scale;
  return other;
}

static void
say_turned(LoomPaperView *self)
{
  g_autofree char *text =
      n_pages(self) ? g_strdup_printf(_("Page %u of %u, %s"), self->page + 1, n_pages(self),
                                      loom_proof_chapter(self->proof, self->page))
                    : g_strdup(_("No pages yet"));
  gtk_accessible_update_property(GTK_ACCESSIBLE(self), GTK_ACCESSIBLE_PROPERTY_LABEL, text, -1);
  g_signal_emit(self, turned_signal, 0);
}

static gboolean
say_turned_later(gpointer data)
{
  say_turned(data);
  g_object_unref(data);
  return G_SOURCE_REMOVE;
}

static void
loom_paper_view_size_allocate(GtkWidget *widget, int width, int height, int baseline)
{
  (void)baseline;
  if (lay_out(LOOM_PAPER_VIEW(widget), width, height))
    g_idle_add(say_turned_later, g_object_ref(widget));
}

static void
loom_paper_view_measure(GtkWidget *widget, GtkOrientation orientation, int for_size, int *minimum,
                        int *natural, int *minimum_baseline, int *natural_baseline)
{
  LoomPaperView *self = LOOM_PAPER_VIEW(widget);
  (void)for_size;
  *minimum = *natural = 120;
  *minimum_baseline = *natural_baseline = -1;
  if (self->percent <= 0 || !n_pages(self))
    return;
  double w, h;
  loom_proof_size_pt(self->proof, self->page, &w, &h);
  double points = orientation == GTK_ORIENTATION_HORIZONTAL ? w : h;
  *minimum = *natural = (int)ceil(points * self->percent / 100 * PX_PER_PT + 2 * AROUND);
}

/* --- drawing --- */

static GdkTexture *
picture_new(LoomPaperView *self, guint page, int width, int height)
{
  double w, h;
  loom_proof_size_pt(self->proof, page, &w, &h);
  cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_ARGB32, width, height);
  cairo_t *cr = cairo_create(surface);
  cairo_set_source_rgb(cr, 1, 1, 1);
  cairo_paint(cr);
  cairo_scale(cr, width / w, height / h);
  loom_proof_draw(self->proof, cr, page);
  cairo_destroy(cr);
  cairo_surface_flush(surface);
  gsize stride = (gsize)cairo_image_surface_get_stride(surface);
  g_autoptr(GBytes) bytes =
      g_bytes_new_with_free_func(cairo_image_surface_get_data(surface), stride * (gsize)height,
                                 (GDestroyNotify)cairo_surface_destroy, surface);
  return gdk_memory_texture_new(width, height, GDK_MEMORY_DEFAULT, bytes, stride);
}

static GdkTexture *
picture(LoomPaperView *self, guint page)
{
  double dots = self->scale * gtk_widget_get_scale_factor(GTK_WIDGET(self)), w, h;
  if (fabs(dots - self->pictures_scale) > 1e-9 ||
      g_hash_table_size(self->pictures) >= MOST_PICTURES)
    g_hash_table_remove_all(self->pictures);
  self->pictures_scale = dots;
  GdkTexture *texture = g_hash_table_lookup(self->pictures, GUINT_TO_POINTER(page));
  if (texture)
    return texture;
  loom_proof_size_pt(self->proof, page, &w, &h);
  texture = picture_new(self, page, (int)fmax(1, round(w * dots)), (int)fmax(1, round(h * dots)));
  g_hash_table_insert(self->pictures, GUINT_TO_POINTER(page), texture);
  return texture;
}

static void
draw_page(LoomPaperView *self, GtkSnapshot *snapshot, guint page, const graphene_rect_t *r)
{
  static const GdkRGBA line = {0, 0, 0, 0.35F}, shade = {0, 0, 0, 0.22F};
  GskRoundedRect edge;
  gsk_rounded_rect_init_from_rect(&edge, r, 0);
  gtk_snapshot_append_outset_shadow(snapshot, &edge, &shade, 0, 2, 0, 6);
  gtk_snapshot_append_texture(snapshot, picture(self, page), r);
  gtk_snapshot_append_border(snapshot, &edge, (float[4]){1, 1, 1, 1},
                             (GdkRGBA[4]){line, line, line, line});
}

static void
loom_paper_view_snapshot(GtkWidget *widget, GtkSnapshot *snapshot)
{
  LoomPaperView *self = LOOM_PAPER_VIEW(widget);
  double widths[2] = {0, 0}, heights[2] = {0, 0}, across = AROUND * (self->n_shown - 1.0);
  if (!n_pages(self) || !self->n_shown)
    return;
  for (guint i = 0; i < self->n_shown; i++) {
    loom_proof_size_pt(self->proof, self->page + i, &widths[i], &heights[i]);
    across += widths[i] * self->scale;
  }
  double x = fmax(AROUND, (gtk_widget_get_width(widget) - across) / 2);
  for (guint i = 0; i < self->n_shown; i++) {
    double w = widths[i] * self->scale, h = heights[i] * self->scale;
    double y = fmax(AROUND, (gtk_widget_get_height(widget) - h) / 2);
    draw_page(
        self, snapshot, self->page + i,
        &GRAPHENE_RECT_INIT((float)round(x), (float)round(y), (float)round(w), (float)round(h)));
    x += w + AROUND;
  }
}

/* --- turning --- */

void
loom_paper_view_set_proof(LoomPaperView *self, LoomProof *proof)
{
  loom_proof_ref(proof);
  g_clear_pointer(&self->proof, loom_proof_unref);
  self->proof = proof;
  self->page = MIN(self->page, n_pages(self) - 1);
  g_hash_table_remove_all(self->pictures);
  self->n_shown = 0; /* so that laying out says what is shown */
  gtk_widget_queue_resize(GTK_WIDGET(self));
}

guint
loom_paper_view_page(LoomPaperView *self)
{
  return self->page;
}

guint
loom_paper_view_n_shown(LoomPaperView *self)
{
  return self->n_shown;
}

void
loom_paper_view_turn_to(LoomPaperView *self, int page)
{
  guint wanted = (guint)CLAMP(page, 0, MAX((int)n_pages(self) - 1, 0));
  if (wanted == self->page)
    return;
  self->page = wanted;
  gtk_widget_queue_resize(GTK_WIDGET(self));
  gtk_widget_queue_draw(GTK_WIDGET(self));
  lay_out(self, gtk_widget_get_width(GTK_WIDGET(self)), gtk_widget_get_height(GTK_WIDGET(self)));
  say_turned(self);
}

void
loom_paper_view_turn(LoomPaperView *self, int direction)
{
  int step = (int)MAX(self->n_shown, 1) * direction;
  if (direction < 0 || self->page + self->n_shown < n_pages(self))
    loom_paper_view_turn_to(self, (int)self->page + step);
}

double
loom_paper_view_zoom(LoomPaperView *self)
{
  return self->scale / PX_PER_PT * 100;
}

void
loom_paper_view_set_zoom(LoomPaperView *self, double percent)
{
  self->percent = percent > 0 ? CLAMP(percent, LEAST_PERCENT, MOST_PERCENT) : 0;
  gtk_widget_queue_resize(GTK_WIDGET(self));
}

bool
loom_paper_view_fits(LoomPaperView *self)
{
  return self->percent <= 0;
}

/* The wheel turns pages while whole ones are shown; otherwise it scrolls as anywhere. */
static gboolean
on_scroll(GtkEventControllerScroll *controller, double dx, double dy, gpointer data)
{
  (void)controller;
  (void)dx;
  if (!loom_paper_view_fits(data) || fabs(dy) < 0.5)
    return FALSE;
  loom_paper_view_turn(data, dy > 0 ? 1 : -1);
  return TRUE;
}

/* --- life --- */

static void
loom_paper_view_finalize(GObject *object)
{
  LoomPaperView *self = LOOM_PAPER_VIEW(object);
  loom_proof_unref(self->proof);
  g_hash_table_unref(self->pictures);
  G_OBJECT_CLASS(loom_paper_view_parent_class)->finalize(object);
}

static void
loom_paper_view_class_init(LoomPaperViewClass *class)
{
  GtkWidgetClass *widget_class = GTK_WIDGET_CLASS(class);
  G_OBJECT_CLASS(class)->finalize = loom_paper_view_finalize;
  widget_class->measure = loom_paper_view_measure;
  widget_class->size_allocate = loom_paper_view_size_allocate;
  widget_class->snapshot = loom_paper_view_snapshot;
  gtk_widget_class_set_css_name(widget_class, "paperview");
  gtk_widget_class_set_accessible_role(widget_class, GTK_ACCESSIBLE_ROLE_IMG);
  turned_signal = g_signal_new("turned", LOOM_TYPE_PAPER_VIEW, G_SIGNAL_RUN_LAST, 0, NULL, NULL,
                               NULL, G_TYPE_NONE, 0);
}

static void
loom_paper_view_init(LoomPaperView *self)
{
  self->pictures = g_hash_table_new_full(NULL, NULL, NULL, g_object_unref);
  self->scale = PX_PER_PT;
  gtk_widget_set_focusable(GTK_WIDGET(self), TRUE);
  gtk_widget_set_overflow(GTK_WIDGET(self), GTK_OVERFLOW_HIDDEN);
  GtkEventController *wheel = gtk_event_controller_scroll_new(GTK_EVENT_CONTROLLER_SCROLL_VERTICAL |
                                                              GTK_EVENT_CONTROLLER_SCROLL_DISCRETE);
  g_signal_connect(wheel, "scroll", G_CALLBACK(on_scroll), self);
  gtk_widget_add_controller(GTK_WIDGET(self), wheel);
}
