#include "text.h"

/* Advance widths of DejaVu Sans 2.37 in thousandths of its height, from U+0020 to U+007E. */
static const guint16 PLAIN[95] = {
    318, 401, 460, 838, 636, 950, 780, 275, 390, 390, 500, 838, 318, 361,  318, 337, 636, 636, 636,
    636, 636, 636, 636, 636, 636, 636, 337, 337, 838, 838, 838, 531, 1000, 684, 686, 698, 770, 632,
    575, 775, 752, 295, 295, 656, 557, 863, 748, 787, 603, 787, 695, 635,  611, 732, 684, 989, 685,
    611, 685, 390, 337, 390, 838, 500, 500, 613, 635, 550, 635, 615, 352,  635, 634, 278, 278, 579,
    278, 974, 634, 612, 635, 635, 411, 521, 392, 634, 592, 818, 592, 592,  525, 636, 337, 636, 838};
static const guint16 BOLD[95] = {
    348,  456, 521, 838, 696, 1002, 872, 306,  457, 457, 523, 838, 380, 415,  380, 365,
    696,  696, 696, 696, 696, 696,  696, 696,  696, 696, 400, 400, 838, 838,  838, 580,
    1000, 774, 762, 734, 830, 683,  683, 821,  837, 372, 372, 775, 637, 995,  837, 850,
    733,  850, 770, 720, 682, 812,  774, 1103, 771, 724, 725, 457, 365, 457,  838, 500,
    500,  675, 716, 593, 716, 678,  435, 716,  712, 343, 343, 665, 343, 1042, 712, 687,
    716,  716, 493, 595, 478, 712,  652, 924,  645, 652, 582, 712, 365, 712,  838};

static guint
advance(gunichar c, bool bold)
{
  if (c >= 0x20 && c < 0x7f)
    return bold ? BOLD[c - 0x20] : PLAIN[c - 0x20];
  switch (c) {
  case 0xb2: /* ² */
    return bold ? 438 : 401;
  case 0xb0:   /* ° */
  case 0x2013: /* – */
    return 500;
  case 0xb7: /* · */
    return bold ? 380 : 318;
  case 0x2026: /* … */
    return 1000;
  default:
    break;
  }
  if (g_unichar_iszerowidth(c))
    return 0;
  return g_unichar_iswide(c) ? 1000 : 850;
}

double
loom_text_width_mm(const char *text, double size_mm, bool bold)
{
  guint sum = 0;
  for (const char *s = text; *s; s = g_utf8_next_char(s))
    sum += advance(g_utf8_get_char(s), bold);
  return sum * size_mm / 1000;
}

char *
loom_text_fit(const char *text, double size_mm, bool bold, double room_mm)
{
  if (loom_text_width_mm(text, size_mm, bold) <= room_mm)
    return g_strdup(text);
  double used = advance(0x2026, bold) * size_mm / 1000;
  const char *s = text;
  for (; *s; s = g_utf8_next_char(s)) {
    used += advance(g_utf8_get_char(s), bold) * size_mm / 1000;
    if (used > room_mm)
      break;
  }
  g_autofree char *kept = g_strndup(text, s - text);
  return g_strconcat(g_strchomp(kept), "…", NULL);
}
