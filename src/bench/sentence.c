#include "sentence.h"

GtkWidget *
loom_sentence_new(const char *text, const char *css_class)
{
  GtkWidget *label = gtk_label_new(text);
  gtk_label_set_xalign(GTK_LABEL(label), 0);
  gtk_label_set_wrap(GTK_LABEL(label), TRUE);
  gtk_label_set_wrap_mode(GTK_LABEL(label), PANGO_WRAP_WORD_CHAR);
  if (css_class)
    gtk_widget_add_css_class(label, css_class);
  return label;
}
