/* What lies along a run: the joints in the line and the tags of its leads.
 *
 *   [ G1 ]=>===(W1)=====>>====+      s counts along the line from where the wire begins; an item
 *          0    s1      s2    |      needs a straight piece of its own length
 *                           (W2) s3
 *                             |      1. earliest place of each item, from the front
 *                             v L    2. latest place, from the back
 *                                    3. from the front: the place nearest to the wish, between
 *                                       the two, where tag and words cover nothing
 *                                    4. joints are set, then words are written beside the tags */
#include "items-private.h"

#include <math.h>

#define MARGIN_MM 0.8 /* between items, and to the ends of the line */
#define CORNER_MM 1.6 /* kept free at a bend */
#define SAMPLE_MM 1.25

typedef struct {
  bool joint;
  guint number;   /* among the run's joints or stretches */
  double half[2]; /* half its length on a piece across, down */
  double aside;   /* half its width */
  double earliest, latest, at;
} Item;

typedef struct {
  LoomPoint a, b;
  double s0, s1;       /* along the line */
  int down;            /* 0 across, 1 down */
  double free0, free1; /* part of it that items may use */
} Piece;

typedef struct {
  const LoomCrowd *crowd; /* to keep off while places are looked for; NULL: anywhere */
  guint number;           /* of the run, whose wires are no hindrance */
  GArray *items;          /* of Item */
  GArray *pieces;         /* of Piece */
  double length;
  bool fit;
} Line;

static Item
joint_item(const LoomWiring *w, const LoomRun *run, guint number)
{
  const LoomRunJoint *j = &g_array_index(run->joints, LoomRunJoint, number);
  double half = 0, aside = 0;
  for (guint second = 0; second < 2; second++) {
    guint part, end;
    loom_run_joint_end(w, j, second, &part, &end);
    LoomEndSize size = loom_end_size(loom_run_kind_end(w, part, end));
    half = fmax(half, size.depth_mm);
    aside = fmax(aside, size.width_mm / 2);
  }
  half += MARGIN_MM + (w->joints[j->wired].mate == LOOM_MATE_YES ? 0 : LOOM_APART_MM / 2);
  return (Item){.joint = true, .number = number, .half = {half, half}, .aside = aside};
}

static GArray *
items_of(const LoomSheet *sheet, const LoomRun *run)
{
  GArray *items = g_array_new(FALSE, FALSE, sizeof(Item));
  const LoomWiring *w = sheet->inside->wiring;
  guint skip = run->from.type == LOOM_STOP_FACE;
  for (guint k = 0; k < run->stretches->len; k++) {
    const LoomStretch *s = &g_array_index(run->stretches, LoomStretch, k);
    if (s->end_a != LOOM_NONE && s->end_b != LOOM_NONE) {
      LoomRect box = loom_tag_box(loom_sheet_part(sheet, s->part), (LoomPoint){0, 0});
      Item tag = {.number = k,
                  .aside = LOOM_TAG_MM / 2,
                  .half = {box.width / 2 + MARGIN_MM, box.height / 2 + MARGIN_MM}};
      g_array_append_val(items, tag);
    }
    if (k + 1 == run->stretches->len)
      break;
    Item joint = joint_item(w, run, k + skip);
    g_array_append_val(items, joint);
  }
  return items;
}

static GArray *
pieces_of(const LoomRun *run, double *length)
{
  GArray *pieces = g_array_new(FALSE, FALSE, sizeof(Piece));
  guint n = run->points->len;
  *length = 0;
  for (guint k = 1; k < n; k++) {
    LoomPoint a = g_array_index(run->points, LoomPoint, k - 1),
              b = g_array_index(run->points, LoomPoint, k);
    double own = fabs(a.x - b.x) + fabs(a.y - b.y);
    Piece p = {a, b, *length, *length + own, fabs(a.y - b.y) > fabs(a.x - b.x), 0, 0};
    p.free0 = p.s0 + (k > 1 ? CORNER_MM : MARGIN_MM);
    p.free1 = p.s1 - (k + 1 < n ? CORNER_MM : MARGIN_MM);
    g_array_append_val(pieces, p);
    *length += own;
  }
  return pieces;
}

static LoomPoint
point_on(const Piece *p, double s)
{
  double t = p->s1 > p->s0 ? CLAMP((s - p->s0) / (p->s1 - p->s0), 0, 1) : 0;
  return (LoomPoint){p->a.x + t * (p->b.x - p->a.x), p->a.y + t * (p->b.y - p->a.y)};
}

static LoomRect
box_at(const Item *item, const Piece *p, double s)
{
  LoomPoint at = point_on(p, s);
  double along = item->half[p->down], aside = item->aside;
  double x = p->down ? aside : along, y = p->down ? along : aside;
  return (LoomRect){at.x - x, at.y - y, 2 * x, 2 * y};
}

static bool
is_clear(const Line *line, const Item *item, const Piece *p, double s)
{
  return !line->crowd ||
         !loom_crowd_meets(line->crowd, box_at(item, p, s), LOOM_CROWD_WIRE, line->number);
}

/* Step 1: the first place at or behind `from` where the item lies on one piece; NAN none. */
static double
first_place(const Line *line, const Item *item, double from)
{
  for (guint k = 0; k < line->pieces->len; k++) {
    const Piece *p = &g_array_index(line->pieces, Piece, k);
    double half = item->half[p->down];
    for (double at = fmax(from, p->free0) + half; at + half <= p->free1 + 1e-9; at += SAMPLE_MM)
      if (is_clear(line, item, p, at))
        return at;
  }
  return NAN;
}

/* Step 2. */
static double
last_place(const Line *line, const Item *item, double until)
{
  for (guint k = line->pieces->len; k-- > 0;) {
    const Piece *p = &g_array_index(line->pieces, Piece, k);
    double half = item->half[p->down];
    for (double at = fmin(until, p->free1) - half; at - half >= p->free0 - 1e-9; at -= SAMPLE_MM)
      if (is_clear(line, item, p, at))
        return at;
  }
  return NAN;
}

static const Piece *
piece_at(const Line *line, double s)
{
  guint k = 0;
  while (k + 1 < line->pieces->len && g_array_index(line->pieces, Piece, k).s1 < s)
    k++;
  return &g_array_index(line->pieces, Piece, k);
}

static LoomPoint
point_at(const Line *line, double s)
{
  return point_on(piece_at(line, s), s);
}

static bool
bound(Line *line)
{
  Item *items = (Item *)line->items->data;
  double at = 0;
  for (guint i = 0; i < line->items->len; i++) {
    items[i].earliest = first_place(line, &items[i], at);
    if (isnan(items[i].earliest))
      return false;
    at = items[i].earliest + items[i].half[piece_at(line, items[i].earliest)->down];
  }
  at = line->length;
  for (guint i = line->items->len; i-- > 0;) {
    items[i].latest = last_place(line, &items[i], at);
    if (isnan(items[i].latest) || items[i].latest < items[i].earliest - 1e-6)
      return false;
    at = items[i].latest - items[i].half[piece_at(line, items[i].latest)->down];
  }
  return true;
}

static Line
line_new(const LoomSheet *sheet, const LoomRun *run, guint number, bool clear)
{
  Line line = {.crowd = clear ? sheet->inside->crowd : NULL,
               .number = number,
               .items = items_of(sheet, run)};
  line.pieces = pieces_of(run, &line.length);
  line.fit = bound(&line);
  return line;
}

static void
line_clear(Line *line)
{
  g_array_unref(line->items);
  g_array_unref(line->pieces);
}

static bool
early_places_apart(const Line *line)
{
  const Item *items = (const Item *)line->items->data;
  for (guint i = 0; i < line->items->len; i++)
    for (guint k = 0; k < i; k++) {
      const Item *a = &items[i], *b = &items[k];
      if (loom_rect_meets(
              loom_rect_grown(box_at(a, piece_at(line, a->earliest), a->earliest), -0.1),
              box_at(b, piece_at(line, b->earliest), b->earliest)))
        return false;
    }
  return true;
}

bool
loom_items_fit(const LoomSheet *sheet, const LoomRun *run, guint number)
{
  Line line = line_new(sheet, run, number, true);
  bool fit = line.fit && early_places_apart(&line);
  line_clear(&line);
  return fit;
}

double
loom_items_length_mm(const LoomSheet *sheet, const LoomRun *run)
{
  g_autoptr(GArray) items = items_of(sheet, run);
  double sum = 2 * MARGIN_MM;
  for (guint i = 0; i < items->len; i++) {
    const Item *item = &g_array_index(items, Item, i);
    sum += 2 * fmax(item->half[0], item->half[1]);
  }
  return sum + 4 * CORNER_MM;
}

/* Where the item would best be: alone in the middle of the longest piece, else evenly spread. */
static double
wish(const Line *line, guint i)
{
  if (line->items->len > 1)
    return line->length * (i + 1) / (line->items->len + 1);
  const Piece *best = NULL;
  for (guint k = 0; k < line->pieces->len; k++) {
    const Piece *p = &g_array_index(line->pieces, Piece, k);
    if (!best || p->s1 - p->s0 > best->s1 - best->s0 + 1e-6)
      best = p;
  }
  return best ? (best->s0 + best->s1) / 2 : 0;
}

static bool
lies_straight(const Line *line, const Item *item, double s)
{
  const Piece *p = piece_at(line, s);
  double half = item->half[p->down];
  return s - half >= p->free0 - 1e-6 && s + half <= p->free1 + 1e-6;
}

/* A line that folds back lies close to itself: whether the item keeps off those before it. */
static bool
keeps_off(const Line *line, const Item *item, double s)
{
  LoomRect box = loom_rect_grown(box_at(item, piece_at(line, s), s), -0.1);
  for (const Item *other = (const Item *)line->items->data; other < item; other++)
    if (loom_rect_meets(box, box_at(other, piece_at(line, other->at), other->at)))
      return false;
  return true;
}

/* Step 3. Places from the wish outwards that `accept` takes; NAN where it takes none. It says how
 * far the item then reaches to either side along the line (at most `room`), or NAN: not here. */
typedef double (*Accept)(LoomSheet *sheet, const LoomRun *run, guint number, const Line *line,
                         const Item *item, double s, guint variant, double room);

static double
nearest(LoomSheet *sheet, const LoomRun *run, guint number, const Line *line, const Item *item,
        double wished, double low, double high, Accept accept, guint variant, double *reach)
{
  double from = fmax(item->earliest, low + item->half[piece_at(line, low)->down]),
         to = item->latest;
  wished = CLAMP(wished, from, to);
  guint steps = (guint)((to - from) / SAMPLE_MM) + 1;
  for (guint k = 0; k <= 2 * steps; k++) {
    double s = wished + (k % 2 ? -SAMPLE_MM : SAMPLE_MM) * (double)((k + 1) / 2);
    if (s < from - 1e-6 || s > to + 1e-6 || !lies_straight(line, item, s) ||
        !keeps_off(line, item, s))
      continue;
    *reach = accept(sheet, run, number, line, item, s, variant, fmin(s - low, high - s));
    if (!isnan(*reach))
      return s;
  }
  return NAN;
}

static double
accept_joint(LoomSheet *sheet, const LoomRun *run G_GNUC_UNUSED, guint number, const Line *line,
             const Item *item, double s, guint variant, double room G_GNUC_UNUSED)
{
  double reach = item->half[piece_at(line, s)->down];
  if (variant > 0)
    return reach;
  bool met = loom_crowd_meets(sheet->inside->crowd, box_at(item, piece_at(line, s), s),
                              LOOM_CROWD_WIRE, number);
  return met ? NAN : reach;
}

static double
accept_tag(LoomSheet *sheet, const LoomRun *run, guint number, const Line *line, const Item *item,
           double s, guint variant, double room)
{
  const LoomStretch *stretch = &g_array_index(run->stretches, LoomStretch, item->number);
  int down = piece_at(line, s)->down;
  LoomTag tag =
      loom_tag_try(sheet, stretch->part, stretch->end_a, point_at(line, s), down, variant);
  double reach = fmax(item->half[down], down ? tag.room.height / 2 : tag.room.width / 2);
  bool good = variant > LOOM_TAG_VARIANTS ||
              (reach <= room + 1e-6 && loom_tag_is_free(sheet, &tag, number));
  loom_tag_clear(&tag);
  return good ? reach : NAN;
}

/* Step 4: the tags are written, now that the joints of the run are where they are. */
static void
write_tags(LoomSheet *sheet, const LoomRun *run, guint number, const Line *line)
{
  for (guint i = 0; i < line->items->len; i++) {
    const Item *item = &g_array_index(line->items, Item, i);
    if (item->joint)
      continue;
    const LoomStretch *s = &g_array_index(run->stretches, LoomStretch, item->number);
    int down = piece_at(line, item->at)->down;
    LoomTag tag = {0};
    for (guint v = 0; v <= LOOM_TAG_VARIANTS; v++) {
      loom_tag_clear(&tag);
      tag = loom_tag_try(sheet, s->part, s->end_a, point_at(line, item->at), down, v);
      if (loom_tag_is_free(sheet, &tag, number))
        break;
    }
    loom_tag_set(sheet, s->part, &tag);
  }
}

/* Where the next item must be able to begin. */
static double
room_until(const Line *line, guint i)
{
  if (i + 1 >= line->items->len)
    return line->length;
  const Item *next = &g_array_index(line->items, Item, i + 1);
  return next->latest - next->half[piece_at(line, next->latest)->down];
}

static void
place_items(LoomSheet *sheet, const LoomRun *run, guint number, Line *line)
{
  Item *items = (Item *)line->items->data;
  double low = 0;
  for (guint i = 0; i < line->items->len; i++) {
    Item *item = &items[i];
    Accept accept = item->joint ? accept_joint : accept_tag;
    double wished = wish(line, i), s = NAN, reach = 0;
    for (guint v = 0; line->fit && isnan(s) && v <= (item->joint ? 1 : LOOM_TAG_VARIANTS); v++)
      s = nearest(sheet, run, number, line, item, wished, low, room_until(line, i), accept, v,
                  &reach);
    if (isnan(s)) {
      s = CLAMP(fmax(wished, low), 0, line->length);
      reach = accept(sheet, run, number, line, item, s, LOOM_TAG_VARIANTS + 1, 0);
    }
    item->at = s;
    low = s + reach;
  }
}

/* The line between two places on it. */
static LoomPoint *
cut(const Line *line, double s0, double s1, guint *n)
{
  GArray *points = g_array_new(FALSE, FALSE, sizeof(LoomPoint));
  LoomPoint p = point_at(line, s0);
  g_array_append_val(points, p);
  for (guint k = 0; k + 1 < line->pieces->len; k++) {
    const Piece *piece = &g_array_index(line->pieces, Piece, k);
    if (piece->s1 > s0 + 1e-6 && piece->s1 < s1 - 1e-6)
      g_array_append_val(points, piece->b);
  }
  p = point_at(line, fmax(s0, s1));
  g_array_append_val(points, p);
  *n = points->len;
  return (LoomPoint *)g_array_free(points, FALSE);
}

static void
set_end(LoomSheet *sheet, guint part, guint end, LoomPoint at, int dx, int dy)
{
  LoomPlacedEnd *placed = loom_sheet_end_of(sheet, part, end);
  placed->at = at;
  placed->dx = dx;
  placed->dy = dy;
  LoomEndSize size = loom_end_size(&loom_sheet_part(sheet, part)->kind->ends[end]);
  loom_crowd_add(sheet->inside->crowd, loom_end_box(&size, at, dx, dy), LOOM_CROWD_END, part);
}

static double
depth_of(const LoomSheet *sheet, const LoomRunJoint *j, bool second)
{
  guint part, end;
  loom_run_joint_end(sheet->inside->wiring, j, second, &part, &end);
  return loom_end_size(loom_run_kind_end(sheet->inside->wiring, part, end)).depth_mm;
}

/* A cable tie stands out beyond the connectors, on the upper or left side most. */
static void
crowd_tie(LoomSheet *sheet, const LoomLaidJoint *j)
{
  if (!loom_design_joint(sheet->design, j->joint)->tied)
    return;
  LoomPoint at = j->apart ? j->from : j->at;
  double h = LOOM_TIE_MM / 2;
  LoomRect r = {at.x - 1.5, at.y - h - 2, 3, 2 * h + 2};
  if (j->dy)
    r = (LoomRect){at.x - h, at.y - 1.5, 2 * h + 2, 3};
  loom_crowd_add(sheet->inside->crowd, r, LOOM_CROWD_END, LOOM_NONE);
}

/* A joint in the line: both ends are set, and the sheet's entry. */
static void
set_joint_inline(LoomSheet *sheet, const Line *line, const LoomRunJoint *j, double s)
{
  const LoomWiring *w = sheet->inside->wiring;
  const Piece *p = piece_at(line, s);
  LoomPoint at = point_at(line, s);
  int dx = p->down ? 0 : p->b.x >= p->a.x ? 1 : -1, dy = !p->down ? 0 : p->b.y >= p->a.y ? 1 : -1;
  bool mates = w->joints[j->wired].mate == LOOM_MATE_YES;
  double gap = mates ? 0 : LOOM_APART_MM / 2;
  LoomPoint first = {at.x - dx * gap, at.y - dy * gap}, second = {at.x + dx * gap, at.y + dy * gap};
  guint part, end;
  loom_run_joint_end(w, j, false, &part, &end);
  set_end(sheet, part, end, first, dx, dy);
  loom_run_joint_end(w, j, true, &part, &end);
  set_end(sheet, part, end, second, -dx, -dy);
  LoomLaidJoint *laid = &sheet->joints[j->wired];
  *laid = (LoomLaidJoint){.joint = w->joints[j->wired].joint,
                          .at = at,
                          .dx = j->reversed ? -dx : dx,
                          .dy = j->reversed ? -dy : dy,
                          .apart = !mates,
                          .mates = mates,
                          .from = j->reversed ? second : first,
                          .to = j->reversed ? first : second};
  crowd_tie(sheet, laid);
}

/* A joint at a face that stays: the other end comes to it. */
static void
set_joint_at_face(LoomSheet *sheet, const LoomStop *stop, const LoomRunJoint *j,
                  bool face_is_second)
{
  const LoomWiring *w = sheet->inside->wiring;
  const LoomPlacedEnd *face = loom_sheet_end(sheet, stop->part, stop->end);
  bool mates = w->joints[j->wired].mate == LOOM_MATE_YES;
  double gap = mates ? 0 : LOOM_APART_MM;
  LoomPoint other = {face->at.x + face->dx * gap, face->at.y + face->dy * gap};
  guint part, end;
  loom_run_joint_end(w, j, !face_is_second, &part, &end);
  set_end(sheet, part, end, other, -face->dx, -face->dy);
  bool face_is_a = face_is_second == j->reversed;
  sheet->joints[j->wired] =
      (LoomLaidJoint){.joint = w->joints[j->wired].joint,
                      .at = {(face->at.x + other.x) / 2, (face->at.y + other.y) / 2},
                      .dx = face_is_a ? face->dx : -face->dx,
                      .dy = face_is_a ? face->dy : -face->dy,
                      .apart = !mates,
                      .mates = mates,
                      .from = face_is_a ? face->at : other,
                      .to = face_is_a ? other : face->at};
  crowd_tie(sheet, &sheet->joints[j->wired]);
}

/* Two faces, nothing between: touching, or a line from one to the other. */
static void
set_joint_direct(LoomSheet *sheet, const LoomRun *run)
{
  const LoomWiring *w = sheet->inside->wiring;
  const LoomRunJoint *j = &g_array_index(run->joints, LoomRunJoint, 0);
  const LoomPlacedEnd *a = loom_sheet_end(sheet, run->from.part, run->from.end);
  const LoomPlacedEnd *b = loom_sheet_end(sheet, run->to.part, run->to.end);
  if (j->reversed) {
    const LoomPlacedEnd *swap = a;
    a = b;
    b = swap;
  }
  bool facing = a->dx == -b->dx && a->dy == -b->dy;
  LoomLaidJoint *laid = &sheet->joints[j->wired];
  *laid = (LoomLaidJoint){.joint = w->joints[j->wired].joint,
                          .at = {(a->at.x + b->at.x) / 2, (a->at.y + b->at.y) / 2},
                          .dx = facing ? a->dx : 0,
                          .dy = facing ? a->dy : 0,
                          .apart = run->points != NULL,
                          .mates = w->joints[j->wired].mate == LOOM_MATE_YES,
                          .from = a->at,
                          .to = b->at};
  if (!run->points)
    return;
  laid->n_points = run->points->len;
  laid->points = g_memdup2(run->points->data, laid->n_points * sizeof(LoomPoint));
  for (guint k = 0; j->reversed && k < laid->n_points / 2; k++) {
    LoomPoint swap = laid->points[k];
    laid->points[k] = laid->points[laid->n_points - 1 - k];
    laid->points[laid->n_points - 1 - k] = swap;
  }
}

static void
cut_stretches(const LoomSheet *sheet, const LoomRun *run, const Line *line, GArray *leads)
{
  const LoomWiring *w = sheet->inside->wiring;
  double begin = 0;
  guint i = 0;
  const Item *items = (const Item *)line->items->data;
  for (guint k = 0; k < run->stretches->len; k++) {
    const LoomStretch *s = &g_array_index(run->stretches, LoomStretch, k);
    LoomLaidLead lead = {.part = s->part, .end_a = s->end_a, .end_b = s->end_b, .tag = {NAN, NAN}};
    if (i < line->items->len && !items[i].joint)
      lead.tag = point_at(line, items[i++].at);
    double end = line->length, next = end;
    if (i < line->items->len) {
      const LoomRunJoint *j = &g_array_index(run->joints, LoomRunJoint, items[i].number);
      double gap = w->joints[j->wired].mate == LOOM_MATE_YES ? 0 : LOOM_APART_MM / 2;
      end = items[i].at - gap - depth_of(sheet, j, false);
      next = items[i].at + gap + depth_of(sheet, j, true);
      i++;
    }
    lead.points = cut(line, begin, end, &lead.n_points);
    g_array_append_val(leads, lead);
    begin = next;
  }
}

static void
place_run(LoomSheet *sheet, const LoomRun *run, guint number, GArray *leads)
{
  if (run->stretches->len == 0) {
    set_joint_direct(sheet, run);
    return;
  }
  Line line = line_new(sheet, run, number, false);
  place_items(sheet, run, number, &line);
  for (guint i = 0; i < line.items->len; i++) {
    const Item *item = &g_array_index(line.items, Item, i);
    if (item->joint)
      set_joint_inline(sheet, &line, &g_array_index(run->joints, LoomRunJoint, item->number),
                       item->at);
  }
  write_tags(sheet, run, number, &line);
  if (run->from.type == LOOM_STOP_FACE)
    set_joint_at_face(sheet, &run->from, &g_array_index(run->joints, LoomRunJoint, 0), false);
  if (run->to.type == LOOM_STOP_FACE)
    set_joint_at_face(sheet, &run->to,
                      &g_array_index(run->joints, LoomRunJoint, run->joints->len - 1), true);
  cut_stretches(sheet, run, &line, leads);
  line_clear(&line);
}

static void
crowd_wires(LoomSheet *sheet)
{
  const GPtrArray *runs = sheet->inside->runs->runs;
  for (guint i = 0; i < runs->len; i++) {
    const LoomRun *run = runs->pdata[i];
    for (guint k = 1; run->points && k < run->points->len; k++) {
      LoomRect r = loom_rect_around(g_array_index(run->points, LoomPoint, k - 1),
                                    g_array_index(run->points, LoomPoint, k));
      loom_crowd_add(sheet->inside->crowd, loom_rect_grown(r, run->wide ? 1.6 : 1.2),
                     LOOM_CROWD_WIRE, i);
    }
  }
}

void
loom_items_place(LoomSheet *sheet)
{
  LoomSheetInside *in = sheet->inside;
  GArray *leads = g_array_new(FALSE, FALSE, sizeof(LoomLaidLead));
  sheet->n_joints = in->wiring->n_joints;
  sheet->joints = g_new0(LoomLaidJoint, sheet->n_joints);
  crowd_wires(sheet);
  loom_tags_place_fixed(sheet, leads);
  for (guint i = 0; i < in->runs->runs->len; i++)
    place_run(sheet, in->runs->runs->pdata[i], i, leads);
  sheet->n_leads = leads->len;
  sheet->leads = (LoomLaidLead *)g_array_free(leads, FALSE);
}
