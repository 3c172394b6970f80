/* The inside of a design, shared by the files of this folder. */
#pragma once

#include "edit.h"

/* One record put in place of another. `before` NULL inserts at `index`, `after` NULL removes. Both
 * are owned references. */
typedef enum { LOOM_TABLE_TITLE, LOOM_TABLE_PARTS, LOOM_TABLE_JOINTS, LOOM_TABLE_SCENES } LoomTable;

typedef struct {
  LoomTable table;
  guint index;
  gpointer before, after;
} LoomChange;

struct LoomDesign {
  LoomTitle *title;
  GPtrArray *parts, *joints, *scenes; /* owned records in file order */
  LoomCatalogue *own;                 /* entries of the kinds used so far */
  guint64 revision;

  /* Where things are: derived from the tables, kept up while records are only appended. */
  bool stale;
  GHashTable *part_index;  /* designation (of the record) -> index + 1 */
  GHashTable *part_joints; /* designation -> GArray of guint, ascending joint indices */
  guint lowest[26];        /* by letter: no number below this one is free; 0 unknown */

  GPtrArray *undo, *redo; /* LoomEdit, oldest first */
  LoomEdit *saved;        /* top of undo when last saved; NULL: before the first edit */
  bool saved_lost;        /* that edit can no longer be reached */
};

struct LoomEdit {
  char *label;
  LoomDesign *design; /* working copy; NULL once applied */
  guint64 base;       /* revision that it was made from */
  GArray *changes;    /* LoomChange */
};

/* Puts the change into the tables; no history. */
void loom_design_put(LoomDesign *design, const LoomChange *change);
/* Brings part_index and part_joints up to date. */
void loom_design_reindex(LoomDesign *design);
/* Puts the kind and its families among the design's own unless they are there. */
void loom_design_adopt(LoomDesign *design, const LoomKind *kind);

/* Records the change in the edit and puts it into the working copy. Takes `after`. */
void loom_edit_change(LoomEdit *edit, LoomTable table, guint index, gpointer after);
void loom_edit_insert(LoomEdit *edit, LoomTable table, guint index, gpointer after);
void loom_edit_delete(LoomEdit *edit, LoomTable table, guint index);

/* What the files of edits ask of each other. */
bool loom_edit_refuse(GError **error, const char *format, ...) G_GNUC_PRINTF(2, 3); /* false */
/* `old` (freed) becomes `to` if it is `from`. */
char *loom_edit_renamed(char *old, const char *from, const char *to);
/* Takes a joint out of a scene; it goes where that was its last one. */
void loom_edit_leave_scene(LoomEdit *edit, guint joint, const char *scene);
bool loom_edit_rename_part(LoomEdit *edit, guint index, const char *designation, GError **error);
bool loom_edit_rename_scene(LoomEdit *edit, guint index, const char *name, GError **error);
bool loom_edit_set_joint_scenes(LoomEdit *edit, guint joint, char **scenes, GError **error);

/* Parsing "driving 60, pushing 5"; NULL with `error` if wrong. New. */
LoomLeg *loom_legs_from_text(const LoomScene *scene, const char *text, guint *n, GError **error);
/* After parts or keys of settings were changed in place. */
void loom_state_reindex(LoomState *state);
/* Sentence why the setting cannot be, or NULL. New. */
char *loom_setting_wrong(const char *key, const char *value);
void loom_state_clear(LoomState *state);
void loom_outing_clear(LoomOuting *outing);
/* Appends to a scene that may be changed; returns what was appended. */
LoomState *loom_scene_append_state(LoomScene *scene, const char *name);
LoomOuting *loom_scene_append_outing(LoomScene *scene, const char *name);
guint loom_scene_find_outing(const LoomScene *scene, const char *name);

LoomTitle *loom_title_new(const char *name);
