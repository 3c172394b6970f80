#include "draw.h"

/* One line a paint: on the screen by day, in the dark, on paper. */
static const guint32 COMMON[LOOM_PAINT_GROUP][3] = {
    [LOOM_PAINT_PAPER] = {0xfbfaf6, 0x24272c, 0xffffff},
    [LOOM_PAINT_INK] = {0x23272e, 0xe9e7e1, 0x111317},
    [LOOM_PAINT_FAINT] = {0x646b75, 0xa3a9b2, 0x555b63},
    [LOOM_PAINT_WELL] = {0xffffff, 0x15171a, 0xffffff},
    [LOOM_PAINT_METAL] = {0x8d8a80, 0xc9c3b2, 0x85827a},
    [LOOM_PAINT_SHELL] = {0xd4d3cd, 0x565b63, 0xd9d9d5},
    [LOOM_PAINT_SHADE] = {0x9a9d9f, 0x7d838b, 0xa2a5a7},
    [LOOM_PAINT_TINT] = {0xfdfdfb, 0x3a3e45, 0xffffff},
    [LOOM_PAINT_LAMP] = {0xf2c230, 0xf2c230, 0xf2c230},
    [LOOM_PAINT_STOP] = {0xb3241c, 0xf0776e, 0xa81d16},
    [LOOM_PAINT_CARE] = {0x955000, 0xe59a2f, 0x9a5300},
    [LOOM_PAINT_NOTE] = {0x2b5f93, 0x77aee3, 0x26567f},
    [LOOM_PAINT_READING] = {0x06604a, 0x5fd0ae, 0x06543f},
    [LOOM_PAINT_CHOSEN] = {0x1c71d8, 0x62a0ea, 0x1c71d8},
    [LOOM_PAINT_NEW] = {0x0a5ab0, 0x74b4f5, 0x0a4f9b},
    [LOOM_PAINT_GONE] = {0xa8410b, 0xf2955c, 0x963805},
    [LOOM_PAINT_CHANGED] = {0x6c3b94, 0xc79bea, 0x5f3185},
};

static const guint32 GROUPS[LOOM_N_GROUPS][3] = {
    [LOOM_GROUP_SUPPLY] = {0xf6e7c4, 0x504730, 0xf8edd2},
    [LOOM_GROUP_CHARGING] = {0xf3dcc6, 0x544232, 0xf6e5d4},
    [LOOM_GROUP_PROTECTION] = {0xececea, 0x43474d, 0xf1f1ef},
    [LOOM_GROUP_SWITCHING] = {0xe7e9ea, 0x41474e, 0xeff0f1},
    [LOOM_GROUP_LEAD] = {0xffffff, 0x2d3136, 0xffffff},
    [LOOM_GROUP_DISTRIBUTION] = {0xe6e6df, 0x44463f, 0xeeeee9},
    [LOOM_GROUP_CONTROLLER] = {0xd9e6f2, 0x34465a, 0xe4edf6},
    [LOOM_GROUP_CONVERTER] = {0xd6eae8, 0x304b4a, 0xe3f1ef},
    [LOOM_GROUP_MOTOR] = {0xdcebd8, 0x374c35, 0xe6f1e3},
    [LOOM_GROUP_SERVO] = {0xe4ecd0, 0x444b30, 0xecf2dd},
    [LOOM_GROUP_SENSOR] = {0xe9def0, 0x4a3e55, 0xefe7f4},
    [LOOM_GROUP_LAMP] = {0xf8f0c6, 0x4d482c, 0xfaf4d6},
    [LOOM_GROUP_STRUCTURE] = {0xe2e4e6, 0x43474b, 0xebedee},
    [LOOM_GROUP_COMPUTER] = {0xdfe2f1, 0x3d4160, 0xe8eaf5},
};

guint32
loom_palette_rgb(LoomPalette palette, LoomPaint paint)
{
  if (paint >= LOOM_PAINT_WIRE) {
    guint n;
    const LoomColour *colours = loom_colours(&n);
    guint i = paint - LOOM_PAINT_WIRE;
    return i < n ? colours[i].rgb : 0;
  }
  if (paint >= LOOM_PAINT_GROUP) {
    guint group = paint - LOOM_PAINT_GROUP;
    return GROUPS[MIN(group, LOOM_N_GROUPS - 1)][palette];
  }
  return COMMON[paint][palette];
}
