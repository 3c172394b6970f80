/* Proof: what is about to be printed, the book for the build day or sheets of labels.
 *
 * It is made in a thread of its own on a snapshot of the design, so that the window goes on
 * answering; a proof that is written to a file is made anew there, so that the pages on the screen
 * may be drawn meanwhile. A proof never changes; it is counted. */
#pragma once

#include "handout/book.h"
#include "handout/labels.h"

G_BEGIN_DECLS

typedef enum { LOOM_PROOF_BOOK, LOOM_PROOF_LABELS } LoomProofType;

/* What is wanted. */
typedef struct {
  LoomProofType type;
  LoomBookOptions book; /* scene and paper hold for labels too; the borrowed ones are unused */
  const LoomLabelSheet *sheet; /* of the labels, from the table */
  bool flags;                  /* labels to fold around the wire */
  guint skip;                  /* labels of the first sheet that are used already */
} LoomProofTerms;

/* The whole book, flags off, plain paper; paper by the locale. */
void loom_proof_terms_init(LoomProofTerms *terms);

typedef struct LoomProof LoomProof;

LoomProof *loom_proof_ref(LoomProof *proof);
void loom_proof_unref(LoomProof *proof);

guint loom_proof_n_pages(const LoomProof *proof);
void loom_proof_size_pt(const LoomProof *proof, guint page, double *width, double *height);
/* Name of the chapter of a page; borrowed. */
const char *loom_proof_chapter(const LoomProof *proof, guint page);
/* Upper left corner at 0, 0, a unit a point. */
void loom_proof_draw(const LoomProof *proof, cairo_t *cr, guint page);
LoomPaper loom_proof_paper(const LoomProof *proof);

/* Makes a proof, and with `path` writes it there as a PDF. `progress` is called in the main loop,
 * never once it is cancelled; `done` always is, with loom_proof_make_finish in it. */
void loom_proof_make(GObject *source, const LoomDesign *design, LoomCatalogue *catalogue,
                     const LoomProofTerms *terms, const char *path, GCancellable *cancellable,
                     LoomProgress progress, GAsyncReadyCallback done, gpointer data);
/* New; NULL with `error` (G_IO_ERROR_CANCELLED where it was cancelled). */
LoomProof *loom_proof_make_finish(GAsyncResult *result, GError **error);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomProof, loom_proof_unref)

G_END_DECLS
