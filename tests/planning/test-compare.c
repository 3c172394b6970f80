/* Comparing two revisions. Edits that are known: each is told as what it is, and nothing else is;
 * the other way round it is the mirror image. Currents against Ohm's law. */
#include "planning/compare.h"

#include "design/edit.h"
#include "design/file.h"
#include "fixture.h"
#include "robots.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "../near.h"
#include "../seed.h"

static guint
pick(GRand *rand, guint n)
{
  return (guint)g_rand_int_range(rand, 0, (gint32)n);
}

/* The same through the file: no record is shared. */
static LoomDesign *
reread(const LoomDesign *design)
{
  g_autoptr(GError) error = NULL;
  g_autofree char *text = loom_design_to_text(design);
  LoomDesign *copy = loom_design_parse(text, strlen(text), "copy", &error);
  if (error)
    fail_msg("%s", error->message);
  return copy;
}

static void
show(const LoomCompare *c)
{
  for (guint i = 0; i < c->n_differences; i++)
    print_message("  %s | %s | %s | %s | %s\n", loom_difference_word(c->differences[i].type),
                  c->differences[i].where, c->differences[i].old, c->differences[i].now,
                  c->differences[i].sentence);
}

static void
has(const LoomCompare *c, guint n)
{
  if (c->n_differences != n)
    show(c);
  assert_int_equal(c->n_differences, n);
}

static const LoomDifference *
find(const LoomCompare *c, LoomDifferenceType type, const char *where)
{
  for (guint i = 0; i < c->n_differences; i++)
    if (c->differences[i].type == type && (!where || g_str_equal(c->differences[i].where, where)))
      return &c->differences[i];
  show(c);
  fail_msg("There is no difference %s at %s.", loom_difference_word(type), where ? where : "any");
  return NULL;
}

/* ---- nothing differs ---- */

static void
no_robot_differs_from_itself(void **state G_GNUC_UNUSED)
{
  for (const char *const *name = robots_ordinary(); *name; name++) {
    g_autoptr(LoomDesign) a = robots_load(*name), b = reread(a);
    g_autoptr(LoomCompare) c = loom_compare_new(a, b, LOOM_COMPARE_ALL);
    has(c, 0);
    for (guint i = 0; i < c->n_old_parts; i++) {
      assert_int_equal(c->old_parts[i], LOOM_STATUS_SAME);
      assert_int_equal(c->old_part_to[i], i);
    }
    for (guint i = 0; i < c->n_old_joints; i++)
      assert_int_equal(c->old_joints[i], LOOM_STATUS_SAME);
  }
}

/* Lines of the file that begin so, from last to first. */
static char *
reversed(const char *text, const char *begins)
{
  g_auto(GStrv) lines = g_strsplit(text, "\n", -1);
  g_autoptr(GArray) at = g_array_new(FALSE, FALSE, sizeof(guint));
  for (guint i = 0; lines[i]; i++)
    if (g_str_has_prefix(lines[i], begins) && g_str_has_suffix(lines[i], "/>"))
      g_array_append_val(at, i);
  for (guint i = 0; i < at->len / 2; i++) {
    guint a = g_array_index(at, guint, i), b = g_array_index(at, guint, at->len - 1 - i);
    char *line = lines[a];
    lines[a] = lines[b];
    lines[b] = line;
  }
  return g_strjoinv("\n", lines);
}

static void
the_order_in_the_file_is_no_difference(void **state G_GNUC_UNUSED)
{
  g_autoptr(GError) error = NULL;
  g_autoptr(LoomDesign) a = robots_load("sandpiper");
  g_autofree char *text = loom_design_to_text(a);
  g_autofree char *parts = reversed(text, "  <part ");
  g_autofree char *joints = reversed(parts, "  <joint ");
  assert_string_not_equal(text, joints);
  g_autoptr(LoomDesign) b = loom_design_parse(joints, strlen(joints), "reversed", &error);
  assert_null(error);
  g_autoptr(LoomCompare) c = loom_compare_new(a, b, LOOM_COMPARE_ALL);
  has(c, 0);
}

/* ---- random edits, one at a time ---- */

/* Lines of the command, and what they must be told as. */
typedef struct {
  GPtrArray *lines; /* owned */
  LoomDifferenceType type;
  char *where; /* owned; NULL: not checked */
} Edit;

static void
edit_clear(Edit *edit)
{
  g_clear_pointer(&edit->lines, g_ptr_array_unref);
  g_clear_pointer(&edit->where, g_free);
}

static bool edit_set(Edit *edit, LoomDifferenceType type, char *where, const char *format, ...)
    G_GNUC_PRINTF(4, 5);

/* Takes `where`. */
static bool
edit_set(Edit *edit, LoomDifferenceType type, char *where, const char *format, ...)
{
  va_list arguments;
  va_start(arguments, format);
  g_ptr_array_add(edit->lines, g_strdup_vprintf(format, arguments));
  va_end(arguments);
  edit->type = type;
  g_free(edit->where);
  edit->where = where;
  return true;
}

static const LoomPart *
any_part(GRand *rand, const LoomDesign *d)
{
  return loom_design_part(d, pick(rand, loom_design_n_parts(d)));
}

static const LoomJoint *
any_joint(GRand *rand, const LoomDesign *d)
{
  guint n = loom_design_n_joints(d);
  return n ? loom_design_joint(d, pick(rand, n)) : NULL;
}

static char *
joint_where(const LoomJoint *j)
{
  return g_strdup_printf("%s:%s and %s:%s", j->a.part, j->a.end, j->b.part, j->b.end);
}

static guint
joints_at(const LoomDesign *d, const LoomEndName *end)
{
  guint part = loom_design_find_part(d, end->part);
  return loom_design_joints_at(
      d, part, loom_kind_find_end(loom_design_part(d, part)->kind, end->end), NULL, 0);
}

/* An end that nothing is plugged into, of another part than `except`. */
static char *
free_end(GRand *rand, const LoomDesign *d, const char *except)
{
  for (guint tries = 0; tries < 50; tries++) {
    const LoomPart *part = any_part(rand, d);
    if (g_strcmp0(part->designation, except) == 0 || part->kind->n_ends == 0)
      continue;
    LoomEndName end = {part->designation, part->kind->ends[pick(rand, part->kind->n_ends)].id};
    if (joints_at(d, &end) == 0)
      return g_strdup_printf("%s:%s", end.part, end.end);
  }
  return NULL;
}

static bool
add_or_remove(GRand *rand, const LoomDesign *d, Edit *edit)
{
  const LoomPart *part = any_part(rand, d);
  if (pick(rand, 2))
    return edit_set(edit, LOOM_DIFFERENCE_PART_GONE, g_strdup(part->designation), "remove %s",
                    part->designation);
  return edit_set(edit, LOOM_DIFFERENCE_PART_NEW, g_strdup_printf("%s99", part->kind->letter),
                  "add %s %s99", part->kind->id, part->kind->letter);
}

static bool
rename_part(GRand *rand, const LoomDesign *d, Edit *edit)
{
  const LoomPart *part = any_part(rand, d);
  return edit_set(edit, LOOM_DIFFERENCE_RENAMED, g_strdup_printf("%s77", part->kind->letter),
                  "set %s designation=%s77", part->designation, part->kind->letter);
}

/* Another kind that has the same ends. */
static bool
change_kind(GRand *rand, const LoomDesign *d, Edit *edit)
{
  const LoomPart *part = any_part(rand, d), *other = any_part(rand, d);
  if (g_str_equal(part->kind->id, other->kind->id))
    return false;
  return edit_set(edit, LOOM_DIFFERENCE_PART_KIND, g_strdup(part->designation), "set %s kind=%s",
                  part->designation, other->kind->id);
}

static bool
plug_or_unplug(GRand *rand, const LoomDesign *d, Edit *edit)
{
  const LoomJoint *j = any_joint(rand, d);
  if (pick(rand, 2))
    return j && joints_at(d, &j->a) == 1 &&
           edit_set(edit, LOOM_DIFFERENCE_JOINT_GONE, joint_where(j), "unplug %s:%s", j->a.part,
                    j->a.end);
  g_autofree char *a = free_end(rand, d, NULL);
  g_autofree char *b = a ? free_end(rand, d, NULL) : NULL;
  if (!b || g_str_equal(a, b))
    return false;
  return edit_set(edit, LOOM_DIFFERENCE_JOINT_NEW, g_strdup_printf("%s and %s", a, b),
                  "plug %s %s --anyway", a, b);
}

static bool
replug(GRand *rand, const LoomDesign *d, Edit *edit)
{
  const LoomJoint *j = any_joint(rand, d);
  if (!j || joints_at(d, &j->a) != 1 || joints_at(d, &j->b) != 1 || j->scenes)
    return false;
  const LoomEndName *stays = pick(rand, 2) ? &j->a : &j->b;
  g_autofree char *to = free_end(rand, d, stays->part);
  if (!to)
    return false;
  edit_set(edit, LOOM_DIFFERENCE_REPLUGGED, NULL, "unplug %s:%s", stays->part, stays->end);
  return edit_set(edit, LOOM_DIFFERENCE_REPLUGGED,
                  g_strdup_printf("%s:%s", stays->part, stays->end), "plug %s:%s %s --anyway",
                  stays->part, stays->end, to);
}

static bool
set_joint(GRand *rand, const LoomDesign *d, Edit *edit)
{
  const LoomJoint *j = any_joint(rand, d);
  if (!j || joints_at(d, &j->a) != 1)
    return false;
  switch (pick(rand, 5)) {
  case 0:
    return edit_set(edit, LOOM_DIFFERENCE_TIED, joint_where(j), "set %s:%s tied=%s", j->a.part,
                    j->a.end, j->tied ? "no" : "yes");
  case 1:
    return edit_set(edit, LOOM_DIFFERENCE_FIT, joint_where(j), "set %s:%s fit=%s", j->a.part,
                    j->a.end, j->fit == LOOM_FIT_TURNED ? "normal" : "turned");
  case 2:
    return edit_set(edit, LOOM_DIFFERENCE_NETWORK, joint_where(j), "set %s:%s network=dunes",
                    j->a.part, j->a.end);
  case 3:
    return edit_set(edit, LOOM_DIFFERENCE_NOTE, joint_where(j), "set %s:%s 'note=under the deck'",
                    j->a.part, j->a.end);
  default:
    return !j->scenes && loom_design_n_scenes(d) > 1 &&
           edit_set(edit, LOOM_DIFFERENCE_JOINT_SCENES, joint_where(j), "set %s:%s 'scenes=%s'",
                    j->a.part, j->a.end, loom_design_scene(d, 0)->name);
  }
}

static bool
set_text(GRand *rand, const LoomDesign *d, Edit *edit)
{
  static const struct {
    const char *key;
    LoomDifferenceType type;
  } keys[] = {{"label", LOOM_DIFFERENCE_LABEL},
              {"name", LOOM_DIFFERENCE_NAME},
              {"place", LOOM_DIFFERENCE_PLACE},
              {"settings", LOOM_DIFFERENCE_SETTINGS},
              {"note", LOOM_DIFFERENCE_NOTE}};
  const LoomPart *part = any_part(rand, d);
  guint k = pick(rand, G_N_ELEMENTS(keys));
  return edit_set(edit, keys[k].type, g_strdup(part->designation), "set %s %s=dune_%u",
                  part->designation, keys[k].key, pick(rand, 1000));
}

static bool
has_fuse(const LoomKind *kind)
{
  for (guint i = 0; i < kind->n_elements; i++)
    if (kind->elements[i].type == LOOM_ELEMENT_FUSE)
      return true;
  return false;
}

/* To a value that is not the kind's own already: saying that anew would be no difference. */
static bool
set_value(GRand *rand, const LoomDesign *d, Edit *edit)
{
  const LoomPart *part = any_part(rand, d);
  const LoomKind *kind = part->kind;
  const char *name = part->designation;
  if (kind->lead && pick(rand, 2))
    return edit_set(edit, LOOM_DIFFERENCE_LENGTH, g_strdup(name), "set %s length_mm=%u", name,
                    5001 + pick(rand, 1000));
  if (kind->lead)
    return edit_set(edit, LOOM_DIFFERENCE_REACH, g_strdup(name), "set %s reach_mm=%u", name,
                    5001 + pick(rand, 1000));
  if (has_fuse(kind))
    return edit_set(edit, LOOM_DIFFERENCE_RATING, g_strdup(name), "set %s rated_A=%u.25", name,
                    1 + pick(rand, 40));
  if (kind->has_switch)
    return edit_set(edit, LOOM_DIFFERENCE_SWITCH, g_strdup(name), "set %s on=%s", name,
                    part->on ? "no" : "yes");
  if (kind->address >= 0 && kind->address_max > kind->address_min) {
    int other = kind->address == kind->address_max ? kind->address_min : kind->address_max;
    return loom_part_address(part) != other &&
           edit_set(edit, LOOM_DIFFERENCE_ADDRESS, g_strdup(name), "set %s address=%d", name,
                    other);
  }
  return false;
}

static bool
move(GRand *rand, const LoomDesign *d, Edit *edit)
{
  const LoomPart *part = any_part(rand, d);
  const char *name = part->designation;
  switch (pick(rand, 3)) {
  case 0:
    return edit_set(edit, LOOM_DIFFERENCE_MOVED, g_strdup(name), "set %s x_mm=%u.25", name,
                    2000 + pick(rand, 1000));
  case 1:
    return edit_set(edit, LOOM_DIFFERENCE_MOVED, g_strdup(name), "set %s turn=%s", name,
                    part->turn == LOOM_TURN_90 ? "180" : "90");
  default:
    return edit_set(edit, LOOM_DIFFERENCE_MOVED, g_strdup(name), "set %s flip=%s", name,
                    part->flip ? "no" : "yes");
  }
}

static bool
change_title(GRand *rand, const LoomDesign *d G_GNUC_UNUSED, Edit *edit)
{
  static const char *const keys[] = {"name",       "revision", "date",   "drawn-by",
                                     "checked-by", "note",     "before", "after"};
  if (pick(rand, 5) == 0)
    return edit_set(edit, LOOM_DIFFERENCE_AMBIENT, g_strdup("design"), "set design ambient_C=%u.5",
                    30 + pick(rand, 20));
  return edit_set(edit, LOOM_DIFFERENCE_TITLE, g_strdup("design"), "set design %s=dune-%u",
                  keys[pick(rand, G_N_ELEMENTS(keys))], pick(rand, 1000));
}

static bool
change_scene(GRand *rand, const LoomDesign *d, Edit *edit)
{
  guint n = loom_design_n_scenes(d);
  const char *name = loom_design_scene(d, pick(rand, n))->name;
  switch (pick(rand, 4)) {
  case 0:
    return edit_set(edit, LOOM_DIFFERENCE_SCENE_NEW, g_strdup("scene:parade"), "add scene:parade");
  case 1:
    return n > 1 && edit_set(edit, LOOM_DIFFERENCE_SCENE_GONE, g_strdup_printf("scene:%s", name),
                             "remove 'scene:%s'", name);
  case 2:
    return edit_set(edit, LOOM_DIFFERENCE_SCENE_NAME, g_strdup("scene:parade"),
                    "set 'scene:%s' name=parade", name);
  default:
    return edit_set(edit, LOOM_DIFFERENCE_NOTE, g_strdup_printf("scene:%s", name),
                    "set 'scene:%s' note=windy", name);
  }
}

static bool
in_outing(const LoomScene *scene, const char *state)
{
  for (guint i = 0; i < scene->n_outings; i++)
    for (guint k = 0; k < scene->outings[i].n_legs; k++)
      if (g_str_equal(scene->outings[i].legs[k].state, state))
        return true;
  return false;
}

static bool
change_state(GRand *rand, const LoomDesign *d, Edit *edit)
{
  const LoomScene *scene = loom_design_scene(d, pick(rand, loom_design_n_scenes(d)));
  const LoomState *state = scene->n_states ? &scene->states[pick(rand, scene->n_states)] : NULL;
  guint what = pick(rand, 4);
  if (what == 0)
    return edit_set(edit, LOOM_DIFFERENCE_STATE_NEW, g_strdup_printf("state:%s/fast", scene->name),
                    "add 'state:%s/fast'", scene->name);
  if (!state)
    return false;
  char *target = g_strdup_printf("state:%s/%s", scene->name, state->name);
  if (what == 1 && !in_outing(scene, state->name))
    return edit_set(edit, LOOM_DIFFERENCE_STATE_GONE, target, "remove 'state:%s/%s'", scene->name,
                    state->name);
  if (what == 2)
    return edit_set(edit, LOOM_DIFFERENCE_SETTING, target, "set 'state:%s/%s' %s.duty=0.%u1",
                    scene->name, state->name, any_part(rand, d)->designation, pick(rand, 9));
  g_free(target);
  return edit_set(edit, LOOM_DIFFERENCE_STATE_NAME, g_strdup_printf("state:%s/fast", scene->name),
                  "set 'state:%s/%s' name=fast", scene->name, state->name);
}

static bool
change_outing(GRand *rand, const LoomDesign *d, Edit *edit)
{
  const LoomScene *scene = loom_design_scene(d, pick(rand, loom_design_n_scenes(d)));
  guint what = pick(rand, 4);
  if (what == 0 || scene->n_outings == 0)
    return edit_set(edit, LOOM_DIFFERENCE_OUTING_NEW,
                    g_strdup_printf("outing:%s/final", scene->name), "add 'outing:%s/final'",
                    scene->name);
  const LoomOuting *outing = &scene->outings[pick(rand, scene->n_outings)];
  char *target = g_strdup_printf("outing:%s/%s", scene->name, outing->name);
  if (what == 1)
    return edit_set(edit, LOOM_DIFFERENCE_OUTING_GONE, target, "remove 'outing:%s/%s'", scene->name,
                    outing->name);
  if (what == 2)
    return edit_set(edit, LOOM_DIFFERENCE_OUTING_LEGS, target, "set 'outing:%s/%s' 'legs=%s 7.5'",
                    scene->name, outing->name, scene->states[0].name);
  g_free(target);
  return edit_set(edit, LOOM_DIFFERENCE_OUTING_NAME,
                  g_strdup_printf("outing:%s/final", scene->name), "set 'outing:%s/%s' name=final",
                  scene->name, outing->name);
}

static bool (*const edits[])(GRand *rand, const LoomDesign *d, Edit *edit) = {
    add_or_remove, rename_part, change_kind,  plug_or_unplug, replug,       set_joint,    set_text,
    set_value,     move,        change_title, change_scene,   change_state, change_outing};

/* One that can be made of this design. */
static Edit
random_edit(GRand *rand, const LoomDesign *d)
{
  for (;;) {
    Edit edit = {.lines = g_ptr_array_new_with_free_func(g_free)};
    if (edits[pick(rand, G_N_ELEMENTS(edits))](rand, d, &edit))
      return edit;
    edit_clear(&edit);
  }
}

static void
apply(LoomDesign *d, const Edit *edit)
{
  for (guint i = 0; i < edit->lines->len; i++)
    robots_do(d, edit->lines->pdata[i]);
}

/* The places of a difference name what is there. */
static void
places_are_there(const LoomDesign *d, const LoomEndName *places, guint n)
{
  for (guint i = 0; i < n; i++) {
    guint part = loom_design_find_part(d, places[i].part);
    assert_true(part != LOOM_NONE);
    if (places[i].end)
      assert_true(loom_kind_find_end(loom_design_part(d, part)->kind, places[i].end) != LOOM_NONE);
  }
}

static void
is_told_as_it_is(const LoomDesign *a, const LoomDesign *b, const Edit *edit)
{
  g_autoptr(LoomCompare) c = loom_compare_new(a, b, LOOM_COMPARE_DRAWING);
  bool right = c->n_differences == 1 && c->differences[0].type == edit->type &&
               (!edit->where || g_str_equal(c->differences[0].where, edit->where));
  if (!right) {
    for (guint i = 0; i < edit->lines->len; i++)
      print_message("%s\n", (char *)edit->lines->pdata[i]);
    print_message("expected: %s at %s\n", loom_difference_word(edit->type), edit->where);
    show(c);
    fail();
  }
  places_are_there(a, c->differences[0].old_places, c->differences[0].n_old_places);
  places_are_there(b, c->differences[0].new_places, c->differences[0].n_new_places);
  assert_true(g_str_has_suffix(c->differences[0].sentence, "."));
  g_autoptr(LoomCompare) back = loom_compare_new(b, a, LOOM_COMPARE_DRAWING);
  has(back, 1);
  assert_int_equal(back->differences[0].type, loom_difference_mirror(edit->type));
  if (g_strcmp0(back->differences[0].old, c->differences[0].now) != 0 ||
      g_strcmp0(back->differences[0].now, c->differences[0].old) != 0) {
    show(c);
    show(back);
    fail();
  }
}

static void
each_edit_is_told_as_what_it_is(void **state G_GNUC_UNUSED)
{
  g_autoptr(GRand) rand = g_rand_new_with_seed(seed());
  for (const char *const *name = robots_ordinary(); *name; name++) {
    g_autoptr(LoomDesign) a = robots_load(*name);
    for (guint i = 0; i < 60; i++) {
      g_autoptr(LoomDesign) b = reread(a);
      Edit edit = random_edit(rand, a);
      apply(b, &edit);
      is_told_as_it_is(a, b, &edit);
      edit_clear(&edit);
    }
  }
}

/* ---- many edits: the mirror image, and nothing is missed ---- */

static char *
line_of(LoomDifferenceType type, const char *old, const char *now, const LoomEndName *places,
        guint n)
{
  g_autoptr(GString) line = g_string_new(loom_difference_word(type));
  g_string_append_printf(line, " %s -> %s @", old, now);
  for (guint i = 0; i < n; i++)
    g_string_append_printf(line, " %s:%s", places[i].part, places[i].end);
  return g_string_free(g_steal_pointer(&line), FALSE);
}

static int
by_text(gconstpointer a, gconstpointer b)
{
  return strcmp(*(char *const *)a, *(char *const *)b);
}

/* Differences as lines, sorted; `back`: as the other way round would have them. */
static char *
lines_of(const LoomCompare *c, bool back)
{
  g_autoptr(GPtrArray) lines = g_ptr_array_new_with_free_func(g_free);
  for (guint i = 0; i < c->n_differences; i++) {
    const LoomDifference *d = &c->differences[i];
    bool list = d->type == LOOM_DIFFERENCE_MOVED || d->type == LOOM_DIFFERENCE_CURRENT ||
                d->type == LOOM_DIFFERENCE_KIND_DATA || d->type == LOOM_DIFFERENCE_FINDING_CHANGED;
    g_ptr_array_add(
        lines, back ? line_of(loom_difference_mirror(d->type), d->now, d->old, d->old_places,
                              list ? 0 : d->n_old_places)
                    : line_of(d->type, d->old, d->now, d->new_places, list ? 0 : d->n_new_places));
  }
  g_ptr_array_sort(lines, by_text);
  g_ptr_array_add(lines, NULL);
  return g_strjoinv("\n", (char **)lines->pdata);
}

static void
is_mirrored(const LoomDesign *a, const LoomDesign *b, guint what)
{
  g_autoptr(LoomCompare) there = loom_compare_new(a, b, what);
  g_autoptr(LoomCompare) back = loom_compare_new(b, a, what);
  g_autofree char *x = lines_of(there, false), *y = lines_of(back, true);
  if (!g_str_equal(x, y))
    fail_msg("there:\n%s\nback:\n%s", x, y);
  for (guint i = 0; i < there->n_old_parts; i++)
    assert_int_equal(there->old_part_to[i], back->new_part_to[i]);
  for (guint i = 0; i < there->n_old_joints; i++) {
    assert_int_equal(there->old_joint_to[i], back->new_joint_to[i]);
    assert_int_equal(there->old_joints[i] == LOOM_STATUS_GONE,
                     back->new_joints[i] == LOOM_STATUS_NEW);
  }
}

static void
the_other_way_round_is_the_mirror_image(void **state G_GNUC_UNUSED)
{
  g_autoptr(GRand) rand = g_rand_new_with_seed(seed());
  for (const char *const *name = robots_ordinary(); *name; name++) {
    g_autoptr(LoomDesign) a = robots_load(*name);
    g_autofree char *text = loom_design_to_text(a);
    for (guint i = 0; i < 12; i++) {
      g_autoptr(LoomDesign) b = reread(a);
      for (guint k = 0; k < 1 + i; k++) {
        Edit edit = random_edit(rand, b);
        if (!strstr(edit.lines->pdata[0], "99") && !strstr(edit.lines->pdata[0], "77") &&
            !strstr(edit.lines->pdata[0], "parade") && !strstr(edit.lines->pdata[0], "fast") &&
            !strstr(edit.lines->pdata[0], "final"))
          apply(b, &edit);
        edit_clear(&edit);
      }
      is_mirrored(a, b, i % 6 ? LOOM_COMPARE_DRAWING : LOOM_COMPARE_ALL);
      g_autofree char *changed = loom_design_to_text(b);
      g_autoptr(LoomCompare) c = loom_compare_new(a, b, LOOM_COMPARE_DRAWING);
      if ((c->n_differences > 0) == g_str_equal(text, changed))
        fail_msg("%s, try %u: %u differences", *name, i, c->n_differences);
    }
  }
}

/* ---- by hand ---- */

static const char robot[] = "add pack-nimh-12v-3ah G1\n"
                            "add fuse-lead-15 F1\n"
                            "add extension-30-300 W1\n"
                            "add extension-30-300 W2\n"
                            "add controller-rover K1\n"
                            "add motor-medium M1\n"
                            "add motor-medium M2\n"
                            "plug G1:out F1:in\n"
                            "plug F1:out W1:a\n"
                            "plug W1:b W2:a\n"
                            "plug W2:b K1:power\n"
                            "plug K1:motor-1 M1:poles\n"
                            "plug K1:motor-2 M2:poles\n"
                            "set M1 name=left label='Drive left'\n"
                            "set M2 name=right\n";

static LoomDesign *
after(const char *lines)
{
  g_autofree char *text = g_strconcat(robot, lines, NULL);
  return robots_parse(text, "robot");
}

static LoomCompare *
compare(const char *lines, guint what)
{
  g_autoptr(LoomDesign) a = robots_parse(robot, "robot"), b = after(lines);
  return loom_compare_new(a, b, what);
}

static void
swapped_motor_plugs_are_two_changes(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomCompare) c = compare(
      "unplug M1:poles\nunplug M2:poles\nplug K1:motor-2 M1:poles\nplug K1:motor-1 M2:poles",
      LOOM_COMPARE_DRAWING);
  has(c, 2);
  assert_string_equal(c->differences[0].sentence,
                      "M1:poles is plugged into K1:motor-2 now; before it was in K1:motor-1.");
  assert_string_equal(c->differences[1].sentence,
                      "M2:poles is plugged into K1:motor-1 now; before it was in K1:motor-2.");
  assert_int_equal(c->old_joints[4], LOOM_STATUS_GONE);
  assert_int_equal(c->new_joints[5], LOOM_STATUS_NEW);
  assert_int_equal(c->new_parts[5], LOOM_STATUS_SAME);
}

static void
a_lead_turned_round_is_one_change(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomCompare) c =
      compare("unplug W2:a\nunplug W2:b\nplug W1:b W2:b --anyway\nplug W2:a K1:power --anyway",
              LOOM_COMPARE_DRAWING);
  has(c, 1);
  assert_string_equal(
      c->differences[0].sentence,
      "The lead W2 is turned round: a in K1:power, b in W1:b now; before a in W1:b, "
      "b in K1:power.");
  g_autoptr(LoomDesign) a = robots_parse(robot, "robot");
  g_autoptr(LoomDesign) b =
      after("unplug W2:a\nunplug W2:b\nplug W1:b W2:b --anyway\nplug W2:a K1:power --anyway");
  is_mirrored(a, b, LOOM_COMPARE_ALL);
  /* one end only: plugged elsewhere */
  g_autoptr(LoomCompare) d =
      compare("unplug W2:a\nunplug W2:b\nplug W1:b W2:b --anyway", LOOM_COMPARE_DRAWING);
  assert_int_equal(d->differences[0].type, LOOM_DIFFERENCE_JOINT_GONE);
  g_autoptr(LoomCompare) e = compare("unplug W2:a\nunplug W2:b\nplug W2:a K1:motor-3 --anyway\n"
                                     "plug W2:b K1:motor-4 --anyway",
                                     LOOM_COMPARE_DRAWING);
  has(e, 2);
  assert_int_equal(e->differences[0].type, LOOM_DIFFERENCE_REPLUGGED);
}

static void
a_chain_of_new_names_is_seen_through(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomCompare) c = compare("set W1 designation=W5\nset W2 designation=W1\n"
                                     "set W1 length_mm=450",
                                     LOOM_COMPARE_DRAWING);
  has(c, 3);
  find(c, LOOM_DIFFERENCE_RENAMED, "W5");
  find(c, LOOM_DIFFERENCE_RENAMED, "W1");
  assert_string_equal(find(c, LOOM_DIFFERENCE_LENGTH, "W1")->sentence,
                      "The length of W1 is 450 mm now; before it was 300 mm.");
}

/* Its place on the sheet is another too, and so is the name of its neighbour. */
static void
renamed_and_moved_parts_are_known_by_their_joints(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomCompare) c =
      compare("set W1 designation=W8\nset F1 designation=F3\nset W8 x_mm=900\nset F3 y_mm=500\n"
              "set M1 designation=M9\nset M9 x_mm=700",
              LOOM_COMPARE_DRAWING);
  find(c, LOOM_DIFFERENCE_RENAMED, "W8");
  find(c, LOOM_DIFFERENCE_RENAMED, "F3");
  find(c, LOOM_DIFFERENCE_RENAMED, "M9");
  has(c, 4); /* and "moved", once */
  assert_int_equal(find(c, LOOM_DIFFERENCE_MOVED, NULL)->n_new_places, 3);
}

static void
what_follows_from_a_part_is_not_told_again(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomCompare) c = compare(
      "remove W2\nadd extension-30-300 W3\nplug W1:b W3:a\nplug W3:b K1:power\nset W3 x_mm=0",
      LOOM_COMPARE_DRAWING);
  has(c, 2); /* the same lead under another name, elsewhere on the sheet */
  find(c, LOOM_DIFFERENCE_RENAMED, "W3");
  g_autoptr(LoomCompare) d =
      compare("remove W2\nadd adaptor-30-flat W3\nplug W1:b W3:a", LOOM_COMPARE_DRAWING);
  has(d, 2);
  assert_non_null(strstr(find(d, LOOM_DIFFERENCE_PART_GONE, "W2")->sentence,
                         "is gone. It was plugged into W1:b and K1:power."));
  assert_non_null(strstr(find(d, LOOM_DIFFERENCE_PART_NEW, "W3")->sentence,
                         "is new. It is plugged into W1:b."));
}

static void
findings_come_and_go(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomCompare) c = compare("remove F1\nplug G1:out W1:a", LOOM_COMPARE_FINDINGS);
  const LoomDifference *first = &c->differences[0];
  assert_int_equal(first->type, LOOM_DIFFERENCE_FINDING_NEW);
  assert_true(first->severity < LOOM_NOTE); /* no fuse near the pack: before everything else */
  bool fuse = false;
  for (guint i = 0; i < c->n_differences; i++)
    fuse |= c->differences[i].type == LOOM_DIFFERENCE_FINDING_NEW &&
            strstr(c->differences[i].sentence, "fuse");
  assert_true(fuse);
  /* a new name alone changes no finding, though every sentence has it */
  g_autoptr(LoomCompare) d = compare("set G1 designation=G4\nset K1 designation=K2\n"
                                     "set W1 designation=W7",
                                     LOOM_COMPARE_ALL);
  has(d, 3);
}

/* The robot with one digit of its embedded catalogue changed, behind both texts. */
static LoomDesign *
with_other_digit(const char *kind, const char *before)
{
  g_autoptr(GError) error = NULL;
  g_autoptr(LoomDesign) design = robots_parse(robot, "robot");
  g_autofree char *text = loom_design_to_text(design);
  char *at = strstr(strstr(text, kind), before);
  assert_non_null(at);
  at[strlen(before)] = at[strlen(before)] == '7' ? '8' : '7';
  LoomDesign *other = loom_design_parse(text, strlen(text), "other", &error);
  assert_null(error);
  return other;
}

static void
a_newer_catalogue_is_told_once_a_kind(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomDesign) a = robots_parse(robot, "robot");
  g_autoptr(LoomDesign) b =
      with_other_digit("<kind id=\"fuse-lead-15\"", "<fuse a=\"before\" b=\"after\" rated_A=\"1");
  g_autoptr(LoomCompare) c = loom_compare_new(a, b, LOOM_COMPARE_DRAWING);
  find(c, LOOM_DIFFERENCE_KIND_DATA, "fuse-lead-15");
  has(c, 2); /* and the rating of F1 that follows from it */
  find(c, LOOM_DIFFERENCE_RATING, "F1");
  g_autoptr(LoomDesign) e = with_other_digit("<kind id=\"extension-30-300\"", "price=\"");
  g_autoptr(LoomCompare) d = loom_compare_new(a, e, LOOM_COMPARE_DRAWING);
  has(d, 1); /* though W1 and W2 are both such leads */
  find(d, LOOM_DIFFERENCE_KIND_DATA, "extension-30-300");
}

/* ---- currents: a pack of 12 V and 0.1 ohm on a resistor without wires between ---- */

static char *
resistor(const char *id, double ohm)
{
  char text[32];
  return g_strdup_printf(
      "<kind id=\"%s\" name=\"Lamp %s\" letter=\"P\" group=\"lamp\" width_mm=\"20\" "
      "height_mm=\"20\" source=\"typical\"><end id=\"in\" family=\"f\" gender=\"pins\" "
      "side=\"left\"><contact way=\"1\" name=\"+\" role=\"plus\"/><contact way=\"2\" name=\"-\" "
      "role=\"minus\"/></end><resistor a=\"in:+\" b=\"in:-\" ohm=\"%s\"/></kind>",
      id, id, g_ascii_dtostr(text, sizeof text, ohm));
}

/* A pack, and a lamp of each resistance that the kinds "x" and "y" have. */
static LoomCatalogue *
lamps(double x_ohm, double y_ohm)
{
  g_autofree char *family = fixture_family("f", 2);
  g_autofree char *x = resistor("x", x_ohm), *y = resistor("y", y_ohm);
  g_autofree char *all = g_strconcat(
      family,
      "<kind id=\"pack\" name=\"Pack\" letter=\"G\" group=\"supply\" width_mm=\"30\" "
      "height_mm=\"20\" source=\"typical\"><end id=\"out\" family=\"f\" gender=\"sockets\" "
      "side=\"right\"><contact way=\"1\" name=\"+\" role=\"plus\"/><contact way=\"2\" name=\"-\" "
      "role=\"minus\"/></end><source a=\"out:+\" b=\"out:-\" emf_V=\"12\" ohm=\"0.1\"/></kind>",
      x, y, NULL);
  return fixture_catalogue(all);
}

static LoomDesign *
lamp_on_pack(const LoomCatalogue *catalogue, const char *kind)
{
  LoomDesign *design = loom_design_new("lamp");
  fixture_add(design, catalogue, "pack");
  fixture_add(design, catalogue, kind);
  fixture_plug(design, "G1:out", "P1:in");
  return design;
}

/* 1 mohm in each of two contacts of the family, see fixture_family. */
static double
amps(double ohm)
{
  return 12 / (ohm + 0.1 + 2 * 0.001);
}

static void
currents_follow_ohms_law(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomCatalogue) catalogue = lamps(10, 5);
  g_autoptr(LoomDesign) a = lamp_on_pack(catalogue, "x"), b = lamp_on_pack(catalogue, "y");
  g_autoptr(LoomCompare) c = loom_compare_new(a, b, LOOM_COMPARE_CURRENTS);
  const LoomDifference *d = find(c, LOOM_DIFFERENCE_CURRENT, "G1:out and P1:in");
  g_autofree char *old = g_strdup_printf("%.3g A", amps(10));
  g_autofree char *now = g_strdup_printf("%.3g A", amps(5));
  assert_string_equal(d->old, old);
  assert_string_equal(d->now, now);
  assert_string_equal(
      d->sentence, "In the state resting (scene driving) the current at G1:out and P1:in is 2.35 "
                   "A now; before it was 1.19 A.");
  assert_int_equal(d->n_old_places, 2);
}

static bool
current_is_told(double x_ohm, double y_ohm)
{
  g_autoptr(LoomCatalogue) catalogue = lamps(x_ohm, y_ohm);
  g_autoptr(LoomDesign) a = lamp_on_pack(catalogue, "x"), b = lamp_on_pack(catalogue, "y");
  g_autoptr(LoomCompare) c = loom_compare_new(a, b, LOOM_COMPARE_CURRENTS);
  assert_int_equal(c->n_differences > 1,
                   amps(y_ohm) < 0.95 * amps(x_ohm) || amps(x_ohm) < 0.95 * amps(y_ohm));
  return c->n_differences > 1; /* besides the other kind */
}

static void
five_percent_is_the_limit(void **state G_GNUC_UNUSED)
{
  assert_false(current_is_told(10, 10.5)); /* 4.7 % less */
  assert_true(current_is_told(10, 10.6));  /* 5.6 % less */
  assert_false(current_is_told(10.5, 10));
  assert_true(current_is_told(10.6, 10));
}

static void
a_motor_that_turns_the_other_way_is_told(void **state G_GNUC_UNUSED)
{
  static const char forward[] = "set state:driving/resting M1.duty=0.5 M1.load=stalled\n";
  static const char backward[] = "set state:driving/resting M1.duty=-0.5 M1.load=stalled\n";
  g_autoptr(LoomDesign) a = after(forward), b = after(backward);
  g_autoptr(LoomCompare) c = loom_compare_new(a, b, LOOM_COMPARE_CURRENTS);
  assert_string_equal(
      c->differences[0].sentence,
      "In the state resting (scene driving) M1 (Drive left) is driven at -50 % now; "
      "before it was driven at 50 %.");
  assert_non_null(strstr(find(c, LOOM_DIFFERENCE_CURRENT, "K1:motor-1 and M1:poles")->sentence,
                         "the other way round"));
  has(c, 2); /* the pack gives the same */
}

/* ---- both on one sheet ---- */

static guint
count(const LoomStatus *statuses, guint n, LoomStatus status)
{
  guint found = 0;
  for (guint i = 0; i < n; i++)
    found += statuses[i] == status;
  return found;
}

static void
the_merged_sheet_has_both(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomDesign) a = robots_parse(robot, "robot");
  g_autoptr(LoomDesign) b = after("remove W2\nunplug M1:poles\nplug K1:motor-3 M1:poles\n"
                                  "plug W1:b K1:power\nadd servo-micro M3\nset M2 note=old");
  g_autoptr(LoomCompare) c = loom_compare_new(a, b, LOOM_COMPARE_DRAWING);
  g_autoptr(LoomMerged) m = loom_compare_merged(c, a, b);
  assert_int_equal(m->n_parts, 8);
  assert_int_equal(m->parts[loom_design_find_part(m->design, "W2")], LOOM_STATUS_GONE);
  assert_int_equal(m->parts[loom_design_find_part(m->design, "M3")], LOOM_STATUS_NEW);
  assert_int_equal(m->parts[loom_design_find_part(m->design, "M2")], LOOM_STATUS_CHANGED);
  assert_int_equal(m->parts[loom_design_find_part(m->design, "G1")], LOOM_STATUS_SAME);
  /* W2's two ends and M1's plug are taken since: W1:b, K1:power, M1:poles */
  assert_int_equal(m->n_lines, 3);
  for (guint i = 0; i < m->n_lines; i++) {
    assert_true(m->lines[i].part_a < m->n_parts && m->lines[i].part_b < m->n_parts);
    assert_true(m->lines[i].end_a < loom_design_part(m->design, m->lines[i].part_a)->kind->n_ends);
  }
  assert_int_equal(count(m->joints, m->n_joints, LOOM_STATUS_NEW), 2);
}

/* A fuse that is gone, whose ends are taken while driving but not on the bench: it hangs nowhere,
 * so that every scene shows it. */
static void
what_is_gone_hides_in_no_scene(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomDesign) a = robots_load("sandpiper"), b = reread(a);
  robots_do(b, "remove F1");
  robots_do(b, "plug G1:out W1:a --scene driving --anyway");
  g_autoptr(LoomCompare) c = loom_compare_new(a, b, LOOM_COMPARE_DRAWING);
  g_autoptr(LoomMerged) m = loom_compare_merged(c, a, b);
  guint gone = loom_design_find_part(m->design, "F1"), lines = 0;
  assert_int_equal(m->parts[gone], LOOM_STATUS_GONE);
  for (guint e = 0; e < loom_design_part(m->design, gone)->kind->n_ends; e++)
    assert_int_equal(loom_design_joints_at(m->design, gone, e, NULL, 0), 0);
  for (guint i = 0; i < m->n_lines; i++)
    lines += m->lines[i].part_a == gone || m->lines[i].part_b == gone;
  guint was = loom_design_find_part(a, "F1"), joints = 0;
  for (guint e = 0; e < loom_design_part(a, was)->kind->n_ends; e++)
    joints += loom_design_joints_at(a, was, e, NULL, 0);
  assert_int_equal(lines, joints);
}

static void
a_taken_designation_is_given_anew(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomDesign) a = robots_parse(robot, "robot");
  g_autoptr(LoomDesign) b = after("remove M2\nset M1 designation=M2\n");
  g_autoptr(LoomCompare) c = loom_compare_new(a, b, LOOM_COMPARE_DRAWING);
  find(c, LOOM_DIFFERENCE_RENAMED, "M2");
  find(c, LOOM_DIFFERENCE_PART_GONE, "M2");
  g_autoptr(LoomMerged) m = loom_compare_merged(c, a, b);
  guint gone = m->n_parts - 1;
  assert_int_equal(m->parts[gone], LOOM_STATUS_GONE);
  assert_string_equal(loom_design_part(m->design, gone)->label, "M2, gone");
  assert_string_equal(loom_design_part(m->design, gone)->designation, "M1");
}

/* For random edits: the new design stands in it unchanged, what is gone is added, and it is a
 * design that can be written and read. */
static void
random_merged_sheets_hold(void **state G_GNUC_UNUSED)
{
  g_autoptr(GRand) rand = g_rand_new_with_seed(seed());
  for (const char *const *name = robots_ordinary(); *name; name++) {
    g_autoptr(LoomDesign) a = robots_load(*name), b = reread(a);
    for (guint k = 0; k < 4; k++) {
      Edit edit = random_edit(rand, a);
      if (k == 0 || edit.type == LOOM_DIFFERENCE_PART_GONE)
        apply(k == 0 ? b : a, &edit);
      edit_clear(&edit);
    }
    g_autoptr(LoomCompare) c = loom_compare_new(a, b, LOOM_COMPARE_DRAWING);
    g_autoptr(LoomMerged) m = loom_compare_merged(c, a, b);
    guint gone = count(c->old_parts, c->n_old_parts, LOOM_STATUS_GONE);
    guint apart = count(c->old_joints, c->n_old_joints, LOOM_STATUS_GONE);
    assert_int_equal(m->n_parts, c->n_new_parts + gone);
    assert_int_equal(count(m->parts, m->n_parts, LOOM_STATUS_GONE), gone);
    assert_true(m->n_joints - c->n_new_joints + m->n_lines <= apart);
    for (guint i = 0; i < c->n_new_parts; i++)
      assert_ptr_equal(loom_design_part(m->design, i), loom_design_part(b, i));
    g_autoptr(LoomDesign) read = reread(m->design);
    assert_int_equal(loom_design_n_joints(read), m->n_joints);
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(no_robot_differs_from_itself),
      cmocka_unit_test(the_order_in_the_file_is_no_difference),
      cmocka_unit_test(each_edit_is_told_as_what_it_is),
      cmocka_unit_test(the_other_way_round_is_the_mirror_image),
      cmocka_unit_test(swapped_motor_plugs_are_two_changes),
      cmocka_unit_test(a_lead_turned_round_is_one_change),
      cmocka_unit_test(a_chain_of_new_names_is_seen_through),
      cmocka_unit_test(renamed_and_moved_parts_are_known_by_their_joints),
      cmocka_unit_test(what_follows_from_a_part_is_not_told_again),
      cmocka_unit_test(findings_come_and_go),
      cmocka_unit_test(a_newer_catalogue_is_told_once_a_kind),
      cmocka_unit_test(currents_follow_ohms_law),
      cmocka_unit_test(five_percent_is_the_limit),
      cmocka_unit_test(a_motor_that_turns_the_other_way_is_told),
      cmocka_unit_test(the_merged_sheet_has_both),
      cmocka_unit_test(what_is_gone_hides_in_no_scene),
      cmocka_unit_test(a_taken_designation_is_given_anew),
      cmocka_unit_test(random_merged_sheets_hold),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
