#include "random-net.h"

#include <lapacke.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

/* Values that kinds exist for: the catalogue holds kinds, not parts with figures of their own. */
enum { N_OHMS = 61, N_SOURCES = 20 };

static double
ohm_of(guint i)
{
  return pow(10, -3 + i * 0.1);
}

static void
source_of(guint i, double *emf_V, double *ohm)
{
  *emf_V = 1 + i % 10 * 2.3;
  *ohm = i % 2 ? 0 : 0.01 * (1 + i);
}

static void
add(GArray *list, guint a, guint b, double ohm, double emf_V)
{
  RandomElement e = {a, b, ohm, emf_V};
  g_array_append_val(list, e);
}

static double
some_ohm(GRand *rand)
{
  return ohm_of((guint)g_rand_int_range(rand, 0, N_OHMS));
}

/* Ideal sources must not close loops: each hangs a node of its own on the network. */
static void
add_source(GRand *rand, GArray *list, guint node, guint own)
{
  double emf_V, ohm;
  source_of((guint)g_rand_int_range(rand, 0, N_SOURCES), &emf_V, &ohm);
  add(list, own, node, ohm, emf_V);
}

static guint
earlier(GRand *rand, guint node, RandomShape shape, guint side)
{
  if (shape == SHAPE_GRID)
    return node % side ? node - 1 : node - MIN(side, node);
  return (guint)g_rand_int_range(rand, (gint32)(node > 40 ? node - 40 : 0), (gint32)node);
}

RandomNet *
random_net_new(GRand *rand, guint n_nodes, RandomShape shape)
{
  GArray *list = g_array_new(FALSE, FALSE, sizeof(RandomElement));
  guint side = MAX((guint)sqrt(n_nodes), 2);
  for (guint v = 1; v < n_nodes; v++) {
    guint to = earlier(rand, v, shape, side);
    if (v > 2 && g_rand_int_range(rand, 0, 12) == 0)
      add_source(rand, list, to, v);
    else
      add(list, to, v, some_ohm(rand), 0);
    if (shape == SHAPE_MESH && v > 3)
      add(list, earlier(rand, v, shape, side), v, some_ohm(rand), 0);
    if (shape == SHAPE_GRID && v >= side && v % side)
      add(list, v - side, v, some_ohm(rand), 0);
  }
  add(list, 0, n_nodes - 1, some_ohm(rand), 0); /* so that something flows in a tree */
  add(list, 0, n_nodes, 0.05, 0);
  add(list, n_nodes, 1, 0, 12);
  RandomNet *net = g_new(RandomNet, 1);
  net->n_nodes = n_nodes + 1;
  net->n_elements = list->len;
  net->elements = (RandomElement *)g_array_free(list, FALSE);
  return net;
}

void
random_net_free(RandomNet *net)
{
  g_free(net->elements);
  g_free(net);
}

static char *
kind_id(const RandomElement *e)
{
  return e->emf_V > 0 ? g_strdup_printf("s%.4g-%.4g", e->emf_V, e->ohm)
                      : g_strdup_printf("r%.4g", e->ohm);
}

static char *
kinds_text(const RandomNet *net)
{
  g_autoptr(GHashTable) done = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
  g_autoptr(GString) text = g_string_new(rig_post_family);
  g_string_append(text, rig_node_kind);
  for (guint i = 0; i < net->n_elements; i++) {
    const RandomElement *e = &net->elements[i];
    char *id = kind_id(e);
    if (!g_hash_table_add(done, id))
      continue;
    g_autofree char *element =
        e->emf_V > 0
            ? g_strdup_printf("<source a=\"a:x\" b=\"b:x\" emf_V=\"%.17g\" ohm=\"%.17g\"/>",
                              e->emf_V, e->ohm)
            : g_strdup_printf("<resistor a=\"a:x\" b=\"b:x\" ohm=\"%.17g\"/>", e->ohm);
    g_autofree char *kind = rig_kind(id, element);
    g_string_append(text, kind);
  }
  return g_strdup(text->str);
}

static void
plug_post(Rig *rig, guint serial, char letter, char end, guint node)
{
  g_autofree char *from = g_strdup_printf("%c%u:%c", letter, serial, end);
  g_autofree char *to = g_strdup_printf("X%u:a", node + 1);
  rig_plug(rig, from, to);
}

Rig *
random_net_rig(const RandomNet *net, const guint *order)
{
  g_autofree char *kinds = kinds_text(net);
  Rig *rig = rig_new(kinds);
  for (guint v = 0; v < net->n_nodes; v++) {
    g_autofree char *post = g_strdup_printf("X%u", v + 1);
    rig_add(rig, "node", post);
  }
  for (guint i = 0; i < net->n_elements; i++) {
    const RandomElement *e = &net->elements[order ? order[i] : i];
    char letter = e->emf_V > 0 ? 'G' : 'R';
    g_autofree char *id = kind_id(e);
    g_autofree char *part = g_strdup_printf("%c%u", letter, i + 1);
    rig_add(rig, id, part);
    plug_post(rig, i + 1, letter, 'a', e->a);
    plug_post(rig, i + 1, letter, 'b', e->b);
  }
  rig_done(rig);
  return rig;
}

double *
random_net_dense(const RandomNet *net, double *reciprocal_condition)
{
  guint n_sources = 0;
  for (guint i = 0; i < net->n_elements; i++)
    n_sources += net->elements[i].emf_V > 0;
  lapack_int n = (lapack_int)(net->n_nodes - 1 + n_sources);
  guint next = net->n_nodes - 1;
  g_autofree double *A = g_new0(double, (gsize)n *n), *b = g_new0(double, n);
  for (guint i = 0; i < net->n_elements; i++) {
    const RandomElement *e = &net->elements[i];
    const guint at[2] = {e->a, e->b};
    for (guint k = 0; k < 2; k++) {
      if (at[k] == 0)
        continue;
      guint row = at[k] - 1, other = at[1 - k];
      if (e->emf_V > 0) {
        A[row * n + next] = A[next * n + row] = k == 0 ? 1 : -1;
        continue;
      }
      A[row * n + row] += 1 / e->ohm;
      if (other)
        A[row * n + other - 1] -= 1 / e->ohm;
    }
    if (e->emf_V > 0) { /* the current into its positive pole: V(a) - V(b) - ohm I = emf */
      A[next * n + next] = -e->ohm;
      b[next++] = e->emf_V;
    }
  }
  double norm = LAPACKE_dlange(LAPACK_ROW_MAJOR, '1', n, n, A, n);
  g_autofree lapack_int *pivots = g_new(lapack_int, n);
  assert_int_equal(LAPACKE_dgetrf(LAPACK_ROW_MAJOR, n, n, A, n, pivots), 0);
  assert_int_equal(LAPACKE_dgecon(LAPACK_ROW_MAJOR, '1', n, A, n, norm, reciprocal_condition), 0);
  assert_int_equal(LAPACKE_dgetrs(LAPACK_ROW_MAJOR, 'N', n, 1, A, n, pivots, b, 1), 0);
  double *potential_V = g_new0(double, net->n_nodes);
  for (guint v = 1; v < net->n_nodes; v++)
    potential_V[v] = b[v - 1];
  return potential_V;
}
