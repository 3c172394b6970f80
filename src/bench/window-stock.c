#include "window-private.h"

#include "stock-window.h"

#include <glib/gi18n-lib.h>

void
loom_window_show_stock(LoomWindow *self)
{
  g_autofree char *path = loom_stock_default_path();
  g_autoptr(GError) error = NULL;
  if (!loom_stock_window_show(GTK_WINDOW(self), loom_document_catalogue(self->document), path,
                              loom_document_events(self->document), &error))
    loom_window_show_error(self, _("The stock could not be opened"), error);
}
