#include "vary.h"

#include "robots.h"

#include <libxml/parser.h>
#include <string.h>

static bool
is_called(const xmlNode *node, const char *name)
{
  return node->type == XML_ELEMENT_NODE && strcmp((const char *)node->name, name) == 0;
}

void
vary_set(xmlNode *node, const char *attribute, const char *value)
{
  if (value)
    xmlSetProp(node, (const xmlChar *)attribute, (const xmlChar *)value);
  else
    xmlUnsetProp(node, (const xmlChar *)attribute);
}

char *
vary_get(xmlNode *node, const char *attribute)
{
  return (char *)xmlGetProp(node, (const xmlChar *)attribute);
}

xmlNode *
vary_end(xmlNode *kind, const char *id)
{
  for (xmlNode *n = kind->children; n; n = n->next) {
    char *own = is_called(n, "end") ? vary_get(n, "id") : NULL;
    bool found = own && strcmp(own, id) == 0;
    xmlFree(own);
    if (found)
      return n;
  }
  return NULL;
}

static bool
is_electrical(const xmlNode *node)
{
  static const char *const names[] = {"wire",   "through",  "switch",  "fuse",
                                      "source", "resistor", "current", "power",
                                      "motor",  "servo",    "driver",  "converter"};
  for (guint i = 0; i < G_N_ELEMENTS(names); i++)
    if (is_called(node, names[i]))
      return true;
  return false;
}

xmlNode *
vary_element(xmlNode *kind, guint index)
{
  for (xmlNode *n = kind->children; n; n = n->next)
    if (is_electrical(n) && index-- == 0)
      return n;
  return NULL;
}

static void
drop_picture(xmlNode *kind)
{
  for (xmlNode *n = kind->children; n; n = n->next)
    if (is_called(n, "picture")) {
      xmlUnlinkNode(n);
      xmlFreeNode(n);
      return;
    }
}

static xmlDoc *
read_entry(const LoomKind *kind)
{
  g_autofree char *text = g_strdup_printf("<catalogue xmlns=\"%s\" version=\"1.0\">%s</catalogue>",
                                          LOOM_CATALOGUE_NS, kind->xml);
  return xmlReadMemory(text, (int)strlen(text), kind->id, NULL, XML_PARSE_NONET);
}

static LoomKind *
kind_of(xmlDoc *doc, const char *id)
{
  xmlChar *text;
  int length;
  xmlDocDumpMemory(doc, &text, &length);
  g_autoptr(GError) error = NULL;
  g_autoptr(LoomXml) xml = loom_xml_parse((const char *)text, (gsize)length, "varied", "catalogue",
                                          LOOM_CATALOGUE_NS, &error);
  g_autoptr(LoomCatalogue) catalogue = loom_catalogue_new();
  guint n;
  const LoomFamily *const *families = loom_catalogue_families(robots_catalogue(), &n);
  for (guint i = 0; i < n; i++)
    loom_catalogue_add_family(catalogue, families[i]);
  if (xml)
    loom_catalogue_layer_node(catalogue, xml, loom_xml_root(xml));
  const LoomKind *kind = xml && !loom_xml_failed(xml) ? loom_catalogue_kind(catalogue, id) : NULL;
  xmlFree(text);
  return kind ? loom_kind_ref(kind) : NULL;
}

LoomKind *
vary(const LoomKind *kind, VaryEdit edit, const void *data)
{
  xmlDoc *doc = read_entry(kind);
  xmlNode *entry = doc ? xmlDocGetRootElement(doc)->children : NULL;
  while (entry && !is_called(entry, "kind"))
    entry = entry->next;
  LoomKind *varied = NULL;
  if (entry) {
    drop_picture(entry);
    static guint count; /* designs embed kinds by id: no two may share one */
    g_autofree char *id = g_strdup_printf("varied-%u", ++count);
    vary_set(entry, "id", id);
    vary_set(entry, "holds", NULL);
    if (edit(entry, data))
      varied = kind_of(doc, id);
  }
  xmlFreeDoc(doc);
  return varied;
}

LoomDesign *
vary_part(const LoomDesign *design, guint part, VaryEdit edit, const void *data)
{
  const LoomPart *old = loom_design_part(design, part);
  g_autoptr(LoomKind) kind = vary(old->kind, edit, data);
  if (!kind)
    return NULL;
  LoomDesign *copy = loom_design_snapshot(design);
  LoomEdit *change = loom_edit_new(copy, "vary");
  g_autoptr(GError) error = NULL;
  if (!loom_edit_set_kind(change, old->designation, kind, &error))
    g_error("%s", error->message);
  loom_design_apply(copy, change);
  return copy;
}
