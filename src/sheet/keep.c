/* Ways taken over from an older sheet. Records are immutable: a run whose parts and joints are the
 * same records, and whose stops are where they were, is the same run; its way holds unless
 * something new stands in it. */
#include "lay-private.h"

static const LoomJoint *
joint_record(const LoomWiring *w, const LoomRun *run, guint k)
{
  const LoomRunJoint *j = &g_array_index(run->joints, LoomRunJoint, k);
  return loom_design_joint(w->design, w->joints[j->wired].joint);
}

static bool
same_stop(const LoomSheet *a, const LoomStop *sa, const LoomSheet *b, const LoomStop *sb)
{
  return sa->type == sb->type && sa->end == sb->end && sa->place == sb->place &&
         sa->n_places == sb->n_places && sa->dx == sb->dx && sa->dy == sb->dy &&
         sa->at.x == sb->at.x && sa->at.y == sb->at.y &&
         loom_sheet_part(a, sa->part) == loom_sheet_part(b, sb->part);
}

static bool
same_run(const LoomSheet *a, const LoomRun *ra, const LoomSheet *b, const LoomRun *rb)
{
  if (ra->joints->len != rb->joints->len || ra->stretches->len != rb->stretches->len ||
      !same_stop(a, &ra->from, b, &rb->from) || !same_stop(a, &ra->to, b, &rb->to))
    return false;
  for (guint k = 0; k < ra->joints->len; k++)
    if (joint_record(a->inside->wiring, ra, k) != joint_record(b->inside->wiring, rb, k))
      return false;
  for (guint k = 0; k < ra->stretches->len; k++)
    if (loom_sheet_part(a, g_array_index(ra->stretches, LoomStretch, k).part) !=
        loom_sheet_part(b, g_array_index(rb->stretches, LoomStretch, k).part))
      return false;
  return true;
}

static bool
take_gate(LoomSheetInside *in, const LoomStop *stop, guint bit)
{
  if (stop->type != LOOM_STOP_TAG)
    return true;
  if (in->gates[stop->part].gates & bit)
    return false;
  in->gates[stop->part].gates |= bit;
  return true;
}

static void
keep(LoomSheet *sheet, LoomRun *run, guint number, const LoomRun *before)
{
  LoomSheetInside *in = sheet->inside;
  const LoomSpot *corners = (const LoomSpot *)before->corners->data;
  guint n = before->corners->len;
  /* The first and last places are gates, which may lie close to something by right. */
  if (loom_lanes_blocked(in->lanes, corners, n, LOOM_BLOCK_WORDS) ||
      !take_gate(in, &run->from, before->from_gate.bit))
    return;
  if (!take_gate(in, &run->to, before->to_gate.bit)) {
    in->gates[run->from.part].gates &= ~before->from_gate.bit;
    return;
  }
  run->corners = g_array_ref(before->corners);
  run->from_gate = before->from_gate;
  run->to_gate = before->to_gate;
  loom_lanes_run(in->lanes, corners, n, number, true);
}

void
loom_keep_old(LoomSheet *sheet, const LoomSheet *old)
{
  g_autoptr(GHashTable) by_joint = g_hash_table_new(NULL, NULL);
  const GPtrArray *before = old->inside->runs->runs;
  for (guint i = 0; i < before->len; i++)
    g_hash_table_insert(by_joint, (gpointer)joint_record(old->inside->wiring, before->pdata[i], 0),
                        before->pdata[i]);
  const GPtrArray *runs = sheet->inside->runs->runs;
  for (guint i = 0; i < runs->len; i++) {
    LoomRun *run = runs->pdata[i];
    const LoomRun *was = g_hash_table_lookup(by_joint, joint_record(sheet->inside->wiring, run, 0));
    if (was && was->corners && same_run(sheet, run, old, was))
      keep(sheet, run, i, was);
  }
}
