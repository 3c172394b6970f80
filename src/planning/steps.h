/* The order in which the joints of one scene are plugged, so that nothing is live while hands are
 * in.
 *
 *   g_autoptr(LoomSteps) s = loom_steps_new(design, scene);
 *   for (guint i = 0; i < s->n_steps; i++) puts(s->steps[i].sentence);
 *
 *      pack ══ fuse ── switch ── lead ══ controller ── motors, servos, sensors
 *       │       └──── supply side ───┘ │       └──── everything else ────────┘
 *       source joint            feeding joint
 *
 *   stage A   everything that is neither on the supply side nor feeds from it
 *   stage B   the supply side alone, source joints last; then for each supply: switches on, volts
 * at every open end that will feed something, switches off, source joints apart again stage C   the
 * feeding joints, then the source joints, packs last of all
 *
 * The supply side is what a source reaches through leads, joints, switches, fuses and step-down
 * converters before it comes to a part that takes power. Where nothing feeds from a source, its
 * joints are plugged once, in stage C. Radio links are no steps. Joints that do not mate have their
 * step all the same; the findings speak of them.
 *
 * Within a stage each place (LoomPart.place) is visited once as far as the order allows. */
#pragma once

#include "design/design.h"

G_BEGIN_DECLS

typedef enum { LOOM_STAGE_A, LOOM_STAGE_B, LOOM_STAGE_C } LoomStage;

typedef enum {
  LOOM_STEP_PLUG,
  LOOM_STEP_UNPLUG,
  LOOM_STEP_SWITCH_OFF,
  LOOM_STEP_SWITCH_ON,
  LOOM_STEP_MEASURE, /* volts at an open end */
} LoomStepAct;

typedef struct {
  LoomStage stage;
  LoomStepAct act;
  guint joint; /* PLUG, UNPLUG: index in the design; otherwise LOOM_NONE */
  guint part,
      end; /* SWITCH: part, LOOM_NONE; MEASURE: the open end; PLUG, UNPLUG: the end in the hand */
  guint to_part, to_end; /* PLUG, UNPLUG: the end that it goes to; otherwise LOOM_NONE */
  bool source;           /* PLUG, UNPLUG: a joint of a pack or other source */
  bool again;            /* PLUG: it was plugged and taken apart before */
  guint plus;            /* MEASURE: contact of the end for the red probe */
  guint black_part, black_end, minus; /* MEASURE: the black one, mostly at the same end */
  double nominal_V, low_V, high_V;    /* MEASURE: at 50, 0 and 100 % of charge; NAN otherwise */
  char *from, *to;                    /* "W1:a", "K1:motor-1"; what there is not is NULL */
  char *sentence;                     /* what to do */
  char *home;                         /* how one knows that it is done right; or NULL */
} LoomStep;

/* Steps at one place that follow each other. */
typedef struct {
  LoomStage stage;
  char *place; /* or NULL: no place was given */
  guint first, n;
} LoomStepGroup;

typedef struct {
  guint n_steps, n_groups;
  LoomStep *steps;       /* [n_steps] */
  LoomStepGroup *groups; /* [n_groups] they cover all steps */
  char **notes;          /* NULL-terminated sentences: no switch, no source, ... */
} LoomSteps;

/* `scene` is an index. New; stands on its own. */
LoomSteps *loom_steps_new(const LoomDesign *design, guint scene);
void loom_steps_free(LoomSteps *steps);

const char *loom_stage_word(LoomStage stage);  /* "A" */
const char *loom_stage_label(LoomStage stage); /* "Everything but the supply" */

/* CSV with the columns step, stage, from, to, sentence. New. */
char *loom_steps_to_csv(const LoomSteps *steps);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomSteps, loom_steps_free)

G_END_DECLS
