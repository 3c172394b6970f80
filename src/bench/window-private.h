/* Inside the window. One type, several files:
 *
 *   window.c           life, template, following the document
 *   window-actions.c   the table of actions
 *   window-edit.c      what actions do to the drawing
 *   window-compare.c   what changed since a file was written
 *   window-file.c      open, save, the question about unsaved work
 *   window-export.c    diagram, parts list, port map, handout
 *   window-flow.c      what flows, on the sheet and in the drawer
 *   window-faults.c    fault finding
 *   window-menus.c     menus and the shortcuts window, made from the table
 *   window-stock.c     opens the team's boxes
 *   window-tell.c      answers to whoever drives the window from outside
 */
#pragma once

#include "canvas.h"
#include "choice.h"
#include "drawer.h"
#include "fault-view.h"
#include "findings-list.h"
#include "flow-page.h"
#include "scene-bar.h"
#include "shelf.h"
#include "tag.h"
#include "window.h"

G_BEGIN_DECLS

struct _LoomWindow {
  GtkApplicationWindow parent;
  LoomDocument *document;
  LoomPreferences *preferences;
  LoomChoice *choice;

  LoomCanvas *canvas;
  LoomShelf *shelf;
  LoomTag *tag;
  LoomFindingsList *findings;
  LoomSceneBar *scenes;
  LoomFaultView *faults;
  LoomFaultCase *fault_case;
  GtkWidget *shelf_side, *tag_side;
  GtkLabel *title, *subtitle;
  GtkMenuButton *primary_menu, *recent_menu, *zoom_menu;
  GtkButton *undo, *redo, *verdict;
  GtkLabel *verdict_text, *hint;
  GtkImage *verdict_icon;
  LoomDrawer *drawer;
  LoomFlowState *flow;
  LoomFlowPage *flow_page;
  GtkWidget *welcome;
  GtkRevealer *recovered;
  GtkLabel *recovered_text;
  GtkWidget *context_menu;

  char *told; /* last sentence about what was done; stands while nothing is pointed at */
  guint told_timer;
  GtkWindow *preview; /* of the handout; NULL while it is closed */
  bool closing;       /* the question about unsaved work has been answered */
};

/* window.c */
void loom_window_tell(LoomWindow *self, const char *sentence);
/* Adds the pages of the drawer. */
void loom_window_add_pages(LoomWindow *self);
void loom_window_place_kind(LoomWindow *self, const LoomKind *kind);

/* window-actions.c */
void loom_window_add_actions(LoomWindow *self);
void loom_window_update_actions(LoomWindow *self);
void loom_window_act(LoomWindow *self, const char *name);

/* window-edit.c: what the actions do to the drawing */
bool loom_window_has_parts(LoomWindow *self);
bool loom_window_has_choice(LoomWindow *self);
bool loom_window_has_joint(LoomWindow *self);
bool loom_window_has_switch(LoomWindow *self);
bool loom_window_can_undo(LoomWindow *self);
bool loom_window_can_redo(LoomWindow *self);
void loom_window_undo(LoomWindow *self);
void loom_window_redo(LoomWindow *self);
void loom_window_cut(LoomWindow *self);
void loom_window_copy(LoomWindow *self);
void loom_window_paste(LoomWindow *self);
void loom_window_duplicate(LoomWindow *self);
void loom_window_delete(LoomWindow *self);
void loom_window_select_all(LoomWindow *self);
void loom_window_turn(LoomWindow *self);
void loom_window_turn_back(LoomWindow *self);
void loom_window_flip(LoomWindow *self);
void loom_window_unplug(LoomWindow *self);
void loom_window_tie(LoomWindow *self);
void loom_window_switch(LoomWindow *self);
void loom_window_offer(LoomWindow *self);
void loom_window_tidy(LoomWindow *self);

/* window-file.c */
void loom_window_new_sheet(LoomWindow *self);
void loom_window_start(LoomWindow *self);
void loom_window_open(LoomWindow *self);
void loom_window_open_demo(LoomWindow *self);
void loom_window_save(LoomWindow *self);
void loom_window_save_as(LoomWindow *self);
gboolean loom_window_close_request(GtkWindow *window);
void loom_window_take_files(LoomWindow *self);
/* For every dialogue about files. New, shown by the caller. */
GtkFileChooserNative *loom_window_chooser_new(LoomWindow *self, const char *title,
                                              GtkFileChooserAction action, const char *accept);
void loom_window_add_design_filters(GtkFileChooserNative *chooser);
/* Path chosen, new; NULL where the dialogue was cancelled. Ends the dialogue. */
char *loom_window_chosen_path(GtkNativeDialog *dialog, int response);
/* A file name from the design's name; new. */
char *loom_window_name_for(LoomWindow *self, const char *suffix);

/* window-faults.c */
void loom_window_add_faults(LoomWindow *self);

/* window-export.c */
void loom_window_export_diagram(LoomWindow *self);
void loom_window_export_parts(LoomWindow *self);
void loom_window_export_ports(LoomWindow *self);
void loom_window_export_outing(LoomWindow *self);
void loom_window_show_handout(LoomWindow *self);

/* window-compare.c: what changed since a file was written */
bool loom_window_has_file(LoomWindow *self);
void loom_window_compare_saved(LoomWindow *self);
void loom_window_compare_file(LoomWindow *self);

/* window-stock.c */
void loom_window_show_stock(LoomWindow *self);

/* window-menus.c */
void loom_window_add_menus(LoomWindow *self);
void loom_window_open_menu_at(LoomWindow *self, double x, double y);
void loom_window_show_shortcuts(LoomWindow *self);
void loom_window_show_about(LoomWindow *self);
void loom_window_show_preferences(LoomWindow *self);

/* window-flow.c: what flows, on the sheet and in the drawer */
GtkWidget *loom_window_new_flow_page(LoomWindow *self);
void loom_window_attach_flow(LoomWindow *self);
void loom_window_toggle_flow(LoomWindow *self);
void loom_window_toggle_readings(LoomWindow *self);
bool loom_window_has_outing(LoomWindow *self);
void loom_window_next_state(LoomWindow *self);

/* window-tell.c */
void loom_window_add_tell(LoomWindow *self);

G_END_DECLS
