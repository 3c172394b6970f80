/* What is written at a joint: how an odd plug sits, the name of the network of a radio link. Put
 * where it covers nothing, before flags and readings look for their own room. */
#include "sheet-private.h"

#include <glib/gi18n-lib.h>
#include <math.h>

#define JOINT_WORDS_MM 2.3
#define BESIDE_CONNECTOR_MM 5.5
#define BESIDE_DASHES_MM 1.3

/* Beside `at`, on one side or the other, `off` away and then farther. */
static LoomWords
try_place(LoomPoint at, bool down, guint place, double off, bool bold, LoomPaint paint,
          const char *text)
{
  bool second = place % 2;
  off += place / 2 * 2.5;
  if (down)
    return loom_words_new(at.x + (second ? -off : off), at.y + 0.36 * JOINT_WORDS_MM,
                          second ? LOOM_ANCHOR_END : LOOM_ANCHOR_START, JOINT_WORDS_MM, bold, paint,
                          text);
  double y = at.y + (second ? off + 0.8 * JOINT_WORDS_MM : -off);
  return loom_words_new(at.x, y, LOOM_ANCHOR_MIDDLE, JOINT_WORDS_MM, bold, paint, text);
}

/* Where everything is full the words stand in the first place all the same: they must be seen. */
static LoomWords
put(LoomSheet *sheet, LoomPoint at, bool down, double off, bool bold, LoomPaint paint,
    const char *text)
{
  LoomCrowd *crowd = sheet->inside->crowd;
  LoomWords w = try_place(at, down, 0, off, bold, paint, text);
  for (guint place = 1; place < 8 && loom_crowd_meets(crowd, w.box, LOOM_NONE, 0); place++) {
    g_free(w.text);
    w = try_place(at, down, place, off, bold, paint, text);
  }
  if (loom_crowd_meets(crowd, w.box, LOOM_NONE, 0)) {
    g_free(w.text);
    w = try_place(at, down, 0, off, bold, paint, text);
  }
  loom_crowd_add(crowd, w.box, LOOM_CROWD_WORDS, LOOM_NONE);
  return w;
}

/* Middle of the longest leg of the dashed line, and whether that runs down. */
static LoomPoint
middle_of(const LoomLaidJoint *j, bool *down)
{
  LoomPoint best = j->at;
  double longest = -1;
  *down = j->dy != 0;
  for (guint k = 0; k + 1 < j->n_points; k++) {
    LoomPoint a = j->points[k], b = j->points[k + 1];
    double own = fabs(b.x - a.x) + fabs(b.y - a.y);
    if (own <= longest)
      continue;
    longest = own;
    best = (LoomPoint){(a.x + b.x) / 2, (a.y + b.y) / 2};
    *down = fabs(b.y - a.y) > fabs(b.x - a.x);
  }
  return best;
}

void
loom_joint_words_place(LoomSheet *sheet)
{
  LoomWords *words = sheet->inside->joint_words = g_new0(LoomWords, sheet->n_joints + 1);
  for (guint i = 0; i < sheet->n_joints; i++) {
    const LoomLaidJoint *laid = &sheet->joints[i];
    if (laid->joint != sheet->inside->wiring->joints[i].joint)
      continue; /* not laid */
    const LoomJoint *joint = loom_design_joint(sheet->design, laid->joint);
    bool down;
    LoomPoint middle = middle_of(laid, &down);
    if (joint->network)
      words[i] = put(sheet, middle, down, BESIDE_DASHES_MM, false, LOOM_PAINT_NOTE, joint->network);
    else if (joint->fit != LOOM_FIT_NORMAL)
      words[i] = put(sheet, laid->at, laid->dy != 0, BESIDE_CONNECTOR_MM, true, LOOM_PAINT_STOP,
                     _(loom_fit_word(joint->fit)));
  }
}
