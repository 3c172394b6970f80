#include "design/edit.h"
#include "rules-private.h"

#include <glib/gi18n-lib.h>
#include <string.h>

void
loom_rule_name_twice(LoomDesk *desk)
{
  g_autoptr(GHashTable) first = g_hash_table_new(g_str_hash, g_str_equal);
  for (guint p = 0; p < desk->n_parts; p++) {
    const LoomPart *part = loom_design_part(desk->design, p);
    if (!part->name)
      continue;
    const LoomPart *other = g_hash_table_lookup(first, part->name);
    if (!other) {
      g_hash_table_insert(first, part->name, (gpointer)part);
      continue;
    }
    LoomFinding *f =
        loom_desk_find(desk, LOOM_CARE, "name-twice",
                       _("The program finds one of them under that name, and nobody knows "
                         "which."),
                       _("Give each part a name of its own."));
    loom_finding_place(f, other, LOOM_NONE);
    loom_finding_place(f, part, LOOM_NONE);
    loom_finding_where(f, 2);
    f->message = g_strdup_printf(_("%s have the same name, %s."), f->where, part->name);
  }
}

/* The label as a name in code ("Drive left" gives "drive_left"); NULL where it makes none. New. */
static char *
name_from(const char *label)
{
  g_autofree char *name = label ? g_ascii_strdown(label, -1) : NULL;
  g_autoptr(GString) out = g_string_new(NULL);
  for (const char *c = name; c && *c; c++)
    if (g_ascii_isalnum(*c))
      g_string_append_c(out, *c);
    else if (out->len && out->str[out->len - 1] != '_')
      g_string_append_c(out, '_');
  while (out->len && out->str[out->len - 1] == '_')
    g_string_truncate(out, out->len - 1);
  return loom_name_valid(out->str) ? g_strdup(out->str) : NULL;
}

static bool
name_taken(const LoomDesk *desk, const char *name)
{
  for (guint p = 0; p < desk->n_parts; p++)
    if (g_strcmp0(loom_design_part(desk->design, p)->name, name) == 0)
      return true;
  return false;
}

static void
offer_name(const LoomDesk *desk, LoomFinding *f, const LoomPart *part, const char *from)
{
  g_autofree char *name = name_from(from);
  if (name && !name_taken(desk, name))
    loom_finding_mend_with(f, "set %s name=%s", part->designation, name);
}

void
loom_rule_name_unusable(LoomDesk *desk)
{
  for (guint p = 0; p < desk->n_parts; p++) {
    const LoomPart *part = loom_design_part(desk->design, p);
    if (!part->name || loom_name_valid(part->name))
      continue;
    LoomFinding *f =
        loom_desk_find(desk, LOOM_CARE, "name-unusable",
                       _("Program code takes names of letters, digits and _ only, none that "
                         "begins with a digit, and no word of the language itself."),
                       _("Choose a name like drive_left."));
    loom_finding_place(f, part, LOOM_NONE);
    loom_finding_where(f, 1);
    f->message = g_strdup_printf(_("The name \"%s\" of %s cannot be used in a program."),
                                 part->name, part->designation);
    offer_name(desk, f, part, part->name);
  }
}

void
loom_rule_name_missing(LoomDesk *desk)
{
  LoomFinding *f = NULL;
  g_autofree bool *on_channel = loom_desk_on_channel(desk);
  for (guint p = 0; p < desk->n_parts; p++) {
    if (!on_channel[p] || loom_design_part(desk->design, p)->name)
      continue;
    if (!f)
      f = loom_desk_find(
          desk, LOOM_NOTE, "name-missing",
          _("With the name here, the port map says what to type into the controller's "
            "set-up."),
          _("Write the name that the program uses into each part."));
    const LoomPart *part = loom_design_part(desk->design, p);
    loom_finding_add_place(f, part, LOOM_NONE);
    offer_name(desk, f, part, part->label);
  }
  if (!f)
    return;
  loom_finding_where(f, f->n_places);
  f->message = g_strdup_printf(_("No name for the program: %s."), f->where);
}
