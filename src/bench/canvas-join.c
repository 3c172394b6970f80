#include "beside.h"
#include "canvas-private.h"
#include "scenes.h"

#include <glib/gi18n-lib.h>

/* Dragging an end. What a drop would do is kept as an edit all the while, so that the sheet shows
 * it before the button is let go:
 *
 *   over an end that mates      [unplug what is being pulled], plug
 *   elsewhere, a lead's end     [unplug], move the lead so that the end hangs at the pointer
 *   elsewhere, pulled           unplug
 *   elsewhere, a fixed end      nothing: the drop offers leads, or explains
 */

static bool
is_lead(LoomCanvas *self, guint part)
{
  return loom_canvas_part(self, part)->kind->lead;
}

/* Of the two ends of a joint the lead's one is pulled; the other stays. */
static void
choose_pulled(LoomCanvas *self, guint joint_index)
{
  LoomDrag *drag = &self->drag;
  const LoomDesign *design = loom_document_design(self->document);
  const LoomJoint *joint = loom_design_joint(design, joint_index);
  g_autofree char *a = g_strdup_printf("%s:%s", joint->a.part, joint->a.end);
  g_autofree char *b = g_strdup_printf("%s:%s", joint->b.part, joint->b.end);
  const char *other = g_str_equal(a, drag->end_name) ? b : a;
  guint part, end;
  if (!loom_design_find_end(design, other, &part, &end, NULL))
    return;
  if (is_lead(self, drag->part) || !is_lead(self, part)) {
    drag->pulled = g_strdup(other);
    return;
  }
  drag->pulled = g_steal_pointer(&drag->end_name);
  drag->end_name = g_strdup(other);
  drag->part = part;
  drag->end = end;
}

/* An edit that begins with pulling the plug, if there is one to pull. New, or NULL. */
static LoomEdit *
start_edit(LoomCanvas *self, const char *label)
{
  LoomEdit *edit = loom_document_edit(self->document, label);
  if (self->drag.pulled)
    loom_scenes_unplug(edit, loom_document_scene(self->document), self->drag.end_name,
                       self->drag.pulled, NULL);
  return edit;
}

void
loom_canvas_begin_join(LoomCanvas *self, guint part, guint end)
{
  LoomDrag *drag = &self->drag;
  guint scene = loom_document_scene(self->document);
  drag->mode = LOOM_DRAG_JOIN;
  drag->part = part;
  drag->end = end;
  drag->over_part = drag->over_end = LOOM_NONE;
  drag->end_name = loom_canvas_end_name(self, part, end);
  const LoomDesign *design = loom_document_design(self->document);
  guint joint;
  if (!loom_scenes_places_left(design, scene, part, end) &&
      loom_scenes_joints_at(design, scene, part, end, &joint))
    choose_pulled(self, joint);
  drag->hanging = is_lead(self, drag->part);
  g_autoptr(LoomEdit) edit = start_edit(self, "");
  drag->rings = loom_linkup_rings(loom_document_pieces(self->document), loom_edit_design(edit),
                                  scene, drag->part, drag->end);
}

static LoomRingAnswer
answer_of(LoomCanvas *self, guint part, guint end)
{
  const LoomRings *rings = self->drag.rings;
  return part < rings->n_parts ? rings->ends[rings->part_end[part] + end].answer : LOOM_RING_SELF;
}

static bool
end_mates(LoomCanvas *self, const LoomPlacedEnd *end)
{
  return answer_of(self, end->part, end->end) == LOOM_RING_MATES;
}

/* The part under the pointer may be meant, if just one of its ends comes into question. */
static bool
only_mating_end(LoomCanvas *self, guint part, guint *end)
{
  const LoomSheet *sheet = loom_document_sheet(self->document);
  guint n = 0;
  for (guint i = 0; i < loom_design_part(sheet->design, part)->kind->n_ends; i++)
    if (answer_of(self, part, i) == LOOM_RING_MATES) {
      *end = i;
      n++;
    }
  return n == 1;
}

static void
find_target(LoomCanvas *self, guint *part, guint *end)
{
  LoomDrag *drag = &self->drag;
  *part = *end = LOOM_NONE;
  if (loom_canvas_nearest_end(self, drag->now, end_mates, part, end))
    return;
  LoomHit hit = loom_sheet_hit(loom_document_sheet(self->document), drag->now.x, drag->now.y,
                               LOOM_SLACK_PX / self->scale);
  if (hit.type == LOOM_HIT_END && answer_of(self, hit.part, hit.end) != LOOM_RING_SELF) {
    *part = hit.part;
    *end = hit.end;
  } else if (hit.type == LOOM_HIT_PART && hit.part != drag->part &&
             only_mating_end(self, hit.part, end)) {
    *part = hit.part;
  }
}

static LoomEdit *
plug_edit(LoomCanvas *self, const char *over)
{
  g_autofree char *label = g_strdup_printf(_("Plug %s into %s"), self->drag.end_name, over);
  g_autoptr(LoomEdit) edit = start_edit(self, label);
  if (!loom_scenes_plug(edit, loom_document_scene(self->document), self->drag.end_name, over, NULL))
    return NULL;
  return g_steal_pointer(&edit);
}

/* The lead's tag moves by as much as its end does. */
static LoomEdit *
hang_edit(LoomCanvas *self)
{
  LoomDrag *drag = &self->drag;
  const LoomPart *part = loom_canvas_part(self, drag->part);
  const LoomPlacedEnd *end =
      loom_sheet_end(loom_document_sheet(self->document), drag->part, drag->end);
  g_autofree char *label = drag->pulled ? g_strdup_printf(_("Unplug %s"), drag->end_name)
                                        : g_strdup_printf(_("Move %s"), part->designation);
  LoomEdit *edit = start_edit(self, label);
  LoomPoint base = drag->pulled ? end->at : (LoomPoint){part->x_mm, part->y_mm};
  loom_edit_move(edit, part->designation, loom_grid_snap(base.x + drag->now.x - end->at.x),
                 loom_grid_snap(base.y + drag->now.y - end->at.y), NULL);
  return edit;
}

static LoomEdit *
edit_in_open(LoomCanvas *self)
{
  if (self->drag.over_part != LOOM_NONE)
    return NULL; /* over an end that does not mate: everything stays, the rubber lead shows */
  if (self->drag.hanging)
    return hang_edit(self);
  if (!self->drag.pulled)
    return NULL;
  g_autofree char *label = g_strdup_printf(_("Unplug %s"), self->drag.end_name);
  return start_edit(self, label);
}

/* The sentence beside the pointer. New, or NULL. */
static char *
bubble_text(LoomCanvas *self)
{
  LoomDrag *drag = &self->drag;
  if (drag->over_part == LOOM_NONE)
    return NULL;
  g_autofree char *over = loom_canvas_end_name(self, drag->over_part, drag->over_end);
  if (end_mates(self, loom_sheet_end(loom_document_sheet(self->document), drag->over_part,
                                     drag->over_end)))
    return g_strdup_printf(_("%s plugs into %s."), drag->end_name, over);
  g_autoptr(LoomEdit) edit = start_edit(self, "");
  g_autofree char *why =
      loom_linkup_why(loom_edit_design(edit), loom_document_scene(self->document), drag->part,
                      drag->end, drag->over_part, drag->over_end);
  LoomRing ring = drag->rings->ends[drag->rings->part_end[drag->over_part] + drag->over_end];
  if (ring.answer != LOOM_RING_PIECES)
    return g_steal_pointer(&why);
  return g_strdup_printf(ngettext("%s %u piece links them up: drop to see which.",
                                  "%s %u pieces link them up: drop to see which.", ring.pieces),
                         why ? why : "", ring.pieces);
}

static void
show_bubble(LoomCanvas *self)
{
  g_autofree char *text = bubble_text(self);
  gtk_label_set_text(GTK_LABEL(self->bubble), text ? text : "");
  gtk_widget_set_visible(self->bubble, text != NULL);
}

void
loom_canvas_follow_join(LoomCanvas *self)
{
  LoomDrag *drag = &self->drag;
  guint part, end;
  find_target(self, &part, &end);
  bool same = part == drag->over_part && end == drag->over_end;
  drag->over_part = part;
  drag->over_end = end;
  if (!same)
    show_bubble(self);
  bool mates = part != LOOM_NONE && answer_of(self, part, end) == LOOM_RING_MATES;
  if (mates && same && drag->edit)
    return;
  g_autofree char *over = mates ? loom_canvas_end_name(self, part, end) : NULL;
  if (mates || drag->hanging || !same || !drag->edit)
    loom_canvas_preview(self, mates ? plug_edit(self, over) : edit_in_open(self));
}

void
loom_canvas_drop_join(LoomCanvas *self)
{
  LoomDrag *drag = &self->drag;
  guint part = drag->part, end = drag->end, over_part = drag->over_part, over_end = drag->over_end;
  bool mates = over_part != LOOM_NONE && answer_of(self, over_part, over_end) == LOOM_RING_MATES;
  LoomPoint at = drag->now;
  g_autoptr(LoomEdit) edit = g_steal_pointer(&drag->edit);
  g_autofree char *name = g_strdup(drag->end_name);
  g_autofree char *over = mates ? loom_canvas_end_name(self, over_part, over_end) : NULL;
  loom_canvas_end_drag(self);
  if (mates && edit)
    loom_canvas_apply(self, g_steal_pointer(&edit),
                      g_strdup_printf(_("Plugged %s into %s."), name, over));
  else if (over_part != LOOM_NONE)
    loom_canvas_explain(self, part, end, over_part, over_end);
  else if (edit)
    loom_canvas_apply(self, g_steal_pointer(&edit), NULL);
  else
    loom_canvas_offer_in_open(self, part, end, at);
}
