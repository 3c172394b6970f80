#include "beside.h"
#include "canvas-private.h"
#include "scenes.h"

#include <glib/gi18n-lib.h>

/* A kind on its way from the shelf. Over an end that it plugs into, or with one of its own ends
 * there, the drop places and plugs in one; elsewhere it places. */

/* An end of the kind that goes into the free end; LOOM_NONE where there is none or it is taken. */
static guint
end_for(LoomCanvas *self, const LoomPlacedEnd *free_end)
{
  const LoomKind *kind = self->drag.kind;
  const LoomPart *part = loom_canvas_part(self, free_end->part);
  const LoomDesign *design = loom_document_design(self->document);
  for (guint i = 0; i < kind->n_ends; i++)
    if (loom_mate(&part->kind->ends[free_end->end], &kind->ends[i]) == LOOM_MATE_YES)
      return loom_scenes_places_left(design, loom_document_scene(self->document), free_end->part,
                                     free_end->end)
                 ? i
                 : LOOM_NONE;
  return LOOM_NONE;
}

LoomRing
loom_canvas_place_ring(LoomCanvas *self, const LoomPlacedEnd *end)
{
  if (self->drag.kind && end_for(self, end) != LOOM_NONE)
    return (LoomRing){LOOM_RING_MATES, 0};
  return (LoomRing){LOOM_RING_SELF, 0};
}

static bool
end_takes_kind(LoomCanvas *self, const LoomPlacedEnd *end)
{
  return end_for(self, end) != LOOM_NONE;
}

void
loom_canvas_begin_place(LoomCanvas *self, const LoomKind *kind)
{
  LoomDrag *drag = &self->drag;
  drag->mode = LOOM_DRAG_PLACE;
  drag->kind = loom_kind_ref(kind);
  drag->over_part = drag->over_end = LOOM_NONE;
  loom_canvas_edge_pan(self, true);
}

/* Corner of the outline with the pointer in the middle; of a lead, the pointer. */
static LoomPoint
corner_at_pointer(LoomCanvas *self)
{
  const LoomKind *kind = self->drag.kind;
  LoomPoint now = self->drag.now;
  double half_width = kind->lead ? 0 : kind->width_mm / 2;
  double half_height = kind->lead ? 0 : kind->height_mm / 2;
  return (LoomPoint){loom_grid_snap(now.x - half_width), loom_grid_snap(now.y - half_height)};
}

static LoomEdit *
place_edit(LoomCanvas *self)
{
  g_autofree char *label = g_strdup_printf(_("Add %s"), self->drag.kind->name);
  g_autoptr(LoomEdit) edit = loom_document_edit(self->document, label);
  LoomPoint at = corner_at_pointer(self);
  if (!loom_edit_add(edit, self->drag.kind, NULL, at.x, at.y, NULL))
    return NULL;
  return g_steal_pointer(&edit);
}

/* Of the ends that mate the one that serves best, as the offers have it. */
static guint
best_end_for(LoomCanvas *self, guint part, guint end)
{
  const LoomSheet *sheet = loom_document_sheet(self->document);
  g_autoptr(LoomOffers) offers =
      loom_offers_new(loom_document_catalogue(self->document), sheet->design,
                      loom_document_scene(self->document), part, end, LOOM_OFFER_ALL);
  for (guint i = 0; i < offers->n_offers; i++)
    if (g_str_equal(offers->offers[i].kind->id, self->drag.kind->id))
      return offers->offers[i].end;
  return end_for(self, loom_sheet_end(sheet, part, end));
}

static LoomEdit *
plug_edit(LoomCanvas *self, guint part, guint end)
{
  const LoomSheet *sheet = loom_document_sheet(self->document);
  const LoomDesign *design = loom_document_design(self->document);
  LoomOffer offer = {.kind = self->drag.kind, .end = best_end_for(self, part, end)};
  LoomPlacing at = loom_beside_end(sheet, part, end, &offer);
  g_autofree char *name = loom_canvas_end_name(self, part, end);
  g_autofree char *label = g_strdup_printf(_("Add %s to %s"), offer.kind->name, name);
  g_autoptr(LoomEdit) edit = loom_document_edit(self->document, label);
  const char *room[2];
  const char *const *scenes = loom_scenes_for(design, loom_document_scene(self->document), room);
  if (!loom_offer_place(edit, &offer, name, &at, scenes, NULL))
    return NULL;
  return g_steal_pointer(&edit);
}

/* The free end of the sheet that an end of the part, placed at the pointer, comes to lie on. */
static bool
end_near_ghost(LoomCanvas *self, guint *part, guint *end)
{
  LoomDrag *drag = &self->drag;
  if (drag->kind->lead)
    return false;
  g_autoptr(LoomPart) ghost = loom_part_new(drag->kind, "X1");
  LoomPoint corner = corner_at_pointer(self);
  ghost->x_mm = corner.x;
  ghost->y_mm = corner.y;
  for (guint i = 0; i < drag->kind->n_ends; i++) {
    int dx, dy;
    LoomPoint face = loom_place_end(ghost, i, &dx, &dy);
    if (loom_canvas_nearest_end(self, face, end_takes_kind, part, end) &&
        end_for(self, loom_sheet_end(loom_document_sheet(self->document), *part, *end)) == i)
      return true;
  }
  return false;
}

static void
show_bubble(LoomCanvas *self, LoomEdit *edit)
{
  LoomDrag *drag = &self->drag;
  bool over = edit && drag->over_part != LOOM_NONE;
  if (over) {
    g_autofree char *name = loom_canvas_end_name(self, drag->over_part, drag->over_end);
    g_autofree char *text = g_strdup_printf(_("Plugs into %s."), name);
    gtk_label_set_text(GTK_LABEL(self->bubble), text);
  }
  gtk_widget_set_visible(self->bubble, over);
}

void
loom_canvas_follow_place(LoomCanvas *self)
{
  LoomDrag *drag = &self->drag;
  guint part = LOOM_NONE, end = LOOM_NONE;
  if (!loom_canvas_nearest_end(self, drag->now, end_takes_kind, &part, &end) &&
      !end_near_ghost(self, &part, &end))
    part = end = LOOM_NONE;
  bool same = part == drag->over_part && end == drag->over_end;
  if (same && part != LOOM_NONE && drag->edit)
    return;
  drag->over_part = part;
  drag->over_end = end;
  LoomEdit *edit = part == LOOM_NONE ? place_edit(self) : plug_edit(self, part, end);
  show_bubble(self, edit);
  loom_canvas_preview(self, edit);
}

void
loom_canvas_drop_place(LoomCanvas *self)
{
  LoomDrag *drag = &self->drag;
  g_autoptr(LoomEdit) edit = g_steal_pointer(&drag->edit);
  g_autofree char *over = drag->over_part == LOOM_NONE
                              ? NULL
                              : loom_canvas_end_name(self, drag->over_part, drag->over_end);
  loom_canvas_end_drag(self);
  if (!edit)
    return;
  const LoomDesign *after = loom_edit_design(edit);
  const LoomPart *part = loom_design_part(after, loom_design_n_parts(after) - 1);
  g_autofree char *designation = g_strdup(part->designation);
  char *told = over ? g_strdup_printf(_("Placed %s, plugged into %s."), designation, over)
                    : g_strdup_printf(_("Placed %s."), designation);
  loom_canvas_apply(self, g_steal_pointer(&edit), told);
  loom_choice_set_part(self->choice, designation, NULL);
  loom_canvas_show_new(self, designation);
  loom_canvas_take_focus(self);
}
