#include "csv.h"
#include "stages-private.h"

#include <glib/gi18n-lib.h>
#include <math.h>

/* One joint on its way into the order. */
typedef struct {
  guint wired;
  LoomStage stage;
  bool source;
  bool pack;
  guint place;                      /* in the order of visits; LOOM_NONE: no place was given */
  guint distance;                   /* on the supply side: from its source */
  guint part, end, to_part, to_end; /* in the hand, and where it goes */
} Entry;

typedef struct {
  LoomStages *stages;
  const LoomWiring *w;
  GArray *entries; /* Entry, as they are to be plugged */
  GArray *steps;   /* LoomStep */
  GPtrArray *notes;
} Builder;

static const LoomPart *
part_at(const Builder *b, guint part)
{
  return loom_wiring_part(b->w, part);
}

/* ---- which end is in the hand ---- */

static bool
is_source_end(const Builder *b, guint part)
{
  const LoomKind *kind = part_at(b, part)->kind;
  for (guint i = 0; i < kind->n_elements; i++)
    if (kind->elements[i].type == LOOM_ELEMENT_SOURCE)
      return true;
  return false;
}

/* The lower, the rather in the hand: a source's own plug, a lead, a pigtail, a fixed end. */
static guint
handiness(const Builder *b, const LoomJointStage *stage, guint part, guint end)
{
  if (stage->source && is_source_end(b, part))
    return 0;
  const LoomKind *kind = part_at(b, part)->kind;
  if (kind->lead)
    return 1;
  return kind->ends[end].pigtail_mm > 0 ? 2 : 3;
}

static void
choose_hand(const Builder *b, const LoomJointStage *stage, const LoomWiredJoint *j, Entry *entry)
{
  bool a = handiness(b, stage, j->part_a, j->end_a) <= handiness(b, stage, j->part_b, j->end_b);
  entry->part = a ? j->part_a : j->part_b;
  entry->end = a ? j->end_a : j->end_b;
  entry->to_part = a ? j->part_b : j->part_a;
  entry->to_end = a ? j->end_b : j->end_a;
}

/* ---- where one has to be ---- */

static const char *
place_of(const Builder *b, const Entry *entry)
{
  const char *place = part_at(b, entry->to_part)->place;
  return place ? place : part_at(b, entry->part)->place;
}

/* Numbers the places in the order in which the parts of the design name them. */
static GHashTable *
number_places(const Builder *b)
{
  GHashTable *places = g_hash_table_new(g_str_hash, g_str_equal);
  for (guint p = 0; p < b->w->n_parts; p++) {
    char *place = part_at(b, p)->place;
    if (place && !g_hash_table_contains(places, place))
      g_hash_table_insert(places, place, GUINT_TO_POINTER(g_hash_table_size(places) + 1));
  }
  return places;
}

static void
place_entries(Builder *b)
{
  g_autoptr(GHashTable) places = number_places(b);
  for (guint i = 0; i < b->entries->len; i++) {
    Entry *entry = &g_array_index(b->entries, Entry, i);
    const char *place = place_of(b, entry);
    entry->place = place ? GPOINTER_TO_UINT(g_hash_table_lookup(places, place)) - 1 : LOOM_NONE;
  }
}

/* ---- the order of joints ---- */

static LoomStage
stage_of(const LoomJointStage *joint)
{
  if (joint->source || joint->side == LOOM_SIDE_FEEDS)
    return LOOM_STAGE_C;
  return joint->side == LOOM_SIDE_SUPPLY ? LOOM_STAGE_B : LOOM_STAGE_A;
}

static void
list_entries(Builder *b)
{
  for (guint i = 0; i < b->w->n_joints; i++) {
    const LoomJointStage *joint = &b->stages->joints[i];
    if (joint->side == LOOM_SIDE_RADIO)
      continue;
    Entry entry = {
        .wired = i, .stage = stage_of(joint), .source = joint->source, .pack = joint->pack};
    entry.distance = joint->side == LOOM_SIDE_SUPPLY ? joint->distance : 0;
    choose_hand(b, joint, &b->w->joints[i], &entry);
    g_array_append_val(b->entries, entry);
  }
}

static int
order_of(guint a, guint b)
{
  return (a > b) - (a < b);
}

/* Stage; sources after all others, packs after other sources; place; from the far end of the supply
 * towards its source; then by the part that it goes to, as its ends are numbered. */
static int
compare(gconstpointer a, gconstpointer b)
{
  const Entry *x = a, *y = b;
  int keys[] = {order_of(x->stage, y->stage),       order_of(x->source, y->source),
                order_of(x->pack, y->pack),         order_of(x->place, y->place),
                order_of(y->distance, x->distance), order_of(x->to_part, y->to_part),
                order_of(x->to_end, y->to_end),     order_of(x->wired, y->wired)};
  for (guint i = 0; i < G_N_ELEMENTS(keys); i++)
    if (keys[i])
      return keys[i];
  return 0;
}

/* ---- steps ---- */

static LoomStep *
add_step(Builder *b, LoomStage stage, LoomStepAct act)
{
  LoomStep step = {.stage = stage,
                   .act = act,
                   .joint = LOOM_NONE,
                   .end = LOOM_NONE,
                   .to_part = LOOM_NONE,
                   .to_end = LOOM_NONE,
                   .black_part = LOOM_NONE,
                   .black_end = LOOM_NONE,
                   .plus = LOOM_NONE,
                   .minus = LOOM_NONE,
                   .nominal_V = NAN,
                   .low_V = NAN,
                   .high_V = NAN};
  g_array_append_val(b->steps, step);
  return &g_array_index(b->steps, LoomStep, b->steps->len - 1);
}

static void
add_joint(Builder *b, LoomStage stage, LoomStepAct act, const Entry *entry, bool again)
{
  LoomStep *step = add_step(b, stage, act);
  step->joint = b->w->joints[entry->wired].joint;
  step->part = entry->part;
  step->end = entry->end;
  step->to_part = entry->to_part;
  step->to_end = entry->to_end;
  step->source = entry->source;
  step->again = again;
}

static void
add_switches(Builder *b, LoomStage stage, LoomStepAct act, guint supply)
{
  for (guint p = 0; p < b->w->n_parts; p++)
    if (b->stages->switches[p] && (supply == LOOM_NONE || b->stages->part_supply[p] == supply))
      add_step(b, stage, act)->part = p;
}

static void
add_measures(Builder *b, guint supply)
{
  g_autoptr(GArray) volts = loom_stages_volts(b->stages, supply);
  for (guint i = 0; i < volts->len; i++) {
    const LoomStageVolts *v = &g_array_index(volts, LoomStageVolts, i);
    LoomStep *step = add_step(b, LOOM_STAGE_B, LOOM_STEP_MEASURE);
    step->part = v->red_part;
    step->end = v->red_end;
    step->plus = v->plus;
    step->black_part = v->black_part;
    step->black_end = v->black_end;
    step->minus = v->minus;
    step->nominal_V = v->nominal_V;
    step->low_V = v->low_V;
    step->high_V = v->high_V;
  }
}

static bool
is_tried(const Builder *b, const Entry *entry, guint supply)
{
  const LoomJointStage *joint = &b->stages->joints[entry->wired];
  return joint->source && joint->side == LOOM_SIDE_SUPPLY && joint->supply == supply;
}

/* The supply alone: source joints, on, volts, off, apart. */
static void
try_supply(Builder *b, guint supply)
{
  for (guint i = 0; i < b->entries->len; i++)
    if (is_tried(b, &g_array_index(b->entries, Entry, i), supply))
      add_joint(b, LOOM_STAGE_B, LOOM_STEP_PLUG, &g_array_index(b->entries, Entry, i), false);
  add_switches(b, LOOM_STAGE_B, LOOM_STEP_SWITCH_ON, supply);
  add_measures(b, supply);
  add_switches(b, LOOM_STAGE_B, LOOM_STEP_SWITCH_OFF, supply);
  for (guint i = b->entries->len; i-- > 0;)
    if (is_tried(b, &g_array_index(b->entries, Entry, i), supply))
      add_joint(b, LOOM_STAGE_B, LOOM_STEP_UNPLUG, &g_array_index(b->entries, Entry, i), false);
}

static void
add_stage(Builder *b, LoomStage stage)
{
  for (guint i = 0; i < b->entries->len; i++) {
    const Entry *entry = &g_array_index(b->entries, Entry, i);
    const LoomJointStage *joint = &b->stages->joints[entry->wired];
    if (entry->stage != stage)
      continue;
    bool again = joint->supply != LOOM_NONE && is_tried(b, entry, joint->supply) &&
                 b->stages->tried[joint->supply];
    add_joint(b, stage, LOOM_STEP_PLUG, entry, again);
  }
}

static void
add_steps(Builder *b)
{
  add_stage(b, LOOM_STAGE_A);
  bool any = false;
  for (guint i = 0; i < b->entries->len; i++)
    any |= g_array_index(b->entries, Entry, i).stage != LOOM_STAGE_A;
  if (!any)
    return;
  add_switches(b, LOOM_STAGE_B, LOOM_STEP_SWITCH_OFF, LOOM_NONE);
  add_stage(b, LOOM_STAGE_B);
  for (guint supply = 0; supply < b->stages->n_supplies; supply++)
    if (b->stages->tried[supply])
      try_supply(b, supply);
  add_stage(b, LOOM_STAGE_C);
}

/* ---- groups, notes ---- */

static const char *
place_of_step(const Builder *b, const LoomStep *step)
{
  const char *place = step->to_part == LOOM_NONE ? NULL : part_at(b, step->to_part)->place;
  return place ? place : part_at(b, step->part)->place;
}

static void
group_steps(const Builder *b, LoomSteps *result)
{
  GArray *groups = g_array_new(FALSE, FALSE, sizeof(LoomStepGroup));
  LoomStepGroup *last = NULL;
  for (guint i = 0; i < result->n_steps; i++) {
    const LoomStep *step = &result->steps[i];
    const char *place = place_of_step(b, step);
    if (!place && last && step->act != LOOM_STEP_PLUG)
      place = last->place; /* switching and measuring follow what was plugged */
    if (!last || last->stage != step->stage || g_strcmp0(last->place, place) != 0) {
      LoomStepGroup group = {step->stage, g_strdup(place), i, 0};
      g_array_append_val(groups, group);
      last = &g_array_index(groups, LoomStepGroup, groups->len - 1);
    }
    last->n++;
  }
  result->n_groups = groups->len;
  result->groups = (LoomStepGroup *)g_array_free(groups, FALSE);
}

/* Whether the supply has a switch, or feeds nothing but parts that have one of their own. */
static bool
is_switched(const Builder *b, guint supply)
{
  bool feeds = false, all = true;
  for (guint p = 0; p < b->w->n_parts; p++)
    if (b->stages->switches[p] && b->stages->part_supply[p] == supply)
      return true;
  for (guint i = 0; i < b->w->n_joints; i++) {
    if (b->stages->joints[i].side != LOOM_SIDE_FEEDS || b->stages->joints[i].supply != supply)
      continue;
    const LoomWiredJoint *j = &b->w->joints[i];
    bool a_gives = loom_stages_supply_of(b->stages, j->part_a, j->end_a) != LOOM_NONE;
    feeds = true;
    all &= part_at(b, a_gives ? j->part_b : j->part_a)->kind->has_switch;
  }
  return !feeds || all;
}

/* A pack of the supply, by its joints; LOOM_NONE where none is plugged. */
static guint
pack_of(const Builder *b, guint supply)
{
  for (guint i = 0; i < b->entries->len; i++) {
    const Entry *entry = &g_array_index(b->entries, Entry, i);
    if (entry->pack && b->stages->joints[entry->wired].supply == supply)
      return entry->part;
  }
  return LOOM_NONE;
}

static void
add_notes(Builder *b)
{
  bool any_source = false;
  for (guint supply = 0; supply < b->stages->n_supplies; supply++) {
    guint pack = pack_of(b, supply);
    any_source |= pack != LOOM_NONE;
    if (pack != LOOM_NONE && !is_switched(b, supply))
      g_ptr_array_add(b->notes,
                      g_strdup_printf(_("There is no switch behind %s: everything is live from the "
                                        "moment that it is plugged."),
                                      part_at(b, pack)->designation));
  }
  if (!any_source)
    g_ptr_array_add(b->notes, g_strdup(_("No pack is plugged in this scene.")));
}

LoomSteps *
loom_steps_new(const LoomDesign *design, guint scene)
{
  Builder b = {.stages = loom_stages_new(design, scene)};
  b.w = b.stages->wiring;
  b.entries = g_array_new(FALSE, FALSE, sizeof(Entry));
  b.steps = g_array_new(FALSE, FALSE, sizeof(LoomStep));
  b.notes = g_ptr_array_new();
  list_entries(&b);
  place_entries(&b);
  g_array_sort(b.entries, compare);
  add_steps(&b);
  add_notes(&b);
  LoomSteps *result = g_new0(LoomSteps, 1);
  result->n_steps = b.steps->len;
  result->steps = (LoomStep *)g_array_free(b.steps, FALSE);
  for (guint i = 0; i < result->n_steps; i++)
    loom_step_words(b.w, &result->steps[i]);
  group_steps(&b, result);
  g_ptr_array_add(b.notes, NULL);
  result->notes = (char **)g_ptr_array_free(b.notes, FALSE);
  g_array_unref(b.entries);
  loom_stages_free(b.stages);
  return result;
}

void
loom_steps_free(LoomSteps *steps)
{
  if (!steps)
    return;
  for (guint i = 0; i < steps->n_steps; i++) {
    g_free(steps->steps[i].from);
    g_free(steps->steps[i].to);
    g_free(steps->steps[i].sentence);
    g_free(steps->steps[i].home);
  }
  for (guint i = 0; i < steps->n_groups; i++)
    g_free(steps->groups[i].place);
  g_free(steps->steps);
  g_free(steps->groups);
  g_strfreev(steps->notes);
  g_free(steps);
}

const char *
loom_stage_word(LoomStage stage)
{
  static const char *const words[] = {"A", "B", "C"};
  return words[stage];
}

const char *
loom_stage_label(LoomStage stage)
{
  static const char *const labels[] = {N_("Everything but the supply"), N_("The supply alone"),
                                       N_("The controller in, the pack last")};
  return labels[stage];
}

char *
loom_steps_to_csv(const LoomSteps *steps)
{
  g_autoptr(LoomCsv) csv = loom_csv_new();
  loom_csv_row(csv, "step", "stage", "from", "to", "sentence", NULL);
  for (guint i = 0; i < steps->n_steps; i++) {
    const LoomStep *step = &steps->steps[i];
    g_autofree char *sentence =
        step->home ? g_strconcat(step->sentence, " ", step->home, NULL) : g_strdup(step->sentence);
    loom_csv_whole(csv, i + 1);
    loom_csv_text(csv, loom_stage_word(step->stage));
    loom_csv_text(csv, step->from);
    loom_csv_text(csv, step->to);
    loom_csv_text(csv, sentence);
    loom_csv_end_row(csv);
  }
  return g_strdup(loom_csv_bytes(csv));
}
