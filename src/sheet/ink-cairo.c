#include "ink-private.h"
#include "inks.h"

#include <math.h>
#include <pango/pangocairo.h>
#include <string.h>

typedef struct {
  LoomInk ink;
  cairo_t *cr;
  PangoLayout *layout;
  PangoFontDescription *font;
  LoomStamps *stamps; /* borrowed; NULL: what is stamped is drawn */
} CairoInk;

static void
set_source(CairoInk *self, LoomPaint paint, double opacity)
{
  guint32 rgb = loom_palette_rgb(self->ink.palette, paint);
  cairo_set_source_rgba(self->cr, (rgb >> 16) / 255.0, (rgb >> 8 & 0xff) / 255.0,
                        (rgb & 0xff) / 255.0, opacity);
}

static void
trace(cairo_t *cr, const LoomPath *path)
{
  cairo_new_path(cr);
  for (guint i = 0; i < path->pieces->len; i++) {
    const LoomPiece *p = &g_array_index(path->pieces, LoomPiece, i);
    const LoomPoint *at = p->points;
    switch (p->type) {
    case LOOM_PIECE_MOVE:
      cairo_move_to(cr, at[0].x, at[0].y);
      break;
    case LOOM_PIECE_LINE:
      cairo_line_to(cr, at[0].x, at[0].y);
      break;
    case LOOM_PIECE_CURVE:
      cairo_curve_to(cr, at[0].x, at[0].y, at[1].x, at[1].y, at[2].x, at[2].y);
      break;
    case LOOM_PIECE_CLOSE:
      cairo_close_path(cr);
      break;
    }
  }
}

static void
stroke(CairoInk *self, const LoomStyle *style, double opacity)
{
  double dash[] = {style->dash_mm, style->dash_mm};
  cairo_set_line_width(self->cr, style->line_mm);
  cairo_set_dash(self->cr, dash, style->dash_mm > 0 ? 2 : 0, 0);
  cairo_set_line_cap(self->cr, style->dash_mm > 0 ? CAIRO_LINE_CAP_BUTT : CAIRO_LINE_CAP_ROUND);
  cairo_set_line_join(self->cr, CAIRO_LINE_JOIN_ROUND);
  set_source(self, style->stroke, opacity);
  cairo_stroke_preserve(self->cr);
}

static void
cairo_path(LoomInk *ink, const LoomPath *path, const LoomStyle *style)
{
  CairoInk *self = (CairoInk *)ink;
  trace(self->cr, path);
  if (style->fill != LOOM_PAINT_NONE) {
    set_source(self, style->fill, style->opacity);
    cairo_fill_preserve(self->cr);
  }
  if (style->stroke != LOOM_PAINT_NONE && style->line_mm > 0)
    stroke(self, style, style->opacity);
  cairo_new_path(self->cr);
}

static void
cairo_text(LoomInk *ink, LoomPoint at, double size_mm, LoomAnchor anchor, bool bold,
           LoomPaint paint, bool upward, const char *text)
{
  static const double BACK[] = {0, 0.5, 1};
  CairoInk *self = (CairoInk *)ink;
  pango_font_description_set_weight(self->font, bold ? PANGO_WEIGHT_BOLD : PANGO_WEIGHT_NORMAL);
  pango_font_description_set_absolute_size(self->font, size_mm * PANGO_SCALE);
  pango_layout_set_font_description(self->layout, self->font);
  pango_layout_set_text(self->layout, text, -1);
  PangoRectangle logical;
  pango_layout_get_extents(self->layout, NULL, &logical);
  double width = (double)logical.width / PANGO_SCALE;
  double base = (double)pango_layout_get_baseline(self->layout) / PANGO_SCALE;
  set_source(self, paint, 1);
  cairo_save(self->cr);
  cairo_translate(self->cr, at.x, at.y);
  if (upward)
    cairo_rotate(self->cr, -G_PI / 2);
  cairo_move_to(self->cr, -BACK[anchor] * width, -base);
  pango_cairo_show_layout(self->cr, self->layout);
  cairo_restore(self->cr);
  cairo_new_path(self->cr);
}

static void
cairo_begin(LoomInk *ink G_GNUC_UNUSED, const char *id G_GNUC_UNUSED,
            const char *title G_GNUC_UNUSED, const char *desc G_GNUC_UNUSED)
{
}

static void
cairo_end(LoomInk *ink G_GNUC_UNUSED)
{
}

static void
cairo_ink_free(LoomInk *ink)
{
  CairoInk *self = (CairoInk *)ink;
  pango_font_description_free(self->font);
  g_object_unref(self->layout);
  cairo_destroy(self->cr);
  loom_ink_clear(ink);
  g_free(self);
}

static const LoomInkOps CAIRO_INK = {cairo_begin, cairo_end, cairo_path,
                                     cairo_text,  NULL,      cairo_ink_free};

LoomInk *
loom_ink_cairo_new(cairo_t *cr, LoomPalette palette)
{
  CairoInk *self = g_new0(CairoInk, 1);
  loom_ink_init(&self->ink, &CAIRO_INK, palette);
  self->cr = cairo_reference(cr);
  /* The context knows no scale: fonts would be looked for anew at each. */
  PangoContext *context = pango_font_map_create_context(pango_cairo_font_map_get_default());
  self->layout = pango_layout_new(context);
  g_object_unref(context); /* the layout keeps it */
  self->font = pango_font_description_from_string(LOOM_FONT ", sans-serif");
  /* Millimetres are small numbers: nothing may be rounded to whole ones. */
  cairo_font_options_t *options = cairo_font_options_create();
  cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
  cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
  pango_cairo_context_set_font_options(context, options);
  cairo_font_options_destroy(options);
  pango_context_set_round_glyph_positions(context, FALSE);
  return &self->ink;
}

/* --- stamps --- */

#define FINE 16 /* units a mm of what is kept: cairo rounds to 1/256 */

/* The box as it lies, in whole units outwards. */
static cairo_rectangle_t
lying(const LoomPlace *p, LoomRect box)
{
  double x0 = p->xx * box.x + p->xy * box.y, y0 = p->yx * box.x + p->yy * box.y;
  double width = p->xx * box.width + p->xy * box.height;
  double height = p->yx * box.width + p->yy * box.height;
  double left = floor(FINE * fmin(x0, x0 + width)), top = floor(FINE * fmin(y0, y0 + height));
  return (cairo_rectangle_t){left, top, ceil(FINE * fmax(x0, x0 + width)) - left,
                             ceil(FINE * fmax(y0, y0 + height)) - top};
}

static cairo_surface_t *
record(const CairoInk *self, const LoomStamp *stamp)
{
  cairo_rectangle_t extents = lying(&self->ink.place, stamp->box);
  cairo_surface_t *surface = cairo_recording_surface_create(CAIRO_CONTENT_COLOR_ALPHA, &extents);
  cairo_t *cr = cairo_create(surface);
  cairo_scale(cr, FINE, FINE);
  LoomInk *ink = loom_ink_cairo_new(cr, self->ink.palette);
  ink->place = self->ink.place;
  ink->place.x0 = ink->place.y0 = 0;
  ink->scale = self->ink.scale;
  stamp->draw(ink, stamp->data);
  loom_ink_free(ink);
  cairo_destroy(cr);
  return surface;
}

static void
cairo_stamp(LoomInk *ink, const LoomStamp *stamp)
{
  CairoInk *self = (CairoInk *)ink;
  const LoomPlace *p = &ink->place;
  LoomStampKey key;
  memset(&key, 0, sizeof key);
  key.draw = stamp->draw;
  key.thing = stamp->thing;
  memcpy(key.figures, stamp->figures, sizeof key.figures);
  key.xx = p->xx + 0.0; /* no zero below zero */
  key.xy = p->xy + 0.0;
  key.yx = p->yx + 0.0;
  key.yy = p->yy + 0.0;
  key.palette = ink->palette;
  cairo_surface_t *surface = loom_stamps_find(self->stamps, &key);
  if (!surface) {
    surface = record(self, stamp);
    loom_stamps_keep(self->stamps, &key, surface);
  }
  cairo_save(self->cr);
  cairo_translate(self->cr, p->x0, p->y0);
  cairo_scale(self->cr, 1.0 / FINE, 1.0 / FINE);
  cairo_set_source_surface(self->cr, surface, 0, 0);
  cairo_paint(self->cr);
  cairo_restore(self->cr);
}

static const LoomInkOps STAMPED_INK = {cairo_begin, cairo_end,   cairo_path,
                                       cairo_text,  cairo_stamp, cairo_ink_free};

LoomInk *
loom_ink_cairo_stamped_new(cairo_t *cr, LoomPalette palette, LoomStamps *stamps)
{
  LoomInk *ink = loom_ink_cairo_new(cr, palette);
  ink->ops = &STAMPED_INK;
  ((CairoInk *)ink)->stamps = stamps;
  return ink;
}
