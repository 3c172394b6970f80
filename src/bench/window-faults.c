/* Fault finding in the window: its view, and its marks on the drawing. */
#include "window-private.h"

#include <glib/gi18n-lib.h>

#define HEIGHT_PX 280

static void
show_marks(LoomWindow *self)
{
  const LoomFaultModel *m = loom_fault_case_model(self->fault_case);
  const LoomDiagnosis *d = loom_fault_case_diagnosis(self->fault_case);
  bool shown = gtk_widget_get_mapped(GTK_WIDGET(self->faults));
  loom_canvas_set_fault_marks(
      self->canvas,
      shown ? loom_fault_marks_new(m, d, loom_fault_case_design(self->fault_case)) : NULL);
}

static void
on_case(LoomFaultCase *fault_case, gpointer data)
{
  LoomWindow *self = data;
  const LoomFaultModel *m = loom_fault_case_model(fault_case);
  const LoomDiagnosis *d = loom_fault_case_diagnosis(fault_case);
  show_marks(self);
  if (d)
    loom_events_say(loom_document_events(self->document), "suspects %u next %s", d->n_suspects,
                    d->next_test == LOOM_NONE ? "none" : m->tests[d->next_test].key);
}

static void
on_shown(LoomFaultView *view, const char *part, const char *end, gpointer data)
{
  (void)view;
  LoomWindow *self = data;
  loom_canvas_reveal(self->canvas, part, end);
  loom_events_say(loom_document_events(self->document), "shown suspect %s%s%s", part,
                  end ? ":" : "", end ? end : "");
}

void
loom_window_add_faults(LoomWindow *self)
{
  self->fault_case = loom_fault_case_new(self->document);
  self->faults = g_object_new(LOOM_TYPE_FAULT_VIEW, NULL);
  gtk_widget_set_size_request(GTK_WIDGET(self->faults), -1, HEIGHT_PX);
  loom_drawer_add(self->drawer, "faults", _("Fault finding"), GTK_WIDGET(self->faults));
  loom_fault_view_attach(self->faults, self->fault_case, self->choice);
  g_signal_connect_object(self->fault_case, "changed", G_CALLBACK(on_case), self, 0);
  g_signal_connect(self->faults, "shown", G_CALLBACK(on_shown), self);
  g_signal_connect_object(self->faults, "map", G_CALLBACK(show_marks), self,
                          G_CONNECT_SWAPPED | G_CONNECT_AFTER);
  g_signal_connect_object(self->faults, "unmap", G_CALLBACK(show_marks), self,
                          G_CONNECT_SWAPPED | G_CONNECT_AFTER);
}
