/* The canvas: the sheet on the screen, and everything that pointer and keys do to it.
 *
 * It shows the document's present scene and changes the document only through edits. Signals:
 *   "hint" (string)   a sentence for the status line about what lies under the pointer; NULL: none
 *   "told" (string)   a sentence about what was just done or why it was not
 *   "view"            zoom or place of the view changed
 *   "menu" (double x, double y)   the context menu is wanted there
 *   "flag" (uint)     the flag of that finding was clicked
 *   "name"            the chosen part was clicked twice: it wants a name */
#pragma once

#include "choice.h"
#include "document.h"
#include "fault-marks.h"
#include "flow-state.h"

#include <gtk/gtk.h>

G_BEGIN_DECLS

#define LOOM_TYPE_CANVAS (loom_canvas_get_type())
G_DECLARE_FINAL_TYPE(LoomCanvas, loom_canvas, LOOM, CANVAS, GtkWidget)

/* Both are referenced. To be called once, before the canvas is shown. */
void loom_canvas_attach(LoomCanvas *canvas, LoomDocument *document, LoomChoice *choice);

/* Writes its readings on the sheet while it shows them; referenced. */
void loom_canvas_set_flow(LoomCanvas *canvas, LoomFlowState *flow);

/* Zoom in percent of natural size; the point under (x, y), widget pixels, stays where it is. */
double loom_canvas_zoom(LoomCanvas *canvas);
void loom_canvas_set_zoom(LoomCanvas *canvas, double percent, double x, double y);
/* A step in (> 0) or out about the middle. */
void loom_canvas_zoom_step(LoomCanvas *canvas, int steps);
void loom_canvas_zoom_fit(LoomCanvas *canvas);
/* Pans as little as it takes to have the part, or its end, well inside the view. `end` may be NULL.
 */
void loom_canvas_reveal(LoomCanvas *canvas, const char *designation, const char *end);
/* Shows a part that has just been placed, with room to go on from it: pans, or zooms out where the
 * whole sheet can still be read. */
void loom_canvas_show_new(LoomCanvas *canvas, const char *designation);
/* Middle of the view on the sheet. */
LoomPoint loom_canvas_middle(LoomCanvas *canvas);
LoomPoint loom_canvas_to_sheet(LoomCanvas *canvas, double x, double y);
LoomPoint loom_canvas_from_sheet(LoomCanvas *canvas, LoomPoint at_mm);
/* Where the pointer was last, on the sheet; false where it is not over the canvas. */
bool loom_canvas_pointer(LoomCanvas *canvas, LoomPoint *at_mm);

/* Moves the keyboard focus here, to what the choice's cursor is on. */
void loom_canvas_take_focus(LoomCanvas *canvas);

/* Lights the places of a finding and brings the first into view; LOOM_NONE: none. */
void loom_canvas_light_finding(LoomCanvas *canvas, guint finding);

/* Draws them from now on, in place of the ones before; taken, NULL: none. */
void loom_canvas_set_fault_marks(LoomCanvas *canvas, LoomFaultMarks *marks);

/* Middle of the flag of that finding; false where it has none in view. */
bool loom_canvas_find_flag(LoomCanvas *canvas, guint finding, LoomPoint *at_mm);

/* Opens the list of what plugs into the chosen free end; tells why where there is nothing. */
void loom_canvas_offer(LoomCanvas *canvas, const char *designation, const char *end);

/* Opens the list of kinds that may take the part's place. */
void loom_canvas_offer_swap(LoomCanvas *canvas, const char *designation);

/* The list of offers, a LoomOffersPopover. Borrowed. */
GtkWidget *loom_canvas_offers(LoomCanvas *canvas);

/* Whether a drag is going on; ends it without a change. */
bool loom_canvas_cancel(LoomCanvas *canvas);

G_END_DECLS
