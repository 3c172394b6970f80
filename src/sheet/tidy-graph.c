#include "tidy-private.h"

#include "strokes.h"
#include "text.h"

#include <math.h>

#define TAG_ROOM_MM 15.0 /* length of lead that its tag takes */
#define PLUG_MM 5.0      /* a connector that is plugged on */

static LoomRect
box_of_ends(const LoomPart *part, LoomRect box)
{
  for (guint e = 0; e < part->kind->n_ends; e++) {
    int dx, dy;
    LoomEndSize size = loom_end_size(&part->kind->ends[e]);
    LoomPoint at = loom_place_end(part, e, &dx, &dy);
    if (part->kind->ends[e].pigtail_mm > 0) {
      at.x -= dx * LOOM_STUB_MM;
      at.y -= dy * LOOM_STUB_MM;
    }
    LoomPoint tip = {at.x + dx * PLUG_MM, at.y + dy * PLUG_MM};
    size.depth_mm += PLUG_MM;
    box = loom_rect_union(box, loom_end_box(&size, tip, dx, dy));
  }
  return box;
}

LoomRect
loom_tidy_box(const LoomPart *part, GHashTable *pictures)
{
  LoomRect box = loom_place_outline(part);
  if (part->kind->lead) {
    box = box_of_ends(part, box);
    return (LoomRect){box.x, box.y - 3, box.width, box.height + 6};
  }
  g_autoptr(GArray) words = loom_words_array_new();
  loom_place_words(part, loom_pictures_get(pictures, part->kind, NULL), words);
  for (guint i = 0; i < words->len; i++)
    box = loom_rect_union(box, g_array_index(words, LoomWords, i).box);
  return box_of_ends(part, box);
}

LoomPoint
loom_tidy_look(const LoomTidyNode *node, guint end, int *dx, int *dy)
{
  if (!node->part->kind->lead)
    return loom_place_root(node->part, end, dx, dy);
  *dx = *dy = 0;
  return (LoomPoint){node->part->x_mm, node->part->y_mm};
}

static double
need_of(const LoomWiring *w, const LoomRun *run)
{
  double need = 4;
  for (guint k = 0; k < run->stretches->len; k++) {
    const LoomStretch *s = &g_array_index(run->stretches, LoomStretch, k);
    if (s->end_a != LOOM_NONE && s->end_b != LOOM_NONE)
      need += TAG_ROOM_MM;
  }
  for (guint k = 0; k < run->joints->len; k++) {
    const LoomRunJoint *j = &g_array_index(run->joints, LoomRunJoint, k);
    guint part, end;
    for (guint second = 0; second < 2; second++) {
      loom_run_joint_end(w, j, second, &part, &end);
      need += loom_end_size(loom_run_kind_end(w, part, end)).depth_mm + 1.5;
    }
    need += w->joints[j->wired].mate == LOOM_MATE_YES ? 0 : 6;
  }
  return need;
}

static void
add_edge(LoomTidyGraph *g, LoomTidyEdge edge)
{
  if (edge.a == edge.b)
    return;
  guint number = g->edges->len;
  g_array_append_val(g->edges, edge);
  g_array_append_val(g->nodes[edge.a].edges, number);
  g_array_append_val(g->nodes[edge.b].edges, number);
}

/* Far ends of the wires of one lead that is a fixed thing. */
typedef struct {
  guint own_end, part, end;
  guint n_contacts; /* of the own end */
  double need;
} Branch;

/* The end with most contacts first: the trunk. */
static int
by_contacts(gconstpointer a, gconstpointer b)
{
  const Branch *x = a, *y = b;
  if (x->n_contacts != y->n_contacts)
    return x->n_contacts > y->n_contacts ? -1 : 1;
  return (x->own_end > y->own_end) - (x->own_end < y->own_end);
}

static void
free_array(gpointer array)
{
  g_array_unref(array);
}

static void
add_branch(GHashTable *branches, const LoomWiring *w, const LoomStop *tag, const LoomStop *far,
           double need)
{
  GArray *all = g_hash_table_lookup(branches, GUINT_TO_POINTER(tag->part));
  if (!all) {
    all = g_array_new(FALSE, FALSE, sizeof(Branch));
    g_hash_table_insert(branches, GUINT_TO_POINTER(tag->part), all);
  }
  guint n = loom_run_kind_end(w, tag->part, tag->end)->n_contacts;
  Branch b = {tag->end, far->part, far->end, n, need};
  g_array_append_val(all, b);
}

/* Whether the lead lies by itself amid what it joins: every end is plugged, and into no other such
 * lead. */
static bool
lies_between(const LoomRuns *runs, guint part, const GArray *branches)
{
  const LoomKind *kind = loom_wiring_part(runs->wiring, part)->kind;
  if (!branches || branches->len != kind->n_ends)
    return false;
  for (guint i = 0; i < branches->len; i++)
    if (runs->tag[g_array_index(branches, Branch, i).part])
      return false;
  return true;
}

/* From what its trunk is plugged into to what each of the others is. */
static void
add_knot(LoomTidyGraph *g, GArray *branches, bool weak)
{
  g_array_sort(branches, by_contacts);
  const Branch *first = &g_array_index(branches, Branch, 0);
  for (guint i = 1; i < branches->len; i++) {
    const Branch *b = &g_array_index(branches, Branch, i);
    add_edge(g, (LoomTidyEdge){first->part, first->end, b->part, b->end,
                               first->need + b->need + TAG_ROOM_MM + 8, weak, false});
  }
}

static GHashTable *
branches_of(const LoomRuns *runs)
{
  GHashTable *branches = g_hash_table_new_full(NULL, NULL, NULL, free_array);
  for (guint i = 0; i < runs->runs->len; i++) {
    const LoomRun *run = runs->runs->pdata[i];
    double need = need_of(runs->wiring, run);
    if (run->from.type == LOOM_STOP_TAG)
      add_branch(branches, runs->wiring, &run->from, &run->to, need);
    if (run->to.type == LOOM_STOP_TAG)
      add_branch(branches, runs->wiring, &run->to, &run->from, need);
  }
  return branches;
}

/* Leads that the program lays between what they join: nothing to place. */
static bool *
laid_leads(const LoomRuns *runs, GHashTable *branches)
{
  const LoomWiring *w = runs->wiring;
  bool *laid = g_new0(bool, w->n_parts + 1);
  for (guint p = 0; p < w->n_parts; p++)
    if (loom_wiring_part(w, p)->kind->lead)
      laid[p] = !runs->tag[p] ||
                lies_between(runs, p, g_hash_table_lookup(branches, GUINT_TO_POINTER(p)));
  return laid;
}

static void
add_scene(LoomTidyGraph *g, guint scene, bool weak)
{
  LoomWiring *w = loom_wiring_new(g->design, scene);
  LoomRuns *runs = loom_runs_new(w);
  g_autoptr(GHashTable) branches = branches_of(runs);
  bool *laid = laid_leads(runs, branches);
  for (guint i = 0; i < runs->runs->len; i++) {
    const LoomRun *run = runs->runs->pdata[i];
    const LoomRunJoint *first = &g_array_index(run->joints, LoomRunJoint, 0);
    bool direct = run->stretches->len == 0 && w->joints[first->wired].mate == LOOM_MATE_YES;
    LoomTidyEdge edge = {run->from.part,  run->from.end, run->to.part, run->to.end,
                         need_of(w, run), weak,          direct};
    if (!laid[edge.a] && !laid[edge.b] && !(weak && (g->skip[edge.a] || g->skip[edge.b])))
      add_edge(g, edge);
  }
  for (guint p = 0; p < g->n_nodes; p++)
    if (laid[p] && runs->tag[p])
      add_knot(g, g_hash_table_lookup(branches, GUINT_TO_POINTER(p)), weak);
  if (!weak) {
    g_free(g->skip);
    g->skip = g_steal_pointer(&laid);
  }
  g_free(laid);
  loom_runs_free(runs);
  loom_wiring_free(w);
}

LoomTidyGraph *
loom_tidy_graph_new(const LoomDesign *design, guint scene)
{
  LoomTidyGraph *g = g_new0(LoomTidyGraph, 1);
  g->design = design;
  g->n_nodes = loom_design_n_parts(design);
  g->nodes = g_new0(LoomTidyNode, g->n_nodes + 1);
  g->skip = g_new0(bool, g->n_nodes + 1);
  g->edges = g_array_new(FALSE, FALSE, sizeof(LoomTidyEdge));
  for (guint p = 0; p < g->n_nodes; p++) {
    LoomTidyNode *node = &g->nodes[p];
    node->part = loom_part_copy(loom_design_part(design, p));
    node->part->x_mm = node->part->y_mm = 0;
    node->part->turn = LOOM_TURN_0;
    node->part->flip = false;
    node->parent = node->parent_edge = node->below = node->glued = LOOM_NONE;
    node->edges = g_array_new(FALSE, FALSE, sizeof(guint));
  }
  add_scene(g, scene, false);
  for (guint s = 0; s < loom_design_n_scenes(design); s++)
    if (s != scene)
      add_scene(g, s, true);
  return g;
}

void
loom_tidy_graph_free(LoomTidyGraph *g)
{
  for (guint p = 0; p < g->n_nodes; p++) {
    loom_part_unref(g->nodes[p].part);
    g_array_unref(g->nodes[p].edges);
  }
  g_free(g->nodes);
  g_free(g->skip);
  g_array_unref(g->edges);
  g_free(g);
}
