#include "window-private.h"

#include "design/file.h"
#include "scenes.h"
#include "sheet/tidy.h"

#include <glib/gi18n-lib.h>

#define CLIPBOARD_TYPE "application/x.loombook-design+xml"
#define DUPLICATE_MM (2 * LOOM_GRID_MM)

static const LoomDesign *
design_of(LoomWindow *self)
{
  return loom_document_design(self->document);
}

bool
loom_window_has_parts(LoomWindow *self)
{
  return loom_design_n_parts(design_of(self)) > 0;
}

bool
loom_window_has_choice(LoomWindow *self)
{
  return loom_choice_n_parts(self->choice) > 0 || loom_choice_is_joint(self->choice);
}

/* The joint that is chosen, or the one at the chosen end. */
static guint
joint_in_question(LoomWindow *self)
{
  const LoomDesign *design = design_of(self);
  guint joint = loom_choice_joint(self->choice, design);
  const char *end = loom_choice_end(self->choice);
  guint part = end ? loom_design_find_part(design, loom_choice_cursor(self->choice)) : LOOM_NONE;
  guint index =
      part == LOOM_NONE ? LOOM_NONE : loom_kind_find_end(loom_design_part(design, part)->kind, end);
  if (index != LOOM_NONE)
    loom_scenes_joints_at(design, loom_document_scene(self->document), part, index, &joint);
  return joint;
}

bool
loom_window_has_joint(LoomWindow *self)
{
  return joint_in_question(self) != LOOM_NONE;
}

static const LoomPart *
chosen_part(LoomWindow *self)
{
  const char *designation = loom_choice_cursor(self->choice);
  guint part = designation ? loom_design_find_part(design_of(self), designation) : LOOM_NONE;
  return part == LOOM_NONE ? NULL : loom_design_part(design_of(self), part);
}

bool
loom_window_has_switch(LoomWindow *self)
{
  const LoomPart *part = chosen_part(self);
  return part && part->kind->has_switch;
}

bool
loom_window_can_undo(LoomWindow *self)
{
  return loom_design_undo_label(design_of(self)) != NULL;
}

bool
loom_window_can_redo(LoomWindow *self)
{
  return loom_design_redo_label(design_of(self)) != NULL;
}

static void
tell(LoomWindow *self, const char *format, const char *what)
{
  g_autofree char *sentence = g_strdup_printf("%s: %s.", format, what);
  loom_window_tell(self, sentence);
}

void
loom_window_undo(LoomWindow *self)
{
  g_autofree char *label = g_strdup(loom_design_undo_label(design_of(self)));
  loom_canvas_cancel(self->canvas);
  if (loom_document_undo(self->document))
    tell(self, _("Undone"), label);
}

void
loom_window_redo(LoomWindow *self)
{
  g_autofree char *label = g_strdup(loom_design_redo_label(design_of(self)));
  loom_canvas_cancel(self->canvas);
  if (loom_document_redo(self->document))
    tell(self, _("Done again"), label);
}

/* Chosen parts, as they are now. New array of new strings. */
static GPtrArray *
chosen(LoomWindow *self)
{
  GPtrArray *parts = g_ptr_array_new_with_free_func(g_free);
  for (guint i = 0; i < loom_choice_n_parts(self->choice); i++)
    g_ptr_array_add(parts, g_strdup(loom_choice_part(self->choice, i)));
  return parts;
}

static char *
label_for(const char *verb, const GPtrArray *parts)
{
  if (parts->len == 1)
    return g_strdup_printf(_("%s %s"), verb, (const char *)g_ptr_array_index(parts, 0));
  return g_strdup_printf(ngettext("%s %u part", "%s %u parts", parts->len), verb, parts->len);
}

static char *
extract(LoomWindow *self)
{
  g_autoptr(GPtrArray) parts = chosen(self);
  return loom_design_extract(design_of(self), (const char *const *)parts->pdata, parts->len);
}

void
loom_window_copy(LoomWindow *self)
{
  if (!loom_choice_n_parts(self->choice))
    return;
  char *text = extract(self);
  g_autoptr(GBytes) bytes = g_bytes_new_take(text, strlen(text));
  g_autoptr(GdkContentProvider) content = gdk_content_provider_new_for_bytes(CLIPBOARD_TYPE, bytes);
  gdk_clipboard_set_content(gtk_widget_get_clipboard(GTK_WIDGET(self)), content);
}

static void
delete_parts(LoomWindow *self, const char *verb)
{
  g_autoptr(GPtrArray) parts = chosen(self);
  g_autofree char *label = label_for(verb, parts);
  LoomEdit *edit = loom_document_edit(self->document, label);
  for (guint i = 0; i < parts->len; i++)
    loom_edit_remove(edit, g_ptr_array_index(parts, i), NULL);
  if (loom_document_apply(self->document, edit)) {
    g_autofree char *sentence = g_strdup_printf(_("%s. Undo brings it back."), label);
    loom_window_tell(self, sentence);
  }
}

void
loom_window_cut(LoomWindow *self)
{
  loom_window_copy(self);
  if (loom_choice_n_parts(self->choice))
    delete_parts(self, _("Cut"));
}

void
loom_window_delete(LoomWindow *self)
{
  if (loom_choice_is_joint(self->choice))
    loom_window_unplug(self);
  else
    delete_parts(self, _("Delete"));
}

static void
choose(LoomWindow *self, const GPtrArray *given)
{
  loom_choice_set_parts(self->choice, (const char *const *)given->pdata, given->len);
}

/* The pasted parts come to lie so that their corner is at `at`; NULL: a little off their old place.
 */
static void
paste_text(LoomWindow *self, const char *text, const LoomPoint *at, const char *verb)
{
  g_autoptr(GError) error = NULL;
  g_autoptr(LoomDesign) pasted = loom_design_parse(text, strlen(text), "clipboard", &error);
  if (!pasted) {
    loom_window_tell(self, error->message);
    return;
  }
  double dx = DUPLICATE_MM, dy = DUPLICATE_MM;
  if (at) {
    g_autoptr(LoomSheet) sheet = loom_sheet_new(pasted, 0, NULL);
    dx = LOOM_GRID_MM * round((at->x - sheet->extents.x - sheet->extents.width / 2) / LOOM_GRID_MM);
    dy =
        LOOM_GRID_MM * round((at->y - sheet->extents.y - sheet->extents.height / 2) / LOOM_GRID_MM);
  }
  g_autoptr(GPtrArray) given = g_ptr_array_new_with_free_func(g_free);
  g_autoptr(LoomEdit) edit = loom_document_edit(self->document, verb);
  if (!loom_edit_paste(edit, text, dx, dy, given, &error)) {
    loom_window_tell(self, error->message);
    return;
  }
  g_autofree char *label = label_for(verb, given);
  loom_edit_set_label(edit, label);
  if (loom_document_apply(self->document, g_steal_pointer(&edit)))
    choose(self, given);
}

static void
on_text_read(GObject *source, GAsyncResult *result, gpointer data)
{
  g_autoptr(LoomWindow) self = data;
  g_autoptr(GBytes) bytes =
      g_output_stream_splice_finish(G_OUTPUT_STREAM(source), result, NULL) < 0
          ? NULL
          : g_memory_output_stream_steal_as_bytes(G_MEMORY_OUTPUT_STREAM(source));
  if (!bytes || !self->document)
    return;
  g_autofree char *text = g_strndup(g_bytes_get_data(bytes, NULL), g_bytes_get_size(bytes));
  LoomPoint at;
  bool over = loom_canvas_pointer(self->canvas, &at);
  if (!over)
    at = loom_canvas_middle(self->canvas);
  paste_text(self, text, &at, _("Paste"));
}

static void
on_clipboard_read(GObject *source, GAsyncResult *result, gpointer data)
{
  g_autoptr(LoomWindow) self = data;
  g_autoptr(GInputStream) stream =
      gdk_clipboard_read_finish(GDK_CLIPBOARD(source), result, NULL, NULL);
  if (!stream) {
    loom_window_tell(self, _("There is nothing to paste: copy parts of a sheet first."));
    return;
  }
  g_autoptr(GOutputStream) memory = g_memory_output_stream_new_resizable();
  g_output_stream_splice_async(
      memory, stream, G_OUTPUT_STREAM_SPLICE_CLOSE_SOURCE | G_OUTPUT_STREAM_SPLICE_CLOSE_TARGET,
      G_PRIORITY_DEFAULT, NULL, on_text_read, g_steal_pointer(&self));
}

void
loom_window_paste(LoomWindow *self)
{
  const char *types[] = {CLIPBOARD_TYPE, NULL};
  gdk_clipboard_read_async(gtk_widget_get_clipboard(GTK_WIDGET(self)), types, G_PRIORITY_DEFAULT,
                           NULL, on_clipboard_read, g_object_ref(self));
}

void
loom_window_duplicate(LoomWindow *self)
{
  if (!loom_choice_n_parts(self->choice))
    return;
  g_autofree char *text = extract(self);
  paste_text(self, text, NULL, _("Duplicate"));
}

void
loom_window_select_all(LoomWindow *self)
{
  const LoomDesign *design = design_of(self);
  g_autoptr(GPtrArray) all = g_ptr_array_new();
  for (guint i = 0; i < loom_design_n_parts(design); i++)
    g_ptr_array_add(all, loom_design_part(design, i)->designation);
  choose(self, all);
}

static void
turn(LoomWindow *self, int quarters)
{
  g_autoptr(GPtrArray) parts = chosen(self);
  g_autofree char *label = label_for(_("Turn"), parts);
  LoomEdit *edit = loom_document_edit(self->document, label);
  for (guint i = 0; i < parts->len; i++)
    loom_edit_turn(edit, g_ptr_array_index(parts, i), quarters, NULL);
  loom_document_apply(self->document, edit);
}

void
loom_window_turn(LoomWindow *self)
{
  turn(self, 1);
}

void
loom_window_turn_back(LoomWindow *self)
{
  turn(self, 3);
}

void
loom_window_flip(LoomWindow *self)
{
  g_autoptr(GPtrArray) parts = chosen(self);
  g_autofree char *label = label_for(_("Flip"), parts);
  LoomEdit *edit = loom_document_edit(self->document, label);
  for (guint i = 0; i < parts->len; i++)
    loom_edit_flip(edit, g_ptr_array_index(parts, i), NULL);
  loom_document_apply(self->document, edit);
}

void
loom_window_unplug(LoomWindow *self)
{
  const LoomJoint *joint = loom_design_joint(design_of(self), joint_in_question(self));
  g_autofree char *a = g_strdup_printf("%s:%s", joint->a.part, joint->a.end);
  g_autofree char *b = g_strdup_printf("%s:%s", joint->b.part, joint->b.end);
  g_autofree char *label = g_strdup_printf(_("Unplug %s from %s"), a, b);
  LoomEdit *edit = loom_document_edit(self->document, label);
  loom_scenes_unplug(edit, loom_document_scene(self->document), a, b, NULL);
  if (loom_document_apply(self->document, edit)) {
    g_autofree char *sentence = g_strdup_printf(_("Unplugged %s from %s."), a, b);
    loom_window_tell(self, sentence);
  }
}

void
loom_window_tie(LoomWindow *self)
{
  const LoomJoint *joint = loom_design_joint(design_of(self), joint_in_question(self));
  g_autofree char *a = g_strdup_printf("%s:%s", joint->a.part, joint->a.end);
  bool tied = joint->tied;
  g_autoptr(GError) error = NULL;
  if (!loom_document_set(self->document, a, "tied", tied ? "no" : "yes", &error))
    loom_window_tell(self, error->message);
  else
    loom_window_tell(self, tied ? _("Untied.") : _("Tied: it cannot shake loose."));
}

void
loom_window_switch(LoomWindow *self)
{
  const LoomPart *part = chosen_part(self);
  g_autofree char *sentence =
      g_strdup_printf(part->on ? _("%s is off.") : _("%s is on."), part->designation);
  g_autofree char *designation = g_strdup(part->designation);
  if (loom_document_set(self->document, designation, "on", part->on ? "no" : "yes", NULL))
    loom_window_tell(self, sentence);
}

void
loom_window_offer(LoomWindow *self)
{
  const LoomPart *part = chosen_part(self);
  const char *end = loom_choice_end(self->choice);
  if (!part)
    return;
  for (guint i = 0; !end && i < part->kind->n_ends; i++)
    if (loom_scenes_places_left(design_of(self), loom_document_scene(self->document),
                                loom_design_find_part(design_of(self), part->designation), i))
      end = part->kind->ends[i].id;
  if (end)
    loom_canvas_offer(self->canvas, part->designation, end);
}

void
loom_window_tidy(LoomWindow *self)
{
  LoomEdit *edit = loom_document_edit(self->document, _("Tidy the bench"));
  loom_tidy(edit, loom_document_scene(self->document));
  if (loom_document_apply(self->document, edit)) {
    loom_canvas_zoom_fit(self->canvas);
    loom_window_tell(self, _("Tidied. Undo puts everything back."));
  } else {
    loom_window_tell(self, _("The bench is tidy already."));
  }
}
