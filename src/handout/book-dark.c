/* If it stays dark: what to test, the way of the supply to be halved with a meter, and what is seen
 * on any robot. */
#include "book-private.h"
#include "electric/supply.h"

#include <math.h>

/* --- the way from the source to the controller --- */

/* A place on the way where one may measure: a joint, at the end that looks to the source. */
typedef struct {
  guint wired; /* index in the wiring's joints */
  guint node;  /* of the + side there */
  guint source,
      toward; /* numbers of the two ends: nearer to the source, nearer to the controller */
} Place;

/* Search over nodes: how each one was reached. */
typedef struct {
  guint from;  /* node; LOOM_NONE at the start */
  guint wired; /* joint that was crossed, LOOM_NONE inside a part */
} Came;

static bool
leads_on(LoomElementType type)
{
  return type == LOOM_ELEMENT_WIRE || type == LOOM_ELEMENT_THROUGH || type == LOOM_ELEMENT_SWITCH ||
         type == LOOM_ELEMENT_FUSE;
}

typedef struct {
  guint to, wired;
} Edge;

/* Neighbours of every node: arrays of Edge, [n_nodes]. New. */
static GPtrArray *
neighbours(const LoomWiring *w)
{
  GPtrArray *all = g_ptr_array_new_full(w->n_nodes, (GDestroyNotify)g_array_unref);
  for (guint i = 0; i < w->n_nodes; i++)
    g_ptr_array_add(all, g_array_new(FALSE, FALSE, sizeof(Edge)));
  for (guint i = 0; i < w->n_touches; i++) {
    const LoomTouch *t = &w->touches[i];
    Edge there = {t->b, t->wired}, back = {t->a, t->wired};
    g_array_append_val((GArray *)all->pdata[t->a], there);
    g_array_append_val((GArray *)all->pdata[t->b], back);
  }
  for (guint p = 0; p < w->n_parts; p++) {
    const LoomKind *kind = loom_wiring_part(w, p)->kind;
    for (guint e = 0; e < kind->n_elements; e++) {
      const LoomElement *el = &kind->elements[e];
      if (!leads_on(el->type))
        continue;
      Edge there = {w->part_node[p] + el->b, LOOM_NONE},
           back = {w->part_node[p] + el->a, LOOM_NONE};
      g_array_append_val((GArray *)all->pdata[back.to], there);
      g_array_append_val((GArray *)all->pdata[there.to], back);
    }
  }
  return all;
}

static bool
is_source(const LoomWiring *w, guint node)
{
  guint part = w->node_part[node];
  const LoomKind *kind = loom_wiring_part(w, part)->kind;
  for (guint e = 0; e < kind->n_elements; e++)
    if (kind->elements[e].type == LOOM_ELEMENT_SOURCE &&
        w->part_node[part] + kind->elements[e].a == node)
      return true;
  return false;
}

/* + node of what keeps the first controller awake; LOOM_NONE. */
static guint
controller_node(const LoomWiring *w)
{
  for (guint p = 0; p < w->n_parts; p++) {
    const LoomKind *kind = loom_wiring_part(w, p)->kind;
    for (guint e = 0; e < kind->n_elements && kind->group == LOOM_GROUP_CONTROLLER; e++)
      if (kind->elements[e].type == LOOM_ELEMENT_POWER)
        return w->part_node[p] + kind->elements[e].a;
  }
  return LOOM_NONE;
}

/* Joints on the shortest way from a source to `start`, the source's first. New, of Place; empty
 * where no source is reached. */
static GArray *
way_to(const LoomWiring *w, guint start)
{
  GArray *places = g_array_new(FALSE, FALSE, sizeof(Place));
  g_autoptr(GPtrArray) edges = neighbours(w);
  g_autofree Came *came = g_new(Came, w->n_nodes);
  g_autofree bool *seen = g_new0(bool, w->n_nodes);
  g_autofree guint *queue = g_new(guint, w->n_nodes);
  guint head = 0, tail = 0, found = LOOM_NONE;
  queue[tail++] = start;
  seen[start] = true;
  came[start] = (Came){LOOM_NONE, LOOM_NONE};
  while (head < tail && found == LOOM_NONE) {
    guint node = queue[head++];
    if (is_source(w, node))
      found = node;
    const GArray *out = edges->pdata[node];
    for (guint i = 0; i < out->len; i++) {
      const Edge *e = &g_array_index(out, Edge, i);
      if (seen[e->to])
        continue;
      seen[e->to] = true;
      came[e->to] = (Came){node, e->wired};
      queue[tail++] = e->to;
    }
  }
  for (guint node = found; node != LOOM_NONE; node = came[node].from) {
    if (came[node].wired == LOOM_NONE)
      continue;
    const LoomWiredJoint *j = &w->joints[came[node].wired];
    guint a = loom_wiring_end(w, j->part_a, j->end_a), b = loom_wiring_end(w, j->part_b, j->end_b);
    bool at_a = w->node_part[node] == j->part_a;
    Place place = {came[node].wired, node, at_a ? a : b, at_a ? b : a};
    g_array_append_val(places, place);
  }
  return places;
}

/* --- tables --- */

static char *
end_name(const LoomWiring *w, guint number)
{
  guint part = w->end_part[number];
  return loom_wiring_end_name(w, part, number - w->part_end[part]);
}

static void
row(LoomTable *table, const char *symptom, const char *look)
{
  loom_table_text(table, symptom);
  loom_table_text(table, look);
  loom_table_tick(table);
}

/* What no test of the drawing tells apart, or what is the same on every robot. */
static void
symptoms(LoomMaking *m)
{
  LoomColumn columns[] = {{_("what you see"), 50, 0, false},
                          {_("look here first, in this order"), 0, 1, false},
                          {_("it was that"), 18, 0, false}};
  loom_scroll_section(m->scroll, _("And otherwise"));
  LoomTable *table = loom_table_begin(m->scroll, columns, G_N_ELEMENTS(columns), true);
  row(table, _("The fuse has opened"),
      _("1. Pack off. Find the short before a new fuse goes in: measure ohms between + and − at "
        "the "
        "open end behind the fuse.\n2. Unplug half of what hangs there until the short is gone.\n"
        "3. Same rating only, never larger."));
  row(table, _("The wrong thing moves"),
      _("1. Two plugs are crossed, or two lines of the port map. Compare both, port by port."));
  row(table, _("It turns the wrong way"),
      _("1. “Reversed” in the set-up.\n2. Its plug, where it can be turned."));
  row(table, _("The number of a sensor stands still"),
      _("1. Right port, right way round?\n2. Right device type in the set-up?\n3. Three-wire leads "
        "reach "
        "only one of the two channels of a port: try the other one in the set-up."));
  row(table, _("The hand control finds nothing"),
      _("1. Is its own pack charged?\n2. Does the controller show that its radio is on?\n3. Same "
        "network "
        "on both?"));
  loom_table_end(table);
}

/* Node of the end that has the most volts below `plus`: its return. */
static guint
return_node(const LoomWiring *w, const LoomSupply *supply, guint end, guint plus)
{
  guint part = w->end_part[end], best = LOOM_NONE;
  const LoomEnd *e = &loom_wiring_part(w, part)->kind->ends[end - w->part_end[part]];
  double most_V = 0;
  for (guint c = 0; c < e->n_contacts; c++) {
    guint node = w->part_node[part] + e->first_node + c;
    double volts;
    if (node != plus && loom_supply_volts(supply, plus, node, &volts, NULL, NULL) &&
        volts > most_V) {
      most_V = volts;
      best = node;
    }
  }
  return best;
}

static void
place_row(LoomMaking *m, LoomTable *table, const LoomSupply *supply, const Place *place,
          guint minus, guint number)
{
  const LoomWiring *w = m->wiring;
  g_autofree char *source = end_name(w, place->source);
  g_autofree char *toward = end_name(w, place->toward);
  g_autofree char *red = loom_wiring_node_name(w, place->node);
  g_autofree char *black = loom_wiring_node_name(w, minus);
  double low = NAN, high = NAN;
  loom_supply_volts(supply, place->node, minus, NULL, &low, &high);
  g_autofree char *from = loom_book_number(m, low, 1);
  g_autofree char *to = loom_book_number(m, high, 1);
  loom_table_textf(table, "%u", number);
  loom_table_textf(table, _("%s out of %s"), source, toward);
  loom_table_textf(table, _("red %s\nblack %s"), red, black);
  if (isnan(low))
    loom_table_text(table, NULL);
  else
    loom_table_textf(table, _("%s to %s V"), from, to);
  loom_table_blank(table);
}

static void
way_table(LoomMaking *m, const GArray *way)
{
  LoomColumn columns[] = {{"", 9, 0, true},
                          {_("take apart, pack off"), 0, 1, false},
                          {_("then pack on, and measure"), 0, 1, false},
                          {_("it must read"), 30, 0, false},
                          {_("it reads"), 20, 0, false}};
  g_autoptr(LoomSupply) supply = loom_supply_new(m->wiring, NULL, true);
  loom_scroll_section(m->scroll, _("Halve the way"));
  loom_scroll_text(
      m->scroll, LOOM_TEXT_BODY,
      _("Begin in the middle. What reads right there clears everything before it; what does "
        "not, everything behind it. Take the pack off before each joint is opened or "
        "closed, and switch on for the reading only."));
  LoomTable *table = loom_table_begin(m->scroll, columns, G_N_ELEMENTS(columns), true);
  guint number = 0;
  for (guint i = 0; i < way->len; i++) {
    const Place *place = &g_array_index(way, Place, i);
    guint minus = return_node(m->wiring, supply, place->source, place->node);
    if (minus != LOOM_NONE) /* both probes at one end */
      place_row(m, table, supply, place, minus, ++number);
  }
  loom_table_end(table);
}

/* Parts on the way, each once; new, of guint. */
static GArray *
parts_of(const LoomWiring *w, const GArray *way)
{
  GArray *parts = g_array_new(FALSE, FALSE, sizeof(guint));
  for (guint i = 0; i < way->len; i++) {
    const Place *place = &g_array_index(way, Place, i);
    g_array_append_val(parts, w->end_part[place->source]);
    g_array_append_val(parts, w->end_part[place->toward]);
  }
  return parts;
}

void
loom_book_dark(LoomMaking *m)
{
  guint start = controller_node(m->wiring);
  g_autoptr(GArray) way =
      start == LOOM_NONE ? g_array_new(FALSE, FALSE, sizeof(Place)) : way_to(m->wiring, start);
  g_autoptr(GArray) supply = parts_of(m->wiring, way);
  loom_scroll_text(
      m->scroll, LOOM_TEXT_BODY,
      _("Do the tests in their order and follow what they show. The order is worked out from this "
        "drawing: likely and easy things first. Change one thing at a time, and note what it was. "
        "Where a list ends without an answer, the fault finder of the program goes on."));
  loom_book_trees(m, supply);
  if (way->len > 1)
    way_table(m, way);
  symptoms(m);
}
