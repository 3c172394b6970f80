#include "colour.h"

#include <string.h>

/* Codes and order: IEC 60757. The tints are ours. */
static const LoomColour colours[] = {
    {"BK", "black", 0x1d1d1f},
    {"BN", "brown", 0x7b4a1e},
    {"RD", "red", 0xc62828},
    {"OG", "orange", 0xe9772b},
    {"YE", "yellow", 0xe8c41c},
    {"GN", "green", 0x2e8b45},
    {"BU", "blue", 0x2563b8},
    {"VT", "violet", 0x7b3fa0},
    {"GY", "grey", 0x8a8d91},
    {"WH", "white", 0xfdfdfd},
    {"PK", "pink", 0xee9bbd},
    {"GD", "gold", 0xb8962e},
    {"TQ", "turquoise", 0x2fb5a8},
    {"SR", "silver", 0xbfc3c7},
    {"GNYE", "green-and-yellow", 0x8fb02a},
};

const LoomColour *
loom_colours(guint *n)
{
  *n = G_N_ELEMENTS(colours);
  return colours;
}

const LoomColour *
loom_colour(const char *code)
{
  for (guint i = 0; code && i < G_N_ELEMENTS(colours); i++)
    if (g_ascii_strcasecmp(colours[i].code, code) == 0)
      return &colours[i];
  return NULL;
}

/* Several colours on one wire: two-letter codes in the order of the table (IEC 60757). */
bool
loom_colour_valid(const char *codes)
{
  if (loom_colour(codes))
    return true;
  if (!codes || !*codes || strlen(codes) % 2)
    return false;
  const LoomColour *before = NULL;
  for (const char *p = codes; *p; p += 2) {
    char code[3] = {p[0], p[1], 0};
    const LoomColour *colour = loom_colour(code);
    if (!colour || (before && colour <= before))
      return false;
    before = colour;
  }
  return true;
}
