/* Port map: what to enter in the controller's set-up. Roll-call: whether every port does what its
 * name says. */
#include "book-private.h"

#include <string.h>

static const LoomPart *
part_of(const LoomMaking *m, const LoomPortRow *row)
{
  guint part = row->part ? loom_design_find_part(m->design, row->part) : LOOM_NONE;
  return part == LOOM_NONE ? NULL : loom_design_part(m->design, part);
}

/* "motor 1", with the module in front where there is one. New. */
static char *
port_text(const LoomPortRow *row)
{
  return row->module ? g_strdup_printf("%s, %s %u", row->module, row->type, row->channel)
                     : g_strdup_printf("%s %u", row->type, row->channel);
}

static void
map_row(LoomMaking *m, LoomTable *table, const LoomPortRow *row)
{
  const LoomPart *part = part_of(m, row);
  g_autofree char *port = port_text(row);
  loom_table_text(table, port);
  loom_table_text(table, row->device_type);
  loom_table_text(table, row->name);
  if (part)
    loom_table_textf(table, "%s %s", part->designation, loom_book_part_name(part));
  else
    loom_table_text(table, NULL);
  loom_table_text(table, row->settings);
  loom_table_blank(table);
}

static void
map_of_controller(LoomMaking *m, guint first, guint last)
{
  LoomColumn columns[] = {{_("port"), 28, 0, false},
                          {_("choose"), 0, 1, false},
                          {_("type this name"), 0, 1.1, false},
                          {_("it is"), 0, 1, false},
                          {_("settings"), 0, 0.8, false},
                          {_("typed by"), 19, 0, false}};
  const LoomPortRow *row = &m->ports->rows[first];
  guint part = loom_design_find_part(m->design, row->controller);
  g_autofree char *heading = g_strdup_printf(
      _("Set-up of %s, %s"), row->controller,
      part == LOOM_NONE ? "" : loom_book_part_name(loom_design_part(m->design, part)));
  loom_scroll_section(m->scroll, heading);
  LoomTable *table = loom_table_begin(m->scroll, columns, G_N_ELEMENTS(columns), true);
  for (guint i = first; i < last; i++)
    map_row(m, table, &m->ports->rows[i]);
  loom_table_end(table);
}

/* --- roll-call --- */

typedef struct {
  const char *type; /* of channel */
  const char *act, *see;
} Call;

static const Call CALLS[] = {
    {"motor", N_("Drive it forwards, slowly, for one second."),
     N_("Only this one turns, forwards. If it turns backwards: tick “reversed” in the set-up, or "
        "turn its plug.")},
    {"servo", N_("Send it to the middle, then a little to either side."),
     N_("Only this one moves, the same way as the number.")},
    {"encoder", N_("Turn its wheel forwards by hand, one turn."),
     N_("Only this number counts, and it counts up.")},
    {"digital", N_("Press it or cover it, and let go."),
     N_("Only this one changes, and changes back.")},
    {"analogue", N_("Move it from one end to the other, or shade it."),
     N_("Only this number follows, without jumps.")},
    {"i2c", N_("Look it up in the list of the bus, then move something in front of it."),
     N_("Its address is there, and its number changes.")},
    {"serial", N_("Ask for its status."), N_("It answers, and no other one does.")},
};

static const Call *
call_for(const char *type)
{
  static const Call OTHER = {NULL, N_("Use it once from the program."),
                             N_("Only this one answers.")};
  for (guint i = 0; i < G_N_ELEMENTS(CALLS); i++)
    if (g_str_equal(CALLS[i].type, type))
      return &CALLS[i];
  return &OTHER;
}

static void
roll_call_row(LoomMaking *m, LoomTable *table, const LoomPortRow *row)
{
  const Call *call = call_for(row->type);
  const LoomPart *part = part_of(m, row);
  g_autofree char *port = port_text(row);
  loom_table_tick(table);
  loom_table_textf(table, "%s\n%s", port, row->name ? row->name : "");
  loom_table_textf(table, "%s %s", row->part, part ? loom_book_part_name(part) : "");
  loom_table_text(table, _(call->act));
  loom_table_text(table, _(call->see));
}

static void
roll_call(LoomMaking *m)
{
  LoomColumn columns[] = {{"", 7, 0, false},
                          {_("port"), 33, 0, false},
                          {_("it is"), 29, 0, false},
                          {_("do this"), 0, 1, false},
                          {_("this must happen"), 0, 1.15, false}};
  loom_scroll_section(m->scroll, _("Roll-call"));
  loom_scroll_text(
      m->scroll, LOOM_TEXT_BODY,
      _("Wheels up. One port at a time; everything else stands still. What moves although "
        "it was not called is on the wrong port: switch off, and compare the plugs with "
        "the port map."));
  LoomTable *table = loom_table_begin(m->scroll, columns, G_N_ELEMENTS(columns), true);
  for (guint i = 0; i < m->ports->n_rows; i++)
    if (m->ports->rows[i].part)
      roll_call_row(m, table, &m->ports->rows[i]);
  loom_table_end(table);
}

void
loom_book_ports(LoomMaking *m)
{
  loom_scroll_text(
      m->scroll, LOOM_TEXT_BODY,
      _("Enter this in the set-up of the controller, line by line; whoever typed it puts "
        "initials behind it."));
  for (guint first = 0, i = 1; i <= m->ports->n_rows; i++)
    if (i == m->ports->n_rows ||
        !g_str_equal(m->ports->rows[i].controller, m->ports->rows[first].controller)) {
      map_of_controller(m, first, i);
      first = i;
    }
  roll_call(m);
}
