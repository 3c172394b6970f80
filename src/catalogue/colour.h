/* Wire colours by the letter codes of IEC 60757:2021 (BK, BN, RD, ... GNYE). */
#pragma once

#include <glib.h>
#include <stdbool.h>

G_BEGIN_DECLS

typedef struct {
  const char *code; /* "RD" */
  const char *name; /* "red" */
  guint32 rgb;      /* 0xRRGGBB as drawn; the standard has letters only */
} LoomColour;

/* The table, in the order of the standard; [n]. */
const LoomColour *loom_colours(guint *n);
/* Entry for one code (any case), or NULL: "BL" is no code. */
const LoomColour *loom_colour(const char *code);
/* Whether `codes` is one colour or several joined as IEC 60757 has it ("RDBU" for one wire with two
 * colours in the order of the table). */
bool loom_colour_valid(const char *codes);

G_END_DECLS
