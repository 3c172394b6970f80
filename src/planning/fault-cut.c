/* Opening something costs no analysis.
 *
 * A branch that lies in no loop carries nothing: after a cut, what is still fed is what lies in a
 * loop with a source, and everything else hangs from it, through bridges, at the potential of the
 * place where it hangs. (Bridges and loops of the whole graph by one depth-first walk, Tarjan 1974,
 * from memory.) What is still fed stays where it is, if the current that was cut moved it by next
 * to nothing: by Thevenin's theorem no further than that current times the resistance that is seen
 * there, which one solve with the factors of the sound robot tells for each branch. */
#include "faults-private.h"

#include "electric/forest.h"

#include <math.h>
#include <string.h>

#define CALM_SHARE 0.05 /* of the volts there; loads and bins are judged at 10 % and more */

/* ---- how much each cut would move ---- */

/* The negative pole of the one source of each node's island, [n_nodes]; LOOM_NONE where there are
 * several, or none. What more than one feeds is solved in full. New. */
static guint *
lone_poles(const LoomNetwork *n)
{
  guint n_nodes = n->wiring->n_nodes;
  g_autoptr(LoomForest) islands = loom_forest_new(n_nodes + 1);
  g_autofree guint *pole = g_new(guint, n_nodes + 1), *count = g_new0(guint, n_nodes + 1);
  for (guint i = 0; i < n->n_branches; i++) {
    const LoomBranch *b = &n->branches[i];
    const guint others[] = {b->b, b->c, b->d};
    for (guint k = 0; k < G_N_ELEMENTS(others); k++)
      if (others[k] != LOOM_NONE)
        loom_forest_join(islands, b->a, others[k]);
  }
  for (guint i = n->n_touches; i < n->n_branches; i++)
    if (n->branches[i].element->type == LOOM_ELEMENT_SOURCE) {
      guint root = loom_forest_root(islands, n->branches[i].b);
      count[root]++;
      pole[root] = n->branches[i].b;
    }
  guint *poles = g_new(guint, n_nodes + 1);
  for (guint v = 0; v < n_nodes; v++) {
    guint root = loom_forest_root(islands, v);
    poles[v] = count[root] == 1 ? pole[root] : LOOM_NONE;
  }
  return poles;
}

/* Beside the source's own pole there are no volts to compare with: against 1 V. */
static double
stir_of(const LoomFaultRoom *room, LoomSolver *solver, guint branch, guint pole)
{
  const LoomBranch *b = &room->network->branches[branch];
  const guint nodes[] = {b->a, b->b};
  double A = fabs(room->rest->flows[branch].a_A), most = 0;
  for (guint i = 0; i < 2 && A >= 1e-9; i++) {
    double volt, ohm;
    if (nodes[i] != pole && loom_solver_source(solver, nodes[i], pole, &volt, &ohm))
      most = fmax(most, A * ohm / fmax(fabs(volt), 1));
  }
  return most;
}

static bool
is_electronic(const LoomKind *kind)
{
  bool electronic = kind->n_channels > 0;
  for (guint i = 0; i < kind->n_elements; i++)
    electronic |= kind->elements[i].type == LOOM_ELEMENT_DRIVER ||
                  kind->elements[i].type == LOOM_ELEMENT_CONVERTER;
  return electronic;
}

static bool
holds_source(const LoomKind *kind)
{
  for (guint i = 0; i < kind->n_elements; i++)
    if (kind->elements[i].type == LOOM_ELEMENT_SOURCE)
      return true;
  return false;
}

/* Whether electronics are joined by nothing but the supply: a loop of the graph through two of them
 * may be none for the current. */
static bool
is_star(LoomFaultRoom *room)
{
  const LoomWiring *w = room->w;
  g_autoptr(LoomForest) pieces = loom_forest_new(w->n_parts + 1);
  g_autofree bool *sourced = g_new0(bool, w->n_parts + 1);
  g_autofree bool *electronic = g_new0(bool, w->n_parts + 1);
  g_autofree guint *on = g_new(guint, w->n_parts + 1);
  for (guint p = 0; p < w->n_parts; p++) {
    on[p] = LOOM_NONE;
    electronic[p] = is_electronic(loom_wiring_part(w, p)->kind);
  }
  for (guint j = 0; j < w->n_joints; j++)
    if (!electronic[w->joints[j].part_a] && !electronic[w->joints[j].part_b])
      loom_forest_join(pieces, w->joints[j].part_a, w->joints[j].part_b);
  for (guint p = 0; p < w->n_parts; p++)
    sourced[loom_forest_root(pieces, p)] |= holds_source(loom_wiring_part(w, p)->kind);
  for (guint j = 0; j < w->n_joints; j++) {
    const LoomWiredJoint *joint = &w->joints[j];
    bool a = electronic[joint->part_a], b = electronic[joint->part_b];
    if (room->meter.stages->joints[j].side == LOOM_SIDE_RADIO || (!a && !b))
      continue;
    if (a && b)
      return false;
    guint own = a ? joint->part_a : joint->part_b;
    guint piece = loom_forest_root(pieces, a ? joint->part_b : joint->part_a);
    bool again = on[piece] == own, other = on[piece] != LOOM_NONE && !again;
    if (sourced[piece] ? again : other)
      return false;
    on[piece] = own;
  }
  return true;
}

void
loom_fault_find_stir(LoomFaultRoom *room, LoomSolver *solver)
{
  if (!is_star(room))
    return;
  const LoomNetwork *n = room->network;
  g_autofree guint *poles = lone_poles(n);
  room->stir = g_new(double, n->n_branches + 1);
  for (guint i = 0; i < n->n_branches; i++) {
    const LoomElement *e = n->branches[i].element;
    guint pole = poles[n->branches[i].a];
    bool may_open = (!e || e->type <= LOOM_ELEMENT_FUSE) && pole != LOOM_NONE;
    room->stir[i] = may_open ? stir_of(room, solver, i, pole) : INFINITY;
  }
}

/* ---- the graph ---- */

typedef struct {
  const LoomFaultRoom *room;
  const LoomNetwork *n;
  guint n_edges;
  guint *edge_branch, *edge_a, *edge_b; /* [n_edges] ends are vertices */
  guint *first, *around;                /* edges around each vertex */
  bool *bridge;                         /* [n_edges] */
  LoomForest *vertices;                 /* nodes that a device with more than two pins ties */
  LoomForest *loops;                    /* vertices that lie in loops together */
  bool *fed;                            /* [n_nodes] root of loops: a source lies in one */
} Graph;

static bool
is_open(const Graph *g, guint branch)
{
  const LoomBranch *b = &g->n->branches[branch];
  if (b->a == b->b)
    return true;
  return b->element && b->element->type == LOOM_ELEMENT_SWITCH &&
         !loom_part_on(loom_wiring_part(g->room->w, b->part), g->room->meter.on);
}

static bool
is_source(const Graph *g, guint edge)
{
  const LoomElement *e = g->n->branches[g->edge_branch[edge]].element;
  return e && e->type == LOOM_ELEMENT_SOURCE;
}

static void
tie_pins(Graph *g)
{
  for (guint i = 0; i < g->n->n_branches; i++) {
    const LoomBranch *b = &g->n->branches[i];
    if (b->c == LOOM_NONE && b->d == LOOM_NONE)
      continue;
    loom_forest_join(g->vertices, b->a, b->b);
    if (b->c != LOOM_NONE)
      loom_forest_join(g->vertices, b->a, b->c);
    if (b->d != LOOM_NONE)
      loom_forest_join(g->vertices, b->a, b->d);
  }
}

static void
list_edges(Graph *g)
{
  guint n_nodes = g->room->w->n_nodes;
  g->edge_branch = g_new(guint, g->n->n_branches + 1);
  g->edge_a = g_new(guint, g->n->n_branches + 1);
  g->edge_b = g_new(guint, g->n->n_branches + 1);
  g->first = g_new0(guint, n_nodes + 2);
  for (guint i = 0; i < g->n->n_branches; i++) {
    if (is_open(g, i))
      continue;
    guint a = loom_forest_root(g->vertices, g->n->branches[i].a);
    guint b = loom_forest_root(g->vertices, g->n->branches[i].b);
    if (a == b)
      continue;
    g->edge_branch[g->n_edges] = i;
    g->edge_a[g->n_edges] = a;
    g->edge_b[g->n_edges++] = b;
    g->first[a + 1]++;
    g->first[b + 1]++;
  }
  for (guint v = 0; v <= n_nodes; v++)
    g->first[v + 1] += g->first[v];
  g->around = g_new(guint, 2 * g->n_edges + 1);
  g_autofree guint *at = g_memdup2(g->first, (n_nodes + 2) * sizeof(guint));
  for (guint e = 0; e < g->n_edges; e++) {
    g->around[at[g->edge_a[e]]++] = e;
    g->around[at[g->edge_b[e]]++] = e;
  }
}

typedef struct {
  guint *found, *low, *by, *next, *stack; /* [n_nodes]; found 0: not yet */
  guint clock, depth;
} Walk;

static void
enter(const Graph *g, Walk *w, guint v, guint by)
{
  w->found[v] = w->low[v] = ++w->clock;
  w->by[v] = by;
  w->next[v] = g->first[v];
  w->stack[w->depth++] = v;
}

/* Depth first from one vertex: an edge is a bridge where nothing below reaches back above it. */
static void
walk_from(Graph *g, Walk *w, guint start)
{
  enter(g, w, start, LOOM_NONE);
  while (w->depth > 0) {
    guint v = w->stack[w->depth - 1];
    if (w->next[v] < g->first[v + 1]) {
      guint e = g->around[w->next[v]++];
      guint u = g->edge_a[e] == v ? g->edge_b[e] : g->edge_a[e];
      if (e == w->by[v])
        continue;
      if (w->found[u] == 0)
        enter(g, w, u, e);
      else
        w->low[v] = MIN(w->low[v], w->found[u]);
      continue;
    }
    w->depth--;
    if (w->by[v] == LOOM_NONE)
      continue;
    guint e = w->by[v], above = g->edge_a[e] == v ? g->edge_b[e] : g->edge_a[e];
    w->low[above] = MIN(w->low[above], w->low[v]);
    g->bridge[e] = w->low[v] > w->found[above];
  }
}

static void
find_loops(Graph *g)
{
  guint n = g->room->w->n_nodes + 1;
  Walk w = {
      g_new0(guint, n), g_new(guint, n), g_new(guint, n), g_new(guint, n), g_new(guint, n), 0, 0};
  g->bridge = g_new0(bool, g->n_edges + 1);
  for (guint v = 0; v + 1 < n; v++)
    if (w.found[v] == 0 && g->first[v] < g->first[v + 1])
      walk_from(g, &w, v);
  g->loops = loom_forest_new(n);
  for (guint v = 0; v + 1 < n; v++)
    loom_forest_join(g->loops, v, loom_forest_root(g->vertices, v));
  for (guint e = 0; e < g->n_edges; e++)
    if (!g->bridge[e])
      loom_forest_join(g->loops, g->edge_a[e], g->edge_b[e]);
  g->fed = g_new0(bool, n);
  for (guint e = 0; e < g->n_edges; e++)
    if (!g->bridge[e] && is_source(g, e))
      g->fed[loom_forest_root(g->loops, g->edge_a[e])] = true;
  guint *own[] = {w.found, w.low, w.by, w.next, w.stack};
  for (guint i = 0; i < G_N_ELEMENTS(own); i++)
    g_free(own[i]);
}

static void
graph_init(Graph *g, const LoomFaultRoom *room, const LoomNetwork *network)
{
  *g = (Graph){.room = room, .n = network};
  g->vertices = loom_forest_new(room->w->n_nodes + 1);
  tie_pins(g);
  list_edges(g);
  find_loops(g);
}

static void
graph_clear(Graph *g)
{
  g_free(g->edge_branch);
  g_free(g->edge_a);
  g_free(g->edge_b);
  g_free(g->first);
  g_free(g->around);
  g_free(g->bridge);
  g_free(g->fed);
  loom_forest_free(g->vertices);
  loom_forest_free(g->loops);
}

/* ---- potentials ---- */

/* Of every group that lies in loops together: what it is shifted by, where it is fed; otherwise its
 * one potential. NAN: not reached, floating. */
typedef struct {
  Graph *g;
  double *level; /* [n_nodes] by root */
  bool *reached; /* [n_nodes] by root */
  GArray *queue; /* guint: roots of groups that are reached */
} Spread;

static double
potential(const Spread *s, guint node)
{
  guint root = loom_forest_root(s->g->loops, node);
  return s->g->fed[root] ? s->g->room->rest->potential_V[node] + s->level[root] : s->level[root];
}

static void
reach(Spread *s, guint node, double volt)
{
  guint root = loom_forest_root(s->g->loops, node);
  s->level[root] = s->g->fed[root] ? volt - s->g->room->rest->potential_V[node] : volt;
}

static void
cross(Spread *s, guint edge)
{
  const LoomBranch *b = &s->g->n->branches[s->g->edge_branch[edge]];
  const double *sound = s->g->room->rest->potential_V;
  double a = potential(s, b->a), other = potential(s, b->b);
  double across = is_source(s->g, edge) ? sound[b->a] - sound[b->b] : 0;
  if (isnan(a) && !isnan(other))
    reach(s, b->a, other + across);
  else if (!isnan(a) && isnan(other))
    reach(s, b->b, a - across);
}

/* Bridges around every group, by its root: `first` [n_nodes + 2]. New. */
static guint *
bridges_around(Graph *g, guint *first)
{
  guint n = g->room->w->n_nodes;
  for (guint e = 0; e < g->n_edges; e++)
    if (g->bridge[e]) {
      first[loom_forest_root(g->loops, g->edge_a[e]) + 1]++;
      first[loom_forest_root(g->loops, g->edge_b[e]) + 1]++;
    }
  for (guint v = 0; v <= n; v++)
    first[v + 1] += first[v];
  guint *around = g_new(guint, 2 * g->n_edges + 1);
  g_autofree guint *at = g_memdup2(first, (n + 2) * sizeof(guint));
  for (guint e = 0; e < g->n_edges; e++)
    if (g->bridge[e]) {
      around[at[loom_forest_root(g->loops, g->edge_a[e])]++] = e;
      around[at[loom_forest_root(g->loops, g->edge_b[e])]++] = e;
    }
  return around;
}

/* Group by group from a node that is reached, over the bridges. */
static void
spread_from(Spread *s, guint node, const guint *first, const guint *around)
{
  guint root = loom_forest_root(s->g->loops, node);
  s->reached[root] = true;
  g_array_append_val(s->queue, root);
  for (guint i = 0; i < s->queue->len; i++) {
    guint group = g_array_index(s->queue, guint, i);
    for (guint k = first[group]; k < first[group + 1]; k++) {
      guint e = around[k], a = loom_forest_root(s->g->loops, s->g->edge_a[e]);
      guint next = a == group ? loom_forest_root(s->g->loops, s->g->edge_b[e]) : a;
      if (s->reached[next])
        continue;
      s->reached[next] = true;
      cross(s, e);
      g_array_append_val(s->queue, next);
    }
  }
  g_array_set_size(s->queue, 0);
}

static void
spread(Spread *s)
{
  Graph *g = s->g;
  g_autofree guint *first = g_new0(guint, g->room->w->n_nodes + 2);
  g_autofree guint *around = bridges_around(g, first);
  for (guint v = 0; v <= g->room->w->n_nodes; v++)
    s->level[v] = NAN;
  for (guint e = 0; e < g->n_edges; e++) { /* from each source that is not reached from another */
    const LoomBranch *b = &g->n->branches[g->edge_branch[e]];
    if (!is_source(g, e) || s->reached[loom_forest_root(g->loops, b->b)])
      continue;
    reach(s, b->b, g->room->rest->potential_V[b->b]);
    spread_from(s, b->b, first, around);
  }
}

/* Potentials of all nodes, new; NULL where the cut leaves another way round, or stirs. */
static double *
potentials_cut(const LoomFaultRoom *room, const LoomNetwork *network)
{
  Graph g;
  graph_init(&g, room, network);
  bool good = true;
  for (guint i = 0; i < room->network->n_branches && good; i++) {
    const LoomBranch *was = &room->network->branches[i], *is = &network->branches[i];
    if (was->a == was->b || is->a != is->b)
      continue;
    good = room->stir[i] <= CALM_SHARE &&
           loom_forest_root(g.loops, was->a) != loom_forest_root(g.loops, was->b);
  }
  double *volts = NULL;
  if (good) {
    guint n = room->w->n_nodes;
    Spread s = {&g, g_new(double, n + 1), g_new0(bool, n + 1),
                g_array_new(FALSE, FALSE, sizeof(guint))};
    spread(&s);
    volts = g_new(double, n + 1);
    for (guint v = 0; v < n; v++)
      volts[v] = potential(&s, v);
    g_free(s.level);
    g_free(s.reached);
    g_array_unref(s.queue);
  }
  graph_clear(&g);
  return volts;
}

/* ---- faults ---- */

bool
loom_fault_only_opens(LoomFaultType type)
{
  return type == LOOM_FAULT_OUT || type == LOOM_FAULT_CONTACT || type == LOOM_FAULT_WIRE ||
         type == LOOM_FAULT_BLOWN || type == LOOM_FAULT_OFF || type == LOOM_FAULT_SWITCH;
}

/* Between devices with pins of their own for many things, a loop of the graph may be none for the
 * current: only the plain way from source to electronics is judged by it. */
static bool
is_plain(const LoomFaultRoom *room, const LoomFault *fault)
{
  if (!loom_fault_only_opens(fault->type))
    return false;
  if (fault->joint == LOOM_NONE)
    return loom_fault_part_in_supply(room, fault->part);
  LoomJointSide side = room->meter.stages->joints[room->meter.wired[fault->joint]].side;
  return side == LOOM_SIDE_SUPPLY || side == LOOM_SIDE_FEEDS;
}

LoomOperatingPoint *
loom_fault_solve_cut(const LoomFaultRoom *room, const LoomFaulty *faulty, const LoomFault *fault)
{
  if (!room->stir || !is_plain(room, fault) || room->rest->trouble)
    return NULL;
  double *volts = potentials_cut(room, &faulty->network);
  if (!volts)
    return NULL;
  const LoomOperatingPoint *sound = room->rest;
  LoomOperatingPoint *point = g_new0(LoomOperatingPoint, 1);
  point->branch = LOOM_NONE;
  point->n_nodes = sound->n_nodes;
  point->potential_V = volts;
  point->sleep = g_new0(LoomSleep, faulty->network.n_branches + 1);
  memcpy(point->sleep, sound->sleep, room->network->n_branches * sizeof *point->sleep);
  return point;
}

bool
loom_fault_volts_cut(const LoomFaultRoom *room, const LoomTest *test, const LoomFault *fault,
                     const LoomNetwork *apart, double *volts)
{
  if (!room->stir || !is_plain(room, fault) || room->rest->trouble)
    return false;
  g_autofree double *all = potentials_cut(room, apart);
  if (!all)
    return false;
  *volts = all[loom_wiring_node(room->w, test->part, test->end, test->plus)] -
           all[loom_wiring_node(room->w, test->part, test->end, test->minus)];
  if (isnan(*volts))
    *volts = 0;
  return true;
}
