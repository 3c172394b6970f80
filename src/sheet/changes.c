#include "changes.h"

#include "design/edit.h"
#include "sheet-private.h"

#include <math.h>

#define BESIDE_MM 12.0 /* between a part that is gone and what lies in its place now */
#define MOST_SHIFTS 60

/* What a part takes up with its connectors on. */
static LoomRect
room_of(const LoomPart *part)
{
  return loom_rect_grown(loom_place_outline(part), BESIDE_MM);
}

/* On rings around where it lay, the nearest first. */
static LoomPoint
free_place(const LoomCrowd *crowd, const LoomPart *part)
{
  LoomRect room = room_of(part);
  for (guint i = 0; i < MOST_SHIFTS; i++) {
    double angle = (i % 8) * G_PI / 4, out = ((i + 7) / 8) * 20.0;
    LoomRect r = {room.x + out * round(cos(angle)), room.y + out * round(sin(angle)), room.width,
                  room.height};
    if (!loom_crowd_meets(crowd, r, LOOM_NONE, 0))
      return (LoomPoint){part->x_mm + r.x - room.x, part->y_mm + r.y - room.y};
  }
  return (LoomPoint){part->x_mm, part->y_mm};
}

LoomSheet *
loom_changes_sheet_new(const LoomMerged *merged, guint scene)
{
  g_autoptr(LoomDesign) design = loom_design_snapshot(merged->design);
  LoomEdit *edit = loom_edit_new(design, "Beside");
  LoomCrowd *crowd = loom_crowd_new();
  for (guint p = 0; p < merged->n_parts; p++) {
    const LoomPart *part = loom_design_part(merged->design, p);
    LoomRect at = loom_place_outline(part);
    if (merged->parts[p] == LOOM_STATUS_GONE && loom_crowd_meets(crowd, at, LOOM_NONE, 0)) {
      LoomPoint to = free_place(crowd, part);
      loom_edit_move(edit, part->designation, to.x, to.y, NULL);
      at.x += to.x - part->x_mm;
      at.y += to.y - part->y_mm;
    }
    loom_crowd_add(crowd, at, 0, p);
  }
  loom_crowd_free(crowd);
  loom_design_apply(design, edit);
  return loom_sheet_new(design, scene, NULL);
}

static guint
part_called(const LoomMerged *merged, const char *designation, bool old)
{
  const char *name = old ? g_hash_table_lookup(merged->old_names, designation) : designation;
  return name ? loom_design_find_part(merged->design, name) : LOOM_NONE;
}

/* Calls `see` with each place of the difference that the merged design has; end LOOM_NONE: the part
 * itself. */
typedef void (*SeePlace)(guint part, guint end, gpointer data);

static void
each_place(const LoomMerged *merged, const LoomDifference *d, SeePlace see, gpointer data)
{
  for (guint i = 0; i < d->n_new_places + d->n_old_places; i++) {
    bool old = i >= d->n_new_places;
    const LoomEndName *place = old ? &d->old_places[i - d->n_new_places] : &d->new_places[i];
    guint part = part_called(merged, place->part, old);
    if (part == LOOM_NONE)
      continue;
    const LoomKind *kind = loom_design_part(merged->design, part)->kind;
    see(part, place->end ? loom_kind_find_end(kind, place->end) : LOOM_NONE, data);
  }
}

typedef struct {
  const LoomSheet *sheet;
  GArray *boxes;
} Boxes;

static void
add_box(guint part, guint end, gpointer data)
{
  Boxes *boxes = data;
  LoomRect box = end == LOOM_NONE ? boxes->sheet->parts[part].outline
                                  : loom_sheet_end(boxes->sheet, part, end)->box;
  g_array_append_val(boxes->boxes, box);
}

GArray *
loom_changes_places(const LoomSheet *sheet, const LoomMerged *merged,
                    const LoomDifference *difference)
{
  Boxes boxes = {sheet, g_array_new(FALSE, FALSE, sizeof(LoomRect))};
  each_place(merged, difference, add_box, &boxes);
  return boxes.boxes;
}

typedef struct {
  const bool *shown; /* [n_parts] in the scene that is looked at */
  guint n, n_shown;
} Seen;

static void
count_shown(guint part, guint end G_GNUC_UNUSED, gpointer data)
{
  Seen *seen = data;
  seen->n++;
  seen->n_shown += seen->shown[part];
}

static bool
shows_all(const LoomMerged *merged, const LoomDifference *difference, guint scene)
{
  g_autofree bool *shown = loom_design_scene_parts(merged->design, scene);
  Seen seen = {.shown = shown};
  each_place(merged, difference, count_shown, &seen);
  return seen.n_shown == seen.n;
}

guint
loom_changes_scene(const LoomMerged *merged, const LoomDifference *difference, guint scene)
{
  if (shows_all(merged, difference, scene))
    return scene;
  for (guint s = 0; s < loom_design_n_scenes(merged->design); s++)
    if (shows_all(merged, difference, s))
      return s;
  return scene;
}
