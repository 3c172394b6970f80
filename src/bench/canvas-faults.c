#include "canvas-private.h"

#define HATCH_WIDE_PX 14.0 /* between the lines of what is hardly suspected */
#define HATCH_CLOSE_PX 3.0
#define MOST_BADGES 9
#define PROBE_MM 13.0

void
loom_canvas_set_fault_marks(LoomCanvas *self, LoomFaultMarks *marks)
{
  g_clear_pointer(&self->fault_marks, loom_fault_marks_free);
  self->fault_marks = marks;
  gtk_widget_queue_draw(GTK_WIDGET(self));
}

/* ---- places ---- */

static LoomRect
grown(LoomRect r, double by)
{
  return (LoomRect){r.x - by, r.y - by, r.width + 2 * by, r.height + 2 * by};
}

static LoomRect
both(LoomRect a, LoomRect b)
{
  double x = MIN(a.x, b.x), y = MIN(a.y, b.y);
  return (LoomRect){x, y, MAX(a.x + a.width, b.x + b.width) - x,
                    MAX(a.y + a.height, b.y + b.height) - y};
}

static const LoomPlacedEnd *
find_end(const LoomSheet *sheet, const char *designation, const char *id)
{
  guint part = designation ? loom_design_find_part(sheet->design, designation) : LOOM_NONE;
  if (part == LOOM_NONE || !id)
    return NULL;
  guint end = loom_kind_find_end(loom_design_part(sheet->design, part)->kind, id);
  return end == LOOM_NONE ? NULL : loom_sheet_end(sheet, part, end);
}

/* Both halves of the joint at the end, where they lie together. */
static LoomRect
joint_box(const LoomSheet *sheet, const LoomPlacedEnd *end)
{
  guint joint;
  if (!loom_design_joints_at(sheet->design, end->part, end->end, &joint, 1))
    return end->box;
  const LoomJoint *j = loom_design_joint(sheet->design, joint);
  const LoomPlacedEnd *a = find_end(sheet, j->a.part, j->a.end);
  const LoomPlacedEnd *b = find_end(sheet, j->b.part, j->b.end);
  bool together = a && b && hypot(a->at.x - b->at.x, a->at.y - b->at.y) < 8;
  return together ? both(a->box, b->box) : end->box;
}

static bool
find_box(const LoomSheet *sheet, const char *designation, const char *id, LoomRect *box)
{
  const LoomPlacedEnd *end = find_end(sheet, designation, id);
  guint part = loom_design_find_part(sheet->design, designation);
  if (part == LOOM_NONE || (id && !end))
    return false;
  *box = end ? joint_box(sheet, end) : sheet->parts[part].outline;
  return true;
}

static LoomRect
to_view(LoomCanvas *self, LoomRect r, double grow_px)
{
  LoomPoint corner = loom_canvas_from_sheet(self, (LoomPoint){r.x, r.y});
  return (LoomRect){corner.x - grow_px, corner.y - grow_px, r.width * self->scale + 2 * grow_px,
                    r.height * self->scale + 2 * grow_px};
}

static cairo_t *
begin(LoomCanvas *self, GtkSnapshot *snapshot, LoomRect r)
{
  if (r.x > self->width || r.y > self->height || r.x + r.width < 0 || r.y + r.height < 0)
    return NULL;
  return gtk_snapshot_append_cairo(
      snapshot, &GRAPHENE_RECT_INIT((float)r.x, (float)r.y, (float)r.width, (float)r.height));
}

/* ---- suspects ---- */

static void
hatch(cairo_t *cr, LoomRect r, double share)
{
  double gap = HATCH_WIDE_PX - (HATCH_WIDE_PX - HATCH_CLOSE_PX) * sqrt(MIN(share, 1));
  cairo_save(cr);
  cairo_rectangle(cr, r.x, r.y, r.width, r.height);
  cairo_clip(cr);
  for (double x = r.x - r.height; x < r.x + r.width; x += gap) {
    cairo_move_to(cr, x, r.y + r.height);
    cairo_line_to(cr, x + r.height, r.y);
  }
  cairo_set_line_width(cr, 1 + share);
  cairo_stroke(cr);
  cairo_restore(cr);
}

static void
draw_badge(LoomCanvas *self, cairo_t *cr, LoomPalette palette, LoomPoint at, guint rank,
           double radius)
{
  g_autofree char *text = g_strdup_printf("%u", rank);
  g_autoptr(PangoLayout) layout = gtk_widget_create_pango_layout(GTK_WIDGET(self), text);
  int width, height;
  pango_layout_get_pixel_size(layout, &width, &height);
  cairo_arc(cr, at.x, at.y, radius, 0, 2 * G_PI);
  loom_look_set_colour(cr, palette, LOOM_PAINT_PAPER, 1);
  cairo_fill_preserve(cr);
  loom_look_set_colour(cr, palette, LOOM_PAINT_CARE, 1);
  cairo_set_line_width(cr, 2);
  cairo_stroke(cr);
  loom_look_set_colour(cr, palette, LOOM_PAINT_INK, 1);
  cairo_move_to(cr, at.x - width / 2.0, at.y - height / 2.0);
  pango_cairo_show_layout(cr, layout);
}

static void
draw_mark(LoomCanvas *self, GtkSnapshot *snapshot, LoomPalette palette, const LoomFaultMark *mark)
{
  LoomRect box;
  if (!find_box(loom_canvas_sheet(self), mark->part, mark->end, &box))
    return;
  double radius = 10 * loom_look_text_factor(GTK_WIDGET(self));
  LoomRect r = to_view(self, box, 4);
  cairo_t *cr = begin(self, snapshot, grown(r, 2 * radius + 2));
  if (!cr)
    return;
  loom_look_set_colour(cr, palette, LOOM_PAINT_CARE, 0.25 * mark->share);
  cairo_rectangle(cr, r.x, r.y, r.width, r.height);
  cairo_fill(cr);
  loom_look_set_colour(cr, palette, LOOM_PAINT_CARE, 0.2 + 0.7 * sqrt(mark->share));
  hatch(cr, r, mark->share);
  loom_look_set_colour(cr, palette, LOOM_PAINT_CARE, 0.9);
  cairo_rectangle(cr, r.x, r.y, r.width, r.height);
  cairo_set_line_width(cr, 1 + 2 * mark->share);
  cairo_stroke(cr);
  if (mark->rank <= MOST_BADGES)
    draw_badge(self, cr, palette, (LoomPoint){r.x + r.width / 2, r.y - radius}, mark->rank, radius);
  cairo_destroy(cr);
}

/* ---- the next test ---- */

static void
draw_test_place(LoomCanvas *self, GtkSnapshot *snapshot, LoomPalette palette)
{
  const LoomFaultMarks *m = self->fault_marks;
  LoomRect box;
  if (!m->part || !find_box(loom_canvas_sheet(self), m->part, m->end, &box))
    return;
  static const double dash[] = {7, 4};
  LoomRect r = to_view(self, box, 8);
  cairo_t *cr = begin(self, snapshot, grown(r, 2));
  if (!cr)
    return;
  loom_look_set_colour(cr, palette, LOOM_PAINT_CHOSEN, 1);
  cairo_rectangle(cr, r.x, r.y, r.width, r.height);
  cairo_set_dash(cr, dash, 2, 0);
  cairo_set_line_width(cr, 2.5);
  cairo_stroke(cr);
  cairo_destroy(cr);
}

static void
draw_probe_line(cairo_t *cr, LoomPoint tip, LoomPoint grip, double width, const GdkRGBA *colour)
{
  cairo_set_line_cap(cr, CAIRO_LINE_CAP_ROUND);
  cairo_move_to(cr, tip.x, tip.y);
  cairo_line_to(cr, grip.x, grip.y);
  cairo_set_line_width(cr, width);
  gdk_cairo_set_source_rgba(cr, colour);
  cairo_stroke(cr);
}

static void
draw_sign(cairo_t *cr, LoomPoint at, double size, bool plus)
{
  cairo_set_source_rgb(cr, 1, 1, 1);
  cairo_set_line_width(cr, MAX(size / 4, 1.5));
  cairo_move_to(cr, at.x - size, at.y);
  cairo_line_to(cr, at.x + size, at.y);
  if (plus) {
    cairo_move_to(cr, at.x, at.y - size);
    cairo_line_to(cr, at.x, at.y + size);
  }
  cairo_stroke(cr);
}

/* A tip at the contact and a grip with its sign, slanting away from the part's middle. */
static void
draw_probe(LoomCanvas *self, GtkSnapshot *snapshot, const LoomFaultProbe *probe, bool plus)
{
  static const GdkRGBA red = {0.78F, 0.06F, 0.06F, 1}, black = {0.08F, 0.08F, 0.08F, 1},
                       halo = {1, 1, 1, 0.9F};
  const LoomSheet *sheet = loom_canvas_sheet(self);
  const LoomPlacedEnd *end = find_end(sheet, probe->part, probe->end);
  if (!end)
    return;
  double long_px = MAX(PROBE_MM * self->scale, 42);
  LoomPoint tip =
      loom_canvas_from_sheet(self, loom_sheet_contact(sheet, end->part, end->end, probe->contact));
  LoomPoint grip = {tip.x + (plus ? -0.55 : 0.55) * long_px, tip.y + 0.85 * long_px};
  LoomRect all = both((LoomRect){tip.x, tip.y, 0, 0}, (LoomRect){grip.x, grip.y, 0, 0});
  cairo_t *cr = begin(self, snapshot, grown(all, 22));
  if (!cr)
    return;
  LoomPoint waist = {(tip.x + grip.x) / 2, (tip.y + grip.y) / 2};
  const GdkRGBA *colour = plus ? &red : &black;
  draw_probe_line(cr, tip, grip, 6, &halo);
  draw_probe_line(cr, waist, grip, 18, &halo);
  draw_probe_line(cr, tip, grip, 3, colour);
  draw_probe_line(cr, waist, grip, 14, colour);
  draw_sign(cr, grip, 4.5, plus);
  cairo_destroy(cr);
}

void
loom_canvas_draw_faults(LoomCanvas *self, GtkSnapshot *snapshot, LoomPalette palette)
{
  const LoomFaultMarks *m = self->fault_marks;
  if (!m)
    return;
  for (guint i = m->marks->len; i-- > 0;)
    draw_mark(self, snapshot, palette, &g_array_index(m->marks, LoomFaultMark, i));
  draw_test_place(self, snapshot, palette);
  draw_probe(self, snapshot, &m->plus, true);
  draw_probe(self, snapshot, &m->minus, false);
}
