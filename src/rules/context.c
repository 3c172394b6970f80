#include "context-private.h"

#include <math.h>
#include <string.h>

static bool
draws(const LoomElement *e)
{
  return e->type >= LOOM_ELEMENT_RESISTOR && e->type < LOOM_N_ELEMENTS;
}

static void
count_elements(LoomDesk *desk)
{
  for (guint p = 0; p < desk->n_parts; p++) {
    const LoomKind *kind = loom_design_part(desk->design, p)->kind;
    for (guint i = 0; i < kind->n_elements; i++) {
      desk->n_loads += draws(&kind->elements[i]);
      desk->n_outputs += kind->elements[i].type == LOOM_ELEMENT_DRIVER;
    }
  }
}

static void
list_elements(LoomScenery *s)
{
  const LoomWiring *w = s->wiring;
  s->loads = g_new(LoomLoad, s->desk->n_loads + 1);
  s->outputs = g_new(LoomOutput, s->desk->n_outputs + 1);
  guint loads = 0, outputs = 0;
  for (guint p = 0; p < w->n_parts; p++) {
    const LoomKind *kind = loom_wiring_part(w, p)->kind;
    guint n = w->part_node[p];
    for (guint i = 0; i < kind->n_elements; i++) {
      const LoomElement *e = &kind->elements[i];
      if (draws(e))
        s->loads[loads++] = (LoomLoad){p, i, e, n + e->a, n + e->b};
      if (e->type == LOOM_ELEMENT_DRIVER)
        s->outputs[outputs++] = (LoomOutput){p, i, e, n + e->a, n + e->b, {n + e->c, n + e->d}};
    }
  }
}

static void
list_node_ends(LoomScenery *s)
{
  const LoomWiring *w = s->wiring;
  s->node_end = g_new(guint, w->n_nodes + 1);
  memset(s->node_end, 0xff, (w->n_nodes + 1) * sizeof(guint));
  for (guint p = 0; p < w->n_parts; p++) {
    const LoomKind *kind = loom_wiring_part(w, p)->kind;
    for (guint e = 0; e < kind->n_ends; e++)
      for (guint c = 0; c < kind->ends[e].n_contacts; c++)
        s->node_end[loom_wiring_node(w, p, e, c)] = e;
  }
}

static void
mark_signals(LoomScenery *s)
{
  s->signals = g_new0(bool, s->wired->n_circuits + 1);
  for (guint node = 0; node < s->wiring->n_nodes; node++) {
    const LoomContact *c = loom_scenery_contact(s, node);
    if (c && c->role == LOOM_ROLE_SIGNAL)
      s->signals[s->wired->circuit[node]] = true;
  }
}

/* One letter a switch: which are closed in the state. */
static char *
switch_pattern(const LoomWiring *w, const LoomState *state, bool closed)
{
  GString *pattern = g_string_new(NULL);
  for (guint p = 0; p < w->n_parts; p++) {
    const LoomPart *part = loom_wiring_part(w, p);
    if (part->kind->has_switch)
      g_string_append_c(pattern, closed || loom_part_on(part, state) ? '1' : '0');
  }
  return g_string_free(pattern, FALSE);
}

/* States that set the same switches share one supply. */
static void
work_out_supplies(LoomScenery *s)
{
  const LoomScene *scene = loom_design_scene(s->wiring->design, s->scene);
  guint n = MAX(scene->n_states, 1);
  s->states = g_new0(LoomSupply *, n);
  s->state_of = g_new0(guint, n);
  g_autoptr(GHashTable) seen = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
  for (guint i = 0; i < n; i++) {
    const LoomState *state = scene->n_states ? &scene->states[i] : NULL;
    char *pattern = switch_pattern(s->wiring, state, false);
    if (g_hash_table_contains(seen, pattern)) {
      g_free(pattern);
      continue;
    }
    s->states[s->n_states] = loom_supply_new(s->wiring, state, false);
    s->state_of[s->n_states] = state ? i : LOOM_NONE;
    g_hash_table_insert(seen, pattern, s->states[s->n_states++]);
  }
  g_autofree char *closed = switch_pattern(s->wiring, NULL, true);
  s->closed = g_hash_table_lookup(seen, closed);
  s->closed_is_state = s->closed != NULL;
  if (!s->closed)
    s->closed = loom_supply_new(s->wiring, NULL, true);
}

static bool
any_shorted(const LoomSupply *supply)
{
  guint n;
  const LoomFeed *feeds = loom_supply_feeds(supply, &n);
  for (guint i = 0; i < n; i++)
    if (feeds[i].shorted)
      return true;
  return false;
}

static double
greatest_V(const LoomFeed *feeds, const LoomLoop *loop)
{
  double most = 0;
  for (guint i = 0; i < loop->n_feeds; i++)
    most = fmax(most, feeds[loop->feeds[i]].high_V);
  return most;
}

bool
loom_loop_opposed(const LoomFeed *feeds, const LoomLoop *loop)
{
  return fabs(loop->mismatch_V) > 0.6 * greatest_V(feeds, loop);
}

bool
loom_loop_belongs(const LoomFeed *feeds, const LoomLoop *loop)
{
  guint chargers = 0, packs = 0;
  bool one_part = true;
  for (guint i = 0; i < loop->n_feeds; i++) {
    const LoomFeed *f = &feeds[loop->feeds[i]];
    chargers += f->charger;
    packs += f->pack;
    one_part &= f->part == feeds[loop->feeds[0]].part;
  }
  return !loom_loop_opposed(feeds, loop) &&
         (one_part || (chargers == 1 && packs + 1 == loop->n_feeds));
}

static bool
any_fight(const LoomSupply *supply)
{
  guint n_feeds, n_loops;
  const LoomFeed *feeds = loom_supply_feeds(supply, &n_feeds);
  const LoomLoop *loops = loom_supply_loops(supply, &n_loops);
  for (guint i = 0; i < n_loops; i++)
    if (!loom_loop_belongs(feeds, &loops[i]))
      return true;
  return false;
}

static void
judge_soundness(LoomScenery *s)
{
  s->unsound = any_shorted(s->closed);
  for (guint i = 0; i < s->n_states; i++)
    s->unsound |= any_shorted(s->states[i]) || any_fight(s->states[i]);
}

static guint
root(guint *parent, guint i)
{
  while (parent[i] != i)
    i = parent[i] = parent[parent[i]];
  return i;
}

static void
settle_imagined(LoomScenery *s)
{
  const LoomCircuits *c = loom_supply_circuits(s->closed);
  guint n_feeds;
  const LoomFeed *feeds = loom_supply_feeds(s->closed, &n_feeds);
  for (guint i = 0; i < c->n_circuits; i++)
    s->seemingly[i] = root(s->seemingly, i);
  for (guint i = 0; i < c->n_circuits; i++)
    if (s->seemingly[i] != i)
      s->patched[s->seemingly[i]] = true;
  for (guint i = 0; i < n_feeds; i++) {
    s->seemingly_fed[s->seemingly[c->circuit[feeds[i].plus]]] = true;
    s->seemingly_fed[s->seemingly[c->circuit[feeds[i].minus]]] = true;
  }
}

/* Joins the circuits on both sides of joints that do not mate, way by way: what the maker meant. */
static void
imagine_joints(LoomScenery *s)
{
  const LoomWiring *w = s->wiring;
  const LoomCircuits *c = loom_supply_circuits(s->closed);
  s->seemingly = g_new(guint, c->n_circuits + 1);
  s->seemingly_fed = g_new0(bool, c->n_circuits + 1);
  s->patched = g_new0(bool, c->n_circuits + 1);
  for (guint i = 0; i < c->n_circuits; i++)
    s->seemingly[i] = i;
  for (guint i = 0; i < w->n_joints; i++) {
    const LoomWiredJoint *j = &w->joints[i];
    if (j->mate == LOOM_MATE_YES)
      continue;
    const LoomEnd *a = &loom_wiring_part(w, j->part_a)->kind->ends[j->end_a];
    const LoomEnd *b = &loom_wiring_part(w, j->part_b)->kind->ends[j->end_b];
    guint n = a->n_contacts && b->n_contacts ? MAX(a->n_contacts, b->n_contacts) : 0;
    for (guint k = 0; k < n; k++) {
      guint x = loom_wiring_node(w, j->part_a, j->end_a, MIN(k, a->n_contacts - 1));
      guint y = loom_wiring_node(w, j->part_b, j->end_b, MIN(k, b->n_contacts - 1));
      x = c->circuit[x];
      y = c->circuit[y];
      s->seemingly[root(s->seemingly, x)] = root(s->seemingly, y);
    }
  }
  settle_imagined(s);
}

/* What each circuit gets, so that rules need not go through all poles of a common return. */
static void
sum_up_circuits(LoomScenery *s)
{
  const LoomCircuits *c = loom_supply_circuits(s->closed);
  guint n_feeds;
  const LoomFeed *feeds = loom_supply_feeds(s->closed, &n_feeds);
  s->pole_index = g_new0(guint, 2 * n_feeds + 1);
  s->pack_at = g_new(guint, c->n_circuits + 1);
  memset(s->pack_at, 0xff, (c->n_circuits + 1) * sizeof(guint));
  s->charged = g_new0(bool, c->n_circuits + 1);
  s->converted = g_new0(bool, c->n_circuits + 1);
  s->plus_V = g_new0(double, c->n_circuits + 1);
  for (guint k = 0; k < c->n_circuits; k++) {
    guint node = c->nodes[c->first[k]];
    for (guint i = 0; i < loom_supply_n_reach(s->closed, node); i++) {
      LoomReach r = loom_supply_reach(s->closed, node, i);
      const LoomFeed *f = &feeds[r.feed];
      s->pole_index[2 * r.feed + r.plus] = i;
      s->charged[k] |= f->charger;
      s->converted[k] |= f->converter && r.plus;
      s->plus_V[k] = r.plus ? fmax(s->plus_V[k], f->high_V) : s->plus_V[k];
      if (f->pack && (s->pack_at[k] == LOOM_NONE || r.plus))
        s->pack_at[k] = 2 * r.feed + r.plus;
    }
  }
}

/* The pack, if there is one, whose two poles come to the two nodes; `plus_at_a` says which way. */
static const LoomFeed *
pack_over(const LoomSupply *supply, guint a, guint b, bool *plus_at_a)
{
  const guint *circuit = loom_supply_circuits(supply)->circuit;
  guint n;
  const LoomFeed *feeds = loom_supply_feeds(supply, &n);
  for (guint i = 0; i < loom_supply_n_reach(supply, a); i++) {
    LoomReach r = loom_supply_reach(supply, a, i);
    const LoomFeed *f = &feeds[r.feed];
    *plus_at_a = r.plus;
    if (f->pack && circuit[b] == circuit[r.plus ? f->minus : f->plus])
      return f;
  }
  return NULL;
}

bool
loom_supply_ruling_volts(const LoomSupply *supply, guint a, guint b, double *nominal_V,
                         double *high_V)
{
  bool plus_at_a;
  double low, high;
  const LoomFeed *pack = pack_over(supply, a, b, &plus_at_a);
  if (pack) {
    *nominal_V = plus_at_a ? pack->nominal_V : -pack->nominal_V;
    if (high_V)
      *high_V = plus_at_a ? pack->high_V : -pack->high_V;
    return true;
  }
  if (!loom_supply_volts(supply, a, b, nominal_V, &low, &high))
    return false;
  if (high_V)
    *high_V = fabs(low) > fabs(high) ? low : high;
  return true;
}

bool
loom_scenery_pole(const LoomScenery *s, guint node, guint feed, bool plus, LoomReach *reach)
{
  const guint *circuit = loom_supply_circuits(s->closed)->circuit;
  guint n;
  const LoomFeed *f = &loom_supply_feeds(s->closed, &n)[feed];
  if (!f->alive || circuit[node] != circuit[plus ? f->plus : f->minus])
    return false;
  if (reach)
    *reach = loom_supply_reach(s->closed, node, s->pole_index[2 * feed + plus]);
  return true;
}

static void
mark_waiting(LoomScenery *s)
{
  const LoomCircuits *c = loom_supply_circuits(s->closed);
  guint n_feeds;
  const LoomFeed *feeds = loom_supply_feeds(s->closed, &n_feeds);
  s->waits = g_new0(bool, c->n_circuits + 1);
  for (guint i = 0; i < n_feeds; i++)
    if (!feeds[i].alive)
      s->waits[c->circuit[feeds[i].plus]] = true;
}

static void
place_outputs(LoomScenery *s)
{
  const LoomCircuits *c = loom_supply_circuits(s->closed);
  s->output_at = g_new(guint, c->n_circuits + 1);
  memset(s->output_at, 0xff, (c->n_circuits + 1) * sizeof(guint));
  for (guint i = s->desk->n_outputs; i-- > 0;)
    for (guint k = 0; k < 2; k++)
      s->output_at[c->circuit[s->outputs[i].pole[k]]] = 2 * i + k;
}

static void
collect_channels(const LoomScenery *s, GArray *found)
{
  const LoomWiring *w = s->wiring;
  for (guint p = 0; p < w->n_parts; p++) {
    const LoomKind *kind = loom_wiring_part(w, p)->kind;
    for (guint i = 0; i < kind->n_channels; i++)
      for (guint k = 0; k < kind->channels[i].n_nodes; k++) {
        LoomChannelNode n = {p, i, k, w->part_node[p] + kind->channels[i].nodes[k]};
        g_array_append_val(found, n);
      }
  }
}

static void
index_channels(LoomScenery *s)
{
  const LoomCircuits *c = s->wired;
  g_autoptr(GArray) found = g_array_new(FALSE, FALSE, sizeof(LoomChannelNode));
  collect_channels(s, found);
  const LoomChannelNode *all = (const LoomChannelNode *)found->data;
  s->channel_first = g_new0(guint, c->n_circuits + 2);
  s->channels = g_new(LoomChannelNode, found->len + 1);
  guint *fill = s->channel_first + 1; /* becomes the table of firsts as it fills up */
  for (guint i = 0; i < found->len; i++)
    fill[c->circuit[all[i].node] + 1]++;
  for (guint i = 0; i < c->n_circuits; i++)
    fill[i + 1] += fill[i];
  for (guint i = 0; i < found->len; i++)
    s->channels[fill[c->circuit[all[i].node]]++] = all[i];
}

static LoomScenery *
scenery_new(LoomDesk *desk, guint scene)
{
  LoomScenery *s = g_new0(LoomScenery, 1);
  s->desk = desk;
  s->scene = scene;
  s->wiring = loom_wiring_new(desk->design, scene);
  s->graph = loom_graph_new(s->wiring);
  s->network = loom_network_new(s->wiring);
  s->wired = loom_circuits_new(s->wiring, NULL, LOOM_THROUGH_FUSES);
  s->inside = loom_circuits_new(s->wiring, NULL,
                                LOOM_THROUGH_OPEN | LOOM_THROUGH_FUSES | LOOM_WITHOUT_JOINTS);
  s->limits = loom_limits_new(s->wiring);
  list_node_ends(s);
  list_elements(s);
  mark_signals(s);
  work_out_supplies(s);
  judge_soundness(s);
  s->crossed = g_new0(bool, s->wiring->n_parts + 1);
  imagine_joints(s);
  mark_waiting(s);
  sum_up_circuits(s);

  place_outputs(s);
  index_channels(s);
  return s;
}

static void
scenery_free(LoomScenery *s)
{
  for (guint i = 0; i < s->n_states; i++)
    loom_supply_free(s->states[i]);
  if (!s->closed_is_state)
    loom_supply_free(s->closed);
  loom_graph_free(s->graph);
  loom_operation_free(s->own_full);
  loom_operation_free(s->low);
  loom_network_free(s->network);
  loom_circuits_free(s->wired);
  loom_circuits_free(s->inside);
  loom_limits_free(s->limits);
  loom_wiring_free(s->wiring);
  g_free(s->states);
  g_free(s->state_of);
  g_free(s->node_end);
  g_free(s->signals);
  g_free(s->crossed);
  g_free(s->seemingly);
  g_free(s->seemingly_fed);
  g_free(s->patched);
  g_free(s->pole_index);
  g_free(s->pack_at);
  g_free(s->charged);
  g_free(s->converted);
  g_free(s->plus_V);
  g_free(s->waits);
  g_free(s->output_at);
  g_free(s->loads);
  g_free(s->outputs);
  g_free(s->channel_first);
  g_free(s->channels);
  g_free(s);
}

static void
remember(LoomDesk *desk, const LoomScenery *s)
{
  for (guint i = 0; i < desk->n_loads; i++) {
    LoomStand stand = loom_scenery_stand(s, &s->loads[i]);
    desk->fed[i] |= stand == LOOM_STANDS_FED;
    desk->half[i] |= stand == LOOM_STANDS_ON_A || stand == LOOM_STANDS_ON_B;
  }
  for (guint i = 0; i < s->wiring->n_joints; i++) {
    desk->plugged[s->wiring->joints[i].part_a] = true;
    desk->plugged[s->wiring->joints[i].part_b] = true;
  }
}

LoomDesk *
loom_desk_new(const LoomDesign *design, LoomReport *report)
{
  LoomDesk *desk = g_new0(LoomDesk, 1);
  desk->design = design;
  desk->report = report;
  desk->n_scenes = loom_design_n_scenes(design);
  desk->n_parts = loom_design_n_parts(design);
  count_elements(desk);
  desk->fed = g_new0(bool, desk->n_loads + 1);
  desk->half = g_new0(bool, desk->n_loads + 1);
  desk->plugged = g_new0(bool, desk->n_parts + 1);
  desk->scenes = g_new(LoomScenery *, desk->n_scenes);
  for (guint i = 0; i < desk->n_scenes; i++) {
    desk->scenes[i] = scenery_new(desk, i);
    remember(desk, desk->scenes[i]);
  }
  return desk;
}

void
loom_desk_solve(LoomDesk *desk, LoomOperation *const *full)
{
  for (guint i = 0; i < desk->n_scenes; i++) {
    LoomScenery *s = desk->scenes[i];
    if (s->unsound)
      continue;
    s->own_full = full ? NULL : loom_operation_new(s->wiring, 1);
    s->full = full ? full[i] : s->own_full;
    s->low = loom_operation_new(s->wiring, LOOM_LOW_CHARGE);
  }
}

void
loom_desk_free(LoomDesk *desk)
{
  if (!desk)
    return;
  for (guint i = 0; i < desk->n_scenes; i++)
    scenery_free(desk->scenes[i]);
  g_free(desk->scenes);
  g_free(desk->fed);
  g_free(desk->half);
  g_free(desk->plugged);
  g_free(desk);
}

const LoomPart *
loom_scenery_part(const LoomScenery *s, guint node)
{
  return loom_wiring_part(s->wiring, s->wiring->node_part[node]);
}

const LoomEnd *
loom_scenery_end(const LoomScenery *s, guint node)
{
  guint end = s->node_end[node];
  return end == LOOM_NONE ? NULL : &loom_scenery_part(s, node)->kind->ends[end];
}

const LoomContact *
loom_scenery_contact(const LoomScenery *s, guint node)
{
  const LoomEnd *end = loom_scenery_end(s, node);
  guint part = s->wiring->node_part[node];
  return end ? &end->contacts[node - s->wiring->part_node[part] - end->first_node] : NULL;
}

bool
loom_scenery_plugged(const LoomScenery *s, guint node)
{
  guint end = node == LOOM_NONE ? LOOM_NONE : s->node_end[node];
  return end != LOOM_NONE &&
         loom_wiring_n_joints_at(s->wiring, s->wiring->node_part[node], end) > 0;
}

guint
loom_scenery_shown(const LoomScenery *s, guint node, LoomRole role)
{
  guint circuit = s->inside->circuit[node], best = LOOM_NONE, best_rank = 0;
  for (guint i = s->inside->first[circuit]; i < s->inside->first[circuit + 1]; i++) {
    guint at = s->inside->nodes[i];
    const LoomContact *contact = loom_scenery_contact(s, at);
    if (!contact)
      continue;
    guint rank = 1 + (loom_scenery_plugged(s, at) ? 1 : 0) + (contact->role == role ? 2 : 0);
    if (rank <= best_rank)
      continue;
    best = at;
    best_rank = rank;
  }
  return best;
}

char *
loom_scenery_name(const LoomScenery *s, guint node)
{
  guint end = s->node_end[node];
  return end == LOOM_NONE ? g_strdup(loom_scenery_part(s, node)->designation)
                          : loom_wiring_end_name(s->wiring, s->wiring->node_part[node], end);
}

bool
loom_scenery_waits(const LoomScenery *s, guint node)
{
  return s->waits[loom_supply_circuits(s->closed)->circuit[node]];
}

LoomStand
loom_scenery_stand(const LoomScenery *s, const LoomLoad *load)
{
  const guint *circuit = loom_supply_circuits(s->closed)->circuit;
  if (s->output_at[circuit[load->a]] != LOOM_NONE || s->output_at[circuit[load->b]] != LOOM_NONE)
    return LOOM_STANDS_DRIVEN;
  guint a = loom_supply_island(s->closed, load->a), b = loom_supply_island(s->closed, load->b);
  if (a != LOOM_NONE && a == b)
    return LOOM_STANDS_FED;
  if ((a == LOOM_NONE && loom_scenery_waits(s, load->a)) ||
      (b == LOOM_NONE && loom_scenery_waits(s, load->b)))
    return LOOM_STANDS_WAITS;
  if (a == LOOM_NONE && b == LOOM_NONE)
    return LOOM_STANDS_DEAD;
  if (a == LOOM_NONE || b == LOOM_NONE)
    return a == LOOM_NONE ? LOOM_STANDS_ON_B : LOOM_STANDS_ON_A;
  return LOOM_STANDS_APART;
}

static guint
n_loops(const LoomSupply *supply)
{
  guint n;
  loom_supply_loops(supply, &n);
  return n;
}

/* All switches closed at once may tie packs together that are used in turns: voltages then say
 * nothing, and only the states count. */
LoomSupply **
loom_scenery_supplies(const LoomScenery *s, guint *n)
{
  LoomSupply **all = g_new(LoomSupply *, s->n_states + 1);
  guint loops = 0;
  for (*n = 0; *n < s->n_states; ++*n) {
    all[*n] = s->states[*n];
    loops = MAX(loops, n_loops(s->states[*n]));
  }
  if (!s->closed_is_state && n_loops(s->closed) <= loops)
    all[(*n)++] = s->closed;
  return all;
}
