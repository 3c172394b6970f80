#include "canvas-private.h"

#define RING_MM 4.2
#define HALO_MM 1.6

/* Everything here is small: each thing is a node of its own, so that damage stays small too. */

static graphene_rect_t
to_view(LoomCanvas *self, LoomRect r, double grow_px)
{
  LoomPoint corner = loom_canvas_from_sheet(self, (LoomPoint){r.x, r.y});
  return GRAPHENE_RECT_INIT((float)(corner.x - grow_px), (float)(corner.y - grow_px),
                            (float)(r.width * self->scale + 2 * grow_px),
                            (float)(r.height * self->scale + 2 * grow_px));
}

static bool
in_view(LoomCanvas *self, LoomRect r)
{
  graphene_rect_t view = GRAPHENE_RECT_INIT(0, 0, (float)gtk_widget_get_width(GTK_WIDGET(self)),
                                            (float)gtk_widget_get_height(GTK_WIDGET(self)));
  graphene_rect_t rect = to_view(self, r, RING_MM * self->scale);
  return graphene_rect_intersection(&view, &rect, NULL);
}

static void
draw_frame(GtkSnapshot *snapshot, const graphene_rect_t *rect, GdkRGBA colour, float line,
           float radius)
{
  GskRoundedRect outline;
  gsk_rounded_rect_init_from_rect(&outline, rect, radius);
  float widths[4] = {line, line, line, line};
  GdkRGBA colours[4] = {colour, colour, colour, colour};
  gtk_snapshot_append_border(snapshot, &outline, widths, colours);
}

/* Chosen parts, the chosen joint, the end under the cursor. */

static void
draw_chosen_parts(LoomCanvas *self, GtkSnapshot *snapshot, LoomPalette palette)
{
  const LoomSheet *sheet = loom_canvas_sheet(self);
  GdkRGBA colour = loom_look_rgba(palette, LOOM_PAINT_CHOSEN, 1);
  for (guint i = 0; i < loom_choice_n_parts(self->choice); i++) {
    guint part = loom_design_find_part(sheet->design, loom_choice_part(self->choice, i));
    if (part == LOOM_NONE || !in_view(self, sheet->parts[part].outline))
      continue;
    graphene_rect_t r = to_view(self, sheet->parts[part].outline, 4);
    draw_frame(snapshot, &r, colour, 2, 6);
  }
}

static void
draw_cursor_end(LoomCanvas *self, GtkSnapshot *snapshot, LoomPalette palette)
{
  const LoomSheet *sheet = loom_canvas_sheet(self);
  const char *end = loom_choice_end(self->choice);
  if (!end)
    return;
  guint part = loom_design_find_part(sheet->design, loom_choice_cursor(self->choice));
  guint index = part == LOOM_NONE
                    ? LOOM_NONE
                    : loom_kind_find_end(loom_design_part(sheet->design, part)->kind, end);
  if (index == LOOM_NONE)
    return;
  graphene_rect_t r = to_view(self, loom_sheet_end(sheet, part, index)->box, 4);
  draw_frame(snapshot, &r, loom_look_rgba(palette, LOOM_PAINT_CHOSEN, 1), 3, 5);
}

static LoomRect
around(LoomPoint at, double radius)
{
  return (LoomRect){at.x - radius, at.y - radius, 2 * radius, 2 * radius};
}

static void
draw_chosen_joint(LoomCanvas *self, GtkSnapshot *snapshot, LoomPalette palette)
{
  const LoomSheet *sheet = loom_canvas_sheet(self);
  guint joint = loom_choice_joint(self->choice, sheet->design);
  for (guint i = 0; joint != LOOM_NONE && i < sheet->n_joints; i++) {
    if (sheet->joints[i].joint != joint)
      continue;
    graphene_rect_t r = to_view(self, around(sheet->joints[i].at, 7), 0);
    draw_frame(snapshot, &r, loom_look_rgba(palette, LOOM_PAINT_CHOSEN, 1), 2, r.size.width / 2);
  }
}

/* What a click would take. */
static void
draw_hover(LoomCanvas *self, GtkSnapshot *snapshot, LoomPalette palette)
{
  const LoomSheet *sheet = loom_canvas_sheet(self);
  if (self->drag.mode != LOOM_DRAG_NONE || self->hover.type != LOOM_HIT_END ||
      self->hover.part >= sheet->n_parts)
    return;
  graphene_rect_t r =
      to_view(self, loom_sheet_end(sheet, self->hover.part, self->hover.end)->box, 3);
  draw_frame(snapshot, &r, loom_look_rgba(palette, LOOM_PAINT_CHOSEN, 0.55), 2, 5);
}

static guint32
severity_paint(LoomSeverity severity)
{
  return severity == LOOM_STOP   ? LOOM_PAINT_STOP
         : severity == LOOM_CARE ? LOOM_PAINT_CARE
                                 : LOOM_PAINT_NOTE;
}

static void
draw_lit_finding(LoomCanvas *self, GtkSnapshot *snapshot, LoomPalette palette)
{
  const LoomFindings *findings = loom_document_findings(self->document);
  const LoomSheet *sheet = loom_canvas_sheet(self);
  if (!findings || self->lit_finding >= findings->n_findings)
    return;
  const LoomFinding *finding = &findings->findings[self->lit_finding];
  GdkRGBA colour = loom_look_rgba(palette, severity_paint(finding->severity), 0.9);
  for (guint i = 0; i < finding->n_places; i++) {
    guint part = loom_design_find_part(sheet->design, finding->places[i].part);
    if (part == LOOM_NONE)
      continue;
    const char *end = finding->places[i].end;
    guint index =
        end ? loom_kind_find_end(loom_design_part(sheet->design, part)->kind, end) : LOOM_NONE;
    LoomRect box =
        index != LOOM_NONE ? loom_sheet_end(sheet, part, index)->box : sheet->parts[part].outline;
    graphene_rect_t r = to_view(self, box, 5);
    draw_frame(snapshot, &r, colour, 3, 6);
  }
}

/* How ends answer to what is dragged. */

static void
draw_ring_count(LoomCanvas *self, cairo_t *cr, guint pieces, LoomPoint at)
{
  g_autofree char *text = g_strdup_printf("%u", pieces);
  g_autoptr(PangoLayout) layout = gtk_widget_create_pango_layout(GTK_WIDGET(self), text);
  int width, height;
  pango_layout_get_pixel_size(layout, &width, &height);
  cairo_move_to(cr, at.x - width / 2.0, at.y - height / 2.0);
  pango_cairo_show_layout(cr, layout);
}

static void
draw_ring(LoomCanvas *self, GtkSnapshot *snapshot, LoomPalette palette, LoomPoint at_mm,
          LoomRing ring)
{
  LoomPoint at = loom_canvas_from_sheet(self, at_mm);
  double radius = MAX(RING_MM * self->scale, 9);
  float half = (float)radius + 14;
  cairo_t *cr = gtk_snapshot_append_cairo(
      snapshot, &GRAPHENE_RECT_INIT((float)at.x - half, (float)at.y - half, 2 * half, 2 * half));
  cairo_arc(cr, at.x, at.y, radius, 0, 2 * G_PI);
  if (ring.answer == LOOM_RING_MATES) {
    loom_look_set_colour(cr, palette, LOOM_PAINT_CHOSEN, 0.45);
    cairo_fill_preserve(cr);
    loom_look_set_colour(cr, palette, LOOM_PAINT_CHOSEN, 1);
    cairo_set_line_width(cr, 2.5);
    cairo_stroke(cr);
  } else {
    double dash[] = {4, 3};
    loom_look_set_colour(cr, palette, LOOM_PAINT_PAPER, 0.75);
    cairo_fill_preserve(cr);
    loom_look_set_colour(cr, palette, LOOM_PAINT_CHOSEN, 1);
    cairo_set_dash(cr, dash, 2, 0);
    cairo_set_line_width(cr, 2);
    cairo_stroke(cr);
    draw_ring_count(self, cr, ring.pieces, at);
  }
  cairo_destroy(cr);
}

static LoomRing
ring_of(LoomCanvas *self, const LoomPlacedEnd *end)
{
  if (self->drag.mode == LOOM_DRAG_PLACE)
    return loom_canvas_place_ring(self, end);
  const LoomRings *rings = self->drag.rings;
  guint index = rings->part_end[end->part] + end->end;
  return end->part < rings->n_parts ? rings->ends[index] : (LoomRing){LOOM_RING_SELF, 0};
}

static void
draw_answer(LoomCanvas *self, GtkSnapshot *snapshot, LoomPalette palette, const LoomPlacedEnd *end)
{
  LoomRing ring = ring_of(self, end);
  if (ring.answer == LOOM_RING_SELF)
    return;
  if (ring.answer == LOOM_RING_MATES || ring.answer == LOOM_RING_PIECES) {
    draw_ring(self, snapshot, palette, end->at, ring);
    return;
  }
  graphene_rect_t r = to_view(self, end->box, 2);
  GdkRGBA veil = loom_look_rgba(palette, LOOM_PAINT_PAPER, 0.72);
  gtk_snapshot_append_color(snapshot, &veil, &r);
}

/* All ends of the sheet that lie in view; the drag's target gets a second ring. */
static void
draw_answers(LoomCanvas *self, GtkSnapshot *snapshot, LoomPalette palette)
{
  bool joins = self->drag.mode == LOOM_DRAG_JOIN && self->drag.rings;
  if (!joins && self->drag.mode != LOOM_DRAG_PLACE)
    return;
  const LoomSheet *sheet = loom_document_sheet(self->document);
  for (guint i = 0; i < sheet->n_ends; i++)
    if (in_view(self, sheet->ends[i].box))
      draw_answer(self, snapshot, palette, &sheet->ends[i]);
  if (self->drag.over_part == LOOM_NONE)
    return;
  LoomPoint at = loom_sheet_end(sheet, self->drag.over_part, self->drag.over_end)->at;
  graphene_rect_t r = to_view(self, around(at, RING_MM + HALO_MM), 4);
  draw_frame(snapshot, &r, loom_look_rgba(palette, LOOM_PAINT_CHOSEN, 1), 2.5F, r.size.width / 2);
}

/* The lead that is being drawn by hand, from its end to the pointer. */
static void
draw_rubber_lead(LoomCanvas *self, GtkSnapshot *snapshot, LoomPalette palette)
{
  bool shows = self->drag.edit && (self->drag.hanging || self->drag.over_part != LOOM_NONE);
  if (self->drag.mode != LOOM_DRAG_JOIN || shows)
    return;
  const LoomPlacedEnd *end =
      loom_sheet_end(loom_document_sheet(self->document), self->drag.part, self->drag.end);
  LoomPoint a = loom_canvas_from_sheet(self, end->at);
  LoomPoint b = loom_canvas_from_sheet(self, self->drag.now);
  double reach = MIN(hypot(b.x - a.x, b.y - a.y) / 2, 80);
  LoomPoint c = {a.x + end->dx * reach, a.y + end->dy * reach};
  float low_x = (float)MIN(MIN(a.x, b.x), c.x) - 6, high_x = (float)MAX(MAX(a.x, b.x), c.x) + 6;
  float low_y = (float)MIN(MIN(a.y, b.y), c.y) - 6, high_y = (float)MAX(MAX(a.y, b.y), c.y) + 6;
  cairo_t *cr = gtk_snapshot_append_cairo(
      snapshot, &GRAPHENE_RECT_INIT(low_x, low_y, high_x - low_x, high_y - low_y));
  cairo_move_to(cr, a.x, a.y);
  cairo_curve_to(cr, c.x, c.y, c.x, c.y, b.x, b.y);
  cairo_set_line_width(cr, 3);
  cairo_set_line_cap(cr, CAIRO_LINE_CAP_ROUND);
  loom_look_set_colour(cr, palette, LOOM_PAINT_CHOSEN, 0.9);
  cairo_stroke(cr);
  cairo_arc(cr, b.x, b.y, 4, 0, 2 * G_PI);
  cairo_fill(cr);
  cairo_destroy(cr);
}

static void
draw_band(LoomCanvas *self, GtkSnapshot *snapshot, LoomPalette palette)
{
  if (self->drag.mode != LOOM_DRAG_BAND)
    return;
  LoomPoint a = self->drag.start, b = self->drag.now;
  graphene_rect_t r =
      to_view(self, (LoomRect){MIN(a.x, b.x), MIN(a.y, b.y), fabs(a.x - b.x), fabs(a.y - b.y)}, 0);
  GdkRGBA fill = loom_look_rgba(palette, LOOM_PAINT_CHOSEN, 0.12);
  gtk_snapshot_append_color(snapshot, &fill, &r);
  draw_frame(snapshot, &r, loom_look_rgba(palette, LOOM_PAINT_CHOSEN, 0.9), 1, 0);
}

void
loom_canvas_draw_overlay(LoomCanvas *self, GtkSnapshot *snapshot, LoomPalette palette)
{
  loom_canvas_draw_faults(self, snapshot, palette);
  draw_answers(self, snapshot, palette);
  loom_canvas_draw_ghost(self, snapshot, palette);
  draw_lit_finding(self, snapshot, palette);
  draw_chosen_parts(self, snapshot, palette);
  draw_cursor_end(self, snapshot, palette);
  draw_chosen_joint(self, snapshot, palette);
  draw_hover(self, snapshot, palette);
  draw_rubber_lead(self, snapshot, palette);
  draw_band(self, snapshot, palette);
}
