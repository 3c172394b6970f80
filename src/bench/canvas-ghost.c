#include "canvas-private.h"

/* What an answer would do, shown on the bench before it is taken: the sheet is laid as it would be,
 * like under a drag; what is new is see-through and has a dashed line around it. */

#define GHOST_OPACITY 0.62F
#define FRAME_PX 4.0
#define WIRE_DASH_PX 6.0

void
loom_canvas_show_ghost(LoomCanvas *self, LoomEdit *edit)
{
  if (self->drag.mode != LOOM_DRAG_NONE) {
    g_clear_pointer(&edit, loom_edit_free);
    return;
  }
  self->ghost = edit != NULL;
  if (edit)
    loom_canvas_preview(self, edit);
  else
    loom_canvas_end_drag(self);
}

float
loom_canvas_moving_opacity(LoomCanvas *self)
{
  return self->ghost ? GHOST_OPACITY : 1;
}

static bool
is_new(LoomCanvas *self, const LoomPart *part)
{
  const LoomDesign *now = loom_document_design(self->document);
  guint index = loom_design_find_part(now, part->designation);
  return index == LOOM_NONE || loom_design_part(now, index) != part;
}

static void
trace_box(LoomCanvas *self, cairo_t *cr, LoomRect r)
{
  LoomPoint a = loom_canvas_from_sheet(self, (LoomPoint){r.x, r.y});
  cairo_rectangle(cr, a.x - FRAME_PX, a.y - FRAME_PX, r.width * self->scale + 2 * FRAME_PX,
                  r.height * self->scale + 2 * FRAME_PX);
}

static void
trace_wire(LoomCanvas *self, cairo_t *cr, const LoomLaidLead *lead)
{
  for (guint k = 0; k < lead->n_points; k++) {
    LoomPoint p = loom_canvas_from_sheet(self, lead->points[k]);
    if (k)
      cairo_line_to(cr, p.x, p.y);
    else
      cairo_move_to(cr, p.x, p.y);
  }
}

void
loom_canvas_draw_ghost(LoomCanvas *self, GtkSnapshot *snapshot, LoomPalette palette)
{
  const LoomSheet *sheet = self->drag.sheet;
  if (!self->ghost || !sheet)
    return;
  cairo_t *cr = gtk_snapshot_append_cairo(
      snapshot, &GRAPHENE_RECT_INIT(0, 0, (float)gtk_widget_get_width(GTK_WIDGET(self)),
                                    (float)gtk_widget_get_height(GTK_WIDGET(self))));
  double dash[] = {WIRE_DASH_PX, WIRE_DASH_PX};
  for (guint p = 0; p < sheet->n_parts; p++)
    if (is_new(self, loom_design_part(sheet->design, p)))
      trace_box(self, cr, sheet->parts[p].outline);
  for (guint i = 0; i < sheet->n_leads; i++)
    if (is_new(self, loom_design_part(sheet->design, sheet->leads[i].part)))
      trace_wire(self, cr, &sheet->leads[i]);
  loom_look_set_colour(cr, palette, LOOM_PAINT_CHOSEN, 1);
  cairo_set_dash(cr, dash, 2, 0);
  cairo_set_line_width(cr, 2);
  cairo_stroke(cr);
  cairo_destroy(cr);
}
