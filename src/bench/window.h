/* The window: one document with shelf, bench, tag, findings and the line that says whether it may
 * be powered. */
#pragma once

#include "document.h"
#include "preferences.h"

#include <gtk/gtk.h>

G_BEGIN_DECLS

#define LOOM_TYPE_WINDOW (loom_window_get_type())
G_DECLARE_FINAL_TYPE(LoomWindow, loom_window, LOOM, WINDOW, GtkApplicationWindow)

/* `document` and `preferences` are referenced. */
LoomWindow *loom_window_new(GtkApplication *application, LoomDocument *document,
                            LoomPreferences *preferences);
LoomDocument *loom_window_document(LoomWindow *window);
/* Fills the shelf anew. */
void loom_window_set_catalogue(LoomWindow *window, LoomCatalogue *catalogue);

/* Opens the file here if nothing has been drawn here yet, otherwise in a window of its own. */
void loom_window_open_path(LoomWindow *window, const char *path);

/* Says that this work comes from a draft, with the choice to keep it or not. */
void loom_window_show_recovered(LoomWindow *window, gint64 time);

/* A dialogue with one sentence about what went wrong. */
void loom_window_show_error(LoomWindow *window, const char *heading, const GError *error);

/* One of the program's actions. */
typedef struct {
  const char *name;    /* "undo"; in full "win.undo" */
  const char *label;   /* in menus */
  const char *section; /* of the shortcuts window; NULL: not listed there */
  const char *keys[3]; /* accelerators; the first is shown */
  void (*act)(LoomWindow *window);
  bool (*possible)(LoomWindow *window); /* NULL: always */
} LoomAction;

/* All of them, in the order of the shortcuts window; terminated by an entry without a name. */
const LoomAction *loom_window_actions(void);

G_END_DECLS
