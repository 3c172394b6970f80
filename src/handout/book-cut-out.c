/* Cut-outs: the pieces of the drawing that a handful of steps concerns, with their numbers. */
#include "book-private.h"
#include "figure.h"

#include <math.h>

#define LEAST_FIGURE_MM 27.0 /* highest cut-out of no step, and more for each one */
#define STEP_FIGURE_MM 4.5
#define MOST_SCALE 1.1  /* mm of paper a mm of sheet */
#define LEAST_SCALE 0.6 /* of a piece by itself */
#define HAND_MM 20.0    /* of the sheet, shown around the end in the hand and its number */
#define END_MM 14.0     /* around the other end */
#define AROUND_MM 6.0   /* of the sheet, shown around a part */
#define SMALL_MM 60.0   /* parts up to this size are shown whole */
#define WASTE 2.4       /* area of two pieces joined, against both by themselves */
#define APART_MM 3.0    /* of paper, between pieces side by side */

static LoomRect
joined(LoomRect a, LoomRect b)
{
  double x = fmin(a.x, b.x), y = fmin(a.y, b.y);
  return (LoomRect){x, y, fmax(a.x + a.width, b.x + b.width) - x,
                    fmax(a.y + a.height, b.y + b.height) - y};
}

static LoomRect
grown(LoomRect r, double by)
{
  return (LoomRect){r.x - by, r.y - by, r.width + 2 * by, r.height + 2 * by};
}

static void
add_part(GArray *only, guint part)
{
  for (guint i = 0; i < only->len; i++)
    if (g_array_index(only, guint, i) == part)
      return;
  if (part != LOOM_NONE)
    g_array_append_val(only, part);
}

/* What the cut-out of one step must show: its ends with their surroundings, small parts whole. */
static void
add_boxes(GArray *boxes, const LoomSheet *sheet, const LoomStep *s)
{
  guint parts[] = {s->part, s->to_part}, ends[] = {s->end, s->to_end};
  for (guint k = 0; k < 2; k++) {
    if (parts[k] == LOOM_NONE)
      continue;
    const LoomPlacedPart *p = &sheet->parts[parts[k]];
    if (ends[k] != LOOM_NONE) {
      LoomPoint at = loom_sheet_end(sheet, parts[k], ends[k])->at;
      LoomRect end = grown((LoomRect){at.x, at.y, 0, 0}, k == 0 ? HAND_MM : END_MM);
      g_array_append_val(boxes, end);
    }
    if (p->outline.width > SMALL_MM || p->outline.height > SMALL_MM)
      continue;
    LoomRect whole =
        grown(p->caption.width > 0 ? joined(p->outline, p->caption) : p->outline, AROUND_MM);
    g_array_append_val(boxes, whole);
  }
}

static double
size_of(LoomRect r)
{
  return r.width * r.height;
}

/* Joins boxes while that wastes little paper and stays readable in the room: what lies far apart
 * gets a picture of its own. */
static void
join_boxes(GArray *boxes, double width_mm, double height_mm)
{
  for (guint i = 0; i < boxes->len; i++)
    for (guint k = i + 1; k < boxes->len; k++) {
      LoomRect a = g_array_index(boxes, LoomRect, i), b = g_array_index(boxes, LoomRect, k);
      LoomRect both = joined(a, b);
      if (size_of(both) > WASTE * (size_of(a) + size_of(b)) ||
          loom_figure_scale(both, width_mm, height_mm, 1) < LEAST_SCALE)
        continue;
      g_array_index(boxes, LoomRect, i) = both;
      g_array_remove_index(boxes, k);
      i = (guint)-1; /* all of them anew: there are few */
      break;
    }
}

static int
by_place(gconstpointer a, gconstpointer b)
{
  const LoomRect *x = a, *y = b;
  if (x->x != y->x)
    return x->x < y->x ? -1 : 1;
  return (x->y > y->y) - (x->y < y->y);
}

/* The pieces of the sheet that these steps concern, from left to right. New, of LoomRect. */
static GArray *
pieces_of(const LoomSheet *sheet, const LoomSteps *steps, guint first, guint n, double width_mm,
          double height_mm)
{
  GArray *boxes = g_array_new(FALSE, FALSE, sizeof(LoomRect));
  for (guint i = first; i < first + n; i++)
    add_boxes(boxes, sheet, &steps->steps[i]);
  join_boxes(boxes, width_mm, height_mm);
  g_array_sort(boxes, by_place);
  return boxes;
}

/* Scale at which the pieces stand side by side. */
static double
scale_of(const GArray *pieces, double width_mm, double height_mm)
{
  double wide = 0, high = 0;
  for (guint i = 0; i < pieces->len; i++) {
    wide += g_array_index(pieces, LoomRect, i).width;
    high = fmax(high, g_array_index(pieces, LoomRect, i).height);
  }
  return fmin(MOST_SCALE, fmin((width_mm - (pieces->len - 1) * APART_MM) / wide, height_mm / high));
}

#define PLUG_MM 8.0 /* of the sheet: longest connector */

/* Beside the lead's tag where the two would cover each other. */
static LoomPoint
clear_of_tag(LoomPoint at, LoomRect tag, int dx, double radius)
{
  bool meets = at.x + radius > tag.x && at.x - radius < tag.x + tag.width &&
               at.y + radius > tag.y && at.y - radius < tag.y + tag.height;
  if (!meets)
    return at;
  return dx ? (LoomPoint){at.x, tag.y - radius} : (LoomPoint){tag.x - radius, at.y};
}

/* Where the number of a step goes: on the wire behind the plug in the hand, or at the corner of
 * what is switched. */
static LoomPoint
place_of(const LoomSheet *sheet, const LoomStep *s, double radius)
{
  LoomRect outline = sheet->parts[s->part].outline;
  if (s->end == LOOM_NONE)
    return (LoomPoint){outline.x + outline.width, outline.y};
  const LoomPlacedEnd *end = loom_sheet_end(sheet, s->part, s->end);
  double back = s->act == LOOM_STEP_MEASURE ? -radius - 3 : PLUG_MM + radius;
  LoomPoint at = {end->at.x - end->dx * back, end->at.y - end->dy * back};
  return loom_design_part(sheet->design, s->part)->kind->lead
             ? clear_of_tag(at, outline, end->dx, radius)
             : at;
}

/* A second number at the same place goes beside the first. */
static void
add_mark(GArray *marks, LoomPoint at, guint number, double radius)
{
  for (guint i = 0; i < marks->len; i++) {
    const LoomPoint *other = &g_array_index(marks, LoomSheetMark, i).at;
    if (fabs(other->x - at.x) < radius && fabs(other->y - at.y) < radius)
      at.x = other->x + 2 * radius;
  }
  LoomSheetMark mark = {at, number};
  g_array_append_val(marks, mark);
}

/* How the cut-out of some steps is laid out. */
typedef struct {
  GArray *pieces; /* of LoomRect */
  double scale;   /* mm of paper a mm of sheet */
} CutOut;

static CutOut
lay_out(LoomMaking *m, guint first, guint n)
{
  double width = loom_scroll_width_mm(m->scroll), high = LEAST_FIGURE_MM + n * STEP_FIGURE_MM;
  const LoomSheet *sheet = loom_book_sheet(m->book, m->scene);
  GArray *pieces = pieces_of(sheet, m->steps, first, n, width, high);
  return (CutOut){pieces, scale_of(pieces, width, high)};
}

double
loom_book_cut_out_mm(LoomMaking *m, guint first, guint n)
{
  CutOut c = lay_out(m, first, n);
  double high = 0;
  for (guint i = 0; i < c.pieces->len; i++)
    high = fmax(high, c.scale * g_array_index(c.pieces, LoomRect, i).height);
  g_array_unref(c.pieces);
  return high;
}

static bool
holds(LoomRect area, LoomPoint at, double around)
{
  return at.x - around >= area.x && at.x + around <= area.x + area.width &&
         at.y - around >= area.y && at.y + around <= area.y + area.height;
}

/* The numbers that stand whole on this piece, and those that only it holds the middle of. New. */
static GArray *
marks_on(const GArray *marks, const GArray *pieces, guint piece, double radius)
{
  GArray *own = g_array_new(FALSE, FALSE, sizeof(LoomSheetMark));
  for (guint i = 0; i < marks->len; i++) {
    const LoomSheetMark *mark = &g_array_index(marks, LoomSheetMark, i);
    bool whole = false;
    for (guint k = 0; k < pieces->len && !whole; k++)
      whole = holds(g_array_index(pieces, LoomRect, k), mark->at, radius);
    if (holds(g_array_index(pieces, LoomRect, piece), mark->at, whole ? radius : 0))
      g_array_append_val(own, *mark);
  }
  return own;
}

void
loom_book_cut_out(LoomMaking *m, guint first, guint n)
{
  const LoomSheet *sheet = loom_book_sheet(m->book, m->scene);
  g_autoptr(GArray) only = g_array_new(FALSE, FALSE, sizeof(guint));
  g_autoptr(GArray) marks = g_array_new(FALSE, FALSE, sizeof(LoomSheetMark));
  g_autoptr(GArray) figures = g_array_new(FALSE, FALSE, sizeof(LoomFigure));
  CutOut c = lay_out(m, first, n);
  g_autoptr(GArray) pieces = c.pieces;
  double scale = c.scale;
  for (guint i = first; i < first + n; i++) {
    const LoomStep *s = &m->steps->steps[i];
    add_part(only, s->part);
    add_part(only, s->to_part);
    add_mark(marks, place_of(sheet, s, LOOM_MARK_RADIUS_MM / scale), loom_book_step_number(i),
             LOOM_MARK_RADIUS_MM / scale);
  }
  LoomSheetView view = {.sheet = sheet, .most_scale = scale, .border = true};
  loom_draw_options_init(&view.options);
  view.options.palette = LOOM_PALETTE_PRINT;
  view.options.only_parts = (const guint *)only->data;
  view.options.n_only = only->len;
  for (guint i = 0; i < pieces->len; i++) {
    g_autoptr(GArray) own = marks_on(marks, pieces, i, LOOM_MARK_RADIUS_MM / scale);
    view.marks = (const LoomSheetMark *)own->data;
    view.n_marks = own->len;
    view.area = view.options.clip = g_array_index(pieces, LoomRect, i);
    LoomFigure figure = loom_figure_sheet(&view, scale * view.area.width, scale * view.area.height);
    g_array_append_val(figures, figure);
  }
  loom_scroll_figure(m->scroll,
                     loom_figure_row((const LoomFigure *)figures->data, figures->len, APART_MM));
  loom_scroll_keep(m->scroll);
}
