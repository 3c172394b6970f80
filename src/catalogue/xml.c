#include "xml.h"

#include <gio/gio.h>
#include <glib/gi18n-lib.h>
#include <langinfo.h>

#include <libxml/parser.h>
#include <libxml/tree.h>
#include <math.h>
#include <string.h>

struct LoomXml {
  xmlDoc *doc;
  char *name;
  GError *error;
};

void
loom_xml_free(LoomXml *xml)
{
  if (!xml)
    return;
  if (xml->doc)
    xmlFreeDoc(xml->doc);
  g_free(xml->name);
  g_clear_error(&xml->error);
  g_free(xml);
}

static const xmlNode *
tree(const LoomXmlNode *node)
{
  return (const xmlNode *)node;
}

/* What is refused before the parser sees it. Entities can only be declared in a document type, so
 * without one there is nothing to expand and nothing to fetch. */
static bool
acceptable_bytes(const char *bytes, gsize length, const char *name, GError **error)
{
  if (length == 0) {
    g_set_error(error, LOOM_ERROR, LOOM_ERROR_SYNTAX, _("%s:1: The file is empty."), name);
    return false;
  }
  if (length > LOOM_XML_LARGEST_BYTES) {
    g_set_error(error, LOOM_ERROR, LOOM_ERROR_SYNTAX,
                _("%s:1: The file is larger than %u MiB, more than any design or catalogue needs."),
                name, LOOM_XML_LARGEST_BYTES >> 20);
    return false;
  }
  const char *bad;
  if (!g_utf8_validate_len(bytes, length, &bad)) {
    guint line = 1;
    for (const char *p = bytes; p < bad; p++)
      line += *p == '\n';
    g_set_error(error, LOOM_ERROR, LOOM_ERROR_SYNTAX, _("%s:%u: The file is not UTF-8 text."), name,
                line);
    return false;
  }
  const char *doctype = g_strstr_len(bytes, length, "<!DOCTYPE");
  if (doctype) {
    guint line = 1;
    for (const char *p = bytes; p < doctype; p++)
      line += *p == '\n';
    g_set_error(error, LOOM_ERROR, LOOM_ERROR_SYNTAX,
                _("%s:%u: Document types and entities are refused here."), name, line);
    return false;
  }
  return true;
}

static char *
one_line(const char *message)
{
  g_autofree char *text = g_strdup(message ? message : _("it cannot be read"));
  g_strdelimit(text, "\r\n", ' ');
  return g_strdup(g_strstrip(text));
}

static xmlDoc *
parse(const char *bytes, gsize length, const char *name, GError **error)
{
  xmlParserCtxt *context = xmlNewParserCtxt();
  xmlDoc *doc = xmlCtxtReadMemory(context, bytes, (int)length, NULL, "UTF-8",
                                  XML_PARSE_NONET | XML_PARSE_NOERROR | XML_PARSE_NOWARNING |
                                      XML_PARSE_NOBLANKS | XML_PARSE_NOCDATA | XML_PARSE_BIG_LINES);
  if (!doc) {
    const xmlError *last = xmlCtxtGetLastError(context);
    g_autofree char *message = one_line(last ? last->message : NULL);
    g_set_error(error, LOOM_ERROR, LOOM_ERROR_SYNTAX, _("%s:%d: This is not well-formed XML: %s."),
                name, last && last->line > 0 ? last->line : 1, message);
  }
  xmlFreeParserCtxt(context);
  return doc;
}

static void
check_version(LoomXml *xml, const LoomXmlNode *root)
{
  g_autofree char *version = loom_xml_required(xml, root, "version");
  if (loom_xml_failed(xml))
    return;
  char *rest;
  guint64 major = g_ascii_strtoull(version, &rest, 10);
  if (rest == version || *rest != '.' || !g_ascii_isdigit(rest[1]))
    loom_xml_fail(xml, root, LOOM_ERROR_VERSION, _("\"%s\" is no version; 1.0 is expected."),
                  version);
  else if (major != 1)
    loom_xml_fail(xml, root, LOOM_ERROR_VERSION,
                  _("The file has version %s; this program reads version 1."), version);
}

static void
check_root(LoomXml *xml, const char *root_name, const char *ns)
{
  LoomXmlNode *root = loom_xml_root(xml);
  const xmlNode *node = tree(root);
  if (!root || !xmlStrEqual(node->name, BAD_CAST root_name))
    loom_xml_fail(xml, root, LOOM_ERROR_CONTENT, _("The file holds <%s> where <%s> is expected."),
                  root ? (const char *)node->name : "", root_name);
  else if (!loom_xml_in_space(root, ns))
    loom_xml_fail(xml, root, LOOM_ERROR_CONTENT, _("<%s> lacks xmlns=\"%s\"."), root_name, ns);
  else
    check_version(xml, root);
}

LoomXml *
loom_xml_parse(const char *bytes, gsize length, const char *name, const char *root, const char *ns,
               GError **error)
{
  if (!acceptable_bytes(bytes, length, name, error))
    return NULL;
  xmlDoc *doc = parse(bytes, length, name, error);
  if (!doc)
    return NULL;
  g_autoptr(LoomXml) xml = g_new0(LoomXml, 1);
  xml->doc = doc;
  xml->name = g_strdup(name);
  check_root(xml, root, ns);
  if (!loom_xml_finish(xml, error))
    return NULL;
  return g_steal_pointer(&xml);
}

/* A device or a pipe could go on for ever: only regular files of bounded size are read. */
static char *
read_bounded(const char *path, gsize *length, GError **error)
{
  g_autoptr(GFile) file = g_file_new_for_path(path);
  g_autoptr(GError) cause = NULL;
  g_autoptr(GFileInfo) info =
      g_file_query_info(file, G_FILE_ATTRIBUTE_STANDARD_SIZE "," G_FILE_ATTRIBUTE_STANDARD_TYPE,
                        G_FILE_QUERY_INFO_NONE, NULL, &cause);
  if (!info) {
    g_set_error(error, LOOM_ERROR, LOOM_ERROR_FILE, _("%s:0: Cannot be read: %s."), path,
                cause->message);
    return NULL;
  }
  if (g_file_info_get_file_type(info) != G_FILE_TYPE_REGULAR) {
    g_set_error(error, LOOM_ERROR, LOOM_ERROR_FILE, _("%s:0: This is not a file."), path);
    return NULL;
  }
  if (g_file_info_get_size(info) > (goffset)LOOM_XML_LARGEST_BYTES) {
    g_set_error(error, LOOM_ERROR, LOOM_ERROR_SYNTAX,
                _("%s:1: The file is larger than %u MiB, more than any design or catalogue needs."),
                path, LOOM_XML_LARGEST_BYTES >> 20);
    return NULL;
  }
  char *bytes = NULL;
  if (!g_file_get_contents(path, &bytes, length, &cause))
    g_set_error(error, LOOM_ERROR, LOOM_ERROR_FILE, _("%s:0: Cannot be read: %s."), path,
                cause->message);
  return bytes;
}

LoomXml *
loom_xml_read(const char *path, const char *root, const char *ns, GError **error)
{
  gsize length = 0;
  g_autofree char *bytes = read_bounded(path, &length, error);
  return bytes ? loom_xml_parse(bytes, length, path, root, ns, error) : NULL;
}

const char *
loom_xml_name(const LoomXml *xml)
{
  return xml->name;
}

LoomXmlNode *
loom_xml_root(const LoomXml *xml)
{
  return (LoomXmlNode *)xmlDocGetRootElement(xml->doc);
}

static LoomXmlNode *
first_named(xmlNode *node, const char *name)
{
  while (node &&
         (node->type != XML_ELEMENT_NODE || (name && !xmlStrEqual(node->name, BAD_CAST name))))
    node = node->next;
  return (LoomXmlNode *)node;
}

LoomXmlNode *
loom_xml_child(const LoomXmlNode *parent, const char *name)
{
  return parent ? first_named(tree(parent)->children, name) : NULL;
}

LoomXmlNode *
loom_xml_next(const LoomXmlNode *node, const char *name)
{
  return first_named(tree(node)->next, name);
}

const char *
loom_xml_element(const LoomXmlNode *node)
{
  return (const char *)tree(node)->name;
}

guint
loom_xml_line(const LoomXmlNode *node)
{
  long line = node ? xmlGetLineNo((xmlNode *)tree(node)) : 1;
  return line > 0 ? (guint)line : 1;
}

bool
loom_xml_in_space(const LoomXmlNode *node, const char *ns)
{
  const xmlNs *own = tree(node)->ns;
  return own && !own->prefix && xmlStrEqual(own->href, BAD_CAST ns);
}

bool
loom_xml_has(const LoomXmlNode *node, const char *attribute)
{
  return xmlHasNsProp((xmlNode *)tree(node), BAD_CAST attribute, NULL) != NULL;
}

char *
loom_xml_text(LoomXml *xml, const LoomXmlNode *node, const char *attribute)
{
  if (loom_xml_failed(xml))
    return NULL;
  xmlChar *value = xmlGetNoNsProp((xmlNode *)tree(node), BAD_CAST attribute);
  char *copy = g_strdup((const char *)value);
  xmlFree(value);
  return copy;
}

char *
loom_xml_required(LoomXml *xml, const LoomXmlNode *node, const char *attribute)
{
  char *text = loom_xml_text(xml, node, attribute);
  if (!loom_xml_failed(xml) && (!text || !*text)) {
    loom_xml_fail(xml, node, LOOM_ERROR_CONTENT, _("<%s> lacks %s."), loom_xml_element(node),
                  attribute);
    g_clear_pointer(&text, g_free);
  }
  return text ? text : g_strdup("");
}

double
loom_xml_number(LoomXml *xml, const LoomXmlNode *node, const char *attribute, double low,
                double high, double absent)
{
  g_autofree char *text = loom_xml_text(xml, node, attribute);
  if (!text)
    return absent;
  double number;
  if (!loom_number_from_text(text, &number)) {
    loom_xml_fail(xml, node, LOOM_ERROR_CONTENT, _("%s=\"%s\" is not a number."), attribute, text);
    return absent;
  }
  if (number < low || number > high) {
    loom_xml_fail(xml, node, LOOM_ERROR_CONTENT, _("%s=\"%s\" is not between %g and %g."),
                  attribute, text, low, high);
    return absent;
  }
  return number;
}

int
loom_xml_integer(LoomXml *xml, const LoomXmlNode *node, const char *attribute, int low, int high,
                 int absent)
{
  double number = loom_xml_number(xml, node, attribute, low, high, NAN);
  if (isnan(number))
    return absent;
  if (number > floor(number)) {
    loom_xml_fail(xml, node, LOOM_ERROR_CONTENT, _("%s is not a whole number."), attribute);
    return absent;
  }
  return (int)number;
}

bool
loom_xml_yes(LoomXml *xml, const LoomXmlNode *node, const char *attribute, bool absent)
{
  static const char *const words[] = {"no", "yes", NULL};
  return loom_xml_word(xml, node, attribute, words, absent) == 1;
}

int
loom_xml_word(LoomXml *xml, const LoomXmlNode *node, const char *attribute,
              const char *const *words, int absent)
{
  g_autofree char *text = loom_xml_text(xml, node, attribute);
  if (!text)
    return absent;
  for (int i = 0; words[i]; i++)
    if (g_str_equal(words[i], text))
      return i;
  g_autofree char *choice = g_strjoinv(", ", (char **)words);
  loom_xml_fail(xml, node, LOOM_ERROR_CONTENT, _("%s=\"%s\" is none of: %s."), attribute, text,
                choice);
  return absent;
}

char *
loom_xml_content(const LoomXmlNode *node)
{
  xmlChar *raw = xmlNodeGetContent((xmlNode *)tree(node));
  GString *text = g_string_new(NULL);
  bool blank = false;
  for (const char *p = (const char *)raw; p && *p; p++) {
    if (g_ascii_isspace(*p)) {
      blank = text->len > 0;
      continue;
    }
    if (blank)
      g_string_append_c(text, ' ');
    blank = false;
    g_string_append_c(text, *p);
  }
  xmlFree(raw);
  return g_string_free(text, FALSE);
}

char *
loom_xml_dump(const LoomXml *xml, const LoomXmlNode *node, int level)
{
  xmlBuffer *buffer = xmlBufferCreate();
  xmlNodeDump(buffer, xml->doc, (xmlNode *)tree(node), level, 1);
  char *text = g_strdup((const char *)xmlBufferContent(buffer));
  xmlBufferFree(buffer);
  return text;
}

void
loom_xml_only(LoomXml *xml, const LoomXmlNode *node, const char *const *known)
{
  for (const xmlAttr *a = tree(node)->properties; a; a = a->next)
    if (!g_strv_contains(known, (const char *)a->name))
      loom_xml_fail(xml, node, LOOM_ERROR_CONTENT, _("<%s> has no attribute %s."),
                    loom_xml_element(node), (const char *)a->name);
}

void
loom_xml_fail(LoomXml *xml, const LoomXmlNode *node, LoomError code, const char *format, ...)
{
  if (xml->error)
    return;
  va_list arguments;
  va_start(arguments, format);
  g_autofree char *sentence = g_strdup_vprintf(format, arguments);
  va_end(arguments);
  xml->error = g_error_new(LOOM_ERROR, code, "%s:%u: %s", xml->name, loom_xml_line(node), sentence);
}

bool
loom_xml_failed(const LoomXml *xml)
{
  return xml->error != NULL;
}

bool
loom_xml_finish(LoomXml *xml, GError **error)
{
  if (!xml->error)
    return true;
  g_propagate_error(error, g_steal_pointer(&xml->error));
  return false;
}

bool
loom_number_from_text(const char *text, double *number)
{
  if (!text || !*text || g_ascii_isspace(*text))
    return false;
  if (strspn(text, "+-.0123456789eE") != strlen(text)) /* no NaN, infinity or hexadecimal */
    return false;
  char *rest;
  double value = g_ascii_strtod(text, &rest);
  if (*rest || rest == text || !isfinite(value))
    return false;
  *number = value;
  return true;
}

char *
loom_number_to_text(double number)
{
  char buffer[G_ASCII_DTOSTR_BUF_SIZE];
  /* Enough digits for the whole part first, so that 20 is not written 2e+01. */
  double size = fabs(number);
  int whole = size >= 1 && size < 1e15 ? (int)floor(log10(size)) + 1 : 1;
  for (int digits = whole; digits <= 17; digits++) {
    char format[8];
    g_snprintf(format, sizeof format, "%%.%dg", digits);
    g_ascii_formatd(buffer, sizeof buffer, format, number);
    double back = g_ascii_strtod(buffer, NULL);
    if (!(back < number) && !(back > number))
      break;
  }
  return g_strdup(g_str_equal(buffer, "-0") ? "0" : buffer);
}

static const char *
decimal_mark(void)
{
  const char *mark = nl_langinfo(RADIXCHAR);
  return *mark ? mark : ".";
}

static char *
with_mark(const char *text, const char *old, const char *mark)
{
  g_auto(GStrv) halves = g_strsplit(text, old, 2);
  return g_strjoinv(mark, halves);
}

char *
loom_number_to_words(double number)
{
  g_autofree char *text = loom_number_to_text(number);
  return with_mark(text, ".", decimal_mark());
}

bool
loom_number_from_words(const char *text, double *number)
{
  g_autofree char *plain = with_mark(text, decimal_mark(), ".");
  return loom_number_from_text(plain, number);
}
