/* What the user has seen, to be ticked: a row for every lamp, motor, servo and sensor, one for
 * restarting under load, and volts at the end that is chosen on the drawing. */
#pragma once

#include "choice.h"
#include "fault-case.h"

#include <gtk/gtk.h>

G_BEGIN_DECLS

#define LOOM_TYPE_FAULT_TICKS (loom_fault_ticks_get_type())
G_DECLARE_FINAL_TYPE(LoomFaultTicks, loom_fault_ticks, LOOM, FAULT_TICKS, GtkBox)

/* Both are referenced. */
void loom_fault_ticks_attach(LoomFaultTicks *self, LoomFaultCase *fault_case, LoomChoice *choice);

/* Whether the rows scroll by themselves; otherwise they take the height that they need. */
void loom_fault_ticks_set_scrolls(LoomFaultTicks *self, bool scrolls);

/* An entry for what the meter shows at the test, and what takes it. New; `test` may be changed by
 * loom_volts_entry_set. */
GtkWidget *loom_volts_entry_new(LoomFaultCase *fault_case, guint test);
void loom_volts_entry_set(GtkWidget *entry, guint test);

G_END_DECLS
