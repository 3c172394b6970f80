/* What a sheet is made of while it is made, and what it keeps. Never leaves this room.
 *
 *  1. place.c words.c  outlines, ends and words of all parts but leads
 *  2. run.c            which leads and pigtails make one line
 *  3. stop.c           where each run begins and ends; tags that stand by themselves
 *  4. block.c keep.c lay.c detour.c route.c  the ways of the runs over the lanes
 *  5. items.c tag.c letters.c joint-words.c  joints and tags along the ways, what stands beside
 *  6. sheet.c          the public tables, the extents                                        */
#pragma once

#include "crowd.h"
#include "route.h"
#include "run.h"
#include "strokes.h"

G_BEGIN_DECLS

/* Types in the crowds. */
typedef enum {
  LOOM_CROWD_OUTLINE,
  LOOM_CROWD_END,
  LOOM_CROWD_WORDS,
  LOOM_CROWD_WIRE,
  LOOM_CROWD_TAG
} LoomCrowdType;

/* Tag of a lead: where, and the lines beside it. */
typedef struct {
  bool shown;
  LoomPoint at;
  GArray *words; /* of LoomWords; NULL none */
  LoomRect room; /* box and words */
} LoomTag;

/* Lines that stand beside a tag, shared by the sheets of one record; tag-lines.c. */
typedef struct LoomTagLines LoomTagLines;
LoomTagLines *loom_tag_lines_ref(LoomTagLines *lines); /* NULL stays NULL */
void loom_tag_lines_unref(LoomTagLines *lines);

typedef struct {
  guint gates;   /* bit set: those that a wire has taken */
  int hung_side; /* where connectors hang: 1 right, -1 left, 0 both */
} LoomTagGates;

typedef struct LoomSheetInside {
  LoomWiring *wiring;
  LoomRuns *runs;
  GHashTable *pictures;     /* LoomKind* (referenced) -> LoomPicture */
  GArray **words;           /* [n_parts] each of LoomWords, referenced; NULL for leads */
  LoomWords *letters;       /* [n_leads] colours beside pigtails; text NULL: none */
  LoomWords *joint_words;   /* [n_joints] fit or network; text NULL: none */
  LoomTagLines **tag_lines; /* [n_parts]; NULL until asked for */
  LoomTag *tags;            /* [n_parts] */
  LoomTagGates *gates;      /* [n_parts] */
  LoomLanes *lanes;         /* only while it is made */
  LoomCrowd *crowd;         /* everything that words must keep off; index: part, or run for wires */
  LoomCrowd *hits;          /* what a pointer finds; type: LoomHitType */
} LoomSheetInside;

#define LOOM_APART_MM 5.0 /* gap between faces that do not mate */

/* stop.c */
void loom_stops_place(LoomSheet *sheet);
/* Gates of a stop; at most 8, written to `gates`; the number. `numbers` gets the bit of each
 * (tags). */
guint loom_stop_gates(const LoomSheet *sheet, const LoomStop *stop, LoomGate *gates,
                      guint *numbers);
/* Where the wire begins at the gate that was taken. */
LoomPoint loom_stop_start(const LoomSheet *sheet, const LoomStop *stop, const LoomGate *gate);

/* lay.c */
void loom_lay(LoomSheet *sheet, const LoomSheet *old);

/* items.c */
void loom_items_place(LoomSheet *sheet);
double loom_items_length_mm(const LoomSheet *sheet, const LoomRun *run);
/* Whether the run's joints and tags find room on it, off everything that is in the crowd. */
bool loom_items_fit(const LoomSheet *sheet, const LoomRun *run, guint number);

/* letters.c */
void loom_letters_place(LoomSheet *sheet);

/* joint-words.c: after everything else that is written */
void loom_joint_words_place(LoomSheet *sheet);

LoomPlacedEnd *loom_sheet_end_of(LoomSheet *sheet, guint part, guint end);
const LoomPart *loom_sheet_part(const LoomSheet *sheet, guint part);
const LoomPicture *loom_sheet_picture(const LoomSheet *sheet, const LoomKind *kind);
bool loom_crowd_meets(const LoomCrowd *crowd, LoomRect rect, guint except_type, guint except_index);

G_END_DECLS
