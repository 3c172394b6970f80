/* Numbers, sizes, dates and colours as the book writes them. */
#include "book-private.h"

#include <math.h>
#include <string.h>

char *
loom_book_number(const LoomMaking *m, double value, int decimals)
{
  char text[64];
  if (!isfinite(value))
    return g_strdup("");
  g_snprintf(text, sizeof text, "%.*f", MIN(decimals, 9), value);
  char *mark = strpbrk(text, ".,"); /* whatever LC_NUMERIC says */
  if (!mark)
    return g_strdup(text);
  char *last = text + strlen(text) - 1;
  while (*last == '0')
    *last-- = 0;
  if (last == mark)
    *last = 0;
  if (last <= mark)
    return g_strdup(g_str_equal(text, "-0") ? "0" : text);
  *mark = 0;
  return g_strconcat(text, m->options->decimal, mark + 1, NULL);
}

char *
loom_book_size(const LoomMaking *m, double mm2)
{
  if (isnan(mm2))
    return g_strdup("");
  g_autofree char *size = loom_book_number(m, mm2, 2);
  int awg = loom_awg_nearest(mm2);
  if (awg == G_MININT)
    return g_strdup_printf("%s mm²", size);
  return g_strdup_printf("%s mm² (AWG %d)", size, awg);
}

char *
loom_book_date(const char *text)
{
  if (!text)
    return g_strdup("");
  g_autofree char *stamp = g_strdup_printf("%sT00:00:00Z", text);
  g_autoptr(GDateTime) date = strlen(text) == 10 ? g_date_time_new_from_iso8601(stamp, NULL) : NULL;
  if (!date)
    return g_strdup(text);
  /* Translators: day, month in words, year, as g_date_time_format has them. */
  g_autofree char *words = g_date_time_format(date, _("%e %B %Y"));
  return g_strdup(g_strstrip(words));
}

char *
loom_book_colour(const char *codes)
{
  if (!codes)
    return g_strdup("");
  const LoomColour *one = loom_colour(codes);
  if (one)
    return g_strdup_printf("%s %s", codes, _(one->name));
  if (strlen(codes) == 4) {
    char first[] = {codes[0], codes[1], 0}, second[] = {codes[2], codes[3], 0};
    const LoomColour *a = loom_colour(first), *b = loom_colour(second);
    if (a && b)
      return g_strdup_printf(_("%s %s and %s"), codes, _(a->name), _(b->name));
  }
  return g_strdup(codes);
}

const char *
loom_book_part_name(const LoomPart *part)
{
  return part->label ? part->label : part->kind->name;
}

char **
loom_book_lines(const char *text)
{
  GPtrArray *lines = g_ptr_array_new();
  g_auto(GStrv) all = g_strsplit(text ? text : "", "\n", -1);
  for (char **line = all; *line; line++)
    if (*g_strstrip(*line))
      g_ptr_array_add(lines, g_strdup(*line));
  g_ptr_array_add(lines, NULL);
  return (char **)g_ptr_array_free(lines, FALSE);
}

char *
loom_book_capital(const char *text)
{
  char start[8] = {0};
  if (!*text)
    return g_strdup("");
  g_unichar_to_utf8(g_unichar_toupper(g_utf8_get_char(text)), start);
  return g_strconcat(start, g_utf8_next_char(text), NULL);
}
