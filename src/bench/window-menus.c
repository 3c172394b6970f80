#include "window-private.h"

#include "preferences-dialog.h"

#include <glib/gi18n-lib.h>

/* Menus are lists of action names; an empty name begins a section. */

static const LoomAction *
find_action(const char *name)
{
  for (const LoomAction *a = loom_window_actions(); a->name; a++)
    if (g_str_equal(a->name, name))
      return a;
  return NULL;
}

static GMenuItem *
item_new(const LoomAction *action)
{
  g_autofree char *detailed = g_strconcat("win.", action->name, NULL);
  GMenuItem *item = g_menu_item_new(_(action->label), detailed);
  if (action->keys[0])
    g_menu_item_set_attribute(item, "accel", "s", action->keys[0]);
  return item;
}

static GMenuModel *
menu_new(const char *const *names)
{
  g_autoptr(GMenu) menu = g_menu_new();
  g_autoptr(GMenu) section = g_menu_new();
  for (; *names; names++) {
    if (!**names) {
      g_menu_append_section(menu, NULL, G_MENU_MODEL(section));
      g_object_unref(section);
      section = g_menu_new();
      continue;
    }
    g_autoptr(GMenuItem) item = item_new(find_action(*names));
    g_menu_append_item(section, item);
  }
  g_menu_append_section(menu, NULL, G_MENU_MODEL(section));
  return G_MENU_MODEL(g_steal_pointer(&menu));
}

static const char *const primary_menu[] = {
    "new",          "start", "open",       "save-as", "",          "export-diagram", "export-parts",
    "export-ports", "export-outing", "handout", "", "compare-saved", "compare-file", "stock", "",     "select-all", "paste",   "tidy",      "add-scene",      "",
    "shelf",        "tag",   "findings", "flow", "readings",   "faults", "",        "open-demo", "preferences",    "shortcuts",
    "about",        NULL};
static const char *const zoom_menu[] = {"zoom-in",      "zoom-out", "",
                                        "zoom-natural", "zoom-fit", NULL};
static const char *const part_menu[] = {"offer", "switch", "",          "turn",   "flip", "",
                                        "cut",   "copy",   "duplicate", "delete", NULL};
static const char *const end_menu[] = {"offer", "unplug", "tie", "", "cut", "copy", "delete", NULL};
static const char *const joint_menu[] = {"unplug", "tie", NULL};
static const char *const sheet_menu[] = {"paste", "select-all", "", "tidy", "zoom-fit", NULL};

static GtkWidget *
popover_new(const char *const *names)
{
  g_autoptr(GMenuModel) model = menu_new(names);
  return gtk_popover_menu_new_from_model(model);
}

/* Recent sheets, the latest first. */

#define MOST_RECENT 10

static int
compare_recent(gconstpointer a, gconstpointer b)
{
  return g_date_time_compare(gtk_recent_info_get_modified((GtkRecentInfo *)b),
                             gtk_recent_info_get_modified((GtkRecentInfo *)a));
}

static void
fill_recent(GtkMenuButton *button, gpointer data)
{
  (void)data;
  g_autoptr(GMenu) menu = g_menu_new();
  GList *items = gtk_recent_manager_get_items(gtk_recent_manager_get_default());
  items = g_list_sort(items, compare_recent);
  guint n = 0;
  for (GList *l = items; l && n < MOST_RECENT; l = l->next) {
    GtkRecentInfo *info = l->data;
    if (!gtk_recent_info_has_application(info, "Loombook") || !gtk_recent_info_exists(info))
      continue;
    g_autoptr(GMenuItem) item = g_menu_item_new(gtk_recent_info_get_display_name(info), NULL);
    g_menu_item_set_action_and_target(item, "win.open-recent", "s", gtk_recent_info_get_uri(info));
    g_menu_append_item(menu, item);
    n++;
  }
  if (!n)
    g_menu_append(menu, _("No recent sheets"), "win.none");
  g_list_free_full(items, (GDestroyNotify)gtk_recent_info_unref);
  gtk_menu_button_set_menu_model(button, G_MENU_MODEL(menu));
}

static void
on_open_recent(GSimpleAction *action, GVariant *parameter, gpointer data)
{
  (void)action;
  g_autofree char *path = g_filename_from_uri(g_variant_get_string(parameter, NULL), NULL, NULL);
  if (path)
    loom_window_open_path(data, path);
}

void
loom_window_add_menus(LoomWindow *self)
{
  g_autoptr(GMenuModel) primary = menu_new(primary_menu);
  g_autoptr(GMenuModel) zoom = menu_new(zoom_menu);
  gtk_menu_button_set_menu_model(self->primary_menu, primary);
  gtk_menu_button_set_menu_model(self->zoom_menu, zoom);
  gtk_menu_button_set_create_popup_func(self->recent_menu, fill_recent, NULL, NULL);
  g_autoptr(GSimpleAction) recent = g_simple_action_new("open-recent", G_VARIANT_TYPE_STRING);
  g_signal_connect(recent, "activate", G_CALLBACK(on_open_recent), self);
  g_action_map_add_action(G_ACTION_MAP(self), G_ACTION(recent));
}

static const char *const *
menu_for_choice(LoomWindow *self)
{
  if (loom_choice_is_joint(self->choice))
    return joint_menu;
  if (loom_choice_end(self->choice))
    return end_menu;
  return loom_choice_n_parts(self->choice) ? part_menu : sheet_menu;
}

void
loom_window_open_menu_at(LoomWindow *self, double x, double y)
{
  g_clear_pointer(&self->context_menu, gtk_widget_unparent);
  self->context_menu = popover_new(menu_for_choice(self));
  gtk_widget_set_parent(self->context_menu, GTK_WIDGET(self->canvas));
  gtk_popover_set_has_arrow(GTK_POPOVER(self->context_menu), FALSE);
  gtk_widget_set_halign(self->context_menu, GTK_ALIGN_START);
  gtk_popover_set_pointing_to(GTK_POPOVER(self->context_menu),
                              &(GdkRectangle){(int)x, (int)y, 1, 1});
  gtk_popover_popup(GTK_POPOVER(self->context_menu));
}

/* The shortcuts window, written from the table as a builder would read it. */

static void
append_shortcut(GString *xml, const char *title, const char *const *keys)
{
  g_autofree char *escaped = g_markup_escape_text(title, -1);
  g_autofree char *joined = g_strjoinv(" ", (char **)keys);
  g_autofree char *accelerators = g_markup_escape_text(joined, -1);
  g_string_append_printf(xml,
                         "<child><object class='GtkShortcutsShortcut'><property name='title'>%s"
                         "</property><property name='accelerator'>%s</property></object></child>",
                         escaped, accelerators);
}

static void
append_group_head(GString *xml, const char *title)
{
  g_autofree char *escaped = g_markup_escape_text(title, -1);
  g_string_append_printf(
      xml, "<child><object class='GtkShortcutsGroup'><property name='title'>%s</property>",
      escaped);
}

static void
append_group(GString *xml, const char *section)
{
  append_group_head(xml, _(section));
  for (const LoomAction *a = loom_window_actions(); a->name; a++) {
    const char *keys[4] = {a->keys[0], a->keys[1], a->keys[2], NULL};
    if (g_strcmp0(a->section, section) == 0 && keys[0])
      append_shortcut(xml, _(a->label), keys);
  }
  g_string_append(xml, "</object></child>");
}

static void
append_bench_keys(GString *xml)
{
  static const struct {
    const char *title;
    const char *keys[3];
  } keys[] = {{N_("To the next part or end"), {"Tab"}},
              {N_("To the part or end before"), {"<Shift>Tab"}},
              {N_("To the next part"), {"Page_Down"}},
              {N_("On a part: to its free end. On a free end: what plugs in"), {"Return"}},
              {N_("Move what is chosen by 5 mm"), {"Left", "Right"}},
              {N_("Move it by 25 mm"), {"<Shift>Left", "<Shift>Right"}},
              {N_("Hold and drag: pan"), {"space"}},
              {N_("Give up a drag, choose less"), {"Escape"}}};
  append_group_head(xml, _("On the bench"));
  for (guint i = 0; i < G_N_ELEMENTS(keys); i++)
    append_shortcut(xml, _(keys[i].title), keys[i].keys);
  g_string_append(xml, "</object></child>");
}

void
loom_window_show_shortcuts(LoomWindow *self)
{
  g_autoptr(GString) xml = g_string_new(
      "<interface><object class='GtkShortcutsWindow' id='shortcuts'><property name='modal'>1"
      "</property><child><object class='GtkShortcutsSection'><property name='section-name'>all"
      "</property><property name='max-height'>14</property>");
  const char *last = NULL;
  append_bench_keys(xml);
  for (const LoomAction *a = loom_window_actions(); a->name; a++) {
    if (!a->section || g_strcmp0(a->section, last) == 0)
      continue;
    last = a->section;
    append_group(xml, last);
  }
  g_string_append(xml, "</object></child></object></interface>");
  g_autoptr(GtkBuilder) builder = gtk_builder_new_from_string(xml->str, (gssize)xml->len);
  GtkWindow *window = GTK_WINDOW(gtk_builder_get_object(builder, "shortcuts"));
  gtk_window_set_transient_for(window, GTK_WINDOW(self));
  gtk_window_present(window);
}

void
loom_window_show_about(LoomWindow *self)
{
  gtk_show_about_dialog(GTK_WINDOW(self), "program-name", "Loombook", "version", LOOM_VERSION,
                        "logo-icon-name", "org.loombook.Loombook", "comments",
                        _("Draw a robot's wiring once and get everything else computed from it."),
                        "license-type", GTK_LICENSE_MIT_X11, NULL);
}

void
loom_window_show_preferences(LoomWindow *self)
{
  loom_preferences_dialog_show(GTK_WINDOW(self), self->preferences);
}
