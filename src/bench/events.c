#include "events.h"

#include <locale.h>
#include <math.h>
#include <stdio.h>

struct LoomEvents {
  FILE *file;
  locale_t plain; /* numbers have a point: programs read them */
};

LoomEvents *
loom_events_new(void)
{
  const char *path = g_getenv("LOOMBOOK_EVENTS");
  if (!path || !*path)
    return NULL;
  FILE *file = fopen(path, "ae");
  if (!file)
    return NULL;
  LoomEvents *events = g_new0(LoomEvents, 1);
  events->file = file;
  events->plain = newlocale(LC_NUMERIC_MASK, "C", duplocale(LC_GLOBAL_LOCALE));
  return events;
}

void
loom_events_free(LoomEvents *events)
{
  if (!events)
    return;
  fclose(events->file);
  freelocale(events->plain);
  g_free(events);
}

void
loom_events_say(LoomEvents *events, const char *format, ...)
{
  if (!events)
    return;
  va_list arguments;
  locale_t usual = uselocale(events->plain);
  va_start(arguments, format);
  g_autofree char *line = g_strdup_vprintf(format, arguments);
  va_end(arguments);
  uselocale(usual);
  g_strdelimit(line, "\n", ' ');
  fprintf(events->file, "%s\n", line);
  fflush(events->file);
}

static void
say_part(LoomEvents *events, const LoomPart *before, const LoomPart *after)
{
  if (before->kind != after->kind)
    loom_events_say(events, "swapped %s %s", after->designation, after->kind->id);
  if (before->turn != after->turn)
    loom_events_say(events, "turned %s", after->designation);
  if (before->flip != after->flip)
    loom_events_say(events, "flipped %s", after->designation);
  if (fabs(before->x_mm - after->x_mm) + fabs(before->y_mm - after->y_mm) > 0)
    loom_events_say(events, "moved %s %g %g", after->designation, after->x_mm, after->y_mm);
  else
    loom_events_say(events, "changed %s", after->designation);
}

static void
say_parts(LoomEvents *events, const LoomDesign *before, const LoomDesign *after)
{
  for (guint i = 0; i < loom_design_n_parts(before); i++) {
    const char *designation = loom_design_part(before, i)->designation;
    if (loom_design_find_part(after, designation) == LOOM_NONE)
      loom_events_say(events, "removed %s", designation);
  }
  for (guint i = 0; i < loom_design_n_parts(after); i++) {
    const LoomPart *part = loom_design_part(after, i);
    guint old = loom_design_find_part(before, part->designation);
    if (old == LOOM_NONE)
      loom_events_say(events, "placed %s %g %g", part->designation, part->x_mm, part->y_mm);
    else if (loom_design_part(before, old) != part)
      say_part(events, loom_design_part(before, old), part);
  }
}

static char *
joint_text(const LoomJoint *joint)
{
  return g_strdup_printf("%s:%s %s:%s", joint->a.part, joint->a.end, joint->b.part, joint->b.end);
}

static GHashTable *
joint_texts(const LoomDesign *design)
{
  GHashTable *texts = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
  for (guint i = 0; i < loom_design_n_joints(design); i++)
    g_hash_table_add(texts, joint_text(loom_design_joint(design, i)));
  return texts;
}

static void
say_missing(LoomEvents *events, GHashTable *from, GHashTable *in, const char *word)
{
  GHashTableIter iter;
  gpointer text;
  g_hash_table_iter_init(&iter, from);
  while (g_hash_table_iter_next(&iter, &text, NULL))
    if (!g_hash_table_contains(in, text))
      loom_events_say(events, "%s %s", word, (const char *)text);
}

void
loom_events_difference(LoomEvents *events, const LoomDesign *before, const LoomDesign *after)
{
  if (!events)
    return;
  say_parts(events, before, after);
  g_autoptr(GHashTable) old = joint_texts(before);
  g_autoptr(GHashTable) new = joint_texts(after);
  say_missing(events, old, new, "unplugged");
  say_missing(events, new, old, "plugged");
}
