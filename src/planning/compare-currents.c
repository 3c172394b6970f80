#include "compare-private.h"

#include "electric/solve.h"

#include <glib/gi18n-lib.h>
#include <math.h>

/* A scene solved on one side. */
typedef struct {
  LoomWiring *wiring;
  LoomNetwork *network;
} Solved;

/* One state on both sides. */
typedef struct {
  LoomCompareRoom *room;
  const Solved *solved; /* [2] */
  LoomOperatingPoint *point[2];
  const char *name; /* of the state now, or NULL: as drawn */
  const char *scene;
  GPtrArray *groups; /* Group */
} State;

/* Ends whose currents changed alike: a whole supply chain is told once. */
typedef struct {
  double old_A, now_A;
  bool turned;    /* it flows the other way */
  GArray *places; /* Place */
} Group;

typedef struct {
  guint part[2], end[2];
} Place;

static void
group_free(gpointer data)
{
  Group *group = data;
  g_array_unref(group->places);
  g_free(group);
}

static Solved
solved_new(const LoomDesign *design, guint scene)
{
  Solved solved = {loom_wiring_new(design, scene), NULL};
  solved.network = loom_network_new(solved.wiring);
  return solved;
}

static void
solved_clear(Solved *solved)
{
  loom_network_free(solved->network);
  loom_wiring_free(solved->wiring);
}

static LoomOperatingPoint *
solve(const Solved *solved, const LoomState *state)
{
  g_autoptr(LoomSolver) solver = loom_solver_new(solved->network, state);
  LoomConditions now = loom_conditions(solved->network);
  return loom_solver_run(solver, &now);
}

/* Currents into the part on the contact of the two ends that carries most; false where neither end
 * has a contact of the other's name. */
static bool
currents_at(const State *state, const Place *place, double *old, double *now)
{
  double most = -1;
  const LoomWiring *a = state->solved[OLD].wiring, *b = state->solved[NOW].wiring;
  const LoomEnd *end = &loom_wiring_part(a, place->part[OLD])->kind->ends[place->end[OLD]];
  const LoomEnd *other = &loom_wiring_part(b, place->part[NOW])->kind->ends[place->end[NOW]];
  for (guint c = 0; c < end->n_contacts; c++) {
    guint there = loom_end_find_contact(other, end->contacts[c].name);
    if (there == LOOM_NONE)
      continue;
    double x = state->point[OLD]->into_A[loom_wiring_node(a, place->part[OLD], place->end[OLD], c)];
    double y =
        state->point[NOW]->into_A[loom_wiring_node(b, place->part[NOW], place->end[NOW], there)];
    if (!(MAX(fabs(x), fabs(y)) > most))
      continue;
    most = MAX(fabs(x), fabs(y));
    *old = x;
    *now = y;
  }
  return most >= 0;
}

static bool
differs(double old, double now)
{
  double most = MAX(fabs(old), fabs(now)), change = fabs(now - old);
  return change > LOOM_COMPARE_SHARE * most && change > LOOM_COMPARE_LEAST_A;
}

static bool
none(double current_A)
{
  return fabs(current_A) < LOOM_COMPARE_LEAST_A;
}

static char *
amps(double current_A)
{
  return none(current_A) ? g_strdup(_("nothing")) : g_strdup_printf("%.3g A", fabs(current_A));
}

/* The same for the columns of a table, in no locale. */
static char *
amps_value(double current_A)
{
  char digits[G_ASCII_DTOSTR_BUF_SIZE];
  if (none(current_A))
    return g_strdup("nothing");
  g_ascii_formatd(digits, sizeof digits, "%.3g", fabs(current_A));
  return g_strconcat(digits, " A", NULL);
}

static void
put_place(State *state, GHashTable *groups, const Place *place, double old, double now)
{
  g_autofree char *a = amps(old), *b = amps(now);
  bool turned = old * now < 0;
  g_autofree char *key = g_strdup_printf("%s %s %d", a, b, turned);
  Group *group = g_hash_table_lookup(groups, key);
  if (!group) {
    group = g_new0(Group, 1);
    *group = (Group){old, now, turned, g_array_new(FALSE, FALSE, sizeof(Place))};
    g_ptr_array_add(state->groups, group);
    g_hash_table_insert(groups, g_steal_pointer(&key), group);
  }
  g_array_append_val(group->places, *place);
}

static void
compare_ends(State *state, GHashTable *groups, guint old, guint now)
{
  const LoomKind *kind = loom_wiring_part(state->solved[OLD].wiring, old)->kind;
  const LoomKind *other = loom_wiring_part(state->solved[NOW].wiring, now)->kind;
  for (guint e = 0; e < kind->n_ends; e++) {
    Place place = {{old, now}, {e, loom_kind_find_end(other, kind->ends[e].id)}};
    double before = 0, after = 0;
    if (place.end[NOW] != LOOM_NONE && currents_at(state, &place, &before, &after) &&
        differs(before, after))
      put_place(state, groups, &place, before, after);
  }
}

/* "pushing (scene driving)", or "the scene driving". New. */
static char *
state_words(const State *state)
{
  return state->name
             ? g_strdup_printf(C_("after in", "the state %s (scene %s)"), state->name, state->scene)
             : g_strdup_printf(C_("after in", "the scene %s"), state->scene);
}

static char *
state_target(const State *state)
{
  return state->name ? g_strdup_printf("state:%s/%s", state->scene, state->name)
                     : g_strdup_printf("scene:%s", state->scene);
}

static char *
flow_sentence(const char *in, const char *list, const Group *group)
{
  g_autofree char *old = amps(group->old_A), *now = amps(group->now_A);
  if (none(group->now_A))
    return g_strdup_printf(_("In %s no current flows at %s now; before it was %s."), in, list, old);
  if (none(group->old_A))
    return g_strdup_printf(_("In %s a current of %s flows at %s now; before there was none."), in,
                           now, list);
  return g_strdup_printf(
      group->turned ? _("In %s the current at %s is %s now, the other way round; before it was %s.")
                    : _("In %s the current at %s is %s now; before it was %s."),
      in, list, now, old);
}

static void
tell_group(const State *state, const Group *group)
{
  g_autofree char *in = state_words(state);
  g_autoptr(GPtrArray) names = g_ptr_array_new_with_free_func(g_free);
  for (guint i = 0; i < group->places->len; i++) {
    const Place *p = &g_array_index(group->places, Place, i);
    g_ptr_array_add(names,
                    loom_wiring_end_name(state->solved[NOW].wiring, p->part[NOW], p->end[NOW]));
  }
  g_autofree char *list = loom_compare_list(names, 4);
  char *old = amps_value(group->old_A), *now = amps_value(group->now_A);
  LoomDifference *d = loom_room_tell(state->room, LOOM_DIFFERENCE_CURRENT, g_strdup(list), old, now,
                                     flow_sentence(in, list, group));
  for (guint i = 0; i < group->places->len; i++) {
    const Place *p = &g_array_index(group->places, Place, i);
    for (guint side = OLD; side <= NOW; side++) {
      const LoomPart *part = loom_wiring_part(state->solved[side].wiring, p->part[side]);
      loom_difference_place(d, side, part->designation, part->kind->ends[p->end[side]].id);
    }
  }
}

/* A state that only one side can supply. */
static void
tell_trouble(const State *state)
{
  guint side = state->point[NOW]->trouble ? NOW : OLD;
  if (state->point[1 - side]->trouble)
    return;
  g_autofree char *in = state_words(state);
  g_autofree char *why = loom_point_why(state->point[side], state->solved[side].network);
  char *value = g_strdup(why);
  loom_room_tell(state->room, side == NOW ? LOOM_DIFFERENCE_POINT_GONE : LOOM_DIFFERENCE_POINT_NEW,
                 state_target(state), side == OLD ? value : NULL, side == NOW ? value : NULL,
                 side == NOW
                     ? g_strdup_printf(_("The robot cannot run in %s any more: %s"), in, why)
                     : g_strdup_printf(_("The robot can run in %s again. Before: %s"), in, why));
}

/* Greatest change first. */
static int
by_change(gconstpointer a, gconstpointer b)
{
  const Group *x = *(Group *const *)a, *y = *(Group *const *)b;
  double dx = fabs(x->now_A - x->old_A), dy = fabs(y->now_A - y->old_A);
  return (dx < dy) - (dx > dy);
}

static void
compare_state(State *state)
{
  if (state->point[OLD]->trouble || state->point[NOW]->trouble) {
    tell_trouble(state);
    return;
  }
  g_autoptr(GHashTable) groups = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
  state->groups = g_ptr_array_new_with_free_func(group_free);
  for (guint i = 0; i < state->room->n_parts[OLD]; i++)
    if (state->room->part_to[OLD][i] != LOOM_NONE)
      compare_ends(state, groups, i, state->room->part_to[OLD][i]);
  g_ptr_array_sort(state->groups, by_change);
  for (guint i = 0; i < state->groups->len; i++)
    tell_group(state, state->groups->pdata[i]);
  g_ptr_array_unref(state->groups);
}

static void
solve_both(LoomCompareRoom *room, const Solved *solved, const char *scene, const LoomState *old,
           const LoomState *now)
{
  State state = {.room = room, .solved = solved, .name = now ? now->name : NULL, .scene = scene};
  state.point[OLD] = solve(&solved[OLD], old);
  state.point[NOW] = solve(&solved[NOW], now);
  compare_state(&state);
  loom_point_free(state.point[OLD]);
  loom_point_free(state.point[NOW]);
}

static void
compare_scene(LoomCompareRoom *room, guint old, guint now)
{
  const LoomScene *a = loom_design_scene(room->design[OLD], old);
  const LoomScene *b = loom_design_scene(room->design[NOW], now);
  Solved solved[2] = {solved_new(room->design[OLD], old), solved_new(room->design[NOW], now)};
  const LoomScene *scenes[2] = {a, b};
  guint *to[2];
  loom_compare_match_states(room, scenes, to);
  for (guint i = 0; i < a->n_states; i++)
    if (to[OLD][i] != LOOM_NONE)
      solve_both(room, solved, b->name, &a->states[i], &b->states[to[OLD][i]]);
  g_free(to[OLD]);
  g_free(to[NOW]);
  if (a->n_states == 0 && b->n_states == 0)
    solve_both(room, solved, b->name, NULL, NULL);
  solved_clear(&solved[OLD]);
  solved_clear(&solved[NOW]);
}

void
loom_compare_currents(LoomCompareRoom *room)
{
  for (guint i = 0; i < room->n_scenes[OLD]; i++)
    if (room->scene_to[OLD][i] != LOOM_NONE)
      compare_scene(room, i, room->scene_to[OLD][i]);
}
