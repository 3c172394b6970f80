#include "wiring.h"

#include <glib/gi18n-lib.h>

static void
number_parts(LoomWiring *w)
{
  w->part_node = g_new(guint, w->n_parts + 1);
  w->part_end = g_new(guint, w->n_parts + 1);
  w->part_node[0] = w->part_end[0] = 0;
  for (guint p = 0; p < w->n_parts; p++) {
    const LoomKind *kind = loom_design_part(w->design, p)->kind;
    w->part_node[p + 1] = w->part_node[p] + kind->n_nodes;
    w->part_end[p + 1] = w->part_end[p] + kind->n_ends;
  }
  w->n_nodes = w->part_node[w->n_parts];
  w->n_ends = w->part_end[w->n_parts];
}

/* Inverse of a table of firsts: owner of each of the `total` numbers. */
static guint *
owners(const guint *first, guint n, guint total)
{
  guint *owner = g_new(guint, total);
  for (guint p = 0; p < n; p++)
    for (guint i = first[p]; i < first[p + 1]; i++)
      owner[i] = p;
  return owner;
}

static LoomMate
mate_of(const LoomWiredJoint *j, const LoomEnd *a, const LoomEnd *b)
{
  if (j->part_a == j->part_b && j->end_a == j->end_b)
    return LOOM_MATE_SAME_END;
  LoomEnd twin = *b; /* two parts of one kind share the record of their end */
  return loom_mate(a, a == b ? &twin : b);
}

static bool
resolve_end(const LoomWiring *w, const LoomEndName *name, guint *part, guint *end)
{
  *part = loom_design_find_part(w->design, name->part);
  if (*part == LOOM_NONE)
    return false;
  *end = loom_kind_find_end(loom_design_part(w->design, *part)->kind, name->end);
  return *end != LOOM_NONE;
}

static const LoomEnd *
kind_end(const LoomWiring *w, guint part, guint end)
{
  return &loom_design_part(w->design, part)->kind->ends[end];
}

static void
add_touches(GArray *touches, const LoomWiring *w, const LoomWiredJoint *j, guint wired, LoomFit fit)
{
  const LoomEnd *a = kind_end(w, j->part_a, j->end_a), *b = kind_end(w, j->part_b, j->end_b);
  for (guint c = 0; c < a->n_contacts; c++) {
    guint met = loom_fit_meets(a, c, b, fit);
    if (met == LOOM_NONE)
      continue;
    LoomTouch touch = {loom_wiring_node(w, j->part_a, j->end_a, c),
                       loom_wiring_node(w, j->part_b, j->end_b, met), wired};
    g_array_append_val(touches, touch);
  }
}

static void
resolve_joints(LoomWiring *w)
{
  const char *scene = loom_design_scene(w->design, w->scene)->name;
  GArray *joints = g_array_new(FALSE, FALSE, sizeof(LoomWiredJoint));
  GArray *touches = g_array_new(FALSE, FALSE, sizeof(LoomTouch));
  guint n = loom_design_n_joints(w->design);
  for (guint i = 0; i < n; i++) {
    const LoomJoint *joint = loom_design_joint(w->design, i);
    LoomWiredJoint j = {.joint = i};
    if (!loom_joint_in_scene(joint, scene) || !resolve_end(w, &joint->a, &j.part_a, &j.end_a) ||
        !resolve_end(w, &joint->b, &j.part_b, &j.end_b))
      continue;
    const LoomEnd *a = kind_end(w, j.part_a, j.end_a), *b = kind_end(w, j.part_b, j.end_b);
    j.mate = mate_of(&j, a, b);
    j.possible = loom_fit_possible(a, b, joint->fit);
    if (j.mate == LOOM_MATE_YES)
      add_touches(touches, w, &j, joints->len, j.possible ? joint->fit : LOOM_FIT_NORMAL);
    g_array_append_val(joints, j);
  }
  w->n_joints = joints->len;
  w->n_touches = touches->len;
  w->joints = (LoomWiredJoint *)g_array_free(joints, FALSE);
  w->touches = (LoomTouch *)g_array_free(touches, FALSE);
}

static void
list_joints_at_ends(LoomWiring *w)
{
  w->end_first = g_new0(guint, w->n_ends + 1);
  w->end_joints = g_new(guint, 2 * w->n_joints);
  g_autofree guint *fill = g_new0(guint, w->n_ends + 1);
  for (guint pass = 0; pass < 2; pass++) {
    for (guint i = 0; i < w->n_joints; i++) {
      const LoomWiredJoint *j = &w->joints[i];
      guint ends[2] = {loom_wiring_end(w, j->part_a, j->end_a),
                       loom_wiring_end(w, j->part_b, j->end_b)};
      for (guint k = 0; k < (ends[0] == ends[1] ? 1u : 2u); k++)
        if (pass == 0)
          w->end_first[ends[k] + 1]++;
        else
          w->end_joints[w->end_first[ends[k]] + fill[ends[k]]++] = i;
    }
    for (guint e = 0; pass == 0 && e < w->n_ends; e++)
      w->end_first[e + 1] += w->end_first[e];
  }
}

LoomWiring *
loom_wiring_new(const LoomDesign *design, guint scene)
{
  g_return_val_if_fail(scene < loom_design_n_scenes(design), NULL);
  LoomWiring *w = g_new0(LoomWiring, 1);
  w->design = loom_design_snapshot(design);
  w->scene = scene;
  w->n_parts = loom_design_n_parts(design);
  number_parts(w);
  w->node_part = owners(w->part_node, w->n_parts, w->n_nodes);
  w->end_part = owners(w->part_end, w->n_parts, w->n_ends);
  resolve_joints(w);
  list_joints_at_ends(w);
  return w;
}

void
loom_wiring_free(LoomWiring *w)
{
  if (!w)
    return;
  loom_design_free(w->design);
  g_free(w->part_node);
  g_free(w->part_end);
  g_free(w->node_part);
  g_free(w->end_part);
  g_free(w->joints);
  g_free(w->touches);
  g_free(w->end_first);
  g_free(w->end_joints);
  g_free(w);
}

const LoomPart *
loom_wiring_part(const LoomWiring *w, guint part)
{
  return loom_design_part(w->design, part);
}

guint
loom_wiring_node(const LoomWiring *w, guint part, guint end, guint contact)
{
  return w->part_node[part] + kind_end(w, part, end)->first_node + contact;
}

guint
loom_wiring_end(const LoomWiring *w, guint part, guint end)
{
  return w->part_end[part] + end;
}

guint
loom_wiring_n_joints_at(const LoomWiring *w, guint part, guint end)
{
  guint number = loom_wiring_end(w, part, end);
  return w->end_first[number + 1] - w->end_first[number];
}

bool
loom_wiring_contact(const LoomWiring *w, guint node, guint *part, guint *end, guint *contact)
{
  guint p = w->node_part[node], local = node - w->part_node[p];
  const LoomKind *kind = loom_wiring_part(w, p)->kind;
  guint e = loom_kind_end_of_node(kind, local);
  *part = p;
  *end = e;
  *contact = e == LOOM_NONE ? LOOM_NONE : local - kind->ends[e].first_node;
  return e != LOOM_NONE;
}

char *
loom_wiring_node_name(const LoomWiring *w, guint node)
{
  guint part, end, contact;
  bool shown = loom_wiring_contact(w, node, &part, &end, &contact);
  const LoomPart *p = loom_wiring_part(w, part);
  if (!shown)
    return g_strdup_printf(_("%s (inner node %u)"), p->designation, node - w->part_node[part] + 1);
  const LoomEnd *e = &p->kind->ends[end];
  return g_strdup_printf("%s:%s:%s", p->designation, e->id, e->contacts[contact].name);
}

char *
loom_wiring_end_name(const LoomWiring *w, guint part, guint end)
{
  const LoomPart *p = loom_wiring_part(w, part);
  return g_strdup_printf("%s:%s", p->designation, p->kind->ends[end].id);
}
