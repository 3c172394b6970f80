#include "canvas-private.h"

#include "sheet-difference.h"

/* What a drag would do, laid out while it goes on. Laying a sheet takes time in proportion to its
 * parts, so of a large sheet only a cut-out is laid anew:
 *
 *   1. what the edit changes, and what has been drawn anew before in this drag
 *   2. with it the leads that hang on it, and what those are plugged into
 *   3. a region around all that, and every part and lead that reaches into it
 *
 * Ways that nothing touches are taken over from the sheet that stays, so that the cut-out looks
 * like a piece of the whole. Parts that look otherwise than in the still layer are hidden there and
 * drawn in the moving layer; once hidden, a part stays so until the drag ends. */

#define SMALL_SHEET 250 /* parts: laid as a whole */
#define AROUND_MM 60.0

struct LoomPreview {
  guint64 *before; /* sums of the sheet that stays */
  bool *hidden;    /* [n_parts of it] */
};

void
loom_preview_free(LoomPreview *preview)
{
  if (!preview)
    return;
  g_free(preview->before);
  g_free(preview->hidden);
  g_free(preview);
}

static LoomRect
grown(LoomRect r, double by)
{
  return (LoomRect){r.x - by, r.y - by, r.width + 2 * by, r.height + 2 * by};
}

static LoomRect
united(LoomRect a, LoomRect b)
{
  if (a.width <= 0)
    return b;
  double x = MIN(a.x, b.x), y = MIN(a.y, b.y);
  return (LoomRect){x, y, MAX(a.x + a.width, b.x + b.width) - x,
                    MAX(a.y + a.height, b.y + b.height) - y};
}

static bool
meets(LoomRect a, LoomRect b)
{
  return a.x < b.x + b.width && b.x < a.x + a.width && a.y < b.y + b.height && b.y < a.y + a.height;
}

static LoomRect
between(LoomPoint a, LoomPoint b)
{
  return grown((LoomRect){MIN(a.x, b.x), MIN(a.y, b.y), fabs(a.x - b.x), fabs(a.y - b.y)}, 0.5);
}

/* 1. Parts of the design that the edit changed, or that are hidden already. */
static void
mark_changed(const LoomPreview *preview, const LoomSheet *still, const LoomDesign *design,
             bool *near)
{
  for (guint p = 0; p < loom_design_n_parts(design); p++) {
    const LoomPart *part = loom_design_part(design, p);
    guint old = loom_design_find_part(still->design, part->designation);
    near[p] =
        old == LOOM_NONE || loom_design_part(still->design, old) != part || preview->hidden[old];
  }
}

static void
mark_ends(const LoomDesign *design, const LoomJoint *joint, bool *near)
{
  const char *const parts[] = {joint->a.part, joint->b.part};
  for (guint i = 0; i < 2; i++) {
    guint p = loom_design_find_part(design, parts[i]);
    if (p != LOOM_NONE)
      near[p] = true;
  }
}

static void
mark_changed_joints(const LoomDesign *design, const LoomDesign *other, bool *near)
{
  g_autoptr(GHashTable) known = g_hash_table_new(NULL, NULL);
  for (guint i = 0; i < loom_design_n_joints(other); i++)
    g_hash_table_add(known, (gpointer)loom_design_joint(other, i));
  for (guint i = 0; i < loom_design_n_joints(design); i++)
    if (!g_hash_table_remove(known, loom_design_joint(design, i)))
      mark_ends(design, loom_design_joint(design, i), near);
  GHashTableIter iter;
  gpointer joint;
  g_hash_table_iter_init(&iter, known);
  while (g_hash_table_iter_next(&iter, &joint, NULL))
    mark_ends(design, joint, near);
}

/* 2. Along leads, to what they end in. `step` names what is to be spread from. */
static void
mark_joined(const LoomDesign *design, bool *near)
{
  guint n_joints = loom_design_n_joints(design);
  bool more = true;
  g_autofree bool *spreads = g_memdup2(near, loom_design_n_parts(design) * sizeof(bool));
  while (more) {
    more = false;
    for (guint i = 0; i < n_joints; i++) {
      const LoomJoint *joint = loom_design_joint(design, i);
      guint a = loom_design_find_part(design, joint->a.part);
      guint b = loom_design_find_part(design, joint->b.part);
      if (spreads[a] == spreads[b])
        continue;
      guint other = spreads[a] ? b : a;
      near[other] = true;
      if (loom_design_part(design, other)->kind->lead)
        more = spreads[other] = true;
    }
  }
}

/* 3. */
static LoomRect
region_of(const LoomSheet *still, const LoomDesign *design, const bool *near)
{
  LoomRect region = {0, 0, 0, 0};
  for (guint p = 0; p < loom_design_n_parts(design); p++) {
    if (!near[p])
      continue;
    const LoomPart *part = loom_design_part(design, p);
    guint old = loom_design_find_part(still->design, part->designation);
    region = united(region, grown(loom_place_outline(part), 1));
    if (old != LOOM_NONE)
      region = united(region, still->parts[old].outline);
  }
  return grown(region, AROUND_MM);
}

static void
mark_region(const LoomSheet *still, const LoomDesign *design, LoomRect region, bool *near)
{
  g_autofree bool *inside = g_new0(bool, still->n_parts + 1);
  for (guint p = 0; p < still->n_parts; p++)
    inside[p] = meets(still->parts[p].outline, region);
  for (guint i = 0; i < still->n_leads; i++) {
    const LoomLaidLead *lead = &still->leads[i];
    for (guint k = 0; k + 1 < lead->n_points && !inside[lead->part]; k++)
      inside[lead->part] = meets(between(lead->points[k], lead->points[k + 1]), region);
  }
  for (guint p = 0; p < still->n_parts; p++) {
    guint now = inside[p]
                    ? loom_design_find_part(design, loom_design_part(still->design, p)->designation)
                    : LOOM_NONE;
    if (now != LOOM_NONE)
      near[now] = true;
  }
}

/* What has to be laid; NULL: all of it. */
static bool *
near_parts(const LoomPreview *preview, const LoomSheet *still, const LoomDesign *design)
{
  guint n = loom_design_n_parts(design);
  if (n < SMALL_SHEET)
    return NULL;
  bool *near = g_new0(bool, n + 1);
  mark_changed(preview, still, design, near);
  mark_changed_joints(design, still->design, near);
  mark_joined(design, near);
  mark_region(still, design, region_of(still, design, near), near);
  mark_joined(design, near); /* leads that only pass through end somewhere */
  return near;
}

static LoomSheet *
lay(LoomCanvas *self, const LoomSheet *still, const LoomDesign *design)
{
  guint scene = loom_document_scene(self->document);
  g_autofree bool *near = near_parts(self->drag.preview, still, design);
  if (!near)
    return loom_sheet_new(design, scene, still);
  g_autoptr(LoomDesign) cut = loom_design_cut_out(design, near);
  return loom_sheet_new(cut, scene, still);
}

/* Hides what looks otherwise now; lists what is to be drawn in the moving layer. */
static void
compare(LoomDrag *drag, const LoomSheet *still)
{
  LoomPreview *preview = drag->preview;
  g_autofree guint64 *after = loom_sheet_sums(drag->sheet);
  g_clear_pointer(&drag->moving, g_array_unref);
  drag->moving = g_array_new(FALSE, FALSE, sizeof(guint));
  for (guint p = 0; p < drag->sheet->n_parts; p++) {
    guint old =
        loom_design_find_part(still->design, loom_design_part(drag->sheet->design, p)->designation);
    if (old != LOOM_NONE && !preview->hidden[old] && preview->before[old] != after[p]) {
      preview->hidden[old] = true;
      drag->hidden_serial++;
    }
    if (old == LOOM_NONE || preview->hidden[old])
      g_array_append_val(drag->moving, p);
  }
}

static LoomPreview *
preview_new(const LoomSheet *still)
{
  LoomPreview *preview = g_new0(LoomPreview, 1);
  preview->before = loom_sheet_sums(still);
  preview->hidden = g_new0(bool, still->n_parts + 1);
  return preview;
}

bool
loom_canvas_hides(LoomCanvas *self, guint part)
{
  return self->drag.preview && self->drag.preview->hidden[part];
}

/* Everything is seen as it stands again. */
static void
end_preview(LoomDrag *drag)
{
  g_clear_pointer(&drag->sheet, loom_sheet_free);
  g_clear_pointer(&drag->moving, g_array_unref);
  if (drag->preview)
    drag->hidden_serial++;
  g_clear_pointer(&drag->preview, loom_preview_free);
}

void
loom_canvas_preview(LoomCanvas *self, LoomEdit *edit)
{
  LoomDrag *drag = &self->drag;
  const LoomSheet *still = loom_document_sheet(self->document);
  g_clear_pointer(&drag->edit, loom_edit_free);
  g_clear_pointer(&self->moving, gsk_render_node_unref);
  gtk_widget_queue_draw(GTK_WIDGET(self));
  drag->edit = edit;
  if (!edit) {
    end_preview(drag);
    return;
  }
  gint64 start = g_get_monotonic_time();
  if (!drag->preview)
    drag->preview = preview_new(still);
  LoomSheet *sheet = lay(self, still, loom_edit_design(edit));
  g_clear_pointer(&drag->sheet, loom_sheet_free);
  drag->sheet = sheet;
  compare(drag, still);
  loom_events_say(loom_document_events(self->document), "laid %.2f",
                  (g_get_monotonic_time() - start) / 1000.0);
}
