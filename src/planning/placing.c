#include "placing-private.h"

#include <math.h>

const char *
loom_placing_add(LoomEdit *edit, const LoomKind *kind, const LoomPlacing *at, GError **error)
{
  const char *given =
      loom_edit_add(edit, kind, NULL, at ? at->x_mm : NAN, at ? at->y_mm : NAN, error);
  if (!given || !at || (at->turn == LOOM_TURN_0 && !at->flip))
    return given;
  guint index = loom_design_find_part(loom_edit_design(edit), given);
  LoomPart *part = loom_part_copy(loom_design_part(loom_edit_design(edit), index));
  part->turn = at->turn;
  part->flip = at->flip;
  loom_edit_replace_part(edit, index, part);
  return part->designation;
}

bool
loom_placing_whole(LoomEdit *edit, LoomAct act, gpointer data, GError **error)
{
  g_autoptr(LoomEdit) trial = loom_edit_new(loom_edit_design(edit), "");
  return act(trial, data, error) && act(edit, data, error);
}
