#include "findings-list.h"

#include "sentence.h"

#include <glib/gi18n-lib.h>

struct _LoomFindingsList {
  GtkWidget parent;
  GtkListBox *list;
  GtkScrolledWindow *scroller;
  LoomDocument *document;
  bool stale;   /* the rows are not those of the present findings */
  bool filling; /* rows are being put in: selections mean nothing */
};

G_DEFINE_FINAL_TYPE(LoomFindingsList, loom_findings_list, GTK_TYPE_WIDGET)

enum { SHOWN, MEND, N_SIGNALS };
static guint signals[N_SIGNALS];

const char *
loom_severity_icon(LoomSeverity severity)
{
  static const char *const names[] = {"dialog-error-symbolic", "dialog-warning-symbolic",
                                      "dialog-information-symbolic"};
  return names[severity];
}

static const char *
severity_class(LoomSeverity severity)
{
  static const char *const names[] = {"stop", "care", "note"};
  return names[severity];
}

static guint
index_of(GtkWidget *row)
{
  return (guint)gtk_list_box_row_get_index(GTK_LIST_BOX_ROW(row));
}

/* Why and what to do are seen of the chosen row only. */
static void
unfold(LoomFindingsList *self, GtkListBoxRow *chosen)
{
  GtkListBoxRow *row;
  for (int i = 0; (row = gtk_list_box_get_row_at_index(self->list, i)); i++)
    gtk_widget_set_visible(g_object_get_data(G_OBJECT(row), "more"), row == chosen);
}

static void
on_selected(LoomFindingsList *self, GtkListBoxRow *row)
{
  if (!row || self->filling)
    return;
  unfold(self, row);
  g_signal_emit(self, signals[SHOWN], 0, index_of(GTK_WIDGET(row)));
}

static void
on_mend(GtkButton *button, gpointer data)
{
  GtkWidget *row = gtk_widget_get_ancestor(GTK_WIDGET(button), GTK_TYPE_LIST_BOX_ROW);
  g_signal_emit(data, signals[MEND], 0, index_of(row));
}

static GtkWidget *
flag_new(const LoomFinding *finding, guint number)
{
  GtkWidget *box = gtk_box_new(GTK_ORIENTATION_HORIZONTAL, 5);
  g_autofree char *text = g_strdup_printf("%u", number);
  gtk_box_append(GTK_BOX(box), gtk_image_new_from_icon_name(loom_severity_icon(finding->severity)));
  gtk_box_append(GTK_BOX(box), gtk_label_new(text));
  gtk_widget_set_valign(box, GTK_ALIGN_START);
  gtk_widget_add_css_class(box, "flag");
  gtk_widget_add_css_class(box, severity_class(finding->severity));
  return box;
}

static GtkWidget *
more_new(const LoomFinding *finding)
{
  GtkWidget *box = gtk_box_new(GTK_ORIENTATION_VERTICAL, 2);
  if (finding->why)
    gtk_box_append(GTK_BOX(box), loom_sentence_new(finding->why, "dim-label"));
  if (finding->remedy)
    gtk_box_append(GTK_BOX(box), loom_sentence_new(finding->remedy, NULL));
  gtk_widget_set_visible(box, FALSE);
  return box;
}

static GtkWidget *
row_new(LoomFindingsList *self, const LoomFinding *finding, guint number)
{
  GtkWidget *row = gtk_list_box_row_new();
  GtkWidget *box = gtk_box_new(GTK_ORIENTATION_HORIZONTAL, 12);
  GtkWidget *text = gtk_box_new(GTK_ORIENTATION_VERTICAL, 2);
  GtkWidget *more = more_new(finding);
  g_autofree char *label = g_strdup_printf("%s: %s %s", _(loom_severity_word(finding->severity)),
                                           finding->where, finding->message);
  gtk_box_append(GTK_BOX(text), loom_sentence_new(finding->message, "finding-message"));
  gtk_box_append(GTK_BOX(text), loom_sentence_new(finding->where, "dim-label"));
  gtk_box_append(GTK_BOX(text), more);
  gtk_widget_set_hexpand(text, TRUE);
  gtk_box_append(GTK_BOX(box), flag_new(finding, number));
  gtk_box_append(GTK_BOX(box), text);
  if (finding->mend) {
    GtkWidget *button = gtk_button_new_with_label(_("Mend"));
    gtk_widget_set_valign(button, GTK_ALIGN_START);
    gtk_widget_set_tooltip_text(button, finding->remedy);
    g_signal_connect(button, "clicked", G_CALLBACK(on_mend), self);
    gtk_box_append(GTK_BOX(box), button);
  }
  gtk_list_box_row_set_child(GTK_LIST_BOX_ROW(row), box);
  g_object_set_data(G_OBJECT(row), "more", more);
  gtk_accessible_update_property(GTK_ACCESSIBLE(row), GTK_ACCESSIBLE_PROPERTY_LABEL, label, -1);
  return row;
}

/* Rows are made only when somebody is going to see them. */
static void
fill(LoomFindingsList *self)
{
  if (!self->stale)
    return;
  self->stale = false;
  const LoomFindings *findings = loom_document_findings(self->document);
  GtkListBoxRow *row;
  self->filling = true;
  while ((row = gtk_list_box_get_row_at_index(self->list, 0)))
    gtk_list_box_remove(self->list, GTK_WIDGET(row));
  for (guint i = 0; findings && i < findings->n_findings; i++)
    gtk_list_box_append(self->list, row_new(self, &findings->findings[i], i + 1));
  gtk_list_box_unselect_all(self->list);
  self->filling = false;
}

static void
on_findings(LoomDocument *document, gpointer data)
{
  (void)document;
  LoomFindingsList *self = data;
  self->stale = true;
  if (gtk_widget_get_mapped(GTK_WIDGET(self)))
    fill(self);
}

static void
loom_findings_list_map(GtkWidget *widget)
{
  fill(LOOM_FINDINGS_LIST(widget));
  GTK_WIDGET_CLASS(loom_findings_list_parent_class)->map(widget);
}

void
loom_findings_list_attach(LoomFindingsList *self, LoomDocument *document)
{
  self->document = g_object_ref(document);
  g_signal_connect_object(document, "findings", G_CALLBACK(on_findings), self, 0);
}

static void
scroll_to(LoomFindingsList *self, GtkWidget *row)
{
  graphene_rect_t r;
  if (gtk_widget_compute_bounds(row, GTK_WIDGET(self->list), &r))
    gtk_adjustment_clamp_page(gtk_scrolled_window_get_vadjustment(self->scroller), r.origin.y,
                              r.origin.y + r.size.height);
}

void
loom_findings_list_choose(LoomFindingsList *self, guint finding)
{
  fill(self);
  GtkListBoxRow *row = gtk_list_box_get_row_at_index(self->list, (int)finding);
  if (!row)
    return;
  self->filling = true;
  gtk_list_box_select_row(self->list, row);
  self->filling = false;
  unfold(self, row);
  scroll_to(self, GTK_WIDGET(row));
}

void
loom_findings_list_step(LoomFindingsList *self, int by)
{
  const LoomFindings *findings = loom_document_findings(self->document);
  GtkListBoxRow *row = gtk_list_box_get_selected_row(self->list);
  if (!findings || !findings->n_findings)
    return;
  int n = (int)findings->n_findings;
  int next = row ? (gtk_list_box_row_get_index(row) + by + n) % n : 0;
  loom_findings_list_choose(self, (guint)next);
  g_signal_emit(self, signals[SHOWN], 0, (guint)next);
}

static void
loom_findings_list_dispose(GObject *object)
{
  g_clear_object(&LOOM_FINDINGS_LIST(object)->document);
  gtk_widget_dispose_template(GTK_WIDGET(object), LOOM_TYPE_FINDINGS_LIST);
  GtkWidget *child = gtk_widget_get_first_child(GTK_WIDGET(object));
  g_clear_pointer(&child, gtk_widget_unparent);
  G_OBJECT_CLASS(loom_findings_list_parent_class)->dispose(object);
}

static void
loom_findings_list_class_init(LoomFindingsListClass *class)
{
  GtkWidgetClass *widget_class = GTK_WIDGET_CLASS(class);
  G_OBJECT_CLASS(class)->dispose = loom_findings_list_dispose;
  widget_class->map = loom_findings_list_map;
  signals[SHOWN] = g_signal_new("shown", LOOM_TYPE_FINDINGS_LIST, G_SIGNAL_RUN_LAST, 0, NULL, NULL,
                                NULL, G_TYPE_NONE, 1, G_TYPE_UINT);
  signals[MEND] = g_signal_new("mend", LOOM_TYPE_FINDINGS_LIST, G_SIGNAL_RUN_LAST, 0, NULL, NULL,
                               NULL, G_TYPE_NONE, 1, G_TYPE_UINT);
  gtk_widget_class_set_template_from_resource(widget_class, "/org/loombook/ui/findings-list.ui");
  gtk_widget_class_bind_template_child(widget_class, LoomFindingsList, list);
  gtk_widget_class_bind_template_child(widget_class, LoomFindingsList, scroller);
  gtk_widget_class_bind_template_callback(widget_class, on_selected);
}

static void
loom_findings_list_init(LoomFindingsList *self)
{
  gtk_widget_init_template(GTK_WIDGET(self));
}
