#include "electric/supply.h"
#include "stages-private.h"

#include <math.h>

typedef struct {
  guint part, end, contact;
} Probe;

/* The supply's side of the joints that feed one part. */
typedef struct {
  guint part; /* which is fed */
  GArray *probes;
} Fed;

static void
clear_fed(gpointer data)
{
  g_array_unref(((Fed *)data)->probes);
}

static void
append_probes(const LoomStages *s, guint part, guint end, GArray *probes)
{
  const LoomEnd *e = &loom_wiring_part(s->wiring, part)->kind->ends[end];
  for (guint c = 0; c < e->n_contacts; c++) {
    Probe probe = {part, end, c};
    if (s->node_supply[loom_wiring_node(s->wiring, part, end, c)] != LOOM_NONE)
      g_array_append_val(probes, probe);
  }
}

static GArray *
probes_of(GArray *fed, GHashTable *index, guint part)
{
  guint found = GPOINTER_TO_UINT(g_hash_table_lookup(index, GUINT_TO_POINTER(part)));
  if (found > 0)
    return g_array_index(fed, Fed, found - 1).probes;
  Fed one = {part, g_array_new(FALSE, FALSE, sizeof(Probe))};
  g_array_append_val(fed, one);
  g_hash_table_insert(index, GUINT_TO_POINTER(part), GUINT_TO_POINTER(fed->len));
  return one.probes;
}

/* The parts that the supply feeds, each with all contacts that do it. */
static GArray *
list_fed(const LoomStages *s, guint supply)
{
  GArray *fed = g_array_new(FALSE, FALSE, sizeof(Fed));
  g_array_set_clear_func(fed, clear_fed);
  g_autoptr(GHashTable) index = g_hash_table_new(NULL, NULL);
  for (guint i = 0; i < s->wiring->n_joints; i++) {
    const LoomWiredJoint *j = &s->wiring->joints[i];
    if (s->joints[i].side != LOOM_SIDE_FEEDS || s->joints[i].supply != supply)
      continue;
    bool a_gives = loom_stages_supply_of(s, j->part_a, j->end_a) != LOOM_NONE;
    GArray *probes = probes_of(fed, index, a_gives ? j->part_b : j->part_a);
    append_probes(s, a_gives ? j->part_a : j->part_b, a_gives ? j->end_a : j->end_b, probes);
  }
  return fed;
}

/* No-load volts between two probes; NAN across islands. */
static LoomStageVolts
between(const LoomStages *s, const LoomSupply *supply, const Probe *red, const Probe *black)
{
  LoomStageVolts v = {red->part,      red->end, red->contact, black->part, black->end,
                      black->contact, NAN,      NAN,          NAN};
  loom_supply_volts(supply, loom_wiring_node(s->wiring, red->part, red->end, red->contact),
                    loom_wiring_node(s->wiring, black->part, black->end, black->contact),
                    &v.nominal_V, &v.low_V, &v.high_V);
  return v;
}

/* The two contacts that lie farthest apart in voltage, rather at one end than at two. */
static bool
farthest(const LoomStages *s, const LoomSupply *supply, const GArray *probes, LoomStageVolts *best)
{
  double most = 0;
  for (guint i = 0; i < probes->len; i++)
    for (guint k = 0; k < probes->len; k++) {
      LoomStageVolts v =
          between(s, supply, &g_array_index(probes, Probe, i), &g_array_index(probes, Probe, k));
      bool one_end = v.red_part == v.black_part && v.red_end == v.black_end;
      double score = v.nominal_V * (one_end ? 1.001 : 1);
      if (!(score > most))
        continue;
      most = score;
      *best = v;
    }
  return most > 0;
}

GArray *
loom_stages_volts(const LoomStages *s, guint supply)
{
  GArray *volts = g_array_new(FALSE, FALSE, sizeof(LoomStageVolts));
  g_autoptr(LoomSupply) all = loom_supply_new(s->wiring, NULL, true);
  g_autoptr(GArray) fed = list_fed(s, supply);
  for (guint i = 0; i < fed->len; i++) {
    LoomStageVolts best;
    if (farthest(s, all, g_array_index(fed, Fed, i).probes, &best))
      g_array_append_val(volts, best);
  }
  return volts;
}
