/* Small catalogues and designs for the tests of this folder. Every call fails the test on error. */
#pragma once

#include "design/edit.h"

G_BEGIN_DECLS

/* The entries within <catalogue>...</catalogue>. New. */
LoomCatalogue *fixture_catalogue(const char *entries);
LoomCatalogue *fixture_built_in(void);

/* One applied edit each; designations are given in order (G1, W1, W2, ...). */
void fixture_add(LoomDesign *design, const LoomCatalogue *catalogue, const char *kind);
void fixture_plug(LoomDesign *design, const char *a, const char *b);
void fixture_set(LoomDesign *design, const char *target, const char *key, const char *value);

/* Indices of "G1:out". */
void fixture_find(const LoomDesign *design, const char *name, guint *part, guint *end);

/* <family> with that number of ways, 10 A per contact; `gendered` ones have touchable pins. */
char *fixture_family(const char *id, guint ways);

/* A robot of 4 to 23 real kinds, mostly of supply, controllers and motors: most of what mates is
 * plugged, and now and then what does not; some parts have a place. New. */
LoomDesign *fixture_random_robot(const LoomCatalogue *catalogue, GRand *rand);

G_END_DECLS
