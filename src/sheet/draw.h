/* Drawing a sheet with ink: parts as the things they are, ends true to gender, leads in their wire
 * colours, flags, title block and legend. */
#pragma once

#include "planning/compare.h"
#include "rules/finding.h"
#include "sheet.h"

G_BEGIN_DECLS

/* How strokes look. */
typedef enum { LOOM_PALETTE_LIGHT, LOOM_PALETTE_DARK, LOOM_PALETTE_PRINT } LoomPalette;
guint32 loom_palette_rgb(LoomPalette palette, LoomPaint paint); /* 0xRRGGBB */

/* One reading written on the drawing: volts at an end, amps on a lead. */
typedef struct {
  guint part, end;     /* end LOOM_NONE: on the lead, or the part */
  char *text;          /* "11.9 V"; NULL: nothing is written, the rest holds */
  double width_factor; /* of the strokes of the lead or of the end's pigtail, 1 ordinary; 0: of
                          no wire, the text only */
  double stress;       /* 0 far from its rating ... 1 at it; > 1 beyond */
} LoomSheetReading;

#define LOOM_WARM_STRESS 0.8 /* from here on near its rating: coloured, and said in words */

/* What to draw besides the sheet. All borrowed. */
typedef struct {
  LoomPalette palette;
  const LoomFindings *findings;     /* flags; NULL none */
  const LoomSheetReading *readings; /* [n_readings] */
  guint n_readings;
  const char *readings_caption; /* what they are of, a sentence for the legend; NULL none */
  const char *state;            /* switches are called on or off as in it; NULL as placed */
  bool title_block, legend;
  const guint *only_parts; /* [n_only] draw just these (a cut-out); NULL all */
  guint n_only;
  const bool *faded;        /* [n_parts] under a veil: not of this scene; NULL none */
  guint mark_joint;         /* joint to ring, LOOM_NONE none */
  const LoomMerged *merged; /* the sheet is changes.h's: tells new, gone and changed; NULL: not */
  LoomRect clip;            /* leave out what lies wholly outside; width 0: draw all */
  bool coarse;              /* outlines and lines without text and contacts: far zoomed out */
  double block_scale;       /* size of title block and legend, 1 ordinary: 1 / scale of the print */
} LoomDrawOptions;

#define LOOM_FLAG_MM 3.0 /* half the size of a flag */

void loom_draw_options_init(LoomDrawOptions *options);
void loom_draw_sheet(LoomInk *ink, const LoomSheet *sheet, const LoomDrawOptions *options);
/* Middle of the flag of each finding as loom_draw_sheet puts it with these options; NAN where none
 * is drawn. New, [n_findings]. */
LoomPoint *loom_draw_flag_places(const LoomSheet *sheet, const LoomDrawOptions *options);
/* What loom_draw_sheet covers, title block and legend included. */
LoomRect loom_draw_extents(const LoomSheet *sheet, const LoomDrawOptions *options);

/* One part or one end by itself, its corner at 0, 0: shelf, kit check, ghosts. */
void loom_draw_kind(LoomInk *ink, const LoomKind *kind);
LoomRect loom_draw_kind_extents(const LoomKind *kind);
void loom_draw_end(LoomInk *ink, const LoomEnd *end, bool plugged);

G_END_DECLS
