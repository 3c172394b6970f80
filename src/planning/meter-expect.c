#include "meter-private.h"

#include <math.h>

#define CONDUCTOR_SHARE 0.3  /* conductors and contacts may differ by that, common practice */
#define CONTACT_OHM 0.2      /* and worn contacts add so much */
#define INSULATION_OHM 0.5e6 /* IEC 60364-6 table 6.1, SELV and PELV; from memory */
#define LEAST_VOLTS 0.5      /* less is no supply that anybody would measure */

/* What the meter shows: the open-circuit voltage, less what it loads it down by its own resistance.
 * 0 where nothing is between the probes; NAN where the network has no operating point. */
static double
bench_volts(LoomMeterBench *b, const LoomMeterRoom *room, const LoomReading *r)
{
  double volt, ohm;
  if (b->point->trouble != LOOM_TROUBLE_NONE)
    return NAN;
  if (!loom_solver_source(b->solver, loom_meter_node(room, &r->red),
                          loom_meter_node(room, &r->black), &volt, &ohm))
    return 0;
  return volt * room->meter.input_ohm / (room->meter.input_ohm + ohm);
}

/* Expected volts of all readings of a situation, with limits from the empty to the full pack. */
static void
expect_volts(LoomMeterRoom *room, LoomMeterWhen when)
{
  static const double charges[] = {0.5, 0, 1};
  LoomMeterBench bench;
  loom_meter_bench_init(&bench, room, when, NULL);
  for (guint k = 0; k < G_N_ELEMENTS(charges); k++) {
    loom_meter_bench_run(&bench, charges[k]);
    for (guint i = 0; i < room->readings->len; i++) {
      LoomReading *r = loom_meter_reading(room, i);
      if (r->when != when || loom_meter_is_ohms(r))
        continue;
      double volts = bench_volts(&bench, room, r);
      if (k == 0)
        r->expected = r->low = r->high = volts;
      r->low = fmin(r->low, volts);
      r->high = fmax(r->high, volts);
    }
  }
  loom_meter_bench_clear(&bench);
  for (guint i = 0; i < room->readings->len; i++) {
    LoomReading *r = loom_meter_reading(room, i);
    if (r->when != when || loom_meter_is_ohms(r))
      continue;
    r->low -= loom_meter_volts_error(&room->meter, r->low);
    r->high += loom_meter_volts_error(&room->meter, r->high);
  }
}

/* ---- ohms ---- */

double
loom_meter_shown_ohms(const LoomMeter *meter, double ohm)
{
  return ohm + meter->probe_ohm > meter->most_ohm ? INFINITY : ohm + meter->probe_ohm;
}

/* false: no expectation (electronics, or a source, lie between). */
static bool
expect_ohms(const LoomMeterRoom *room, LoomReading *r)
{
  const LoomMeter *meter = &room->meter;
  double least, most;
  if (!loom_ohms_between(room->ohms[r->when], loom_meter_node(room, &r->red),
                         loom_meter_node(room, &r->black), &least, &most))
    return false;
  least = loom_meter_shown_ohms(meter, least);
  most = loom_meter_shown_ohms(meter, most);
  r->expected = most;
  if (isinf(most)) {
    r->low = INSULATION_OHM;
    r->high = INFINITY;
    return least >= r->low;
  }
  r->high = most * (1 + CONDUCTOR_SHARE) + CONTACT_OHM;
  r->high += loom_meter_ohms_error(meter, r->high);
  r->low = most * (1 - CONDUCTOR_SHARE) - CONTACT_OHM;
  r->low = fmax(0, r->low - loom_meter_ohms_error(meter, fmax(0, r->low)));
  return least >= r->low;
}

static bool
is_same(const LoomReading *a, const LoomReading *b)
{
  return a->when == b->when && a->red.part == b->red.part && a->red.end == b->red.end &&
         a->red.contact == b->red.contact && a->black.part == b->black.part &&
         a->black.end == b->black.end && a->black.contact == b->black.contact;
}

/* Whether the reading has an expectation, and is not there already. */
static bool
is_kept(const LoomMeterRoom *room, GArray *kept, LoomReading *r)
{
  if (loom_meter_is_ohms(r) ? !expect_ohms(room, r) : !(r->expected > LEAST_VOLTS))
    return false;
  for (guint i = 0; i < kept->len; i++)
    if (is_same(&g_array_index(kept, LoomReading, i), r))
      return false;
  return true;
}

void
loom_meter_expect(LoomMeterRoom *room)
{
  static const LoomMeterWhen live[] = {LOOM_METER_PACK, LOOM_METER_TRIAL, LOOM_METER_POWERED};
  for (guint i = 0; i < G_N_ELEMENTS(live); i++)
    if (loom_meter_has(room, live[i]))
      expect_volts(room, live[i]);
  GArray *kept = g_array_new(FALSE, FALSE, sizeof(LoomReading));
  for (guint i = 0; i < room->readings->len; i++) {
    LoomReading *r = loom_meter_reading(room, i);
    if (is_kept(room, kept, r))
      g_array_append_val(kept, *r);
  }
  g_array_unref(room->readings);
  room->readings = kept;
}
