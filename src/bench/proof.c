#include "proof.h"

#include <glib/gi18n-lib.h>

struct LoomProof {
  LoomProofType type;
  LoomPaper paper;
  LoomBook *book;
  LoomLabelPages *labels;
};

void
loom_proof_terms_init(LoomProofTerms *terms)
{
  *terms = (LoomProofTerms){.type = LOOM_PROOF_BOOK};
  loom_book_options_init(&terms->book);
  terms->sheet =
      loom_label_sheet(terms->book.paper == LOOM_PAPER_LETTER ? "plain-letter" : "plain-a4");
}

LoomProof *
loom_proof_ref(LoomProof *proof)
{
  return g_atomic_rc_box_acquire(proof);
}

static void
clear(gpointer data)
{
  LoomProof *proof = data;
  loom_book_free(proof->book);
  loom_label_pages_free(proof->labels);
}

void
loom_proof_unref(LoomProof *proof)
{
  if (proof)
    g_atomic_rc_box_release_full(proof, clear);
}

guint
loom_proof_n_pages(const LoomProof *proof)
{
  return proof->book ? loom_book_n_pages(proof->book) : loom_label_pages_n(proof->labels);
}

void
loom_proof_size_pt(const LoomProof *proof, guint page, double *width, double *height)
{
  if (proof->book)
    loom_book_page_size_pt(proof->book, page, width, height);
  else
    loom_label_pages_size_pt(proof->labels, width, height);
}

const char *
loom_proof_chapter(const LoomProof *proof, guint page)
{
  return proof->book ? loom_pages_chapter(loom_book_pages(proof->book), page) : _("Wire labels");
}

void
loom_proof_draw(const LoomProof *proof, cairo_t *cr, guint page)
{
  if (proof->book)
    loom_book_draw_page(proof->book, cr, page);
  else
    loom_label_pages_draw(proof->labels, cr, page);
}

LoomPaper
loom_proof_paper(const LoomProof *proof)
{
  return proof->paper;
}

/* --- making --- */

typedef struct {
  LoomDesign *snapshot;
  LoomCatalogue *catalogue;
  LoomProofTerms terms;
  char *path; /* or NULL */
  GCancellable *cancellable;
  LoomProgress progress;
  gpointer data;
  double from, to; /* of the whole, for the part that is under way */
} Making;

static void
making_free(gpointer data)
{
  Making *making = data;
  loom_design_free(making->snapshot);
  loom_catalogue_unref(making->catalogue);
  g_clear_object(&making->cancellable);
  g_free(making->path);
  g_free(making);
}

/* A word on its way from the thread to the main loop. */
typedef struct {
  GCancellable *cancellable;
  LoomProgress progress;
  gpointer data;
  double share;
} Word;

static void
word_free(gpointer data)
{
  g_object_unref(((Word *)data)->cancellable);
  g_free(data);
}

static gboolean
pass_on(gpointer data)
{
  Word *word = data;
  if (!g_cancellable_is_cancelled(word->cancellable))
    word->progress(word->share, word->data);
  return G_SOURCE_REMOVE;
}

static void
send_word(double share, gpointer data)
{
  const Making *making = data;
  Word *word = g_new(Word, 1);
  *word = (Word){g_object_ref(making->cancellable), making->progress, making->data,
                 making->from + share * (making->to - making->from)};
  g_idle_add_full(G_PRIORITY_DEFAULT, pass_on, word, word_free);
}

static bool
make_book(LoomProof *proof, Making *making, GError **error)
{
  g_autofree char *boxes = loom_stock_default_path();
  g_autoptr(LoomStock) stock =
      g_file_test(boxes, G_FILE_TEST_EXISTS) ? loom_stock_open(boxes, NULL) : NULL;
  LoomBookOptions options = making->terms.book;
  options.catalogue = making->catalogue;
  options.stock = stock;
  options.findings = NULL;
  making->to = making->path ? 0.6 : 1;
  proof->book =
      loom_book_new(making->snapshot, &options, making->cancellable, send_word, making, error);
  if (!proof->book || !making->path)
    return proof->book != NULL;
  making->from = making->to;
  making->to = 1;
  return loom_book_write_pdf(proof->book, making->path, making->cancellable, send_word, making,
                             error);
}

static bool
make_labels(LoomProof *proof, Making *making, GError **error)
{
  const LoomProofTerms *terms = &making->terms;
  proof->labels = loom_label_pages_new(loom_labels_new(making->snapshot, terms->book.scene),
                                       loom_design_title(making->snapshot)->name, terms->sheet,
                                       terms->flags, terms->skip);
  proof->paper = terms->sheet->paper;
  return !making->path || loom_label_pages_write_pdf(proof->labels, making->path,
                                                     making->cancellable, send_word, making, error);
}

static void
make_in_thread(GTask *task, gpointer source, gpointer data, GCancellable *cancellable)
{
  (void)source;
  (void)cancellable;
  Making *making = data;
  GError *error = NULL;
  g_autoptr(LoomProof) proof = g_atomic_rc_box_new0(LoomProof);
  proof->type = making->terms.type;
  proof->paper = making->terms.book.paper;
  if (proof->type == LOOM_PROOF_BOOK ? make_book(proof, making, &error)
                                     : make_labels(proof, making, &error))
    g_task_return_pointer(task, g_steal_pointer(&proof), (GDestroyNotify)loom_proof_unref);
  else
    g_task_return_error(task, error);
}

void
loom_proof_make(GObject *source, const LoomDesign *design, LoomCatalogue *catalogue,
                const LoomProofTerms *terms, const char *path, GCancellable *cancellable,
                LoomProgress progress, GAsyncReadyCallback done, gpointer data)
{
  g_autoptr(GTask) task = g_task_new(source, cancellable, done, data);
  Making *making = g_new0(Making, 1);
  making->snapshot = loom_design_snapshot(design);
  making->catalogue = loom_catalogue_ref(catalogue);
  making->terms = *terms;
  making->path = g_strdup(path);
  making->cancellable = g_object_ref(cancellable);
  making->progress = progress;
  making->data = data;
  making->to = 1;
  g_task_set_task_data(task, making, making_free);
  g_task_run_in_thread(task, make_in_thread);
}

LoomProof *
loom_proof_make_finish(GAsyncResult *result, GError **error)
{
  return g_task_propagate_pointer(G_TASK(result), error);
}
