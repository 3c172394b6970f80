/* The book for the build day: everything that a group needs on the table, made from the drawing.
 *
 *   LoomBookOptions options;
 *   loom_book_options_init(&options);
 *   g_autoptr(LoomBook) b = loom_book_new(design, &options, NULL, NULL, NULL, &error);
 *   loom_book_write_pdf(b, "sandpiper.pdf", NULL, NULL, NULL, &error);
 *
 * A book stands on a snapshot of its own, so the design may go on changing. It may be made on one
 * thread and drawn on another, but by one at a time. */
#pragma once

#include "pages.h"
#include "planning/stock.h"
#include "rules/finding.h"

G_BEGIN_DECLS

typedef enum {
  LOOM_CHAPTER_COVER,
  LOOM_CHAPTER_KIT,
  LOOM_CHAPTER_WIRES,
  LOOM_CHAPTER_DIAGRAM,
  LOOM_CHAPTER_STEPS,
  LOOM_CHAPTER_METER,
  LOOM_CHAPTER_POWER,
  LOOM_CHAPTER_PORTS,
  LOOM_CHAPTER_DARK,
  LOOM_CHAPTER_CHARGING,
  LOOM_CHAPTER_SIGNOFF,
  LOOM_N_CHAPTERS
} LoomChapter;

/* "kit": as the command has it. */
const char *loom_chapter_word(LoomChapter chapter);
/* "Kit check", in the user's language; borrowed. */
const char *loom_chapter_title(LoomChapter chapter);
/* "kit,steps,ports" into a mask of 1 << LoomChapter. false with `error` on an unknown word. */
bool loom_chapters_parse(const char *text, guint *chapters, GError **error);

/* What the charge rota is made for; nobody draws that. */
typedef struct {
  guint n_outings; /* 0: no rota */
  guint first_min; /* start of the first, minutes after midnight */
  guint every_min; /* from one start to the next */
  guint minutes;   /* until the pack is back */
  guint n_packs;   /* 0: those drawn and those in the stock */
} LoomEventDay;

/* "8,10:00,30": outings, first start, minutes from one to the next. false with `error`. */
bool loom_event_day_parse(const char *text, LoomEventDay *day, GError **error);

typedef struct {
  LoomPaper paper;
  guint chapters; /* mask of 1 << LoomChapter; those without anything to say are left out */
  guint scene;    /* index of the scene that is built; charging has its own */
  /* Borrowed for the call of loom_book_new; each may be NULL. Without findings the rules are run.
   */
  const LoomCatalogue *catalogue;
  const LoomStock *stock;
  const LoomFindings *findings;
  LoomEventDay day;
  bool grey;       /* as a printer without colours has it */
  char decimal[8]; /* mark between whole and part of a number, UTF-8 */
} LoomBookOptions;

/* Everything, first scene, paper and decimal mark by the locale, 8 outings of 10 minutes from
 * 10:00, one every 30 minutes. */
void loom_book_options_init(LoomBookOptions *options);

typedef struct LoomBook LoomBook;

/* New; NULL with `error` only where it was cancelled. */
LoomBook *loom_book_new(const LoomDesign *design, const LoomBookOptions *options,
                        GCancellable *cancellable, LoomProgress progress, gpointer data,
                        GError **error);
void loom_book_free(LoomBook *book);

/* The pages, see pages.h; borrowed. */
const LoomPages *loom_book_pages(const LoomBook *book);
guint loom_book_n_pages(const LoomBook *book);
void loom_book_page_size_pt(const LoomBook *book, guint page, double *width, double *height);
/* Upper left corner at 0, 0, a unit a point. */
void loom_book_draw_page(const LoomBook *book, cairo_t *cr, guint page);
bool loom_book_write_pdf(const LoomBook *book, const char *path, GCancellable *cancellable,
                         LoomProgress progress, gpointer data, GError **error);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomBook, loom_book_free)

G_END_DECLS
