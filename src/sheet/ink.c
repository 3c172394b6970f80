#include "ink-private.h"
#include "text.h"

#include <math.h>

typedef struct {
  LoomPlace place;
  double scale;
  bool named; /* a group that the ink itself was told of */
} LoomNest;

static const LoomPlace HOME = {1, 0, 0, 0, 1, 0};

void
loom_ink_init(LoomInk *ink, const LoomInkOps *ops, LoomPalette palette)
{
  ink->ops = ops;
  ink->palette = palette;
  ink->place = HOME;
  ink->scale = 1;
  ink->outer = g_array_new(FALSE, FALSE, sizeof(LoomNest));
}

void
loom_ink_clear(LoomInk *ink)
{
  g_array_unref(ink->outer);
}

void
loom_ink_free(LoomInk *ink)
{
  if (ink)
    ink->ops->free(ink);
}

static LoomPoint
placed(const LoomPlace *p, LoomPoint at)
{
  return (LoomPoint){p->xx * at.x + p->xy * at.y + p->x0, p->yx * at.x + p->yy * at.y + p->y0};
}

static LoomPlace
inside(const LoomPlace *outer, const LoomPlace *inner)
{
  LoomPoint x = placed(outer, (LoomPoint){inner->xx, inner->yx});
  LoomPoint y = placed(outer, (LoomPoint){inner->xy, inner->yy});
  LoomPoint o = placed(outer, (LoomPoint){inner->x0, inner->y0});
  return (LoomPlace){x.x - outer->x0, y.x - outer->x0, o.x, x.y - outer->y0, y.y - outer->y0, o.y};
}

static void
nest(LoomInk *ink, bool named)
{
  LoomNest n = {ink->place, ink->scale, named};
  g_array_append_val(ink->outer, n);
}

void
loom_ink_begin(LoomInk *ink, const char *id, const char *title, const char *desc)
{
  nest(ink, true);
  ink->ops->begin(ink, id, title, desc);
}

void
loom_ink_begin_placed(LoomInk *ink, double x, double y, int quarters, bool mirrored)
{
  static const double COSINE[] = {1, 0, -1, 0}, SINE[] = {0, 1, 0, -1};
  double c = COSINE[quarters & 3], s = SINE[quarters & 3], m = mirrored ? -1 : 1;
  LoomPlace own = {c * m, -s, x, s * m, c, y};
  nest(ink, false);
  ink->place = inside(&ink->place, &own);
}

void
loom_ink_begin_scaled(LoomInk *ink, double x, double y, double scale)
{
  LoomPlace own = {scale, 0, x, 0, scale, y};
  nest(ink, false);
  ink->place = inside(&ink->place, &own);
  ink->scale *= scale;
}

void
loom_ink_end(LoomInk *ink)
{
  g_return_if_fail(ink->outer->len > 0);
  LoomNest n = g_array_index(ink->outer, LoomNest, ink->outer->len - 1);
  g_array_set_size(ink->outer, ink->outer->len - 1);
  ink->place = n.place;
  ink->scale = n.scale;
  if (n.named)
    ink->ops->end(ink);
}

static bool
at_home(const LoomPlace *p)
{
  return p->xx == 1 && p->yy == 1 && p->x0 == 0 && p->y0 == 0;
}

void
loom_ink_path(LoomInk *ink, const LoomPath *path, const LoomStyle *style)
{
  if (path->pieces->len == 0)
    return;
  if (at_home(&ink->place)) {
    ink->ops->path(ink, path, style);
    return;
  }
  g_autoptr(LoomPath) moved = loom_path_new();
  for (guint i = 0; i < path->pieces->len; i++) {
    LoomPiece piece = g_array_index(path->pieces, LoomPiece, i);
    for (guint k = 0; k < G_N_ELEMENTS(piece.points); k++)
      piece.points[k] = placed(&ink->place, piece.points[k]);
    g_array_append_val(moved->pieces, piece);
  }
  LoomStyle scaled = *style;
  scaled.line_mm *= ink->scale;
  scaled.dash_mm *= ink->scale;
  ink->ops->path(ink, moved, &scaled);
}

/* Control characters have no place in XML nor on paper. */
char *
loom_ink_printable(const char *text)
{
  char *clean = g_utf8_make_valid(text, -1);
  for (char *c = clean; *c; c++)
    if ((guchar)*c < 0x20 || *c == 0x7f)
      *c = ' ';
  return clean;
}

/* Where the base line begins once the middle of the written words has been turned with the group.
 */
static LoomPoint
upright(const LoomInk *ink, LoomPoint at, double width_mm, double size_mm, LoomAnchor anchor)
{
  static const double BACK[] = {0.5, 0, -0.5};
  double lift = 0.36 * size_mm, half = BACK[anchor] * width_mm;
  LoomPoint middle = placed(&ink->place, (LoomPoint){at.x + half, at.y - lift});
  return (LoomPoint){middle.x - half * ink->scale, middle.y + lift * ink->scale};
}

void
loom_ink_text(LoomInk *ink, double x, double y, double size_mm, LoomAnchor anchor, bool bold,
              LoomPaint paint, const char *text)
{
  if (!text || !*text)
    return;
  g_autofree char *clean = loom_ink_printable(text);
  LoomPoint at =
      upright(ink, (LoomPoint){x, y}, loom_text_width_mm(clean, size_mm, bold), size_mm, anchor);
  ink->ops->text(ink, at, size_mm * ink->scale, anchor, bold, paint, false, clean);
}

void
loom_ink_stamp(LoomInk *ink, const LoomStamp *stamp)
{
  if (ink->ops->stamp)
    ink->ops->stamp(ink, stamp);
  else
    stamp->draw(ink, stamp->data);
}

void
loom_ink_text_along(LoomInk *ink, double x, double y, double size_mm, LoomPaint paint,
                    const char *text)
{
  if (fabs(ink->place.xx) > fabs(ink->place.yx)) {
    loom_ink_text(ink, x, y, size_mm, LOOM_ANCHOR_MIDDLE, false, paint, text);
    return;
  }
  if (!text || !*text)
    return;
  g_autofree char *clean = loom_ink_printable(text);
  double lift = 0.36 * size_mm;
  LoomPoint middle = placed(&ink->place, (LoomPoint){x, y - lift});
  LoomPoint at = {middle.x + lift * ink->scale, middle.y};
  ink->ops->text(ink, at, size_mm * ink->scale, LOOM_ANCHOR_MIDDLE, false, paint, true, clean);
}
