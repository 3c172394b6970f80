/* Prospective currents: the inverse's few entries against whole solutions, against LAPACK, and
 * against shorts that are really made. */
#include "electric/protection.h"
#include "electric/topology.h"
#include "random-net.h"
#include "robots.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>

#include <cmocka.h>

#include "../seed.h"

static const double short_ohm = 1e-3; /* of those that are made */

/* Every robot of tests/files/robots. */
static const char *const robots[] = {
    "bare-posts", "charging",     "find-the-mistakes", "four-cells",        "fuse-block",
    "genderless", "lead-acid",    "metal-frame",       "power-bank",        "sandpiper",
    "servo-rail", "small-motors", "step-down",         "second-controller", "studs",
    "two-packs",  "two-pole",     "terminal-block",
};

static LoomTopology *
solved(const LoomNetwork *network, const LoomUse *uses, const bool *asleep)
{
  guint branch;
  double asks_W, gives_W;
  LoomConditions now = {.charge = 1, .ambient_C = 20};
  LoomTopology *t = loom_topology_new(network, uses, asleep);
  loom_topology_set(t, &now);
  if (loom_topology_solve(t, &branch, &asks_W, &gives_W) == LOOM_TROUBLE_NONE)
    return t;
  loom_topology_free(t);
  return NULL;
}

/* Seen between two unknowns, by a whole solution; `scale` gets what was added up. */
static double
between(const LoomTopology *t, guint a, guint b, double *scale)
{
  guint n = t->eq->n_unknowns;
  g_autofree double *side = g_new0(double, n + 1);
  side[a] += 1;
  side[b] -= 1;
  loom_factor_solve(t->factor, side, 1);
  side[n] = 0;
  *scale = fabs(side[a]) + fabs(side[b]);
  return side[a] - side[b];
}

static void
check_pair(const LoomTopology *t, LoomTriangles *triangles, guint a, guint b, const char *what)
{
  double scale, whole = between(t, a, b, &scale);
  double few = loom_triangles_between(triangles, a, b);
  if (!(fabs(few - whole) <= 1e-9 * scale + 1e-12))
    fail_msg("%s, %u to %u: %.17g instead of %.17g", what, a, b, few, whole);
}

/* With 1 ohm put between two nodes of a random network, V1 = V0 / (1 + R): LAPACK's R. */
static double
dense_ohm(const RandomNet *net, guint a, guint b)
{
  double rcond;
  RandomNet more = {net->n_nodes, net->n_elements + 1, g_new(RandomElement, net->n_elements + 1)};
  memcpy(more.elements, net->elements, net->n_elements * sizeof(RandomElement));
  more.elements[net->n_elements] = (RandomElement){a, b, 1, 0};
  g_autofree double *before = random_net_dense(net, &rcond);
  g_autofree double *after = random_net_dense(&more, &rcond);
  g_free(more.elements);
  double V = before[a] - before[b];
  return fabs(V) > 1e-3 ? V / (after[a] - after[b]) - 1 : NAN;
}

static void
check_random(GRand *rand, guint n_nodes, RandomShape shape, guint *compared)
{
  RandomNet *net = random_net_new(rand, n_nodes, shape);
  g_autoptr(Rig) rig = random_net_rig(net, NULL);
  g_autoptr(LoomWiring) w = loom_wiring_new(rig->design, 0);
  g_autoptr(LoomNetwork) network = loom_network_new(w);
  g_autofree LoomUse *uses = loom_uses_new(network, NULL);
  LoomTopology *t = solved(network, uses, NULL);
  assert_non_null(t);
  g_autoptr(LoomTriangles) triangles = loom_factor_triangles(t->factor);
  for (guint i = 0; i < 300; i++)
    check_pair(t, triangles, (guint)g_rand_int_range(rand, 0, (gint32)t->eq->n_unknowns + 1),
               (guint)g_rand_int_range(rand, 0, (gint32)t->eq->n_unknowns + 1), "random");
  for (guint i = 0; i < 4; i++) {
    guint a = (guint)g_rand_int_range(rand, 0, (gint32)net->n_nodes);
    guint b = (guint)g_rand_int_range(rand, 0, (gint32)net->n_nodes);
    double dense = dense_ohm(net, a, b);
    double ohm = loom_triangles_between(triangles, t->eq->unknown[w->part_node[a]],
                                        t->eq->unknown[w->part_node[b]]);
    if (isnan(dense))
      continue;
    assert_float_equal(ohm, dense, 1e-6 * (1 + dense));
    ++*compared;
  }
  loom_topology_free(t);
  random_net_free(net);
}

static void
test_random_networks(void **state)
{
  (void)state;
  GRand *rand = g_rand_new_with_seed(seed());
  guint compared = 0;
  for (guint i = 0; i < 30; i++)
    check_random(rand, 5 + 9 * i, i % N_SHAPES, &compared);
  assert_true(compared > 60);
  g_rand_free(rand);
}

/* Every two contacts of every end, around the operating point. */
static void
check_ends(const LoomTopology *t, const char *what)
{
  const LoomWiring *w = t->network->wiring;
  g_autoptr(LoomTriangles) triangles = loom_factor_triangles(t->factor);
  for (guint i = 0; i < w->n_ends; i++) {
    guint part = w->end_part[i], end = i - w->part_end[part];
    guint first = loom_wiring_node(w, part, end, 0);
    guint n = loom_wiring_part(w, part)->kind->ends[end].n_contacts;
    for (guint a = first; a < first + n; a++)
      for (guint b = a + 1; b < first + n; b++)
        if (t->eq->unknown[a] != LOOM_NONE && t->eq->unknown[b] != LOOM_NONE)
          check_pair(t, triangles, t->eq->unknown[a], t->eq->unknown[b], what);
  }
}

static void
test_robots_at_work(void **state)
{
  (void)state;
  guint n_solved = 0;
  for (guint r = 0; r < G_N_ELEMENTS(robots); r++) {
    g_autoptr(LoomDesign) design = robots_load(robots[r]);
    for (guint s = 0; s < loom_design_n_scenes(design); s++) {
      g_autoptr(LoomWiring) w = loom_wiring_new(design, s);
      g_autoptr(LoomNetwork) network = loom_network_new(w);
      const LoomScene *scene = loom_design_scene(design, s);
      for (guint i = 0; i < scene->n_states; i++) {
        g_autofree LoomUse *uses = loom_uses_new(network, &scene->states[i]);
        LoomTopology *t = solved(network, uses, NULL);
        if (t)
          check_ends(t, robots[r]);
        n_solved += t != NULL;
        loom_topology_free(t);
      }
    }
  }
  assert_true(n_solved > G_N_ELEMENTS(robots));
}

/* ---- shorts that are made ---- */

typedef struct {
  LoomNetwork network; /* with one branch more, the short */
  LoomUse *uses;
  bool *asleep;
  LoomElement wire;
} Bench;

static bool
draws(const LoomBranch *b)
{
  return b->element && b->element->type != LOOM_ELEMENT_WIRE &&
         b->element->type != LOOM_ELEMENT_THROUGH && b->element->type != LOOM_ELEMENT_SWITCH &&
         b->element->type != LOOM_ELEMENT_FUSE && b->element->type != LOOM_ELEMENT_SOURCE;
}

static void
bench_open(Bench *b, const LoomNetwork *n)
{
  b->network = *n;
  b->network.n_branches = n->n_branches + 1;
  b->network.branches = g_new0(LoomBranch, n->n_branches + 1);
  memcpy(b->network.branches, n->branches, n->n_branches * sizeof(LoomBranch));
  b->wire = (LoomElement){.type = LOOM_ELEMENT_RESISTOR};
  b->uses = g_new0(LoomUse, n->n_branches + 1);
  b->asleep = g_new0(bool, n->n_branches + 1);
  for (guint i = n->n_touches; i < n->n_branches; i++)
    b->asleep[i] = draws(&n->branches[i]);
}

static void
bench_clear(Bench *b)
{
  g_free(b->network.branches);
  g_free(b->uses);
  g_free(b->asleep);
}

/* What a milliohm between the two nodes carries. */
static double
shorted_A(Bench *b, guint x, guint y)
{
  LoomBranch *branch = &b->network.branches[b->network.n_branches - 1];
  *branch = (LoomBranch){.element = &b->wire,
                         .a = x,
                         .b = y,
                         .c = LOOM_NONE,
                         .d = LOOM_NONE,
                         .ohm = short_ohm,
                         .possible = true};
  LoomTopology *t = solved(&b->network, b->uses, b->asleep);
  assert_non_null(t);
  double A = fabs(loom_topology_V(t, x) - loom_topology_V(t, y)) / short_ohm;
  loom_topology_free(t);
  return A;
}

static bool
all_packs(const LoomNetwork *n)
{
  for (guint i = n->n_touches; i < n->n_branches; i++)
    if (n->branches[i].element->type == LOOM_ELEMENT_SOURCE &&
        !isnan(n->branches[i].element->limit_A))
      return false;
  return true;
}

static bool
widest(const LoomTopology *t, guint part, guint end, guint *a, guint *b, double *V)
{
  const LoomWiring *w = t->network->wiring;
  guint first = loom_wiring_node(w, part, end, 0);
  guint n = loom_wiring_part(w, part)->kind->ends[end].n_contacts;
  *V = 0.1;
  for (guint x = first; x < first + n; x++)
    for (guint y = x + 1; y < first + n; y++) {
      double between_V = fabs(loom_topology_V(t, x) - loom_topology_V(t, y));
      if (t->eq->island[x] != t->eq->island[y] || !(between_V > *V))
        continue;
      *V = between_V;
      *a = x;
      *b = y;
    }
  return *V > 0.1;
}

/* Electronics, which the network does not hold back, may let less through; nothing else may. */
static void
check_end(Bench *bench, const LoomTopology *open, const LoomLimits *limits, double short_A,
          guint end_number, guint *compared)
{
  const LoomWiring *w = open->network->wiring;
  guint a = 0, b = 0, part = w->end_part[end_number], end = end_number - w->part_end[part];
  double V;
  if (!widest(open, part, end, &a, &b, &V))
    return;
  double made = shorted_A(bench, a, b), asked = V / (V / short_A + short_ohm);
  if (fabs(asked - made) <= 1e-6 * made) {
    ++*compared;
    return;
  }
  const LoomBound *bound = loom_limits_end(limits, w, part, end);
  g_autofree char *name = loom_wiring_end_name(w, part, end);
  if (!(asked < made) || (bound && !bound->guard.electronic))
    fail_msg("%s: %g A of %g V, a short carries %g A", name, short_A, V, made);
}

static void
test_shorts_made(void **state)
{
  (void)state;
  guint compared = 0;
  for (guint r = 0; r < G_N_ELEMENTS(robots); r++) {
    g_autoptr(LoomDesign) design = robots_load(robots[r]);
    g_autoptr(LoomWiring) w = loom_wiring_new(design, 0);
    g_autoptr(LoomNetwork) network = loom_network_new(w);
    g_autoptr(LoomLimits) limits = loom_limits_new(w);
    if (!all_packs(network))
      continue;
    g_autofree double *shorts = loom_short_currents_A(network, limits);
    Bench bench;
    bench_open(&bench, network);
    LoomTopology *open = solved(network, bench.uses, bench.asleep);
    for (guint i = 0; open && i < w->n_ends; i++)
      check_end(&bench, open, limits, shorts[i], i, &compared);
    loom_topology_free(open);
    bench_clear(&bench);
  }
  assert_true(compared > 100);
}

/* A fuse bounds nothing in a short until it has opened, even where electronics feed the same
 * contact from elsewhere. */
static void
test_fuse_holds_no_short(void **state)
{
  (void)state;
  static const char *const ratings[] = {"2", "5", "7.5", "10", "40"};
  g_autoptr(LoomDesign) design = robots_load("find-the-mistakes");
  for (guint i = 0; i < G_N_ELEMENTS(ratings); i++) {
    g_autofree char *line = g_strdup_printf("set F1 rated_A=%s", ratings[i]);
    robots_do(design, line);
    g_autoptr(LoomWiring) w = loom_wiring_new(design, 0);
    g_autoptr(LoomNetwork) network = loom_network_new(w);
    g_autoptr(LoomLimits) limits = loom_limits_new(w);
    g_autoptr(LoomShorts) shorts = loom_shorts_new(network, limits);
    guint part = LOOM_NONE;
    for (guint p = 0; p < w->n_parts; p++)
      if (g_str_equal(loom_wiring_part(w, p)->designation, "M5"))
        part = p;
    assert_true(loom_shorts_end_A(shorts, part, 0) > 50);
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(test_random_networks),
      cmocka_unit_test(test_robots_at_work),
      cmocka_unit_test(test_shorts_made),
      cmocka_unit_test(test_fuse_holds_no_short),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
