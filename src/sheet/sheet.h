/* The sheet: one scene of a design laid out on paper. Where every part, end, joint and lead lies.
 *
 *   g_autoptr(LoomSheet) s = loom_sheet_new(design, scene, NULL);
 *   LoomHit hit = loom_sheet_hit(s, x_mm, y_mm, 2.0);
 *   loom_draw_sheet(ink, s, &options);                       // draw.h
 *
 * An immutable result with a snapshot of its own. Leads (kinds with `lead`) whose ends are both
 * plugged into fixed ends are laid by the program as one line with the tag on it; a chain of leads
 * plugged into each other is one line too, with the joints on it. A free end hangs beside the
 * lead's tag, which lies at the lead's x, y. Leads keep clear of outlines, run along the axes with
 * rounded corners, and cross no more than they must. */
#pragma once

#include "design/design.h"
#include "ink.h"

G_BEGIN_DECLS

typedef struct {
  guint part, end; /* indices in the design and in the kind */
  LoomPoint at;    /* middle of the mating face */
  int dx, dy;      /* unit step out of the part */
  LoomRect box;    /* what a pointer hits */
  bool plugged;    /* in this scene */
} LoomPlacedEnd;

typedef struct {
  LoomRect outline;        /* after turning; of a lead: its tag */
  LoomRect caption;        /* designation and label; of a lead: size and length beside the tag */
  guint first_end, n_ends; /* in ends */
} LoomPlacedPart;

/* One stretch of wire: a lead from end to end, a lead from an end to its tag (free ends, Y-leads),
 * or the pigtail of a part from its outline to the connector. */
typedef struct {
  guint part;
  guint end_a, end_b; /* ends at the first and the last point; LOOM_NONE: the tag, or the outline */
  guint n_points;
  LoomPoint *points; /* corners, before rounding */
  LoomPoint tag;     /* middle of the tag; NAN where this stretch carries none */
} LoomLaidLead;

typedef struct {
  guint joint;  /* index in the design */
  LoomPoint at; /* where the faces meet; half-way where they are apart */
  int dx, dy;   /* from end a towards end b; 0, 0 where they are apart and do not face each other */
  bool apart; /* the ends are drawn apart, joined by a dashed line: fixed to fixed, or not mating */
  bool mates;
  LoomPoint from, to; /* the two faces, of end a and of end b */
  guint n_points;     /* way of the dashed line from `from` to `to` where it bends */
  LoomPoint *points;
} LoomLaidJoint;

typedef struct {
  LoomDesign *design; /* snapshot */
  guint scene;
  guint n_parts, n_ends, n_leads, n_joints;
  LoomPlacedPart *parts; /* [n_parts] by index in the design */
  LoomPlacedEnd *ends;   /* [n_ends] */
  LoomLaidLead *leads;   /* [n_leads] */
  LoomLaidJoint *joints; /* [n_joints] */
  guint crossings;       /* of leads with leads */
  LoomRect extents;
  struct LoomSheetInside *inside; /* ways and indices, for this room only */
} LoomSheet;

/* `old`: a sheet of an earlier revision, whose leads are kept where no record that matters to them
 * has changed; or NULL. New. */
LoomSheet *loom_sheet_new(const LoomDesign *design, guint scene, const LoomSheet *old);
void loom_sheet_free(LoomSheet *sheet);

typedef enum {
  LOOM_HIT_NOTHING,
  LOOM_HIT_END,
  LOOM_HIT_JOINT,
  LOOM_HIT_LEAD,
  LOOM_HIT_PART
} LoomHitType;

typedef struct {
  LoomHitType type;
  guint part, end, joint; /* indices, LOOM_NONE where the type has none */
} LoomHit;

/* What lies at the point, the smallest thing first; `slack_mm` around it. Not linear in parts. */
LoomHit loom_sheet_hit(const LoomSheet *sheet, double x_mm, double y_mm, double slack_mm);
/* Parts whose outline meets the rectangle: indices, new array of guint. */
GArray *loom_sheet_parts_in(const LoomSheet *sheet, LoomRect rect);
/* Placed end, borrowed. */
const LoomPlacedEnd *loom_sheet_end(const LoomSheet *sheet, guint part, guint end);

/* Middle of a contact at the mating face of a placed end. */
LoomPoint loom_sheet_contact(const LoomSheet *sheet, guint part, guint end, guint contact);

/* Geometry of one part without a sheet: its outline and where an end's face lies. */
LoomRect loom_place_outline(const LoomPart *part);
LoomPoint loom_place_end(const LoomPart *part, guint end, int *dx, int *dy);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomSheet, loom_sheet_free)

G_END_DECLS
