/* What fault finding draws on the sheet: where the suspects are and how likely, and where the next
 * test is done.
 *
 * Places are named as the design names them, so that marks outlive a moved part. A suspect's place
 * is hatched, the closer the likelier, and carries the number that it has in the list; probes carry
 * their signs: nothing hangs on colour. */
#pragma once

#include "planning/faults.h"

G_BEGIN_DECLS

typedef struct {
  char *part;   /* designation */
  char *end;    /* id, for a joint there; NULL: the whole part */
  double share; /* of all likelihood, 0 ... 1 */
  guint rank;   /* of the likeliest suspect there, from 1 */
} LoomFaultMark;

typedef struct {
  char *part, *end; /* NULL: no probe */
  guint contact;
} LoomFaultProbe;

typedef struct {
  GArray *marks; /* LoomFaultMark */
  LoomFaultProbe plus, minus;
  char *part, *end; /* where the next test is done; NULL: nowhere in particular */
} LoomFaultMarks;

/* Of the diagnosis; `design` is what the model was made of. Without marks where the diagnosis is NULL
 * or nothing is amiss. New. */
LoomFaultMarks *loom_fault_marks_new(const LoomFaultModel *model, const LoomDiagnosis *diagnosis,
                                     const LoomDesign *design);
void loom_fault_marks_free(LoomFaultMarks *marks);

/* Where a fault is: designation, and end id or NULL. Borrowed from the design. */
void loom_fault_place(const LoomFault *fault, const LoomDesign *design, const char **part,
                      const char **end);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomFaultMarks, loom_fault_marks_free)

G_END_DECLS
