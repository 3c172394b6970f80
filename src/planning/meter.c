#include "meter-private.h"

#include "csv.h"

#include <math.h>

LoomMeter
loom_meter_usual(void)
{
  return (LoomMeter){.volt_share = 0.005,
                     .volt_digits = 2,
                     .ohm_share = 0.008,
                     .ohm_digits = 5,
                     .counts = 2000,
                     .input_ohm = 10e6,
                     .probe_ohm = 0.4,
                     .most_ohm = 20e6};
}

/* The last digit of the range in which the value is shown: ranges end at `counts` times 1, 10, ...
 */
static double
last_digit(double value, double counts, double least)
{
  double digit = least;
  while (fabs(value) >= counts * digit && digit < 1e9)
    digit *= 10;
  return digit;
}

double
loom_meter_volts_error(const LoomMeter *m, double volts)
{
  return m->volt_share * fabs(volts) + m->volt_digits * last_digit(volts, m->counts, 1e-3);
}

double
loom_meter_ohms_error(const LoomMeter *m, double ohms)
{
  if (isinf(ohms))
    return 0;
  return m->ohm_share * ohms + m->ohm_digits * last_digit(ohms, m->counts, 0.1);
}

guint
loom_meter_node(const LoomMeterRoom *room, const LoomProbe *probe)
{
  return loom_wiring_node(room->w, probe->part, probe->end, probe->contact);
}

LoomMeterPlan *
loom_meter_new(const LoomDesign *design, guint scene, const LoomMeter *meter)
{
  LoomMeterRoom room;
  loom_meter_room_init(&room, design, scene, meter);
  loom_meter_list_readings(&room);
  loom_meter_expect(&room);
  loom_meter_list_slips(&room);
  loom_meter_find_slips(&room);
  LoomMeterPlan *plan = g_new0(LoomMeterPlan, 1);
  for (guint i = 0; i < room.slips->len; i++) {
    LoomSlip *slip = &g_array_index(room.slips, LoomSlip, i);
    loom_meter_slip_words(&room, slip);
    plan->n_unseen += slip->seen_by == LOOM_NONE;
  }
  for (guint i = 0; i < room.readings->len; i++)
    loom_meter_words(&room, loom_meter_reading(&room, i));
  loom_meter_room_clear(&room);
  plan->n_readings = room.readings->len;
  plan->n_slips = room.slips->len;
  plan->readings = (LoomReading *)g_array_free(room.readings, FALSE);
  plan->slips = (LoomSlip *)g_array_free(room.slips, FALSE);
  return plan;
}

void
loom_meter_free(LoomMeterPlan *plan)
{
  if (!plan)
    return;
  for (guint i = 0; i < plan->n_readings; i++) {
    g_free(plan->readings[i].red_name);
    g_free(plan->readings[i].black_name);
    g_free(plan->readings[i].sentence);
    g_free(plan->readings[i].off);
  }
  for (guint i = 0; i < plan->n_slips; i++) {
    g_free(plan->slips[i].what);
    g_free(plan->slips[i].shows);
  }
  g_free(plan->readings);
  g_free(plan->slips);
  g_free(plan);
}

char *
loom_meter_to_csv(const LoomMeterPlan *plan)
{
  g_autoptr(LoomCsv) csv = loom_csv_new();
  loom_csv_row(csv, "step", "when", "red_probe", "black_probe", "quantity", "expected", "low",
               "high", "unit", NULL);
  for (guint i = 0; i < plan->n_readings; i++) {
    const LoomReading *r = &plan->readings[i];
    int decimals = loom_meter_is_ohms(r) ? 2 : 3;
    loom_csv_whole(csv, i + 1);
    loom_csv_text(csv, loom_meter_when_label(r->when));
    loom_csv_text(csv, r->red_name);
    loom_csv_text(csv, r->black_name);
    loom_csv_text(csv, loom_meter_is_ohms(r) ? "resistance" : "voltage");
    loom_csv_rounded(csv, r->expected, decimals);
    loom_csv_rounded(csv, r->low, decimals);
    loom_csv_rounded(csv, r->high, decimals);
    loom_csv_text(csv, loom_meter_is_ohms(r) ? "ohm" : "V");
    loom_csv_end_row(csv);
  }
  return g_strdup(loom_csv_bytes(csv));
}
