#include "mating.h"

#include "wire.h"

#include <glib/gi18n-lib.h>
#include <math.h>
#include <string.h>

static bool
takes(const LoomEnd *terminal, const LoomEnd *end)
{
  return terminal->family->accepts &&
         g_strv_contains((const char *const *)terminal->family->accepts, end->family->id);
}

static LoomMate
wire_in_range(const LoomEnd *terminal, const LoomEnd *end)
{
  const LoomFamily *family = terminal->family;
  if (isnan(end->wire_mm2) || family->wire_max_mm2 <= 0)
    return LOOM_MATE_YES;
  if (end->wire_mm2 < family->wire_min_mm2 * 0.999)
    return LOOM_MATE_WIRE_THIN;
  return end->wire_mm2 > family->wire_max_mm2 * 1.001 ? LOOM_MATE_WIRE_THICK : LOOM_MATE_YES;
}

static bool
same_family(const LoomEnd *a, const LoomEnd *b)
{
  return a->family == b->family || g_str_equal(a->family->id, b->family->id);
}

LoomMate
loom_mate(const LoomEnd *a, const LoomEnd *b)
{
  if (takes(a, b))
    return wire_in_range(a, b);
  if (takes(b, a))
    return wire_in_range(b, a);
  if (a->gender == LOOM_GENDER_TERMINAL && b->gender == LOOM_GENDER_TERMINAL)
    return LOOM_MATE_TERMINALS;
  if (!same_family(a, b))
    return LOOM_MATE_FAMILY;
  if (a->gender == LOOM_GENDER_GENDERLESS && b->gender == LOOM_GENDER_GENDERLESS)
    return LOOM_MATE_YES;
  if (a->gender == LOOM_GENDER_PINS && b->gender == LOOM_GENDER_PINS)
    return LOOM_MATE_BOTH_PINS;
  if (a->gender == LOOM_GENDER_SOCKETS && b->gender == LOOM_GENDER_SOCKETS)
    return LOOM_MATE_BOTH_SOCKETS;
  bool gendered = (a->gender == LOOM_GENDER_PINS && b->gender == LOOM_GENDER_SOCKETS) ||
                  (a->gender == LOOM_GENDER_SOCKETS && b->gender == LOOM_GENDER_PINS);
  return gendered ? LOOM_MATE_YES : LOOM_MATE_FAMILY;
}

static char *
wire_sentence(const LoomEnd *a, const LoomEnd *b, bool thin)
{
  const LoomEnd *terminal = takes(a, b) ? a : b;
  const LoomEnd *wire = terminal == a ? b : a;
  g_autofree char *size = loom_wire_size_words(wire->wire_mm2);
  return g_strdup_printf(
      thin ? _("The wire of %s is too thin for this terminal, which holds %g to %g mm².")
           : _("The wire of %s is too thick for this terminal, which holds %g to %g mm²."),
      size, terminal->family->wire_min_mm2, terminal->family->wire_max_mm2);
}

char *
loom_mate_why(LoomMate mate, const LoomEnd *a, const LoomEnd *b)
{
  switch (mate) {
  case LOOM_MATE_YES:
    return NULL;
  case LOOM_MATE_BOTH_PINS:
    return g_strdup(_("Both ends have pins: one of the two must have sockets."));
  case LOOM_MATE_BOTH_SOCKETS:
    return g_strdup(_("Both ends have sockets: one of the two must have pins."));
  case LOOM_MATE_WIRE_THIN:
    return wire_sentence(a, b, true);
  case LOOM_MATE_WIRE_THICK:
    return wire_sentence(a, b, false);
  case LOOM_MATE_SAME_END:
    return g_strdup(_("An end cannot be plugged into itself."));
  case LOOM_MATE_TERMINALS:
    return g_strdup_printf(_("Neither takes the other: %s and %s."), a->family->name,
                           b->family->name);
  case LOOM_MATE_FAMILY:
    break;
  }
  return g_strdup_printf(_("They are different connectors: %s and %s."), a->family->name,
                         b->family->name);
}

bool
loom_fit_possible(const LoomEnd *a, const LoomEnd *b, LoomFit fit)
{
  /* A terminal decides for what goes into it: its own fits count. */
  const LoomFamily *family = takes(b, a) ? b->family : a->family;
  return fit == LOOM_FIT_NORMAL || (fit == LOOM_FIT_TURNED && family->turnable) ||
         (fit == LOOM_FIT_SHIFTED && family->shiftable);
}

guint
loom_fit_meets(const LoomEnd *a, guint contact, const LoomEnd *b, LoomFit fit)
{
  guint way = a->contacts[contact].way;
  if (fit == LOOM_FIT_TURNED)
    way = a->family->ways + 1 - way;
  else if (fit == LOOM_FIT_SHIFTED)
    way += 1;
  return loom_end_contact_at(b, way);
}

double
loom_joint_rated_A(const LoomEnd *a, const LoomEnd *b)
{
  double x = a->family->rated_A, y = b->family->rated_A;
  if (isnan(x) || isnan(y))
    return isnan(x) ? y : x;
  return MIN(x, y);
}

double
loom_joint_ohm(const LoomEnd *a, const LoomEnd *b)
{
  return MAX(a->family->contact_ohm, b->family->contact_ohm);
}

bool
loom_end_touchable(const LoomEnd *end)
{
  switch (end->gender) {
  case LOOM_GENDER_PINS:
    return end->family->pins_touchable;
  case LOOM_GENDER_SOCKETS:
    return end->family->sockets_touchable;
  default:
    return end->family->pins_touchable || end->family->sockets_touchable;
  }
}
