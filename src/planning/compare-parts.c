#include "compare-private.h"

#include <math.h>

/* Two partners. */
typedef struct {
  LoomCompareRoom *room;
  guint index[2];
  const LoomPart *part[2];
} Pair;

/* A difference of the pair; the strings are taken. */
static void
tell(const Pair *pair, LoomDifferenceType type, char *old, char *now, char *sentence)
{
  LoomDifference *d =
      loom_room_tell(pair->room, type, g_strdup(pair->part[NOW]->designation), old, now, sentence);
  for (guint side = OLD; side <= NOW; side++) {
    loom_difference_place(d, side, pair->part[side]->designation, NULL);
    pair->room->parts[side][pair->index[side]] = LOOM_STATUS_CHANGED;
  }
}

/* "The label of" M1 "" */
static void
text(const Pair *pair, LoomDifferenceType type, const char *before, const char *after,
     const char *old, const char *now)
{
  if (g_strcmp0(old, now) == 0)
    return;
  g_autofree char *part = loom_part_words(pair->part[NOW]);
  g_autofree char *subject = g_strconcat(before, " ", part, after, NULL);
  tell(pair, type, g_strdup(old), g_strdup(now), loom_text_sentence(subject, old, now));
}

static void
texts(const Pair *pair)
{
  const LoomPart *a = pair->part[OLD], *b = pair->part[NOW];
  text(pair, LOOM_DIFFERENCE_LABEL, "The label of", "", a->label, b->label);
  text(pair, LOOM_DIFFERENCE_NAME, "The name of", " in the program", a->name, b->name);
  text(pair, LOOM_DIFFERENCE_PLACE, "The place of", " on the robot", a->place, b->place);
  text(pair, LOOM_DIFFERENCE_SETTINGS, "What is to be set for", "", a->settings, b->settings);
  text(pair, LOOM_DIFFERENCE_NOTE, "The note on", "", a->note, b->note);
}

/* ---- numbers ---- */

static bool
same_number(double a, double b)
{
  return (isnan(a) && isnan(b)) || !(a < b || a > b || isnan(a) || isnan(b));
}

static char *
number_text(double number, const char *unit)
{
  return isnan(number) ? NULL : g_strdup_printf("%.10g %s", number, unit);
}

/* "The length of" M1 ... */
static void
number(const Pair *pair, LoomDifferenceType type, double old, double now, const char *unit,
       const char *what, const char *none)
{
  if (same_number(old, now))
    return;
  g_autofree char *part = loom_part_words(pair->part[NOW]);
  g_autofree char *a = number_text(old, unit), *b = number_text(now, unit);
  char *said =
      g_strdup_printf("%s %s is %s now; before it was %s.", what, part, b ? b : none, a ? a : none);
  tell(pair, type, g_steal_pointer(&a), g_steal_pointer(&b), said);
}

/* Rating of the first fuse, NAN without one. */
static double
fuse_A(const LoomPart *part)
{
  for (guint i = 0; i < part->kind->n_elements; i++)
    if (part->kind->elements[i].type == LOOM_ELEMENT_FUSE)
      return loom_part_fuse_A(part, i);
  return NAN;
}

static char *
address_text(int address)
{
  return address < 0 ? NULL : g_strdup_printf("0x%02X", (guint)address);
}

static void
address(const Pair *pair, int old, int now)
{
  if (old == now)
    return;
  g_autofree char *part = loom_part_words(pair->part[NOW]);
  g_autofree char *a = address_text(old), *b = address_text(now);
  char *said = g_strdup_printf("The address of %s is %s now; before it was %s.", part,
                               b ? b : "not set", a ? a : "not set");
  tell(pair, LOOM_DIFFERENCE_ADDRESS, g_steal_pointer(&a), g_steal_pointer(&b), said);
}

/* Of one kind: what counts. Of different kinds: only what was set on the part itself, as the rest
 * comes with the kind. */
static void
values(const Pair *pair)
{
  const LoomPart *a = pair->part[OLD], *b = pair->part[NOW];
  bool one = g_str_equal(a->kind->id, b->kind->id);
  number(pair, LOOM_DIFFERENCE_LENGTH, one ? loom_part_length_mm(a) : a->length_mm,
         one ? loom_part_length_mm(b) : b->length_mm, "mm", "The length of", "not given");
  number(pair, LOOM_DIFFERENCE_REACH, a->reach_mm, b->reach_mm, "mm",
         "The way to go on the robot for", "not measured");
  number(pair, LOOM_DIFFERENCE_RATING, one ? fuse_A(a) : a->rated_A, one ? fuse_A(b) : b->rated_A,
         "A", "The fuse in", "the usual one");
  address(pair, one ? loom_part_address(a) : a->address, one ? loom_part_address(b) : b->address);
  if (a->on == b->on || !a->kind->has_switch || !b->kind->has_switch)
    return;
  g_autofree char *part = loom_part_words(b);
  const char *words[] = {"off", "on"};
  tell(pair, LOOM_DIFFERENCE_SWITCH, g_strdup(words[a->on]), g_strdup(words[b->on]),
       g_strdup_printf("The switch %s is drawn %s now; before it was drawn %s.", part, words[b->on],
                       words[a->on]));
}

/* ---- kind and designation ---- */

/* Ends with joints that the other kind does not have, as "and nothing can be plugged into ...". */
static char *
lost_ends(const Pair *pair, guint side)
{
  g_autoptr(GPtrArray) names = g_ptr_array_new();
  const LoomKind *kind = pair->part[side]->kind, *other = pair->part[1 - side]->kind;
  for (guint e = 0; e < kind->n_ends; e++)
    if (loom_kind_find_end(other, kind->ends[e].id) == LOOM_NONE &&
        loom_design_joints_at(pair->room->design[side], pair->index[side], e, NULL, 0) > 0)
      g_ptr_array_add(names, kind->ends[e].id);
  return names->len ? loom_compare_list(names, 6) : NULL;
}

static void
kind(const Pair *pair)
{
  const LoomPart *a = pair->part[OLD], *b = pair->part[NOW];
  if (g_str_equal(a->kind->id, b->kind->id))
    return;
  g_autofree char *part = loom_part_words(b);
  g_autofree char *lost = lost_ends(pair, OLD), *won = lost_ends(pair, NOW);
  g_autoptr(GString) said = g_string_new(NULL);
  g_string_printf(said, "%s is another part now: %s in place of %s.", part, b->kind->name,
                  a->kind->name);
  if (lost)
    g_string_append_printf(said, " What was plugged into its %s is loose.", lost);
  if (won)
    g_string_append_printf(said, " Something is plugged into its %s, which it did not have.", won);
  tell(pair, LOOM_DIFFERENCE_PART_KIND, g_strdup(a->kind->name), g_strdup(b->kind->name),
       g_string_free(g_steal_pointer(&said), FALSE));
}

static void
designation(const Pair *pair)
{
  const char *a = pair->part[OLD]->designation, *b = pair->part[NOW]->designation;
  if (!g_str_equal(a, b))
    tell(pair, LOOM_DIFFERENCE_RENAMED, g_strdup(a), g_strdup(b),
         g_strdup_printf("%s is called %s now. It is the same part.", a, b));
}

/* ---- parts without a partner ---- */

/* "F1:out and K1:power": what it is plugged into; NULL where nothing. */
static char *
neighbours(const LoomDesign *design, guint index)
{
  g_autoptr(GPtrArray) names = g_ptr_array_new_with_free_func(g_free);
  const LoomPart *part = loom_design_part(design, index);
  guint joints[16];
  for (guint e = 0; e < part->kind->n_ends; e++) {
    guint n = loom_design_joints_at(design, index, e, joints, G_N_ELEMENTS(joints));
    for (guint i = 0; i < MIN(n, G_N_ELEMENTS(joints)); i++) {
      const LoomJoint *j = loom_design_joint(design, joints[i]);
      bool is_a = g_str_equal(j->a.part, part->designation) &&
                  g_str_equal(j->a.end, part->kind->ends[e].id);
      g_ptr_array_add(names, loom_end_words(is_a ? &j->b : &j->a));
    }
  }
  return names->len ? loom_compare_list(names, 6) : NULL;
}

static void
alone(LoomCompareRoom *room, guint side, guint index)
{
  const LoomPart *part = loom_design_part(room->design[side], index);
  g_autofree char *words = loom_part_words(part);
  g_autofree char *at = neighbours(room->design[side], index);
  const char *is = side == NOW ? "is new" : "is gone";
  const char *plugged = side == NOW ? "It is plugged into" : "It was plugged into";
  char *kind_name = g_strdup(part->kind->name);
  char *said = at ? g_strdup_printf("%s, %s, %s. %s %s.", words, kind_name, is, plugged, at)
                  : g_strdup_printf("%s, %s, %s. Nothing %s plugged into it.", words, kind_name, is,
                                    side == NOW ? "is" : "was");
  LoomDifference *d =
      loom_room_tell(room, side == NOW ? LOOM_DIFFERENCE_PART_NEW : LOOM_DIFFERENCE_PART_GONE,
                     g_strdup(part->designation), side == OLD ? kind_name : NULL,
                     side == NOW ? kind_name : NULL, said);
  loom_difference_place(d, side, part->designation, NULL);
}

/* ---- once for many ---- */

static bool
same_data(const LoomKind *a, const LoomKind *b)
{
  if (a == b)
    return true;
  if (g_strcmp0(a->xml, b->xml) != 0 || a->n_ends != b->n_ends)
    return false;
  for (guint i = 0; i < a->n_ends; i++)
    if (a->ends[i].family != b->ends[i].family &&
        g_strcmp0(a->ends[i].family->xml, b->ends[i].family->xml) != 0)
      return false;
  return true;
}

/* Designs embed what the catalogue said when a part was placed. */
static void
kind_data(LoomCompareRoom *room)
{
  g_autoptr(GHashTable) told = g_hash_table_new(g_str_hash, g_str_equal);
  for (guint i = 0; i < room->n_parts[NOW]; i++) {
    if (room->part_to[NOW][i] == LOOM_NONE)
      continue;
    const LoomPart *b = loom_design_part(room->design[NOW], i);
    const LoomPart *a = loom_design_part(room->design[OLD], room->part_to[NOW][i]);
    if (!g_str_equal(a->kind->id, b->kind->id) || !g_hash_table_add(told, b->kind->id) ||
        same_data(a->kind, b->kind))
      continue;
    LoomDifference *d =
        loom_room_tell(room, LOOM_DIFFERENCE_KIND_DATA, g_strdup(b->kind->id), NULL, NULL,
                       g_strdup_printf("What the catalogue says of “%s” has changed; %s is one.",
                                       b->kind->name, b->designation));
    loom_difference_place(d, OLD, a->designation, NULL);
    loom_difference_place(d, NOW, b->designation, NULL);
  }
}

static void
moved(LoomCompareRoom *room)
{
  g_autoptr(GPtrArray) names = g_ptr_array_new();
  g_autoptr(GArray) indices = g_array_new(FALSE, FALSE, sizeof(guint));
  for (guint i = 0; i < room->n_parts[NOW]; i++) {
    if (room->part_to[NOW][i] == LOOM_NONE)
      continue;
    const LoomPart *b = loom_design_part(room->design[NOW], i);
    const LoomPart *a = loom_design_part(room->design[OLD], room->part_to[NOW][i]);
    if (same_number(a->x_mm, b->x_mm) && same_number(a->y_mm, b->y_mm) && a->turn == b->turn &&
        a->flip == b->flip)
      continue;
    g_ptr_array_add(names, b->designation);
    g_array_append_val(indices, i);
  }
  if (names->len == 0)
    return;
  g_autofree char *list = loom_compare_list(names, 6);
  LoomDifference *d =
      loom_room_tell(room, LOOM_DIFFERENCE_MOVED, g_strdup(list), NULL, NULL,
                     g_strdup_printf("On the sheet only: %s %s drawn in another place or turned.",
                                     list, names->len == 1 ? "is" : "are"));
  for (guint k = 0; k < indices->len; k++) {
    guint i = g_array_index(indices, guint, k);
    loom_difference_place(d, NOW, loom_design_part(room->design[NOW], i)->designation, NULL);
    loom_difference_place(
        d, OLD, loom_design_part(room->design[OLD], room->part_to[NOW][i])->designation, NULL);
  }
}

void
loom_compare_parts(LoomCompareRoom *room)
{
  for (guint i = 0; i < room->n_parts[OLD]; i++) {
    guint there = room->part_to[OLD][i];
    if (there == LOOM_NONE) {
      alone(room, OLD, i);
      continue;
    }
    const Pair pair = {
        room,
        {i, there},
        {loom_design_part(room->design[OLD], i), loom_design_part(room->design[NOW], there)}};
    if (pair.part[OLD] == pair.part[NOW])
      continue;
    designation(&pair);
    kind(&pair);
    values(&pair);
    texts(&pair);
  }
  for (guint i = 0; i < room->n_parts[NOW]; i++)
    if (room->part_to[NOW][i] == LOOM_NONE)
      alone(room, NOW, i);
  kind_data(room);
  moved(room);
}
