/* The rota of an event day: what it promises holds on random days, and what it calls impossible is
 * impossible. The twin tries every order of charges on every charger. */
#include "planning/rota.h"

#include "fixture.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "../near.h"
#include "../seed.h"

#define MOST_CHARGERS 8
#define MOST_OUTINGS 80
#define CAPACITY_AH 2.0
#define HIGHEST_A 4.0
#define FACTOR 1.4 /* NiMH, see test-charge.c */

static guint
pick(GRand *rand, guint low, guint high)
{
  return (guint)g_rand_int_range(rand, (gint32)low, (gint32)high + 1);
}

/* ---- days ---- */

typedef struct {
  LoomCatalogue *catalogue;
  LoomRotaDay day;
  const LoomKind *chargers[MOST_CHARGERS];
} Event;

static void
put_end(GString *xml)
{
  g_string_append(xml, "<end id=\"out\" family=\"f\" gender=\"sockets\" side=\"left\">"
                       "<contact way=\"1\" name=\"+\" role=\"plus\"/>"
                       "<contact way=\"2\" name=\"-\" role=\"minus\"/></end>");
}

static void
put_charger(GString *xml, guint number, const char *currents)
{
  g_string_append_printf(xml,
                         "<kind id=\"t%u\" name=\"Charger\" letter=\"T\" group=\"charging\" "
                         "width_mm=\"30\" height_mm=\"20\" source=\"typical\">",
                         number);
  put_end(xml);
  g_string_append_printf(xml,
                         "<source a=\"out:+\" b=\"out:-\" emf_V=\"14\"/>"
                         "<chemistry name=\"NiMH\" cells=\"10\" currents_A=\"%s\"/></kind>",
                         currents);
}

/* A day with one kind of charger for each text of settings. */
static Event *
event_new(const char *const *currents, guint n)
{
  Event *event = g_new0(Event, 1);
  g_autofree char *family = fixture_family("f", 2);
  g_autoptr(GString) xml = g_string_new(family);
  g_string_append(xml, "<kind id=\"g\" name=\"Pack\" letter=\"G\" group=\"supply\" width_mm=\"30\" "
                       "height_mm=\"20\" source=\"typical\">");
  put_end(xml);
  g_string_append(xml, "<source a=\"out:+\" b=\"out:-\" emf_V=\"12\" capacity_Ah=\"2\"/>"
                       "<chemistry name=\"NiMH\" cells=\"10\" charge_max_A=\"4\"/></kind>");
  for (guint i = 0; i < n; i++)
    put_charger(xml, i, currents[i]);
  event->catalogue = fixture_catalogue(xml->str);
  loom_rota_day_init(&event->day, loom_catalogue_kind(event->catalogue, "g"));
  for (guint i = 0; i < n; i++) {
    g_autofree char *id = g_strdup_printf("t%u", i);
    event->chargers[i] = loom_catalogue_kind(event->catalogue, id);
  }
  event->day.chargers = event->chargers;
  event->day.n_chargers = n;
  return event;
}

static void
event_free(Event *event)
{
  loom_rota_day_clear(&event->day);
  loom_catalogue_unref(event->catalogue);
  g_free(event);
}
G_DEFINE_AUTOPTR_CLEANUP_FUNC(Event, event_free)

static Event *
random_event(GRand *rand, guint most_outings, guint most_chargers)
{
  static const char *const currents[] = {"1", "2", "0.5 1", "1 2 4", "2 4 8", "0.7", "1.4 2.8"};
  const char *chosen[MOST_CHARGERS];
  guint n = pick(rand, 0, most_chargers);
  for (guint i = 0; i < n; i++)
    chosen[i] = i > 0 && pick(rand, 0, 1) ? chosen[i - 1]
                                          : currents[pick(rand, 0, G_N_ELEMENTS(currents) - 1)];
  Event *event = event_new(chosen, n);
  LoomRotaDay *day = &event->day;
  guint outings = pick(rand, 1, most_outings), at = pick(rand, 480, 600);
  for (guint i = 0; i < outings; i++) {
    loom_rota_day_add(day, NULL, at, pick(rand, 1, 20));
    at += pick(rand, 0, 90);
  }
  day->n_packs = pick(rand, 0, MIN(outings, 5));
  day->n_full = pick(rand, 0, 3) ? day->n_packs : pick(rand, 0, day->n_packs);
  day->used = pick(rand, 0, 1) ? 1 : pick(rand, 1, 10) / 10.0;
  day->opens_min = pick(rand, 450, 620);
  day->cool_min = pick(rand, 0, 2) * 15;
  day->ready_min = pick(rand, 0, 2) * 5;
  return event;
}

/* ---- the twin: every order of charges ---- */

typedef struct {
  const LoomRotaDay *day; /* outings by time */
  guint n_full, n_jobs, n_chargers;
  guint release[16], minutes[32], free_at[32];
  guint done[16], n_done; /* minutes at which charges end */
  bool used[16];
  guint reach;
} Twin;

/* Outings in order that have a full pack. */
static guint
twin_served(const Twin *twin)
{
  guint done[16], n = twin->n_done, full = twin->n_full;
  memcpy(done, twin->done, sizeof done);
  for (guint j = 0; j < twin->day->n_outings; j++) {
    guint due = twin->day->outings[j].start_min - twin->day->ready_min;
    for (guint i = 0; i < n;)
      if (done[i] <= due) {
        full++;
        done[i] = done[--n];
      } else {
        i++;
      }
    if (full == 0)
      return j;
    full--;
  }
  return twin->day->n_outings;
}

static void
twin_try(Twin *twin)
{
  twin->reach = MAX(twin->reach, twin_served(twin));
  if (twin->n_full + twin->n_done >= twin->day->n_outings)
    return; /* no outing is left that another charge could serve */
  for (guint job = 0; job < twin->n_jobs && twin->reach < twin->day->n_outings; job++)
    for (guint c = 0; !twin->used[job] && c < twin->n_chargers; c++) {
      guint before = twin->free_at[c];
      twin->free_at[c] = MAX(before, twin->release[job]) + twin->minutes[c];
      twin->done[twin->n_done++] = twin->free_at[c];
      twin->used[job] = true;
      twin_try(twin);
      twin->used[job] = false;
      twin->n_done--;
      twin->free_at[c] = before;
    }
}

/* Minutes in the fastest setting that the pack may be given. */
static guint
twin_minutes(const LoomKind *charger, double used)
{
  double fastest = 0;
  for (guint i = 0; i < 4; i++)
    if (charger->chemistry.currents_A[i] <= HIGHEST_A)
      fastest = MAX(fastest, charger->chemistry.currents_A[i]);
  return (guint)ceil(60 * FACTOR * CAPACITY_AH * used / fastest - 1e-6);
}

/* With so many full packs, empty ones, and more chargers like the fastest. */
static guint
twin_reach(const LoomRotaDay *day, guint n_full, guint n_empty, guint n_more)
{
  Twin twin = {.day = day, .n_full = n_full, .n_chargers = day->n_chargers};
  guint fastest = G_MAXUINT;
  for (guint i = 0; i < day->n_chargers; i++) {
    twin.minutes[i] = twin_minutes(day->chargers[i], day->used);
    fastest = MIN(fastest, twin.minutes[i]);
  }
  for (guint i = 0; i < n_more; i++)
    twin.minutes[twin.n_chargers++] = fastest;
  for (guint i = 0; i < n_empty; i++)
    twin.release[twin.n_jobs++] = day->opens_min;
  for (guint i = 0; i < day->n_outings; i++)
    twin.release[twin.n_jobs++] =
        MAX(day->outings[i].start_min + day->outings[i].minutes + day->cool_min, day->opens_min);
  twin_try(&twin);
  return twin.reach;
}

static void
agrees_with_the_twin(const LoomRotaDay *day, const LoomRota *rota)
{
  guint n = day->n_outings, empty = day->n_packs - day->n_full, reach = 0, packs = 0, more = 0;
  while (reach < rota->n_uses && rota->uses[reach].charge >= 1)
    reach++;
  assert_int_equal(reach, twin_reach(day, day->n_full, empty, 0));
  while (twin_reach(day, packs, 0, 0) < n)
    packs++;
  assert_int_equal(rota->least_packs, packs);
  while (twin_reach(day, day->n_full + more, empty, 0) < n)
    more++;
  assert_int_equal(rota->more_packs, more);
  if (day->n_chargers == 0 || n > 3) /* or too many ways */
    return;
  guint chargers = 0;
  while (chargers <= n + empty && twin_reach(day, day->n_full, empty, chargers) < n)
    chargers++;
  assert_int_equal(rota->more_chargers, chargers > n + empty ? LOOM_NONE : chargers);
}

/* ---- what holds of every rota ---- */

static void
one_pack_at_a_time_on_a_charger(const LoomRota *rota)
{
  for (guint i = 0; i < rota->n_charges; i++)
    for (guint k = 0; k < i; k++) {
      const LoomRotaCharge *a = &rota->charges[k], *b = &rota->charges[i];
      assert_true(a->start_min <= b->start_min);
      if (a->charger == b->charger || a->pack == b->pack)
        assert_true(a->end_min <= b->start_min);
    }
}

static void
settings_are_allowed(const LoomRotaDay *day, const LoomRota *rota)
{
  for (guint i = 0; i < rota->n_charges; i++) {
    const LoomRotaCharge *c = &rota->charges[i];
    const double *currents = day->chargers[c->charger]->chemistry.currents_A;
    bool there = false;
    for (guint s = 0; s < 4; s++)
      there |= fabs(currents[s] - c->current_A) < 1e-12;
    assert_true(there && c->current_A <= HIGHEST_A);
    assert_true(c->start_min >= day->opens_min);
    assert_true(c->from < c->to && c->to <= 1);
    double minutes = 60 * FACTOR * CAPACITY_AH * (1 - c->from) / c->current_A;
    if (c->to >= 1)
      assert_int_equal(c->end_min - c->start_min, MAX(1, (guint)ceil(minutes - 1e-6)));
  }
}

/* A pack's day, span by span: nothing is skipped, and what follows what. */
static void
every_pack_has_one_day(const LoomRotaDay *day, const LoomRota *rota)
{
  guint s = 0;
  for (guint p = 0; p < rota->n_packs; p++) {
    guint at = rota->from_min;
    double charge = p < day->n_full ? 1 : 1 - day->used;
    for (; s < rota->n_spans && rota->spans[s].pack == p; s++) {
      const LoomRotaSpan *span = &rota->spans[s];
      assert_int_equal(span->from_min, at);
      assert_true(span->to_min > at);
      at = span->to_min;
      if (span->what == LOOM_SPAN_OUT) {
        const LoomRotaUse *use = &rota->uses[span->use];
        assert_int_equal(use->pack, p);
        assert_int_equal(use->start_min, span->from_min);
        assert_double_equal(use->charge, charge, 1e-9);
        charge = MAX(0, charge - day->used);
        if (s + 1 < rota->n_spans && rota->spans[s + 1].pack == p && day->cool_min > 0)
          assert_true(
              rota->spans[s + 1].what == LOOM_SPAN_COOLING ||
              (rota->spans[s + 1].what == LOOM_SPAN_OUT && charge < 1)); /* sent on at once */
      } else if (span->what == LOOM_SPAN_CHARGING) {
        const LoomRotaCharge *c = &rota->charges[span->charge];
        assert_int_equal(c->pack, p);
        assert_double_equal(c->from, charge, 1e-9);
        charge = c->to;
      } else if (span->what == LOOM_SPAN_READY) {
        assert_double_equal(charge, 1, 1e-9);
      } else if (span->what == LOOM_SPAN_COOLING && s + 1 < rota->n_spans &&
                 rota->spans[s + 1].what == LOOM_SPAN_CHARGING) {
        assert_int_equal(span->to_min - span->from_min, day->cool_min);
      }
    }
    if (rota->to_min > rota->from_min)
      assert_int_equal(at, rota->to_min);
  }
  assert_int_equal(s, rota->n_spans);
}

static bool
out_before(const LoomRota *rota, guint pack, guint at_min, guint use)
{
  for (guint i = 0; i < use; i++)
    if (rota->uses[i].pack == pack && rota->uses[i].start_min >= at_min)
      return true;
  return false;
}

/* An outing without a full pack: none was full and free when it was due. */
static void
no_pack_is_sent_early_while_a_full_one_is_there(const LoomRotaDay *day, const LoomRota *rota)
{
  for (guint i = 0; i < rota->n_uses; i++) {
    const LoomRotaUse *use = &rota->uses[i];
    guint due = use->start_min - day->ready_min;
    for (guint s = 0; s < rota->n_spans && use->charge < 1; s++) {
      const LoomRotaSpan *span = &rota->spans[s];
      if (span->what == LOOM_SPAN_READY && span->from_min <= due && span->to_min > due)
        assert_true(out_before(rota, span->pack, due, i));
    }
  }
}

/* What the pack holds then; 0 while it is on the robot. */
static double
share_at(const LoomRotaDay *day, const LoomRota *rota, guint pack, guint at_min)
{
  double charge = pack < day->n_full ? 1 : 1 - day->used;
  for (guint s = 0; s < rota->n_spans; s++) {
    const LoomRotaSpan *span = &rota->spans[s];
    if (span->pack != pack || span->from_min > at_min)
      continue;
    bool over = span->to_min <= at_min;
    if (span->what == LOOM_SPAN_OUT && !over)
      return 0;
    if (span->what == LOOM_SPAN_OUT)
      charge = MAX(0, charge - day->used);
    if (span->what != LOOM_SPAN_CHARGING)
      continue;
    double part = (double)(at_min - span->from_min) / (double)(span->to_min - span->from_min);
    const LoomRotaCharge *c = &rota->charges[span->charge];
    charge = over ? c->to : charge + (c->to - charge) * part;
  }
  return charge;
}

/* Where no pack is full the fullest goes. */
static void
the_fullest_goes(const LoomRotaDay *day, const LoomRota *rota)
{
  for (guint i = 0; i < rota->n_uses; i++) {
    const LoomRotaUse *use = &rota->uses[i];
    guint due = use->start_min - day->ready_min;
    for (guint p = 0; p < rota->n_packs && use->charge < 1; p++)
      if (!out_before(rota, p, due, i))
        assert_true(share_at(day, rota, p, due) <= use->charge + 0.01);
  }
}

static bool
says(char **sentences, const char *words)
{
  for (char **s = sentences; *s; s++)
    if (strstr(*s, words))
      return true;
  return false;
}

static void
conflicts_are_told(const LoomRotaDay *day, const LoomRota *rota)
{
  guint n = 0;
  for (guint i = 0; i < rota->n_uses; i++) {
    if (rota->uses[i].charge >= 1)
      continue;
    n++;
    g_autofree char *clock = loom_rota_clock(rota->uses[i].start_min);
    assert_true(says(rota->conflicts, clock) && says(rota->conflicts, rota->uses[i].name));
  }
  assert_int_equal(n > 0, rota->more_packs > 0);
  assert_int_equal(n > 0, rota->conflicts[0] != NULL);
  assert_int_equal(rota->n_uses, day->n_outings);
}

/* Whether the first `n` charges serve every outing if charge `slower` ended at `end_min`. */
static bool
still_served(const LoomRotaDay *day, const LoomRota *rota, guint n, guint slower, guint end_min)
{
  for (guint j = 0; j < rota->n_uses; j++) {
    guint due = rota->uses[j].start_min - day->ready_min, full = day->n_full;
    for (guint i = 0; i < n; i++)
      full += (i == slower ? end_min : rota->charges[i].end_min) <= due;
    if (full < j + 1)
      return false;
  }
  return true;
}

/* Whether the charger is free until then, as far as the first `n` charges go. */
static bool
free_until(const LoomRota *rota, guint n, guint charge, guint end_min)
{
  for (guint k = charge + 1; k < n; k++)
    if (rota->charges[k].charger == rota->charges[charge].charger &&
        rota->charges[k].start_min < end_min)
      return false;
  return true;
}

/* As many charges as outings without a pack of their own are planned, in the order in which they
 * start; those after them are spare, and end within the day. */
static void
no_charge_could_be_slower(const LoomRotaDay *day, const LoomRota *rota)
{
  guint last = 0, planned = rota->n_uses > day->n_full ? rota->n_uses - day->n_full : 0;
  for (guint i = 0; i < rota->n_uses; i++)
    last = MAX(last, rota->uses[i].end_min);
  for (guint i = 0; i < rota->n_charges; i++) {
    const LoomRotaCharge *c = &rota->charges[i];
    const double *currents = day->chargers[c->charger]->chemistry.currents_A;
    for (guint s = 0; s < 4; s++) {
      if (!(currents[s] < c->current_A))
        continue;
      double minutes = ceil(60 * FACTOR * CAPACITY_AH * (1 - c->from) / currents[s] - 1e-6);
      guint end_min = c->start_min + (guint)minutes;
      if (i < planned)
        assert_false(free_until(rota, planned, i, end_min) &&
                     still_served(day, rota, planned, i, end_min));
      else
        assert_false(end_min <= last);
    }
    assert_true(i < planned || c->end_min <= last);
  }
}

static void
the_same_day_gives_the_same_rota(const LoomRotaDay *day, const LoomRota *rota)
{
  g_autoptr(LoomRota) again = loom_rota_new(day);
  g_auto(GStrv) a = loom_rota_sentences(rota), b = loom_rota_sentences(again);
  assert_true(g_strv_equal((const char *const *)a, (const char *const *)b));
}

static void
check_everything(const LoomRotaDay *day, const LoomRota *rota)
{
  one_pack_at_a_time_on_a_charger(rota);
  settings_are_allowed(day, rota);
  every_pack_has_one_day(day, rota);
  no_pack_is_sent_early_while_a_full_one_is_there(day, rota);
  the_fullest_goes(day, rota);
  conflicts_are_told(day, rota);
  if (rota->more_packs == 0 && rota->proven)
    no_charge_could_be_slower(day, rota);
  the_same_day_gives_the_same_rota(day, rota);
}

static void
small_days_agree_with_trying_everything(void **state G_GNUC_UNUSED)
{
  g_autoptr(GRand) rand = g_rand_new_with_seed(seed());
  guint impossible = 0, possible = 0;
  for (guint i = 0; i < 400; i++) {
    g_autoptr(Event) event = i % 4 ? random_event(rand, 5, 2) : random_event(rand, 4, 3);
    event->day.n_full = MAX(event->day.n_full, event->day.n_packs - MIN(event->day.n_packs, 2));
    g_autoptr(LoomRota) rota = loom_rota_new(&event->day);
    assert_true(rota->proven);
    check_everything(&event->day, rota);
    agrees_with_the_twin(&event->day, rota);
    *(rota->more_packs ? &impossible : &possible) += 1;
  }
  assert_true(impossible > 40 && possible > 40);
}

/* As many packs as are just too few or just enough, chargers that are all unlike, little time. */
static Event *
tight_event(GRand *rand)
{
  char texts[3][16];
  const char *currents[3] = {texts[0], texts[1], texts[2]};
  guint n = pick(rand, 2, 3);
  for (guint i = 0; i < n; i++)
    g_snprintf(texts[i], sizeof texts[i], "%u.%u", pick(rand, 1, 3), pick(rand, 1, 9));
  Event *event = event_new(currents, n);
  LoomRotaDay *day = &event->day;
  guint at = 540, step = pick(rand, 15, 60);
  for (guint i = 0; i < 6; i++) {
    loom_rota_day_add(day, NULL, at, 5);
    at += pick(rand, step / 2, step + 10);
  }
  day->n_packs = day->n_full = pick(rand, 2, 3);
  day->cool_min = pick(rand, 0, 10);
  return event;
}

static void
tight_days_agree_with_trying_everything(void **state G_GNUC_UNUSED)
{
  g_autoptr(GRand) rand = g_rand_new_with_seed(seed());
  for (guint i = 0; i < 150; i++) {
    g_autoptr(Event) event = tight_event(rand);
    const LoomRotaDay *day = &event->day;
    g_autoptr(LoomRota) rota = loom_rota_new(day);
    check_everything(day, rota);
    guint reach = 0;
    while (reach < rota->n_uses && rota->uses[reach].charge >= 1)
      reach++;
    assert_int_equal(reach, twin_reach(day, day->n_full, 0, 0));
  }
}

static void
long_days_keep_the_promises(void **state G_GNUC_UNUSED)
{
  g_autoptr(GRand) rand = g_rand_new_with_seed(seed());
  for (guint i = 0; i < 150; i++) {
    g_autoptr(Event) event = random_event(rand, 30, 5);
    event->day.n_packs += pick(rand, 0, 5);
    event->day.n_full = event->day.n_packs;
    g_autoptr(LoomRota) rota = loom_rota_new(&event->day);
    check_everything(&event->day, rota);
  }
}

/* ---- days that can be worked out by hand ---- */

/* 2 Ah at 2 A: 1.4 h = 84 min. Outings of 6 min at 9:00, 11:00, 13:00; back at 9:06, cool until
 * 9:36, full at 11:00: five minutes too late for 11:00 with one pack. */
static void
one_pack_is_just_too_few(void **state G_GNUC_UNUSED)
{
  g_autoptr(Event) event = event_new((const char *const[]){"2"}, 1);
  loom_rota_day_every(&event->day, 540, 120, 3, 6);
  event->day.n_packs = event->day.n_full = 1;
  g_autoptr(LoomRota) rota = loom_rota_new(&event->day);
  assert_int_equal(rota->least_packs, 2);
  assert_int_equal(rota->more_packs, 1);
  assert_int_equal(rota->more_chargers, LOOM_NONE);
  assert_true(says(rota->conflicts, "bring 1 more pack that is full"));
  assert_true(says(rota->conflicts, "More chargers of the same kind would not help."));
  assert_true(says(rota->conflicts, "At 11:00 outing 2 has to go out with pack 1 at 94 %"));
  event->day.ready_min = 0; /* as it is full at 11:00 sharp */
  g_autoptr(LoomRota) sharp = loom_rota_new(&event->day);
  assert_int_equal(sharp->more_packs, 0);
  assert_null(sharp->conflicts[0]);
}

static void
the_slow_setting_is_used_when_there_is_time(void **state G_GNUC_UNUSED)
{
  g_autoptr(Event) event = event_new((const char *const[]){"1 2"}, 1);
  loom_rota_day_every(&event->day, 540, 240, 3, 6); /* 168 min at 1 A, 84 at 2 A */
  event->day.n_packs = event->day.n_full = 1;
  g_autoptr(LoomRota) rota = loom_rota_new(&event->day);
  assert_int_equal(rota->more_packs, 0);
  assert_int_equal(rota->n_charges, 2);
  for (guint i = 0; i < rota->n_charges; i++) {
    assert_double_equal(rota->charges[i].current_A, 1, 1e-12);
    assert_true(rota->charges[i].gentle && rota->charges[i].needed);
  }
  g_auto(GStrv) lines = loom_rota_sentences(rota);
  assert_string_equal(lines[0], "9:00 Outing 1 goes out with pack 1.");
  assert_string_equal(lines[1], "9:06 Pack 1 is back: let it cool until 9:36.");
  assert_string_equal(lines[2], "9:36 Put pack 1 on charger 1 at 1 A; it is full at about 12:24.");
  assert_string_equal(lines[3], "12:24 Pack 1 should be full: take it off charger 1.");
}

static void
a_pack_takes_its_turn(void **state G_GNUC_UNUSED)
{
  g_autoptr(Event) event = event_new((const char *const[]){"4", "4"}, 2);
  loom_rota_day_every(&event->day, 540, 60, 6, 6);
  event->day.n_packs = event->day.n_full = 3;
  g_autoptr(LoomRota) rota = loom_rota_new(&event->day);
  for (guint i = 0; i < 6; i++)
    assert_int_equal(rota->uses[i].pack, i % 3);
}

static void
a_day_without_chargers_needs_a_pack_an_outing(void **state G_GNUC_UNUSED)
{
  g_autoptr(Event) event = event_new(NULL, 0);
  loom_rota_day_every(&event->day, 540, 60, 5, 6);
  event->day.n_packs = event->day.n_full = 3;
  g_autoptr(LoomRota) rota = loom_rota_new(&event->day);
  assert_int_equal(rota->least_packs, 5);
  assert_int_equal(rota->more_packs, 2);
  assert_int_equal(rota->uses[3].pack, LOOM_NONE);
  assert_true(says(rota->conflicts, "At 12:00 there is no pack for outing 4."));
  assert_true(says(rota->notes, "Nothing can be charged"));
}

static void
chargers_that_do_not_suit_are_left_out(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomCatalogue) catalogue = fixture_built_in();
  const LoomKind *chargers[] = {loom_catalogue_kind(catalogue, "charger-li-ion-3s"),
                                loom_catalogue_kind(catalogue, "charger-nimh-12v")};
  LoomRotaDay day;
  loom_rota_day_init(&day, loom_catalogue_kind(catalogue, "pack-nimh-12v-3ah"));
  loom_rota_day_every(&day, 540, 120, 5, 6);
  day.n_packs = day.n_full = 3;
  day.chargers = chargers;
  day.n_chargers = 2;
  g_autoptr(LoomRota) rota = loom_rota_new(&day);
  assert_true(says(rota->notes, "Charger 1 is left out."));
  for (guint i = 0; i < rota->n_charges; i++)
    assert_int_equal(rota->charges[i].charger, 1);
  assert_true(rota->n_charges > 0);
  loom_rota_day_clear(&day);
}

static void
outings_may_come_in_any_order_and_overlap(void **state G_GNUC_UNUSED)
{
  g_autoptr(Event) event = event_new((const char *const[]){"2"}, 1);
  loom_rota_day_add(&event->day, "final", 720, 6);
  loom_rota_day_add(&event->day, "left", 540, 10);
  loom_rota_day_add(&event->day, "right", 540, 10);
  event->day.n_packs = event->day.n_full = 2;
  g_autoptr(LoomRota) rota = loom_rota_new(&event->day);
  assert_string_equal(rota->uses[0].name, "left");
  assert_int_equal(rota->uses[0].outing, 1);
  assert_int_equal(rota->uses[1].pack, 1);
  assert_string_equal(rota->uses[2].name, "final");
  assert_int_equal(rota->more_packs, 0);
}

static void
an_empty_day_is_a_rota_too(void **state G_GNUC_UNUSED)
{
  g_autoptr(Event) event = event_new(NULL, 0);
  g_autoptr(LoomRota) rota = loom_rota_new(&event->day);
  g_auto(GStrv) lines = loom_rota_sentences(rota);
  assert_int_equal(rota->n_uses, 0);
  assert_int_equal(rota->least_packs, 0);
  assert_null(lines[0]);
  assert_null(rota->conflicts[0]);
}

static void
a_big_event_is_planned_at_once(void **state G_GNUC_UNUSED)
{
  static const char *const currents[] = {"0.5 1", "1 2",     "1 2 4", "2 4",
                                         "0.7",   "1.4 2.8", "2",     "4"};
  g_autoptr(Event) event = event_new(currents, G_N_ELEMENTS(currents));
  loom_rota_day_every(&event->day, 540, 12, 60, 6);
  event->day.n_packs = event->day.n_full = 8;
  gint64 start = g_get_monotonic_time();
  g_autoptr(LoomRota) rota = loom_rota_new(&event->day);
  print_message("60 outings, 8 unlike chargers: %.0f ms, least %u packs, proven %d\n",
                (double)(g_get_monotonic_time() - start) / 1e3, rota->least_packs, rota->proven);
  check_everything(&event->day, rota);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(one_pack_is_just_too_few),
      cmocka_unit_test(the_slow_setting_is_used_when_there_is_time),
      cmocka_unit_test(a_pack_takes_its_turn),
      cmocka_unit_test(a_day_without_chargers_needs_a_pack_an_outing),
      cmocka_unit_test(chargers_that_do_not_suit_are_left_out),
      cmocka_unit_test(outings_may_come_in_any_order_and_overlap),
      cmocka_unit_test(an_empty_day_is_a_rota_too),
      cmocka_unit_test(small_days_agree_with_trying_everything),
      cmocka_unit_test(tight_days_agree_with_trying_everything),
      cmocka_unit_test(long_days_keep_the_promises),
      cmocka_unit_test(a_big_event_is_planned_at_once),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
