#include "preview-private.h"

#include "tell-widget.h"

#include <glib/gi18n-lib.h>
#include <string.h>

#define SETTLE_MS 300      /* after a change, before the pages are made anew */
#define PATIENCE_US 250000 /* before progress is shown */
#define ZOOM_STEP 1.2

G_DEFINE_TYPE(LoomPreview, loom_preview, GTK_TYPE_APPLICATION_WINDOW)

static LoomEvents *
events(LoomPreview *self)
{
  return loom_document_events(self->document);
}

void
loom_preview_tell(LoomPreview *self, const char *sentence, bool wrong)
{
  gtk_label_set_text(self->status, sentence ? sentence : "");
  gtk_widget_set_visible(GTK_WIDGET(self->status), sentence != NULL);
  if (wrong)
    gtk_widget_add_css_class(GTK_WIDGET(self->status), "error");
  else
    gtk_widget_remove_css_class(GTK_WIDGET(self->status), "error");
}

/* --- making --- */

static void
on_progress(double share, gpointer data)
{
  LoomPreview *self = data;
  if (g_get_monotonic_time() - self->making_since < PATIENCE_US)
    return;
  gtk_label_set_text(self->making_text,
                     self->saving ? _("Writing the PDF") : _("Laying out the pages"));
  gtk_progress_bar_set_fraction(self->progress, share);
  gtk_revealer_set_reveal_child(self->making_bar, TRUE);
}

static void
take_proof(LoomPreview *self, LoomProof *proof)
{
  g_clear_pointer(&self->proof, loom_proof_unref);
  self->proof = proof;
  loom_paper_view_set_proof(self->view, proof);
  loom_events_say(events(self), "preview made %u", loom_proof_n_pages(proof));
}

static void
tell_saved(LoomPreview *self)
{
  g_autofree char *base = g_path_get_basename(self->saving);
  g_autofree char *sentence = g_strdup_printf(_("Written: %s."), base);
  loom_preview_tell(self, sentence, false);
  loom_events_say(events(self), "preview saved %s", self->saving);
}

static void
tell_unmade(LoomPreview *self, const GError *error)
{
  if (g_error_matches(error, G_IO_ERROR, G_IO_ERROR_CANCELLED)) {
    loom_preview_tell(self, _("Stopped: these are the pages from before."), false);
    loom_events_say(events(self), "preview stopped");
    return;
  }
  g_autofree char *sentence = g_strdup_printf(_("It could not be written: %s"), error->message);
  loom_preview_tell(self, sentence, true);
  loom_events_say(events(self), "error %s", error->message);
}

static void
on_made(GObject *source, GAsyncResult *result, gpointer data)
{
  LoomPreview *self = data;
  g_autoptr(GError) error = NULL;
  g_autoptr(LoomProof) proof = loom_proof_make_finish(result, &error);
  (void)source;
  if (!self->document || g_task_get_cancellable(G_TASK(result)) != self->making)
    return; /* something newer is under way, or the window is gone */
  g_clear_object(&self->making);
  gtk_revealer_set_reveal_child(self->making_bar, FALSE);
  if (proof && self->saving)
    tell_saved(self);
  else if (!proof)
    tell_unmade(self, error);
  if (proof)
    take_proof(self, g_steal_pointer(&proof));
  g_clear_pointer(&self->saving, g_free);
}

void
loom_preview_make(LoomPreview *self, const char *path)
{
  g_clear_handle_id(&self->timer, g_source_remove);
  if (self->making)
    g_cancellable_cancel(self->making);
  g_clear_object(&self->making);
  g_free(self->saving);
  self->saving = g_strdup(path);
  self->making = g_cancellable_new();
  self->making_since = g_get_monotonic_time();
  loom_preview_tell(self, NULL, false);
  loom_proof_make(G_OBJECT(self), loom_document_design(self->document),
                  loom_document_catalogue(self->document), &self->terms, path, self->making,
                  on_progress, on_made, self);
}

static gboolean
make_now(gpointer data)
{
  LoomPreview *self = data;
  self->timer = 0;
  if (self->saving) /* what is being written is finished first */
    self->timer = g_timeout_add(SETTLE_MS, make_now, self);
  else
    loom_preview_make(self, NULL);
  return G_SOURCE_REMOVE;
}

void
loom_preview_renew(LoomPreview *self)
{
  g_clear_handle_id(&self->timer, g_source_remove);
  self->timer = g_timeout_add(SETTLE_MS, make_now, self);
}

static void
on_changed(LoomPreview *self)
{
  const char *robot = loom_design_title(loom_document_design(self->document))->name;
  g_autofree char *title = g_strdup_printf(_("Handout of %s"), robot);
  gtk_window_set_title(GTK_WINDOW(self), title);
  loom_preview_list_scenes(self);
  loom_preview_renew(self);
}

/* --- turning --- */

static void
on_turned(LoomPreview *self)
{
  guint page = loom_paper_view_page(self->view), n = loom_proof_n_pages(self->proof);
  guint shown = loom_paper_view_n_shown(self->view);
  g_autofree char *number = g_strdup_printf("%u", page + 1);
  g_autofree char *of = shown > 1 ? g_strdup_printf(_("and %u, of %u"), page + shown, n)
                                  : g_strdup_printf(_("of %u"), n);
  g_autofree char *zoom = g_strdup_printf("%.0f %%", loom_paper_view_zoom(self->view));
  gtk_editable_set_text(GTK_EDITABLE(self->page), number);
  gtk_label_set_text(self->of, of);
  gtk_label_set_text(self->chapter, loom_proof_chapter(self->proof, page));
  gtk_button_set_label(self->natural, zoom);
  loom_events_say(events(self), "preview page %u %u %u %s", page + 1, shown, n,
                  loom_proof_chapter(self->proof, page));
}

static void
on_page_typed(GtkEntry *entry, LoomPreview *self)
{
  guint64 page;
  if (g_ascii_string_to_unsigned(gtk_editable_get_text(GTK_EDITABLE(entry)), 10, 1, 100000, &page,
                                 NULL))
    loom_paper_view_turn_to(self->view, (int)page - 1);
  if (self->proof)
    on_turned(self);
  gtk_widget_grab_focus(GTK_WIDGET(self->view));
}

static void
turn_to_first(LoomPreview *self)
{
  loom_paper_view_turn_to(self->view, 0);
}

static void
turn_back(LoomPreview *self)
{
  loom_paper_view_turn(self->view, -1);
}

static void
turn_on(LoomPreview *self)
{
  loom_paper_view_turn(self->view, 1);
}

static void
turn_to_last(LoomPreview *self)
{
  loom_paper_view_turn_to(self->view, G_MAXINT);
}

static void
zoom_in(LoomPreview *self)
{
  loom_paper_view_set_zoom(self->view, loom_paper_view_zoom(self->view) * ZOOM_STEP);
}

static void
zoom_out(LoomPreview *self)
{
  loom_paper_view_set_zoom(self->view, loom_paper_view_zoom(self->view) / ZOOM_STEP);
}

static void
zoom_natural(LoomPreview *self)
{
  loom_paper_view_set_zoom(self->view, 100);
}

static void
zoom_fit(LoomPreview *self)
{
  loom_paper_view_set_zoom(self->view, 0);
}

static void
cancel(LoomPreview *self)
{
  if (self->making)
    g_cancellable_cancel(self->making);
}

static void
close_preview(LoomPreview *self)
{
  gtk_window_close(GTK_WINDOW(self));
}

/* --- actions --- */

static const struct {
  const char *name;
  const char *keys[2];
  void (*act)(LoomPreview *self);
} actions[] = {{"first", {"Home"}, turn_to_first},
               {"previous", {"Page_Up"}, turn_back},
               {"next", {"Page_Down"}, turn_on},
               {"last", {"End"}, turn_to_last},
               {"zoom-in", {"<Control>plus", "<Control>equal"}, zoom_in},
               {"zoom-out", {"<Control>minus"}, zoom_out},
               {"zoom-natural", {"<Control>0"}, zoom_natural},
               {"zoom-fit", {"<Control>9"}, zoom_fit},
               {"save", {"<Control>s"}, loom_preview_save},
               {"print", {"<Control>p"}, loom_preview_print},
               {"cancel", {NULL}, cancel},
               {"close", {"<Control>w", "Escape"}, close_preview}};

static void
on_action(GSimpleAction *action, GVariant *parameter, gpointer data)
{
  (void)parameter;
  for (guint i = 0; i < G_N_ELEMENTS(actions); i++)
    if (g_str_equal(actions[i].name, g_action_get_name(G_ACTION(action))))
      actions[i].act(data);
}

/* For the event log: "widget NAME" is answered as the bench does. */
static void
on_tell(GSimpleAction *action, GVariant *parameter, gpointer data)
{
  (void)action;
  const char *question = g_variant_get_string(parameter, NULL);
  GtkWidget *widget = g_str_has_prefix(question, "widget ")
                          ? loom_find_widget(GTK_WIDGET(data), question + strlen("widget "))
                          : NULL;
  if (widget)
    loom_say_at(events(data), question, widget, gtk_widget_get_width(widget) / 2.0,
                gtk_widget_get_height(widget) / 2.0);
}

static void
add_tell(LoomPreview *self)
{
  if (!events(self))
    return;
  g_autoptr(GSimpleAction) tell = g_simple_action_new("tell", G_VARIANT_TYPE_STRING);
  g_signal_connect(tell, "activate", G_CALLBACK(on_tell), self);
  g_action_map_add_action(G_ACTION_MAP(self), G_ACTION(tell));
}

static void
add_actions(LoomPreview *self)
{
  GtkEventController *keys = gtk_shortcut_controller_new();
  for (guint i = 0; i < G_N_ELEMENTS(actions); i++) {
    g_autoptr(GSimpleAction) action = g_simple_action_new(actions[i].name, NULL);
    g_signal_connect(action, "activate", G_CALLBACK(on_action), self);
    g_action_map_add_action(G_ACTION_MAP(self), G_ACTION(action));
    g_autofree char *name = g_strconcat("win.", actions[i].name, NULL);
    for (guint k = 0; k < G_N_ELEMENTS(actions[i].keys) && actions[i].keys[k]; k++)
      gtk_shortcut_controller_add_shortcut(
          GTK_SHORTCUT_CONTROLLER(keys),
          gtk_shortcut_new(gtk_shortcut_trigger_parse_string(actions[i].keys[k]),
                           gtk_named_action_new(name)));
  }
  gtk_widget_add_controller(GTK_WIDGET(self), keys);
}

/* --- life --- */

static void
loom_preview_dispose(GObject *object)
{
  LoomPreview *self = LOOM_PREVIEW(object);
  g_clear_handle_id(&self->timer, g_source_remove);
  if (self->making)
    g_cancellable_cancel(self->making);
  g_clear_object(&self->making);
  gtk_widget_dispose_template(GTK_WIDGET(object), LOOM_TYPE_PREVIEW);
  g_clear_object(&self->document);
  g_clear_object(&self->settings);
  g_clear_pointer(&self->proof, loom_proof_unref);
  g_clear_pointer(&self->saving, g_free);
  G_OBJECT_CLASS(loom_preview_parent_class)->dispose(object);
}

static void
bind_children(GtkWidgetClass *class)
{
  gtk_widget_class_bind_template_child(class, LoomPreview, view);
  gtk_widget_class_bind_template_child(class, LoomPreview, what);
  gtk_widget_class_bind_template_child(class, LoomPreview, scene);
  gtk_widget_class_bind_template_child(class, LoomPreview, paper);
  gtk_widget_class_bind_template_child(class, LoomPreview, sheet);
  gtk_widget_class_bind_template_child(class, LoomPreview, book_terms);
  gtk_widget_class_bind_template_child(class, LoomPreview, label_terms);
  gtk_widget_class_bind_template_child(class, LoomPreview, grey);
  gtk_widget_class_bind_template_child(class, LoomPreview, flags);
  gtk_widget_class_bind_template_child(class, LoomPreview, chapters);
  gtk_widget_class_bind_template_child(class, LoomPreview, outings);
  gtk_widget_class_bind_template_child(class, LoomPreview, every);
  gtk_widget_class_bind_template_child(class, LoomPreview, skip);
  gtk_widget_class_bind_template_child(class, LoomPreview, first);
  gtk_widget_class_bind_template_child(class, LoomPreview, page);
  gtk_widget_class_bind_template_child(class, LoomPreview, making_bar);
  gtk_widget_class_bind_template_child(class, LoomPreview, making_text);
  gtk_widget_class_bind_template_child(class, LoomPreview, status);
  gtk_widget_class_bind_template_child(class, LoomPreview, of);
  gtk_widget_class_bind_template_child(class, LoomPreview, chapter);
  gtk_widget_class_bind_template_child(class, LoomPreview, progress);
  gtk_widget_class_bind_template_child(class, LoomPreview, natural);
}

static void
loom_preview_class_init(LoomPreviewClass *class)
{
  GtkWidgetClass *widget_class = GTK_WIDGET_CLASS(class);
  G_OBJECT_CLASS(class)->dispose = loom_preview_dispose;
  g_type_ensure(LOOM_TYPE_PAPER_VIEW);
  gtk_widget_class_set_template_from_resource(widget_class, "/org/loombook/ui/preview.ui");
  bind_children(widget_class);
}

static void
loom_preview_init(LoomPreview *self)
{
  gtk_widget_init_template(GTK_WIDGET(self));
  loom_proof_terms_init(&self->terms);
  self->settings = gtk_print_settings_new();
  add_actions(self);
}

GtkWindow *
loom_preview_new(GtkApplication *application, LoomDocument *document)
{
  LoomPreview *self = g_object_new(LOOM_TYPE_PREVIEW, "application", application, NULL);
  self->document = g_object_ref(document);
  add_tell(self);
  loom_preview_add_choices(self);
  g_signal_connect_object(self->view, "turned", G_CALLBACK(on_turned), self, G_CONNECT_SWAPPED);
  g_signal_connect_object(self->page, "activate", G_CALLBACK(on_page_typed), self, 0);
  g_signal_connect_object(document, "changed", G_CALLBACK(on_changed), self, G_CONNECT_SWAPPED);
  on_changed(self);
  loom_preview_make(self, NULL);
  gtk_widget_grab_focus(GTK_WIDGET(self->view));
  return GTK_WINDOW(self);
}
