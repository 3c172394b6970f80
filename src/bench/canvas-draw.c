#include "canvas-private.h"

#include "sheet/inks.h"
#include "sheet/tidy.h"

/* The still layer covers so much more than the view on every side, so that panning seldom renews
 * it. */
#define REGION_MARGIN 0.35
/* Below this many pixels a millimetre text cannot be read, and the sheet is drawn coarse. */
#define COARSE_SCALE 0.9
#define SMALLEST_GRID_PX 7.0

void
loom_canvas_drop_nodes(LoomCanvas *self)
{
  g_clear_pointer(&self->still, gsk_render_node_unref);
  g_clear_pointer(&self->moving, gsk_render_node_unref);
  g_clear_pointer(&self->flags, g_free);
}

static bool
rect_within(LoomRect inner, LoomRect outer)
{
  return inner.x >= outer.x && inner.y >= outer.y &&
         inner.x + inner.width <= outer.x + outer.width &&
         inner.y + inner.height <= outer.y + outer.height;
}

static bool
same_readings(const LoomStillKey *a, const LoomStillKey *b)
{
  if (isnan(a->charge) || isnan(b->charge))
    return isnan(a->charge) && isnan(b->charge);
  return a->state == b->state && fabs(a->charge - b->charge) < 1e-9;
}

static bool
shows_same(const LoomStillKey *a, const LoomStillKey *b)
{
  return a->revision == b->revision && a->scene == b->scene && a->hidden == b->hidden &&
         a->palette == b->palette && a->findings == b->findings && same_readings(a, b);
}

static LoomRect
region_around(LoomRect view)
{
  double dx = view.width * REGION_MARGIN;
  double dy = view.height * REGION_MARGIN;
  return (LoomRect){view.x - dx, view.y - dy, view.width + 2 * dx, view.height + 2 * dy};
}

/* Draws parts of a sheet into a node in sheet pixels (0, 0 is the sheet's origin). */
static GskRenderNode *
sheet_node(LoomCanvas *self, const LoomSheet *sheet, LoomRect region,
           const LoomDrawOptions *options)
{
  double s = self->scale;
  GtkSnapshot *snapshot = gtk_snapshot_new();
  cairo_t *cr = gtk_snapshot_append_cairo(
      snapshot, &GRAPHENE_RECT_INIT((float)(region.x * s), (float)(region.y * s),
                                    (float)(region.width * s), (float)(region.height * s)));
  cairo_scale(cr, s, s);
  g_autoptr(LoomInk) ink = loom_ink_cairo_new(cr, options->palette);
  loom_draw_sheet(ink, sheet, options);
  cairo_destroy(cr);
  return gtk_snapshot_free_to_node(snapshot);
}

static void
start_options(LoomCanvas *self, LoomDrawOptions *options, LoomPalette palette, LoomRect region)
{
  loom_draw_options_init(options);
  options->palette = palette;
  options->title_block = options->legend = false;
  options->clip = region;
  options->coarse = self->scale < COARSE_SCALE;
}

/* Moving parts are drawn with what they are joined to, so that the joints are drawn too. */
static GArray *
with_neighbours(const LoomSheet *sheet, const GArray *parts)
{
  g_autofree bool *chosen = g_new0(bool, sheet->n_parts + 1);
  for (guint i = 0; i < parts->len; i++)
    chosen[g_array_index(parts, guint, i)] = true;
  g_autofree bool *drawn = g_memdup2(chosen, (sheet->n_parts + 1) * sizeof(bool));
  for (guint i = 0; i < sheet->n_joints; i++) {
    const LoomJoint *joint = loom_design_joint(sheet->design, sheet->joints[i].joint);
    guint a = loom_design_find_part(sheet->design, joint->a.part);
    guint b = loom_design_find_part(sheet->design, joint->b.part);
    drawn[a] = drawn[a] || chosen[b];
    drawn[b] = drawn[b] || chosen[a];
  }
  GArray *all = g_array_new(FALSE, FALSE, sizeof(guint));
  for (guint i = 0; i < sheet->n_parts; i++)
    if (drawn[i])
      g_array_append_val(all, i);
  return all;
}

/* Every part of the document's sheet but those that the drag draws anew. */
static GArray *
parts_that_stay(LoomCanvas *self, guint n_parts)
{
  GArray *stay = g_array_new(FALSE, FALSE, sizeof(guint));
  for (guint i = 0; i < n_parts; i++)
    if (!loom_canvas_hides(self, i))
      g_array_append_val(stay, i);
  return stay;
}

/* What only another scene plugs is drawn faded. New, [n_parts]. */
static bool *
parts_of_other_scenes(const LoomSheet *sheet)
{
  bool *parts = loom_design_scene_parts(sheet->design, sheet->scene);
  for (guint p = 0; p < sheet->n_parts; p++)
    parts[p] = !parts[p];
  return parts;
}

/* What is written on the sheet now; NULL: nothing. */
static const LoomFlowing *
shown_flow(LoomCanvas *self)
{
  return self->flow && loom_flow_state_shown(self->flow) ? loom_flow_state_flow(self->flow) : NULL;
}

static void
add_readings(LoomCanvas *self, LoomDrawOptions *options)
{
  const LoomFlowing *flow = shown_flow(self);
  if (flow)
    loom_flowing_write(flow, options);
}

static void
renew_still(LoomCanvas *self, const LoomStillKey *key)
{
  const LoomSheet *sheet = loom_document_sheet(self->document);
  LoomDrawOptions options;
  start_options(self, &options, key->palette, key->region);
  options.findings = key->findings;
  add_readings(self, &options);
  g_autofree bool *others = parts_of_other_scenes(sheet);
  options.faded = others;
  g_autoptr(GArray) stay = NULL;
  if (self->drag.preview) {
    stay = parts_that_stay(self, sheet->n_parts);
    options.only_parts = (const guint *)stay->data;
    options.n_only = stay->len;
  }
  g_clear_pointer(&self->still, gsk_render_node_unref);
  g_clear_pointer(&self->flags, g_free);
  if (!stay || stay->len)
    self->still = sheet_node(self, sheet, key->region, &options);
  self->still_key = *key;
}

/* Where the flags of the still layer are; made when first asked for. NULL where it shows none. */
static const LoomPoint *
flag_places(LoomCanvas *self)
{
  const LoomStillKey *key = &self->still_key;
  LoomDrawOptions options;
  if (!self->still || !key->findings || key->findings != loom_document_findings(self->document))
    return NULL;
  if (!self->flags) {
    start_options(self, &options, key->palette, key->region);
    options.findings = key->findings;
    add_readings(self, &options);
    self->flags = loom_draw_flag_places(loom_document_sheet(self->document), &options);
  }
  return self->flags;
}

guint
loom_canvas_flag_at(LoomCanvas *self, LoomPoint at)
{
  const LoomPoint *places = flag_places(self);
  for (guint i = 0; places && i < self->still_key.findings->n_findings; i++)
    if (hypot(places[i].x - at.x, places[i].y - at.y) <= LOOM_FLAG_MM)
      return i;
  return LOOM_NONE;
}

bool
loom_canvas_find_flag(LoomCanvas *self, guint finding, LoomPoint *middle)
{
  const LoomPoint *places = flag_places(self);
  if (!places || finding >= self->still_key.findings->n_findings || isnan(places[finding].x))
    return false;
  *middle = places[finding];
  return true;
}

static void
keep_still(LoomCanvas *self, LoomPalette palette)
{
  /* Far zoomed out nothing of it is seen. */
  const LoomFlowing *flow = self->scale < COARSE_SCALE ? NULL : shown_flow(self);
  LoomRect view = loom_canvas_view_mm(self);
  LoomStillKey key = {.revision = loom_design_revision(loom_document_design(self->document)),
                      .scene = loom_document_scene(self->document),
                      .hidden = self->drag.hidden_serial,
                      .scale = self->scale,
                      .palette = palette,
                      .findings = loom_document_findings(self->document),
                      .state = flow ? flow->state : LOOM_NONE,
                      .charge = flow ? flow->charge : NAN};
  bool sharp = fabs(key.scale - self->still_key.scale) <= 0;
  if (self->still && shows_same(&key, &self->still_key) &&
      rect_within(view, self->still_key.region) && (sharp || self->zoom_timer))
    return;
  key.region = region_around(view);
  renew_still(self, &key);
}

static void
keep_moving(LoomCanvas *self, LoomPalette palette)
{
  if (self->moving || !self->drag.sheet || !self->drag.moving->len)
    return;
  LoomDrawOptions options;
  LoomRect view = loom_canvas_view_mm(self);
  start_options(self, &options, palette, view);
  g_autoptr(GArray) parts = with_neighbours(self->drag.sheet, self->drag.moving);
  options.only_parts = (const guint *)parts->data;
  options.n_only = parts->len;
  self->moving = sheet_node(self, self->drag.sheet, view, &options);
  self->moving_scale = self->scale;
}

static void
draw_grid(LoomCanvas *self, GtkSnapshot *snapshot, LoomPalette palette)
{
  double cell_mm = LOOM_GRID_MM;
  while (cell_mm * self->scale < SMALLEST_GRID_PX)
    cell_mm *= 5;
  float cell = (float)(cell_mm * self->scale);
  float x = (float)-fmod(self->origin.x * self->scale, cell);
  float y = (float)-fmod(self->origin.y * self->scale, cell);
  float width = (float)gtk_widget_get_width(GTK_WIDGET(self));
  float height = (float)gtk_widget_get_height(GTK_WIDGET(self));
  GdkRGBA colour = loom_look_rgba(palette, LOOM_PAINT_FAINT, 0.35);
  gtk_snapshot_push_repeat(snapshot, &GRAPHENE_RECT_INIT(0, 0, width, height),
                           &GRAPHENE_RECT_INIT(x - cell / 2, y - cell / 2, cell, cell));
  gtk_snapshot_append_color(snapshot, &colour,
                            &GRAPHENE_RECT_INIT(x - 0.75F, y - 0.75F, 1.5F, 1.5F));
  gtk_snapshot_pop(snapshot);
}

/* A layer that was drawn at another scale is stretched. */
static void
append_at_origin(LoomCanvas *self, GtkSnapshot *snapshot, GskRenderNode *node, double drawn_scale)
{
  if (!node)
    return;
  int factor = gtk_widget_get_scale_factor(GTK_WIDGET(self));
  float x = (float)(round(-self->origin.x * self->scale * factor) / factor);
  float y = (float)(round(-self->origin.y * self->scale * factor) / factor);
  gtk_snapshot_save(snapshot);
  gtk_snapshot_translate(snapshot, &GRAPHENE_POINT_INIT(x, y));
  float stretch = (float)(self->scale / drawn_scale);
  if (fabs(self->scale - drawn_scale) > 0)
    gtk_snapshot_scale(snapshot, stretch, stretch);
  gtk_snapshot_append_node(snapshot, node);
  gtk_snapshot_restore(snapshot);
}

static bool
grid_is_wanted(LoomCanvas *self)
{
  return self->drag.mode == LOOM_DRAG_MOVE || self->drag.mode == LOOM_DRAG_PLACE;
}

static void
draw_children(LoomCanvas *self, GtkSnapshot *snapshot)
{
  GtkWidget *child = gtk_widget_get_first_child(GTK_WIDGET(self));
  for (; child; child = gtk_widget_get_next_sibling(child))
    if (!GTK_IS_NATIVE(child))
      gtk_widget_snapshot_child(GTK_WIDGET(self), child, snapshot);
}

void
loom_canvas_snapshot(GtkWidget *widget, GtkSnapshot *snapshot)
{
  LoomCanvas *self = LOOM_CANVAS(widget);
  float width = (float)gtk_widget_get_width(widget);
  float height = (float)gtk_widget_get_height(widget);
  LoomPalette palette = loom_look_palette(widget);
  GdkRGBA paper = loom_look_rgba(palette, LOOM_PAINT_PAPER, 1);
  keep_still(self, palette);
  keep_moving(self, palette);
  gtk_snapshot_push_clip(snapshot, &GRAPHENE_RECT_INIT(0, 0, width, height));
  gtk_snapshot_append_color(snapshot, &paper, &GRAPHENE_RECT_INIT(0, 0, width, height));
  if (grid_is_wanted(self))
    draw_grid(self, snapshot, palette);
  append_at_origin(self, snapshot, self->still, self->still_key.scale);
  float opacity = loom_canvas_moving_opacity(self);
  if (opacity < 1)
    gtk_snapshot_push_opacity(snapshot, opacity);
  append_at_origin(self, snapshot, self->moving, self->moving_scale);
  if (opacity < 1)
    gtk_snapshot_pop(snapshot);
  loom_canvas_draw_overlay(self, snapshot, palette);
  draw_children(self, snapshot);
  gtk_snapshot_pop(snapshot);
}
