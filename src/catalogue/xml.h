/* Reading and writing of our XML files: the only place that includes libxml2 for them.
 *
 *   g_autoptr(LoomXml) xml = loom_xml_read("robot.loom", "design", NS, &error);
 *   for (LoomXmlNode *n = loom_xml_child(loom_xml_root(xml), "part"); n; n = loom_xml_next(n,
 * "part")) x = loom_xml_number(xml, n, "x", -1e5, 1e5, NAN); if (!loom_xml_finish(xml, &error)) ...
 *
 * Errors are sticky: the first one is kept with file and line, later calls return harmless values,
 * and one check at the end (loom_xml_finish) reports it. Files are UTF-8, at most
 * LOOM_XML_LARGEST_BYTES long; a document type declaration (and with it every entity of the file's
 * own) is refused; nothing is ever fetched. */
#pragma once

#include "error.h"

#include <stdbool.h>

G_BEGIN_DECLS

#define LOOM_XML_LARGEST_BYTES (48u << 20)

typedef struct LoomXml LoomXml;
typedef struct LoomXmlNode LoomXmlNode; /* belongs to its LoomXml; opaque */

/* Reads `path` whole. The root must be `root` in the namespace `ns`, its attribute `version`
 * "MAJOR.MINOR" with MAJOR 1. Returns new, or NULL with `error` set. */
LoomXml *loom_xml_read(const char *path, const char *root, const char *ns, GError **error);

/* The same from memory; `name` stands in messages where a path would. */
LoomXml *loom_xml_parse(const char *bytes, gsize length, const char *name, const char *root,
                        const char *ns, GError **error);
void loom_xml_free(LoomXml *xml);

const char *loom_xml_name(const LoomXml *xml);
LoomXmlNode *loom_xml_root(const LoomXml *xml);

/* First child element called `name`, next sibling called `name`; NULL as `name` takes any element.
 */
LoomXmlNode *loom_xml_child(const LoomXmlNode *parent, const char *name);
LoomXmlNode *loom_xml_next(const LoomXmlNode *node, const char *name);
const char *loom_xml_element(const LoomXmlNode *node);
guint loom_xml_line(const LoomXmlNode *node);
/* Whether the element is in the name space `ns` without a prefix. */
bool loom_xml_in_space(const LoomXmlNode *node, const char *ns);
bool loom_xml_has(const LoomXmlNode *node, const char *attribute);

/* Attributes. `text` returns new or NULL where absent; `required` fails where absent or empty. */
char *loom_xml_text(LoomXml *xml, const LoomXmlNode *node, const char *attribute);
char *loom_xml_required(LoomXml *xml, const LoomXmlNode *node, const char *attribute);

/* A finite decimal number in [low, high]; `absent` where there is no such attribute. Never
 * locale-dependent. Fails on anything else ("NaN", "1e308" out of range, "12V"). */
double loom_xml_number(LoomXml *xml, const LoomXmlNode *node, const char *attribute, double low,
                       double high, double absent);
int loom_xml_integer(LoomXml *xml, const LoomXmlNode *node, const char *attribute, int low,
                     int high, int absent);

/* "yes" or "no". */
bool loom_xml_yes(LoomXml *xml, const LoomXmlNode *node, const char *attribute, bool absent);

/* Index of the value in the NULL-terminated `words`; `absent` where there is no such attribute. */
int loom_xml_word(LoomXml *xml, const LoomXmlNode *node, const char *attribute,
                  const char *const *words, int absent);

/* Text content, white space at both ends removed and runs inside made one blank. New, may be "". */
char *loom_xml_content(const LoomXmlNode *node);

/* The element as text, laid out anew with two blanks a level, as it stands `level` levels deep in a
 * file. The same element always gives the same text. New. */
char *loom_xml_dump(const LoomXml *xml, const LoomXmlNode *node, int level);

/* Fails unless every attribute of `node` is in the NULL-terminated list `known`. */
void loom_xml_only(LoomXml *xml, const LoomXmlNode *node, const char *const *known);

/* Records an error at `node` unless there is one; printf format. */
void loom_xml_fail(LoomXml *xml, const LoomXmlNode *node, LoomError code, const char *format, ...)
    G_GNUC_PRINTF(4, 5);
bool loom_xml_failed(const LoomXml *xml);

/* true if nothing failed, otherwise false with `error` set to the first failure. */
bool loom_xml_finish(LoomXml *xml, GError **error);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomXml, loom_xml_free)

/* Writing: two blanks a level, attributes in the order of the calls, empty elements closed at once,
 * LF, UTF-8. `text` with NULL and `number` with NAN write nothing. */
typedef struct LoomXmlWriter LoomXmlWriter;

LoomXmlWriter *loom_xml_writer_new(void);
void loom_xml_start(LoomXmlWriter *writer, const char *element);
void loom_xml_put_text(LoomXmlWriter *writer, const char *attribute, const char *text);
void loom_xml_put_number(LoomXmlWriter *writer, const char *attribute, double number);
void loom_xml_put_yes(LoomXmlWriter *writer, const char *attribute, bool yes);
void loom_xml_put_content(LoomXmlWriter *writer, const char *text);
/* Text that loom_xml_dump gave, on a line of its own. */
void loom_xml_put_dump(LoomXmlWriter *writer, const char *dump);
void loom_xml_end(LoomXmlWriter *writer);
/* Ends the document and the writer. New. */
char *loom_xml_writer_free_to_text(LoomXmlWriter *writer);

/* Shortest decimal text that reads back as `number` ("0.1", "12"); locale-independent. New. */
char *loom_number_to_text(double number);
/* Strict inverse: whole text, finite; false otherwise. */
bool loom_number_from_text(const char *text, double *number);
/* The same for people: with the decimal mark of the locale. New. */
char *loom_number_to_words(double number);
/* What people write: with the decimal mark of the locale or a point. */
bool loom_number_from_words(const char *text, double *number);

G_END_DECLS
