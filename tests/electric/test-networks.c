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

/* The element's XML, and its kind's letter. */
static char *
element_xml(const char *kind, double value, char *letter)
{
  char number[G_ASCII_DTOSTR_BUF_SIZE];
  g_ascii_dtostr(number, sizeof number, value);
  if (g_str_equal(kind, "source")) {
    *letter = 'G';
    return g_strdup_printf("<source a=\"a:x\" b=\"b:x\" emf_V=\"%s\"/>", number);
  }
  *letter = g_str_equal(kind, "current") ? 'T' : 'R';
  return g_strdup_printf(*letter == 'T' ? "<current a=\"a:x\" b=\"b:x\" current_A=\"%s\"/>"
                                        : "<resistor a=\"a:x\" b=\"b:x\" ohm=\"%s\"/>",
                         number);
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
  g_autofree char *part = NULL;
  char letter;
  g_autofree char *xml =
      element_xml(table_text(t, row, "kind"), table_number(t, row, "value"), &letter);
  g_autofree char *id = g_strdup_printf("e%u", serial);
  (void)xml;
  part = g_strdup_printf("%c%u", letter, serial);
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
      char letter;
      g_autofree char *xml = element_xml(table_text(t->elements, r, "kind"),
                                         table_number(t->elements, r, "value"), &letter);
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
found_value(const Case *c, const LoomNetwork *n, const LoomPoint *p, const char *quantity,
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
  g_autoptr(LoomPoint) p = loom_solver_run(solver, &now);
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

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test_setup_teardown(test_worked_examples, set_up, tear_down),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
