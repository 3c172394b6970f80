#include "crowd.h"

#include <math.h>

#define BIN_MM 20.0
#define MOST_BINS 4096 /* of one rectangle; larger ones are asked every time */

struct LoomCrowd {
  GArray *all;      /* of LoomCrowded */
  GHashTable *bins; /* key of bin -> GArray of indices, ascending */
  GArray *large;    /* of indices */
};

static void
free_array(gpointer array)
{
  g_array_free(array, TRUE);
}

LoomCrowd *
loom_crowd_new(void)
{
  LoomCrowd *crowd = g_new(LoomCrowd, 1);
  crowd->all = g_array_new(FALSE, FALSE, sizeof(LoomCrowded));
  crowd->bins = g_hash_table_new_full(g_int64_hash, g_int64_equal, g_free, free_array);
  crowd->large = g_array_new(FALSE, FALSE, sizeof(guint));
  return crowd;
}

void
loom_crowd_free(LoomCrowd *crowd)
{
  if (!crowd)
    return;
  g_array_unref(crowd->all);
  g_hash_table_unref(crowd->bins);
  g_array_unref(crowd->large);
  g_free(crowd);
}

typedef struct {
  int i0, j0, i1, j1;
} Bins;

static Bins
bins_of(LoomRect r)
{
  return (Bins){(int)floor(r.x / BIN_MM), (int)floor(r.y / BIN_MM),
                (int)floor((r.x + r.width) / BIN_MM), (int)floor((r.y + r.height) / BIN_MM)};
}

static double
count(Bins b)
{
  return (b.i1 - b.i0 + 1.0) * (b.j1 - b.j0 + 1.0);
}

static gint64
key_of(int i, int j)
{
  return ((gint64)i << 32) ^ (guint32)j;
}

static GArray *
bin_at(LoomCrowd *crowd, int i, int j)
{
  gint64 key = key_of(i, j);
  GArray *bin = g_hash_table_lookup(crowd->bins, &key);
  if (!bin) {
    bin = g_array_new(FALSE, FALSE, sizeof(guint));
    g_hash_table_insert(crowd->bins, g_memdup2(&key, sizeof key), bin);
  }
  return bin;
}

void
loom_crowd_add(LoomCrowd *crowd, LoomRect rect, guint type, guint index)
{
  LoomCrowded one = {rect, type, index};
  guint number = crowd->all->len;
  g_array_append_val(crowd->all, one);
  Bins b = bins_of(rect);
  if (count(b) > MOST_BINS) {
    g_array_append_val(crowd->large, number);
    return;
  }
  for (int j = b.j0; j <= b.j1; j++)
    for (int i = b.i0; i <= b.i1; i++)
      g_array_append_val(bin_at(crowd, i, j), number);
}

static int
by_number(gconstpointer a, gconstpointer b)
{
  guint x = *(const guint *)a, y = *(const guint *)b;
  return (x > y) - (x < y);
}

static void
gather(const GArray *bin, const LoomCrowd *crowd, LoomRect rect, GArray *found)
{
  for (guint k = 0; k < bin->len; k++) {
    guint number = g_array_index(bin, guint, k);
    if (loom_rect_meets(g_array_index(crowd->all, LoomCrowded, number).rect, rect))
      g_array_append_val(found, number);
  }
}

void
loom_crowd_each(const LoomCrowd *crowd, LoomRect rect, LoomCrowdSee see, gpointer data)
{
  g_autoptr(GArray) found = g_array_new(FALSE, FALSE, sizeof(guint));
  gather(crowd->large, crowd, rect, found);
  Bins b = bins_of(rect);
  if (count(b) > MOST_BINS) {
    for (guint n = 0; n < crowd->all->len; n++)
      if (loom_rect_meets(g_array_index(crowd->all, LoomCrowded, n).rect, rect))
        g_array_append_val(found, n);
  } else {
    for (int j = b.j0; j <= b.j1; j++)
      for (int i = b.i0; i <= b.i1; i++) {
        gint64 key = key_of(i, j);
        const GArray *bin = g_hash_table_lookup(crowd->bins, &key);
        if (bin)
          gather(bin, crowd, rect, found);
      }
  }
  g_array_sort(found, by_number);
  for (guint k = 0; k < found->len; k++) {
    guint number = g_array_index(found, guint, k);
    if (k > 0 && number == g_array_index(found, guint, k - 1))
      continue;
    if (!see(&g_array_index(crowd->all, LoomCrowded, number), data))
      return;
  }
}
