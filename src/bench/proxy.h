/* A proxy: what a screen reader and the keyboard find in place of something that the canvas draws.
 *
 * It draws nothing itself. Its name and description are set as the accessible label and
 * description. */
#pragma once

#include <gtk/gtk.h>

G_BEGIN_DECLS

#define LOOM_TYPE_PROXY (loom_proxy_get_type())
G_DECLARE_FINAL_TYPE(LoomProxy, loom_proxy, LOOM, PROXY, GtkWidget)

/* `role`: LIST_ITEM for parts, BUTTON for ends. */
GtkWidget *loom_proxy_new(GtkAccessibleRole role);
/* Sets only what differs; `description` may be NULL. */
void loom_proxy_describe(LoomProxy *proxy, const char *name, const char *description);

G_END_DECLS
