#include "window-private.h"

#include <glib/gi18n-lib.h>

GtkWidget *
loom_window_new_flow_page(LoomWindow *self)
{
  self->flow_page = g_object_new(LOOM_TYPE_FLOW_PAGE, NULL);
  return GTK_WIDGET(self->flow_page);
}

static void
on_wanted(LoomFlowPage *page, const char *designation, gpointer data)
{
  (void)page;
  loom_canvas_reveal(LOOM_WINDOW(data)->canvas, designation, NULL);
}

void
loom_window_attach_flow(LoomWindow *self)
{
  self->flow = loom_flow_state_new(self->document);
  loom_canvas_set_flow(self->canvas, self->flow);
  loom_flow_page_attach(self->flow_page, self->flow, self->choice);
  g_signal_connect(self->flow_page, "wanted", G_CALLBACK(on_wanted), self);
  g_signal_connect_object(self->document, "scene", G_CALLBACK(loom_window_update_actions), self,
                          G_CONNECT_SWAPPED);
}

bool
loom_window_has_outing(LoomWindow *self)
{
  return self->flow && loom_outing_page_has_outing(loom_flow_page_outing(self->flow_page));
}

void
loom_window_toggle_flow(LoomWindow *self)
{
  loom_drawer_toggle(self->drawer, "flow");
}

/* What is written on the sheet now; of a state that cannot be, why. */
static void
tell_readings(LoomWindow *self)
{
  const LoomFlowing *flow = loom_flow_state_flow(self->flow);
  if (!loom_flow_state_shown(self->flow))
    loom_window_tell(self, _("Readings are off."));
  else if (flow)
    loom_window_tell(self, flow->readings->caption);
}

void
loom_window_toggle_readings(LoomWindow *self)
{
  loom_flow_state_show(self->flow, !loom_flow_state_shown(self->flow));
  tell_readings(self);
}

void
loom_window_next_state(LoomWindow *self)
{
  const LoomScene *scene =
      loom_design_scene(loom_document_design(self->document), loom_document_scene(self->document));
  guint state = loom_flow_state_state(self->flow);
  if (state == LOOM_NONE) {
    loom_window_tell(self, _("This scene has no states yet."));
    return;
  }
  loom_flow_state_set_state(self->flow, (state + 1) % scene->n_states);
  loom_flow_state_show(self->flow, true);
  tell_readings(self);
}
