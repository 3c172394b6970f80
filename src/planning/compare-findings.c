#include "compare-private.h"

#include <glib/gi18n-lib.h>
#include <string.h>

/* Findings of both, and how they are paired. */
typedef struct {
  LoomCompareRoom *room;
  LoomFindings *findings[2];
  guint *to[2];
} Pair;

static char *
place_key(const LoomCompareRoom *room, guint side, const LoomFindingPlace *place)
{
  guint pair = loom_room_pair(room, side, place->part);
  const char *end = place->end ? place->end : "";
  return pair == LOOM_NONE ? g_strdup_printf("%s:%s", place->part, end)
                           : g_strdup_printf("%u:%s", pair, end);
}

static int
by_text(gconstpointer a, gconstpointer b)
{
  return strcmp(*(char *const *)a, *(char *const *)b);
}

/* Places in any order, in terms of pairs; without places what the finding says of itself. New. */
static char *
places_text(const LoomCompareRoom *room, guint side, const LoomFinding *f)
{
  g_autoptr(GPtrArray) keys = g_ptr_array_new_with_free_func(g_free);
  for (guint i = 0; i < f->n_places; i++)
    g_ptr_array_add(keys, place_key(room, side, &f->places[i]));
  if (f->n_places == 0)
    g_ptr_array_add(keys, g_strdup(f->where));
  g_ptr_array_sort(keys, by_text);
  g_ptr_array_add(keys, NULL);
  return g_strjoinv(" ", (char **)keys->pdata);
}

static char *
places_key(const LoomCompareRoom *room, guint side, guint index, gconstpointer data)
{
  const Pair *pair = data;
  const LoomFinding *f = &pair->findings[side]->findings[index];
  g_autofree char *places = places_text(room, side, f);
  return g_strconcat(f->rule, " ", places, NULL);
}

/* The place of the flag alone: the same finding, grown or shrunk. */
static char *
flag_key(const LoomCompareRoom *room, guint side, guint index, gconstpointer data)
{
  const Pair *pair = data;
  const LoomFinding *f = &pair->findings[side]->findings[index];
  if (f->n_places == 0)
    return g_strdup(f->rule);
  g_autofree char *place = place_key(room, side, &f->places[0]);
  return g_strconcat(f->rule, " ", place, NULL);
}

static void
add_places(LoomDifference *d, guint side, const LoomFinding *f)
{
  for (guint i = 0; i < f->n_places; i++)
    loom_difference_place(d, side, f->places[i].part, f->places[i].end);
}

/* "stop, G1:out" */
static char *
head(const LoomFinding *f)
{
  const char *severity = _(loom_severity_word(f->severity));
  return *f->where ? g_strdup_printf("%s, %s", severity, f->where) : g_strdup(severity);
}

static void
tell_alone(const Pair *pair, guint side, const LoomFinding *f)
{
  g_autofree char *where = head(f);
  char *value = g_strdup(loom_severity_word(f->severity));
  LoomDifference *d = loom_room_tell(
      pair->room, side == NOW ? LOOM_DIFFERENCE_FINDING_NEW : LOOM_DIFFERENCE_FINDING_GONE,
      g_strdup(f->where), side == OLD ? value : NULL, side == NOW ? value : NULL,
      g_strdup_printf(side == NOW ? _("New finding (%s): %s") : _("No longer found (%s): %s"),
                      where, f->message));
  d->severity = f->severity;
  add_places(d, side, f);
}

static void
tell_changed(const Pair *pair, const LoomFinding *old, const LoomFinding *now)
{
  g_autofree char *a = places_text(pair->room, OLD, old), *b = places_text(pair->room, NOW, now);
  if (old->severity == now->severity && g_str_equal(a, b))
    return;
  bool graver = now->severity < old->severity;
  g_autofree char *where = head(now);
  LoomDifference *d = loom_room_tell(
      pair->room, LOOM_DIFFERENCE_FINDING_CHANGED, g_strdup(now->where),
      g_strdup(loom_severity_word(old->severity)), g_strdup(loom_severity_word(now->severity)),
      now->severity == old->severity
          ? g_strdup_printf(_("A finding concerns other places now (%s): %s"), where, now->message)
          : g_strdup_printf(graver ? _("A finding is graver now (%s, before %s): %s")
                                   : _("A finding is milder now (%s, before %s): %s"),
                            where, _(loom_severity_word(old->severity)), now->message));
  d->severity = MIN(old->severity, now->severity);
  add_places(d, OLD, old);
  add_places(d, NOW, now);
}

void
loom_compare_findings(LoomCompareRoom *room)
{
  Pair pair = {.room = room};
  guint n[2];
  for (guint side = OLD; side <= NOW; side++) {
    pair.findings[side] = loom_check(room->design[side]);
    n[side] = pair.findings[side]->n_findings;
    pair.to[side] = loom_compare_no_partners(n[side]);
  }
  loom_room_join(room, n, pair.to, places_key, &pair);
  loom_room_join(room, n, pair.to, flag_key, &pair);
  for (guint i = 0; i < n[OLD]; i++) {
    const LoomFinding *old = &pair.findings[OLD]->findings[i];
    if (pair.to[OLD][i] == LOOM_NONE)
      tell_alone(&pair, OLD, old);
    else
      tell_changed(&pair, old, &pair.findings[NOW]->findings[pair.to[OLD][i]]);
  }
  for (guint i = 0; i < n[NOW]; i++)
    if (pair.to[NOW][i] == LOOM_NONE)
      tell_alone(&pair, NOW, &pair.findings[NOW]->findings[i]);
  for (guint side = OLD; side <= NOW; side++) {
    loom_findings_free(pair.findings[side]);
    g_free(pair.to[side]);
  }
}
