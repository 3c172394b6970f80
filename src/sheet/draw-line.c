#include "draw-private.h"

LoomStyle
loom_style_fill(LoomPaint fill)
{
  return (LoomStyle){.fill = fill, .opacity = 1};
}

LoomStyle
loom_style_line(LoomPaint stroke, double line_mm)
{
  return (LoomStyle){.stroke = stroke, .line_mm = line_mm, .opacity = 1};
}

LoomStyle
loom_style_both(LoomPaint fill, LoomPaint stroke, double line_mm)
{
  return (LoomStyle){.fill = fill, .stroke = stroke, .line_mm = line_mm, .opacity = 1};
}

void
loom_draw_rect(LoomInk *ink, LoomRect rect, double radius, LoomStyle style)
{
  g_autoptr(LoomPath) path = loom_path_new();
  loom_path_rect(path, rect, radius);
  loom_ink_path(ink, path, &style);
}

void
loom_draw_circle(LoomInk *ink, double x, double y, double radius, LoomStyle style)
{
  g_autoptr(LoomPath) path = loom_path_new();
  loom_path_circle(path, x, y, radius);
  loom_ink_path(ink, path, &style);
}

void
loom_draw_corners(LoomInk *ink, const LoomPoint *corners, guint n, bool closed, LoomStyle style)
{
  g_autoptr(LoomPath) path = loom_path_new();
  loom_path_move(path, corners[0].x, corners[0].y);
  for (guint k = 1; k < n; k++)
    loom_path_line(path, corners[k].x, corners[k].y);
  if (closed)
    loom_path_close(path);
  loom_ink_path(ink, path, &style);
}

void
loom_draw_segment(LoomInk *ink, double x0, double y0, double x1, double y1, LoomStyle style)
{
  LoomPoint corners[] = {{x0, y0}, {x1, y1}};
  loom_draw_corners(ink, corners, 2, false, style);
}
