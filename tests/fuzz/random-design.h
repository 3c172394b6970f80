/* Random designs of whatever the catalogue's schema lets pass: bare elements between posts, with
 * figures from ordinary to absurd, and the built-in kinds plugged where they fit, now and then
 * where they do not. The same `rand` gives the same design. */
#pragma once

#include "design/edit.h"

typedef enum { RANDOM_BARE, RANDOM_BUILT_IN, N_RANDOM_SORTS } RandomSort;

/* Never NULL; has states, and an outing "out" in its first scene. New. */
LoomDesign *random_design_new(GRand *rand, RandomSort sort);
