#include "xml.h"

#include <math.h>

/* The text so far, and the elements that are open. An element's start tag stays unclosed ("<a
 * x="1"") until something goes into it, so that an empty one can end in "/>". */
struct LoomXmlWriter {
  GString *text;
  GPtrArray *open;
  bool in_tag;  /* the innermost start tag still takes attributes */
  bool content; /* the innermost element holds text: its end tag stays on the line */
};

LoomXmlWriter *
loom_xml_writer_new(void)
{
  LoomXmlWriter *writer = g_new0(LoomXmlWriter, 1);
  writer->text = g_string_new("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n");
  writer->open = g_ptr_array_new_with_free_func(g_free);
  return writer;
}

static void
indent(LoomXmlWriter *writer)
{
  for (guint i = 0; i < writer->open->len; i++)
    g_string_append(writer->text, "  ");
}

static void
close_tag(LoomXmlWriter *writer, const char *with)
{
  if (writer->in_tag)
    g_string_append(writer->text, with);
  writer->in_tag = false;
}

void
loom_xml_start(LoomXmlWriter *writer, const char *element)
{
  close_tag(writer, ">\n");
  indent(writer);
  g_string_append_printf(writer->text, "<%s", element);
  g_ptr_array_add(writer->open, g_strdup(element));
  writer->in_tag = true;
  writer->content = false;
}

/* As libxml2 would read it back unchanged: line breaks and tabs in attributes by number. Characters
 * that XML cannot hold are left out. */
static void
append_escaped(GString *out, const char *text, bool attribute)
{
  for (const char *p = text; *p; p++) {
    unsigned char c = (unsigned char)*p;
    if (c == '&')
      g_string_append(out, "&amp;");
    else if (c == '<')
      g_string_append(out, "&lt;");
    else if (c == '>')
      g_string_append(out, "&gt;");
    else if (c == '"' && attribute)
      g_string_append(out, "&quot;");
    else if ((c == '\n' || c == '\t') && attribute)
      g_string_append_printf(out, "&#%u;", c);
    else if (c == '\r')
      g_string_append(out, "&#13;");
    else if (c >= 0x20 || c == '\n' || c == '\t')
      g_string_append_c(out, (char)c);
  }
}

void
loom_xml_put_text(LoomXmlWriter *writer, const char *attribute, const char *text)
{
  if (!text)
    return;
  g_return_if_fail(writer->in_tag);
  g_string_append_printf(writer->text, " %s=\"", attribute);
  append_escaped(writer->text, text, true);
  g_string_append_c(writer->text, '"');
}

void
loom_xml_put_number(LoomXmlWriter *writer, const char *attribute, double number)
{
  if (isnan(number))
    return;
  g_autofree char *text = loom_number_to_text(number);
  loom_xml_put_text(writer, attribute, text);
}

void
loom_xml_put_yes(LoomXmlWriter *writer, const char *attribute, bool yes)
{
  loom_xml_put_text(writer, attribute, yes ? "yes" : "no");
}

void
loom_xml_put_content(LoomXmlWriter *writer, const char *text)
{
  if (!text)
    return;
  close_tag(writer, ">");
  append_escaped(writer->text, text, false);
  writer->content = true;
}

void
loom_xml_put_dump(LoomXmlWriter *writer, const char *dump)
{
  close_tag(writer, ">\n");
  indent(writer);
  g_string_append(writer->text, dump);
  g_string_append_c(writer->text, '\n');
}

void
loom_xml_end(LoomXmlWriter *writer)
{
  g_return_if_fail(writer->open->len > 0);
  g_autofree char *element = g_ptr_array_steal_index(writer->open, writer->open->len - 1);
  if (writer->in_tag) {
    close_tag(writer, "/>\n");
  } else {
    if (!writer->content)
      indent(writer);
    g_string_append_printf(writer->text, "</%s>\n", element);
  }
  writer->content = false;
}

char *
loom_xml_writer_free_to_text(LoomXmlWriter *writer)
{
  while (writer->open->len > 0)
    loom_xml_end(writer);
  g_ptr_array_unref(writer->open);
  char *text = g_string_free(writer->text, FALSE);
  g_free(writer);
  return text;
}
