/* SVG 1.1 (W3C Recommendation, second edition, 16 August 2011) by libxml2's text writer. */
#include "ink-private.h"
#include "inks.h"

#include <libxml/xmlwriter.h>
#include <math.h>

#define SVG_NS "http://www.w3.org/2000/svg"
#define SVG_PUBLIC "-//W3C//DTD SVG 1.1//EN"
#define SVG_SYSTEM "http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd"

typedef struct {
  LoomInk ink;
  xmlBuffer *buffer;
  xmlTextWriter *writer;
  GHashTable *ids; /* char* -> itself: those given out */
  GString *scratch;
} SvgInk;

static void
attribute(SvgInk *self, const char *name, const char *value)
{
  xmlTextWriterWriteAttribute(self->writer, BAD_CAST name, BAD_CAST value);
}

/* At most three digits behind the point, none that say nothing. */
static void
append_number(GString *out, double value)
{
  char digits[G_ASCII_DTOSTR_BUF_SIZE];
  g_ascii_formatd(digits, sizeof digits, "%.3f", value);
  char *end = digits + strlen(digits) - 1;
  while (*end == '0')
    *end-- = '\0';
  if (*end == '.')
    *end = '\0';
  g_string_append(out, strcmp(digits, "-0") == 0 ? "0" : digits);
}

static void
number_attribute(SvgInk *self, const char *name, double value)
{
  g_string_truncate(self->scratch, 0);
  append_number(self->scratch, value);
  attribute(self, name, self->scratch->str);
}

static void
paint_attribute(SvgInk *self, const char *name, LoomPaint paint)
{
  char colour[8] = "none";
  if (paint != LOOM_PAINT_NONE)
    g_snprintf(colour, sizeof colour, "#%06x",
               loom_palette_rgb(self->ink.palette, paint) & 0xffffff);
  attribute(self, name, colour);
}

static void
append_piece(GString *out, const LoomPiece *piece)
{
  static const char LETTER[] = "MLCZ";
  static const guint POINTS[] = {1, 1, 3, 0};
  g_string_append_c(out, LETTER[piece->type]);
  for (guint i = 0; i < POINTS[piece->type]; i++) {
    if (i > 0)
      g_string_append_c(out, ' ');
    append_number(out, piece->points[i].x);
    g_string_append_c(out, ' ');
    append_number(out, piece->points[i].y);
  }
}

static void
stroke_attributes(SvgInk *self, const LoomStyle *style)
{
  paint_attribute(self, "stroke", style->stroke);
  number_attribute(self, "stroke-width", style->line_mm);
  if (style->dash_mm > 0) {
    number_attribute(self, "stroke-dasharray", style->dash_mm);
    attribute(self, "stroke-linecap", "butt");
  }
}

static void
svg_path(LoomInk *ink, const LoomPath *path, const LoomStyle *style)
{
  SvgInk *self = (SvgInk *)ink;
  xmlTextWriterStartElement(self->writer, BAD_CAST "path");
  paint_attribute(self, "fill", style->fill);
  if (style->stroke != LOOM_PAINT_NONE && style->line_mm > 0)
    stroke_attributes(self, style);
  if (style->opacity < 1)
    number_attribute(self, "opacity", style->opacity);
  g_string_truncate(self->scratch, 0);
  for (guint i = 0; i < path->pieces->len; i++)
    append_piece(self->scratch, &g_array_index(path->pieces, LoomPiece, i));
  attribute(self, "d", self->scratch->str);
  xmlTextWriterEndElement(self->writer);
}

static void
upward_attribute(SvgInk *self, LoomPoint at)
{
  g_string_assign(self->scratch, "rotate(-90 ");
  append_number(self->scratch, at.x);
  g_string_append_c(self->scratch, ' ');
  append_number(self->scratch, at.y);
  attribute(self, "transform", g_string_append_c(self->scratch, ')')->str);
}

static void
svg_text(LoomInk *ink, LoomPoint at, double size_mm, LoomAnchor anchor, bool bold, LoomPaint paint,
         bool upward, const char *text)
{
  static const char *const ANCHOR[] = {"start", "middle", "end"};
  SvgInk *self = (SvgInk *)ink;
  xmlTextWriterStartElement(self->writer, BAD_CAST "text");
  number_attribute(self, "x", at.x);
  number_attribute(self, "y", at.y);
  if (upward)
    upward_attribute(self, at);
  number_attribute(self, "font-size", size_mm);
  if (bold)
    attribute(self, "font-weight", "bold");
  if (anchor != LOOM_ANCHOR_START)
    attribute(self, "text-anchor", ANCHOR[anchor]);
  paint_attribute(self, "fill", paint);
  xmlTextWriterWriteString(self->writer, BAD_CAST text);
  xmlTextWriterEndElement(self->writer);
}

/* An XML name made of `wish` that nobody has yet: letters, digits, "-", "_" and "." stay. New. */
static char *
unique_id(SvgInk *self, const char *wish)
{
  g_autofree char *plain = g_strdup(wish);
  g_strcanon(plain, G_CSET_A_2_Z G_CSET_a_2_z G_CSET_DIGITS "-_.", '_');
  char *id = g_ascii_isalpha(*plain) ? g_strdup(plain) : g_strconcat("x", plain, NULL);
  for (guint n = 2; g_hash_table_contains(self->ids, id); n++) {
    g_free(id);
    id = g_strdup_printf("%s%s-%u", g_ascii_isalpha(*plain) ? "" : "x", plain, n);
  }
  g_hash_table_add(self->ids, g_strdup(id));
  return id;
}

static void
described(SvgInk *self, const char *title, const char *desc)
{
  const char *const pairs[][2] = {{"title", title}, {"desc", desc}};
  for (guint i = 0; i < G_N_ELEMENTS(pairs); i++) {
    if (!pairs[i][1])
      continue;
    g_autofree char *clean = loom_ink_printable(pairs[i][1]);
    xmlTextWriterWriteElement(self->writer, BAD_CAST pairs[i][0], BAD_CAST clean);
  }
}

static void
svg_begin(LoomInk *ink, const char *id, const char *title, const char *desc)
{
  SvgInk *self = (SvgInk *)ink;
  xmlTextWriterStartElement(self->writer, BAD_CAST "g");
  if (id) {
    g_autofree char *own = unique_id(self, id);
    attribute(self, "id", own);
  }
  described(self, title, desc);
}

static void
svg_end(LoomInk *ink)
{
  xmlTextWriterEndElement(((SvgInk *)ink)->writer);
}

static void
svg_ink_free(LoomInk *ink)
{
  SvgInk *self = (SvgInk *)ink;
  if (self->writer)
    xmlFreeTextWriter(self->writer);
  xmlBufferFree(self->buffer);
  g_hash_table_unref(self->ids);
  g_string_free(self->scratch, TRUE);
  loom_ink_clear(ink);
  g_free(self);
}

static const LoomInkOps SVG_INK = {svg_begin, svg_end, svg_path, svg_text, NULL, svg_ink_free};

static void
size_attributes(SvgInk *self, LoomRect r)
{
  const double box[] = {r.x, r.y, r.width, r.height};
  g_autoptr(GString) view = g_string_new(NULL);
  for (guint i = 0; i < G_N_ELEMENTS(box); i++) {
    g_string_append(view, i ? " " : "");
    append_number(view, box[i]);
  }
  g_autoptr(GString) width = g_string_new(NULL);
  g_autoptr(GString) height = g_string_new(NULL);
  append_number(width, r.width);
  append_number(height, r.height);
  attribute(self, "width", g_string_append(width, "mm")->str);
  attribute(self, "height", g_string_append(height, "mm")->str);
  attribute(self, "viewBox", view->str);
}

LoomInk *
loom_ink_svg_new(LoomRect extents, LoomPalette palette, const char *title, const char *desc)
{
  SvgInk *self = g_new0(SvgInk, 1);
  loom_ink_init(&self->ink, &SVG_INK, palette);
  self->buffer = xmlBufferCreate();
  self->writer = xmlNewTextWriterMemory(self->buffer, 0);
  self->ids = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
  self->scratch = g_string_new(NULL);
  xmlTextWriterSetIndent(self->writer, 1);
  xmlTextWriterStartDocument(self->writer, NULL, "UTF-8", NULL);
  xmlTextWriterWriteDTD(self->writer, BAD_CAST "svg", BAD_CAST SVG_PUBLIC, BAD_CAST SVG_SYSTEM,
                        NULL);
  xmlTextWriterStartElement(self->writer, BAD_CAST "svg");
  attribute(self, "xmlns", SVG_NS);
  attribute(self, "version", "1.1");
  size_attributes(self, extents);
  attribute(self, "font-family", "'" LOOM_FONT "', sans-serif");
  attribute(self, "stroke-linecap", "round");
  attribute(self, "stroke-linejoin", "round");
  described(self, title, desc);
  return &self->ink;
}

char *
loom_ink_svg_free_to_text(LoomInk *ink)
{
  SvgInk *self = (SvgInk *)ink;
  xmlTextWriterEndDocument(self->writer);
  xmlFreeTextWriter(self->writer);
  self->writer = NULL;
  char *text = g_strdup((const char *)xmlBufferContent(self->buffer));
  svg_ink_free(ink);
  return text;
}
