/* What lies under a pointer. */
#include "sheet-private.h"

#include <math.h>

typedef struct {
  LoomPoint at;
  double slack;
  const LoomCrowded *best;
  double distance; /* of the pointer to the best, 0 inside */
  double size;
} Probe;

static double
distance_to(LoomRect r, LoomPoint p)
{
  double dx = fmax(fmax(r.x - p.x, p.x - r.x - r.width), 0);
  double dy = fmax(fmax(r.y - p.y, p.y - r.y - r.height), 0);
  return hypot(dx, dy);
}

/* Smaller types first; among equals the nearest, then the smallest, then the one drawn last. */
static bool
probe_one(const LoomCrowded *one, gpointer data)
{
  Probe *probe = data;
  double distance = distance_to(one->rect, probe->at), size = one->rect.width * one->rect.height;
  if (distance > probe->slack)
    return true;
  bool better =
      !probe->best || one->type < probe->best->type ||
      (one->type == probe->best->type &&
       (distance < probe->distance || (distance == probe->distance && size <= probe->size)));
  if (better) {
    probe->best = one;
    probe->distance = distance;
    probe->size = size;
  }
  return true;
}

LoomHit
loom_sheet_hit(const LoomSheet *sheet, double x_mm, double y_mm, double slack_mm)
{
  Probe probe = {.at = {x_mm, y_mm}, .slack = slack_mm};
  LoomRect around = loom_rect_grown((LoomRect){x_mm, y_mm, 0, 0}, slack_mm + 1e-6);
  loom_crowd_each(sheet->inside->hits, around, probe_one, &probe);
  LoomHit hit = {LOOM_HIT_NOTHING, LOOM_NONE, LOOM_NONE, LOOM_NONE};
  if (!probe.best)
    return hit;
  hit.type = (LoomHitType)probe.best->type;
  guint index = probe.best->index;
  if (hit.type == LOOM_HIT_END) {
    hit.part = sheet->ends[index].part;
    hit.end = sheet->ends[index].end;
  } else if (hit.type == LOOM_HIT_JOINT) {
    hit.joint = sheet->joints[index].joint;
  } else {
    hit.part = index;
  }
  return hit;
}

static bool
collect_part(const LoomCrowded *one, gpointer data)
{
  if (one->type == LOOM_HIT_PART)
    g_array_append_val((GArray *)data, one->index);
  return true;
}

GArray *
loom_sheet_parts_in(const LoomSheet *sheet, LoomRect rect)
{
  GArray *parts = g_array_new(FALSE, FALSE, sizeof(guint));
  loom_crowd_each(sheet->inside->hits, rect, collect_part, parts);
  return parts;
}

typedef struct {
  guint type, index;
  bool met;
} Question;

static bool
see_other(const LoomCrowded *one, gpointer data)
{
  Question *q = data;
  q->met = one->type != q->type || one->index != q->index;
  return !q->met;
}

bool
loom_crowd_meets(const LoomCrowd *crowd, LoomRect rect, guint except_type, guint except_index)
{
  Question q = {except_type, except_index, false};
  loom_crowd_each(crowd, rect, see_other, &q);
  return q.met;
}
