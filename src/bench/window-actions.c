#include "window-private.h"

#include <glib/gi18n-lib.h>

/* The one table of actions: menus, keys, the shortcuts window and the accessible actions of the
 * window all come from it. */

#define TEXT_STEP 25 /* percent */

static void
zoom_in(LoomWindow *self)
{
  loom_canvas_zoom_step(self->canvas, 1);
}

static void
zoom_out(LoomWindow *self)
{
  loom_canvas_zoom_step(self->canvas, -1);
}

static void
zoom_natural(LoomWindow *self)
{
  loom_canvas_set_zoom(self->canvas, 100, gtk_widget_get_width(GTK_WIDGET(self->canvas)) / 2.0,
                       gtk_widget_get_height(GTK_WIDGET(self->canvas)) / 2.0);
}

static void
zoom_fit(LoomWindow *self)
{
  loom_canvas_zoom_fit(self->canvas);
}

static void
change_text(LoomWindow *self, int by)
{
  int percent = (int)loom_preferences_text_size(self->preferences) + by;
  loom_preferences_set_text_size(self->preferences, (guint)MAX(percent, 0));
}

static void
larger_text(LoomWindow *self)
{
  change_text(self, TEXT_STEP);
}

static void
smaller_text(LoomWindow *self)
{
  change_text(self, -TEXT_STEP);
}

static void
find(LoomWindow *self)
{
  gtk_widget_set_visible(self->shelf_side, TRUE);
  loom_shelf_search(self->shelf);
}

static void
toggle_findings(LoomWindow *self)
{
  loom_drawer_toggle(self->drawer, "findings");
}

static void
toggle_faults(LoomWindow *self)
{
  loom_drawer_toggle(self->drawer, "faults");
}

static void
next_finding(LoomWindow *self)
{
  loom_drawer_show(self->drawer, "findings");
  loom_findings_list_step(self->findings, 1);
}

static void
toggle_side(LoomWindow *self, GtkWidget *side, const char *name)
{
  gtk_widget_set_visible(side, !gtk_widget_get_visible(side));
  loom_preferences_set_shows(self->preferences, name, gtk_widget_get_visible(side));
}

static void
toggle_shelf(LoomWindow *self)
{
  toggle_side(self, self->shelf_side, "shelf");
}

static void
toggle_tag(LoomWindow *self)
{
  toggle_side(self, self->tag_side, "tag");
}

static void
to_bench(LoomWindow *self)
{
  loom_canvas_take_focus(self->canvas);
}

static void
step_scene(LoomWindow *self, guint by)
{
  guint n = loom_design_n_scenes(loom_document_design(self->document));
  loom_document_set_scene(self->document, (loom_document_scene(self->document) + by) % n);
}

static void
next_scene(LoomWindow *self)
{
  step_scene(self, 1);
}

static void
previous_scene(LoomWindow *self)
{
  step_scene(self, loom_design_n_scenes(loom_document_design(self->document)) - 1);
}

static void
add_scene(LoomWindow *self)
{
  loom_scene_bar_add(self->scenes);
}

static void
close_window(LoomWindow *self)
{
  gtk_window_close(GTK_WINDOW(self));
}

static void
quit(LoomWindow *self)
{
  g_action_group_activate_action(G_ACTION_GROUP(gtk_window_get_application(GTK_WINDOW(self))),
                                 "quit", NULL);
}

#define FILES N_("Files")
#define DRAWING N_("Drawing")
#define EDITING N_("Editing")
#define VIEW N_("View")
#define GENERAL N_("General")

static const LoomAction actions[] = {
    {"new", N_("New"), FILES, {"<Control>n"}, loom_window_new_sheet},
    {"start", N_("New Supply Chain"), FILES, {"<Control><Shift>n"}, loom_window_start},
    {"open", N_("Open…"), FILES, {"<Control>o"}, loom_window_open},
    {"open-demo", N_("Open the Demo Robot"), NULL, {NULL}, loom_window_open_demo},
    {"save", N_("Save"), FILES, {"<Control>s"}, loom_window_save},
    {"save-as", N_("Save As…"), FILES, {"<Control><Shift>s"}, loom_window_save_as},
    {"export-diagram",
     N_("Export Diagram…"),
     FILES,
     {"<Control>e"},
     loom_window_export_diagram,
     loom_window_has_parts},
    {"export-parts",
     N_("Export Parts List…"),
     NULL,
     {NULL},
     loom_window_export_parts,
     loom_window_has_parts},
    {"export-ports",
     N_("Export Port Map…"),
     NULL,
     {NULL},
     loom_window_export_ports,
     loom_window_has_parts},
    {"compare-saved",
     N_("What Changed since Saving"),
     FILES,
     {"<Control><Shift>c"},
     loom_window_compare_saved,
     loom_window_has_file},
    {"compare-file", N_("Compare with a File…"), FILES, {NULL}, loom_window_compare_file},
    {"handout",
     N_("Handout…"),
     FILES,
     {"<Control>p"},
     loom_window_show_handout,
     loom_window_has_parts},
    {"export-outing",
     N_("Export Outing…"),
     NULL,
     {NULL},
     loom_window_export_outing,
     loom_window_has_outing},
    {"stock", N_("Our Stock…"), FILES, {"<Control><Shift>b"}, loom_window_show_stock},
    {"close", N_("Close Window"), FILES, {"<Control>w"}, close_window},
    {"quit", N_("Quit"), FILES, {"<Control>q"}, quit},

    {"offer", N_("What Plugs In Here…"), DRAWING, {"o"}, loom_window_offer, loom_window_has_choice},
    {"turn", N_("Turn"), DRAWING, {"r"}, loom_window_turn, loom_window_has_choice},
    {"turn-back",
     N_("Turn Back"),
     DRAWING,
     {"<Shift>r"},
     loom_window_turn_back,
     loom_window_has_choice},
    {"flip", N_("Flip"), DRAWING, {"f"}, loom_window_flip, loom_window_has_choice},
    {"unplug", N_("Unplug"), DRAWING, {"u"}, loom_window_unplug, loom_window_has_joint},
    {"tie", N_("Tie or Untie"), DRAWING, {"t"}, loom_window_tie, loom_window_has_joint},
    {"switch", N_("Switch On or Off"), DRAWING, {"s"}, loom_window_switch, loom_window_has_switch},
    {"tidy",
     N_("Tidy the Bench"),
     DRAWING,
     {"<Control>l"},
     loom_window_tidy,
     loom_window_has_parts},

    {"undo", N_("Undo"), EDITING, {"<Control>z"}, loom_window_undo, loom_window_can_undo},
    {"redo",
     N_("Redo"),
     EDITING,
     {"<Control><Shift>z", "<Control>y"},
     loom_window_redo,
     loom_window_can_redo},
    {"cut", N_("Cut"), EDITING, {"<Control>x"}, loom_window_cut, loom_window_has_choice},
    {"copy", N_("Copy"), EDITING, {"<Control>c"}, loom_window_copy, loom_window_has_choice},
    {"paste", N_("Paste"), EDITING, {"<Control>v"}, loom_window_paste},
    {"duplicate",
     N_("Duplicate"),
     EDITING,
     {"<Control>d"},
     loom_window_duplicate,
     loom_window_has_choice},
    {"delete",
     N_("Delete"),
     EDITING,
     {"Delete", "BackSpace"},
     loom_window_delete,
     loom_window_has_choice},
    {"select-all",
     N_("Select All"),
     EDITING,
     {"<Control>a"},
     loom_window_select_all,
     loom_window_has_parts},

    {"find", N_("Find on the Shelf"), VIEW, {"<Control>f"}, find},
    {"bench", N_("Go to the Bench"), VIEW, {"<Control>b"}, to_bench},
    {"zoom-in", N_("Zoom In"), VIEW, {"<Control>plus", "<Control>equal"}, zoom_in},
    {"zoom-out", N_("Zoom Out"), VIEW, {"<Control>minus"}, zoom_out},
    {"zoom-natural", N_("Natural Size"), VIEW, {"<Control>0"}, zoom_natural},
    {"zoom-fit", N_("Fit the Sheet"), VIEW, {"<Control>9"}, zoom_fit},
    {"text-larger",
     N_("Larger Text"),
     VIEW,
     {"<Control><Alt>plus", "<Control><Alt>equal"},
     larger_text},
    {"text-smaller", N_("Smaller Text"), VIEW, {"<Control><Alt>minus"}, smaller_text},
    {"findings", N_("Findings"), VIEW, {"F7"}, toggle_findings},
    {"flow", N_("What Flows"), VIEW, {"F5"}, loom_window_toggle_flow},
    {"readings", N_("Readings on the Sheet"), VIEW, {"v"}, loom_window_toggle_readings},
    {"next-state", N_("Next State"), VIEW, {"<Shift>v"}, loom_window_next_state},
    {"faults", N_("Find a Fault"), VIEW, {"F3"}, toggle_faults},
    {"next-finding", N_("Next Finding"), VIEW, {"F4"}, next_finding},
    {"shelf", N_("Shelf"), VIEW, {"F9"}, toggle_shelf},
    {"tag", N_("Tag"), VIEW, {"<Control>F9"}, toggle_tag},
    {"next-scene", N_("Next Scene"), VIEW, {"<Control>Page_Down"}, next_scene},
    {"previous-scene", N_("Previous Scene"), VIEW, {"<Control>Page_Up"}, previous_scene},
    {"add-scene", N_("Add a Scene"), NULL, {NULL}, add_scene},

    {"shortcuts",
     N_("Keyboard Shortcuts"),
     GENERAL,
     {"<Control>question", "<Control>F1"},
     loom_window_show_shortcuts},
    {"preferences", N_("Preferences"), GENERAL, {"<Control>comma"}, loom_window_show_preferences},
    {"about", N_("About Loombook"), NULL, {NULL}, loom_window_show_about},
    {NULL},
};

const LoomAction *
loom_window_actions(void)
{
  return actions;
}

static const LoomAction *
action_called(const char *name)
{
  for (const LoomAction *a = actions; a->name; a++)
    if (g_str_equal(a->name, name))
      return a;
  return NULL;
}

void
loom_window_act(LoomWindow *self, const char *name)
{
  const LoomAction *action = action_called(name);
  if (!action->possible || action->possible(self))
    action->act(self);
}

static void
on_activate(GSimpleAction *simple, GVariant *parameter, gpointer data)
{
  (void)parameter;
  loom_window_act(data, g_action_get_name(G_ACTION(simple)));
}

void
loom_window_update_actions(LoomWindow *self)
{
  for (const LoomAction *a = actions; a->name; a++) {
    GAction *simple = g_action_map_lookup_action(G_ACTION_MAP(self), a->name);
    g_simple_action_set_enabled(G_SIMPLE_ACTION(simple), !a->possible || a->possible(self));
  }
}

/* Keys come last: an entry that has the focus takes its letters, Delete and Ctrl+Z first. */
static void
add_keys(LoomWindow *self)
{
  GtkEventController *controller = gtk_shortcut_controller_new();
  gtk_event_controller_set_propagation_phase(controller, GTK_PHASE_BUBBLE);
  for (const LoomAction *a = actions; a->name; a++)
    for (guint i = 0; i < G_N_ELEMENTS(a->keys) && a->keys[i]; i++) {
      g_autofree char *name = g_strconcat("win.", a->name, NULL);
      gtk_shortcut_controller_add_shortcut(
          GTK_SHORTCUT_CONTROLLER(controller),
          gtk_shortcut_new(gtk_shortcut_trigger_parse_string(a->keys[i]),
                           gtk_named_action_new(name)));
    }
  gtk_widget_add_controller(GTK_WIDGET(self), controller);
}

void
loom_window_add_actions(LoomWindow *self)
{
  for (const LoomAction *a = actions; a->name; a++) {
    g_autoptr(GSimpleAction) simple = g_simple_action_new(a->name, NULL);
    g_signal_connect(simple, "activate", G_CALLBACK(on_activate), self);
    g_action_map_add_action(G_ACTION_MAP(self), G_ACTION(simple));
  }
  add_keys(self);
}
