/* Inside the preview. One type, several files:
 *
 *   preview.c          life, making the pages, turning them
 *   preview-choices.c  what is chosen on the left
 *   preview-print.c    to a PDF and to a printer
 */
#pragma once

#include "paper-view.h"
#include "preview.h"

G_BEGIN_DECLS

struct _LoomPreview {
  GtkApplicationWindow parent;
  LoomDocument *document;
  LoomProof *proof; /* NULL until the first is made */
  LoomProofTerms terms;
  GCancellable *making; /* NULL while nothing is being made */
  gint64 making_since;
  guint timer;  /* of the next making */
  char *saving; /* path that is written; NULL where pages are made for the screen */
  GtkPrintSettings *settings;

  LoomPaperView *view;
  GtkDropDown *what, *scene, *paper, *sheet;
  GtkWidget *book_terms, *label_terms;
  GtkSwitch *grey, *flags;
  GtkBox *chapters;
  GtkSpinButton *outings, *every, *skip;
  GtkEntry *first, *page;
  GtkRevealer *making_bar;
  GtkLabel *making_text, *status, *of, *chapter;
  GtkProgressBar *progress;
  GtkButton *natural;
};

/* preview.c */
void loom_preview_tell(LoomPreview *self, const char *sentence, bool wrong);
/* The pages will be made anew in a moment. */
void loom_preview_renew(LoomPreview *self);
/* Makes them now; with `path` into a PDF as well. */
void loom_preview_make(LoomPreview *self, const char *path);

/* preview-choices.c */
void loom_preview_add_choices(LoomPreview *self);
void loom_preview_list_scenes(LoomPreview *self);

/* preview-print.c */
void loom_preview_save(LoomPreview *self);
void loom_preview_print(LoomPreview *self);

G_END_DECLS
