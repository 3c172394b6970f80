#include "ink-private.h"

#include <string.h>

struct LoomStamps {
  GHashTable *surfaces; /* LoomStampKey, owned -> cairo_surface_t, owned */
};

static guint
hash(gconstpointer key)
{
  const guint32 *words = key;
  guint sum = 5381;
  for (gsize i = 0; i < sizeof(LoomStampKey) / sizeof *words; i++)
    sum = (sum << 5) + sum + words[i];
  return sum;
}

static gboolean
equal(gconstpointer a, gconstpointer b)
{
  return memcmp(a, b, sizeof(LoomStampKey)) == 0;
}

LoomStamps *
loom_stamps_new(void)
{
  LoomStamps *stamps = g_new(LoomStamps, 1);
  stamps->surfaces =
      g_hash_table_new_full(hash, equal, g_free, (GDestroyNotify)cairo_surface_destroy);
  return stamps;
}

void
loom_stamps_free(LoomStamps *stamps)
{
  if (!stamps)
    return;
  g_hash_table_unref(stamps->surfaces);
  g_free(stamps);
}

cairo_surface_t *
loom_stamps_find(LoomStamps *stamps, const LoomStampKey *key)
{
  return g_hash_table_lookup(stamps->surfaces, key);
}

void
loom_stamps_keep(LoomStamps *stamps, const LoomStampKey *key, cairo_surface_t *surface)
{
  g_hash_table_insert(stamps->surfaces, g_memdup2(key, sizeof *key), surface);
}
