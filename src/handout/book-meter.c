/* Meter checks. */
#include "book-private.h"

void
loom_book_meter(LoomMaking *m G_GNUC_UNUSED)
{
}
