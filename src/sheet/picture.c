/* A kind's picture: its marks read into paths once, with the room that each takes. */
#include "ink-private.h"
#include "place.h"
#include "text.h"

#include <math.h>

static LoomPaint
paint_of(const char *word, LoomPaint absent)
{
  static const struct {
    const char *word;
    LoomPaint paint;
  } WORDS[] = {{"ink", LOOM_PAINT_INK},     {"paper", LOOM_PAINT_PAPER},
               {"metal", LOOM_PAINT_METAL}, {"shade", LOOM_PAINT_SHADE},
               {"tint", LOOM_PAINT_TINT},   {"lamp", LOOM_PAINT_LAMP}};
  if (!word)
    return absent;
  for (guint i = 0; i < G_N_ELEMENTS(WORDS); i++)
    if (strcmp(word, WORDS[i].word) == 0)
      return WORDS[i].paint;
  const LoomColour *colour = loom_colour(word);
  guint n;
  return colour ? LOOM_PAINT_WIRE + (LoomPaint)(colour - loom_colours(&n)) : absent;
}

static LoomRect
path_box(const LoomPath *path)
{
  double x0 = INFINITY, y0 = INFINITY, x1 = -INFINITY, y1 = -INFINITY;
  for (guint i = 0; i < path->pieces->len; i++) {
    const LoomPiece *p = &g_array_index(path->pieces, LoomPiece, i);
    for (guint k = 0; p->type != LOOM_PIECE_CLOSE && k < G_N_ELEMENTS(p->points); k++) {
      x0 = fmin(x0, p->points[k].x);
      x1 = fmax(x1, p->points[k].x);
      y0 = fmin(y0, p->points[k].y);
      y1 = fmax(y1, p->points[k].y);
    }
  }
  return x0 <= x1 ? (LoomRect){x0, y0, x1 - x0, y1 - y0} : (LoomRect){0, 0, 0, 0};
}

static LoomRect
words_box(const LoomMark *mark)
{
  double width = loom_text_width_mm(mark->path ? mark->path : "", mark->size_mm, false);
  return (LoomRect){mark->x_mm - width / 2, mark->y_mm - 0.8 * mark->size_mm, width, mark->size_mm};
}

LoomPicture *
loom_picture_new(const LoomKind *kind)
{
  LoomPicture *p = g_new0(LoomPicture, 1);
  g_atomic_ref_count_init(&p->references);
  p->n = kind->n_marks;
  p->paths = g_new0(LoomPath *, p->n);
  p->styles = g_new0(LoomStyle, p->n);
  p->boxes = g_new0(LoomRect, p->n);
  for (guint i = 0; i < p->n; i++) {
    const LoomMark *mark = &kind->marks[i];
    bool words = mark->type == LOOM_MARK_TEXT;
    p->styles[i] =
        (LoomStyle){.fill = paint_of(mark->fill, words ? LOOM_PAINT_INK : LOOM_PAINT_NONE),
                    .stroke = mark->line_mm > 0 ? LOOM_PAINT_INK : LOOM_PAINT_NONE,
                    .line_mm = mark->line_mm,
                    .opacity = 1};
    if (words) {
      p->boxes[i] = words_box(mark);
      continue;
    }
    p->paths[i] = loom_path_new();
    if (mark->type == LOOM_MARK_CIRCLE)
      loom_path_circle(p->paths[i], mark->x_mm, mark->y_mm, mark->size_mm);
    else
      loom_path_data(p->paths[i], mark->path);
    p->boxes[i] = loom_rect_grown(path_box(p->paths[i]), mark->line_mm / 2);
  }
  return p;
}

LoomPicture *
loom_picture_ref(LoomPicture *p)
{
  g_atomic_ref_count_inc(&p->references);
  return p;
}

void
loom_picture_unref(LoomPicture *p)
{
  if (!p || !g_atomic_ref_count_dec(&p->references))
    return;
  for (guint i = 0; i < p->n; i++)
    loom_path_free(p->paths[i]);
  g_free(p->paths);
  g_free(p->styles);
  g_free(p->boxes);
  g_free(p);
}

GHashTable *
loom_pictures_new(void)
{
  return g_hash_table_new_full(NULL, NULL, (GDestroyNotify)loom_kind_unref,
                               (GDestroyNotify)loom_picture_unref);
}

const LoomPicture *
loom_pictures_get(GHashTable *pictures, LoomKind *kind, GHashTable *older)
{
  LoomPicture *picture = g_hash_table_lookup(pictures, kind);
  if (picture)
    return picture;
  picture = older ? g_hash_table_lookup(older, kind) : NULL;
  picture = picture ? loom_picture_ref(picture) : loom_picture_new(kind);
  g_hash_table_insert(pictures, loom_kind_ref(kind), picture);
  return picture;
}

void
loom_picture_draw(LoomInk *ink, const LoomKind *kind, const LoomPicture *p)
{
  for (guint i = 0; i < p->n; i++) {
    const LoomMark *mark = &kind->marks[i];
    if (p->paths[i])
      loom_ink_path(ink, p->paths[i], &p->styles[i]);
    else
      loom_ink_text_along(ink, mark->x_mm, mark->y_mm, mark->size_mm, p->styles[i].fill,
                          mark->path);
  }
}
