#include "pieces-private.h"

#include "electric/conductor.h"
#include "meaning.h"

#include <math.h>
#include <string.h>

bool
loom_is_piece(const LoomKind *kind)
{
  if (kind->n_ends < 2 || !(kind->lead || kind->group == LOOM_GROUP_LEAD))
    return false;
  for (guint i = 0; i < kind->n_elements; i++)
    if (kind->elements[i].type > LOOM_ELEMENT_THROUGH)
      return false;
  for (guint i = 0; i < kind->n_ends; i++)
    if (kind->ends[i].n_contacts == 0 || kind->ends[i].family->ways > LOOM_MOST_WAYS)
      return false;
  return true;
}

/* What one element of a piece adds to a conductor. */
static double
element_ohm(const LoomKind *kind, const LoomElement *e)
{
  if (e->type == LOOM_ELEMENT_THROUGH)
    return isnan(e->ohm) ? 0 : e->ohm;
  double length_mm = isnan(e->length_mm) ? kind->length_mm : e->length_mm;
  double ohm = loom_conductor_ohm(e->mm2, isnan(length_mm) ? 0 : length_mm, 20);
  return isnan(ohm) ? 0 : ohm;
}

static double
element_rating_A(const LoomElement *e)
{
  return e->type == LOOM_ELEMENT_WIRE ? loom_ampacity_A(e->mm2, NULL) : e->rated_A;
}

/* The way of least resistance from one node to all others: ohm (INFINITY where there is none) and
 * the rating of the weakest element on it. */
typedef struct {
  double *ohm, *rating_A; /* [n_nodes] */
} Ways;

static void
relax(const LoomKind *kind, guint from, Ways *w)
{
  for (guint i = 0; i < kind->n_nodes; i++) {
    w->ohm[i] = i == from ? 0 : INFINITY;
    w->rating_A[i] = NAN;
  }
  bool more = true;
  for (guint round = 0; more && round < kind->n_nodes; round++) {
    more = false;
    for (guint i = 0; i < 2 * kind->n_elements; i++) {
      const LoomElement *e = &kind->elements[i / 2];
      guint a = i % 2 ? e->b : e->a, b = i % 2 ? e->a : e->b;
      double ohm = w->ohm[a] + element_ohm(kind, e);
      if (!(ohm < w->ohm[b]))
        continue;
      w->ohm[b] = ohm;
      w->rating_A[b] = fmin(w->rating_A[a], element_rating_A(e));
      more = true;
    }
  }
}

/* Fills the map of ways from `in` to `out` and the piece's worst figures; false where nothing leads
 * through. */
static bool
measure(LoomPiece *piece, guint64 *map)
{
  const LoomKind *kind = piece->kind;
  const LoomEnd *in = &kind->ends[piece->in], *out = &kind->ends[piece->out];
  g_autofree double *room = g_new(double, 2 * kind->n_nodes);
  Ways ways = {room, room + kind->n_nodes};
  bool through = false;
  piece->ohm = 0;
  piece->rating_A = NAN;
  memset(map, 0, LOOM_MOST_WAYS * sizeof *map);
  for (guint c = 0; c < in->n_contacts; c++) {
    relax(kind, in->first_node + c, &ways);
    for (guint d = 0; d < out->n_contacts; d++) {
      guint node = out->first_node + d;
      if (isinf(ways.ohm[node]))
        continue;
      map[in->contacts[c].way - 1] |= G_GUINT64_CONSTANT(1) << (out->contacts[d].way - 1);
      piece->ohm = fmax(piece->ohm, ways.ohm[node]);
      piece->rating_A = fmin(piece->rating_A, ways.rating_A[node]);
      through = true;
    }
  }
  return through;
}

bool
loom_piece_map(const LoomKind *kind, guint from, guint to, guint64 *map)
{
  LoomPiece piece = {.kind = kind, .in = from, .out = to};
  return measure(&piece, map);
}

/* The size of a wire matters only to terminals. */
static char *
class_key(const LoomPieces *pieces, const LoomEnd *end)
{
  bool sized = g_hash_table_contains(pieces->takers, end->family->id) && !isnan(end->wire_mm2);
  return g_strdup_printf("%s %d %g", end->family->id, (int)end->gender, sized ? end->wire_mm2 : 0);
}

static GArray *
list_in(GHashTable *table, const char *id)
{
  GArray *list = g_hash_table_lookup(table, id);
  if (!list) {
    list = g_array_new(FALSE, FALSE, sizeof(guint));
    g_hash_table_insert(table, (char *)id, list);
  }
  return list;
}

static guint
add_class(LoomPieces *pieces, const LoomEnd *end)
{
  char *key = class_key(pieces, end);
  guint index = GPOINTER_TO_UINT(g_hash_table_lookup(pieces->by_key, key));
  if (index > 0) {
    g_free(key);
    return index - 1;
  }
  LoomPieceClass class = {.like = end,
                          .into = g_array_new(FALSE, FALSE, sizeof(guint)),
                          .from = g_array_new(FALSE, FALSE, sizeof(guint))};
  g_array_append_val(pieces->classes, class);
  index = pieces->classes->len - 1;
  g_hash_table_insert(pieces->by_key, key, GUINT_TO_POINTER(index + 1));
  g_array_append_val(list_in(pieces->by_family, end->family->id), index);
  return index;
}

static guint
add_step(LoomPieces *pieces, GHashTable *known, const LoomPiece *piece, const guint64 *map)
{
  const LoomEnd *in = &piece->kind->ends[piece->in], *out = &piece->kind->ends[piece->out];
  LoomPieceStep step = {.in_class = add_class(pieces, in), .out_class = add_class(pieces, out)};
  g_autoptr(GString) key = g_string_new(NULL);
  g_string_printf(key, "%u %u", step.in_class, step.out_class);
  for (guint w = 0; w < in->family->ways; w++)
    g_string_append_printf(key, " %" G_GINT64_MODIFIER "x", map[w]);
  guint index = GPOINTER_TO_UINT(g_hash_table_lookup(known, key->str));
  if (index > 0)
    return index - 1;
  step.map = g_memdup2(map, in->family->ways * sizeof *map);
  step.pieces = g_array_new(FALSE, FALSE, sizeof(LoomPiece));
  g_array_append_val(pieces->steps, step);
  g_hash_table_insert(known, g_strdup(key->str), GUINT_TO_POINTER(pieces->steps->len));
  return pieces->steps->len - 1;
}

/* Of one kind only the better way through a step is kept (both ways round of an even lead, the arms
 * of a Y-lead). */
static void
add_to_step(LoomPieceStep *step, const LoomPiece *piece)
{
  LoomPiece *last =
      step->pieces->len ? &g_array_index(step->pieces, LoomPiece, step->pieces->len - 1) : NULL;
  if (!last || last->kind != piece->kind)
    g_array_append_vals(step->pieces, piece, 1);
  else if (piece->ohm < last->ohm)
    *last = *piece;
}

static void
add_piece_kind(LoomPieces *pieces, GHashTable *known, const LoomKind *kind)
{
  guint64 map[LOOM_MOST_WAYS];
  for (guint in = 0; in < kind->n_ends; in++)
    for (guint out = 0; out < kind->n_ends; out++) {
      LoomPiece piece = {.kind = kind, .in = in, .out = out, .open_ends = kind->n_ends - 2};
      if (in == out || !measure(&piece, map))
        continue;
      guint step = add_step(pieces, known, &piece, map);
      add_to_step(&g_array_index(pieces->steps, LoomPieceStep, step), &piece);
    }
  pieces->n_pieces++;
}

static void
add_family(LoomPieces *pieces, const LoomFamily *family)
{
  if (g_hash_table_contains(pieces->families, family->id))
    return;
  g_hash_table_insert(pieces->families, family->id, loom_family_ref(family));
  for (char **taken = family->accepts; taken && *taken; taken++) {
    GPtrArray *takers = g_hash_table_lookup(pieces->takers, *taken);
    if (!takers) {
      takers = g_ptr_array_new();
      g_hash_table_insert(pieces->takers, *taken, takers);
    }
    g_ptr_array_add(takers, family->id);
  }
}

static void
add_families(LoomPieces *pieces, const LoomCatalogue *catalogue)
{
  guint n = 0;
  const LoomFamily *const *families = catalogue ? loom_catalogue_families(catalogue, &n) : NULL;
  for (guint i = 0; i < n; i++)
    add_family(pieces, families[i]);
  for (guint i = 0; i < pieces->kinds->len; i++) {
    const LoomKind *kind = pieces->kinds->pdata[i];
    for (guint e = 0; e < kind->n_ends; e++)
      add_family(pieces, kind->ends[e].family);
  }
}

static void
append_mating(const LoomPieces *pieces, const LoomEnd *end, const char *family, GArray *classes)
{
  GArray *list = g_hash_table_lookup(pieces->by_family, family);
  for (guint i = 0; list && i < list->len; i++) {
    guint index = g_array_index(list, guint, i);
    LoomEnd like = *loom_pieces_class(pieces, index)->like; /* never the same end as `end` */
    if (loom_mate(end, &like) == LOOM_MATE_YES)
      g_array_append_val(classes, index);
  }
}

/* Classes that mate with the end, each once. */
static GArray *
mating_classes(const LoomPieces *pieces, const LoomEnd *end)
{
  GArray *classes = g_array_new(FALSE, FALSE, sizeof(guint));
  append_mating(pieces, end, end->family->id, classes);
  for (char **taken = end->family->accepts; taken && *taken; taken++)
    if (!g_str_equal(*taken, end->family->id))
      append_mating(pieces, end, *taken, classes);
  GPtrArray *takers = g_hash_table_lookup(pieces->takers, end->family->id);
  for (guint i = 0; takers && i < takers->len; i++)
    if (!g_str_equal(takers->pdata[i], end->family->id) &&
        !(end->family->accepts &&
          g_strv_contains((const char *const *)end->family->accepts, takers->pdata[i])))
      append_mating(pieces, end, takers->pdata[i], classes);
  return classes;
}

static void
append_steps_from(const LoomPieces *pieces, const LoomEnd *end, GArray *steps)
{
  g_autoptr(GArray) classes = mating_classes(pieces, end);
  for (guint i = 0; i < classes->len; i++) {
    const GArray *into = loom_pieces_class(pieces, g_array_index(classes, guint, i))->into;
    g_array_append_vals(steps, into->data, into->len);
  }
}

GArray *
loom_pieces_steps_from(const LoomPieces *pieces, const LoomEnd *end)
{
  GArray *steps = g_array_new(FALSE, FALSE, sizeof(guint));
  append_steps_from(pieces, end, steps);
  return steps;
}

static void
link_steps(LoomPieces *pieces)
{
  for (guint i = 0; i < pieces->steps->len; i++) {
    guint in = loom_pieces_step(pieces, i)->in_class;
    g_array_append_val(loom_pieces_class(pieces, in)->into, i);
  }
  for (guint i = 0; i < pieces->classes->len; i++) {
    const LoomPieceClass *class = loom_pieces_class(pieces, i);
    append_steps_from(pieces, class->like, class->from);
  }
}

static int
by_id(gconstpointer a, gconstpointer b)
{
  return strcmp((*(LoomKind *const *)a)->id, (*(LoomKind *const *)b)->id);
}

/* Kinds of the catalogue, then those of the design's parts under other ids, by id. */
static void
collect_kinds(LoomPieces *pieces, const LoomCatalogue *catalogue, const LoomDesign *design)
{
  g_autoptr(GHashTable) known = g_hash_table_new(g_str_hash, g_str_equal);
  guint n = 0;
  const LoomKind *const *kinds = catalogue ? loom_catalogue_kinds(catalogue, &n) : NULL;
  for (guint i = 0; i < n; i++)
    if (g_hash_table_add(known, kinds[i]->id))
      g_ptr_array_add(pieces->kinds, loom_kind_ref(kinds[i]));
  n = design ? loom_design_n_parts(design) : 0;
  for (guint i = 0; i < n; i++) {
    const LoomKind *kind = loom_design_part(design, i)->kind;
    if (g_hash_table_add(known, kind->id))
      g_ptr_array_add(pieces->kinds, loom_kind_ref(kind));
  }
  g_ptr_array_sort(pieces->kinds, by_id);
}

static void
free_lists(gpointer list)
{
  g_array_unref(list);
}

static void
free_takers(gpointer takers)
{
  g_ptr_array_unref(takers);
}

LoomPieces *
loom_pieces_new(const LoomCatalogue *catalogue, const LoomDesign *design)
{
  LoomPieces *pieces = g_new0(LoomPieces, 1);
  pieces->kinds = g_ptr_array_new_with_free_func((GDestroyNotify)loom_kind_unref);
  pieces->classes = g_array_new(FALSE, FALSE, sizeof(LoomPieceClass));
  pieces->steps = g_array_new(FALSE, FALSE, sizeof(LoomPieceStep));
  pieces->by_key = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
  pieces->by_family = g_hash_table_new_full(g_str_hash, g_str_equal, NULL, free_lists);
  pieces->takers = g_hash_table_new_full(g_str_hash, g_str_equal, NULL, free_takers);
  pieces->families =
      g_hash_table_new_full(g_str_hash, g_str_equal, NULL, (GDestroyNotify)loom_family_unref);
  collect_kinds(pieces, catalogue, design);
  add_families(pieces, catalogue);
  g_autoptr(GHashTable) known = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
  for (guint i = 0; i < pieces->kinds->len; i++)
    if (loom_is_piece(pieces->kinds->pdata[i]))
      add_piece_kind(pieces, known, pieces->kinds->pdata[i]);
  link_steps(pieces);
  return pieces;
}

void
loom_pieces_free(LoomPieces *pieces)
{
  if (!pieces)
    return;
  for (guint i = 0; i < pieces->classes->len; i++) {
    g_array_unref(loom_pieces_class(pieces, i)->into);
    g_array_unref(loom_pieces_class(pieces, i)->from);
  }
  for (guint i = 0; i < pieces->steps->len; i++) {
    g_free(loom_pieces_step(pieces, i)->map);
    g_array_unref(loom_pieces_step(pieces, i)->pieces);
  }
  g_array_unref(pieces->classes);
  g_array_unref(pieces->steps);
  g_hash_table_unref(pieces->by_key);
  g_hash_table_unref(pieces->by_family);
  g_hash_table_unref(pieces->takers);
  g_hash_table_unref(pieces->families);
  g_ptr_array_unref(pieces->kinds);
  g_free(pieces);
}

guint
loom_pieces_count(const LoomPieces *pieces)
{
  return pieces->n_pieces;
}

const LoomPieceClass *
loom_pieces_class(const LoomPieces *pieces, guint index)
{
  return &g_array_index(pieces->classes, LoomPieceClass, index);
}

const LoomPieceStep *
loom_pieces_step(const LoomPieces *pieces, guint index)
{
  return &g_array_index(pieces->steps, LoomPieceStep, index);
}

guint
loom_pieces_find_class(const LoomPieces *pieces, const LoomEnd *end)
{
  g_autofree char *key = class_key(pieces, end);
  return GPOINTER_TO_UINT(g_hash_table_lookup(pieces->by_key, key)) - 1;
}
