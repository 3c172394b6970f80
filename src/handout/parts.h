/* The parts list: what a design is made of, counted, held against the team's stock.
 *
 * Parts of one kind, length and fuse rating make one row; what lies in a part (the fuse of a
 * holder) has a row of its own, unless it has been drawn as a part. Rows follow the shelf: by
 * group, rank, kind, length. */
#pragma once

#include "design/design.h"
#include "planning/csv.h"
#include "planning/stock.h"

G_BEGIN_DECLS

typedef struct {
  guint count;
  char *kind;         /* id */
  char *description;  /* name, with size, length and rating where parts differ by them */
  char *designations; /* "W1, W2"; of holders for what lies in them */
  double length_mm;   /* leads; NAN */
  double mm2;         /* leads: thickest conductor; NAN */
  int have, missing;  /* -1: no stock was given. Rows of one kind share what is there, in order */
  double price;       /* of all `count`: the team's price, otherwise the kind's; NAN unknown */
} LoomPartsRow;

typedef struct {
  guint n_rows;
  LoomPartsRow *rows; /* [n_rows] */
} LoomPartsList;

/* `catalogue` (for what lies in parts) and `stock` may be NULL. New. */
LoomPartsList *loom_parts_list_new(const LoomDesign *design, const LoomCatalogue *catalogue,
                                   const LoomStock *stock);
void loom_parts_list_free(LoomPartsList *list);

/* count,kind,description,designations,length_mm,have,short,price. New. */
char *loom_parts_list_csv(const LoomPartsList *list);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomPartsList, loom_parts_list_free)

G_END_DECLS
