#include "compare-private.h"

#include "csv.h"

#include <glib/gi18n-lib.h>
#include <string.h>

static const struct {
  const char *word;
  LoomDifferenceType mirror;
} types[LOOM_N_DIFFERENCES] = {
#define SAME(type, word) [LOOM_DIFFERENCE_##type] = {word, LOOM_DIFFERENCE_##type}
#define PAIR(a, word_a, b, word_b)                                                                 \
  [LOOM_DIFFERENCE_##a] = {word_a, LOOM_DIFFERENCE_##b},                                           \
  [LOOM_DIFFERENCE_##b] = {word_b, LOOM_DIFFERENCE_##a}
    PAIR(FINDING_NEW, "finding-new", FINDING_GONE, "finding-gone"),
    SAME(FINDING_CHANGED, "finding-changed"),
    PAIR(POINT_GONE, "supply-fails", POINT_NEW, "supply-works"),
    PAIR(PART_NEW, "part-new", PART_GONE, "part-gone"),
    SAME(PART_KIND, "kind"),
    SAME(KIND_DATA, "kind-data"),
    PAIR(JOINT_NEW, "plugged", JOINT_GONE, "unplugged"),
    SAME(TURNED, "turned"),
    SAME(REPLUGGED, "replugged"),
    SAME(FIT, "fit"),
    SAME(JOINT_SCENES, "joint-scenes"),
    SAME(TIED, "tied"),
    SAME(NETWORK, "network"),
    SAME(RATING, "fuse"),
    SAME(SWITCH, "switch"),
    SAME(ADDRESS, "address"),
    SAME(LENGTH, "length"),
    SAME(SETTING, "state-setting"),
    SAME(AMBIENT, "ambient"),
    SAME(CURRENT, "current"),
    SAME(RENAMED, "designation"),
    SAME(NAME, "name"),
    SAME(SETTINGS, "settings"),
    SAME(LABEL, "label"),
    SAME(REACH, "reach"),
    SAME(PLACE, "place"),
    PAIR(SCENE_NEW, "scene-new", SCENE_GONE, "scene-gone"),
    SAME(SCENE_NAME, "scene-name"),
    PAIR(STATE_NEW, "state-new", STATE_GONE, "state-gone"),
    SAME(STATE_NAME, "state-name"),
    PAIR(OUTING_NEW, "outing-new", OUTING_GONE, "outing-gone"),
    SAME(OUTING_NAME, "outing-name"),
    SAME(OUTING_LEGS, "outing-legs"),
    SAME(TITLE, "title"),
    SAME(NOTE, "note"),
    SAME(MOVED, "moved"),
#undef SAME
#undef PAIR
};

const char *
loom_difference_word(LoomDifferenceType type)
{
  return types[type].word;
}

LoomDifferenceType
loom_difference_mirror(LoomDifferenceType type)
{
  return types[type].mirror;
}

/* ---- telling ---- */

LoomDifference *
loom_room_tell(LoomCompareRoom *room, LoomDifferenceType type, char *where, char *old, char *now,
               char *sentence)
{
  LoomDifference difference = {type, LOOM_NOTE, where, old, now, sentence, 0, 0, NULL, NULL};
  g_array_append_val(room->differences, difference);
  return &g_array_index(room->differences, LoomDifference, room->differences->len - 1);
}

void
loom_difference_place(LoomDifference *d, guint side, const char *part, const char *end)
{
  guint *n = side == OLD ? &d->n_old_places : &d->n_new_places;
  LoomEndName **places = side == OLD ? &d->old_places : &d->new_places;
  if ((*n & (*n - 1)) == 0) /* room for 1, 2, 4, 8, ... */
    *places = g_renew(LoomEndName, *places, *n ? *n * 2 : 1);
  (*places)[(*n)++] = (LoomEndName){g_strdup(part), g_strdup(end)};
}

void
loom_difference_joint(LoomDifference *d, guint side, const LoomJoint *joint)
{
  loom_difference_place(d, side, joint->a.part, joint->a.end);
  loom_difference_place(d, side, joint->b.part, joint->b.end);
}

char *
loom_compare_list(const GPtrArray *words, guint most)
{
  guint n = words->len <= most ? words->len : most - 1, rest = words->len - n;
  g_autoptr(GString) list = g_string_new(NULL);
  for (guint i = 0; i < n; i++) {
    bool last = i + 1 == n && rest == 0;
    g_string_append(list, i == 0 ? "" : last ? _(" and ") : ", ");
    g_string_append(list, words->pdata[i]);
  }
  if (rest > 0)
    g_string_append_printf(list, _(" and %u more"), rest);
  return g_string_free(g_steal_pointer(&list), FALSE);
}

char *
loom_part_words(const LoomPart *part)
{
  return part->label ? g_strdup_printf("%s (%s)", part->designation, part->label)
                     : g_strdup(part->designation);
}

char *
loom_end_words(const LoomEndName *end)
{
  return end->end ? g_strdup_printf("%s:%s", end->part, end->end) : g_strdup(end->part);
}

char *
loom_text_sentence(const char *what, const char *old, const char *now)
{
  /* Translators: the first %s is what changed, like "The label of M1". */
  if (!now)
    return g_strdup_printf(_("%s is gone; it was “%s”."), what, old);
  if (!old)
    return g_strdup_printf(_("%s is “%s” now; there was none before."), what, now);
  return g_strdup_printf(_("%s is “%s” now; before it was “%s”."), what, now, old);
}

guint
loom_room_pair(const LoomCompareRoom *room, guint side, const char *designation)
{
  guint index = loom_design_find_part(room->design[side], designation);
  if (index == LOOM_NONE || room->part_to[side][index] == LOOM_NONE)
    return LOOM_NONE;
  return side == OLD ? index : room->part_to[side][index];
}

/* ---- joining by key ---- */

static void
free_indices(gpointer indices)
{
  g_array_unref(indices);
}

void
loom_room_join(LoomCompareRoom *room, const guint n[2], guint *to[2], LoomCompareKey key,
               gconstpointer data)
{
  g_autoptr(GHashTable) waiting =
      g_hash_table_new_full(g_str_hash, g_str_equal, g_free, free_indices);
  for (guint i = n[NOW]; i-- > 0;) { /* backwards: taken from the end */
    char *name = to[NOW][i] == LOOM_NONE ? key(room, NOW, i, data) : NULL;
    if (!name)
      continue;
    GArray *list = g_hash_table_lookup(waiting, name);
    if (!list) {
      list = g_array_new(FALSE, FALSE, sizeof(guint));
      g_hash_table_insert(waiting, g_strdup(name), list);
    }
    g_array_append_val(list, i);
    g_free(name);
  }
  for (guint i = 0; i < n[OLD]; i++) {
    g_autofree char *name = to[OLD][i] == LOOM_NONE ? key(room, OLD, i, data) : NULL;
    GArray *list = name ? g_hash_table_lookup(waiting, name) : NULL;
    if (!list || list->len == 0)
      continue;
    to[OLD][i] = g_array_index(list, guint, list->len - 1);
    to[NOW][to[OLD][i]] = i;
    g_array_set_size(list, list->len - 1);
  }
}

/* ---- the whole ---- */

guint *
loom_compare_no_partners(guint n)
{
  guint *to = g_new(guint, n + 1);
  for (guint i = 0; i < n; i++)
    to[i] = LOOM_NONE;
  return to;
}

static void
room_init(LoomCompareRoom *room, const LoomDesign *old, const LoomDesign *now)
{
  room->design[OLD] = old;
  room->design[NOW] = now;
  for (guint side = OLD; side <= NOW; side++) {
    const LoomDesign *design = room->design[side];
    room->n_parts[side] = loom_design_n_parts(design);
    room->n_joints[side] = loom_design_n_joints(design);
    room->n_scenes[side] = loom_design_n_scenes(design);
    room->part_to[side] = loom_compare_no_partners(room->n_parts[side]);
    room->joint_to[side] = loom_compare_no_partners(room->n_joints[side]);
    room->scene_to[side] = loom_compare_no_partners(room->n_scenes[side]);
    room->parts[side] = g_new0(LoomStatus, room->n_parts[side] + 1);
    room->joints[side] = g_new0(LoomStatus, room->n_joints[side] + 1);
  }
  room->differences = g_array_new(FALSE, FALSE, sizeof(LoomDifference));
}

/* Parts and joints without a partner. */
static void
mark_alone(LoomCompareRoom *room)
{
  for (guint side = OLD; side <= NOW; side++) {
    LoomStatus alone = side == OLD ? LOOM_STATUS_GONE : LOOM_STATUS_NEW;
    for (guint i = 0; i < room->n_parts[side]; i++)
      if (room->part_to[side][i] == LOOM_NONE)
        room->parts[side][i] = alone;
    for (guint i = 0; i < room->n_joints[side]; i++)
      if (room->joint_to[side][i] == LOOM_NONE)
        room->joints[side][i] = alone;
  }
}

/* Less is more important. */
static guint
importance(const LoomDifference *d)
{
  static const guint new_findings[] = {[LOOM_STOP] = 0, [LOOM_CARE] = 1, [LOOM_NOTE] = 4000};
  if (d->type == LOOM_DIFFERENCE_FINDING_NEW || d->type == LOOM_DIFFERENCE_FINDING_CHANGED)
    return new_findings[d->severity] * 2 + (d->type == LOOM_DIFFERENCE_FINDING_CHANGED);
  return 10 + 3 * (guint)d->type +
         (d->type == LOOM_DIFFERENCE_FINDING_GONE ? (guint)d->severity : 0);
}

/* "W2" before "W10". */
static int
natural(const char *a, const char *b)
{
  for (; *a && *b; a++, b++) {
    gsize n = strspn(a, "0123456789"), m = strspn(b, "0123456789");
    if (n != m && n > 0 && m > 0)
      return n < m ? -1 : 1;
    if (*a != *b)
      return (guchar)*a < (guchar)*b ? -1 : 1;
  }
  return (*a != 0) - (*b != 0);
}

static int
by_importance(gconstpointer a, gconstpointer b)
{
  const LoomDifference *x = a, *y = b;
  if (importance(x) != importance(y))
    return importance(x) < importance(y) ? -1 : 1;
  if (x->type == LOOM_DIFFERENCE_CURRENT)
    return 0; /* they come in order, and the sort is stable */
  int order = natural(x->where, y->where);
  return order ? order : strcmp(x->sentence, y->sentence);
}

static LoomCompare *
room_free_to_compare(LoomCompareRoom *room)
{
  LoomCompare *c = g_new0(LoomCompare, 1);
  g_array_sort(room->differences, by_importance);
  c->n_differences = room->differences->len;
  c->differences = (LoomDifference *)(gpointer)g_array_free(room->differences, FALSE);
  c->n_old_parts = room->n_parts[OLD];
  c->n_new_parts = room->n_parts[NOW];
  c->n_old_joints = room->n_joints[OLD];
  c->n_new_joints = room->n_joints[NOW];
  c->old_parts = room->parts[OLD];
  c->new_parts = room->parts[NOW];
  c->old_joints = room->joints[OLD];
  c->new_joints = room->joints[NOW];
  c->old_part_to = room->part_to[OLD];
  c->new_part_to = room->part_to[NOW];
  c->old_joint_to = room->joint_to[OLD];
  c->new_joint_to = room->joint_to[NOW];
  c->old_scene_to = room->scene_to[OLD];
  c->new_scene_to = room->scene_to[NOW];
  return c;
}

LoomCompare *
loom_compare_new(const LoomDesign *old, const LoomDesign *now, guint what)
{
  LoomCompareRoom room = {0};
  room_init(&room, old, now);
  loom_compare_match_parts(&room);
  loom_compare_match_scenes(&room);
  loom_compare_match_joints(&room);
  mark_alone(&room);
  loom_compare_title(&room);
  loom_compare_parts(&room);
  loom_compare_joints(&room);
  loom_compare_scenes(&room);
  if (what & LOOM_COMPARE_FINDINGS)
    loom_compare_findings(&room);
  if (what & LOOM_COMPARE_CURRENTS)
    loom_compare_currents(&room);
  return room_free_to_compare(&room);
}

static void
free_places(LoomEndName *places, guint n)
{
  for (guint i = 0; i < n; i++) {
    g_free(places[i].part);
    g_free(places[i].end);
  }
  g_free(places);
}

void
loom_compare_free(LoomCompare *c)
{
  if (!c)
    return;
  for (guint i = 0; i < c->n_differences; i++) {
    LoomDifference *d = &c->differences[i];
    free_places(d->old_places, d->n_old_places);
    free_places(d->new_places, d->n_new_places);
    char *strings[] = {d->where, d->old, d->now, d->sentence};
    for (guint k = 0; k < G_N_ELEMENTS(strings); k++)
      g_free(strings[k]);
  }
  gpointer arrays[] = {c->differences,  c->old_parts,    c->new_parts,   c->old_joints,
                       c->new_joints,   c->old_part_to,  c->new_part_to, c->old_joint_to,
                       c->new_joint_to, c->old_scene_to, c->new_scene_to};
  for (guint i = 0; i < G_N_ELEMENTS(arrays); i++)
    g_free(arrays[i]);
  g_free(c);
}

char *
loom_compare_to_csv(const LoomCompare *compare)
{
  g_autoptr(LoomCsv) csv = loom_csv_new();
  loom_csv_row(csv, "change", "where", "old", "new", "sentence", NULL);
  for (guint i = 0; i < compare->n_differences; i++) {
    const LoomDifference *d = &compare->differences[i];
    const char *fields[] = {loom_difference_word(d->type), d->where, d->old, d->now, d->sentence};
    for (guint k = 0; k < G_N_ELEMENTS(fields); k++)
      loom_csv_text(csv, fields[k]);
    loom_csv_end_row(csv);
  }
  return g_strdup(loom_csv_bytes(csv));
}
