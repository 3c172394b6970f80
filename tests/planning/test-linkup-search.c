/* The search against a twin that tries everything.
 *
 * Random catalogues of a few families and a dozen leads, some straight, some crossed, some with
 * three ends, some that drop a way; a source and a load with random roles; random stock. The twin
 * walks every sequence of pieces contact by contact, straight through the kinds' elements, without
 * classes, bit sets or bounds, keeps those that join everything rightly, sorts them and takes the
 * first five. */
#include "planning/linkup.h"

#include "electric/conductor.h"
#include "fixture.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#define FAMILIES 4
#define TWIN_LONGEST 4 /* pieces; questions whose answers are longer are not compared */

/* ---- random catalogues ---- */

static guint
pick(GRand *rand, guint n)
{
  return (guint)g_rand_int_range(rand, 0, (gint32)n);
}

static const guint family_ways[FAMILIES] = {2, 2, 3, 2};

static void
put_end(GString *xml, GRand *rand, const char *id, guint family, const char *roles)
{
  const char *gender = family == 3 ? "genderless" : pick(rand, 2) ? "pins" : "sockets";
  g_string_append_printf(xml, "<end id=\"%s\" family=\"f%u\" gender=\"%s\" side=\"left\">", id,
                         family, gender);
  for (guint w = 0; w < family_ways[family]; w++)
    g_string_append_printf(xml, "<contact way=\"%u\" name=\"%u\" role=\"%s\"%s/>", w + 1, w + 1,
                           roles[w] == 'p'   ? "plus"
                           : roles[w] == 'm' ? "minus"
                           : roles[w] == 's' ? "signal"
                                             : "pass",
                           roles[w] == 's' ? " signal=\"digital\"" : "");
  g_string_append(xml, "</end>");
}

/* Wires from way w of end a to a way of the other end: straight, crossed, one left out, or all onto
 * one. */
static void
put_wires(GString *xml, GRand *rand, guint family, const char *other, guint other_family)
{
  guint ways = MIN(family_ways[family], family_ways[other_family]), style = pick(rand, 8);
  for (guint w = 0; w < ways; w++) {
    guint to = style == 0 ? ways - 1 - w : w;
    if (style == 1 && w == ways - 1)
      continue;
    if (style == 2)
      to = 0;
    g_string_append_printf(xml, "<wire a=\"a:%u\" b=\"%s:%u\" mm2=\"%g\"/>", w + 1, other, to + 1,
                           0.5 * (1 + pick(rand, 3)));
  }
}

static void
put_lead(GString *xml, GRand *rand, guint index)
{
  guint families[3] = {pick(rand, FAMILIES), pick(rand, FAMILIES), pick(rand, FAMILIES)};
  bool three = pick(rand, 5) == 0;
  g_string_append_printf(xml,
                         "<kind id=\"lead-%02u\" name=\"Lead %u\" letter=\"W\" group=\"lead\" "
                         "lead=\"yes\" length_mm=\"%u\" price=\"%u\" source=\"typical\">",
                         index, index, 100 * (1 + pick(rand, 4)), 1 + pick(rand, 3));
  put_end(xml, rand, "a", families[0], "...");
  put_end(xml, rand, "b", families[1], "...");
  if (three)
    put_end(xml, rand, "c", families[2], "...");
  put_wires(xml, rand, families[0], "b", families[1]);
  if (three)
    put_wires(xml, rand, families[0], "c", families[2]);
  g_string_append(xml, "</kind>");
}

static void
put_box(GString *xml, GRand *rand, const char *id, const char *element, const char *values)
{
  static const char *const roles[] = {"pms", "mps", "pms", "psm"};
  g_string_append_printf(
      xml,
      "<kind id=\"%s\" name=\"%s\" letter=\"G\" group=\"supply\" width_mm=\"30\" "
      "height_mm=\"20\" source=\"typical\">",
      id, id);
  guint family = pick(rand, FAMILIES);
  const char *role = roles[pick(rand, family_ways[family] == 2 ? 2 : 4)];
  put_end(xml, rand, "out", family, role);
  guint plus = (guint)(strchr(role, 'p') - role) + 1, minus = (guint)(strchr(role, 'm') - role) + 1;
  g_string_append_printf(xml, "<%s a=\"out:%u\" b=\"out:%u\" %s/>", element, plus, minus, values);
  g_string_append(xml, "</kind>");
}

static LoomCatalogue *
random_catalogue(GRand *rand)
{
  g_autoptr(GString) xml = g_string_new(NULL);
  for (guint i = 0; i < FAMILIES; i++) {
    g_autofree char *id = g_strdup_printf("f%u", i), *family = fixture_family(id, family_ways[i]);
    g_autoptr(GString) rated = g_string_new(family);
    g_string_replace(rated, "rated_A=\"10\"", pick(rand, 6) ? "rated_A=\"20\"" : "rated_A=\"6\"",
                     1);
    g_string_append(xml, rated->str);
  }
  put_box(xml, rand, "source", "source", "emf_V=\"12\"");
  put_box(xml, rand, "load", "resistor", "ohm=\"10\"");
  guint leads = 4 + pick(rand, 9);
  for (guint i = 0; i < leads; i++)
    put_lead(xml, rand, i);
  return fixture_catalogue(xml->str);
}

static LoomStock *
random_stock(GRand *rand)
{
  LoomStock *stock = loom_stock_new();
  for (guint i = 0; i < 12; i++) {
    g_autofree char *id = g_strdup_printf("lead-%02u", i);
    if (pick(rand, 2))
      loom_stock_set(stock, id, "", LOOM_CONDITION_GOOD, pick(rand, 3), pick(rand, 2) ? 2.5 : NAN);
  }
  return stock;
}

/* ---- the twin ---- */

#define WAYS 3

/* What each contact of the first end touches at an end: [contact][way]. */
typedef struct {
  const LoomEnd *end;
  bool touches[WAYS][WAYS];
} TwinOpen;

typedef struct {
  guint n;
  const LoomKind *kinds[TWIN_LONGEST];
  TwinOpen opens[TWIN_LONGEST + 1]; /* the first end, then behind each piece */
  guint live_pins, open_ends, to_buy;
  double price, ohm, rating_A;
  bool weak;
} TwinChain;

typedef struct {
  const LoomCatalogue *catalogue;
  const LoomStock *stock;
  const LoomEnd *from, *to;
  double current_A, hot; /* to flow, NAN not known; share of a wire's rating at the ambient */
  GArray *found;         /* TwinChain */
} Twin;

/* Resistance between all nodes of a kind (Floyd and Warshall), INFINITY where nothing joins them,
 * and the rating of the weakest wire on that way. The figures of the wires themselves (IEC 60228,
 * ISO 10133) are tested in electric/. */
static double *
resistances(const LoomKind *kind, double *rating_A)
{
  guint n = kind->n_nodes;
  double *ohm = g_new(double, n *n);
  for (guint i = 0; i < n * n; i++) {
    ohm[i] = i / n == i % n ? 0 : INFINITY;
    rating_A[i] = INFINITY;
  }
  for (guint i = 0; i < kind->n_elements; i++) {
    const LoomElement *e = &kind->elements[i];
    double r = loom_conductor_ohm(e->mm2, kind->length_mm, 20);
    if (r >= ohm[e->a * n + e->b])
      continue;
    ohm[e->a * n + e->b] = ohm[e->b * n + e->a] = r;
    rating_A[e->a * n + e->b] = rating_A[e->b * n + e->a] = loom_ampacity_A(e->mm2, NULL);
  }
  for (guint k = 0; k < n; k++)
    for (guint i = 0; i < n; i++)
      for (guint j = 0; j < n; j++)
        if (ohm[i * n + k] + ohm[k * n + j] < ohm[i * n + j]) {
          ohm[i * n + j] = ohm[i * n + k] + ohm[k * n + j];
          rating_A[i * n + j] = fmin(rating_A[i * n + k], rating_A[k * n + j]);
        }
  return ohm;
}

static bool
fit_together(const LoomEnd *a, const LoomEnd *b)
{
  bool genderless = a->gender == LOOM_GENDER_GENDERLESS && b->gender == LOOM_GENDER_GENDERLESS;
  return g_str_equal(a->family->id, b->family->id) && (genderless || a->gender != b->gender);
}

static bool
same_open(const TwinOpen *a, const TwinOpen *b)
{
  return g_str_equal(a->end->family->id, b->end->family->id) && a->end->gender == b->end->gender &&
         memcmp(a->touches, b->touches, sizeof a->touches) == 0;
}

/* Whether contacts of different roles of the first end have come together. */
static bool
shorted(const Twin *t, const TwinOpen *open)
{
  for (guint i = 0; i < t->from->n_contacts; i++)
    for (guint k = 0; k < i; k++)
      for (guint w = 0; w < WAYS; w++)
        if (open->touches[i][w] && open->touches[k][w] &&
            t->from->contacts[i].role != t->from->contacts[k].role)
          return true;
  return false;
}

/* Every role that both ends have must meet itself, and nothing else. */
static bool
joins_rightly(const Twin *t, const TwinOpen *open)
{
  for (guint i = 0; i < t->from->n_contacts; i++) {
    bool wanted = false, met = false;
    for (guint j = 0; j < t->to->n_contacts; j++) {
      bool same = t->from->contacts[i].role == t->to->contacts[j].role;
      bool touches = open->touches[i][t->to->contacts[j].way - 1];
      if (touches && !same)
        return false;
      wanted |= same;
      met |= touches && same;
    }
    if (wanted && !met)
      return false;
  }
  return true;
}

static int
compare_chains(gconstpointer a, gconstpointer b)
{
  const TwinChain *x = a, *y = b;
  double d[] = {(double)x->weak - y->weak,
                (double)x->live_pins - y->live_pins,
                (double)x->n - y->n,
                (double)x->open_ends - y->open_ends,
                (double)x->to_buy - y->to_buy,
                x->price - y->price,
                x->ohm - y->ohm};
  for (guint i = 0; i < G_N_ELEMENTS(d); i++)
    if (d[i] != 0)
      return d[i] < 0 ? -1 : 1;
  return 0;
}

/* The same kinds through the same states are one answer, with the better way through each kind. */
static void
keep(Twin *t, const TwinChain *chain)
{
  for (guint i = 0; i < t->found->len; i++) {
    TwinChain *old = &g_array_index(t->found, TwinChain, i);
    bool same = old->n == chain->n;
    for (guint k = 0; same && k < chain->n; k++)
      same =
          old->kinds[k] == chain->kinds[k] && same_open(&old->opens[k + 1], &chain->opens[k + 1]);
    if (!same)
      continue;
    if (compare_chains(chain, old) < 0)
      *old = *chain;
    return;
  }
  g_array_append_vals(t->found, chain, 1);
}

static void
add_piece_cost(const Twin *t, TwinChain *chain, double worst_ohm)
{
  const LoomKind *kind = chain->kinds[chain->n - 1];
  guint uses = 0;
  for (guint i = 0; i + 1 < chain->n; i++)
    uses += chain->kinds[i] == kind;
  bool have = loom_stock_count(t->stock, kind->id) > uses;
  double own = loom_stock_price(t->stock, kind->id);
  chain->to_buy += !have;
  chain->price += have ? 0 : isnan(own) ? kind->price : own;
  chain->ohm += 2 * worst_ohm;
  chain->open_ends += kind->n_ends - 2;
}

/* One joint: 1 milliohm a contact, there and back; the source is live. */
static void
add_joint_cost(const Twin *t, TwinChain *chain, const LoomEnd *near)
{
  chain->rating_A = fmin(chain->rating_A, near->family->rated_A);
  chain->weak = chain->rating_A < t->current_A;
  chain->live_pins += near->gender == LOOM_GENDER_PINS;
  chain->ohm += 0.002;
}

static void walk(Twin *t, const TwinChain *so_far);

static void
try_piece(Twin *t, const TwinChain *so_far, const LoomKind *kind, guint in, guint out)
{
  const TwinOpen *before = &so_far->opens[so_far->n];
  const LoomEnd *a = &kind->ends[in], *b = &kind->ends[out];
  if (!fit_together(before->end, a))
    return;
  g_autofree double *rating_A = g_new(double, kind->n_nodes * kind->n_nodes);
  g_autofree double *ohm = resistances(kind, rating_A);
  TwinChain next = *so_far;
  next.kinds[next.n++] = kind;
  TwinOpen *open = &next.opens[next.n];
  *open = (TwinOpen){.end = b};
  double worst = 0;
  bool any = false;
  for (guint c = 0; c < a->n_contacts; c++)
    for (guint d = 0; d < b->n_contacts; d++) {
      guint between = (a->first_node + c) * kind->n_nodes + b->first_node + d;
      double r = ohm[between];
      if (!isinf(r))
        next.rating_A = fmin(next.rating_A, rating_A[between] * t->hot);
      worst = isinf(r) ? worst : fmax(worst, r);
      for (guint i = 0; i < WAYS && !isinf(r); i++)
        if (before->touches[i][a->contacts[c].way - 1])
          any = open->touches[i][b->contacts[d].way - 1] = true;
    }
  bool again = false;
  for (guint i = 0; i < next.n; i++)
    again |= same_open(open, &next.opens[i]);
  if (!any || again || shorted(t, open))
    return;
  add_joint_cost(t, &next, before->end);
  add_piece_cost(t, &next, worst);
  walk(t, &next);
}

static void
walk(Twin *t, const TwinChain *so_far)
{
  const TwinOpen *open = &so_far->opens[so_far->n];
  if (so_far->n > 0 && fit_together(open->end, t->to) && joins_rightly(t, open)) {
    TwinChain done = *so_far;
    add_joint_cost(t, &done, open->end);
    keep(t, &done);
  }
  guint n;
  const LoomKind *const *kinds = loom_catalogue_kinds(t->catalogue, &n);
  for (guint k = 0; so_far->n < TWIN_LONGEST && k < n; k++)
    for (guint in = 0; kinds[k]->group == LOOM_GROUP_LEAD && in < kinds[k]->n_ends; in++)
      for (guint out = 0; out < kinds[k]->n_ends; out++)
        if (in != out)
          try_piece(t, so_far, kinds[k], in, out);
}

static GArray *
twin_chains(const LoomCatalogue *catalogue, const LoomStock *stock, double current_A, double hot)
{
  Twin t = {catalogue,
            stock,
            &loom_catalogue_kind(catalogue, "source")->ends[0],
            &loom_catalogue_kind(catalogue, "load")->ends[0],
            current_A,
            hot,
            g_array_new(FALSE, FALSE, sizeof(TwinChain))};
  TwinChain start = {.opens = {{.end = t.from}}, .rating_A = INFINITY};
  for (guint i = 0; i < t.from->n_contacts; i++)
    start.opens[0].touches[i][i] = true;
  walk(&t, &start);
  g_array_sort(t.found, compare_chains);
  return t.found;
}

/* ---- both against each other ---- */

static void
compare_answer(guint32 seed, guint rank, const LoomLinkupAnswer *answer, const TwinChain *chain)
{
  if (answer->enough == chain->weak || fabs(answer->rating_A - chain->rating_A) > 1e-9)
    fail_msg("seed %u, rank %u: %g A, %s; the twin has %g A, %s", seed, rank, answer->rating_A,
             answer->enough ? "enough" : "too weak", chain->rating_A,
             chain->weak ? "too weak" : "enough");
  if (answer->n_pieces != chain->n || answer->live_pins != chain->live_pins ||
      answer->open_ends != chain->open_ends || answer->to_buy != chain->to_buy ||
      fabs(answer->price - chain->price) > 1e-6 || fabs(answer->resistance_ohm - chain->ohm) > 1e-7)
    fail_msg(
        "seed %u, rank %u: %u pieces, %u live pins, %u open, %u to buy, %g, %g ohm; the twin has "
        "%u, %u, %u, %u, %g, %g",
        seed, rank, answer->n_pieces, answer->live_pins, answer->open_ends, answer->to_buy,
        answer->price, answer->resistance_ohm, chain->n, chain->live_pins, chain->open_ends,
        chain->to_buy, chain->price, chain->ohm);
}

/* Chains of the answer, in their order, and how many there are. */
static guint
chains_of(const LoomLinkup *linkup, const LoomLinkupAnswer **chains)
{
  guint n = 0;
  for (guint i = 0; i < linkup->n_answers; i++)
    if (linkup->answers[i].type == LOOM_ANSWER_CHAIN)
      chains[n++] = &linkup->answers[i];
  return n;
}

/* Whether the question could be compared in full. */
static bool
compare_all(guint32 seed, const LoomLinkup *linkup, const GArray *twins)
{
  const LoomLinkupAnswer *chains[LOOM_LINKUP_BEST];
  guint n = chains_of(linkup, chains), expected = 0;
  if (n == 0 || chains[0]->n_pieces + 1 > TWIN_LONGEST) {
    const TwinChain *first = twins->len ? &g_array_index(twins, TwinChain, 0) : NULL;
    if (n == 0 && first)
      fail_msg("seed %u: nothing found, the twin has %u pieces", seed, first->n);
    return n == 0;
  }
  guint longest = chains[0]->n_pieces + 1;
  for (guint i = 0; i < twins->len && expected < LOOM_LINKUP_BEST; i++) {
    const TwinChain *twin = &g_array_index(twins, TwinChain, i);
    if (twin->n > longest)
      continue;
    if (expected == n)
      fail_msg("seed %u: only %u chains", seed, n);
    compare_answer(seed, expected, chains[expected], twin);
    expected++;
  }
  if (expected != n)
    fail_msg("seed %u: %u chains, the twin has %u", seed, n, expected);
  return n > 0;
}

static LoomRing
ring_at_load(const LoomPieces *pieces, const LoomDesign *design)
{
  g_autoptr(LoomRings) rings = loom_linkup_rings(pieces, design, 0, 0, 0);
  assert_int_equal(rings->ends[0].answer, LOOM_RING_SELF);
  return rings->ends[rings->part_end[1]];
}

/* The ring must say the least number of pieces that any chain has. */
static void
compare_ring(guint32 seed, LoomRing ring, const LoomLinkup *linkup, const GArray *twins)
{
  guint least = G_MAXUINT;
  for (guint i = 0; i < twins->len; i++)
    least = MIN(least, g_array_index(twins, TwinChain, i).n);
  if (ring.answer == LOOM_RING_MATES)
    return;
  if (least != G_MAXUINT && (ring.answer != LOOM_RING_PIECES || ring.pieces != least))
    fail_msg("seed %u: ring %d with %u pieces, the twin needs %u", seed, (int)ring.answer,
             ring.pieces, least);
  const LoomLinkupAnswer *chains[LOOM_LINKUP_BEST];
  bool any = chains_of(linkup, chains) > 0;
  if (any != (ring.answer == LOOM_RING_PIECES))
    fail_msg("seed %u: ring and answers disagree", seed);
}

/* Some current, or none that is known; families that carry more or less. */
static double
random_current_A(GRand *rand)
{
  static const double currents_A[] = {5, 11, 11.5, 16};
  return pick(rand, 5) ? currents_A[pick(rand, G_N_ELEMENTS(currents_A))] : NAN;
}

/* Chains that carry enough and others among the first five. */
static bool
is_mixed(const GArray *twins)
{
  guint strong = 0, weak = 0;
  for (guint i = 0; i < MIN(twins->len, LOOM_LINKUP_BEST); i++)
    *(g_array_index(twins, TwinChain, i).weak ? &weak : &strong) += 1;
  return strong > 0 && weak > 0;
}

static void
agrees_with_trying_everything(void **state)
{
  (void)state;
  guint compared = 0, with_chains = 0, direct = 0, mixed = 0;
  for (guint32 seed = 1; seed <= 1200; seed++) {
    g_autoptr(GRand) rand = g_rand_new_with_seed(seed);
    g_autoptr(LoomCatalogue) catalogue = random_catalogue(rand);
    g_autoptr(LoomStock) stock = random_stock(rand);
    g_autoptr(LoomDesign) design = loom_design_new("random");
    fixture_add(design, catalogue, "source");
    fixture_add(design, catalogue, "load");
    g_autoptr(LoomPieces) pieces = loom_pieces_new(catalogue, NULL);
    LoomLinkupQuestion question = {0, 0, 0, 1, 0, random_current_A(rand)};
    g_autoptr(LoomLinkup) linkup = loom_linkup_new(pieces, design, stock, &question);
    if (!linkup->why) {
      assert_int_equal(linkup->n_answers, 1);
      assert_int_equal(linkup->answers[0].type, LOOM_ANSWER_PLUG);
      direct++;
      continue;
    }
    double hot = loom_ambient_factor(loom_design_title(design)->ambient_C);
    g_autoptr(GArray) twins = twin_chains(catalogue, stock, question.current_A, hot);
    compared += compare_all(seed, linkup, twins);
    compare_ring(seed, ring_at_load(pieces, design), linkup, twins);
    with_chains += twins->len > 0;
    mixed += is_mixed(twins);
  }
  print_message("%u compared in full, %u of all have chains, %u of them strong and weak ones, %u "
                "mate\n",
                compared, with_chains, mixed, direct);
  assert_true(compared > 900 && with_chains > 300 && mixed > 15);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {cmocka_unit_test(agrees_with_trying_everything)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
