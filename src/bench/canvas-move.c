#include "beside.h"
#include "canvas-private.h"

#include <glib/gi18n-lib.h>

/* Moving what is chosen. The part under the pointer lands on the grid, the others keep their
 * distance. */

static const LoomPart *
part_called(LoomCanvas *self, const char *designation)
{
  const LoomDesign *design = loom_document_design(self->document);
  return loom_design_part(design, loom_design_find_part(design, designation));
}

void
loom_canvas_begin_move(LoomCanvas *self)
{
  LoomDrag *drag = &self->drag;
  drag->mode = LOOM_DRAG_MOVE;
  drag->parts = g_ptr_array_new_with_free_func(g_free);
  drag->from = g_array_new(FALSE, FALSE, sizeof(LoomPoint));
  for (guint i = 0; i < loom_choice_n_parts(self->choice); i++) {
    const LoomPart *part = part_called(self, loom_choice_part(self->choice, i));
    LoomPoint from = {part->x_mm, part->y_mm};
    g_ptr_array_add(drag->parts, g_strdup(part->designation));
    g_array_append_val(drag->from, from);
  }
}

static char *
move_label(const GPtrArray *parts)
{
  if (parts->len == 1)
    return g_strdup_printf(_("Move %s"), (const char *)g_ptr_array_index(parts, 0));
  return g_strdup_printf(ngettext("Move %u part", "Move %u parts", parts->len), parts->len);
}

static LoomEdit *
moved_by(LoomCanvas *self, LoomPoint step)
{
  LoomDrag *drag = &self->drag;
  g_autofree char *label = move_label(drag->parts);
  LoomEdit *edit = loom_document_edit(self->document, label);
  for (guint i = 0; i < drag->parts->len; i++) {
    LoomPoint from = g_array_index(drag->from, LoomPoint, i);
    loom_edit_move(edit, g_ptr_array_index(drag->parts, i), from.x + step.x, from.y + step.y, NULL);
  }
  return edit;
}

void
loom_canvas_follow_move(LoomCanvas *self)
{
  LoomDrag *drag = &self->drag;
  LoomPoint lead = g_array_index(drag->from, LoomPoint, drag->from->len - 1);
  LoomPoint step = {loom_grid_snap(lead.x + drag->now.x - drag->start.x) - lead.x,
                    loom_grid_snap(lead.y + drag->now.y - drag->start.y) - lead.y};
  if (drag->edit && fabs(step.x - drag->step.x) + fabs(step.y - drag->step.y) < 1e-6)
    return;
  drag->step = step;
  loom_canvas_preview(self, moved_by(self, step));
}

void
loom_canvas_drop_move(LoomCanvas *self)
{
  LoomEdit *edit = g_steal_pointer(&self->drag.edit);
  loom_canvas_end_drag(self);
  if (edit)
    loom_canvas_apply(self, edit, NULL);
}

void
loom_canvas_nudge(LoomCanvas *self, double dx, double dy)
{
  if (!loom_choice_n_parts(self->choice) || self->drag.mode != LOOM_DRAG_NONE)
    return;
  loom_canvas_begin_move(self);
  LoomEdit *edit = moved_by(self, (LoomPoint){dx, dy});
  loom_canvas_end_drag(self);
  loom_canvas_apply(self, edit, NULL);
}
