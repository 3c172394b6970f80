/* Components on the page:
 *
 *   +---------------------------+   the first component, what hangs below it in a row under it,
 *   |   first                   |   others to the left of that row as far as they fit there, and
 *   +---------------------------+   then in rows below all
 *   | others    | hangs below   |
 *   +---------------------------+
 *   | more others               |                                                           */
#include "tidy-private.h"

#include "place.h"

#include <math.h>

#define COMPONENT_MM 15.0
#define SHEET_WIDTH_MM 300.0

static LoomRect
bounds(const LoomTidyGraph *g, const GArray *members)
{
  LoomRect all = {0, 0, 0, 0};
  for (guint i = 0; i < members->len; i++) {
    const LoomTidyNode *node = &g->nodes[g_array_index(members, guint, i)];
    LoomRect r = node->box;
    r.x += node->part->x_mm;
    r.y += node->part->y_mm;
    all = loom_rect_union(all, r);
  }
  return all;
}

static void
shift(LoomTidyGraph *g, const GArray *members, double dx, double dy)
{
  for (guint i = 0; i < members->len; i++) {
    LoomTidyNode *node = &g->nodes[g_array_index(members, guint, i)];
    node->part->x_mm += dx;
    node->part->y_mm += dy;
  }
}

static bool
hangs_below(const LoomTidyGraph *g, const GArray *members, const GArray *over)
{
  if (members->len == 0)
    return false;
  guint above = g->nodes[g_array_index(members, guint, 0)].below;
  for (guint i = 0; i < over->len; i++)
    if (above == g_array_index(over, guint, i))
      return true;
  return false;
}

/* x in a row for something that would best begin at `wish`: there, else on the side of what is
 * already in `row` where it stays under the part above, which reaches from `left` to `right`. */
static double
place_in_row(LoomRect row, double wish, double width, double left, double right)
{
  if (row.width <= 0 || wish >= row.x + row.width + COMPONENT_MM ||
      wish + width + COMPONENT_MM <= row.x)
    return wish;
  double after = row.x + row.width + COMPONENT_MM, before = row.x - COMPONENT_MM - width;
  return after + width > right && before >= left ? before : after;
}

/* A row of components under `over`: each below the end that it hangs on, as far as the others let
 * it. The row's rectangle; empty where there is none. */
static LoomRect
arrange_below(LoomTidyGraph *g, GPtrArray *components, const GArray *over)
{
  LoomRect row = {0, 0, 0, 0}, above = bounds(g, over);
  double y = above.y + above.height + COMPONENT_MM;
  for (guint c = 0; c < components->len; c++) {
    const GArray *members = components->pdata[c];
    if (!hangs_below(g, members, over))
      continue;
    const LoomTidyNode *root = &g->nodes[g_array_index(members, guint, 0)];
    const LoomTidyEdge *e = &g_array_index(g->edges, LoomTidyEdge, root->parent_edge);
    bool a = &g->nodes[e->a] == root;
    int dx, dy;
    LoomPoint far = loom_tidy_look(&g->nodes[root->below], a ? e->end_b : e->end_a, &dx, &dy);
    LoomPoint own = loom_tidy_look(root, a ? e->end_a : e->end_b, &dx, &dy);
    LoomRect r = bounds(g, members);
    double left = place_in_row(row, r.x + far.x - own.x, r.width, above.x, above.x + above.width);
    shift(g, members, loom_grid_near(left - r.x + 2), loom_grid_near(y - r.y + 2));
    row = loom_rect_union(row, bounds(g, members));
  }
  return row;
}

/* Rows of components from a corner, no wider than `width`, as words on a page. */
typedef struct {
  double left, top, width;
  double x, y, row; /* next place, height of the row */
} Page;

static bool
fits_row(const Page *page, LoomRect r)
{
  return page->x <= page->left || page->x + r.width <= page->left + page->width;
}

static void
put(LoomTidyGraph *g, const GArray *members, Page *page)
{
  LoomRect r = bounds(g, members);
  if (!fits_row(page, r)) {
    page->x = page->left;
    page->y = loom_grid_up(page->y + page->row + COMPONENT_MM);
    page->row = 0;
  }
  shift(g, members, loom_grid_near(page->x - r.x + 2), loom_grid_near(page->y - r.y + 2));
  page->x = loom_grid_up(page->x + r.width + COMPONENT_MM);
  page->row = fmax(page->row, r.height);
}

/* Where the component would end, were it put next. */
static double
bottom_if_put(const LoomTidyGraph *g, const GArray *members, const Page *page)
{
  LoomRect r = bounds(g, members);
  return fits_row(page, r) ? page->y + r.height : page->y + page->row + COMPONENT_MM + r.height;
}

/* The first component, what hangs below it in a row under it; the others left of that row as far as
 * they fit there, then in rows below all. */
void
loom_tidy_page(LoomTidyGraph *g, GPtrArray *components)
{
  Page below = {0, 0, SHEET_WIDTH_MM, 0, 0, 0}, beside = below;
  bool first = true;
  for (guint c = 0; c < components->len; c++) {
    const GArray *members = components->pdata[c];
    if (members->len == 0 || g->nodes[g_array_index(members, guint, 0)].below != LOOM_NONE)
      continue;
    LoomRect r = bounds(g, members);
    if (!first && r.width <= beside.width && bottom_if_put(g, members, &beside) <= below.top) {
      put(g, members, &beside);
      continue;
    }
    put(g, members, &below);
    r = bounds(g, members);
    LoomRect row = arrange_below(g, components, members);
    if (row.width > 0)
      below.row = fmax(below.row, row.y + row.height - below.y);
    if (!first)
      continue;
    first = false;
    below.width = fmax(below.width, r.width);
    beside = (Page){r.x, row.y, row.width > 0 ? row.x - COMPONENT_MM - r.x : 0, r.x, row.y, 0};
    below.top = row.y + row.height;
    below.x = below.left + below.width + 1; /* a new row */
  }
}
