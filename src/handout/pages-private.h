/* What pages consist of. Never leaves this room. */
#pragma once

#include "pages.h"

G_BEGIN_DECLS

/* A strip on its page. */
typedef struct {
  guint strip;
  double y;   /* from the top of the text */
  bool again; /* a table's head on top of a later page */
} LoomPut;

typedef struct {
  bool sideways, plain;
  guint chapter; /* that the top of the page belongs to */
  guint first_put, n_puts;
} LoomPage;

struct LoomPages {
  LoomScroll *scroll;
  char *title, *author, *footer, *created;
  GArray *pages;          /* of LoomPage */
  GArray *puts;           /* of LoomPut, page by page */
  GArray *chapters;       /* of guint: first page of each chapter */
  GArray *chapter_strips; /* of guint: heading of each chapter */
  bool grey;
};

/* Where the text lies on a page. */
#define LOOM_MARGIN_LEFT 54.0 /* room for the holes of a folder */
#define LOOM_MARGIN_RIGHT 40.0
#define LOOM_MARGIN_TOP 58.0
#define LOOM_MARGIN_BOTTOM 50.0

G_END_DECLS
