/* The rota of an event day: which pack goes out with which outing, and which charger it goes on
 * when it comes back.
 *
 *   LoomRotaDay day;
 *   loom_rota_day_init(&day, pack_kind);
 *   day.n_packs = day.n_full = 3;
 *   loom_rota_day_every(&day, 9 * 60 + 30, 20, 8, 5);      // 8 outings from 9:30 on, every 20 min
 *   day.chargers = chargers; day.n_chargers = 2;
 *   g_autoptr(LoomRota) r = loom_rota_new(&day);
 *   for (guint i = 0; r->conflicts[i]; i++) puts(r->conflicts[i]);
 *
 *   time      10:00      10:30      11:00      11:30      12:00
 *   pack 1    ▓out▓░cools░░░│══ on charger 1 ══════│ready   ▓out▓      spans, row by row: the chart
 *   pack 2    ready     ▓out▓░cools░░░│ waits │═ on charger 1 ═
 *
 * All packs are of one kind. A pack rests after its outing (`cool_min`), waits for a charger, is
 * charged without a break and is full `ready_min` before its next outing. Charging times are those
 * of charge.h, rounded up to whole minutes. Times are minutes after midnight, and may go on past
 * 1440.
 *
 * What is promised:
 * - No pack and no charger is in two places at once; no setting is above the pack's stated rate.
 * - Every outing has a full pack whenever that is possible with these packs and chargers. Where it
 *   is not, the first outing without one comes as late as possible, and a sentence says how many
 *   more packs (or chargers) make the day possible.
 * - `least_packs` is the smallest number that will do, found by exact search. Only where many
 *   unlike chargers meet a long day is the search cut short; `proven` is false then.
 * - Of the plans that work the gentle one: charge by charge in the order in which packs come back,
 *   each that the day needs takes the lowest current that leaves the rest of the day possible. So
 *   none of them could be slower by itself. Packs that the day no longer needs are charged as
 *   gently as the end of the day allows, if a charger is free.
 * - Of full packs the one goes out that has been full the longest, so that all are used alike.
 * - The same day gives the same rota. */
#pragma once

#include "charge.h"

G_BEGIN_DECLS

typedef struct {
  char *name;      /* "match 3", or NULL: "outing 3" by time */
  guint start_min; /* after midnight */
  guint minutes;   /* until the pack comes back; at least 1 */
} LoomRotaOuting;

/* What is asked. An outing that takes two packs is given twice. */
typedef struct {
  const LoomKind *pack;     /* borrowed */
  guint n_packs;            /* that the team has */
  guint n_full;             /* of these full in the morning, the first ones; <= n_packs */
  const char *const *names; /* [n_packs] what stands on the packs, borrowed; NULL: "pack 1", ... */
  guint n_chargers;
  const LoomKind *const *chargers;  /* [n_chargers] borrowed; those that do not suit are left out */
  const char *const *charger_names; /* [n_chargers] borrowed; NULL: "charger 1", ... */
  guint n_outings;
  LoomRotaOuting *outings; /* [n_outings] owned, in any order; see loom_rota_day_clear */
  double used;     /* share of a full charge that the hungriest outing takes, 0 ... 1; at first 1 */
  guint opens_min; /* from when on chargers may be used; at first 8:00 */
  guint cool_min;  /* rest of a pack between outing and charger; at first 30 (common practice, no
                      source: until it is no longer warm to the hand) */
  guint ready_min; /* off the charger this long before its outing; at first 5 */
} LoomRotaDay;

/* A day without packs, chargers and outings. */
void loom_rota_day_init(LoomRotaDay *day, const LoomKind *pack);
/* Frees the outings; everything else is borrowed. */
void loom_rota_day_clear(LoomRotaDay *day);
/* One more outing; `name` is copied and may be NULL. */
void loom_rota_day_add(LoomRotaDay *day, const char *name, guint start_min, guint minutes);
/* `n` more outings, the first at `first_min`, then every `interval_min`. */
void loom_rota_day_every(LoomRotaDay *day, guint first_min, guint interval_min, guint n,
                         guint minutes);

/* Which pack an outing gets. */
typedef struct {
  guint outing; /* index in the day's outings */
  char *name;   /* owned */
  guint start_min, end_min;
  guint pack;    /* LOOM_NONE: there is none to send */
  double charge; /* share of a full charge at the start; 1: full; 0 without a pack */
} LoomRotaUse;

/* One charge of one pack. */
typedef struct {
  guint pack, charger;
  guint start_min, end_min;
  double current_A;
  double from, to; /* share of a full charge at start and end; `to` below 1: taken off early */
  bool gentle;     /* the setting is the lowest of this charger */
  bool needed;     /* false: no outing waits for it; for a repeat or for the next day */
} LoomRotaCharge;

/* The chart: every pack's day without gaps. */
typedef enum {
  LOOM_SPAN_READY,   /* full, waits for its outing */
  LOOM_SPAN_OUT,     /* on the robot */
  LOOM_SPAN_COOLING, /* rests before it may be charged */
  LOOM_SPAN_WAITING, /* not full; no charger, or nothing left to do today */
  LOOM_SPAN_CHARGING,
} LoomSpanKind;

typedef struct {
  guint pack;
  LoomSpanKind what;
  guint from_min, to_min; /* from < to */
  guint use;              /* OUT: index in uses; otherwise LOOM_NONE */
  guint charge;           /* CHARGING: index in charges; otherwise LOOM_NONE */
} LoomRotaSpan;

/* Stands on its own. Sentences are owned and NULL-terminated arrays. */
typedef struct {
  guint n_uses, n_charges, n_spans;
  LoomRotaUse *uses;       /* [n_uses] every outing, by time, then in the order given */
  LoomRotaCharge *charges; /* [n_charges] by start, then charger */
  LoomRotaSpan *spans;     /* [n_spans] by pack, then time */
  guint n_packs, n_chargers;
  char **packs, **chargers; /* [n_packs], [n_chargers] names; chargers are those of the day */
  guint from_min, to_min;   /* of the chart: all spans lie in it */
  guint
      least_packs; /* smallest number, all full in the morning, that gives each outing a full one */
  guint more_packs;    /* full ones to be brought besides those there are; 0: the day is possible */
  guint more_chargers; /* instead, of the best kind there is; 0, or LOOM_NONE: none would help */
  bool proven;         /* the search for the two numbers above and for the plan was exact */
  char **conflicts;    /* what does not work: missing packs, outings without a full pack; or none */
  char **notes;        /* what to know: chargers that do not suit, what is assumed */
} LoomRota;

/* New, never NULL. A day with a pack that cannot be charged is planned without chargers. */
LoomRota *loom_rota_new(const LoomRotaDay *day);
void loom_rota_free(LoomRota *rota);

/* The day as sentences in the order of time ("10:05 Put pack 2 on charger 1 at 0.9 A; it is full at
 * about 14:45."). New, NULL-terminated. */
char **loom_rota_sentences(const LoomRota *rota);
/* "9:05"; minutes past midnight go on with "0:10". New. */
char *loom_rota_clock(guint minutes);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomRota, loom_rota_free)

G_END_DECLS
