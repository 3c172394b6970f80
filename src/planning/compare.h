/* What differs between two revisions of a design: in words, and part by part for the drawing.
 *
 *   g_autoptr(LoomCompare) c = loom_compare_new(old, now, LOOM_COMPARE_ALL);
 *   for (guint i = 0; i < c->n_differences; i++) puts(c->differences[i].sentence);
 *
 * 1. Parts are paired: those that kept designation and kind, and lie where they lay or have the
 *    joints that they had; then those that kept kind, joints and neighbours' kinds and lie where
 *    they lay, or kept kind and joints, under another designation (a rename); then what is left by
 *    designation alone (another kind). Parts without a partner are new or gone.
 * 2. Joints are paired by their two ends; of the rest, one that came apart and one that was made at
 *    the same end are one change (plugged somewhere else), and so is a lead that was turned round.
 *    Scenes, states and outings are paired by name, then by what is in them.
 * 3. What differs between partners is a difference each. What follows from another one by itself is
 *    not told again: joints and settings of a part that is gone, joints of a scene that is gone.
 * 4. Findings are paired by rule and places, currents by part and end (both after renaming).
 *
 * The order of parts, joints and scenes in the file is no difference. Comparing the other way round
 * gives the same differences with new and gone, old and now exchanged. Time grows with the number
 * of parts and joints (hashes), but for the rules and the solver. */
#pragma once

#include "rules/rules.h"

G_BEGIN_DECLS

/* Most important first, but for findings: a new stop stands before everything, a new note near the
 * end. */
typedef enum {
  LOOM_DIFFERENCE_FINDING_NEW,
  LOOM_DIFFERENCE_FINDING_CHANGED, /* graver, milder, or elsewhere too */
  LOOM_DIFFERENCE_POINT_GONE,      /* a state that can no longer be supplied */
  LOOM_DIFFERENCE_PART_NEW,
  LOOM_DIFFERENCE_PART_GONE,
  LOOM_DIFFERENCE_PART_KIND, /* another kind under the same designation */
  LOOM_DIFFERENCE_KIND_DATA, /* the same kind with other figures; told once a kind */
  LOOM_DIFFERENCE_JOINT_NEW,
  LOOM_DIFFERENCE_JOINT_GONE,
  LOOM_DIFFERENCE_TURNED,    /* a lead the other way round between the same two ends */
  LOOM_DIFFERENCE_REPLUGGED, /* an end that was plugged elsewhere */
  LOOM_DIFFERENCE_FIT,
  LOOM_DIFFERENCE_JOINT_SCENES,
  LOOM_DIFFERENCE_TIED,
  LOOM_DIFFERENCE_NETWORK,
  LOOM_DIFFERENCE_RATING, /* fuse */
  LOOM_DIFFERENCE_SWITCH,
  LOOM_DIFFERENCE_ADDRESS,
  LOOM_DIFFERENCE_LENGTH,
  LOOM_DIFFERENCE_SETTING, /* of a part in a state */
  LOOM_DIFFERENCE_AMBIENT, /* temperature around the wires */
  LOOM_DIFFERENCE_CURRENT, /* more than 5 % */
  LOOM_DIFFERENCE_FINDING_GONE,
  LOOM_DIFFERENCE_POINT_NEW, /* a state that can be supplied again */
  LOOM_DIFFERENCE_RENAMED,   /* another designation */
  LOOM_DIFFERENCE_NAME,      /* in the program */
  LOOM_DIFFERENCE_SETTINGS,  /* to be set in the controller */
  LOOM_DIFFERENCE_LABEL,
  LOOM_DIFFERENCE_REACH,
  LOOM_DIFFERENCE_PLACE,
  LOOM_DIFFERENCE_SCENE_NEW,
  LOOM_DIFFERENCE_SCENE_GONE,
  LOOM_DIFFERENCE_SCENE_NAME,
  LOOM_DIFFERENCE_STATE_NEW,
  LOOM_DIFFERENCE_STATE_GONE,
  LOOM_DIFFERENCE_STATE_NAME,
  LOOM_DIFFERENCE_OUTING_NEW,
  LOOM_DIFFERENCE_OUTING_GONE,
  LOOM_DIFFERENCE_OUTING_NAME,
  LOOM_DIFFERENCE_OUTING_LEGS,
  LOOM_DIFFERENCE_TITLE, /* title block, own steps */
  LOOM_DIFFERENCE_NOTE,  /* on a part, joint or scene */
  LOOM_DIFFERENCE_MOVED, /* on the sheet only; told once */
  LOOM_N_DIFFERENCES
} LoomDifferenceType;

/* Strings are owned. Places are designation and end id; the end is NULL for the part itself. */
typedef struct {
  LoomDifferenceType type;
  LoomSeverity severity; /* of findings: the graver one; otherwise LOOM_NOTE */
  char *where;           /* "M1", "M1:poles and K1:motor-1", "state:driving/pushing", "design" */
  char *old, *now;       /* values in words; NULL where there is none */
  char *sentence;        /* the whole, in plain words */
  guint n_old_places, n_new_places;
  LoomEndName *old_places, *new_places;
} LoomDifference;

typedef enum {
  LOOM_STATUS_SAME, /* or only moved on the sheet */
  LOOM_STATUS_CHANGED,
  LOOM_STATUS_NEW,
  LOOM_STATUS_GONE,
} LoomStatus;

/* Stands on its own. Indices are those of the two designs that were compared. */
typedef struct {
  guint n_differences;
  LoomDifference *differences; /* [n_differences] by importance, then by where */
  guint n_old_parts, n_new_parts, n_old_joints, n_new_joints;
  LoomStatus *old_parts, *new_parts;   /* [n_old_parts], [n_new_parts] */
  LoomStatus *old_joints, *new_joints; /* [n_old_joints], [n_new_joints] */
  guint *old_part_to, *new_part_to;    /* index of the partner, LOOM_NONE without one */
  guint *old_joint_to, *new_joint_to;  /* the same for joints; replugged ones are no partners */
  guint *old_scene_to, *new_scene_to;  /* the same for scenes */
} LoomCompare;

/* What to compute besides the drawing itself. */
enum {
  LOOM_COMPARE_DRAWING = 0,
  LOOM_COMPARE_FINDINGS = 1 << 0, /* runs the rules on both */
  LOOM_COMPARE_CURRENTS = 1 << 1, /* solves every state of both, packs full */
  LOOM_COMPARE_ALL = LOOM_COMPARE_FINDINGS | LOOM_COMPARE_CURRENTS
};

/* Currents that differ by less than this share of the greater one are the same, and so are those
 * that differ by less than a milliampere. */
#define LOOM_COMPARE_SHARE 0.05
#define LOOM_COMPARE_LEAST_A 0.001

/* New, never NULL. */
LoomCompare *loom_compare_new(const LoomDesign *old, const LoomDesign *now, guint what);
void loom_compare_free(LoomCompare *compare);

/* "part-new", "replugged", ... as the command prints it. */
const char *loom_difference_word(LoomDifferenceType type);
/* The type that comparing the other way round gives. */
LoomDifferenceType loom_difference_mirror(LoomDifferenceType type);
/* CSV with the columns change,where,old,new,sentence. New. */
char *loom_compare_to_csv(const LoomCompare *compare);

/* Both revisions on one sheet: the new one, and what is gone added to it, so that one laying out
 * shows both. */

/* A joint that is gone and is not plugged in the merged design, because an end has been taken
 * since: to be drawn as a line from end to end. */
typedef struct {
  guint part_a, end_a, part_b, end_b; /* indices in the merged design and in the kinds */
  char **scenes;                      /* owned names, as in LoomJoint; NULL: every scene */
} LoomMergedLine;

typedef struct {
  LoomDesign *design; /* owned: parts and joints of the new one first, in its order */
  guint n_parts, n_joints, n_lines;
  LoomStatus *parts;     /* [n_parts] by index in the design */
  LoomStatus *joints;    /* [n_joints] */
  LoomMergedLine *lines; /* [n_lines] */
  GHashTable *old_names; /* designation in the old design -> in the merged one */
} LoomMerged;

/* `old` and `now` are those that were compared. A part that is gone keeps its designation unless a
 * new one has it, and is labelled "M1, gone" then. All its joints are plugged, or all are lines, so
 * that no scene hides it for being plugged in another one only. New. */
LoomMerged *loom_compare_merged(const LoomCompare *compare, const LoomDesign *old,
                                const LoomDesign *now);
void loom_merged_free(LoomMerged *merged);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomCompare, loom_compare_free)
G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomMerged, loom_merged_free)

G_END_DECLS
