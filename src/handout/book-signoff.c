/* Sign-off: who built it, who checked it, when. */
#include "book-private.h"

void
loom_book_signoff(LoomMaking *m)
{
  const char *const ROWS[] = {
      _("Kit is complete"),          _("Wires made and pulled"),
      _("Plugged as in the steps"),  _("Meter checks within limits"),
      _("Woke up as described"),     _("Roll-call complete"),
      _("Factory password changed"), _("A second person has looked at all of it"),
  };
  LoomColumn columns[] = {{"", 7, 0, false},
                          {_("what"), 0, 1, false},
                          {_("name"), 42, 0, false},
                          {_("date and time"), 36, 0, false},
                          {_("signature"), 36, 0, false}};
  loom_scroll_text(m->scroll, LOOM_TEXT_BODY,
                   _("The one who built it does not sign for the check."));
  LoomTable *table = loom_table_begin(m->scroll, columns, G_N_ELEMENTS(columns), true);
  loom_table_least_height(table, 26);
  for (guint i = 0; i < G_N_ELEMENTS(ROWS); i++) {
    loom_table_tick(table);
    loom_table_text(table, ROWS[i]);
    loom_table_blank(table);
    loom_table_blank(table);
    loom_table_blank(table);
  }
  loom_table_end(table);
}
