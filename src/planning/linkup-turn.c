#include "linkup-private.h"

#include <glib/gi18n-lib.h>
#include <math.h>

/* A lead whose one end was asked for, and what lies on its two sides:
 *
 *      far == other .. asked  X  target       as it lies; `asked` does not go into the target
 *      far == asked .. other  == target       turned round
 *
 * Where nothing is plugged at `other`, turning it is all. */
typedef struct {
  guint part, asked, other; /* the lead and its ends */
  const LoomEnd *target;
  const LoomMeaning *means; /* of the target */
  guint far_part, far_end;  /* what `other` is plugged into; LOOM_NONE: it is free */
} Turn;

static const LoomKind *
lead_kind(const LoomLinkupCase *c, guint part)
{
  return loom_design_part(c->design, part)->kind;
}

/* The end that is plugged at `end` of the part in the scene; false where it is free. */
static bool
find_far(const LoomLinkupCase *c, Turn *turn)
{
  const LoomWiring *w = loom_meanings_wiring(c->meanings);
  guint at = loom_wiring_end(w, turn->part, turn->other);
  turn->far_part = turn->far_end = LOOM_NONE;
  if (w->end_first[at] == w->end_first[at + 1])
    return false;
  const LoomWiredJoint *j = &w->joints[w->end_joints[w->end_first[at]]];
  bool first = j->part_a == turn->part && j->end_a == turn->other;
  turn->far_part = first ? j->part_b : j->part_a;
  turn->far_end = first ? j->end_b : j->end_a;
  return true;
}

/* Ways of `to` on which the contacts of `from` (which carry the bit sets `ways`) come out of the
 * lead. */
static void
lead_through(const LoomKind *kind, guint from, guint to, const guint64 *ways, guint n, guint64 *out)
{
  guint64 map[LOOM_MOST_WAYS];
  loom_piece_map(kind, from, to, map);
  for (guint i = 0; i < n; i++) {
    out[i] = 0;
    for (guint way = 0; way < LOOM_MOST_WAYS; way++)
      if (ways[i] >> way & 1)
        out[i] |= map[way];
  }
}

static bool
mates(const LoomEnd *a, const LoomEnd *b)
{
  LoomEnd twin = *b;
  return loom_mate(a, &twin) == LOOM_MATE_YES;
}

/* What the contacts of `end` would carry if nothing but themselves were there. */
static guint
own_ways(const LoomEnd *end, guint64 *ways)
{
  for (guint i = 0; i < end->n_contacts; i++)
    ways[i] = G_GUINT64_CONSTANT(1) << (end->contacts[i].way - 1);
  return end->n_contacts;
}

/* Whether the turned lead joins what it should: the far side, if there is one, with the target. */
static bool
turn_fits(const LoomLinkupCase *c, const Turn *turn)
{
  const LoomKind *kind = lead_kind(c, turn->part);
  const LoomEnd *asked = &kind->ends[turn->asked], *other = &kind->ends[turn->other];
  guint64 ways[LOOM_MOST_WAYS], out[LOOM_MOST_WAYS];
  LoomMeaning means[LOOM_MOST_WAYS];
  if (!mates(other, turn->target))
    return false;
  if (turn->far_part == LOOM_NONE) {
    loom_meanings_of_end(c->meanings, turn->part, turn->other, means);
    guint n = own_ways(other, ways);
    return loom_meanings_compare(means, ways, n, turn->target, turn->means) == LOOM_FITS;
  }
  const LoomEnd *far = &lead_kind(c, turn->far_part)->ends[turn->far_end];
  if (!mates(far, asked))
    return false;
  loom_meanings_of_end(c->meanings, turn->far_part, turn->far_end, means);
  guint n = own_ways(far, ways);
  lead_through(kind, turn->asked, turn->other, ways, n, out);
  return loom_meanings_compare(means, out, n, turn->target, turn->means) == LOOM_FITS;
}

/* Tries every other end of the lead. */
static bool
try_lead(const LoomLinkupCase *c, Turn *turn)
{
  const LoomKind *kind = lead_kind(c, turn->part);
  if (!loom_is_piece(kind) || turn->target->n_contacts > LOOM_MOST_WAYS)
    return false;
  for (turn->other = 0; turn->other < kind->n_ends; turn->other++) {
    if (turn->other == turn->asked)
      continue;
    find_far(c, turn);
    if (turn_fits(c, turn))
      return true;
  }
  return false;
}

/* The joint that is made between a lead's end and what lies at its far side or the target. */
static void
add_joint(const LoomLinkupCase *c, const Turn *turn, const LoomEnd *of_lead, const LoomEnd *to,
          LoomLinkupAnswer *answer)
{
  LoomLiveSide lead_side = turn->part == c->question->part_a ? LOOM_LIVE_FIRST : LOOM_LIVE_SECOND;
  bool lead_live = (to == turn->target) == (c->live == lead_side);
  answer->n_joints++;
  if (c->live != LOOM_LIVE_NEITHER)
    answer->live_pins +=
        loom_link_live_pins(of_lead, to, lead_live ? LOOM_LIVE_FIRST : LOOM_LIVE_SECOND);
  answer->resistance_ohm += loom_link_joint_ohm(of_lead, to);
  double rated_A = loom_joint_rated_A(of_lead, to);
  answer->rating_A = fmin(answer->rating_A, rated_A > 0 ? rated_A : INFINITY);
}

static void
describe(const LoomLinkupCase *c, const Turn *turn, LoomLinkupAnswer *answer)
{
  const LoomPart *lead = loom_design_part(c->design, turn->part);
  const LoomEnd *asked = &lead->kind->ends[turn->asked], *other = &lead->kind->ends[turn->other];
  *answer = (LoomLinkupAnswer){.type = LOOM_ANSWER_TURN,
                               .lead = g_strdup(lead->designation),
                               .asked = turn->asked,
                               .other = turn->other,
                               .rating_A = INFINITY};
  add_joint(c, turn, other, turn->target, answer);
  if (turn->far_part != LOOM_NONE)
    add_joint(c, turn, asked, &lead_kind(c, turn->far_part)->ends[turn->far_end], answer);
  answer->sentence = g_strdup_printf(_("Turn %s round: its end %s fits %s."), lead->designation,
                                     other->id, turn->target == c->a ? c->name_a : c->name_b);
  loom_linkup_finish(c, answer);
}

bool
loom_linkup_turn(const LoomLinkupCase *c, LoomLinkupAnswer *answer)
{
  const LoomLinkupQuestion *q = c->question;
  if (q->part_a == q->part_b)
    return false;
  Turn first = {.part = q->part_a, .asked = q->end_a, .target = c->b, .means = c->means_b};
  Turn second = {.part = q->part_b, .asked = q->end_b, .target = c->a, .means = c->means_a};
  Turn *turn = try_lead(c, &first) ? &first : try_lead(c, &second) ? &second : NULL;
  if (turn)
    describe(c, turn, answer);
  return turn != NULL;
}
