#include "compare-private.h"

#include <glib/gi18n-lib.h>
#include <math.h>
#include <string.h>

/* ---- title block ---- */

/* For the columns of a table, in no locale. New. */
static char *
celsius_value(double celsius)
{
  char digits[G_ASCII_DTOSTR_BUF_SIZE];
  g_ascii_formatd(digits, sizeof digits, "%.10g", celsius);
  return g_strconcat(digits, " °C", NULL);
}

static void
title_text(LoomCompareRoom *room, const char *what, const char *old, const char *now)
{
  if (g_strcmp0(old, now) != 0)
    loom_room_tell(room, LOOM_DIFFERENCE_TITLE, g_strdup("design"), g_strdup(old), g_strdup(now),
                   loom_text_sentence(what, old, now));
}

void
loom_compare_title(LoomCompareRoom *room)
{
  const LoomTitle *a = loom_design_title(room->design[OLD]);
  const LoomTitle *b = loom_design_title(room->design[NOW]);
  if (a == b)
    return;
  title_text(room, _("The name of the robot"), a->name, b->name);
  title_text(room, _("The revision"), a->revision, b->revision);
  title_text(room, _("The date"), a->date, b->date);
  title_text(room, _("Who drew it"), a->drawn_by, b->drawn_by);
  title_text(room, _("Who checked it"), a->checked_by, b->checked_by);
  title_text(room, _("The note on the drawing"), a->note, b->note);
  title_text(room, _("What the team does before plugging"), a->before, b->before);
  title_text(room, _("What the team does after the first power-up"), a->after, b->after);
  if (a->ambient_C < b->ambient_C || a->ambient_C > b->ambient_C)
    loom_room_tell(
        room, LOOM_DIFFERENCE_AMBIENT, g_strdup("design"), celsius_value(a->ambient_C),
        celsius_value(b->ambient_C),
        g_strdup_printf(_("The air around the wires is taken to be at %.10g °C now; before "
                          "at %.10g °C."),
                        b->ambient_C, a->ambient_C));
}

/* ---- partners within a scene ---- */

/* Two scenes, and which of their states are partners. */
typedef struct {
  LoomCompareRoom *room;
  const LoomScene *scene[2];
  guint n_states[2], n_outings[2];
  guint *state_to[2], *outing_to[2];
} Pair;

static char *
outing_name_key(const LoomCompareRoom *room G_GNUC_UNUSED, guint side, guint index,
                gconstpointer data)
{
  const Pair *pair = data;
  return g_strdup(pair->scene[side]->outings[index].name);
}

/* Legs in terms of partners; a state without one by its name. */
static char *
legs_text(const Pair *pair, guint side, const LoomOuting *outing)
{
  g_autoptr(GString) text = g_string_new(NULL);
  for (guint k = 0; k < outing->n_legs; k++) {
    guint state = loom_scene_find_state(pair->scene[side], outing->legs[k].state);
    guint to = state == LOOM_NONE ? LOOM_NONE : pair->state_to[side][state];
    if (to == LOOM_NONE)
      g_string_append_printf(text, "%s %a,", outing->legs[k].state, outing->legs[k].seconds);
    else
      g_string_append_printf(text, "%u %a,", side == OLD ? state : to, outing->legs[k].seconds);
  }
  return g_string_free(g_steal_pointer(&text), FALSE);
}

static char *
outing_content_key(const LoomCompareRoom *room G_GNUC_UNUSED, guint side, guint index,
                   gconstpointer data)
{
  const Pair *pair = data;
  return legs_text(pair, side, &pair->scene[side]->outings[index]);
}

static void
match_within(Pair *pair)
{
  loom_compare_match_states(pair->room, pair->scene, pair->state_to);
  for (guint side = OLD; side <= NOW; side++) {
    pair->n_states[side] = pair->scene[side]->n_states;
    pair->n_outings[side] = pair->scene[side]->n_outings;
    pair->outing_to[side] = loom_compare_no_partners(pair->n_outings[side]);
  }
  loom_room_join(pair->room, pair->n_outings, pair->outing_to, outing_name_key, pair);
  loom_room_join(pair->room, pair->n_outings, pair->outing_to, outing_content_key, pair);
}

/* ---- settings ---- */

/* What holds where a state says nothing. */
static const char *
unset_words(const char *key)
{
  if (g_str_equal(key, "on"))
    return _("as drawn");
  if (g_str_equal(key, "duty"))
    return _("not driven");
  return g_str_equal(key, "load") ? _("without load") : _("without a torque of its own");
}

/* "driven at 50 %": key and value in words. New. */
static char *
setting_words(const char *key, const char *value)
{
  if (!value)
    return g_strdup(unset_words(key));
  if (g_str_equal(key, "on"))
    return g_strdup(g_str_equal(value, "yes") ? _("switched on") : _("switched off"));
  if (g_str_equal(key, "duty"))
    return g_strdup_printf(_("driven at %.4g %%"), g_ascii_strtod(value, NULL) * 100);
  if (g_str_equal(key, "torque_Nm"))
    return g_strdup_printf(_("held with %.10g Nm"), g_ascii_strtod(value, NULL));
  return g_strdup(_(value));
}

static void
tell_setting(Pair *pair, const LoomState *state, const LoomPart *part, const char *key,
             const char *old_part, const char *old, const char *now)
{
  g_autofree char *words = loom_part_words(part);
  g_autofree char *a = setting_words(key, old), *b = setting_words(key, now);
  LoomDifference *d = loom_room_tell(
      pair->room, LOOM_DIFFERENCE_SETTING,
      g_strdup_printf("state:%s/%s", pair->scene[NOW]->name, state->name),
      old ? g_strdup_printf("%s.%s=%s", old_part, key, old) : NULL,
      now ? g_strdup_printf("%s.%s=%s", part->designation, key, now) : NULL,
      g_strdup_printf(_("In the state %s (scene %s) %s is %s now; before it was %s."), state->name,
                      pair->scene[NOW]->name, words, b, a));
  loom_difference_place(d, OLD, old_part, NULL);
  loom_difference_place(d, NOW, part->designation, NULL);
}

/* Values of a state by "pair.key". */
static GHashTable *
settings_of(const LoomCompareRoom *room, guint side, const LoomState *state)
{
  GHashTable *table = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
  for (guint i = 0; i < state->n_settings; i++) {
    const LoomSetting *s = &state->settings[i];
    guint pair = loom_room_pair(room, side, s->part);
    if (pair != LOOM_NONE)
      g_hash_table_insert(table, g_strdup_printf("%u.%s", pair, s->key), s->value);
  }
  return table;
}

static void
settings(Pair *pair, const LoomState *old, const LoomState *now)
{
  LoomCompareRoom *room = pair->room;
  const LoomState *states[2] = {old, now};
  g_autoptr(GHashTable) a = settings_of(room, OLD, old), b = settings_of(room, NOW, now);
  for (guint side = OLD; side <= NOW; side++)
    for (guint i = 0; i < states[side]->n_settings; i++) {
      const LoomSetting *s = &states[side]->settings[i];
      guint number = loom_room_pair(room, side, s->part);
      if (number == LOOM_NONE)
        continue;
      g_autofree char *name = g_strdup_printf("%u.%s", number, s->key);
      const char *before = g_hash_table_lookup(a, name), *after = g_hash_table_lookup(b, name);
      if (g_strcmp0(before, after) == 0 || (side == NOW && before))
        continue;
      const LoomPart *part = loom_design_part(room->design[NOW], room->part_to[OLD][number]);
      tell_setting(pair, now, part, s->key,
                   loom_design_part(room->design[OLD], number)->designation, before, after);
    }
}

/* ---- states and outings ---- */

/* "state:driving/pushing" */
static char *
within(const Pair *pair, guint side, const char *word, const char *name)
{
  return g_strdup_printf("%s:%s/%s", word, pair->scene[side]->name, name);
}

/* One that is new or gone; the sentence is taken. */
static void
tell_alone(Pair *pair, guint side, LoomDifferenceType type, const char *word, const char *name,
           char *sentence)
{
  char *value = g_strdup(name);
  loom_room_tell(pair->room, type, within(pair, side, word, name), side == OLD ? value : NULL,
                 side == NOW ? value : NULL, sentence);
}

/* The sentence is taken. */
static void
tell_name(Pair *pair, LoomDifferenceType type, const char *word, const char *old, const char *now,
          char *sentence)
{
  loom_room_tell(pair->room, type, within(pair, NOW, word, now), g_strdup(old), g_strdup(now),
                 sentence);
}

static void
states(Pair *pair)
{
  for (guint i = 0; i < pair->n_states[OLD]; i++) {
    const LoomState *old = &pair->scene[OLD]->states[i];
    if (pair->state_to[OLD][i] == LOOM_NONE) {
      tell_alone(pair, OLD, LOOM_DIFFERENCE_STATE_GONE, "state", old->name,
                 g_strdup_printf(_("The state %s (scene %s) is gone."), old->name,
                                 pair->scene[OLD]->name));
      continue;
    }
    const LoomState *now = &pair->scene[NOW]->states[pair->state_to[OLD][i]];
    if (!g_str_equal(old->name, now->name))
      tell_name(pair, LOOM_DIFFERENCE_STATE_NAME, "state", old->name, now->name,
                g_strdup_printf(_("The state %s (scene %s) is called %s now."), old->name,
                                pair->scene[NOW]->name, now->name));
    settings(pair, old, now);
  }
  for (guint i = 0; i < pair->n_states[NOW]; i++)
    if (pair->state_to[NOW][i] == LOOM_NONE)
      tell_alone(pair, NOW, LOOM_DIFFERENCE_STATE_NEW, "state", pair->scene[NOW]->states[i].name,
                 g_strdup_printf(_("The state %s (scene %s) is new."),
                                 pair->scene[NOW]->states[i].name, pair->scene[NOW]->name));
}

/* "driving 60 s, pushing 5 s"; with numbers for people or, `plain`, in no locale. New. */
static char *
legs_words(const LoomOuting *outing, bool plain)
{
  char digits[G_ASCII_DTOSTR_BUF_SIZE];
  g_autoptr(GPtrArray) words = g_ptr_array_new_with_free_func(g_free);
  for (guint k = 0; k < outing->n_legs; k++) {
    if (plain)
      g_ascii_formatd(digits, sizeof digits, "%.10g", outing->legs[k].seconds);
    else
      g_snprintf(digits, sizeof digits, "%.10g", outing->legs[k].seconds);
    g_ptr_array_add(words, g_strdup_printf("%s %s s", outing->legs[k].state, digits));
  }
  g_ptr_array_add(words, NULL);
  return words->len == 1 ? g_strdup(plain ? "nothing" : _("nothing"))
                         : g_strjoinv(", ", (char **)words->pdata);
}

static void
legs(Pair *pair, const LoomOuting *old, const LoomOuting *now)
{
  g_autofree char *a = legs_text(pair, OLD, old), *b = legs_text(pair, NOW, now);
  if (g_str_equal(a, b))
    return;
  g_autofree char *before = legs_words(old, false), *after = legs_words(now, false);
  loom_room_tell(pair->room, LOOM_DIFFERENCE_OUTING_LEGS, within(pair, NOW, "outing", now->name),
                 legs_words(old, true), legs_words(now, true),
                 g_strdup_printf(_("The outing %s (scene %s) runs %s now; before %s."), now->name,
                                 pair->scene[NOW]->name, after, before));
}

static void
outings(Pair *pair)
{
  for (guint i = 0; i < pair->n_outings[OLD]; i++) {
    const LoomOuting *old = &pair->scene[OLD]->outings[i];
    if (pair->outing_to[OLD][i] == LOOM_NONE) {
      tell_alone(pair, OLD, LOOM_DIFFERENCE_OUTING_GONE, "outing", old->name,
                 g_strdup_printf(_("The outing %s (scene %s) is gone."), old->name,
                                 pair->scene[OLD]->name));
      continue;
    }
    const LoomOuting *now = &pair->scene[NOW]->outings[pair->outing_to[OLD][i]];
    if (!g_str_equal(old->name, now->name))
      tell_name(pair, LOOM_DIFFERENCE_OUTING_NAME, "outing", old->name, now->name,
                g_strdup_printf(_("The outing %s (scene %s) is called %s now."), old->name,
                                pair->scene[NOW]->name, now->name));
    legs(pair, old, now);
  }
  for (guint i = 0; i < pair->n_outings[NOW]; i++)
    if (pair->outing_to[NOW][i] == LOOM_NONE)
      tell_alone(pair, NOW, LOOM_DIFFERENCE_OUTING_NEW, "outing", pair->scene[NOW]->outings[i].name,
                 g_strdup_printf(_("The outing %s (scene %s) is new."),
                                 pair->scene[NOW]->outings[i].name, pair->scene[NOW]->name));
}

/* ---- scenes ---- */

static guint
joints_named(const LoomDesign *design, const char *scene)
{
  guint n = 0;
  for (guint i = 0; i < loom_design_n_joints(design); i++) {
    const LoomJoint *joint = loom_design_joint(design, i);
    n += joint->scenes && loom_joint_in_scene(joint, scene);
  }
  return n;
}

static void
scene_alone(LoomCompareRoom *room, guint side, guint index)
{
  const char *name = loom_design_scene(room->design[side], index)->name;
  guint n = joints_named(room->design[side], name);
  char *value = g_strdup(name);
  g_autoptr(GString) said = g_string_new(NULL);
  g_string_printf(said, side == NOW ? _("The scene %s is new.") : _("The scene %s is gone."), name);
  if (n > 0)
    g_string_append_printf(
        said,
        side == NOW ? ngettext(" %u joint is made for it.", " %u joints are made for it.", n)
                    : ngettext(" %u joint was made for it.", " %u joints were made for it.", n),
        n);
  loom_room_tell(room, side == NOW ? LOOM_DIFFERENCE_SCENE_NEW : LOOM_DIFFERENCE_SCENE_GONE,
                 g_strdup_printf("scene:%s", name), side == OLD ? value : NULL,
                 side == NOW ? value : NULL, g_string_free(g_steal_pointer(&said), FALSE));
}

static void
scene_texts(LoomCompareRoom *room, const LoomScene *old, const LoomScene *now)
{
  if (!g_str_equal(old->name, now->name))
    loom_room_tell(room, LOOM_DIFFERENCE_SCENE_NAME, g_strdup_printf("scene:%s", now->name),
                   g_strdup(old->name), g_strdup(now->name),
                   g_strdup_printf(_("The scene %s is called %s now."), old->name, now->name));
  if (g_strcmp0(old->note, now->note) == 0)
    return;
  g_autofree char *subject = g_strdup_printf(_("The note on the scene %s"), now->name);
  loom_room_tell(room, LOOM_DIFFERENCE_NOTE, g_strdup_printf("scene:%s", now->name),
                 g_strdup(old->note), g_strdup(now->note),
                 loom_text_sentence(subject, old->note, now->note));
}

static void
scene_partners(LoomCompareRoom *room, const LoomScene *old, const LoomScene *now)
{
  Pair pair = {.room = room, .scene = {old, now}};
  if (old == now)
    return;
  scene_texts(room, old, now);
  match_within(&pair);
  states(&pair);
  outings(&pair);
  for (guint side = OLD; side <= NOW; side++) {
    g_free(pair.state_to[side]);
    g_free(pair.outing_to[side]);
  }
}

void
loom_compare_scenes(LoomCompareRoom *room)
{
  for (guint i = 0; i < room->n_scenes[OLD]; i++)
    if (room->scene_to[OLD][i] == LOOM_NONE)
      scene_alone(room, OLD, i);
    else
      scene_partners(room, loom_design_scene(room->design[OLD], i),
                     loom_design_scene(room->design[NOW], room->scene_to[OLD][i]));
  for (guint i = 0; i < room->n_scenes[NOW]; i++)
    if (room->scene_to[NOW][i] == LOOM_NONE)
      scene_alone(room, NOW, i);
}
