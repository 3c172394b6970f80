#include "ink-private.h"

#include <math.h>

/* Handle length of a quarter circle of radius 1 as a Bezier curve: 4 (sqrt 2 - 1) / 3. */
#define QUARTER 0.5522847498307936

LoomPath *
loom_path_new(void)
{
  LoomPath *path = g_new(LoomPath, 1);
  path->pieces = g_array_new(FALSE, FALSE, sizeof(LoomPiece));
  return path;
}

void
loom_path_free(LoomPath *path)
{
  if (!path)
    return;
  g_array_unref(path->pieces);
  g_free(path);
}

static void
add(LoomPath *path, LoomPieceType type, LoomPoint a, LoomPoint b, LoomPoint c)
{
  LoomPiece piece = {type, {a, b, c}};
  g_array_append_val(path->pieces, piece);
}

void
loom_path_move(LoomPath *path, double x, double y)
{
  LoomPoint p = {x, y};
  add(path, LOOM_PIECE_MOVE, p, p, p);
}

void
loom_path_line(LoomPath *path, double x, double y)
{
  LoomPoint p = {x, y};
  add(path, LOOM_PIECE_LINE, p, p, p);
}

void
loom_path_curve(LoomPath *path, double x1, double y1, double x2, double y2, double x, double y)
{
  add(path, LOOM_PIECE_CURVE, (LoomPoint){x1, y1}, (LoomPoint){x2, y2}, (LoomPoint){x, y});
}

void
loom_path_close(LoomPath *path)
{
  LoomPoint p = {0, 0};
  add(path, LOOM_PIECE_CLOSE, p, p, p);
}

/* A quarter circle from where the path stands, around the corner (cx, cy), to (x, y). */
static void
corner(LoomPath *path, double x0, double y0, double cx, double cy, double x, double y)
{
  loom_path_curve(path, x0 + (cx - x0) * QUARTER, y0 + (cy - y0) * QUARTER, x + (cx - x) * QUARTER,
                  y + (cy - y) * QUARTER, x, y);
}

void
loom_path_rect(LoomPath *path, LoomRect r, double radius_mm)
{
  double right = r.x + r.width, bottom = r.y + r.height;
  double c = fmin(radius_mm, fmin(r.width, r.height) / 2);
  if (c <= 0) {
    loom_path_move(path, r.x, r.y);
    loom_path_line(path, right, r.y);
    loom_path_line(path, right, bottom);
    loom_path_line(path, r.x, bottom);
    loom_path_close(path);
    return;
  }
  loom_path_move(path, r.x + c, r.y);
  loom_path_line(path, right - c, r.y);
  corner(path, right - c, r.y, right, r.y, right, r.y + c);
  loom_path_line(path, right, bottom - c);
  corner(path, right, bottom - c, right, bottom, right - c, bottom);
  loom_path_line(path, r.x + c, bottom);
  corner(path, r.x + c, bottom, r.x, bottom, r.x, bottom - c);
  loom_path_line(path, r.x, r.y + c);
  corner(path, r.x, r.y + c, r.x, r.y, r.x + c, r.y);
  loom_path_close(path);
}

void
loom_path_circle(LoomPath *path, double x, double y, double radius_mm)
{
  LoomRect box = {x - radius_mm, y - radius_mm, 2 * radius_mm, 2 * radius_mm};
  loom_path_rect(path, box, radius_mm);
}

static const char *
past_blanks(const char *s)
{
  while (g_ascii_isspace(*s) || *s == ',')
    s++;
  return s;
}

/* `n` numbers; NULL where one is missing. */
static const char *
numbers(const char *s, double *values, guint n)
{
  for (guint i = 0; i < n; i++) {
    char *end;
    s = past_blanks(s);
    values[i] = g_ascii_strtod(s, &end);
    if (end == s || !isfinite(values[i]))
      return NULL;
    s = end;
  }
  return s;
}

static guint
numbers_of(char letter)
{
  return letter == 'M' || letter == 'L' ? 2 : letter == 'C' ? 6 : 0;
}

static void
take(LoomPath *path, char letter, const double *v)
{
  if (letter == 'M')
    loom_path_move(path, v[0], v[1]);
  else if (letter == 'L')
    loom_path_line(path, v[0], v[1]);
  else if (letter == 'C')
    loom_path_curve(path, v[0], v[1], v[2], v[3], v[4], v[5]);
  else
    loom_path_close(path);
}

bool
loom_path_data(LoomPath *path, const char *data)
{
  char letter = '\0';
  guint before = path->pieces->len;
  for (const char *s = past_blanks(data); s && *s; s = s ? past_blanks(s) : NULL) {
    bool told = strchr("MLCZ", *s) != NULL;
    if (told)
      letter = *s++;
    else if (letter == 'M')
      letter = 'L'; /* further pairs after a move are lines (SVG 1.1, 8.3.2) */
    double values[6];
    bool bad = !letter || (!told && letter == 'Z') ||
               (path->pieces->len == before && letter != 'M') ||
               !(s = numbers(s, values, numbers_of(letter)));
    if (bad) {
      g_array_set_size(path->pieces, before);
      return false;
    }
    take(path, letter, values);
  }
  return true;
}
