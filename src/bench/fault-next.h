/* The one test to do next: what to do, what may be seen and what that would mean, as buttons. */
#pragma once

#include "fault-case.h"

#include <gtk/gtk.h>

G_BEGIN_DECLS

#define LOOM_TYPE_FAULT_NEXT (loom_fault_next_get_type())
G_DECLARE_FINAL_TYPE(LoomFaultNext, loom_fault_next, LOOM, FAULT_NEXT, GtkBox)

/* Referenced. */
void loom_fault_next_attach(LoomFaultNext *self, LoomFaultCase *fault_case);

G_END_DECLS
