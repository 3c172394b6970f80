/* The preview: the handout as it will be printed, in a window of its own.
 *
 * Pages are turned and enlarged; chapters, paper, greys and the day of the event are chosen on the
 * left, or sheets of wire labels in place of the book. From here it goes to the printer or into a
 * PDF. The pages follow the drawing; they are made anew in a thread, with their progress shown, and
 * the ones before stand until then. */
#pragma once

#include "document.h"

#include <gtk/gtk.h>

G_BEGIN_DECLS

#define LOOM_TYPE_PREVIEW (loom_preview_get_type())
G_DECLARE_FINAL_TYPE(LoomPreview, loom_preview, LOOM, PREVIEW, GtkApplicationWindow)

/* The document is referenced. */
GtkWindow *loom_preview_new(GtkApplication *application, LoomDocument *document);

G_END_DECLS
