/* The application: one process for all windows; catalogue, preferences, drafts and event log belong
 * to it. */
#pragma once

#include "window.h"

G_BEGIN_DECLS

#define LOOM_TYPE_APPLICATION (loom_application_get_type())
G_DECLARE_FINAL_TYPE(LoomApplication, loom_application, LOOM, APPLICATION, GtkApplication)

LoomApplication *loom_application_new(void);

/* A window with an empty sheet; not yet shown. Borrowed. */
LoomWindow *loom_application_new_window(LoomApplication *application);

G_END_DECLS
