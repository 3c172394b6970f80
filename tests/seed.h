/* Where random tests start: the same each time, so that a failure can be had again; LOOM_SEED in
 * the environment tries others. Include after cmocka.h. */
#pragma once

#include <glib.h>

static inline guint32
seed(void)
{
  const char *given = g_getenv("LOOM_SEED");
  guint32 value = given ? (guint32)g_ascii_strtoull(given, NULL, 10) : 1;
  print_message("LOOM_SEED=%u\n", value);
  return value;
}
