#include "stock-window.h"

#include "offers-popover.h"
#include "planning/stock-book.h"
#include "stock-columns.h"

#include <glib/gi18n-lib.h>
#include <math.h>

struct _LoomStockWindow {
  GtkWindow parent;
  GtkWidget *add;
  GtkWidget *undo, *redo;
  GtkEditable *search;
  GtkStack *pages;
  GtkColumnView *table;
  GtkLabel *status;
  LoomOffersPopover *kinds;
  LoomCatalogue *catalogue;
  LoomEvents *events; /* borrowed */
  LoomStockBook *book;
  GListStore *items; /* LoomStockItem, by name of kind when they come in */
  GtkCustomFilter *filter;
  GSimpleActionGroup *actions;
  GFileMonitor *monitor;
};

G_DEFINE_FINAL_TYPE(LoomStockWindow, loom_stock_window, GTK_TYPE_WINDOW)

static LoomStockItem *
item_at(LoomStockWindow *self, guint index)
{
  LoomStockItem *item = g_list_model_get_item(G_LIST_MODEL(self->items), index);
  if (item)
    g_object_unref(item); /* the store holds it */
  return item;
}

/* The table follows the stock: lines stay where they are as long as their row is there. */

static char *
key_of(const LoomStockRow *row)
{
  return g_strdup_printf("%s\n%s\n%d", row->kind, row->where, (int)row->condition);
}

/* Rows of the stock by key, borrowed. */
static GHashTable *
rows_by_key(const LoomStock *stock)
{
  GHashTable *rows = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
  for (guint i = 0; i < loom_stock_n_rows(stock); i++) {
    const LoomStockRow *row = loom_stock_row(stock, i);
    g_hash_table_insert(rows, key_of(row), (gpointer)row);
  }
  return rows;
}

/* Lines whose row is gone go; the others take what their row has now. What is left in `rows` has no
 * line yet. */
static void
keep_lines(LoomStockWindow *self, GHashTable *rows)
{
  for (guint i = g_list_model_get_n_items(G_LIST_MODEL(self->items)); i-- > 0;) {
    LoomStockItem *item = item_at(self, i);
    g_autofree char *key = key_of(loom_stock_item_row(item));
    const LoomStockRow *row = g_hash_table_lookup(rows, key);
    if (!row) {
      g_list_store_remove(self->items, i);
      continue;
    }
    loom_stock_item_set_row(item, row);
    g_hash_table_remove(rows, key);
  }
}

static int
compare_items(gconstpointer a, gconstpointer b, gpointer data)
{
  (void)data;
  LoomStockItem *x = (gpointer)a, *y = (gpointer)b;
  int order = g_utf8_collate(loom_stock_item_name(x), loom_stock_item_name(y));
  return order ? order : g_strcmp0(loom_stock_item_row(x)->where, loom_stock_item_row(y)->where);
}

static void
sync_lines(LoomStockWindow *self)
{
  const LoomStock *stock = loom_stock_book_stock(self->book);
  g_autoptr(GHashTable) rows = rows_by_key(stock);
  keep_lines(self, rows);
  for (guint i = 0; i < loom_stock_n_rows(stock); i++) {
    const LoomStockRow *row = loom_stock_row(stock, i);
    g_autofree char *key = key_of(row);
    if (!g_hash_table_contains(rows, key))
      continue;
    g_autoptr(LoomStockItem) item =
        loom_stock_item_new(row, loom_catalogue_kind(self->catalogue, row->kind));
    g_list_store_insert_sorted(self->items, item, compare_items, NULL);
  }
  bool empty = loom_stock_n_rows(stock) == 0;
  gtk_stack_set_visible_child_name(self->pages, empty ? "empty" : "table");
}

static void
enable(LoomStockWindow *self, const char *name, GtkWidget *button, const char *verb,
       const char *label)
{
  GAction *action = g_action_map_lookup_action(G_ACTION_MAP(self->actions), name);
  g_autofree char *tip = label ? g_strdup_printf("%s: %s", verb, label) : g_strdup(verb);
  g_simple_action_set_enabled(G_SIMPLE_ACTION(action), label != NULL);
  gtk_widget_set_tooltip_text(button, tip);
}

/* How many lines and pieces there are, or why something could not be saved. */
static void
tell(LoomStockWindow *self, const GError *error)
{
  const LoomStock *stock = loom_stock_book_stock(self->book);
  guint n = loom_stock_n_rows(stock), pieces = 0;
  for (guint i = 0; i < n; i++)
    pieces += loom_stock_row(stock, i)->count;
  g_autofree char *text =
      error ? g_strdup_printf(_("%s Your change is kept here and saved with the next one."),
                              error->message)
            : g_strdup_printf(ngettext("%u piece. Every change is saved at once.",
                                       "%u pieces. Every change is saved at once.", pieces),
                              pieces);
  gtk_label_set_text(self->status, text);
  if (error)
    gtk_widget_add_css_class(GTK_WIDGET(self->status), "error");
  else
    gtk_widget_remove_css_class(GTK_WIDGET(self->status), "error");
}

/* After every change, whoever made it. */
static void
after_change(LoomStockWindow *self, const GError *error)
{
  sync_lines(self);
  enable(self, "undo", self->undo, _("Undo"), loom_stock_book_undo_label(self->book));
  enable(self, "redo", self->redo, _("Redo"), loom_stock_book_redo_label(self->book));
  tell(self, error);
  loom_events_say(self->events, error ? "stock not saved" : "stock saved");
}

/* A line that keeps its kind keeps its place, though its row is another one now. */
static void
on_wish(LoomStockItem *item, const LoomStockRow *now, const char *label, gpointer data)
{
  LoomStockWindow *self = data;
  g_autoptr(LoomStockRow) was = loom_stock_row_copy(loom_stock_item_row(item));
  g_autofree char *text = g_strdup_printf("%s, %s", label, loom_stock_item_name(item));
  g_autoptr(GError) error = NULL;
  g_autofree char *key = now ? key_of(now) : NULL;
  g_autoptr(GHashTable) rows = rows_by_key(loom_stock_book_stock(self->book));
  if (now && !g_hash_table_contains(rows, key))
    loom_stock_item_set_row(item, now);
  loom_stock_book_change(self->book, was, now, text, &error);
  after_change(self, error);
}

/* Adding. */

static guint
index_of_kind(LoomStockWindow *self, const char *kind)
{
  for (guint i = 0; i < g_list_model_get_n_items(G_LIST_MODEL(self->items)); i++)
    if (g_str_equal(loom_stock_item_row(item_at(self, i))->kind, kind))
      return i;
  return GTK_INVALID_LIST_POSITION;
}

static GtkWidget *
find_named(GtkWidget *widget, const char *name)
{
  if (g_str_equal(gtk_widget_get_name(widget), name))
    return widget;
  GtkWidget *found = NULL;
  GtkWidget *child = gtk_widget_get_first_child(widget);
  for (; child && !found; child = gtk_widget_get_next_sibling(child))
    found = find_named(child, name);
  return found;
}

typedef struct {
  LoomStockWindow *self;
  char *name;
} Focus;

/* The line has its widgets only once it has been laid out. */
static gboolean
focus_cell(gpointer data)
{
  Focus *focus = data;
  GtkWidget *cell = find_named(GTK_WIDGET(focus->self->table), focus->name);
  if (cell)
    gtk_widget_grab_focus(cell);
  g_object_unref(focus->self);
  g_free(focus->name);
  g_free(focus);
  return G_SOURCE_REMOVE;
}

/* The new line comes into view and its count is ready to be typed over. */
static void
go_to_kind(LoomStockWindow *self, const char *kind)
{
  gtk_editable_set_text(self->search, "");
  guint index = index_of_kind(self, kind);
  if (index == GTK_INVALID_LIST_POSITION)
    return;
  gtk_widget_activate_action(GTK_WIDGET(gtk_widget_get_last_child(GTK_WIDGET(self->table))),
                             "list.scroll-to-item", "u", index);
  Focus *focus = g_new(Focus, 1);
  *focus = (Focus){g_object_ref(self), g_strdup_printf("count %s", kind)};
  g_timeout_add(80, focus_cell, focus);
}

static void
on_kind(LoomOffersPopover *popover, guint index, gpointer data)
{
  (void)popover;
  LoomStockWindow *self = data;
  guint n;
  const LoomKind *kind = loom_catalogue_kinds(self->catalogue, &n)[index];
  bool known = index_of_kind(self, kind->id) != GTK_INVALID_LIST_POSITION;
  g_autoptr(GError) error = NULL;
  if (!known) {
    LoomStockRow row = {kind->id, (char *)"", LOOM_CONDITION_GOOD, 1, kind->price, NULL};
    g_autofree char *label = g_strdup_printf(_("Add, %s"), kind->name);
    loom_stock_book_change(self->book, NULL, &row, label, &error);
    after_change(self, error);
  }
  go_to_kind(self, kind->id);
}

/* The list is filled when it is first wanted. */
static void
fill_kinds(LoomStockWindow *self)
{
  guint n;
  const LoomKind *const *kinds = loom_catalogue_kinds(self->catalogue, &n);
  loom_offers_popover_begin(self->kinds, _("Add to the stock"), NULL);
  for (guint i = 0; i < n; i++)
    loom_offers_popover_add(self->kinds, i, _(loom_group_label(kinds[i]->group)), kinds[i],
                            kinds[i]->name, NULL);
}

static void
act_add(GSimpleAction *action, GVariant *parameter, gpointer data)
{
  (void)action;
  (void)parameter;
  LoomStockWindow *self = data;
  if (!loom_offers_popover_n_rows(self->kinds))
    fill_kinds(self);
  GdkRectangle at = {0, 0, gtk_widget_get_width(self->add), gtk_widget_get_height(self->add)};
  loom_offers_popover_open(self->kinds, &at);
  loom_events_say(self->events, "stock kinds %u", loom_offers_popover_n_rows(self->kinds));
}

/* Searching. */

static gboolean
is_shown(gpointer item, gpointer data)
{
  const char *words = gtk_editable_get_text(LOOM_STOCK_WINDOW(data)->search);
  return !*words || loom_stock_item_matches(item, words);
}

static void
on_search(LoomStockWindow *self)
{
  gtk_filter_changed(GTK_FILTER(self->filter), GTK_FILTER_CHANGE_DIFFERENT);
}

static void
on_stop_search(LoomStockWindow *self)
{
  if (*gtk_editable_get_text(self->search))
    gtk_editable_set_text(self->search, "");
  else
    gtk_window_close(GTK_WINDOW(self));
}

static void
act_search(GSimpleAction *action, GVariant *parameter, gpointer data)
{
  (void)action;
  (void)parameter;
  gtk_widget_grab_focus(GTK_WIDGET(LOOM_STOCK_WINDOW(data)->search));
}

/* Undoing. What is being typed is taken first. */

static void
settle(LoomStockWindow *self)
{
  GtkWidget *focus = gtk_window_get_focus(GTK_WINDOW(self));
  gtk_window_set_focus(GTK_WINDOW(self), NULL);
  if (focus)
    gtk_window_set_focus(GTK_WINDOW(self), focus);
}

static void
act_undo(GSimpleAction *action, GVariant *parameter, gpointer data)
{
  (void)action;
  (void)parameter;
  LoomStockWindow *self = data;
  g_autoptr(GError) error = NULL;
  settle(self);
  loom_stock_book_undo(self->book, &error);
  after_change(self, error);
}

static void
act_redo(GSimpleAction *action, GVariant *parameter, gpointer data)
{
  (void)action;
  (void)parameter;
  LoomStockWindow *self = data;
  g_autoptr(GError) error = NULL;
  settle(self);
  loom_stock_book_redo(self->book, &error);
  after_change(self, error);
}

/* Counts have no undo of their own: there the keys mean the table's. */
static gboolean
on_undo_key(GtkEventControllerKey *controller, guint key, guint code, GdkModifierType state,
            gpointer data)
{
  (void)controller;
  (void)code;
  GtkWidget *focus = gtk_window_get_focus(GTK_WINDOW(data));
  bool counts = focus && gtk_widget_get_ancestor(focus, GTK_TYPE_SPIN_BUTTON);
  guint lower = gdk_keyval_to_lower(key);
  if (!counts || !(state & GDK_CONTROL_MASK) || (lower != GDK_KEY_z && lower != GDK_KEY_y))
    return GDK_EVENT_PROPAGATE;
  bool again = lower == GDK_KEY_y || state & GDK_SHIFT_MASK;
  gtk_widget_activate_action(GTK_WIDGET(data), again ? "stock.redo" : "stock.undo", NULL);
  return GDK_EVENT_STOP;
}

/* CSV in and out. */

static char *
chosen_path(GtkNativeDialog *dialog, int response)
{
  g_autoptr(GFile) file =
      response == GTK_RESPONSE_ACCEPT ? gtk_file_chooser_get_file(GTK_FILE_CHOOSER(dialog)) : NULL;
  char *path = file ? g_file_get_path(file) : NULL;
  g_object_unref(dialog);
  return path;
}

static bool
import_from(LoomStockWindow *self, const char *path, GError **error)
{
  g_autofree char *text = NULL;
  gsize length;
  if (!g_file_get_contents(path, &text, &length, error))
    return false;
  g_autoptr(LoomStock) rows = loom_stock_parse(text, length, path, error);
  if (!rows)
    return false;
  g_autoptr(GError) saving = NULL;
  loom_stock_book_take(self->book, rows, _("Import"), &saving);
  after_change(self, saving);
  return true;
}

static void
show_error(LoomStockWindow *self, const GError *error)
{
  GtkWidget *dialog =
      gtk_message_dialog_new(GTK_WINDOW(self), GTK_DIALOG_MODAL | GTK_DIALOG_DESTROY_WITH_PARENT,
                             GTK_MESSAGE_OTHER, GTK_BUTTONS_CLOSE, "%s", error->message);
  g_signal_connect(dialog, "response", G_CALLBACK(gtk_window_destroy), NULL);
  gtk_window_present(GTK_WINDOW(dialog));
  loom_events_say(self->events, "error %s", error->message);
}

static void
on_import(GtkNativeDialog *dialog, int response, gpointer data)
{
  g_autofree char *path = chosen_path(dialog, response);
  g_autoptr(GError) error = NULL;
  if (path && !import_from(data, path, &error))
    show_error(data, error);
}

static void
on_export(GtkNativeDialog *dialog, int response, gpointer data)
{
  LoomStockWindow *self = data;
  g_autofree char *path = chosen_path(dialog, response);
  g_autofree char *text = loom_stock_to_text(loom_stock_book_stock(self->book));
  g_autoptr(GError) error = NULL;
  if (path && !g_file_set_contents(path, text, -1, &error))
    show_error(self, error);
  else if (path)
    loom_events_say(self->events, "exported %s", path);
}

static void
choose(LoomStockWindow *self, const char *title, GtkFileChooserAction action, const char *accept,
       GCallback answer)
{
  settle(self);
  GtkFileChooserNative *chooser =
      gtk_file_chooser_native_new(title, GTK_WINDOW(self), action, accept, _("_Cancel"));
  gtk_native_dialog_set_modal(GTK_NATIVE_DIALOG(chooser), TRUE);
  if (action == GTK_FILE_CHOOSER_ACTION_SAVE)
    gtk_file_chooser_set_current_name(GTK_FILE_CHOOSER(chooser), "stock.csv");
  g_signal_connect_object(chooser, "response", answer, self, 0);
  gtk_native_dialog_show(GTK_NATIVE_DIALOG(chooser));
}

static void
act_import(GSimpleAction *action, GVariant *parameter, gpointer data)
{
  (void)action;
  (void)parameter;
  choose(data, _("Import Stock"), GTK_FILE_CHOOSER_ACTION_OPEN, _("_Import"),
         G_CALLBACK(on_import));
}

static void
act_export(GSimpleAction *action, GVariant *parameter, gpointer data)
{
  (void)action;
  (void)parameter;
  choose(data, _("Export Stock"), GTK_FILE_CHOOSER_ACTION_SAVE, _("_Export"),
         G_CALLBACK(on_export));
}

/* Life. */

static void
on_file_changed(GFileMonitor *monitor, GFile *file, GFile *other, GFileMonitorEvent event,
                gpointer data)
{
  (void)monitor;
  (void)file;
  (void)other;
  (void)event;
  LoomStockWindow *self = data;
  if (!loom_stock_book_refresh(self->book, NULL))
    return;
  after_change(self, NULL);
}

/* What is being typed is taken; what could not be saved is tried once more, and the window stays if
 * it cannot be. */
static gboolean
loom_stock_window_close_request(GtkWindow *window)
{
  LoomStockWindow *self = LOOM_STOCK_WINDOW(window);
  gtk_window_set_focus(window, NULL);
  g_autoptr(GError) error = NULL;
  if (loom_stock_book_unsaved(self->book) && !loom_stock_book_save(self->book, &error)) {
    tell(self, error);
    show_error(self, error);
    return GDK_EVENT_STOP;
  }
  return GDK_EVENT_PROPAGATE;
}

static void
loom_stock_window_dispose(GObject *object)
{
  LoomStockWindow *self = LOOM_STOCK_WINDOW(object);
  if (self->book && self->items) /* the window below may have been closed: what is typed is taken */
    gtk_window_set_focus(GTK_WINDOW(self), NULL);
  g_clear_object(&self->monitor);
  if (self->kinds)
    gtk_widget_unparent(GTK_WIDGET(self->kinds));
  self->kinds = NULL;
  gtk_widget_dispose_template(GTK_WIDGET(object), LOOM_TYPE_STOCK_WINDOW);
  g_clear_object(&self->items);
  g_clear_object(&self->actions);
  g_clear_pointer(&self->catalogue, loom_catalogue_unref);
  G_OBJECT_CLASS(loom_stock_window_parent_class)->dispose(object);
}

static void
loom_stock_window_finalize(GObject *object)
{
  loom_stock_book_free(LOOM_STOCK_WINDOW(object)->book);
  G_OBJECT_CLASS(loom_stock_window_parent_class)->finalize(object);
}

static void
loom_stock_window_class_init(LoomStockWindowClass *class)
{
  GtkWidgetClass *widget_class = GTK_WIDGET_CLASS(class);
  G_OBJECT_CLASS(class)->dispose = loom_stock_window_dispose;
  G_OBJECT_CLASS(class)->finalize = loom_stock_window_finalize;
  GTK_WINDOW_CLASS(class)->close_request = loom_stock_window_close_request;
  gtk_widget_class_set_template_from_resource(widget_class, "/org/loombook/ui/stock-window.ui");
  gtk_widget_class_bind_template_child(widget_class, LoomStockWindow, add);
  gtk_widget_class_bind_template_child(widget_class, LoomStockWindow, undo);
  gtk_widget_class_bind_template_child(widget_class, LoomStockWindow, redo);
  gtk_widget_class_bind_template_child(widget_class, LoomStockWindow, search);
  gtk_widget_class_bind_template_child(widget_class, LoomStockWindow, pages);
  gtk_widget_class_bind_template_child(widget_class, LoomStockWindow, table);
  gtk_widget_class_bind_template_child(widget_class, LoomStockWindow, status);
  gtk_widget_class_bind_template_callback(widget_class, on_search);
  gtk_widget_class_bind_template_callback(widget_class, on_stop_search);
}

static void
add_actions(LoomStockWindow *self)
{
  static const GActionEntry entries[] = {
      {.name = "add", .activate = act_add},       {.name = "search", .activate = act_search},
      {.name = "undo", .activate = act_undo},     {.name = "redo", .activate = act_redo},
      {.name = "import", .activate = act_import}, {.name = "export", .activate = act_export}};
  static const struct {
    const char *key, *action;
  } KEYS[] = {{"<Control>n", "stock.add"},    {"<Control>f", "stock.search"},
              {"<Control>z", "stock.undo"},   {"<Control><Shift>z", "stock.redo"},
              {"<Control>y", "stock.redo"},   {"<Control>w", "window.close"},
              {"<Control>e", "stock.export"}, {"Escape", "window.close"}};
  self->actions = g_simple_action_group_new();
  g_action_map_add_action_entries(G_ACTION_MAP(self->actions), entries, G_N_ELEMENTS(entries),
                                  self);
  gtk_widget_insert_action_group(GTK_WIDGET(self), "stock", G_ACTION_GROUP(self->actions));
  GtkEventController *controller = gtk_shortcut_controller_new();
  for (guint i = 0; i < G_N_ELEMENTS(KEYS); i++)
    gtk_shortcut_controller_add_shortcut(
        GTK_SHORTCUT_CONTROLLER(controller),
        gtk_shortcut_new(gtk_shortcut_trigger_parse_string(KEYS[i].key),
                         gtk_named_action_new(KEYS[i].action)));
  gtk_widget_add_controller(GTK_WIDGET(self), controller);
  GtkEventController *keys = gtk_event_controller_key_new();
  gtk_event_controller_set_propagation_phase(keys, GTK_PHASE_CAPTURE);
  g_signal_connect(keys, "key-pressed", G_CALLBACK(on_undo_key), self);
  gtk_widget_add_controller(GTK_WIDGET(self), keys);
}

static void
loom_stock_window_init(LoomStockWindow *self)
{
  gtk_widget_init_template(GTK_WIDGET(self));
  add_actions(self);
  self->items = g_list_store_new(LOOM_TYPE_STOCK_ITEM);
  self->filter = gtk_custom_filter_new(is_shown, self, NULL);
  GtkFilterListModel *shown =
      gtk_filter_list_model_new(G_LIST_MODEL(g_object_ref(self->items)), GTK_FILTER(self->filter));
  g_autoptr(GtkSelectionModel) model =
      GTK_SELECTION_MODEL(gtk_no_selection_new(G_LIST_MODEL(shown)));
  gtk_column_view_set_model(self->table, model);
  loom_stock_columns_add(self->table, on_wish, self);
  self->kinds = loom_offers_popover_new();
  g_signal_connect(self->kinds, "taken", G_CALLBACK(on_kind), self);
  gtk_widget_set_parent(GTK_WIDGET(self->kinds), self->add);
}

/* The window that has this stock open, or NULL. */
static LoomStockWindow *
window_with(const char *path)
{
  GListModel *windows = gtk_window_get_toplevels();
  for (guint i = 0; i < g_list_model_get_n_items(windows); i++) {
    g_autoptr(GtkWidget) window = g_list_model_get_item(windows, i);
    if (LOOM_IS_STOCK_WINDOW(window) &&
        g_str_equal(loom_stock_book_path(LOOM_STOCK_WINDOW(window)->book), path))
      return LOOM_STOCK_WINDOW(window);
  }
  return NULL;
}

bool
loom_stock_window_show(GtkWindow *parent, LoomCatalogue *catalogue, const char *path,
                       LoomEvents *events, GError **error)
{
  LoomStockWindow *there = window_with(path);
  if (there) {
    gtk_window_present(GTK_WINDOW(there));
    return true;
  }
  LoomStockBook *book = loom_stock_book_open(path, error);
  if (!book)
    return false;
  LoomStockWindow *self = g_object_new(LOOM_TYPE_STOCK_WINDOW, "transient-for", parent, NULL);
  self->catalogue = loom_catalogue_ref(catalogue);
  self->events = events;
  self->book = book;
  g_autoptr(GFile) file = g_file_new_for_path(path);
  self->monitor = g_file_monitor_file(file, G_FILE_MONITOR_NONE, NULL, NULL);
  if (self->monitor)
    g_signal_connect_object(self->monitor, "changed", G_CALLBACK(on_file_changed), self, 0);
  after_change(self, NULL);
  gtk_window_present(GTK_WINDOW(self));
  return true;
}
