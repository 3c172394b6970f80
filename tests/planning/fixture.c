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
