#include "beside.h"

#include "sheet/tidy.h"

#include <math.h>

#define LEAD_REACH_MM 40.0  /* from an end to the tag of its lead */
#define BEYOND_LEAD_MM 15.0 /* from a lead's free end to the face that it is to be plugged into */
#define TAG_WIDTH_MM 20.0
#define TAG_HEIGHT_MM 10.0
#define MOST_SHIFTS 24

double
loom_grid_snap(double mm)
{
  return LOOM_GRID_MM * round(mm / LOOM_GRID_MM);
}

static bool
is_free(const LoomSheet *sheet, LoomRect rect)
{
  g_autoptr(GArray) parts = loom_sheet_parts_in(sheet, rect);
  return parts->len == 0;
}

/* Steps out to both sides of the wanted place, across (dx, dy), until the rectangle is free. */
static LoomPoint
shift_until_free(const LoomSheet *sheet, LoomRect rect, int dx, int dy, double step_mm)
{
  for (int i = 0; i < MOST_SHIFTS; i++) {
    int steps = (i + 1) / 2;
    double by = (i % 2 ? -steps : steps) * step_mm;
    LoomRect r = {rect.x + by * abs(dy), rect.y + by * abs(dx), rect.width, rect.height};
    if (is_free(sheet, r))
      return (LoomPoint){r.x, r.y};
  }
  return (LoomPoint){rect.x, rect.y};
}

static LoomPlacing
place_lead(const LoomSheet *sheet, LoomPoint at, int dx, int dy)
{
  LoomRect tag = {loom_grid_snap(at.x) - TAG_WIDTH_MM / 2, loom_grid_snap(at.y) - TAG_HEIGHT_MM / 2,
                  TAG_WIDTH_MM, TAG_HEIGHT_MM};
  LoomPoint corner = shift_until_free(sheet, tag, dx, dy, 2 * LOOM_GRID_MM);
  return (LoomPlacing){.x_mm = corner.x + TAG_WIDTH_MM / 2, .y_mm = corner.y + TAG_HEIGHT_MM / 2};
}

/* The part as it would lie with its corner at 0, 0. New. */
static LoomPart *
part_of(const LoomKind *kind, const LoomPlacing *placing)
{
  LoomPart *part = loom_part_new(kind, "X1");
  part->x_mm = part->y_mm = 0;
  part->turn = placing->turn;
  part->flip = placing->flip;
  return part;
}

LoomPlacing
loom_beside_point(const LoomSheet *sheet, const LoomOffer *offer, LoomPoint at, int dx, int dy)
{
  if (offer->kind->lead)
    return place_lead(sheet, at, dx, dy);
  LoomPlacing placing = loom_offer_facing(offer, dx, dy);
  g_autoptr(LoomPart) part = part_of(offer->kind, &placing);
  int face_dx, face_dy;
  LoomPoint face = loom_place_end(part, offer->end, &face_dx, &face_dy);
  LoomRect outline = loom_place_outline(part);
  LoomRect wanted = {at.x - face.x, at.y - face.y, outline.width, outline.height};
  LoomPoint corner = shift_until_free(sheet, wanted, dx, dy, LOOM_GRID_MM);
  placing.x_mm = corner.x;
  placing.y_mm = corner.y;
  return placing;
}

LoomPlacing
loom_beside_end(const LoomSheet *sheet, guint part, guint end, const LoomOffer *offer)
{
  const LoomPlacedEnd *free_end = loom_sheet_end(sheet, part, end);
  bool hangs = loom_design_part(sheet->design, part)->kind->lead;
  double out = offer->kind->lead ? LEAD_REACH_MM : hangs ? BEYOND_LEAD_MM : 0;
  LoomPoint at = {free_end->at.x + free_end->dx * out, free_end->at.y + free_end->dy * out};
  return loom_beside_point(sheet, offer, at, free_end->dx, free_end->dy);
}

LoomPlacing *
loom_beside_chain(const LoomSheet *sheet, const LoomLinkupAnswer *answer, guint part_a, guint end_a,
                  guint part_b, guint end_b)
{
  LoomPlacing *placings = g_new0(LoomPlacing, MAX(answer->n_pieces, 1));
  const LoomPlacedEnd *a = loom_sheet_end(sheet, part_a, end_a);
  const LoomPlacedEnd *b = loom_sheet_end(sheet, part_b, end_b);
  for (guint i = 0; i < answer->n_pieces; i++) {
    double t = (i + 1.0) / (answer->n_pieces + 1.0);
    LoomPoint at = {a->at.x + t * (b->at.x - a->at.x), a->at.y + t * (b->at.y - a->at.y)};
    LoomOffer offer = {.kind = answer->pieces[i].kind, .end = answer->pieces[i].in};
    placings[i] = loom_beside_point(sheet, &offer, at, a->dx, a->dy);
  }
  return placings;
}
