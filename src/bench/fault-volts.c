/* A reading typed in, for both places of the fault finding view that take one. */
#include "fault-ticks.h"

#include <glib/gi18n-lib.h>

typedef struct {
  LoomFaultCase *fault_case; /* borrowed: lives as long as the view */
  GtkEditable *entry;
  guint test;
} Volts;

static void
on_volts(Volts *volts)
{
  g_autofree char *text = g_strdelimit(g_strdup(gtk_editable_get_text(volts->entry)), ",", '.');
  const LoomFaultModel *m = loom_fault_case_model(volts->fault_case);
  double reading;
  bool good = loom_number_from_text(g_strstrip(text), &reading);
  if (good)
    gtk_widget_remove_css_class(GTK_WIDGET(volts->entry), "error");
  else
    gtk_widget_add_css_class(GTK_WIDGET(volts->entry), "error");
  if (good && m && volts->test < m->n_tests)
    loom_fault_case_say(volts->fault_case, volts->test,
                        1u << loom_fault_volts_outcome(&m->tests[volts->test], reading));
}

static void
on_number(GtkEditable *entry)
{
  gtk_widget_remove_css_class(GTK_WIDGET(entry), "error");
}

GtkWidget *
loom_volts_entry_new(LoomFaultCase *fault_case, guint test)
{
  GtkWidget *box = gtk_box_new(GTK_ORIENTATION_HORIZONTAL, 6), *entry = gtk_entry_new();
  GtkWidget *take = gtk_button_new_with_label(_("Take"));
  Volts *volts = g_new(Volts, 1);
  *volts = (Volts){fault_case, GTK_EDITABLE(entry), test};
  gtk_editable_set_max_width_chars(GTK_EDITABLE(entry), 7);
  gtk_editable_set_width_chars(GTK_EDITABLE(entry), 5);
  gtk_entry_set_input_purpose(GTK_ENTRY(entry), GTK_INPUT_PURPOSE_NUMBER);
  gtk_widget_set_name(entry, "volts");
  gtk_accessible_update_property(GTK_ACCESSIBLE(entry), GTK_ACCESSIBLE_PROPERTY_LABEL,
                                 _("Volts that the meter shows"), -1);
  gtk_accessible_update_property(GTK_ACCESSIBLE(take), GTK_ACCESSIBLE_PROPERTY_LABEL,
                                 _("Take the reading"), -1);
  gtk_box_append(GTK_BOX(box), entry);
  gtk_box_append(GTK_BOX(box), gtk_label_new("V"));
  gtk_box_append(GTK_BOX(box), take);
  g_object_set_data_full(G_OBJECT(box), "volts", volts, g_free);
  g_signal_connect_swapped(entry, "activate", G_CALLBACK(on_volts), volts);
  g_signal_connect_swapped(take, "clicked", G_CALLBACK(on_volts), volts);
  g_signal_connect(entry, "changed", G_CALLBACK(on_number), NULL);
  return box;
}

void
loom_volts_entry_set(GtkWidget *box, guint test)
{
  Volts *volts = g_object_get_data(G_OBJECT(box), "volts");
  if (volts->test != test)
    gtk_editable_set_text(volts->entry, "");
  volts->test = test;
}
