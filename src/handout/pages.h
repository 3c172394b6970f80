/* Pages: a scroll broken into sheets of paper, drawn on whatever cairo draws on.
 *
 * Breaking: strips tied to each other stand on one page where one page can hold them; a heading is
 * never the last thing on a page, nor does a single line or table row stand alone on one. Upright
 * and landscape pages may follow each other. Every page has a running title, the name of its
 * chapter, a footer and "n of N".
 *
 * The same pages go to the screen, to a printer and to a PDF, which has searchable text, an
 * outline, links in its contents, a title, and no time of the day in it: equal designs give equal
 * bytes. */
#pragma once

#include "pdf.h"
#include "scroll.h"

G_BEGIN_DECLS

/* What stands on every page, and what a PDF says of itself. All copied. */
typedef struct {
  const char *title;   /* of the document, and running title */
  const char *author;  /* or NULL */
  const char *footer;  /* "Revision 7, 25 November 2026"; or NULL */
  const char *created; /* ISO 8601 date; anything else or NULL: 2000-01-01 */
  bool grey;           /* everything by its lightness, as a printer without colours has it */
} LoomFurniture;

typedef struct LoomPages LoomPages;

/* Pages that the scroll fills from its last strip with a page of its own to its end: whether what
 * is being set still goes onto the page that is begun. */
guint loom_pages_count(LoomScroll *scroll);

/* Takes `scroll`. New; an empty scroll has no page. */
LoomPages *loom_pages_new(LoomScroll *scroll, const LoomFurniture *furniture);
void loom_pages_free(LoomPages *pages);

guint loom_pages_n(const LoomPages *pages);
void loom_pages_size_pt(const LoomPages *pages, guint page, double *width, double *height);
/* Name of the chapter at the top of the page; borrowed. */
const char *loom_pages_chapter(const LoomPages *pages, guint page);
/* First page of each chapter, [n]; borrowed. */
const guint *loom_pages_chapter_pages(const LoomPages *pages, guint *n);

/* Draws with the page's upper left corner at 0, 0 and one unit a point. */
void loom_pages_draw(const LoomPages *pages, cairo_t *cr, guint page);

/* Writes beside `path` and renames. false with `error` on a file that cannot be written, or with
 * G_IO_ERROR_CANCELLED; then `path` holds what it held. `cancellable` and `progress` may be NULL.
 */
bool loom_pages_write_pdf(const LoomPages *pages, const char *path, GCancellable *cancellable,
                          LoomProgress progress, gpointer data, GError **error);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomPages, loom_pages_free)

G_END_DECLS
