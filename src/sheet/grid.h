/* Tiles of a grid without bounds, as keys of a hash table. Never leaves this room. */
#pragma once

#include <glib.h>

G_BEGIN_DECLS

static inline gint64
loom_grid_key(int i, int j)
{
  return (gint64)((guint64)(guint32)i << 32 | (guint32)j);
}

/* Of a pointer to a key. Neighbours must not share a bucket, as they would by g_int64_hash. */
static inline guint
loom_grid_hash(gconstpointer key)
{
  return (guint)((*(const guint64 *)key * G_GUINT64_CONSTANT(0x9e3779b97f4a7c15)) >> 32);
}

/* Tile of `size` that holds place `a`. */
static inline int
loom_grid_tile(int a, int size)
{
  return a >= 0 ? a / size : -((size - 1 - a) / size);
}

G_END_DECLS
