#include "compare-private.h"

#include <glib/gi18n-lib.h>
#include <string.h>

/* "W1:a and K1:power" */
static char *
joint_words(const LoomJoint *joint)
{
  g_autofree char *a = loom_end_words(&joint->a), *b = loom_end_words(&joint->b);
  return g_strdup_printf(_("%s and %s"), a, b);
}

static const LoomJoint *
joint_of(const LoomCompareRoom *room, guint side, guint index)
{
  return loom_design_joint(room->design[side], index);
}

/* "driving and charging"; NULL for every scene. New. */
static char *
scenes_list(const LoomJoint *joint)
{
  g_autoptr(GPtrArray) names = g_ptr_array_new();
  for (char **s = joint->scenes; s && *s; s++)
    g_ptr_array_add(names, *s);
  return names->len ? loom_compare_list(names, 6) : NULL;
}

/* ---- partners ---- */

typedef struct {
  LoomCompareRoom *room;
  guint index[2];
  const LoomJoint *joint[2];
} Pair;

/* The strings `old`, `now` and `sentence` are taken. */
static void
tell(const Pair *pair, LoomDifferenceType type, char *old, char *now, char *sentence)
{
  LoomDifference *d =
      loom_room_tell(pair->room, type, joint_words(pair->joint[NOW]), old, now, sentence);
  for (guint side = OLD; side <= NOW; side++) {
    loom_difference_joint(d, side, pair->joint[side]);
    pair->room->joints[side][pair->index[side]] = LOOM_STATUS_CHANGED;
  }
}

/* How one sits in the other. Borrowed. */
static const char *
fit_words(LoomFit fit)
{
  static const char *const words[] = {NC_("sits", "the right way"), NC_("sits", "turned round"),
                                      NC_("sits", "shifted by one contact")};
  return g_dpgettext2(NULL, "sits", words[fit]);
}

static void
fit(const Pair *pair)
{
  const char *a = fit_words(pair->joint[OLD]->fit), *b = fit_words(pair->joint[NOW]->fit);
  if (pair->joint[OLD]->fit == pair->joint[NOW]->fit)
    return;
  g_autofree char *joint = joint_words(pair->joint[NOW]);
  tell(pair, LOOM_DIFFERENCE_FIT, g_strdup(loom_fit_word(pair->joint[OLD]->fit)),
       g_strdup(loom_fit_word(pair->joint[NOW]->fit)),
       g_strdup_printf(_("%s sit in each other %s now; before they sat %s."), joint, b, a));
}

static void
tied(const Pair *pair)
{
  bool a = pair->joint[OLD]->tied, b = pair->joint[NOW]->tied;
  if (a == b)
    return;
  g_autofree char *joint = joint_words(pair->joint[NOW]);
  tell(pair, LOOM_DIFFERENCE_TIED, g_strdup(a ? "yes" : "no"), g_strdup(b ? "yes" : "no"),
       g_strdup_printf(b ? _("%s are tied together now, so that they cannot shake apart.")
                         : _("%s are no longer tied together."),
                       joint));
}

static char *
scenes_value(const LoomJoint *joint)
{
  return joint->scenes ? g_strjoinv(", ", joint->scenes) : g_strdup("every scene");
}

/* The same in a sentence. New. */
static char *
scenes_words(const LoomJoint *joint)
{
  return joint->scenes ? g_strjoinv(", ", joint->scenes) : g_strdup(C_("after in", "every scene"));
}

static void
scenes(const Pair *pair)
{
  g_autofree char *a = loom_compare_scenes_text(pair->room, OLD, pair->joint[OLD]);
  g_autofree char *b = loom_compare_scenes_text(pair->room, NOW, pair->joint[NOW]);
  if (g_str_equal(a, b))
    return;
  g_autofree char *joint = joint_words(pair->joint[NOW]);
  g_autofree char *old = scenes_words(pair->joint[OLD]), *now = scenes_words(pair->joint[NOW]);
  tell(pair, LOOM_DIFFERENCE_JOINT_SCENES, scenes_value(pair->joint[OLD]),
       scenes_value(pair->joint[NOW]),
       g_strdup_printf(_("%s are plugged together in %s now; before in %s."), joint, now, old));
}

static void
text(const Pair *pair, LoomDifferenceType type, const char *old, const char *now)
{
  if (g_strcmp0(old, now) == 0)
    return;
  g_autofree char *joint = joint_words(pair->joint[NOW]);
  g_autofree char *subject = type == LOOM_DIFFERENCE_NETWORK
                                 ? g_strdup_printf(_("The radio network of %s"), joint)
                                 : g_strdup_printf(_("The note on %s"), joint);
  tell(pair, type, g_strdup(old), g_strdup(now), loom_text_sentence(subject, old, now));
}

static void
partners(LoomCompareRoom *room, guint old, guint now)
{
  const Pair pair = {room, {old, now}, {joint_of(room, OLD, old), joint_of(room, NOW, now)}};
  const LoomJoint *a = pair.joint[OLD], *b = pair.joint[NOW];
  if (a == b)
    return;
  fit(&pair);
  tied(&pair);
  scenes(&pair);
  text(&pair, LOOM_DIFFERENCE_NETWORK, a->network, b->network);
  text(&pair, LOOM_DIFFERENCE_NOTE, a->note, b->note);
}

/* ---- joints without a partner ---- */

/* Whether the end's part is on the other side, with such an end. */
static bool
end_is_there(const LoomCompareRoom *room, guint side, const LoomEndName *end)
{
  guint part = loom_design_find_part(room->design[side], end->part);
  guint there = part == LOOM_NONE ? LOOM_NONE : room->part_to[side][part];
  return there != LOOM_NONE &&
         loom_kind_find_end(loom_design_part(room->design[1 - side], there)->kind, end->end) !=
             LOOM_NONE;
}

static bool
some_scene_is_there(const LoomCompareRoom *room, guint side, const LoomJoint *joint)
{
  for (char **s = joint->scenes; s && *s; s++) {
    guint scene = loom_design_find_scene(room->design[side], *s);
    if (scene != LOOM_NONE && room->scene_to[side][scene] != LOOM_NONE)
      return true;
  }
  return !joint->scenes;
}

/* Not what only follows from a part, an end or a scene that is new or gone. */
static bool
worth_telling(const LoomCompareRoom *room, guint side, guint index)
{
  const LoomJoint *joint = joint_of(room, side, index);
  return room->joint_to[side][index] == LOOM_NONE && end_is_there(room, side, &joint->a) &&
         end_is_there(room, side, &joint->b) && some_scene_is_there(room, side, joint);
}

/* Joints that came apart and were made, that no difference has told of yet. A joint has a near end,
 * that of the part with fewer ends, and a far one: a motor is plugged elsewhere, not a controller.
 * Keys and their order are the same whichever revision is the old one. */
typedef struct {
  guint index;
  char *end[2]; /* near, far: pair of parts and end id */
  char *scenes;
  bool told;
} Loose;

/* Of both partners, in whatever order they are compared. */
static guint
n_ends(const LoomCompareRoom *room, guint side, const LoomEndName *end)
{
  guint part = loom_design_find_part(room->design[side], end->part);
  return loom_design_part(room->design[side], part)->kind->n_ends +
         loom_design_part(room->design[1 - side], room->part_to[side][part])->kind->n_ends;
}

static char *
end_key(const LoomCompareRoom *room, guint side, const LoomEndName *end)
{
  guint part = loom_design_find_part(room->design[side], end->part);
  guint to = room->part_to[side][part];
  const char *other = loom_design_part(room->design[1 - side], to)->designation;
  bool first = strcmp(end->part, other) < 0;
  return g_strdup_printf("%s/%s#%u:%s", first ? end->part : other, first ? other : end->part,
                         side == OLD ? part : to, end->end);
}

static void
loose_clear(gpointer data)
{
  Loose *loose = data;
  g_free(loose->end[0]);
  g_free(loose->end[1]);
  g_free(loose->scenes);
}

static int
by_ends(gconstpointer a, gconstpointer b)
{
  const Loose *x = a, *y = b;
  int near = strcmp(x->end[0], y->end[0]), far = strcmp(x->end[1], y->end[1]);
  return near ? near : far ? far : strcmp(x->scenes, y->scenes);
}

static Loose
loose_new(const LoomCompareRoom *room, guint side, guint index)
{
  const LoomJoint *j = joint_of(room, side, index);
  guint a = n_ends(room, side, &j->a), b = n_ends(room, side, &j->b);
  char *x = end_key(room, side, &j->a), *y = end_key(room, side, &j->b);
  bool a_near = a != b ? a < b : strcmp(x, y) < 0;
  char *scenes = loom_compare_scenes_text(room, side, j);
  return (Loose){index, {a_near ? x : y, a_near ? y : x}, scenes, false};
}

static GArray *
loose_joints(const LoomCompareRoom *room, guint side)
{
  GArray *list = g_array_new(FALSE, FALSE, sizeof(Loose));
  g_array_set_clear_func(list, loose_clear);
  for (guint i = 0; i < room->n_joints[side]; i++) {
    if (!worth_telling(room, side, i))
      continue;
    Loose loose = loose_new(room, side, i);
    g_array_append_val(list, loose);
  }
  g_array_sort(list, by_ends);
  return list;
}

static const LoomEndName *
end_with_key(const LoomCompareRoom *room, guint side, guint index, const char *key, bool other)
{
  const LoomJoint *j = joint_of(room, side, index);
  g_autofree char *a = end_key(room, side, &j->a);
  return g_str_equal(a, key) == !other ? &j->a : &j->b;
}

/* "K1:motor-2 in driving", or without the scenes where it is every one. New. */
static char *
end_in_scenes(const char *end, const LoomJoint *joint)
{
  g_autofree char *scenes = scenes_list(joint);
  return scenes ? g_strdup_printf(C_("end in scenes", "%s in %s"), end, scenes) : g_strdup(end);
}

/* "M1:poles goes into K1:motor-2 now; before it was in K1:motor-1." */
static void
tell_replugged(LoomCompareRoom *room, guint old, guint now, const char *key)
{
  g_autofree char *end = loom_end_words(end_with_key(room, NOW, now, key, false));
  char *from = loom_end_words(end_with_key(room, OLD, old, key, true));
  char *to = loom_end_words(end_with_key(room, NOW, now, key, true));
  const LoomJoint *a = joint_of(room, OLD, old), *b = joint_of(room, NOW, now);
  g_autofree char *old_place = end_in_scenes(from, a), *new_place = end_in_scenes(to, b);
  g_autoptr(GString) said = g_string_new(NULL);
  g_string_printf(said, _("%s is plugged into %s now; before it was in %s."), end, new_place,
                  old_place);
  if (b->fit == LOOM_FIT_TURNED)
    g_string_append(said, _(" It sits in it turned round."));
  if (b->fit == LOOM_FIT_SHIFTED)
    g_string_append(said, _(" It sits in it shifted by one contact."));
  if (a->tied != b->tied)
    g_string_append(said, b->tied ? _(" It is tied there.") : _(" It is not tied there."));
  LoomDifference *d = loom_room_tell(room, LOOM_DIFFERENCE_REPLUGGED, g_strdup(end), from, to,
                                     g_string_free(g_steal_pointer(&said), FALSE));
  loom_difference_joint(d, OLD, a);
  loom_difference_joint(d, NOW, b);
}

/* Which ends of the two have to be the same; and which joints take part: all, those in every scene,
 * those in some only. All: in the same scenes. */
typedef enum { NEAR, FAR, ANY } Which;
typedef enum { SAME_SCENES, EVERY_SCENE, SOME_SCENES, WHATEVER_SCENES } Scenes;

/* Joints of a list that are not told yet, by end: lists of indices. */
static GHashTable *
by_end(const GArray *list, Which which, Scenes scenes)
{
  GHashTable *table =
      g_hash_table_new_full(g_str_hash, g_str_equal, g_free, (GDestroyNotify)g_array_unref);
  for (guint i = list->len; i-- > 0;) { /* backwards: taken from the end */
    const Loose *loose = &g_array_index(list, Loose, i);
    bool every = g_str_equal(loose->scenes, "all");
    if (loose->told || (scenes == EVERY_SCENE && !every) || (scenes == SOME_SCENES && every))
      continue;
    for (guint k = which == FAR; k <= (guint)(which != NEAR); k++) {
      char *key = g_strconcat(loose->end[k], scenes == SAME_SCENES ? loose->scenes : NULL, NULL);
      GArray *at = g_hash_table_lookup(table, key);
      if (at) {
        g_free(key);
      } else {
        at = g_array_new(FALSE, FALSE, sizeof(guint));
        g_hash_table_insert(table, key, at);
      }
      g_array_append_val(at, i);
    }
  }
  return table;
}

/* The only loose joint at the end; NULL. */
static Loose *
only(GHashTable *table, GArray *list, const char *key)
{
  const GArray *at = g_hash_table_lookup(table, key);
  return at && at->len == 1 ? &g_array_index(list, Loose, g_array_index(at, guint, 0)) : NULL;
}

static const char *
other_end(const Loose *loose, const char *key)
{
  return g_str_equal(loose->end[0], key) ? loose->end[1] : loose->end[0];
}

/* "a in K1:motor-3" */
static char *
end_in(const LoomCompareRoom *room, guint side, const Loose *loose, guint part, const char *end)
{
  const LoomEndName name = {loom_design_part(room->design[OLD], part)->designation, (char *)end};
  g_autofree char *key = end_key(room, OLD, &name);
  g_autofree char *into = loom_end_words(end_with_key(room, side, loose->index, key, true));
  return g_strdup_printf(C_("end in end", "%s in %s"), end, into);
}

static char *
both_ends_in(const LoomCompareRoom *room, guint side, Loose *const loose[2], guint part)
{
  const LoomEnd *ends = loom_design_part(room->design[OLD], part)->kind->ends;
  g_autofree char *a = end_in(room, side, loose[0], part, ends[0].id);
  g_autofree char *b = end_in(room, side, loose[1], part, ends[1].id);
  return g_strdup_printf("%s, %s", a, b);
}

static void
tell_turned(LoomCompareRoom *room, guint part, Loose *const old[2], Loose *const now[2])
{
  const LoomPart *there = loom_design_part(room->design[NOW], room->part_to[OLD][part]);
  g_autofree char *words = loom_part_words(there);
  char *before = both_ends_in(room, OLD, old, part), *after = both_ends_in(room, NOW, now, part);
  LoomDifference *d = loom_room_tell(
      room, LOOM_DIFFERENCE_TURNED, g_strdup(there->designation), before, after,
      g_strdup_printf(_("The lead %s is turned round: %s now; before %s."), words, after, before));
  for (guint k = 0; k < 2; k++) {
    loom_difference_joint(d, OLD, joint_of(room, OLD, old[k]->index));
    loom_difference_joint(d, NOW, joint_of(room, NOW, now[k]->index));
    old[k]->told = now[k]->told = true;
  }
}

/* A lead with two ends, each of which is now where the other one was. */
static void
turned(LoomCompareRoom *room, guint part, GArray *apart, GHashTable *came, GArray *made,
       GHashTable *went)
{
  const LoomPart *there = loom_design_part(room->design[OLD], part);
  const LoomKind *kind = there->kind;
  if (!kind->lead || kind->n_ends != 2 || room->part_to[OLD][part] == LOOM_NONE)
    return;
  Loose *old[2], *now[2];
  const char *far[2][2];
  for (guint k = 0; k < 2; k++) {
    const LoomEndName name = {there->designation, kind->ends[k].id};
    g_autofree char *key = end_key(room, OLD, &name);
    old[k] = only(came, apart, key);
    now[k] = only(went, made, key);
    if (!old[k] || !now[k])
      return;
    far[OLD][k] = other_end(old[k], key);
    far[NOW][k] = other_end(now[k], key);
  }
  if (old[0] != old[1] && g_str_equal(far[OLD][0], far[NOW][1]) &&
      g_str_equal(far[OLD][1], far[NOW][0]))
    tell_turned(room, part, old, now);
}

static void
leads_turned(LoomCompareRoom *room, GArray *apart, GArray *made)
{
  g_autoptr(GHashTable) came = by_end(apart, ANY, WHATEVER_SCENES);
  g_autoptr(GHashTable) went = by_end(made, ANY, WHATEVER_SCENES);
  for (guint i = 0; i < room->n_parts[OLD] && apart->len > 1; i++)
    turned(room, i, apart, came, made, went);
}

/* The first joint of the list at the end that is not told yet; NULL. */
static Loose *
take(GHashTable *table, GArray *list, const char *key)
{
  GArray *at = g_hash_table_lookup(table, key);
  while (at && at->len > 0) {
    Loose *loose = &g_array_index(list, Loose, g_array_index(at, guint, at->len - 1));
    g_array_set_size(at, at->len - 1);
    if (!loose->told)
      return loose;
  }
  return NULL;
}

/* The end of the first that the second has too. */
static const char *
shared_end(const Loose *a, const Loose *b)
{
  bool near = g_str_equal(a->end[0], b->end[0]) || g_str_equal(a->end[0], b->end[1]);
  return a->end[near ? 0 : 1];
}

static int
by_text(gconstpointer a, gconstpointer b)
{
  return strcmp(a, b);
}

static void
pair_loose(LoomCompareRoom *room, GArray *apart, GArray *made, Which which, Scenes old_in,
           Scenes now_in)
{
  g_autoptr(GHashTable) came = by_end(apart, which, old_in), went = by_end(made, which, now_in);
  g_autoptr(GList) keys = g_list_sort(g_hash_table_get_keys(came), by_text);
  for (const GList *key = keys; key; key = key->next) {
    Loose *old, *now;
    while ((old = take(came, apart, key->data)) && (now = take(went, made, key->data))) {
      tell_replugged(room, old->index, now->index, shared_end(old, now));
      old->told = now->told = true;
    }
  }
}

/* New. */
static char *
loose_sentence(guint side, const char *joint, const char *scenes)
{
  if (!scenes)
    return g_strdup_printf(side == NOW ? _("%s are plugged together now.")
                                       : _("%s are no longer plugged together."),
                           joint);
  return g_strdup_printf(side == NOW ? _("%s are plugged together in %s now.")
                                     : _("%s are no longer plugged together in %s."),
                         joint, scenes);
}

static void
tell_loose(LoomCompareRoom *room, guint side, const GArray *list)
{
  for (guint i = 0; i < list->len; i++) {
    const Loose *loose = &g_array_index(list, Loose, i);
    if (loose->told)
      continue;
    const LoomJoint *j = joint_of(room, side, loose->index);
    char *joint = joint_words(j);
    g_autofree char *in = scenes_list(j);
    LoomDifference *d =
        loom_room_tell(room, side == NOW ? LOOM_DIFFERENCE_JOINT_NEW : LOOM_DIFFERENCE_JOINT_GONE,
                       joint, side == OLD ? scenes_value(j) : NULL,
                       side == NOW ? scenes_value(j) : NULL, loose_sentence(side, joint, in));
    loom_difference_joint(d, side, j);
  }
}

void
loom_compare_joints(LoomCompareRoom *room)
{
  for (guint i = 0; i < room->n_joints[OLD]; i++)
    if (room->joint_to[OLD][i] != LOOM_NONE)
      partners(room, i, room->joint_to[OLD][i]);
  g_autoptr(GArray) apart = loose_joints(room, OLD), made = loose_joints(room, NOW);
  leads_turned(room, apart, made);
  static const Scenes in[][2] = {
      {SAME_SCENES, SAME_SCENES}, {EVERY_SCENE, SOME_SCENES}, {SOME_SCENES, EVERY_SCENE}};
  for (guint i = 0; i < G_N_ELEMENTS(in); i++)
    for (Which which = NEAR; which <= ANY; which++)
      pair_loose(room, apart, made, which, in[i][OLD], in[i][NOW]);
  tell_loose(room, OLD, apart);
  tell_loose(room, NOW, made);
}
