#include "stock-columns.h"

#include "kind-view.h"

#include "catalogue/xml.h"

#include <glib/gi18n-lib.h>
#include <math.h>

#define PICTURE_WIDTH 52
#define PICTURE_HEIGHT 32
#define MOST_PIECES 1000000.0

/* A column: how its widget is made, filled from a row, and read into one. `read` NULL: not to be
 * edited. */
typedef struct {
  const char *title, *name, *label; /* label: what undo says */
  bool expand;
  GtkWidget *(*make)(void);
  void (*show)(GtkWidget *widget, LoomStockItem *item);
  bool (*read)(GtkWidget *widget, LoomStockRow *row); /* false: not understood */
  void (*follow)(GtkWidget *widget, gpointer cell);   /* connects what tells of an edit */
} Column;

/* One per widget; lives as long as it. */
typedef struct {
  const Column *column;
  GtkWidget *widget;
  LoomStockItem *item; /* NULL while not bound */
  gulong follows;
  bool filling;
  LoomStockWish wish;
  gpointer data;
} Cell;

typedef struct {
  const Column *column;
  LoomStockWish wish;
  gpointer data;
} Table;

static void
show(Cell *cell)
{
  cell->filling = true;
  cell->column->show(cell->widget, cell->item);
  gtk_widget_remove_css_class(cell->widget, "error");
  cell->filling = false;
}

/* What stands in the widget becomes the row's; what cannot be understood is marked and kept. */
static void
commit(Cell *cell)
{
  if (!cell->item || cell->filling)
    return;
  const LoomStockRow *row = loom_stock_item_row(cell->item);
  g_autoptr(LoomStockRow) now = loom_stock_row_copy(row);
  if (!cell->column->read(cell->widget, now)) {
    gtk_widget_add_css_class(cell->widget, "error");
    return;
  }
  gtk_widget_remove_css_class(cell->widget, "error");
  g_autoptr(LoomStockItem) item = g_object_ref(cell->item);
  if (!loom_stock_row_equal(row, now))
    cell->wish(item, now, _(cell->column->label), cell->data);
}

/* Kind: a picture and the name. */

static GtkWidget *
make_kind(void)
{
  GtkWidget *box = gtk_box_new(GTK_ORIENTATION_HORIZONTAL, 8);
  GtkWidget *label = gtk_label_new(NULL);
  gtk_box_append(GTK_BOX(box), loom_kind_view_new(NULL, PICTURE_WIDTH, PICTURE_HEIGHT));
  gtk_label_set_xalign(GTK_LABEL(label), 0);
  gtk_label_set_wrap(GTK_LABEL(label), TRUE);
  gtk_widget_set_hexpand(label, TRUE);
  gtk_box_append(GTK_BOX(box), label);
  return box;
}

static void
show_kind(GtkWidget *box, LoomStockItem *item)
{
  GtkWidget *view = gtk_widget_get_first_child(box);
  loom_kind_view_set_kind(LOOM_KIND_VIEW(view), loom_stock_item_kind(item));
  gtk_label_set_text(GTK_LABEL(gtk_widget_get_next_sibling(view)), loom_stock_item_name(item));
  gtk_widget_set_tooltip_text(box, loom_stock_item_row(item)->kind);
}

/* How many. */

static GtkWidget *
make_count(void)
{
  GtkWidget *spin = gtk_spin_button_new_with_range(0, MOST_PIECES, 1);
  gtk_editable_set_width_chars(GTK_EDITABLE(spin), 3);
  return spin;
}

static void
show_count(GtkWidget *spin, LoomStockItem *item)
{
  gtk_spin_button_set_value(GTK_SPIN_BUTTON(spin), loom_stock_item_row(item)->count);
}

static bool
read_count(GtkWidget *spin, LoomStockRow *row)
{
  row->count = (guint)gtk_spin_button_get_value_as_int(GTK_SPIN_BUTTON(spin));
  return true;
}

static void
on_value(GtkSpinButton *spin, gpointer cell)
{
  (void)spin;
  commit(cell);
}

static void
follow_count(GtkWidget *spin, gpointer cell)
{
  g_signal_connect(spin, "value-changed", G_CALLBACK(on_value), cell);
}

/* Words: taken with Enter and when the focus goes elsewhere; Escape puts back what was there. */

static GtkWidget *
make_words(void)
{
  GtkWidget *entry = gtk_entry_new();
  gtk_editable_set_width_chars(GTK_EDITABLE(entry), 8);
  return entry;
}

static void
show_where(GtkWidget *entry, LoomStockItem *item)
{
  gtk_editable_set_text(GTK_EDITABLE(entry), loom_stock_item_row(item)->where);
}

static bool
read_where(GtkWidget *entry, LoomStockRow *row)
{
  g_free(row->where);
  row->where = g_strstrip(g_strdup(gtk_editable_get_text(GTK_EDITABLE(entry))));
  return true;
}

static void
show_note(GtkWidget *entry, LoomStockItem *item)
{
  const char *note = loom_stock_item_row(item)->note;
  gtk_editable_set_text(GTK_EDITABLE(entry), note ? note : "");
}

static bool
read_note(GtkWidget *entry, LoomStockRow *row)
{
  g_autofree char *text = g_strstrip(g_strdup(gtk_editable_get_text(GTK_EDITABLE(entry))));
  g_free(row->note);
  row->note = *text ? g_steal_pointer(&text) : NULL;
  return true;
}

static GtkWidget *
make_price(void)
{
  GtkWidget *entry = make_words();
  gtk_editable_set_width_chars(GTK_EDITABLE(entry), 6);
  gtk_editable_set_alignment(GTK_EDITABLE(entry), 1);
  gtk_entry_set_input_purpose(GTK_ENTRY(entry), GTK_INPUT_PURPOSE_NUMBER);
  return entry;
}

static void
show_price(GtkWidget *entry, LoomStockItem *item)
{
  double price = loom_stock_item_row(item)->price;
  g_autofree char *text = isnan(price) ? g_strdup("") : g_strdup_printf("%.2f", price);
  gtk_editable_set_text(GTK_EDITABLE(entry), text);
}

/* A comma is understood as well as a point; an empty field is an unknown price. */
static bool
read_price(GtkWidget *entry, LoomStockRow *row)
{
  g_autofree char *text = g_strstrip(g_strdup(gtk_editable_get_text(GTK_EDITABLE(entry))));
  g_strdelimit(text, ",", '.');
  double price = NAN;
  if (*text && (!loom_number_from_text(text, &price) || price < 0))
    return false;
  g_autofree char *shown = isnan(row->price) ? g_strdup("") : g_strdup_printf("%.2f", row->price);
  g_strdelimit(shown, ",", '.');
  if (!g_str_equal(text, shown)) /* otherwise it keeps the digits that are not shown */
    row->price = price;
  return true;
}

static void
on_enter(GtkEntry *entry, gpointer cell)
{
  (void)entry;
  commit(cell);
}

static void
on_leave(GtkEventControllerFocus *focus, gpointer cell)
{
  (void)focus;
  commit(cell);
}

static gboolean
on_entry_key(GtkEventControllerKey *controller, guint key, guint code, GdkModifierType state,
             gpointer data)
{
  (void)controller;
  (void)code;
  (void)state;
  Cell *cell = data;
  if (key != GDK_KEY_Escape || !cell->item)
    return GDK_EVENT_PROPAGATE;
  g_autofree char *before = g_strdup(gtk_editable_get_text(GTK_EDITABLE(cell->widget)));
  show(cell);
  bool same = g_str_equal(before, gtk_editable_get_text(GTK_EDITABLE(cell->widget)));
  return same ? GDK_EVENT_PROPAGATE : GDK_EVENT_STOP;
}

static void
follow_words(GtkWidget *entry, gpointer cell)
{
  GtkEventController *focus = gtk_event_controller_focus_new();
  GtkEventController *keys = gtk_event_controller_key_new();
  gtk_event_controller_set_propagation_phase(keys, GTK_PHASE_CAPTURE);
  g_signal_connect(entry, "activate", G_CALLBACK(on_enter), cell);
  g_signal_connect(focus, "leave", G_CALLBACK(on_leave), cell);
  g_signal_connect(keys, "key-pressed", G_CALLBACK(on_entry_key), cell);
  gtk_widget_add_controller(entry, focus);
  gtk_widget_add_controller(entry, keys);
}

/* Condition. */

static GtkWidget *
make_condition(void)
{
  const char *const words[] = {_("good"), _("worn"), _("broken"), NULL};
  return gtk_drop_down_new_from_strings(words);
}

static void
show_condition(GtkWidget *input, LoomStockItem *item)
{
  gtk_drop_down_set_selected(GTK_DROP_DOWN(input), loom_stock_item_row(item)->condition);
}

static bool
read_condition(GtkWidget *input, LoomStockRow *row)
{
  row->condition = (LoomCondition)gtk_drop_down_get_selected(GTK_DROP_DOWN(input));
  return true;
}

static void
on_chosen(GtkDropDown *input, GParamSpec *spec, gpointer cell)
{
  (void)input;
  (void)spec;
  commit(cell);
}

static void
follow_condition(GtkWidget *input, gpointer cell)
{
  g_signal_connect(input, "notify::selected", G_CALLBACK(on_chosen), cell);
}

/* Taking a row away. */

static GtkWidget *
make_remove(void)
{
  GtkWidget *button = gtk_button_new_from_icon_name("user-trash-symbolic");
  gtk_widget_add_css_class(button, "flat");
  gtk_widget_set_tooltip_text(button, _("Remove this line"));
  return button;
}

static void
show_remove(GtkWidget *button, LoomStockItem *item)
{
  g_autofree char *label = g_strdup_printf(_("Remove %s"), loom_stock_item_name(item));
  gtk_accessible_update_property(GTK_ACCESSIBLE(button), GTK_ACCESSIBLE_PROPERTY_LABEL, label, -1);
}

static void
on_remove(GtkButton *button, gpointer data)
{
  (void)button;
  Cell *cell = data;
  g_autoptr(LoomStockItem) item = g_object_ref(cell->item);
  cell->wish(item, NULL, _("Remove"), cell->data);
}

static void
follow_remove(GtkWidget *button, gpointer cell)
{
  g_signal_connect(button, "clicked", G_CALLBACK(on_remove), cell);
}

static const Column columns[] = {
    {N_("Kind"), "kind", NULL, true, make_kind, show_kind, NULL, NULL},
    {N_("How many"), "count", N_("Count"), false, make_count, show_count, read_count, follow_count},
    {N_("Where"), "where", N_("Change the place"), true, make_words, show_where, read_where,
     follow_words},
    {N_("Condition"), "condition", N_("Change the condition"), false, make_condition,
     show_condition, read_condition, follow_condition},
    {N_("Price of one"), "price", N_("Change the price"), false, make_price, show_price, read_price,
     follow_words},
    {N_("Note"), "note", N_("Change the note"), true, make_words, show_note, read_note,
     follow_words},
    {"", "remove", NULL, false, make_remove, show_remove, NULL, follow_remove},
};

/* Cells are made, bound to an item, let go. */

static void
on_setup(GtkSignalListItemFactory *factory, GtkListItem *place, gpointer data)
{
  (void)factory;
  const Table *table = data;
  Cell *cell = g_new0(Cell, 1);
  *cell = (Cell){.column = table->column, .wish = table->wish, .data = table->data};
  cell->widget = table->column->make();
  gtk_widget_set_valign(cell->widget, GTK_ALIGN_CENTER);
  if (table->column->follow)
    table->column->follow(cell->widget, cell);
  g_object_set_data_full(G_OBJECT(cell->widget), "cell", cell, g_free);
  gtk_list_item_set_child(place, cell->widget);
  gtk_list_item_set_activatable(place, FALSE);
}

static Cell *
cell_of(GtkListItem *place)
{
  return g_object_get_data(G_OBJECT(gtk_list_item_get_child(place)), "cell");
}

/* What cells are called: "count of Extension lead"; the first one of a kind also by its id. */
static void
name_cell(Cell *cell)
{
  const LoomStockRow *row = loom_stock_item_row(cell->item);
  g_autofree char *name = g_strdup_printf("%s %s", cell->column->name, row->kind);
  gtk_widget_set_name(cell->widget, name);
  if (!cell->column->read)
    return;
  g_autofree char *label =
      g_strdup_printf("%s: %s", _(cell->column->title), loom_stock_item_name(cell->item));
  gtk_accessible_update_property(GTK_ACCESSIBLE(cell->widget), GTK_ACCESSIBLE_PROPERTY_LABEL, label,
                                 -1);
}

static void
on_bind(GtkSignalListItemFactory *factory, GtkListItem *place, gpointer data)
{
  (void)factory;
  (void)data;
  Cell *cell = cell_of(place);
  cell->item = g_object_ref(gtk_list_item_get_item(place));
  cell->follows = g_signal_connect_swapped(cell->item, "changed", G_CALLBACK(show), cell);
  name_cell(cell);
  show(cell);
}

static void
on_unbind(GtkSignalListItemFactory *factory, GtkListItem *place, gpointer data)
{
  (void)factory;
  (void)data;
  Cell *cell = cell_of(place);
  g_clear_signal_handler(&cell->follows, cell->item);
  g_clear_object(&cell->item);
}

void
loom_stock_columns_add(GtkColumnView *view, LoomStockWish wish, gpointer data)
{
  for (guint i = 0; i < G_N_ELEMENTS(columns); i++) {
    Table *table = g_new0(Table, 1);
    *table = (Table){&columns[i], wish, data};
    GtkListItemFactory *factory = gtk_signal_list_item_factory_new();
    g_object_set_data_full(G_OBJECT(factory), "table", table, g_free);
    g_signal_connect(factory, "setup", G_CALLBACK(on_setup), table);
    g_signal_connect(factory, "bind", G_CALLBACK(on_bind), NULL);
    g_signal_connect(factory, "unbind", G_CALLBACK(on_unbind), NULL);
    g_autoptr(GtkColumnViewColumn) column =
        gtk_column_view_column_new(*columns[i].title ? _(columns[i].title) : "", factory);
    gtk_column_view_column_set_expand(column, columns[i].expand);
    gtk_column_view_append_column(view, column);
  }
}
