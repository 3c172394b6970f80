/* Findings: what the rules have to say of a design. */
#pragma once

#include "design/design.h"

G_BEGIN_DECLS

typedef enum { LOOM_STOP, LOOM_CARE, LOOM_NOTE } LoomSeverity; /* never power this; care; note */

/* Where the flag stands and what is lit. Strings are owned. */
typedef struct LoomFindingPlace {
  char *part; /* designation */
  char *end;  /* id, or NULL for the part itself */
} LoomFindingPlace;

/* Strings are owned sentences in plain words. */
typedef struct {
  LoomSeverity severity;
  char *rule;    /* slug: "gender", "live-pins", ... */
  char *where;   /* "G1:out", "W3:b and W4:a"; "" where the whole sheet is meant */
  char *message; /* what, with the numbers */
  char *why;     /* why it matters */
  char *remedy;  /* what to do */
  guint scene;   /* index of the first scene where it holds */
  guint n_places;
  LoomFindingPlace *places; /* [n_places] the first is the flag's; may be none */
  /* Where the program can mend it by itself: calls of loom_edit_set, loom_edit_unplug, ... in words
   * of the command, one a line ("set G1:out tied=yes", "unplug W3:b", "turn W4": plug a two-ended
   * lead the other way round); NULL where it cannot. */
  char *mend;
} LoomFinding;

/* Sorted: severity, then rule, then where. A finding that holds in several scenes stands once. */
typedef struct {
  guint n_findings;
  LoomFinding *findings; /* [n_findings] */
  guint n_stop, n_care, n_note;
} LoomFindings;

void loom_findings_free(LoomFindings *findings);
const char *loom_severity_word(LoomSeverity severity); /* "stop", "care", "note" */

/* "Do not power this: 2 stop, 1 care." / "Nothing speaks against powering this. ...", or that
 * nothing is drawn or plugged yet in the design that the findings are of. New. */
char *loom_findings_verdict(const LoomFindings *findings, const LoomDesign *design);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomFindings, loom_findings_free)

G_END_DECLS
