/* Published worked examples of direct-current networks, each written as a design of bare elements.
 */
#include "electric/solve.h"
#include "rig.h"
#include "table.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

typedef struct {
  Table *networks, *elements, *expected;
} Tables;

static int
set_up(void **state)
{
  Tables *t = g_new0(Tables, 1);
  t->networks = table_read("dc_networks.csv");
  t->elements = table_read("dc_network_elements.csv");
  t->expected = table_read("dc_network_expected.csv");
  *state = t;
  return 0;
}

static int
tear_down(void **state)
{
  Tables *t = *state;
  table_free(t->networks);
  table_free(t->elements);
  table_free(t->expected);
  g_free(t);
  return 0;
}

static char *
element_xml(const char *kind, double value)
{
  const char *attribute = g_str_equal(kind, "source")    ? "emf_V"
                          : g_str_equal(kind, "current") ? "current_A"
                                                         : "ohm";
  return g_strdup_printf("<%s a=\"a:x\" b=\"b:x\" %s=\"%.17g\"/>", kind, attribute, value);
}

/* A network under way: parts by the source's names, one post for each of its nodes. */
typedef struct {
  Rig *rig;
  GHashTable *parts; /* name in the source -> designation */
  GHashTable *posts; /* node in the source -> designation of its post */
} Case;

static const char *
post_of(Case *c, const char *node)
{
  char *post = g_hash_table_lookup(c->posts, node);
  if (post)
    return post;
  post = g_strdup_printf("X%u", g_hash_table_size(c->posts) + 1);
  rig_add(c->rig, "node", post);
  g_hash_table_insert(c->posts, g_strdup(node), post);
  return post;
}

static void
add_row(Case *c, const Table *t, guint row, guint serial)
{
  char letter = table_text(t, row, "kind")[0] == 's' ? 'G' : 'R';
  g_autofree char *id = g_strdup_printf("e%u", serial);
  g_autofree char *part = g_strdup_printf("%c%u", letter, serial);
  rig_add(c->rig, id, part);
  const char *const ends[2] = {"from", "to"};
  for (guint k = 0; k < 2; k++) {
    g_autofree char *end = g_strdup_printf("%s:%c", part, k ? 'b' : 'a');
    g_autofree char *post = g_strdup_printf("%s:a", post_of(c, table_text(t, row, ends[k])));
    rig_plug(c->rig, end, post);
  }
  g_hash_table_insert(c->parts, g_strdup(table_text(t, row, "element")), g_steal_pointer(&part));
}

static Case
case_of(const Tables *t, const char *network)
{
  Case c = {.parts = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, g_free),
            .posts = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, g_free)};
  g_autoptr(GString) kinds = g_string_new(rig_post_family);
  g_string_append(kinds,
                  "<kind id=\"node\" name=\"node\" letter=\"X\" group=\"distribution\" "
                  "source=\"test\"><end id=\"a\" family=\"post\" gender=\"genderless\" "
                  "side=\"left\"><contact way=\"1\" name=\"x\" role=\"pass\"/></end></kind>");
  for (guint pass = 0; pass < 2; pass++) {
    guint serial = 0;
    for (guint r = 0; r < t->elements->n_rows; r++) {
      if (!g_str_equal(table_text(t->elements, r, "network"), network))
        continue;
      serial++;
      if (pass == 1) {
        add_row(&c, t->elements, r, serial);
        continue;
      }
      g_autofree char *xml =
          element_xml(table_text(t->elements, r, "kind"), table_number(t->elements, r, "value"));
      g_autofree char *id = g_strdup_printf("e%u", serial);
      g_autofree char *kind = rig_kind(id, xml);
      g_string_append(kinds, kind);
    }
    if (pass == 0)
      c.rig = rig_new(kinds->str);
  }
  return c;
}

static void
case_clear(Case *c)
{
  g_hash_table_unref(c->parts);
  g_hash_table_unref(c->posts);
  rig_free(c->rig);
}

static double
found_value(const Case *c, const LoomNetwork *n, const LoomOperatingPoint *p, const char *quantity,
            const char *of)
{
  const LoomDesign *d = n->wiring->design;
  if (g_str_equal(quantity, "potential")) {
    guint post = loom_design_find_part(d, g_hash_table_lookup(c->posts, of));
    guint zero = loom_design_find_part(d, g_hash_table_lookup(c->posts, "return"));
    return loom_point_volts(p, n->wiring->part_node[post], n->wiring->part_node[zero]);
  }
  guint part = loom_design_find_part(d, g_hash_table_lookup(c->parts, of));
  guint branch = n->part_branch[part];
  bool source = n->branches[branch].element->type == LOOM_ELEMENT_SOURCE;
  return source ? -p->flows[branch].a_A : p->flows[branch].a_A;
}

static void
check_network(const Tables *t, const char *network, double tolerance)
{
  Case c = case_of(t, network);
  const LoomDesign *design = rig_done(c.rig);
  g_autoptr(LoomWiring) wiring = loom_wiring_new(design, 0);
  g_autoptr(LoomNetwork) n = loom_network_new(wiring);
  g_autoptr(LoomSolver) solver = loom_solver_new(n, NULL);
  LoomConditions now = loom_conditions(n);
  g_autoptr(LoomOperatingPoint) p = loom_solver_run(solver, &now);
  rig_check_point(n, p);
  guint checked = 0;
  for (guint r = 0; r < t->expected->n_rows; r++) {
    if (!g_str_equal(table_text(t->expected, r, "network"), network))
      continue;
    double want = table_number(t->expected, r, "value");
    double got = found_value(&c, n, p, table_text(t->expected, r, "quantity"),
                             table_text(t->expected, r, "of"));
    if (!(fabs(got - want) <= fmax(tolerance, 1e-9) * fabs(want)))
      fail_msg("%s %s: %.10g instead of %.10g", network, table_text(t->expected, r, "of"), got,
               want);
    checked++;
  }
  assert_true(checked > 0);
  case_clear(&c);
}

static void
test_worked_examples(void **state)
{
  const Tables *t = *state;
  guint checked = 0;
  for (guint r = 0; r < t->networks->n_rows; r++) {
    const char *network = table_text(t->networks, r, "network");
    if (!g_str_has_prefix(network, "DC"))
      continue;
    check_network(t, network, table_number(t->networks, r, "tolerance_rel"));
    checked++;
  }
  assert_int_equal(checked, 19);
}

/* A figure "NAME=" that is given for the network. */
static double
given(const Tables *t, const char *network, const char *name)
{
  for (guint r = 0; r < t->elements->n_rows; r++) {
    const char *text = table_text(t->elements, r, "value");
    if (g_str_equal(table_text(t->elements, r, "network"), network) && g_str_has_prefix(text, name))
      return g_ascii_strtod(text + strlen(name), NULL);
  }
  fail_msg("%s gives no %s", network, name);
  return NAN;
}

/* NAN where the table has no such row. */
static double
expected(const Tables *t, const char *network, const char *quantity)
{
  for (guint r = 0; r < t->expected->n_rows; r++)
    if (g_str_equal(table_text(t->expected, r, "network"), network) &&
        g_str_equal(table_text(t->expected, r, "quantity"), quantity))
      return table_number(t->expected, r, "value");
  return NAN;
}

static LoomOperatingPoint *
constant_power(double emf_V, double ohm, double watt, Rig **rig, LoomWiring **wiring,
               LoomNetwork **n)
{
  g_autofree char *source =
      g_strdup_printf("<source a=\"a:x\" b=\"b:x\" emf_V=\"%.17g\" ohm=\"%.17g\"/>", emf_V, ohm);
  g_autofree char *load = g_strdup_printf("<power a=\"a:x\" b=\"b:x\" power_W=\"%.17g\"/>", watt);
  g_autofree char *first = rig_kind("s", source), *second = rig_kind("p", load);
  g_autofree char *extra = g_strconcat(rig_post_family, first, second, NULL);
  *rig = rig_new(extra);
  rig_add(*rig, "s", "G1");
  rig_add(*rig, "p", "P1");
  rig_plug(*rig, "G1:a", "P1:a");
  rig_plug(*rig, "G1:b", "P1:b");
  *wiring = loom_wiring_new(rig_done(*rig), 0);
  *n = loom_network_new(*wiring);
  g_autoptr(LoomSolver) solver = loom_solver_new(*n, NULL);
  LoomConditions now = loom_conditions(*n);
  return loom_solver_run(solver, &now);
}

/* Where two operating points exist the stable one of the higher voltage comes out; beyond the
 * greatest power E^2 / 4r none does, and that power is named. */
static void
test_constant_power(void **state)
{
  const Tables *t = *state;
  const char *const networks[] = {"CP01", "CP02", "CP03", "CP04"};
  for (guint i = 0; i < G_N_ELEMENTS(networks); i++) {
    double E = given(t, networks[i], "E="), r = given(t, networks[i], "r=");
    g_autoptr(Rig) rig = NULL;
    g_autoptr(LoomWiring) wiring = NULL;
    g_autoptr(LoomNetwork) n = NULL;
    g_autoptr(LoomOperatingPoint) p =
        constant_power(E, r, given(t, networks[i], "P="), &rig, &wiring, &n);
    double V = expected(t, networks[i], "V_high");
    if (isnan(V)) {
      assert_int_equal(p->trouble, LOOM_TROUBLE_DEMAND);
      assert_float_equal(p->asks_W, given(t, networks[i], "P="), 1e-9);
      assert_float_equal(p->gives_W, expected(t, networks[i], "P_max"), 1e-4 * p->gives_W);
      continue;
    }
    rig_check_point(n, p);
    guint load = n->part_branch[1];
    double I = expected(t, networks[i], "I_low");
    assert_float_equal(p->flows[load].a_A, I, 1e-4 * I);
    assert_float_equal(loom_point_volts(p, n->branches[load].a, n->branches[load].b), V, 1e-4 * V);
  }
}

/* Closed form: a ladder of n equal series and shunt resistors behind 1 V has the input resistance
 * R (1 + sqrt(5)) / 2 for ever more sections (continued fraction). */
static void
test_ladder(void **state)
{
  (void)state;
  g_autofree char *source = rig_kind("s", "<source a=\"a:x\" b=\"b:x\" emf_V=\"1\"/>");
  g_autofree char *ohm = rig_kind("r", "<resistor a=\"a:x\" b=\"b:x\" ohm=\"1\"/>");
  g_autofree char *extra = g_strconcat(rig_post_family, source, ohm, NULL);
  g_autoptr(Rig) rig = rig_new(extra);
  rig_add(rig, "s", "G1");
  const guint sections = 40;
  g_autofree char *last_a = g_strdup("G1:a"), *last_b = g_strdup("G1:b");
  for (guint i = 0; i < sections; i++) {
    g_autofree char *series = g_strdup_printf("R%u", 2 * i + 1);
    g_autofree char *shunt = g_strdup_printf("R%u", 2 * i + 2);
    g_autofree char *in = g_strdup_printf("%s:a", series), *out = g_strdup_printf("%s:b", series);
    g_autofree char *top = g_strdup_printf("%s:a", shunt), *foot = g_strdup_printf("%s:b", shunt);
    rig_add(rig, "r", series);
    rig_add(rig, "r", shunt);
    rig_plug(rig, last_a, in);
    rig_plug(rig, out, top);
    rig_plug(rig, last_b, foot);
    g_free(last_a);
    g_free(last_b);
    last_a = g_steal_pointer(&top);
    last_b = g_steal_pointer(&foot);
  }
  g_autoptr(LoomWiring) wiring = loom_wiring_new(rig_done(rig), 0);
  g_autoptr(LoomNetwork) n = loom_network_new(wiring);
  g_autoptr(LoomSolver) solver = loom_solver_new(n, NULL);
  LoomConditions now = loom_conditions(n);
  g_autoptr(LoomOperatingPoint) p = loom_solver_run(solver, &now);
  rig_check_point(n, p);
  assert_float_equal(1 / -p->flows[n->part_branch[0]].a_A, (1 + sqrt(5)) / 2, 1e-12);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test_setup_teardown(test_worked_examples, set_up, tear_down),
      cmocka_unit_test_setup_teardown(test_constant_power, set_up, tear_down),
      cmocka_unit_test(test_ladder),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
