#include "read-private.h"

#include <glib/gi18n-lib.h>
#include <math.h>

static const char *const known[] = {
    "id",       "name",    "standard",     "source",    "ways",         "shape",
    "keyed",    "fits",    "latches",      "touchable", "places",       "pitch_mm",
    "rated_A",  "rated_V", "contact_mohm", "cycles",    "wire_min_mm2", "wire_max_mm2",
    "strip_mm", "loose",   "accepts",      NULL};

static const char *const shapes[] = {"round",   "blade",    "flat",  "post",      "locked",
                                     "coax",    "ring",     "screw", "conductor", "usb",
                                     "modular", "circular", "radio", NULL};

/* Which of two words a list attribute holds; anything else fails. */
static void
two_words(LoomXml *xml, const LoomXmlNode *node, const char *attribute, const char *one,
          bool *has_one, const char *other, bool *has_other)
{
  g_autofree char *text = loom_xml_text(xml, node, attribute);
  if (!text)
    return;
  g_auto(GStrv) words = g_strsplit(text, " ", -1);
  for (char **w = words; *w; w++) {
    if (g_str_equal(*w, one))
      *has_one = true;
    else if (g_str_equal(*w, other))
      *has_other = true;
    else if (**w)
      loom_xml_fail(xml, node, LOOM_ERROR_CONTENT, _("%s=\"%s\" knows only the words %s and %s."),
                    attribute, text, one, other);
  }
}

static void
read_figures(LoomXml *xml, const LoomXmlNode *node, LoomFamily *family)
{
  family->pitch_mm = loom_xml_number(xml, node, "pitch_mm", 0.1, 100, 2.54);
  family->rated_A = loom_xml_number(xml, node, "rated_A", 0, 10000, NAN);
  family->rated_V = loom_xml_number(xml, node, "rated_V", 0, 10000, NAN);
  family->contact_ohm = loom_xml_number(xml, node, "contact_mohm", 0, 1e6, 0) / 1000;
  family->cycles = (guint)loom_xml_integer(xml, node, "cycles", 0, 10000000, 0);
  family->wire_min_mm2 = loom_xml_number(xml, node, "wire_min_mm2", 0, 1000, 0);
  family->wire_max_mm2 = loom_xml_number(xml, node, "wire_max_mm2", 0, 1000, 0);
  family->strip_mm = loom_xml_number(xml, node, "strip_mm", 0, 100, 0);
  family->loose_likelihood = loom_xml_number(xml, node, "loose", 0.01, 100, 1);
  if (family->wire_max_mm2 < family->wire_min_mm2)
    loom_xml_fail(xml, node, LOOM_ERROR_CONTENT, _("wire_max_mm2 is below wire_min_mm2."));
}

LoomFamily *
loom_family_read(LoomXml *xml, LoomXmlNode *node)
{
  loom_xml_only(xml, node, known);
  LoomFamily *family = g_atomic_rc_box_new0(LoomFamily);
  family->id = loom_xml_required(xml, node, "id");
  family->written = loom_xml_required(xml, node, "name");
  family->name = loom_read_words(g_strdup(family->written));
  family->source = loom_xml_required(xml, node, "source");
  family->standard = loom_xml_text(xml, node, "standard");
  family->ways = (guint)loom_xml_integer(xml, node, "ways", 0, 64, 1);
  family->shape = (LoomShape)loom_xml_word(xml, node, "shape", shapes, 0);
  family->keyed = loom_xml_yes(xml, node, "keyed", false);
  family->latches = loom_xml_yes(xml, node, "latches", false);
  family->places = (guint)loom_xml_integer(xml, node, "places", 1, 10000, 1);
  two_words(xml, node, "fits", "turned", &family->turnable, "shifted", &family->shiftable);
  two_words(xml, node, "touchable", "pins", &family->pins_touchable, "sockets",
            &family->sockets_touchable);
  read_figures(xml, node, family);
  g_autofree char *accepts = loom_xml_text(xml, node, "accepts");
  family->accepts = g_strsplit(accepts ? accepts : "", " ", -1);
  LoomXmlNode *note = loom_xml_child(node, "note");
  family->note = note ? loom_xml_content(note) : NULL;
  family->xml = loom_xml_dump(xml, node, 2);
  return family;
}

char *
loom_read_words(char *text)
{
  if (!text || !*text)
    return text;
  char *words = g_strdup(_(text));
  g_free(text);
  return words;
}
