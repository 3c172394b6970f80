/* Benches for the tests of the sheet: random ones, and what can be asked of any. */
#pragma once

#include "sheet/sheet.h"

/* Numbers from a seed: the same everywhere. */
typedef struct {
  guint64 state;
} Dice;
guint dice(Dice *d, guint below);

/* `n` parts of any kind of the built-in catalogue, turned and mirrored at random, on a loose grid
 * so that no two come within reach of each other, with about one joint for two parts, mating or
 * not. New. */
LoomDesign *bench_random(guint seed, guint n);

/* The same parts mirrored left to right about x = 0. New. */
LoomDesign *bench_mirrored(const LoomDesign *design);
/* Everything moved. New. */
LoomDesign *bench_moved(const LoomDesign *design, double dx_mm, double dy_mm);

/* Number of places where laid lines of different runs cross, by looking at every pair of pieces. */
guint bench_crossings(const LoomSheet *sheet);
double bench_length_mm(const LoomSheet *sheet);
/* Names what a lead passes through, or NULL: "W3 passes through K1". New. */
char *bench_pierced(const LoomSheet *sheet);
/* Two laid lines on top of each other along a way, or NULL. New. */
char *bench_covered(const LoomSheet *sheet);
