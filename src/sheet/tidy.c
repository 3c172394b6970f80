#include "tidy-private.h"

#include "crowd.h"
#include "sheet-private.h"

#include <math.h>
#include <stdlib.h>

#define MOST_RINGS 2000

double
loom_grid_near(double mm)
{
  return floor(mm / LOOM_GRID_MM + 0.5) * LOOM_GRID_MM;
}

double
loom_grid_up(double mm)
{
  return ceil(mm / LOOM_GRID_MM - 1e-6) * LOOM_GRID_MM;
}

static void
replace_moved(LoomEdit *edit, guint index, const LoomPart *wanted)
{
  const LoomPart *is = loom_design_part(loom_edit_design(edit), index);
  if (is->x_mm == wanted->x_mm && is->y_mm == wanted->y_mm && is->turn == wanted->turn &&
      is->flip == wanted->flip)
    return;
  loom_edit_replace_part(edit, index, loom_part_copy(wanted));
}

/* Leads that are laid between two ends get the place of their tag, where they will hang once
 * unplugged. */
static void
follow_tags(LoomEdit *edit, guint scene, const bool *skip)
{
  LoomSheet *sheet = loom_sheet_new(loom_edit_design(edit), scene, NULL);
  for (guint p = 0; p < sheet->n_parts; p++) {
    if (!skip[p])
      continue;
    g_autoptr(LoomPart) part = loom_part_copy(loom_sheet_part(sheet, p));
    LoomRect tag = sheet->parts[p].outline;
    part->x_mm = loom_grid_near(tag.x + tag.width / 2);
    part->y_mm = loom_grid_near(tag.y + tag.height / 2);
    replace_moved(edit, p, part);
  }
  loom_sheet_free(sheet);
}

void
loom_tidy(LoomEdit *edit, guint scene)
{
  LoomTidyGraph *graph = loom_tidy_graph_new(loom_edit_design(edit), scene);
  loom_tidy_layers(graph);
  loom_tidy_columns(graph);
  for (guint p = 0; p < graph->n_nodes; p++)
    if (!graph->skip[p])
      replace_moved(edit, p, graph->nodes[p].part);
  follow_tags(edit, scene, graph->skip);
  loom_tidy_graph_free(graph);
}

static bool
is_free(const LoomCrowd *crowd, LoomRect box, double x, double y)
{
  LoomRect r = {box.x + x, box.y + y, box.width, box.height};
  return !loom_crowd_meets(crowd, loom_rect_grown(r, 2), LOOM_NONE, 0);
}

LoomPoint
loom_tidy_free_place(const LoomDesign *design, const LoomKind *kind, double x_mm, double y_mm)
{
  LoomCrowd *crowd = loom_crowd_new();
  g_autoptr(GHashTable) pictures = loom_pictures_new();
  for (guint p = 0; p < loom_design_n_parts(design); p++) {
    g_autoptr(LoomPart) part = loom_part_copy(loom_design_part(design, p));
    loom_crowd_add(crowd, loom_tidy_box(part, pictures), 0, p);
  }
  g_autoptr(LoomPart) own = loom_part_new(kind, kind->letter);
  own->x_mm = own->y_mm = 0;
  LoomRect box = loom_tidy_box(own, pictures);
  LoomPoint start = {loom_grid_near(x_mm), loom_grid_near(y_mm)}, found = start;
  bool done = false;
  for (int ring = 0; ring < MOST_RINGS && !done; ring++)
    for (int j = -ring; j <= ring && !done; j++)
      for (int i = -ring; i <= ring && !done; i += abs(j) == ring || ring == 0 ? 1 : 2 * ring) {
        found = (LoomPoint){start.x + i * LOOM_GRID_MM, start.y + j * LOOM_GRID_MM};
        done = is_free(crowd, box, found.x, found.y);
      }
  loom_crowd_free(crowd);
  return found;
}
