/* The design: what has been drawn. This header lists the room and its data.
 *
 *   g_autoptr(LoomDesign) d = loom_design_open("sandpiper.loom", &error);
 *   LoomEdit *e = loom_edit_new(d, "Plug");
 *   if (loom_edit_plug(e, "G1:out", "F1:in", LOOM_FIT_NORMAL, NULL, &error))
 *     loom_design_apply(d, e);
 *   else
 *     loom_edit_free(e);                      // d is what it was
 *
 * A design is four tables (title, parts, joints, scenes) of immutable, counted records in file
 * order. Nothing changes a record: an edit puts another in its place, so an inverse always exists
 * and a snapshot costs one reference a record. Records name each other by designation and end, as
 * the file does; indices into the tables are valid for one revision only. */
#pragma once

#include "catalogue/catalogue.h"

G_BEGIN_DECLS

#define LOOM_DESIGN_NS "urn:loombook:design:1"

/* What stands in the title block, and the team's own words for the handout. Strings may be NULL. */
typedef struct {
  char *name; /* never NULL */
  char *revision, *date, *drawn_by, *checked_by, *note;
  char *before, *after; /* own steps before plugging and after the first power-up, a line each */
  double ambient_C;     /* temperature around the wires */
} LoomTitle;

typedef enum { LOOM_TURN_0, LOOM_TURN_90, LOOM_TURN_180, LOOM_TURN_270 } LoomTurn; /* clockwise */

/* One placed piece. x, y is the upper left corner of the outline after turning; of a lead, the
 * middle of its tag. */
typedef struct {
  char *designation;  /* letter and number, unique: "M1" */
  LoomKind *kind;     /* owned reference */
  char *label;        /* what people call it: "Drive left"; or NULL */
  char *name;         /* what software calls it: "drive_left"; or NULL */
  char *note, *place; /* free text; where on the robot ("arm"): steps are grouped by it; or NULL */
  char *settings;     /* to be set in the controller ("reversed"), or NULL */
  double x_mm, y_mm;
  LoomTurn turn;
  bool flip;        /* mirrored left to right, before turning */
  bool on;          /* of its switch, where no state says otherwise */
  double length_mm; /* of a lead; NAN: the kind's */
  double reach_mm;  /* way that the lead has to go on the robot; NAN: not measured */
  double rated_A;   /* fuse in it, other than the kind's; NAN: the kind's */
  int address;      /* I2C, other than the kind's; -1: the kind's */
} LoomPart;

typedef struct {
  char *part; /* designation */
  char *end;  /* id */
} LoomEndName;

/* Two ends plugged together. They need not mate: such a joint conducts nothing and is found. */
typedef struct {
  LoomEndName a, b;
  LoomFit fit;
  bool tied; /* secured with a tie or tape */
  char *note;
  char *network; /* radio links: the network's name; or NULL */
  char **scenes; /* names, in the order of the scenes; NULL: every scene */
} LoomJoint;

/* One thing that a state sets on one part: key "on" ("yes", "no"), "duty" (-1 ... 1), "load"
 * ("idle", "free", "moving", "loaded", "stalled"), "torque_Nm". */
typedef struct {
  char *part, *key, *value;
} LoomSetting;

typedef struct {
  char *name; /* "pushing" */
  guint n_settings;
  LoomSetting *settings; /* by part and key in the order they were made */
  guint n_slots;         /* 0: settings are few */
  guint *slots;          /* [n_slots] of a hash table: index in settings and 1, or 0 */
} LoomState;

typedef struct {
  char *state;
  double seconds;
} LoomLeg;

/* A timeline of states on one pack. */
typedef struct {
  char *name;
  guint n_legs;
  LoomLeg *legs;
} LoomOuting;

typedef struct {
  char *name; /* "driving", unique */
  char *note;
  guint n_states, n_outings;
  LoomState *states;
  LoomOuting *outings;
} LoomScene;

typedef struct LoomDesign LoomDesign;
typedef struct LoomEdit LoomEdit;

/* An empty sheet with one scene "driving" and one state "resting". New. */
LoomDesign *loom_design_new(const char *name);
void loom_design_free(LoomDesign *design);
/* The same tables without history: what threads and results hold. New. */
LoomDesign *loom_design_snapshot(const LoomDesign *design);

/* The same records, but only the parts for which `parts` [n_parts] holds, and the joints among
 * them: what is drawn or laid by itself. New, without history. */
LoomDesign *loom_design_cut_out(const LoomDesign *design, const bool *parts);

/* Tables. Records are borrowed and live as long as the design keeps them; ref to keep longer. */
const LoomTitle *loom_design_title(const LoomDesign *design);
guint loom_design_n_parts(const LoomDesign *design);
const LoomPart *loom_design_part(const LoomDesign *design, guint index);
guint loom_design_n_joints(const LoomDesign *design);
const LoomJoint *loom_design_joint(const LoomDesign *design, guint index);
guint loom_design_n_scenes(const LoomDesign *design);
const LoomScene *loom_design_scene(const LoomDesign *design, guint index);

/* Index, or LOOM_NONE. Constant time, but for scenes, of which there are few. */
guint loom_design_find_part(const LoomDesign *design, const char *designation);
guint loom_design_find_scene(const LoomDesign *design, const char *name);
guint loom_scene_find_state(const LoomScene *scene, const char *name);

/* Takes "G1:out" apart and finds both; false with `error` where one does not exist. */
bool loom_design_find_end(const LoomDesign *design, const char *text, guint *part, guint *end,
                          GError **error);
/* Joints at the end, ascending; `joints` gets at most `room` indices. Returns how many there are.
 */
guint loom_design_joints_at(const LoomDesign *design, guint part, guint end, guint *joints,
                            guint room);
/* Whether the joint is plugged in the scene of that name; NULL: in any. */
bool loom_joint_in_scene(const LoomJoint *joint, const char *scene);

/* Which parts belong to the scene: those with a joint in it, and those that no scene plugs
 * anywhere. What only another scene uses (a charger while driving) does not. New array, [n_parts].
 */
bool *loom_design_scene_parts(const LoomDesign *design, guint scene);
/* The same as a list of indices, ascending. New array of guint. */
GArray *loom_design_list_scene_parts(const LoomDesign *design, guint scene);

/* Counts up with every change, undo included; equal numbers mean an equal drawing. */
guint64 loom_design_revision(const LoomDesign *design);

/* The kind of that id as this design embeds it; NULL where no part has used it. */
const LoomKind *loom_design_kind(const LoomDesign *design, const char *id);
/* The family that the design's own entries use under that id; NULL where none does. */
const LoomFamily *loom_design_family(const LoomDesign *design, const char *id);

/* Values that count: the part's own, otherwise its kind's. */
double loom_part_length_mm(const LoomPart *part);
int loom_part_address(const LoomPart *part);
/* Rating of the fuse element `element` of the part. */
double loom_part_fuse_A(const LoomPart *part, guint element);
/* Whether its switch is closed in the state (NULL: as placed). true for parts without a switch. */
bool loom_part_on(const LoomPart *part, const LoomState *state);
/* Value of the setting, or NULL. `state` may be NULL. */
const char *loom_state_value(const LoomState *state, const char *part, const char *key);
/* A state outside any design that sets what `from` sets; NULL: nothing. New. */
LoomState *loom_state_copy(const LoomState *from);
void loom_state_free(LoomState *state);
/* Sets, changes or (value NULL or "") removes a setting of a state that may be changed. */
void loom_state_put(LoomState *state, const char *part, const char *key, const char *value);

/* Applying. `edit` must have been made from this design at its present revision; it is taken. The
 * redo list ends. An edit without a change is dropped and returns false. */
bool loom_design_apply(LoomDesign *design, LoomEdit *edit);
/* Label of what would be undone or redone, borrowed; NULL where there is nothing. */
const char *loom_design_undo_label(const LoomDesign *design);
const char *loom_design_redo_label(const LoomDesign *design);
bool loom_design_undo(LoomDesign *design);
bool loom_design_redo(LoomDesign *design);
/* Whether it differs from what was last marked saved (by the history, not by comparing). */
bool loom_design_modified(const LoomDesign *design);
void loom_design_mark_saved(LoomDesign *design);

/* Records: counted; `_copy` gives a new one that may be changed until somebody else sees it. */
LoomTitle *loom_title_ref(const LoomTitle *title);
void loom_title_unref(LoomTitle *title);
LoomTitle *loom_title_copy(const LoomTitle *title);
LoomPart *loom_part_new(const LoomKind *kind, const char *designation);
LoomPart *loom_part_ref(const LoomPart *part);
void loom_part_unref(LoomPart *part);
LoomPart *loom_part_copy(const LoomPart *part);
LoomJoint *loom_joint_new(const char *part_a, const char *end_a, const char *part_b,
                          const char *end_b);
LoomJoint *loom_joint_ref(const LoomJoint *joint);
void loom_joint_unref(LoomJoint *joint);
LoomJoint *loom_joint_copy(const LoomJoint *joint);
LoomScene *loom_scene_new(const char *name);
LoomScene *loom_scene_ref(const LoomScene *scene);
void loom_scene_unref(LoomScene *scene);
LoomScene *loom_scene_copy(const LoomScene *scene);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomDesign, loom_design_free)
G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomTitle, loom_title_unref)
G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomPart, loom_part_unref)
G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomJoint, loom_joint_unref)
G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomScene, loom_scene_unref)

G_END_DECLS
