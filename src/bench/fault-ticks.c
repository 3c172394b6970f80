#include "fault-ticks.h"

#include <glib/gi18n-lib.h>

struct _LoomFaultTicks {
  GtkBox parent;
  LoomFaultCase *fault_case;
  LoomChoice *choice;
  GtkBox *rows;
  GtkScrolledWindow *scroller;
  GtkWidget *volts, *volts_name, *volts_entry;
  guint serial; /* of the model that the rows are of; 0: none */
  bool setting; /* the buttons follow the answers: not a click */
};

G_DEFINE_FINAL_TYPE(LoomFaultTicks, loom_fault_ticks, GTK_TYPE_BOX)

/* ---- words ---- */

typedef struct {
  const char *works, *silent;
  guint silent_outcome;
} Words;

static Words
words_for(const LoomTest *test, const LoomDesign *design)
{
  if (test->type == LOOM_TEST_LAMP)
    return (Words){_("lit"), _("dark"), 1};
  if (test->type == LOOM_TEST_RESTART)
    return (Words){_("keeps running"), _("starts again"), 1};
  const char *channel = loom_design_part(design, test->part)->kind->devices[test->device].channel;
  if (g_str_equal(channel, "motor") || g_str_equal(channel, "servo"))
    return (Words){_("moves"), _("nothing"), 2};
  if (g_str_equal(channel, "encoder"))
    return (Words){_("counts"), _("nothing"), 2};
  return (Words){_("reads"), _("nothing"), 2};
}

static char *
name_for(const LoomTest *test, const LoomDesign *design)
{
  if (test->type == LOOM_TEST_RESTART)
    return g_strdup(_("Under load"));
  const LoomPart *part = loom_design_part(design, test->part);
  const char *called = part->label ? part->label : part->kind->name;
  bool counts = test->type == LOOM_TEST_ROLL &&
                g_str_equal(part->kind->devices[test->device].channel, "encoder");
  return counts ? g_strdup_printf(_("%s %s, count"), part->designation, called)
                : g_strdup_printf("%s %s", part->designation, called);
}

/* Only motors and counts have another way round. */
static bool
has_outcome(const LoomTest *test, const LoomDesign *design, guint outcome)
{
  if (outcome != 1)
    return true;
  const char *channel = loom_design_part(design, test->part)->kind->devices[test->device].channel;
  return g_str_equal(channel, "motor") || g_str_equal(channel, "encoder");
}

/* ---- one row ---- */

typedef struct {
  LoomFaultTicks *ticks; /* borrowed */
  guint test;
  guint silent_outcome;
  guint32 wrong_outcomes;
  GtkToggleButton *works, *silent, *wrong; /* wrong may be NULL */
  GtkDropDown *other;                      /* or NULL */
  guint others[32];                        /* outcome by its place in the list, from 1 */
  guint n_others;
} Row;

static void
say_or_forget(Row *row, GtkToggleButton *button, guint32 outcomes)
{
  if (row->ticks->setting)
    return;
  if (gtk_toggle_button_get_active(button))
    loom_fault_case_say(row->ticks->fault_case, row->test, outcomes);
  else
    loom_fault_case_forget(row->ticks->fault_case, row->test);
}

static void
on_works(GtkToggleButton *button, gpointer data)
{
  say_or_forget(data, button, 1u);
}

static void
on_silent(GtkToggleButton *button, gpointer data)
{
  say_or_forget(data, button, 1u << ((Row *)data)->silent_outcome);
}

static void
on_wrong(GtkToggleButton *button, gpointer data)
{
  say_or_forget(data, button, ((Row *)data)->wrong_outcomes);
}

static void
on_other(GtkDropDown *other, GParamSpec *spec, gpointer data)
{
  (void)spec;
  Row *row = data;
  guint chosen = gtk_drop_down_get_selected(other);
  if (!row->ticks->setting && chosen != GTK_INVALID_LIST_POSITION)
    loom_fault_case_say(row->ticks->fault_case, row->test,
                        chosen == 0 ? row->wrong_outcomes : 1u << row->others[chosen]);
}

static GtkWidget *
toggle_new(const char *word, const char *name, Row *row, GCallback on_toggled)
{
  GtkWidget *button = gtk_toggle_button_new_with_label(word);
  g_autofree char *label = g_strdup_printf("%s: %s", name, word);
  gtk_accessible_update_property(GTK_ACCESSIBLE(button), GTK_ACCESSIBLE_PROPERTY_LABEL, label, -1);
  gtk_widget_set_name(button, label);
  gtk_widget_add_css_class(button, "tick");
  g_signal_connect(button, "toggled", on_toggled, row);
  return button;
}

/* Whatever else may be seen, if anything: one button for all of it, and a line below to say what.
 */
static void
add_others(Row *row, const LoomTest *test, const LoomDesign *design, const char *name,
           GtkWidget *linked)
{
  GtkStringList *list = gtk_string_list_new(NULL);
  gtk_string_list_append(list, _("one of these; which?"));
  for (guint o = 1; o < test->n_outcomes; o++) {
    if (o == row->silent_outcome || !has_outcome(test, design, o))
      continue;
    row->others[++row->n_others] = o;
    row->wrong_outcomes |= 1u << o;
    gtk_string_list_append(list, test->outcomes[o]);
  }
  if (row->n_others == 0) {
    g_object_unref(list);
    return;
  }
  row->wrong = GTK_TOGGLE_BUTTON(toggle_new(_("wrong"), name, row, G_CALLBACK(on_wrong)));
  gtk_box_append(GTK_BOX(linked), GTK_WIDGET(row->wrong));
  row->other = GTK_DROP_DOWN(gtk_drop_down_new(G_LIST_MODEL(list), NULL));
  g_autofree char *label = g_strdup_printf(_("%s: what is wrong with it"), name);
  gtk_accessible_update_property(GTK_ACCESSIBLE(row->other), GTK_ACCESSIBLE_PROPERTY_LABEL, label,
                                 -1);
  gtk_widget_set_name(GTK_WIDGET(row->other), label);
  gtk_widget_set_halign(GTK_WIDGET(row->other), GTK_ALIGN_END);
  g_signal_connect(row->other, "notify::selected", G_CALLBACK(on_other), row);
}

static GtkWidget *
row_new(LoomFaultTicks *self, const LoomTest *test, guint index, const LoomDesign *design)
{
  GtkWidget *all = gtk_box_new(GTK_ORIENTATION_VERTICAL, 2);
  GtkWidget *box = gtk_box_new(GTK_ORIENTATION_HORIZONTAL, 6);
  GtkWidget *linked = gtk_box_new(GTK_ORIENTATION_HORIZONTAL, 0);
  g_autofree char *name = name_for(test, design);
  GtkWidget *label = gtk_label_new(name);
  Words words = words_for(test, design);
  Row *row = g_new0(Row, 1);
  row->ticks = self;
  row->test = index;
  row->silent_outcome = words.silent_outcome;
  g_object_set_data_full(G_OBJECT(all), "row", row, g_free);
  gtk_label_set_xalign(GTK_LABEL(label), 0);
  gtk_label_set_ellipsize(GTK_LABEL(label), PANGO_ELLIPSIZE_END);
  gtk_label_set_width_chars(GTK_LABEL(label), 9);
  gtk_widget_set_hexpand(label, TRUE);
  gtk_widget_set_tooltip_text(label, test->todo);
  gtk_widget_add_css_class(linked, "linked");
  row->works = GTK_TOGGLE_BUTTON(toggle_new(words.works, name, row, G_CALLBACK(on_works)));
  row->silent = GTK_TOGGLE_BUTTON(toggle_new(words.silent, name, row, G_CALLBACK(on_silent)));
  gtk_box_append(GTK_BOX(linked), GTK_WIDGET(row->works));
  gtk_box_append(GTK_BOX(linked), GTK_WIDGET(row->silent));
  gtk_box_append(GTK_BOX(box), label);
  gtk_box_append(GTK_BOX(box), linked);
  gtk_box_append(GTK_BOX(all), box);
  if (test->type == LOOM_TEST_ROLL)
    add_others(row, test, design, name, linked);
  if (row->other)
    gtk_box_append(GTK_BOX(all), GTK_WIDGET(row->other));
  return all;
}

/* ---- all rows ---- */

static bool
is_seen(const LoomTest *test)
{
  return test->type == LOOM_TEST_LAMP || test->type == LOOM_TEST_ROLL ||
         test->type == LOOM_TEST_RESTART;
}

static void
add_rows(LoomFaultTicks *self, LoomTestType type)
{
  const LoomFaultModel *m = loom_fault_case_model(self->fault_case);
  const LoomDesign *design = loom_fault_case_design(self->fault_case);
  for (guint i = 0; i < m->n_tests; i++)
    if (m->tests[i].type == type && is_seen(&m->tests[i]))
      gtk_box_append(self->rows, row_new(self, &m->tests[i], i, design));
}

static void
fill(LoomFaultTicks *self)
{
  GtkWidget *child;
  while ((child = gtk_widget_get_first_child(GTK_WIDGET(self->rows))))
    gtk_box_remove(self->rows, child);
  self->serial = loom_fault_case_serial(self->fault_case);
  add_rows(self, LOOM_TEST_LAMP);
  add_rows(self, LOOM_TEST_ROLL);
  add_rows(self, LOOM_TEST_RESTART);
}

static void
show_answer(LoomFaultTicks *self, Row *row)
{
  guint32 said = 0;
  bool answered = loom_fault_case_find(self->fault_case, row->test, &said);
  gtk_toggle_button_set_active(row->works, answered && said == 1u);
  gtk_toggle_button_set_active(row->silent, answered && said == 1u << row->silent_outcome);
  bool wrong = answered && said & row->wrong_outcomes;
  guint place = 0;
  for (guint i = 1; wrong && i <= row->n_others; i++)
    if (said == 1u << row->others[i])
      place = i;
  if (!row->other)
    return;
  gtk_toggle_button_set_active(row->wrong, wrong);
  gtk_drop_down_set_selected(row->other, place);
  gtk_widget_set_visible(GTK_WIDGET(row->other), wrong && row->n_others > 1);
}

static void
show_answers(LoomFaultTicks *self)
{
  self->setting = true;
  GtkWidget *child = gtk_widget_get_first_child(GTK_WIDGET(self->rows));
  for (; child; child = gtk_widget_get_next_sibling(child))
    show_answer(self, g_object_get_data(G_OBJECT(child), "row"));
  self->setting = false;
}

/* ---- volts at the chosen end ---- */

/* Test of the volts at the end, or at the other one of its joint. */
static guint
volts_at(LoomFaultTicks *self, const char *name)
{
  const LoomFaultModel *m = loom_fault_case_model(self->fault_case);
  const LoomDesign *design = loom_fault_case_design(self->fault_case);
  guint part, end, joint;
  if (!loom_design_find_end(design, name, &part, &end, NULL))
    return LOOM_NONE;
  guint test = loom_fault_find_volts(m, part, end);
  if (test != LOOM_NONE || !loom_design_joints_at(design, part, end, &joint, 1))
    return test;
  for (guint i = 0; i < m->n_tests; i++)
    if (m->tests[i].type == LOOM_TEST_OPENED && m->tests[i].joint == joint)
      return i;
  return LOOM_NONE;
}

static guint
chosen_volts(LoomFaultTicks *self)
{
  const LoomDesign *design = loom_fault_case_design(self->fault_case);
  guint joint = loom_choice_joint(self->choice, design);
  g_autofree char *name = NULL;
  if (joint != LOOM_NONE) {
    const LoomJoint *j = loom_design_joint(design, joint);
    name = g_strdup_printf("%s:%s", j->a.part, j->a.end);
    guint test = volts_at(self, name);
    if (test != LOOM_NONE)
      return test;
    g_free(name);
    name = g_strdup_printf("%s:%s", j->b.part, j->b.end);
  } else if (loom_choice_end(self->choice)) {
    name =
        g_strdup_printf("%s:%s", loom_choice_cursor(self->choice), loom_choice_end(self->choice));
  }
  return name ? volts_at(self, name) : LOOM_NONE;
}

static void
show_volts(LoomFaultTicks *self)
{
  const LoomFaultModel *m = loom_fault_case_model(self->fault_case);
  guint test = m ? chosen_volts(self) : LOOM_NONE;
  bool chosen = m && (loom_choice_end(self->choice) || loom_choice_is_joint(self->choice));
  g_autofree char *text =
      test != LOOM_NONE ? g_strdup_printf(_("Meter, %s"), m->tests[test].name)
      : chosen          ? g_strdup(_("No volts are to be read at the end that is chosen."))
                        : g_strdup(_("Read a meter? Click the end on the drawing where you did."));
  gtk_label_set_text(GTK_LABEL(self->volts_name), text);
  gtk_widget_set_tooltip_text(self->volts, test == LOOM_NONE ? NULL : m->tests[test].todo);
  gtk_widget_set_visible(self->volts_entry, test != LOOM_NONE);
  if (test != LOOM_NONE)
    loom_volts_entry_set(self->volts_entry, test);
}

/* ---- life ---- */

static void
on_case(LoomFaultCase *fault_case, gpointer data)
{
  LoomFaultTicks *self = data;
  gtk_widget_set_sensitive(GTK_WIDGET(self), loom_fault_case_model(fault_case) != NULL);
  if (!loom_fault_case_model(fault_case))
    return;
  if (self->serial != loom_fault_case_serial(fault_case))
    fill(self);
  show_answers(self);
  show_volts(self);
}

static void
on_choice(LoomChoice *choice, gpointer data)
{
  (void)choice;
  show_volts(data);
}

static void
add_volts(LoomFaultTicks *self)
{
  self->volts = gtk_box_new(GTK_ORIENTATION_HORIZONTAL, 6);
  self->volts_name = gtk_label_new(NULL);
  self->volts_entry = loom_volts_entry_new(self->fault_case, LOOM_NONE);
  gtk_label_set_xalign(GTK_LABEL(self->volts_name), 0);
  gtk_label_set_wrap(GTK_LABEL(self->volts_name), TRUE);
  gtk_widget_set_hexpand(self->volts_name, TRUE);
  gtk_box_append(GTK_BOX(self->volts), self->volts_name);
  gtk_box_append(GTK_BOX(self->volts), self->volts_entry);
  gtk_box_append(GTK_BOX(self), self->volts);
}

void
loom_fault_ticks_attach(LoomFaultTicks *self, LoomFaultCase *fault_case, LoomChoice *choice)
{
  self->fault_case = g_object_ref(fault_case);
  self->choice = g_object_ref(choice);
  add_volts(self);
  g_signal_connect_object(fault_case, "changed", G_CALLBACK(on_case), self, 0);
  g_signal_connect_object(choice, "changed", G_CALLBACK(on_choice), self, 0);
  on_case(fault_case, self);
  show_volts(self);
}

void
loom_fault_ticks_set_scrolls(LoomFaultTicks *self, bool scrolls)
{
  gtk_scrolled_window_set_policy(self->scroller, GTK_POLICY_NEVER,
                                 scrolls ? GTK_POLICY_AUTOMATIC : GTK_POLICY_NEVER);
}

static void
loom_fault_ticks_dispose(GObject *object)
{
  LoomFaultTicks *self = LOOM_FAULT_TICKS(object);
  g_clear_object(&self->fault_case);
  g_clear_object(&self->choice);
  G_OBJECT_CLASS(loom_fault_ticks_parent_class)->dispose(object);
}

static void
loom_fault_ticks_class_init(LoomFaultTicksClass *class)
{
  G_OBJECT_CLASS(class)->dispose = loom_fault_ticks_dispose;
}

static void
loom_fault_ticks_init(LoomFaultTicks *self)
{
  gtk_orientable_set_orientation(GTK_ORIENTABLE(self), GTK_ORIENTATION_VERTICAL);
  gtk_box_set_spacing(GTK_BOX(self), 4);
  self->rows = GTK_BOX(gtk_box_new(GTK_ORIENTATION_VERTICAL, 4));
  GtkWidget *scroller = gtk_scrolled_window_new();
  gtk_scrolled_window_set_policy(GTK_SCROLLED_WINDOW(scroller), GTK_POLICY_NEVER,
                                 GTK_POLICY_AUTOMATIC);
  gtk_scrolled_window_set_child(GTK_SCROLLED_WINDOW(scroller), GTK_WIDGET(self->rows));
  gtk_widget_set_vexpand(scroller, TRUE);
  self->scroller = GTK_SCROLLED_WINDOW(scroller);
  gtk_box_append(GTK_BOX(self), scroller);
}
