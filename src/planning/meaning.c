#include "meaning.h"

#include <math.h>

struct LoomMeanings {
  LoomWiring *wiring;
  LoomSupply *supply;             /* every switch closed */
  LoomCircuits *near, *far;       /* through leads and joints; through switches and fuses too */
  guint8 *near_roles, *far_roles; /* [n_circuits] the meaning, CONTRARY where two clash */
};

#define CONTRARY 255

static LoomMeaning
own_meaning(const LoomContact *contact)
{
  switch (contact->role) {
  case LOOM_ROLE_PLUS:
    return LOOM_MEANS_PLUS;
  case LOOM_ROLE_MINUS:
    return LOOM_MEANS_MINUS;
  case LOOM_ROLE_POLE:
    return LOOM_MEANS_POLE;
  case LOOM_ROLE_SIGNAL:
    return (LoomMeaning)(LOOM_MEANS_SIGNAL + contact->signal);
  case LOOM_ROLE_NONE:
  case LOOM_ROLE_PASS:
    break;
  }
  return LOOM_MEANS_ANYTHING;
}

static LoomMeaning
name_meaning(const LoomContact *contact)
{
  if (contact->role != LOOM_ROLE_PASS)
    return LOOM_MEANS_ANYTHING;
  if (g_str_equal(contact->name, "+"))
    return LOOM_MEANS_PLUS;
  return g_str_equal(contact->name, "-") ? LOOM_MEANS_MINUS : LOOM_MEANS_ANYTHING;
}

/* What a circuit means that meant `old` so far and has one more contact. Supply outweighs poles and
 * signals: a signal that is tied to plus is at plus. */
static guint8
joined_meaning(guint8 old, LoomMeaning more)
{
  if (old == LOOM_MEANS_ANYTHING || more == LOOM_MEANS_ANYTHING || old == more)
    return MAX(old, more);
  if (old == CONTRARY)
    return CONTRARY;
  return MAX(old, more) <= LOOM_MEANS_MINUS ? CONTRARY : MIN(old, more);
}

static guint8 *
circuit_meanings(const LoomWiring *wiring, const LoomCircuits *circuits)
{
  guint8 *means = g_new0(guint8, MAX(circuits->n_circuits, 1));
  for (guint p = 0; p < wiring->n_parts; p++) {
    const LoomKind *kind = loom_wiring_part(wiring, p)->kind;
    for (guint e = 0; e < kind->n_ends; e++)
      for (guint c = 0; c < kind->ends[e].n_contacts; c++) {
        guint circuit = circuits->circuit[loom_wiring_node(wiring, p, e, c)];
        means[circuit] = joined_meaning(means[circuit], own_meaning(&kind->ends[e].contacts[c]));
      }
  }
  return means;
}

LoomMeanings *
loom_meanings_new(const LoomDesign *design, guint scene)
{
  LoomMeanings *m = g_new0(LoomMeanings, 1);
  m->wiring = loom_wiring_new(design, scene);
  m->supply = loom_supply_new(m->wiring, NULL, true);
  m->near = loom_circuits_new(m->wiring, NULL, 0);
  m->far = loom_circuits_new(m->wiring, NULL,
                             LOOM_THROUGH_SWITCHES | LOOM_THROUGH_OPEN | LOOM_THROUGH_FUSES);
  m->near_roles = circuit_meanings(m->wiring, m->near);
  m->far_roles = circuit_meanings(m->wiring, m->far);
  return m;
}

void
loom_meanings_free(LoomMeanings *m)
{
  if (!m)
    return;
  g_free(m->near_roles);
  g_free(m->far_roles);
  loom_circuits_free(m->near);
  loom_circuits_free(m->far);
  loom_supply_free(m->supply);
  loom_wiring_free(m->wiring);
  g_free(m);
}

const LoomWiring *
loom_meanings_wiring(const LoomMeanings *m)
{
  return m->wiring;
}

static LoomMeaning
contact_meaning(const LoomMeanings *m, const LoomContact *contact, guint node)
{
  LoomMeaning own = own_meaning(contact);
  if (own != LOOM_MEANS_ANYTHING || contact->role == LOOM_ROLE_NONE)
    return own;
  guint8 near = m->near_roles[m->near->circuit[node]], far = m->far_roles[m->far->circuit[node]];
  if (near != LOOM_MEANS_ANYTHING)
    return near == CONTRARY ? LOOM_MEANS_ANYTHING : near;
  if (far != LOOM_MEANS_ANYTHING)
    return far == CONTRARY ? LOOM_MEANS_ANYTHING : far;
  return name_meaning(contact);
}

void
loom_meanings_of_end(const LoomMeanings *m, guint part, guint end, LoomMeaning *of)
{
  const LoomEnd *e = &loom_wiring_part(m->wiring, part)->kind->ends[end];
  for (guint c = 0; c < e->n_contacts; c++)
    of[c] = contact_meaning(m, &e->contacts[c], loom_wiring_node(m->wiring, part, end, c));
}

void
loom_meanings_of_kind(const LoomKind *kind, guint end, LoomMeaning *of)
{
  const LoomEnd *e = &kind->ends[end];
  for (guint c = 0; c < e->n_contacts; c++) {
    of[c] = own_meaning(&e->contacts[c]);
    if (of[c] == LOOM_MEANS_ANYTHING)
      of[c] = name_meaning(&e->contacts[c]);
  }
}

LoomFed
loom_meanings_fed(const LoomMeanings *m, guint part, guint end)
{
  LoomFed fed = {.charger = true};
  guint n_feeds;
  const LoomFeed *feeds = loom_supply_feeds(m->supply, &n_feeds);
  const LoomEnd *e = &loom_wiring_part(m->wiring, part)->kind->ends[end];
  for (guint c = 0; c < e->n_contacts; c++) {
    guint node = loom_wiring_node(m->wiring, part, end, c);
    for (guint i = 0; i < loom_supply_n_reach(m->supply, node); i++) {
      LoomReach reach = loom_supply_reach(m->supply, node, i);
      if (!reach.plus)
        continue;
      fed.fed = true;
      fed.live |= !reach.limited;
      fed.charger &= feeds[reach.feed].charger;
    }
  }
  fed.charger &= fed.fed;
  return fed;
}

/* Spreads from `node` through everything that conducts when switches are closed. */
static void
spread(const LoomKind *kind, bool *reached)
{
  for (bool more = true; more;) {
    more = false;
    for (guint i = 0; i < kind->n_elements; i++) {
      const LoomElement *e = &kind->elements[i];
      if (e->type > LOOM_ELEMENT_FUSE || reached[e->a] == reached[e->b])
        continue;
      reached[e->a] = reached[e->b] = more = true;
    }
  }
}

LoomFed
loom_meanings_kind_feeds(const LoomKind *kind, guint end)
{
  LoomFed fed = {.charger = kind->chemistry.charger};
  g_autofree bool *reached = g_new0(bool, kind->n_nodes + 1);
  const LoomEnd *e = &kind->ends[end];
  for (guint c = 0; c < e->n_contacts; c++)
    reached[e->first_node + c] = true;
  spread(kind, reached);
  for (guint i = 0; i < kind->n_elements; i++) {
    const LoomElement *s = &kind->elements[i];
    bool gives = (s->type == LOOM_ELEMENT_SOURCE && reached[s->a]) ||
                 (s->type == LOOM_ELEMENT_CONVERTER && reached[s->c]);
    fed.fed |= gives;
    fed.live |= gives && isnan(s->limit_A) && isnan(e->limit_A);
  }
  return fed;
}

bool
loom_meanings_clash(LoomMeaning a, LoomMeaning b)
{
  if (a == b || a == LOOM_MEANS_ANYTHING || b == LOOM_MEANS_ANYTHING)
    return false;
  LoomMeaning low = MIN(a, b), high = MAX(a, b);
  if (high == LOOM_MEANS_MINUS || low == LOOM_MEANS_POLE)
    return true;
  return low <= LOOM_MEANS_MINUS && high >= LOOM_MEANS_SIGNAL;
}

static guint
count(const LoomMeaning *of, guint n, LoomMeaning what)
{
  guint found = 0;
  for (guint i = 0; i < n; i++)
    found += of[i] == what;
  return found;
}

/* Two signals that differ are crossed where either end has the other's counterpart as well. */
static bool
crossed(const LoomMeaning *a, guint n_a, const LoomMeaning *b, guint n_b, guint i, guint j)
{
  if (a[i] == b[j] || a[i] < LOOM_MEANS_SIGNAL || b[j] < LOOM_MEANS_SIGNAL)
    return false;
  return count(b, n_b, a[i]) > 0 || count(a, n_a, b[j]) > 0;
}

/* Contacts of `b` that each contact of the first meets, as bit sets [n]. */
static void
meet(const guint64 *ways, guint n, const LoomEnd *b, guint64 *met)
{
  for (guint i = 0; i < n; i++) {
    met[i] = 0;
    for (guint j = 0; j < b->n_contacts; j++)
      if (ways[i] >> (b->contacts[j].way - 1) & 1)
        met[i] |= G_GUINT64_CONSTANT(1) << j;
  }
}

/* Whether some contact stands between two that must not be joined. */
static bool
any_clash(const LoomMeaning *a, const guint64 *met, guint n, const LoomMeaning *b, guint n_b)
{
  for (guint i = 0; i < n; i++)
    for (guint j = 0; j < n_b; j++) {
      if (!(met[i] >> j & 1))
        continue;
      if (loom_meanings_clash(a[i], b[j]) || crossed(a, n, b, n_b, i, j))
        return true;
      for (guint k = 0; k < j; k++)
        if ((met[i] >> k & 1) && loom_meanings_clash(b[j], b[k]))
          return true;
      for (guint k = 0; k < i; k++)
        if ((met[k] >> j & 1) && loom_meanings_clash(a[i], a[k]))
          return true;
    }
  return false;
}

/* How many contacts with that meaning meet one with the same at the other end: at the first, and at
 * the second. */
static void
count_met(const LoomMeaning *a, const guint64 *met, guint n, const LoomMeaning *b, guint n_b,
          LoomMeaning what, guint *at_a, guint *at_b)
{
  guint64 alike = 0, all = 0;
  for (guint j = 0; j < n_b; j++)
    alike |= b[j] == what ? G_GUINT64_CONSTANT(1) << j : 0;
  *at_a = 0;
  for (guint i = 0; i < n; i++)
    if (a[i] == what) {
      *at_a += (met[i] & alike) != 0;
      all |= met[i] & alike;
    }
  *at_b = (guint)__builtin_popcountll(all);
}

/* Every meaning that both ends have must be joined, at the end that has it less often in full. */
static bool
all_joined(const LoomMeaning *a, const guint64 *met, guint n, const LoomMeaning *b, guint n_b)
{
  bool shared = false;
  guint reached = 0;
  for (guint i = 0; i < n; i++) {
    reached += met[i] != 0;
    guint have_a = count(a, n, a[i]), have_b = count(b, n_b, a[i]), at_a, at_b;
    if (a[i] == LOOM_MEANS_ANYTHING || have_b == 0)
      continue;
    shared = true;
    count_met(a, met, n, b, n_b, a[i], &at_a, &at_b);
    if (have_a <= have_b ? at_a < have_a : at_b < have_b)
      return false;
  }
  return shared || reached >= MIN(n, n_b);
}

LoomFitting
loom_meanings_compare(const LoomMeaning *a, const guint64 *ways, guint n, const LoomEnd *b,
                      const LoomMeaning *of_b)
{
  guint64 met[LOOM_MOST_WAYS];
  meet(ways, n, b, met);
  if (any_clash(a, met, n, of_b, b->n_contacts))
    return LOOM_CLASHES;
  return all_joined(a, met, n, of_b, b->n_contacts) ? LOOM_FITS : LOOM_FITS_PARTLY;
}
