#include "search-private.h"

#include <math.h>
#include <string.h>

/* What carries too little comes after everything that carries enough: two passes. */
typedef enum {
  STRONG, /* nothing weak is taken */
  WEAK,   /* everything is taken, and only what has a weak place arrives */
} Pass;

/* Of the pieces of one step that carry enough only this many can stand in the best chains, and as
 * many of those that do not: a better one takes the place of a worse one, unless the chain holds it
 * already. */
#define PIECES_A_STEP (LOOM_LINKUP_BEST + LOOM_LINKUP_LONGEST)

int
loom_chain_cost_compare(const LoomChainCost *a, const LoomChainCost *b)
{
  if (a->live_pins != b->live_pins)
    return a->live_pins < b->live_pins ? -1 : 1;
  if (a->joints != b->joints)
    return a->joints < b->joints ? -1 : 1;
  if (a->open_ends != b->open_ends)
    return a->open_ends < b->open_ends ? -1 : 1;
  if (a->to_buy != b->to_buy)
    return a->to_buy < b->to_buy ? -1 : 1;
  if (a->price != b->price)
    return a->price < b->price ? -1 : 1;
  return (a->nano_ohm > b->nano_ohm) - (a->nano_ohm < b->nano_ohm);
}

static LoomChainCost
sum(LoomChainCost a, LoomChainCost b)
{
  return (LoomChainCost){a.live_pins + b.live_pins, a.joints + b.joints, a.open_ends + b.open_ends,
                         a.to_buy + b.to_buy,       a.price + b.price,   a.nano_ohm + b.nano_ohm};
}

static gint64
nano(double ohm)
{
  return (gint64)llround(ohm * 1e9);
}

static LoomChainCost
joint_cost(const LoomEnd *first, const LoomEnd *second, LoomLiveSide live)
{
  return (LoomChainCost){.live_pins = loom_link_live_pins(first, second, live),
                         .joints = 1,
                         .nano_ohm = nano(loom_link_joint_ohm(first, second))};
}

static LoomChainCost
piece_cost(const LoomPiece *piece, double price, bool in_stock)
{
  LoomChainCost cost = {.open_ends = piece->open_ends, .nano_ohm = nano(2 * piece->ohm)};
  cost.to_buy = !in_stock;
  cost.price = in_stock || isnan(price) ? 0 : (gint64)llround(price * 1e4);
  return cost;
}

/* A piece as this question sees it. */
typedef struct {
  const LoomPiece *piece;
  guint spare; /* in stock and not in the design */
  double price;
  bool weak;
  LoomChainCost least; /* if none of the kind stands in the chain yet */
} Choice;

typedef struct {
  Choice *choices;
  guint n;
} Choices;

/* One path: the choice at its end, and the path before it. */
typedef struct Path Path;
struct Path {
  const Path *before;  /* NULL: the first end */
  guint state, length; /* pieces so far */
  const Choice *choice;
  bool in_stock, arrived, weak;
  LoomChainCost cost, bound; /* so far; at least in the end */
};

typedef struct {
  const LoomSearch *search;
  const LoomSearchGoal *goal;
  Choices *choices;     /* [steps of the pieces] those that moves use */
  bool *is_goal;        /* [states] */
  LoomChainCost *least; /* [LONGEST + 1][states] with at most so many pieces more */
  bool *known;          /* the same: whether there is a way */
  guint longest;
  Pass pass;
  bool any_weak;    /* piece or joint */
  GPtrArray *paths; /* all that were made, to be freed */
  GPtrArray *heap;  /* those that wait, the best on top */
} Best;

static int
compare_choices(gconstpointer a, gconstpointer b)
{
  const Choice *x = a, *y = b;
  int order = loom_chain_cost_compare(&x->least, &y->least);
  return order ? order : strcmp(x->piece->kind->id, y->piece->kind->id);
}

/* The best of those that carry enough, and of those that do not, in one order. */
static guint
keep_best(Choice *choices, guint n)
{
  guint kept = 0, of[2] = {0, 0};
  for (guint i = 0; i < n; i++)
    if (of[choices[i].weak]++ < PIECES_A_STEP)
      choices[kept++] = choices[i];
  return kept;
}

static void
list_choices(Best *b, guint step)
{
  const GArray *pieces = loom_pieces_step(b->search->pieces, step)->pieces;
  Choice *choices = g_new(Choice, pieces->len);
  for (guint i = 0; i < pieces->len; i++) {
    const LoomPiece *piece = &g_array_index(pieces, LoomPiece, i);
    guint spare = loom_piece_spare(b->goal->stock, b->goal->used, piece->kind);
    double price = loom_piece_price(b->goal->stock, piece->kind);
    bool weak = piece->rating_A * b->goal->hot < b->goal->need_A;
    choices[i] = (Choice){piece, spare, price, weak, piece_cost(piece, price, spare > 0)};
    b->any_weak |= weak;
  }
  qsort(choices, pieces->len, sizeof *choices, compare_choices);
  b->choices[step] = (Choices){choices, keep_best(choices, pieces->len)};
}

static bool
may_take(const Best *b, const Choice *choice)
{
  return b->pass == WEAK || !choice->weak;
}

/* The least that a step costs; NULL where nothing of it may be taken. */
static const LoomChainCost *
least_of(const Best *b, guint step)
{
  for (guint i = 0; i < b->choices[step].n; i++)
    if (may_take(b, &b->choices[step].choices[i]))
      return &b->choices[step].choices[i].least;
  return NULL;
}

static bool
is_weak_joint(Best *b, guint state, const LoomEnd *in)
{
  double rated_A = loom_joint_rated_A(loom_search_open_end(b->search, state), in);
  bool weak = rated_A > 0 && rated_A < b->goal->need_A;
  b->any_weak |= weak;
  return weak;
}

static const LoomEnd *
end_of_step(const Best *b, guint step)
{
  guint class = loom_pieces_step(b->search->pieces, step)->in_class;
  return loom_pieces_class(b->search->pieces, class)->like;
}

static LoomChainCost
into_step(const Best *b, guint state, guint step)
{
  return joint_cost(loom_search_open_end(b->search, state), end_of_step(b, step), b->goal->live);
}

static LoomChainCost
into_goal(const Best *b, guint state)
{
  return joint_cost(loom_search_open_end(b->search, state), b->goal->to, b->goal->live);
}

/* Least cost from the state with at most `more` pieces, from what is known with one piece less. */
static void
bound_state(Best *b, guint more, guint state)
{
  guint n = b->search->states->len, at = more * n + state;
  b->known[at] = b->is_goal[state] && (!is_weak_joint(b, state, b->goal->to) || b->pass == WEAK);
  if (b->known[at])
    b->least[at] = into_goal(b, state);
  const LoomSearchState *s = loom_search_state(b->search, state);
  for (guint m = s->first_move; more > 0 && m < s->first_move + s->n_moves; m++) {
    const LoomSearchMove *move = &g_array_index(b->search->moves, LoomSearchMove, m);
    guint after = (more - 1) * n + move->to;
    const LoomChainCost *piece = least_of(b, move->step);
    bool weak = is_weak_joint(b, state, end_of_step(b, move->step));
    if (!b->known[after] || !piece || (weak && b->pass == STRONG))
      continue;
    LoomChainCost cost = sum(into_step(b, state, move->step), sum(*piece, b->least[after]));
    if (!b->known[at] || loom_chain_cost_compare(&cost, &b->least[at]) < 0)
      b->least[at] = cost;
    b->known[at] = true;
  }
}

/* The kinds of a path, from the first to the last; returns how many. */
static guint
spell(const Path *path, const Choice *choices[])
{
  guint n = path->length;
  for (; path->before; path = path->before)
    choices[path->length - 1] = path->choice;
  return n;
}

static int
compare_spelling(const Path *a, const Path *b)
{
  const Choice *x[LOOM_LINKUP_LONGEST], *y[LOOM_LINKUP_LONGEST];
  guint n = spell(a, x), m = spell(b, y);
  for (guint i = 0; i < MIN(n, m); i++) {
    int order = strcmp(x[i]->piece->kind->id, y[i]->piece->kind->id);
    if (order)
      return order;
    if (x[i]->piece->in != y[i]->piece->in)
      return x[i]->piece->in < y[i]->piece->in ? -1 : 1;
  }
  return n == m ? b->arrived - a->arrived : n < m ? -1 : 1;
}

static bool
better(const Path *a, const Path *b)
{
  int order = loom_chain_cost_compare(&a->bound, &b->bound);
  return (order ? order : compare_spelling(a, b)) < 0;
}

static void
push(Best *b, Path *path)
{
  g_ptr_array_add(b->paths, path);
  g_ptr_array_add(b->heap, path);
  gpointer *heap = b->heap->pdata;
  for (guint i = b->heap->len - 1; i > 0 && better(heap[i], heap[(i - 1) / 2]); i = (i - 1) / 2) {
    gpointer above = heap[(i - 1) / 2];
    heap[(i - 1) / 2] = heap[i];
    heap[i] = above;
  }
}

static Path *
pop(Best *b)
{
  gpointer *heap = b->heap->pdata;
  Path *top = heap[0];
  heap[0] = heap[b->heap->len - 1];
  g_ptr_array_set_size(b->heap, (int)b->heap->len - 1);
  for (guint i = 0, n = b->heap->len;;) {
    guint best = i;
    for (guint child = 2 * i + 1; child <= 2 * i + 2 && child < n; child++)
      if (better(heap[child], heap[best]))
        best = child;
    if (best == i)
      return top;
    gpointer above = heap[best];
    heap[best] = heap[i];
    heap[i] = above;
    i = best;
  }
}

static bool
passed(const Path *path, guint state)
{
  for (; path; path = path->before)
    if (path->state == state)
      return true;
  return false;
}

static guint
used_in(const Path *path, const LoomKind *kind)
{
  guint used = 0;
  for (; path->before; path = path->before)
    used += path->choice->piece->kind == kind;
  return used;
}

static void
arrive(Best *b, const Path *path)
{
  bool weak = path->weak || is_weak_joint(b, path->state, b->goal->to);
  if (weak != (b->pass == WEAK))
    return;
  Path *end = g_memdup2(path, sizeof *path);
  end->arrived = true;
  end->cost = end->bound = sum(path->cost, into_goal(b, path->state));
  push(b, end);
}

static void
extend(Best *b, const Path *path, const LoomSearchMove *move)
{
  guint left = b->longest - path->length - 1;
  guint at = left * b->search->states->len + move->to;
  bool weak = path->weak || is_weak_joint(b, path->state, end_of_step(b, move->step));
  if (!b->known[at] || passed(path, move->to) || (weak && b->pass == STRONG))
    return;
  const Choices *choices = &b->choices[move->step];
  LoomChainCost before = sum(path->cost, into_step(b, path->state, move->step));
  for (guint i = 0; i < choices->n; i++) {
    const Choice *choice = &choices->choices[i];
    if (!may_take(b, choice))
      continue;
    Path *next = g_new0(Path, 1);
    *next = (Path){.before = path, .state = move->to, .length = path->length + 1, .choice = choice};
    next->weak = weak || choice->weak;
    next->in_stock = choice->spare > used_in(path, choice->piece->kind);
    next->cost = sum(before, piece_cost(choice->piece, choice->price, next->in_stock));
    next->bound = sum(next->cost, b->least[at]);
    push(b, next);
  }
}

static void
write_chain(const Path *path, LoomChain *chain)
{
  chain->n_pieces = path->length;
  chain->cost = path->cost;
  for (; path->before; path = path->before) {
    chain->pieces[path->length - 1] = path->choice->piece;
    chain->in_stock[path->length - 1] = path->in_stock;
  }
}

static guint
take_best(Best *b, LoomChain *chains, guint room)
{
  guint found = 0;
  g_ptr_array_set_size(b->heap, 0);
  push(b, g_new0(Path, 1));
  while (b->heap->len > 0 && found < room) {
    Path *path = pop(b);
    if (path->arrived) {
      write_chain(path, &chains[found++]);
      continue;
    }
    if (b->is_goal[path->state] && path->length > 0)
      arrive(b, path);
    const LoomSearchState *state = loom_search_state(b->search, path->state);
    for (guint m = 0; path->length < b->longest && m < state->n_moves; m++)
      extend(b, path, &g_array_index(b->search->moves, LoomSearchMove, state->first_move + m));
  }
  return found;
}

static void
find_goals(Best *b)
{
  for (guint m = 0; m < b->search->moves->len; m++) {
    guint step = g_array_index(b->search->moves, LoomSearchMove, m).step;
    if (!b->choices[step].choices)
      list_choices(b, step);
  }
  for (guint state = 1; state < b->search->states->len; state++)
    b->is_goal[state] = loom_search_is_goal(b->search, state, b->goal->to, b->goal->means);
}

static guint
run_pass(Best *b, Pass pass, LoomChain *chains, guint room)
{
  guint n = b->search->states->len, top = LOOM_LINKUP_LONGEST * n;
  b->pass = pass;
  for (guint more = 0; more <= LOOM_LINKUP_LONGEST; more++)
    for (guint state = 0; state < n; state++)
      bound_state(b, more, state);
  if (!b->known[top])
    return 0;
  if (b->longest == 0)
    b->longest = MIN(b->least[top].joints, LOOM_LINKUP_LONGEST);
  return take_best(b, chains, room);
}

guint
loom_search_best(const LoomSearch *search, const LoomSearchGoal *goal, LoomChain *chains,
                 guint room)
{
  guint n = search->states->len, n_steps = search->pieces->steps->len;
  guint n_bounds = (LOOM_LINKUP_LONGEST + 1) * n;
  Best b = {.search = search, .goal = goal};
  b.choices = g_new0(Choices, n_steps);
  b.is_goal = g_new0(bool, n);
  b.least = g_new0(LoomChainCost, n_bounds);
  b.known = g_new0(bool, n_bounds);
  b.paths = g_ptr_array_new_with_free_func(g_free);
  b.heap = g_ptr_array_new();
  find_goals(&b);
  guint found = run_pass(&b, STRONG, chains, room);
  if (found < room && b.any_weak)
    found += run_pass(&b, WEAK, chains + found, room - found);
  for (guint i = 0; i < n_steps; i++)
    g_free(b.choices[i].choices);
  g_free(b.choices);
  g_free(b.is_goal);
  g_free(b.least);
  g_free(b.known);
  g_ptr_array_unref(b.paths);
  g_ptr_array_unref(b.heap);
  return found;
}
