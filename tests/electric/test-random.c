/* Random networks against LAPACK, and what must stay the same however a network is drawn. */
#include "electric/factor.h"
#include "random-net.h"

#include <float.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>

#include <cmocka.h>

typedef struct {
  LoomWiring *wiring;
  LoomNetwork *network;
  LoomOperatingPoint *point;
} Answer;

static Answer
answer_of(const LoomDesign *design)
{
  Answer a = {.wiring = loom_wiring_new(design, 0)};
  a.network = loom_network_new(a.wiring);
  LoomSolver *solver = loom_solver_new(a.network, NULL);
  LoomConditions now = loom_conditions(a.network);
  a.point = loom_solver_run(solver, &now);
  loom_solver_free(solver);
  rig_check_point(a.network, a.point);
  return a;
}

static void
answer_clear(Answer *a)
{
  loom_point_free(a->point);
  loom_network_free(a->network);
  loom_wiring_free(a->wiring);
}

/* Of post `node` against post 0. */
static double
volts(const Answer *a, guint node)
{
  return loom_point_volts(a->point, a->wiring->part_node[node], a->wiring->part_node[0]);
}

/* |x - y| / |y| in the 2-norm. */
static double
difference(const Answer *a, const double *want, guint n)
{
  double sum = 0, norm = 0;
  for (guint v = 0; v < n; v++) {
    double d = volts(a, v) - want[v];
    sum += d * d;
    norm += want[v] * want[v];
  }
  return sqrt(sum / norm);
}

/* Norm-wise within the condition number's share of double precision: 8 eps / rcond (the constant
 * covers the growth of both solvers; Higham, Accuracy and Stability, 9.3). */
static void
check_against_dense(guint32 seed, guint n_nodes, RandomShape shape)
{
  GRand *rand = g_rand_new_with_seed(seed);
  RandomNet *net = random_net_new(rand, n_nodes, shape);
  g_autoptr(Rig) rig = random_net_rig(net, NULL);
  Answer a = answer_of(rig->design);
  double rcond;
  g_autofree double *dense = random_net_dense(net, &rcond);
  double off = difference(&a, dense, net->n_nodes);
  if (!(off <= 8 * DBL_EPSILON / rcond) || !(off < 1e-6))
    fail_msg("seed %u, %u nodes, shape %d: off by %g, rcond %g", seed, n_nodes, shape, off, rcond);
  answer_clear(&a);
  random_net_free(net);
  g_rand_free(rand);
}

static void
test_against_lapack(void **state)
{
  (void)state;
  for (guint32 seed = 1; seed <= 30; seed++)
    check_against_dense(seed, 3 + seed * 5, (RandomShape)(seed % N_SHAPES));
  check_against_dense(1000, 600, SHAPE_MESH);
}

static void
test_two_thousand_nodes(void **state)
{
  (void)state;
  check_against_dense(2000, 1999, SHAPE_MESH);
}

static guint *
shuffled(GRand *rand, guint n)
{
  guint *order = g_new(guint, n);
  for (guint i = 0; i < n; i++) {
    guint k = (guint)g_rand_int_range(rand, 0, (gint32)i + 1);
    order[i] = order[k];
    order[k] = i;
  }
  return order;
}

/* Renumbering parts changes no voltage. */
static void
test_renumbering(void **state)
{
  (void)state;
  for (guint32 seed = 50; seed < 56; seed++) {
    GRand *rand = g_rand_new_with_seed(seed);
    RandomNet *net = random_net_new(rand, 60, (RandomShape)(seed % N_SHAPES));
    g_autofree guint *order = shuffled(rand, net->n_elements);
    g_autoptr(Rig) plain = random_net_rig(net, NULL);
    g_autoptr(Rig) mixed = random_net_rig(net, order);
    Answer a = answer_of(plain->design), b = answer_of(mixed->design);
    double rcond;
    g_autofree double *dense = random_net_dense(net, &rcond);
    for (guint v = 0; v < net->n_nodes; v++)
      assert_float_equal(volts(&a, v), volts(&b, v), 50 * 16 * DBL_EPSILON / rcond);
    answer_clear(&a);
    answer_clear(&b);
    random_net_free(net);
    g_rand_free(rand);
  }
}

/* A source, a lead of `n_parallel` equal wires each way with `mm` of length, and a resistor. */
static Answer
lead_answer(Rig **rig, guint n_parallel, double mm)
{
  g_autofree char *s = rig_kind("s", "<source a=\"a:x\" b=\"b:x\" emf_V=\"12\" ohm=\"0.1\"/>");
  g_autofree char *r = rig_kind("r", "<resistor a=\"a:x\" b=\"b:x\" ohm=\"2\"/>");
  g_autofree char *wire =
      g_strdup_printf("<wire a=\"a:x\" b=\"b:x\" mm2=\"1.5\" length_mm=\"%g\"/>", mm);
  g_autofree char *w = rig_kind("w", wire);
  g_autofree char *extra = g_strconcat(rig_post_family, s, r, w, NULL);
  *rig = rig_new(extra);
  rig_add(*rig, "s", "G1");
  rig_add(*rig, "r", "R1");
  for (guint i = 1; i <= 2 * n_parallel; i++) {
    g_autofree char *name = g_strdup_printf("W%u", i);
    g_autofree char *a = g_strdup_printf("%s:a", name), *b = g_strdup_printf("%s:b", name);
    rig_add(*rig, "w", name);
    rig_plug(*rig, i <= n_parallel ? "G1:a" : "G1:b", a);
    rig_plug(*rig, i <= n_parallel ? "R1:a" : "R1:b", b);
  }
  return answer_of(rig_done(*rig));
}

static double
load_V(const Answer *a)
{
  const LoomBranch *b = &a->network->branches[a->network->part_branch[1]];
  return loom_point_volts(a->point, b->a, b->b);
}

static double
current_A(const Answer *a, guint part)
{
  return a->point->flows[a->network->part_branch[part]].a_A;
}

/* Resistance between the ends of the way there: drop over current. */
static double
lead_ohm(const Answer *a)
{
  guint source = a->wiring->part_node[0], load = a->wiring->part_node[1];
  return loom_point_volts(a->point, source, load) / current_A(a, 1);
}

static void
test_leads(void **state)
{
  (void)state;
  Rig *one, *two, *longer;
  Answer a = lead_answer(&one, 1, 500), b = lead_answer(&two, 2, 500),
         c = lead_answer(&longer, 1, 800);
  assert_float_equal(lead_ohm(&b), lead_ohm(&a) / 2, 1e-12);     /* a second equal lead halves it */
  assert_float_equal(current_A(&b, 2), current_A(&b, 3), 1e-12); /* and they share alike */
  assert_true(load_V(&c) < load_V(&a)); /* a longer lead never raises the voltage of its load */
  /* 13.3 ohm/km at 20 degC (IEC 60228), at the 25 degC of an ordinary design */
  assert_float_equal(lead_ohm(&a), 0.5 * 13.3e-3 * (1 + 0.00393 * 5), 1e-12);
  answer_clear(&a);
  answer_clear(&b);
  answer_clear(&c);
  rig_free(one);
  rig_free(two);
  rig_free(longer);
}

/* In a resistive network with one source: for any wire that alone feeds a load. */
static void
test_longer_is_never_better(void **state)
{
  (void)state;
  double last = INFINITY;
  for (double mm = 1; mm <= 1e6; mm *= 10) {
    Rig *rig;
    Answer a = lead_answer(&rig, 1, mm);
    assert_true(load_V(&a) < last);
    last = load_V(&a);
    answer_clear(&a);
    rig_free(rig);
  }
}

/* Four equal branches between the same posts carry the same; the two halves of a mirrored bridge
 * too. */
static void
test_symmetry(void **state)
{
  (void)state;
  RandomElement elements[] = {{1, 0, 0, 12}, {1, 2, 0.5, 0}, {1, 3, 0.5, 0}, {2, 0, 2, 0},
                              {3, 0, 2, 0},  {2, 3, 7, 0},   {2, 4, 1, 0},   {3, 5, 1, 0},
                              {4, 0, 3, 0},  {5, 0, 3, 0}};
  RandomNet net = {6, G_N_ELEMENTS(elements), elements};
  g_autoptr(Rig) rig = random_net_rig(&net, NULL);
  Answer a = answer_of(rig->design);
  assert_float_equal(volts(&a, 2), volts(&a, 3), 1e-14);
  assert_float_equal(volts(&a, 4), volts(&a, 5), 1e-14);
  assert_float_equal(current_A(&a, 6 + 5), 0, 1e-14); /* across the bridge */
  answer_clear(&a);
}

/* Pivots that were right for one matrix and ruin another are found out by what the solution leaves
 * over (Golub and Van Loan, Matrix Computations, 3.4: 1e-20 as a pivot beside 1). */
static void
test_pivots_chosen_anew(void **state)
{
  (void)state;
  const int first[] = {0, 2, 4}, rows[] = {0, 1, 0, 1};
  const double fair[] = {4, 1, 1, 3}, foul[] = {1e-20, 1, 1, 1};
  g_autoptr(LoomFactor) factor = loom_factor_new(2, first, rows);
  double x[2] = {1, 2};
  assert_true(loom_factor_run(factor, fair, x, NULL)); /* 4 x + y = 1, x + 3 y = 2 */
  assert_float_equal(x[0], 1.0 / 11, 1e-15);
  assert_float_equal(x[1], 7.0 / 11, 1e-15);
  double y[2] = {1, 2};
  assert_true(loom_factor_run(factor, foul, y, NULL)); /* y = 1, x + y = 2 */
  assert_float_equal(y[0], 1, 1e-15);
  assert_float_equal(y[1], 1, 1e-15);
  assert_int_equal(loom_factor_counts(factor).factors, 2);
  double z[2] = {1, 2};
  assert_true(loom_factor_run(factor, fair, z, NULL)); /* the new pivots do for both */
  assert_float_equal(z[0], 1.0 / 11, 1e-15);
  const double singular[] = {1, 2, 2, 4};
  guint column;
  assert_false(loom_factor_run(factor, singular, z, &column));
  assert_true(column < 2);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(test_against_lapack),
      cmocka_unit_test(test_pivots_chosen_anew),
      cmocka_unit_test(test_two_thousand_nodes),
      cmocka_unit_test(test_renumbering),
      cmocka_unit_test(test_leads),
      cmocka_unit_test(test_longer_is_never_better),
      cmocka_unit_test(test_symmetry),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
