/* Edits: every change has an inverse, an edit that fails changes nothing, scenes keep ends apart.
 */
#include "design/edit.h"
#include "design/file.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>

#include <cmocka.h>

#include "near.h"

static LoomCatalogue *catalogue;

static int
load(void **state G_GNUC_UNUSED)
{
  catalogue = loom_catalogue_new();
  return loom_catalogue_layer(catalogue, LOOM_TEST_FILES "/catalogue/small.xml", NULL) ? 0 : -1;
}

static int
unload(void **state G_GNUC_UNUSED)
{
  g_clear_pointer(&catalogue, loom_catalogue_unref);
  return 0;
}

static const char *
add(LoomEdit *edit, const char *kind)
{
  g_autoptr(GError) error = NULL;
  const char *name =
      loom_edit_add(edit, loom_catalogue_kind(catalogue, kind), NULL, NAN, NAN, &error);
  assert_null(error);
  return name;
}

static void
plug(LoomEdit *edit, const char *a, const char *b)
{
  g_autoptr(GError) error = NULL;
  loom_edit_plug(edit, a, b, LOOM_FIT_NORMAL, NULL, &error);
  if (error)
    fail_msg("%s", error->message);
}

/* G1 - F1 - Q1 - W1, with a second scene "charging". */
static LoomDesign *
chain(void)
{
  LoomDesign *design = loom_design_new("chain");
  LoomEdit *edit = loom_edit_new(design, "Build");
  add(edit, "pack");
  add(edit, "fuse");
  add(edit, "switch");
  add(edit, "lead");
  plug(edit, "G1:out", "F1:in");
  plug(edit, "F1:out", "Q1:in");
  plug(edit, "Q1:out", "W1:a");
  assert_true(loom_edit_add_target(edit, "scene:charging", NULL));
  assert_true(loom_design_apply(design, edit));
  return design;
}

static void
fails(LoomDesign *design, bool ok, LoomEdit *edit, GError *error, const char *says)
{
  g_autofree char *before = loom_design_to_text(design);
  g_autofree char *after = loom_design_to_text(loom_edit_design(edit));
  assert_false(ok);
  assert_non_null(error);
  if (!strstr(error->message, says))
    fail_msg("%s", error->message);
  assert_string_equal(before, after);
  g_error_free(error);
  loom_edit_free(edit);
}

static void
designations_take_the_lowest_free_number(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomDesign) design = loom_design_new("d");
  LoomEdit *edit = loom_edit_new(design, "Add");
  assert_string_equal(add(edit, "lead"), "W1");
  assert_string_equal(add(edit, "lead"), "W2");
  assert_string_equal(add(edit, "wire-thin"), "W3");
  assert_string_equal(add(edit, "pack"), "G1");
  assert_true(loom_edit_remove(edit, "W2", NULL));
  assert_string_equal(add(edit, "lead"), "W2");
  assert_string_equal(add(edit, "lead"), "W4");
  loom_edit_free(edit);
  assert_int_equal(loom_design_n_parts(design), 0);
}

static void
undo_and_redo_give_the_same_bytes(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomDesign) design = chain();
  g_autofree char *built = loom_design_to_text(design);
  LoomEdit *edit = loom_edit_new(design, "Remove");
  assert_true(loom_edit_remove(edit, "F1", NULL));
  loom_design_apply(design, edit);
  g_autofree char *removed = loom_design_to_text(design);
  assert_int_equal(loom_design_n_joints(design), 1);
  assert_string_equal(loom_design_undo_label(design), "Remove");
  assert_true(loom_design_undo(design));
  g_autofree char *undone = loom_design_to_text(design);
  assert_string_equal(built, undone);
  assert_string_equal(loom_design_redo_label(design), "Remove");
  assert_true(loom_design_redo(design));
  g_autofree char *redone = loom_design_to_text(design);
  assert_string_equal(removed, redone);
  assert_false(loom_design_redo(design));
}

static void
modified_follows_the_history(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomDesign) design = loom_design_new("d");
  assert_false(loom_design_modified(design));
  LoomEdit *edit = loom_edit_new(design, "Add");
  add(edit, "pack");
  loom_design_apply(design, edit);
  assert_true(loom_design_modified(design));
  loom_design_mark_saved(design);
  assert_false(loom_design_modified(design));
  loom_design_undo(design);
  assert_true(loom_design_modified(design));
  loom_design_redo(design);
  assert_false(loom_design_modified(design));
  loom_design_undo(design);
  edit = loom_edit_new(design, "Add another");
  add(edit, "switch");
  loom_design_apply(design, edit); /* the saved edit is out of reach now */
  loom_design_undo(design);
  assert_true(loom_design_modified(design));
}

static void
an_empty_edit_is_no_step(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomDesign) design = loom_design_new("d");
  guint64 revision = loom_design_revision(design);
  assert_false(loom_design_apply(design, loom_edit_new(design, "Nothing")));
  assert_int_equal(loom_design_revision(design), revision);
  assert_null(loom_design_undo_label(design));
}

static void
an_end_takes_one_joint_a_scene(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomDesign) design = chain();
  GError *error = NULL;
  LoomEdit *edit = loom_edit_new(design, "Plug");
  bool ok = loom_edit_plug(edit, "G1:out", "W1:b", LOOM_FIT_NORMAL, NULL, &error);
  fails(design, ok, edit, error, "G1:out is already plugged");
  edit = loom_edit_new(design, "Charge");
  assert_true(loom_edit_unplug(edit, "G1:out", "charging", NULL));
  assert_true(loom_edit_plug(edit, "G1:out", "W1:b", LOOM_FIT_NORMAL, NULL, NULL));
  loom_design_apply(design, edit);
  const LoomJoint *joint = loom_design_joint(design, loom_design_n_joints(design) - 1);
  assert_string_equal(joint->scenes[0], "charging");
  assert_null(joint->scenes[1]);
  assert_true(loom_joint_in_scene(loom_design_joint(design, 0), "driving"));
  assert_false(loom_joint_in_scene(loom_design_joint(design, 0), "charging"));
}

static void
studs_have_more_places(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomDesign) design = loom_design_new("d");
  LoomEdit *edit = loom_edit_new(design, "Build");
  add(edit, "block");
  add(edit, "wire-thin");
  plug(edit, "X1:t", "W1:a");
  plug(edit, "X1:t", "W1:c");
  g_autoptr(GError) error = NULL;
  assert_false(loom_edit_plug(edit, "X1:t", "W1:b", LOOM_FIT_NORMAL, NULL, &error));
  loom_edit_free(edit);
}

static void
what_cannot_be_is_refused(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomDesign) design = chain();
  static const struct {
    const char *target, *key, *value, *says;
  } cases[] = {
      {"Z9", "label", "x", "no part Z9"},
      {"Q1", "colour", "x", "no property colour"},
      {"Q1", "on", "maybe", "yes or no"},
      {"G1", "on", "yes", "no property on"},
      {"Q1", "designation", "q", "no designation"},
      {"Q1", "designation", "G1", "already is"},
      {"W1", "length_mm", "0", "not between"},
      {"W1", "length_mm", "nan", "not a number"},
      {"G1", "length_mm", "100", "only leads"},
      {"G1", "rated_A", "5", "no fuse"},
      {"G1", "address", "0x29", "no I²C address"},
      {"Q1", "turn", "45", "90"},
      {"G1:nothing", "tied", "yes", "has no end nothing"},
      {"W1:b", "tied", "yes", "Nothing is plugged"},
      {"G1:out", "fit", "sideways", "normal, turned or shifted"},
      {"G1:out", "scenes", "flying", "no scene flying"},
      {"scene:none", "note", "x", "no scene none"},
      {"state:driving/none", "Q1.on", "yes", "no state:driving/none"},
      {"state:driving/resting", "G1.on", "yes", "no switch"},
      {"state:driving/resting", "Q1.duty", "2", "from -1 to 1"},
      {"state:driving/resting", "Q7.on", "yes", "no part Q7"},
      {"design", "name", "", "has a name"},
      {"design", "ambient_C", "1e9", "not between"},
  };
  for (guint i = 0; i < G_N_ELEMENTS(cases); i++) {
    GError *error = NULL;
    LoomEdit *edit = loom_edit_new(design, "Set");
    bool ok = loom_edit_set(edit, cases[i].target, cases[i].key, cases[i].value, &error);
    fails(design, ok, edit, error, cases[i].says);
  }
}

static void
renaming_reaches_joints_states_and_scenes(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomDesign) design = chain();
  LoomEdit *edit = loom_edit_new(design, "Rename");
  assert_true(loom_edit_set(edit, "state:driving/resting", "Q1.on", "yes", NULL));
  assert_true(loom_edit_set(edit, "Q1", "designation", "Q7", NULL));
  assert_true(loom_edit_add_target(edit, "outing:driving/match", NULL));
  assert_true(loom_edit_set(edit, "outing:driving/match", "legs", "resting 60, resting 5.5", NULL));
  assert_true(loom_edit_set(edit, "state:driving/resting", "name", "idle", NULL));
  assert_true(loom_edit_set(edit, "G1:out", "scenes", "driving", NULL));
  assert_true(loom_edit_set(edit, "scene:driving", "name", "on the beach", NULL));
  loom_design_apply(design, edit);
  const LoomScene *scene = loom_design_scene(design, 0);
  assert_string_equal(loom_state_value(&scene->states[0], "Q7", "on"), "yes");
  assert_string_equal(scene->outings[0].legs[1].state, "idle");
  assert_double_equal(scene->outings[0].legs[1].seconds, 5.5, 0);
  assert_string_equal(loom_design_joint(design, 1)->b.part, "Q7");
  assert_string_equal(loom_design_joint(design, 0)->scenes[0], "on the beach");
}

static void
removing_a_part_takes_its_settings_along(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomDesign) design = chain();
  LoomEdit *edit = loom_edit_new(design, "Set and remove");
  assert_true(loom_edit_set(edit, "state:driving/resting", "Q1.on", "yes", NULL));
  assert_true(loom_edit_remove(edit, "Q1", NULL));
  loom_design_apply(design, edit);
  assert_int_equal(loom_design_scene(design, 0)->states[0].n_settings, 0);
  assert_int_equal(loom_design_n_joints(design), 1);
}

/* One random change to what the state says of 40 parts, and to the twin ("B3.duty" -> value). */
static void
stir(GRand *rand, LoomDesign *design, GHashTable *twin)
{
  static const char *const keys[] = {"duty", "torque_Nm"};
  char *key = g_strdup_printf("B%d.%s", g_rand_int_range(rand, 1, 41),
                              keys[g_rand_int_range(rand, 0, G_N_ELEMENTS(keys))]);
  g_autofree char *value = g_strdup_printf("%.2f", g_rand_double_range(rand, -1, 1));
  bool clear = g_rand_int_range(rand, 0, 3) == 0;
  LoomEdit *edit = loom_edit_new(design, "Set");
  assert_true(loom_edit_set(edit, "state:driving/resting", key, clear ? "" : value, NULL));
  loom_design_apply(design, edit);
  if (clear) {
    g_hash_table_remove(twin, key);
    g_free(key);
  } else {
    g_hash_table_insert(twin, key, g_steal_pointer(&value));
  }
}

static void
assert_state_is(const LoomDesign *design, GHashTable *twin)
{
  const LoomState *state = &loom_design_scene(design, 0)->states[0];
  assert_int_equal(state->n_settings, g_hash_table_size(twin));
  for (guint i = 1; i <= 40; i++)
    for (guint k = 0; k < 2; k++) {
      g_autofree char *part = g_strdup_printf("B%u", i);
      g_autofree char *key = g_strconcat(part, k ? ".duty" : ".torque_Nm", NULL);
      const char *want = g_hash_table_lookup(twin, key);
      const char *got = loom_state_value(state, part, k ? "duty" : "torque_Nm");
      if (g_strcmp0(want, got))
        fail_msg("%s is %s, not %s", key, got ? got : "unset", want ? want : "unset");
    }
}

static void
a_state_finds_what_it_sets(void **state G_GNUC_UNUSED)
{
  GRand *rand = g_rand_new_with_seed(3);
  g_autoptr(LoomDesign) design = loom_design_new("many");
  g_autoptr(GHashTable) twin = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, g_free);
  LoomEdit *edit = loom_edit_new(design, "Sensors");
  for (guint i = 0; i < 40; i++)
    add(edit, "sensor");
  loom_design_apply(design, edit);
  for (guint i = 0; i < 400; i++) {
    stir(rand, design, twin);
    assert_state_is(design, twin);
  }
  edit = loom_edit_new(design, "Rename");
  assert_true(loom_edit_set(edit, "B7", "designation", "B77", NULL));
  loom_design_apply(design, edit);
  const LoomState *after = &loom_design_scene(design, 0)->states[0];
  assert_null(loom_state_value(after, "B7", "duty"));
  assert_string_equal(loom_state_value(after, "B77", "duty"), g_hash_table_lookup(twin, "B7.duty"));
  loom_design_undo(design);
  assert_state_is(design, twin);
  g_rand_free(rand);
}

static void
a_copy_keeps_its_joints_and_gets_new_names(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomDesign) design = chain();
  const char *chosen[] = {"F1", "Q1"};
  g_autofree char *text = loom_design_extract(design, chosen, 2);
  g_autoptr(GPtrArray) given = g_ptr_array_new_with_free_func(g_free);
  LoomEdit *edit = loom_edit_new(design, "Paste");
  assert_true(loom_edit_paste(edit, text, 10, 10, given, NULL));
  loom_design_apply(design, edit);
  assert_int_equal(given->len, 2);
  assert_string_equal(given->pdata[0], "F2");
  const LoomJoint *joint = loom_design_joint(design, loom_design_n_joints(design) - 1);
  assert_string_equal(joint->a.part, "F2");
  assert_string_equal(joint->b.part, "Q2");
  g_autoptr(GError) error = NULL;
  edit = loom_edit_new(design, "Paste");
  assert_false(loom_edit_paste(edit, "hello", 0, 0, NULL, &error));
  loom_edit_free(edit);
}

static void
scenes_can_be_removed_but_for_the_last(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomDesign) design = chain();
  LoomEdit *edit = loom_edit_new(design, "Remove scene");
  assert_true(loom_edit_set(edit, "G1:out", "scenes", "charging", NULL));
  assert_true(loom_edit_remove_target(edit, "scene:charging", NULL));
  assert_int_equal(loom_design_n_joints(loom_edit_design(edit)), 2);
  g_autoptr(GError) error = NULL;
  assert_false(loom_edit_remove_target(edit, "scene:driving", &error));
  loom_design_apply(design, edit);
  loom_design_undo(design);
  assert_int_equal(loom_design_n_joints(design), 3);
}

static void
a_scene_has_the_parts_that_it_plugs_and_loose_ones(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomDesign) design = chain();
  LoomEdit *edit = loom_edit_new(design, "Charge");
  assert_string_equal(add(edit, "fuse"), "F2");
  assert_string_equal(add(edit, "fuse"), "F3");
  assert_true(loom_edit_unplug(edit, "G1:out", "charging", NULL));
  plug(edit, "G1:out", "F2:in");
  loom_design_apply(design, edit);
  g_autofree bool *driving = loom_design_scene_parts(design, 0);
  g_autofree bool *charging = loom_design_scene_parts(design, 1);
  guint f2 = loom_design_find_part(design, "F2"), f3 = loom_design_find_part(design, "F3");
  assert_false(driving[f2]);
  assert_true(charging[f2]);
  assert_true(driving[f3]); /* plugged nowhere: it is seen everywhere */
  assert_true(charging[f3]);
}

static void
a_cut_out_has_the_same_records(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomDesign) design = chain(); /* G1 - F1 - Q1 - W1 */
  bool parts[] = {true, true, false, true};
  g_autoptr(LoomDesign) cut = loom_design_cut_out(design, parts);
  assert_int_equal(loom_design_n_parts(cut), 3);
  assert_ptr_equal(loom_design_part(cut, 2), loom_design_part(design, 3));
  assert_int_equal(loom_design_find_part(cut, "Q1"), LOOM_NONE);
  assert_int_equal(loom_design_n_joints(cut), 1);
  assert_ptr_equal(loom_design_joint(cut, 0), loom_design_joint(design, 0));
  bool all[] = {true, true, true, true};
  g_autoptr(LoomDesign) whole = loom_design_cut_out(design, all);
  g_autofree char *text = loom_design_to_text(design);
  g_autofree char *same = loom_design_to_text(whole);
  assert_string_equal(same, text);
}

/* --- any sequence of edits can be undone to the byte --- */

static void
random_call(LoomEdit *edit, GRand *random)
{
  const LoomDesign *design = loom_edit_design(edit);
  guint n;
  const LoomKind *const *kinds = loom_catalogue_kinds(catalogue, &n);
  guint n_parts = loom_design_n_parts(design);
  const LoomPart *part =
      n_parts ? loom_design_part(design, (guint)g_rand_int_range(random, 0, (int)n_parts)) : NULL;
  const LoomPart *other =
      n_parts ? loom_design_part(design, (guint)g_rand_int_range(random, 0, (int)n_parts)) : NULL;
  g_autofree char *name = part ? g_strdup(part->designation) : NULL;
  int what = part ? g_rand_int_range(random, 0, 12) : 0;
  if (what <= 3) {
    loom_edit_add(edit, kinds[g_rand_int_range(random, 0, (int)n)], NULL, NAN, NAN, NULL);
  } else if (what <= 6) {
    g_autofree char *a = g_strdup_printf("%s:%s", name, part->kind->ends[0].id);
    g_autofree char *b =
        g_strdup_printf("%s:%s", other->designation, other->kind->ends[other->kind->n_ends - 1].id);
    loom_edit_plug(edit, a, b, LOOM_FIT_NORMAL, NULL, NULL);
  } else if (what == 7) {
    loom_edit_remove(edit, name, NULL);
  } else if (what == 8) {
    g_autofree char *key = g_strdup_printf("%s.load", name);
    loom_edit_set(edit, "state:driving/resting", key, g_rand_boolean(random) ? "free" : "", NULL);
  } else if (what == 9) {
    g_autofree char *to = g_strdup_printf("X%d", g_rand_int_range(random, 1, 40));
    loom_edit_set(edit, name, "designation", to, NULL);
  } else if (what == 10) {
    loom_edit_turn(edit, name, g_rand_int_range(random, -3, 4), NULL);
    loom_edit_move(edit, name, g_rand_int_range(random, 0, 99) * 5.0, 0.1, NULL);
  } else {
    g_autofree char *target = g_strdup_printf("scene:s%d", g_rand_int_range(random, 0, 3));
    if (!loom_edit_add_target(edit, target, NULL))
      loom_edit_remove_target(edit, target, NULL);
  }
}

static void
any_history_can_be_undone_to_the_byte(void **state G_GNUC_UNUSED)
{
  for (guint seed = 1; seed <= 30; seed++) {
    g_autoptr(GRand) random = g_rand_new_with_seed(seed);
    g_autoptr(LoomDesign) design = loom_design_new("random");
    g_autoptr(GPtrArray) texts = g_ptr_array_new_with_free_func(g_free);
    g_ptr_array_add(texts, loom_design_to_text(design));
    for (guint i = 0; i < 40; i++) {
      LoomEdit *edit = loom_edit_new(design, "Random");
      for (int k = g_rand_int_range(random, 1, 4); k > 0; k--)
        random_call(edit, random);
      g_autofree char *working = loom_design_to_text(loom_edit_design(edit));
      if (!loom_design_apply(design, edit))
        continue;
      g_ptr_array_add(texts, loom_design_to_text(design));
      assert_string_equal(working, texts->pdata[texts->len - 1]);
    }
    const char *last = texts->pdata[texts->len - 1];
    g_autoptr(GError) error = NULL;
    g_autoptr(LoomDesign) reread = loom_design_parse(last, strlen(last), "text", &error);
    if (error)
      fail_msg("seed %u: %s", seed, error->message);
    g_autofree char *again = loom_design_to_text(reread);
    assert_string_equal(again, last);
    for (guint i = texts->len - 1; i-- > 0;) {
      assert_true(loom_design_undo(design));
      g_autofree char *text = loom_design_to_text(design);
      assert_string_equal(text, texts->pdata[i]);
    }
    for (guint i = 1; i < texts->len; i++)
      assert_true(loom_design_redo(design));
    g_autofree char *redone = loom_design_to_text(design);
    assert_string_equal(redone, last);
  }
}

static void
names_are_usable_in_code(void **state G_GNUC_UNUSED)
{
  assert_true(loom_name_valid("drive_left"));
  assert_false(loom_name_valid("drive left"));
  assert_false(loom_name_valid("2nd"));
  assert_false(loom_name_valid("class"));
  assert_false(loom_name_valid(""));
  assert_true(loom_designation_valid("M12"));
  assert_false(loom_designation_valid("M0"));
  assert_false(loom_designation_valid("m1"));
  assert_false(loom_designation_valid("M1:"));
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(designations_take_the_lowest_free_number),
      cmocka_unit_test(undo_and_redo_give_the_same_bytes),
      cmocka_unit_test(modified_follows_the_history),
      cmocka_unit_test(an_empty_edit_is_no_step),
      cmocka_unit_test(an_end_takes_one_joint_a_scene),
      cmocka_unit_test(studs_have_more_places),
      cmocka_unit_test(what_cannot_be_is_refused),
      cmocka_unit_test(renaming_reaches_joints_states_and_scenes),
      cmocka_unit_test(removing_a_part_takes_its_settings_along),
      cmocka_unit_test(a_state_finds_what_it_sets),
      cmocka_unit_test(a_copy_keeps_its_joints_and_gets_new_names),
      cmocka_unit_test(scenes_can_be_removed_but_for_the_last),
      cmocka_unit_test(a_scene_has_the_parts_that_it_plugs_and_loose_ones),
      cmocka_unit_test(a_cut_out_has_the_same_records),
      cmocka_unit_test(any_history_can_be_undone_to_the_byte),
      cmocka_unit_test(names_are_usable_in_code),
  };
  return cmocka_run_group_tests_name("edit", tests, load, unload);
}
