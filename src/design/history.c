#include "design-private.h"

static void
put_forward(LoomDesign *design, const LoomEdit *edit)
{
  for (guint i = 0; i < edit->changes->len; i++)
    loom_design_put(design, &g_array_index(edit->changes, LoomChange, i));
}

static void
put_backward(LoomDesign *design, const LoomEdit *edit)
{
  for (guint i = edit->changes->len; i-- > 0;) {
    LoomChange change = g_array_index(edit->changes, LoomChange, i);
    gpointer after = change.after;
    change.after = change.before;
    change.before = after;
    loom_design_put(design, &change);
  }
}

static void
changed(LoomDesign *design)
{
  design->revision++;
  loom_design_reindex(design);
}

static LoomEdit *
top(const GPtrArray *edits)
{
  return edits->len ? edits->pdata[edits->len - 1] : NULL;
}

/* The saved state is out of reach once the edit that it stands for is dropped from the redo list.
 */
static void
end_redo(LoomDesign *design)
{
  for (guint i = 0; i < design->redo->len; i++)
    if (design->redo->pdata[i] == design->saved)
      design->saved_lost = true;
  g_ptr_array_set_size(design->redo, 0);
}

bool
loom_design_apply(LoomDesign *design, LoomEdit *edit)
{
  g_return_val_if_fail(edit->base == design->revision, false);
  if (loom_edit_is_empty(edit)) {
    loom_edit_free(edit);
    return false;
  }
  put_forward(design, edit);
  g_clear_pointer(&edit->design, loom_design_free);
  end_redo(design);
  g_ptr_array_add(design->undo, edit);
  changed(design);
  return true;
}

const char *
loom_design_undo_label(const LoomDesign *design)
{
  const LoomEdit *edit = top(design->undo);
  return edit ? edit->label : NULL;
}

const char *
loom_design_redo_label(const LoomDesign *design)
{
  const LoomEdit *edit = top(design->redo);
  return edit ? edit->label : NULL;
}

bool
loom_design_undo(LoomDesign *design)
{
  if (design->undo->len == 0)
    return false;
  LoomEdit *edit = g_ptr_array_steal_index(design->undo, design->undo->len - 1);
  put_backward(design, edit);
  g_ptr_array_add(design->redo, edit);
  changed(design);
  return true;
}

bool
loom_design_redo(LoomDesign *design)
{
  if (design->redo->len == 0)
    return false;
  LoomEdit *edit = g_ptr_array_steal_index(design->redo, design->redo->len - 1);
  put_forward(design, edit);
  g_ptr_array_add(design->undo, edit);
  changed(design);
  return true;
}

bool
loom_design_modified(const LoomDesign *design)
{
  return design->saved_lost || design->saved != top(design->undo);
}

void
loom_design_mark_saved(LoomDesign *design)
{
  design->saved = top(design->undo);
  design->saved_lost = false;
}
