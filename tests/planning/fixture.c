#include "fixture.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

static void
no_error(const GError *error)
{
  if (error)
    fail_msg("%s", error->message);
}

LoomCatalogue *
fixture_catalogue(const char *entries)
{
  g_autoptr(GError) error = NULL;
  g_autofree char *text = g_strdup_printf("<catalogue xmlns=\"%s\" version=\"1.0\">%s</catalogue>",
                                          LOOM_CATALOGUE_NS, entries);
  g_autoptr(LoomXml) xml =
      loom_xml_parse(text, strlen(text), "fixture", "catalogue", LOOM_CATALOGUE_NS, &error);
  no_error(error);
  LoomCatalogue *catalogue = loom_catalogue_new();
  if (!loom_catalogue_layer_node(catalogue, xml, loom_xml_root(xml)))
    loom_xml_finish(xml, &error);
  no_error(error);
  return catalogue;
}

LoomCatalogue *
fixture_built_in(void)
{
  g_autoptr(GError) error = NULL;
  LoomCatalogue *catalogue = loom_catalogue_built_in(&error);
  no_error(error);
  return catalogue;
}

void
fixture_add(LoomDesign *design, const LoomCatalogue *catalogue, const char *kind)
{
  const LoomKind *k = loom_catalogue_kind(catalogue, kind);
  if (!k)
    fail_msg("There is no kind %s.", kind);
  g_autoptr(GError) error = NULL;
  LoomEdit *edit = loom_edit_new(design, "add");
  loom_edit_add(edit, k, NULL, NAN, NAN, &error);
  no_error(error);
  loom_design_apply(design, edit);
}

void
fixture_plug(LoomDesign *design, const char *a, const char *b)
{
  g_autoptr(GError) error = NULL;
  LoomEdit *edit = loom_edit_new(design, "plug");
  loom_edit_plug(edit, a, b, LOOM_FIT_NORMAL, NULL, &error);
  no_error(error);
  loom_design_apply(design, edit);
}

void
fixture_set(LoomDesign *design, const char *target, const char *key, const char *value)
{
  g_autoptr(GError) error = NULL;
  LoomEdit *edit = loom_edit_new(design, "set");
  loom_edit_set(edit, target, key, value, &error);
  no_error(error);
  loom_design_apply(design, edit);
}

void
fixture_find(const LoomDesign *design, const char *name, guint *part, guint *end)
{
  g_autoptr(GError) error = NULL;
  loom_design_find_end(design, name, part, end, &error);
  no_error(error);
}

char *
fixture_family(const char *id, guint ways)
{
  return g_strdup_printf("<family id=\"%s\" name=\"family %s\" ways=\"%u\" shape=\"round\" "
                         "keyed=\"yes\" touchable=\"pins\" rated_A=\"10\" contact_mohm=\"1\" "
                         "wire_min_mm2=\"0.5\" wire_max_mm2=\"2.5\" source=\"typical\"/>",
                         id, id, ways);
}

/* ---- random robots of real kinds ---- */

static const char *const likely[] = {
    "pack-nimh-12v-3ah", "pack-nimh-12v-3ah-flat", "pack-lead-12v-7ah",
    "fuse-lead-20",      "fuse-lead-60-20",        "switch-main-20",
    "switch-main-20",    "switch-main-2p-20",      "extension-30-300",
    "extension-30-300",  "adaptor-flat-30",        "y-30",
    "controller-rover",  "controller-pocket",      "controller-motor-module",
    "motor-small-12v",   "motor-medium",           "motor-extension-300",
    "supply-bench",      "converter-5v-usb",       "charger-nimh-12v",
    "computer-laptop",   "lead-30-ferrules",       "lead-lab-30"};

static void
add_random_parts(LoomDesign *design, const LoomCatalogue *catalogue, GRand *rand)
{
  static const char *const places[] = {"arm", "base", "mast"};
  guint n_kinds, n = (guint)g_rand_int_range(rand, 4, 24);
  const LoomKind *const *kinds = loom_catalogue_kinds(catalogue, &n_kinds);
  for (guint i = 0; i < n; i++) {
    bool any = g_rand_int_range(rand, 0, 4) == 0;
    fixture_add(design, catalogue,
                any ? kinds[g_rand_int_range(rand, 0, (gint32)n_kinds)]->id
                    : likely[g_rand_int_range(rand, 0, G_N_ELEMENTS(likely))]);
    const char *designation = loom_design_part(design, i)->designation;
    if (g_rand_int_range(rand, 0, 2))
      fixture_set(design, designation, "place", places[g_rand_int_range(rand, 0, 3)]);
  }
}

static bool
try_plug(LoomDesign *design, guint part_a, guint end_a, guint part_b, guint end_b, bool wrong_too)
{
  const LoomPart *a = loom_design_part(design, part_a), *b = loom_design_part(design, part_b);
  LoomEnd twin = b->kind->ends[end_b];
  if (!wrong_too && loom_mate(&a->kind->ends[end_a], &twin) != LOOM_MATE_YES)
    return false;
  g_autofree char *from = g_strconcat(a->designation, ":", a->kind->ends[end_a].id, NULL);
  g_autofree char *to = g_strconcat(b->designation, ":", twin.id, NULL);
  LoomEdit *edit = loom_edit_new(design, "plug");
  if (!loom_edit_plug(edit, from, to, LOOM_FIT_NORMAL, NULL, NULL)) {
    loom_edit_free(edit);
    return false;
  }
  return loom_design_apply(design, edit);
}

typedef struct {
  guint part, end;
} AnyEnd;

/* All ends, in random order. */
static GArray *
shuffled_ends(const LoomDesign *design, GRand *rand)
{
  GArray *ends = g_array_new(FALSE, FALSE, sizeof(AnyEnd));
  for (guint p = 0; p < loom_design_n_parts(design); p++)
    for (guint e = 0; e < loom_design_part(design, p)->kind->n_ends; e++) {
      AnyEnd end = {p, e};
      g_array_append_val(ends, end);
    }
  for (guint i = ends->len; i > 1; i--) {
    AnyEnd *x = &g_array_index(ends, AnyEnd, i - 1);
    AnyEnd *y = &g_array_index(ends, AnyEnd, g_rand_int_range(rand, 0, (gint32)i)), old = *x;
    *x = *y;
    *y = old;
  }
  return ends;
}

LoomDesign *
fixture_random_robot(const LoomCatalogue *catalogue, GRand *rand)
{
  LoomDesign *design = loom_design_new("random");
  add_random_parts(design, catalogue, rand);
  g_autoptr(GArray) ends = shuffled_ends(design, rand);
  for (guint i = 0; i < ends->len; i++)
    for (guint k = 0; k < i; k++) {
      AnyEnd a = g_array_index(ends, AnyEnd, i), b = g_array_index(ends, AnyEnd, k);
      bool wrong_too = g_rand_int_range(rand, 0, 500) == 0;
      if (a.part != b.part && g_rand_int_range(rand, 0, 5) > 0)
        try_plug(design, a.part, a.end, b.part, b.end, wrong_too);
    }
  return design;
}
