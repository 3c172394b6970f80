#include "sheet-private.h"

#include <math.h>

const LoomPart *
loom_sheet_part(const LoomSheet *sheet, guint part)
{
  return loom_design_part(sheet->design, part);
}

LoomPlacedEnd *
loom_sheet_end_of(LoomSheet *sheet, guint part, guint end)
{
  return &sheet->ends[sheet->parts[part].first_end + end];
}

const LoomPlacedEnd *
loom_sheet_end(const LoomSheet *sheet, guint part, guint end)
{
  return &sheet->ends[sheet->parts[part].first_end + end];
}

/* Way 1 lies uppermost or leftmost, see draw-end.c. */
LoomPoint
loom_sheet_contact(const LoomSheet *sheet, guint part, guint end, guint contact)
{
  const LoomPlacedEnd *placed = loom_sheet_end(sheet, part, end);
  const LoomEnd *e = &loom_design_part(sheet->design, part)->kind->ends[end];
  double middle = (MAX(e->family->ways, 1) + 1) / 2.0;
  double off = (e->contacts[contact].way - middle) * loom_end_size(e).pitch_mm;
  return (LoomPoint){placed->at.x + (placed->dx ? 0 : off), placed->at.y + (placed->dx ? off : 0)};
}

const LoomPicture *
loom_sheet_picture(const LoomSheet *sheet, const LoomKind *kind)
{
  return g_hash_table_lookup(sheet->inside->pictures, kind);
}

/* Index in the older sheet by record of a part. New. */
static GHashTable *
older_parts(const LoomSheet *old)
{
  GHashTable *index = g_hash_table_new(NULL, NULL);
  for (guint p = 0; old && p < old->n_parts; p++)
    g_hash_table_insert(index, (gpointer)loom_sheet_part(old, p), GUINT_TO_POINTER(p + 1));
  return index;
}

static void
place_ends(LoomSheet *sheet, guint p)
{
  const LoomPart *part = loom_sheet_part(sheet, p);
  for (guint e = 0; e < sheet->parts[p].n_ends; e++) {
    LoomPlacedEnd *end = loom_sheet_end_of(sheet, p, e);
    end->part = p;
    end->end = e;
    end->at = loom_place_end(part, e, &end->dx, &end->dy);
    end->plugged = loom_wiring_n_joints_at(sheet->inside->wiring, p, e) > 0;
  }
}

/* A record that has not changed has its words where they were; of a lead, the lines for its tag. */
static void
place_words(LoomSheet *sheet, guint p, const LoomSheet *old, guint before)
{
  LoomSheetInside *in = sheet->inside;
  const LoomPart *part = loom_sheet_part(sheet, p);
  const LoomPicture *picture =
      loom_pictures_get(in->pictures, part->kind, old ? old->inside->pictures : NULL);
  if (part->kind->lead) {
    if (before > 0)
      in->tag_lines[p] = loom_tag_lines_ref(old->inside->tag_lines[before - 1]);
    return;
  }
  if (before > 0) {
    in->words[p] = g_array_ref(old->inside->words[before - 1]);
    sheet->parts[p].caption = old->parts[before - 1].caption;
    return;
  }
  in->words[p] = loom_words_array_new();
  sheet->parts[p].caption = loom_place_words(part, picture, in->words[p]);
}

static void
place_parts(LoomSheet *sheet, const LoomSheet *old)
{
  LoomSheetInside *in = sheet->inside;
  g_autoptr(GHashTable) older = older_parts(old);
  sheet->parts = g_new0(LoomPlacedPart, sheet->n_parts + 1);
  sheet->ends = g_new0(LoomPlacedEnd, sheet->n_ends + 1);
  in->words = g_new0(GArray *, sheet->n_parts + 1);
  in->pictures = loom_pictures_new();
  for (guint p = 0; p < sheet->n_parts; p++) {
    const LoomPart *part = loom_sheet_part(sheet, p);
    LoomPlacedPart *placed = &sheet->parts[p];
    placed->outline = loom_place_outline(part);
    placed->first_end = in->wiring->part_end[p];
    placed->n_ends = part->kind->n_ends;
    in->tags[p].at = (LoomPoint){part->x_mm, part->y_mm};
    place_ends(sheet, p);
    place_words(sheet, p, old, GPOINTER_TO_UINT(g_hash_table_lookup(older, part)));
  }
}

/* What stands before anything is laid. */
static void
crowd_parts(LoomSheet *sheet)
{
  LoomSheetInside *in = sheet->inside;
  for (guint p = 0; p < sheet->n_parts; p++) {
    const LoomPart *part = loom_sheet_part(sheet, p);
    if (part->kind->lead)
      continue;
    loom_crowd_add(in->crowd, sheet->parts[p].outline, LOOM_CROWD_OUTLINE, p);
    for (guint e = 0; e < part->kind->n_ends; e++) {
      const LoomPlacedEnd *end = loom_sheet_end(sheet, p, e);
      LoomEndSize size = loom_end_size(&part->kind->ends[e]);
      bool wired = part->kind->ends[e].pigtail_mm > 0;
      if (wired && !in->runs->hung[loom_wiring_end(in->wiring, p, e)])
        continue;
      size.depth_mm *= end->plugged ? 2 : 1;
      double out = end->plugged ? size.depth_mm / 2 : size.prong_mm;
      LoomPoint tip = {end->at.x + end->dx * out, end->at.y + end->dy * out};
      loom_crowd_add(in->crowd, loom_end_box(&size, tip, end->dx, end->dy), LOOM_CROWD_END, p);
    }
    for (guint i = 0; i < in->words[p]->len; i++)
      loom_crowd_add(in->crowd, g_array_index(in->words[p], LoomWords, i).box, LOOM_CROWD_WORDS, p);
  }
}

/* Boxes of the ends where they finally are. */
static void
box_ends(LoomSheet *sheet)
{
  for (guint i = 0; i < sheet->n_ends; i++) {
    LoomPlacedEnd *end = &sheet->ends[i];
    LoomEndSize size = loom_end_size(&loom_sheet_part(sheet, end->part)->kind->ends[end->end]);
    double out = end->plugged ? 0 : size.prong_mm;
    size.depth_mm += out;
    LoomPoint tip = {end->at.x + end->dx * out, end->at.y + end->dy * out};
    end->box = loom_end_box(&size, tip, end->dx, end->dy);
  }
}

static void
measure(LoomSheet *sheet)
{
  LoomRect all = {0, 0, 0, 0};
  for (guint p = 0; p < sheet->n_parts; p++) {
    all = loom_rect_union(all, sheet->parts[p].outline);
    all = loom_rect_union(all, sheet->parts[p].caption);
  }
  for (guint p = 0; p < sheet->n_parts; p++)
    for (guint i = 0; sheet->inside->words[p] && i < sheet->inside->words[p]->len; i++)
      all = loom_rect_union(all, g_array_index(sheet->inside->words[p], LoomWords, i).box);
  for (guint i = 0; i < sheet->n_ends; i++)
    all = loom_rect_union(all, sheet->ends[i].box);
  for (guint i = 0; i < sheet->n_leads; i++)
    for (guint k = 0; k + 1 < sheet->leads[i].n_points; k++)
      all = loom_rect_union(all, loom_rect_grown(loom_rect_around(sheet->leads[i].points[k],
                                                                  sheet->leads[i].points[k + 1]),
                                                 1.5));
  for (guint i = 0; i < sheet->n_joints; i++)
    for (guint k = 0; k + 1 < sheet->joints[i].n_points; k++)
      all = loom_rect_union(
          all, loom_rect_around(sheet->joints[i].points[k], sheet->joints[i].points[k + 1]));
  sheet->extents = all;
}

/* A piece of a laid line, and which line. */
typedef struct {
  LoomPoint a, b;
  guint line;
} Piece;

typedef struct {
  const GArray *pieces;
  const Piece *across;
  guint n;
} Count;

static bool
runs_down(const Piece *p)
{
  return fabs(p->a.y - p->b.y) > fabs(p->a.x - p->b.x);
}

static bool
between(double x, double a, double b)
{
  return x > fmin(a, b) + 1e-3 && x < fmax(a, b) - 1e-3;
}

static bool
count_one(const LoomCrowded *one, gpointer data)
{
  Count *count = data;
  const Piece *down = &g_array_index(count->pieces, Piece, one->index), *across = count->across;
  count->n += down->line != across->line && between(down->a.x, across->a.x, across->b.x) &&
              between(across->a.y, down->a.y, down->b.y);
  return true;
}

static void
add_pieces(GArray *pieces, LoomCrowd *downward, const LoomPoint *points, guint n, guint line)
{
  for (guint k = 0; k + 1 < n; k++) {
    Piece p = {points[k], points[k + 1], line};
    if (runs_down(&p))
      loom_crowd_add(downward, loom_rect_grown(loom_rect_around(p.a, p.b), 0.01), 0, pieces->len);
    g_array_append_val(pieces, p);
  }
}

static void
count_crossings(LoomSheet *sheet)
{
  g_autoptr(GArray) pieces = g_array_new(FALSE, FALSE, sizeof(Piece));
  LoomCrowd *downward = loom_crowd_new();
  for (guint i = 0; i < sheet->n_leads; i++)
    add_pieces(pieces, downward, sheet->leads[i].points, sheet->leads[i].n_points, i);
  for (guint i = 0; i < sheet->n_joints; i++)
    add_pieces(pieces, downward, sheet->joints[i].points, sheet->joints[i].n_points,
               sheet->n_leads + i);
  Count count = {pieces, NULL, 0};
  for (guint i = 0; i < pieces->len; i++) {
    count.across = &g_array_index(pieces, Piece, i);
    if (!runs_down(count.across))
      loom_crowd_each(downward, loom_rect_around(count.across->a, count.across->b), count_one,
                      &count);
  }
  sheet->crossings = count.n;
  loom_crowd_free(downward);
}

static void
index_hits(LoomSheet *sheet)
{
  LoomCrowd *hits = sheet->inside->hits = loom_crowd_new();
  for (guint p = 0; p < sheet->n_parts; p++)
    loom_crowd_add(hits, sheet->parts[p].outline, LOOM_HIT_PART, p);
  for (guint i = 0; i < sheet->n_leads; i++)
    for (guint k = 0; k + 1 < sheet->leads[i].n_points; k++)
      loom_crowd_add(
          hits,
          loom_rect_grown(
              loom_rect_around(sheet->leads[i].points[k], sheet->leads[i].points[k + 1]), 1.2),
          LOOM_HIT_LEAD, sheet->leads[i].part);
  for (guint i = 0; i < sheet->n_joints; i++) {
    const LoomLaidJoint *j = &sheet->joints[i];
    loom_crowd_add(hits, loom_rect_grown(loom_rect_around(j->from, j->to), 1.2), LOOM_HIT_JOINT, i);
    for (guint k = 0; k + 1 < j->n_points; k++)
      loom_crowd_add(hits, loom_rect_grown(loom_rect_around(j->points[k], j->points[k + 1]), 1.2),
                     LOOM_HIT_JOINT, i);
  }
  for (guint i = 0; i < sheet->n_ends; i++)
    loom_crowd_add(hits, sheet->ends[i].box, LOOM_HIT_END, i);
}

LoomSheet *
loom_sheet_new(const LoomDesign *design, guint scene, const LoomSheet *old)
{
  g_return_val_if_fail(scene < loom_design_n_scenes(design), NULL);
  LoomSheet *sheet = g_new0(LoomSheet, 1);
  LoomSheetInside *in = sheet->inside = g_new0(LoomSheetInside, 1);
  sheet->design = loom_design_snapshot(design);
  sheet->scene = scene;
  in->wiring = loom_wiring_new(sheet->design, scene);
  in->runs = loom_runs_new(in->wiring);
  sheet->n_parts = in->wiring->n_parts;
  sheet->n_ends = in->wiring->n_ends;
  in->tags = g_new0(LoomTag, sheet->n_parts + 1);
  in->tag_lines = g_new0(LoomTagLines *, sheet->n_parts + 1);
  in->gates = g_new0(LoomTagGates, sheet->n_parts + 1);
  in->crowd = loom_crowd_new();
  place_parts(sheet, old);
  crowd_parts(sheet);
  loom_stops_place(sheet);
  loom_lay(sheet, old);
  loom_items_place(sheet);
  loom_letters_place(sheet);
  loom_joint_words_place(sheet);
  g_clear_pointer(&in->lanes, loom_lanes_free);
  box_ends(sheet);
  measure(sheet);
  count_crossings(sheet);
  index_hits(sheet);
  return sheet;
}

static void
inside_free(LoomSheetInside *in, guint n_parts, guint n_leads, guint n_joints)
{
  for (guint i = 0; i < n_joints; i++)
    g_free(in->joint_words[i].text);
  g_free(in->joint_words);
  for (guint i = 0; i < n_leads; i++)
    g_free(in->letters[i].text);
  g_free(in->letters);
  for (guint p = 0; p < n_parts; p++) {
    loom_tag_lines_unref(in->tag_lines[p]);
    if (in->tags[p].words)
      g_array_unref(in->tags[p].words);
  }
  loom_runs_free(in->runs);
  loom_wiring_free(in->wiring);
  g_hash_table_unref(in->pictures);
  for (guint p = 0; p < n_parts; p++)
    if (in->words[p])
      g_array_unref(in->words[p]);
  g_free(in->words);
  g_free(in->tags);
  g_free(in->tag_lines);
  g_free(in->gates);
  loom_crowd_free(in->crowd);
  loom_crowd_free(in->hits);
  g_free(in);
}

void
loom_sheet_free(LoomSheet *sheet)
{
  if (!sheet)
    return;
  inside_free(sheet->inside, sheet->n_parts, sheet->n_leads, sheet->n_joints);
  for (guint i = 0; i < sheet->n_leads; i++)
    g_free(sheet->leads[i].points);
  for (guint i = 0; i < sheet->n_joints; i++)
    g_free(sheet->joints[i].points);
  g_free(sheet->parts);
  g_free(sheet->ends);
  g_free(sheet->leads);
  g_free(sheet->joints);
  loom_design_free(sheet->design);
  g_free(sheet);
}
