#include "rig.h"

#include <float.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

const char *const rig_post_family =
    "<family id=\"post\" name=\"post\" ways=\"1\" shape=\"flat\" source=\"test\" places=\"64\" "
    "contact_mohm=\"0\" rated_A=\"10000\"/>";

const char *const rig_node_kind =
    "<kind id=\"node\" name=\"node\" letter=\"X\" group=\"distribution\" source=\"test\">"
    "<end id=\"a\" family=\"post\" gender=\"genderless\" side=\"left\">"
    "<contact way=\"1\" name=\"x\" role=\"pass\"/></end></kind>";

static void
expect(bool done, GError *error)
{
  if (!done)
    fail_msg("%s", error ? error->message : "no reason given");
}

static void
layer_text(Rig *rig, const char *extra)
{
  g_autoptr(GError) error = NULL;
  g_autofree char *text = g_strdup_printf("<catalogue xmlns=\"%s\" version=\"1.0\">%s</catalogue>",
                                          LOOM_CATALOGUE_NS, extra);
  g_autoptr(LoomXml) xml =
      loom_xml_parse(text, strlen(text), "test", "catalogue", LOOM_CATALOGUE_NS, &error);
  expect(xml != NULL, error);
  loom_catalogue_layer_node(rig->catalogue, xml, loom_xml_root(xml));
  bool done = loom_xml_finish(xml, &error);
  expect(done, error);
}

/* Read once a program: it takes longer than most tests. */
static LoomCatalogue *
built_in(void)
{
  static LoomCatalogue *catalogue;
  g_autoptr(GError) error = NULL;
  if (!catalogue)
    catalogue = loom_catalogue_built_in(&error);
  expect(catalogue != NULL, error);
  return loom_catalogue_ref(catalogue);
}

Rig *
rig_new(const char *extra)
{
  Rig *rig = g_new0(Rig, 1);
  rig->catalogue = extra ? loom_catalogue_new() : built_in();
  if (extra)
    layer_text(rig, extra);
  rig->design = loom_design_new("test");
  rig->edit = loom_edit_new(rig->design, "test");
  return rig;
}

void
rig_free(Rig *rig)
{
  if (rig->edit)
    loom_edit_free(rig->edit);
  loom_design_free(rig->design);
  loom_catalogue_unref(rig->catalogue);
  g_free(rig);
}

static LoomEdit *
edit_of(Rig *rig)
{
  if (!rig->edit)
    rig->edit = loom_edit_new(rig->design, "test");
  return rig->edit;
}

void
rig_add(Rig *rig, const char *kind, const char *designation)
{
  g_autoptr(GError) error = NULL;
  const LoomKind *k = loom_catalogue_kind(rig->catalogue, kind);
  if (!k)
    fail_msg("no kind %s", kind);
  const char *got = loom_edit_add(edit_of(rig), k, designation, 0, 0, &error);
  expect(got != NULL, error);
}

void
rig_plug_as(Rig *rig, const char *a, const char *b, LoomFit fit, const char *const *scenes)
{
  g_autoptr(GError) error = NULL;
  bool done = loom_edit_plug(edit_of(rig), a, b, fit, scenes, &error);
  expect(done, error);
}

void
rig_plug(Rig *rig, const char *a, const char *b)
{
  rig_plug_as(rig, a, b, LOOM_FIT_NORMAL, NULL);
}

void
rig_set(Rig *rig, const char *target, const char *key, const char *value)
{
  g_autoptr(GError) error = NULL;
  bool done = loom_edit_set(edit_of(rig), target, key, value, &error);
  expect(done, error);
}

void
rig_state(Rig *rig, const char *name)
{
  g_autoptr(GError) error = NULL;
  g_autofree char *target = g_strdup_printf("state:driving/%s", name);
  bool done = loom_edit_add_target(edit_of(rig), target, &error);
  expect(done, error);
}

const LoomDesign *
rig_done(Rig *rig)
{
  if (rig->edit)
    loom_design_apply(rig->design, g_steal_pointer(&rig->edit));
  return rig->design;
}

char *
rig_kind(const char *id, const char *element)
{
  return g_strdup_printf(
      "<kind id=\"%s\" name=\"%s\" letter=\"R\" group=\"distribution\" source=\"test\">"
      "<end id=\"a\" family=\"post\" gender=\"genderless\" side=\"left\">"
      "<contact way=\"1\" name=\"x\" role=\"pass\"/></end>"
      "<end id=\"b\" family=\"post\" gender=\"genderless\" side=\"right\">"
      "<contact way=\"1\" name=\"x\" role=\"pass\"/></end>%s</kind>",
      id, id, element);
}

/* Computed anew from potentials and currents, not from what the solver says of itself. */
void
rig_check_point(const LoomNetwork *n, const LoomOperatingPoint *p)
{
  if (p->trouble != LOOM_TROUBLE_NONE) {
    g_autofree char *why = loom_point_why(p, n);
    fail_msg("no operating point: %s", why);
  }
  g_autofree double *sum = g_new0(double, p->n_nodes + 1);
  g_autofree double *scale = g_new0(double, p->n_nodes + 1);
  double largest_A = 0, highest_V = 0, watts = 0;
  for (guint i = 0; i < n->n_branches; i++) {
    const LoomBranch *b = &n->branches[i];
    const guint nodes[4] = {b->a, b->b, b->c, b->d};
    const double into[4] = {p->flows[i].a_A, p->flows[i].b_A, p->flows[i].c_A, p->flows[i].d_A};
    for (guint k = 0; k < 4; k++) {
      if (nodes[k] == LOOM_NONE)
        continue;
      double V = p->potential_V[nodes[k]];
      sum[nodes[k]] += into[k];
      scale[nodes[k]] += b->ohm > LOOM_NO_OHM && !isnan(V) ? 2 * fabs(V) / b->ohm : 0;
      largest_A = fmax(largest_A, fabs(into[k]));
      highest_V = fmax(highest_V, isnan(V) ? 0 : fabs(V));
      watts += isnan(V) ? 0 : V * into[k];
      assert_true(!isnan(into[k]));
      assert_false(isnan(V) && fabs(into[k]) > 0);
    }
  }
  double bounds = 0;
  for (guint v = 0; v < p->n_nodes; v++) {
    double bound = fmax(1e-9 * largest_A, 16 * DBL_EPSILON * scale[v]);
    if (fabs(sum[v]) > bound)
      fail_msg("node %u: %g A left over, bound %g A", v, sum[v], bound);
    bounds += bound * (isnan(p->potential_V[v]) ? 0 : fabs(p->potential_V[v]));
  }
  if (fabs(watts) > fmax(bounds, 1e-9 * largest_A * highest_V))
    fail_msg("%g W unaccounted for", watts);
  assert_true(p->residual_A <= p->bound_A);
}
