/* The tag: what is known of the chosen part, joint or, where nothing is chosen, the whole design;
 * with everything editable. Signals: "offer" (string designation, string end)   what plugs in there
 * is wanted "swap" (string designation)                another kind is wanted */
#pragma once

#include "choice.h"
#include "document.h"

#include <gtk/gtk.h>

G_BEGIN_DECLS

#define LOOM_TYPE_TAG (loom_tag_get_type())
G_DECLARE_FINAL_TYPE(LoomTag, loom_tag, LOOM, TAG, GtkWidget)

void loom_tag_attach(LoomTag *tag, LoomDocument *document, LoomChoice *choice);
/* Moves the focus to the part's label, to name it. */
void loom_tag_name_part(LoomTag *tag);

G_END_DECLS
