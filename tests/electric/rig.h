/* Small designs for the tests of electric/: parts and joints by name, nothing else. */
#pragma once

#include "design/edit.h"
#include "design/file.h"
#include "electric/solve.h"

typedef struct {
  LoomCatalogue *catalogue;
  LoomDesign *design;
  LoomEdit *edit; /* open until rig_done */
} Rig;

/* `extra` NULL: with the built-in catalogue. Otherwise with these entries alone: kinds and families
 * without the <catalogue> around them. */
Rig *rig_new(const char *extra);
void rig_free(Rig *rig);

/* Each fails the test where it cannot be done. */
void rig_add(Rig *rig, const char *kind, const char *designation);
void rig_plug(Rig *rig, const char *a, const char *b);
void rig_plug_as(Rig *rig, const char *a, const char *b, LoomFit fit, const char *const *scenes);
void rig_set(Rig *rig, const char *target, const char *key, const char *value);
/* A state of the first scene; "resting" is there already. */
void rig_state(Rig *rig, const char *name);
/* Applies what was done since; the design, borrowed. */
const LoomDesign *rig_done(Rig *rig);

/* A leg of an outing whose state is a literal. */
#define RIG_LEG(name, duration_s)                                                                  \
  {                                                                                                \
    .state = (char *)(name), .seconds = (duration_s)                                               \
  }

/* Two-pole elements as kinds of their own, joined by contacts without resistance that take any
 * number of joints: "post" family, ends a and b. `element` is the XML of an element between a:x and
 * b:x. */
char *rig_kind(const char *id, const char *element);
extern const char *const rig_post_family;
extern const char *const rig_node_kind; /* "node": a post alone, end a */

/* What must hold of every operating point: currents sum to nothing at each node within max(1e-9 of
 * the greatest current, 16 eps sum |G||V|), and power out is power in within the like. */
void rig_check_point(const LoomNetwork *network, const LoomOperatingPoint *point);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(Rig, rig_free)
