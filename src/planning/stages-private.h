/* Which joint belongs to which stage: what the sources reach before they come to a part that takes
 * power. */
#pragma once

#include "electric/wiring.h"
#include "steps.h"

G_BEGIN_DECLS

typedef enum {
  LOOM_SIDE_ELSE,   /* neither of the others */
  LOOM_SIDE_SUPPLY, /* within the supply side */
  LOOM_SIDE_FEEDS,  /* from the supply side into a part that takes power */
  LOOM_SIDE_RADIO,
} LoomJointSide;

typedef struct {
  LoomJointSide side;
  bool source;    /* at an end of a source's part that the source stands on */
  bool pack;      /* of a source that runs down */
  guint supply;   /* supplies that are joined have one number; LOOM_NONE for ELSE */
  guint distance; /* joints between it and the nearest source */
} LoomJointStage;

typedef struct {
  LoomWiring *wiring;
  LoomJointStage *joints; /* [n_joints] of the wiring */
  guint n_supplies;
  guint *node_supply; /* [n_nodes] LOOM_NONE where no source reaches */
  bool *switches;     /* [n_parts] a switch of the supply side */
  guint *part_supply; /* [n_parts] of such a switch, otherwise LOOM_NONE */
  bool *tried; /* [n_supplies] stage B tries it alone: it feeds something, and has joints of its own
                */
} LoomStages;

LoomStages *loom_stages_new(const LoomDesign *design, guint scene);
void loom_stages_free(LoomStages *stages);
/* Number of the supply that reaches the end, or LOOM_NONE. */
guint loom_stages_supply_of(const LoomStages *stages, guint part, guint end);

/* A measurement at the supply's side of the joints that feed one part. */
typedef struct {
  guint red_part, red_end, plus;
  guint black_part, black_end, minus;
  double nominal_V, low_V, high_V;
} LoomStageVolts;

/* Where and what to measure for every part that the supply feeds: array of LoomStageVolts, new. */
GArray *loom_stages_volts(const LoomStages *stages, guint supply);

/* Sentences of one step, filled in from its other fields. */
void loom_step_words(const LoomWiring *wiring, LoomStep *step);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomStages, loom_stages_free)

G_END_DECLS
