#include "window-private.h"

#include "look.h"
#include "sheet/tidy.h"

#include <glib/gi18n-lib.h>

#define TOLD_SECONDS 8
#define SHELF_PX 230
#define TAG_PX 270

G_DEFINE_FINAL_TYPE(LoomWindow, loom_window, GTK_TYPE_APPLICATION_WINDOW)

/* The sentence at the lower edge of the bench: what is pointed at, else what was last done. */

static void
show_hint(LoomWindow *self, const char *sentence)
{
  const char *text = sentence ? sentence : self->told;
  gtk_label_set_text(self->hint, text ? text : "");
  gtk_widget_set_visible(GTK_WIDGET(self->hint), text != NULL);
}

static gboolean
forget_told(gpointer data)
{
  LoomWindow *self = data;
  self->told_timer = 0;
  bool shown = g_strcmp0(gtk_label_get_text(self->hint), self->told) == 0;
  g_clear_pointer(&self->told, g_free);
  if (shown)
    show_hint(self, NULL);
  return G_SOURCE_REMOVE;
}

void
loom_window_tell(LoomWindow *self, const char *sentence)
{
  g_free(self->told);
  self->told = g_strdup(sentence);
  g_clear_handle_id(&self->told_timer, g_source_remove);
  self->told_timer = g_timeout_add_seconds(TOLD_SECONDS, forget_told, self);
  show_hint(self, sentence);
}

static void
on_hint(LoomCanvas *canvas, const char *sentence, gpointer data)
{
  (void)canvas;
  show_hint(data, sentence);
}

static void
on_told(LoomCanvas *canvas, const char *sentence, gpointer data)
{
  (void)canvas;
  loom_window_tell(data, sentence);
}

/* Title and modified mark. */

static char *
folder_text(const char *path)
{
  g_autofree char *folder = g_path_get_dirname(path);
  const char *home = g_get_home_dir();
  gsize n = strlen(home);
  if (strncmp(folder, home, n) == 0 && (folder[n] == '/' || !folder[n]))
    return g_strconcat("~", folder + n, NULL);
  return g_steal_pointer(&folder);
}

static void
on_title(LoomDocument *document, gpointer data)
{
  LoomWindow *self = data;
  g_autofree char *name = loom_document_name(document);
  g_autofree char *marked = g_strconcat(loom_document_modified(document) ? "• " : "", name, NULL);
  g_autofree char *full = g_strconcat(marked, " – Loombook", NULL);
  const char *path = loom_document_path(document);
  g_autofree char *folder = path ? folder_text(path) : g_strdup(_("not saved yet"));
  gtk_label_set_text(self->title, marked);
  gtk_label_set_text(self->subtitle, folder);
  gtk_window_set_title(GTK_WINDOW(self), full);
}

/* The verdict. */

static void
on_findings(LoomDocument *document, gpointer data)
{
  static const char *const classes[] = {"stop", "care", "note", NULL};
  LoomWindow *self = data;
  const LoomFindings *findings = loom_document_findings(document);
  if (!findings)
    return;
  const LoomDesign *design = loom_document_design(document);
  g_autofree char *verdict = loom_findings_verdict(findings, design);
  LoomSeverity worst = findings->n_stop ? LOOM_STOP : findings->n_care ? LOOM_CARE : LOOM_NOTE;
  bool clean = !findings->n_stop && !findings->n_care && loom_design_n_joints(design) > 0;
  for (guint i = 0; classes[i]; i++)
    gtk_widget_remove_css_class(GTK_WIDGET(self->verdict), classes[i]);
  gtk_widget_add_css_class(GTK_WIDGET(self->verdict), classes[worst]);
  gtk_label_set_text(self->verdict_text, verdict);
  gtk_image_set_from_icon_name(self->verdict_icon,
                               clean ? "emblem-ok-symbolic" : loom_severity_icon(worst));
}

/* The drawer. */

void
loom_window_add_pages(LoomWindow *self)
{
  self->findings = g_object_new(LOOM_TYPE_FINDINGS_LIST, NULL);
  loom_drawer_add(self->drawer, "findings", _("Findings"), GTK_WIDGET(self->findings));
  loom_drawer_add(self->drawer, "flow", _("What flows"), loom_window_new_flow_page(self));
}

static void
on_drawer(LoomDrawer *drawer, gpointer data)
{
  LoomWindow *self = data;
  if (!loom_drawer_shows(drawer, "findings"))
    loom_canvas_light_finding(self->canvas, LOOM_NONE);
  loom_events_say(loom_document_events(self->document), "drawer %s",
                  loom_drawer_page(drawer) ? loom_drawer_page(drawer) : "closed");
}

static void
on_drawer_left(LoomDrawer *drawer, gpointer data)
{
  (void)drawer;
  loom_canvas_take_focus(LOOM_WINDOW(data)->canvas);
}

static void
on_finding_shown(LoomFindingsList *list, guint index, gpointer data)
{
  (void)list;
  LoomWindow *self = data;
  const LoomFindings *findings = loom_document_findings(self->document);
  if (!findings || index >= findings->n_findings)
    return;
  const LoomFinding *finding = &findings->findings[index];
  if (finding->scene != LOOM_NONE && finding->scene != loom_document_scene(self->document))
    loom_document_set_scene(self->document, finding->scene);
  loom_canvas_light_finding(self->canvas, index);
  loom_events_say(loom_document_events(self->document), "shown finding %u", index + 1);
}

static void
on_flag(LoomCanvas *canvas, guint index, gpointer data)
{
  (void)canvas;
  LoomWindow *self = data;
  loom_drawer_show(self->drawer, "findings");
  loom_findings_list_choose(self->findings, index);
  loom_canvas_light_finding(self->canvas, index);
  loom_events_say(loom_document_events(self->document), "flag %u", index + 1);
}

static void
on_mend(LoomFindingsList *list, guint index, gpointer data)
{
  (void)list;
  LoomWindow *self = data;
  const LoomFindings *findings = loom_document_findings(self->document);
  if (index >= findings->n_findings)
    return;
  g_autofree char *label = g_strdup_printf(_("Mend %s"), findings->findings[index].where);
  g_autoptr(LoomEdit) edit = loom_document_edit(self->document, label);
  g_autoptr(GError) error = NULL;
  g_autofree char *done = g_strdup(findings->findings[index].remedy);
  if (!loom_finding_mend(&findings->findings[index], edit, &error)) {
    loom_window_tell(self, error->message);
    return;
  }
  loom_canvas_take_focus(self->canvas); /* the button goes with its row */
  if (loom_document_apply(self->document, g_steal_pointer(&edit)))
    loom_window_tell(self, done ? done : _("Mended."));
}

/* Following the document. */

/* Who draws the first sheet draws the next ones too, unless the preferences say otherwise. */
static void
remember_name(LoomWindow *self, const char *name)
{
  g_autofree char *known = loom_preferences_drawn_by(self->preferences);
  if (name && !loom_document_path(self->document) && (!known || !*known))
    loom_preferences_set_drawn_by(self->preferences, name);
}

static void
on_changed(LoomDocument *document, gpointer data)
{
  LoomWindow *self = data;
  const LoomDesign *design = loom_document_design(document);
  const char *undo = loom_design_undo_label(design), *redo = loom_design_redo_label(design);
  g_autofree char *undo_tip = undo ? g_strdup_printf(_("Undo: %s"), undo) : g_strdup(_("Undo"));
  g_autofree char *redo_tip = redo ? g_strdup_printf(_("Redo: %s"), redo) : g_strdup(_("Redo"));
  gtk_widget_set_tooltip_text(GTK_WIDGET(self->undo), undo_tip);
  gtk_widget_set_tooltip_text(GTK_WIDGET(self->redo), redo_tip);
  gtk_widget_set_visible(self->welcome, loom_design_n_parts(design) == 0);
  remember_name(self, loom_design_title(design)->drawn_by);
  loom_window_update_actions(self);
}

static void
on_choice(LoomChoice *choice, gpointer data)
{
  LoomWindow *self = data;
  g_autoptr(GString) text = g_string_new("chosen");
  for (guint i = 0; i < loom_choice_n_parts(choice); i++)
    g_string_append_printf(text, " %s", loom_choice_part(choice, i));
  if (loom_choice_end(choice))
    g_string_append_printf(text, ":%s", loom_choice_end(choice));
  if (loom_choice_is_joint(choice))
    g_string_append(text, " joint");
  loom_events_say(loom_document_events(self->document), "%s", text->str);
  loom_window_update_actions(self);
}

static void
on_view(LoomCanvas *canvas, gpointer data)
{
  LoomWindow *self = data;
  g_autofree char *text = g_strdup_printf("%.0f %%", loom_canvas_zoom(canvas));
  gtk_menu_button_set_label(self->zoom_menu, text);
}

static void
on_menu(LoomCanvas *canvas, double x, double y, gpointer data)
{
  (void)canvas;
  loom_window_open_menu_at(data, x, y);
}

static void
on_name(LoomCanvas *canvas, gpointer data)
{
  (void)canvas;
  loom_tag_name_part(LOOM_WINDOW(data)->tag);
}

/* From the shelf and the tag. */

static void
on_shelf_left(LoomShelf *shelf, gpointer data)
{
  (void)shelf;
  loom_canvas_take_focus(LOOM_WINDOW(data)->canvas);
}

void
loom_window_place_kind(LoomWindow *self, const LoomKind *kind)
{
  const LoomDesign *design = loom_document_design(self->document);
  LoomPoint middle = loom_canvas_middle(self->canvas);
  if (!loom_design_n_parts(design))
    middle = (LoomPoint){40, 40};
  LoomPoint at = loom_tidy_free_place(design, kind, middle.x - kind->width_mm / 2,
                                      middle.y - kind->height_mm / 2);
  g_autofree char *label = g_strdup_printf(_("Add %s"), kind->name);
  g_autoptr(LoomEdit) edit = loom_document_edit(self->document, label);
  g_autoptr(GError) error = NULL;
  const char *given = loom_edit_add(edit, kind, NULL, at.x, at.y, &error);
  if (!given) {
    loom_window_tell(self, error->message);
    return;
  }
  g_autofree char *designation = g_strdup(given);
  loom_document_apply(self->document, g_steal_pointer(&edit));
  loom_choice_set_part(self->choice, designation, NULL);
  loom_canvas_show_new(self->canvas, designation);
  loom_canvas_take_focus(self->canvas);
  g_autofree char *sentence =
      g_strdup_printf(_("Placed %s. Enter goes to its free end."), designation);
  loom_window_tell(self, sentence);
}

static void
on_wanted(LoomShelf *shelf, const LoomKind *kind, gpointer data)
{
  (void)shelf;
  loom_window_place_kind(data, kind);
}

/* The welcome makes room for what is being dragged: a drop must reach the canvas. */
static void
on_dragging(LoomShelf *shelf, gboolean dragging, gpointer data)
{
  (void)shelf;
  LoomWindow *self = data;
  gtk_widget_set_visible(self->welcome, !dragging && !loom_window_has_parts(self));
}

static void
on_offer(LoomTag *tag, const char *designation, const char *end, gpointer data)
{
  (void)tag;
  LoomWindow *self = data;
  g_autofree char *part = g_strdup(designation);
  g_autofree char *id = g_strdup(end);
  loom_choice_set_part(self->choice, part, id);
  loom_canvas_offer(self->canvas, part, id);
}

static void
on_swap(LoomTag *tag, const char *designation, gpointer data)
{
  (void)tag;
  loom_canvas_offer_swap(LOOM_WINDOW(data)->canvas, designation);
}

/* Recovered work. */

void
loom_window_show_recovered(LoomWindow *self, gint64 time)
{
  g_autoptr(GDateTime) then = g_date_time_new_from_unix_local(time);
  g_autofree char *when = then ? g_date_time_format(then, "%H:%M") : g_strdup("before");
  g_autofree char *text = g_strdup_printf(
      _("Loombook ended without saving. This is your work as it stood at %s."), when);
  gtk_label_set_text(self->recovered_text, text);
  gtk_widget_set_visible(GTK_WIDGET(self->recovered), TRUE);
  gtk_revealer_set_reveal_child(self->recovered, TRUE);
}

static void
on_keep_recovered(LoomWindow *self)
{
  gtk_widget_set_visible(GTK_WIDGET(self->recovered), FALSE);
}

static void
on_drop_recovered(LoomWindow *self)
{
  g_autofree char *path = g_strdup(loom_document_path(self->document));
  gtk_widget_set_visible(GTK_WIDGET(self->recovered), FALSE);
  loom_document_discard_draft(self->document);
  if (!path || !loom_document_open(self->document, path, NULL))
    loom_document_start_from(self->document, loom_design_new(_("New robot")));
}

/* Life. */

static void
remember_size(LoomWindow *self)
{
  int width, height;
  if (gtk_window_is_maximized(GTK_WINDOW(self)))
    return;
  gtk_window_get_default_size(GTK_WINDOW(self), &width, &height);
  loom_preferences_set_window_size(self->preferences, width, height);
}

/* The columns grow with the text, but less: their text wraps. */
static void
loom_window_css_changed(GtkWidget *widget, GtkCssStyleChange *change)
{
  LoomWindow *self = LOOM_WINDOW(widget);
  GTK_WIDGET_CLASS(loom_window_parent_class)->css_changed(widget, change);
  double grown = (2 + loom_look_text_factor(widget)) / 3;
  gtk_widget_set_size_request(self->shelf_side, (int)(SHELF_PX * grown), -1);
  gtk_widget_set_size_request(self->tag_side, (int)(TAG_PX * grown), -1);
}

static void
loom_window_dispose(GObject *object)
{
  LoomWindow *self = LOOM_WINDOW(object);
  g_clear_handle_id(&self->told_timer, g_source_remove);
  if (self->preferences)
    remember_size(self);
  if (self->preview)
    gtk_window_destroy(self->preview);
  g_clear_weak_pointer(&self->preview);
  g_clear_pointer(&self->context_menu, gtk_widget_unparent);
  gtk_widget_dispose_template(GTK_WIDGET(object), LOOM_TYPE_WINDOW);
  g_clear_object(&self->document);
  g_clear_object(&self->preferences);
  g_clear_object(&self->choice);
  g_clear_object(&self->flow);
  g_clear_object(&self->fault_case);
  G_OBJECT_CLASS(loom_window_parent_class)->dispose(object);
}

static void
loom_window_finalize(GObject *object)
{
  g_free(LOOM_WINDOW(object)->told);
  G_OBJECT_CLASS(loom_window_parent_class)->finalize(object);
}

static void
bind_children(GtkWidgetClass *class)
{
  gtk_widget_class_bind_template_child(class, LoomWindow, canvas);
  gtk_widget_class_bind_template_child(class, LoomWindow, shelf);
  gtk_widget_class_bind_template_child(class, LoomWindow, tag);
  gtk_widget_class_bind_template_child(class, LoomWindow, drawer);
  gtk_widget_class_bind_template_child(class, LoomWindow, scenes);
  gtk_widget_class_bind_template_child(class, LoomWindow, shelf_side);
  gtk_widget_class_bind_template_child(class, LoomWindow, tag_side);
  gtk_widget_class_bind_template_child(class, LoomWindow, title);
  gtk_widget_class_bind_template_child(class, LoomWindow, subtitle);
  gtk_widget_class_bind_template_child(class, LoomWindow, primary_menu);
  gtk_widget_class_bind_template_child(class, LoomWindow, recent_menu);
  gtk_widget_class_bind_template_child(class, LoomWindow, zoom_menu);
  gtk_widget_class_bind_template_child(class, LoomWindow, undo);
  gtk_widget_class_bind_template_child(class, LoomWindow, redo);
  gtk_widget_class_bind_template_child(class, LoomWindow, verdict);
  gtk_widget_class_bind_template_child(class, LoomWindow, verdict_text);
  gtk_widget_class_bind_template_child(class, LoomWindow, verdict_icon);
  gtk_widget_class_bind_template_child(class, LoomWindow, hint);
  gtk_widget_class_bind_template_child(class, LoomWindow, welcome);
  gtk_widget_class_bind_template_child(class, LoomWindow, recovered);
  gtk_widget_class_bind_template_child(class, LoomWindow, recovered_text);
}

static void
loom_window_class_init(LoomWindowClass *class)
{
  GtkWidgetClass *widget_class = GTK_WIDGET_CLASS(class);
  G_OBJECT_CLASS(class)->dispose = loom_window_dispose;
  G_OBJECT_CLASS(class)->finalize = loom_window_finalize;
  widget_class->css_changed = loom_window_css_changed;
  GTK_WINDOW_CLASS(class)->close_request = loom_window_close_request;
  g_type_ensure(LOOM_TYPE_CANVAS);
  g_type_ensure(LOOM_TYPE_SHELF);
  g_type_ensure(LOOM_TYPE_TAG);
  g_type_ensure(LOOM_TYPE_DRAWER);
  g_type_ensure(LOOM_TYPE_SCENE_BAR);
  gtk_widget_class_set_template_from_resource(widget_class, "/org/loombook/ui/window.ui");
  bind_children(widget_class);
  gtk_widget_class_bind_template_callback(widget_class, on_keep_recovered);
  gtk_widget_class_bind_template_callback(widget_class, on_drop_recovered);
}

static void
loom_window_init(LoomWindow *self)
{
  gtk_widget_init_template(GTK_WIDGET(self));
  self->choice = loom_choice_new();
  loom_window_add_pages(self);
  loom_window_add_actions(self);
  loom_window_add_menus(self);
  loom_window_take_files(self);
}

static void
attach(LoomWindow *self)
{
  loom_canvas_attach(self->canvas, self->document, self->choice);
  loom_tag_attach(self->tag, self->document, self->choice);
  loom_findings_list_attach(self->findings, self->document);
  loom_scene_bar_attach(self->scenes, self->document);
  loom_window_attach_flow(self);
  loom_shelf_set_catalogue(self->shelf, loom_document_catalogue(self->document));
  g_signal_connect_object(self->document, "changed", G_CALLBACK(on_changed), self, 0);
  g_signal_connect_object(self->document, "findings", G_CALLBACK(on_findings), self, 0);
  g_signal_connect_object(self->document, "title", G_CALLBACK(on_title), self, 0);
  g_signal_connect_object(self->choice, "changed", G_CALLBACK(on_choice), self, 0);
  g_signal_connect(self->canvas, "hint", G_CALLBACK(on_hint), self);
  g_signal_connect(self->canvas, "told", G_CALLBACK(on_told), self);
  g_signal_connect(self->canvas, "view", G_CALLBACK(on_view), self);
  g_signal_connect(self->canvas, "menu", G_CALLBACK(on_menu), self);
  g_signal_connect(self->canvas, "flag", G_CALLBACK(on_flag), self);
  g_signal_connect(self->canvas, "name", G_CALLBACK(on_name), self);
  g_signal_connect(self->shelf, "left", G_CALLBACK(on_shelf_left), self);
  g_signal_connect(self->shelf, "wanted", G_CALLBACK(on_wanted), self);
  g_signal_connect(self->shelf, "dragging", G_CALLBACK(on_dragging), self);
  g_signal_connect(self->tag, "offer", G_CALLBACK(on_offer), self);
  g_signal_connect(self->tag, "swap", G_CALLBACK(on_swap), self);
  g_signal_connect(self->drawer, "shown", G_CALLBACK(on_drawer), self);
  g_signal_connect(self->drawer, "left", G_CALLBACK(on_drawer_left), self);
  g_signal_connect(self->findings, "shown", G_CALLBACK(on_finding_shown), self);
  g_signal_connect(self->findings, "mend", G_CALLBACK(on_mend), self);
}

static void
restore_sizes(LoomWindow *self)
{
  int width, height;
  loom_preferences_window_size(self->preferences, &width, &height);
  if (width > 0 && height > 0)
    gtk_window_set_default_size(GTK_WINDOW(self), width, height);
  gtk_widget_set_visible(self->shelf_side, loom_preferences_shows(self->preferences, "shelf"));
  gtk_widget_set_visible(self->tag_side, loom_preferences_shows(self->preferences, "tag"));
}

LoomWindow *
loom_window_new(GtkApplication *application, LoomDocument *document, LoomPreferences *preferences)
{
  LoomWindow *self = g_object_new(LOOM_TYPE_WINDOW, "application", application, NULL);
  self->document = g_object_ref(document);
  self->preferences = g_object_ref(preferences);
  restore_sizes(self);
  attach(self);
  loom_window_add_faults(self);
  loom_window_add_tell(self);
  on_changed(document, self);
  on_title(document, self);
  loom_document_check(document);
  return self;
}

void
loom_window_set_catalogue(LoomWindow *self, LoomCatalogue *catalogue)
{
  loom_document_set_catalogue(self->document, catalogue);
  loom_shelf_set_catalogue(self->shelf, catalogue);
}

LoomDocument *
loom_window_document(LoomWindow *self)
{
  return self->document;
}
