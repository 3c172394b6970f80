#include "field.h"

#include "values.h"

#include <glib/gi18n-lib.h>

struct _LoomField {
  GtkBox parent;
  LoomDocument *document;
  char *target, *key;
  char *shown; /* value as last shown or taken */
  GtkWidget *input;
  GtkLabel *complaint;
  char **values; /* of a drop-down */
  bool following;
};

G_DEFINE_FINAL_TYPE(LoomField, loom_field, GTK_TYPE_BOX)

static void
loom_field_dispose(GObject *object)
{
  LoomField *self = LOOM_FIELD(object);
  g_clear_object(&self->document);
  G_OBJECT_CLASS(loom_field_parent_class)->dispose(object);
}

static void
loom_field_finalize(GObject *object)
{
  LoomField *self = LOOM_FIELD(object);
  g_free(self->target);
  g_free(self->key);
  g_free(self->shown);
  g_strfreev(self->values);
  G_OBJECT_CLASS(loom_field_parent_class)->finalize(object);
}

static void
loom_field_class_init(LoomFieldClass *class)
{
  G_OBJECT_CLASS(class)->dispose = loom_field_dispose;
  G_OBJECT_CLASS(class)->finalize = loom_field_finalize;
}

static void
loom_field_init(LoomField *self)
{
  gtk_orientable_set_orientation(GTK_ORIENTABLE(self), GTK_ORIENTATION_VERTICAL);
  gtk_box_set_spacing(GTK_BOX(self), 2);
  gtk_widget_add_css_class(GTK_WIDGET(self), "field");
}

static void
complain(LoomField *self, const char *sentence)
{
  gtk_label_set_text(self->complaint, sentence ? sentence : "");
  gtk_widget_set_visible(GTK_WIDGET(self->complaint), sentence != NULL);
  if (sentence)
    gtk_widget_add_css_class(self->input, "error");
  else
    gtk_widget_remove_css_class(self->input, "error");
}

/* Sets the value, unless it is what is there. */
static void
take(LoomField *self, const char *value)
{
  g_autoptr(GError) error = NULL;
  g_autoptr(LoomField) alive = g_object_ref(self); /* the tag may be built anew meanwhile */
  if (!self->document || g_strcmp0(value, self->shown) == 0)
    return;
  if (!loom_document_set(self->document, self->target, self->key, value, &error)) {
    complain(self, error->message);
    return;
  }
  g_free(self->shown);
  self->shown = g_strdup(value);
  complain(self, NULL);
}

static char *
text_of_view(GtkTextView *view)
{
  GtkTextIter start, end;
  GtkTextBuffer *buffer = gtk_text_view_get_buffer(view);
  gtk_text_buffer_get_bounds(buffer, &start, &end);
  return gtk_text_buffer_get_text(buffer, &start, &end, FALSE);
}

static char *
typed(LoomField *self)
{
  return GTK_IS_TEXT_VIEW(self->input) ? text_of_view(GTK_TEXT_VIEW(self->input))
                                       : g_strdup(gtk_editable_get_text(GTK_EDITABLE(self->input)));
}

static bool
holds_number(const LoomField *self)
{
  static const char *const ends[] = {"_mm", "_A", "_C", ".duty"};
  for (guint i = 0; i < G_N_ELEMENTS(ends); i++)
    if (g_str_has_suffix(self->key, ends[i]))
      return true;
  return false;
}

/* People read and write numbers with the decimal mark of the locale, documents have a point. */
static void
take_typed(LoomField *self)
{
  g_autofree char *value = typed(self);
  double number;
  if (holds_number(self) && loom_number_from_words(value, &number)) {
    g_free(value);
    value = loom_number_to_text(number);
  }
  take(self, value);
}

static void
on_switch(GtkSwitch *input, GParamSpec *spec, gpointer data)
{
  (void)spec;
  LoomField *self = data;
  if (!self->following)
    take(self, gtk_switch_get_active(input) ? "yes" : "no");
}

static void
on_words(GtkDropDown *input, GParamSpec *spec, gpointer data)
{
  (void)spec;
  LoomField *self = data;
  guint index = gtk_drop_down_get_selected(input);
  if (!self->following && index != GTK_INVALID_LIST_POSITION)
    take(self, self->values[index]);
}

static void
show_value(LoomField *self, const char *value)
{
  if (GTK_IS_TEXT_VIEW(self->input)) {
    gtk_text_buffer_set_text(gtk_text_view_get_buffer(GTK_TEXT_VIEW(self->input)), value, -1);
  } else if (GTK_IS_SWITCH(self->input)) {
    gtk_switch_set_active(GTK_SWITCH(self->input), g_str_equal(value, "yes"));
  } else if (GTK_IS_DROP_DOWN(self->input)) {
    for (guint i = 0; self->values[i]; i++)
      if (g_str_equal(self->values[i], value))
        gtk_drop_down_set_selected(GTK_DROP_DOWN(self->input), i);
  } else {
    double number;
    g_autofree char *words = holds_number(self) && loom_number_from_text(value, &number)
                                 ? loom_number_to_words(number)
                                 : g_strdup(value);
    gtk_editable_set_text(GTK_EDITABLE(self->input), words);
  }
}

void
loom_field_follow(LoomField *self)
{
  g_autofree char *value =
      loom_value_text(loom_document_design(self->document), self->target, self->key);
  if (g_strcmp0(value, self->shown) == 0)
    return;
  g_free(self->shown);
  self->shown = g_strdup(value);
  self->following = true;
  show_value(self, value);
  self->following = false;
  complain(self, NULL);
}

static GtkWidget *
caption_new(const char *label)
{
  GtkWidget *caption = gtk_label_new(label);
  gtk_label_set_xalign(GTK_LABEL(caption), 0);
  gtk_label_set_wrap(GTK_LABEL(caption), TRUE);
  gtk_label_set_max_width_chars(GTK_LABEL(caption), 1);
  gtk_widget_add_css_class(caption, "dim-label");
  gtk_widget_add_css_class(caption, "caption");
  return caption;
}

static void
add_complaint(LoomField *self)
{
  self->complaint = GTK_LABEL(gtk_label_new(""));
  gtk_label_set_xalign(self->complaint, 0);
  gtk_label_set_wrap(self->complaint, TRUE);
  gtk_label_set_max_width_chars(self->complaint, 1);
  gtk_widget_add_css_class(GTK_WIDGET(self->complaint), "error");
  gtk_widget_add_css_class(GTK_WIDGET(self->complaint), "caption");
  gtk_widget_set_visible(GTK_WIDGET(self->complaint), FALSE);
  gtk_box_append(GTK_BOX(self), GTK_WIDGET(self->complaint));
}

static LoomField *
field_new(LoomDocument *document, const char *target, const char *key, GtkWidget *input,
          const char *label)
{
  LoomField *self = g_object_new(LOOM_TYPE_FIELD, NULL);
  self->document = g_object_ref(document);
  self->target = g_strdup(target);
  self->key = g_strdup(key);
  self->input = input;
  gtk_widget_set_name(input, key);
  gtk_accessible_update_property(GTK_ACCESSIBLE(input), GTK_ACCESSIBLE_PROPERTY_LABEL, label, -1);
  return self;
}

static void
add_typing(LoomField *self)
{
  GtkEventController *focus = gtk_event_controller_focus_new();
  g_signal_connect_swapped(focus, "leave", G_CALLBACK(take_typed), self);
  gtk_widget_add_controller(self->input, focus);
}

GtkWidget *
loom_field_text_new(LoomDocument *document, const char *target, const char *key, const char *label,
                    const char *unit, const char *hint)
{
  GtkWidget *entry = gtk_entry_new();
  LoomField *self = field_new(document, target, key, entry, label);
  GtkWidget *line = gtk_box_new(GTK_ORIENTATION_HORIZONTAL, 6);
  gtk_entry_set_placeholder_text(GTK_ENTRY(entry), hint);
  gtk_editable_set_width_chars(GTK_EDITABLE(entry), 6);
  gtk_widget_set_hexpand(entry, TRUE);
  gtk_box_append(GTK_BOX(line), entry);
  if (unit)
    gtk_box_append(GTK_BOX(line), gtk_label_new(unit));
  gtk_box_append(GTK_BOX(self), caption_new(label));
  gtk_box_append(GTK_BOX(self), line);
  add_complaint(self);
  g_signal_connect_swapped(entry, "activate", G_CALLBACK(take_typed), self);
  add_typing(self);
  loom_field_follow(self);
  return GTK_WIDGET(self);
}

/* A text view knows its height only once it has been given its width. */
static gboolean
ask_again(gpointer view)
{
  gtk_widget_queue_resize(view);
  g_object_unref(view);
  return G_SOURCE_REMOVE;
}

static void
on_long_map(GtkWidget *view)
{
  g_idle_add(ask_again, g_object_ref(view));
}

GtkWidget *
loom_field_long_new(LoomDocument *document, const char *target, const char *key, const char *label)
{
  GtkWidget *view = gtk_text_view_new();
  LoomField *self = field_new(document, target, key, view, label);
  gtk_text_view_set_wrap_mode(GTK_TEXT_VIEW(view), GTK_WRAP_WORD_CHAR);
  gtk_text_view_set_accepts_tab(GTK_TEXT_VIEW(view), FALSE);
  gtk_widget_add_css_class(view, "long-text");
  g_signal_connect(view, "map", G_CALLBACK(on_long_map), NULL);
  gtk_box_append(GTK_BOX(self), caption_new(label));
  gtk_box_append(GTK_BOX(self), view);
  add_complaint(self);
  add_typing(self);
  loom_field_follow(self);
  return GTK_WIDGET(self);
}

static void
add_on_one_line(LoomField *self, const char *label)
{
  GtkWidget *line = gtk_box_new(GTK_ORIENTATION_HORIZONTAL, 8);
  GtkWidget *text = gtk_label_new(label);
  gtk_label_set_xalign(GTK_LABEL(text), 0);
  gtk_label_set_wrap(GTK_LABEL(text), TRUE);
  gtk_label_set_max_width_chars(GTK_LABEL(text), 1);
  gtk_widget_set_hexpand(text, TRUE);
  gtk_widget_set_valign(self->input, GTK_ALIGN_CENTER);
  gtk_box_append(GTK_BOX(line), text);
  gtk_box_append(GTK_BOX(line), self->input);
  gtk_box_append(GTK_BOX(self), line);
  add_complaint(self);
}

GtkWidget *
loom_field_switch_new(LoomDocument *document, const char *target, const char *key,
                      const char *label)
{
  GtkWidget *input = gtk_switch_new();
  LoomField *self = field_new(document, target, key, input, label);
  add_on_one_line(self, label);
  loom_field_follow(self);
  g_signal_connect(input, "notify::active", G_CALLBACK(on_switch), self);
  return GTK_WIDGET(self);
}

GListModel *
loom_word_list_new(const char *const *labels)
{
  GtkStringList *words = gtk_string_list_new(NULL);
  for (; *labels; labels++)
    gtk_string_list_append(words, _(*labels));
  return G_LIST_MODEL(words);
}

GtkWidget *
loom_choice_of_words_new(const char *const *labels)
{
  return gtk_drop_down_new(loom_word_list_new(labels), NULL);
}

GtkWidget *
loom_field_words_new(LoomDocument *document, const char *target, const char *key, const char *label,
                     const char *const *values, const char *const *labels)
{
  GtkWidget *input = loom_choice_of_words_new(labels);
  LoomField *self = field_new(document, target, key, input, label);
  self->values = g_strdupv((char **)values);
  add_on_one_line(self, label);
  loom_field_follow(self);
  g_signal_connect(input, "notify::selected", G_CALLBACK(on_words), self);
  return GTK_WIDGET(self);
}
