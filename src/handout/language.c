#include "language.h"

#include <glib/gi18n-lib.h>

void
loom_language_init(void)
{
  const char *folder = g_getenv("LOOMBOOK_TRANSLATIONS");
  if (!folder)
    folder = g_file_test(LOOM_BUILD_LOCALE_DIR, G_FILE_TEST_IS_DIR) ? LOOM_BUILD_LOCALE_DIR
                                                                    : LOOM_LOCALE_DIR;
  bindtextdomain(GETTEXT_PACKAGE, folder);
  bind_textdomain_codeset(GETTEXT_PACKAGE, "UTF-8");
  textdomain(GETTEXT_PACKAGE); /* ngettext names no domain */
}
