#include "search-private.h"

/* Ends that look alike and mean alike get the same answer; it is worked out once. */
typedef struct {
  LoomSearch *search;
  LoomMeanings *meanings;
  GHashTable *known; /* key of the end -> pieces + 1; NOWHERE + 1: cannot */
} Rings;

#define NOWHERE (G_MAXUINT - 1)

static GBytes *
end_key(const LoomEnd *end, const LoomMeaning *means)
{
  g_autoptr(GString) key = g_string_new(end->family->id);
  g_string_append_printf(key, " %d %g", (int)end->gender, end->wire_mm2);
  for (guint i = 0; i < end->n_contacts; i++)
    g_string_append_printf(key, " %u=%u", end->contacts[i].way, means[i]);
  return g_string_free_to_bytes(g_steal_pointer(&key));
}

/* Least number of pieces to an end like this, NOWHERE if it cannot be reached. States come in the
 * order of their depth. */
static guint
least_pieces(const LoomSearch *search, const LoomEnd *end, const LoomMeaning *means)
{
  for (guint state = 0; state < search->states->len; state++)
    if (loom_search_is_goal(search, state, end, means))
      return loom_search_state(search, state)->depth;
  return NOWHERE;
}

static guint
pieces_to(Rings *r, guint part, guint end)
{
  LoomMeaning means[LOOM_MOST_WAYS];
  const LoomEnd *e = &loom_wiring_part(loom_meanings_wiring(r->meanings), part)->kind->ends[end];
  loom_meanings_of_end(r->meanings, part, end, means);
  GBytes *key = end_key(e, means);
  guint found = GPOINTER_TO_UINT(g_hash_table_lookup(r->known, key));
  if (found > 0) {
    g_bytes_unref(key);
    return found - 1;
  }
  guint pieces = least_pieces(r->search, e, means);
  g_hash_table_insert(r->known, key, GUINT_TO_POINTER(pieces + 1));
  return pieces;
}

static bool
is_taken(const LoomWiring *w, guint part, guint end)
{
  guint places = loom_wiring_part(w, part)->kind->ends[end].family->places;
  return loom_wiring_n_joints_at(w, part, end) >= MAX(places, 1);
}

static LoomRing
ring_of(Rings *r, guint part, guint end, const LoomEnd *dragged)
{
  const LoomWiring *w = loom_meanings_wiring(r->meanings);
  if (is_taken(w, part, end))
    return (LoomRing){LOOM_RING_TAKEN, 0};
  LoomEnd other = loom_wiring_part(w, part)->kind->ends[end];
  if (loom_mate(dragged, &other) == LOOM_MATE_YES)
    return (LoomRing){LOOM_RING_MATES, 0};
  guint pieces = pieces_to(r, part, end);
  if (pieces == NOWHERE)
    return (LoomRing){LOOM_RING_CANNOT, 0};
  return (LoomRing){LOOM_RING_PIECES, pieces};
}

/* A lead whose other end mates has only to be turned round. */
static void
turn_leads(LoomRings *rings, const LoomWiring *w)
{
  for (guint p = 0; p < w->n_parts; p++) {
    const LoomKind *kind = loom_wiring_part(w, p)->kind;
    LoomRing *ends = rings->ends + w->part_end[p];
    bool mates = false;
    for (guint e = 0; e < kind->n_ends; e++)
      mates |= ends[e].answer == LOOM_RING_MATES;
    for (guint e = 0; mates && loom_is_piece(kind) && e < kind->n_ends; e++)
      if (ends[e].answer == LOOM_RING_CANNOT || ends[e].answer == LOOM_RING_PIECES)
        ends[e] = (LoomRing){LOOM_RING_TURN, 0};
  }
}

/* The same where the lead is the one that is dragged: what its free other ends mate with. */
static void
turn_dragged(LoomRings *rings, const LoomWiring *w, guint part, guint end)
{
  const LoomKind *kind = loom_wiring_part(w, part)->kind;
  if (!loom_is_piece(kind))
    return;
  for (guint i = 0; i < w->n_ends; i++) {
    LoomRingAnswer answer = rings->ends[i].answer;
    guint p = w->end_part[i];
    if (p == part || (answer != LOOM_RING_CANNOT && answer != LOOM_RING_PIECES))
      continue;
    LoomEnd to = loom_wiring_part(w, p)->kind->ends[i - w->part_end[p]];
    for (guint e = 0; e < kind->n_ends; e++)
      if (e != end && !is_taken(w, part, e) && loom_mate(&kind->ends[e], &to) == LOOM_MATE_YES)
        rings->ends[i] = (LoomRing){LOOM_RING_TURN, 0};
  }
}

LoomRings *
loom_linkup_rings(const LoomPieces *pieces, const LoomDesign *design, guint scene, guint part,
                  guint end)
{
  LoomMeaning means[LOOM_MOST_WAYS];
  Rings r = {.meanings = loom_meanings_new(design, scene)};
  const LoomWiring *w = loom_meanings_wiring(r.meanings);
  const LoomEnd *dragged = &loom_wiring_part(w, part)->kind->ends[end];
  loom_meanings_of_end(r.meanings, part, end, means);
  r.search = loom_search_new(pieces, dragged, means);
  r.known = g_hash_table_new_full(g_bytes_hash, g_bytes_equal, (GDestroyNotify)g_bytes_unref, NULL);
  LoomRings *rings = g_new0(LoomRings, 1);
  rings->n_parts = w->n_parts;
  rings->n_ends = w->n_ends;
  rings->part_end = g_memdup2(w->part_end, (w->n_parts + 1) * sizeof *w->part_end);
  rings->ends = g_new0(LoomRing, w->n_ends);
  for (guint p = 0; p < w->n_parts; p++)
    for (guint e = 0; e < loom_wiring_part(w, p)->kind->n_ends; e++)
      rings->ends[w->part_end[p] + e] =
          p == part && e == end ? (LoomRing){LOOM_RING_SELF, 0} : ring_of(&r, p, e, dragged);
  turn_leads(rings, w);
  turn_dragged(rings, w, part, end);
  loom_search_free(r.search);
  loom_meanings_free(r.meanings);
  g_hash_table_unref(r.known);
  return rings;
}

void
loom_rings_free(LoomRings *rings)
{
  if (!rings)
    return;
  g_free(rings->part_end);
  g_free(rings->ends);
  g_free(rings);
}
