#include "waterfall.h"

#include "graph.h"

#include <glib/gi18n-lib.h>
#include <math.h>

/* Branches at each node, by pin: incident[k] = 4 * branch + pin. */
typedef struct {
  const LoomNetwork *n;
  const LoomOperatingPoint *p;
  guint *first, *incident;
} Web;

static guint
node_at(const LoomNetwork *n, guint branch, guint pin)
{
  const LoomBranch *b = &n->branches[branch];
  const guint nodes[4] = {b->a, b->b, b->c, b->d};
  return nodes[pin];
}

static double
into_A(const LoomOperatingPoint *p, guint branch, guint pin)
{
  const LoomCurrents *I = &p->flows[branch];
  const double into[4] = {I->a_A, I->b_A, I->c_A, I->d_A};
  return into[pin];
}

static void
spin(Web *web)
{
  guint n_nodes = web->p->n_nodes;
  web->first = g_new0(guint, n_nodes + 2);
  web->incident = g_new(guint, 4 * web->n->n_branches + 1);
  guint *fill = web->first + 1;
  for (guint pass = 0; pass < 2; pass++) {
    for (guint k = 0; k < 4 * web->n->n_branches; k++) {
      guint node = node_at(web->n, k / 4, k % 4);
      if (node == LOOM_NONE)
        continue;
      if (pass == 0)
        fill[node + 1]++;
      else
        web->incident[fill[node]++] = k;
    }
    for (guint v = 0; pass == 0 && v < n_nodes; v++)
      fill[v + 1] += fill[v];
  }
}

/* The pin by which most current comes to the node (sign +1), or leaves it (-1). */
static guint
greatest_at(const Web *web, guint node, double sign, guint not_branch)
{
  guint best = LOOM_NONE;
  double most = 1e-12;
  for (guint k = web->first[node]; k < web->first[node + 1]; k++) {
    guint branch = web->incident[k] / 4;
    double A = -sign * into_A(web->p, branch, web->incident[k] % 4);
    if (branch != not_branch && A > most) {
      most = A;
      best = web->incident[k];
    }
  }
  return best;
}

static bool
is_type(const Web *web, guint branch, LoomElementType type)
{
  const LoomElement *e = web->n->branches[branch].element;
  return e && e->type == type;
}

static double
volts(const Web *web, guint a, guint b)
{
  return loom_point_volts(web->p, a, b);
}

/* What a driver or converter takes away between its input and its output. */
static double
taken_V(const Web *web, guint branch)
{
  const LoomBranch *b = &web->n->branches[branch];
  return fabs(volts(web, b->a, b->b)) - fabs(volts(web, b->c, b->d));
}

static void
add_drop(GArray *drops, guint branch, double current_A, double drop_V, bool back)
{
  LoomDrop drop = {.branch = branch, .current_A = current_A, .drop_V = drop_V, .back = back};
  g_array_append_val(drops, drop);
}

/* Against the current from `node` (sign +1), or with it (-1), up to a source; its branch, or
 * LOOM_NONE where the way ends. `at` gets the last node before it. Drops are appended in the order
 * met. */
static guint
follow(const Web *web, guint node, double sign, guint not_branch, GArray *drops, bool back)
{
  for (guint steps = 0; steps < web->n->n_branches; steps++) {
    guint k = greatest_at(web, node, sign, not_branch);
    if (k == LOOM_NONE)
      return LOOM_NONE;
    guint branch = k / 4, pin = k % 4;
    double A = fabs(into_A(web->p, branch, pin));
    not_branch = branch;
    if (is_type(web, branch, LOOM_ELEMENT_SOURCE))
      return branch;
    if (pin >= 2) { /* out of the output of a driver or converter, in at its input */
      if (!back)
        add_drop(drops, branch, A, taken_V(web, branch), back);
      node = node_at(web->n, branch, sign > 0 ? 0 : 1);
      continue;
    }
    guint next = node_at(web->n, branch, pin == 0 ? 1 : 0);
    add_drop(drops, branch, A, sign * volts(web, next, node), back);
    node = next;
  }
  return LOOM_NONE;
}

/* The source's EMF and inner drop, added; further sources in series follow until `last`. */
static bool
through_sources(const Web *web, LoomWaterfall *w, guint source, guint last, GArray *drops)
{
  for (guint steps = 0; steps < web->n->n_branches; steps++) {
    const LoomBranch *b = &web->n->branches[source];
    double A = fabs(into_A(web->p, source, 0)), inner_V = A * b->ohm;
    double emf_V = fabs(volts(web, b->a, b->b)) + inner_V;
    w->emf_V += emf_V;
    w->source = source;
    add_drop(drops, source, A, inner_V, false);
    if (source == last)
      return true;
    bool plus = into_A(web->p, source, 0) < 0; /* delivers at a, so takes in at b */
    source = follow(web, plus ? b->b : b->a, 1, source, drops, false);
    if (source == LOOM_NONE)
      return false;
  }
  return false;
}

static void
finish(LoomWaterfall *w, GArray *out, GArray *back)
{
  w->n_drops = out->len + back->len;
  w->drops = g_new(LoomDrop, w->n_drops + 1);
  for (guint i = 0; i < out->len; i++)
    w->drops[i] = g_array_index(out, LoomDrop, out->len - 1 - i);
  for (guint i = 0; i < back->len; i++)
    w->drops[out->len + i] = g_array_index(back, LoomDrop, i);
  for (guint i = 0; i < w->n_drops; i++)
    w->drops[i].share_pct = 100 * w->drops[i].drop_V / w->emf_V;
}

static bool
fall(const Web *web, LoomWaterfall *w, GArray *out, GArray *back)
{
  const LoomBranch *b = &web->n->branches[w->load];
  bool forward = into_A(web->p, w->load, 0) > 0;
  guint head = forward ? b->a : b->b, foot = forward ? b->b : b->a;
  w->load_V = volts(web, head, foot);
  guint source = follow(web, head, 1, w->load, out, false);
  guint last = follow(web, foot, -1, w->load, back, true);
  return source != LOOM_NONE && last != LOOM_NONE && through_sources(web, w, source, last, out);
}

LoomWaterfall *
loom_waterfall_new(const LoomNetwork *n, const LoomOperatingPoint *p, guint branch)
{
  if (p->trouble != LOOM_TROUBLE_NONE || fabs(p->flows[branch].a_A) < 1e-12)
    return NULL;
  Web web = {.n = n, .p = p};
  spin(&web);
  LoomWaterfall *w = g_new0(LoomWaterfall, 1);
  w->load = branch;
  GArray *out = g_array_new(FALSE, FALSE, sizeof(LoomDrop));
  GArray *back = g_array_new(FALSE, FALSE, sizeof(LoomDrop));
  if (fall(&web, w, out, back))
    finish(w, out, back);
  else
    g_clear_pointer(&w, loom_waterfall_free);
  g_array_free(out, TRUE);
  g_array_free(back, TRUE);
  g_free(web.first);
  g_free(web.incident);
  return w;
}

void
loom_waterfall_free(LoomWaterfall *w)
{
  if (!w)
    return;
  g_free(w->drops);
  g_free(w);
}

static char *
wire_text(const LoomPart *part, const LoomElement *wire)
{
  g_autofree char *size = loom_wire_size_words(wire->mm2);
  return g_strdup_printf(_("wire %s, %.0f mm"), size, loom_wire_length_mm(part, wire));
}

char *
loom_drop_what(const LoomDrop *drop, const LoomNetwork *n)
{
  static const char *const words[LOOM_N_ELEMENTS] = {
      [LOOM_ELEMENT_THROUGH] = N_("joint inside"),
      [LOOM_ELEMENT_SWITCH] = N_("switch"),
      [LOOM_ELEMENT_FUSE] = N_("fuse"),
      [LOOM_ELEMENT_SOURCE] = N_("inner resistance"),
      [LOOM_ELEMENT_RESISTOR] = N_("resistor"),
      [LOOM_ELEMENT_CURRENT] = N_("load on the way"),
      [LOOM_ELEMENT_POWER] = N_("load on the way"),
      [LOOM_ELEMENT_MOTOR] = N_("motor on the way"),
      [LOOM_ELEMENT_SERVO] = N_("servo on the way"),
      [LOOM_ELEMENT_DRIVER] = N_("driver, with its duty"),
      [LOOM_ELEMENT_CONVERTER] = N_("converter"),
  };
  const LoomBranch *b = &n->branches[drop->branch];
  if (!b->element)
    return g_strdup(_("contact"));
  return b->copper ? wire_text(loom_wiring_part(n->wiring, b->part), b->element)
                   : g_strdup(_(words[b->element->type]));
}
