#include "fault-view.h"

#include "fault-marks.h"
#include "fault-next.h"
#include "fault-ticks.h"
#include "sentence.h"

#include <glib/gi18n-lib.h>

struct _LoomFaultView {
  GtkWidget parent;
  LoomFaultCase *fault_case;
  GtkScrolledWindow *across, *suspects_scroller, *next_scroller;
  GtkBox *columns;
  guint settling; /* idle that turns the columns */
  LoomFaultTicks *ticks;
  LoomFaultNext *next;
  GtkListBox *suspects;
  GtkLabel *unexplained;
  GtkButton *undo_answer, *afresh;
  bool filling; /* rows are being put in: selections mean nothing */
};

G_DEFINE_FINAL_TYPE(LoomFaultView, loom_fault_view, GTK_TYPE_WIDGET)

enum { SHOWN, N_SIGNALS };
static guint signals[N_SIGNALS];

/* ---- suspects ---- */

static GtkWidget *
likelihood_new(double likelihood)
{
  GtkWidget *box = gtk_box_new(GTK_ORIENTATION_HORIZONTAL, 8);
  GtkWidget *bar = gtk_level_bar_new_for_interval(0, 1);
  g_autofree char *percent = loom_likelihood_percent(likelihood);
  g_autofree char *text = g_strdup_printf("%s, %s", percent, loom_likelihood_words(likelihood));
  gtk_level_bar_set_value(GTK_LEVEL_BAR(bar), likelihood);
  gtk_level_bar_remove_offset_value(GTK_LEVEL_BAR(bar), GTK_LEVEL_BAR_OFFSET_LOW);
  gtk_level_bar_remove_offset_value(GTK_LEVEL_BAR(bar), GTK_LEVEL_BAR_OFFSET_HIGH);
  gtk_level_bar_remove_offset_value(GTK_LEVEL_BAR(bar), GTK_LEVEL_BAR_OFFSET_FULL);
  gtk_widget_set_valign(bar, GTK_ALIGN_CENTER);
  gtk_widget_set_size_request(bar, 70, -1);
  gtk_box_append(GTK_BOX(box), bar);
  gtk_box_append(GTK_BOX(box), loom_sentence_new(text, "caption"));
  return box;
}

static GtkWidget *
row_new(const LoomFaultModel *m, const LoomSuspects *s, guint rank)
{
  GtkWidget *row = gtk_list_box_row_new(), *box = gtk_box_new(GTK_ORIENTATION_HORIZONTAL, 8);
  GtkWidget *text = gtk_box_new(GTK_ORIENTATION_VERTICAL, 2);
  g_auto(GStrv) sentences = loom_suspects_sentences(m, s);
  g_autofree char *number = g_strdup_printf("%u", rank);
  g_autofree char *all = g_strjoinv(_(" Or: "), sentences);
  g_autofree char *percent = loom_likelihood_percent(s->likelihood);
  g_autofree char *label =
      g_strdup_printf("%u, %s, %s: %s", rank, percent, loom_likelihood_words(s->likelihood), all);
  GtkWidget *badge = gtk_label_new(number);
  gtk_widget_add_css_class(badge, "fault-rank");
  gtk_widget_set_valign(badge, GTK_ALIGN_START);
  gtk_box_append(GTK_BOX(text), loom_sentence_new(sentences[0], NULL));
  for (guint i = 1; sentences[i]; i++) {
    g_autofree char *other = g_strdup_printf(_("or: %s"), sentences[i]);
    gtk_box_append(GTK_BOX(text), loom_sentence_new(other, NULL));
  }
  gtk_box_append(GTK_BOX(text), likelihood_new(s->likelihood));
  gtk_widget_set_hexpand(text, TRUE);
  gtk_box_append(GTK_BOX(box), badge);
  gtk_box_append(GTK_BOX(box), text);
  gtk_list_box_row_set_child(GTK_LIST_BOX_ROW(row), box);
  gtk_accessible_update_property(GTK_ACCESSIBLE(row), GTK_ACCESSIBLE_PROPERTY_LABEL, label, -1);
  return row;
}

static void
fill(LoomFaultView *self)
{
  const LoomFaultModel *m = loom_fault_case_model(self->fault_case);
  const LoomDiagnosis *d = loom_fault_case_diagnosis(self->fault_case);
  GtkListBoxRow *row;
  self->filling = true;
  while ((row = gtk_list_box_get_row_at_index(self->suspects, 0)))
    gtk_list_box_remove(self->suspects, GTK_WIDGET(row));
  for (guint i = 0; d && d->amiss && i < d->n_suspects; i++)
    gtk_list_box_append(self->suspects, row_new(m, &d->suspects[i], i + 1));
  gtk_list_box_unselect_all(self->suspects);
  self->filling = false;
}

static void
on_suspect(LoomFaultView *self, GtkListBoxRow *row)
{
  const LoomFaultModel *m = loom_fault_case_model(self->fault_case);
  const LoomDiagnosis *d = loom_fault_case_diagnosis(self->fault_case);
  guint index = row ? (guint)gtk_list_box_row_get_index(row) : LOOM_NONE;
  if (self->filling || !d || index >= d->n_suspects)
    return;
  const char *part, *end;
  loom_fault_place(&m->faults[d->suspects[index].faults[0]],
                   loom_fault_case_design(self->fault_case), &part, &end);
  g_signal_emit(self, signals[SHOWN], 0, part, end);
}

/* ---- the rest ---- */

static void
show_unexplained(LoomFaultView *self, const LoomDiagnosis *d)
{
  gtk_widget_set_visible(GTK_WIDGET(self->unexplained), d && d->unexplained > 0);
  if (!d || d->unexplained == 0)
    return;
  g_autofree char *text = g_strdup_printf(
      ngettext("No single fault explains all of this: %u answer does not fit. Either two things "
               "are wrong at once, or an answer is a slip.",
               "No single fault explains all of this: %u answers do not fit. Either two things "
               "are wrong at once, or an answer is a slip.",
               d->unexplained),
      d->unexplained);
  gtk_label_set_text(self->unexplained, text);
}

static void
on_case(LoomFaultCase *fault_case, gpointer data)
{
  LoomFaultView *self = data;
  gtk_widget_set_sensitive(GTK_WIDGET(self->undo_answer), loom_fault_case_can_undo(fault_case));
  gtk_widget_set_sensitive(GTK_WIDGET(self->afresh), loom_fault_case_n_answers(fault_case) > 0);
  show_unexplained(self, loom_fault_case_diagnosis(fault_case));
  fill(self);
}

static void
on_undo(LoomFaultView *self)
{
  loom_fault_case_undo(self->fault_case);
}

static void
on_afresh(LoomFaultView *self)
{
  loom_fault_case_afresh(self->fault_case);
}

/* ---- side by side, or one below the other where large text leaves no room for that ---- */

static int
width_wanted(LoomFaultView *self)
{
  int sum = 0;
  GtkWidget *column = gtk_widget_get_first_child(GTK_WIDGET(self->columns));
  for (; column; column = gtk_widget_get_next_sibling(column)) {
    int least;
    gtk_widget_measure(column, GTK_ORIENTATION_HORIZONTAL, -1, &least, NULL, NULL, NULL);
    sum += least + gtk_box_get_spacing(self->columns);
  }
  return sum;
}

static gboolean
settle(gpointer data)
{
  LoomFaultView *self = data;
  self->settling = 0;
  int room = (int)gtk_adjustment_get_page_size(gtk_scrolled_window_get_hadjustment(self->across));
  bool beside = width_wanted(self) <= room;
  GtkPolicyType own = beside ? GTK_POLICY_AUTOMATIC : GTK_POLICY_NEVER;
  gtk_orientable_set_orientation(GTK_ORIENTABLE(self->columns),
                                 beside ? GTK_ORIENTATION_HORIZONTAL : GTK_ORIENTATION_VERTICAL);
  gtk_scrolled_window_set_policy(self->across, GTK_POLICY_AUTOMATIC,
                                 beside ? GTK_POLICY_NEVER : GTK_POLICY_AUTOMATIC);
  gtk_scrolled_window_set_policy(self->suspects_scroller, GTK_POLICY_NEVER, own);
  gtk_scrolled_window_set_policy(self->next_scroller, GTK_POLICY_NEVER, own);
  loom_fault_ticks_set_scrolls(self->ticks, beside);
  return G_SOURCE_REMOVE;
}

static void
on_width(LoomFaultView *self)
{
  if (!self->settling)
    self->settling = g_idle_add(settle, self);
}

/* ---- life ---- */

void
loom_fault_view_attach(LoomFaultView *self, LoomFaultCase *fault_case, LoomChoice *choice)
{
  self->fault_case = g_object_ref(fault_case);
  loom_fault_ticks_attach(self->ticks, fault_case, choice);
  loom_fault_next_attach(self->next, fault_case);
  g_signal_connect_object(fault_case, "changed", G_CALLBACK(on_case), self, 0);
  on_case(fault_case, self);
}

static void
loom_fault_view_map(GtkWidget *widget)
{
  GTK_WIDGET_CLASS(loom_fault_view_parent_class)->map(widget);
  loom_fault_case_follow(LOOM_FAULT_VIEW(widget)->fault_case, true);
}

static void
loom_fault_view_unmap(GtkWidget *widget)
{
  loom_fault_case_follow(LOOM_FAULT_VIEW(widget)->fault_case, false);
  GTK_WIDGET_CLASS(loom_fault_view_parent_class)->unmap(widget);
}

static void
loom_fault_view_dispose(GObject *object)
{
  g_clear_handle_id(&LOOM_FAULT_VIEW(object)->settling, g_source_remove);
  g_clear_object(&LOOM_FAULT_VIEW(object)->fault_case);
  gtk_widget_dispose_template(GTK_WIDGET(object), LOOM_TYPE_FAULT_VIEW);
  GtkWidget *child = gtk_widget_get_first_child(GTK_WIDGET(object));
  g_clear_pointer(&child, gtk_widget_unparent);
  G_OBJECT_CLASS(loom_fault_view_parent_class)->dispose(object);
}

static void
loom_fault_view_class_init(LoomFaultViewClass *class)
{
  GtkWidgetClass *widget_class = GTK_WIDGET_CLASS(class);
  G_OBJECT_CLASS(class)->dispose = loom_fault_view_dispose;
  widget_class->map = loom_fault_view_map;
  widget_class->unmap = loom_fault_view_unmap;
  signals[SHOWN] = g_signal_new("shown", LOOM_TYPE_FAULT_VIEW, G_SIGNAL_RUN_LAST, 0, NULL, NULL,
                                NULL, G_TYPE_NONE, 2, G_TYPE_STRING, G_TYPE_STRING);
  g_type_ensure(LOOM_TYPE_FAULT_TICKS);
  g_type_ensure(LOOM_TYPE_FAULT_NEXT);
  gtk_widget_class_set_template_from_resource(widget_class, "/org/loombook/ui/fault-view.ui");
  gtk_widget_class_bind_template_child(widget_class, LoomFaultView, across);
  gtk_widget_class_bind_template_child(widget_class, LoomFaultView, suspects_scroller);
  gtk_widget_class_bind_template_child(widget_class, LoomFaultView, next_scroller);
  gtk_widget_class_bind_template_child(widget_class, LoomFaultView, columns);
  gtk_widget_class_bind_template_child(widget_class, LoomFaultView, ticks);
  gtk_widget_class_bind_template_child(widget_class, LoomFaultView, next);
  gtk_widget_class_bind_template_child(widget_class, LoomFaultView, suspects);
  gtk_widget_class_bind_template_child(widget_class, LoomFaultView, unexplained);
  gtk_widget_class_bind_template_child(widget_class, LoomFaultView, undo_answer);
  gtk_widget_class_bind_template_child(widget_class, LoomFaultView, afresh);
  gtk_widget_class_bind_template_callback(widget_class, on_suspect);
  gtk_widget_class_bind_template_callback(widget_class, on_undo);
  gtk_widget_class_bind_template_callback(widget_class, on_afresh);
}

static void
loom_fault_view_init(LoomFaultView *self)
{
  gtk_widget_init_template(GTK_WIDGET(self));
  g_signal_connect_object(gtk_scrolled_window_get_hadjustment(self->across), "notify::page-size",
                          G_CALLBACK(on_width), self, G_CONNECT_SWAPPED);
}
