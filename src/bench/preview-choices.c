#include "preview-private.h"

#include "field.h"

#include <glib/gi18n-lib.h>

static const char *const what_labels[] = {N_("The book for the build day"), N_("Wire labels"),
                                          NULL};
static const char *const paper_labels[] = {"A4", "Letter", NULL}; /* in the order of LoomPaper */

/* --- what all of them do --- */

static void
take_day(LoomPreview *self)
{
  LoomEventDay *day = &self->terms.book.day;
  g_autofree char *text =
      g_strdup_printf("%d,%s,%d", gtk_spin_button_get_value_as_int(self->outings),
                      gtk_editable_get_text(GTK_EDITABLE(self->first)),
                      gtk_spin_button_get_value_as_int(self->every));
  LoomEventDay wanted = {.minutes = 10};
  if (loom_event_day_parse(text, &wanted, NULL)) {
    *day = wanted;
    gtk_widget_remove_css_class(GTK_WIDGET(self->first), "error");
  } else {
    gtk_widget_add_css_class(GTK_WIDGET(self->first), "error");
  }
}

static guint
chosen_chapters(LoomPreview *self)
{
  guint chapters = 0, i = 0;
  GtkWidget *check = gtk_widget_get_first_child(GTK_WIDGET(self->chapters));
  for (; check; check = gtk_widget_get_next_sibling(check), i++)
    if (gtk_check_button_get_active(GTK_CHECK_BUTTON(check)))
      chapters |= 1u << i;
  return chapters;
}

static void
take_choices(LoomPreview *self)
{
  guint n;
  LoomProofTerms *terms = &self->terms;
  const LoomLabelSheet *sheets = loom_label_sheets(&n);
  terms->type = gtk_drop_down_get_selected(self->what);
  terms->book.scene = MIN(gtk_drop_down_get_selected(self->scene),
                          loom_design_n_scenes(loom_document_design(self->document)) - 1);
  terms->book.paper = gtk_drop_down_get_selected(self->paper);
  terms->book.grey = gtk_switch_get_active(self->grey);
  terms->book.chapters = chosen_chapters(self);
  terms->sheet = &sheets[MIN(gtk_drop_down_get_selected(self->sheet), n - 1)];
  terms->flags = gtk_switch_get_active(self->flags);
  terms->skip = (guint)gtk_spin_button_get_value_as_int(self->skip);
  take_day(self);
  gtk_widget_set_visible(self->book_terms, terms->type == LOOM_PROOF_BOOK);
  gtk_widget_set_visible(self->label_terms, terms->type == LOOM_PROOF_LABELS);
  loom_preview_renew(self);
}

static void
follow(GObject *input, const char *signal, LoomPreview *self)
{
  g_signal_connect_object(input, signal, G_CALLBACK(take_choices), self, G_CONNECT_SWAPPED);
}

/* --- what there is to choose --- */

static void
add_chapters(LoomPreview *self)
{
  for (guint i = 0; i < LOOM_N_CHAPTERS; i++) {
    GtkWidget *check = gtk_check_button_new_with_label(loom_chapter_title(i));
    g_autofree char *name = g_strconcat("chapter-", loom_chapter_word(i), NULL);
    gtk_widget_set_name(check, name);
    gtk_check_button_set_active(GTK_CHECK_BUTTON(check), self->terms.book.chapters >> i & 1);
    gtk_box_append(self->chapters, check);
    follow(G_OBJECT(check), "toggled", self);
  }
}

static char *
sheet_label(const LoomLabelSheet *sheet)
{
  const char *paper = paper_labels[sheet->paper];
  return sheet->cut
             ? g_strdup_printf(_("plain %s, to cut out"), paper)
             : g_strdup_printf(_("%g × %g mm, %s"), sheet->width_mm, sheet->height_mm, paper);
}

static void
list_sheets(LoomPreview *self)
{
  guint n, chosen = 0;
  const LoomLabelSheet *sheets = loom_label_sheets(&n);
  g_autoptr(GtkStringList) words = gtk_string_list_new(NULL);
  for (guint i = 0; i < n; i++) {
    g_autofree char *label = sheet_label(&sheets[i]);
    gtk_string_list_append(words, label);
    if (&sheets[i] == self->terms.sheet)
      chosen = i;
  }
  gtk_drop_down_set_model(self->sheet, G_LIST_MODEL(words));
  gtk_drop_down_set_selected(self->sheet, chosen);
}

void
loom_preview_list_scenes(LoomPreview *self)
{
  const LoomDesign *design = loom_document_design(self->document);
  guint n = loom_design_n_scenes(design), chosen = MIN(self->terms.book.scene, n - 1);
  g_autoptr(GtkStringList) words = gtk_string_list_new(NULL);
  for (guint i = 0; i < n; i++)
    gtk_string_list_append(words, loom_design_scene(design, i)->name);
  gtk_drop_down_set_model(self->scene, G_LIST_MODEL(words));
  gtk_drop_down_set_selected(self->scene, chosen);
}

static void
set_words(GtkDropDown *input, const char *const *labels)
{
  g_autoptr(GListModel) words = loom_word_list_new(labels);
  gtk_drop_down_set_model(input, words);
}

static void
set_range(GtkSpinButton *input, double least, double most, double value)
{
  gtk_spin_button_set_range(input, least, most);
  gtk_spin_button_set_increments(input, 1, 5);
  gtk_spin_button_set_value(input, value);
}

static void
show_terms(LoomPreview *self)
{
  const LoomEventDay *day = &self->terms.book.day;
  g_autofree char *first = g_strdup_printf("%u:%02u", day->first_min / 60, day->first_min % 60);
  set_words(self->what, what_labels);
  set_words(self->paper, paper_labels);
  gtk_drop_down_set_selected(self->paper, self->terms.book.paper);
  list_sheets(self);
  loom_preview_list_scenes(self);
  set_range(self->outings, 0, 40, day->n_outings);
  set_range(self->every, 1, 240, day->every_min);
  set_range(self->skip, 0, 200, 0);
  gtk_editable_set_text(GTK_EDITABLE(self->first), first);
}

void
loom_preview_add_choices(LoomPreview *self)
{
  show_terms(self);
  add_chapters(self);
  GtkDropDown *lists[] = {self->what, self->scene, self->paper, self->sheet};
  for (guint i = 0; i < G_N_ELEMENTS(lists); i++)
    follow(G_OBJECT(lists[i]), "notify::selected", self);
  follow(G_OBJECT(self->grey), "notify::active", self);
  follow(G_OBJECT(self->flags), "notify::active", self);
  GtkSpinButton *numbers[] = {self->outings, self->every, self->skip};
  for (guint i = 0; i < G_N_ELEMENTS(numbers); i++)
    follow(G_OBJECT(numbers[i]), "value-changed", self);
  follow(G_OBJECT(self->first), "changed", self);
}
