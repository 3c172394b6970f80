/* Wire labels: what is written on each loose end of a lead or pigtail.
 *
 *   W1:b to K1:power          this end, and where it goes
 *   other end: Q1:out         where the wire comes from
 *   300 mm, 1.5 mm², RD BK
 *
 * They are printed on sheets of labels, or as flags: the same words twice, folded around the wire
 * so that they read from both sides. */
#pragma once

#include "pdf.h"
#include "planning/csv.h"
#include "scroll.h"

#include "design/design.h"

G_BEGIN_DECLS

typedef struct {
  char *part;   /* "W1" */
  char *end;    /* "W1:b" */
  char *to;     /* "K1:power"; NULL where it is plugged into nothing */
  char *other;  /* "Q1:out", of a Y-lead "M1:poles, M2:poles"; NULL on a pigtail */
  char *detail; /* length, size and colours; NULL */
} LoomLabel;

typedef struct {
  guint n_labels;
  LoomLabel *labels; /* [n_labels] in the design's order */
} LoomLabels;

/* Ends as they are plugged in the scene; one that is open there as in the first scene where it is
 * not. New. */
LoomLabels *loom_labels_new(const LoomDesign *design, guint scene);
void loom_labels_free(LoomLabels *labels);

/* part,end,to,other_end,detail. New. */
char *loom_labels_csv(const LoomLabels *labels);

/* A sheet of labels, by the size of one label. */
typedef struct {
  const char *id; /* "70x37" */
  LoomPaper paper;
  guint across, down;
  double width_mm, height_mm, left_mm, top_mm, step_x_mm, step_y_mm;
  bool cut; /* plain paper, with lines to cut along */
} LoomLabelSheet;

/* The table, [n]: common label sheets and plain paper, A4 and Letter. */
const LoomLabelSheet *loom_label_sheets(guint *n);
/* NULL where there is none of that id. */
const LoomLabelSheet *loom_label_sheet(const char *id);

/* Labels laid out on their sheets: drawn on a screen, a printer or into a PDF. */
typedef struct LoomLabelPages LoomLabelPages;

/* Takes `labels`. `skip` labels of the first sheet are already used. New; at least one page. */
LoomLabelPages *loom_label_pages_new(LoomLabels *labels, const char *title,
                                     const LoomLabelSheet *sheet, bool flags, guint skip);
void loom_label_pages_free(LoomLabelPages *pages);
guint loom_label_pages_n(const LoomLabelPages *pages);
void loom_label_pages_size_pt(const LoomLabelPages *pages, double *width, double *height);
/* Upper left corner at 0, 0, a unit a point. */
void loom_label_pages_draw(const LoomLabelPages *pages, cairo_t *cr, guint page);
/* As loom_pdf_write on errors, cancelling and progress. */
bool loom_label_pages_write_pdf(const LoomLabelPages *pages, const char *path,
                                GCancellable *cancellable, LoomProgress progress, gpointer data,
                                GError **error);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomLabels, loom_labels_free)
G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomLabelPages, loom_label_pages_free)

G_END_DECLS
