#include "forest.h"

LoomForest *
loom_forest_new(guint n)
{
  LoomForest *f = g_new(LoomForest, 1);
  f->n = n;
  f->parent = g_new(guint, n);
  f->size = g_new(guint, n);
  for (guint i = 0; i < n; i++) {
    f->parent[i] = i;
    f->size[i] = 1;
  }
  return f;
}

void
loom_forest_free(LoomForest *f)
{
  if (!f)
    return;
  g_free(f->parent);
  g_free(f->size);
  g_free(f);
}

guint
loom_forest_root(LoomForest *f, guint node)
{
  while (f->parent[node] != node) {
    f->parent[node] = f->parent[f->parent[node]];
    node = f->parent[node];
  }
  return node;
}

bool
loom_forest_join(LoomForest *f, guint a, guint b)
{
  a = loom_forest_root(f, a);
  b = loom_forest_root(f, b);
  if (a == b)
    return false;
  if (f->size[a] < f->size[b]) {
    guint t = a;
    a = b;
    b = t;
  }
  f->parent[b] = a;
  f->size[a] += f->size[b];
  return true;
}

LoomCircuits *
loom_forest_circuits(LoomForest *f)
{
  LoomCircuits *c = g_new0(LoomCircuits, 1);
  g_autofree guint *number = g_new(guint, f->n);
  for (guint i = 0; i < f->n; i++)
    number[i] = LOOM_NONE;
  c->n_nodes = f->n;
  c->circuit = g_new(guint, f->n);
  for (guint i = 0; i < f->n; i++) {
    guint root = loom_forest_root(f, i);
    if (number[root] == LOOM_NONE)
      number[root] = c->n_circuits++;
    c->circuit[i] = number[root];
  }
  c->first = g_new0(guint, c->n_circuits + 1);
  c->nodes = g_new(guint, f->n);
  for (guint i = 0; i < f->n; i++)
    c->first[c->circuit[i] + 1]++;
  for (guint k = 0; k < c->n_circuits; k++)
    c->first[k + 1] += c->first[k];
  g_autofree guint *fill = g_memdup2(c->first, (c->n_circuits + 1) * sizeof(guint));
  for (guint i = 0; i < f->n; i++)
    c->nodes[fill[c->circuit[i]]++] = i;
  return c;
}
