#include "preferences-dialog.h"

#include "field.h"

#include <glib/gi18n-lib.h>

static const guint sizes[] = {100, 125, 150, 175, 200};
static const char *const size_labels[] = {"100 %", "125 %", "150 %", "175 %", "200 %", NULL};
static const char *const look_labels[] = {N_("As the system has it"), N_("Light"), N_("Dark"),
                                          N_("High contrast"), NULL};

static void
on_size(GtkDropDown *input, GParamSpec *spec, gpointer data)
{
  (void)spec;
  loom_preferences_set_text_size(data, sizes[gtk_drop_down_get_selected(input)]);
}

static void
on_look(GtkDropDown *input, GParamSpec *spec, gpointer data)
{
  (void)spec;
  loom_preferences_set_look(data, gtk_drop_down_get_selected(input));
}

static void
on_name(GtkEditable *input, gpointer data)
{
  loom_preferences_set_drawn_by(data, gtk_editable_get_text(input));
}

static void
add_row(GtkGrid *grid, int row, const char *label, GtkWidget *input)
{
  GtkWidget *text = gtk_label_new_with_mnemonic(label);
  gtk_label_set_xalign(GTK_LABEL(text), 1);
  gtk_label_set_mnemonic_widget(GTK_LABEL(text), input);
  gtk_widget_set_valign(text, GTK_ALIGN_CENTER);
  gtk_widget_set_hexpand(input, TRUE);
  gtk_grid_attach(grid, text, 0, row, 1, 1);
  gtk_grid_attach(grid, input, 1, row, 1, 1);
}

static GtkWidget *
size_input_new(LoomPreferences *preferences)
{
  GtkWidget *input = gtk_drop_down_new_from_strings(size_labels);
  for (guint i = 0; i < G_N_ELEMENTS(sizes); i++)
    if (sizes[i] <= loom_preferences_text_size(preferences))
      gtk_drop_down_set_selected(GTK_DROP_DOWN(input), i);
  gtk_widget_set_name(input, "text-size");
  g_signal_connect_object(input, "notify::selected", G_CALLBACK(on_size), preferences, 0);
  return input;
}

static GtkWidget *
look_input_new(LoomPreferences *preferences)
{
  GtkWidget *input = loom_choice_of_words_new(look_labels);
  gtk_drop_down_set_selected(GTK_DROP_DOWN(input), loom_preferences_look(preferences));
  gtk_widget_set_name(input, "look");
  g_signal_connect_object(input, "notify::selected", G_CALLBACK(on_look), preferences, 0);
  return input;
}

static GtkWidget *
name_input_new(LoomPreferences *preferences)
{
  GtkWidget *input = gtk_entry_new();
  g_autofree char *name = loom_preferences_drawn_by(preferences);
  gtk_editable_set_text(GTK_EDITABLE(input), name ? name : "");
  gtk_entry_set_placeholder_text(GTK_ENTRY(input), _("stands as “drawn by” on new sheets"));
  g_signal_connect_object(input, "changed", G_CALLBACK(on_name), preferences, 0);
  return input;
}

/* The team's own catalogues: one line each, with a button that takes it off the list. */

static void fill_catalogues(GtkBox *box, LoomPreferences *preferences);

static void
set_catalogues(GtkBox *box, LoomPreferences *preferences, GPtrArray *paths)
{
  g_ptr_array_add(paths, NULL);
  loom_preferences_set_catalogues(preferences, (const char *const *)paths->pdata);
  fill_catalogues(box, preferences);
}

static void
on_remove(GtkButton *button, gpointer data)
{
  LoomPreferences *preferences = data;
  GtkBox *box = g_object_get_data(G_OBJECT(button), "box");
  const char *gone = g_object_get_data(G_OBJECT(button), "path");
  g_auto(GStrv) old = loom_preferences_catalogues(preferences);
  g_autoptr(GPtrArray) paths = g_ptr_array_new();
  for (char **p = old; *p; p++)
    if (!g_str_equal(*p, gone))
      g_ptr_array_add(paths, *p);
  set_catalogues(box, preferences, paths);
}

static void
on_catalogue_chosen(GtkNativeDialog *dialog, int response, gpointer data)
{
  GtkBox *box = data;
  LoomPreferences *preferences = g_object_get_data(G_OBJECT(dialog), "preferences");
  g_autoptr(GFile) file =
      response == GTK_RESPONSE_ACCEPT ? gtk_file_chooser_get_file(GTK_FILE_CHOOSER(dialog)) : NULL;
  g_autofree char *path = file ? g_file_get_path(file) : NULL;
  if (path) {
    g_auto(GStrv) old = loom_preferences_catalogues(preferences);
    g_autoptr(GPtrArray) paths = g_ptr_array_new();
    for (char **p = old; *p; p++)
      g_ptr_array_add(paths, *p);
    g_ptr_array_add(paths, path);
    set_catalogues(box, preferences, paths);
  }
  g_object_unref(dialog);
}

static void
on_add(GtkButton *button, gpointer data)
{
  GtkBox *box = g_object_get_data(G_OBJECT(button), "box");
  GtkFileChooserNative *chooser = gtk_file_chooser_native_new(
      _("Add a Catalogue"), GTK_WINDOW(gtk_widget_get_root(GTK_WIDGET(button))),
      GTK_FILE_CHOOSER_ACTION_OPEN, _("_Add"), _("_Cancel"));
  g_object_set_data(G_OBJECT(chooser), "preferences", data);
  gtk_native_dialog_set_modal(GTK_NATIVE_DIALOG(chooser), TRUE);
  g_signal_connect(chooser, "response", G_CALLBACK(on_catalogue_chosen), box);
  gtk_native_dialog_show(GTK_NATIVE_DIALOG(chooser));
}

static GtkWidget *
catalogue_line_new(GtkBox *box, LoomPreferences *preferences, const char *path)
{
  GtkWidget *line = gtk_box_new(GTK_ORIENTATION_HORIZONTAL, 6);
  GtkWidget *label = gtk_label_new(path);
  GtkWidget *remove = gtk_button_new_from_icon_name("user-trash-symbolic");
  gtk_label_set_ellipsize(GTK_LABEL(label), PANGO_ELLIPSIZE_START);
  gtk_label_set_xalign(GTK_LABEL(label), 0);
  gtk_widget_set_hexpand(label, TRUE);
  gtk_widget_add_css_class(remove, "flat");
  gtk_widget_set_tooltip_text(remove, _("Take it off the list; the file stays"));
  g_object_set_data(G_OBJECT(remove), "box", box);
  g_object_set_data_full(G_OBJECT(remove), "path", g_strdup(path), g_free);
  g_signal_connect(remove, "clicked", G_CALLBACK(on_remove), preferences);
  gtk_box_append(GTK_BOX(line), label);
  gtk_box_append(GTK_BOX(line), remove);
  return line;
}

static void
fill_catalogues(GtkBox *box, LoomPreferences *preferences)
{
  GtkWidget *child;
  while ((child = gtk_widget_get_first_child(GTK_WIDGET(box))))
    gtk_box_remove(box, child);
  g_auto(GStrv) paths = loom_preferences_catalogues(preferences);
  for (char **p = paths; *p; p++)
    gtk_box_append(box, catalogue_line_new(box, preferences, *p));
  GtkWidget *add = gtk_button_new_with_label(_("Add…"));
  gtk_widget_set_halign(add, GTK_ALIGN_START);
  g_object_set_data(G_OBJECT(add), "box", box);
  g_signal_connect(add, "clicked", G_CALLBACK(on_add), preferences);
  gtk_box_append(box, add);
}

static GtkWidget *
catalogues_input_new(LoomPreferences *preferences)
{
  GtkWidget *box = gtk_box_new(GTK_ORIENTATION_VERTICAL, 4);
  fill_catalogues(GTK_BOX(box), preferences);
  return box;
}

void
loom_preferences_dialog_show(GtkWindow *parent, LoomPreferences *preferences)
{
  GtkWidget *window = gtk_window_new();
  GtkWidget *grid = gtk_grid_new();
  gtk_window_set_title(GTK_WINDOW(window), _("Preferences"));
  gtk_window_set_transient_for(GTK_WINDOW(window), parent);
  gtk_window_set_modal(GTK_WINDOW(window), TRUE);
  gtk_window_set_default_size(GTK_WINDOW(window), 520, -1);
  gtk_grid_set_row_spacing(GTK_GRID(grid), 12);
  gtk_grid_set_column_spacing(GTK_GRID(grid), 12);
  gtk_widget_add_css_class(grid, "tag-page");
  add_row(GTK_GRID(grid), 0, _("_Text size"), size_input_new(preferences));
  add_row(GTK_GRID(grid), 1, _("_Look"), look_input_new(preferences));
  add_row(GTK_GRID(grid), 2, _("_Your name"), name_input_new(preferences));
  add_row(GTK_GRID(grid), 3, _("Own _catalogues"), catalogues_input_new(preferences));
  gtk_window_set_child(GTK_WINDOW(window), grid);

  GtkEventController *keys = gtk_shortcut_controller_new();
  gtk_shortcut_controller_add_shortcut(GTK_SHORTCUT_CONTROLLER(keys),
                                       gtk_shortcut_new(gtk_keyval_trigger_new(GDK_KEY_Escape, 0),
                                                        gtk_named_action_new("window.close")));
  gtk_widget_add_controller(window, keys);
  gtk_window_present(GTK_WINDOW(window));
}
