/* How a book is made. Never leaves this room.
 *
 * What several chapters need is computed once, before the first of them; a chapter then only sets
 * it. Figures are drawn later and borrow the sheets, which the book keeps. */
#pragma once

#include "book.h"
#include "cuts.h"
#include "parts.h"
#include "planning/charge.h"
#include "planning/steps.h"
#include "ports.h"
#include "sheet/sheet.h"
#include "table.h"

#include "electric/wiring.h"

#include <glib/gi18n-lib.h>

G_BEGIN_DECLS

/* A pack and a charger that fills it, and the scene in which they are joined (LOOM_NONE: none). */
typedef struct {
  guint pack, charger, scene;
} LoomCharging;

struct LoomBook {
  LoomDesign *design; /* snapshot */
  GPtrArray *sheets;  /* of LoomSheet: those of the scenes, NULL until needed, then others */
  LoomPages *pages;
};

typedef struct {
  LoomBook *book;
  LoomScroll *scroll;
  const LoomDesign *design;
  const LoomBookOptions *options;
  const LoomFindings *findings;
  LoomFindings *own_findings;
  guint scene;
  LoomWiring *wiring;
  LoomPartsList *parts;
  LoomCuts *cuts;
  LoomSteps *steps;
  LoomPortMap *ports;
  GArray *charging; /* of LoomCharging */
  GArray *here;     /* of guint: parts that belong to the scene */
  guint made;       /* mask of the chapters that there are */
} LoomMaking;

/* Chapters, each without its heading. */
void loom_book_cover(LoomMaking *m);
void loom_book_kit(LoomMaking *m);
void loom_book_wires(LoomMaking *m);
void loom_book_diagram(LoomMaking *m);
void loom_book_steps(LoomMaking *m);
void loom_book_meter(LoomMaking *m);
void loom_book_power(LoomMaking *m);
void loom_book_ports(LoomMaking *m);
void loom_book_dark(LoomMaking *m);
void loom_book_charging(LoomMaking *m);
void loom_book_signoff(LoomMaking *m);

/* Number of a step as it is called out: 1 for the first. */
guint loom_book_step_number(guint step);
/* The cut-out of steps [n] from `first` on, tied to what follows; and how high it is. */
void loom_book_cut_out(LoomMaking *m, guint first, guint n);
double loom_book_cut_out_mm(LoomMaking *m, guint first, guint n);

/* The first tests for what goes wrong most often; `supply`, of guint, are the parts between the
 * source and the controller. */
void loom_book_trees(LoomMaking *m, const GArray *supply);

/* Whether the diagram is larger on an upright page. */
bool loom_book_diagram_is_upright(LoomMaking *m);

/* Pairs of packs and chargers of the design: those joined in some scene; a pack that is joined to
 * none stands with every charger that suits it. New array of LoomCharging. */
GArray *loom_book_find_charging(const LoomDesign *design);
bool loom_kind_is_pack(const LoomKind *kind); /* that a charger can fill */
bool loom_kind_is_charger(const LoomKind *kind);

/* The sheet of a scene; borrowed from the book. */
const LoomSheet *loom_book_sheet(LoomBook *book, guint scene);

/* With the decimal mark of the options, zeros at the end left out. New. */
char *loom_book_number(const LoomMaking *m, double value, int decimals);
/* "1.5 mm² (AWG 16)". New. */
char *loom_book_size(const LoomMaking *m, double mm2);
/* An ISO date in the words of the locale, anything else as it is. New; "" for NULL. */
char *loom_book_date(const char *text);
/* "RD red", "RDBU red and blue". New. */
char *loom_book_colour(const char *codes);
/* "Drive left" or else the name of the kind; borrowed. */
const char *loom_book_part_name(const LoomPart *part);
/* With a capital at the start. New. */
char *loom_book_capital(const char *text);
/* Lines that are not empty, NULL-terminated; new. `text` may be NULL. */
char **loom_book_lines(const char *text);

G_END_DECLS
