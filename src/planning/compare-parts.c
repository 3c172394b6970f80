#include "compare-private.h"

#include <glib/gi18n-lib.h>
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

/* What changed: "The label of M1". New. */
static char *
subject_of(LoomDifferenceType type, const char *part)
{
  switch (type) {
  case LOOM_DIFFERENCE_LABEL:
    return g_strdup_printf(_("The label of %s"), part);
  case LOOM_DIFFERENCE_NAME:
    return g_strdup_printf(_("The name of %s in the program"), part);
  case LOOM_DIFFERENCE_PLACE:
    return g_strdup_printf(_("The place of %s on the robot"), part);
  case LOOM_DIFFERENCE_SETTINGS:
    return g_strdup_printf(_("What is to be set for %s"), part);
  case LOOM_DIFFERENCE_LENGTH:
    return g_strdup_printf(_("The length of %s"), part);
  case LOOM_DIFFERENCE_REACH:
    return g_strdup_printf(_("The way to go on the robot for %s"), part);
  case LOOM_DIFFERENCE_RATING:
    return g_strdup_printf(_("The fuse in %s"), part);
  default:
    return g_strdup_printf(_("The note on %s"), part);
  }
}

static void
text(const Pair *pair, LoomDifferenceType type, const char *old, const char *now)
{
  if (g_strcmp0(old, now) == 0)
    return;
  g_autofree char *part = loom_part_words(pair->part[NOW]);
  g_autofree char *subject = subject_of(type, part);
  tell(pair, type, g_strdup(old), g_strdup(now), loom_text_sentence(subject, old, now));
}

static void
texts(const Pair *pair)
{
  const LoomPart *a = pair->part[OLD], *b = pair->part[NOW];
  text(pair, LOOM_DIFFERENCE_LABEL, a->label, b->label);
  text(pair, LOOM_DIFFERENCE_NAME, a->name, b->name);
  text(pair, LOOM_DIFFERENCE_PLACE, a->place, b->place);
  text(pair, LOOM_DIFFERENCE_SETTINGS, a->settings, b->settings);
  text(pair, LOOM_DIFFERENCE_NOTE, a->note, b->note);
}

/* ---- numbers ---- */

static bool
same_number(double a, double b)
{
  return (isnan(a) && isnan(b)) || !(a < b || a > b || isnan(a) || isnan(b));
}

/* For the columns of a table, in no locale. NULL for NAN. New. */
static char *
number_value(double number, const char *unit)
{
  char digits[G_ASCII_DTOSTR_BUF_SIZE];
  if (isnan(number))
    return NULL;
  g_ascii_formatd(digits, sizeof digits, "%.10g", number);
  return g_strconcat(digits, " ", unit, NULL);
}

/* For a sentence; `none` for NAN. New. */
static char *
number_words(double number, const char *unit, const char *none)
{
  return isnan(number) ? g_strdup(none) : g_strdup_printf("%.10g %s", number, unit);
}

static void
number(const Pair *pair, LoomDifferenceType type, double old, double now, const char *unit,
       const char *none)
{
  if (same_number(old, now))
    return;
  g_autofree char *part = loom_part_words(pair->part[NOW]);
  g_autofree char *subject = subject_of(type, part);
  g_autofree char *a = number_words(old, unit, none), *b = number_words(now, unit, none);
  /* Translators: the first %s is what changed, like "The length of W1". */
  tell(pair, type, number_value(old, unit), number_value(now, unit),
       g_strdup_printf(_("%s is %s now; before it was %s."), subject, b, a));
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
  char *said = g_strdup_printf(_("The address of %s is %s now; before it was %s."), part,
                               b ? b : _("not set"), a ? a : _("not set"));
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
         one ? loom_part_length_mm(b) : b->length_mm, "mm", _("not given"));
  number(pair, LOOM_DIFFERENCE_REACH, a->reach_mm, b->reach_mm, "mm", _("not measured"));
  number(pair, LOOM_DIFFERENCE_RATING, one ? fuse_A(a) : a->rated_A, one ? fuse_A(b) : b->rated_A,
         "A", _("the usual one"));
  address(pair, one ? loom_part_address(a) : a->address, one ? loom_part_address(b) : b->address);
  if (a->on == b->on || !a->kind->has_switch || !b->kind->has_switch)
    return;
  g_autofree char *part = loom_part_words(b);
  const char *words[] = {"off", "on"};
  tell(pair, LOOM_DIFFERENCE_SWITCH, g_strdup(words[a->on]), g_strdup(words[b->on]),
       g_strdup_printf(b->on
                           ? _("The switch %s is drawn switched on now; before it was drawn off.")
                           : _("The switch %s is drawn switched off now; before it was drawn on."),
                       part));
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
  g_string_printf(said, _("%s is another part now: %s in place of %s."), part, b->kind->name,
                  a->kind->name);
  if (lost)
    g_string_append_printf(said, _(" What was plugged into its %s is loose."), lost);
  if (won)
    g_string_append_printf(said, _(" Something is plugged into its %s, which it did not have."),
                           won);
  tell(pair, LOOM_DIFFERENCE_PART_KIND, g_strdup(a->kind->name), g_strdup(b->kind->name),
       g_string_free(g_steal_pointer(&said), FALSE));
}

static void
designation(const Pair *pair)
{
  const char *a = pair->part[OLD]->designation, *b = pair->part[NOW]->designation;
  if (!g_str_equal(a, b))
    tell(pair, LOOM_DIFFERENCE_RENAMED, g_strdup(a), g_strdup(b),
         g_strdup_printf(_("%s is called %s now. It is the same part."), a, b));
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

/* `at` is what it is or was plugged into, NULL for nothing. New. */
static char *
alone_sentence(guint side, const char *part, const char *kind, const char *at)
{
  if (!at)
    return g_strdup_printf(side == NOW ? _("%s, %s, is new. Nothing is plugged into it.")
                                       : _("%s, %s, is gone. Nothing was plugged into it."),
                           part, kind);
  return g_strdup_printf(side == NOW ? _("%s, %s, is new. It is plugged into %s.")
                                     : _("%s, %s, is gone. It was plugged into %s."),
                         part, kind, at);
}

static void
alone(LoomCompareRoom *room, guint side, guint index)
{
  const LoomPart *part = loom_design_part(room->design[side], index);
  g_autofree char *words = loom_part_words(part);
  g_autofree char *at = neighbours(room->design[side], index);
  char *kind_name = g_strdup(part->kind->name);
  char *said = alone_sentence(side, words, kind_name, at);
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
                       g_strdup_printf(_("What the catalogue says of “%s” has changed; %s is one."),
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
  LoomDifference *d = loom_room_tell(
      room, LOOM_DIFFERENCE_MOVED, g_strdup(list), NULL, NULL,
      g_strdup_printf(ngettext("On the sheet only: %s is drawn in another place or turned.",
                               "On the sheet only: %s are drawn in another place or turned.",
                               names->len),
                      list));
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
