/* What must hold of every ordinary robot in every scene and state, whatever the figures: each
 * element obeys its own law, the way of drawing does not matter, like things are alike, a second
 * lead helps by half, a longer one never helps. Kirchhoff and the sum of powers of these robots are
 * in test-hostile.c. Laws and theorems of circuits; no figure of a robot is repeated here. */
#include "electric/battery.h"
#include "electric/conductor.h"
#include "electric/operation.h"
#include "electric/outing.h"
#include "rig.h"
#include "robots.h"

#include <libxml/parser.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "../seed.h"

static const double charges[] = {1, 0.5, 0};

/* A design whose kinds are its own: what a file embeds. */
static LoomDesign *
reread(const char *text)
{
  g_autoptr(GError) error = NULL;
  LoomDesign *design = loom_design_parse(text, strlen(text), "robot", &error);
  if (!design)
    fail_msg("%s", error->message);
  return design;
}

static LoomDesign *
own_copy(const char *robot)
{
  g_autoptr(LoomDesign) design = robots_load(robot);
  g_autofree char *text = loom_design_to_text(design);
  return reread(text);
}

typedef void (*EachPoint)(const char *robot, const LoomOperation *op, guint state, double charge);

static void
each_point(EachPoint f)
{
  for (const char *const *name = robots_ordinary(); *name; name++) {
    g_autoptr(LoomDesign) design = robots_load(*name);
    for (guint s = 0; s < loom_design_n_scenes(design); s++) {
      g_autoptr(LoomWiring) w = loom_wiring_new(design, s);
      for (guint c = 0; c < G_N_ELEMENTS(charges); c++) {
        g_autoptr(LoomOperation) op = loom_operation_new(w, charges[c]);
        for (guint i = 0; i < op->n_states; i++)
          f(*name, op, i, charges[c]);
      }
    }
  }
}

/* --- every element's own law --- */

typedef struct {
  const char *robot;
  const LoomOperation *op;
  const LoomOperatingPoint *p;
  guint branch;
} At;

static double
volts(const At *at, guint a, guint b)
{
  return loom_point_volts(at->p, a, b);
}

/* A current's worth of rounding: what point.h allows at a node. */
static double
slack_A(const At *at)
{
  return fmax(1e-9 * at->p->largest_A, 1e-12);
}

static void
same(const At *at, const char *what, double got, double want, double slack)
{
  if (fabs(got - want) <= slack)
    return;
  g_autofree char *name = loom_branch_name(at->op->network, at->branch);
  fail_msg("%s, %s: %s is %.12g, not %.12g", at->robot, name, what, got, want);
}

/* V = R I, copper at its temperature (IEC 60028: 0.393 % a kelvin). */
static void
obeys_ohm(const At *at, const LoomBranch *b, double I)
{
  double ohm = b->ohm * (b->copper ? 1 + 0.00393 * (at->op->network->ambient_C - 20) : 1);
  double V = volts(at, b->a, b->b);
  if (fabs(I) > 0) /* open switches carry nothing at any voltage */
    same(at, "the drop", V, ohm * I, 1e-9 * fabs(V) + ohm * slack_A(at) + 1e-11);
}

static void
obeys_source(const At *at, const LoomBranch *b, double I, double charge)
{
  double V = volts(at, b->a, b->b), held_V = loom_emf_V(b->element, charge) + b->ohm * I;
  if (at->p->at_limit[at->branch])
    assert_true(V <= held_V + 1e-9 && -I <= b->element->limit_A * (1 + 1e-9));
  else
    same(at, "the voltage", V, held_V, 1e-8 * fabs(held_V));
}

/* Power that goes in and does not come out again. */
static double
kept_W(const At *at, const LoomBranch *b)
{
  const LoomCurrents *I = &at->p->flows[at->branch];
  return volts(at, b->a, b->b) * I->a_A + volts(at, b->c, b->b) * I->c_A +
         volts(at, b->d, b->b) * I->d_A;
}

/* Half of the on-resistance on each way, and what it takes for itself. */
static void
obeys_driver(const At *at, const LoomBranch *b)
{
  const LoomCurrents *I = &at->p->flows[at->branch];
  double own_W = b->element->quiescent_A > 0 ? b->element->quiescent_A * volts(at, b->a, b->b) : 0;
  double heat_W = b->ohm / 2 * (I->c_A * I->c_A + I->d_A * I->d_A);
  if (isnan(volts(at, b->c, b->b)) || isnan(volts(at, b->d, b->b)) ||
      at->p->sleep[at->branch] != LOOM_AWAKE)
    return;
  same(at, "the heat", kept_W(at, b), heat_W + own_W, 1e-7 * fmax(fabs(heat_W + own_W), 1e-3));
}

static void
obeys_converter(const At *at, const LoomBranch *b)
{
  const LoomCurrents *I = &at->p->flows[at->branch];
  double in_V = volts(at, b->a, b->b), out_W = -volts(at, b->c, b->d) * I->c_A;
  double own_W = b->element->quiescent_A > 0 ? b->element->quiescent_A * in_V : 0;
  if (isnan(out_W) || at->p->sleep[at->branch] != LOOM_AWAKE)
    return;
  same(at, "the input", in_V * I->a_A, out_W / b->element->efficiency + own_W,
       1e-7 * fmax(out_W, 1e-3));
}

/* Never more than V / R, never more than what it asks for, and one of the two. */
static void
obeys_motor(const At *at, const LoomBranch *b, double I)
{
  double V = volts(at, b->a, b->b);
  if (isnan(V))
    return;
  assert_true(fabs(I) <= fabs(V) / b->ohm + slack_A(at));
  assert_true(V * I >= -1e-9);
}

static void
obeys(const char *robot, const LoomOperation *op, guint state, double charge)
{
  At at = {robot, op, op->points[state], 0};
  const LoomNetwork *n = op->network;
  assert_int_equal(at.p->trouble, LOOM_TROUBLE_NONE);
  for (; at.branch < n->n_branches; at.branch++) {
    const LoomBranch *b = &n->branches[at.branch];
    double I = at.p->flows[at.branch].a_A;
    LoomElementType type = b->element ? b->element->type : LOOM_ELEMENT_THROUGH;
    if (type <= LOOM_ELEMENT_FUSE || type == LOOM_ELEMENT_RESISTOR)
      obeys_ohm(&at, b, I);
    else if (type == LOOM_ELEMENT_SOURCE && !isnan(volts(&at, b->a, b->b)))
      obeys_source(&at, b, I, charge);
    else if (type == LOOM_ELEMENT_DRIVER)
      obeys_driver(&at, b);
    else if (type == LOOM_ELEMENT_CONVERTER)
      obeys_converter(&at, b);
    else if (type == LOOM_ELEMENT_MOTOR)
      obeys_motor(&at, b, I);
    else if (type == LOOM_ELEMENT_POWER && at.p->sleep[at.branch] == LOOM_AWAKE && fabs(I) > 0)
      same(&at, "the power", I * volts(&at, b->a, b->b), b->element->power_W,
           1e-9 * b->element->power_W + 1e-9);
  }
}

static void
test_laws(void **state G_GNUC_UNUSED)
{
  each_point(obeys);
}

/* --- drawn another way --- */

/* Children of that name in another order; joints the other way round now and then. */
static void
shuffle(GRand *rand, xmlNode *root, const char *name)
{
  g_autoptr(GPtrArray) nodes = g_ptr_array_new();
  for (xmlNode *n = root->children; n; n = n->next)
    if (n->type == XML_ELEMENT_NODE && g_str_equal((const char *)n->name, name))
      g_ptr_array_add(nodes, n);
  if (nodes->len == 0)
    return;
  xmlNode *before = ((xmlNode *)nodes->pdata[0])->prev;
  for (guint i = 0; i < nodes->len; i++)
    xmlUnlinkNode(nodes->pdata[i]);
  for (guint i = nodes->len; i > 0; i--) {
    guint k = (guint)g_rand_int_range(rand, 0, (gint32)i);
    xmlNode *node = nodes->pdata[k];
    nodes->pdata[k] = nodes->pdata[i - 1];
    if (g_str_equal(name, "joint") && g_rand_boolean(rand)) {
      xmlChar *a = xmlGetProp(node, (const xmlChar *)"a"),
              *b = xmlGetProp(node, (const xmlChar *)"b");
      xmlSetProp(node, (const xmlChar *)"a", b);
      xmlSetProp(node, (const xmlChar *)"b", a);
      xmlFree(a);
      xmlFree(b);
    }
    before = xmlAddNextSibling(before, node);
  }
}

static char *
other_name(const char *designation)
{
  return g_strdup_printf("%c%u", *designation, 5000 - (guint)atoi(designation + 1));
}

/* The same robot, its parts counted down from 4999, parts and joints in another order. New. */
static LoomDesign *
redrawn(GRand *rand, const LoomDesign *design)
{
  g_autoptr(LoomDesign) copy = loom_design_snapshot(design);
  LoomEdit *edit = loom_edit_new(copy, "rename");
  for (guint i = 0; i < loom_design_n_parts(design); i++) {
    const char *name = loom_design_part(design, i)->designation;
    g_autofree char *other = other_name(name);
    assert_true(loom_edit_set(edit, name, "designation", other, NULL));
  }
  loom_design_apply(copy, edit);
  g_autofree char *text = loom_design_to_text(copy);
  xmlDoc *doc = xmlReadMemory(text, (int)strlen(text), "robot", NULL, XML_PARSE_NONET);
  shuffle(rand, xmlDocGetRootElement(doc), "part");
  shuffle(rand, xmlDocGetRootElement(doc), "joint");
  xmlChar *bytes;
  int length;
  xmlDocDumpMemory(doc, &bytes, &length);
  LoomDesign *other = reread((const char *)bytes);
  xmlFree(bytes);
  xmlFreeDoc(doc);
  return other;
}

static guint
counterpart(const LoomDesign *design, const LoomDesign *other, guint part)
{
  g_autofree char *name = other_name(loom_design_part(design, part)->designation);
  guint index = loom_design_find_part(other, name);
  assert_true(index != LOOM_NONE);
  return index;
}

static void
near(const char *where, const char *what, double got, double want, double slack)
{
  if ((isnan(got) && isnan(want)) || got == want || fabs(got - want) <= slack)
    return;
  fail_msg("%s: %s is %.12g, and %.12g drawn another way", where, what, got, want);
}

/* Branches, contacts and volts of one part. */
static void
same_part(const LoomOperation *a, const LoomOperation *b, guint state, guint part, guint other)
{
  const LoomWiring *w = a->wiring, *v = b->wiring;
  const LoomOperatingPoint *p = a->points[state], *q = b->points[state];
  const char *name = loom_wiring_part(w, part)->designation;
  double slack = fmax(1e-8 * p->largest_A, 1e-9);
  guint i = a->network->part_branch[part], k = b->network->part_branch[other];
  for (; i < a->network->part_branch[part + 1]; i++, k++) {
    const LoomBranch *x = &a->network->branches[i], *y = &b->network->branches[k];
    near(name, "a current", q->flows[k].a_A, p->flows[i].a_A, slack);
    near(name, "a driven current", q->flows[k].c_A, p->flows[i].c_A, slack);
    near(name, "a voltage", loom_point_volts(q, y->a, y->b), loom_point_volts(p, x->a, x->b), 1e-8);
    assert_int_equal(q->sleep[k], p->sleep[i]);
    assert_int_equal(q->at_limit[k], p->at_limit[i]);
    assert_int_equal(q->held_back[k], p->held_back[i]);
  }
  guint from = w->part_node[part], at = v->part_node[other];
  for (; from < w->part_node[part + 1]; from++, at++)
    near(name, "a contact's current", q->into_A[at], p->into_A[from], slack);
}

/* Of equal guards either may be named, but not a fuse where electronics hold as well. */
static bool
electronic(const LoomBound *b)
{
  return b->guard.type == LOOM_CAUSE_END || b->guard.type == LOOM_CAUSE_GROUP ||
         b->guard.type == LOOM_CAUSE_OUTPUT;
}

static void
same_bound(const char *where, const LoomBound *x, const LoomBound *y)
{
  if (!x || !y) {
    assert_true(!x && !y);
    return;
  }
  near(where, "its guard", y->guard_A, x->guard_A, 1e-9 * x->guard_A);
  near(where, "what it can draw", y->draw_A, x->draw_A, 1e-9 * x->draw_A);
  near(where, "what it is held against", y->most_A, x->most_A, 1e-9 * x->most_A);
  if (electronic(x) != electronic(y))
    fail_msg("%s: guarded by cause %d, and by %d drawn another way", where, x->guard.type,
             y->guard.type);
}

static void
same_limits(const LoomWiring *w, const LoomWiring *v, const LoomLimits *a, const LoomLimits *b)
{
  for (guint part = 0; part < w->n_parts; part++) {
    guint to = counterpart(w->design, v->design, part);
    const LoomKind *kind = loom_wiring_part(w, part)->kind;
    for (guint e = 0; e < kind->n_elements; e++)
      same_bound(loom_wiring_part(w, part)->designation, loom_limits_element(a, part, e),
                 loom_limits_element(b, to, e));
    for (guint e = 0; e < kind->n_ends; e++) {
      g_autofree char *end = loom_wiring_end_name(w, part, e);
      same_bound(end, loom_limits_end(a, w, part, e), loom_limits_end(b, v, to, e));
    }
  }
}

static void
same_shorts(const LoomOperation *a, const LoomOperation *b, const LoomDesign *other)
{
  const LoomWiring *w = a->wiring, *v = b->wiring;
  g_autoptr(LoomLimits) la = loom_limits_new(w), lb = loom_limits_new(v);
  same_limits(w, v, la, lb);
  g_autofree double *x = loom_short_currents_A(a->network, la);
  g_autofree double *y = loom_short_currents_A(b->network, lb);
  for (guint part = 0; part < w->n_parts; part++) {
    guint to = counterpart(w->design, other, part);
    for (guint e = 0; e < w->part_end[part + 1] - w->part_end[part]; e++) {
      double want = x[w->part_end[part] + e];
      g_autofree char *end = loom_wiring_end_name(w, part, e);
      near(end, "a short", y[v->part_end[to] + e], want, 1e-7 * fabs(want));
    }
  }
  guint n, m;
  g_autofree LoomProtection *pa = loom_protections_new(a->network, la, &n);
  g_autofree LoomProtection *pb = loom_protections_new(b->network, lb, &m);
  assert_int_equal(n, m);
  for (guint i = 0; i < n; i++) {
    guint k = 0, to = counterpart(w->design, other, pa[i].part);
    while (pb[k].part != to || pb[k].element != pa[i].element)
      assert_true(++k < m);
    const char *name = loom_wiring_part(w, pa[i].part)->designation;
    near(name, "a fuse", pb[k].fuse_A, pa[i].fuse_A, 0);
    near(name, "a load", pb[k].load_A, pa[i].load_A, 1e-7 * pa[i].load_A);
    near(name, "a short in a wire", pb[k].short_A, pa[i].short_A, 1e-7 * pa[i].short_A);
    assert_int_equal(pb[k].fits, pa[i].fits);
    assert_int_equal(pb[k].outlives, pa[i].outlives);
  }
}

static void
same_margins(const LoomOperation *a, const LoomOperation *b, guint state)
{
  g_autoptr(LoomMargins) x = loom_margins_new(a->network, a->points[state]);
  g_autoptr(LoomMargins) y = loom_margins_new(b->network, b->points[state]);
  assert_int_equal(x->n_margins, y->n_margins);
  for (guint i = 0; i < x->n_margins; i++)
    near("margins", "one", y->margins[i].margin_pct, x->margins[i].margin_pct, 1e-5);
}

static void
same_outings(const LoomWiring *w, const LoomWiring *v)
{
  const LoomScene *scene = loom_design_scene(w->design, w->scene);
  for (guint i = 0; i < scene->n_outings; i++) {
    g_autoptr(LoomTrace) x = loom_outing_run(w, &scene->outings[i], NULL);
    g_autoptr(LoomTrace) y = loom_outing_run(v, &scene->outings[i], NULL);
    assert_int_equal(x->end, y->end);
    near("outing", "charge used", y->used_pct, x->used_pct, 1e-6);
    near("outing", "lowest voltage", y->lowest_V, x->lowest_V, 1e-6);
    near("outing", "hottest wire", y->hottest_C, x->hottest_C, 1e-4);
  }
}

static void
same_scene(const LoomDesign *design, const LoomDesign *other, guint scene)
{
  g_autoptr(LoomWiring) w = loom_wiring_new(design, scene), v = loom_wiring_new(other, scene);
  for (guint c = 0; c < G_N_ELEMENTS(charges); c++) {
    g_autoptr(LoomOperation) a = loom_operation_new(w, charges[c]);
    g_autoptr(LoomOperation) b = loom_operation_new(v, charges[c]);
    for (guint i = 0; i < a->n_states; i++) {
      assert_int_equal(a->points[i]->trouble, b->points[i]->trouble);
      for (guint part = 0; part < w->n_parts; part++)
        same_part(a, b, i, part, counterpart(design, other, part));
      same_margins(a, b, i);
    }
    if (c == 0)
      same_shorts(a, b, other);
  }
  same_outings(w, v);
}

static void
test_drawn_another_way(void **state G_GNUC_UNUSED)
{
  GRand *rand = g_rand_new_with_seed(seed());
  for (const char *const *name = robots_ordinary(); *name; name++)
    for (guint round = 0; round < 2; round++) {
      g_autoptr(LoomDesign) design = robots_load(*name);
      g_autoptr(LoomDesign) other = redrawn(rand, design);
      for (guint s = 0; s < loom_design_n_scenes(design); s++)
        same_scene(design, other, s);
    }
  g_rand_free(rand);
}

/* --- like things are alike --- */

static guint64
mix(guint64 a, guint64 b)
{
  guint64 x = (a ^ (b * 0x9e3779b97f4a7c15ull)) + 0x632be59bd9b4e019ull;
  x = (x ^ (x >> 30)) * 0xbf58476d1ce4e5b9ull;
  x = (x ^ (x >> 27)) * 0x94d049bb133111ebull;
  return x ^ (x >> 31);
}

static guint64
bits(double value)
{
  guint64 b = 1;
  if (!isnan(value))
    memcpy(&b, &value, sizeof b);
  return b;
}

/* All that tells one branch from another but for what it is joined to. */
static guint64
own_colour(const LoomOperation *op, const LoomState *state, guint branch)
{
  const LoomBranch *b = &op->network->branches[branch];
  guint64 h = mix(bits(b->ohm), b->copper);
  if (!b->element)
    return h;
  const LoomElement *e = b->element;
  const LoomPart *part = loom_wiring_part(op->wiring, b->part);
  const double figures[] = {e->limit_A,        e->emf_V,      e->capacity_Ah, e->current_A,
                            e->power_W,        e->lockout_V,  e->release_V,   e->min_V,
                            e->volt_s_per_rad, e->no_load_A,  e->torque_Nm,   e->idle_A,
                            e->moving_A,       e->stall_A,    e->output_V,    e->efficiency,
                            e->quiescent_A,    e->emf_full_V, e->emf_empty_V};
  const char *const keys[] = {"duty", "load", "on", "torque_Nm"};
  h = mix(h, (guint64)e->type + 2);
  for (guint i = 0; i < G_N_ELEMENTS(figures); i++)
    h = mix(h, bits(figures[i]));
  for (guint i = 0; i < G_N_ELEMENTS(keys); i++) {
    const char *value = loom_state_value(state, part->designation, keys[i]);
    h = mix(h, value ? g_str_hash(value) : 0);
  }
  return mix(mix(h, g_str_hash(part->kind->id)), part->on);
}

/* Groups with a limit of their own at the branch's nodes. */
static guint64
group_colour(const LoomOperation *op, guint branch)
{
  const LoomBranch *b = &op->network->branches[branch];
  const LoomKind *kind = b->element ? loom_wiring_part(op->wiring, b->part)->kind : NULL;
  const guint nodes[4] = {b->a, b->b, b->c, b->d};
  guint64 h = 0;
  for (guint g = 0; kind && g < kind->n_limits; g++)
    for (guint i = 0; i < kind->limits[g].n_ends; i++) {
      const LoomEnd *end = &kind->ends[kind->limits[g].ends[i]];
      guint first = op->wiring->part_node[b->part] + end->first_node;
      for (guint k = 0; k < 4; k++)
        if (nodes[k] >= first && nodes[k] < first + end->n_contacts)
          h += mix(g + 1, k);
    }
  return h;
}

/* Colours of branches that get equal only where no exchange of like things can tell them apart
 * (refinement of colours: an equitable partition). Where the answer is one, it is then the same for
 * equal colours: otherwise exchanging them gave another. New, [n_branches]. */
static guint64 *
refined(const LoomOperation *op, const LoomState *state)
{
  const LoomNetwork *n = op->network;
  guint64 *colour = g_new(guint64, n->n_branches + 1);
  g_autofree guint64 *node = g_new0(guint64, op->wiring->n_nodes + 1);
  g_autofree guint64 *part = g_new0(guint64, op->wiring->n_parts + 1);
  for (guint i = 0; i < n->n_branches; i++)
    colour[i] = mix(own_colour(op, state, i), group_colour(op, i));
  for (guint round = 0; round < 40; round++) {
    memset(node, 0, op->wiring->n_nodes * sizeof *node);
    memset(part, 0, op->wiring->n_parts * sizeof *part);
    for (guint i = 0; i < n->n_branches; i++) {
      const LoomBranch *b = &n->branches[i];
      const guint at[4] = {b->a, b->b, b->c, b->d};
      for (guint k = 0; k < 4; k++) /* a joint is the same from either end */
        if (at[k] != LOOM_NONE)
          node[at[k]] += mix(colour[i], b->element ? k + 1 : 0);
      if (b->element)
        part[b->part] += mix(colour[i], 7);
    }
    for (guint i = 0; i < n->n_branches; i++) {
      const LoomBranch *b = &n->branches[i];
      guint64 h = b->element ? mix(mix(colour[i], node[b->a]), node[b->b])
                             : mix(colour[i], node[b->a] + node[b->b]);
      h = b->c == LOOM_NONE ? h : mix(mix(h, node[b->c]), node[b->d]);
      colour[i] = b->element ? mix(h, part[b->part]) : h;
    }
  }
  return colour;
}

static guint n_alike;

static void
alike(const char *robot, const LoomOperation *op, guint state, double charge)
{
  const LoomOperatingPoint *p = op->points[state];
  const LoomScene *scene = loom_design_scene(op->wiring->design, op->wiring->scene);
  g_autofree guint64 *colour = refined(op, &scene->states[state]);
  g_autoptr(GHashTable) first = g_hash_table_new(g_int64_hash, g_int64_equal);
  (void)charge;
  for (guint i = op->network->n_touches; i < op->network->n_branches; i++) {
    gpointer twin;
    if (!g_hash_table_lookup_extended(first, &colour[i], NULL, &twin)) {
      g_hash_table_insert(first, &colour[i], GUINT_TO_POINTER(i));
      continue;
    }
    const LoomCurrents *I = &p->flows[i], *J = &p->flows[GPOINTER_TO_UINT(twin)];
    g_autofree char *name = loom_branch_name(op->network, i);
    g_autofree char *other = loom_branch_name(op->network, GPOINTER_TO_UINT(twin));
    double slack = fmax(1e-9 * p->largest_A, 1e-12);
    if (fabs(I->a_A - J->a_A) > slack || fabs(I->c_A - J->c_A) > slack ||
        p->sleep[i] != p->sleep[GPOINTER_TO_UINT(twin)])
      fail_msg("%s: %s carries %.12g A, its like %s %.12g A", robot, name, I->a_A, other, J->a_A);
    n_alike += fabs(I->a_A) > 0.05;
  }
}

/* Motors that stand alike: a script says what each does, and then none would be like another. */
static void
test_symmetry(void **state G_GNUC_UNUSED)
{
  n_alike = 0;
  each_point(alike);
  assert_true(n_alike > 100); /* of loaded branches: enough robots have two of a kind */
}

/* --- a second lead --- */

static bool
only_wires(const LoomKind *kind)
{
  for (guint i = 0; i < kind->n_elements; i++)
    if (kind->elements[i].type > LOOM_ELEMENT_THROUGH)
      return false;
  return kind->lead && kind->n_elements > 0;
}

/* Every conductor of the kind once more. Not what a program may do to a kind; it is the design's
 * own here. */
static void
lay_twice(LoomKind *kind)
{
  guint n = kind->n_elements;
  kind->elements = g_renew(LoomElement, kind->elements, 2 * n);
  for (guint i = 0; i < n; i++) {
    kind->elements[n + i] = kind->elements[i];
    kind->elements[n + i].colour = g_strdup(kind->elements[i].colour);
  }
  kind->n_elements = 2 * n;
}

/* Drop over current from contact to contact along the element, NAN where hardly anything flows. */
static double
way_ohm(const LoomOperation *op, const LoomOperatingPoint *p, guint part, guint element)
{
  guint branch = op->network->part_branch[part] + element;
  const LoomBranch *b = &op->network->branches[branch];
  double A = 0;
  for (guint i = op->network->part_branch[part]; i < op->network->part_branch[part + 1]; i++)
    if (op->network->branches[i].a == b->a && op->network->branches[i].b == b->b)
      A += p->flows[i].a_A;
  return fabs(A) > 1e-3 ? loom_point_volts(p, b->a, b->b) / A : NAN;
}

static guint
halved_in(const LoomDesign *design, const LoomDesign *doubled, guint scene)
{
  g_autoptr(LoomWiring) w = loom_wiring_new(design, scene), v = loom_wiring_new(doubled, scene);
  g_autoptr(LoomOperation) a = loom_operation_new(w, 1), b = loom_operation_new(v, 1);
  guint n = 0;
  for (guint i = 0; i < a->n_states; i++)
    for (guint part = 0; part < w->n_parts; part++) {
      const LoomKind *kind = loom_wiring_part(w, part)->kind;
      for (guint e = 0; only_wires(kind) && e < kind->n_elements; e++) {
        double one = way_ohm(a, a->points[i], part, e), two = way_ohm(b, b->points[i], part, e);
        if (isnan(one) || isnan(two) || one < 1e-6)
          continue;
        near(loom_wiring_part(w, part)->designation, "half of a resistance", 2 * two, one,
             1e-7 * one);
        n++;
      }
    }
  return n;
}

static void
test_second_lead(void **state G_GNUC_UNUSED)
{
  guint n = 0;
  for (const char *const *name = robots_ordinary(); *name; name++) {
    g_autoptr(LoomDesign) one = own_copy(*name), two = own_copy(*name);
    g_autoptr(GHashTable) done = g_hash_table_new(NULL, NULL);
    for (guint i = 0; i < loom_design_n_parts(two); i++) {
      LoomKind *kind = loom_design_part(two, i)->kind;
      if (only_wires(kind) && g_hash_table_add(done, kind))
        lay_twice(kind);
    }
    for (guint s = 0; s < loom_design_n_scenes(one); s++)
      n += halved_in(one, two, s);
  }
  assert_true(n > 100);
}

/* --- a longer lead --- */

static void
add_resistor(LoomKind *kind, guint a, guint b, double ohm)
{
  LoomElement e = kind->elements[0];
  kind->elements = g_renew(LoomElement, kind->elements, kind->n_elements + 1);
  e.type = LOOM_ELEMENT_RESISTOR;
  e.a = a;
  e.b = b;
  e.c = e.d = LOOM_NONE;
  e.ohm = ohm;
  e.colour = NULL;
  e.min_V = e.max_V = NAN;
  kind->elements[kind->n_elements++] = e;
}

/* All that is not a conductor or a source becomes a resistor; electronics pass both poles on. */
static void
make_resistive(LoomKind *kind)
{
  guint n = kind->n_elements;
  for (guint i = 0; i < n; i++) {
    LoomElement *e = &kind->elements[i];
    if (e->type == LOOM_ELEMENT_SOURCE) {
      e->limit_A = NAN;
    } else if (e->type == LOOM_ELEMENT_DRIVER || e->type == LOOM_ELEMENT_CONVERTER) {
      guint a = e->a, b = e->b, c = e->c, d = e->d;
      e->type = LOOM_ELEMENT_RESISTOR;
      e->ohm = 200; /* what it takes itself */
      add_resistor(kind, a, c, 0.05);
      add_resistor(kind, b, d, 0.05);
    } else if (e->type > LOOM_ELEMENT_SOURCE) {
      e->type = LOOM_ELEMENT_RESISTOR;
      e->ohm = 2 + i % 7;
    }
  }
}

/* Volts over every load, [n_branches]; new. */
static double *
load_volts(const LoomDesign *design, guint scene, guint *n)
{
  g_autoptr(LoomWiring) w = loom_wiring_new(design, scene);
  g_autoptr(LoomOperation) op = loom_operation_new(w, 1);
  const LoomOperatingPoint *p = op->points[0];
  assert_int_equal(p->trouble, LOOM_TROUBLE_NONE);
  *n = op->network->n_branches - op->network->n_touches;
  double *V = g_new(double, *n + 1);
  for (guint i = 0; i < *n; i++) {
    const LoomBranch *b = &op->network->branches[op->network->n_touches + i];
    V[i] = b->element->type == LOOM_ELEMENT_RESISTOR && b->ohm > 1
               ? fabs(p->flows[op->network->n_touches + i].a_A) * b->ohm
               : NAN;
  }
  return V;
}

static LoomDesign *
changed(const LoomDesign *design, guint part, bool unplugged)
{
  LoomDesign *copy = loom_design_snapshot(design);
  LoomEdit *edit = loom_edit_new(copy, "change");
  const LoomPart *p = loom_design_part(design, part);
  g_autofree char *length = g_strdup_printf("%.9g", 1.7 * loom_part_length_mm(p) + 40);
  for (guint e = 0; unplugged && e < p->kind->n_ends; e++) {
    g_autofree char *end = g_strconcat(p->designation, ":", p->kind->ends[e].id, NULL);
    loom_edit_unplug(edit, end, NULL, NULL);
  }
  if (!unplugged)
    assert_true(loom_edit_set(edit, p->designation, "length_mm", length, NULL));
  loom_design_apply(copy, edit);
  return copy;
}

/* Loads that get less through the longer lead, of those that get nothing without it. */
static guint
lengthen(const LoomDesign *design, guint scene, guint part)
{
  g_autoptr(LoomDesign) longer = changed(design, part, false),
                        without = changed(design, part, true);
  guint n, m, k, less = 0;
  g_autofree double *V = load_volts(design, scene, &n), *far = load_volts(longer, scene, &m);
  g_autofree double *dark = load_volts(without, scene, &k);
  assert_true(n == m && n == k);
  for (guint i = 0; i < n; i++) {
    if (!(V[i] > 1e-6) || dark[i] > 1e-9)
      continue;
    if (far[i] > V[i] * (1 + 1e-12))
      fail_msg("%s: a longer %s takes a load from %.12g to %.12g V",
               loom_design_title(design)->name, loom_design_part(design, part)->designation, V[i],
               far[i]);
    less += far[i] < V[i];
  }
  return less;
}

static guint
n_sources(const LoomDesign *design, guint scene)
{
  g_autofree bool *here = loom_design_scene_parts(design, scene);
  guint n = 0;
  for (guint i = 0; i < loom_design_n_parts(design); i++)
    for (guint e = 0; here[i] && e < loom_design_part(design, i)->kind->n_elements; e++)
      n += loom_design_part(design, i)->kind->elements[e].type == LOOM_ELEMENT_SOURCE;
  return n;
}

static void
test_longer_lead(void **state G_GNUC_UNUSED)
{
  guint n = 0, robots = 0;
  for (const char *const *name = robots_ordinary(); *name; name++) {
    g_autoptr(LoomDesign) design = own_copy(*name);
    g_autoptr(GHashTable) done = g_hash_table_new(NULL, NULL);
    if (n_sources(design, 0) != 1)
      continue;
    robots++;
    for (guint i = 0; i < loom_design_n_parts(design); i++)
      if (g_hash_table_add(done, loom_design_part(design, i)->kind))
        make_resistive(loom_design_part(design, i)->kind);
    for (guint i = 0; i < loom_design_n_parts(design); i++)
      if (only_wires(loom_design_part(design, i)->kind))
        n += lengthen(design, 0, i);
  }
  assert_true(robots >= 8 && n > 50);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(test_laws),        cmocka_unit_test(test_drawn_another_way),
      cmocka_unit_test(test_symmetry),    cmocka_unit_test(test_second_lead),
      cmocka_unit_test(test_longer_lead),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
