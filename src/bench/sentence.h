/* A label for a sentence: from the left, on as many lines as it needs. */
#pragma once

#include <gtk/gtk.h>

G_BEGIN_DECLS

/* `css_class` may be NULL. New, floating. */
GtkWidget *loom_sentence_new(const char *text, const char *css_class);

G_END_DECLS
