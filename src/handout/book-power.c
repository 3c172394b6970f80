/* First power-up: what to see when, and what to set afterwards, gathered from the kinds and from
 * the team's own steps. */
#include "book-private.h"

#include <math.h>
#include <string.h>

/* A piece of advice and the parts it goes for. */
typedef struct {
  const LoomAdvice *advice;
  GString *parts;
} Advised;

static void
free_advised(gpointer data)
{
  Advised *a = data;
  g_string_free(a->parts, TRUE);
  g_free(a);
}

static bool
in_scene(const LoomMaking *m, guint part)
{
  return m->wiring->end_first[m->wiring->part_end[part]] <
         m->wiring->end_first[m->wiring->part_end[part + 1]];
}

/* Advice of the parts plugged in the scene, equal texts once, in the design's order. New, of
 * Advised. */
static GPtrArray *
gather(const LoomMaking *m, const char *step)
{
  GPtrArray *found = g_ptr_array_new_with_free_func(free_advised);
  g_autoptr(GHashTable) by_text = g_hash_table_new(g_str_hash, g_str_equal);
  for (guint p = 0; p < loom_design_n_parts(m->design); p++) {
    const LoomPart *part = loom_design_part(m->design, p);
    for (guint i = 0; i < part->kind->n_advice && in_scene(m, p); i++) {
      const LoomAdvice *advice = &part->kind->advice[i];
      if (!g_str_equal(advice->step, step))
        continue;
      Advised *a = g_hash_table_lookup(by_text, advice->text);
      if (!a) {
        a = g_new(Advised, 1);
        *a = (Advised){advice, g_string_new(NULL)};
        g_ptr_array_add(found, a);
        g_hash_table_insert(by_text, advice->text, a);
      }
      g_string_append_printf(a->parts, "%s%s", a->parts->len ? ", " : "", part->designation);
    }
  }
  return found;
}

static void
list_advice(LoomMaking *m, const char *step)
{
  g_autoptr(GPtrArray) found = gather(m, step);
  for (guint i = 0; i < found->len; i++) {
    const Advised *a = found->pdata[i];
    g_autofree char *text = g_strdup_printf("%s: %s", a->parts->str, a->advice->text);
    loom_scroll_item(m->scroll, NULL, text);
  }
}

static void
list_own(LoomMaking *m, const char *lines)
{
  g_auto(GStrv) all = loom_book_lines(lines);
  for (char **line = all; *line; line++)
    loom_scroll_item(m->scroll, NULL, *line);
}

static void
lamps(LoomMaking *m)
{
  g_autoptr(GPtrArray) found = gather(m, "wake");
  if (found->len == 0)
    return;
  LoomColumn columns[] = {{"", 7, 0, false},
                          {_("part"), 30, 0, false},
                          {_("within"), 22, 0, true},
                          {_("what it must show"), 0, 1, false},
                          {_("seen by"), 24, 0, false}};
  LoomTable *table = loom_table_begin(m->scroll, columns, G_N_ELEMENTS(columns), true);
  for (guint i = 0; i < found->len; i++) {
    const Advised *a = found->pdata[i];
    g_autofree char *seconds = loom_book_number(m, a->advice->seconds, 1);
    loom_table_tick(table);
    loom_table_text(table, a->parts->str);
    loom_table_textf(table, isnan(a->advice->seconds) ? "" : _("%s s"), seconds);
    loom_table_text(table, a->advice->text);
    loom_table_blank(table);
  }
  loom_table_end(table);
}

static bool
names_password(const LoomKind *kind)
{
  /* Translators: as it stands in the catalogue's advice on the network's password. */
  const char *word = C_("in advice", "password");
  for (guint i = 0; i < kind->n_advice; i++)
    if (g_str_equal(kind->advice[i].step, "after") &&
        (strstr(kind->advice[i].text, word) || strstr(kind->advice[i].text, "password")))
      return true;
  return false;
}

static bool
is_radio(const LoomPart *part)
{
  for (guint e = 0; e < part->kind->n_ends; e++)
    if (part->kind->ends[e].family->shape == LOOM_SHAPE_RADIO)
      return true;
  return false;
}

static void
radio_links(LoomMaking *m)
{
  for (guint i = 0; i < m->wiring->n_joints; i++) {
    const LoomWiredJoint *w = &m->wiring->joints[i];
    const LoomPart *a = loom_wiring_part(m->wiring, w->part_a),
                   *b = loom_wiring_part(m->wiring, w->part_b);
    if (a->kind->ends[w->end_a].family->shape != LOOM_SHAPE_RADIO)
      continue;
    const char *network = loom_design_joint(m->design, w->joint)->network;
    g_autofree char *text =
        network
            ? g_strdup_printf(_("%s (%s) and %s (%s) find each other over the network “%s”."),
                              a->designation, loom_book_part_name(a), b->designation,
                              loom_book_part_name(b), network)
            : g_strdup_printf(_("%s (%s) and %s (%s) find each other by radio."), a->designation,
                              loom_book_part_name(a), b->designation, loom_book_part_name(b));
    loom_scroll_item(m->scroll, NULL, text);
  }
}

/* A controller that can be reached by radio never leaves the room with the password it came with,
 * though its kind may forget to say so. */
static void
passwords(LoomMaking *m)
{
  g_autoptr(GString) names = g_string_new(NULL);
  for (guint p = 0; p < loom_design_n_parts(m->design); p++) {
    const LoomPart *part = loom_design_part(m->design, p);
    if (part->kind->group == LOOM_GROUP_CONTROLLER && is_radio(part) && in_scene(m, p) &&
        !names_password(part->kind))
      g_string_append_printf(names, "%s%s", names->len ? ", " : "", part->designation);
  }
  if (names->len == 0)
    return;
  g_autofree char *text = g_strdup_printf(_("%s: change the network password that it came with "
                                            "before the robot leaves the room. Do not "
                                            "write it into this book."),
                                          names->str);
  loom_scroll_item(m->scroll, NULL, text);
}

void
loom_book_power(LoomMaking *m)
{
  const LoomTitle *title = loom_design_title(m->design);
  loom_scroll_section(m->scroll, _("Before the switch goes on"));
  loom_scroll_item(m->scroll, NULL, _("Wheels off the ground, hands off, everybody steps back."));
  loom_scroll_item(m->scroll, NULL, _("Steps and meter checks are ticked off, all of them."));
  list_own(m, title->before);
  list_advice(m, "before");
  loom_scroll_section(m->scroll, _("Switch on, and watch"));
  loom_scroll_text(
      m->scroll, LOOM_TEXT_BODY,
      _("One person switches on and keeps the hand at the switch. Smoke, a burnt smell or a "
        "hum that does not stop: switch off if that is safe, step back, call the adult."));
  lamps(m);
  loom_scroll_section(m->scroll, _("Once it is awake"));
  passwords(m);
  radio_links(m);
  list_advice(m, "after");
  list_own(m, title->after);
  loom_scroll_item(
      m->scroll, NULL,
      _("After five minutes: switch off, unplug the pack, then feel every joint of the supply. "
        "A warm one is loose or too thin."));
}
