/* What can stand beside the tag of a lead, in words: what people call it, length and size, colours.
 * Made once for each record of a part, however many places are tried and sheets are laid. */
#include "items-private.h"
#include "text.h"

#include <math.h>

#define MOST_WIDTH_MM 36.0 /* of what stands beside a tag */

struct LoomTagLines {
  gatomicrefcount references;
  guint end;   /* whose colours these are */
  char *label; /* NULL: none, as all others */
  char *size;  /* length and area */
  char *length, *area;
  char *colours;
};

static double
wire_mm2(const LoomKind *kind)
{
  for (guint i = 0; i < kind->n_elements; i++)
    if (kind->elements[i].type == LOOM_ELEMENT_WIRE)
      return kind->elements[i].mm2;
  return kind->n_ends > 0 ? kind->ends[0].wire_mm2 : NAN;
}

static char *
length_text(const LoomPart *part)
{
  double length = loom_part_length_mm(part);
  if (isnan(length))
    return NULL;
  return g_strdup_printf("%.0f mm", length);
}

static char *
area_text(const LoomPart *part)
{
  double mm2 = wire_mm2(part->kind);
  if (isnan(mm2))
    return NULL;
  return g_strdup_printf("%.3g mm²", mm2);
}

char *
loom_tag_size_text(const LoomPart *part)
{
  g_autofree char *length = length_text(part);
  g_autofree char *area = area_text(part);
  if (!length || !area)
    return g_strdup(length ? length : area);
  return g_strdup_printf("%s · %s", length, area);
}

char *
loom_tag_colour_text(const LoomPart *part, guint end)
{
  g_autoptr(GArray) strokes = loom_strokes_of_end(part->kind, end);
  GString *text = g_string_new(NULL);
  for (guint i = 0; i < strokes->len; i++) {
    const LoomStroke *stroke = &g_array_index(strokes, LoomStroke, i);
    g_string_append_printf(text, "%s%s", i > 0 ? " " : "", stroke->letters);
  }
  return g_string_free(text, text->len == 0);
}

static LoomTagLines *
lines_new(const LoomPart *part, guint end)
{
  LoomTagLines *lines = g_new0(LoomTagLines, 1);
  g_atomic_ref_count_init(&lines->references);
  lines->end = end;
  if (part->label)
    lines->label = loom_text_fit(part->label, LOOM_TAG_WORDS_MM, false, MOST_WIDTH_MM);
  lines->size = loom_tag_size_text(part);
  lines->length = length_text(part);
  lines->area = area_text(part);
  lines->colours = end == LOOM_NONE ? NULL : loom_tag_colour_text(part, end);
  if (lines->colours &&
      loom_text_width_mm(lines->colours, LOOM_TAG_WORDS_MM, false) > MOST_WIDTH_MM)
    g_clear_pointer(&lines->colours, g_free);
  return lines;
}

LoomTagLines *
loom_tag_lines_ref(LoomTagLines *lines)
{
  if (lines)
    g_atomic_ref_count_inc(&lines->references);
  return lines;
}

void
loom_tag_lines_unref(LoomTagLines *lines)
{
  if (!lines || !g_atomic_ref_count_dec(&lines->references))
    return;
  g_free(lines->label);
  g_free(lines->size);
  g_free(lines->length);
  g_free(lines->area);
  g_free(lines->colours);
  g_free(lines);
}

guint
loom_tag_lines_get(const LoomSheet *sheet, guint part, guint end, bool narrow,
                   const char *lines[LOOM_MOST_TAG_LINES])
{
  LoomTagLines **kept = &sheet->inside->tag_lines[part];
  if (!*kept || (*kept)->end != end) {
    loom_tag_lines_unref(*kept);
    *kept = lines_new(loom_sheet_part(sheet, part), end);
  }
  const char *all[LOOM_MOST_TAG_LINES] = {(*kept)->label, narrow ? (*kept)->length : (*kept)->size,
                                          narrow ? (*kept)->area : NULL, (*kept)->colours};
  guint n = 0;
  for (guint i = 0; i < LOOM_MOST_TAG_LINES; i++)
    if (all[i])
      lines[n++] = all[i];
  return n;
}
