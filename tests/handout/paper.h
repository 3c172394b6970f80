/* A PDF read back: its pages as lines of text with their places and sizes, its outline, its ink.
 * Every call fails the test where the file cannot be read. */
#pragma once

#include <glib.h>
#include <poppler.h>
#include <stdbool.h>

typedef struct {
  char *text;
  double x0, y0, x1, y1; /* points from the upper left corner */
  double size;           /* of the type, the largest in the line */
  bool bold;             /* all of it */
} PaperLine;

typedef struct {
  double width, height;
  guint n_lines;
  PaperLine *lines; /* [n_lines] */
  char *text;       /* all of it */
} PaperPage;

typedef struct {
  PopplerDocument *pdf;
  char *title;
  guint n_pages;
  PaperPage *pages;      /* [n_pages] */
  GPtrArray *outline;    /* of strings, depth first; those below another begin with a blank */
  GArray *outline_pages; /* of int, from 1 */
} Paper;

Paper *paper_open(const char *path);
void paper_free(Paper *paper);

/* A file in the temporary folder of the test; new. */
char *paper_temporary(const char *name);

/* Pages whose text holds the words. */
guint paper_count(const Paper *paper, const char *words);
/* First such page, or G_MAXUINT. */
guint paper_find(const Paper *paper, const char *words);

/* Fails where ink lies nearer to an edge than so many points. */
void paper_assert_margins(const Paper *paper, double left, double right, double top, double bottom);
/* Fails where a heading, or the head of a table, is the last thing on a page above the footer. */
void paper_assert_no_orphans(const Paper *paper);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(Paper, paper_free)
