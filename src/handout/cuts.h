/* The cut list: which wires to cut for the leads that have to be made.
 *
 * Leads of one kind and length make one entry; each conductor of it is one wire to cut. */
#pragma once

#include "design/design.h"
#include "planning/stock.h"

G_BEGIN_DECLS

/* Room at each end for stripping and a second try (common practice, no source). */
#define LOOM_CUT_ALLOWANCE_MM 10.0

typedef struct {
  char *colour;                /* IEC 60757 letters, or NULL */
  double mm2;                  /* NAN unknown */
  double length_mm;            /* from end to end; NAN unknown */
  double cut_mm;               /* with the allowance, rounded up to 5 mm; NAN */
  guint end_a, end_b;          /* of the kind; LOOM_NONE: a splice inside the lead */
  char *contact_a, *contact_b; /* names; NULL at a splice */
} LoomCutWire;

typedef struct {
  LoomKind *kind;     /* owned reference */
  char *designations; /* "W4, W7" */
  guint count;        /* how many of them to make */
  double length_mm;
  guint n_wires;
  LoomCutWire *wires; /* [n_wires] in the kind's order */
} LoomCut;

typedef struct {
  guint n_cuts;
  LoomCut *cuts; /* [n_cuts] by kind's group, rank, id and length */
} LoomCuts;

/* Leads with USB or network plugs are left out: nobody makes those on the build day. With a `stock`
 * only what it does not hold (rows of one kind share what is there, in the design's order); NULL:
 * all leads. New. */
LoomCuts *loom_cuts_new(const LoomDesign *design, const LoomStock *stock);
void loom_cuts_free(LoomCuts *cuts);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomCuts, loom_cuts_free)

G_END_DECLS
