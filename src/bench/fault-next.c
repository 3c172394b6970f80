#include "fault-next.h"

#include "fault-ticks.h"
#include "sentence.h"

#include <glib/gi18n-lib.h>

struct _LoomFaultNext {
  GtkBox parent;
  LoomFaultCase *fault_case;
  GtkLabel *heading, *todo;
  GtkBox *answers;
};

G_DEFINE_FINAL_TYPE(LoomFaultNext, loom_fault_next, GTK_TYPE_BOX)

/* ---- what an answer would mean ---- */

/* "1, 3, 4": numbers of the suspects that show this outcome; how likely it is. New or NULL. */
static char *
suspects_with(const LoomFaultModel *m, const LoomDiagnosis *d, guint outcome, double *likelihood)
{
  g_autoptr(GString) numbers = g_string_new(NULL);
  guint n = 0, from = 0;
  *likelihood = 0;
  for (guint i = 0; i <= d->n_suspects; i++) {
    bool shows =
        i < d->n_suspects && loom_fault_shows(m, d->suspects[i].faults[0], d->next_test) == outcome;
    if (shows && n++ == 0)
      from = i;
    if (shows)
      *likelihood += d->suspects[i].likelihood;
    if (shows || n == 0)
      continue;
    g_string_append_printf(numbers,
                           n == 1   ? "%s%u"
                           : n == 2 ? "%s%u, %u"
                                    : "%s%u–%u",
                           numbers->len ? ", " : "", from + 1, from + n);
    n = 0;
  }
  return numbers->len ? g_string_free(g_steal_pointer(&numbers), FALSE) : NULL;
}

static char *
meaning(const LoomFaultModel *m, const LoomDiagnosis *d, guint outcome, double *likelihood)
{
  g_autofree char *numbers = suspects_with(m, d, outcome, likelihood);
  if (!numbers)
    return NULL;
  bool one = !strpbrk(numbers, ",\342");
  return one ? g_strdup_printf(_("then it is suspect %s (%.0f %%)"), numbers, 100 * *likelihood)
             : g_strdup_printf(_("then it is one of %s (%.0f %%)"), numbers, 100 * *likelihood);
}

/* ---- answers as buttons ---- */

static void
on_answer(GtkButton *button, gpointer data)
{
  LoomFaultNext *self = data;
  guint outcome = GPOINTER_TO_UINT(g_object_get_data(G_OBJECT(button), "outcome"));
  const LoomDiagnosis *d = loom_fault_case_diagnosis(self->fault_case);
  if (d && d->next_test != LOOM_NONE)
    loom_fault_case_say(self->fault_case, d->next_test, outcome == LOOM_NONE ? 0 : 1u << outcome);
}

static void
add_answer(LoomFaultNext *self, const char *text, const char *means, guint outcome)
{
  GtkWidget *button = gtk_button_new(), *box = gtk_box_new(GTK_ORIENTATION_VERTICAL, 0);
  g_autofree char *whole = means ? g_strdup_printf("%s: %s", text, means) : g_strdup(text);
  gtk_box_append(GTK_BOX(box), loom_sentence_new(text, NULL));
  if (means)
    gtk_box_append(GTK_BOX(box), loom_sentence_new(means, "caption"));
  else
    gtk_widget_add_css_class(button, "flat");
  gtk_button_set_child(GTK_BUTTON(button), box);
  gtk_accessible_update_property(GTK_ACCESSIBLE(button), GTK_ACCESSIBLE_PROPERTY_LABEL, whole, -1);
  g_object_set_data(G_OBJECT(button), "outcome", GUINT_TO_POINTER(outcome));
  g_signal_connect(button, "clicked", G_CALLBACK(on_answer), self);
  gtk_box_append(self->answers, button);
}

/* What some suspect shows, the likeliest first; then what none does, unless it is somebody else
 * who answers. */
static void
add_answers(LoomFaultNext *self, const LoomFaultModel *m, const LoomDiagnosis *d)
{
  const LoomTest *test = &m->tests[d->next_test];
  guint32 left = 0;
  for (guint o = 0; o < test->n_outcomes; o++) {
    double likelihood;
    g_autofree char *numbers = suspects_with(m, d, o, &likelihood);
    left |= numbers ? 1u << o : 0;
  }
  guint32 shown = left;
  while (left) {
    guint best = LOOM_NONE;
    double most = -1, likelihood;
    for (guint o = 0; o < test->n_outcomes; o++) {
      g_autofree char *numbers = left >> o & 1 ? suspects_with(m, d, o, &likelihood) : NULL;
      if (!numbers || likelihood <= most)
        continue;
      most = likelihood;
      best = o;
    }
    g_autofree char *means = meaning(m, d, best, &likelihood);
    add_answer(self, test->outcomes[best], means, best);
    left &= ~(1u << best);
  }
  if (loom_fault_reads_volts(test))
    gtk_box_append(self->answers, loom_volts_entry_new(self->fault_case, d->next_test));
  for (guint o = 0; o < MIN(test->n_outcomes, 5) && test->type != LOOM_TEST_ROLL; o++)
    if (!(shown >> o & 1))
      add_answer(self, test->outcomes[o], NULL, o);
  add_answer(self, _("Cannot tell"), NULL, LOOM_NONE);
}

/* ---- showing ---- */

static void
clear_answers(LoomFaultNext *self)
{
  GtkWidget *child;
  while ((child = gtk_widget_get_first_child(GTK_WIDGET(self->answers))))
    gtk_box_remove(self->answers, child);
}

static void
say(LoomFaultNext *self, const char *heading, const char *text)
{
  gtk_label_set_text(self->heading, heading);
  gtk_label_set_text(self->todo, text);
}

static void
show_end(LoomFaultNext *self, const LoomFaultModel *m, const LoomDiagnosis *d)
{
  if (d->n_suspects == 1 && d->suspects[0].n_faults == 1) {
    g_autofree char *text = g_strdup_printf(_("%s Put it right, then start afresh and try again."),
                                            m->faults[d->suspects[0].faults[0]].sentence);
    say(self, _("Found"), text);
  } else {
    say(self, _("As far as tests go"),
        _("No test tells these any further apart. Try them one after the other, in this order."));
  }
}

static void
on_case(LoomFaultCase *fault_case, gpointer data)
{
  LoomFaultNext *self = data;
  const LoomFaultModel *m = loom_fault_case_model(fault_case);
  const LoomDiagnosis *d = loom_fault_case_diagnosis(fault_case);
  bool had_focus = gtk_widget_get_focus_child(GTK_WIDGET(self)) != NULL;
  clear_answers(self);
  if (!m)
    say(self, _("Next"), _("Every fault is being tried out on the drawing…"));
  else if (m->n_faults == 0)
    say(self, _("Next"), _("Nothing is plugged in this scene, so nothing can be at fault."));
  else if (!d->amiss)
    say(self, _("Next"),
        _("Tick on the left what does not work, and what does. Then the test that "
          "tells most is named here."));
  else if (d->next_test == LOOM_NONE)
    show_end(self, m, d);
  else {
    say(self, _("Test this next"), m->tests[d->next_test].todo);
    add_answers(self, m, d);
  }
  GtkWidget *first = gtk_widget_get_first_child(GTK_WIDGET(self->answers));
  if (had_focus && first)
    gtk_widget_grab_focus(first);
}

/* ---- life ---- */

void
loom_fault_next_attach(LoomFaultNext *self, LoomFaultCase *fault_case)
{
  self->fault_case = g_object_ref(fault_case);
  g_signal_connect_object(fault_case, "changed", G_CALLBACK(on_case), self, 0);
  on_case(fault_case, self);
}

static void
loom_fault_next_dispose(GObject *object)
{
  g_clear_object(&LOOM_FAULT_NEXT(object)->fault_case);
  G_OBJECT_CLASS(loom_fault_next_parent_class)->dispose(object);
}

static void
loom_fault_next_class_init(LoomFaultNextClass *class)
{
  G_OBJECT_CLASS(class)->dispose = loom_fault_next_dispose;
}

static void
loom_fault_next_init(LoomFaultNext *self)
{
  gtk_orientable_set_orientation(GTK_ORIENTABLE(self), GTK_ORIENTATION_VERTICAL);
  gtk_box_set_spacing(GTK_BOX(self), 6);
  self->heading = GTK_LABEL(loom_sentence_new(NULL, "tag-title"));
  self->todo = GTK_LABEL(loom_sentence_new(NULL, NULL));
  gtk_widget_set_name(GTK_WIDGET(self->todo), "fault-todo");
  self->answers = GTK_BOX(gtk_box_new(GTK_ORIENTATION_VERTICAL, 4));
  gtk_box_append(GTK_BOX(self), GTK_WIDGET(self->heading));
  gtk_box_append(GTK_BOX(self), GTK_WIDGET(self->todo));
  gtk_box_append(GTK_BOX(self), GTK_WIDGET(self->answers));
}
