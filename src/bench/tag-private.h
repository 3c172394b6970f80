/* Inside the tag. Pages are built anew when something else is chosen or their make-up changes
 * (their *signature*); otherwise their fields follow the design where they stand.
 *
 *   tag.c         the widget, and what all pages are made of
 *   tag-part.c    a part: its words, values, ends, states
 *   tag-joint.c   a joint
 *   tag-design.c  the design and the scene in sight
 */
#pragma once

#include "field.h"
#include "tag.h"

G_BEGIN_DECLS

struct _LoomTag {
  GtkWidget parent;
  LoomDocument *document;
  LoomChoice *choice;
  GtkScrolledWindow *scroller;
  GtkBox *page;
  char *signature;
};

/* Each builds its page into `page`; the signature says when it has to be built anew (new string).
 */
char *loom_tag_part_signature(LoomTag *self, guint part);
void loom_tag_build_part(LoomTag *self, guint part);
char *loom_tag_joint_signature(LoomTag *self, guint joint);
void loom_tag_build_joint(LoomTag *self, guint joint);
char *loom_tag_parts_signature(LoomTag *self);
void loom_tag_build_parts(LoomTag *self);
char *loom_tag_design_signature(LoomTag *self);
void loom_tag_build_design(LoomTag *self);

/* Pieces of a page. */
void loom_tag_add(LoomTag *self, GtkWidget *widget);
void loom_tag_add_heading(LoomTag *self, const char *text);
GtkWidget *loom_tag_add_text(LoomTag *self, const char *text, const char *css_class);
void loom_tag_add_title(LoomTag *self, const char *text);
/* A button that activates an action of the window. */
GtkWidget *loom_tag_action_button(const char *label, const char *action);
/* What the findings say of a part; nothing where they say nothing. `end` NULL: of any of its ends.
 */
void loom_tag_add_findings(LoomTag *self, const char *part, const char *end);

G_END_DECLS
