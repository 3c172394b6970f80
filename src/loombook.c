/* The desktop program. */
#include "bench/application.h"
#include "handout/language.h"

#include <malloc.h>

/* Frames are painted into large buffers that come and go: kept by the allocator, their pages need
 * not be faulted in anew every time. */
#define KEEP_BELOW_BYTES (64 << 20)
#define TRIM_ABOVE_BYTES (256 << 20)

int
main(int argc, char **argv)
{
  mallopt(M_MMAP_THRESHOLD, KEEP_BELOW_BYTES);
  mallopt(M_TRIM_THRESHOLD, TRIM_ABOVE_BYTES);
  loom_language_init();
  g_set_application_name("Loombook");
  g_autoptr(LoomApplication) application = loom_application_new();
  return g_application_run(G_APPLICATION(application), argc, argv);
}
