/* Letters of the wire colours beside pigtails, which have no tag to carry them: in the middle of
 * their longest leg, on the side where they cover nothing; where there is no room they are left out
 * (the legend and the colours still tell). */
#include "sheet-private.h"

#include "text.h"

#include <math.h>

#define LETTERS_MM 2.4

/* `off`: from the middle of the wire to the words. */
static LoomWords
letters_at(const char *text, LoomPoint middle, bool down, bool second, double off)
{
  if (down)
    return loom_words_new(middle.x + (second ? -off : off), middle.y + 0.36 * LETTERS_MM,
                          second ? LOOM_ANCHOR_END : LOOM_ANCHOR_START, LETTERS_MM, false,
                          LOOM_PAINT_FAINT, text);
  double y = middle.y + (second ? off + 0.8 * LETTERS_MM : -off - 0.2 * LETTERS_MM);
  return loom_words_new(middle.x, y, LOOM_ANCHOR_MIDDLE, LETTERS_MM, false, LOOM_PAINT_FAINT, text);
}

static guint
longest_leg(const LoomLaidLead *lead, double *length)
{
  guint best = 0;
  *length = 0;
  for (guint k = 0; k + 1 < lead->n_points; k++) {
    double own = fabs(lead->points[k + 1].x - lead->points[k].x) +
                 fabs(lead->points[k + 1].y - lead->points[k].y);
    if (own > *length) {
      *length = own;
      best = k;
    }
  }
  return best;
}

static void
place_one(LoomSheet *sheet, guint i)
{
  const LoomLaidLead *lead = &sheet->leads[i];
  const LoomPart *part = loom_sheet_part(sheet, lead->part);
  guint end = lead->end_a != LOOM_NONE ? lead->end_a : lead->end_b;
  g_autofree char *text = part->kind->lead ? NULL : loom_tag_colour_text(part, end);
  g_autoptr(GArray) strokes = loom_strokes_of_end(part->kind, end);
  double length, off = fmax(loom_strokes_width(strokes) / 2, 1.0) + 0.7;
  guint leg = longest_leg(lead, &length);
  if (!text || length < loom_text_width_mm(text, LETTERS_MM, false) + 1)
    return;
  LoomPoint a = lead->points[leg], b = lead->points[leg + 1];
  bool down = fabs(b.y - a.y) > fabs(b.x - a.x);
  static const double SHARES[] = {0.5, 0.35, 0.65, 0.2, 0.8};
  for (guint k = 0; k < 2 * G_N_ELEMENTS(SHARES); k++) {
    double t = SHARES[k / 2];
    LoomPoint at = {a.x + t * (b.x - a.x), a.y + t * (b.y - a.y)};
    LoomWords w = letters_at(text, at, down, k % 2, off);
    if (!loom_crowd_meets(sheet->inside->crowd, w.box, LOOM_NONE, 0)) {
      loom_crowd_add(sheet->inside->crowd, w.box, LOOM_CROWD_WORDS, lead->part);
      sheet->inside->letters[i] = w;
      return;
    }
    g_free(w.text);
  }
}

void
loom_letters_place(LoomSheet *sheet)
{
  sheet->inside->letters = g_new0(LoomWords, sheet->n_leads + 1);
  for (guint i = 0; i < sheet->n_leads; i++)
    if (sheet->leads[i].n_points > 1)
      place_one(sheet, i);
}
