/* The drawer at the foot of the bench: pages of which one is in sight, or none.
 *
 *   loom_drawer_add(drawer, "flow", "What flows", page);
 *   loom_drawer_toggle(drawer, "flow");                       // a key, a menu entry
 *
 * A line of page buttons stands above the page, with a button that closes it; so does Escape from
 * within. Opened by `toggle` the page takes the keyboard; opened by `show` it does not, for what
 * the user did elsewhere. Pages are made or filled when they are mapped: nothing is computed for a
 * page that nobody sees. Signals:
 *   "shown"   which page is in sight has changed; see loom_drawer_page
 *   "left"    the page that had the keyboard was closed */
#pragma once

#include <gtk/gtk.h>
#include <stdbool.h>

G_BEGIN_DECLS

#define LOOM_TYPE_DRAWER (loom_drawer_get_type())
G_DECLARE_FINAL_TYPE(LoomDrawer, loom_drawer, LOOM, DRAWER, GtkWidget)

/* Adds a page at the right of the others. `name` becomes the widget's name; `title` is translated
 * already; the page is taken as a child. */
void loom_drawer_add(LoomDrawer *drawer, const char *name, const char *title, GtkWidget *page);
/* Name of the page in sight; NULL while the drawer is closed. Borrowed. */
const char *loom_drawer_page(LoomDrawer *drawer);
bool loom_drawer_shows(LoomDrawer *drawer, const char *name);
void loom_drawer_show(LoomDrawer *drawer, const char *name);
void loom_drawer_close(LoomDrawer *drawer);
/* Shows the page and gives it the keyboard, or closes it. */
void loom_drawer_toggle(LoomDrawer *drawer, const char *name);

G_END_DECLS
