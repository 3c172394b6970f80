#include "book-private.h"

GArray *
loom_book_find_charging(const LoomDesign *design G_GNUC_UNUSED)
{
  return g_array_new(FALSE, FALSE, sizeof(LoomCharging));
}

void
loom_book_charging(LoomMaking *m G_GNUC_UNUSED)
{
}
