#include "bench.h"

#include "design/edit.h"
#include "robots.h"

#include <math.h>

#define CELL_MM 190 /* wider than the largest part with its connectors */

guint
dice(Dice *d, guint below)
{
  d->state = d->state * 6364136223846793005u + 1442695040888963407u; /* Knuth, MMIX */
  return (guint)(d->state >> 33) % below;
}

static void
place(LoomEdit *edit, guint index, guint n, Dice *d)
{
  const LoomPart *is = loom_design_part(loom_edit_design(edit), index);
  LoomPart *part = loom_part_copy(is);
  guint across = (guint)ceil(sqrt(n));
  part->x_mm = 5.0 * floor((index % across * CELL_MM + dice(d, 10)) / 5.0);
  part->y_mm = 5.0 * floor((index / across * CELL_MM + dice(d, 10)) / 5.0);
  part->turn = (LoomTurn)dice(d, 4);
  part->flip = dice(d, 2);
  loom_edit_replace_part(edit, index, part);
}

static void
join(LoomEdit *edit, Dice *d)
{
  const LoomDesign *design = loom_edit_design(edit);
  const LoomPart *a = loom_design_part(design, dice(d, loom_design_n_parts(design)));
  const LoomPart *b = loom_design_part(design, dice(d, loom_design_n_parts(design)));
  if (a == b || a->kind->n_ends == 0 || b->kind->n_ends == 0)
    return;
  const LoomEnd *end_a = &a->kind->ends[dice(d, a->kind->n_ends)];
  const LoomEnd *end_b = &b->kind->ends[dice(d, b->kind->n_ends)];
  g_autofree char *from = g_strdup_printf("%s:%s", a->designation, end_a->id);
  g_autofree char *to = g_strdup_printf("%s:%s", b->designation, end_b->id);
  loom_edit_plug(edit, from, to, LOOM_FIT_NORMAL, NULL, NULL); /* a taken end stays as it is */
}

LoomDesign *
bench_random(guint seed, guint n)
{
  Dice d = {seed};
  LoomDesign *design = loom_design_new("random");
  LoomEdit *edit = loom_edit_new(design, "Build");
  guint n_kinds;
  const LoomKind *const *kinds = loom_catalogue_kinds(robots_catalogue(), &n_kinds);
  for (guint i = 0; i < n; i++)
    loom_edit_add(edit, kinds[dice(&d, n_kinds)], NULL, 0, 0, NULL);
  for (guint i = 0; i < n; i++)
    place(edit, i, n, &d);
  for (guint i = 0; i < n / 2; i++)
    join(edit, &d);
  loom_design_apply(design, edit);
  return design;
}

static LoomDesign *
changed(const LoomDesign *design, bool mirror, double dx, double dy)
{
  LoomDesign *copy = loom_design_snapshot(design);
  LoomEdit *edit = loom_edit_new(copy, "Change");
  for (guint i = 0; i < loom_design_n_parts(copy); i++) {
    LoomPart *part = loom_part_copy(loom_design_part(copy, i));
    if (mirror) {
      LoomRect outline = loom_place_outline(part);
      part->x_mm = part->kind->lead ? -part->x_mm : -outline.x - outline.width;
      part->flip = !part->flip;
      if (part->turn == LOOM_TURN_90 || part->turn == LOOM_TURN_270)
        part->turn = part->turn == LOOM_TURN_90 ? LOOM_TURN_270 : LOOM_TURN_90;
    }
    part->x_mm += dx;
    part->y_mm += dy;
    loom_edit_replace_part(edit, i, part);
  }
  loom_design_apply(copy, edit);
  return copy;
}

LoomDesign *
bench_mirrored(const LoomDesign *design)
{
  return changed(design, true, 0, 0);
}

LoomDesign *
bench_moved(const LoomDesign *design, double dx_mm, double dy_mm)
{
  return changed(design, false, dx_mm, dy_mm);
}

/* A piece of a laid line. Those of one lead share the owner; `next` ones join where they meet. */
typedef struct {
  LoomPoint a, b;
  guint part; /* owner, for names */
  guint line; /* number of the lead or dashed joint */
} Piece;

static GArray *
pieces_of(const LoomSheet *sheet)
{
  GArray *all = g_array_new(FALSE, FALSE, sizeof(Piece));
  for (guint i = 0; i < sheet->n_leads; i++)
    for (guint k = 0; k + 1 < sheet->leads[i].n_points; k++) {
      Piece p = {sheet->leads[i].points[k], sheet->leads[i].points[k + 1], sheet->leads[i].part, i};
      g_array_append_val(all, p);
    }
  for (guint i = 0; i < sheet->n_joints; i++)
    for (guint k = 0; k + 1 < sheet->joints[i].n_points; k++) {
      Piece p = {sheet->joints[i].points[k], sheet->joints[i].points[k + 1], LOOM_NONE,
                 sheet->n_leads + i};
      g_array_append_val(all, p);
    }
  return all;
}

static bool
runs_down(const Piece *p)
{
  return fabs(p->a.y - p->b.y) > fabs(p->a.x - p->b.x);
}

static bool
strictly_between(double x, double a, double b)
{
  return x > fmin(a, b) + 0.01 && x < fmax(a, b) - 0.01;
}

guint
bench_crossings(const LoomSheet *sheet)
{
  g_autoptr(GArray) all = pieces_of(sheet);
  guint n = 0;
  for (guint i = 0; i < all->len; i++)
    for (guint k = 0; k < all->len; k++) {
      const Piece *across = &g_array_index(all, Piece, i), *down = &g_array_index(all, Piece, k);
      if (across->line == down->line || runs_down(across) || !runs_down(down))
        continue;
      n += strictly_between(down->a.x, across->a.x, across->b.x) &&
           strictly_between(across->a.y, down->a.y, down->b.y);
    }
  return n;
}

double
bench_length_mm(const LoomSheet *sheet)
{
  g_autoptr(GArray) all = pieces_of(sheet);
  double sum = 0;
  for (guint i = 0; i < all->len; i++) {
    const Piece *p = &g_array_index(all, Piece, i);
    sum += fabs(p->a.x - p->b.x) + fabs(p->a.y - p->b.y);
  }
  return sum;
}

static const char *
name(const LoomSheet *sheet, guint part)
{
  return part == LOOM_NONE ? "a joint" : loom_design_part(sheet->design, part)->designation;
}

char *
bench_pierced(const LoomSheet *sheet)
{
  g_autoptr(GArray) all = pieces_of(sheet);
  for (guint i = 0; i < all->len; i++)
    for (guint p = 0; p < sheet->n_parts; p++) {
      const Piece *piece = &g_array_index(all, Piece, i);
      LoomRect r = sheet->parts[p].outline;
      if (loom_design_part(sheet->design, p)->kind->lead)
        continue;
      bool meets = fmax(piece->a.x, piece->b.x) > r.x + 0.1 &&
                   fmin(piece->a.x, piece->b.x) < r.x + r.width - 0.1 &&
                   fmax(piece->a.y, piece->b.y) > r.y + 0.1 &&
                   fmin(piece->a.y, piece->b.y) < r.y + r.height - 0.1;
      if (meets)
        return g_strdup_printf("%s passes through %s at %g, %g", name(sheet, piece->part),
                               name(sheet, p), piece->a.x, piece->a.y);
    }
  return NULL;
}

char *
bench_covered(const LoomSheet *sheet)
{
  g_autoptr(GArray) all = pieces_of(sheet);
  for (guint i = 0; i < all->len; i++)
    for (guint k = i + 1; k < all->len; k++) {
      const Piece *p = &g_array_index(all, Piece, i), *q = &g_array_index(all, Piece, k);
      bool fans_out = p->part == q->part && p->part != LOOM_NONE; /* from one tag */
      if (p->line == q->line || fans_out || runs_down(p) != runs_down(q))
        continue;
      bool down = runs_down(p);
      double aside = down ? p->a.x - q->a.x : p->a.y - q->a.y;
      double low = down ? fmax(fmin(p->a.y, p->b.y), fmin(q->a.y, q->b.y))
                        : fmax(fmin(p->a.x, p->b.x), fmin(q->a.x, q->b.x));
      double high = down ? fmin(fmax(p->a.y, p->b.y), fmax(q->a.y, q->b.y))
                         : fmin(fmax(p->a.x, p->b.x), fmax(q->a.x, q->b.x));
      if (fabs(aside) < 1.0 && high - low > 4.0)
        return g_strdup_printf("%s lies on %s near %g, %g for %g mm", name(sheet, p->part),
                               name(sheet, q->part), p->a.x, p->a.y, high - low);
    }
  return NULL;
}
