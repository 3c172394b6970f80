/* Inside the canvas. One type, several files, each with one concern:
 *
 *   canvas.c          the widget: life, document, layout of children
 *   canvas-view.c     zoom, pan, coordinates
 *   canvas-draw.c     the layers: paper, still sheet, moving sheet
 *   canvas-faults.c   suspects and probes of fault finding
 *   canvas-overlay.c  what lies above the sheet: rings, selection, rubber band and lead
 *   canvas-input.c    pointer: which drag begins, how it goes on; scroll and pinch
 *   canvas-click.c    clicks, hover, the context menu
 *   canvas-drop.c     what comes from the shelf
 *   canvas-keys.c     keys, Tab order
 *   canvas-move.c     moving parts            \
 *   canvas-join.c     dragging an end          } one drag each
 *   canvas-place.c    a kind from the shelf   /
 *   canvas-preview.c  what a drag would do, laid out
 *   canvas-ghost.c    what an answer would do, before it is taken
 *   canvas-offer.c    the popovers of offers and link-ups
 *
 * Layers, lowest first. The still layer is everything but what the drag changes and is kept as one
 * node while neither revision nor view change; the moving layer is the rest of the working sheet.
 *
 *   paper | grid | still | moving | veil, rings | selection, hover, focus | rubber band, rubber
 * lead
 */
#pragma once

#include "canvas.h"
#include "look.h"
#include "offers-popover.h"

#include <math.h>

G_BEGIN_DECLS

#define LOOM_PX_PER_MM (96.0 / 25.4) /* at 100 % and ordinary text */
#define LOOM_SLACK_PX 5.0            /* around what a pointer hits */
#define LOOM_MAGNET_PX 26.0          /* how near to an end a dragged one is caught */
#define LOOM_BESIDE_MM 40.0          /* from an end to the tag of a lead that is put beside it */

typedef enum {
  LOOM_DRAG_NONE,
  LOOM_DRAG_PAN,
  LOOM_DRAG_BAND,
  LOOM_DRAG_MOVE,
  LOOM_DRAG_JOIN,
  LOOM_DRAG_PLACE,
} LoomDragMode;

typedef struct LoomPreview LoomPreview;

/* What is being dragged. Strings and objects are owned; indices belong to the document's sheet,
 * which does not change during a drag. */
typedef struct {
  LoomDragMode mode;
  LoomPoint start, now;       /* mm on the sheet */
  LoomPoint start_px, now_px; /* in the widget */
  LoomPoint origin;           /* PAN: of the view at the start */
  bool was_inside;            /* the pointer has been away from the edges: there the view follows */
  LoomEdit *edit;             /* what a drop would do so far, or NULL */
  LoomSheet *sheet;           /* its working copy laid out, or NULL */
  GArray *moving;             /* guint, ascending: parts of `sheet` for the moving layer */
  LoomPreview *preview;       /* what is hidden from the still layer; see canvas-preview.c */
  guint hidden_serial;        /* counts up when something else is hidden */
  /* MOVE */
  GPtrArray *parts; /* designations */
  GArray *from;     /* LoomPoint each */
  LoomPoint step;   /* how far they have been moved */
  /* JOIN */
  char *end_name; /* "G1:out" */
  guint part, end;
  char *pulled;     /* the other end of the joint that is being pulled, or NULL */
  bool hanging;     /* a lead's free end, which follows the pointer */
  LoomRings *rings; /* answers of all ends */
  /* PLACE */
  LoomKind *kind;
  /* JOIN and PLACE */
  guint over_part, over_end; /* end that the drop would go to, or LOOM_NONE */
} LoomDrag;

/* What the still layer was drawn for. */
typedef struct {
  guint64 revision;
  guint scene, hidden;
  double scale;
  LoomPalette palette;
  const LoomFindings *findings;
  guint state; /* what the readings are of; charge NAN: none are shown */
  double charge;
  LoomRect region; /* mm that the node covers */
} LoomStillKey;

typedef struct LoomOffering LoomOffering; /* what the popover shows; see canvas-offer.c */

struct _LoomCanvas {
  GtkWidget parent;
  LoomDocument *document;
  LoomChoice *choice;
  LoomFlowState *flow; /* NULL: no readings */

  double scale;      /* pixels a millimetre */
  LoomPoint origin;  /* mm at the widget's upper left corner */
  bool placed;       /* the view has been set once */
  int width, height; /* as last allocated */
  bool space;        /* the space bar is held: drags pan */

  GskRenderNode *still, *moving;
  double moving_scale; /* that the moving layer was drawn at */
  guint zoom_timer;    /* runs while one zooms: the still layer is stretched, then drawn anew */
  LoomStillKey still_key;
  LoomPoint *flags; /* [n_findings] where the still layer has them, or NULL */

  LoomHit hover;
  guint hover_flag; /* finding whose flag the pointer is on, or LOOM_NONE */
  LoomPoint pointer_px;
  gint64 clicked; /* when, monotonic; 0 after a second click */
  LoomPoint clicked_at;
  bool pointer_inside;
  guint lit_finding;
  LoomFaultMarks *fault_marks; /* or NULL */
  LoomDrag drag;
  guint edge_tick; /* pans while a drag is near the edge */

  GtkWidget *bubble; /* label beside the pointer during a drag */
  LoomOffersPopover *popover;
  LoomOffering *offering;
  bool ghost; /* the preview is that of an answer, not of a drag */
  GPtrArray *proxies; /* LoomProxy by part of the sheet; borrowed children */
  guintptr *told;     /* [n_told] what the proxies were last told, as sums */
  guint n_told;
  GtkWidget *end_proxies[2]; /* used in turn */
  bool end_proxy;            /* which one is in use */
  GtkGesture *press;
};

/* canvas.c */
const LoomSheet *loom_canvas_sheet(LoomCanvas *self); /* the working sheet during a drag */
void loom_canvas_tell(LoomCanvas *self, const char *sentence);
void loom_canvas_hint(LoomCanvas *self, const char *sentence);
/* "G1:out" of a placed end. New. */
char *loom_canvas_end_name(LoomCanvas *self, guint part, guint end);
const LoomPart *loom_canvas_part(LoomCanvas *self, guint part);
/* Applies the edit (taken), tells `sentence` (taken, may be NULL). */
void loom_canvas_apply(LoomCanvas *self, LoomEdit *edit, char *sentence);

/* canvas-view.c */
LoomRect loom_canvas_view_mm(LoomCanvas *self);
void loom_canvas_set_origin(LoomCanvas *self, LoomPoint origin);
void loom_canvas_pan_px(LoomCanvas *self, double dx, double dy);
double loom_canvas_natural_scale(LoomCanvas *self);
void loom_canvas_edge_pan(LoomCanvas *self, bool on);

/* canvas-draw.c */
void loom_canvas_snapshot(GtkWidget *widget, GtkSnapshot *snapshot);
void loom_canvas_drop_nodes(LoomCanvas *self);

/* canvas-faults.c */
void loom_canvas_draw_faults(LoomCanvas *self, GtkSnapshot *snapshot, LoomPalette palette);

/* canvas-overlay.c */
void loom_canvas_draw_overlay(LoomCanvas *self, GtkSnapshot *snapshot, LoomPalette palette);
/* Finding whose flag lies at the point, or LOOM_NONE. */
guint loom_canvas_flag_at(LoomCanvas *self, LoomPoint at_mm);

/* canvas-input.c */
LoomHit loom_canvas_hit(LoomCanvas *self, LoomPoint at_mm);
/* Chooses the part alone, unless it is among those chosen. */
void loom_canvas_choose_for_move(LoomCanvas *self, guint part);
void loom_canvas_add_controllers(LoomCanvas *self);
void loom_canvas_follow_drag(LoomCanvas *self, double x, double y);
/* The nearest end of the sheet within the magnet's reach for which `wanted` holds. */
typedef bool (*LoomEndWanted)(LoomCanvas *self, const LoomPlacedEnd *end);
bool loom_canvas_nearest_end(LoomCanvas *self, LoomPoint at_mm, LoomEndWanted wanted, guint *part,
                             guint *end);

/* canvas-click.c */
void loom_canvas_add_clicks(LoomCanvas *self);
void loom_canvas_click(LoomCanvas *self, LoomPoint at_mm, GdkModifierType state);

/* canvas-drop.c */
void loom_canvas_add_drop(LoomCanvas *self);

/* canvas-keys.c */
void loom_canvas_add_keys(LoomCanvas *self);
gboolean loom_canvas_focus(GtkWidget *widget, GtkDirectionType direction);
void loom_canvas_renew_proxies(LoomCanvas *self);
void loom_canvas_place_proxies(LoomCanvas *self);

/* Drags: begin, follow the pointer, drop. `drop` ends the drag. */
void loom_canvas_begin_move(LoomCanvas *self);
void loom_canvas_follow_move(LoomCanvas *self);
void loom_canvas_drop_move(LoomCanvas *self);
void loom_canvas_nudge(LoomCanvas *self, double dx_mm, double dy_mm);
void loom_canvas_begin_join(LoomCanvas *self, guint part, guint end);
void loom_canvas_follow_join(LoomCanvas *self);
void loom_canvas_drop_join(LoomCanvas *self);
void loom_canvas_begin_place(LoomCanvas *self, const LoomKind *kind);
void loom_canvas_follow_place(LoomCanvas *self);
void loom_canvas_drop_place(LoomCanvas *self);
/* How an end would answer to the kind that is being placed. */
LoomRing loom_canvas_place_ring(LoomCanvas *self, const LoomPlacedEnd *end);
void loom_canvas_end_drag(LoomCanvas *self);

/* canvas-preview.c */
/* Puts another edit (taken, NULL: none) in place of what the drag would do, and lays its sheet. */
void loom_canvas_preview(LoomCanvas *self, LoomEdit *edit);
/* Whether the part of the document's sheet is hidden from the still layer. */
bool loom_canvas_hides(LoomCanvas *self, guint part);
void loom_preview_free(LoomPreview *preview);

/* canvas-ghost.c */
/* Shows what the edit (taken, NULL: nothing) would do; ends when the document changes. */
void loom_canvas_show_ghost(LoomCanvas *self, LoomEdit *edit);
float loom_canvas_moving_opacity(LoomCanvas *self);
void loom_canvas_draw_ghost(LoomCanvas *self, GtkSnapshot *snapshot, LoomPalette palette);

/* canvas-offer.c */
void loom_offering_free(LoomOffering *offering);
void loom_canvas_take(LoomCanvas *self, guint key);
/* Shows what taking it would do; LOOM_NONE: nothing. */
void loom_canvas_point_at(LoomCanvas *self, guint key);
void loom_canvas_offer_in_open(LoomCanvas *self, guint part, guint end, LoomPoint at_mm);
void loom_canvas_explain(LoomCanvas *self, guint part_a, guint end_a, guint part_b, guint end_b);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomOffering, loom_offering_free)

G_END_DECLS
