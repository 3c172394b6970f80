/* What a multimeter must read, before power and after, and which slips it cannot show.
 *
 *   g_autoptr(LoomMeterPlan) m = loom_meter_new(design, scene, NULL);
 *   for (guint i = 0; i < m->n_readings; i++) puts(m->readings[i].sentence);
 *   for (guint i = 0; i < m->n_slips; i++)
 *     if (m->slips[i].seen_by == LOOM_NONE) printf("%s %s\n", m->slips[i].what, m->slips[i].shows);
 *
 * Readings are taken in the stages of the build order (steps.h):
 *
 *   PACK     the pack alone, nothing plugged to it: its volts
 *   ON       no power: sources and the joints that feed something are apart, supply switches on.
 *            Continuity from the pack's plug to each open end, no short between poles, insulation
 * of the frame, resistance of what has no electronics OFF      the same with the supply switches
 * off TRIAL    stage B: the supply alone, switches on: volts at the open ends POWERED  everything
 * plugged and on, the scene's first state: volts at ends that are free
 *
 * The expected value comes from the model (wires at 20 °C, typical contacts; packs at 50 % of
 * charge), low and high from what may differ from it: charge from 0 to 100 %, conductors and
 * contacts by 30 % and 0.2 ohm (common practice, no source), and from the meter: its accuracy,
 * digits and probes. Ohms through electronics are no expectation, and nothing is measured in ohms
 * where a source is. Between things that must not be joined the limit is 0.5 Mohm (IEC 60364-6
 * table 6.1, circuits of extra-low voltage; from memory).
 *
 * A slip is one mistake in plugging or making. Each is put into the model and every reading taken
 * again (at 50 % of charge): it is seen where one leaves its limits for certain. Every other slip
 * stands with the look or the entry of the roll-call that does show it. */
#pragma once

#include "design/design.h"

G_BEGIN_DECLS

/* A hand multimeter. */
typedef struct {
  double volt_share, volt_digits; /* error: share of the reading, and so many last digits */
  double ohm_share, ohm_digits;
  double counts;    /* highest number on the display, 2000 for 3 1/2 digits */
  double input_ohm; /* on volts */
  double probe_ohm; /* both probes and their contact */
  double most_ohm;  /* above it shows that nothing conducts */
} LoomMeter;

/* 3 1/2 digits, 0.5 % + 2 on volts, 0.8 % + 5 on ohms, 10 Mohm, probes 0.4 ohm, 20 Mohm (a usual
 * hand meter; common practice, no source). */
LoomMeter loom_meter_usual(void);

typedef enum {
  LOOM_METER_PACK,
  LOOM_METER_ON,
  LOOM_METER_OFF,
  LOOM_METER_TRIAL,
  LOOM_METER_POWERED,
} LoomMeterWhen;

typedef enum {
  LOOM_CHECK_VOLTS,      /* volts and polarity */
  LOOM_CHECK_CONTINUITY, /* conducts */
  LOOM_CHECK_SHORT,      /* does not conduct: the poles */
  LOOM_CHECK_SWITCH,     /* does not conduct while the switch is off */
  LOOM_CHECK_INSULATION, /* does not conduct, or as a bleed resistor does: the frame */
  LOOM_CHECK_LOAD,       /* resistance of a load */
} LoomMeterCheck;

typedef struct {
  guint part, end, contact; /* indices in the design and in the kind */
} LoomProbe;

typedef struct {
  LoomMeterWhen when;
  LoomMeterCheck check;
  LoomProbe red, black;
  double expected, low, high;  /* V for VOLTS, otherwise ohm; expected and high may be INFINITY */
  char *red_name, *black_name; /* "W1:b:+" */
  char *sentence;              /* what to do and what to read */
  char *off;                   /* what to do where it reads something else */
} LoomReading;

typedef enum {
  LOOM_SLIP_LEFT_OUT, /* the joint is not plugged */
  LOOM_SLIP_TURNED,
  LOOM_SLIP_SHIFTED,
  LOOM_SLIP_SWAPPED, /* a lead is made with its first two wires swapped at that end */
  LOOM_SLIP_SHORT,   /* a strand joins two neighbours in that connector */
  LOOM_SLIP_CROSSED, /* plugged at the neighbour of the same kind, which is plugged here */
  LOOM_SLIP_FUSE,    /* a fuse of another rating */
} LoomSlipType;

typedef struct {
  LoomSlipType type;
  guint joint;     /* index in the design (SWAPPED: one of the lead's); LOOM_NONE for FUSE */
  guint part, end; /* SWAPPED, SHORT: the end in question; CROSSED: the port it ought to be in;
                      FUSE: the part, and the element */
  guint a, b;      /* SWAPPED, SHORT: contacts of that end; otherwise LOOM_NONE */
  guint other;     /* CROSSED: the other end of the same part */
  double rated_A;  /* FUSE: the wrong rating; NAN otherwise */
  guint seen_by;   /* first reading that leaves its limits; LOOM_NONE: the meter cannot see it */
  char *what;      /* "W1:a is not plugged into K1:motor-1." */
  char *shows;     /* what shows it, where the meter does not; otherwise NULL */
} LoomSlip;

typedef struct {
  guint n_readings, n_slips, n_unseen;
  LoomReading *readings; /* [n_readings] in the order in which they are taken */
  LoomSlip *slips;       /* [n_slips] by type, then joint */
} LoomMeterPlan;

/* `meter` NULL: the usual one. New; stands on its own. */
LoomMeterPlan *loom_meter_new(const LoomDesign *design, guint scene, const LoomMeter *meter);
void loom_meter_free(LoomMeterPlan *plan);

/* "before power, switches on" */
const char *loom_meter_when_label(LoomMeterWhen when);

/* What the meter may show for a true value: limits with accuracy and digits. */
double loom_meter_volts_error(const LoomMeter *meter, double volts);
double loom_meter_ohms_error(const LoomMeter *meter, double ohms);

/* CSV with the columns step, when, red_probe, black_probe, quantity, expected, low, high, unit; an
 * empty field where there is no bound. New. */
char *loom_meter_to_csv(const LoomMeterPlan *plan);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomMeterPlan, loom_meter_free)

G_END_DECLS
