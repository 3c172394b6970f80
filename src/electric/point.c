#include "point.h"

#include <glib/gi18n-lib.h>
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

/* The two powers with as many digits as tell them apart, four at least. */
static char *
demand_sentence(const char *name, double asks_W, double gives_W)
{
  char asks[32], gives[32];
  for (int digits = 4; digits <= 12; digits++) {
    g_snprintf(asks, sizeof asks, "%.*g", digits, asks_W);
    g_snprintf(gives, sizeof gives, "%.*g", digits, gives_W);
    if (!g_str_equal(asks, gives))
      break;
  }
  return g_strdup_printf(_("%s asks for %s W, but the supply can give it no more than %s W."), name,
                         asks, gives);
}

static char *
figure_sentence(const char *name, const LoomBranch *b)
{
  if (b->element && b->element->type == LOOM_ELEMENT_MOTOR && !(b->ohm > 0))
    return g_strdup_printf(_("The winding of %s has no resistance: there is no such motor."), name);
  return g_strdup_printf(_("%s has a figure that no such part can have, such as a negative "
                           "resistance or an efficiency above 1."),
                         name);
}

char *
loom_point_why(const LoomOperatingPoint *p, const LoomNetwork *network)
{
  if (p->trouble == LOOM_TROUBLE_NONE)
    return NULL;
  if (p->branch == LOOM_NONE)
    return g_strdup(_("The currents cannot be worked out: the circuit has no single answer."));
  g_autofree char *name = loom_branch_name(network, p->branch);
  switch (p->trouble) {
  case LOOM_TROUBLE_SINGULAR:
    return g_strdup_printf(_("The currents cannot be worked out: at %s the circuit has no single "
                             "answer."),
                           name);
  case LOOM_TROUBLE_FIGURE:
    return figure_sentence(name, &network->branches[p->branch]);
  case LOOM_TROUBLE_SHORT:
    return g_strdup_printf(_("%s is short-circuited, and the catalogue gives it no inner "
                             "resistance: the current would have no end."),
                           name);
  case LOOM_TROUBLE_LOOP:
    return g_strdup_printf(_("%s and another source hold a voltage at the same place, and neither "
                             "has an inner resistance that would say what flows between them."),
                           name);
  default:
    return demand_sentence(name, p->asks_W, p->gives_W);
  }
}
