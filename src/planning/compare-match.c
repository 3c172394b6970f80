#include "compare-private.h"

#include <string.h>

#define MOST_ROUNDS 12 /* renamed parts in a row that are found by their joints alone */

/* Sums of hashes over the joints of each part: equal sums are taken for equal joints (64 bits: a
 * collision is out of the question), and order does not matter. */
typedef struct {
  guint64 *named[2]; /* [n_parts] own end, other part's designation and end */
  guint64 *alike[2]; /* [n_parts] own end, other part's kind and end */
} Joints;

/* FNV-1a, 64 bits (offset and prime of the IETF draft by Fowler, Noll, Vo and Eastlake). */
static guint64
hash_text(guint64 hash, const char *text)
{
  for (const char *p = text; *p; p++)
    hash = (hash ^ (guchar)*p) * G_GUINT64_CONSTANT(0x100000001b3);
  return (hash ^ 0xff) * G_GUINT64_CONSTANT(0x100000001b3); /* ends the text */
}

static guint64
hash_end(const char *own, const char *other, const char *other_end)
{
  guint64 hash = hash_text(G_GUINT64_CONSTANT(0xcbf29ce484222325), own);
  return hash_text(hash_text(hash, other), other_end);
}

static void
sum_joint(const LoomDesign *design, const LoomEndName *own, const LoomEndName *other,
          guint64 *named, guint64 *alike)
{
  guint part = loom_design_find_part(design, own->part);
  const LoomPart *there = loom_design_part(design, loom_design_find_part(design, other->part));
  named[part] += hash_end(own->end, other->part, other->end);
  alike[part] += hash_end(own->end, there->kind->id, other->end);
}

static void
sum_joints(const LoomCompareRoom *room, Joints *joints)
{
  for (guint side = OLD; side <= NOW; side++) {
    joints->named[side] = g_new0(guint64, room->n_parts[side] + 1);
    joints->alike[side] = g_new0(guint64, room->n_parts[side] + 1);
    for (guint i = 0; i < room->n_joints[side]; i++) {
      const LoomJoint *j = loom_design_joint(room->design[side], i);
      sum_joint(room->design[side], &j->a, &j->b, joints->named[side], joints->alike[side]);
      sum_joint(room->design[side], &j->b, &j->a, joints->named[side], joints->alike[side]);
    }
  }
}

static bool
same_spot(const LoomPart *a, const LoomPart *b)
{
  return !(a->x_mm < b->x_mm || a->x_mm > b->x_mm || a->y_mm < b->y_mm || a->y_mm > b->y_mm) &&
         a->turn == b->turn && a->flip == b->flip;
}

static bool
both_say(const char *a, const char *b)
{
  return a && b && g_str_equal(a, b);
}

/* Whether something besides the designation speaks for the two being one. */
static bool
recognised(const LoomCompareRoom *room, const Joints *joints, guint old, guint now)
{
  const LoomPart *a = loom_design_part(room->design[OLD], old);
  const LoomPart *b = loom_design_part(room->design[NOW], now);
  return same_spot(a, b) || both_say(a->label, b->label) || both_say(a->name, b->name) ||
         (joints->named[OLD][old] != 0 && joints->named[OLD][old] == joints->named[NOW][now]);
}

typedef enum { IF_RECOGNISED, OF_ONE_KIND, OF_ANY_KIND } How;

static void
pair_by_designation(LoomCompareRoom *room, const Joints *joints, How how)
{
  for (guint i = 0; i < room->n_parts[OLD]; i++) {
    const LoomPart *part = loom_design_part(room->design[OLD], i);
    guint there = loom_design_find_part(room->design[NOW], part->designation);
    if (there == LOOM_NONE || room->part_to[OLD][i] != LOOM_NONE ||
        room->part_to[NOW][there] != LOOM_NONE)
      continue;
    const LoomPart *other = loom_design_part(room->design[NOW], there);
    if (how != OF_ANY_KIND && !g_str_equal(part->kind->id, other->kind->id))
      continue;
    if (how == IF_RECOGNISED && !recognised(room, joints, i, there))
      continue;
    room->part_to[OLD][i] = there;
    room->part_to[NOW][there] = i;
  }
}

static char *
spot_key(const LoomCompareRoom *room, guint side, guint index, gconstpointer data)
{
  const Joints *joints = data;
  const LoomPart *p = loom_design_part(room->design[side], index);
  return g_strdup_printf("%s %a %a %d %d %" G_GINT64_MODIFIER "x", p->kind->id, p->x_mm, p->y_mm,
                         (int)p->turn, (int)p->flip, joints->alike[side][index]);
}

/* [n_parts] sums over joints in terms of pairs, and of kinds for neighbours without a partner; 0
 * where no neighbour has one. */
static guint64 *
sum_pairs(const LoomCompareRoom *room, guint side)
{
  const LoomDesign *design = room->design[side];
  guint n = room->n_parts[side];
  guint64 *sums = g_new0(guint64, n + 1);
  g_autofree bool *known = g_new0(bool, n + 1);
  for (guint i = 0; i < room->n_joints[side]; i++) {
    const LoomJoint *j = loom_design_joint(design, i);
    const LoomEndName *ends[] = {&j->a, &j->b};
    for (guint k = 0; k < 2; k++) {
      guint part = loom_design_find_part(design, ends[k]->part);
      guint other = loom_design_find_part(design, ends[1 - k]->part);
      guint pair = loom_room_pair(room, side, ends[1 - k]->part);
      g_autofree char *number = g_strdup_printf("%u", pair);
      known[part] |= pair != LOOM_NONE;
      sums[part] += hash_end(ends[k]->end,
                             pair == LOOM_NONE ? loom_design_part(design, other)->kind->id : number,
                             ends[1 - k]->end);
    }
  }
  for (guint i = 0; i < n; i++)
    sums[i] = known[i] ? sums[i] : 0;
  return sums;
}

static char *
pairs_key(const LoomCompareRoom *room, guint side, guint index, gconstpointer data)
{
  guint64 *const *sums = data;
  const LoomPart *p = loom_design_part(room->design[side], index);
  return sums[side][index] == 0
             ? NULL
             : g_strdup_printf("%s %" G_GINT64_MODIFIER "x", p->kind->id, sums[side][index]);
}

static guint
n_alone(const LoomCompareRoom *room)
{
  guint n = 0;
  for (guint i = 0; i < room->n_parts[OLD]; i++)
    n += room->part_to[OLD][i] == LOOM_NONE;
  return n;
}

/* Renamed and moved: by their joints to parts that have a partner already. */
static void
pair_by_neighbours(LoomCompareRoom *room)
{
  guint alone = n_alone(room), before = alone + 1;
  for (guint round = 0; round < MOST_ROUNDS && alone > 0 && alone < before; round++) {
    guint64 *sums[2] = {sum_pairs(room, OLD), sum_pairs(room, NOW)};
    loom_room_join(room, room->n_parts, room->part_to, pairs_key, sums);
    g_free(sums[OLD]);
    g_free(sums[NOW]);
    before = alone;
    alone = n_alone(room);
  }
}

void
loom_compare_match_parts(LoomCompareRoom *room)
{
  Joints joints;
  sum_joints(room, &joints);
  pair_by_designation(room, &joints, IF_RECOGNISED);
  loom_room_join(room, room->n_parts, room->part_to, spot_key, &joints);
  pair_by_designation(room, &joints, OF_ONE_KIND);
  pair_by_neighbours(room);
  pair_by_designation(room, &joints, OF_ANY_KIND);
  for (guint side = OLD; side <= NOW; side++) {
    g_free(joints.named[side]);
    g_free(joints.alike[side]);
  }
}

/* ---- scenes ---- */

static void
put_setting(GPtrArray *lines, const LoomCompareRoom *room, guint side, const LoomSetting *s)
{
  guint pair = loom_room_pair(room, side, s->part);
  if (pair != LOOM_NONE)
    g_ptr_array_add(lines, g_strdup_printf("%u.%s=%s", pair, s->key, s->value));
}

static int
by_text(gconstpointer a, gconstpointer b)
{
  return strcmp(*(char *const *)a, *(char *const *)b);
}

char *
loom_compare_state_text(const LoomCompareRoom *room, guint side, const LoomState *state)
{
  g_autoptr(GPtrArray) lines = g_ptr_array_new_with_free_func(g_free);
  for (guint i = 0; i < state->n_settings; i++)
    put_setting(lines, room, side, &state->settings[i]);
  g_ptr_array_sort(lines, by_text);
  g_ptr_array_add(lines, NULL);
  return g_strjoinv(";", (char **)lines->pdata);
}

static char *
scene_name_key(const LoomCompareRoom *room, guint side, guint index,
               gconstpointer unused G_GNUC_UNUSED)
{
  return g_strdup(loom_design_scene(room->design[side], index)->name);
}

static char *
scene_content_key(const LoomCompareRoom *room, guint side, guint index,
                  gconstpointer unused G_GNUC_UNUSED)
{
  const LoomScene *scene = loom_design_scene(room->design[side], index);
  g_autoptr(GString) text = g_string_new(NULL);
  for (guint i = 0; i < scene->n_states; i++) {
    g_autofree char *state = loom_compare_state_text(room, side, &scene->states[i]);
    g_string_append_printf(text, "%s{%s}", scene->states[i].name, state);
  }
  for (guint i = 0; i < scene->n_outings; i++) {
    g_string_append_printf(text, "%s(", scene->outings[i].name);
    for (guint k = 0; k < scene->outings[i].n_legs; k++)
      g_string_append_printf(text, "%s %a,", scene->outings[i].legs[k].state,
                             scene->outings[i].legs[k].seconds);
  }
  return g_string_free(g_steal_pointer(&text), FALSE);
}

void
loom_compare_match_scenes(LoomCompareRoom *room)
{
  loom_room_join(room, room->n_scenes, room->scene_to, scene_name_key, NULL);
  loom_room_join(room, room->n_scenes, room->scene_to, scene_content_key, NULL);
}

/* ---- states ---- */

static char *
state_name_key(const LoomCompareRoom *room G_GNUC_UNUSED, guint side, guint index,
               gconstpointer data)
{
  const LoomScene *const *scene = data;
  return g_strdup(scene[side]->states[index].name);
}

static char *
state_content_key(const LoomCompareRoom *room, guint side, guint index, gconstpointer data)
{
  const LoomScene *const *scene = data;
  return loom_compare_state_text(room, side, &scene[side]->states[index]);
}

void
loom_compare_match_states(LoomCompareRoom *room, const LoomScene *const scene[2], guint *to[2])
{
  guint n[2] = {scene[OLD]->n_states, scene[NOW]->n_states};
  to[OLD] = loom_compare_no_partners(n[OLD]);
  to[NOW] = loom_compare_no_partners(n[NOW]);
  loom_room_join(room, n, to, state_name_key, scene);
  loom_room_join(room, n, to, state_content_key, scene);
}

/* ---- joints ---- */

static char *
ends_key(const LoomCompareRoom *room, guint side, guint index)
{
  const LoomJoint *j = loom_design_joint(room->design[side], index);
  guint a = loom_room_pair(room, side, j->a.part), b = loom_room_pair(room, side, j->b.part);
  if (a == LOOM_NONE || b == LOOM_NONE)
    return NULL;
  g_autofree char *x = g_strdup_printf("%u:%s", a, j->a.end);
  g_autofree char *y = g_strdup_printf("%u:%s", b, j->b.end);
  return strcmp(x, y) < 0 ? g_strconcat(x, " ", y, NULL) : g_strconcat(y, " ", x, NULL);
}

char *
loom_compare_scenes_text(const LoomCompareRoom *room, guint side, const LoomJoint *joint)
{
  g_autoptr(GPtrArray) numbers = g_ptr_array_new_with_free_func(g_free);
  if (!joint->scenes)
    return g_strdup("all");
  for (char **s = joint->scenes; *s; s++) {
    guint index = loom_design_find_scene(room->design[side], *s);
    guint to = index == LOOM_NONE ? LOOM_NONE : room->scene_to[side][index];
    if (to != LOOM_NONE)
      g_ptr_array_add(numbers, g_strdup_printf("%u", side == OLD ? index : to));
  }
  g_ptr_array_sort(numbers, by_text);
  g_ptr_array_add(numbers, NULL);
  return g_strjoinv(" ", (char **)numbers->pdata);
}

static char *
joint_key(const LoomCompareRoom *room, guint side, guint index, gconstpointer with_scenes)
{
  g_autofree char *ends = ends_key(room, side, index);
  if (!ends || !with_scenes)
    return g_steal_pointer(&ends);
  g_autofree char *scenes =
      loom_compare_scenes_text(room, side, loom_design_joint(room->design[side], index));
  return g_strconcat(ends, " in ", scenes, NULL);
}

void
loom_compare_match_joints(LoomCompareRoom *room)
{
  loom_room_join(room, room->n_joints, room->joint_to, joint_key, room);
  loom_room_join(room, room->n_joints, room->joint_to, joint_key, NULL);
}
