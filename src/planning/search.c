#include "search-private.h"

#include <math.h>

/* A bound on memory and time for catalogues that are made to exceed it; ordinary ones stay far
 * below. */
#define MOST_STATES 20000

const LoomSearchState *
loom_search_state(const LoomSearch *s, guint state)
{
  return &g_array_index(s->states, LoomSearchState, state);
}

const guint64 *
loom_search_ways(const LoomSearch *s, guint state)
{
  return &g_array_index(s->ways, guint64, state * s->n);
}

const LoomEnd *
loom_search_open_end(const LoomSearch *s, guint state)
{
  return state == 0 ? s->from
                    : loom_pieces_class(s->pieces, loom_search_state(s, state)->class)->like;
}

/* Class and ways of a state as bytes, to find it again. */
static GBytes *
state_key(guint class, const guint64 *ways, guint n)
{
  guint64 key[LOOM_MOST_WAYS + 1];
  key[0] = class;
  for (guint i = 0; i < n; i++)
    key[i + 1] = ways[i];
  return g_bytes_new(key, (n + 1) * sizeof *key);
}

static guint
add_state(LoomSearch *s, GHashTable *known, guint class, const guint64 *ways, guint depth)
{
  g_autoptr(GBytes) key = state_key(class, ways, s->n);
  guint found = GPOINTER_TO_UINT(g_hash_table_lookup(known, key));
  if (found > 0)
    return found - 1;
  if (s->states->len == MOST_STATES)
    return LOOM_NONE;
  LoomSearchState state = {.class = class, .depth = depth};
  g_array_append_val(s->states, state);
  g_array_append_vals(s->ways, ways, s->n);
  g_hash_table_insert(known, g_steal_pointer(&key), GUINT_TO_POINTER(s->states->len));
  return s->states->len - 1;
}

/* What the ways become behind a step; false where nothing is left or two that clash have met. */
static bool
pass(const LoomSearch *s, const guint64 *ways, const LoomPieceStep *step, guint64 *out)
{
  guint n_ways = loom_pieces_class(s->pieces, step->in_class)->like->family->ways;
  guint64 any = 0;
  for (guint i = 0; i < s->n; i++) {
    out[i] = 0;
    for (guint w = 0; w < n_ways; w++)
      if (ways[i] >> w & 1)
        out[i] |= step->map[w];
    for (guint k = 0; k < i; k++)
      if ((out[i] & out[k]) && loom_meanings_clash(s->means[i], s->means[k]))
        return false;
    any |= out[i];
  }
  return any != 0;
}

static void
expand(LoomSearch *s, GHashTable *known, guint index, const GArray *steps)
{
  guint64 ways[LOOM_MOST_WAYS], out[LOOM_MOST_WAYS];
  for (guint i = 0; i < s->n; i++)
    ways[i] = loom_search_ways(s, index)[i];
  guint depth = loom_search_state(s, index)->depth, first = s->moves->len;
  for (guint i = 0; i < steps->len; i++) {
    LoomSearchMove move = {.step = g_array_index(steps, guint, i)};
    const LoomPieceStep *step = loom_pieces_step(s->pieces, move.step);
    if (!pass(s, ways, step, out))
      continue;
    move.to = add_state(s, known, step->out_class, out, depth + 1);
    if (move.to != LOOM_NONE && move.to != index)
      g_array_append_val(s->moves, move);
  }
  LoomSearchState *state = &g_array_index(s->states, LoomSearchState, index);
  state->first_move = first;
  state->n_moves = s->moves->len - first;
}

LoomSearch *
loom_search_new(const LoomPieces *pieces, const LoomEnd *from, const LoomMeaning *means)
{
  LoomSearch *s = g_new0(LoomSearch, 1);
  s->pieces = pieces;
  s->from = from;
  s->n = MIN(from->n_contacts, LOOM_MOST_WAYS);
  s->states = g_array_new(FALSE, FALSE, sizeof(LoomSearchState));
  s->moves = g_array_new(FALSE, FALSE, sizeof(LoomSearchMove));
  s->ways = g_array_new(FALSE, FALSE, sizeof(guint64));
  guint64 ways[LOOM_MOST_WAYS] = {0};
  for (guint i = 0; i < s->n; i++) {
    s->means[i] = means[i];
    ways[i] = from->contacts[i].way <= LOOM_MOST_WAYS
                  ? G_GUINT64_CONSTANT(1) << (from->contacts[i].way - 1)
                  : 0;
  }
  g_autoptr(GHashTable) known =
      g_hash_table_new_full(g_bytes_hash, g_bytes_equal, (GDestroyNotify)g_bytes_unref, NULL);
  add_state(s, known, loom_pieces_find_class(pieces, from), ways, 0);
  g_autoptr(GArray) first = loom_pieces_steps_from(pieces, from);
  expand(s, known, 0, first);
  for (guint i = 1; i < s->states->len; i++)
    if (loom_search_state(s, i)->depth < LOOM_LINKUP_LONGEST)
      expand(s, known, i, loom_pieces_class(pieces, loom_search_state(s, i)->class)->from);
  return s;
}

void
loom_search_free(LoomSearch *s)
{
  if (!s)
    return;
  g_array_unref(s->states);
  g_array_unref(s->moves);
  g_array_unref(s->ways);
  g_free(s);
}

bool
loom_search_is_goal(const LoomSearch *s, guint state, const LoomEnd *to, const LoomMeaning *means)
{
  LoomEnd open = *loom_search_open_end(s, state); /* never the same record as `to` */
  if (to->n_contacts > LOOM_MOST_WAYS || loom_mate(&open, to) != LOOM_MATE_YES)
    return false;
  return loom_meanings_compare(s->means, loom_search_ways(s, state), s->n, to, means) == LOOM_FITS;
}

double
loom_piece_price(const LoomStock *stock, const LoomKind *kind)
{
  double own = loom_stock_price(stock, kind->id);
  return isnan(own) ? kind->price : own;
}

guint
loom_piece_spare(const LoomStock *stock, GHashTable *used, const LoomKind *kind)
{
  guint have = loom_stock_count(stock, kind->id);
  guint in_design = used ? GPOINTER_TO_UINT(g_hash_table_lookup(used, kind->id)) : 0;
  return have > in_design ? have - in_design : 0;
}

double
loom_link_joint_ohm(const LoomEnd *a, const LoomEnd *b)
{
  double ohm = loom_joint_ohm(a, b);
  return isnan(ohm) ? 0 : 2 * ohm;
}

bool
loom_link_live_pins(const LoomEnd *first, const LoomEnd *second, LoomLiveSide live)
{
  if (live == LOOM_LIVE_NEITHER)
    return false;
  const LoomEnd *end = live == LOOM_LIVE_FIRST ? first : second;
  return end->gender == LOOM_GENDER_PINS && loom_end_touchable(end);
}
