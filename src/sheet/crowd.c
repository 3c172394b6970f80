#include "crowd.h"

#include "grid.h"

#include <math.h>
#include <stdlib.h>

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
  crowd->bins = g_hash_table_new_full(loom_grid_hash, g_int64_equal, g_free, free_array);
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

static GArray *
bin_at(LoomCrowd *crowd, int i, int j)
{
  gint64 key = loom_grid_key(i, j);
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

/* Numbers found, in the order in which they were added; few enough mostly to need no memory. */
typedef struct {
  guint some[64];
  GArray *more; /* all of them, once they are too many; else NULL */
  guint n;
} Found;

static void
found_add(Found *f, guint number)
{
  if (f->n == G_N_ELEMENTS(f->some) && !f->more) {
    f->more = g_array_new(FALSE, FALSE, sizeof(guint));
    g_array_append_vals(f->more, f->some, f->n);
  }
  if (f->more)
    g_array_append_val(f->more, number);
  else
    f->some[f->n] = number;
  f->n++;
}

static int
by_number(const void *a, const void *b)
{
  guint x = *(const guint *)a, y = *(const guint *)b;
  return (x > y) - (x < y);
}

static void
gather(const GArray *bin, const LoomCrowd *crowd, LoomRect rect, Found *found)
{
  for (guint k = 0; k < bin->len; k++) {
    guint number = g_array_index(bin, guint, k);
    if (loom_rect_meets(g_array_index(crowd->all, LoomCrowded, number).rect, rect))
      found_add(found, number);
  }
}

static void
gather_all(const LoomCrowd *crowd, LoomRect rect, Found *found)
{
  Bins b = bins_of(rect);
  gather(crowd->large, crowd, rect, found);
  if (count(b) > MOST_BINS) {
    for (guint n = 0; n < crowd->all->len; n++)
      if (loom_rect_meets(g_array_index(crowd->all, LoomCrowded, n).rect, rect))
        found_add(found, n);
    return;
  }
  for (int j = b.j0; j <= b.j1; j++)
    for (int i = b.i0; i <= b.i1; i++) {
      gint64 key = loom_grid_key(i, j);
      const GArray *bin = g_hash_table_lookup(crowd->bins, &key);
      if (bin)
        gather(bin, crowd, rect, found);
    }
}

void
loom_crowd_each(const LoomCrowd *crowd, LoomRect rect, LoomCrowdSee see, gpointer data)
{
  Found found;
  found.more = NULL;
  found.n = 0;
  gather_all(crowd, rect, &found);
  guint *numbers = found.more ? (guint *)found.more->data : found.some;
  qsort(numbers, found.n, sizeof *numbers, by_number);
  for (guint k = 0; k < found.n; k++)
    if ((k == 0 || numbers[k] != numbers[k - 1]) &&
        !see(&g_array_index(crowd->all, LoomCrowded, numbers[k]), data))
      break;
  if (found.more)
    g_array_unref(found.more);
}
