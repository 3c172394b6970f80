/* What leads must keep off, marked on the lanes: outlines, ends with what is plugged onto them,
 * words, and the paper right in front of ends, which is theirs first. */
#include "lay-private.h"

#include <math.h>

#define CLEAR_MM 2.4 /* between outlines and the middle of a lead */
#define TIGHT_MM 0.9 /* where there is no other way */

static void
block_parts(LoomSheet *sheet)
{
  LoomSheetInside *in = sheet->inside;
  for (guint p = 0; p < sheet->n_parts; p++) {
    LoomRect r = sheet->parts[p].outline;
    if (!loom_sheet_part(sheet, p)->kind->lead) {
      loom_lanes_near(in->lanes, loom_rect_grown(r, 6), 1);
      loom_lanes_block(in->lanes, loom_rect_grown(r, CLEAR_MM), LOOM_BLOCK_END);
      loom_lanes_block(in->lanes, loom_rect_grown(r, TIGHT_MM), LOOM_BLOCK_OUTLINE);
    } else if (in->tags[p].shown) {
      loom_lanes_block(in->lanes, loom_rect_grown(r, 0.8), LOOM_BLOCK_END);
    }
  }
  for (guint p = 0; p < sheet->n_parts; p++)
    for (guint i = 0; in->words[p] && i < in->words[p]->len; i++)
      loom_lanes_block(in->lanes,
                       loom_rect_grown(g_array_index(in->words[p], LoomWords, i).box, 0.9),
                       LOOM_BLOCK_WORDS);
}

/* Whether the end stays where it is, and so is in the way of others. */
static bool
stays(const LoomSheet *sheet, guint number)
{
  const LoomSheetInside *in = sheet->inside;
  guint part = in->wiring->end_part[number];
  const LoomEnd *end = loom_run_kind_end(in->wiring, part, number - in->wiring->part_end[part]);
  if (in->runs->hung[number])
    return true;
  return !loom_sheet_part(sheet, part)->kind->lead && end->pigtail_mm <= 0;
}

/* Wires of a stub or from a tag to a connector that hangs. */
static void
block_wires(LoomSheet *sheet, guint part, guint end, const LoomPlacedEnd *placed)
{
  const LoomPart *p = loom_sheet_part(sheet, part);
  if (!p->kind->lead && p->kind->ends[end].pigtail_mm <= 0)
    return;
  LoomRect tag = sheet->parts[part].outline;
  int dx, dy;
  LoomPoint root = loom_place_root(p, end, &dx, &dy);
  if (p->kind->lead)
    root = (LoomPoint){tag.x + (placed->dx > 0 ? tag.width : 0), tag.y + tag.height / 2};
  loom_lanes_block(sheet->inside->lanes, loom_rect_grown(loom_rect_around(root, placed->at), 1.2),
                   LOOM_BLOCK_END);
}

static void
block_ends(LoomSheet *sheet)
{
  const LoomWiring *w = sheet->inside->wiring;
  LoomLanes *lanes = sheet->inside->lanes;
  for (guint number = 0; number < w->n_ends; number++) {
    if (!stays(sheet, number))
      continue;
    guint part = w->end_part[number], end = number - w->part_end[part];
    const LoomPlacedEnd *placed = loom_sheet_end(sheet, part, end);
    LoomEndSize size = loom_end_size(loom_run_kind_end(w, part, end));
    LoomPoint tip = {placed->at.x + placed->dx * size.prong_mm,
                     placed->at.y + placed->dy * size.prong_mm};
    size.depth_mm += size.prong_mm;
    loom_lanes_block(lanes, loom_rect_grown(loom_end_box(&size, tip, placed->dx, placed->dy), 0.8),
                     LOOM_BLOCK_END);
    size.depth_mm = 9;
    tip = (LoomPoint){placed->at.x + placed->dx * 9, placed->at.y + placed->dy * 9};
    loom_lanes_near(lanes, loom_end_box(&size, tip, placed->dx, placed->dy), 5);
    block_wires(sheet, part, end, placed);
  }
}

/* The connector plugged onto a face, and the way out of it. */
static void
block_stop(LoomSheet *sheet, const LoomRun *run, const LoomStop *stop, double width)
{
  LoomLanes *lanes = sheet->inside->lanes;
  if (stop->type == LOOM_STOP_TAG)
    return;
  if (stop->type == LOOM_STOP_FACE && run->stretches->len > 0) {
    LoomPoint face = loom_sheet_end(sheet, stop->part, stop->end)->at;
    LoomEndSize size = {.depth_mm = fabs(stop->at.x - face.x) + fabs(stop->at.y - face.y),
                        .width_mm = width};
    loom_lanes_block(lanes, loom_rect_grown(loom_end_box(&size, stop->at, stop->dx, stop->dy), 0.8),
                     LOOM_BLOCK_END);
  }
  LoomPoint out = {stop->at.x + stop->dx * 9, stop->at.y + stop->dy * 9};
  loom_lanes_near(lanes, loom_rect_grown(loom_rect_around(stop->at, out), 0.3), 8);
}

static double
width_of_mate(const LoomSheet *sheet, const LoomRun *run, bool at_to)
{
  const LoomWiring *w = sheet->inside->wiring;
  guint part, end;
  loom_run_joint_end(w, &g_array_index(run->joints, LoomRunJoint, at_to ? run->joints->len - 1 : 0),
                     !at_to, &part, &end);
  return loom_end_size(loom_run_kind_end(w, part, end)).width_mm;
}

static void
block_stops(LoomSheet *sheet)
{
  GPtrArray *runs = sheet->inside->runs->runs;
  for (guint i = 0; i < runs->len; i++) {
    const LoomRun *run = runs->pdata[i];
    block_stop(sheet, run, &run->from, width_of_mate(sheet, run, false));
    block_stop(sheet, run, &run->to, width_of_mate(sheet, run, true));
  }
}

void
loom_block_all(LoomSheet *sheet)
{
  block_parts(sheet);
  block_ends(sheet);
  block_stops(sheet);
}
