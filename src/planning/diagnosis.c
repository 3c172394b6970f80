#include "csv.h"
#include "faults.h"

#include <math.h>
#include <string.h>

#define CONTRADICTED                                                                               \
  0.05                 /* of the best: a suspect that one answer more speaks against is left out */
#define FULL_SEARCH 11 /* classes up to which the best order of tests is worked out in full */

/* ---- Bayes ---- */

static bool
speaks_against(const LoomFaultModel *m, const LoomEvidence *e, guint fault)
{
  return e->outcomes != 0 && !(e->outcomes >> loom_fault_shows(m, fault, e->test) & 1);
}

/* Likelihoods after all answers, [n_faults], adding up to 1. New. */
static double *
likelihoods(const LoomFaultModel *m, const LoomEvidence *evidence, guint n)
{
  double *p = g_new(double, m->n_faults + 1), sum = 0;
  for (guint f = 0; f < m->n_faults; f++) {
    p[f] = m->faults[f].prior;
    for (guint i = 0; i < n; i++) {
      if (evidence[i].outcomes != 0)
        p[f] *= speaks_against(m, &evidence[i], f) ? LOOM_FAULT_SLIP : 1 - LOOM_FAULT_SLIP;
    }
    sum += p[f];
  }
  for (guint f = 0; f < m->n_faults; f++)
    p[f] /= sum;
  return p;
}

/* ---- classes ---- */

typedef struct {
  const LoomFaultModel *m;
  guint n_tests;
  guint *tests; /* [n_tests] those that are still to be done and tell some of the suspects apart */
  GArray *classes; /* LoomSuspects */
} Court;

static gint
likelier_first(gconstpointer a, gconstpointer b, gpointer data)
{
  const double *p = data;
  guint x = *(const guint *)a, y = *(const guint *)b;
  return p[x] != p[y] ? (p[x] > p[y] ? -1 : 1) : (x > y) - (x < y);
}

static bool
is_done(const LoomEvidence *evidence, guint n, guint test)
{
  for (guint i = 0; i < n; i++)
    if (evidence[i].test == test)
      return true;
  return false;
}

static void
list_tests(Court *c, const GArray *alive, const LoomEvidence *evidence, guint n)
{
  c->tests = g_new(guint, c->m->n_tests + 1);
  for (guint t = 0; t < c->m->n_tests; t++) {
    bool tells = false;
    for (guint i = 1; i < alive->len && !tells; i++)
      tells = loom_fault_shows(c->m, g_array_index(alive, guint, i), t) !=
              loom_fault_shows(c->m, g_array_index(alive, guint, 0), t);
    if (tells && !is_done(evidence, n, t))
      c->tests[c->n_tests++] = t;
  }
}

/* What the tests left show of a fault, as bytes. */
static GBytes *
profile(const Court *c, guint fault)
{
  g_autofree guint8 *shows = g_new(guint8, c->n_tests + 1);
  for (guint i = 0; i < c->n_tests; i++)
    shows[i] = (guint8)loom_fault_shows(c->m, fault, c->tests[i]);
  return g_bytes_new(shows, c->n_tests);
}

static void
group(Court *c, const GArray *alive, const double *p)
{
  g_autoptr(GHashTable) known =
      g_hash_table_new_full(g_bytes_hash, g_bytes_equal, (GDestroyNotify)g_bytes_unref, NULL);
  c->classes = g_array_new(FALSE, FALSE, sizeof(LoomSuspects));
  for (guint i = 0; i < alive->len; i++) {
    guint fault = g_array_index(alive, guint, i);
    GBytes *key = profile(c, fault);
    guint found = GPOINTER_TO_UINT(g_hash_table_lookup(known, key));
    if (found == 0) {
      LoomSuspects fresh = {.faults = g_new(guint, alive->len)};
      g_array_append_val(c->classes, fresh);
      found = c->classes->len;
      g_hash_table_insert(known, g_bytes_ref(key), GUINT_TO_POINTER(found));
    }
    g_bytes_unref(key);
    LoomSuspects *class = &g_array_index(c->classes, LoomSuspects, found - 1);
    class->faults[class->n_faults++] = fault;
    class->likelihood += p[fault];
  }
}

static gint
likelier_class(gconstpointer a, gconstpointer b)
{
  const LoomSuspects *x = a, *y = b;
  if (x->likelihood != y->likelihood)
    return x->likelihood > y->likelihood ? -1 : 1;
  return (x->faults[0] > y->faults[0]) - (x->faults[0] < y->faults[0]);
}

/* ---- the next test ---- */

static guint
shows(const Court *c, guint class, guint test)
{
  return loom_fault_shows(c->m, g_array_index(c->classes, LoomSuspects, class).faults[0], test);
}

static double
weight(const Court *c, guint class)
{
  return g_array_index(c->classes, LoomSuspects, class).likelihood;
}

static double
bits(double p)
{
  return p > 0 ? -p * log2(p) : 0;
}

/* Expected information of a test, of those that are given as a bit set or (all) of every class. */
static double
information(const Court *c, guint test)
{
  double by_outcome[32] = {0}, sum = 0, info = 0;
  for (guint i = 0; i < c->classes->len; i++) {
    by_outcome[shows(c, i, test)] += weight(c, i);
    sum += weight(c, i);
  }
  for (guint o = 0; o < 32; o++)
    info += bits(by_outcome[o] / sum);
  return info;
}

static guint
best_by_information(const Court *c)
{
  guint best = LOOM_NONE;
  double most = 0;
  for (guint i = 0; i < c->n_tests; i++) {
    double gain = information(c, c->tests[i]) / c->m->tests[c->tests[i]].trouble;
    if (!(gain > most))
      continue;
    most = gain;
    best = c->tests[i];
  }
  return best;
}

/* Least expected trouble from every set of classes to the end, and the test to begin with. Sets in
 * which a test tells nothing apart cost nothing. */
typedef struct {
  const Court *c;
  double *trouble; /* [2^n] NAN: not worked out yet; weighted by the set's likelihood */
  guint *first;
} Full;

static double
full_trouble(Full *f, guint32 set)
{
  if (!isnan(f->trouble[set]))
    return f->trouble[set];
  const Court *c = f->c;
  double total = 0, best = INFINITY;
  for (guint i = 0; i < c->classes->len; i++)
    total += set >> i & 1 ? weight(c, i) : 0;
  for (guint t = 0; (set & (set - 1)) && t < c->n_tests; t++) {
    guint32 parts[32] = {0};
    for (guint i = 0; i < c->classes->len; i++)
      if (set >> i & 1)
        parts[shows(c, i, c->tests[t])] |= 1u << i;
    double trouble = total * c->m->tests[c->tests[t]].trouble;
    for (guint o = 0; o < 32 && trouble < best; o++)
      if (parts[o] == set)
        trouble = INFINITY;
      else if (parts[o])
        trouble += full_trouble(f, parts[o]);
    if (trouble >= best)
      continue;
    best = trouble;
    f->first[set] = c->tests[t];
  }
  return f->trouble[set] = isinf(best) ? 0 : best;
}

static guint
best_in_full(const Court *c)
{
  guint32 n_sets = 1u << c->classes->len;
  Full f = {c, g_new(double, n_sets), g_new(guint, n_sets)};
  for (guint32 i = 0; i < n_sets; i++) {
    f.trouble[i] = NAN;
    f.first[i] = LOOM_NONE;
  }
  full_trouble(&f, n_sets - 1);
  guint best = f.first[n_sets - 1];
  g_free(f.trouble);
  g_free(f.first);
  return best;
}

/* Suspects that no answer speaks against, or no more answers than against any other. */
static void
list_alive(const LoomFaultModel *m, const double *p, GArray *alive)
{
  double most = 0;
  for (guint f = 0; f < m->n_faults; f++)
    most = fmax(most, p[f] / m->faults[f].prior);
  for (guint f = 0; f < m->n_faults; f++)
    if (p[f] / m->faults[f].prior >= CONTRADICTED * most)
      g_array_append_val(alive, f);
}

static void
weigh_answers(LoomDiagnosis *d, const LoomFaultModel *m, const GArray *alive,
              const LoomEvidence *evidence, guint n)
{
  d->unexplained = n;
  for (guint i = 0; i < alive->len; i++) {
    guint against = 0;
    for (guint k = 0; k < n; k++)
      against += speaks_against(m, &evidence[k], g_array_index(alive, guint, i));
    d->unexplained = MIN(d->unexplained, against);
  }
  for (guint k = 0; k < n; k++)
    d->amiss |= evidence[k].outcomes != 0 && !(evidence[k].outcomes & 1);
}

/* What is left out is left out of the likelihoods too: they hold if no answer is a slip. */
static void
keep_to(const GArray *alive, double *p)
{
  double sum = 0;
  for (guint i = 0; i < alive->len; i++)
    sum += p[g_array_index(alive, guint, i)];
  for (guint i = 0; i < alive->len; i++)
    p[g_array_index(alive, guint, i)] /= sum;
}

LoomDiagnosis *
loom_diagnosis_new(const LoomFaultModel *m, const LoomEvidence *evidence, guint n)
{
  LoomDiagnosis *d = g_new0(LoomDiagnosis, 1);
  d->next_test = LOOM_NONE;
  if (m->n_faults == 0)
    return d;
  g_autofree double *p = likelihoods(m, evidence, n);
  g_autoptr(GArray) alive = g_array_new(FALSE, FALSE, sizeof(guint));
  list_alive(m, p, alive);
  g_array_sort_with_data(alive, likelier_first, p);
  weigh_answers(d, m, alive, evidence, n);
  keep_to(alive, p);
  Court c = {.m = m};
  list_tests(&c, alive, evidence, n);
  group(&c, alive, p);
  g_array_sort(c.classes, likelier_class);
  if (c.classes->len > 1)
    d->next_test = c.classes->len <= FULL_SEARCH ? best_in_full(&c) : best_by_information(&c);
  for (guint i = 0; i < c.classes->len; i++)
    d->bits += bits(weight(&c, i));
  g_free(c.tests);
  d->n_suspects = c.classes->len;
  d->suspects = (LoomSuspects *)g_array_free(c.classes, FALSE);
  return d;
}

void
loom_diagnosis_free(LoomDiagnosis *d)
{
  if (!d)
    return;
  for (guint i = 0; i < d->n_suspects; i++)
    g_free(d->suspects[i].faults);
  g_free(d->suspects);
  g_free(d);
}

/* ---- the tree ---- */

/* Outcomes of the next test that some suspect shows, ascending. */
static guint
list_outcomes(const LoomFaultModel *m, const LoomDiagnosis *d, guint *outcomes)
{
  guint32 seen = 0;
  guint n = 0;
  for (guint i = 0; i < d->n_suspects; i++)
    seen |= 1u << loom_fault_shows(m, d->suspects[i].faults[0], d->next_test);
  for (guint o = 0; o < 32; o++)
    if (seen >> o & 1)
      outcomes[n++] = o;
  return n;
}

LoomFaultTree *
loom_fault_tree_new(const LoomFaultModel *m, const LoomEvidence *evidence, guint n, guint depth)
{
  LoomFaultTree *tree = g_new0(LoomFaultTree, 1);
  tree->diagnosis = loom_diagnosis_new(m, evidence, n);
  if (depth == 0 || tree->diagnosis->next_test == LOOM_NONE)
    return tree;
  guint outcomes[32];
  tree->n_branches = list_outcomes(m, tree->diagnosis, outcomes);
  tree->outcomes = g_memdup2(outcomes, tree->n_branches * sizeof *outcomes);
  tree->branches = g_new0(LoomFaultTree *, tree->n_branches);
  g_autofree LoomEvidence *more = g_new(LoomEvidence, n + 1);
  memcpy(more, evidence, n * sizeof *more);
  for (guint i = 0; i < tree->n_branches; i++) {
    more[n] = (LoomEvidence){tree->diagnosis->next_test, 1u << outcomes[i]};
    tree->branches[i] = loom_fault_tree_new(m, more, n + 1, depth - 1);
  }
  return tree;
}

void
loom_fault_tree_free(LoomFaultTree *tree)
{
  if (!tree)
    return;
  for (guint i = 0; i < tree->n_branches; i++)
    loom_fault_tree_free(tree->branches[i]);
  loom_diagnosis_free(tree->diagnosis);
  g_free(tree->outcomes);
  g_free(tree->branches);
  g_free(tree);
}

/* ---- CSV ---- */

/* What the likeliest other suspect shows that differs. */
static const char *
otherwise(const LoomFaultModel *m, const LoomDiagnosis *d, guint own)
{
  const LoomTest *test = &m->tests[d->next_test];
  for (guint i = 0; i < d->n_suspects; i++) {
    guint other = loom_fault_shows(m, d->suspects[i].faults[0], d->next_test);
    if (other != own)
      return test->outcomes[other];
  }
  return NULL;
}

char *
loom_diagnosis_to_csv(const LoomFaultModel *m, const LoomDiagnosis *d)
{
  g_autoptr(LoomCsv) csv = loom_csv_new();
  loom_csv_row(csv, "rank", "suspect", "fault", "likelihood", "next_test", "expected_if_so",
               "expected_if_not", NULL);
  for (guint i = 0; i < d->n_suspects; i++)
    for (guint k = 0; k < d->suspects[i].n_faults; k++) {
      const LoomFault *fault = &m->faults[d->suspects[i].faults[k]];
      bool more = d->next_test != LOOM_NONE;
      guint own = more ? loom_fault_shows(m, d->suspects[i].faults[k], d->next_test) : 0;
      loom_csv_whole(csv, i + 1);
      loom_csv_text(csv, fault->suspect);
      loom_csv_text(csv, fault->sentence);
      loom_csv_rounded(csv, d->suspects[i].likelihood, 4);
      loom_csv_text(csv, more ? m->tests[d->next_test].name : NULL);
      loom_csv_text(csv, more ? m->tests[d->next_test].outcomes[own] : NULL);
      loom_csv_text(csv, more ? otherwise(m, d, own) : NULL);
      loom_csv_end_row(csv);
    }
  return g_strdup(loom_csv_bytes(csv));
}
