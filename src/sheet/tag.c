/* The tag on a lead: its box and what stands beside it. */
#include "items-private.h"
#include "text.h"

#include <math.h>

#define TAG_LINE_MM 3.0

LoomRect
loom_tag_box(const LoomPart *part, LoomPoint middle)
{
  double width = fmax(loom_text_width_mm(part->designation, LOOM_TAG_TEXT_MM, true) + 3.4, 8.5);
  return (LoomRect){middle.x - width / 2, middle.y - LOOM_TAG_MM / 2, width, LOOM_TAG_MM};
}

static void
put_line(LoomTag *tag, double x, double y, LoomAnchor anchor, const char *text)
{
  LoomWords w = loom_words_new(x, y, anchor, LOOM_TAG_WORDS_MM, false, LOOM_PAINT_FAINT, text);
  g_array_append_val(tag->words, w);
}

/* On a wire that runs across: `above` lines over the tag, the others under it. */
static void
write_across(LoomTag *tag, LoomRect box, const char *const *lines, guint n, guint above)
{
  for (guint i = 0; i < n; i++) {
    double y = i < above ? box.y - 0.9 - (above - 1 - i) * TAG_LINE_MM
                         : box.y + box.height + 0.85 * TAG_LINE_MM + (i - above) * TAG_LINE_MM;
    put_line(tag, tag->at.x, y, LOOM_ANCHOR_MIDDLE, lines[i]);
  }
}

static void
write_down(LoomTag *tag, LoomRect box, const char *const *lines, guint n, bool left)
{
  double x = left ? box.x - 0.9 : box.x + box.width + 0.9;
  double y = tag->at.y - (n - 1) * TAG_LINE_MM / 2 + 0.36 * LOOM_TAG_WORDS_MM;
  for (guint i = 0; i < n; i++)
    put_line(tag, x, y + i * TAG_LINE_MM, left ? LOOM_ANCHOR_END : LOOM_ANCHOR_START, lines[i]);
}

LoomTag
loom_tag_try(const LoomSheet *sheet, guint part, guint end, LoomPoint at, int down, guint variant)
{
  const LoomPart *p = loom_sheet_part(sheet, part);
  LoomTag tag = {true, at, loom_words_array_new(), {0, 0, 0, 0}};
  LoomRect box = loom_tag_box(p, at);
  const char *lines[LOOM_MOST_TAG_LINES] = {NULL};
  guint n =
      variant < LOOM_TAG_VARIANTS ? loom_tag_lines_get(sheet, part, end, variant == 1, lines) : 0;
  if (down)
    write_down(&tag, box, lines, n, variant >= 2);
  else
    write_across(&tag, box, lines, n, variant <= 1 ? MAX(n, 1) - 1 : variant == 2 ? n : 0);
  tag.room = box;
  for (guint i = 0; i < n; i++)
    tag.room = loom_rect_union(tag.room, g_array_index(tag.words, LoomWords, i).box);
  return tag;
}

void
loom_tag_clear(LoomTag *tag)
{
  g_clear_pointer(&tag->words, g_array_unref);
}

bool
loom_tag_is_free(const LoomSheet *sheet, const LoomTag *tag, guint run)
{
  const LoomCrowd *crowd = sheet->inside->crowd;
  for (guint i = 0; i < tag->words->len; i++) {
    LoomRect box = g_array_index(tag->words, LoomWords, i).box;
    if (loom_crowd_meets(crowd, loom_rect_grown(box, 0.3), LOOM_NONE, 0))
      return false;
  }
  LoomRect box = {tag->at.x - LOOM_TAG_MM, tag->at.y - LOOM_TAG_MM / 2, 2 * LOOM_TAG_MM,
                  LOOM_TAG_MM};
  return !loom_crowd_meets(crowd, box, LOOM_CROWD_WIRE, run);
}

void
loom_tag_set(LoomSheet *sheet, guint part, LoomTag *tag)
{
  LoomSheetInside *in = sheet->inside;
  loom_tag_clear(&in->tags[part]);
  in->tags[part] = *tag;
  sheet->parts[part].outline = loom_tag_box(loom_sheet_part(sheet, part), tag->at);
  sheet->parts[part].caption = tag->room;
  loom_crowd_add(in->crowd, loom_rect_grown(sheet->parts[part].outline, 0.5), LOOM_CROWD_TAG, part);
  for (guint i = 0; i < tag->words->len; i++)
    loom_crowd_add(in->crowd, g_array_index(tag->words, LoomWords, i).box, LOOM_CROWD_WORDS, part);
}

/* Wire from the tag, or from an outline, to a connector that hangs there. */
static LoomLaidLead
hanging_wire(const LoomSheet *sheet, guint part, guint end)
{
  const LoomPart *p = loom_sheet_part(sheet, part);
  const LoomPlacedEnd *placed = loom_sheet_end(sheet, part, end);
  double depth = loom_end_size(&p->kind->ends[end]).depth_mm;
  LoomPoint back = {placed->at.x - placed->dx * depth, placed->at.y - placed->dy * depth};
  int dx, dy;
  LoomPoint root = loom_place_root(p, end, &dx, &dy);
  if (p->kind->lead) {
    LoomRect tag = sheet->parts[part].outline;
    root = (LoomPoint){placed->dx > 0 ? tag.x + tag.width : tag.x, tag.y + tag.height / 2};
  }
  bool straight = fabs(root.y - back.y) < 1e-6 || fabs(root.x - back.x) < 1e-6;
  LoomLaidLead lead = {part, LOOM_NONE, end, straight ? 2 : 4, NULL, {NAN, NAN}};
  double bend = root.x + placed->dx * LOOM_STUB_MM * 0.45;
  LoomPoint way[] = {root, {bend, root.y}, {bend, back.y}, back};
  if (straight)
    way[1] = back;
  lead.points = g_memdup2(way, lead.n_points * sizeof(LoomPoint));
  return lead;
}

/* The end with most contacts speaks for a lead with many. */
static guint
trunk_of(const LoomKind *kind)
{
  guint best = 0;
  for (guint e = 1; e < kind->n_ends; e++)
    if (kind->ends[e].n_contacts > kind->ends[best].n_contacts)
      best = e;
  return best;
}

/* Places for the words of a tag with wires on several sides: above, below, then the four corners
 * that the wires leave free. */
static LoomTag
fixed_try(const LoomSheet *sheet, guint part, guint place)
{
  LoomPoint at = sheet->inside->tags[part].at;
  if (place < LOOM_TAG_VARIANTS)
    return loom_tag_try(sheet, part, trunk_of(loom_sheet_part(sheet, part)->kind), at, 0, place);
  const LoomPart *p = loom_sheet_part(sheet, part);
  LoomTag tag = {true, at, loom_words_array_new(), {0, 0, 0, 0}};
  LoomRect box = tag.room = loom_tag_box(p, at);
  const char *lines[LOOM_MOST_TAG_LINES] = {NULL};
  guint n = place < LOOM_TAG_VARIANTS + 4
                ? loom_tag_lines_get(sheet, part, trunk_of(p->kind), false, lines)
                : 0,
        corner = place - LOOM_TAG_VARIANTS;
  bool left = corner % 2, above = corner / 2;
  double y = above ? box.y - 0.7 - (n - 1) * TAG_LINE_MM : box.y + box.height + 0.85 * TAG_LINE_MM;
  for (guint i = 0; i < n; i++) {
    put_line(&tag, at.x + (left ? -1.9 : 1.9), y + i * TAG_LINE_MM,
             left ? LOOM_ANCHOR_END : LOOM_ANCHOR_START, lines[i]);
    tag.room = loom_rect_union(tag.room, g_array_index(tag.words, LoomWords, i).box);
  }
  return tag;
}

static void
write_beside_fixed(LoomSheet *sheet, guint part)
{
  for (guint place = 0;; place++) {
    LoomTag tag = fixed_try(sheet, part, place);
    bool free = true;
    for (guint i = 0; i < tag.words->len; i++)
      free &= !loom_crowd_meets(sheet->inside->crowd, g_array_index(tag.words, LoomWords, i).box,
                                LOOM_CROWD_TAG, part);
    if (free) { /* without words at the latest */
      loom_tag_set(sheet, part, &tag);
      return;
    }
    loom_tag_clear(&tag);
  }
}

void
loom_tags_place_fixed(LoomSheet *sheet, GArray *leads)
{
  const LoomWiring *w = sheet->inside->wiring;
  for (guint number = 0; number < w->n_ends; number++) {
    if (!sheet->inside->runs->hung[number])
      continue;
    guint part = w->end_part[number];
    LoomLaidLead lead = hanging_wire(sheet, part, number - w->part_end[part]);
    g_array_append_val(leads, lead);
    for (guint k = 1; k < lead.n_points; k++)
      loom_crowd_add(sheet->inside->crowd,
                     loom_rect_grown(loom_rect_around(lead.points[k - 1], lead.points[k]), 1.2),
                     LOOM_CROWD_WIRE, LOOM_NONE);
  }
  for (guint p = 0; p < sheet->n_parts; p++)
    if (sheet->inside->runs->tag[p])
      write_beside_fixed(sheet, p);
}
