#include "written.h"

#include <libxml/parser.h>
#include <libxml/tree.h>
#include <math.h>
#include <pango/pangocairo.h>
#include <string.h>

static void
written_clear(gpointer data)
{
  g_free(((Written *)data)->text);
}

static double
width_of(const char *text, double size_mm, bool bold)
{
  static const double dots = 100; /* a millimetre: Pango rounds to whole units */
  cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_A8, 1, 1);
  cairo_t *cr = cairo_create(surface);
  PangoLayout *layout = pango_cairo_create_layout(cr);
  PangoFontDescription *font =
      pango_font_description_from_string(bold ? "DejaVu Sans Bold" : "DejaVu Sans");
  pango_font_description_set_absolute_size(font, size_mm * dots * PANGO_SCALE);
  pango_layout_set_font_description(layout, font);
  pango_layout_set_text(layout, text, -1);
  int width, height;
  pango_layout_get_size(layout, &width, &height);
  pango_font_description_free(font);
  g_object_unref(layout);
  cairo_destroy(cr);
  cairo_surface_destroy(surface);
  return width / (double)PANGO_SCALE / dots;
}

static double
number_of(xmlNode *node, const char *name)
{
  xmlChar *text = xmlGetProp(node, BAD_CAST name);
  double number = text ? g_ascii_strtod((const char *)text, NULL) : NAN;
  xmlFree(text);
  return number;
}

static bool
says(xmlNode *node, const char *name, const char *word)
{
  xmlChar *text = xmlGetProp(node, BAD_CAST name);
  bool same = text && strstr((const char *)text, word);
  xmlFree(text);
  return same;
}

/* What the letters cover: cap height 0.73 and descent 0.2 of the size (DejaVu Sans, from its own
 * tables). */
static void
collect(xmlNode *node, bool reading, GArray *all)
{
  for (; node; node = node->next) {
    bool inside = reading || says(node, "id", "reading-");
    if (node->type == XML_ELEMENT_NODE && xmlStrEqual(node->name, BAD_CAST "text") &&
        !says(node, "transform", "rotate")) {
      xmlChar *text = xmlNodeGetContent(node);
      double size = number_of(node, "font-size"), x = number_of(node, "x");
      double width = width_of((const char *)text, size, says(node, "font-weight", "bold"));
      double left = says(node, "text-anchor", "middle") ? x - width / 2
                    : says(node, "text-anchor", "end")  ? x - width
                                                        : x;
      Written w = {{left, number_of(node, "y") - 0.73 * size, width, 0.93 * size},
                   g_strdup((const char *)text),
                   inside};
      g_array_append_val(all, w);
      xmlFree(text);
    }
    collect(node->children, inside, all);
  }
}

bool
written_meet(LoomRect a, LoomRect b)
{
  return a.x < b.x + b.width && b.x < a.x + a.width && a.y < b.y + b.height && b.y < a.y + a.height;
}

GArray *
written_read(const char *svg)
{
  GArray *all = g_array_new(FALSE, FALSE, sizeof(Written));
  xmlDoc *doc = xmlReadMemory(svg, (int)strlen(svg), NULL, NULL, XML_PARSE_NONET);
  g_array_set_clear_func(all, written_clear);
  collect(xmlDocGetRootElement(doc), false, all);
  xmlFreeDoc(doc);
  return all;
}
