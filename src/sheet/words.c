/* What is written at a part: designation, label, names of ends. Each is put where it covers neither
 * the picture nor another word: inside the outline where there is room, else beside it. */
#include "place.h"
#include "text.h"

#include <glib/gi18n-lib.h>
#include <math.h>

#define DESIGNATION_MM 3.9
#define LABEL_MM 3.0
#define SMALL_LABEL_MM 2.5
#define END_LABEL_MM 2.9
#define SMALL_END_LABEL_MM 2.3
#define INDENT_MM 1.3
#define LINE 1.18          /* line height for a text of height 1 */
#define REACH_MM 14.0      /* kept clear in front of an end */
#define OUTSIDE_ROOM_MM 32 /* width of words beside a narrow part */

LoomWords
loom_words_new(double x, double y, LoomAnchor anchor, double size_mm, bool bold, LoomPaint paint,
               const char *text)
{
  static const double BACK[] = {0, 0.5, 1};
  double width = loom_text_width_mm(text, size_mm, bold);
  LoomRect box = {x - BACK[anchor] * width, y - 0.8 * size_mm, width, size_mm};
  return (LoomWords){{x, y}, anchor, size_mm, bold, paint, g_strdup(text), box};
}

static void
clear_words(gpointer words)
{
  g_free(((LoomWords *)words)->text);
}

GArray *
loom_words_array_new(void)
{
  GArray *words = g_array_new(FALSE, FALSE, sizeof(LoomWords));
  g_array_set_clear_func(words, clear_words);
  return words;
}

void
loom_words_draw(LoomInk *ink, const LoomWords *w)
{
  loom_ink_text(ink, w->at.x, w->at.y, w->size_mm, w->anchor, w->bold, w->paint, w->text);
}

/* What must not be covered at one part. */
typedef struct {
  const LoomPart *part;
  LoomRect outline;
  GArray *inside; /* of LoomRect: picture, words */
  GArray *ends;   /* of LoomRect: reach of each end, with its connector */
} Surroundings;

static bool
meets_any(LoomRect r, const GArray *rects)
{
  for (guint i = 0; i < rects->len; i++)
    if (loom_rect_meets(r, g_array_index(rects, LoomRect, i)))
      return true;
  return false;
}

static bool
within(LoomRect r, LoomRect outer)
{
  return r.x >= outer.x && r.y >= outer.y && r.x + r.width <= outer.x + outer.width &&
         r.y + r.height <= outer.y + outer.height;
}

static void
surround(Surroundings *s, const LoomPart *part, const LoomPicture *picture)
{
  s->part = part;
  s->outline = loom_place_outline(part);
  s->inside = g_array_new(FALSE, FALSE, sizeof(LoomRect));
  s->ends = g_array_new(FALSE, FALSE, sizeof(LoomRect));
  double whole = s->outline.width * s->outline.height;
  for (guint i = 0; i < picture->n; i++) {
    LoomRect r = loom_place_rect(part, picture->boxes[i]);
    if (r.width * r.height < 0.7 * whole)
      g_array_append_val(s->inside, r);
  }
  for (guint e = 0; e < part->kind->n_ends; e++) {
    int dx, dy;
    LoomEndSize size = loom_end_size(&part->kind->ends[e]);
    LoomPoint root = loom_place_root(part, e, &dx, &dy);
    size.depth_mm = REACH_MM;
    size.width_mm += 0.6;
    LoomPoint tip = {root.x + dx * REACH_MM, root.y + dy * REACH_MM};
    LoomRect r = loom_end_box(&size, tip, dx, dy);
    g_array_append_val(s->ends, r);
  }
}

static void
surround_clear(Surroundings *s)
{
  g_array_unref(s->inside);
  g_array_unref(s->ends);
}

/* "Main switch, on": the label, or what it is, with what has been set. New. */
static char *
label_of(const LoomPart *part)
{
  g_autoptr(GString) text = g_string_new(part->label ? part->label : part->kind->name);
  if (!isnan(part->rated_A)) {
    g_string_append_printf(text, ", %g A", part->rated_A);
  }
  if (part->kind->has_switch && part->kind->group != LOOM_GROUP_SENSOR)
    g_string_append(text, part->on ? _(", on") : _(", off"));
  return g_strdup(text->str);
}

/* Breaks `text` into two lines of at most `room` each, at a blank, the second one shortened if it
 * must be. Sets both to new strings; the second may be NULL. */
static void
break_lines(const char *text, double size_mm, double room, char **first, char **second)
{
  *second = NULL;
  if (loom_text_width_mm(text, size_mm, false) <= room) {
    *first = g_strdup(text);
    return;
  }
  const char *cut = NULL;
  for (const char *s = strchr(text, ' '); s; s = strchr(s + 1, ' ')) {
    g_autofree char *head = g_strndup(text, s - text);
    if (loom_text_width_mm(head, size_mm, false) > room)
      break;
    cut = s;
  }
  if (!cut) {
    *first = loom_text_fit(text, size_mm, false, room);
    return;
  }
  *first = g_strndup(text, cut - text);
  *second = loom_text_fit(cut + 1, size_mm, false, room);
}

/* Designation and label as a block with its corner at 0, 0. */
typedef struct {
  char *designation, *first, *second;
  double label_mm;
  double width, height;
} Block;

static Block
block_new(const LoomPart *part, const char *label, double label_mm, double room)
{
  Block b = {.designation = loom_text_fit(part->designation, DESIGNATION_MM, true, room),
             .label_mm = label_mm};
  break_lines(label, label_mm, room, &b.first, &b.second);
  b.width = fmax(loom_text_width_mm(b.designation, DESIGNATION_MM, true),
                 loom_text_width_mm(b.first, label_mm, false));
  if (b.second)
    b.width = fmax(b.width, loom_text_width_mm(b.second, label_mm, false));
  b.height = DESIGNATION_MM * 0.95 + label_mm * LINE * (b.second ? 2 : 1);
  return b;
}

static void
block_clear(Block *b)
{
  g_free(b->designation);
  g_free(b->first);
  g_free(b->second);
}

static LoomRect
block_put(const Block *b, LoomPoint at, GArray *words)
{
  double y = at.y + 0.78 * DESIGNATION_MM;
  LoomWords w = loom_words_new(at.x, y, LOOM_ANCHOR_START, DESIGNATION_MM, true, LOOM_PAINT_INK,
                               b->designation);
  g_array_append_val(words, w);
  const char *lines[] = {b->first, b->second};
  y += 0.12 * DESIGNATION_MM;
  for (guint i = 0; i < 2 && lines[i]; i++) {
    y += LINE * b->label_mm;
    w = loom_words_new(at.x, y, LOOM_ANCHOR_START, b->label_mm, false, LOOM_PAINT_INK, lines[i]);
    g_array_append_val(words, w);
  }
  return (LoomRect){at.x, at.y, b->width, b->height};
}

/* Upper or lower left corner inside the outline, if the block fits there. */
static bool
fits_inside(const Surroundings *s, const Block *b, LoomPoint *at)
{
  LoomRect o = s->outline;
  LoomPoint corners[] = {{o.x + INDENT_MM, o.y + 1.0},
                         {o.x + INDENT_MM, o.y + o.height - b->height - 1.0}};
  for (guint i = 0; i < G_N_ELEMENTS(corners); i++) {
    LoomRect r = {corners[i].x, corners[i].y, b->width, b->height};
    *at = corners[i];
    if (within(r, o) && !meets_any(r, s->inside))
      return true;
  }
  return false;
}

/* Above, below, right, left of the outline: the first that no end needs, else above. */
static LoomPoint
beside(const Surroundings *s, const Block *b)
{
  LoomRect o = s->outline;
  double above = o.y - b->height - 0.9, below = o.y + o.height + 0.9;
  double right = o.x + o.width - b->width;
  LoomPoint places[] = {{o.x, above},
                        {right, above},
                        {o.x, below},
                        {right, below},
                        {o.x + o.width + 1.2, o.y},
                        {o.x - b->width - 1.2, o.y}};
  for (guint i = 0; i < G_N_ELEMENTS(places); i++)
    if (!meets_any((LoomRect){places[i].x, places[i].y, b->width, b->height}, s->ends))
      return places[i];
  return places[0];
}

static LoomRect
put_caption(const Surroundings *s, GArray *words)
{
  static const double SIZES[] = {LABEL_MM, SMALL_LABEL_MM};
  g_autofree char *label = label_of(s->part);
  double room = s->outline.width - 2 * INDENT_MM;
  for (guint i = 0; i < G_N_ELEMENTS(SIZES); i++) {
    Block b = block_new(s->part, label, SIZES[i], room);
    LoomPoint at;
    bool fits = fits_inside(s, &b, &at);
    LoomRect box = fits ? block_put(&b, at, words) : (LoomRect){0, 0, 0, 0};
    block_clear(&b);
    if (fits)
      return box;
  }
  Block b = block_new(s->part, label, LABEL_MM, fmax(s->outline.width, OUTSIDE_ROOM_MM));
  LoomRect box = block_put(&b, beside(s, &b), words);
  block_clear(&b);
  return box;
}

/* Next to the end, inside the outline. */
static LoomWords
inner_label(const Surroundings *s, LoomPoint root, int dx, int dy, const char *text)
{
  double room = (dx ? 0.62 : 1) * s->outline.width - 2 * INDENT_MM;
  g_autofree char *fit = loom_text_fit(text, END_LABEL_MM, false, room);
  LoomAnchor anchor = dx < 0 ? LOOM_ANCHOR_START : dx > 0 ? LOOM_ANCHOR_END : LOOM_ANCHOR_MIDDLE;
  double x = root.x - dx * INDENT_MM;
  double y = root.y + (dy < 0 ? 1.2 : dy > 0 ? -0.45 : 0.36) * END_LABEL_MM;
  return loom_words_new(x, y, anchor, END_LABEL_MM, false, LOOM_PAINT_INK, fit);
}

#define OUTER_PLACES 4

/* Outside, along the connector or its wires: on one side of it or the other, close to the outline
 * or farther out. */
static LoomWords
outer_label(const LoomPart *part, guint end, LoomPoint root, int dx, int dy, guint place,
            const char *text)
{
  const LoomEnd *e = &part->kind->ends[end];
  double half = e->pigtail_mm > 0 ? 1.3 : loom_end_size(e).width_mm / 2;
  bool second = place % 2;
  double out = place < 2 ? 0 : 3.2;
  LoomAnchor anchor = dx < 0 || (dy && second) ? LOOM_ANCHOR_END : LOOM_ANCHOR_START;
  double x = root.x + dx * (0.8 + out),
         y = root.y + (second ? half + 0.6 + 0.8 * SMALL_END_LABEL_MM : -half - 0.6);
  if (dy) {
    x = root.x + (second ? -1 : 1) * (half + 0.7);
    y = root.y + (dy > 0 ? 2.2 + out : -1.0 - out);
  }
  return loom_words_new(x, y, anchor, SMALL_END_LABEL_MM, false, LOOM_PAINT_FAINT, text);
}

/* Whether the words keep off the outline, other words and the reach of all other ends. */
static bool
is_clear(const Surroundings *s, const LoomWords *w, guint end)
{
  if (loom_rect_meets(w->box, s->outline) || meets_any(w->box, s->inside))
    return false;
  for (guint e = 0; e < s->ends->len; e++)
    if (e != end && loom_rect_meets(w->box, g_array_index(s->ends, LoomRect, e)))
      return false;
  return true;
}

/* An end whose name has no room anywhere goes without. */
static void
put_end_label(Surroundings *s, guint end, GArray *words)
{
  const LoomEnd *e = &s->part->kind->ends[end];
  const char *text = e->label ? e->label : e->id;
  int dx, dy;
  LoomPoint root = loom_place_root(s->part, end, &dx, &dy);
  LoomWords w = inner_label(s, root, dx, dy, text);
  bool good = within(w.box, s->outline) && !meets_any(w.box, s->inside);
  for (guint place = 0; !good && place < OUTER_PLACES; place++) {
    clear_words(&w);
    w = outer_label(s->part, end, root, dx, dy, place, text);
    good = is_clear(s, &w, end);
  }
  if (!good) {
    clear_words(&w);
    return;
  }
  g_array_append_val(s->inside, w.box);
  g_array_append_val(words, w);
}

LoomRect
loom_place_words(const LoomPart *part, const LoomPicture *picture, GArray *words)
{
  Surroundings s;
  surround(&s, part, picture);
  LoomRect caption = put_caption(&s, words);
  g_array_append_val(s.inside, caption);
  for (guint e = 0; part->kind->n_ends > 1 && e < part->kind->n_ends; e++)
    put_end_label(&s, e, words);
  surround_clear(&s);
  return caption;
}
