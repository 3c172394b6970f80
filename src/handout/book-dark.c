/* If it stays dark: which symptom, which joint first. */
#include "book-private.h"

void
loom_book_dark(LoomMaking *m G_GNUC_UNUSED)
{
}
