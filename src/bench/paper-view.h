/* Paper view: pages of a proof as they come out of the printer, one or, where there is room, two
 * side by side.
 *
 * Scrolled by what it stands in. Without a zoom of its own whole pages fill the room. The signal
 * "turned", without arguments, says that other pages or another size are shown. */
#pragma once

#include "proof.h"

#include <gtk/gtk.h>

G_BEGIN_DECLS

#define LOOM_TYPE_PAPER_VIEW (loom_paper_view_get_type())
G_DECLARE_FINAL_TYPE(LoomPaperView, loom_paper_view, LOOM, PAPER_VIEW, GtkWidget)

/* Shows another proof from the same page on, or from the last one where it is shorter; counted. */
void loom_paper_view_set_proof(LoomPaperView *view, LoomProof *proof);

/* First page shown, from 0; how many are. */
guint loom_paper_view_page(LoomPaperView *view);
guint loom_paper_view_n_shown(LoomPaperView *view);
/* A page that is not there is the nearest one that is. */
void loom_paper_view_turn_to(LoomPaperView *view, int page);
/* By as many pages as are shown. */
void loom_paper_view_turn(LoomPaperView *view, int direction);

/* In percent, 100: as large as on paper on a screen of 96 dots an inch; always above 0. */
double loom_paper_view_zoom(LoomPaperView *view);
/* 0: as large as whole pages go into the room. */
void loom_paper_view_set_zoom(LoomPaperView *view, double percent);
bool loom_paper_view_fits(LoomPaperView *view);

G_END_DECLS
