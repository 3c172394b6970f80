/* A field of the tag: one property of one target, shown and edited.
 *
 * What is typed is taken on Enter or when the focus leaves, through loom_document_set; a value that
 * the design refuses stays in the field with the reason below it. loom_field_follow shows the
 * present value again, unless somebody is typing. */
#pragma once

#include "document.h"

#include <gtk/gtk.h>

G_BEGIN_DECLS

#define LOOM_TYPE_FIELD (loom_field_get_type())
G_DECLARE_FINAL_TYPE(LoomField, loom_field, LOOM, FIELD, GtkBox)

/* These words (NULL-terminated, marked with N_) in the user's language, as a list and as a
 * drop-down. New. */
GListModel *loom_word_list_new(const char *const *labels);
GtkWidget *loom_choice_of_words_new(const char *const *labels);

/* One line; `unit` stands behind it, `hint` in it while empty; either may be NULL. */
GtkWidget *loom_field_text_new(LoomDocument *document, const char *target, const char *key,
                               const char *label, const char *unit, const char *hint);
/* Several lines. */
GtkWidget *loom_field_long_new(LoomDocument *document, const char *target, const char *key,
                               const char *label);
/* "yes" or "no". */
GtkWidget *loom_field_switch_new(LoomDocument *document, const char *target, const char *key,
                                 const char *label);
/* One of `values`, shown as `labels`; both NULL-terminated. */
GtkWidget *loom_field_words_new(LoomDocument *document, const char *target, const char *key,
                                const char *label, const char *const *values,
                                const char *const *labels);

void loom_field_follow(LoomField *field);

G_END_DECLS
