/* One question about two ends, with all that the kinds of answers need. */
#pragma once

#include "search-private.h"

G_BEGIN_DECLS

typedef struct {
  const LoomPieces *pieces;
  const LoomDesign *design;
  const LoomStock *stock;
  const LoomLinkupQuestion *question;
  LoomMeanings *meanings;
  const LoomEnd *a, *b;
  LoomMeaning means_a[LOOM_MOST_WAYS], means_b[LOOM_MOST_WAYS];
  LoomLiveSide live;
  bool both_supply; /* and neither is a charger for the other */
  GHashTable *used; /* kind id -> count in the design */
  char *name_a, *name_b;
} LoomLinkupCase;

/* One lead of the design that only has to be turned round; false where none. Fills `answer`. */
bool loom_linkup_turn(const LoomLinkupCase *c, LoomLinkupAnswer *answer);
/* A lead made up to measure; false where one of the ends cannot be crimped by hand. */
bool loom_linkup_make(const LoomLinkupCase *c, LoomLinkupAnswer *answer);

/* Sums the pieces of the answer, its joints and its caution; ends and pieces must be filled in. */
void loom_linkup_sum_up(const LoomLinkupCase *c, LoomLinkupAnswer *answer);
/* The last of it: whether the rating is enough, and the caution. */
void loom_linkup_finish(const LoomLinkupCase *c, LoomLinkupAnswer *answer);

/* "W1 and W2 do not mate because ...": the reason begins with a small letter. New. */
char *loom_linkup_sentence(const char *name_a, const char *name_b, const char *reason);
/* "pins (male) of the keyed pair ..."; what would mate with the end. New. */
char *loom_linkup_counterpart(const LoomEnd *end);

G_END_DECLS
