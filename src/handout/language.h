/* In whose language the handout speaks. */
#pragma once

#include <glib.h>

G_BEGIN_DECLS

/* Tells the process where translations lie: $LOOMBOOK_TRANSLATIONS, then beside the build, then
 * where the program was installed. Call once at the start, after setlocale. */
void loom_language_init(void);

G_END_DECLS
