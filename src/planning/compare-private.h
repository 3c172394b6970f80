/* Comparing: what the files of it share. Inside planning/ only.
 *
 * Arrays of two hold the old revision and the new one. `..._to[side]` has the index of the partner
 * on the other side, or LOOM_NONE. */
#pragma once

#include "compare.h"

G_BEGIN_DECLS

enum { OLD, NOW };

typedef struct {
  const LoomDesign *design[2];
  guint n_parts[2], n_joints[2], n_scenes[2];
  guint *part_to[2], *joint_to[2], *scene_to[2];
  LoomStatus *parts[2], *joints[2];
  GArray *differences; /* LoomDifference */
} LoomCompareRoom;

/* compare-match.c: fills part_to, scene_to and joint_to. */
void loom_compare_match_parts(LoomCompareRoom *room);
void loom_compare_match_scenes(LoomCompareRoom *room);
void loom_compare_match_joints(LoomCompareRoom *room);
/* States of two scenes, by name, then by what they set. Both arrays are new. */
void loom_compare_match_states(LoomCompareRoom *room, const LoomScene *const scene[2],
                               guint *to[2]);
/* [n] LOOM_NONE. New. */
guint *loom_compare_no_partners(guint n);

/* What a state sets on parts that have a partner, and in which paired scenes a joint is ("all":
 * every one), as text that is equal for equal things on both sides. New. */
char *loom_compare_state_text(const LoomCompareRoom *room, guint side, const LoomState *state);
char *loom_compare_scenes_text(const LoomCompareRoom *room, guint side, const LoomJoint *joint);

/* One number for both partners, for keys; LOOM_NONE without a partner. */
guint loom_room_pair(const LoomCompareRoom *room, guint side, const char *designation);

/* Each tells the differences of its subject. */
void loom_compare_parts(LoomCompareRoom *room);
void loom_compare_joints(LoomCompareRoom *room);
void loom_compare_scenes(LoomCompareRoom *room);
void loom_compare_title(LoomCompareRoom *room);
void loom_compare_findings(LoomCompareRoom *room);
void loom_compare_currents(LoomCompareRoom *room);

/* A new difference. Takes `where`, `old`, `now` and `sentence`. Borrowed until the next one. */
LoomDifference *loom_room_tell(LoomCompareRoom *room, LoomDifferenceType type, char *where,
                               char *old, char *now, char *sentence);
/* Adds a place on one side; `end` may be NULL. */
void loom_difference_place(LoomDifference *difference, guint side, const char *part,
                           const char *end);
void loom_difference_joint(LoomDifference *difference, guint side, const LoomJoint *joint);

/* Calls with every index of the old array and its partner, matched by key: the i-th of the old ones
 * that have a key with the i-th of the new ones. Only indices without a partner take part. `key`
 * gives a new string or NULL (takes no part). */
typedef char *(*LoomCompareKey)(const LoomCompareRoom *room, guint side, guint index,
                                gconstpointer data);
void loom_room_join(LoomCompareRoom *room, const guint n[2], guint *to[2], LoomCompareKey key,
                    gconstpointer data);

/* "A", "A and B", "A, B and 3 more" of the strings. New. */
char *loom_compare_list(const GPtrArray *words, guint most);
/* "M1 (Drive left)". New. */
char *loom_part_words(const LoomPart *part);
/* "M1:poles". New. */
char *loom_end_words(const LoomEndName *end);
/* "Note of M1" and two texts, either of which may be NULL: "… is “x” now; before it was “y”." New.
 */
char *loom_text_sentence(const char *what, const char *old, const char *now);

G_END_DECLS
