#include "point.h"

#include <math.h>

void
loom_point_free(LoomOperatingPoint *p)
{
  if (!p)
    return;
  g_free(p->potential_V);
  g_free(p->into_A);
  g_free(p->flows);
  g_free(p->sleep);
  g_free(p->at_limit);
  g_free(p->held_back);
  g_free(p);
}

double
loom_point_volts(const LoomOperatingPoint *p, guint a, guint b)
{
  return p->potential_V[a] - p->potential_V[b];
}

double
loom_point_power_W(const LoomOperatingPoint *p, const LoomNetwork *network, guint branch)
{
  const LoomBranch *b = &network->branches[branch];
  const LoomCurrents *I = &p->flows[branch];
  const guint nodes[4] = {b->a, b->b, b->c, b->d};
  const double into[4] = {I->a_A, I->b_A, I->c_A, I->d_A};
  double watt = 0;
  for (guint i = 0; i < 4; i++)
    if (nodes[i] != LOOM_NONE && !isnan(p->potential_V[nodes[i]]))
      watt += p->potential_V[nodes[i]] * into[i];
  return watt;
}

char *
loom_point_why(const LoomOperatingPoint *p, const LoomNetwork *network)
{
  if (p->trouble == LOOM_TROUBLE_NONE)
    return NULL;
  if (p->trouble == LOOM_TROUBLE_SINGULAR || p->branch == LOOM_NONE)
    return g_strdup("The currents cannot be worked out: the circuit has no single answer.");
  g_autofree char *name = loom_branch_name(network, p->branch);
  switch (p->trouble) {
  case LOOM_TROUBLE_FIGURE:
    return g_strdup_printf("%s has a figure that no such part can have, such as a negative "
                           "resistance or an efficiency above 1.",
                           name);
  case LOOM_TROUBLE_SHORT:
    return g_strdup_printf("%s is short-circuited, and the catalogue gives it no inner resistance: "
                           "the current would have no end.",
                           name);
  case LOOM_TROUBLE_LOOP:
    return g_strdup_printf("%s works against another source, and neither has an inner resistance "
                           "that would limit the current between them.",
                           name);
  default:
    return g_strdup_printf("%s asks for %.4g W, but the supply can give it no more than %.4g W.",
                           name, p->asks_W, p->gives_W);
  }
}
