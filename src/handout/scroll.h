/* Scroll: what is to be set on paper, one thing below the other, before it is broken into pages.
 *
 *   LoomScroll *f = loom_scroll_new(LOOM_PAPER_A4);
 *   loom_scroll_chapter(f, "Kit check", LOOM_START_PAGE);
 *   loom_scroll_text(f, LOOM_TEXT_BODY, "Lay everything out.");
 *   LoomPages *pages = loom_pages_new(f);                    // pages.h; takes the scroll
 *
 * A scroll is a list of *strips*. A strip goes right across the page and is never cut; pages break
 * between strips only:
 *
 *   strip    what it is                  tied to the next
 *     0      chapter heading             yes
 *     1      first line of a paragraph   yes
 *     2      second line                 no
 *     3      head of a table             yes     drawn again on top where a page breaks in the
 * table 4      a row                       no
 *
 * Each strip holds *marks* (text, rule, tick box, tint, figure) placed from its upper left corner.
 * Lengths are points (1/72 inch) unless the name says otherwise. One thread at a time may use a
 * scroll and what is made of it; different ones do not share anything. */
#pragma once

#include "sheet/ink.h"

#include <cairo.h>
#include <pango/pango.h>

G_BEGIN_DECLS

#define LOOM_PT_PER_MM (72 / 25.4)
#define LOOM_NO_STRIP G_MAXUINT

typedef enum { LOOM_PAPER_A4, LOOM_PAPER_LETTER } LoomPaper;

/* Upright size in points. */
void loom_paper_size_pt(LoomPaper paper, double *width, double *height);
/* What the locale (LC_PAPER) prints on: Letter where its paper is 216 mm wide, otherwise A4. */
LoomPaper loom_paper_of_locale(void);

typedef enum {
  LOOM_TEXT_TITLE,   /* 28 bold */
  LOOM_TEXT_CHAPTER, /* 20 bold */
  LOOM_TEXT_SECTION, /* 14 bold */
  LOOM_TEXT_STRONG,  /* 11 bold */
  LOOM_TEXT_BODY,    /* 11 */
  LOOM_TEXT_CELL,    /* 10.5 */
  LOOM_TEXT_HEAD,    /* 9.5 bold: heads of tables */
  LOOM_TEXT_SMALL,   /* 9: sources, captions, what a cautious reader wants */
  LOOM_N_TEXTS
} LoomText;

/* Where a chapter may begin. */
typedef enum {
  LOOM_START_PAGE,     /* on a new page */
  LOOM_START_IF_FITS,  /* below the one before if all of it goes there, otherwise on a new page */
  LOOM_START_HERE,     /* below the one before if two fifths of the page are left */
  LOOM_START_SIDEWAYS, /* on a new page turned to landscape */
} LoomStart;

/* Draws a figure into the room from 0, 0 to `width_mm`, `height_mm`; the ink's unit is the
 * millimetre. `cr` is the same paper, for what an ink has no word for. */
typedef void (*LoomFigureDraw)(LoomInk *ink, cairo_t *cr, double width_mm, double height_mm,
                               gpointer data);

typedef struct {
  double width_mm, height_mm;
  LoomFigureDraw draw;
  gpointer data; /* owned if `free` is not NULL */
  GDestroyNotify free;
} LoomFigure;

typedef enum {
  LOOM_MARK_LAYOUT,  /* the whole layout, corner at x, y */
  LOOM_MARK_LINES,   /* lines `first` ... `last` of the layout, the first one's top at y */
  LOOM_MARK_RULE,    /* a line of width `weight` from x, y to x + width, y + height */
  LOOM_MARK_BOX,     /* an empty rectangle: tick boxes, frames */
  LOOM_MARK_TINT,    /* a filled rectangle */
  LOOM_MARK_DRAWING, /* a figure */
  LOOM_MARK_PAGE_OF, /* number of the page on which chapter `target` begins, right edge at x */
} LoomSetType;

typedef struct {
  LoomSetType type;
  double x, y, width, height;
  double weight; /* RULE, BOX */
  double grey;   /* 0 black ... 1 white */
  PangoLayout *layout;
  int first, last;
  LoomFigure figure;
  guint target;
} LoomSet;

typedef struct {
  double height;
  double above;    /* room before it, dropped on top of a page */
  bool tied;       /* stands on the page of the next strip */
  guint head;      /* strip to draw again where a page begins here; LOOM_NO_STRIP */
  guint frame;     /* number of the frame around it; 0 none */
  bool heavy;      /* that frame */
  int level;       /* heading: 1 chapter, 2 section; 0 none */
  char *title;     /* heading: as in the outline */
  bool new_page;   /* starts a page */
  bool plain;      /* that page has no running title: a cover */
  LoomStart start; /* level 1, and where new_page is set */
  guint first_mark, n_marks;
} LoomStrip;

typedef struct {
  LoomPaper paper;
  double width;            /* of the text, upright pages */
  double wide;             /* of the text, pages turned to landscape */
  double body, short_body; /* height of the text, upright and landscape */
  GArray *strips;          /* of LoomStrip */
  GArray *marks;           /* of LoomSet */
  PangoContext *pango;
  PangoFontDescription *fonts[LOOM_N_TEXTS];
  GRegex *designation;
  GHashTable *cells; /* words, width, ... -> PangoLayout */
  bool sideways;
  guint frame, n_frames;
  bool heavy;
  double inset; /* what a frame takes on either side */
  double gap;   /* room that the next strip wants above */
  guint n_chapters;
} LoomScroll;

LoomScroll *loom_scroll_new(LoomPaper paper);
void loom_scroll_free(LoomScroll *scroll);

/* The title of a cover: begins a chapter of that name on a page without running title. */
void loom_scroll_title(LoomScroll *scroll, const char *chapter, const char *title);
/* Headings. They stand with what follows and are entries of the outline. */
void loom_scroll_chapter(LoomScroll *scroll, const char *title, LoomStart start);
void loom_scroll_section(LoomScroll *scroll, const char *title);

/* A paragraph. Designations and ends in it ("W1", "K1:power") are set bold. */
void loom_scroll_text(LoomScroll *scroll, LoomText style, const char *text);
/* A line of a list, hanging behind `mark` ("•", "3."); NULL: behind a tick box. */
void loom_scroll_item(LoomScroll *scroll, const char *mark, const char *text);

/* Makes the last strip an entry of the outline below the chapter, without a heading of its own. */
void loom_scroll_entry(LoomScroll *scroll, const char *title);

void loom_scroll_space(LoomScroll *scroll, double points);
/* The next strip stands on the page of the last one. */
void loom_scroll_keep(LoomScroll *scroll);
/* A new page, upright or landscape, without a heading. */
void loom_scroll_page(LoomScroll *scroll, bool sideways);
/* A frame around everything until its end; a heavy one for what must not be missed. Frames do not
 * nest. */
void loom_scroll_frame_begin(LoomScroll *scroll, bool heavy);
void loom_scroll_frame_end(LoomScroll *scroll);

/* In the middle of the line. Takes `figure.data`. */
void loom_scroll_figure(LoomScroll *scroll, LoomFigure figure);
/* Where the strips from `first` on leave room on their one page, the figure in strip `figure` grows
 * into it, to `most_mm` at most. */
void loom_scroll_grow(LoomScroll *scroll, guint first, guint figure, double most_mm);

/* How far a scroll has come, to try things and take them back. */
typedef struct {
  guint n_strips, n_marks, n_frames, n_chapters;
  double gap;
} LoomScrollPlace;

LoomScrollPlace loom_scroll_place(const LoomScroll *scroll);
/* Takes back everything since; not within a frame that was begun since. */
void loom_scroll_rewind(LoomScroll *scroll, LoomScrollPlace place);

/* Width and height of the text on the present page, in millimetres. */
double loom_scroll_width_mm(const LoomScroll *scroll);
double loom_scroll_body_mm(const LoomScroll *scroll);

/* --- for the other files of this room --- */

/* A strip at the end, to which marks are then added. Pointers are valid until the next call. */
LoomStrip *loom_scroll_strip(LoomScroll *scroll, double height);
LoomSet *loom_scroll_mark(LoomScroll *scroll, LoomSetType type, double x, double y);
/* Text of that style, wrapped at `width`. New. */
PangoLayout *loom_scroll_layout(LoomScroll *scroll, LoomText style, double width, const char *text);
/* The same for a cell of a table, flush right where asked: words that come again are laid out once.
 * A reference, not to be changed. */
PangoLayout *loom_scroll_cell(LoomScroll *scroll, LoomText style, double width, bool right,
                              const char *text);
double loom_layout_height(PangoLayout *layout);
double loom_layout_width(PangoLayout *layout);
/* Width of the text between the sides of a frame. */
double loom_scroll_line(const LoomScroll *scroll);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomScroll, loom_scroll_free)

G_END_DECLS
