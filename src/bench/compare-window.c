#include "compare-window.h"

#include "findings-list.h"
#include "look.h"
#include "sentence.h"
#include "sheet-view.h"
#include "sheet/changes.h"
#include "sheet/export.h"
#include "sheet/inks.h"

#include <glib/gi18n-lib.h>

#define SETTLE_MS 250 /* after a change of the document, before it is compared again */
#define SIGN_PX 20

/* Made in a thread from snapshots. */
typedef struct {
  LoomDesign *old, *now;
  LoomCompare *compare;
  LoomMerged *merged;
} Comparison;

struct _LoomCompareWindow {
  GtkWindow parent;
  GtkLabel *subtitle, *placeholder;
  GtkDropDown *scenes;
  GtkWidget *export;
  GtkListBox *list;
  GtkScrolledWindow *scroller;
  LoomSheetView *view;
  LoomDocument *document;
  LoomDesign *old;
  Comparison *shown; /* NULL until first compared */
  GArray *order;     /* guint: difference of each row */
  LoomSheet *sheet;
  GArray *parts; /* guint: those of the scene; NULL all */
  guint scene;
  bool filling;
  guint timer;
  GCancellable *comparing;
};

G_DEFINE_FINAL_TYPE(LoomCompareWindow, loom_compare_window, GTK_TYPE_WINDOW)

static void
comparison_free(Comparison *c)
{
  if (!c)
    return;
  loom_merged_free(c->merged);
  loom_compare_free(c->compare);
  loom_design_free(c->old);
  loom_design_free(c->now);
  g_free(c);
}

/* What a difference is about: the list is in this order. */
typedef enum {
  ABOUT_POWER, /* findings above note, states without a solution */
  ABOUT_DRAWING,
  ABOUT_CURRENTS,
  ABOUT_WORDS,
  ABOUT_NOTES, /* findings that are notes */
  N_ABOUT
} About;

static const char *const headings[N_ABOUT] = {N_("Findings"), N_("On the bench"), N_("Currents"),
                                              N_("Names, notes, places"), N_("Minor findings")};

static About
about_of(const LoomDifference *d)
{
  switch (d->type) {
  case LOOM_DIFFERENCE_FINDING_NEW:
  case LOOM_DIFFERENCE_FINDING_CHANGED:
  case LOOM_DIFFERENCE_FINDING_GONE:
    return d->severity == LOOM_NOTE ? ABOUT_NOTES : ABOUT_POWER;
  case LOOM_DIFFERENCE_POINT_GONE:
  case LOOM_DIFFERENCE_POINT_NEW:
    return ABOUT_POWER;
  case LOOM_DIFFERENCE_CURRENT:
    return ABOUT_CURRENTS;
  default:
    return d->type >= LOOM_DIFFERENCE_RENAMED ? ABOUT_WORDS : ABOUT_DRAWING;
  }
}

static LoomStatus
status_of(const LoomDifference *d)
{
  const char *word = loom_difference_word(d->type);
  if (d->type == LOOM_DIFFERENCE_JOINT_NEW || g_str_has_suffix(word, "-new"))
    return LOOM_STATUS_NEW;
  bool gone = d->type == LOOM_DIFFERENCE_JOINT_GONE || g_str_has_suffix(word, "-gone");
  return gone ? LOOM_STATUS_GONE : LOOM_STATUS_CHANGED;
}

/* Rows. */

static void
draw_sign(GtkDrawingArea *area, cairo_t *cr, int width, int height, gpointer data)
{
  LoomPalette palette = loom_look_palette(GTK_WIDGET(area));
  double scale = MIN(width, height) / LOOM_CHANGE_SIGN_MM;
  g_autoptr(LoomInk) ink = loom_ink_cairo_new(cr, palette);
  cairo_scale(cr, scale, scale);
  loom_draw_change_sign(ink, GPOINTER_TO_UINT(data),
                        (LoomPoint){width / scale / 2, height / scale / 2});
}

static GtkWidget *
sign_new(GtkWidget *near, const LoomDifference *d)
{
  About about = about_of(d);
  if (about == ABOUT_POWER || about == ABOUT_NOTES)
    return gtk_image_new_from_icon_name(loom_severity_icon(d->severity));
  if (about == ABOUT_CURRENTS)
    return gtk_label_new("A");
  int size = (int)(SIGN_PX * loom_look_text_factor(near));
  GtkWidget *area = gtk_drawing_area_new();
  gtk_widget_set_size_request(area, size, size);
  gtk_drawing_area_set_draw_func(GTK_DRAWING_AREA(area), draw_sign, GUINT_TO_POINTER(status_of(d)),
                                 NULL);
  return area;
}

static GtkWidget *
row_new(LoomCompareWindow *self, const LoomDifference *d)
{
  GtkWidget *row = gtk_list_box_row_new();
  GtkWidget *box = gtk_box_new(GTK_ORIENTATION_HORIZONTAL, 10);
  GtkWidget *sign = sign_new(GTK_WIDGET(self), d);
  GtkWidget *label = loom_sentence_new(d->sentence, NULL);
  gtk_widget_set_valign(sign, GTK_ALIGN_START);
  gtk_widget_set_size_request(box, -1, 24);
  gtk_widget_set_hexpand(label, TRUE);
  gtk_box_append(GTK_BOX(box), sign);
  gtk_box_append(GTK_BOX(box), label);
  gtk_list_box_row_set_child(GTK_LIST_BOX_ROW(row), box);
  g_object_set_data(G_OBJECT(row), "heading", (gpointer)headings[about_of(d)]);
  gtk_accessible_update_property(GTK_ACCESSIBLE(row), GTK_ACCESSIBLE_PROPERTY_LABEL, d->sentence,
                                 -1);
  return row;
}

static const LoomDifference *
difference_at(LoomCompareWindow *self, int row)
{
  return &self->shown->compare->differences[g_array_index(self->order, guint, row)];
}

/* Kept with the row: while the list is filled anew, old rows stand beside a new comparison. */
static const char *
heading_of(GtkListBoxRow *row)
{
  return row ? g_object_get_data(G_OBJECT(row), "heading") : NULL;
}

static void
put_heading(GtkListBoxRow *row, GtkListBoxRow *before, gpointer data)
{
  (void)data;
  if (heading_of(row) == heading_of(before)) {
    gtk_list_box_row_set_header(row, NULL);
    return;
  }
  GtkWidget *label = gtk_label_new(_(heading_of(row)));
  gtk_label_set_xalign(GTK_LABEL(label), 0);
  gtk_widget_add_css_class(label, "group-heading");
  gtk_list_box_row_set_header(row, label);
}

/* Whoever opened the window goes on with the arrow keys. */
static void
focus_first(LoomCompareWindow *self)
{
  GtkListBoxRow *row = gtk_list_box_get_row_at_index(self->list, 0);
  GtkWidget *focus = gtk_window_get_focus(GTK_WINDOW(self));
  if (row && (!focus || focus == GTK_WIDGET(self->list)))
    gtk_widget_grab_focus(GTK_WIDGET(row));
}

static void
fill_list(LoomCompareWindow *self)
{
  GtkListBoxRow *row;
  self->filling = true;
  while ((row = gtk_list_box_get_row_at_index(self->list, 0)))
    gtk_list_box_remove(self->list, GTK_WIDGET(row));
  const LoomCompare *c = self->shown->compare;
  g_array_set_size(self->order, 0);
  for (guint about = 0; about < N_ABOUT; about++)
    for (guint i = 0; i < c->n_differences; i++)
      if (about_of(&c->differences[i]) == (About)about)
        g_array_append_val(self->order, i);
  for (guint i = 0; i < self->order->len; i++)
    gtk_list_box_append(self->list, row_new(self, difference_at(self, (int)i)));
  gtk_list_box_unselect_all(self->list);
  gtk_label_set_text(self->placeholder, _("Nothing differs."));
  self->filling = false;
}

/* The drawing. */

static void
lay(LoomCompareWindow *self)
{
  const LoomMerged *merged = self->shown->merged;
  LoomSheet *sheet = loom_changes_sheet_new(merged, self->scene);
  g_clear_pointer(&self->parts, g_array_unref);
  self->parts = loom_design_list_scene_parts(merged->design, self->scene);
  LoomDrawOptions options;
  loom_draw_options_init(&options);
  options.merged = merged;
  options.legend = true;
  if (self->parts->len < merged->n_parts) {
    options.only_parts = (const guint *)self->parts->data;
    options.n_only = self->parts->len;
  }
  loom_sheet_view_show(self->view, sheet, &options);
  g_clear_pointer(&self->sheet, loom_sheet_free);
  self->sheet = sheet;
}

static void
fill_scenes(LoomCompareWindow *self)
{
  const LoomDesign *design = self->shown->merged->design;
  g_autoptr(GtkStringList) names = gtk_string_list_new(NULL);
  guint n = loom_design_n_scenes(design);
  for (guint i = 0; i < n; i++)
    gtk_string_list_append(names, loom_design_scene(design, i)->name);
  self->filling = true;
  self->scene = MIN(self->scene, n - 1);
  gtk_drop_down_set_model(self->scenes, G_LIST_MODEL(names));
  gtk_drop_down_set_selected(self->scenes, self->scene);
  gtk_widget_set_visible(GTK_WIDGET(self->scenes), n > 1);
  self->filling = false;
}

static void
on_scene(LoomCompareWindow *self)
{
  guint scene = gtk_drop_down_get_selected(self->scenes);
  if (self->filling || !self->shown || scene == GTK_INVALID_LIST_POSITION || scene == self->scene)
    return;
  self->scene = scene;
  lay(self);
}

static void
on_selected(LoomCompareWindow *self, GtkListBoxRow *row)
{
  if (self->filling || !row)
    return;
  const LoomDifference *d = difference_at(self, gtk_list_box_row_get_index(row));
  guint scene = loom_changes_scene(self->shown->merged, d, self->scene);
  if (scene != self->scene)
    gtk_drop_down_set_selected(self->scenes, scene);
  g_autoptr(GArray) boxes = loom_changes_places(self->sheet, self->shown->merged, d);
  loom_sheet_view_light(self->view, (const LoomRect *)(gpointer)boxes->data, boxes->len);
  loom_events_say(loom_document_events(self->document), "change shown %s",
                  d->where ? d->where : "");
}

static void
on_fit(LoomCompareWindow *self)
{
  loom_sheet_view_zoom_fit(self->view);
}

/* Comparing. */

static void
compare_in_thread(GTask *task, gpointer source, gpointer data, GCancellable *cancellable)
{
  (void)source;
  (void)cancellable;
  Comparison *c = data;
  c->compare = loom_compare_new(c->old, c->now, LOOM_COMPARE_ALL);
  c->merged = loom_compare_merged(c->compare, c->old, c->now);
  g_task_return_boolean(task, TRUE);
}

static void
on_compared(GObject *source, GAsyncResult *result, gpointer data)
{
  LoomCompareWindow *self = LOOM_COMPARE_WINDOW(source);
  Comparison *c = data;
  if (!g_task_propagate_boolean(G_TASK(result), NULL)) {
    comparison_free(c);
    return;
  }
  Comparison *before = self->shown;
  self->shown = c;
  fill_scenes(self);
  lay(self);
  fill_list(self);
  gtk_widget_set_sensitive(self->export, TRUE);
  focus_first(self);
  comparison_free(before);
  loom_events_say(loom_document_events(self->document), "compared %u", c->compare->n_differences);
}

static void
compare(LoomCompareWindow *self)
{
  if (self->comparing)
    g_cancellable_cancel(self->comparing);
  g_clear_object(&self->comparing);
  self->comparing = g_cancellable_new();
  Comparison *c = g_new0(Comparison, 1);
  c->old = loom_design_snapshot(self->old);
  c->now = loom_design_snapshot(loom_document_design(self->document));
  g_autoptr(GTask) task = g_task_new(self, self->comparing, on_compared, c);
  g_task_set_task_data(task, c, NULL);
  g_task_run_in_thread(task, compare_in_thread);
}

static gboolean
on_settled(gpointer data)
{
  LOOM_COMPARE_WINDOW(data)->timer = 0;
  compare(data);
  return G_SOURCE_REMOVE;
}

static void
on_changed(LoomDocument *document, gpointer data)
{
  (void)document;
  LoomCompareWindow *self = data;
  g_clear_handle_id(&self->timer, g_source_remove);
  self->timer = g_timeout_add(SETTLE_MS, on_settled, self);
}

/* Exporting. */

static bool
export_to(LoomCompareWindow *self, const char *path, GError **error)
{
  LoomDrawOptions options;
  loom_draw_options_init(&options);
  options.palette = LOOM_PALETTE_PRINT;
  options.title_block = options.legend = true;
  options.merged = self->shown->merged;
  if (self->parts->len < self->shown->merged->n_parts) {
    options.only_parts = (const guint *)self->parts->data;
    options.n_only = self->parts->len;
  }
  return loom_export_diagram(self->sheet, &options, path, error);
}

static void
on_export_chosen(GtkNativeDialog *dialog, int response, gpointer data)
{
  LoomCompareWindow *self = data;
  g_autoptr(GFile) file =
      response == GTK_RESPONSE_ACCEPT ? gtk_file_chooser_get_file(GTK_FILE_CHOOSER(dialog)) : NULL;
  g_autofree char *path = file ? g_file_get_path(file) : NULL;
  g_autoptr(GError) error = NULL;
  g_object_unref(dialog);
  if (!path)
    return;
  if (export_to(self, path, &error)) {
    loom_events_say(loom_document_events(self->document), "exported %s", path);
    return;
  }
  GtkWidget *message = gtk_message_dialog_new(GTK_WINDOW(self), GTK_DIALOG_MODAL, GTK_MESSAGE_OTHER,
                                              GTK_BUTTONS_CLOSE, "%s", error->message);
  g_signal_connect(message, "response", G_CALLBACK(gtk_window_destroy), NULL);
  gtk_window_present(GTK_WINDOW(message));
}

static void
on_export(LoomCompareWindow *self)
{
  GtkFileChooserNative *chooser =
      gtk_file_chooser_native_new(_("Export Diagram"), GTK_WINDOW(self),
                                  GTK_FILE_CHOOSER_ACTION_SAVE, _("_Export"), _("_Cancel"));
  gtk_native_dialog_set_modal(GTK_NATIVE_DIALOG(chooser), TRUE);
  g_autofree char *name =
      g_strdup_printf(_("%s changes.pdf"), loom_design_title(self->shown->now)->name);
  g_strdelimit(name, "/\\:", '-');
  gtk_file_chooser_set_current_name(GTK_FILE_CHOOSER(chooser), name);
  g_signal_connect(chooser, "response", G_CALLBACK(on_export_chosen), self);
  gtk_native_dialog_show(GTK_NATIVE_DIALOG(chooser));
}

/* Life. */

static void
loom_compare_window_dispose(GObject *object)
{
  LoomCompareWindow *self = LOOM_COMPARE_WINDOW(object);
  g_clear_handle_id(&self->timer, g_source_remove);
  if (self->comparing)
    g_cancellable_cancel(self->comparing);
  g_clear_object(&self->comparing);
  gtk_widget_dispose_template(GTK_WIDGET(object), LOOM_TYPE_COMPARE_WINDOW);
  g_clear_object(&self->document);
  G_OBJECT_CLASS(loom_compare_window_parent_class)->dispose(object);
}

static void
loom_compare_window_finalize(GObject *object)
{
  LoomCompareWindow *self = LOOM_COMPARE_WINDOW(object);
  g_clear_pointer(&self->sheet, loom_sheet_free);
  g_clear_pointer(&self->parts, g_array_unref);
  g_clear_pointer(&self->shown, comparison_free);
  g_clear_pointer(&self->old, loom_design_free);
  g_array_unref(self->order);
  G_OBJECT_CLASS(loom_compare_window_parent_class)->finalize(object);
}

static void
loom_compare_window_class_init(LoomCompareWindowClass *class)
{
  GtkWidgetClass *widget_class = GTK_WIDGET_CLASS(class);
  G_OBJECT_CLASS(class)->dispose = loom_compare_window_dispose;
  G_OBJECT_CLASS(class)->finalize = loom_compare_window_finalize;
  g_type_ensure(LOOM_TYPE_SHEET_VIEW);
  gtk_widget_class_set_template_from_resource(widget_class, "/org/loombook/ui/compare-window.ui");
  gtk_widget_class_bind_template_child(widget_class, LoomCompareWindow, subtitle);
  gtk_widget_class_bind_template_child(widget_class, LoomCompareWindow, placeholder);
  gtk_widget_class_bind_template_child(widget_class, LoomCompareWindow, scenes);
  gtk_widget_class_bind_template_child(widget_class, LoomCompareWindow, export);
  gtk_widget_class_bind_template_child(widget_class, LoomCompareWindow, list);
  gtk_widget_class_bind_template_child(widget_class, LoomCompareWindow, scroller);
  gtk_widget_class_bind_template_child(widget_class, LoomCompareWindow, view);
  gtk_widget_class_bind_template_callback(widget_class, on_scene);
  gtk_widget_class_bind_template_callback(widget_class, on_selected);
  gtk_widget_class_bind_template_callback(widget_class, on_fit);
  gtk_widget_class_bind_template_callback(widget_class, on_export);
  gtk_widget_class_add_binding_action(widget_class, GDK_KEY_Escape, 0, "window.close", NULL);
  gtk_widget_class_add_binding_action(widget_class, GDK_KEY_w, GDK_CONTROL_MASK, "window.close",
                                      NULL);
}

static gboolean
on_zoom_key(GtkEventControllerKey *controller, guint key, guint code, GdkModifierType state,
            gpointer data)
{
  (void)controller;
  (void)code;
  LoomCompareWindow *self = data;
  if (!(state & GDK_CONTROL_MASK))
    return GDK_EVENT_PROPAGATE;
  if (key == GDK_KEY_plus || key == GDK_KEY_equal || key == GDK_KEY_KP_Add)
    loom_sheet_view_zoom_step(self->view, 1);
  else if (key == GDK_KEY_minus || key == GDK_KEY_KP_Subtract)
    loom_sheet_view_zoom_step(self->view, -1);
  else if (key == GDK_KEY_9)
    loom_sheet_view_zoom_fit(self->view);
  else
    return GDK_EVENT_PROPAGATE;
  return GDK_EVENT_STOP;
}

static void
loom_compare_window_init(LoomCompareWindow *self)
{
  gtk_widget_init_template(GTK_WIDGET(self));
  self->order = g_array_new(FALSE, FALSE, sizeof(guint));
  gtk_list_box_set_header_func(self->list, put_heading, NULL, NULL);
  gtk_label_set_text(self->placeholder, _("Comparing…"));
  gtk_widget_set_sensitive(self->export, FALSE);
  GtkEventController *keys = gtk_event_controller_key_new();
  g_signal_connect(keys, "key-pressed", G_CALLBACK(on_zoom_key), self);
  gtk_widget_add_controller(GTK_WIDGET(self), keys);
}

void
loom_compare_window_show(GtkWindow *parent, LoomDocument *document, LoomDesign *old,
                         const char *name)
{
  LoomCompareWindow *self = g_object_new(LOOM_TYPE_COMPARE_WINDOW, "transient-for", parent, NULL);
  self->document = g_object_ref(document);
  self->old = old;
  self->scene = loom_document_scene(document);
  g_autofree char *now = loom_document_name(document);
  g_autofree char *subtitle = g_strdup_printf(_("from %s to %s as it is now"), name, now);
  gtk_label_set_text(self->subtitle, subtitle);
  g_signal_connect_object(document, "changed", G_CALLBACK(on_changed), self, 0);
  compare(self);
  gtk_window_present(GTK_WINDOW(self));
  gtk_widget_grab_focus(GTK_WIDGET(self->list));
}
